// One line open below a stiff six-step output, induction motor: against the machine in phase quantities, six windings
// with their mutual inductances and the open phase taken out of the equations. Shares no code with the solver.
#include <Eigen/LU>

#include "site/load.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

// Stator u, v, w and cage a, b, c: lambda = L(theta) i; d lambda / dt = v - R i. Krause, ch. 4: L_ls + L_ms on the
// diagonal, -L_ms / 2 between phases, L_ms cos of the angle between stator and rotor windings; L_ms = 2/3 L_m.
struct Windings {
    double Lls, Llr, Lms, rs, rr, w;
    using Matrix = Eigen::Matrix<double, 6, 6>;
    using Vector = Eigen::Matrix<double, 6, 1>;
    Matrix inductance(double theta) const { return build(theta, false); }
    Matrix slope(double theta) const { return build(theta, true); }
    Matrix build(double theta, bool derivative) const {
        Matrix m = Matrix::Zero();
        for (int a = 0; a < 3; ++a)
            for (int b = 0; b < 3; ++b) {
                if (!derivative) {
                    m(a, b) = a == b ? Lls + Lms : -0.5 * Lms;
                    m(3 + a, 3 + b) = a == b ? Llr + Lms : -0.5 * Lms;
                }
                const double angle = theta + (b - a) * 2 * pi / 3;
                m(a, 3 + b) = m(3 + b, a) = Lms * (derivative ? -std::sin(angle) : std::cos(angle));
            }
        return m;
    }
    // Currents (i_w is -i_v, i_u nothing): unknowns i_v and the cage. Returns their rates, and the induced voltages.
    Eigen::Vector4d rate(const Eigen::Vector4d& y, double theta, double v_vw, Vector* induced = nullptr) const {
        const Matrix L = inductance(theta), dL = slope(theta) * w;
        Eigen::Matrix<double, 6, 4> spread = Eigen::Matrix<double, 6, 4>::Zero();
        spread(1, 0) = 1, spread(2, 0) = -1;
        for (int k = 0; k < 3; ++k) spread(3 + k, 1 + k) = 1;
        const Vector i = spread * y;
        Vector R;
        R << rs, rs, rs, rr, rr, rr;
        const Vector drop = R.cwiseProduct(i) + dL * i;
        const Eigen::Vector4d source(v_vw, 0, 0, 0);
        const Eigen::Vector4d d =
            (spread.transpose() * L * spread).partialPivLu().solve(source - spread.transpose() * drop);
        if (induced) *induced = L * spread * d + drop;
        return d;
    }
};

}  // namespace

TEST_CASE("induction motor with one line open on six steps, against phase quantities") {
    const double f = 50, slip = 0.06, dc = 300;
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = dc;
    s.drive.frequency_Hz = f;
    auto& m = s.motor;
    m.pole_pairs = 1, m.stator_resistance_ohm = 1.4, m.stator_leakage_H = 4e-3, m.rotor_leakage_H = 5e-3;
    m.magnetizing_H = 0.1, m.rotor_resistance_ohm = 1.1;
    m.locked_speed_rpm = 60 * f * (1 - slip);
    const auto site = site::compile_site(s, {{"lost-phase", "splice.u", 1, 0}});
    Driver<motor::Induction> driver(*site, std::get<motor::Induction>(site->works.motor));
    State state = fresh(*site);
    NoSink none;
    driver.advance(state, 2.0, none);
    auto seen = watch([](const auto& chain, const Point& p) {
        const Nodes n = chain.nodes(p.x, p.t);
        return std::array<double, 4>{n.v[site::PhaseNode::motor] - n.v[site::PhaseNode::motor + 1],
                                     n.v[site::PhaseNode::motor + 2] - n.v[site::PhaseNode::motor], n.i[1],
                                     n.v[site::PhaseNode::drive] - n.v[site::PhaseNode::drive + 1]};
    });
    // 50 turns of the slip make one whole number of periods: torque and flux beat with twice the slip speed.
    driver.advance(state, 2.0 + 0.5 / (slip * f) * 3, seen);

    const Windings windings{m.stator_leakage_H,      m.rotor_leakage_H,      m.magnetizing_H * 2 / 3,
                            m.stator_resistance_ohm, m.rotor_resistance_ohm, 2 * pi * f * (1 - slip)};
    const int per_period = 1200;
    const double h = 1 / (f * per_period);
    const auto leg = [&](double t, int k) { return std::cos(2 * pi * f * t - k * 2 * pi / 3) > 0 ? dc : 0.0; };
    Eigen::Vector4d y = Eigen::Vector4d::Zero();
    std::array<double, 3> sums{};
    const int from = 100 * per_period, to = from + static_cast<int>(std::lround(0.5 / (slip * f) * 3 / h));
    for (int n = 0; n < to; ++n) {
        const double t = (n + 0.5) * h, theta = windings.w * n * h;  // legs switch on the borders of steps
        const double vw = leg(t, 1) - leg(t, 2);
        const Eigen::Vector4d a = windings.rate(y, theta, vw),
                              b = windings.rate(y + 0.5 * h * a, theta + 0.5 * h * windings.w, vw),
                              c = windings.rate(y + 0.5 * h * b, theta + 0.5 * h * windings.w, vw);
        if (n >= from) {
            Windings::Vector e;
            const Eigen::Vector4d middle = y + 0.5 * h * b;
            windings.rate(middle, theta + 0.5 * h * windings.w, vw, &e);
            const double uv = e(0) - e(1), wu = e(2) - e(0);
            sums[0] += uv * uv, sums[1] += wu * wu, sums[2] += middle(0) * middle(0);
        }
        y += h / 6 * (a + 2 * b + 2 * c + windings.rate(y + h * c, theta + h * windings.w, vw));
    }
    for (double& x : sums) x /= to - from;
    CHECK(seen.of(0).rms == approx(std::sqrt(sums[0])).epsilon(1e-3));
    CHECK(seen.of(1).rms == approx(std::sqrt(sums[1])).epsilon(1e-3));
    CHECK(seen.of(2).rms == approx(std::sqrt(sums[2])).epsilon(1e-3));
    // At the drive nothing shows.
    CHECK(seen.of(3).rms == approx(std::sqrt(2.0 / 3) * dc).epsilon(1e-6));
}

// With winding w open and leg v in neither device nor diode, no current flows in the motor, and its u-v windings carry
// the rail of leg u, and nothing of leg w's, to terminal v (Kirchhoff's voltage law; no flux, no turning: no EMF).
TEST_CASE("a floating leg lies where the windings tie it, not where an open one would") {
    using drive::Leg;
    const Scenario s = small_pump();
    const auto site = site::compile_site(s, {{"winding-open", "w", 1, 0}});
    Chain<motor::Induction> chain(*site, std::get<motor::Induction>(site->works.motor));
    const State state = fresh(*site);
    chain.follow(state);
    for (const Leg u : {Leg::upper, Leg::lower})
        for (const Leg w : {Leg::upper, Leg::lower}) {
            chain.set_legs({u, Leg::blocked, w});
            const double rail = u == Leg::upper ? chain.link_voltage(state.x, 0.0) : 0.0;
            CHECK(chain.terminals(chain.point(0.0, state.x)).drive[1] == approx(rail).margin(1e-9));
            CHECK(chain.nodes(state.x, 0.0).v[site::PhaseNode::motor + 1] == approx(rail).margin(1e-9));
        }
    // And on the run: diodes fire a few times a period, not thirty million times a second.
    const auto broken = site::compile_site(site::load_scenario(site::find_scenario("bench-rig")),
                                           {{"device-open", "v.upper", 1, 0}, {"winding-open", "w", 1, 0}});
    Driver<motor::Induction> driver(*broken, std::get<motor::Induction>(broken->works.motor));
    State run = fresh(*broken);
    NoSink none;
    driver.advance(run, 1.0, none);
    CHECK(static_cast<double>(run.events) < 10 * broken->works.drive.frequency);
}
