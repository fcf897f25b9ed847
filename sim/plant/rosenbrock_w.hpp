// Linearly implicit Rosenbrock-W steppers with a small stiff block, in Boost.Odeint's framework.
//
//   (I/(h g) - J) u_i = f(x + sum_j a_ij u_j) + sum_j c_ij u_j / h,     x1 = x + sum_i m_i u_i
//
// A W-method keeps its order for any J, so J may be just the part that is stiff: three states (motor current, link
// voltage), solved by a closed-form 3x3 inverse; the other states are explicit at no extra cost. The System must
// offer  operator()(x, dxdt, t)  and  block(x, t, double[9])  for the first three components.
//
// Methods:
//   Ra34pw2  order 3(2), L-stable, 4 stages: J. Rang, L. Angermann, "New Rosenbrock W-methods of order 3 for partial
//            differential algebraic equations of index 1", BIT 45 (2005) 761-787, method ROS34PW2.
//   Ros2w    order 2(1), L-stable, 2 stages: J. G. Verwer, E. J. Spee, J. G. Blom, W. Hundsdorfer, "A second-order
//            Rosenbrock method applied to photochemical dispersion problems", SIAM J. Sci. Comput. 20 (1999) 1456-1480,
//            eq. 2.4 with gamma = 1 - 1/sqrt 2.
//
// Three classes, one for each concept: rosenbrock_w (error stepper), controlled_rosenbrock_w (controlled stepper,
// tolerances per component), dense_output_rosenbrock_w (dense output: cubic Hermite from true end derivatives).
#pragma once

#include <algorithm>
#include <array>
#include <boost/numeric/odeint/stepper/controlled_step_result.hpp>
#include <boost/numeric/odeint/stepper/stepper_categories.hpp>
#include <boost/numeric/odeint/util/unwrap_reference.hpp>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

namespace sunshaft::plant {

namespace odeint = boost::numeric::odeint;

struct Ra34pw2 {
    static constexpr int stages = 4, order = 3, error_order = 2;
    static constexpr bool interpolates = true;
    static constexpr double gamma = 0.435866521508459;
    static constexpr double A[4][4] = {
        {0, 0, 0, 0}, {0.87173304301691801, 0, 0, 0}, {0.84457060015369423, -0.11299064236484185, 0, 0}, {0, 0, 1, 0}};
    static constexpr double G[4][4] = {{gamma, 0, 0, 0},
                                       {-0.87173304301691801, gamma, 0, 0},
                                       {-0.90338057013044082, 0.054180672388095326, gamma, 0},
                                       {0.24212380706095346, -1.2232505839045147, 0.54526025533510214, gamma}};
    static constexpr double b[4] = {0.24212380706095346, -1.2232505839045147, 1.5452602553351020, gamma};
    static constexpr double b_low[4] = {0.37810903145819369, -0.096042292212423178, 0.5, 0.21793326075422950};
    // Continuous extension x(s) = x0 + sum_i k_i sum_j interp[i][j] s^(j+1), order 3 with the exact Jacobian, as in the
    // PETSc library's implementation of this method. Damped like the method itself: no hump after a stiff jump.
    static constexpr double interp[4][3] = {{1.0564298455794094, -1.3864882699759573, 0.5721822314575016},
                                            {2.296429974281067, -8.262611700275677, 4.742931142090097},
                                            {-1.307599564525376, 7.250979895056055, -4.398120075195578},
                                            {-1.045260255335102, 2.398120075195581, -0.9169932983520199}};
};

struct Ros2w {
    static constexpr int stages = 2, order = 2, error_order = 1;
    static constexpr bool interpolates = false;           // a step is short enough to be one straight piece
    static constexpr double gamma = 0.29289321881345254;  // 1 - 1/sqrt 2
    static constexpr double A[2][2] = {{0, 0}, {1, 0}};
    static constexpr double G[2][2] = {{gamma, 0}, {-2 * gamma, gamma}};
    static constexpr double b[2] = {0.5, 0.5};
    static constexpr double b_low[2] = {1, 0};
};

namespace detail {
// The tableau with G folded in: u = G k, so that no product with J is left.
template <class M>
struct Transformed {
    static constexpr int s = M::stages;
    double a[s][s]{}, c[s][s]{}, m[s]{}, e[s]{}, alpha[s]{}, d[s][3]{};  // d: of the interpolation
    constexpr Transformed() {
        double inv[s][s]{};  // of the lower triangular G
        for (int j = 0; j < s; ++j) {
            inv[j][j] = 1.0 / M::G[j][j];
            for (int i = j + 1; i < s; ++i) {
                double sum = 0;
                for (int k = j; k < i; ++k) sum += M::G[i][k] * inv[k][j];
                inv[i][j] = -sum / M::G[i][i];
            }
        }
        for (int i = 0; i < s; ++i) {
            for (int j = 0; j < i; ++j) {
                for (int k = j; k < i; ++k) a[i][j] += M::A[i][k] * inv[k][j];
                c[i][j] = -inv[i][j];
                alpha[i] += M::A[i][j];
            }
            for (int k = i; k < s; ++k) {
                m[i] += M::b[k] * inv[k][i];
                e[i] += (M::b[k] - M::b_low[k]) * inv[k][i];
                if constexpr (M::interpolates)
                    for (int n = 0; n < 3; ++n) d[i][n] += M::interp[k][n] * inv[k][i];
            }
        }
    }
};
}  // namespace detail

// size: components that are stepped, the first ones of State; the others stay as the caller has them.
template <class Method, class State, std::size_t Size = std::tuple_size_v<State>>
class rosenbrock_w {
  public:
    typedef State state_type;
    typedef State deriv_type;
    typedef double value_type;
    typedef double time_type;
    typedef unsigned short order_type;
    typedef odeint::error_stepper_tag stepper_category;
    static constexpr std::size_t block = 3, size = Size;
    static_assert(size >= block);

    order_type order() const { return Method::order; }
    order_type stepper_order() const { return Method::order; }
    order_type error_order() const { return Method::error_order; }

    // One step with derivative and block at the start given; error is the difference to the embedded method.
    template <class System>
    [[gnu::always_inline]] inline void step(const System& f, const double (&j)[9], const State& in, const State& dxdt,
                                            double t, State& out, double h, State& error) {
        static constexpr detail::Transformed<Method> T{};
        constexpr int s = Method::stages;
        const double hg = h * Method::gamma, inv_hg = 1.0 / hg, inv_h = 1.0 / h;
        const double p = inv_hg - j[0], q = -j[1], r = -j[2], v = -j[3], w = inv_hg - j[4], x = -j[5], y = -j[6],
                     z = -j[7], o = inv_hg - j[8];
        const double c0 = w * o - x * z, c1 = x * y - v * o, c2 = v * z - w * y;
        const double det = 1.0 / (p * c0 + q * c1 + r * c2);
        const double inv[9] = {c0 * det, (r * z - q * o) * det, (q * x - r * w) * det,
                               c1 * det, (p * o - r * y) * det, (r * v - p * x) * det,
                               c2 * det, (q * y - p * z) * det, (p * w - q * v) * det};
        // In locals, so that the compiler knows that no store to the results can change them.
        State u[s], stage, rhs = dxdt;
#pragma GCC unroll 4
        for (int i = 0; i < s; ++i) {
            if (i > 0) {
                stage = in;
#pragma GCC unroll 4
                for (int k = 0; k < i; ++k)
                    if (T.a[i][k] != 0.0)
                        for (std::size_t n = 0; n < size; ++n) stage[n] += T.a[i][k] * u[k][n];
                f(stage, rhs, t + T.alpha[i] * h);
#pragma GCC unroll 4
                for (int k = 0; k < i; ++k)
                    for (std::size_t n = 0; n < size; ++n) rhs[n] += T.c[i][k] * inv_h * u[k][n];
            }
            u[i][0] = inv[0] * rhs[0] + inv[1] * rhs[1] + inv[2] * rhs[2];
            u[i][1] = inv[3] * rhs[0] + inv[4] * rhs[1] + inv[5] * rhs[2];
            u[i][2] = inv[6] * rhs[0] + inv[7] * rhs[1] + inv[8] * rhs[2];
            for (std::size_t n = block; n < size; ++n) u[i][n] = hg * rhs[n];
        }
        for (std::size_t n = 0; n < size; ++n) {
            double sum = 0.0, difference = 0.0;
#pragma GCC unroll 4
            for (int i = 0; i < s; ++i) sum += T.m[i] * u[i][n], difference += T.e[i] * u[i][n];
            out[n] = in[n] + sum;
            error[n] = difference;
        }
        if constexpr (Method::interpolates)
            for (int i = 0; i < s; ++i) u_[static_cast<std::size_t>(i)] = u[i];
    }

    // State inside the last step, s in 0 .. 1.
    void interpolate(const State& in, double s, State& out) const {
        static constexpr detail::Transformed<Method> T{};
        out = in;
        for (int i = 0; i < Method::stages; ++i) {
            const double k = s * (T.d[i][0] + s * (T.d[i][1] + s * T.d[i][2]));
            for (std::size_t n = 0; n < size; ++n) out[n] += k * u_[static_cast<std::size_t>(i)][n];
        }
    }

    // Odeint's error stepper concept.
    template <class System>
    void do_step(System system, const State& in, double t, State& out, double h, State& error) {
        const auto& f = static_cast<const typename odeint::unwrap_reference<System>::type&>(system);
        State dxdt, result;
        double j[9];
        f(in, dxdt, t);
        f.block(in, t, j);
        step(f, j, in, dxdt, t, result, h, error);
        out = result;
    }
    template <class System>
    void do_step(System system, State& x, double t, double h, State& error) {
        do_step(system, x, t, x, h, error);
    }
    template <class System>
    void do_step(System system, const State& in, double t, State& out, double h) {
        State error;
        do_step(system, in, t, out, h, error);
    }
    template <class System>
    void do_step(System system, State& x, double t, double h) {
        do_step(system, x, t, x, h);
    }
    template <class S>
    void adjust_size(const S&) {}

  private:
    std::array<State, Method::stages> u_{};
};

// Error measure: largest component error over (absolute_i + relative |x_i|).
template <class State>
struct Tolerances {
    State absolute{};
    double relative = 1e-4;
    double measure(const State& error, const State& x) const {
        double worst = 0.0;
        for (std::size_t n = 0; n < x.size(); ++n)
            worst = std::max(worst, std::abs(error[n]) / (absolute[n] + relative * std::abs(x[n])));
        return worst;
    }
};

// Next step from the error measure of this one (1 = just accepted), order of the lower method + 1 = p.
inline double step_factor(double measure, int p) {
    if (!(measure > 0.0)) return 4.0;
    const double k =
        p == 2 ? 1.0 / std::sqrt(measure) : (p == 3 ? 1.0 / std::cbrt(measure) : std::pow(measure, -1.0 / p));
    return std::clamp(0.9 * k, 0.2, 4.0);
}

template <class Method, class State>
class controlled_rosenbrock_w {
  public:
    typedef State state_type;
    typedef State deriv_type;
    typedef double value_type;
    typedef double time_type;
    typedef rosenbrock_w<Method, State> stepper_type;
    typedef odeint::controlled_stepper_tag stepper_category;

    explicit controlled_rosenbrock_w(const Tolerances<State>& tolerances = {}) : tol_(tolerances) {}

    template <class System>
    odeint::controlled_step_result try_step(System system, State& x, double& t, double& dt) {
        State out;
        const auto result = try_step(system, x, t, out, dt);
        if (result == odeint::success) x = out;
        return result;
    }
    template <class System>
    odeint::controlled_step_result try_step(System system, const State& in, double& t, State& out, double& dt) {
        State error, result;
        stepper_.do_step(system, in, t, result, dt, error);
        const double m = tol_.measure(error, result);
        const double k = std::isfinite(m) ? step_factor(m, Method::error_order + 1) : 0.2;
        if (!(m <= 1.0)) {
            dt *= std::min(k, 0.8);
            return odeint::fail;
        }
        t += dt;
        dt *= k;
        out = result;
        return odeint::success;
    }
    template <class S>
    void adjust_size(const S&) {}
    stepper_type& stepper() { return stepper_; }

  private:
    stepper_type stepper_;
    Tolerances<State> tol_;
};

// Cubic Hermite between two ends of a step; s in 0 .. 1.
template <class State>
void hermite(const State& x0, const State& d0, const State& x1, const State& d1, double h, double s, State& out) {
    const double s2 = s * s, s3 = s2 * s;
    const double a = 1 - 3 * s2 + 2 * s3, b = h * (s - 2 * s2 + s3), c = 3 * s2 - 2 * s3, d = h * (s3 - s2);
    for (std::size_t n = 0; n < out.size(); ++n) out[n] = a * x0[n] + b * d0[n] + c * x1[n] + d * d1[n];
}

template <class Method, class State>
class dense_output_rosenbrock_w {
  public:
    typedef State state_type;
    typedef State deriv_type;
    typedef double value_type;
    typedef double time_type;
    typedef odeint::dense_output_stepper_tag stepper_category;

    explicit dense_output_rosenbrock_w(const Tolerances<State>& tolerances = {}) : controlled_(tolerances) {}

    void initialize(const State& x, double t, double dt) {
        x_ = old_ = x;
        t_ = t_old_ = t;
        dt_ = dt;
    }
    template <class System>
    std::pair<double, double> do_step(System system) {
        const auto& f = static_cast<const typename odeint::unwrap_reference<System>::type&>(system);
        old_ = x_;
        t_old_ = t_;
        int tries = 0;
        while (controlled_.try_step(system, old_, t_, x_, dt_) == odeint::fail)
            if (++tries > 500) throw std::runtime_error("rosenbrock_w: the step size went to nothing");
        f(old_, d_old_, t_old_);
        f(x_, d_, t_);
        return {t_old_, t_};
    }
    void calc_state(double t, State& x) const {
        hermite(old_, d_old_, x_, d_, t_ - t_old_, (t - t_old_) / (t_ - t_old_), x);
    }
    const State& current_state() const { return x_; }
    double current_time() const { return t_; }
    const State& previous_state() const { return old_; }
    double previous_time() const { return t_old_; }
    double current_time_step() const { return dt_; }
    template <class S>
    void adjust_size(const S&) {}

  private:
    controlled_rosenbrock_w<Method, State> controlled_;
    State x_{}, old_{}, d_{}, d_old_{};
    double t_ = 0, t_old_ = 0, dt_ = 0;
};

}  // namespace sunshaft::plant
