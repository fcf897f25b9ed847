#include "plant/senses.hpp"

#include <algorithm>

namespace sunshaft::plant {

using drive::Gate;
using drive::Sensing;

std::shared_ptr<const Senses> Senses::of(const site::Site& site) {
    const site::Works& w = site.works;
    if (w.supply.kind == site::Supply::Kind::mains) return nullptr;
    if (w.drive.sensing == Sensing::ideal && !w.drive.back_emf && w.drive.insulation_trip_ohm <= 0.0) return nullptr;
    return std::shared_ptr<const Senses>(new Senses(site));
}

Senses::Senses(const site::Site& site)
    : kind_(site.works.drive.sensing),
      blind_s_(site.works.drive.sensing_blind_s),
      third_s_(0.0),
      insulation_trip_(site.works.drive.insulation_trip_ohm),
      listens_(site.works.drive.back_emf),
      floats_(site.works.drive.modulation == drive::Modulation::six_step_120),
      core_at_(site.works.core_at),
      earth_(site) {
    const drive::DriveSettings& d = site.works.drive;
    if (!floats_ && d.modulation != drive::Modulation::six_step_180) third_s_ = 1.5 / d.carrier;
    for (const site::Phase& p : site.works.phases) leaks_ = leaks_ || p.earth_leak_ohm < 1e6 || p.earth_cell_ohm < 1e6;
}

Vec3 Senses::earthed(const Terminals& t) const {
    if (!leaks_) return t.leg_i;
    EarthLoop::Input in;
    in.lead = t.drive;
    in.link = t.link;
    for (std::size_t k = 0; k < 3; ++k) in.motor[static_cast<std::size_t>(core_at_[k])] = t.drive[k];
    const Vec3 to_earth = earth_.leaking(in);
    Vec3 out = t.leg_i;
    for (std::size_t k = 0; k < 3; ++k) {
        const double more = to_earth[static_cast<std::size_t>(core_at_[k])];
        if (std::isfinite(more)) out[k] += more;
    }
    return out;
}

// x = A cos(angle) + B sin(angle) at two angles.
double Senses::from_floating(const Seen& seen) {
    const auto& [x, y] = seen.float_V;
    const auto& [a, b] = seen.float_angle;
    const double turn = std::sin(b - a);
    if (std::abs(turn) < 0.2) return std::numeric_limits<double>::quiet_NaN();
    return std::sqrt(std::max(0.0, x * x + y * y - 2 * x * y * std::cos(b - a))) / std::abs(turn);
}

void Senses::in_sight(Seen& seen, std::size_t k, double from, double to, double a, double b) const {
    seen.square[k] += (to - from) * (a * a + a * b + b * b) * (1.0 / 3);
    seen.seconds[k] += to - from;
    seen.ampere[k] = b;
    seen.at[k] = to;
}

void Senses::see(State& s, double from, double to, const Vec3& a, const Vec3& b, bool sine) const {
    Seen& seen = s.seen;
    if (s.gates != seen.gates) {
        seen.gates = s.gates;
        seen.switched = from;
    }
    const double span = to - from;
    if (!(span > 0.0)) return;
    if (kind_ == Sensing::three_sensors || sine) {
        const bool sum = kind_ == Sensing::two_shunts, link = kind_ == Sensing::link_shunt;
        const auto third = [&](const Vec3& i) { return sum || link ? -i[0] - i[1] : i[2]; };
        for (std::size_t k = 0; k < 2; ++k) in_sight(seen, k, from, to, a[k], b[k]);
        in_sight(seen, 2, from, to, third(a), third(b));
        const double sa = a[0] + a[1] + a[2], sb = b[0] + b[1] + b[2];
        seen.sum_square += span * (sa * sa + sa * sb + sb * sb) * (1.0 / 3);
        seen.span += span;
        return;
    }
    for (std::size_t k = 0; k < 3; ++k)
        if (s.gates[k] == Gate::off && s.legs[k] == drive::Leg::blocked) seen.idle[k] += span;
    seen.span += span;
    const double begin = std::max(from, seen.switched + blind_s_);
    if (!(begin < to)) return;
    const double share = (begin - from) / span;
    Vec3 at{};
    for (std::size_t k = 0; k < 3; ++k) at[k] = a[k] + share * (b[k] - a[k]);
    if (kind_ == Sensing::two_shunts) {
        const auto down = [&](std::size_t k) { return s.gates[k] == Gate::lower; };
        for (std::size_t k = 0; k < 2; ++k)
            if (down(k)) in_sight(seen, k, begin, to, at[k], b[k]);
        if (down(0) && down(1)) in_sight(seen, 2, begin, to, -at[0] - at[1], -b[0] - b[1]);
        // With one leg floating by plan the one that is up carries what the one that is down brings back.
        for (std::size_t k = 0; floats_ && k < 2; ++k)
            for (std::size_t up = 0; up < 3; ++up)
                if (down(k) && s.gates[up] == Gate::upper && s.legs[3 - k - up] == drive::Leg::blocked)
                    in_sight(seen, up, begin, to, -at[k], -b[k]);
        return;
    }
    // What comes back through the minus rail is what the legs that hang on it carry.
    double minus_at = 0.0, minus_b = 0.0;
    std::array<std::size_t, 2> count{}, which{};  // of the legs asked up, down
    for (std::size_t k = 0; k < 3; ++k) {
        if (s.legs[k] == drive::Leg::lower || s.legs[k] == drive::Leg::diode_down) minus_at -= at[k], minus_b -= b[k];
        if (s.gates[k] == Gate::upper) ++count[0], which[0] = k;
        if (s.gates[k] == Gate::lower) ++count[1], which[1] = k;
    }
    if (count[0] == 0 || count[1] == 0) return;
    if (count[0] == 1) in_sight(seen, which[0], begin, to, minus_at, minus_b);
    if (count[1] == 1) in_sight(seen, which[1], begin, to, -minus_at, -minus_b);
    if (count[0] + count[1] < 3) return;
    const std::size_t now = count[0] == 1 ? which[0] : which[1], one = (now + 1) % 3, two = (now + 2) % 3;
    const std::size_t other = seen.at[one] > seen.at[two] ? one : two, third = 3 - now - other;
    if (to - seen.at[other] > third_s_ || to - seen.at[third] < third_s_) return;
    const double held = seen.ampere[other], sign = count[0] == 1 ? 1.0 : -1.0;
    const double a3 = -held - sign * minus_at, b3 = -held - sign * minus_b;
    seen.square[third] += (to - begin) * (a3 * a3 + a3 * b3 + b3 * b3) * (1.0 / 3);
    seen.seconds[third] += to - begin;
    seen.ampere[third] = b3;
}

void Senses::sample(State& s, drive::Measured& m) const {
    Seen& seen = s.seen;
    if (insulation_trip_ > 0.0) m.insulation_ohm = earth_.insulation_ohm(s.command.running);
    if (!measures()) return;
    const double turns_s = 2.0 / std::max(1.0, std::abs(s.command.frequency));
    for (std::size_t k = 0; k < 3; ++k) {
        const double busy = seen.span > 0.0 ? 1.0 - seen.idle[k] / seen.span : 1.0;
        // Out of sight a line counts as what it has been over the last turns.
        if (seen.seconds[k] > 0.0) {
            const double now = busy * seen.square[k] / seen.seconds[k];
            seen.mean_square[k] += (now - seen.mean_square[k]) * std::min(1.0, seen.seconds[k] / turns_s);
            m.line_A2[k] = now;
        } else if (seen.span > 0.0 && busy < 1e-9) {
            m.line_A2[k] = seen.ampere[k] = 0.0;
        } else {
            m.line_A2[k] = seen.mean_square[k];
        }
        m.line_A[k] = seen.ampere[k];
        seen.square[k] = seen.seconds[k] = seen.idle[k] = 0.0;
    }
    m.sum_A2 = kind_ == Sensing::three_sensors && seen.span > 0.0 ? seen.sum_square / seen.span : 0.0;
    seen.sum_square = seen.span = 0.0;
}

}  // namespace sunshaft::plant
