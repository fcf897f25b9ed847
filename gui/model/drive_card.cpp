#include "model/drive_card.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "drive/control.hpp"
#include "model/format.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

std::string span_words(double seconds) {
    if (!(seconds >= 0.0)) return "-";
    if (seconds < 60.0) return text::fixed(seconds, 1) + " s";
    const auto whole = static_cast<long>(std::llround(seconds));
    return whole < 3600 ? text::say("{} min {} s", whole / 60, whole % 60)
                        : text::say("{} h {} min", whole / 3600, whole / 60 % 60);
}

std::vector<CardLine> drive_card(const Snapshot& s) {
    std::vector<CardLine> out;
    if (!s.site || s.site->works.supply.kind == site::Supply::Kind::mains) return out;
    if (s.sealed) {
        std::string lit;
        for (const Lamp& lamp : s.lamps)
            if (lamp.on) lit += (lit.empty() ? "" : ", ") + text::tr(lamp.name);
        out.push_back({text::tr("lit"), lit.empty() ? text::tr("nothing") : lit});
        return out;
    }
    using drive::Phase;
    const drive::ControlState& c = s.now.control;
    const bool stopped = c.phase == Phase::tripped || c.phase == Phase::locked || c.phase == Phase::latched;
    out.push_back({text::tr("state"), text::tr(drive::phase_words(c.phase)), stopped});
    const auto log = drive::log_since(c);
    out.push_back({text::tr("for"), span_words(log.empty() ? c.since : s.t - log.back().t)});
    if (!log.empty()) {
        const std::string words = drive::words(log.back());
        if (words != out[0].value) out.push_back({text::tr("because"), words, stopped});
    }
    const bool waits = c.phase == Phase::tripped || c.phase == Phase::dry_hold || c.phase == Phase::tank_hold ||
                       c.phase == Phase::waiting_for_sun;
    if (waits && c.retry_at > s.t) out.push_back({text::tr("tries again in"), span_words(c.retry_at - s.t)});
    if (c.trips > 0)
        out.push_back({text::tr("trips in a row"),
                       text::say("{}, locks out after {}", c.trips, s.site->works.drive.trip_retries), true});
    if (c.phase == Phase::locked)
        out.push_back({text::tr("let go by"), text::tr("a restart: isolator off, link run down, on"), true});
    if (drive::turning(c.phase)) {
        out.push_back({text::tr("output"), text::fixed(s.now.electrical_Hz, 1) + " Hz"});
        out.push_back({text::tr("of the speed ceiling"), figure_at(100 * c.setting, "%", 1).text()});
    }
    if (!s.drive_display.dark)
        out.push_back(
            {text::tr("its display shows"), fmt::format("{}, {}", figure_at(s.drive_display.link_V, "V", 1).text(),
                                                        figure_at(s.drive_display.amperes, "A", 0.01).text())});
    if (s.drive_display.last_stop != drive::Cause::none)
        out.push_back({text::tr("last stop"), text::tr(drive::stop_words(s.drive_display.last_stop))});
    if (c.heat > 0.005)
        out.push_back({text::tr("thermal image"),
                       text::say("{} of the trip", figure_at(100 * c.heat / 1.2, "%", 1).text()), c.heat > 1.0});
    return out;
}

std::vector<CardLine> warmth_card(const Snapshot& s) {
    std::vector<CardLine> out;
    if (!s.site) return out;
    if (s.hidden) {
        if (!s.site->works.water.pump.index() || s.sealed) return out;
        out.push_back(
            {text::tr("water in the bore"), text::say("{} down", figure_at(s.water_level_m, "m", 0.1).text())});
        out.push_back({text::tr("tank"),
                       text::say("{} full", figure_at(100 * std::clamp(s.tank_fill, 0.0, 1.0), "%", 1).text())});
        return out;
    }
    out.push_back({text::tr("winding"), figure_at(s.winding_degC, "°C", 1).text(), s.winding_degC > 120.0});
    if (s.site->works.supply.kind != site::Supply::Kind::mains)
        out.push_back({text::tr("heat sink"), figure_at(s.heat_sink_degC, "°C", 1).text(), s.heat_sink_degC > 80.0});
    if (!s.pump_curve.x.empty()) {
        out.push_back({text::tr("pump"), figure_at(s.pump_degC, "°C", 1).text(), s.pump_degC > 60.0});
        out.push_back(
            {text::tr("worn by running dry"), figure_at(100 * s.pump_damage, "%", 0.1).text(), s.pump_damage > 0.001});
        out.push_back(
            {text::tr("water in the bore"), text::say("{} down", figure_at(s.water_level_m, "m", 0.1).text())});
        out.push_back({text::tr("tank"),
                       text::say("{} full", figure_at(100 * std::clamp(s.tank_fill, 0.0, 1.0), "%", 1).text())});
    }
    return out;
}

}  // namespace sunshaft::view
