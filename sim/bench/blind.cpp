#include "bench/blind.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <mutex>
#include <thread>

#include "circuit/circuit.hpp"

namespace sunshaft::bench {
namespace {

using meter::Mode;

constexpr double window_s = 0.4, bleed_s = 20.0;

enum Test : std::size_t {
    winding_ohms,
    cable_insulation,
    core_capacitance,
    dead_volts,
    bridge_diodes,
    input_ohms,
    guard_ohms,
    array_insulation,
    open_volts,
    module_volts,
    earth_volts,
    short_current,
    link_volts,
    drops,
    output_volts,
    output_direct,
    line_amps,
    string_amps,
    residual_amps,
    bleed,
    warm_ohms,
    bucket,
    gauge,
    tape,
    test_count
};

// A meter's view of what it was given: value and half its band; over range: NaN.
Probe seen(const meter::Reading& r) {
    if (!r.value || !r.low || !r.high) return {std::nan(""), 0.0};
    return {*r.value, std::max(0.5 * (*r.high - *r.low), r.resolution)};
}

const meter::Spec& with(Mode mode) {
    static const meter::Spec rms = meter::find_spec("true-rms"), plain = meter::find_spec("average"),
                             hall = meter::find_spec("clamp-hall"), ac = meter::find_spec("clamp-ac"),
                             tester = meter::find_spec("insulation");
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
            out[short_current].push_back(
                seen(meter::read(with(Mode::dca), Mode::dca, trace::Trace{{0.0, 1.0, ampere, ampere}})));
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
    std::vector<Bench::Look> looks;
    std::vector<Test> tests;  // of each look
    const auto look = [&](Test test, Mode mode, Probes probes) {
        looks.push_back({with(mode), mode, std::move(probes)});
        tests.push_back(test);
    };
    const bool mains = works.supply.kind == site::Supply::Kind::mains,
               array = works.supply.kind == site::Supply::Kind::array;
    if (!mains) {
        look(link_volts, Mode::dcv, {"dc+", "dc-", ""});
        if (array)
            for (const std::string pole : {"+", "-"})
                for (const auto& [from, to] :
                     {std::pair<std::string, std::string>{"array", "iso.in"}, {"iso.in", "iso.out"}, {"iso.out", "dc"}})
                    look(drops, Mode::dcv, {from + pole, to + pole, ""});
    }
    for (std::size_t n = 0; n < works.array.strings.size() && array; ++n) {
        const std::string name = fmt::format("s{}", n + 1);
        look(string_amps, Mode::dca, {"", "", name});
    }
    for (int k = 0; k < 3; ++k) {
        const std::string leg = site::phase_point("drive", k), next = site::phase_point("drive", (k + 1) % 3);
        look(output_volts, Mode::acv, {leg, next, ""});
        look(output_direct, Mode::dcv, {leg, next, ""});
        look(line_amps, Mode::aca, {"", "", site::phase_letter[static_cast<std::size_t>(k)]});
    }
    look(residual_amps, Mode::aca, {"", "", "uvw"});

    const auto readings = b.read_together(looks, window_s);
    for (std::size_t n = 0; n < looks.size(); ++n) {
        std::vector<Probe>& row = out[tests[n]];
        if (!readings[n]) {  // ohms on a live circuit: whatever it shows, it is not what was looked for
            row.push_back({std::nan(""), 0.0});
            continue;
        }
        row.push_back(seen(*readings[n]));
        // What swings while the tracker hunts swings for a healthy site too (common practice, no source).
        if (looks[n].mode != Mode::dcv || tests[n] == link_volts)
            row.back().tolerance += 0.01 * std::abs(row.back().value);
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
        out[warm_ohms].push_back(seen(b.read(
            with(Mode::ohm), Mode::ohm, {site::phase_point("lead", k), site::phase_point("lead", (k + 1) % 3), ""})));
}

}  // namespace

const std::vector<FieldTest>& field_tests() {
    using enum FieldTest::When;
    static const std::vector<FieldTest> tests = {
        {"winding ohms", "pump wires off: ohms pair by pair at the top of the drop cable", "winding", dead, true},
        {"cable insulation", "pump wires off: 500 V from each core to earth", "cable iso", dead, true},
        {"core capacitance", "pump wires off: capacitance of each core to earth", "core C", dead, true},
        {"volts on dead wires", "pump wires off, shaft at rest: DC volts pair by pair", "dead V", dead, true},
        {"bridge diode test", "wires off: diode test from each output to both poles of the link, both ways", "diodes",
         dead, true},
        {"input ohms", "ohms across the drive's input", "input", dead, true},
        {"guard ohms", "ohms at the terminals of dry-run probe and float", "guards", dead, true},
        {"array insulation", "array covered: 500 V from each pole to the frame", "array iso", dead, true},
        {"open-circuit volts", "DC volts pole to pole at array, isolator and each string", "V_oc", lit, true},
        {"module by module", "0 A by clamp, unplugged: DC volts of every module at its own leads", "module V", lit,
         true},
        {"poles to earth", "DC volts from each pole to earth, meter of 10 Mohm", "to earth", lit, true},
        {"short-circuit current", "rated link, array covered while fitting and removing: clamp on each string", "I_sc",
         lit, true},
        {"link volts", "DC volts at the drive's input", "link V", running, true},
        {"drops", "millivolts along the DC run and across the isolator", "drops", running, true},
        {"output volts", "AC volts pair by pair, averaging meter", "out V", running, true},
        {"DC volts on the output", "DC volts pair by pair at the output", "out DC", running, true},
        {"line clamps", "AC clamp on each line", "lines A", running, true},
        {"string clamps", "DC clamp on each string", "strings A", running, true},
        {"clamp on all three", "AC clamp on the three lines together", "residual", running, true},
        {"bleed-down", "isolator opened: link volts 20 s later", "bleed", running, true},
        {"winding ohms, warm", "after the run, link proved dead, shaft at rest: wires off, ohms pair by pair", "warm",
         running, true},
        {"bucket-and-stopwatch test", "water in a measured time", "bucket", running, false},
        {"gauge at the wellhead", "pressure above the pump's rising main", "gauge", running, false},
        {"dip meter", "water level in the bore", "dip", running, false},
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

Sight sight(const std::vector<Probe>& ill, const std::vector<Probe>& healthy) {
    const double d = distance(ill, healthy);
    return d > 3.0 ? Sight::seen : d > 1.0 ? Sight::weak : Sight::blind;
}

std::vector<std::vector<Probe>> carry_out(const Scenario& scenario, const std::vector<site::Fault>& faults,
                                          double running_s) {
    Readings out(test_count);
    dead_tests(scenario, faults, out);
    live_tests(scenario, faults, running_s, out);
    return out;
}

std::vector<Signature> blind_map(const Scenario& scenario, const BlindPlan& plan,
                                 const std::function<bool(double)>& progress) {
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
    std::atomic<bool> stopped{false};
    std::exception_ptr trouble;
    std::mutex lock;
    // Whoever runs into trouble, or is told to stop, stops the others: none takes a row any more.
    const auto work = [&](bool tell) {
        for (std::size_t n; !stopped && (n = next++) < rows.size();) {
            try {
                rows[n].readings = carry_out(scenario, {rows[n].fault}, plan.running_s);
                ++done;
                if (tell && progress && !progress(static_cast<double>(done) / static_cast<double>(rows.size())))
                    stopped = true;
            } catch (...) {
                const std::lock_guard hold(lock);
                if (!trouble) trouble = std::current_exception();
                stopped = true;
            }
        }
    };
    (void)with(Mode::dcv);
    {
        std::vector<std::jthread> more;
        for (unsigned n = 1; n < std::max(1u, std::thread::hardware_concurrency()); ++n) more.emplace_back(work, false);
        work(true);
    }
    if (trouble) std::rethrow_exception(trouble);
    if (stopped) return {};
    for (Signature& row : rows)
        for (std::size_t t = 0; t < test_count; ++t) row.sight.push_back(sight(row.readings[t], healthy[t]));
    // What no test sees is like everything healthy, and a badly held meter is not a fault of the site: neither says
    // much here.
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
