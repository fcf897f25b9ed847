#include "bench/field_tests.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "bench/places.hpp"

namespace sunshaft::bench {
namespace {

using meter::Mode;
using site::Works;
using List = std::vector<Observation>;

std::string string_name(std::size_t n) { return fmt::format("s{}", n + 1); }

Observation between(Mode mode, std::string red, std::string black) {
    return {{std::move(red), std::move(black), ""}, mode};
}
Observation clamp(Mode mode, std::string around) { return {{"", "", std::move(around)}, mode}; }
List eye(const char* gauge) { return {{{}, Mode::dcv, gauge}}; }

// Pair by pair at u, v and w of a row of terminals; each against earth.
List pairs(Mode mode, const char* stem) {
    List list;
    for (int k = 0; k < 3; ++k)
        list.push_back(between(mode, site::phase_point(stem, k), site::phase_point(stem, (k + 1) % 3)));
    return list;
}
List to_earth(Mode mode) {
    List list;
    for (int k = 0; k < 3; ++k) list.push_back(between(mode, site::phase_point("lead", k), "earth"));
    return list;
}
List poles(const Works& w, Mode mode, const char* to) {
    if (!array(w)) return {};
    return {between(mode, "array+", to), between(mode, "array-", to)};
}
List pumped(const Works& w, const char* gauge) { return w.water.pump.index() != 0 ? eye(gauge) : List{}; }

List bridge_diodes(const Works& w) {
    List list;
    for (int k = 0; k < 3 && !mains(w); ++k) {
        const std::string leg = site::phase_point("drive", k);
        for (auto [red, black] : {std::pair<std::string, std::string>{leg, "link+"}, {"link-", leg}}) {
            list.push_back(between(Mode::diode, red, black));
            list.push_back(between(Mode::diode, black, red));
        }
    }
    return list;
}
List string_looks(const Works& w) {
    List list;
    for (std::size_t n = 0; n < w.array.strings.size() && array(w); ++n)
        list.push_back({{}, Mode::dcv, "modules." + string_name(n)});
    return list;
}
List lug_groups(const Works& w) {
    if (mains(w)) return {};
    List list = {{{}, Mode::dcv, "lug.isolator"}, {{}, Mode::dcv, "lug.drive"}};
    if (array(w)) list.push_back({{}, Mode::dcv, "lug.connector"});
    return list;
}
List guards(const Works& w) {
    List list;
    if (w.guards.dry.fitted) list.push_back(between(Mode::ohm, "dry.1", "dry.2"));
    if (w.guards.full.fitted) list.push_back(between(Mode::ohm, "float.1", "float.2"));
    return list;
}
List open_volts(const Works& w) {
    if (!array(w)) return {};
    List list = {between(Mode::dcv, "array+", "array-"), between(Mode::dcv, "iso.in+", "iso.in-")};
    for (std::size_t n = 0; n < w.array.strings.size(); ++n)
        list.push_back(between(Mode::dcv, string_name(n) + "+", string_name(n) + "-"));
    return list;
}
List module_volts(const Works& w) {
    List list;
    for (std::size_t n = 0; n < w.array.strings.size() && array(w); ++n)
        for (std::size_t m = 0; m < w.array.strings[n].modules.size(); ++m)
            list.push_back(between(Mode::dcv, fmt::format("{}.m{}+", string_name(n), m + 1),
                                   fmt::format("{}.m{}-", string_name(n), m + 1)));
    return list;
}
List string_clamps(const Works& w) {
    List list;
    for (std::size_t n = 0; n < w.array.strings.size() && array(w); ++n)
        list.push_back(clamp(Mode::dca, string_name(n)));
    return list;
}
// What a second supply brings and feeds, where there is one.
List fed(const Works& w, List list) { return w.supply.second.fitted ? std::move(list) : List{}; }
List lines() { return {clamp(Mode::aca, "u"), clamp(Mode::aca, "v"), clamp(Mode::aca, "w")}; }
List lamps_and_sound(const Works& w) {
    return w.guards.full.fitted && !mains(w) ? List{eye("lamps").front(), eye("sound").front()} : List{};
}
List drops(const Works& w) {
    List list;
    if (!array(w)) return list;
    for (const std::string pole : {"+", "-"})
        for (const auto& [from, to] : {std::pair{"array", "iso.in"}, {"iso.in", "iso.out"}, {"iso.out", "dc"}})
            list.push_back(between(Mode::dcv, from + pole, to + pole));
    return list;
}

}  // namespace

const std::vector<FieldTest>& field_tests() {
    using enum Station;
    static const std::vector<FieldTest> tests = {
        {"winding-ohms", "winding ohms", "pump wires off: ohms pair by pair at the top of the drop cable", "winding",
         dead, 10, true, 0, 0, [](const Works&) { return pairs(Mode::ohm, "lead"); }},
        {"cable-insulation", "cable insulation", "pump wires off: 500 V from each core to earth", "cable iso", dead, 10,
         true, 0, 0, [](const Works&) { return to_earth(Mode::insulation); }},
        {"core-capacitance", "core capacitance", "pump wires off: capacitance of each core to earth", "core C", dead, 5,
         true, 0, 0, [](const Works&) { return to_earth(Mode::cap); }},
        {"dead-volts", "volts on dead wires", "pump wires off, shaft at rest: DC volts pair by pair", "dead V", dead, 3,
         true, 0, 0, [](const Works&) { return pairs(Mode::dcv, "lead"); }},
        {"bridge-diodes", "bridge diode test",
         "wires off: diode test from each output to both poles of the link, both ways", "diodes", dead, 10, true, 0, 0,
         bridge_diodes},
        {"input-ohms", "input ohms", "ohms across the drive's input", "input", dead, 3, true, 0, 0,
         [](const Works& w) {
             return array(w) ? List{between(Mode::ohm, "dc+", "dc-"), between(Mode::ohm, "iso.out+", "iso.out-")}
                             : List{};
         }},
        {"lugs", "lugs and contacts",
         "isolated, proved dead: isolator, output terminals and connectors by eye: clean, discoloured, scorched",
         "lugs", dead, 15, false, 0, 0.25, lug_groups},
        {"guard-ohms", "guard ohms", "ohms at the terminals of dry-run probe and float", "guards", dead, 5, true, 0, 0,
         guards},
        {"array-insulation", "array insulation", "array covered: 500 V from each pole to the frame", "array iso",
         covered, 20, true, 0, 0, [](const Works& w) { return poles(w, Mode::insulation, "frame"); }},
        {"open-circuit-volts", "open-circuit volts", "DC volts pole to pole at array, isolator and each string", "V_oc",
         lit, 5, true, 0, 0, open_volts},
        {"module-volts", "module by module", "0 A by clamp, unplugged: DC volts of every module at its own leads",
         "module V", lit, 30, true, 0, 0, module_volts},
        {"poles-to-earth", "poles to earth", "DC volts from each pole to earth, meter of 10 Mohm", "to earth", lit, 3,
         true, 0, 0, [](const Works& w) { return poles(w, Mode::dcv, "earth"); }},
        {"short-circuit-current", "short-circuit current",
         "rated link, array covered while fitting and removing: clamp on each string", "I_sc", shorted, 20, true, 0, 0,
         string_clamps},
        {"link-volts", "link volts", "DC volts at the drive's input", "link V", running, 3, true, 0.01, 0,
         [](const Works& w) { return mains(w) ? List{} : List{between(Mode::dcv, "dc+", "dc-")}; }},
        {"drops", "drops", "millivolts along the DC run and across the isolator", "drops", running, 10, true, 0, 0,
         drops},
        {"output-volts", "output volts", "AC volts pair by pair, averaging meter", "out V", running, 5, true, 0.01, 0,
         [](const Works&) { return pairs(Mode::acv, "drive"); }},
        {"output-ratio", "output to link", "AC volts pair by pair, averaging meter, divided by the link's DC volts",
         "ratio", running, 8, true, 0.002, 0,
         [](const Works& w) { return mains(w) ? List{} : pairs(Mode::acv, "drive"); }, true},
        {"output-direct", "DC volts on the output", "DC volts pair by pair at the output", "out DC", running, 5, true,
         0, 0, [](const Works&) { return pairs(Mode::dcv, "drive"); }},
        {"line-clamps", "line clamps", "AC clamp on each line", "lines A", running, 3, true, 0.01, 0,
         [](const Works&) { return lines(); }},
        {"string-clamps", "string clamps", "DC clamp on each string", "strings A", running, 3, true, 0.01, 0,
         string_clamps},
        {"residual-clamp", "clamp on all three", "AC clamp on the three lines together", "residual", running, 2, true,
         0.01, 0, [](const Works&) { return List{clamp(Mode::aca, "uvw")}; }},
        {"running-to-earth", "poles to earth, running", "DC volts from each pole of the drive's input to earth",
         "run earth", running, 3, true, 0.01, 0,
         [](const Works& w) {
             return array(w) ? List{between(Mode::dcv, "dc+", "earth"), between(Mode::dcv, "dc-", "earth")} : List{};
         }},
        {"bucket", "bucket-and-stopwatch test", "water in a measured time", "bucket", running, 5, false, 0.03, 1e-6,
         [](const Works& w) { return pumped(w, "flow"); }},
        {"gauge", "gauge at the wellhead", "pressure above the pump's rising main", "gauge", running, 2, false, 0.02,
         0.2, [](const Works& w) { return pumped(w, "head"); }},
        {"dip", "dip meter", "water level in the bore", "dip", running, 10, false, 0, 0.05,
         [](const Works& w) { return pumped(w, "water"); }},
        {"rest-level", "water at rest", "pump stopped for half an hour: dip meter in the bore", "rest", dead, 40, false,
         0, 0.05, [](const Works& w) { return pumped(w, "water"); }},
        {"lamps", "lamps", "looking at the drive's front", "lamps", running, 1, false, 0, 0.25,
         [](const Works& w) { return mains(w) ? List{} : eye("lamps"); }},
        {"drive-display", "the drive's own display", "reading volts, hertz, amperes and the last stop off the drive",
         "display", running, 1, false, 0.02, 0.3,
         [](const Works& w) {
             List list;
             for (const char* one : {"drive_V", "drive_Hz", "drive_A", "drive_stop"})
                 if (!mains(w)) list.push_back(eye(one).front());
             return list;
         }},
        {"outlet", "water at the outlet", "looking at the outlet: none, a trickle, or it flows", "outlet", running, 1,
         false, 0, 0.25, [](const Works& w) { return pumped(w, "outlet"); }},
        {"settling", "bucket left to settle", "a bucket of the water, looked at when it has settled: clear, grit, sand",
         "settles", running, 6, false, 0, 0.25, [](const Works& w) { return pumped(w, "settles"); }},
        {"sound", "sound", "listening at the wellhead: silent, humming, turning", "sound", running, 1, false, 0, 0.25,
         [](const Works&) { return eye("sound"); }},
        {"vibration", "hand on the pipe", "a hand on the pipe at the wellhead: still, steady, trembles, knocks", "pipe",
         running, 1, false, 0, 0.25, [](const Works& w) { return pumped(w, "vibration"); }},
        {"box", "warmth of the box", "a hand near the drive's box, not on it: cold, hand-warm, too hot to hold", "box",
         running, 1, false, 0, 0.25, [](const Works& w) { return mains(w) ? List{} : eye("box"); }},
        {"smell", "smell", "a nose at box, isolator and array, covers on: nothing, warm dust, burnt", "smell", running,
         2, false, 0, 0.25, [](const Works&) { return eye("smell"); }},
        {"module-looks", "modules by eye",
         "looking at each string's modules: clean and lit, dirty, a shadow, browned or cracked", "modules", running, 3,
         false, 0, 0.25, string_looks},
        {"tank", "tank", "how full the tank is, by eye", "tank", running, 2, false, 0.05, 0.1,
         [](const Works& w) { return w.guards.full.fitted ? pumped(w, "tank") : List{}; }},
        // A camera tells a few kelvin from what lies beside it (common practice, no source).
        {"connector-heat", "connector heat", "thermal camera on the array's connectors under load", "camera", running,
         10, false, 0, 3.0, [](const Works& w) { return array(w) ? eye("connector_temp") : List{}; }},
        {"cell-heat", "cell heat", "thermal camera on the modules under load", "cells", running, 15, false, 0, 3.0,
         [](const Works& w) { return array(w) ? eye("cell_temp") : List{}; }},
        // One in a bore is out of a camera's sight.
        {"splice-heat", "splice heat", "thermal camera on the joints of the motor cable under load", "splice cam",
         running, 10, false, 0, 3.0,
         [](const Works& w) { return w.water.pump.index() == 0 ? eye("joint_temp") : List{}; }},
        {"shut-head", "gauge, valve shut", "valve shut for seconds, centrifugal pump only: gauge at the wellhead",
         "shut head", shut, 5, false, 0.02, 0.2,
         [](const Works&
                w) { return std::holds_alternative<water::Centrifugal>(w.water.pump) ? eye("head") : List{}; }},
        {"bleed-lamps", "lamps at bleed-down", "isolator opened: the drive's lamps 20 s later", "bleed lamp", bled, 2,
         false, 0, 0.25, [](const Works& w) { return array(w) ? eye("lamps") : List{}; }},
        {"bleed-down", "bleed-down", "isolator opened: link volts 20 s later", "bleed", bled, 3, true, 0.05, 0,
         // Where the speed stood at that moment is not the same twice.
         [](const Works& w) { return array(w) ? List{between(Mode::dcv, "link+", "link-")} : List{}; }},
        {"winding-ohms-warm", "winding ohms, warm",
         "after the run, link proved dead, shaft at rest: wires off, ohms pair by pair", "warm", warm, 15, true, 0, 0,
         [](const Works&) { return pairs(Mode::ohm, "lead"); }},
        // What stopped long ago shows why only while it tries.
        {"restart-clamps", "line clamps after a restart",
         "lamps and message noted, isolator off, link waited for, on: AC clamp on each line 8 s later", "restart A",
         restarted, 15, true, 0.02, 0, [](const Works& w) { return mains(w) ? List{} : lines(); }},
        {"restart-looks", "looks after a restart", "the same: the drive's lamps and the sound 8 s later", "restart",
         restarted, 10, false, 0, 0.25,
         [](const Works& w) { return mains(w) ? List{} : List{eye("lamps").front(), eye("sound").front()}; }},
        // Acts as tests: what changes tells, and what does not.
        {"rolled-clamps", "wires moved on, lines again",
         "isolated, proved dead: all three wires moved on by one terminal; running: AC clamp on each line", "rolled A",
         rolled, 15, true, 0.01, 0, [](const Works& w) { return mains(w) ? List{} : lines(); }},
        {"fuse-renewed", "a new fuse, once",
         "covered, 0 A by clamp: a new fuse of the same rating in each string, once; running: DC clamp there",
         "new fuse", renewed, 25, true, 0.01, 0, string_clamps},
        {"one-string-covered", "one string covered", "running: string 1 covered, the drive's display 15 s later",
         "1 covered", one_covered, 10, false, 0.02, 0.3,
         [](const Works& w) {
             List list;
             for (const char* shown : {"drive_V", "drive_Hz", "drive_A"})
                 if (array(w) && w.array.strings.size() > 1) list.push_back(eye(shown).front());
             return list;
         }},
        {"float-lifted", "float lifted", "running: the tank's float lifted by hand; lamps, sound 8 s later", "lifted",
         lifted, 5, false, 0, 0.25, lamps_and_sound},
        {"float-freed", "float moved", "the float moved by hand until it hangs free; lamps, sound 25 s later", "freed",
         freed, 5, false, 0, 0.25, lamps_and_sound},
        {"second-volts", "second supply volts", "running on the second supply: DC volts where it comes in, and at dc",
         "2nd V", other, 10, true, 0.01, 0,
         [](const Works&
                w) { return fed(w, {between(Mode::dcv, "second+", "second-"), between(Mode::dcv, "dc+", "dc-")}); }},
        {"second-lines", "lines on the second supply", "running on the second supply: AC clamp on each line", "2nd A",
         other, 3, true, 0.01, 0, [](const Works& w) { return fed(w, lines()); }},
        {"second-strings", "strings on the second supply",
         "running on the second supply, isolator closed: DC clamp on each string shows 0 A", "2nd DC A", other, 3, true,
         0.01, 0, [](const Works& w) { return fed(w, string_clamps(w)); }},
    };
    return tests;
}

std::optional<double> compared(const FieldTest& test, const meter::Reading& reading) {
    return test.of_link ? reading.link_ratio : reading.value;
}

const FieldTest* find_test(const std::string& id) {
    const auto& list = field_tests();
    const auto found = std::find_if(list.begin(), list.end(), [&](const FieldTest& t) { return t.id == id; });
    return found == list.end() ? nullptr : &*found;
}

namespace {
// What an eye, an ear, a hand or a nose that comes so near must know. at_box: near the drive, with what stands there.
struct Near {
    std::string_view gauge;
    bool at_box;
    Danger kind;
    const char* where;
};
constexpr Near nears[] = {
    // Metal that a leak can make live.
    {"sound", true, Danger::frame_live, "pipe"},
    {"vibration", true, Danger::frame_live, "pipe"},
    {"flow", false, Danger::frame_live, "pipe"},
    {"head", false, Danger::frame_live, "pipe"},
    {"settles", false, Danger::frame_live, "pipe"},
    {"water", false, Danger::frame_live, "pipe"},
    {"box", true, Danger::frame_live, "box"},
    {"connector_temp", false, Danger::live_in_light, "array"},
    {"cell_temp", false, Danger::live_in_light, "array"},
    {"tank", false, Danger::tank, ""},
};
std::vector<Hazard> near_by(const Scene& now, const std::string& gauge) {
    const bool lit = array(*now.works), lugs = gauge.starts_with("lug");
    std::vector<Hazard> list;
    for (const Near& n : nears) {
        if (gauge.substr(0, gauge.find('.')) != n.gauge) continue;  // connector_temp.s1.m3-
        if (n.at_box) list = standing(now);
        const bool of_light = n.kind == Danger::live_in_light;
        if (lit || n.kind == Danger::tank)
            list.push_back({.kind = n.kind, .where = n.where, .volts = of_light ? highest_V(*now.works) : 0.0});
    }
    if (lugs || gauge == "smell") list = standing(now);
    if (lugs) {
        std::vector<First> order = {First::isolated, First::covered, First::waited, First::proved_dead};
        if (!lit) std::erase(order, First::covered);
        list.push_back({.kind = Danger::dead_test, .where = "lugs", .first = std::move(order)});
        if (lit) list.push_back({.kind = Danger::live_in_light, .where = "isolator", .volts = highest_V(*now.works)});
        if (lit) list.push_back({.kind = Danger::unplugging});
    }
    return joined(std::move(list), {});
}

}  // namespace

std::vector<Hazard> hazards(const std::vector<Observation>& looks, Station station, const Bench& there) {
    const site::Site& site = *there.site();
    std::vector<Hazard> list;
    std::vector<Station> way = {station};  // with those before it
    if (station == Station::covered || station == Station::shorted) way = {Station::dead, station};
    if (station == Station::warm) way = {Station::bled, Station::warm};
    for (const Station s : way)
        for (const site::Act& act : acts_to(site.works, s))
            list = joined(std::move(list), needs(act.kind, act.place, &site.works));
    // Hands are on wires or fuses between switching off and on again.
    if (station == Station::rolled || station == Station::renewed) {
        const bool lit = array(site.works);
        list = joined(std::move(list), needs(lit ? "open" : "stop", lit ? "isolator" : "drive", &site.works));
        list = joined(std::move(list), needs(lit ? "close" : "start", lit ? "isolator" : "drive", &site.works));
    }
    const Scene now = scene(site, there.plant().look(there.state()));
    for (const Observation& o : looks)
        if (o.gauge.empty()) list = joined(std::move(list), needs(now, o.probes, o.mode, &o.spec()));
        else list = joined(std::move(list), near_by(now, o.gauge));
    return list;
}

std::vector<Hazard> hazards(const FieldTest& test, const Bench& there) {
    return hazards(test.observations(there.site()->works), test.station, there);
}

}  // namespace sunshaft::bench
