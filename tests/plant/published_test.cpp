// Induction machines against published parameter sets: circuit values computed in closed form or with an independent
// program from the sets in support.hpp, to the digits given.
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

constexpr Options tight{1e-9, 1e-6, Method::automatic};

// Motor currents, terminal voltages pair by pair at the motor, torque.
const auto motor_side = [](const auto& chain, const Point& p) {
    const Nodes n = chain.nodes(p.x, p.t);
    const auto v = [&](std::size_t k) { return n.v[site::PhaseNode::motor + k]; };
    return std::array<double, 7>{n.i[0], n.i[1], n.i[2], v(0) - v(1), v(1) - v(2), v(2) - v(0), chain.torque(p.x)};
};

// Runs to the steady state, then watches some periods of 60 Hz.
auto steady(const Scenario& s, const std::vector<site::Fault>& faults = {}, double settle = 3.0, int periods = 6) {
    const auto site = site::compile_site(s, faults);
    Driver<motor::Induction> driver(*site, std::get<motor::Induction>(site->works.motor), tight);
    State state = fresh(*site);
    NoSink none;
    driver.advance(state, settle, none);
    auto seen = watch(motor_side);
    driver.advance(state, settle + periods / 60.0, seen);
    return seen;
}

}  // namespace

TEST_CASE("steady state of the published machines on the mains") {
    struct Row {
        Published m;
        double slip, amperes, torque;
    };
    for (const Row& r :
         {Row{hp3, 0.02, 5.597274, 5.818204}, Row{hp3, 0.05, 8.844811, 14.026832}, Row{hp3, 0.2, 27.142128, 44.174321},
          Row{hp3, 1, 65.738705, 52.971674}, Row{hp3, 0.5267994, 0, 61.869618}, Row{hp50, 0.05, 59.932717, 223.140023},
          Row{hp50, 1, 394.176811, 538.498511}, Row{hp500, 0.015, 105.206152, 1999.352257},
          Row{hp2250, 0.01, 592.275463, 11550.021301}}) {
        const auto seen = steady(at_slip(on_mains(r.m), r.slip), {}, r.m.line_V > 1000 ? 15.0 : 8.0);
        INFO(r.m.line_V << " V, slip " << r.slip);
        if (r.amperes > 0) CHECK(seen.of(0).rms == approx(r.amperes).epsilon(1e-5));
        CHECK(seen.of(6).mean == approx(r.torque).epsilon(1e-5));
    }
}

TEST_CASE("free acceleration of the published machines") {
    struct Row {
        Published m;
        double t50, t90, t95, t99, peak_torque, peak_i;
    };
    for (const Row& r : {Row{hp3, 0.156779, 0.293690, 0.333954, 0.419815, 132.06004, 97.12624},
                         Row{hp50, 0.278349, 0.461366, 0.508365, 0.606924, 1654.62840, 607.91254}}) {
        const auto site = site::compile_site(on_mains(r.m));
        for (const Options& options : {tight, Options{}}) {
            const bool fine = options.relative < 1e-6;
            Driver<motor::Induction> driver(*site, std::get<motor::Induction>(site->works.motor), options);
            State state = fresh(*site);
            auto seen = watch([](const auto& chain, const Point& p) {
                return std::array<double, 3>{p.x[speed] / rpm, chain.torque(p.x), p.x[i_alpha]};
            });
            driver.advance(state, 0.7, seen);
            const auto reaches = [&](double share) {
                for (const trace::Segment& s : seen.traces[0])
                    if (s.y1 >= share * 1800) return s.t0 + (share * 1800 - s.y0) / (s.y1 - s.y0) * (s.t1 - s.t0);
                return 0.0;
            };
            INFO(r.m.line_V << " V, " << (fine ? "tight" : "as shipped"));
            const double tolerance = fine ? 1e-4 : 2e-3;
            CHECK(reaches(0.50) == approx(r.t50).epsilon(tolerance));
            CHECK(reaches(0.90) == approx(r.t90).epsilon(tolerance));
            CHECK(reaches(0.95) == approx(r.t95).epsilon(tolerance));
            CHECK(reaches(0.99) == approx(r.t99).epsilon(tolerance));
            if (!fine) continue;
            CHECK(seen.of(1).max == approx(r.peak_torque).epsilon(1e-3));
            CHECK(std::max(seen.of(2).max, -seen.of(2).min) == approx(r.peak_i).epsilon(1e-3));
        }
    }
}

TEST_CASE("a fan on the published 3 hp machine") {
    Scenario s = on_mains(hp3);
    s.motor.load_torque_N_m_s2 = 3.711055972e-4;  // 11.9 N m at 1710 rpm
    const auto site = site::compile_site(s);
    Driver<motor::Induction> driver(*site, std::get<motor::Induction>(site->works.motor), tight);
    State state = fresh(*site);
    NoSink none;
    for (const auto& [t, r] : {std::pair{0.1, 545.15232}, {0.2, 1141.74968}, {0.3, 1564.13253}, {3.0, 1723.183293}}) {
        driver.advance(state, t, none);
        CHECK(state.x[speed] / rpm == approx(r).epsilon(1e-4));
    }
}

TEST_CASE("one line open: torque, currents and what the motor makes of the open terminal") {
    struct Row {
        Published m;
        double slip, amperes, torque, ab, bc, ca;
    };
    for (const Row& r :
         {Row{hp3, 1, 56.931388, 0, 110, 220, 110}, Row{hp3, 0.05, 13.819394, 11.013613, 179.50103, 220, 198.00195},
          Row{hp3, 0.10, 22.489144, 17.850462, 153.26162, 220, 194.29188},
          Row{hp50, 0.05, 94.043762, 177.901314, 359.55464, 460, 436.66150}}) {
        for (const char* place : {"drive.u", "cable.u", "splice.u"}) {
            const auto seen = steady(at_slip(on_mains(r.m), r.slip), {{"lost-phase", place, 1, 0}});
            INFO(r.m.line_V << " V, slip " << r.slip << ", " << place);
            CHECK(seen.of(0).rms < 1e-9);
            CHECK(seen.of(1).rms == approx(r.amperes).epsilon(1e-5));
            CHECK(seen.of(6).mean == approx(r.torque).epsilon(1e-5).margin(1e-5));
            CHECK(seen.of(3).rms == approx(r.ab).epsilon(2e-5));
            CHECK(seen.of(4).rms == approx(r.bc).epsilon(2e-5));
            CHECK(seen.of(5).rms == approx(r.ca).epsilon(2e-5));
            if (r.slip == 1) continue;
            // At standstill the open terminal sits midway between the other two; running it does not.
            CHECK(std::abs(seen.of(3).rms - seen.of(5).rms) > 5);
        }
    }
}

TEST_CASE("bad splice in one line: Fortescue's solution") {
    struct Row {
        Published m;
        double slip, ohm, ia, ib, ic, torque, ab, bc, ca;
    };
    for (const Row& r :
         {Row{hp3, 0.05, 0.5, 8.337345, 9.573372, 8.433144, 13.759800, 217.97484, 220, 215.83146},
          Row{hp3, 0.05, 2.0, 6.902179, 11.164884, 8.268549, 13.037216, 211.15265, 220, 206.47864},
          Row{hp50, 0.05, 0.1, 58.480049, 62.585515, 57.639980, 220.115118, 456.48723, 460, 454.19883}}) {
        Scenario s = at_slip(on_mains(r.m), r.slip);
        s.splice.u_ohm = r.ohm;
        const auto seen = steady(s);
        INFO(r.m.line_V << " V, " << r.ohm << " ohm");
        for (const auto& [n, value] : {std::pair{0, r.ia}, {1, r.ib}, {2, r.ic}, {3, r.ab}, {4, r.bc}, {5, r.ca}})
            CHECK(seen.of(static_cast<std::size_t>(n)).rms == approx(value).epsilon(1e-5));
        CHECK(seen.of(6).mean == approx(r.torque).epsilon(1e-5));
    }
}

TEST_CASE("six-step supply: harmonic currents and torque at constant speed") {
    struct Row {
        Published m;
        double dc, i1, i5, i7, i11, i13, rms, peak, rectified, torque, swing;
    };
    for (const Row& r : {Row{hp3, 282.160963, 8.844811, 3.379924, 1.728675, 0.704207, 0.504348, 9.675818, 18.771654,
                             9.246850, 14.009060, 6.037273},
                         Row{hp50, 589.972922, 59.932717, 17.713489, 9.044732, 3.671714, 2.629118, 63.356866,
                             113.612810, 63.580911, 223.001953, 69.670985}}) {
        Scenario s = at_slip(on_mains(r.m), 0.05);
        s.supply.kind = "bench";
        s.supply.voltage_V = r.dc;
        const auto seen = steady(s);
        INFO(r.dc << " V");
        const auto h = trace::harmonics(seen.traces[0], 60, 13);
        for (const auto& [n, value] : {std::pair{1, r.i1}, {5, r.i5}, {7, r.i7}, {11, r.i11}, {13, r.i13}})
            CHECK(std::abs(h[static_cast<std::size_t>(n) - 1]) == approx(value).epsilon(2e-5));
        CHECK(seen.of(0).rms == approx(r.rms).epsilon(1e-5));
        CHECK(seen.of(0).rectified_mean * pi / (2 * std::sqrt(2.0)) == approx(r.rectified).epsilon(1e-5));
        CHECK(seen.of(0).max == approx(r.peak).epsilon(1e-3));
        CHECK(seen.of(6).mean == approx(r.torque).epsilon(1e-5));
        CHECK(seen.of(6).max - seen.of(6).min == approx(r.swing).epsilon(2e-3));
        // Line-line at the terminals: the closed forms of the wave itself.
        CHECK(seen.of(3).rms == approx(std::sqrt(2.0 / 3) * r.dc).epsilon(1e-6));
        CHECK(seen.of(3).rectified_mean == approx(2.0 / 3 * r.dc).epsilon(1e-6));
    }
}
