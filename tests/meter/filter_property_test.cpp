// Every meter chain on random pieces with jumps, against two ways that share nothing with its modes: a Fourier sum over
// the wave's harmonics, and the cascade of stages stepped densely in time.
#include <cmath>
#include <numbers>
#include <random>
#include <sstream>

#include "catch_shim.hpp"
#include "meter/filter.hpp"
#include "meter/reading.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft::trace;
using namespace sunshaft::meter;
using sunshaft::test::approx;

namespace {

using std::numbers::pi;

// A corner with its order (low-pass), or a first-order high-pass (order 0).
struct Corner {
    double Hz;
    int order;
};

struct Case {
    std::vector<Corner> corners;
    Trace wave;
    Filter filter() const {
        Filter f;
        for (const Corner& c : corners) c.order == 0 ? f.high_pass(c.Hz) : f.low_pass(c.Hz, c.order);
        return f;
    }
    std::string words() const {
        std::ostringstream out;
        for (const Corner& c : corners) out << (c.order ? "low " : "high ") << c.Hz << " Hz order " << c.order << "; ";
        out << wave.size() << " segments in " << duration(wave) << " s";
        return out.str();
    }
};

struct Dice {
    std::mt19937_64 engine;
    explicit Dice(unsigned long seed) : engine(seed) {}
    double even(double a, double b) { return std::uniform_real_distribution(a, b)(engine); }
    double log(double a, double b) { return std::exp(even(std::log(a), std::log(b))); }
    int whole(int a, int b) { return std::uniform_int_distribution(a, b)(engine); }
    bool one_in(int n) { return whole(1, n) == 1; }
};

// 2 to 40 pieces of 10 ns up to a whole turn; with and without jumps, flat and steep, and now and then a sliver of
// 1e-15 s as two signals added leave it.
Trace random_wave(Dice& dice, double T) {
    const int n = dice.whole(2, 40);
    std::vector<double> length;
    double total = 0.0;
    for (int k = 0; k < n; ++k) {
        length.push_back(dice.one_in(3) ? dice.log(1e-8, 1e-6) : dice.one_in(10) ? 1e-15 : dice.log(1e-8, T));
        total += length.back();
    }
    Trace wave;
    double t = 0.0, y = dice.even(-300, 300);
    for (int k = 0; k < n; ++k) {
        const double t1 = t + length[k] * (total > T ? T / total : 1.0);
        if (!(t1 > t)) continue;
        if (!dice.one_in(4)) y = dice.one_in(3) ? 0.0 : dice.even(-300, 300);
        const double y1 = dice.one_in(2) ? y : dice.even(-300, 300);
        wave.push_back({t, t1, y, y1});
        t = t1;
        y = y1;
    }
    if (t < T) wave.push_back({t, T, y, y});
    return wave;
}

Case random_case(unsigned long seed) {
    Dice dice(seed);
    Case c;
    const double T = dice.log(1e-5, 0.1);
    c.wave = random_wave(dice, T);
    const auto corner = [&] { return dice.log(0.1, 1e6); };
    const int poles = dice.whole(1, 4);
    switch (dice.whole(0, 3)) {
        case 0: c.corners = {{corner(), poles}}; break;
        case 1: c.corners = {{corner(), 0}, {corner(), poles}}; break;
        case 2:
            c.corners = {{dice.log(0.1, 100), 0}, {dice.log(1e3, 1e6), dice.whole(1, 2)}, {dice.log(100, 5e3), poles}};
            break;
        default: {
            const double f = corner();  // equal corners
            c.corners = {{f, dice.whole(0, 1)}, {f * (dice.one_in(2) ? 1.0 : dice.even(0.995, 1.005)), poles}};
        }
    }
    return c;
}

// Mean square behind the filter, between two bounds, from harmonics up to `count`: of what lies beyond, all or nothing
// passes as the gain there lets it.
struct Bounds {
    double low, high;
};
Bounds rms_by_fourier(const Case& c, int count) {
    const Filter f = c.filter();
    const Statistics s = statistics(c.wave);
    const double base = 1.0 / duration(c.wave);
    double passed = std::norm(s.mean * f.gain(0.0)), seen = 0.0;
    const auto h = harmonics(c.wave, base, count);
    for (std::size_t n = 1; n <= h.size(); ++n) {
        passed += std::norm(h[n - 1] * f.gain(base * static_cast<double>(n)));
        seen += std::norm(h[n - 1]);
    }
    const double rest = std::max(0.0, s.rms_ac * s.rms_ac - seen), least = std::norm(f.gain(base * count));
    const bool falls = std::any_of(c.corners.begin(), c.corners.end(), [](const Corner& x) { return x.order > 0; });
    return {std::sqrt(passed + (falls ? 0.0 : least * rest)), std::sqrt(passed + (falls ? least : 1.0) * rest)};
}

// The cascade, stage by stage, as differential equations; Runge-Kutta of fourth order in small steps.
struct Cascade {
    struct Stage {
        int kind;  // 0 high-pass, 1 low-pass, 2 pair of poles
        double w, damping;
    };
    std::vector<Stage> stages;
    std::size_t order = 0;
    double fastest = 0.0;
    explicit Cascade(const Case& c) {
        for (const Corner& k : c.corners) {
            const double w = 2 * pi * k.Hz;
            fastest = std::max(fastest, w);
            if (k.order == 0) stages.push_back({0, w, 0});
            if (k.order % 2 == 1) stages.push_back({1, w, 0});
            // Butterworth: 1/Q of its pairs, sqrt 2; 1; 2 cos 22.5 and 2 cos 67.5 degrees.
            if (k.order == 2) stages.push_back({2, w, std::numbers::sqrt2});
            if (k.order == 3) stages.push_back({2, w, 1.0});
            if (k.order == 4)
                for (double angle : {pi / 8, 3 * pi / 8}) stages.push_back({2, w, 2 * std::cos(angle)});
        }
        for (const Stage& s : stages) order += s.kind == 2 ? 2 : 1;
    }
    // Derivative of x; returns the output.
    double rate(const double* x, double u, double* dx) const {
        for (const Stage& s : stages) {
            if (s.kind == 2) {
                dx[0] = s.w * x[1];
                dx[1] = s.w * (u - x[0] - s.damping * x[1]);
                u = x[0];
                x += 2, dx += 2;
            } else {
                dx[0] = s.w * (u - x[0]);
                u = s.kind == 0 ? u - x[0] : x[0];
                ++x, ++dx;
            }
        }
        return u;
    }
    void step(std::vector<double>& x, double u0, double u1, double dt) const {
        double k1[16], k2[16], k3[16], k4[16], y[16];
        const double um = 0.5 * (u0 + u1);
        rate(x.data(), u0, k1);
        for (std::size_t i = 0; i < order; ++i) y[i] = x[i] + 0.5 * dt * k1[i];
        rate(y, um, k2);
        for (std::size_t i = 0; i < order; ++i) y[i] = x[i] + 0.5 * dt * k2[i];
        rate(y, um, k3);
        for (std::size_t i = 0; i < order; ++i) y[i] = x[i] + dt * k3[i];
        rate(y, u1, k4);
        for (std::size_t i = 0; i < order; ++i) x[i] += dt / 6 * (k1[i] + 2 * k2[i] + 2 * k3[i] + k4[i]);
    }
    int steps(double h) const { return std::max(32, static_cast<int>(std::ceil(h * fastest / 0.1))); }
    double cost(View wave) const {
        double n = 0;
        for (const Segment& s : wave) n += std::max(32.0, (s.t1 - s.t0) * fastest / 0.1);
        return n * static_cast<double>(order + 2);
    }
    // With the input `gain` times the wave; use(output before, half-way, after, dt).
    template <class Use>
    void run(View wave, double gain, std::vector<double>& x, Use use) const {
        double dx[16];
        for (const Segment& s : wave) {
            const int n = steps(s.t1 - s.t0);
            const double dt = (s.t1 - s.t0) / n, du = (s.y1 - s.y0) / n;
            for (int k = 0; k < n; ++k) {
                const double u0 = gain * (s.y0 + k * du), u1 = gain * (s.y0 + (k + 1) * du);
                const double before = rate(x.data(), u0, dx), um = 0.5 * (u0 + u1);
                step(x, u0, um, 0.5 * dt);
                const double middle = rate(x.data(), um, dx);
                step(x, um, u1, 0.5 * dt);
                use(before, middle, rate(x.data(), u1, dx), dt);
            }
        }
    }
};

struct Dense {
    double rms, rectified;
};
// Its state that comes back after one turn is solved for.
Dense by_small_steps(const Case& c) {
    const Cascade cascade(c);
    const std::size_t n = cascade.order;
    const auto nothing = [](double, double, double, double) {};
    std::vector<std::vector<double>> m(n, std::vector<double>(n + 1));  // (1 - turn) x = what the wave puts in
    for (std::size_t j = 0; j <= n; ++j) {
        std::vector<double> x(n, 0.0);
        if (j < n) x[j] = 1.0;
        cascade.run(c.wave, j < n ? 0.0 : 1.0, x, nothing);
        for (std::size_t i = 0; i < n; ++i) m[i][j] = j < n ? (i == j ? 1.0 : 0.0) - x[i] : x[i];
    }
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t pivot = k;
        for (std::size_t i = k; i < n; ++i)
            if (std::fabs(m[i][k]) > std::fabs(m[pivot][k])) pivot = i;
        std::swap(m[k], m[pivot]);
        for (std::size_t i = 0; i < n; ++i) {
            if (i == k) continue;
            const double by = m[i][k] / m[k][k];
            for (std::size_t j = k; j <= n; ++j) m[i][j] -= by * m[k][j];
        }
    }
    std::vector<double> x(n);
    for (std::size_t k = 0; k < n; ++k) x[k] = m[k][n] / m[k][k];
    double square = 0.0, rectified = 0.0;
    const auto area = [](double a, double b) {
        return a * b >= 0 ? 0.5 * std::fabs(a + b) : 0.5 * (a * a + b * b) / std::fabs(a - b);
    };
    cascade.run(c.wave, 1.0, x, [&](double a, double half, double b, double dt) {  // Simpson's rule
        square += dt * (a * a + 4 * half * half + b * b) / 6;
        rectified += a * half > 0 && half * b > 0 ? dt * std::fabs(a + 4 * half + b) / 6
                                                  : 0.5 * dt * (area(a, half) + area(half, b));
    });
    return {std::sqrt(square / duration(c.wave)), rectified / duration(c.wave)};
}

// A part in 1e4, and of what a filter holds back all but entirely a part in 1e9 of the wave: no display shows that.
constexpr double relative = 1e-4, floor_of_wave = 1e-9;

void check_filter(unsigned long seed, double dense_cost) {
    const Case c = random_case(seed);
    INFO("seed " << seed << ": " << c.words());
    REQUIRE_NOTHROW(check(c.wave));
    const Filter f = c.filter();
    const double scale = statistics(c.wave).rms, floor = floor_of_wave * scale;
    const Response r = f.respond(c.wave);
    // Harmonics until what is left cannot matter, or a limit where the bounds stay apart.
    Bounds b{};
    for (int count : {500, 5000, 50000}) {
        b = rms_by_fourier(c, count);
        if (b.high - b.low < 0.2 * relative * b.low + floor) break;
    }
    CHECK(r.rms <= b.high * (1 + relative) + floor);
    CHECK(r.rms >= b.low * (1 - relative) - floor);
    if (Cascade(c).cost(c.wave) < dense_cost) {
        const Dense d = by_small_steps(c);
        CHECK(r.rms == approx(d.rms).epsilon(relative).margin(floor));
        CHECK(r.rectified_mean == approx(d.rectified).epsilon(relative).margin(floor));
    }
    CHECK(r.rectified_mean <= r.rms * (1 + 1e-9) + floor);
    CHECK(r.min <= r.max);
    // Scale and shift.
    const Response twice = f.respond(scaled(c.wave, -2.5));
    // Poles parted by a hair lose digits where next to nothing passes: most waves keep 1e-9, two of 3,000 a few 1e-5.
    CHECK(twice.rms == approx(2.5 * r.rms).epsilon(relative).margin(floor));
    CHECK(twice.rectified_mean == approx(2.5 * r.rectified_mean).epsilon(relative).margin(floor));
    const double lift = 100.0, gain0 = std::abs(f.gain(0.0));
    const Response up = f.respond(scaled(c.wave, 1.0, lift));
    CHECK(up.mean == approx(r.mean + gain0 * lift).epsilon(1e-9).margin(1e-9 * scale));
    // rms^2 = mean^2 + what alternates, which a lift leaves alone.
    CHECK(up.rms * up.rms - up.mean * up.mean ==
          approx(r.rms * r.rms - r.mean * r.mean).epsilon(1e-7).margin(1e-9 * (scale * scale + lift * lift)));
    // A wider band passes no less: |H| rises with each low-pass corner.
    Case wider = c;
    for (Corner& k : wider.corners)
        if (k.order > 0) k.Hz *= 1.5;
    CHECK(wider.filter().respond(c.wave).rms >= r.rms * (1 - 1e-6) - floor);
}

}  // namespace

TEST_CASE("Filters on random waves: Fourier sum, dense steps, scale, shift, band") {
    for (unsigned long seed = 1; seed <= 200; ++seed) check_filter(seed, 2e5);
}

TEST_CASE("Ten thousand random waves through filters", "[.soak]") {
    for (unsigned long seed = 1000; seed < 11000; ++seed) check_filter(seed, 2e6);
}

TEST_CASE("Every shipped meter's chain on random waves, against its own data sheet's corners summed by Fourier") {
    unsigned long seed = 50000;
    for (const Spec& spec : load_specs(shipped_meters()))
        for (const auto& [mode, fn] : spec.functions) {
            if (drives_circuit(mode) || times_crossings(mode) || fn.detector != Detector::rms) continue;
            for (int k = 0; k < 8; ++k) {
                Dice dice(++seed);
                Case c;
                c.wave = random_wave(dice, dice.log(1e-3, 0.1));
                if (fn.coupling_Hz > 0.0) c.corners.push_back({fn.coupling_Hz, 0});
                if (fn.bandwidth_Hz > 0.0) c.corners.push_back({fn.bandwidth_Hz, fn.bandwidth_order});
                if (fn.lowpass_Hz > 0.0) c.corners.push_back({fn.lowpass_Hz, fn.lowpass_order});
                INFO(spec.name << ", " << mode_name(mode) << ", seed " << seed << ": " << c.words());
                Context context;
                context.fundamental_Hz = 1.0 / duration(c.wave);
                const Reading r = read(spec, mode, c.wave, context);
                if (!r.value || std::any_of(r.warnings.begin(), r.warnings.end(),
                                            [](const std::string& w) { return w.find("peak") != std::string::npos; }))
                    continue;  // over range, or its peaks cut off
                const Bounds b = rms_by_fourier(c, 20000);
                const double floor = floor_of_wave * statistics(c.wave).rms;
                CHECK(*r.value <= b.high * (1 + relative) + floor);
                CHECK(*r.value >= b.low * (1 - relative) - floor);
            }
        }
}
