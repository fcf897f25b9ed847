#include "model/notebook.hpp"

#include <algorithm>
#include <cmath>

#include "callout/moment.hpp"
#include "callout/visit.hpp"
#include "model/format.hpp"
#include "model/session_store.hpp"
#include "site/faults.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

constexpr std::size_t most_notes = 1000;

// What stands of the acts done so far: of two opposites the last.
std::vector<std::string> standing(const Snapshot& s) {
    std::vector<std::string> list;
    for (const site::Act& act : s.edits.acts)
        if (act.time <= s.t) site::stands(list, act.kind, act.place);
    return list;
}

}  // namespace

namespace {

Note entry_of(const Snapshot& s, meter::Mode mode, const std::string& meter, const std::string& shown) {
    Note n;
    n.t = s.t;
    n.acts = standing(s);
    n.probes = s.probes;
    n.mode = mode;
    n.meter = meter;
    n.shown = shown;
    n.irradiance = s.site->works.array.sunlight();
    n.module_degC = s.site->works.array.module_degC;
    if (meter::takes_clamp(mode)) n.probes.red.clear(), n.probes.black.clear();
    else n.probes.around.clear();
    return n;
}

Note dated(Note n, const Snapshot& s) {
    diagnose::Seen seen = seen_of(n);
    callout::date(seen, {s.edits.acts, s.acts_t, s.t});
    if (std::isfinite(seen.after_s)) n.after_s = seen.after_s;
    n.moment = seen.moment;
    return n;
}

}  // namespace

std::size_t Notebook::take(const Snapshot& s) {
    const auto add = [&](const meter::Reading& reading, const meter::Reading* healthy, meter::Mode mode,
                         const std::string& meter) {
        Note n = entry_of(s, mode, meter, reading.shown);
        if (healthy) n.healthy = band_text(*healthy);
        notes_.push_back(dated(std::move(n), s));
    };
    const std::size_t before = notes_.size();
    for (const MeterFace& face : s.meters)
        if (face.reading && notes_.size() < most_notes) add(*face.reading, face.expected.get(), face.mode, face.spec);
    if (s.clamp && !meter::takes_clamp(s.meters[0].mode) && notes_.size() < most_notes)
        add(*s.clamp, s.clamp_expected.get(), s.clamp_mode, "clamp-hall");
    return notes_.size() - before;
}

bool Notebook::type(const Snapshot& s, const std::string& gauge, bool clamp, const std::string& shown) {
    const bool nowhere = clamp ? s.probes.around.empty() : s.probes.red.empty() || s.probes.black.empty();
    if (shown.empty() || notes_.size() >= most_notes || (gauge.empty() && nowhere)) return false;
    meter::Mode mode = s.meters[0].mode;
    if (meter::takes_clamp(mode) != clamp) mode = clamp ? s.clamp_mode : meter::Mode::acv;
    Note n = entry_of(s, mode, "", shown);  // nobody said which meter it was
    n.typed = true;
    if (!gauge.empty()) n.gauge = gauge, n.probes = {};
    notes_.push_back(dated(std::move(n), s));
    return true;
}

bool Notebook::add(Note note) {
    const auto same = [&](Note other) {
        other.t = note.t;
        other.struck = note.struck;
        return other == note;
    };
    if (std::ranges::any_of(notes_, same)) return true;
    if (notes_.size() >= most_notes) return false;
    notes_.push_back(std::move(note));
    return true;
}

void Notebook::strike(std::size_t entry) {
    if (entry < notes_.size()) notes_[entry].struck = !notes_[entry].struck;
}

diagnose::Case Notebook::as_case(const std::string& scenario_file) const {
    diagnose::Case c;
    c.site = session_site(scenario_file);
    if (sky_) {
        c.sky_source = sky_->source, c.sky_at = sky_->at;
        c.irradiance = sky_->irradiance, c.module_degC = sky_->module_degC;
    }
    for (const Note& n : notes_) {
        if (n.struck) continue;
        if (c.seen.empty() && n.irradiance > 0.0) {
            c.irradiance = n.irradiance;
            c.module_degC = n.module_degC;
            if (!sky_) c.sky_source = "in-plane meter";
        }
        c.seen.push_back(seen_of(n));
    }
    return c;
}

diagnose::Seen seen_of(const Note& n) {
    diagnose::Seen seen = n.gauge.empty() ? diagnose::Seen{} : callout::told(n.gauge, n.shown).front();
    seen.act = n.acts;
    seen.moment = n.moment;
    if (n.after_s) seen.after_s = *n.after_s;
    if (!n.gauge.empty()) return seen;
    seen.red = n.probes.red;
    seen.black = n.probes.black;
    seen.around = n.probes.around;
    seen.shown = n.shown;
    seen.mode = meter::mode_name(n.mode);
    seen.meter = n.meter;
    return seen;
}

std::string place_words(const Note& n) {
    if (!n.gauge.empty()) return n.gauge;
    return n.probes.around.empty() ? n.probes.red + " - " + n.probes.black : text::say("clamp on {}", n.probes.around);
}

std::string state_words(const Note& n) {
    std::string words;
    for (const std::string& act : n.acts) {
        const std::size_t at = act.find('@');
        const site::ActRow* row = site::find_act(act.substr(0, at));
        if (row) words += (words.empty() ? "" : ", ") + act.substr(at + 1) + " " + text::tr(row->done);
    }
    return words;
}

std::array<std::string, 3> noted_line_amps(const Notebook& notebook) {
    std::array<std::string, 3> amps;
    for (const Note& n : notebook.notes())
        for (std::size_t k = 0; k < 3; ++k)
            if (!n.struck && !n.typed && n.mode == meter::Mode::aca && n.probes.around == std::string(1, "uvw"[k]))
                amps[k] = n.shown.substr(0, n.shown.find(' '));
    return amps;
}

std::string band_text(const meter::Reading& r) {
    if (!r.low || !r.high || r.resolution <= 0.0) return r.over_range ? r.shown : "";
    const Figure low = figure_at(*r.low, r.unit, r.resolution), high = figure_at(*r.high, r.unit, r.resolution);
    return text::say("{} to {}", low.number + (low.unit == high.unit ? "" : " " + low.unit),
                     high.number + " " + high.unit);
}

}  // namespace sunshaft::view
