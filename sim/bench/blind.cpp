#include "bench/blind.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <mutex>
#include <thread>

#include "bench/hands.hpp"
#include "circuit/circuit.hpp"

namespace sunshaft::bench {
namespace {

using meter::Mode;

constexpr double window_s = 0.4, bleed_s = 20.0;

enum Test : std::size_t {
    open_volts, module_volts, earth_volts, short_current, array_insulation, winding_ohms, cable_insulation, core_capacitance,
    dead_volts, bridge_diodes, input_ohms, guard_ohms, link_volts, drops, output_volts, output_direct, line_amps, string_amps,
    residual_amps, bleed, warm_ohms, bucket, gauge, tape, test_count
};

// A meter's view of what it was given: value and half its band; over range: NaN.
Probe seen(const meter::Reading& r) {
    if (!r.value || !r.low || !r.high) return {std::nan(""), 0.0};
    return {*r.value, std::max(0.5 * (*r.high - *r.low), r.resolution)};
}

const meter::Spec& with(Mode mode) {
    static const meter::Spec rms = meter::find_spec("true-rms"), plain = meter::find_spec("average"), hall = meter::find_spec("clamp-hall"),
                             ac = meter::find_spec("clamp-ac"), tester = meter::find_spec("insulation");
    switch (mode) {
        case Mode::acv: return plain;
        case Mode::dca: return hall;
        case Mode::aca: return ac;
        case Mode::insulation: return tester;
        default: return rms;
    }
}

using Readings = std::vector<std::vector<Probe>>;

// The drive isolated, the pump wires off, the link discharged.
void dead_tests(const Scenario& scenario, const std::vector<site::Fault>& faults, Readings& out) {
    Edits edits;
    edits.faults = faults;
    edits.acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}};
    const bool array = site::set_up(scenario).supply.kind == site::Supply::Kind::array;
    const bool mains = site::set_up(scenario).supply.kind == site::Supply::Kind::mains;
    if (!array) edits.acts.erase(edits.acts.begin());
    Bench b(scenario, edits);
    b.state().x = {};
    const auto read = [&](Test test, Mode mode, std::string red, std::string black) {
        out[test].push_back(seen(b.read(with(mode), mode, {std::move(red), std::move(black), ""})));
    };
    const site::Works works = b.site()->works;
    if (array) {
        read(open_volts, Mode::dcv, "array+", "array-");
        read(open_volts, Mode::dcv, "iso.in+", "iso.in-");
        for (const std::string pole : {"array+", "array-"}) read(earth_volts, Mode::dcv, pole, "earth");
        circuit::Circuit shorted = b.site()->wiring;
        shorted.resistor(shorted.node("array+"), shorted.node("array-"), 1e-2);
        const circuit::Solution s = circuit::solve(shorted);
        for (std::size_t n = 0; n < works.array.strings.size(); ++n) {
            const std::string name = fmt::format("s{}", n + 1);
            read(open_volts, Mode::dcv, name + "+", name + "-");
            for (std::size_t m = 0; m < works.array.strings[n].modules.size(); ++m)
                read(module_volts, Mode::dcv, fmt::format("{}.m{}+", name, m + 1), fmt::format("{}.m{}-", name, m + 1));
            double ampere = s.current(*shorted.find_branch(name));
            if (!std::isfinite(ampere)) ampere = 0.0;
            out[short_current].push_back(seen(meter::read(with(Mode::dca), Mode::dca, trace::Trace{{0.0, 1.0, ampere, ampere}})));
        }
    }
    for (int k = 0; k < 3; ++k) {
        const std::string lead = site::phase_point("lead", k), next = site::phase_point("lead", (k + 1) % 3);
        read(winding_ohms, Mode::ohm, lead, next);
        read(cable_insulation, Mode::insulation, lead, "earth");
        read(core_capacitance, Mode::cap, lead, "earth");
        read(dead_volts, Mode::dcv, lead, next);
    }
    if (!mains) {
        for (int k = 0; k < 3; ++k) {
            const std::string leg = site::phase_point("drive", k);
            read(bridge_diodes, Mode::diode, leg, "link+"), read(bridge_diodes, Mode::diode, "link-", leg);
            read(bridge_diodes, Mode::diode, "link+", leg), read(bridge_diodes, Mode::diode, leg, "link-");
        }
        if (array) read(input_ohms, Mode::ohm, "dc+", "dc-"), read(input_ohms, Mode::ohm, "iso.out+", "iso.out-");
    }
    if (works.guards.dry.fitted) read(guard_ohms, Mode::ohm, "dry.1", "dry.2");
    if (works.guards.full.fitted) read(guard_ohms, Mode::ohm, "float.1", "float.2");
    if (array) {
        Edits covered = edits;
        covered.acts.push_back({"cover", "array", 0.0});
        b.edit(covered);
        for (const std::string pole : {"array+", "array-"}) read(array_insulation, Mode::insulation, pole, "frame");
    }
}

// All signals of one stretch at once, then each through its meter.
void live_tests(const Scenario& scenario, const std::vector<site::Fault>& faults, double running_s, Readings& out) {
    Edits edits;
    edits.faults = faults;
    Bench b(scenario, edits);
    b.advance(running_s);
    const site::Works works = b.site()->works;
    struct Look { Test test; Mode mode; Probes probes; };
    std::vector<Look> looks;
    const bool mains = works.supply.kind == site::Supply::Kind::mains, array = works.supply.kind == site::Supply::Kind::array;
    if (!mains) {
        looks.push_back({link_volts, Mode::dcv, {"dc+", "dc-", ""}});
        if (array)
            for (const std::string pole : {"+", "-"})
                for (const auto& [from, to] : {std::pair<std::string, std::string>{"array", "iso.in"}, {"iso.in", "iso.out"}, {"iso.out", "dc"}})
                    looks.push_back({drops, Mode::dcv, {from + pole, to + pole, ""}});
    }
    for (std::size_t n = 0; n < works.array.strings.size() && array; ++n) {
        const std::string name = fmt::format("s{}", n + 1);
        looks.push_back({string_amps, Mode::dca, {"", "", name}});
        looks.push_back({drops, Mode::dcv, {name + "+", name + ".m1+", ""}});
        const std::size_t modules = works.array.strings[n].modules.size();
        for (std::size_t m = 1; m < modules; ++m)
            looks.push_back({drops, Mode::dcv, {fmt::format("{}.m{}-", name, m), fmt::format("{}.m{}+", name, m + 1), ""}});
        looks.push_back({drops, Mode::dcv, {fmt::format("{}.m{}-", name, modules), name + "-", ""}});
    }
    for (int k = 0; k < 3; ++k) {
        const std::string leg = site::phase_point("drive", k), next = site::phase_point("drive", (k + 1) % 3);
        looks.push_back({output_volts, Mode::acv, {leg, next, ""}});
        looks.push_back({output_direct, Mode::dcv, {leg, next, ""}});
        looks.push_back({line_amps, Mode::aca, {"", "", site::phase_letter[static_cast<std::size_t>(k)]}});
    }
    looks.push_back({residual_amps, Mode::aca, {"", "", "uvw"}});

    const site::Hands hands = works.hands;
    std::vector<plant::Signal> signals;
    struct Handled { Test test; Mode mode; meter::Spec spec; meter::Context context; std::size_t signal; int second = -1; };
    std::vector<Handled> handled;
    for (const Look& look : looks) {
        Handled h{look.test, look.mode, with(look.mode), {}, signals.size()};
        Probes probes = look.probes;
        mishandle(hands, h.spec, h.mode, probes, h.context);
        const bool clamp = !probes.around.empty();
        if (meter::drives_circuit(h.mode)) {  // ohms on a live circuit: whatever it shows, it is not what was looked for
            out[look.test].push_back({std::nan(""), 0.0});
            continue;
        }
        h.context.reaches = clamp ? 1.0 : hands.current_jack ? 0.0 : through_leads(hands, meter::input_resistance(h.spec, h.mode)).share;
        h.context.reference = 1.0 - hands.battery_low;
        signals.push_back(plant::signal(*b.site(), clamp ? "around." + probes.around : probes.red + ":" + probes.black));
        if (const std::string next = neighbour(works, probes.around); clamp && hands.two_conductors && !next.empty()) {
            h.second = static_cast<int>(signals.size());
            signals.push_back(plant::signal(*b.site(), "around." + next));
        }
        handled.push_back(std::move(h));
    }
    plant::Recorder recorder(signals);
    b.plant().advance_turns(b.state(), window_s, recorder);
    for (const Handled& h : handled) {
        trace::Trace wave = recorder.recording.signal(h.signal);
        if (h.second >= 0) {
            const trace::Trace more = recorder.recording.signal(static_cast<std::size_t>(h.second));
            for (std::size_t n = 0; n < wave.size(); ++n) wave[n].y0 += more[n].y0, wave[n].y1 += more[n].y1;
        }
        for (trace::Segment& s : wave) {
            if (!std::isfinite(s.y0)) s.y0 = 0.0;
            if (!std::isfinite(s.y1)) s.y1 = 0.0;
        }
        out[h.test].push_back(seen(meter::read(h.spec, h.mode, wave, h.context)));
        // What swings while the tracker hunts swings for a healthy site too (common practice, no source).
        if (h.mode != Mode::dcv || h.test == link_volts) out[h.test].back().tolerance += 0.01 * std::abs(out[h.test].back().value);
    }
    if (works.water.pump.index() != 0 || site::set_up(scenario).water.pump.index() != 0) {
        // A bucket and a watch 3 %, a gauge 2 % and 0.2 m, a tape 5 cm (common practice, no source).
        const double flow = b.gauge("flow").value, head = b.gauge("head").value;
        out[bucket].push_back({flow, 0.03 * flow + 1e-6});
        out[gauge].push_back({head, 0.02 * std::abs(head) + 0.2});
        out[tape].push_back({b.gauge("water").value, 0.05});
    }
    if (array) {
        edits.acts = {{"open", "isolator", b.time()}};
        b.edit(edits);
        b.advance(bleed_s);
        out[bleed].push_back(seen(b.read(with(Mode::dcv), Mode::dcv, {"link+", "link-", ""})));
        // Where the speed stood at that moment is not the same twice.
        out[bleed].back().tolerance += 0.05 * std::abs(out[bleed].back().value);
    }
    edits.acts.push_back({"pull", "pump", b.time()});
    b.edit(edits);
    if (!array) b.advance(bleed_s);
    for (int k = 0; k < 3; ++k)
        out[warm_ohms].push_back(seen(b.read(with(Mode::ohm), Mode::ohm, {site::phase_point("lead", k), site::phase_point("lead", (k + 1) % 3), ""})));
}

}  // namespace

const std::vector<FieldTest>& field_tests() {
    static const std::vector<FieldTest> tests = {
        {"open-circuit volts", "isolator open: DC volts pole to pole at array, isolator and each string", "V_oc", true, true},
        {"module by module", "isolator open: DC volts of every module at its own leads", "module V", true, true},
        {"poles to earth", "isolator open: DC volts from each pole to earth, meter of 10 Mohm", "to earth", true, true},
        {"short-circuit current", "isolator open, rated shorting lead across the array: clamp round each string", "I_sc", true, true},
        {"array insulation", "array covered, isolator open: 500 V from each pole to the frame", "array iso", true, true},
        {"winding ohms", "pump wires off: ohms pair by pair at the top of the drop cable", "winding", true, true},
        {"cable insulation", "pump wires off: 500 V from each core to earth", "cable iso", true, true},
        {"core capacitance", "pump wires off: capacitance of each core to earth", "core C", true, true},
        {"volts on dead wires", "pump wires off, shaft at rest: DC volts pair by pair", "dead V", true, true},
        {"bridge diode test", "isolated, discharged, wires off: diode test from each output to both poles, both ways", "diodes", true, true},
        {"input ohms", "isolated, discharged: ohms across the drive's input", "input", true, true},
        {"guard ohms", "ohms at the terminals of dry-run probe and float", "guards", true, true},
        {"link volts", "running: DC volts at the drive's input", "link V", false, true},
        {"drops", "running: millivolts along the DC run, across isolator and connectors", "drops", false, true},
        {"output volts", "running: AC volts pair by pair, averaging meter", "out V", false, true},
        {"direct volts on the output", "running: DC volts pair by pair at the output", "out DC", false, true},
        {"line clamps", "running: AC clamp round each line", "lines A", false, true},
        {"string clamps", "running: DC clamp round each string", "strings A", false, true},
        {"clamp round all three", "running: AC clamp round the three lines together", "residual", false, true},
        {"bleed-down", "isolator opened: link volts 20 s later", "bleed", false, true},
        {"winding ohms, warm", "20 s after the run: pump wires off, ohms pair by pair as before", "warm", false, true},
        {"bucket and watch", "running: water in a measured time", "bucket", false, false},
        {"gauge at the wellhead", "running: pressure above the pump's main", "gauge", false, false},
        {"dip tape", "running: water level in the bore", "tape", false, false},
    };
    return tests;
}

double distance(const std::vector<Probe>& a, const std::vector<Probe>& b) {
    if (a.size() != b.size()) return 1e9;
    double worst = 0.0;
    for (std::size_t n = 0; n < a.size(); ++n) {
        const bool over_a = std::isnan(a[n].value), over_b = std::isnan(b[n].value);
        if (over_a && over_b) continue;
        if (over_a != over_b) return 1e9;
        worst = std::max(worst, std::abs(a[n].value - b[n].value) / std::max(a[n].tolerance + b[n].tolerance, 1e-12));
    }
    return worst;
}

std::vector<std::vector<Probe>> carry_out(const Scenario& scenario, const std::vector<site::Fault>& faults, double running_s) {
    Readings out(test_count);
    dead_tests(scenario, faults, out);
    live_tests(scenario, faults, running_s, out);
    return out;
}

std::vector<Signature> blind_map(const Scenario& scenario, const BlindPlan& plan, const std::function<bool(double)>& progress) {
    const site::Works works = site::set_up(scenario);
    std::vector<Signature> rows;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto places = row.places(works);
        if (places.empty() || (!plan.kind.empty() && plan.kind != row.kind)) continue;
        const auto take = [&](const std::string& place, double severity) {
            rows.push_back({{row.kind, place, severity, 0.0}, row.group, row.title, {}, {}, {}, {}});
        };
        if (plan.kind.empty()) take(places[places.size() / 2], row.usual);
        else
            for (const std::string& place : places)
                for (int n = 0; n < (row.least == row.most ? 1 : 5); ++n) take(place, site::severity_at(row, n / 4.0));
    }
    const Readings healthy = carry_out(scenario, {}, plan.running_s);
    std::atomic<std::size_t> next{0}, done{0};
    std::exception_ptr trouble;
    std::mutex lock;
    const auto work = [&] {
        for (std::size_t n; (n = next++) < rows.size(); ++done) {
            try {
                rows[n].readings = carry_out(scenario, {rows[n].fault}, plan.running_s);
            } catch (...) {
                const std::lock_guard hold(lock);
                trouble = std::current_exception();
                next = rows.size();
            }
        }
    };
    (void)with(Mode::dcv);
    {
        std::vector<std::jthread> more;
        for (unsigned n = 1; n < std::max(1u, std::thread::hardware_concurrency()); ++n) more.emplace_back(work);
        for (std::size_t n; (n = next++) < rows.size(); ++done) {
            rows[n].readings = carry_out(scenario, {rows[n].fault}, plan.running_s);
            if (progress) progress(static_cast<double>(done) / static_cast<double>(rows.size()));
        }
    }
    if (trouble) std::rethrow_exception(trouble);
    for (Signature& row : rows)
        for (std::size_t t = 0; t < test_count; ++t) {
            const double d = distance(row.readings[t], healthy[t]);
            row.sight.push_back(d > 3.0 ? Sight::seen : d > 1.0 ? Sight::weak : Sight::blind);
        }
    // What no test sees is like everything healthy, and a badly held meter is not a fault of the site: neither says much here.
    const auto blind_all = [](const Signature& row) {
        return std::all_of(row.sight.begin(), row.sight.end(), [](Sight s) { return s == Sight::blind; });
    };
    const auto by_hand = [](const Signature& row) { return row.group == "operator and meter"; };
    for (std::size_t a = 0; a < rows.size(); ++a)
        for (std::size_t b = 0; b < rows.size(); ++b) {
            if (a == b || blind_all(rows[a]) || blind_all(rows[b]) || by_hand(rows[a]) || by_hand(rows[b])) continue;
            std::size_t parted = test_count;
            bool by_meter = false;
            for (std::size_t t = 0; t < test_count && !by_meter; ++t) {
                if (distance(rows[a].readings[t], rows[b].readings[t]) <= 1.0) continue;
                if (field_tests()[t].electrical) by_meter = true;
                else if (parted == test_count) parted = t;
            }
            if (by_meter) continue;
            if (parted == test_count) rows[a].alike.push_back(b);
            else rows[a].parted.push_back({b, parted});
        }
    return rows;
}

}  // namespace sunshaft::bench
