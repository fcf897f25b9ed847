// Where pumping brings the water, the heat of a connector, a meter left in place, the cell of a wet splice.
#include <algorithm>

#include "bench/field_tests.hpp"
#include "bench/hazards.hpp"
#include "bench/senses.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
using meter::Mode;

TEST_CASE("the pumped level is where a long run brings the water") {
    for (const char* name : {"hill-orchard", "river-meadow"}) {
        INFO(name);
        bench::Bench b = at(name);
        b.settle();
        const bench::Bench::Pumped p = b.pumped_level();
        CHECK(p.runs);
        CHECK_FALSE(p.stops);
        // A narrow bore that follows within seconds, over ten of its time constants: it ends at the same level.
        bench::Bench run = at(name, {.set = {"well.recovery_s=2", "well.bore_diameter_mm=70"}});
        run.advance(60.0);
        CHECK(run.state().water_level == approx(p.level).margin(0.03));
        const bench::Bench::Gauge g = b.gauge("water");
        CHECK(g.rest == b.scenario().well.static_level_m);
        CHECK(*g.pumped > *g.rest + 1.0);
        CHECK(g.value < *g.pumped);
    }
}

TEST_CASE("a well that falls to the probe is pumped down to it; a pump that stands leaves the water at rest") {
    bench::Bench low = at("hill-orchard", {.faults = {{"low-well", "well", 8.0, 0.0}}});
    low.settle();
    const bench::Bench::Pumped p = low.pumped_level();
    CHECK(p.stops);
    CHECK(p.level == approx(low.scenario().well.dry_probe_depth_m).margin(0.05));
    bench::Bench off = at("hill-orchard", {.acts = {{"open", "isolator", 0.0}}});
    off.settle();
    CHECK_FALSE(off.pumped_level().runs);
    CHECK_FALSE(off.gauge("water").pumped.has_value());
}

TEST_CASE("a connector's heat is its resistance times the string's current squared") {
    for (const double ohm : {0.1, 0.3}) {
        bench::Bench b = at("hill-orchard", {.set = {"drive.control=v-f"},
                                             .faults = {{"high-resistance-connector", "s2.m4-", ohm, 0.0}}});
        b.settle();
        const auto list = b.connectors();
        CHECK(list.size() == 2 * 11);
        const auto hottest =
            *std::max_element(list.begin(), list.end(), [](const auto& x, const auto& y) { return x.watt < y.watt; });
        CHECK(hottest.place == "s2.m4-");
        const double ampere =
            test::read(b, meter::find_spec("clamp-hall"), Mode::dca, {"", "", "s2"}).truth.rms.value();
        CHECK(hottest.watt == approx(ohm * ampere * ampere).epsilon(0.01));
        // A rod of that size in still air: 10 to 17 K for each watt, the fewer the hotter it is (common practice, no
        // source).
        const double over = hottest.degC - b.scenario().sun.air_temperature_degC;
        CHECK(over / hottest.watt < 17.0);
        CHECK(over / hottest.watt > 6.0);
        const bench::Bench::Gauge g = b.gauge("connector_temp"), one = b.gauge("connector_temp.s1.m1+");
        CHECK(g.value == approx(hottest.degC).epsilon(0.01));
        CHECK(g.how.find("s2.m4-, the hottest") != std::string::npos);
        CHECK(one.value < b.scenario().sun.air_temperature_degC + 2.0);
        CHECK_THROWS_AS(b.gauge("connector_temp.s9.m1+"), site::BadInput);
    }
}

TEST_CASE("a meter left in place loads what the other reads") {
    // An array behind a crust of 10 Mohm: two meters of 10 Mohm and 800 kohm hang on it in parallel.
    const bench::Edits crust{.faults = {{"leaky-connector", "s1.m5-", 1e7, 0.0}, {"open-string", "s2", 1.0, 0.0}},
                             .acts = {{"open", "isolator", 0.0}}};
    bench::Bench alone = at("hill-orchard", crust), two = at("hill-orchard", crust);
    alone.settle();
    two.leave({{"array+", "array-", 8e5}});
    two.settle();
    const double first = volts(alone, "array+", "array-"), both = volts(two, "array+", "array-");
    // The same source and resistance behind them: V1 (1/R + 1/10M) = V2 (1/R + 1/10M + 1/800k), R found from the meter
    // left alone at another load.
    bench::Bench third = at("hill-orchard", crust);
    third.leave({{"array+", "array-", 1e7}});
    third.settle();
    const double half = volts(third, "array+", "array-");
    const double behind = 1e7 * (first - half) / (2 * half - first);  // ohm
    CHECK(behind > 1e6);
    CHECK(both == approx(first * (1 / behind + 1e-7) / (1 / behind + 1e-7 + 1 / 8e5)).epsilon(2e-3));
    CHECK(both < 0.25 * first);
    CHECK_THROWS_AS(two.leave({{"array+", "nowhere", 8e5}}), site::BadInput);
    two.leave({});
    CHECK(volts(two, "array+", "array-") == approx(first).epsilon(1e-3));
}

TEST_CASE("a wet splice to earth is a cell: plus at the core, and ohms that differ with the leads swapped") {
    const double leak = 2e4;
    bench::Bench b = at("hill-orchard", {.faults = {{"wet-splice-to-earth", "v", leak, 0.0}},
                                         .acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}});
    b.settle();
    // Standard potentials of copper and iron, 0.342 and -0.447 V (CRC Handbook of Chemistry and Physics, from memory),
    // behind the leak and before 10 Mohm; every core sees it through the windings.
    const double cell = 0.342 + 0.447, seen = cell * 1e7 / (1e7 + leak);
    for (const char* lead : {"lead.u", "lead.v", "lead.w"}) {
        CHECK(volts(b, lead, "earth") == approx(seen).epsilon(1e-3));
        CHECK(volts(b, "earth", lead) == approx(-seen).epsilon(1e-3));
    }
    const meter::Spec ohmmeter = meter::find_spec("true-rms");
    meter::Context range;
    range.manual_range = 8e6;
    const auto one = test::read(b, ohmmeter, Mode::ohm, {"lead.v", "earth", ""}, range),
               other = test::read(b, ohmmeter, Mode::ohm, {"earth", "lead.v", ""}, range);
    REQUIRE(one.value);
    REQUIRE(other.value);
    // What the meter's current makes in the leak, and the cell with it or against it.
    CHECK(0.5 * (*one.value + *other.value) == approx(leak).epsilon(0.01));
    CHECK(*one.value > leak);
    CHECK(*other.value < leak);
    CHECK_FALSE(one.warnings.empty());
    // Without water in it no such thing: the same leak reads alike both ways.
    bench::Bench dry = at("hill-orchard", {.faults = {{"cable-earth-leakage", "v", leak, 0.0}},
                                           .acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}});
    dry.settle();
    CHECK(volts(dry, "lead.v", "earth") == approx(0.0).margin(1e-3));
    CHECK(test::read(dry, ohmmeter, Mode::ohm, {"lead.v", "earth", ""}, range).value.value() ==
          approx(test::read(dry, ohmmeter, Mode::ohm, {"earth", "lead.v", ""}, range).value.value()).epsilon(1e-3));
}

TEST_CASE("a shaded cell is as hot as the watts its string drives through it, hotter without a bypass diode") {
    const site::Fault shade{"shaded-cell", "s1.m3.2", 0.9, 0.0}, diode{"bypass-diode-open", "s1.m3.2", 1.0, 0.0};
    bench::Bench healthy = at("hill-orchard"), held = at("hill-orchard", {.faults = {shade}}),
                 bare = at("hill-orchard", {.faults = {shade, diode}}), clear = at("hill-orchard", {.faults = {diode}});
    for (bench::Bench* b : {&healthy, &held, &bare, &clear}) b->advance(8.0);
    const double module = healthy.gauge("module_temp").value;
    CHECK(healthy.gauge("cell_temp").value == approx(module));
    CHECK(clear.gauge("cell_temp").value == approx(module));
    const bench::Bench::Gauge mild = held.gauge("cell_temp"), bad = bare.gauge("cell_temp");
    CHECK(mild.value > module + 5.0);
    CHECK(bad.value > module + 50.0);
    CHECK(mild.how.find("s1.m3.2") != std::string::npos);
    CHECK(bare.gauge("cell_temp.s1.m3.1").value == approx(module));
    CHECK_THROWS_AS(bare.gauge("cell_temp.s9.m1.1"), site::BadInput);
    // The watts are current times the voltage that the meter finds across that third, less what its other cells make.
    const double ampere = test::read(bare, meter::find_spec("clamp-hall"), Mode::dca, {"", "", "s1"}).truth.rms.value();
    const double watt = (bad.value - module) * 0.156 * 0.156 * 25.0;
    CHECK(watt > 10.0 * ampere);
    CHECK(watt < 15.0 * ampere);
    CHECK(bare.site()->source.max_power_W < healthy.site()->source.max_power_W);
}

TEST_CASE("each gauge with a figure has one unit, said in one place") {
    for (const char* name : {"hill-orchard", "bench-rig"}) {
        bench::Bench b = at(name);
        b.advance(1.0);
        for (const std::string& gauge : bench::Bench::gauges()) {
            INFO(name << " " << gauge);
            CHECK(bench::told_in_words(gauge) == bench::gauge_unit(gauge).empty());
            if (gauge == "connector_temp" && std::string(name) == "bench-rig") continue;  // it has none
            if (gauge == "cell_temp" && std::string(name) == "bench-rig") continue;
            const bench::Bench::Gauge g = b.gauge(gauge);
            if (g.says.empty()) CHECK(g.unit == bench::gauge_unit(gauge));
        }
    }
    CHECK(bench::gauge_unit("connector_temp.s1.m5-") == "degC");
    CHECK(bench::figure_words(0.0025, bench::gauge_unit("flow"), 3) == "9 m3/h");
}

TEST_CASE("a rig without an array is told of neither array nor water") {
    bench::Bench b = at("bench-rig");
    const site::Works& works = b.site()->works;
    for (const site::ActRow& row : site::act_catalogue())
        for (const std::string& place : row.places(works))
            for (const std::string& line : bench::words(bench::needs(row.kind, place, &works))) {
                INFO(row.kind << "@" << place << ": " << line);
                CHECK(line.find("array") == std::string::npos);
                CHECK(line.find("Water running back") == std::string::npos);
            }
    for (const bench::FieldTest& test : bench::field_tests())
        for (const std::string& line : bench::words(bench::hazards(test, b))) {
            INFO(test.id << ": " << line);
            CHECK(line.find("Cover the array") == std::string::npos);
        }
}

TEST_CASE("a rig with its isolator open says that it is dark, not that it runs") {
    bench::Bench b = at("bench-rig");
    b.advance(0.5);
    CHECK(b.state().control.phase != drive::Phase::off);
    bench::Edits open{.acts = {{"open", "isolator", b.time()}}};
    b.edit(open);
    b.advance(20.0);
    CHECK(b.state().control.phase == drive::Phase::off);
    CHECK(b.gauge("drive_V").shown() == "dark");
    CHECK_FALSE(b.state().command.running);
}
