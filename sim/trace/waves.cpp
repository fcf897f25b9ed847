#include "trace/waves.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <stdexcept>

#include "roots/roots.hpp"

namespace sunshaft::trace {

namespace {

using std::numbers::pi;

// One period given by segments over 0..1, repeated; ends meet to the last bit.
Trace repeated(const Trace& unit, double f, int periods) {
    if (!(f > 0.0) || periods < 1)
        throw std::invalid_argument("wave: frequency and number of periods must be positive");
    Trace out;
    out.reserve(unit.size() * static_cast<std::size_t>(periods));
    for (int p = 0; p < periods; ++p)
        for (const Segment& s : unit) {
            const double t0 = out.empty() ? 0.0 : out.back().t1, t1 = (p + s.t1) / f;
            if (t1 > t0) out.push_back({t0, t1, s.y0, s.y1});
        }
    return out;
}

Trace curve(const std::function<double(double)>& y, double f, int periods, int pieces) {
    Trace unit;
    unit.reserve(static_cast<std::size_t>(pieces));
    for (int k = 0; k < pieces; ++k) {
        const double a = static_cast<double>(k) / pieces, b = static_cast<double>(k + 1) / pieces;
        unit.push_back({a, b, y(a), y(b)});
    }
    return repeated(unit, f, periods);
}

}  // namespace

Trace constant(double value, double seconds) { return {{0.0, seconds, value, value}}; }

Trace sine(double peak, double f, int periods, double phase_rad, double offset, int pieces) {
    return curve([=](double x) { return offset + peak * std::sin(2.0 * pi * x + phase_rad); }, f, periods, pieces);
}

Trace square(double peak, double f, int periods) {
    return repeated({{0.0, 0.5, peak, peak}, {0.5, 1.0, -peak, -peak}}, f, periods);
}

Trace quasi_square(double peak, double width_deg, double f, int periods) {
    if (!(width_deg > 0.0 && width_deg <= 180.0))
        throw std::invalid_argument("quasi-square wave: width must lie in 0 .. 180 degrees");
    const double w = width_deg / 360.0;
    return repeated({{0.0, w, peak, peak}, {w, 0.5, 0.0, 0.0}, {0.5, 0.5 + w, -peak, -peak}, {0.5 + w, 1.0, 0.0, 0.0}},
                    f, periods);
}

Trace triangle(double peak, double f, int periods) {
    return repeated({{0.0, 0.25, 0.0, peak}, {0.25, 0.75, peak, -peak}, {0.75, 1.0, -peak, 0.0}}, f, periods);
}

Trace pulse_train(double height, double duty, double f, int periods) {
    if (!(duty > 0.0 && duty < 1.0)) throw std::invalid_argument("pulse train: duty must lie between 0 and 1");
    return repeated({{0.0, duty, height, height}, {duty, 1.0, 0.0, 0.0}}, f, periods);
}

Trace rectified_sine(double peak, bool full_wave, double f, int periods, int pieces) {
    return curve(
        [=](double x) {
            const double y = std::sin(2.0 * pi * x);
            return peak * (full_wave ? std::fabs(y) : std::max(0.0, y));
        },
        f, periods, pieces);
}

Trace cut_sine(double peak, double from_deg, double f, int periods, int pieces) {
    if (!(from_deg >= 0.0 && from_deg < 180.0))
        throw std::invalid_argument("cut sine: the angle must lie in 0 .. 180 degrees");
    Trace unit;
    for (int half = 0; half < 2; ++half) {
        const double begin = 0.5 * half, cut = begin + from_deg / 360.0, end = 0.5 * (half + 1);
        if (cut > begin) unit.push_back({begin, cut, 0.0, 0.0});
        const int n = std::max(1, pieces / 2);
        for (int k = 0; k < n; ++k) {
            const double a = cut + (end - cut) * k / n, b = cut + (end - cut) * (k + 1) / n;
            unit.push_back({a, b, peak * std::sin(2.0 * pi * a), peak * std::sin(2.0 * pi * b)});
        }
    }
    return repeated(unit, f, periods);
}

Trace sine_and_third(double peak, double third, double f, int periods, int pieces) {
    return curve([=](double x) { return peak * std::sin(2.0 * pi * x) + third * std::sin(6.0 * pi * x); }, f, periods,
                 pieces);
}

Trace Bridge::line_to_line(int from, int to, int periods) const {
    return sum(leg(from, periods), leg(to, periods), -1.0);
}

Trace Bridge::line_to_star(int phase, int periods) const {
    const Trace star = sum(sum(leg(0, periods), leg(1, periods)), leg(2, periods));
    return sum(leg(phase, periods), star, -1.0 / 3.0);
}

SixStep::SixStep(double link, double frequency) {
    link_V = link;
    f = frequency;
}

Trace SixStep::leg(int phase, int periods) const {
    const double on = phase / 3.0, off = on + 0.5;  // fractions of a period
    if (off <= 1.0) return repeated({{0.0, on, 0.0, 0.0}, {on, off, link_V, link_V}, {off, 1.0, 0.0, 0.0}}, f, periods);
    return repeated({{0.0, off - 1.0, link_V, link_V}, {off - 1.0, on, 0.0, 0.0}, {on, 1.0, link_V, link_V}}, f,
                    periods);
}

CarrierPwm::CarrierPwm(double link, double frequency, double modulation_index, double carrier, Offset o) {
    link_V = link;
    f = frequency;
    index = modulation_index;
    carrier_Hz = carrier;
    offset = o;
}

double CarrierPwm::reference(int phase, double t) const {
    const double angle = 2.0 * pi * f * t, third = 2.0 * pi / 3.0;
    double common = 0.0;
    if (offset == Offset::third_harmonic) common = std::sin(3.0 * angle) / 6.0;
    if (offset == Offset::space_vector) {
        const double a = std::sin(angle), b = std::sin(angle - third), c = std::sin(angle + third);
        common = -0.5 * (std::max({a, b, c}) + std::min({a, b, c}));
    }
    return index * (std::sin(angle - third * phase) + common);
}

Trace CarrierPwm::leg(int phase, int periods) const {
    if (!(f > 0.0 && carrier_Hz > f) || periods < 1)
        throw std::invalid_argument("pwm: carrier must be above the output");
    const double end = periods / f;
    // One switching at most in each flank of the carrier: a search between its ends does not miss it.
    Trace out;
    double t = 0.0;
    bool high = reference(phase, 0.0) > 1.0;  // the carrier starts at its peak
    const auto until = [&](double edge) {
        const double y = high ? link_V : 0.0;
        if (edge > t) out.push_back({t, edge, y, y});
        t = std::max(t, edge);
    };
    const int flanks = static_cast<int>(std::ceil(2.0 * carrier_Hz * end - 1e-9));
    for (int k = 0; k < flanks; ++k) {
        const double a = 0.5 * k / carrier_Hz, b = std::min(end, 0.5 * (k + 1) / carrier_Hz);
        const double rising = k % 2 ? 1.0 : -1.0;
        const auto difference = [&](double x) {
            return reference(phase, x) - rising * (4.0 * carrier_Hz * (x - a) - 1.0);
        };
        const bool at_a = difference(a) > 0.0;
        if (at_a != high) {
            until(a);
            high = at_a;
        }
        if ((difference(b) > 0.0) == at_a) continue;
        until(roots::root(difference, a, b));
        high = !high;
    }
    until(end);
    return out;
}

}  // namespace sunshaft::trace
