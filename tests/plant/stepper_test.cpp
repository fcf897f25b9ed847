// The steppers by themselves: Odeint's concepts, classic problems, order of convergence.
#include <boost/numeric/odeint/integrate/integrate_adaptive.hpp>
#include <boost/numeric/odeint/integrate/integrate_const.hpp>
#include <boost/numeric/odeint/integrate/integrate_times.hpp>

#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
namespace odeint = boost::numeric::odeint;

namespace {

using Three = std::array<double, 3>;

// H. H. Robertson's kinetics, with its Jacobian.
struct Robertson {
    void operator()(const Three& y, Three& d, double) const {
        const double a = 0.04 * y[0], b = 1e4 * y[1] * y[2], c = 3e7 * y[1] * y[1];
        d = {b - a, a - b - c, c};
    }
    void block(const Three& y, double, double* j) const {
        const double jac[9] = {-0.04,       1e4 * y[2], 1e4 * y[1], 0.04, -1e4 * y[2] - 6e7 * y[1],
                               -1e4 * y[1], 0,          6e7 * y[1], 0};
        std::copy(jac, jac + 9, j);
    }
};

// B. van der Pol's oscillator, epsilon = 1e-6, in the test set's form (Mazzia and Magherini); third component idle.
struct VanDerPol {
    static constexpr double eps = 1e-6;
    void operator()(const Three& y, Three& d, double) const { d = {y[1], ((1 - y[0] * y[0]) * y[1] - y[0]) / eps, 0}; }
    void block(const Three& y, double, double* j) const {
        const double jac[9] = {0, 1, 0, (-2 * y[0] * y[1] - 1) / eps, (1 - y[0] * y[0]) / eps, 0, 0, 0, 0};
        std::copy(jac, jac + 9, j);
    }
};

// Series R, L, C on a step of 300 V; states i, v. `known`: how much of the Jacobian the stepper is told.
struct Rlc {
    double R, L = 1e-3, C = 1e-3, known = 1.0;
    void operator()(const Three& y, Three& d, double) const { d = {(300 - R * y[0] - y[1]) / L, y[0] / C, 0}; }
    void block(const Three&, double, double* j) const {
        const double jac[9] = {-R / L * known, -1 / L * known, 0, known / C, 0, 0, 0, 0, 0};
        std::copy(jac, jac + 9, j);
    }
};

Tolerances<Three> tolerances(double relative, const Three& scale) {
    return {{relative * scale[0], relative * scale[1], relative * scale[2]}, relative};
}

// A smooth non-stiff problem that is not linear and depends on time: y' = -y^3 + cos t and a pendulum coupled to it.
struct Smooth {
    double known = 1.0;
    void operator()(const Three& y, Three& d, double t) const {
        d = {-y[0] * y[0] * y[0] + std::cos(t), y[2] + 0.1 * y[0], -std::sin(y[1])};
    }
    void block(const Three& y, double, double* j) const {
        const double jac[9] = {-3 * y[0] * y[0] * known, 0, 0, 0.1 * known, 0, known, 0, -std::cos(y[1]) * known, 0};
        std::copy(jac, jac + 9, j);
    }
};

template <class Method, class System>
Three fixed(const System& system, Three y, double span, int steps) {
    rosenbrock_w<Method, Three> stepper;
    for (int n = 0; n < steps; ++n) stepper.do_step(std::cref(system), y, n * span / steps, span / steps);
    return y;
}

template <class Method, class System>
double observed_order(const System& system, const Three& start, double span, int steps) {
    const Three truth = fixed<Ra34pw2>(system, start, span, 64 * steps);
    const auto error = [&](int n) {
        const Three y = fixed<Method>(system, start, span, n);
        return std::hypot(y[0] - truth[0], y[1] - truth[1], y[2] - truth[2]);
    };
    return std::log2(error(steps) / error(2 * steps));
}

}  // namespace

TEST_CASE("order of convergence on a smooth problem") {
    const Three start = {0.5, 1.0, 0.0};
    // A W-method keeps its order when the Jacobian block is wrong: half of it, none of it. Autonomous in the block
    // only, so the time-dependent part is integrated explicitly.
    for (const double known : {1.0, 0.5, 0.0}) {
        INFO("share of the Jacobian known: " << known);
        CHECK(observed_order<Ra34pw2>(Smooth{known}, start, 3.0, 60) > 2.85);
        CHECK(observed_order<Ra34pw2>(Smooth{known}, start, 3.0, 60) < 4.2);
        CHECK(observed_order<Ros2w>(Smooth{known}, start, 3.0, 60) > 1.9);
        CHECK(observed_order<Ros2w>(Smooth{known}, start, 3.0, 60) < 3.2);
    }
}

TEST_CASE("order reduction on a stiff problem is no worse than known") {
    // y' = -lambda (y - cos t) - sin t with lambda h well above one: A. Prothero and A. Robinson, Math. Comp. 28 (1974)
    // 145.
    struct ProtheroRobinson {
        void operator()(const Three& y, Three& d, double t) const {
            d = {-1e4 * (y[0] - std::cos(t)) - std::sin(t), 0, 0};
        }
        void block(const Three&, double, double* j) const { std::fill(j, j + 9, 0.0), j[0] = -1e4; }
    };
    const auto error = [](auto method, int steps) {
        return std::abs(fixed<decltype(method)>(ProtheroRobinson{}, {1, 0, 0}, 3.0, steps)[0] - std::cos(3.0));
    };
    const double third = std::log2(error(Ra34pw2{}, 60) / error(Ra34pw2{}, 120)),
                 second = std::log2(error(Ros2w{}, 60) / error(Ros2w{}, 120));
    WARN("observed order at lambda h = 500: ra34pw2 " << third << " (error " << error(Ra34pw2{}, 120) << "), ros2w "
                                                      << second << " (error " << error(Ros2w{}, 120) << ")");
    CHECK(third > 0.8);
    CHECK(second > 0.8);
    CHECK(error(Ra34pw2{}, 120) < 1e-4);
    CHECK(error(Ros2w{}, 120) < 5e-3);
}

TEST_CASE("Robertson, with each way Odeint has to call a stepper") {
    // Reference: three independent codes agree to these digits.
    const auto check = [](const Three& y, double tolerance) {
        CHECK(y[0] == approx(0.71582706872).epsilon(tolerance));
        CHECK(y[1] == approx(9.1855347646e-6).epsilon(tolerance));
        CHECK(y[2] == approx(0.28416374575).epsilon(tolerance));
    };
    const Tolerances<Three> tight{{1e-10, 1e-14, 1e-10}, 1e-8};
    SECTION("adaptive, controlled") {
        Three y = {1, 0, 0};
        odeint::integrate_adaptive(controlled_rosenbrock_w<Ra34pw2, Three>(tight), Robertson{}, y, 0.0, 40.0, 1e-4);
        check(y, 2e-6);
        CHECK(y[0] + y[1] + y[2] == approx(1).epsilon(1e-12));
    }
    SECTION("adaptive, dense output") {
        Three y = {1, 0, 0};
        odeint::integrate_adaptive(dense_output_rosenbrock_w<Ra34pw2, Three>(tight), Robertson{}, y, 0.0, 40.0, 1e-4);
        check(y, 2e-6);
    }
    SECTION("at given times") {
        Three y = {1, 0, 0};
        const std::vector<double> times = {0.0, 0.4, 4.0, 40.0};
        std::vector<Three> seen;
        odeint::integrate_times(dense_output_rosenbrock_w<Ra34pw2, Three>(tight), Robertson{}, y, times.begin(),
                                times.end(), 1e-4, [&](const Three& x, double) { seen.push_back(x); });
        REQUIRE(seen.size() == 4);
        CHECK(seen[1][0] == approx(0.98517211386).epsilon(1e-6));
        CHECK(seen[2][0] == approx(0.90551867858).epsilon(1e-6));
        check(seen[3], 1e-5);
    }
    SECTION("at equal distances, controlled") {
        Three y = {1, 0, 0};
        int count = 0;
        odeint::integrate_const(controlled_rosenbrock_w<Ra34pw2, Three>(tight), Robertson{}, y, 0.0, 40.0, 4.0,
                                [&](const Three&, double) { ++count; });
        CHECK(count == 11);
        check(y, 2e-6);
    }
    SECTION("second-order method") {
        Three y = {1, 0, 0};
        odeint::integrate_adaptive(controlled_rosenbrock_w<Ros2w, Three>({{1e-8, 1e-12, 1e-8}, 1e-6}), Robertson{}, y,
                                   0.0, 40.0, 1e-4);
        check(y, 1e-4);
    }
}

TEST_CASE("van der Pol with epsilon 1e-6") {
    Three y = {2, 0, 0};
    odeint::integrate_adaptive(controlled_rosenbrock_w<Ra34pw2, Three>({{1e-8, 1e-8, 1}, 1e-8}), VanDerPol{}, y, 0.0,
                               2.0, 1e-6);
    CHECK(y[0] == approx(1.706167732170483).epsilon(1e-5));
    CHECK(y[1] == approx(-0.8928097010247975).epsilon(1e-5));
}

TEST_CASE("series RLC on a voltage step, closed form") {
    struct Row {
        double R, i, v;
    };
    for (const Row& r :
         {Row{0.5, 175.500064, 321.193365}, Row{2, 81.201170, 178.198245}, Row{10, 25.017294, 52.354319}}) {
        for (const double known : {1.0, 0.7}) {
            const Rlc system{r.R, 1e-3, 1e-3, known};
            INFO("R " << r.R << ", known " << known);
            Three y{};
            odeint::integrate_adaptive(controlled_rosenbrock_w<Ra34pw2, Three>(tolerances(1e-9, {200, 400, 1})), system,
                                       y, 0.0, 2e-3, 1e-6);
            CHECK(y[0] == approx(r.i).epsilon(2e-7));
            CHECK(y[1] == approx(r.v).epsilon(2e-7));
            y = {};
            odeint::integrate_const(rosenbrock_w<Ros2w, Three>(), system, y, 0.0, 2e-3, 2e-7);
            CHECK(y[0] == approx(r.i).epsilon(1e-5));
        }
    }
}

TEST_CASE("RL on a direct voltage, closed form") {
    struct Rl {
        void operator()(const Three& y, Three& d, double) const { d = {(10 - 2 * y[0]) / 0.05, 0, 0}; }
        void block(const Three&, double, double* j) const { std::fill(j, j + 9, 0.0), j[0] = -40; }
    };
    Three y{};
    odeint::integrate_adaptive(controlled_rosenbrock_w<Ra34pw2, Three>(tolerances(1e-9, {5, 1, 1})), Rl{}, y, 0.0,
                               0.025, 1e-4);
    CHECK(y[0] == approx(3.160602794).epsilon(1e-7));
    odeint::integrate_adaptive(controlled_rosenbrock_w<Ra34pw2, Three>(tolerances(1e-9, {5, 1, 1})), Rl{}, y, 0.025,
                               0.05, 1e-4);
    CHECK(y[0] == approx(4.323323584).epsilon(1e-7));
}
