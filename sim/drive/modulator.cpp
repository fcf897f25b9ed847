#include "drive/modulator.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace sunshaft::drive {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double longest = 5e-3;        // s: the command is looked at again at least this often
constexpr double longest_pwm = 2.5e-4;  // s: several half carrier periods share a window up to here
constexpr int most_halves = 8;          // 3 legs x 8 crossings x 2 edges with dead time stay below the window's 64

double wrap(double angle) { return angle - 2 * pi * std::floor(angle / (2 * pi)); }

// Collects edges of one window, with dead time, in order of time.
class Edges {
  public:
    Edges(Window& window, ModulatorState& state, double start, const DriveSettings& s)
        : window_(window), state_(state), start_(start) {
        for (std::size_t k = 0; k < 3; ++k) dead_[k] = s.dead_time + s.dead_time_extra[k];
        take_over();
    }
    Edges(Window& window, ModulatorState& state, double start) : window_(window), state_(state), start_(start) {
        take_over();
    }
    void take_over() {
        for (int k = 0; k < 3; ++k) {
            const auto i = static_cast<std::size_t>(k);
            pending_[i] = state_.pending_at[i];
            state_.pending_at[i] = -1.0;
        }
    }
    // Leg k is to do `gate` from time t on (calls for one leg in rising time).
    void want(double t, int k, Gate gate) {
        const auto i = static_cast<std::size_t>(k);
        if (state_.wanted[i] == gate) return;
        const bool through_dead_time = dead_[i] > 0.0 && gate != Gate::off;
        if (pending_[i] >= 0.0 && pending_[i] <= t) flush(k);
        pending_[i] = -1.0;  // an older turn-on not yet carried out is overtaken
        state_.wanted[i] = gate;
        if (through_dead_time) {
            add({t, k, Gate::off});
            pending_[i] = t + dead_[i];
        } else {
            add({t, k, gate});
        }
    }
    void finish() {
        for (int k = 0; k < 3; ++k) {
            const auto i = static_cast<std::size_t>(k);
            if (pending_[i] < 0.0) continue;
            if (pending_[i] < window_.end) flush(k);
            else state_.pending_at[i] = pending_[i];
        }
    }

  private:
    void flush(int k) {
        const auto i = static_cast<std::size_t>(k);
        add({std::max(pending_[i], start_), k, state_.wanted[i]});
        pending_[i] = -1.0;
    }
    void add(const Edge& e) {
        auto& edges = window_.edges;
        int at = window_.count++;
        for (; at > 0 && edges[static_cast<std::size_t>(at - 1)].t > e.t; --at)
            edges[static_cast<std::size_t>(at)] = edges[static_cast<std::size_t>(at - 1)];
        edges[static_cast<std::size_t>(at)] = e;
    }
    Window& window_;
    ModulatorState& state_;
    std::array<double, 3> dead_{};
    double start_;
    std::array<double, 3> pending_{};
};

// The sixth of a turn an angle lies in: its middle, and the time until its far boundary. Boundaries lie at multiples of
// 60 degrees, for 180 degree conduction 30 degrees on. One just about to be reached counts as passed: a rotor's speed,
// from which the instant was foretold, is never quite what it was.
struct Sixth {
    double middle, time_left;
    Sixth(Modulation m, double angle, double omega) {
        constexpr double sixth = pi / 3, nearly = 1e-5;
        const double shift = m == Modulation::six_step_180 ? pi / 6 : 0.0;
        const double n = std::floor((angle + std::copysign(nearly, omega) - shift) / sixth);
        middle = shift + (n + 0.5) * sixth;
        time_left = omega == 0.0 ? longest : (middle + std::copysign(0.5 * sixth, omega) - angle) / omega;
    }
};

Gate six_step_gate(Modulation m, double middle, int k) {
    const double c = std::cos(middle - k * 2 * pi / 3);
    if (m == Modulation::six_step_180) return c > 0.0 ? Gate::upper : Gate::lower;
    return c > 0.5 ? Gate::upper : (c < -0.5 ? Gate::lower : Gate::off);
}

void six_step(const DriveSettings& s, ModulatorState& state, double t, double amplitude, double omega, bool follow,
              Window& w) {
    const Sixth sixth(s.modulation, state.angle, omega);
    const double to_boundary = sixth.time_left;
    double span = std::min(to_boundary, longest);
    // A rotor's speed changes: come back before a far boundary and look again.
    if (follow && to_boundary > 1e-3) span = std::min(span, 0.8 * to_boundary);
    const bool chopped = amplitude < 1.0 && s.carrier > 0.0;
    if (chopped) span = std::min(span, 1.0 / s.carrier);
    w.end = t + span;
    Edges edges(w, state, t, s);
    std::array<Gate, 3> on{};
    for (int k = 0; k < 3; ++k) on[static_cast<std::size_t>(k)] = six_step_gate(s.modulation, sixth.middle, k);
    const double duty = std::clamp(amplitude, 0.0, 1.0);
    const double off_at = t + duty / (chopped ? s.carrier : 1.0);
    for (int k = 0; k < 3; ++k) {
        const Gate g = on[static_cast<std::size_t>(k)];
        if (!chopped) {
            edges.want(t, k, g);
            continue;
        }
        const Gate rest = s.modulation == Modulation::six_step_180 ? Gate::lower : (g == Gate::upper ? Gate::off : g);
        if (duty > 0.0) edges.want(t, k, g);
        if (off_at < w.end || duty == 0.0) edges.want(duty > 0.0 ? off_at : t, k, rest);
    }
    edges.finish();
}

// The three cosines around the middle of a half carrier period, by Taylor series in the small angle.
struct References {
    double c[3], s[3];
    double m;
    Modulation kind;
    References(Modulation modulation, double amplitude, double middle)
        : c{std::cos(middle)}, s{std::sin(middle)}, m(amplitude), kind(modulation) {
        phases();
    }
    // On by an angle whose cosine and sine are given.
    void turn(double cos, double sin) {
        const double u = c[0];
        c[0] = u * cos - s[0] * sin;
        s[0] = s[0] * cos + u * sin;
        phases();
    }
    void phases() {
        constexpr double h = 0.86602540378443864676;
        c[1] = -0.5 * c[0] + h * s[0];
        s[1] = -0.5 * s[0] - h * c[0];
        c[2] = -0.5 * c[0] - h * s[0];
        s[2] = -0.5 * s[0] + h * c[0];
    }
    double cosine(int k, double d) const {
        const double d2 = d * d;
        return c[k] * (1.0 - d2 * (0.5 - d2 * (1.0 / 24 - d2 / 720))) - s[k] * d * (1.0 - d2 * (1.0 / 6 - d2 / 120));
    }
    double operator()(int k, double d) const {
        const double x = cosine(k, d);
        if (kind == Modulation::third_harmonic) {
            const double u = cosine(0, d);
            return m * (x - (4 * u * u * u - 3 * u) / 6);
        }
        if (kind == Modulation::space_vector) {
            const double a = cosine(0, d), b = cosine(1, d), e = -a - b;
            return m * (x - 0.5 * (std::max({a, b, e}) + std::min({a, b, e})));
        }
        return m * x;
    }
};

// Where between 0 and 1 the reference crosses the carrier: g changes sign from g0 to g1. The carrier's slope dominates;
// what bends is the reference, by its turn in a half period. A secant step from the chord's zero is off by at most its
// own length times that turn: far below a picosecond at usual carriers. Kept inside the bracket for the rest.
template <class Excess>
double crossing(double g0, double g1, double turn, Excess excess) {
    double lo = 0.0, hi = 1.0, glo = g0, ghi = g1, x = g0 / (g0 - g1);
    for (int n = 0; n < 40; ++n) {
        const double g = excess(x);
        if (std::abs(g) < 1e-12) break;
        const double slope = x < 0.5 * (lo + hi) ? (ghi - g) / (hi - x) : (g - glo) / (x - lo);
        if ((g > 0.0) == (glo > 0.0)) lo = x, glo = g;
        else hi = x, ghi = g;
        if (hi - lo < 1e-12) break;
        const double step = g / slope, next = x - step;
        if (next > lo && next < hi) {
            x = next;
            if (std::abs(step * turn) < 1e-6) break;
        } else {
            x = 0.5 * (lo + hi);
        }
    }
    return x;
}

void carrier(const DriveSettings& s, ModulatorState& state, double t, double amplitude, double omega, Window& w) {
    const double half = 0.5 / s.carrier, turn = omega * half;
    const int halves = std::clamp(static_cast<int>(longest_pwm / half + 0.5), 1, most_halves);
    w.end = t + halves * half;
    Edges edges(w, state, t, s);
    References ref(s.modulation, amplitude, state.angle + 0.5 * turn);
    const double cos = std::cos(turn), sin = std::sin(turn);
    // Reference less carrier for leg k; the carrier goes from -sign to sign while x goes from 0 to 1.
    double sign = state.falling ? -1.0 : 1.0;
    const auto excess = [&](int k, double x) { return ref(k, turn * (x - 0.5)) - sign * (2 * x - 1); };
    std::array<double, 3> start{};
    for (int k = 0; k < 3; ++k) {
        start[static_cast<std::size_t>(k)] = excess(k, 0.0);
        edges.want(t, k, start[static_cast<std::size_t>(k)] > 0.0 ? Gate::upper : Gate::lower);
    }
    for (int n = 0; n < halves; ++n) {
        for (int k = 0; k < 3; ++k) {
            double& g0 = start[static_cast<std::size_t>(k)];
            const double g1 = excess(k, 1.0);
            if ((g0 > 0.0) != (g1 > 0.0)) {
                const double x = crossing(g0, g1, turn, [&](double at) { return excess(k, at); });
                edges.want(t + half * (n + x), k, g1 > 0.0 ? Gate::upper : Gate::lower);
            }
            g0 = g1;
        }
        ref.turn(cos, sin);
        sign = -sign;
    }
    edges.finish();
    if (halves % 2 == 1) state.falling = !state.falling;
}

}  // namespace

void next_window(const DriveSettings& s, ModulatorState& state, double t, const Command& command, const Rotor& rotor,
                 Window& w) {
    w.count = 0;
    w.sine = false;
    if (!command.running) {
        w.end = t + 1e-3;
        Edges edges(w, state, t);
        for (int k = 0; k < 3; ++k) edges.want(t, k, Gate::off);
        edges.finish();
        return;
    }
    if (rotor.follow) state.angle = wrap(rotor.angle + pi / 2);
    const double omega = rotor.follow ? rotor.speed : 2 * pi * command.frequency;
    switch (s.modulation) {
        case Modulation::six_step_180:
        case Modulation::six_step_120: six_step(s, state, t, command.amplitude, omega, rotor.follow, w); break;
        case Modulation::ideal_sine:
            w.end = t + 1e-3;
            w.sine = true;
            w.angle0 = state.angle;
            w.omega = omega;
            w.amplitude = command.amplitude;
            break;
        default: carrier(s, state, t, command.amplitude, omega, w);
    }
    state.angle = wrap(state.angle + omega * (w.end - t));
}

}  // namespace sunshaft::drive
