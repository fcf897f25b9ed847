// What is too stiff for a series: its exponential against Eigen's, and whole runs against the general way.
#include <unsupported/Eigen/MatrixFunctions>

#include "plant/ladder.hpp"
#include "site_named.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

using Vector5 = Eigen::Matrix<double, 5, 1>;

Vector5 vector_of(const plant::Five& y) {
    Vector5 v;
    v << y.i[0], y.i[1], y.psi[0], y.psi[1], y.v;
    return v;
}
plant::Five five_of(const Vector5& v) { return {Two{v[0], v[1]}, Two{v[2], v[3]}, v[4]}; }

// Of a motor at 150 rad/s behind a splice of some kilohms, on a link that a source of 20 milliohms holds.
plant::Affine stiff() {
    plant::Affine f;
    f.of_a = Two{-180e3, 90e3}, f.of_b = Two{90e3, -60e3}, f.of_v = Two{85.0, 0.0}, f.of_p = Two{1.1e3, -37e3};
    f.of_q = Two{37e3, 1.1e3};
    f.va = -600.0, f.vb = 0.0, f.vv = -5e4;
    f.g = 9.0, f.gLm = 0.9, f.pw = 300.0;
    f.i = Two{3.0, -2.0}, f.psi_0 = Two{0.01, 0.02}, f.v = 1.5e7;
    return f;
}
constexpr double rate = 4e5;

}  // namespace

// exp of the block with its constant as a sixth column: C. F. Van Loan, Computing Integrals Involving the Matrix
// Exponential, IEEE Trans. Autom. Control 23 (1978), eq. 1.2 (from memory); Eigen's is N. J. Higham's of 2005.
TEST_CASE("a ladder carries a stiff block as Eigen's exponential does, over any time") {
    const plant::Affine form = stiff();
    plant::Ladder ladder;
    ladder.build(form, 0.0, 300.0, rate);
    // and its integral as five more
    Eigen::Matrix<double, 11, 11> all = Eigen::Matrix<double, 11, 11>::Zero();
    for (int k = 0; k < 5; ++k) all.block<5, 1>(0, k) = vector_of(form.times(five_of(Vector5::Unit(k))));
    all.block<5, 1>(0, 5) = vector_of(form.rate({}));
    all.block<5, 5>(6, 0).setIdentity();
    const plant::Five from{Two{3.0, -1.0}, Two{0.4, 0.7}, 300.0};
    Eigen::Matrix<double, 11, 1> y;
    y << vector_of(from), 1.0, Vector5::Zero();
    for (const double h : {3e-7, 1e-6, 2.7e-5, 3.1e-4, 1.0 / 1024, 3.3e-3}) {
        const Eigen::Matrix<double, 11, 1> exact = (all * h).exp() * y;
        plant::Five sum{};
        const Vector5 carried = vector_of(ladder.carry(from, form, h, sum)), mean = vector_of(sum) / h;
        INFO(h << " s");
        for (int k = 0; k < 5; ++k) {
            CHECK(carried[k] == approx(exact[k]).epsilon(1e-7).margin(1e-9));
            CHECK(mean[k] == approx(exact[6 + k] / h).epsilon(1e-7).margin(1e-9));
        }
    }
}

TEST_CASE("what a block is beside its ladder's own is carried to second order") {
    const plant::Affine base = stiff();
    plant::Affine form = base;  // half a rad/s faster, a source a little softer
    form.pw += 0.5, form.vv *= 1 - 5e-4;
    form.of_p += Two{0.0, -61.0}, form.of_q += Two{61.0, 0.0};
    plant::Ladder near, own;
    near.build(base, 0.0, 300.0, rate), own.build(form, 0.0, 300.5, rate);
    plant::Five y{Two{0.2, -0.1}, Two{0.4, 0.7}, 300.0};
    double before = 0.0;
    for (const double h : {4e-4, 2e-4, 1e-4}) {
        plant::Five sum{};
        const plant::Five a = near.carry(y, form, h, sum), b = own.carry(y, form, h, sum);
        const double off = std::hypot(a.psi[0] - b.psi[0], a.psi[1] - b.psi[1]);
        CHECK(off < 1e-6);
        if (before > 0.0) CHECK(off < before / 3);
        before = off;
    }
}

TEST_CASE("stiff runs read as the general way has them, and their accounts close") {
    Scenario held = small_pump(), magnets = held, sun = site_named("hill-orchard");
    held.supply.resistance_ohm = 0.005;
    magnets.supply.resistance_ohm = 0.02;
    magnets.motor.kind = "permanent-magnet", magnets.motor.pole_pairs = 2, magnets.motor.flux_linkage_Wb = 0.15;
    magnets.motor.d_inductance_H = magnets.motor.q_inductance_H = 4e-3;
    magnets.motor.back_emf = "trapezoidal", magnets.drive.modulation = "six-step-120";
    struct Case {
        const char* what;
        const Scenario& s;
        std::vector<site::Fault> faults;
        double seconds;
    };
    for (const Case& c : {Case{"a source of 5 milliohms", held, {}, 1.0},
                          Case{"and a lost phase", held, {{"lost-phase", "cable.w", 1, 0}}, 1.0},
                          Case{"a splice of 3 kohm on an array", sun, {{"high-resistance-splice", "v", 3000, 0}}, 2.0},
                          Case{"a splice of 200 ohm there", sun, {{"high-resistance-splice", "u", 200, 0}}, 2.0},
                          Case{"magnets on 20 milliohms", magnets, {}, 1.0}}) {
        const auto site = site::compile_site(c.s, c.faults);
        Options general = options_for(*site);
        general.method = Method::ra34pw2;
        general.relative *= 0.01, general.piece *= 0.1;
        Plant plant(site), tight(site, general);
        State a = plant.start(), b = a;
        plant.advance(a, c.seconds), tight.advance(b, c.seconds);
        plant.open_account(a);
        const Means x = plant.average(a, 0.2), y = tight.average(b, 0.2);
        INFO(c.what << ": gap " << plant.energy_gap(a) << ", " << x.current_rms[0] << " A for " << y.current_rms[0]
                    << ", " << x.link << " V for " << y.link << ", " << x.speed << " rad/s for " << y.speed);
        CHECK(std::abs(plant.energy_gap(a)) < 5e-4);
        for (std::size_t k = 0; k < 3; ++k) {
            CHECK(x.current_rms[k] == approx(y.current_rms[k]).epsilon(1e-3).margin(1e-3));
            CHECK(x.line_rms[k] == approx(y.line_rms[k]).epsilon(1e-3));
        }
        CHECK(x.link == approx(y.link).epsilon(1e-3));
        CHECK(x.speed == approx(y.speed).epsilon(1e-3).margin(1e-3));
    }
}
