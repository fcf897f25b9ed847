// A display watched over a start, a surge caught, several conductors in one clamp: the bench's part of it.

#include "bench/hands.hpp"
#include "support.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

TEST_CASE("a display watched from the start ends where a settled reading stands") {
    for (const char* name : {"hill-orchard", "terrace-pwm"}) {
        INFO(name);
        bench::Bench b = at(name), settled = at(name);
        const meter::Spec m = meter::find_spec("true-rms");
        const bench::Probes probes{"drive.u", "drive.v", ""};
        const meter::Watch w = bench::watch(b, test::look(m, meter::Mode::acv, probes), 10.0);
        settled.settle();
        const meter::Reading r = test::read(settled, m, meter::Mode::acv, probes);
        CHECK(w.updates.size() == 30);
        CHECK(w.range_changes >= 1);
        CHECK(b.time() == 0.0);  // watched on a copy
        REQUIRE(w.updates.back().value);
        CHECK(*w.updates.back().value == approx(*r.value).epsilon(5e-3));
        CHECK_FALSE(w.reading.cautions.empty());
    }
}

TEST_CASE("a display is watched across the switching-off of its circuit") {
    bench::Bench b = at("hill-orchard", {{}, {}, {{"open", "isolator", 3.0}}});
    b.advance(2.0);
    const meter::Watch w =
        bench::watch(b, test::look(meter::find_spec("average"), meter::Mode::dcv, {"array+", "array-", ""}), 4.0);
    REQUIRE(w.updates.size() == 8);
    CHECK(w.updates.front().t == approx(2.5).epsilon(1e-9));
    b.advance(4.0);
    // Under load, then open: the array's voltage rises to what the still bench gives.
    CHECK(w.updates.back().value.value() == approx(b.still_voltage("array+", "array-", 10e6)).epsilon(5e-3));
    CHECK(w.max.value() > 1.02 * w.updates[1].value.value_or(0.0));
}

TEST_CASE("a clamp catches the start and waits where none comes") {
    bench::Bench b = at("hill-orchard");
    const meter::Spec hall = meter::find_spec("clamp-hall");
    const meter::Surge s = bench::surge(b, test::look(hall, meter::Mode::aca, {"", "", "u"}), 5.0);
    REQUIRE(s.value);
    CHECK(*s.start_s < 1.0);
    CHECK(*s.peak > *s.value);
    bench::Bench off = at("hill-orchard", {{}, {}, {{"open", "isolator", 0.0}}});
    const meter::Surge none = bench::surge(off, test::look(hall, meter::Mode::aca, {"", "", "u"}), 2.0);
    CHECK_FALSE(none.value);
    CHECK(none.reading.shown == "----");
}

TEST_CASE("several conductors in the jaws add with their signs") {
    bench::Bench b = at("hill-orchard");
    b.settle();
    const meter::Spec hall = meter::find_spec("clamp-hall");
    const auto rms = [&](const char* around) {
        return test::read(b, hall, meter::Mode::aca, {"", "", around}).truth.rms.value();
    };
    const double one = rms("u");
    CHECK(rms("u,-u") == approx(0.0).margin(1e-9));
    CHECK(rms("u,u") == approx(2 * one).epsilon(2e-3));
    CHECK(rms("-u") == approx(one).epsilon(2e-3));
    CHECK(rms("u,v") == approx(rms("w")).epsilon(5e-3));  // what comes through two goes through the third
    CHECK(rms("u,-v") == approx(std::sqrt(3.0) * one).epsilon(0.02));
    CHECK(rms("w,v,u") == approx(rms("uvw")).epsilon(1e-3));  // two readings, one after the other
    const double plus = test::read(b, hall, meter::Mode::dca, {"", "", "dc+"}).truth.mean.value();
    CHECK(test::read(b, hall, meter::Mode::dca, {"", "", "dc+,-dc-"}).truth.mean.value() ==
          approx(2 * plus).epsilon(5e-3));
    CHECK(test::read(b, hall, meter::Mode::dca, {"", "", "-dc+"}).truth.mean.value() == approx(-plus).epsilon(5e-3));
    for (const char* bad : {"u,", ",u", "-", "u,-", "u,,v", "x", "u,x"}) {
        INFO(bad);
        CHECK_THROWS_AS(test::read(b, hall, meter::Mode::aca, {"", "", bad}), site::BadInput);
    }
    CHECK_THROWS_AS(test::read(b, hall, meter::Mode::aca, {"drive.u", "drive.v", ""}), site::BadInput);
}

TEST_CASE("test leads add to ohms until they are zeroed") {
    bench::Bench b = at("hill-orchard", {{}, {}, {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}});
    b.settle();
    meter::Spec m = meter::find_spec("true-rms");
    const bench::Probes probes{"lead.u", "lead.v", ""};
    const double plain = test::read(b, m, meter::Mode::ohm, probes).value.value();
    m.leads_ohm = 0.7;
    CHECK(test::read(b, m, meter::Mode::ohm, probes).value.value() == approx(plain + 0.7).epsilon(1e-6));
    meter::Context zeroed;
    zeroed.relative = true;
    CHECK(test::read(b, m, meter::Mode::ohm, probes, zeroed).value.value() == approx(plain).epsilon(1e-6));
}
