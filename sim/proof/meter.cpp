#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "meter/display.hpp"
#include "meter/filter.hpp"
#include "meter/reading.hpp"
#include "proof/proof.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

namespace sunshaft::proof {
namespace {

using meter::Mode;

constexpr double pi = std::numbers::pi, V = 320.0, f = 50.0, index = 0.8, carrier = 8000.0;
constexpr const char* handbook =
    "A. D. Helfrick, W. D. Cooper, Modern Electronic Instrumentation and Measurement Techniques, 1990, ch. 4 (from "
    "memory; closed form)";
constexpr const char* holmes =
    "D. G. Holmes, T. A. Lipo, Pulse Width Modulation for Power Converters, 2003, naturally sampled line-line spectrum "
    "(Bessel series), times the filter's gain";
constexpr const char* divider = "closed form of the capacitive divider";

trace::Trace pwm() { return trace::CarrierPwm(V, f, index, carrier).line_to_line(0, 1, 10); }

// rms of the PWM line voltage behind a gain, from its double Fourier series: the fundamental, and round each multiple m
// of the carrier the side lines n with 4 / (m pi) J_n(m pi M / 2) sin((m + n) pi / 2) sin(n pi / 3) of the link. Summed
// is what the gain takes away from, or lets through of, the whole, sqrt(3) M / pi in squares: whichever dies out with
// rising frequency.
template <class Gain>
double bessel_rms(Gain gain, bool passes_high = false) {
    const auto squared = [](double x) { return x * x; };
    const auto counted = [&](double hertz) { return passes_high ? 1.0 - squared(gain(hertz)) : squared(gain(hertz)); };
    double sum = squared(std::sqrt(3.0) / 2.0 * index) / 2.0 * counted(f);
    for (int m = 1; m <= 150; ++m)
        for (int n = -30 - 2 * m; n <= 30 + 2 * m; ++n) {
            if ((m + n) % 2 == 0 || n % 3 == 0) continue;
            // sin((m + n) pi / 2) is +-1 here, and J_-n differs from J_n by sign only.
            const double amplitude =
                4.0 / (m * pi) * std::cyl_bessel_j(std::abs(n), m * pi * index / 2.0) * std::sin(n * pi / 3.0);
            sum += squared(amplitude) / 2.0 * counted(std::fabs(m * carrier + n * f));
        }
    return V * std::sqrt(passes_high ? std::sqrt(3.0) * index / pi - sum : sum);
}

meter::Spec simple(meter::Detector detector, double bandwidth_Hz, double coupling_Hz = 0.16, double lowpass_Hz = 0.0) {
    meter::Spec s;
    s.name = "proof";
    s.counts = 1e6;
    meter::Function fn;
    fn.detector = detector;
    fn.coupling_Hz = coupling_Hz;
    fn.bandwidth_Hz = bandwidth_Hz;
    fn.lowpass_Hz = lowpass_Hz;
    fn.resistance_ohm = 10e6;
    fn.ranges = {1000.0};
    fn.accuracy = {{}};
    s.functions[Mode::acv] = fn;
    return s;
}

double shown(const meter::Spec& s, const trace::Trace& w) { return *meter::read(s, Mode::acv, w).value; }
double average(const trace::Trace& w) { return shown(simple(meter::Detector::average, 0.0, 1e-3), w); }
double form(const trace::Trace& w) {
    const auto s = trace::statistics(w);
    return s.rms / s.rectified_mean;
}
double crest(const trace::Trace& w) { return trace::statistics(w).crest; }

// What of a voltage that comes through a capacitor only arrives across a meter's resistance.
double through(const trace::Trace& w, double farad, double ohm) {
    meter::Filter divided;
    divided.high_pass(1.0 / (2.0 * pi * farad * ohm));
    return divided.respond(w).rms;
}
double arrives(double hertz, double farad, double ohm) {
    const double x = 2.0 * pi * hertz * farad * ohm;
    return x / std::hypot(1.0, x);
}

double tolerance(double percent, double counts, double value, double resolution) {
    meter::Function fn;
    fn.accuracy = {{percent, counts}};
    return meter::accuracy(fn, value, 0.0, resolution, std::nullopt).tolerance;
}

double at_40_degC(double ohm, double degC) {
    meter::Context c;
    c.temperature_degC = degC;
    const meter::Reading r = meter::read(meter::find_spec("insulation"), Mode::insulation, meter::resistance(ohm), c);
    for (const auto& figure : r.figures)
        if (figure.name == "at_40_degC") return figure.value;
    return std::nan("");
}

}  // namespace

std::vector<Row> meter_rows() {
    std::vector<Row> r;
    auto add = [&](std::string what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"instruments", std::move(what), source, expected, tolerance, std::move(f)});
    };
    const double s2 = std::numbers::sqrt2, s3 = std::sqrt(3.0), K = pi / (2 * s2);
    add("sine, form factor", handbook, K, 1e-6, [] { return form(trace::sine(1, f)); });
    add("square, form factor", handbook, 1.0, 1e-12, [] { return form(trace::square(1, f)); });
    add("triangle, form factor", handbook, 2 / s3, 1e-12, [] { return form(trace::triangle(1, f)); });
    add("quasi-square of 120 deg, form factor", handbook, std::sqrt(1.5), 1e-12,
        [] { return form(trace::quasi_square(1, 120, f)); });
    add("half-wave rectified sine, form factor", handbook, pi / 2, 1e-6,
        [] { return form(trace::rectified_sine(1, false, f)); });
    add("pulse train of duty 0.25, form factor", handbook, 2.0, 1e-12,
        [] { return form(trace::pulse_train(1, 0.25, f)); });
    add("sine, crest factor", handbook, s2, 1e-6, [] { return crest(trace::sine(1, f)); });
    add("square, crest factor", handbook, 1.0, 1e-12, [] { return crest(trace::square(1, f)); });
    add("triangle, crest factor", handbook, s3, 1e-12, [] { return crest(trace::triangle(1, f)); });
    add("quasi-square of 120 deg, crest factor", handbook, std::sqrt(1.5), 1e-12,
        [] { return crest(trace::quasi_square(1, 120, f)); });
    add("pulse train of duty 0.1, crest factor", handbook, std::sqrt(10.0), 1e-12,
        [] { return crest(trace::pulse_train(1, 0.1, f)); });
    add("averaging meter on a square of 1 V", handbook, K, 1e-9, [] { return average(trace::square(1, f)); });
    add("averaging meter on a triangle of 1 V peak", handbook, K / 2, 1e-9,
        [] { return average(trace::triangle(1, f)); });
    add("averaging meter on a quasi-square of 120 deg", handbook, K * 2 / 3, 1e-9,
        [] { return average(trace::quasi_square(1, 120, f)); });
    add("averaging AC meter on a pulse train of duty 0.25", handbook, 2 * K * 0.25 * 0.75, 1e-9,
        [] { return average(trace::pulse_train(1, 0.25, f)); });

    // PWM of 8 kHz, 320 V link, index 0.8.
    const double fundamental = V * s3 / (2 * s2) * index;
    for (const double khz : {5.0, 20.0, 100.0}) {
        const double corner = 1e3 * khz;
        add(fmt::format("PWM 8 kHz, averaging, {:g} kHz bandwidth, V: the fundamental", khz), holmes, fundamental, 2e-3,
            [=] { return shown(simple(meter::Detector::average, corner), pwm()); });
        add(fmt::format("PWM 8 kHz, true rms, {:g} kHz bandwidth, V", khz), holmes,
            bessel_rms([=](double x) { return 1 / std::hypot(1, x / corner); }), 1e-4,
            [=] { return shown(simple(meter::Detector::rms, corner), pwm()); });
    }
    add("PWM 8 kHz, true rms behind a second-order 1 kHz low-pass, V", holmes,
        bessel_rms([](double x) { return 1 / std::hypot(1, x * x / 1e6); }), 1e-4,
        [] { return shown(simple(meter::Detector::rms, 0.0, 0.16, 1e3), pwm()); });
    // A coupling of 3 Hz leaves the slow swing it holds back in the gaps between the pulses, where the rectifier counts
    // it: of the fundamental's peak A the 3/50 part, 90 deg late, over the gaps 1 - (A/V) |sin|.
    const double A = s2 * fundamental, held = A * (3.0 / f) / std::hypot(1.0, 3.0 / f);
    add("PWM 8 kHz, averaging, 3 Hz coupling and no upper limit, V",
        "closed form: fundamental, and the coupling's share in the gaps",
        fundamental + K * held * (2 / pi - A / V / pi), 3e-3,
        [] { return shown(simple(meter::Detector::average, 0.0, 3.0), pwm()); });

    // Coupled in through a capacitor.
    const auto mains = [] { return trace::sine(230 * std::numbers::sqrt2, 50, 1); };
    add("230 V 50 Hz through 12 nF into 10 Mohm, V", divider, 230 * arrives(50, 12e-9, 10e6), 1e-5,
        [=] { return through(mains(), 12e-9, 10e6); });
    add("230 V 50 Hz through 12 nF into 3 kohm, V: the ghost is gone", divider, 230 * arrives(50, 12e-9, 3e3), 1e-5,
        [=] { return through(mains(), 12e-9, 3e3); });
    add("230 V 50 Hz through 1 nF into 3 kohm, V", divider, 230 * arrives(50, 1e-9, 3e3), 1e-5,
        [=] { return through(mains(), 1e-9, 3e3); });
    add("PWM 8 kHz through 12 nF into 10 Mohm, V", holmes,
        bessel_rms([](double x) { return arrives(x, 12e-9, 10e6); }, true), 1e-4,
        [] { return through(pwm(), 12e-9, 10e6); });
    add("PWM 8 kHz through 12 nF into 3 kohm, V: the ghost stays", holmes,
        bessel_rms([](double x) { return arrives(x, 12e-9, 3e3); }, true), 1e-4,
        [] { return through(pwm(), 12e-9, 3e3); });

    const char* butterworth = "S. Butterworth, On the Theory of Filter Amplifiers, 1930: 1 / sqrt(1 + (f/f_c)^2n)";
    for (int order = 1; order <= 4; ++order)
        for (const double ratio : {0.5, 1.0, 2.0})
            add(fmt::format("low-pass of order {} at {:g} of its corner", order, ratio), butterworth,
                1 / std::sqrt(1 + std::pow(ratio, 2 * order)), 1e-5, [=] {
                    meter::Filter low;
                    low.low_pass(f / ratio, order);
                    return low.respond(trace::sine(std::numbers::sqrt2, f)).rms;
                });

    const char* digits =
        "Kwantlen Polytechnic University, Physics 1102/1220, Digital Multimeter Uncertainties, worked example";
    add("+-(2.5 % + 3 counts) at 32.00 V", digits, 0.83, 1e-12, [] { return tolerance(2.5, 3, 32.0, 0.01); });
    add("+-(2.5 % + 3 counts) at 0.09 V on that range", digits, 0.03225, 1e-12,
        [] { return tolerance(2.5, 3, 0.09, 0.01); });
    const char* ieee43 = "IEEE 43-2013: thermoplastic insulation, K_T = 0.5^((40 - T)/10), by public reproductions";
    add("200 Mohm at 20 degC, at 40 degC in Mohm", ieee43, 50.0, 1e-9, [] { return 1e-6 * at_40_degC(200e6, 20); });
    add("12 Mohm at 65 degC, at 40 degC in Mohm", ieee43, 12 * std::pow(2.0, 2.5), 1e-9,
        [] { return 1e-6 * at_40_degC(12e6, 65); });
    return r;
}

}  // namespace sunshaft::proof
