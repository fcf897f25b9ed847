#include <cmath>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::proof {
namespace {

constexpr const char* mohan = "N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed. 2003, ch. 8 (closed form)";
constexpr const char* holmes_legs =
    "D. G. Holmes, T. A. Lipo, Pulse Width Modulation for Power Converters, 2003, ch. 3-6 (closed form)";
constexpr double link_V = 320.0;

// Ideal bridge on an ideal source, a small induction motor held near its speed.
Scenario bridge(const char* modulation, double index = 1.0, double carrier = 12050.0) {
    Scenario s = rig(krause_3hp, 0.05, "bench", link_V);
    s.drive.frequency_Hz = 50;
    s.motor.locked_speed_rpm = 1425;
    s.drive.modulation = modulation;
    s.drive.modulation_index = index;
    s.drive.carrier_Hz = carrier;
    return s;
}

double of(const char* modulation, double index, const std::string& signal, double (*take)(trace::View)) {
    return take(settled_trace(bridge(modulation, index), signal)) / link_V;
}

double rms(trace::View t) { return trace::statistics(t).rms_ac; }
double rectified(trace::View t) { return trace::statistics(t).rectified_mean_ac; }
double fundamental(trace::View t) { return std::abs(trace::phasor(t, 50.0)); }
double average_reading(trace::View t) { return 1.1107207345395915 * rectified(t); }
template <int N>
double harmonic(trace::View t) {
    return std::abs(trace::phasor(t, 50.0 * N));
}
double thd_percent(trace::View t) { return 100 * trace::total_distortion(rms(t), fundamental(t)) * link_V; }

}  // namespace

std::vector<Row> inverter_rows() {
    const double pi = std::numbers::pi, s3 = std::sqrt(3.0), m = 0.8;
    std::vector<Row> r;
    auto add = [&](const char* what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"inverter", what, source, expected, tolerance, std::move(f)});
    };
    const std::string uv = "drive.u:drive.v", un = "drive.u:motor.n";
    const char* six = "six-step-180";
    add("six-step, u-v true rms / V_dc", mohan, std::sqrt(2.0 / 3), 1e-6, [=] { return of(six, 1, uv, rms); });
    add("six-step, u-v rectified mean / V_dc", mohan, 2.0 / 3, 1e-6, [=] { return of(six, 1, uv, rectified); });
    add("six-step, u-v fundamental / V_dc", mohan, std::sqrt(6.0) / pi, 1e-6,
        [=] { return of(six, 1, uv, fundamental); });
    add("six-step, u-v 5th harmonic / V_dc", mohan, std::sqrt(6.0) / pi / 5, 1e-6,
        [=] { return of(six, 1, uv, harmonic<5>); });
    add("six-step, u-v 7th harmonic / V_dc", mohan, std::sqrt(6.0) / pi / 7, 1e-6,
        [=] { return of(six, 1, uv, harmonic<7>); });
    add("six-step, u-v 19th harmonic / V_dc", mohan, std::sqrt(6.0) / pi / 19, 1e-5,
        [=] { return of(six, 1, uv, harmonic<19>); });
    add("six-step, 1 + u-v 3rd harmonic / V_dc (there is none)", mohan, 1.0, 1e-6,
        [=] { return 1 + of(six, 1, uv, harmonic<3>); });
    add("six-step, u-v THD in %", mohan, 100 * std::sqrt(pi * pi / 9 - 1), 1e-5,
        [=] { return of(six, 1, uv, thd_percent); });
    add("six-step, u-v on an average-responding meter / V_dc", mohan, 2.0 / 3 * pi / (2 * std::sqrt(2.0)), 1e-6,
        [=] { return of(six, 1, uv, average_reading); });
    add("six-step, u to star true rms / V_dc", mohan, std::sqrt(2.0) / 3, 1e-4, [=] { return of(six, 1, un, rms); });
    add("six-step, u to star on an average-responding meter / V_dc", mohan, 4.0 / 9 * pi / (2 * std::sqrt(2.0)), 1e-4,
        [=] { return of(six, 1, un, average_reading); });
    add("sine-triangle m 0.8, u-v fundamental / V_dc", holmes_legs, s3 / (2 * std::sqrt(2.0)) * m, 1e-4,
        [=] { return of("sine-triangle", m, uv, fundamental); });
    add("sine-triangle m 0.8, u-v true rms / V_dc", holmes_legs, std::sqrt(s3 * m / pi), 1e-4,
        [=] { return of("sine-triangle", m, uv, rms); });
    add("sine-triangle m 0.8, u-v rectified mean / V_dc", holmes_legs, s3 * m / pi, 1e-4,
        [=] { return of("sine-triangle", m, uv, rectified); });
    add("sine-triangle m 0.8, average-responding reading / V_dc is the fundamental", holmes_legs,
        s3 / (2 * std::sqrt(2.0)) * m, 1e-4, [=] { return of("sine-triangle", m, uv, average_reading); });
    add("third-harmonic m 1.1547, u-v fundamental / V_dc", holmes_legs, 1 / std::sqrt(2.0), 1e-4,
        [=] { return of("third-harmonic", 2 / s3, uv, fundamental); });
    add("space-vector m 1.1547, u-v fundamental / V_dc", holmes_legs, 1 / std::sqrt(2.0), 1e-4,
        [=] { return of("space-vector", 2 / s3, uv, fundamental); });
    add("space-vector m 1.1547, u-v true rms / V_dc", holmes_legs, std::sqrt(2 / pi), 1e-4,
        [=] { return of("space-vector", 2 / s3, uv, rms); });
    add("ideal-sine m 0.8, u-v rms / V_dc", "closed form", s3 / (2 * std::sqrt(2.0)) * m, 1e-4,
        [=] { return of("ideal-sine", m, uv, rms); });
    return r;
}

}  // namespace sunshaft::proof
