// The table of field tests: what it lists can be done on every shipped site, on a copy, and shows what the plain bench
// shows.
#include <set>

#include "bench/field_tests.hpp"
#include "support.hpp"

using namespace sunshaft;
using test::approx;

namespace {

const char* const sites[] = {"bench-rig", "hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"};

Scenario scenario(const char* name) { return site::load_scenario(site::find_scenario(name)); }

}  // namespace

TEST_CASE("every test of the table has an id of its own and can be carried out on every site that has its places") {
    std::set<std::string> ids;
    for (const bench::FieldTest& t : bench::field_tests()) {
        CHECK(ids.insert(t.id).second);
        CHECK(bench::find_test(t.id) == &t);
        CHECK(t.minutes > 0.0);
    }
    CHECK(bench::find_test("no-such-test") == nullptr);
    for (const char* name : sites) {
        const Scenario s = scenario(name);
        const site::Works works = site::set_up(s);
        std::size_t done = 0;
        for (const bench::FieldTest& t : bench::field_tests()) {
            const auto looks = t.observations(works);
            if (looks.empty()) continue;
            INFO(name << ": " << t.id);
            const bench::Bench there = bench::at_station(s, {}, t.station, 1.0);
            const auto seen = bench::observe(there, looks);
            REQUIRE(seen.size() == looks.size());
            for (std::size_t n = 0; n < seen.size(); ++n) {
                INFO(looks[n].where());
                CHECK(seen[n].what.where() == looks[n].where());
                CHECK((seen[n].gauge || seen[n].reading));
            }
            // Something must be known before anything is touched.
            if (t.electrical) CHECK_FALSE(bench::hazards(t, there).empty());
            ++done;
        }
        CHECK(done >= 8);
    }
}

TEST_CASE("looking changes nothing, and shows what the bench itself reads") {
    for (const char* name : {"hill-orchard", "stone-fold"}) {
        const bench::Bench there = bench::at_station(scenario(name), {}, bench::Station::running, 6.0);
        const plant::State before = there.state();
        const auto looks = bench::find_test("output-volts")->observations(there.site()->works);
        const auto first = bench::observe(there, looks), second = bench::observe(there, looks);
        CHECK(there.state().x == before.x);
        CHECK(there.state().t == before.t);
        CHECK(there.state().energy == before.energy);
        bench::Bench own(there);
        for (std::size_t n = 0; n < looks.size(); ++n) {
            REQUIRE(first[n].reading->value);
            CHECK(*first[n].reading->value == *second[n].reading->value);
            bench::Bench by_hand(own);
            const auto alone = test::read(by_hand, bench::usual_meter(looks[n].mode), looks[n].mode, looks[n].probes);
            CHECK(*first[n].reading->value == approx(*alone.value).epsilon(0.01));
        }
    }
}

TEST_CASE("acts as tests: what was moved takes its fault along, or leaves it behind") {
    const Scenario s = scenario("hill-orchard");
    const auto seen = [&](const char* test, const char* fault) {
        const site::Works w = site::set_up(s);
        bench::Edits edits;
        if (*fault) edits.faults.push_back(site::parse_fault(fault, w));
        const bench::FieldTest& row = *bench::find_test(test);
        return bench::observe(bench::at_station(s, edits, row.station), row.observations(w));
    };
    const auto lowest = [&](const std::vector<bench::Seen>& lines) {
        std::string name;
        double least = 1e9;
        for (const bench::Seen& one : lines)
            if (*one.reading->value < least) least = *one.reading->value, name = one.what.probes.around;
        return name;
    };
    // What a joint takes from a line goes with its wire; a drive's terminal keeps what is wrong with it.
    CHECK(lowest(seen("line-clamps", "high-resistance-splice@u=6")) == "u");
    CHECK(lowest(seen("rolled-clamps", "high-resistance-splice@u=6")) == "w");
    CHECK(lowest(seen("line-clamps", "output-terminal-loose@drive.u=6")) == "u");
    CHECK(lowest(seen("rolled-clamps", "output-terminal-loose@drive.u=6")) == "u");
    // It runs, and it turns the same way.
    for (const bench::Seen& one : seen("rolled-clamps", "")) CHECK(*one.reading->value > 1.0);

    const auto lamps = [&](const char* test, const char* fault) { return seen(test, fault).front().gauge->shown(); };
    CHECK(lamps("float-lifted", "") != lamps("float-freed", ""));
    CHECK(lamps("float-lifted", "float-stuck-down@float=0.2") == lamps("float-freed", ""));
    CHECK(lamps("lamps", "float-stuck-up") == lamps("float-lifted", ""));
    CHECK(lamps("float-freed", "float-stuck-up") == lamps("lamps", ""));
    CHECK(lamps("float-freed", "guard-cable-cut@float") == lamps("float-lifted", ""));

    const auto amps = [&](const char* test, const char* fault, std::size_t string) {
        return *seen(test, fault)[string].reading->value;
    };
    CHECK(std::abs(amps("string-clamps", "string-fuse-blown@s2", 1)) < 0.1);
    CHECK(amps("fuse-renewed", "string-fuse-blown@s2", 1) > 1.0);
    CHECK(std::abs(amps("fuse-renewed", "open-string@s2", 1)) < 0.1);

    // Half the array takes the drive down in speed; where the other half is dead, it takes it to rest.
    const auto hertz = [&](const char* test, const char* fault) { return seen(test, fault)[1].gauge->value; };
    const double both = hertz("drive-display", ""), one = hertz("one-string-covered", "");
    CHECK(one > 5.0);
    CHECK(one < 0.9 * both);
    CHECK(hertz("one-string-covered", "string-fuse-blown@s2") < 1.0);
    CHECK(hertz("one-string-covered", "string-fuse-blown@s1") == approx(one).epsilon(0.05));
}

TEST_CASE("a copy of a bench goes its own way, to the bit the same way") {
    bench::Bench one(scenario("hill-orchard"));
    one.advance(3.0);
    bench::Bench two(one);
    one.advance(2.0), two.advance(2.0);
    CHECK(one.state().x == two.state().x);
    CHECK(one.events().size() == two.events().size());
    bench::Edits pulled = two.edits();
    pulled.acts = {{"open", "isolator", two.time()}};
    two.edit(pulled);
    two.advance(5.0);
    one.advance(5.0);
    CHECK(one.state().command.running);
    CHECK_FALSE(two.state().command.running);
}

TEST_CASE(
    "the stations are what they are called: dead without volts, covered in the dark, shorted with the whole sun") {
    const Scenario s = scenario("hill-orchard");
    const auto volts = [&](bench::Station station, const char* red, const char* black) {
        bench::Bench b = bench::at_station(s, {}, station);
        return *test::read(b, bench::usual_meter(meter::Mode::dcv), meter::Mode::dcv, {red, black, ""}).value;
    };
    CHECK(std::abs(volts(bench::Station::dead, "lead.u", "lead.v")) < 0.01);
    CHECK(std::abs(volts(bench::Station::dead, "link+", "link-")) < 0.5);
    CHECK(volts(bench::Station::lit, "array+", "array-") > 300.0);
    CHECK(volts(bench::Station::covered, "array+", "array-") < 0.8 * volts(bench::Station::lit, "array+", "array-"));
    CHECK(std::abs(volts(bench::Station::shorted, "array+", "array-")) < 5.0);
    CHECK(volts(bench::Station::bled, "link+", "link-") < volts(bench::Station::running, "link+", "link-"));
    // Short-circuit current of a string: that of its module in this sun and warmth, by the translation of the data.
    bench::Bench b = bench::at_station(s, {}, bench::Station::shorted);
    const auto shown = bench::observe(b, bench::find_test("short-circuit-current")->observations(b.site()->works));
    REQUIRE(shown.size() == 2);
    const double expected = s.array.module_isc_A * s.sun.irradiance_W_m2 / 1000;
    for (const auto& seen : shown) CHECK(*seen.reading->value == approx(expected).epsilon(0.03));
}

TEST_CASE("whoever puts hand or instrument to something is told what must be known first; eyes alone are not") {
    const std::set<std::string> by_eye = {"lamps", "drive-display", "outlet", "module-looks"};
    const bench::Bench b = bench::at_station(scenario("hill-orchard"), {}, bench::Station::running);
    for (const bench::FieldTest& t : bench::field_tests()) {
        if (t.observations(b.site()->works).empty()) continue;
        INFO(t.id);
        CHECK(bench::hazards(t, b).empty() == by_eye.contains(t.id));
    }
}
