#include "model/drive_card.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "drive/control.hpp"
#include "model/format.hpp"

namespace sunshaft::view {

std::string span_words(double seconds) {
    if (!(seconds >= 0.0)) return "-";
    if (seconds < 60.0) return text::fixed(seconds, 1) + " s";
    const auto whole = static_cast<long>(std::llround(seconds));
    return whole < 3600 ? fmt::format("{} min {} s", whole / 60, whole % 60)
                        : fmt::format("{} h {} min", whole / 3600, whole / 60 % 60);
}

std::vector<CardLine> drive_card(const Snapshot& s) {
    std::vector<CardLine> out;
    if (!s.site || s.site->works.supply.kind == site::Supply::Kind::mains) return out;
    if (s.sealed) {
        std::string lit;
        for (const Lamp& lamp : s.lamps)
            if (lamp.on) lit += (lit.empty() ? "" : ", ") + lamp.name;
        out.push_back({"lit", lit.empty() ? "nothing" : lit});
        return out;
    }
    using drive::Phase;
    const drive::ControlState& c = s.now.control;
    const bool stopped = c.phase == Phase::tripped || c.phase == Phase::locked || c.phase == Phase::latched;
    out.push_back({"state", drive::phase_words(c.phase), stopped});
    const auto log = drive::log_since(c);
    out.push_back({"for", span_words(log.empty() ? c.since : s.t - log.back().t)});
    if (!log.empty()) {
        const std::string words = drive::words(log.back());
        if (words != out[0].value) out.push_back({"because", words, stopped});
    }
    const bool waits = c.phase == Phase::tripped || c.phase == Phase::dry_hold || c.phase == Phase::tank_hold ||
                       c.phase == Phase::waiting_for_sun;
    if (waits && c.retry_at > s.t) out.push_back({"tries again in", span_words(c.retry_at - s.t)});
    if (c.trips > 0)
        out.push_back(
            {"trips in a row", fmt::format("{}, locks out after {}", c.trips, s.site->works.drive.trip_retries), true});
    if (c.phase == Phase::locked) out.push_back({"let go by", "a restart: isolator off, link run down, on", true});
    if (drive::turning(c.phase)) {
        out.push_back({"output", text::fixed(s.now.electrical_Hz, 1) + " Hz"});
        out.push_back({"of the speed ceiling", figure_at(100 * c.setting, "%", 1).text()});
    }
    if (!s.drive_display.dark)
        out.push_back({"its display shows", fmt::format("{}, {}", figure_at(s.drive_display.link_V, "V", 1).text(),
                                                        figure_at(s.drive_display.amperes, "A", 0.01).text())});
    if (s.drive_display.last_stop != drive::Cause::none)
        out.push_back({"last stop", drive::stop_words(s.drive_display.last_stop)});
    if (c.heat > 0.005)
        out.push_back({"thermal image", figure_at(100 * c.heat / 1.2, "%", 1).text() + " of the trip", c.heat > 1.0});
    return out;
}

std::vector<CardLine> warmth_card(const Snapshot& s) {
    std::vector<CardLine> out;
    if (!s.site) return out;
    if (s.hidden) {
        if (!s.site->works.water.pump.index() || s.sealed) return out;
        out.push_back({"water in the bore", figure_at(s.water_level_m, "m", 0.1).text() + " down"});
        out.push_back({"tank", figure_at(100 * std::clamp(s.tank_fill, 0.0, 1.0), "%", 1).text() + " full"});
        return out;
    }
    out.push_back({"winding", figure_at(s.winding_degC, "°C", 1).text(), s.winding_degC > 120.0});
    if (s.site->works.supply.kind != site::Supply::Kind::mains)
        out.push_back({"heat sink", figure_at(s.heat_sink_degC, "°C", 1).text(), s.heat_sink_degC > 80.0});
    if (!s.pump_curve.x.empty()) {
        out.push_back({"pump", figure_at(s.pump_degC, "°C", 1).text(), s.pump_degC > 60.0});
        out.push_back({"worn by running dry", figure_at(100 * s.pump_damage, "%", 0.1).text(), s.pump_damage > 0.001});
        out.push_back({"water in the bore", figure_at(s.water_level_m, "m", 0.1).text() + " down"});
        out.push_back({"tank", figure_at(100 * std::clamp(s.tank_fill, 0.0, 1.0), "%", 1).text() + " full"});
    }
    return out;
}

}  // namespace sunshaft::view
