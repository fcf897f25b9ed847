// Start of a magnet motor by its back-EMF, driven by made-up measurements; trips of an earth monitor.
#include <algorithm>
#include <cmath>
#include <limits>

#include "catch_shim.hpp"
#include "drive/control.hpp"
#include "tick.hpp"
#include "told.hpp"

using namespace sunshaft;
using namespace sunshaft::drive;
using test::approx;
using test::tick;

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

struct StartRig {
    DriveSettings s = test::told();
    ControlState c;
    Measured m;
    Command out;
    double t = 0.0;
    StartRig() {
        s.control = Control::fixed;
        s.frequency = 50;
        s.minimum_frequency = 5;
        s.back_emf = true;
        s.emf_per_Hz = 2.0;
        s.align_s = 0.4;
        s.start_ramp = 10;
        m.link_V = 300;
    }
    // volts: of the rotor along the output, from the frequency the field is stepped on with.
    template <class Volts>
    void run(double seconds, Volts volts) {
        for (const double until = t + seconds; t < until - 1e-9; t += tick) {
            m.emf_V = volts(c.search.Hz);
            out = update(s, true, c, t, m);
        }
    }
    int count(Cause cause) const {
        const auto log = log_since(c);
        return static_cast<int>(
            std::count_if(log.begin(), log.end(), [&](const LogEntry& e) { return e.cause == cause; }));
    }
};

}  // namespace

TEST_CASE("start by back-EMF: aligned, stepped on with a ramp, handed over after a whole turn of volts") {
    StartRig r;
    const auto in_step = [&](double Hz) { return 2.0 * Hz; };
    r.run(0.3, in_step);
    CHECK(r.c.search.stage == Search::Stage::align);
    CHECK(r.out.running);
    CHECK(r.out.frequency == 0.0);
    CHECK_FALSE(r.out.follow);
    r.run(0.5, in_step);  // the ramp began at 0.4 s
    CHECK(r.c.search.stage == Search::Stage::ramp);
    CHECK(r.out.frequency == approx(4.0).epsilon(0.01));
    r.m.electrical_Hz = 5.0;
    r.run(0.25, in_step);  // 5 Hz at 0.9 s; good from 2.5 Hz at 0.65 s on: more than a turn by then
    CHECK(r.c.search.stage == Search::Stage::found);
    CHECK(r.out.follow);
    CHECK(r.out.frequency == 5.0);
    CHECK(r.count(Cause::rotor_found) == 1);
    CHECK(r.count(Cause::start_missed) == 0);
}

TEST_CASE("start by back-EMF: no volts, too few or too many are a missed start, again and again") {
    struct Case {
        const char* what;
        double share;
    };
    for (const Case& c : {Case{"nothing to be seen", nothing}, {"too few", 0.3}, {"too many", 2.0}}) {
        INFO(c.what);
        StartRig r;
        const auto volts = [&](double Hz) { return c.share * 2.0 * Hz; };
        r.run(0.4 + 0.5 + hand_over_s - 0.1, volts);
        CHECK(r.count(Cause::start_missed) == 0);
        r.run(0.2, volts);
        CHECK(r.count(Cause::start_missed) == 1);
        CHECK_FALSE(r.out.running);  // it rests
        r.run(coast_s, volts);
        CHECK(r.out.running);
        CHECK(r.c.search.stage == Search::Stage::align);
        r.run(10.0, volts);
        CHECK(r.count(Cause::start_missed) >= 4);
        CHECK(r.count(Cause::rotor_found) == 0);
    }
}

TEST_CASE("start by back-EMF: a rotor that has come to rest is looked for anew") {
    StartRig r;
    const auto in_step = [&](double Hz) { return 2.0 * std::max(Hz, 5.0); };
    r.m.electrical_Hz = 5.0;
    r.run(1.5, in_step);
    REQUIRE(r.c.search.stage == Search::Stage::found);
    r.m.electrical_Hz = 0.0;
    r.run(lost_s - 0.05, [](double) { return 0.0; });
    CHECK(r.c.search.stage == Search::Stage::found);
    r.run(0.1, [](double) { return 0.0; });
    CHECK(r.c.search.stage == Search::Stage::coast);
    CHECK(r.count(Cause::start_missed) == 1);
}

TEST_CASE("an earth monitor stops the drive until the insulation is back, and is not counted") {
    StartRig r;
    r.s.back_emf = false;
    r.s.insulation_trip_ohm = 100e3;
    r.m.insulation_ohm = 1e6;
    const auto none = [](double) { return nothing; };
    r.run(5.0, none);
    CHECK(r.out.running);
    r.m.insulation_ohm = 40e3;
    r.run(1.9, none);
    CHECK(r.out.running);
    r.run(0.2, none);
    CHECK_FALSE(r.out.running);
    CHECK(display(r.c).last_stop == Cause::low_insulation);
    r.run(10 * r.s.trip_retry_s, none);
    CHECK(r.c.phase == Phase::tripped);
    CHECK(r.c.trips == 0);
    r.m.insulation_ohm = 1e6;
    r.run(r.s.trip_retry_s + 1.0, none);
    CHECK(r.out.running);
}

TEST_CASE("the sum of three line currents trips as an earth fault") {
    StartRig r;
    r.s.back_emf = false;
    r.s.earth_trip_A = 0.3;
    r.m.sum_A2 = 0.2 * 0.2;
    r.run(3.0, [](double) { return nothing; });
    CHECK(r.out.running);
    r.m.sum_A2 = 0.5 * 0.5;
    r.run(0.5, [](double) { return nothing; });
    CHECK_FALSE(r.out.running);
    CHECK(r.count(Cause::earth_fault) == 1);
    for (const LogEntry& e : log_since(r.c))
        if (e.cause == Cause::earth_fault) CHECK(e.value == approx(0.5).epsilon(0.05));
}
