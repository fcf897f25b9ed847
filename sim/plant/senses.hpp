// What the drive's own electronics see of its lines, its motor and its insulation, where that is not taken as perfect.
// Off (Sensing::ideal, no earth monitor that stops, no search for the rotor), there is no such object.
//
// Line currents (drive.current_sensing), a sample's worth at a time, exact on the plant's straight pieces:
//   three-sensors   each line, with what leaks to earth behind it; their sum is what went to earth
//   two-shunts      in the lower legs of u and v, seen while that device is on; w is minus their sum, known while both
//                   are: what leaves on w for earth is not seen
//   link-shunt      in the link's minus: with one leg up, or one down, it carries that leg's current. Where two lines
//                   were seen within one and a half carrier periods the third is minus their sum. What returns through
//                   earth passes it by
// A shunt is not read for a while after any switching. Mean squares are those of the time in sight, less the share of
// the time a leg is known to carry nothing; the last value holds while nothing is in sight. (Which current a shunt
// carries in which state of the legs follows from Kirchhoff's current law; an open note on single-shunt current
// reconstruction has the same table: one leg up, that leg's current; two legs up, minus the third's. Tests hold it
// against the plant's own currents.)
//
// Leaks to earth: each core's resistance to the casing at the drive's voltages, the way home through the array's leaks
// (earth_loop.hpp), quasi-static; charging currents and the cable's drop are left out, and they are still not fed back
// into the plant.
//
// Back-EMF: with a leg floating by the modulator's plan, its terminal against the middle of the two others, early and
// late in its sixth of a turn: two readings of one wave, which give its height whatever the rotor's lag. Else what an
// observer makes of volts put out and currents drawn: the EMF where current can flow, the volts put out themselves
// where a line carries none.
#pragma once

#include <cmath>
#include <memory>
#include <numbers>

#include "plant/chain.hpp"
#include "plant/earth_loop.hpp"

namespace sunshaft::plant {

class Senses {
  public:
    // Null where nothing of it is wanted.
    static std::shared_ptr<const Senses> of(const site::Site& site);

    bool measures() const { return kind_ != drive::Sensing::ideal; }
    bool listens() const { return listens_; }
    // A straight piece between two switchings, in the gates of `s`. Both kept cold: they must not eat into what the
    // compiler will inline of the solver's loops beside them.
    template <class Machine>
    [[gnu::cold, gnu::noinline]] void piece(const Chain<Machine>& chain, State& s, const Point& a,
                                            const Point& b) const {
        const Terminals from = chain.terminals(a), to = chain.terminals(b);
        see(s, a.t, b.t, earthed(from), earthed(to), chain.sine.on);
    }
    // Into the sample: line currents, their sum, insulation.
    void sample(State& s, drive::Measured& m) const;
    // Measured::emf_V; span: s since the last sample.
    template <class Machine>
    [[gnu::cold, gnu::noinline]] double emf(const Chain<Machine>& chain, State& s, const Point& p, double span) const;

  private:
    explicit Senses(const site::Site& site);
    // Legs' currents with what leaks to earth behind each.
    Vec3 earthed(const Terminals& t) const;
    void see(State& s, double from, double to, const Vec3& a, const Vec3& b, bool sine) const;
    static double from_floating(const Seen& seen);
    void in_sight(Seen& seen, std::size_t k, double from, double to, double a, double b) const;

    drive::Sensing kind_;
    double blind_s_, third_s_, insulation_trip_;
    bool listens_, floats_, leaks_ = false;
    std::array<int, 3> core_at_;
    EarthLoop earth_;
};

template <class Machine>
double Senses::emf(const Chain<Machine>& chain, State& s, const Point& p, double span) const {
    constexpr double none = std::numeric_limits<double>::quiet_NaN(), pi = std::numbers::pi;
    const double angle = s.modulator.angle, Hz = s.command.frequency;
    if (!s.command.running || Hz == 0.0 || !(span > 0.0)) return none;
    if (floats_) {
        // The sixth of a turn that ends or goes on here, and the leg that floats in it.
        const double sixth = pi / 3, middle = (std::floor((angle - pi * Hz * span) / sixth) + 0.5) * sixth;
        std::size_t k = 0;
        for (std::size_t n = 1; n < 3; ++n)
            if (std::abs(std::cos(middle - 2 * pi / 3 * static_cast<double>(n))) <
                std::abs(std::cos(middle - 2 * pi / 3 * static_cast<double>(k))))
                k = n;
        const double beyond = angle - 2 * pi / 3 * static_cast<double>(k), wanted = std::cos(beyond);
        if (s.legs[k] != drive::Leg::blocked || std::abs(wanted) < 0.25) return none;
        const Terminals t = chain.terminals(p);
        const std::size_t late = wanted < 0.0 ? 1 : 0;
        s.seen.float_V[late] = (2.0 / 3) * (t.drive[k] - 0.5 * (t.drive[(k + 1) % 3] + t.drive[(k + 2) % 3]));
        s.seen.float_angle[late] = beyond;
        return from_floating(s.seen);
    }
    if (chain.row->free == 0) return none;
    const Vec2 e = chain.emf(p.x);
    if (chain.row->free == 2) return std::sqrt(motor::dot(e, e));
    const bool blocks = chain.site.works.drive.modulation == drive::Modulation::six_step_180;
    const double put_out = s.command.amplitude * p.link * (blocks ? 2 / pi : 0.5);
    // The output's direction in the machine's axes: the drive's terminal k is core core_at[k].
    Vec3 along{};
    for (std::size_t k = 0; k < 3; ++k)
        along[static_cast<std::size_t>(core_at_[k])] = std::cos(angle - 2 * pi / 3 * static_cast<double>(k));
    const Vec2 v = motor::clarke(along);
    const double share = motor::dot(v, chain.row->dir), seen = motor::dot(e, chain.row->dir);
    return std::sqrt(seen * seen + put_out * put_out * std::max(0.0, 1.0 - share * share));
}

}  // namespace sunshaft::plant
