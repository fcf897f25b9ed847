// Switching instants: leg waves against closed forms of what each modulation makes of a stiff link.
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "catch_shim.hpp"
#include "drive/modulator.hpp"
#include "told.hpp"

using namespace sunshaft::drive;
using std::numbers::pi;
using sunshaft::test::approx;

namespace {

struct Sampled {  // one leg's potential over link as pieces of constant value
    std::vector<double> t, y;
};

// Legs from gates; an open leg is taken as half the link here.
std::array<Sampled, 3> legs(const DriveSettings& s, const Command& command, double span, ModulatorState state = {}) {
    std::array<Sampled, 3> out;
    std::array<double, 3> now{0.5, 0.5, 0.5};
    for (auto& leg : out) leg.t.push_back(0.0), leg.y.push_back(0.5);
    Window w;
    for (double t = 0.0; t < span; t = w.end) {
        next_window(s, state, t, command, {}, w);
        REQUIRE(w.end > t);
        double last = t;
        for (int n = 0; n < w.count; ++n) {
            const Edge& e = w.edges[static_cast<std::size_t>(n)];
            REQUIRE(e.t >= last);
            REQUIRE(e.t <= w.end);
            last = e.t;
            const auto k = static_cast<std::size_t>(e.leg);
            now[k] = e.gate == Gate::upper ? 1.0 : (e.gate == Gate::lower ? 0.0 : 0.5);
            out[k].t.push_back(e.t), out[k].y.push_back(now[k]);
        }
    }
    for (auto& leg : out) leg.t.push_back(span);
    return out;
}

// Difference of two legs between two times: mean square, mean |.|, and the rms phasor at a frequency.
struct Figures {
    double rms = 0, rectified = 0, mean = 0;
    std::vector<double> harmonics;
};
Figures pair(const Sampled& a, const Sampled& b, double from, double to, double f, int count) {
    Figures out;
    std::vector<std::complex<double>> c(static_cast<std::size_t>(count));
    std::size_t i = 0, j = 0;
    double t = from;
    while (i + 1 < a.y.size() && a.t[i + 1] <= from) ++i;
    while (j + 1 < b.y.size() && b.t[j + 1] <= from) ++j;
    while (t < to) {
        const double next = std::min({to, i + 1 < a.y.size() ? a.t[i + 1] : to, j + 1 < b.y.size() ? b.t[j + 1] : to});
        const double y = a.y[i] - b.y[j], dt = next - t;
        out.rms += y * y * dt, out.rectified += std::abs(y) * dt, out.mean += y * dt;
        for (int n = 1; n <= count; ++n) {
            const double w = 2 * pi * f * n;
            c[static_cast<std::size_t>(n) - 1] +=
                y * (std::polar(1.0, -w * next) - std::polar(1.0, -w * t)) / std::complex<double>(0, -w);
        }
        t = next;
        if (i + 1 < a.y.size() && a.t[i + 1] <= t) ++i;
        else if (j + 1 < b.y.size() && b.t[j + 1] <= t) ++j;
    }
    const double span = to - from;
    out.rms = std::sqrt(out.rms / span), out.rectified /= span, out.mean /= span;
    for (const auto& x : c) out.harmonics.push_back(std::abs(x) * std::sqrt(2.0) / span);
    return out;
}

DriveSettings settings(Modulation m, double carrier = 20000) {
    DriveSettings s = sunshaft::test::told();
    s.modulation = m;
    s.carrier = carrier;
    return s;
}

Figures line(const DriveSettings& s, double f, double amplitude, int count = 1, double from = 0.2, double to = 0.4) {
    const auto l = legs(s, {true, f, amplitude}, to);
    return pair(l[0], l[1], from, to, std::abs(f), count);
}

}  // namespace

TEST_CASE("six steps of 180 degrees: rms, mean and harmonics 1/n at 6k +- 1, nothing else") {
    // N. Mohan, T. Undeland, W. Robbins, "Power Electronics", 3rd ed. 2003, ch. 8.
    for (const double f : {50.0, -50.0, 7.0}) {
        const Figures v = line(settings(Modulation::six_step_180), f, 1.0, 25, 2.0, 3.0);
        INFO(f << " Hz");
        CHECK(v.rms == approx(std::sqrt(2.0 / 3)).epsilon(1e-9));
        CHECK(v.rectified == approx(2.0 / 3).epsilon(1e-9));
        for (int n = 1; n <= 25; ++n) {
            const bool there = n % 6 == 1 || n % 6 == 5;
            CHECK(v.harmonics[static_cast<std::size_t>(n) - 1] ==
                  approx(there ? std::sqrt(6.0) / (pi * n) : 0.0).margin(1e-9));
        }
    }
}

TEST_CASE("six steps follow one another the way the frequency says") {
    for (const double f : {50.0, -50.0}) {
        const auto l = legs(settings(Modulation::six_step_180), {true, f, 1.0}, 0.2);
        // Rising edges of v after those of u: a third of a turn later, or two thirds when turning backwards.
        const auto rise = [&](std::size_t k) {
            for (std::size_t n = 1; n < l[k].y.size(); ++n)
                if (l[k].t[n] > 0.1 && l[k].y[n] > 0.5 && l[k].y[n - 1] < 0.5) return l[k].t[n];
            return 0.0;
        };
        const double lag = std::fmod(rise(1) - rise(0) + 0.04, 0.02);
        CHECK(lag == approx(f > 0 ? 0.02 / 3 : 0.04 / 3).epsilon(1e-6));
    }
}

TEST_CASE("chopped six steps: the fundamental goes with the amplitude") {
    for (const double a : {0.25, 0.5, 0.9}) {
        const Figures v = line(settings(Modulation::six_step_180, 30000), 50, a);
        CHECK(v.harmonics[0] == approx(a * std::sqrt(6.0) / pi).epsilon(2e-3));
        CHECK(v.rms == approx(std::sqrt(a * 2.0 / 3)).epsilon(2e-3));
    }
}

TEST_CASE("sine-triangle by natural sampling: fundamental, rms and rectified mean of the line-line voltage") {
    // D. G. Holmes, T. A. Lipo, "Pulse Width Modulation for Power Converters", 2003, ch. 3 and 5: fundamental m sqrt 3
    // / (2 sqrt 2), rms sqrt(sqrt 3 m / pi), mean |v| sqrt 3 m / pi at a high ratio of frequencies; unchanged with a
    // zero-sequence offset. The ratio is a multiple of three: the legs are then the same wave a third apart, and pairs
    // have no mean.
    for (const Modulation m : {Modulation::sine_triangle, Modulation::third_harmonic, Modulation::space_vector})
        for (const double a : {0.2, 0.6, 1.0, 1.15}) {
            if (a > 1 && m == Modulation::sine_triangle) continue;
            const Figures v = line(settings(m, 21000), 50, a, 5);
            INFO("modulation " << static_cast<int>(m) << ", index " << a);
            CHECK(v.harmonics[0] == approx(std::sqrt(3.0) / (2 * std::sqrt(2.0)) * a).epsilon(2e-4));
            CHECK(v.rms == approx(std::sqrt(std::sqrt(3.0) * a / pi)).epsilon(1e-3));
            CHECK(v.rectified == approx(std::sqrt(3.0) * a / pi).epsilon(1e-3));
            for (const std::size_t n : {1, 2, 3, 4}) CHECK(v.harmonics[n] < 2e-4);  // no low harmonics
            CHECK(std::abs(v.mean) < 1e-6);
        }
}

TEST_CASE("natural sampling: side bands of the carrier") {
    // A leg by double Fourier series (Holmes and Lipo, eq. 3.39): at carrier multiple m and base-band index n the
    // amplitude over the link is 2/(m pi) J_n(m pi M / 2) sin((m + n) pi / 2). Line to line: the difference of two
    // such.
    const double M = 0.8, f = 50, fc = 2100;  // 42: both even, so that the carrier falls on a harmonic
    DriveSettings s = settings(Modulation::sine_triangle, fc);
    const Figures v = line(s, f, M, 100);
    for (const int n : {-2, 2, -4, 4, -1, 1, 0}) {
        const double leg = 2 / pi * std::cyl_bessel_j(std::abs(n), pi * M / 2) * std::abs(std::sin((1 + n) * pi / 2));
        const double expected = leg * 2 * std::abs(std::sin(n * pi / 3)) / std::sqrt(2.0);
        CHECK(v.harmonics[static_cast<std::size_t>(42 + n) - 1] == approx(expected).margin(1e-3));
    }
    for (const int n : {-1, 1, -5, 5}) {  // about twice the carrier
        const double leg = 2 / (2 * pi) * std::cyl_bessel_j(std::abs(n), pi * M) * std::abs(std::sin((2 + n) * pi / 2));
        CHECK(v.harmonics[static_cast<std::size_t>(84 + n) - 1] ==
              approx(leg * 2 * std::abs(std::sin(n * pi / 3)) / std::sqrt(2.0)).margin(1e-3));
    }
}

TEST_CASE("crossings lie where reference and carrier meet") {
    for (const Modulation m : {Modulation::sine_triangle, Modulation::third_harmonic, Modulation::space_vector})
        for (const double fc : {450.0, 3000.0, 8000.0}) {
            DriveSettings s = settings(m, fc);
            ModulatorState state;
            Window w;
            const double f = 50, a = 0.9;
            double worst = 0;
            int crossings = 0;
            for (double t = 0; t < 0.1; t = w.end) {
                next_window(s, state, t, {true, f, a}, {}, w);
                for (int n = 0; n < w.count; ++n) {
                    const Edge& e = w.edges[static_cast<std::size_t>(n)];
                    if (e.t == 0.0) continue;
                    std::array<double, 3> c{};
                    for (int k = 0; k < 3; ++k) c[static_cast<std::size_t>(k)] = std::cos(2 * pi * (f * e.t - k / 3.0));
                    double zero = 0;
                    if (m == Modulation::third_harmonic) zero = std::cos(6 * pi * f * e.t) / 6;
                    if (m == Modulation::space_vector)
                        zero = 0.5 * (std::max({c[0], c[1], c[2]}) + std::min({c[0], c[1], c[2]}));
                    const double phase = std::fmod(e.t * 2 * fc, 2.0);  // falling first: 1 at 0, -1 at 1, 1 at 2
                    const double triangle = phase < 1 ? 1 - 2 * phase : 2 * phase - 3;
                    worst = std::max(worst, std::abs(a * (c[static_cast<std::size_t>(e.leg)] - zero) - triangle));
                    ++crossings;
                }
            }
            INFO("modulation " << static_cast<int>(m) << ", carrier " << fc);
            CHECK(crossings > 0.95 * 0.1 * 6 * fc);
            CHECK(worst < 2e-6);
        }
}

TEST_CASE("over-modulation ends in six steps") {
    double before = 0;
    for (const double a : {1.0, 1.3, 2.0, 4.0, 1000.0}) {
        const Figures v = line(settings(Modulation::sine_triangle, 6000), 50, a);
        CHECK(v.harmonics[0] > before);
        before = v.harmonics[0];
    }
    CHECK(before == approx(std::sqrt(6.0) / pi).epsilon(2e-3));
}

TEST_CASE("dead time: never both, never shorter, and the pulse that does not fit is swallowed") {
    for (const Modulation m :
         {Modulation::sine_triangle, Modulation::space_vector, Modulation::six_step_180, Modulation::six_step_120})
        for (const double dead : {1e-6, 4e-6}) {
            DriveSettings s = settings(m, 8000);
            s.dead_time = dead;
            ModulatorState state;
            Window w;
            std::array<Gate, 3> gate{Gate::off, Gate::off, Gate::off}, conducted = gate;
            std::array<double, 3> off_since{-1, -1, -1};
            int edges = 0;
            for (double t = 0; t < 0.2; t = w.end) {
                const bool six = m == Modulation::six_step_180 || m == Modulation::six_step_120;
                next_window(s, state, t, {true, 50, six ? 0.7 : 0.97}, {}, w);
                for (int n = 0; n < w.count; ++n) {
                    const Edge& e = w.edges[static_cast<std::size_t>(n)];
                    const auto k = static_cast<std::size_t>(e.leg);
                    if (e.gate == Gate::off) {
                        if (gate[k] != Gate::off) off_since[k] = e.t;
                    } else {
                        REQUIRE(gate[k] == Gate::off);  // through off, always
                        if (conducted[k] != e.gate && conducted[k] != Gate::off)
                            REQUIRE(e.t - off_since[k] >= dead * (1 - 1e-6));
                        conducted[k] = e.gate;
                    }
                    gate[k] = e.gate;
                    ++edges;
                }
            }
            CHECK(edges > 100);
        }
}

TEST_CASE("120 degrees: each leg a third up, a third down, a third floating; the upper one is chopped") {
    DriveSettings s = settings(Modulation::six_step_120, 20000);
    for (const double duty : {1.0, 0.5}) {
        const auto l = legs(s, {true, 50, duty}, 0.4);
        double up = 0, down = 0;
        for (std::size_t n = 0; n + 1 < l[0].t.size(); ++n) {
            const double dt = std::max(0.0, l[0].t[n + 1] - std::max(0.2, l[0].t[n]));
            if (l[0].y[n] == 1.0) up += dt;
            if (l[0].y[n] == 0.0) down += dt;
        }
        CHECK(up / 0.2 == approx(duty / 3).epsilon(0.01));
        CHECK(down / 0.2 == approx(1.0 / 3).epsilon(0.01));
    }
}

TEST_CASE("a rotor that is followed is commutated once a sixth of its turn, at any change of speed") {
    DriveSettings s = settings(Modulation::six_step_120);
    ModulatorState state;
    Window w;
    double t = 0, angle = 0.3, speed = 40, acceleration = 900;
    int changes = 0;
    std::array<Gate, 3> gate{};
    const auto at = [&](double time) { return angle + speed * time + 0.5 * acceleration * time * time; };
    double worst = 0;
    while (t < 0.5) {
        next_window(s, state, t, {true, 0, 1.0}, {true, at(t), speed + acceleration * t}, w);
        bool changed = false;
        for (int n = 0; n < w.count; ++n) {
            const Edge& e = w.edges[static_cast<std::size_t>(n)];
            const auto k = static_cast<std::size_t>(e.leg);
            changed = changed || gate[k] != e.gate;
            gate[k] = e.gate;
            CHECK(e.t == t);
        }
        if (changed && t > 0) {
            ++changes;
            const double sixths = (at(t) + pi / 2) / (pi / 3);
            worst = std::max(worst, std::abs(sixths - std::round(sixths)) * 60);
        }
        t = w.end;
    }
    CHECK(changes == static_cast<int>((at(0.5) + pi / 2) / (pi / 3)) - static_cast<int>((angle + pi / 2) / (pi / 3)));
    CHECK(worst < 1.0);  // degrees
}

TEST_CASE("no command: all gates off") {
    DriveSettings s = settings(Modulation::sine_triangle, 8000);
    s.dead_time = 1e-6;
    ModulatorState state;
    Window w;
    next_window(s, state, 0.0, {true, 50, 0.9}, {}, w);
    next_window(s, state, w.end, {}, {}, w);
    std::array<Gate, 3> gate{Gate::upper, Gate::upper, Gate::upper};
    for (int n = 0; n < w.count; ++n)
        gate[static_cast<std::size_t>(w.edges[static_cast<std::size_t>(n)].leg)] =
            w.edges[static_cast<std::size_t>(n)].gate;
    CHECK(gate == Gates{Gate::off, Gate::off, Gate::off});
}
