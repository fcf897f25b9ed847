// Hazards: the highest voltage that can be present, what is refused and why, and how it is said.
#include "bench/hazards.hpp"

#include <algorithm>
#include <cmath>
#include <random>
#include <sstream>

#include "circuit/circuit.hpp"
#include "site/wiring.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
using bench::Danger;
using meter::Mode;

namespace {

const std::vector<std::string> with_arrays = {"hill-orchard", "terrace-pwm", "river-meadow", "stone-fold"};

Scenario named(const std::string& name) { return site::load_scenario(site::find_scenario(name)); }

site::Works works(const std::string& name, const std::vector<std::string>& faults = {},
                  const std::vector<std::string>& acts = {}) {
    site::Works w = site::set_up(named(name));
    for (const std::string& text : faults) site::apply(w, site::parse_fault(text, w));
    for (const std::string& text : acts) site::apply(w, site::parse_act(text, w));
    return w;
}

bool has(const std::vector<bench::Hazard>& list, Danger kind) {
    return std::any_of(list.begin(), list.end(), [&](const auto& h) { return h.kind == kind; });
}
bool refuses(const std::vector<bench::Hazard>& list, Danger kind) {
    return std::any_of(list.begin(), list.end(), [&](const auto& h) { return h.kind == kind && h.refuse; });
}

// Before anything has run, with these acts done.
std::vector<bench::Hazard> at_rest(const std::string& name, const std::vector<std::string>& done,
                                   const std::string& act, const std::vector<std::string>& faults = {}) {
    const site::Works w = works(name, faults, done);
    return bench::needs(bench::scene(w), site::parse_act(act, w));
}
std::vector<bench::Hazard> touching(const std::string& name, const std::vector<std::string>& done, Mode mode,
                                    const bench::Probes& probes, const char* meter = nullptr) {
    const site::Works w = works(name, {}, done);
    if (!meter) return bench::needs(bench::scene(w), probes, mode);
    const meter::Spec spec = meter::find_spec(meter);
    return bench::needs(bench::scene(w), probes, mode, &spec);
}

bench::Scene now(bench::Bench& b) { return bench::scene(*b.site(), b.plant().look(b.state())); }

}  // namespace

TEST_CASE("the highest voltage: open circuit of a whole string on the coldest bright morning") {
    for (const std::string& name : with_arrays) {
        const Scenario s = named(name);
        INFO(name);
        // Each site says how cold its modules get.
        const double cold = s.site.lowest_module_temperature_degC;
        REQUIRE(std::isfinite(cold));
        // The data sheet's own coefficient; the diode law bends it by less than 1.5 % over 60 K.
        const double sheet =
            s.array.modules_in_series * (s.array.module_voc_V + s.array.module_beta_V_per_K * (cold - 25.0));
        CHECK(bench::highest_V(works(name)) == approx(sheet).epsilon(0.015));
        // The diode law solved by halving: nothing flows where the light's current is the diode's and the shunt's.
        const solar::ModuleData data = site::set_up(s).array.strings[0].modules[0].data;
        const solar::SingleDiode d = solar::translate_cec(data, 1000.0, cold);
        double low = 0.0, high = 100.0;
        for (int n = 0; n < 100; ++n) {
            const double v = 0.5 * (low + high);
            (d.IL - d.I0 * (std::exp(v / d.a) - 1) - v / d.Rsh > 0 ? low : high) = v;
        }
        CHECK(bench::highest_V(works(name)) == approx(s.array.modules_in_series * low).epsilon(1e-9));
    }
    CHECK(bench::highest_V(works("bench-rig")) == 320.0);
    Scenario mains = named("hill-orchard");
    mains.supply.kind = "mains", mains.supply.voltage_V = 400.0;
    CHECK(bench::highest_V(site::set_up(mains)) == 400.0);
    Scenario own = named("hill-orchard");
    own.site.lowest_module_temperature_degC = -25.0;
    CHECK(bench::highest_V(site::set_up(own)) > bench::highest_V(works("hill-orchard")) + 15.0);
    // Not said: 30 K below the air now.
    Scenario silent = named("hill-orchard");
    silent.site.lowest_module_temperature_degC = Scenario().site.lowest_module_temperature_degC;
    own.site.lowest_module_temperature_degC = silent.sun.air_temperature_degC - 30.0;
    CHECK(bench::highest_V(site::set_up(silent)) == bench::highest_V(site::set_up(own)));
}

TEST_CASE("the highest voltage does not depend on what is open, closed, dark or covered") {
    const double healthy = bench::highest_V(works("hill-orchard"));
    for (const char* act : {"open@isolator", "open@s1.m5-", "open@fuse.s2", "cover@array", "short@array", "pull@pump"})
        CHECK(bench::highest_V(works("hill-orchard", {}, {act})) == healthy);
    CHECK(bench::highest_V(works("hill-orchard", {"soiled-array=0.9"})) == healthy);
    // One string the wrong way round beside a good one: both in series across an open fuse.
    CHECK(bench::highest_V(works("hill-orchard", {"string-reversed@s2"})) == approx(2 * healthy).epsilon(1e-9));
    CHECK(bench::highest_V(works("hill-orchard", {"string-reversed@s1", "string-reversed@s2"})) ==
          approx(healthy).epsilon(1e-9));
}

TEST_CASE("no two points ever show more than the highest voltage, whatever is opened and however it is wired") {
    std::mt19937 random(4711);
    bool exceeded_once = false;  // two strings, each open somewhere, add up
    for (const std::string name : {"hill-orchard", "river-meadow"}) {
        Scenario s = named(name);
        s.sun.irradiance_W_m2 = 1000.0;
        s.sun.module_temperature_degC = s.site.lowest_module_temperature_degC;
        for (int n = 0; n < 25; ++n) {
            site::Works w = site::set_up(s);
            const auto pick = [&](const site::FaultRow& row) {
                const auto places = row.places(w);
                return places[random() % places.size()];
            };
            for (const char* kind : {"string-reversed", "module-reversed"})
                if (random() % 2) site::apply(w, {kind, pick(*site::find_fault(kind)), 1.0, 0.0});
            for (int k = 0; k < 3; ++k)
                site::apply(w, site::Act{"open", pick(*site::find_fault("open-connector")), 0.0});
            if (random() % 2) site::apply(w, site::Act{"open", "isolator", 0.0});
            circuit::Circuit c;
            site::wire_dc(w, c);
            const circuit::Solution found = circuit::solve(c);
            const auto string = [&](circuit::Node a) { return c.name(a)[0] == 's' ? c.name(a)[1] : ' '; };
            double most = 0.0, across = 0.0;
            for (circuit::Node a = 0; a < c.nodes(); ++a)
                for (circuit::Node b = 0; b < a; ++b)
                    if (const double v = found.voltage(a, b); std::isfinite(v)) {
                        const bool two = string(a) != string(b) && string(a) != ' ' && string(b) != ' ';
                        (two ? across : most) = std::max(two ? across : most, std::abs(v));
                    }
            INFO(name << " case " << n);
            CHECK(most <= bench::highest_V(w) * (1 + 1e-6));
            CHECK(across <= bench::highest_V(w, "s1+", "s2-") * (1 + 1e-6));
            exceeded_once = exceeded_once || across > bench::highest_V(w) * 1.1;
        }
    }
    CHECK(exceeded_once);
}

TEST_CASE("what would hurt someone or destroy something is refused, and not once it is in the right order") {
    CHECK(refuses(at_rest("hill-orchard", {}, "pull@pump"), Danger::pump_running));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {"open@isolator"}, "pull@pump")));
    CHECK(refuses(at_rest("hill-orchard", {}, "exchange@u-v"), Danger::pump_running));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {"open@isolator"}, "exchange@u-v")));
    CHECK(refuses(at_rest("hill-orchard", {}, "restore@u"), Danger::live_wires));
    CHECK(refuses(at_rest("hill-orchard", {}, "short@array"), Danger::shorted_live));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {"open@isolator"}, "short@array")));
    CHECK(refuses(at_rest("hill-orchard", {"open@isolator", "short@array"}, "close@isolator"), Danger::shorted_live));
    CHECK(refuses(at_rest("hill-orchard", {"open@isolator", "short@array"}, "unshort@array"), Danger::arc));
    CHECK_FALSE(
        bench::refused(at_rest("hill-orchard", {"open@isolator", "short@array", "cover@array"}, "unshort@array")));
    CHECK(refuses(at_rest("hill-orchard", {}, "open@s1.m3-"), Danger::arc));
    CHECK(refuses(at_rest("hill-orchard", {}, "open@fuse.s2"), Danger::arc));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {"open@isolator"}, "open@s1.m3-")));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {"cover@array"}, "open@s1.m3-")));
    // A reversed string drives current through its neighbour: an open isolator is no proof.
    const auto reversed = at_rest("hill-orchard", {"open@isolator"}, "open@s1.m3-", {"string-reversed@s2"});
    CHECK(refuses(reversed, Danger::arc));
    CHECK(has(reversed, Danger::circulating));
    CHECK_FALSE(bench::refused(
        at_rest("hill-orchard", {"open@isolator", "cover@array"}, "open@s1.m3-", {"string-reversed@s2"})));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {}, "jumper@float")));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {}, "open@isolator")));
}

TEST_CASE("a meter's own source is refused on what is live, an insulation tester on electronics") {
    const bench::Probes pair{"lead.u", "lead.v", ""}, core{"lead.w", "earth", ""}, pole{"array+", "frame", ""};
    CHECK(refuses(touching("hill-orchard", {}, Mode::ohm, pair), Danger::ohms_on_live));
    CHECK(refuses(touching("hill-orchard", {"open@isolator"}, Mode::ohm, {"array+", "array-", ""}),
                  Danger::ohms_on_live));
    CHECK_FALSE(bench::refused(touching("hill-orchard", {"open@isolator"}, Mode::ohm, pair)));
    CHECK_FALSE(bench::refused(
        touching("hill-orchard", {"open@isolator", "cover@array"}, Mode::ohm, {"array+", "array-", ""})));
    CHECK(refuses(touching("terrace-pwm", {"open@isolator"}, Mode::insulation, core), Danger::test_into_electronics));
    CHECK_FALSE(bench::refused(touching("terrace-pwm", {"open@isolator", "pull@pump"}, Mode::insulation, core)));
    CHECK(refuses(touching("terrace-pwm", {"open@isolator", "pull@pump"}, Mode::insulation, {"drive.w", "earth", ""}),
                  Danger::test_into_electronics));
    CHECK(refuses(touching("hill-orchard", {"open@isolator", "cover@array"}, Mode::insulation, {"dc+", "earth", ""}),
                  Danger::test_into_electronics));
    CHECK_FALSE(bench::refused(touching("hill-orchard", {"open@isolator", "cover@array"}, Mode::insulation, pole)));
    CHECK(refuses(touching("hill-orchard", {"cover@array"}, Mode::insulation, pole), Danger::test_into_electronics));
    CHECK(refuses(touching("hill-orchard", {"open@isolator"}, Mode::insulation, pole), Danger::ohms_on_live));
    // The guards' few volts spoil a reading and hurt nobody.
    CHECK_FALSE(bench::refused(touching("hill-orchard", {}, Mode::ohm, {"dry.1", "dry.2", ""})));
}

TEST_CASE("a meter is refused where it is not rated for what can be present") {
    const bench::Probes out{"drive.u", "drive.v", ""}, guard{"float.1", "float.2", ""};
    CHECK(refuses(touching("hill-orchard", {}, Mode::acv, out, "moving-coil-rectifier"), Danger::meter_not_rated));
    CHECK(refuses(
        touching("hill-orchard", {"open@isolator"}, Mode::dcv, {"array+", "array-", ""}, "moving-coil-rectifier"),
        Danger::meter_not_rated));
    CHECK_FALSE(bench::refused(touching("hill-orchard", {}, Mode::acv, out, "average")));
    // Some millivolts stand there, not the array's volts.
    const auto low = touching("hill-orchard", {}, Mode::dcv, guard, "moving-coil-rectifier");
    CHECK_FALSE(bench::refused(low));
    CHECK_FALSE(has(low, Danger::live_pole));
}

TEST_CASE("the link behind an open isolator is said as what it is: a stored charge") {
    bench::Bench b = at("hill-orchard", {.acts = {{"open", "isolator", 6.0}}});
    b.advance(6.05);
    const auto list = bench::needs(now(b), {"dc+", "dc-", ""}, Mode::dcv);
    REQUIRE(has(list, Danger::stored_charge));
    const auto& charge =
        *std::find_if(list.begin(), list.end(), [](const auto& h) { return h.kind == Danger::stored_charge; });
    CHECK(charge.volts > 50.0);
    CHECK(charge.joules ==
          approx(0.5 * named("hill-orchard").link.capacitance_F * charge.volts * charge.volts).epsilon(1e-9));
    CHECK(refuses(bench::needs(now(b), {"dc+", "dc-", ""}, Mode::ohm), Danger::ohms_on_live));
    CHECK(bench::refused(bench::needs(now(b), site::Act{"pull", "pump", 6.05})));
    CHECK(bench::refused(bench::needs(now(b), site::Act{"exchange", "u-v", 6.05})));
    // Every word of waiting leaves the time to the label.
    for (const std::string& line : bench::words(list)) CHECK(line.find("Wait for") == std::string::npos);
    CHECK(bench::words(charge).find("Wait the time on the drive's label.") != std::string::npos);
    bench::Bench open =
        at("hill-orchard", {.faults = {{"bleed-open", "link", 1.0, 0.0}}, .acts = {{"open", "isolator", 6.0}}});
    open.advance(6.05);
    CHECK(bench::words(bench::needs(now(open), {"dc+", "dc-", ""}, Mode::dcv))[1] ==
          "Link will NOT discharge: do not open the drive.");
}

TEST_CASE("the line that is always in sight: what is dangerous now, every step in every wording, shorter and shorter") {
    const auto lines = [](const bench::Scene& scene, bool known = true) {
        const auto said = bench::one_line(bench::standing(scene, known));
        for (std::size_t n = 1; n < said.size(); ++n) CHECK(said[n].size() < said[n - 1].size());
        CHECK(said.front().find("For trained and authorised people only.") != std::string::npos);
        return said;
    };
    const auto in_all = [](const std::vector<std::string>& said, const std::string& wanted) {
        INFO(wanted << " in " << said.back());
        return std::all_of(said.begin(), said.end(),
                           [&](const auto& line) { return line.find(wanted) != std::string::npos; });
    };
    for (const std::string& name : with_arrays) {
        INFO(name);
        bench::Bench b = at(name.c_str());
        b.advance(6.0);
        const auto running = lines(now(b));
        CHECK(in_all(running, "Outputs and link are live, up to "));
        // The same figure as before a touch, and no other a moment later.
        const auto touch = bench::needs(now(b), {"drive.u", "drive.v", ""}, meter::Mode::acv);
        const auto live = std::ranges::find_if(touch, [](const auto& h) { return h.kind == Danger::live_pole; });
        REQUIRE(live != touch.end());
        CHECK(bench::standing(now(b)).front().volts == live->volts);
        b.advance(0.37);
        CHECK(lines(now(b)) == running);
        for (const char* step : {"Stop, isolate", "Cover the array.", "Wait the ", "rove "})
            CHECK(in_all(running, step));
        // Nobody who has no meter is told a voltage.
        CHECK(lines(now(b), false).front().find(" V") == std::string::npos);
        CHECK(in_all(lines(now(b), false), "count as live until proved dead."));
    }
    bench::Bench isolated =
        at("hill-orchard", {.faults = {{"bleed-open", "link", 1.0, 0.0}}, .acts = {{"open", "isolator", 6.0}}});
    isolated.advance(6.5);
    CHECK(in_all(lines(now(isolated)), "Stored charge: in this model the link still holds "));
    CHECK(in_all(lines(now(isolated)), "Link will NOT discharge: do not open the drive."));
    // At rest: the array in light; covered, nothing is left that can be told from here.
    const site::Works lit = works("hill-orchard"), covered = works("hill-orchard", {}, {"cover@array"});
    CHECK(in_all(lines(bench::scene(lit)), "The modules are live in any light. Cover the array."));
    CHECK(in_all(lines(bench::scene(covered)), "Dark lamps prove nothing."));
    CHECK(lines(bench::scene(covered)).front().find("Cover the array") == std::string::npos);
}

TEST_CASE("cautions: the most severe first, each once, an order's step said once") {
    for (const std::string& name : with_arrays)
        for (const Mode mode : {Mode::dcv, Mode::acv, Mode::ohm, Mode::insulation})
            for (const bench::Probes& p : {bench::Probes{"array+", "earth", ""},
                                           {"dc+", "dc-", ""},
                                           {"drive.u", "drive.v", ""},
                                           {"dry.1", "dry.2", ""}}) {
                const auto list = touching(name, {}, mode, p);
                INFO(name << " " << p.red);
                CHECK(std::is_sorted(list.begin(), list.end(), [](const auto& a, const auto& b) {
                    return a.refuse != b.refuse ? a.refuse : a.kind < b.kind;
                }));
                CHECK(list.back().kind == Danger::authorised);
                auto lines = bench::words(list);
                CHECK(lines.size() <= 7);
                std::string all;
                for (const auto& line : lines) all += line + " ";
                std::sort(lines.begin(), lines.end());
                CHECK(std::adjacent_find(lines.begin(), lines.end()) == lines.end());
                const auto first = all.find("lock and tag");
                if (first != std::string::npos) CHECK(all.find("lock and tag", first + 1) == std::string::npos);
            }
    // On a bench supply nobody speaks of modules or of a pump that it has not got.
    for (const std::string& line : bench::words(touching("bench-rig", {}, Mode::ohm, {"drive.u", "drive.v", ""}))) {
        CHECK(line.find("array") == std::string::npos);
        CHECK(line.find("Water") == std::string::npos);
    }
}

TEST_CASE("whoever acts is watched: refused, or counted as unsafe") {
    const site::Works w = works("hill-orchard");
    bench::Conduct careful;
    CHECK_THROWS_AS(careful.before(bench::scene(w), {{"pull", "pump", 0.0}}), bench::Refused);
    CHECK(careful.unsafe().empty());
    bench::Conduct hasty(true);
    hasty.before(bench::scene(w), {{"pull", "pump", 0.0}});
    hasty.before(bench::scene(w), {"lead.u", "lead.v", ""}, Mode::ohm, nullptr);
    CHECK(hasty.unsafe().size() == 2);
    // Acts of one moment count in the order given: wires pulled first are pulled from a running drive.
    bench::Conduct orderly;
    CHECK_THROWS_AS(orderly.before(bench::scene(w), {{"pull", "pump", 0.0}, {"open", "isolator", 0.0}}),
                    bench::Refused);
    CHECK_NOTHROW(orderly.before(bench::scene(w), {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}));
    CHECK_THROWS_AS(
        orderly.before(
            bench::scene(w),
            {{"open", "isolator", 0.0}, {"short", "array", 0.0}, {"unshort", "array", 0.0}, {"cover", "array", 0.0}}),
        bench::Refused);
    CHECK_NOTHROW(orderly.before(
        bench::scene(w),
        {{"open", "isolator", 0.0}, {"cover", "array", 0.0}, {"short", "array", 0.0}, {"uncover", "array", 0.0}}));
    CHECK_FALSE(orderly.hazards().empty());
}

TEST_CASE("the dry-run guard is bridged only after a dip reading of water above the intake") {
    const Danger never = Danger::undipped, dry = Danger::dry_pump;
    // The well is full, and nobody has looked.
    CHECK(refuses(at_rest("hill-orchard", {}, "jumper@dry"), never));
    CHECK_FALSE(bench::refused(at_rest("hill-orchard", {}, "jumper@float")));
    const site::Works w = works("hill-orchard"), fallen = works("hill-orchard", {"low-well=20"});
    const std::vector<site::Act> bridge = {{"jumper", "dry", 0.0}};
    bench::Conduct hasty;
    CHECK_THROWS_AS(hasty.before(bench::scene(w), bridge), bench::Refused);
    hasty.dipped(w.water.pump_depth - 0.5);
    CHECK_NOTHROW(hasty.before(bench::scene(w), bridge));
    hasty.dipped(w.water.pump_depth);
    CHECK_THROWS_AS(hasty.before(bench::scene(w), bridge), bench::Refused);
    // It is the reading that counts, not what the model knows of the well: whoever dipped another one is not stopped.
    bench::Scene seen = bench::scene(fallen);
    seen.dipped = 30.0;
    CHECK_FALSE(bench::refused(bench::needs(seen, bridge[0])));
    seen.dipped = 50.0;
    CHECK(refuses(bench::needs(seen, bridge[0]), dry));
    CHECK(bench::reasons(bench::needs(seen, bridge[0]))[0].find("50.0 m") != std::string::npos);
    CHECK(bench::order(at_rest("hill-orchard", {}, "jumper@dry")) ==
          "Dip the well: water must stand above the intake. Someone stays at the switch, with a time limit.");
}

TEST_CASE("a timed act is judged at its time, and where it is refused it is not done") {
    bench::Bench b = at("hill-orchard", {.acts = {{"open", "s1.m5-", 6.0}}});
    bench::Conduct careful;
    b.ask([&](bench::Bench& then, const std::vector<site::Act>& acts) { careful.before(now(then), acts); });
    CHECK_THROWS_AS(b.advance(7.0), bench::Refused);
    CHECK(b.time() == approx(6.0));
    CHECK_FALSE(b.site()->works.array.strings[0].joints[5].open);
}

TEST_CASE("edits are checked once, keys first, also what is still to come") {
    const Scenario s = named("hill-orchard");
    bench::Bench b(s);
    const bench::Edits three{.set = {"array.strings=3"}, .faults = {{"open-string", "s3", 1.0, 0.0}}};
    CHECK_NOTHROW(b.edit(three));
    CHECK_NOTHROW(bench::Bench(s, three));
    const bench::Edits gone{.set = {"array.strings=1"}, .faults = {{"open-string", "s2", 1.0, 60.0}}};
    CHECK_THROWS_AS(b.edit(gone), site::BadInput);
    CHECK_THROWS_AS(bench::Bench(s, gone), site::BadInput);
    CHECK_THROWS_AS(bench::checked(s, gone), site::BadInput);
    // Nothing has changed by what was refused.
    CHECK(b.edits().set == three.set);
    CHECK(b.scenario().array.strings == 3);
}

namespace {

// Everything the program says before an act, a touch or a fault's advice.
std::vector<std::string> all_texts() {
    std::vector<std::string> texts;
    for (int kind = 0; kind <= static_cast<int>(Danger::authorised); ++kind)
        for (const double figure : {0.0, 343.4}) {
            std::vector<bench::First> first;
            for (int f = 0; f <= static_cast<int>(bench::First::watched); ++f)
                first.push_back(static_cast<bench::First>(f));
            texts.push_back(bench::words(bench::Hazard{.kind = static_cast<Danger>(kind),
                                                       .where = "s1.m3-",
                                                       .volts = figure,
                                                       .joules = figure,
                                                       .amps = figure,
                                                       .metres = figure,
                                                       .braking_V = 2 * figure,
                                                       .meter_rating = "CAT III 600 V",
                                                       .first = first}));
        }
    for (const site::FaultRow& row : site::fault_catalogue())
        for (const std::string& text :
             {std::string(row.what), std::string(row.owner_sees), std::string(row.to_do), row.caution.said()})
            texts.push_back(text);
    return texts;
}

}  // namespace

TEST_CASE("every sentence can be read aloud: at most twenty words, the trade's words") {
    for (const std::string& text : all_texts()) {
        INFO(text);
        std::string sentence;
        std::istringstream words(text);
        int count = 0;
        for (std::string word; words >> word;) {
            ++count;
            if (word.back() != '.' && word.back() != ';' && word.back() != ':') continue;
            CHECK(count <= 20);
            count = 0;
        }
        CHECK(count <= 20);
        for (const char* not_said :
             {"controller", "bare hands", "bucket and watch", "dip tape", "charging resistor", "direct voltage", "anew",
              "mend ", "regenerate", "controller", "wires pulled", "at once after", "dry or replace", "same kind"})
            CHECK(text.find(not_said) == std::string::npos);
    }
}

TEST_CASE("what has to be said is said somewhere") {
    std::string all;
    for (const std::string& text : all_texts()) all += text + "\n";
    for (const char* wanted :
         {"Stop, isolate, lock and tag, cover the array. Wait the time on the drive's label. Prove the tester, the "
          "link, the tester again.",
          "Link will NOT discharge: do not open the drive.",
          "Isolate and prove dead, place the leads, refit the cover, then switch on.",
          "insulating gloves rated for this voltage",
          "Do it only if your local code and your authorisation allow it and no dead test will do.",
          "For trained and authorised people only.",
          "Unplug a connector only after a clamp shows 0 A in it. An open isolator is no proof.",
          "Current circulates between strings with the isolator open",
          "Cover the array and clamp 0 A before touching a fuse or connector.",
          "Treat the frame as live. One touch of the other pole can kill.",
          "as soon as the link is proved dead and the shaft stands still; do not hurry",
          "by thermal camera under load, or compare string currents",
          "Replace both halves.",
          "find how water got in",
          "with the same make and type, crimped with the maker's tool",
          "Closed-valve head: centrifugal pump only, for seconds; never on a screw-type pump.",
          "Bridged float: the tank runs over. Someone stays at the tank; remove it after.",
          "Bucket test. Isolate, prove dead, exchange two wires, test again. Keep runs short: reverse running can "
          "unscrew the pipe.",
          "Rated link, array covered while fitting and removing.",
          "Disconnect the arrester; test the cable. Check the arrester by its window or replace it.",
          "Fault in the leads: broken, or plugged into the wrong socket. Stop measuring."}) {
        INFO(wanted);
        CHECK(all.find(wanted) != std::string::npos);
    }
}

TEST_CASE("advice on a drive leaves the pump in the well") {
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const std::string todo = row.to_do;
        INFO(row.kind);
        if (todo.find("workshop") != std::string::npos)
            CHECK(todo.find("eave the pump in the well") != std::string::npos);
        // Nobody is told to measure live under a caution that speaks of dead work only.
        const std::string caution = row.caution.said();
        if (todo.find("volts pair by pair while running") != std::string::npos)
            CHECK(caution.find("Live work") != std::string::npos);
    }
}
