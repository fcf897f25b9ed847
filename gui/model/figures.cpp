#include "model/figures.hpp"

#include "trace/space_vector.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "meter/display.hpp"
#include "model/signals.hpp"
#include "model/twin.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "trace/harmonics.hpp"
#include "trace/period.hpp"
#include "trace/sequence.hpp"
#include "trace/signature.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::view {

namespace {
constexpr int group_orders = 25;
}

Spectrum spectrum(const std::string& name, trace::View wave, double f, double carrier) {
    const SignalWords words = signal_words(name);
    Spectrum s{name, words.label, words.unit, f, trace::statistics(wave).rms};
    s.carrier_Hz = carrier;
    const int count = std::clamp(static_cast<int>(std::ceil(carrier / f)) + 14, 40, 200);
    const std::vector<trace::Phasor> lines = trace::harmonics(wave, f, count);
    s.thd = trace::thd(lines);
    for (std::size_t n = 0; n < lines.size(); ++n) s.lines.push_back({static_cast<int>(n) + 1, std::abs(lines[n])});
    s.groups = trace::iec_groups(wave, f, group_orders);
    return s;
}

Signature signature(const History& h, trace::View current, double slip, double f, double from, double to) {
    Signature s{slip, trace::sidebands_need_s(f, slip)};
    if (std::isfinite(slip) && !current.empty() && trace::duration(current) > s.needed_s) {
        const double end = trace::finish(current), begin = std::max(trace::start(current), end - 1.5 * s.needed_s);
        s.sidebands = trace::sidebands(trace::last_periods(trace::slice(current, begin, end), f), f, slip);
    }
    for (std::size_t k = 0; k < 2; ++k) {
        const trace::Trace wave = h.wave(k == 0 ? "link_V" : "torque_N_m", from, to);
        for (std::size_t n = 0; n < 3; ++n) s.ripple[k][n] = trace::ripple(wave, f, n == 0 ? 1 : n == 1 ? 2 : 6);
    }
    return s;
}

Phasors phasors(const History& h, double f, double from, double to) {
    Phasors p;
    if (f <= 0.0 || !h.rows()) return p;
    p.frequency_Hz = f;
    const auto& names = standing_signals();
    const trace::Phasor star = trace::phasor(h.wave(names[3], from, to), f);
    for (std::size_t k = 0; k < 3; ++k) {
        p.volt[k] = trace::phasor(h.wave(names[k], from, to), f) - star;
        p.amp[k] = trace::phasor(h.wave(names[4 + k], from, to), f);
    }
    const trace::Sequence v = trace::sequence(p.volt[0], p.volt[1], p.volt[2]),
                          i = trace::sequence(p.amp[0], p.amp[1], p.amp[2]);
    p.volt_sequence = {std::abs(v.zero), std::abs(v.positive), std::abs(v.negative)};
    p.amp_sequence = {std::abs(i.zero), std::abs(i.positive), std::abs(i.negative)};
    return p;
}

std::array<std::complex<double>, 3> between_lines(const std::array<std::complex<double>, 3>& volt) {
    return {volt[0] - volt[1], volt[1] - volt[2], volt[2] - volt[0]};
}

SpacePaths space_paths(const History& h, double from, double to) {
    const auto path = [&](std::size_t first) {
        const auto& names = standing_signals();
        const trace::SpaceVector v = trace::space_vector(
            h.wave(names[first], from, to), h.wave(names[first + 1], from, to), h.wave(names[first + 2], from, to));
        std::vector<motor::Vec2> out;
        out.reserve(2 * v.alpha.size());
        for (std::size_t k = 0; k < v.alpha.size(); ++k) {
            out.push_back({v.alpha[k].y0, v.beta[k].y0});
            out.push_back({v.alpha[k].y1, v.beta[k].y1});
        }
        return out;
    };
    return {path(0), path(4)};
}

std::string counts_text(const meter::Spec& spec, meter::Mode mode) {
    std::string text = spec.pointer ? text::tr("pointer") : text::say("{} counts", text::fixed(spec.counts, 0));
    if (spec.has(mode) && !meter::drives_circuit(mode) && !meter::takes_clamp(mode))
        text += ", " + meter::quantity(meter::input_resistance(spec, mode), "ohm");
    return text;
}

namespace {

// Of a key its section and its meaning, up to where that begins to explain.
std::string key_words(const site::Key& key) {
    const std::string meaning = text::tr(std::string(key.meaning));
    return fmt::format("{}, {}", text::tr(std::string(key.section())), meaning.substr(0, meaning.find_first_of(";,(")));
}

// An act as it is told afterwards.
std::string act_words(const site::Act& a) {
    const std::string place = a.place == "pump"      ? text::tr("pump wires")
                              : a.place == "dry"     ? text::tr("dry-run guard")
                              : a.place == "float"   ? text::tr("tank guard")
                              : a.place == "valve"   ? text::tr("wellhead valve")
                              : a.place.size() == 1  ? text::say("pump wire {}", a.place)
                              : a.kind == "exchange" ? text::say("pump wires {}", a.place)
                                                     : a.place;
    return fmt::format("{}: {}", place.empty() ? text::tr("site") : place.c_str(),
                       text::tr(site::find_act(a.kind)->done));
}

}  // namespace

std::vector<Event> changes(const bench::Edits& before, const bench::Edits& after) {
    std::vector<Event> lines;
    const auto fault = [&](std::string text) { lines.push_back({0.0, std::move(text), Event::Kind::fault}); };
    const auto hands = [&](std::string text) { lines.push_back({0.0, std::move(text), Event::Kind::hands}); };
    const auto what = [](const site::Fault& f) {
        const site::FaultRow* row = site::find_fault(f.kind);
        const std::string title = row ? std::string(text::tr(row->title)) : f.kind;
        return f.place.empty() ? title : text::say("{} at {}", title, f.place);
    };
    const auto find = [](const std::vector<site::Fault>& list, const site::Fault& f) {
        return std::find_if(list.begin(), list.end(),
                            [&](const site::Fault& g) { return g.kind == f.kind && g.place == f.place; });
    };
    for (const site::Fault& f : after.faults) {
        const auto old = find(before.faults, f);
        if (old != before.faults.end() && old->severity == f.severity) continue;
        const site::FaultRow* row = site::find_fault(f.kind);
        fault(text::say_of(old == before.faults.end() ? text::id("planted: {}, {}") : text::id("changed: {}, {}"),
                           what(f), row ? site::severity_text(*row, f.severity) : ""));
    }
    for (const site::Fault& f : before.faults)
        if (find(after.faults, f) == after.faults.end()) fault(text::say("healed: {}", what(f)));
    const auto stands = [](const std::vector<site::Act>& list, const site::Act& a) {
        return std::any_of(list.begin(), list.end(),
                           [&](const site::Act& b) { return b.kind == a.kind && b.place == a.place; });
    };
    // One that is done again is there before and after, at another time.
    const auto brought = [&](const std::vector<site::Act>& from, const site::Act& a) {
        const bool later = std::ranges::all_of(from, [&](const site::Act& b) { return b.time < a.time; });
        return later || !stands(from, a);
    };
    for (const site::Act& a : after.acts)
        if (brought(before.acts, a)) hands(act_words(a));
    for (const site::Act& a : before.acts)
        if (brought(after.acts, a)) hands(text::say("undone: {}", act_words(a)));
    const auto name = [](const std::string& s) { return s.substr(0, s.find('=')); };
    // Of a key its meaning, up to where that begins to explain, and what it is set to with its unit.
    const auto meaning = [&](const std::string& s) {
        const site::Key* key = site::find_key(name(s));
        return key ? key_words(*key) : name(s);
    };
    for (const std::string& s : after.set) {
        if (std::find(before.set.begin(), before.set.end(), s) != before.set.end()) continue;
        const site::Key* key = site::find_key(name(s));
        const std::string value = s.substr(std::min(s.size(), s.find('=') + 1)),
                          unit = key ? std::string(key->unit) : std::string();
        hands(text::say("set: {}: {}", meaning(s), unit.empty() ? value : value + " " + unit));
    }
    for (const std::string& s : before.set)
        if (std::none_of(after.set.begin(), after.set.end(), [&](const std::string& t) { return name(t) == name(s); }))
            hands(text::say("set back: {}", meaning(s)));
    return lines;
}

void array_curves(const site::Site& site, Curve& current, Curve& power) {
    const std::vector<double>&v = site.source.grid(), &i = site.source.currents();
    current = power = {};
    if (site.source.stiff) return;
    // Some 200 points draw it; the table is finer.
    const std::size_t stride = std::max<std::size_t>(1, v.size() / 200);
    for (std::size_t n = 0; n < v.size(); ++n) {
        const bool kept = n % stride == 0 || n + 1 == v.size();
        if (!kept || v[n] < 0.0 || i[n] < 0.0) continue;
        current.x.push_back(v[n]), current.y.push_back(i[n]);
        power.x.push_back(v[n]), power.y.push_back(v[n] * i[n]);
    }
}

void water_curves(const site::Site& site, double speed, double static_head, Curve& pump, Curve& main) {
    constexpr int points = 60;
    const site::Hydraulics& w = site.works.water;
    pump = main = {};
    if (std::holds_alternative<std::monostate>(w.pump)) return;
    double most = 0.0;  // m3/s
    if (const auto* c = std::get_if<water::Centrifugal>(&w.pump))
        most = (-c->h1 - std::sqrt(std::max(0.0, c->h1 * c->h1 - 4 * c->h2 * c->h0))) / (2 * c->h2);
    else
        most = std::get<water::ProgressiveCavity>(w.pump).per_radian() *
               std::max(std::abs(speed), site.scenario.pump.rated_speed_rpm * std::numbers::pi / 30);
    for (int n = 0; n <= points; ++n) {
        const double q = most * n / points;
        double head = 0.0;
        if (const auto* c = std::get_if<water::Centrifugal>(&w.pump)) head = c->head(speed, q);
        else head = std::get<water::ProgressiveCavity>(w.pump).head(speed, q, w.main.density);
        if (head >= 0.0) pump.x.push_back(q * 3600), pump.y.push_back(head);
        main.x.push_back(q * 3600), main.y.push_back(static_head + site.main_loss(q));
    }
}

std::array<SheetRow, 3> splice_sheet(const site::Site& site, const motor::Vec3& amps) {
    std::array<SheetRow, 3> rows;
    for (std::size_t k = 0; k < 3; ++k) {
        rows[k].ohms = site.works.phases[k].splice.through();
        rows[k].amps = amps[k];
        // Open: what still flows at the top leaks away above the splice.
        rows[k].watts = std::isfinite(rows[k].ohms) ? amps[k] * amps[k] * rows[k].ohms : 0.0;
    }
    return rows;
}

std::vector<Lamp> lamps(const site::Site& site, const drive::ControlState& control) {
    if (site.works.supply.kind == site::Supply::Kind::mains) return {};
    std::vector<Lamp> list;
    for (const drive::Lamp& lamp : drive::lamps(control)) list.push_back({lamp.name, lamp.on});
    return list;
}

std::vector<Lamp> lamps_that_fit(const std::vector<Lamp>& all, std::size_t room) {
    std::vector<bool> in(all.size(), false);
    for (std::size_t k = 0; k < std::min(room, all.size()); ++k) in[k] = true;
    for (std::size_t k = room; k < all.size(); ++k) {
        if (!all[k].on) continue;
        for (std::size_t last = k; last-- > 0;)
            if (in[last] && !all[last].on) {
                in[last] = false;
                in[k] = true;
                break;
            }
    }
    std::vector<Lamp> out;
    for (std::size_t k = 0; k < all.size(); ++k)
        if (in[k]) out.push_back(all[k]);
    return out;
}

}  // namespace sunshaft::view
