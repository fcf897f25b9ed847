#include "model/case_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "diagnose/facts.hpp"
#include "model/desk.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

std::optional<Note> note_of(const diagnose::Seen& s, const diagnose::Case& c) {
    Note n;
    n.typed = true;
    n.acts = s.act;
    n.moment = s.moment;
    if (std::isfinite(s.after_s)) n.after_s = s.after_s;
    if (std::isfinite(c.irradiance)) n.irradiance = c.irradiance;
    if (std::isfinite(c.module_degC)) n.module_degC = c.module_degC;
    const auto told = [&](const std::string& gauge, const std::string& words) { n.gauge = gauge, n.shown = words; };
    diagnose::Seen as_told = s;
    as_told.at.clear();
    if (!s.lamp.empty()) told("lamps", s.lamp);
    else if (!s.sound.empty()) told("sound", s.sound);
    else if (!s.look.empty()) told("outlet", s.look);
    else if (!s.message.empty()) told("drive_stop", s.message);
    else if (!s.gauge.empty()) told(s.gauge, s.shown);
    else if (const auto mode = diagnose::mode_of(s)) {
        n.probes = {s.red, s.black, s.around};
        n.mode = *mode;
        n.meter = s.meter;
        n.shown = s.shown;
        as_told.mode = meter::mode_name(*mode);
    }
    if (n.shown.empty() || seen_of(n) != as_told) return std::nullopt;
    return n;
}

}  // namespace

std::optional<diagnose::Case> case_in(const std::string& file) {
    try {
        diagnose::Case c = diagnose::read_case(file);
        // A lesson has a site as well, and none of the rest.
        const bool tells = c.to_hand_said || c.alone || !c.who.empty() || !c.intake.empty() || !c.seen.empty() ||
                           !c.tried.empty() || std::isfinite(c.irradiance);
        if (tells || c.aside.empty()) return c;
    } catch (const site::BadInput&) {
        // what is wrong with it is said when it is opened as a site
    }
    return std::nullopt;
}

std::vector<Note> notes_of(const diagnose::Case& c) {
    std::vector<Note> notes;
    for (const diagnose::Seen& s : c.seen)
        if (auto n = note_of(s, c)) notes.push_back(std::move(*n));
    return notes;
}

std::string bring_case(Desk& desk, const diagnose::Case& c) {
    const auto now = desk.truth();
    if (now->site->scenario.supply.kind == "array") {
        if (std::isfinite(c.irradiance)) desk.set("sun.irradiance_W_m2", fmt::format("{}", c.irradiance));
        if (std::isfinite(c.module_degC)) desk.set("sun.module_temperature_degC", fmt::format("{}", c.module_degC));
    }
    desk.notebook.under({c.sky_source, c.sky_at, c.irradiance, c.module_degC});
    std::size_t stand = 0;
    for (Note& n : notes_of(c)) {
        n.t = now->t;
        stand += desk.notebook.add(std::move(n)) ? 1 : 0;
    }
    if (c.seen.empty()) return "";
    return text::say("{} of the {} readings of the case stand in the notebook.", stand, c.seen.size());
}

}  // namespace sunshaft::view
