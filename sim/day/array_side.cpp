#include "day/array_side.hpp"

#include <algorithm>
#include <cmath>

#include "circuit/circuit.hpp"
#include "day/linear.hpp"
#include "site/source_curve.hpp"
#include "site/wiring.hpp"

namespace sunshaft::day {
namespace {

constexpr double first_light = 12.5;  // W/m2 at node 0
constexpr double warmth_step = 25.0;  // K
constexpr double leaking_ohm = 1e6;   // below, current by earth counts

// Places at which the array is tied to metal or earth so that current may flow.
int ties(const site::Array& a) {
    int count = 0;
    for (const site::String& s : a.strings)
        for (const double ohm : s.earth_ohm) count += ohm < leaking_ohm;
    for (const double ohm : {a.leak_plus_ohm, a.leak_minus_ohm, a.arrester.plus_ohm, a.arrester.minus_ohm})
        count += ohm < leaking_ohm;
    return count;
}

bool same(const solar::SubString& a, const solar::SubString& b) {
    return a.cells.IL == b.cells.IL && a.cells.Rs == b.cells.Rs && a.cells.Rsh == b.cells.Rsh && a.bypass == b.bypass &&
           a.cells.I0 == b.cells.I0 && a.cells.a == b.cells.a && a.dark_cells == b.dark_cells &&
           a.lit_cells == b.lit_cells && a.dark.IL == b.dark.IL && a.breakdown.volt == b.breakdown.volt;
}

// The diode beside a string's fuse (site/wiring.cpp): V it takes at a current.
double blocking_V(double i) {
    constexpr double drop = 0.5, rated = 8.0, series = 5e-3, vt = 0.03;
    static const double saturation = rated / std::expm1((drop - series * rated) / vt);
    return series * i + vt * std::log1p(i / saturation);
}

// Sub-strings that carry the same current, alike ones counted.
struct Chained {
    struct Part {
        solar::SubString what;
        double times;  // negative: turned round
    };
    std::vector<Part> parts;
    double ohm = 0.0;
    bool diode = false;  // lets no current back

    void add(const solar::SubString& what, double times) {
        for (Part& p : parts)
            if (same(p.what, what) && (p.times > 0) == (times > 0)) return void(p.times += times);
        parts.push_back({what, times});
    }
    double voltage(double i) const {
        double v = -i * ohm;
        for (const Part& p : parts)
            v += p.times > 0 ? p.times * solar::voltage(p.what, i) : p.times * solar::voltage(p.what, -i);
        return v;
    }
};

void add_module(const site::Array& array, const site::Module& module, Chained& to) {
    for (int k = 0; k < 3; ++k) to.add(site::sub_string(array, module, k), module.reversed ? -1.0 : 1.0);
}

std::vector<Chained> chains(const site::Works& w) {
    std::vector<Chained> list;
    for (const site::String& s : w.array.strings) {
        const double fuse = s.through_fuse();
        if (s.blocking == site::BlockingDiode::open || !std::isfinite(fuse)) continue;
        const bool diode = s.blocking == site::BlockingDiode::good;
        if (s.parallel) {
            for (std::size_t m = 0; m < s.modules.size(); ++m) {
                Chained one{.parts = {}, .ohm = s.joints[m].through() + s.joints.back().ohm, .diode = diode};
                if (!std::isfinite(one.ohm)) continue;
                add_module(w.array, s.modules[m], one);
                list.push_back(one);
            }
            continue;
        }
        Chained all{.parts = {}, .ohm = fuse, .diode = diode};
        for (const site::Joint& j : s.joints) all.ohm += j.through();
        if (!std::isfinite(all.ohm)) continue;
        for (const site::Module& m : s.modules) add_module(w.array, m, all);
        if (s.reversed)
            for (Chained::Part& p : all.parts) p.times = -p.times;
        list.push_back(all);
    }
    return list;
}

// A chain's voltages at currents that crowd where its parts' knees are; falling in v.
struct Sweep {
    std::vector<double> i, v;
    Sweep(const Chained& c, double most_A) {
        std::vector<double> lights;
        for (const Chained::Part& p : c.parts) {
            lights.push_back(p.what.cells.IL);
            if (p.what.dark_cells > 0) lights.push_back(p.what.dark.IL);
        }
        std::sort(lights.begin(), lights.end());
        lights.erase(std::unique(lights.begin(), lights.end(), [](double a, double b) { return b - a < 0.002 * b; }),
                     lights.end());
        if (lights.size() > 6) {  // a spread of lights: even steps see to it
            lights.clear();
        }
        constexpr int even = 48, knee = 28;
        for (int n = 0; n <= even; ++n) i.push_back(1.02 * most_A * n / even);
        for (const double light : lights)
            for (int n = 0; n <= knee; ++n) i.push_back(light * (0.80 + 0.22 * n / knee));
        // Back into it from its neighbours.
        if (!c.diode)
            for (const double back : {-0.02, -0.1, -0.3, -1.0, -3.0}) i.push_back(back * most_A);
        std::sort(i.begin(), i.end());
        for (const double x : i) v.push_back(c.voltage(x) - (c.diode ? blocking_V(x) : 0.0));
    }
    double current(double volt) const {
        if (volt >= v.front()) return v[0] > v[1] ? i[0] + (volt - v[0]) * (i[1] - i[0]) / (v[1] - v[0]) : i[0];
        if (volt <= v.back()) return i.back();
        const auto below = std::lower_bound(v.begin(), v.end(), volt, std::greater<>());
        const auto k = static_cast<std::size_t>(below - v.begin());
        const double width = v[k] - v[k - 1];
        return width < 0.0 ? i[k - 1] + (volt - v[k - 1]) * (i[k] - i[k - 1]) / width : i[k];
    }
};

double run_ohm(const site::Array& a) {
    double ohm = 0.0;
    for (const site::Joint* j : {&a.plus.run, &a.plus.contact, &a.dc_plus, &a.minus.run, &a.minus.contact, &a.dc_minus})
        ohm += j->through();
    return ohm;
}

// A curve from samples of link voltage (rising), current (falling) and loss.
Curve curve_of(const std::vector<double>& v, const std::vector<double>& i, const std::vector<double>& lost) {
    Curve c;
    // Asked for in rising order.
    std::size_t k = 1;
    const auto at = [&](const std::vector<double>& y, double x) {
        while (k + 1 < v.size() && v[k] <= x) ++k;
        const double width = v[k] - v[k - 1];
        return width > 0.0 ? y[k - 1] + (x - v[k - 1]) * (y[k] - y[k - 1]) / width : y[k];
    };
    for (std::size_t n = 0; n + 1 < v.size(); ++n)
        if (v[n + 1] > 0.0 && i[n] > 0.0 && i[n + 1] <= 0.0)
            c.open_V = v[n] + (v[n + 1] - v[n]) * i[n] / (i[n] - i[n + 1]);
    if (!(c.open_V > 0.0) || v.size() < 3) return {};
    c.short_A = at(i, 0.0);
    if (!(c.short_A > 0.0)) return {};
    for (std::size_t n = 0; n < Curve::count; ++n) {
        const double x = c.open_V * static_cast<double>(n) / static_cast<double>(Curve::count - 1);
        c.share[n] = at(i, x) / c.short_A;
        c.lost[n] = at(lost, x) / (c.open_V * c.short_A);
    }
    c.share.back() = 0.0;
    return c;
}

}  // namespace

double Curve::at(const std::array<double, count>& y, double v) const {
    if (!(open_V > 0.0)) return 0.0;
    const double x = std::clamp(v / open_V, 0.0, 1.0) * static_cast<double>(count - 1);
    const auto k = std::min(static_cast<std::size_t>(x), count - 2);
    return y[k] + (x - static_cast<double>(k)) * (y[k + 1] - y[k]);
}

double Curve::current(double v) const { return v < open_V ? short_A * at(share, v) : 0.0; }
double Curve::run_loss(double v) const { return open_V * short_A * at(lost, v); }

double Curve::climb(double from, double low, double high) const {
    if (!(open_V > 0.0)) return 0.0;
    low = std::clamp(low, 0.0, open_V);
    high = std::clamp(high, low, open_V);
    const double step = open_V / static_cast<double>(count - 1);
    double v = std::clamp(from, low, high), p = power(v);
    for (const double way : {-step, step}) {
        for (;;) {
            const double next = std::clamp(v + way, low, high), q = power(next);
            if (!(q > p) || next == v) break;
            v = next, p = q;
        }
    }
    // The top of the parabola through it and its neighbours.
    const double a = power(v - step), b = power(v + step), bend = a - 2 * p + b;
    if (bend < 0.0) v += std::clamp(0.5 * step * (a - b) / bend, -step, step);
    return std::clamp(v, low, high);
}

ArraySide::ArraySide(const site::Works& works) : works_(works) {
    network_ = ties(works.array) > 1 || !works.loads.empty();
    // Such nodes of light are near enough, unless contacts or a thin run bend the curve's shape as the current grows.
    for (const Chained& c : chains(works)) {
        double volt = 0.0, ampere = 0.0;
        for (const Chained::Part& p : c.parts) {
            volt += std::abs(p.times) * solar::voltage(p.what, 0.0);
            ampere = std::max(ampere, p.what.cells.IL);
        }
        const double run = run_ohm(works.array), all = static_cast<double>(works.array.strings.size());
        if ((c.ohm + (std::isfinite(run) ? run * all : 0.0)) * ampere > 0.03 * volt) ratio_ = std::cbrt(2.0);
    }
}

Curve ArraySide::summed(const site::Works& w) const {
    const site::Array& a = w.array;
    if (a.swapped || a.shorted || !(a.sunlight() > 0.0)) return {};
    const std::vector<Chained> list = chains(w);
    if (list.empty()) return {};
    double most_A = 0.0, most_V = 0.0;
    for (const Chained& c : list) {
        double light = 0.0;
        for (const Chained::Part& p : c.parts) light = std::max(light, p.what.cells.IL);
        most_A = std::max(most_A, light);
        most_V = std::max(most_V, c.voltage(0.0));
    }
    if (!(most_V > 0.0)) return {};
    std::vector<Sweep> sweeps;
    std::vector<const Chained*> of;
    std::vector<double> times;
    for (const Chained& c : list) {
        const auto alike = std::find_if(of.begin(), of.end(), [&c](const Chained* o) {
            return o->ohm == c.ohm && o->diode == c.diode && o->parts.size() == c.parts.size() &&
                   std::equal(o->parts.begin(), o->parts.end(), c.parts.begin(),
                              [](const auto& x, const auto& y) { return same(x.what, y.what) && x.times == y.times; });
        });
        if (alike != of.end()) {
            ++times[static_cast<std::size_t>(alike - of.begin())];
            continue;
        }
        of.push_back(&c);
        times.push_back(1.0);
        sweeps.emplace_back(c, most_A);
    }
    const double ohm = run_ohm(a), across = 1 / a.leak_plus_ohm + 1 / a.leak_minus_ohm > 0.0
                                                ? 1 / (a.leak_plus_ohm + a.leak_minus_ohm)
                                                : 0.0;
    std::vector<double> v, i, lost;
    constexpr int samples = 480;
    // From where the run takes all of it to above open circuit.
    const double bottom = -0.02 * most_V, top = 1.02 * most_V + 1.0;
    for (int n = 0; n <= samples; ++n) {
        const double volt = bottom + (top - bottom) * n / samples;
        double amp = -volt * across, in_strings = 0.0;
        for (std::size_t k = 0; k < sweeps.size(); ++k) {
            const double x = sweeps[k].current(volt);
            amp += times[k] * x;
            in_strings += times[k] * x * x * of[k]->ohm;
        }
        if (!std::isfinite(ohm)) amp = 0.0;
        const double link = volt - (std::isfinite(ohm) ? amp * ohm : 0.0);
        if (!v.empty() && link <= v.back()) continue;
        v.push_back(link);
        i.push_back(amp);
        lost.push_back(amp * amp * (std::isfinite(ohm) ? ohm : 0.0) + in_strings);
    }
    return curve_of(v, i, lost);
}

Curve ArraySide::node(double irradiance, double cell_degC) const {
    site::Works w = works_;
    w.array.irradiance = irradiance;
    w.array.module_degC = cell_degC;
    if (!network_) return summed(w);
    const site::SourceCurve solved = site::source_curve(w);
    std::vector<double> v, i, lost;
    for (std::size_t k = 0; k < solved.grid().size(); ++k) {
        v.push_back(solved.grid()[k]);
        i.push_back(solved.currents()[k]);
        lost.push_back(solved.run_loss(v.back()));
    }
    return curve_of(v, i, lost);
}

const Curve& ArraySide::kept(int light, int warmth) {
    const auto [found, fresh] = nodes_.try_emplace({light, warmth});
    if (fresh) found->second = node(first_light * std::pow(ratio_, light), warmth_step * warmth);
    return found->second;
}

Curve ArraySide::at(double irradiance, double cell_degC) {
    if (!(irradiance > 1.0)) return {};
    const double l = std::log(irradiance / first_light) / std::log(ratio_), t = cell_degC / warmth_step;
    const int l1 = static_cast<int>(std::lround(l)), t1 = static_cast<int>(std::lround(t));
    // The shape goes with what series resistance takes, which follows the light, and where that is little with the
    // logarithm: a parabola in the root of the light is right for the one and nearly for the other.
    const double half = std::sqrt(ratio_);
    const std::array<double, 3> in_l = three(l - l1, -1, 1), in_t = three(t - t1, -1, 1),
                                in_light = three(std::pow(half, l - l1) - 1, 1 / half - 1, half - 1);
    Curve out;
    double per_light = 0.0;
    for (std::size_t a = 0; a < 3; ++a)
        for (std::size_t b = 0; b < 3; ++b) {
            const int light = l1 - 1 + static_cast<int>(a);
            const double weight = in_l[a] * in_t[b], shape = in_light[a] * in_t[b];
            if (weight == 0.0 && shape == 0.0) continue;
            const Curve& c = kept(light, t1 - 1 + static_cast<int>(b));
            out.open_V += weight * c.open_V;
            per_light += weight * c.short_A / (first_light * std::pow(ratio_, light));
            for (std::size_t k = 0; k < Curve::count; ++k) {
                out.share[k] += shape * c.share[k];
                out.lost[k] += shape * c.lost[k];
            }
        }
    out.short_A = per_light * irradiance;
    if (!(out.short_A > 0.0)) return {};
    return out;
}

}  // namespace sunshaft::day
