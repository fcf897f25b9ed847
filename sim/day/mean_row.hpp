// What a bridge does on the mean of its carrier: state-space averages of the live run's own leg modes.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <utility>

#include "plant/chain.hpp"

namespace sunshaft::day {

// ModeRows mixed by shares of time that sum to one: what is linear in them is the mean over the carrier. They have
// their free directions in common.
class Mixture {
  public:
    explicit Mixture(const plant::ModeRow& like) {
        row.free = like.free, row.dir = like.dir, row.net = like.net, row.driven = like.driven, row.P = like.P;
    }
    plant::ModeRow row;

    void add(const plant::ModeRow& r, double w) {
        const auto plus = [w](double& to, double from) { to += w * from; };
        plus(row.maa, r.maa), plus(row.mab, r.mab), plus(row.mba, r.mba), plus(row.mbb, r.mbb);
        plus(row.aaa, r.aaa), plus(row.aab, r.aab), plus(row.aba, r.aba), plus(row.abb, r.abb);
        for (std::size_t n = 0; n < 2; ++n) {
            plus(row.vl[n], r.vl[n]), plus(row.v0[n], r.v0[n]);
            plus(row.al[n], r.al[n]), plus(row.a0[n], r.a0[n]), plus(row.ci[n], r.ci[n]);
        }
        plus(row.cv, r.cv), plus(row.c0, r.c0);
        for (std::size_t k = 0; k < 3; ++k) {
            plus(row.leg[k].p, r.leg[k].p), plus(row.leg[k].q, r.leg[k].q);
            plus(row.leg[k].r, r.leg[k].r), plus(row.leg[k].c, r.leg[k].c);
        }
        quadratic(row.bridge_loss, r.bridge_loss, w);
        quadratic(row.cable_loss, r.cable_loss, w);
    }

  private:
    static void quadratic(plant::Quadratic& to, const plant::Quadratic& q, double w) {
        to.aa += w * q.aa, to.ab += w * q.ab, to.bb += w * q.bb, to.av += w * q.av, to.bv += w * q.bv;
        to.vv += w * q.vv, to.a += w * q.a, to.b += w * q.b, to.v += w * q.v, to.one += w * q.one;
    }
};

template <class Machine>
const plant::ModeRow& row_of(const plant::Compiled<Machine>& compiled, drive::Legs legs) {
    for (std::size_t k = 0; k < 3; ++k) {
        const drive::LegParts& parts = compiled.site.works.bridge.legs[k];
        if (parts.upper == drive::Device::shorted) legs[k] = drive::Leg::upper;
        else if (parts.lower == drive::Device::shorted) legs[k] = drive::Leg::lower;
    }
    return compiled.rows[static_cast<std::size_t>(drive::index(legs))];
}
inline drive::Legs pattern(int upper) {
    drive::Legs legs{};
    for (std::size_t k = 0; k < 3; ++k) legs[k] = upper >> k & 1 ? drive::Leg::upper : drive::Leg::lower;
    return legs;
}
// The bridge's mean row at an angle of the field; leg_i: which way lines carry, for dead times.
template <class Machine>
plant::ModeRow mean_row(const plant::Compiled<Machine>& compiled, double angle, double amplitude,
                        const motor::Vec3& leg_i) {
    constexpr double pi = std::numbers::pi;
    const drive::DriveSettings& d = compiled.site.works.drive;
    std::array<double, 3> c{};
    for (std::size_t k = 0; k < 3; ++k) c[k] = std::cos(angle - static_cast<double>(k) * 2 * pi / 3);
    Mixture mix(row_of(compiled, pattern(0)));
    if (d.modulation == drive::Modulation::six_step_180) {
        const int upper = (c[0] > 0) | (c[1] > 0) << 1 | (c[2] > 0) << 2;
        mix.add(row_of(compiled, pattern(upper)), amplitude);
        if (amplitude < 1.0) mix.add(row_of(compiled, pattern(0)), 1.0 - amplitude);
        return mix.row;
    }
    double common = 0.0;
    if (d.modulation == drive::Modulation::third_harmonic) common = (4 * c[0] * c[0] * c[0] - 3 * c[0]) / 6;
    if (d.modulation == drive::Modulation::space_vector)
        common = 0.5 * (std::max({c[0], c[1], c[2]}) + std::min({c[0], c[1], c[2]}));
    std::array<std::pair<double, int>, 3> duty{};
    for (std::size_t k = 0; k < 3; ++k)
        duty[k] = {std::clamp(0.5 + 0.5 * amplitude * (c[k] - common), 0.0, 1.0), static_cast<int>(k)};
    std::array<double, 3> dead{};
    for (std::size_t k = 0; k < 3; ++k) {
        const bool switches = duty[k].first > 0.0 && duty[k].first < 1.0;
        if (d.modulation != drive::Modulation::ideal_sine && switches)
            dead[k] = std::min((d.dead_time + d.dead_time_extra[k]) * d.carrier, 0.25);
    }
    std::sort(duty.begin(), duty.end(), std::greater<>());
    int upper = 0;
    double before = 1.0;
    for (const auto& [share, leg] : duty) {
        if (before > share) mix.add(row_of(compiled, pattern(upper)), before - share);
        upper |= 1 << leg;
        before = share;
    }
    if (before > 0.0) mix.add(row_of(compiled, pattern(7)), before);
    for (std::size_t k = 0; k < 3; ++k) {
        if (dead[k] == 0.0 || leg_i[k] == 0.0) continue;
        drive::Legs up = pattern(0), diode = pattern(0);
        up[k] = drive::Leg::upper;
        diode[k] = leg_i[k] > 0.0 ? drive::Leg::diode_down : drive::Leg::diode_up;
        mix.add(row_of(compiled, diode), 2 * dead[k]);
        mix.add(row_of(compiled, up), -dead[k]);
        mix.add(row_of(compiled, pattern(0)), -dead[k]);
    }
    return mix.row;
}

}  // namespace sunshaft::day
