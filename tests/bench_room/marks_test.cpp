// What heat leaves behind: contacts that discolour, the warmth of the box, smells, and what a hand feels on the pipe.
#include "bench/marks.hpp"

#include <cmath>
#include <numbers>

#include "bench/field_tests.hpp"
#include "bench/hazards.hpp"
#include "bench/senses.hpp"
#include "support.hpp"

using namespace sunshaft;
using bench::Mark;
using test::approx;

namespace {

std::string says(const bench::Bench& b, const std::string& sense) { return bench::Bench(b).gauge(sense).says; }

bench::Lug lug_at(const bench::Bench& b, const std::string& place) {
    for (const bench::Lug& l : bench::lugs(b))
        if (l.place == place) return l;
    FAIL("no lug at " << place);
    return {};
}

bench::Bench orchard(const std::string& kind, const std::string& place, double severity, double run_s = 0.0) {
    bench::Bench b = test::at("hill-orchard", {.faults = {{kind, place, severity, 0.0}}});
    if (run_s > 0.0) b.advance(run_s);
    return b;
}

}  // namespace

TEST_CASE("nothing is marked, smells or shakes on a healthy site, and its box is not too hot to hold") {
    for (const char* name : {"bench-rig", "hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"}) {
        INFO(name);
        bench::Bench b = test::at(name);
        b.advance(12.0);
        CHECK(says(b, "lug") == "clean");
        CHECK(says(b, "smell") == "nothing");
        CHECK(says(b, "box") != "too hot to hold");
        if (b.site()->works.water.pump.index() != 0) CHECK(says(b, "vibration") == "steady");
        b.edit({.acts = {{"stop", "drive", b.time()}}});
        b.advance(20.0);
        CHECK(says(b, "vibration") == "still");
    }
}

TEST_CASE("a contact of the isolator carries what the motor's rating takes: its watts are a closed form") {
    // 0.85 of sqrt(3) times 250 V and 8.5 A at the plates' 10 x 30.8 V; the array has a quarter to spare.
    const double ampere = 0.85 * std::numbers::sqrt3 * 250 * 8.5 / 308;
    const bench::Lug lug = lug_at(orchard("isolator-contact", "isolator+", 0.02), "isolator+");
    CHECK(lug.watt == approx(0.02 * ampere * ampere).epsilon(0.01));
    // A rod's convection and radiation at that temperature give off as much (Holman, Stefan and Boltzmann).
    const double area = std::numbers::pi * 0.02 * 0.11, over = lug.degC - 24;
    CHECK(area * (1.32 * std::pow(over / 0.02, 0.25) * over +
                  0.9 * 5.670374e-8 * (std::pow(lug.degC + 273.15, 4) - std::pow(24 + 273.15, 4))) ==
          approx(lug.watt).epsilon(0.001));
    // Each string carries half of it.
    const bench::Lug joint = lug_at(orchard("high-resistance-connector", "s1.m3-", 0.04), "s1.m3-");
    CHECK(joint.watt == approx(0.04 * ampere * ampere / 4).epsilon(0.03));
    // An output terminal, in series with 250 V / sqrt(3) behind what takes 8.5 A of it.
    const double phase = 250 / std::numbers::sqrt3, through = phase / (phase / 8.5 + 0.5);
    CHECK(lug_at(orchard("output-terminal-loose", "drive.v", 0.5), "drive.v").watt ==
          approx(0.5 * through * through).epsilon(1e-6));
}

TEST_CASE("marks grow with the ohms in a contact and stay whatever hands do") {
    for (const auto& [kind, place, where] : {std::tuple{"isolator-contact", "isolator-", "lug.isolator"},
                                             {"output-terminal-loose", "drive.u", "lug.drive"},
                                             {"high-resistance-connector", "s2.m4-", "lug.connector"}}) {
        unsigned before = 0;
        std::array<bool, 3> met{};
        for (const double ohm : {0.002, 0.01, 0.03, 0.07, 0.1, 0.15, 0.25, 0.5, 2.0}) {
            const bench::Bench b = orchard(kind, place, ohm);
            const auto mark = static_cast<unsigned>(lug_at(b, place).mark());
            INFO(kind << " " << ohm);
            CHECK(mark >= before);
            before = mark, met[mark] = true;
            CHECK(says(b, "lug") == says(b, where));
            for (const char* other : {"lug.isolator", "lug.drive", "lug.connector"})
                if (other != std::string(where)) CHECK(says(b, other) == "clean");
        }
        CHECK((met[0] && met[1] && met[2]));
    }
    bench::Bench off = orchard("isolator-contact", "isolator+", 2.0);
    off.edit({.faults = off.edits().faults, .acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}});
    CHECK(says(off, "lug") == "scorched");
    CHECK(says(orchard("isolator-pole-burnt", "isolator+", 1.0), "lug.isolator") == "scorched");
    bench::Bench open = test::at("hill-orchard", {.acts = {{"open", "isolator", 0.0}}});
    CHECK(says(open, "lug") == "clean");
    CHECK(says(orchard("leaky-connector", "s1.m3-", 1e7), "lug.connector") == "scorched");
    CHECK_THROWS_AS(off.gauge("lug.roof"), site::BadInput);
}

TEST_CASE("the box comes to where the plant's own heat sink comes") {
    // One that stores next to nothing is there within seconds.
    for (const char* name : {"hill-orchard", "stone-fold"}) {
        INFO(name);
        bench::Bench quick = test::at(name, {.set = {"drive.heat_sink_J_per_K=0.5"}});
        quick.settle();
        quick.advance(10.0);
        const double there = quick.state().slow.heat_sink_degC;
        const double air = quick.scenario().sun.air_temperature_degC;
        CHECK(there > air + 0.3);
        CHECK(bench::box_degC(quick) - air == approx(there - air).epsilon(0.05));
        bench::Bench usual = test::at(name);
        usual.settle();
        usual.advance(10.0);
        CHECK(bench::box_degC(usual) - air == approx(there - air).epsilon(0.05));
    }
    const bench::Bench blocked = orchard("heat-sink-blocked", "drive", 30, 12.0);
    CHECK(bench::box_degC(blocked) == approx(blocked.site()->works.drive.heat_sink_limit_degC));
    CHECK(says(blocked, "box") == "too hot to hold");
    CHECK(says(blocked, "smell") == "warm dust or varnish");
    // A loose terminal heats the box by what turns to heat in it.
    const bench::Bench loose = orchard("output-terminal-loose", "drive.u", 1.0, 12.0);
    CHECK(says(loose, "box") == "too hot to hold");
    bench::Bench waits = test::at("hill-orchard", {.set = {"sun.irradiance_W_m2=5"}});
    waits.advance(12.0);
    CHECK(says(waits, "box") == "cold");
}

TEST_CASE("what has burnt smells, what only leaks does not") {
    CHECK(says(orchard("device-shorted", "u.upper", 1.0), "smell") == "burnt");
    CHECK(says(orchard("input-stage-killed", "drive", 0.5), "smell") == "burnt");
    CHECK(says(orchard("isolator-pole-burnt", "isolator-", 1.0), "smell") == "burnt");
    CHECK(says(orchard("drive-dead", "drive", 1.0), "smell") == "warm dust or varnish");
    CHECK(says(orchard("wet-connector", "s1.m3-", 1e5), "smell") == "nothing");
    CHECK(says(orchard("worn-pump", "pump", 0.5, 12.0), "smell") == "nothing");
    // 300 V across an input that leaks 100 kohm: a watt.
    CHECK(says(orchard("damp-board", "link", 1e5), "smell") == "nothing");
}

TEST_CASE("a hand on the pipe feels what swings twice a turn and what knocks in the pump") {
    CHECK(says(orchard("lost-phase", "splice.v", 1.0, 3.0), "vibration") == "trembles");
    CHECK(says(orchard("broken-bars", "motor", 0.4, 12.0), "vibration") == "trembles");
    CHECK(says(orchard("dragging-bearing", "motor", 1.0, 12.0), "vibration") == "knocks");
    CHECK(says(orchard("air-locked", "pump", 0.25, 12.0), "vibration") == "knocks");
    CHECK(says(orchard("worn-pump", "pump", 0.3, 12.0), "vibration") == "steady");
}

TEST_CASE("before lugs are looked at all is dead; a hand near the box or the pipe counts them as live") {
    const Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    const bench::Bench dead = bench::at_station(s, {}, bench::Station::dead),
                       runs = bench::at_station(s, {}, bench::Station::running);
    const auto said = [](const bench::FieldTest& test, const bench::Bench& there) {
        std::string all;
        for (const std::string& line : bench::words(bench::hazards(test, there))) all += line + "\n";
        return all;
    };
    const std::string lugs = said(*bench::find_test("lugs"), dead);
    INFO(lugs);
    CHECK(lugs.find("dead circuit") != std::string::npos);
    CHECK(lugs.find("stays live") != std::string::npos);
    CHECK(said(*bench::find_test("box"), runs).find("Treat the box as live") != std::string::npos);
    CHECK(said(*bench::find_test("vibration"), runs).find("Treat pipe and wellhead as live") != std::string::npos);
}

TEST_CASE("a shadow, dirt and brown glass are seen, what only a meter tells is not") {
    const auto seen = [](const char* kind, const char* place, double severity, const char* of = "modules") {
        return says(orchard(kind, place, severity), of);
    };
    CHECK(says(orchard("worn-pump", "pump", 0.3), "modules") == "clean and lit");
    CHECK(seen("shaded-module", "s2.m5", 0.6) == "a shadow");
    CHECK(seen("shaded-module", "s2.m5", 0.6, "modules.s2") == "a shadow");
    CHECK(seen("shaded-module", "s2.m5", 0.6, "modules.s1") == "clean and lit");
    CHECK(seen("shaded-cell", "s1.m3.2", 0.9) == "a shadow");
    CHECK(seen("shaded-substring", "s1.m3.2", 0.05) == "clean and lit");
    CHECK(seen("soiled-array", "array", 0.3, "modules.s2") == "dirty");
    CHECK(seen("soiled-array", "array", 0.03) == "clean and lit");
    CHECK(seen("cracked-substring", "s1.m3.2", 0.5) == "browned or cracked");
    CHECK(seen("module-degraded", "s1.m3", 0.4) == "browned or cracked");
    // The light on it is the same as with a shadow, and there is none.
    CHECK(seen("module-dead", "s1.m3", 1.0) == "clean and lit");
    CHECK(seen("module-mismatched", "s1.m3", 0.5) == "clean and lit");
    CHECK_THROWS_AS(seen("worn-pump", "pump", 0.3, "modules.s9"), site::BadInput);
    bench::Bench covered = orchard("shaded-module", "s2.m5", 0.6);
    bench::Edits edits = covered.edits();
    edits.acts.push_back({"cover", "array", 0.0});
    covered.edit(edits);
    CHECK(says(covered, "modules") == "covered");
}

TEST_CASE("what people say of warmth, marks, smell and trembling has the number of the bench's own word") {
    for (const char* gauge : {"box", "lug", "smell", "vibration", "modules"}) {
        const auto parts = bench::sense_parts(gauge);
        REQUIRE(parts.size() == 1);
        for (unsigned n = 0; n < parts.front().words.size(); ++n) {
            INFO(gauge << " " << parts.front().words[n]);
            CHECK(bench::sense_words(gauge, n) == parts.front().words[n]);
            CHECK(bench::sense_told(gauge, parts.front().words[n]) == n);
        }
    }
    const auto is = [](const char* said, const char* gauge, unsigned number) {
        const auto told = bench::sensed_in(said);
        INFO(said);
        REQUIRE(told);
        CHECK(told->gauge == gauge);
        CHECK(told->number == number);
    };
    is("smells burnt", "smell", 2);
    is("no smell at all", "smell", 0);
    is("a smell", "smell", 1);
    is("the box is warm", "box", 1);
    is("box is too hot to touch", "box", 2);
    is("box is not warm", "box", 0);
    is("isolator discoloured", "lug.isolator", 1);
    is("terminal U burnt", "lug.drive", 2);
    is("all lugs clean", "lug", 0);
    is("isolator not burnt", "lug.isolator", 0);
    is("seccionador sin marcas", "lug.isolator", 0);
    is("no burnt smell", "smell", 0);
    is("a shadow on the panels", "modules", 2);
    is("no shadow on the modules", "modules", 0);
    is("modules dusty", "modules", 1);
    is("una sombra en los módulos", "modules", 2);
    is("no huele a quemado", "smell", 0);
    is("the pipe knocks", "vibration", 3);
    is("the pipe does not knock", "vibration", 1);
    is("huele a quemado", "smell", 2);
    is("la caja está tibia", "box", 1);
    is("borne quemado", "lug.drive", 2);
    is("la tubería tiembla", "vibration", 2);
    CHECK_FALSE(bench::sensed_in("water flows"));
    CHECK_FALSE(bench::sensed_in("hums"));
}
