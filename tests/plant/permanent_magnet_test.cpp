// Permanent-magnet machines: closed forms, commutation, and an abc-frame solution that shares no code with the solver.
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

Scenario magnet(double volts, double phase_ohm, double henry, double flux, int pole_pairs, bool trapezoidal) {
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = volts;
    s.drive.modulation = "six-step-120";
    auto& m = s.motor;
    m.kind = "permanent-magnet";
    m.back_emf = trapezoidal ? "trapezoidal" : "sinusoidal";
    m.pole_pairs = pole_pairs, m.flux_linkage_Wb = flux;
    m.stator_resistance_ohm = phase_ohm, m.d_inductance_H = m.q_inductance_H = henry;
    m.inertia_kg_m2 = 1e-3;
    return s;
}

const auto terminals = [](const auto& chain, const Point& p) {
    const Terminals n = chain.terminals(p);
    return std::array<double, 8>{n.drive[0] - n.drive[1],
                                 n.drive[1] - n.drive[2],
                                 n.drive[2] - n.drive[0],
                                 n.leg_i[0],
                                 n.leg_i[1],
                                 n.leg_i[2],
                                 chain.torque(p.x),
                                 n.drive[0]};
};

struct Run {
    std::shared_ptr<const site::Site> site;
    Driver<motor::PermanentMagnet> driver;
    State state;
    explicit Run(const Scenario& s, const std::vector<site::Fault>& faults = {}, const Options& options = {})
        : site(site::compile_site(s, faults)),
          driver(*site, std::get<motor::PermanentMagnet>(site->works.motor), options),
          state(fresh(*site)) {}
    void to(double t) {
        NoSink none;
        driver.advance(state, t, none);
    }
    auto see(double span) {
        auto seen = watch(terminals);
        driver.advance(state, state.t + span, seen);
        return seen;
    }
};

constexpr double to_average_reading = pi / (2 * 1.4142135623730951);

// An average-responding meter, AC coupled.
double average_reading(const trace::Statistics& s) { return to_average_reading * s.rectified_mean_ac; }

}  // namespace

TEST_CASE("trapezoidal machine, two phases on: no load, stall and a loaded point") {
    // Closed forms of a two-phase-on machine: 48 V, 0.35 V s/rad line-line, 0.4 ohm line-line.
    Scenario s = magnet(48, 0.2, 2e-6, 0.175, 1, true);
    SECTION("no load") {
        Run r(s);
        r.to(2.0);
        CHECK(r.state.x[speed] == approx(137.142857).epsilon(1e-3));
    }
    SECTION("stall") {
        s.motor.locked_speed_rpm = 0;
        Run r(s);
        r.to(0.01);
        const auto seen = r.see(0.01);
        CHECK(std::max({seen.of(3).max, seen.of(4).max, seen.of(5).max}) == approx(120).epsilon(1e-6));
        CHECK(seen.of(6).mean == approx(42).epsilon(1e-6));
    }
    SECTION("at 10 A") {
        s.motor.locked_speed_rpm = 1200.483;
        Run r(s);
        r.to(0.5);
        const auto seen = r.see(10 * 2 * pi / 125.714286);
        CHECK(seen.of(6).mean == approx(3.5).epsilon(3e-3));
        CHECK(seen.of(3).rms == approx(10 * std::sqrt(2.0 / 3)).epsilon(3e-3));
    }
}

TEST_CASE("sinusoidal machine with its voltage along the EMF") {
    // P. C. Krause et al., "Analysis of Electric Machinery", permanent-magnet example (parameters from memory): 3.4
    // ohm, 0.0827 V s, four poles, 11.25 V rms a phase: no load 192.381 rad/s electrical, stall 4.67938 A peak,
    // 1.160955 N m.
    Scenario s = magnet(2 * 11.25 * std::sqrt(2.0), 3.4, 12.1e-3, 0.0827, 2, false);
    s.drive.modulation = "ideal-sine";
    SECTION("no load") {
        Run r(s);
        r.to(3.0);
        CHECK(r.state.x[speed] * 2 == approx(192.380926).epsilon(1e-4));
    }
    SECTION("stall") {
        s.motor.locked_speed_rpm = 0;
        Run r(s);
        r.to(0.2);
        CHECK(std::hypot(r.state.x[i_alpha], r.state.x[i_beta]) == approx(4.679383).epsilon(1e-5));
        CHECK(r.driver.chain.torque(r.state.x) == approx(1.160955).epsilon(1e-5));
    }
}

TEST_CASE("120 degree commutation: healthy pairs read 0.7405 whatever the EMF, a lost phase makes them unequal") {
    const double dc = 100, flux = 0.05;
    for (const bool trapezoidal : {true, false}) {
        for (const double emf : {0.3, 0.6}) {
            Scenario s = magnet(dc, 1.0, 1e-5, flux, 1, trapezoidal);
            // Line-line EMF peak: trapezoid 2 w flux, sine sqrt 3 w flux.
            const double w = emf * dc / (flux * (trapezoidal ? 2 : std::sqrt(3.0)));
            s.motor.locked_speed_rpm = w / rpm;
            INFO((trapezoidal ? "trapezoidal " : "sinusoidal ") << emf);
            Run healthy(s);
            healthy.to(0.1);
            const auto h = healthy.see(20 * 2 * pi / w);
            for (const std::size_t k : {0, 1, 2}) CHECK(average_reading(h.of(k)) == approx(0.7405 * dc).epsilon(0.01));
            Run lost(s, {{"lost-phase", "drive.w", 1, 0}});
            lost.to(0.1);
            const auto l = lost.see(20 * 2 * pi / w);
            // Two sixths of the time both legs hold u-v at the link; else one is alone and u-v is the EMF, whose
            // trapezoid runs from its top to zero meanwhile: mean (1 + 2 emf / 2) / 3.
            if (trapezoidal)
                CHECK(average_reading(l.of(0)) == approx(to_average_reading * (1 + emf) / 3 * dc).epsilon(0.01));
            CHECK(average_reading(l.of(0)) < 0.95 * average_reading(h.of(0)));
            CHECK(l.of(5).rms < 1e-9);
        }
    }
}

namespace {

// The same drive and machine in phase quantities, with its own integrator, commutation and diodes: every phase is L
// di/dt = v - n - R i - e; the star point n follows from the sum over the phases that conduct.
struct PhaseFrame {
    double dc, R, L, flux, w, drop;
    bool trapezoidal;
    std::array<double, 3> i{}, v{};
    std::array<int, 3> mode{};  // +1 upper, -1 lower, 2 diode to plus, -2 diode to minus, 0 floating
    double emf(double theta, int k) const {
        const double x = std::remainder(theta - k * 2 * pi / 3 + pi, 2 * pi);  // from the rising zero of -sin
        if (!trapezoidal) return w * flux * std::sin(x);
        const double fold = std::abs(x) > pi / 2 ? std::copysign(pi - std::abs(x), x) : x;
        return w * flux * std::clamp(fold / (pi / 6), -1.0, 1.0);
    }
    double potential(int k) const {
        switch (mode[static_cast<std::size_t>(k)]) {
            case 1: return dc;
            case 2: return dc + drop;
            case -2: return -drop;
            default: return 0.0;
        }
    }
    double star(double theta) const {
        double sum = 0;
        int count = 0;
        for (int k = 0; k < 3; ++k)
            if (mode[static_cast<std::size_t>(k)] != 0) sum += potential(k) - emf(theta, k), ++count;
        return sum / count;
    }
    void commutate(double theta) {
        for (int k = 0; k < 3; ++k) {
            // Upper while the EMF is above half its height: 30 to 150 degrees of the phase's EMF.
            const double x = std::remainder(theta - k * 2 * pi / 3 + pi, 2 * pi);
            const auto at = static_cast<std::size_t>(k);
            const int want = x > pi / 6 && x < 5 * pi / 6 ? 1 : (x < -pi / 6 && x > -5 * pi / 6 ? -1 : 0);
            if (want != 0) mode[at] = want;
            else if (mode[at] == 1 || mode[at] == -1) mode[at] = i[at] > 0 ? -2 : (i[at] < 0 ? 2 : 0);
        }
    }
    void diodes(double theta) {
        for (std::size_t k = 0; k < 3; ++k)
            if ((mode[k] == 2 && i[k] >= 0) || (mode[k] == -2 && i[k] <= 0)) mode[k] = 0, i[k] = 0;
        const double n = star(theta);
        for (int k = 0; k < 3; ++k) {
            const auto at = static_cast<std::size_t>(k);
            v[at] = mode[at] == 0 ? n + emf(theta, k) : potential(k);
            if (mode[at] == 0 && v[at] > dc + drop) mode[at] = 2;
            if (mode[at] == 0 && v[at] < -drop) mode[at] = -2;
        }
    }
    void step(double theta, double h) {  // midpoint rule
        const auto slope = [&](const std::array<double, 3>& at, double angle) {
            std::array<double, 3> d{};
            const double n = star(angle);
            for (int k = 0; k < 3; ++k)
                if (mode[static_cast<std::size_t>(k)] != 0)
                    d[static_cast<std::size_t>(k)] =
                        (potential(k) - n - R * at[static_cast<std::size_t>(k)] - emf(angle, k)) / L;
            return d;
        };
        const auto a = slope(i, theta);
        std::array<double, 3> half{};
        for (std::size_t k = 0; k < 3; ++k) half[k] = i[k] + 0.5 * h * a[k];
        const auto b = slope(half, theta + 0.5 * h * w);
        for (std::size_t k = 0; k < 3; ++k) i[k] += h * b[k];
    }
};

}  // namespace

TEST_CASE("floating phase of a six-step-120 drive against phase quantities") {
    for (const bool trapezoidal : {true, false}) {
        const double dc = 60, w = 400;
        PhaseFrame p{dc, 0.8, 1.5e-3, 0.05, w, 0.7, trapezoidal};
        Scenario s = magnet(dc, p.R, p.L, p.flux, 1, trapezoidal);
        s.drive.diode_drop_V = p.drop;
        s.motor.locked_speed_rpm = w / rpm;
        const double period = 2 * pi / w;
        const int per_period = 40000, periods = 40;
        const double h = period / per_period;
        std::array<double, 6> sums{};  // rms u-v, mean |u - v|, rms u (terminal), mean u, rms i_u, mean torque
        const int last = (periods - 1) * per_period;
        for (int n = 0; n < periods * per_period; ++n) {
            const double theta = w * n * h;
            p.commutate(theta + 1e-9);
            p.diodes(theta);
            if (n >= last) {
                const double uv = p.v[0] - p.v[1];
                sums[0] += uv * uv, sums[1] += std::abs(uv), sums[2] += p.v[0] * p.v[0], sums[3] += p.v[0],
                    sums[4] += p.i[0] * p.i[0];
                for (int k = 0; k < 3; ++k) sums[5] += p.i[static_cast<std::size_t>(k)] * p.emf(theta, k) / w;
            }
            p.step(theta, h);
        }
        for (double& x : sums) x /= per_period;
        // Torque bends with the rotor's angle, which pieces made for volts and amperes follow to a few thousandths
        // only.
        for (const auto& [options, torque_tolerance] :
             {std::pair{Options{}, 5e-3}, {Options{1e-6, 1e-4, Method::automatic}, 1e-3}}) {
            Run run(s, {}, options);
            run.to((periods - 1) * period);
            const auto seen = run.see(period);
            INFO((trapezoidal ? "trapezoidal" : "sinusoidal") << ", piece " << options.piece);
            CHECK(seen.of(0).rms == approx(std::sqrt(sums[0])).epsilon(1e-3));
            CHECK(seen.of(0).rectified_mean == approx(sums[1]).epsilon(1e-3));
            CHECK(seen.of(7).rms == approx(std::sqrt(sums[2])).epsilon(1e-3));
            CHECK(seen.of(7).mean == approx(sums[3]).epsilon(1e-3));
            CHECK(seen.of(3).rms == approx(std::sqrt(sums[4])).epsilon(1e-3));
            CHECK(seen.of(6).mean == approx(sums[5]).epsilon(torque_tolerance));
        }
    }
}

// With nothing behind the drive, viscous friction alone (dw/dt = -b w / J) lets the rotor turn b^-1 J w more radians,
// short of a whole turn here: a window over whole turns may not wait for what never comes.
TEST_CASE("a window over whole turns ends where a rotor runs down") {
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = 200;
    s.motor.kind = "permanent-magnet";
    s.motor.pole_pairs = 2;
    s.motor.flux_linkage_Wb = 0.05;
    s.motor.inertia_kg_m2 = 1e-3;
    s.motor.viscous_friction_N_m_s = 1e-2;
    const auto site = site::compile_site(s, {}, {{"pull", "pump", 0.0}});
    Plant plant(site);
    State state = plant.start();
    for (const double w : {8.0, -8.0}) {
        state.x[speed] = w;
        const double from = state.t;
        const Means m = plant.average_turns(state, 0.1);
        CHECK(m.seconds == approx(state.t - from).epsilon(1e-9));
        CHECK(m.seconds >= 0.1);
        CHECK(m.seconds < 1.0);
        CHECK(std::isfinite(m.speed));
    }
}

TEST_CASE("behind a corner of a trapezoid the pieces are as long as before it") {
    Scenario s = magnet(88.0, 0.8, 1e-3, 0.066, 4, true);
    s.drive.control = "fixed";
    s.drive.duty = 0.5;
    s.drive.carrier_Hz = 4000;
    s.motor.locked_speed_rpm = 600;  // 40 Hz: a corner each 4.2 ms, some 16 pulses on
    Plant plant(site::compile_site(s, {}));
    State state = plant.start();
    plant.advance(state, 0.1);
    const long pieces = state.pieces, events = state.events;
    plant.advance(state, 0.6);
    // Two stretches a pulse and one an event, as a rule of one piece; half as many again for corners and the rest.
    const double stretches = 2 * 0.5 * s.drive.carrier_Hz + static_cast<double>(state.events - events);
    CAPTURE(stretches);
    CHECK(static_cast<double>(state.pieces - pieces) < 1.5 * stretches);
}
