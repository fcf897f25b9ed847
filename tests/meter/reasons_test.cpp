// Every number in a sentence is a named figure, and every figure of a wave's reading is found again here by
// another way: from the wave's harmonics times gains written out by hand, and a dense sampling of the wave put
// together from them.
#include <cmath>
#include <complex>
#include <map>
#include <numbers>
#include <string>

#include "catch_shim.hpp"
#include "meter/reading.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::meter;
using sunshaft::test::approx;

namespace {

constexpr double pi = std::numbers::pi;
using C = std::complex<double>;

struct Sampled {
    double mean, rms, rectified, peak;
};

constexpr std::size_t points = 1 << 15;

// Sum of c[k] exp(2 pi i k m / n), n a power of two, by halving.
void synthesise(std::vector<C>& c) {
    const std::size_t n = c.size();
    if (n == 1) return;
    std::vector<C> even(n / 2), odd(n / 2);
    for (std::size_t k = 0; k < n / 2; ++k) {
        even[k] = c[2 * k];
        odd[k] = c[2 * k + 1];
    }
    synthesise(even);
    synthesise(odd);
    for (std::size_t k = 0; k < n / 2; ++k) {
        const C turned = std::polar(1.0, 2 * pi * static_cast<double>(k) / static_cast<double>(n)) * odd[k];
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
std::vector<double> samples(const trace::Trace& w, double less) {
    std::vector<double> y;
    std::size_t at = 0;
    for (std::size_t k = 0; k < points; ++k) {
        const double t =
            trace::start(w) + trace::duration(w) * static_cast<double>(k) / static_cast<double>(points);
        while (at + 1 < w.size() && w[at].t1 <= t) ++at;
        y.push_back(w[at].y0 + (w[at].y1 - w[at].y0) * (t - w[at].t0) / (w[at].t1 - w[at].t0) - less);
    }
    return y;
}

Sampled sampled(const std::vector<double>& wave) {
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

C high_pass(double f, double corner) {
    return corner > 0.0 ? C(0, f) / C(corner, f) : C(1.0);
}
C low_pass(double f, double corner, int order) {
    if (corner <= 0.0) return 1.0;
    const C s(0, f / corner);
    if (order == 1) return 1.0 / (1.0 + s);
    REQUIRE(order == 2);
    return 1.0 / (1.0 + std::numbers::sqrt2 * s + s * s);
}

// Line of the accuracy table, by hand.
double tolerance_of(const Function& fn, double value, double range, double resolution, double f) {
    for (const Accuracy& a : fn.accuracy)
        if ((a.range == 0.0 || a.range == range) && a.from_Hz <= f && f <= a.to_Hz)
            return a.percent / 100 * value + a.counts * resolution + a.percent_of_range / 100 * range;
    for (const Accuracy& a : fn.accuracy)
        if (a.range == 0.0 || a.range == range)
            return a.percent / 100 * value + a.counts * resolution + a.percent_of_range / 100 * range;
    return -1;
}

std::map<std::string, double> expected_figures(const Spec& m, Mode mode, const trace::Trace& w,
                                               const Context& ctx, const Reading& r) {
    const Function& fn = m.function(mode);
    const double f = ctx.fundamental_Hz.value();
    const double K = pi / (2 * std::numbers::sqrt2);
    const double mean = std::abs(trace::statistics(w).mean) < 1e-9 ? 0.0 : trace::statistics(w).mean;
    const auto c = trace::harmonics(w, f, 8000);
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
                  s3 = fn.bandwidth_Hz + fn.lowpass_Hz > 0.0 ? sampled(wave_behind(mean, c, f, out)) : s1;
    const bool average = fn.detector == Detector::average, blocked = fn.coupling_Hz > 0.0;
    const double value = fn.detector == Detector::mean ? s3.mean : average ? K * s3.rectified : s3.rms;
    const double ideal = blocked ? ac.rms : raw.rms, rectified = blocked ? ac.rectified : raw.rectified,
                 fundamental = std::abs(c[0]);
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
        {"meter_ohm", fn.resistance_ohm},
        {"average_reading", K * ac.rectified},
        {"peak", std::max(trace::statistics(w).max, -trace::statistics(w).min)},
        {"ripple", ac.rms / std::fabs(mean)},
        {"zero_drift", fn.zero_drift_A},
        {"drift_share", fn.zero_drift_A / std::fabs(value)},
        {"voltage_present", std::max(std::fabs(mean), raw.rms)},
        {"category_V", m.category_V},
        {"update_interval", 1 / m.update_per_s},
    };
    if (ctx.carrier_Hz) e["carrier_Hz"] = *ctx.carrier_Hz;
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

// All numbers of a sentence must stand in it as the text of some figure.
void check_words(const std::string& sentence, const Reading& r) {
    std::string rest = sentence;
    std::vector<std::string> texts;
    for (const Figure& f : r.figures) texts.push_back(f.text);
    if (r.over_range) texts.push_back(r.shown);
    std::sort(texts.begin(), texts.end(), [](const auto& a, const auto& b) { return a.size() > b.size(); });
    for (const std::string& t : texts)
        for (std::size_t at; !t.empty() && (at = rest.find(t)) != std::string::npos;) rest.erase(at, t.size());
    if (const std::size_t at = rest.find("IEEE 43"); at != std::string::npos) rest.erase(at, 7);
    INFO(sentence);
    INFO("left over: " << rest);
    CHECK(rest.find_first_of("0123456789") == std::string::npos);
}

void check_reading(const Reading& r) {
    CHECK(r.reasons.size() >= 2);
    CHECK(r.reasons.size() <= 5);
    for (const auto& s : r.reasons) check_words(s, r);
    for (const auto& s : r.warnings) check_words(s, r);
    for (const auto& s : r.cautions) check_words(s, r);
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
        const bool low = s.find("% low", so) != std::string::npos,
                   high = s.find("% high", so) != std::string::npos;
        if (low) CHECK(*r.value < *r.truth.rms_ac);
        if (high) CHECK(*r.value > *r.truth.rms_ac);
        CHECK((low || high || s.find("so it reads right") == so));
    }
}

}  // namespace

TEST_CASE("Every figure of every meter on many waves, found again by harmonics") {
    struct Wave {
        const char* name;
        trace::Trace w;
        double f, carrier;
    };
    const double f = 50.0;
    const Wave waves[] = {
        {"sine", trace::sine(325, f, 1, 0, 0, 400), f, 0},
        {"slow sine", trace::sine(40, 8, 1, 0, 0, 400), 8, 0},
        {"six-step", trace::SixStep(320, f).line_to_line(0, 1), f, 0},
        {"six-step star", trace::SixStep(320, f).line_to_star(1), f, 0},
        {"PWM", trace::CarrierPwm(320, f, 0.8, 2000).line_to_line(0, 1), f, 2000},
        {"PWM leg", trace::CarrierPwm(320, f, 0.8, 2000).leg(0), f, 2000},
        {"sine on DC", trace::sine(3, 100, 1, 0, 280, 400), 100, 0},
        {"minus", trace::sine(0.5, 100, 1, 0, -28, 400), 100, 0},
        {"small", trace::sine(0.004, f, 1, 0, 0, 400), f, 0},
        {"large", trace::sine(1500, f, 1, 0, 0, 400), f, 0},
    };
    for (const Spec& m : load_specs(shipped_meters()))
        for (const auto& [mode, fn] : m.functions) {
            if (drives_circuit(mode) || times_crossings(mode)) continue;
            for (const Wave& w : waves) {
                const std::string label = m.name + ", " + std::string(mode_name(mode)) + ", " + w.name;
                INFO(label);
                Context c;
                c.red = takes_clamp(mode) ? "u" : "drive.u";
                c.black = "drive.v";
                c.fundamental_Hz = w.f;
                if (w.carrier > 0) c.carrier_Hz = w.carrier;
                if (!takes_clamp(mode)) c.link_V = 320;
                c.output = true;
                if (std::string(w.name) == "sine on DC" && !takes_clamp(mode)) c.source_ohm = 2e5;
                // Input capacitance has its own test.
                Spec plain = m;
                plain.functions[mode].capacitance_F = 0.0;
                const trace::Trace wave = takes_clamp(mode) ? trace::scaled(w.w, 0.05) : w.w;
                const Reading r = read(plain, mode, wave, c);
                check_reading(r);
                const auto expected = expected_figures(plain, mode, wave, c, r);
                for (const Figure& fig : r.figures) {
                    INFO(fig.name << " = " << fig.text);
                    REQUIRE(expected.contains(fig.name));
                    const double scale = fig.unit == "%" ? 1.0 : std::fabs(fig.value);
                    const double counts = fig.name == "shown" ? 1.001 * r.resolution : 0.0;
                    CHECK(fig.value == approx(expected.at(fig.name)).margin(2e-3 * scale + counts + 1e-6));
                }
            }
        }
}

TEST_CASE("Figures of readings that drive the circuit are in the sentences, and right") {
    for (const Spec& m : load_specs(shipped_meters()))
        for (const auto& [mode, fn] : m.functions) {
            if (!drives_circuit(mode)) continue;
            for (double ohm : {0.0, 0.03, 3.2, 470.0, 4.7e3, 2e6, 1e9, std::numeric_limits<double>::infinity()})
                for (double standing : {0.0, 0.2, 60.0}) {
                    INFO(m.name << ", " << mode_name(mode) << ", " << ohm << " ohm, " << standing << " V");
                    const Reading r = read(m, mode, resistance(ohm, standing, 12e-9));
                    check_reading(r);
                    for (const Figure& f : r.figures) {
                        if (f.name == "standing_V")
                            CHECK(f.value == approx(std::isinf(ohm) ? 0.0 : standing).epsilon(1e-6));
                        if (f.name == "open_V") CHECK(f.value == fn.open_V);
                        if (f.name == "at_40_degC") CHECK(f.value == approx(r.value.value() / 4).epsilon(1e-9));
                    }
                    if (r.value && (mode == Mode::ohm || mode == Mode::continuity) && standing == 0.0) {
                        double volt = -1, ampere = -1;
                        for (const Figure& f : r.figures) {
                            if (f.name == "voltage") volt = f.value;
                            if (f.name == "current") ampere = f.value;
                        }
                        CHECK(volt == approx(ampere * (ohm + m.leads_ohm)).epsilon(1e-6).margin(1e-9));
                    }
                }
        }
}

TEST_CASE("Duty: the share of the time above the middle of the swing") {
    for (double duty : {0.1, 0.25, 0.6}) {
        const Reading r = read(find_spec("true-rms"), Mode::duty, trace::pulse_train(24, duty, 100, 4));
        check_reading(r);
        // The edges of a first-order low-pass cross the middle ln 2 / (2 pi f) late, rising and falling alike.
        CHECK(r.value.value() == approx(duty).epsilon(1e-3));
        CHECK(r.unit == "%");
        for (const Figure& f : r.figures) {
            if (f.name == "mean") CHECK(f.value == approx(24 * duty).epsilon(1e-9));
            if (f.name == "trigger_level") CHECK(f.value == approx(12).epsilon(1e-3));
        }
    }
    CHECK(read(find_spec("true-rms"), Mode::duty, trace::pulse_train(24, 0.25, 100, 4)).shown == "25.0 %");
    CHECK(read(find_spec("true-rms"), Mode::duty, trace::constant(24, 1)).shown == "0.0 %");
}

TEST_CASE("On DC automatic range gives way to the peaks of what alternates") {
    const Reading r = read(find_spec("true-rms"), Mode::dcv, trace::SixStep(320, 50).line_to_line(0, 1));
    CHECK(r.range.value() == 600);  // 320 V peak is more than three times 60 V
    CHECK(read(find_spec("true-rms"), Mode::dcv, trace::constant(0.3, 1)).range.value() == approx(0.6));
}

TEST_CASE("Frequency and clipped readings use figures only") {
    Context c;
    c.carrier_Hz = 8000;
    c.fundamental_Hz = 50;
    check_reading(read(find_spec("true-rms-wide"), Mode::hz, trace::CarrierPwm(320, 50, 0.8, 8000).leg(0), c));
    check_reading(read(find_spec("true-rms-wide"), Mode::hz, trace::constant(12, 1)));
    check_reading(read(find_spec("true-rms"), Mode::acv, trace::pulse_train(500, 0.004, 50, 2)));
    c.manual_range = 600;
    check_reading(read(find_spec("true-rms"), Mode::acv, trace::sine(12, 50, 2), c));
    c.manual_range = 6;
    check_reading(read(find_spec("true-rms"), Mode::acv, trace::sine(12, 50, 2), c));
    Context ghost;
    ghost.source_F = 12e-9;
    ghost.fundamental_Hz = 50;
    const Reading r = read(find_spec("low-impedance"), Mode::acv_lowz, trace::sine(3, 50, 2), ghost);
    check_reading(r);
    for (const Figure& f : r.figures)
        if (f.name == "ghost_share")
            CHECK(f.value == approx(1 / std::hypot(1, 1 / (2 * pi * 50 * 3e3 * 12e-9))).epsilon(1e-9));
    Context all_three;
    all_three.red = "uvw";
    all_three.carrier_Hz = 8000;
    check_reading(read(find_spec("clamp-hall"), Mode::aca, trace::sine(0.5, 50, 2), all_three));
}
