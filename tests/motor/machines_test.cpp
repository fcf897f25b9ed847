// The machines by themselves: power balance and shapes. Their behaviour in the chain is tested with the plant.
#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "motor/induction.hpp"
#include "motor/permanent_magnet.hpp"
#include "motor/synchronous_reluctance.hpp"

using namespace sunshaft::motor;
using std::numbers::pi;
using sunshaft::test::approx;

TEST_CASE("induction: what goes in is stored, turned or lost in the cage") {
    Induction m;
    m.pole_pairs = 2, m.Lls = 3e-3, m.Llr = 4e-3, m.Lm = 0.09, m.Rr = 1.1;
    struct Case {
        double asymmetry, saturation, iron_W;
    };
    for (const Case c : {Case{0, 1, 0}, {0.3, 1, 0}, {0, 1.5, 0}, {0, 1, 80}, {0.3, 1.4, 200}}) {
        m.cage_asymmetry = c.asymmetry, m.saturation = c.saturation;
        m.rate(400, 50, c.iron_W);
        const Induction::Equations e(m);
        const Vec2 i = {3.0, -1.5}, psi = {0.4, 0.7}, di = {120.0, -300.0};
        const double w = 150, theta = 0.8, h = 1e-7;
        const Moment at = e.at(i, psi, w, theta);
        // Terminal power behind the stator resistance: 3/2 i (L di/dt + e).
        const double in =
            1.5 * dot(i, {e.inductance(theta).aa * di[0] + at.emf[0], e.inductance(theta).aa * di[1] + at.emf[1]});
        const auto stored = [&](double t) {
            return e.stored({i[0] + t * di[0], i[1] + t * di[1]},
                            {psi[0] + t * at.flux_rate[0], psi[1] + t * at.flux_rate[1]}, theta);
        };
        const Losses lost = e.losses(i, psi, Vec2{}, Vec2{}, w, theta);
        CHECK(in == approx((stored(h) - stored(-h)) / (2 * h) + at.torque * w + lost.cage + lost.iron).epsilon(1e-6));
        CHECK(e.torque(i, psi, w, theta) == at.torque);
        CHECK((lost.iron > 0.0) == (c.iron_W > 0.0));
    }
}

TEST_CASE("induction: locked and synchronous limits") {
    Induction m;
    const Induction::Equations e(m);
    // At rest with the flux in step with the current nothing changes and nothing turns.
    const Moment at = e.at({2, 0}, {m.Lm * 2, 0}, 0, 0);
    CHECK(at.flux_rate[0] == approx(0).margin(1e-12));
    CHECK(at.torque == 0.0);
    // Turning, the same flux induces p w psi a quarter turn ahead.
    CHECK(e.at({2, 0}, {m.Lm * 2, 0}, 100, 0).flux_rate[1] == approx(100 * m.Lm * 2).epsilon(1e-12));
}

namespace {

// What goes in behind the resistance, 3/2 i' e, is torque times speed and what the inductance takes as it turns; at
// every angle of the rotor.
template <class Motor, class Also>
void balances(const Motor& m, Also also) {
    const typename Motor::Equations e(m);
    const Vec2 i = {4.0, -2.0};
    const double w = 120, h = 1e-7;
    for (double theta = 0; theta < 6.2; theta += 0.37) {
        const Moment at = e.at(i, {}, w, theta);
        const double turn = m.pole_pairs * w * h;
        const double rate = (e.stored(i, {}, theta + turn) - e.stored(i, {}, theta - turn)) / (2 * h);
        CHECK(1.5 * dot(i, at.emf) == approx(at.torque * w + rate).epsilon(1e-6));
        CHECK(e.torque(i, {}, w, theta) == at.torque);
        also(i, theta, at.torque);
    }
}

}  // namespace

TEST_CASE("permanent magnet: EMF times current is torque times speed plus what the inductance takes") {
    PermanentMagnet m;
    m.pole_pairs = 3, m.flux = 0.06, m.Ld = 2e-3, m.Lq = 5e-3;
    balances(m, [](const Vec2&, double, double) {});
}

TEST_CASE("synchronous reluctance: the same balance, and 3/2 p (Ld - Lq) i_d i_q") {
    SynchronousReluctance m;
    m.pole_pairs = 3, m.Ld = 0.05, m.Lq = 0.01;
    balances(m, [](const Vec2& i, double theta, double torque) {
        const double d = i[0] * std::cos(theta) + i[1] * std::sin(theta);
        const double q = i[1] * std::cos(theta) - i[0] * std::sin(theta);
        CHECK(torque == approx(1.5 * 3 * 0.04 * d * q).epsilon(1e-9));
    });
}

TEST_CASE(
    "trapezoidal EMF: flat for 120 degrees, rms 0.881917, average reading 0.925601 and fundamental 0.859739 of its "
    "top") {
    PermanentMagnet m;
    m.flux = 1.0, m.trapezoidal = true;
    const PermanentMagnet::Equations e(m);
    double square = 0, rectified = 0, sine = 0;
    const int n = 36000;
    for (int k = 0; k < n; ++k) {
        const double x = 2 * pi * (k + 0.5) / n, y = e.shape(x)[0];
        square += y * y, rectified += std::abs(y), sine -= y * std::sin(x);
        CHECK_FALSE(std::abs(y) > 1.0);
        CHECK_FALSE(y * -std::sin(x) < 0.0);
    }
    CHECK(std::sqrt(square / n) == approx(0.881917).epsilon(1e-6));
    CHECK(rectified / n * pi / (2 * std::sqrt(2.0)) == approx(0.925601).epsilon(1e-6));
    CHECK(sine / n * std::sqrt(2.0) == approx(0.859739).epsilon(1e-6));
    // The part common to the three phases is seen at the star point only.
    for (double x = -7.0; x < 14.0; x += 0.5) {
        const Vec3 s = e.shape(x);
        CHECK(e.zero_emf(2.0, x) == approx(2.0 * (s[0] + s[1] + s[2]) / 3).margin(1e-12));
        CHECK(s[0] == approx(e.shape(x + 2 * pi)[0]).margin(1e-12));
    }
}
