// What comes back from the end of a long cable: on meters, and in the cautions.
#include "bench/hazards.hpp"
#include "support.hpp"

using namespace sunshaft;
using test::approx;

TEST_CASE("a peak at the motor is nearly twice the link's, an rms meter sees nothing of it") {
    // The same cable without capacitance is no line.
    bench::Bench line = test::at("terrace-pwm", {.set = {"drop_cable.length_m=120"}}),
                 lumped = test::at("terrace-pwm",
                                   {.set = {"drop_cable.length_m=120", "drop_cable.core_capacitance_F_per_km=0"}});
    line.advance(6.0), lumped.advance(6.0);
    const auto below = [](const bench::Bench& b) {
        return bench::observe(b, {{"motor.u", "motor.v", ""},
                                  meter::Mode::acv,
                                  "",
                                  std::make_shared<const meter::Spec>(meter::find_spec("true-rms"))});
    };
    const auto peak = [](const meter::Reading& r) { return *r.truth.crest_factor * *r.truth.rms_ac; };
    const double link = line.plant().look(line.state()).nodes.link;
    const meter::Reading with = below(line), without = below(lumped);
    CHECK(peak(without) < 1.05 * link);
    CHECK(peak(with) > 1.7 * link);
    CHECK(peak(with) < 3.0 * link);  // edges that follow each other within the ringing add up
    // 20 kHz of bandwidth beside a ring of a third of a megahertz.
    CHECK(*with.value == approx(*without.value).epsilon(2e-3));
}

TEST_CASE("at the end of a long cable edges come back: the caution tells of nearly twice the volts, the category not") {
    bench::Bench b = test::at("terrace-pwm");
    b.advance(6.0);
    const auto volts = [&](const char* red, const char* black) {
        double most = 0.0;
        for (const bench::Hazard& h : bench::needs(bench::scene(*b.site(), b.plant().look(b.state())), {red, black, ""},
                                                   meter::Mode::acv, nullptr))
            if (h.kind == bench::Danger::live_pole) most = h.volts;
        return most;
    };
    REQUIRE(volts("drive.u", "drive.v") > 0.0);
    CHECK(volts("motor.u", "motor.v") > 1.5 * volts("drive.u", "drive.v"));
    CHECK(volts("motor.u", "motor.v") < 2.0 * volts("drive.u", "drive.v"));
}
