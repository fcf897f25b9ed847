// Every number in a sentence is a named figure, and right: figures.hpp.
#include <cmath>
#include <numbers>
#include <string>

#include "figures.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::meter;
using namespace sunshaft::test::figures;
using sunshaft::test::approx;

TEST_CASE("Every figure of every meter on many waves, found again by harmonics") {
    struct Wave {
        const char* name;
        trace::Trace w;
        double f, carrier;
        std::vector<C> harmonics = trace::harmonics(w, f, 8000);
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
                std::vector<C> harmonics = w.harmonics;
                if (takes_clamp(mode))
                    for (C& h : harmonics) h *= 0.05;
                const Reading r = read(plain, mode, wave, c);
                check_reading(r);
                const auto expected = expected_figures(plain, mode, wave, c, r, harmonics);
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
    CHECK(r.range.value() == 800);  // 320 V peak is more than three times 80 V
    CHECK(read(find_spec("true-rms"), Mode::dcv, trace::constant(0.3, 1)).range.value() == approx(0.8));
}

TEST_CASE("Frequency and clipped readings use figures only") {
    Context c;
    c.carrier_Hz = 8000;
    c.fundamental_Hz = 50;
    check_reading(read(find_spec("true-rms-wide"), Mode::hz, trace::CarrierPwm(320, 50, 0.8, 8000).leg(0), c));
    check_reading(read(find_spec("true-rms-wide"), Mode::hz, trace::constant(12, 1)));
    check_reading(read(find_spec("true-rms"), Mode::acv, trace::pulse_train(500, 0.004, 50, 2)));
    c.manual_range = 800;
    check_reading(read(find_spec("true-rms"), Mode::acv, trace::sine(12, 50, 2), c));
    c.manual_range = 8;
    check_reading(read(find_spec("true-rms"), Mode::acv, trace::sine(12, 50, 2), c));
    Context ghost;
    ghost.source_F = 12e-9;
    ghost.fundamental_Hz = 50;
    const Reading r = read(find_spec("low-impedance"), Mode::acv_loaded, trace::sine(3, 50, 2), ghost);
    check_reading(r);
    for (const Figure& f : r.figures)
        if (f.name == "ghost_share")
            CHECK(f.value == approx(1 / std::hypot(1, 1 / (2 * pi * 50 * 5e3 * 12e-9))).epsilon(1e-9));
    Context all_three;
    all_three.red = "uvw";
    all_three.carrier_Hz = 8000;
    check_reading(read(find_spec("clamp-hall"), Mode::aca, trace::sine(0.5, 50, 2), all_three));
}

TEST_CASE("An averaging meter on PWM: a slow coupling fills the gaps, found again by marching through time") {
    // 320 V, index 0.8, 8 kHz, natural sampling; first-order coupling and bandwidth as exact exponential steps of 100
    // ns.
    const double V = 320, M = 0.8, dt = 1e-7;
    struct Case {
        double coupling, bandwidth;
    };
    for (const Case k : {Case{0.16, 5e3}, Case{0.16, 100e3}, Case{3, 5e3}, Case{3, 20e3}, Case{3, 100e3}}) {
        const double slow = std::exp(-2 * pi * k.coupling * dt), quick = std::exp(-2 * pi * k.bandwidth * dt);
        double held = 0, out = 0, sum = 0;
        // The held-back swing as it repeats: of the fundamental A sin(wt + 30 deg) through a first-order low-pass.
        const C start = std::sqrt(3.0) / 2 * M * V * std::polar(1.0, pi / 6) / C(1, 50 / k.coupling);
        held = start.imag();
        const long period = std::lround(0.02 / dt), from = 4 * period, all = 8 * period;
        for (long n = 0; n < all; ++n) {
            const double t = (static_cast<double>(n) + 0.5) * dt, x = t * 8000 - std::floor(t * 8000);
            const double carrier = x < 0.5 ? 4 * x - 1 : 3 - 4 * x;
            const double u = V * ((M * std::sin(2 * pi * 50 * t) > carrier) -
                                  (M * std::sin(2 * pi * 50 * t - 2 * pi / 3) > carrier));
            held = u + (held - u) * slow;
            const double coupled = u - held;
            out = coupled + (out - coupled) * quick;
            if (n >= from) sum += std::fabs(out);
        }
        const double marched = pi / (2 * std::numbers::sqrt2) * sum / static_cast<double>(all - from);
        Spec m = find_spec("average");
        m.functions[Mode::acv].coupling_Hz = k.coupling;
        m.functions[Mode::acv].bandwidth_Hz = k.bandwidth;
        m.functions[Mode::acv].capacitance_F = 0;
        Context c;
        c.fundamental_Hz = 50;
        c.carrier_Hz = 8000;
        const Reading r = read(m, Mode::acv, trace::CarrierPwm(V, 50, M, 8000).line_to_line(0, 1, 4), c);
        INFO("coupling " << k.coupling << " Hz, bandwidth " << k.bandwidth << " Hz");
        CHECK(r.value.value() == approx(marched).epsilon(1e-3));
        if (k.coupling < 1) CHECK(r.value.value() == approx(157).epsilon(2e-3));
        // With the slow coupling the sentences say how much it adds.
        const bool said = std::any_of(r.figures.begin(), r.figures.end(),
                                      [](const Figure& f) { return f.name == "coupling_effect"; });
        CHECK(said == (k.coupling > 1));
        check_reading(r);
    }
}

static bool said(const Reading& r, const std::string& words) {
    return std::any_of(r.reasons.begin(), r.reasons.end(),
                       [&](const std::string& s) { return s.find(words) != std::string::npos; });
}

// Closed forms: a share k of the wave reaches the input, a reference sunk to r shows 1 / r times as much.
TEST_CASE(
    "A badly held meter: the truth stays the wave's, and the hand's part of the reading has a name and a figure") {
    const trace::Trace wave = trace::quasi_square(300, 120, 50, 5);
    Context right, held;
    right.fundamental_Hz = held.fundamental_Hz = 50;
    right.output = held.output = true;
    right.link_V = held.link_V = 300;
    held.reaches = 0.8;
    held.reference = 0.9;
    for (const char* name : {"average", "true-rms", "true-rms-drive"}) {
        const Spec spec = find_spec(name);
        for (const auto& [mode, fn] : spec.functions) {
            if (drives_circuit(mode) || takes_clamp(mode)) continue;
            INFO(name << " " << mode_name(mode));
            const Reading a = read(spec, mode, wave, right), b = read(spec, mode, wave, held);
            check_reading(b);
            CHECK(b.truth.rms.value() == a.truth.rms.value());
            CHECK_FALSE(b.link_ratio.has_value());
            const double factor = times_crossings(mode) ? 1.0 : 0.8 / 0.9;
            CHECK(b.value.value() == approx(factor * a.value.value()).margin(1e-9));
            if (fn.detector == Detector::mean || times_crossings(mode)) continue;
            CHECK(said(b, "the rest is lost in the test leads"));
            for (const Figure& f : b.figures) {
                if (f.name == "reaches") CHECK(f.value == 0.8);
                if (f.name == "reference_off") CHECK(f.value == approx(1 / 0.9 - 1).epsilon(1e-12));
                if (f.name == "reading_off")
                    CHECK(std::fabs(f.value) ==
                          approx(std::fabs(b.value.value() / a.truth.rms.value() - 1)).epsilon(1e-9));
            }
        }
        Context broken = right;
        broken.reaches = 0.0;
        const Reading dead = read(spec, Mode::acv, wave, broken);
        check_reading(dead);
        CHECK(dead.value.value() == 0.0);
        CHECK(said(dead, "Nothing of it reaches the meter's input"));
    }
    // A crest that the range no longer takes with a sunk reference: the limit sinks with it.
    Context manual;
    manual.fundamental_Hz = 50;
    manual.manual_range = 80;
    Spec spec = find_spec("true-rms");
    spec.functions[Mode::acv].crest_limit = 1.5;
    const trace::Trace pulses = trace::pulse_train(107, 0.2, 50, 5);
    CHECK(read(spec, Mode::acv, pulses, manual).warnings.empty());
    manual.reference = 0.6;
    CHECK_FALSE(read(spec, Mode::acv, pulses, manual).warnings.empty());
}
