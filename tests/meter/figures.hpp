// Every figure of a wave's reading found again by another way: from the wave's harmonics times gains written out by
// hand, and a dense sampling of the wave put together from them. And what holds of every reading's sentences.
#pragma once

#include <algorithm>
#include <cmath>
#include <complex>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include "catch_shim.hpp"
#include "meter/reading.hpp"
#include "meter/sources.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::test::figures {

using namespace sunshaft::meter;

using std::numbers::pi;
using C = std::complex<double>;

struct Sampled {
    double mean, rms, rectified, peak;
};

inline constexpr std::size_t points = 1 << 17;

// exp(2 pi i k / points), once for all.
inline const std::vector<C>& turns() {
    static const std::vector<C> all = [] {
        std::vector<C> list(points);
        for (std::size_t k = 0; k < points; ++k)
            list[k] = std::polar(1.0, 2 * pi * static_cast<double>(k) / static_cast<double>(points));
        return list;
    }();
    return all;
}

// Sum of c[k] exp(2 pi i k m / n), n a power of two up to `points`, by halving.
inline void synthesise(std::vector<C>& c) {
    const std::size_t n = c.size();
    if (n == 1) return;
    std::vector<C> even(n / 2), odd(n / 2);
    for (std::size_t k = 0; k < n / 2; ++k) {
        even[k] = c[2 * k];
        odd[k] = c[2 * k + 1];
    }
    synthesise(even);
    synthesise(odd);
    const std::vector<C>& turn = turns();
    for (std::size_t k = 0; k < n / 2; ++k) {
        const C turned = turn[k * (points / n)] * odd[k];
        c[k] = even[k] + turned;
        c[k + n / 2] = even[k] - turned;
    }
}

// One period of the wave behind a gain, put together from its harmonics.
template <class Gain>
std::vector<double> wave_behind(double mean, const std::vector<C>& c, double f, Gain gain) {
    std::vector<C> z(points, 0.0);
    z[0] = mean * std::abs(gain(0.0));
    for (std::size_t k = 0; k < c.size(); ++k)
        z[k + 1] = std::numbers::sqrt2 * c[k] * gain(f * static_cast<double>(k + 1));
    synthesise(z);
    std::vector<double> y;
    for (const C& v : z) y.push_back(v.real());
    return y;
}

// One period of the wave itself.
inline std::vector<double> samples(const trace::Trace& w, double less) {
    std::vector<double> y;
    std::size_t at = 0;
    for (std::size_t k = 0; k < points; ++k) {
        const double t = trace::start(w) + trace::duration(w) * static_cast<double>(k) / static_cast<double>(points);
        while (at + 1 < w.size() && w[at].t1 <= t) ++at;
        y.push_back(w[at].y0 + (w[at].y1 - w[at].y0) * (t - w[at].t0) / (w[at].t1 - w[at].t0) - less);
    }
    return y;
}

inline Sampled sampled(const std::vector<double>& wave) {
    Sampled s{0, 0, 0, 0};
    for (double y : wave) {
        s.mean += y / static_cast<double>(points);
        s.rms += y * y / static_cast<double>(points);
        s.rectified += std::fabs(y) / static_cast<double>(points);
        s.peak = std::max(s.peak, std::fabs(y));
    }
    s.rms = std::sqrt(s.rms);
    return s;
}

inline C high_pass(double f, double corner) { return corner > 0.0 ? C(0, f) / C(corner, f) : C(1.0); }
inline C low_pass(double f, double corner, int order) {
    if (corner <= 0.0) return 1.0;
    const C s(0, f / corner);
    if (order == 1) return 1.0 / (1.0 + s);
    REQUIRE(order == 2);
    return 1.0 / (1.0 + std::numbers::sqrt2 * s + s * s);
}

// Line of the accuracy table, by hand.
inline double tolerance_of(const Function& fn, double value, double range, double resolution, double f) {
    for (const Accuracy& a : fn.accuracy)
        if ((a.range == 0.0 || a.range == range) && a.from_Hz <= f && f <= a.to_Hz)
            return a.percent / 100 * value + a.counts * resolution + a.percent_of_range / 100 * range;
    for (const Accuracy& a : fn.accuracy)
        if (a.range == 0.0 || a.range == range)
            return a.percent / 100 * value + a.counts * resolution + a.percent_of_range / 100 * range;
    return -1;
}

inline std::map<std::string, double> expected_figures(const Spec& m, Mode mode, const trace::Trace& w,
                                                      const Context& ctx, const Reading& r, const std::vector<C>& c) {
    const Function& fn = m.function(mode);
    const double f = ctx.fundamental_Hz.value_or(1.0 / trace::duration(w));  // nothing alternates: any will do
    const double K = pi / (2 * std::numbers::sqrt2);
    const double mean = std::abs(trace::statistics(w).mean) < 1e-9 ? 0.0 : trace::statistics(w).mean;
    const auto coupled = [&](double x) { return high_pass(x, fn.coupling_Hz); };
    const auto banded = [&](double x) { return coupled(x) * low_pass(x, fn.bandwidth_Hz, fn.bandwidth_order); };
    const auto out = [&](double x) { return banded(x) * low_pass(x, fn.lowpass_Hz, fn.lowpass_order); };
    // Behind the coupling: the wave less its slow part, since that keeps the edges as they are.
    std::vector<double> behind_coupling = samples(w, fn.coupling_Hz > 0.0 ? mean : 0.0);
    if (fn.coupling_Hz > 0.0) {
        const auto slow = wave_behind(0.0, c, f, [&](double x) { return 1.0 - high_pass(x, fn.coupling_Hz); });
        for (std::size_t k = 0; k < points; ++k) behind_coupling[k] -= slow[k];
    }
    const Sampled raw = sampled(samples(w, 0.0)), ac = sampled(samples(w, mean)), s1 = sampled(behind_coupling),
                  s2 = fn.bandwidth_Hz > 0.0 ? sampled(wave_behind(mean, c, f, banded)) : s1,
                  s3 = fn.lowpass_Hz > 0.0 ? sampled(wave_behind(mean, c, f, out)) : s2;
    const auto shipped = [&](const char* name, Mode its) {
        const Function other = find_spec(name).function(its);
        return sampled(wave_behind(0.0, c, f, [&](double x) {
            return x == 0.0 ? C(0.0)
                            : high_pass(x, other.coupling_Hz) * low_pass(x, other.bandwidth_Hz, other.bandwidth_order) *
                                  low_pass(x, other.lowpass_Hz, other.lowpass_order);
        }));
    };
    const bool average = fn.detector == Detector::average, blocked = fn.coupling_Hz > 0.0;
    const double value = fn.detector == Detector::mean ? s3.mean : average ? K * s3.rectified : s3.rms;
    const double ideal = blocked ? ac.rms : raw.rms, rectified = blocked ? ac.rectified : raw.rectified,
                 fundamental = c.empty() ? 0.0 : std::abs(c[0]);
    const double behind = average ? K * s3.rectified : s3.rms, before = average ? K * s2.rectified : s2.rms;
    const double step = r.resolution;
    std::map<std::string, double> e{
        {"shown", step * std::round(value / step)},
        {"tolerance",
         tolerance_of(fn, std::fabs(value), r.range.value(), step, fn.detector == Detector::mean ? 50 : f) +
             (mode == Mode::dca ? fn.zero_drift_A : 0)},
        {"true_rms_ac", ac.rms},
        {"true_rms", raw.rms},
        {"mean", mean},
        {"reading_off", std::fabs(value / ideal - 1)},
        {"reading", value},
        {"range", r.range.value()},
        {"rectified_mean_seen", s3.rectified},
        {"sine_form_factor", K},
        {"form_factor", ideal / rectified},
        {"form_error", std::fabs(K * rectified / ideal - 1)},
        {"bandwidth_Hz", fn.bandwidth_Hz},
        {"bandwidth_effect", std::fabs(s3.rectified / s1.rectified - 1)},
        {"bandwidth_loss", std::fabs(s2.rms / s1.rms - 1)},
        {"lowpass_Hz", fn.lowpass_Hz},
        {"before_low_pass", before},
        {"behind_low_pass", behind},
        {"low_pass_off", std::fabs(behind / fundamental - 1)},
        {"fundamental_rms", fundamental},
        {"fundamental_Hz", f},
        {"coupling_Hz", fn.coupling_Hz},
        {"coupling_gain", std::abs(coupled(f))},
        {"coupling_loss", std::fabs(s1.rms / ac.rms - 1)},
        {"coupling_effect", std::fabs(s1.rectified / rectified - 1)},
        {"meter_ohm", fn.resistance_ohm},
        {"fundamental_off", std::fabs(value / fundamental - 1)},
        {"peak", std::max(trace::statistics(w).max, -trace::statistics(w).min)},
        {"ripple", ac.rms / std::fabs(mean)},
        {"zero_drift", fn.zero_drift_A},
        {"drift_share", fn.zero_drift_A / std::fabs(value)},
        {"voltage_present", std::max(std::fabs(mean), raw.rms)},
        {"category_V", m.category_V},
        {"update_interval", 1 / m.update_per_s},
    };
    // Other meters are asked only where the reading speaks of them.
    const auto told = [&](const char* name) {
        return std::ranges::any_of(r.figures, [&](const Figure& figure) { return figure.name == name; });
    };
    if (told("average_reading"))
        e["average_reading"] =
            K *
            shipped(takes_clamp(mode) ? "clamp-ac" : "average", takes_clamp(mode) ? Mode::aca : Mode::acv).rectified;
    if (told("low_pass_reading")) e["low_pass_reading"] = shipped("true-rms-drive", Mode::acv_lowpass).rms;
    if (ctx.carrier_Hz) e["carrier_Hz"] = *ctx.carrier_Hz;
    if (ctx.falls_V_per_s) e["falls_in_a_second"] = *ctx.falls_V_per_s;
    if (ctx.link_V) {
        e["link_V"] = *ctx.link_V;
        e["link_ratio"] = value / *ctx.link_V;
    }
    if (ctx.source_ohm) {
        e["source_ohm"] = *ctx.source_ohm;
        e["unloaded_ratio"] = 1 + *ctx.source_ohm / fn.resistance_ohm;
    }
    return e;
}

// All numbers of a sentence stand where a figure is named, as the figure's text, and have a source that can be shown.
// `places`: names with numbers of their own.
inline void check_named(const Reading& r, const std::vector<std::string>& places = {}) {
    for (const bool warning : {false, true}) {
        const auto& sentences = warning ? r.warnings : r.reasons;
        for (std::size_t n = 0; n < sentences.size(); ++n) {
            std::string rest = sentences[n];
            INFO(rest);
            for (auto it = r.named.rbegin(); it != r.named.rend(); ++it) {
                if (it->warning != warning || it->sentence != n) continue;
                REQUIRE(it->figure < r.figures.size());
                const Figure& f = r.figures[it->figure];
                REQUIRE(it->at + it->length <= rest.size());
                CHECK(sentences[n].substr(it->at, it->length) == f.text);
                rest.replace(it->at, it->length, "#");
                const Source* source = source_of(f.name);
                INFO(f.name << " = " << f.text);
                REQUIRE(source);
                // Something lights up: a stage, or a part of the drawing. A standard alone has no place in either.
                CHECK((!stage_of(*source, r).empty() || source->part != Part::none || !source->standard.empty()));
                CHECK((source->site_key.empty() || source->part != Part::none));
            }
            for (const std::string& place : places)
                for (std::size_t at; !place.empty() && (at = rest.find(place)) != std::string::npos;)
                    rest.erase(at, place.size());
            if (const std::size_t at = rest.find("IEEE 43"); at != std::string::npos) rest.erase(at, 7);
            INFO("left over: " << rest);
            CHECK(rest.find_first_of("0123456789") == std::string::npos);
        }
    }
}

inline void check_reading(const Reading& r) {
    CHECK(r.reasons.size() >= 2);
    CHECK(r.reasons.size() <= 5);
    check_named(r);
    for (const auto* list : {&r.reasons, &r.warnings, &r.cautions})
        for (const auto& s : *list) {
            CHECK(s.find("nan") == std::string::npos);
            CHECK(s.find("inf ") == std::string::npos);
            CHECK(s.find("  ") == std::string::npos);
        }
    // low or high: as the sentence says
    for (const auto& s : r.reasons) {
        const std::size_t so = s.find("so it reads ");
        if (so == std::string::npos || !r.value || !r.truth.rms_ac) continue;
        INFO(s);
        const bool low = s.find("% low", so) != std::string::npos, high = s.find("% high", so) != std::string::npos;
        if (low) CHECK(*r.value < *r.truth.rms_ac);
        if (high) CHECK(*r.value > *r.truth.rms_ac);
        const bool right = s.find("so it reads right") == so;
        CHECK((low || high || right));
        if (!right) continue;
        // Within half a percent, and no stage beside it that says otherwise, unless they are said to cancel.
        const auto off = [&](double truth) { return std::fabs(*r.value / truth - 1.0); };
        CHECK(std::min(off(*r.truth.rms_ac), off(*r.truth.rms)) < 0.005);
        if (s.find("cancel") != std::string::npos) continue;
        for (const Figure& f : r.figures)
            if (f.name == "form_error" || f.name == "coupling_effect" || f.name == "bandwidth_effect" ||
                f.name == "coupling_loss" || f.name == "bandwidth_loss") {
                INFO(f.name << " " << f.text);
                CHECK(f.value < 0.005);
            }
    }
}

}  // namespace sunshaft::test::figures
