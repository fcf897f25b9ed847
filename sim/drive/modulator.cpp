#include "drive/modulator.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace sunshaft::drive {
namespace {

using std::numbers::pi;
constexpr double longest = 5e-3;        // s: the command is looked at again at least this often
constexpr double longest_pwm = 2.5e-4;  // s: several half carrier periods share a window up to here
constexpr int most_halves = 8;          // 3 legs x 8 crossings x 2 edges with dead time stay below the window's 64

double wrap(double angle) { return angle - 2 * pi * std::floor(angle / (2 * pi)); }

// Collects edges of one window, with dead time, in order of time.
class Edges {
  public:
    Edges(Window& window, ModulatorState& state, double start, const DriveSettings& s)
        : window_(window), state_(state) {
        for (std::size_t k = 0; k < 3; ++k) dead_[k] = s.dead_time + s.dead_time_extra[k];
        take_over(start);
    }
    Edges(Window& window, ModulatorState& state, double start) : window_(window), state_(state) { take_over(start); }
    // Leg k is to do `gate` from time t on (calls for one leg in rising time).
    void want(double t, int k, Gate gate) {
        const auto i = static_cast<std::size_t>(k);
        if (state_.wanted[i] == gate) return;
        if (state_.pending_at[i] > t) [[unlikely]]
            overtake(k);
        state_.wanted[i] = gate;
        if (dead_[i] > 0.0 && gate != Gate::off) {
            add({t, k, Gate::off});
            state_.pending_at[i] = t + dead_[i];
            if (state_.pending_at[i] < window_.end) add({state_.pending_at[i], k, gate});
        } else {
            add({t, k, gate});
        }
    }
    // What lies beyond the window is the next one's.
    void finish() {
        for (double& at : state_.pending_at)
            if (at < window_.end) at = -1.0;
    }

  private:
    void take_over(double start) {
        for (int k = 0; k < 3; ++k) {
            double& at = state_.pending_at[static_cast<std::size_t>(k)];
            if (at < 0.0) continue;
            at = std::max(at, start);
            if (at < window_.end) add({at, k, state_.wanted[static_cast<std::size_t>(k)]});
        }
    }
    // A turn-on that is not carried out before the leg is asked for something else.
    void overtake(int k) {
        double& at = state_.pending_at[static_cast<std::size_t>(k)];
        const auto first = window_.edges.begin(), last = first + window_.count;
        const auto found = std::find_if(first, last, [&](const Edge& e) { return e.leg == k && e.t == at; });
        at = -1.0;
        if (found == last) return;
        std::copy(found + 1, last, found);
        --window_.count;
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

// The three references around the middle of a half carrier period.
class References {
  public:
    References(Modulation modulation, double amplitude, double middle, double turn)
        : half_cos_(std::cos(0.5 * turn)),
          half_sin_(std::sin(0.5 * turn)),
          c_{std::cos(middle)},
          s_{std::sin(middle)},
          m_(amplitude),
          kind_(modulation) {
        phases();
    }
    // To the middle of the next half period.
    void next() {
        const double cos = half_cos_ * half_cos_ - half_sin_ * half_sin_, sin = 2 * half_cos_ * half_sin_, u = c_[0];
        c_[0] = u * cos - s_[0] * sin;
        s_[0] = s_[0] * cos + u * sin;
        phases();
    }
    // Of leg k at its beginning, middle and end, and at an angle from the middle, there by Taylor series.
    double begin(int k) const { return value(k, half_cos_, -half_sin_); }
    double middle(int k) const { return value(k, 1.0, 0.0); }
    double end(int k) const { return value(k, half_cos_, half_sin_); }
    // No kink from its beginning to its end.
    bool smooth() const { return kind_ != Modulation::space_vector || between_ >= 0; }
    double operator()(int k, double d) const {
        const double d2 = d * d;
        return value(k, 1.0 - d2 * (0.5 - d2 * (1.0 / 24 - d2 / 720)), d * (1.0 - d2 * (1.0 / 6 - d2 / 120)));
    }

  private:
    void phases() {
        constexpr double h = 0.86602540378443864676;
        c_[1] = -0.5 * c_[0] + h * s_[0];
        s_[1] = -0.5 * s_[0] - h * c_[0];
        c_[2] = -0.5 * c_[0] - h * s_[0];
        s_[2] = -0.5 * s_[0] + h * c_[0];
        if (kind_ == Modulation::space_vector) {
            const int at_end = between(half_sin_);
            between_ = between(-half_sin_) == at_end ? at_end : -1;
        }
    }
    // Which leg is neither the highest nor the lowest at a side.
    int between(double sin) const {
        double x[3];
        for (int k = 0; k < 3; ++k) x[k] = c_[k] * half_cos_ - s_[k] * sin;
        for (int k = 0; k < 2; ++k)
            if ((x[k] - x[(k + 1) % 3]) * (x[k] - x[(k + 2) % 3]) <= 0.0) return k;
        return 2;
    }
    double value(int k, double cos, double sin) const {
        const double x = c_[k] * cos - s_[k] * sin;
        if (kind_ == Modulation::third_harmonic) {
            const double u = c_[0] * cos - s_[0] * sin;
            return m_ * (x - (4 * u * u * u - 3 * u) / 6);
        }
        if (kind_ == Modulation::space_vector) {
            // highest and lowest together are less the one between
            if (between_ >= 0) return m_ * (x + 0.5 * (c_[between_] * cos - s_[between_] * sin));
            const double a = c_[0] * cos - s_[0] * sin, b = c_[1] * cos - s_[1] * sin, e = -a - b;
            return m_ * (x - 0.5 * (std::max({a, b, e}) + std::min({a, b, e})));
        }
        return m_ * x;
    }
    double half_cos_, half_sin_;
    double c_[3], s_[3];
    double m_;
    Modulation kind_;
    int between_ = -1;
};

// Where between 0 and 1 the reference crosses the carrier: the excess goes from g0 by gm to g1, which differs in sign.
// The carrier's slope dominates; what bends is the reference, by its turn in a half period. The parabola through the
// three is off by the turn's cube: picoseconds at usual carriers, and the end of it (`smooth`). Else steps along the
// chord follow, each off by its own length times that turn. Kept inside the bracket for the rest.
template <class Excess>
double crossing(double g0, double gm, double g1, double turn, bool smooth, Excess excess) {
    const double inv = 1.0 / (g1 - g0), chord = -g0 * inv, bend = (4 * gm - 2 * (g0 + g1)) * inv;
    double x = chord * (1.0 - bend * (1.0 - chord) * (1.0 - bend * (1.0 - 2 * chord)));
    if (smooth) return x;
    double lo = 0.0, hi = 1.0, glo = g0, ghi = g1;
    if (!(x > lo && x < hi)) x = chord;
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
    References ref(s.modulation, amplitude, state.angle + 0.5 * turn, turn);
    // Reference less carrier for leg k; the carrier goes from -sign to sign while x goes from 0 to 1.
    double sign = state.falling ? -1.0 : 1.0;
    const auto excess = [&](int k, double x) { return ref(k, turn * (x - 0.5)) - sign * (2 * x - 1); };
    const bool slow = std::abs(turn) < 0.022;
    std::array<double, 3> start{};
    for (int k = 0; k < 3; ++k) {
        start[static_cast<std::size_t>(k)] = ref.begin(k) + sign;
        edges.want(t, k, start[static_cast<std::size_t>(k)] > 0.0 ? Gate::upper : Gate::lower);
    }
    struct Crossing {
        double x;
        int leg;
        Gate gate;
    };
    for (int n = 0; n < halves; ++n) {
        std::array<Crossing, 3> found;
        std::size_t count = 0;
        for (int k = 0; k < 3; ++k) {
            double& g0 = start[static_cast<std::size_t>(k)];
            const double g1 = ref.end(k) - sign;
            if ((g0 > 0.0) != (g1 > 0.0)) {
                const double x = crossing(g0, ref.middle(k), g1, turn, slow && ref.smooth(),
                                          [&](double at) { return excess(k, at); });
                std::size_t at = count++;
                for (; at > 0 && found[at - 1].x > x; --at) found[at] = found[at - 1];
                found[at] = {x, k, g1 > 0.0 ? Gate::upper : Gate::lower};
            }
            g0 = g1;
        }
        for (std::size_t c = 0; c < count; ++c) edges.want(t + half * (n + found[c].x), found[c].leg, found[c].gate);
        ref.next();
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
