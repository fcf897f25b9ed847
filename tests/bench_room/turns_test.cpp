// Bridged turns of a winding and a warm motor, on whole sites.
#include <numbers>

#include "support.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

TEST_CASE("bridged turns burn within seconds, and end at the casing or open unless the loop is too weak") {
    struct Case {
        const char* name;
        bool ends;  // a magnet motor of low volts keeps it just below what burns
    };
    for (const auto& [name, ends] : {Case{"hill-orchard", true}, Case{"river-meadow", false}}) {
        INFO(name);
        bench::Bench b = at(name, {.faults = {{"winding-partly-shorted", "u", 0.2, 8.0}}});
        b.advance(8.0);
        CHECK(b.state().slow.turns_K == 0.0);
        double hot = 0.0, ended = 0.0;
        while (ended == 0.0 && b.time() < 200.0) {
            b.advance(0.25);
            if (hot == 0.0 && b.state().slow.turns_K > 100.0) hot = b.time() - 8.0;
            const auto& u = b.site()->works.phases[0];
            if (u.winding.open || u.earth_leak_ohm < 100.0) ended = b.time() - 8.0;
        }
        CHECK(hot > 0.05);
        CHECK(hot < 60.0);
        CHECK((ended > hot) == ends);
        CHECK(std::abs(b.plant().energy_gap(b.state())) < 1e-3);
        // Another motor: nothing of it is left.
        b.edit({});
        b.advance(0.5);
        CHECK(b.site()->works.phases[0].earth_leak_ohm > 1e6);
        CHECK_FALSE(b.site()->works.phases[0].winding.open);
        CHECK(b.state().x[plant::i_turns] == 0.0);
    }
}

TEST_CASE("turns of one winding alone can be bridged at a time") {
    CHECK_THROWS_AS(at("hill-orchard",
                       {.faults = {{"winding-partly-shorted", "u", 0.1, 0}, {"winding-partly-shorted", "v", 0.1, 0}}}),
                    site::BadInput);
}

// Drive off, shaft held: the turning magnets drive the loop alone, through its own impedance.
TEST_CASE("a turned magnet motor with bridged turns, closed form") {
    for (const double saliency : {1.0, 1.6}) {
        Scenario s;
        s.supply.kind = "bench";
        s.drive.enabled = false;
        s.pump.kind = "none";
        s.motor.kind = "permanent-magnet";
        s.motor.pole_pairs = 2, s.motor.flux_linkage_Wb = 0.08;
        s.motor.stator_resistance_ohm = 0.9;
        s.motor.d_inductance_H = 2e-3, s.motor.q_inductance_H = 2e-3 * saliency;
        s.motor.locked_speed_rpm = 1500;
        s.motor.heat_capacity_J_per_K = 1e12;
        s.motor.bridged_turns_ohm = 0.05;
        s.solver.tolerance = 1e-5;
        const double share = 0.2;
        bench::Bench b(s, {.faults = {{"winding-partly-shorted", "v", share, 0.0}}});
        b.advance(0.5);
        const auto& turns = b.site()->works.turns;
        const double w = 2 * 1500 * std::numbers::pi / 30, r = 0.9, Lls = 0.3 * 2e-3;
        const auto wave = recorded(b, {"turns_A", "around.v"}, 0.08);
        CHECK(trace::statistics(wave[1]).rms < 1e-9);
        if (saliency == 1.0) {
            // The winding's EMF against R_b + r and L_b + 2/3 L + L_ls/3; the bridge carries J / m.
            const double ohm = turns.branch_ohm(share * r) + r, henry = turns.branch_H(Lls) + 2e-3 * 2 / 3 + Lls / 3;
            const double J = w * 0.08 / std::sqrt(2.0) / std::hypot(ohm, w * henry);
            CHECK(trace::statistics(wave[0]).rms == approx(J / share).epsilon(1e-3));
        }
        // What the shaft gives is lost in the loop.
        const plant::Energies before = b.state().energy;
        b.advance(0.08);
        const plant::Energies booked = plant::since(b.state().energy, before);
        CHECK(-booked[plant::in_bearing] == approx(booked[plant::in_turns]).epsilon(2e-3));
    }
}

TEST_CASE("a warm motor: copper and cage gain, rare-earth magnets give, and cool they are back") {
    const bench::Edits level{.set = {"well.drawdown_m_per_m3_h=0"}};  // the load stays what it is
    bench::Bench b = at("hill-orchard", level);
    const double cold = b.state().slow.winding_degC, ohm = b.site()->works.phases[0].winding.ohm;
    const double hour = b.warm_degC(3600), long_run = b.warm_degC(1e6), minute = b.warm_degC(60);
    CHECK(b.state().slow.winding_degC == cold);
    CHECK(minute > cold);
    CHECK(hour > minute);
    CHECK(long_run >= hour);
    // Running that long says the same.
    bench::Bench ran = at("hill-orchard", level);
    ran.settle();
    ran.advance(180.0);
    const double after = b.warm_degC(180.0);
    CHECK(after - cold == approx(ran.state().slow.winding_degC - cold).epsilon(0.03));
    b.warm(120.0);
    CHECK(b.site()->works.phases[0].winding.ohm / ohm == approx((1 + 0.00393 * 100) / 1.0).epsilon(1e-6));
    b.warm(cold);
    CHECK(b.site()->works.phases[0].winding.ohm == ohm);

    bench::Bench magnets = at("river-meadow");
    const auto flux = [&] { return std::get<motor::PermanentMagnet>(magnets.site()->works.motor).flux; };
    const double full = flux();
    magnets.warm(magnets.state().slow.winding_degC + 80.0);
    CHECK(flux() / full == approx(1 - 80 * 0.0011).epsilon(1e-3));
    magnets.warm(20.0);
    CHECK(flux() == approx(full).epsilon(1e-12));
}
