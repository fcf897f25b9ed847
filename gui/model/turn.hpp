// Turn: what the bridge did in the last turn of the field, and any instant of it. Two panels look at it through one
// cursor.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "drive/bridge.hpp"
#include "drive/settings.hpp"
#include "motor/clarke.hpp"
#include "site/site.hpp"
#include "trace/trace.hpp"

namespace sunshaft::view {

// Rows as the solver wrote them, so that no switching is lost; the last one has no width: the present instant.
struct Turn {
    static constexpr std::size_t most_rows = 3000;  // older ones are left out, however slowly the field turns
    static constexpr double standing = 0.02;        // s: as much is kept when nothing turns
    // turn_signals() and the points the leads are on; "leg.u" .. "leg.w": the number of a drive::Leg
    trace::Recording rows;
    // Of what the drive puts out now: angle of its space vector in rad, phase u at 0, and rad/s, negative backwards; 0:
    // nothing. Of a rotor that turns without the drive: 90 degrees ahead of its magnets.
    double angle = 0.0, omega = 0.0;
    bool driven = false;  // it is the drive that puts it out
    double from() const { return rows.rows() ? rows.t0.front() : 0.0; }
    double to() const { return rows.rows() ? rows.t1.back() : 0.0; }
    double angle_at(double t) const;  // 0 .. 2 pi
    // The latest instant at which the angle was that; the present one where nothing turns, the oldest where it is not
    // kept.
    double when(double angle) const;
};
const std::vector<std::string>& turn_signals();

// What is known of a leg in a stretch of a recording. Each mode has a law of its own, v = link - R i, -R i,
// link + drop, -drop, and they tell which one it was; nothing flows and no switch holds the rail: blocked.
struct LegState {
    double link = 0.0, volts = 0.0, amps = 0.0;  // against link-; out of the leg
    double nothing_A = 1e-6;                     // less is no current
    bool switching = true;                       // the drive puts something out: a good switch may be closed
};
drive::Leg leg_of(const drive::Bridge& bridge, std::size_t leg, const LegState& is);

struct Moment {
    double t = 0.0;
    drive::Legs legs{drive::Leg::blocked, drive::Leg::blocked, drive::Leg::blocked};
    motor::Vec3 amps{};  // out of the legs
    motor::Vec2 flux{};  // linked by the stator, Wb; NaN: not computed for this machine
    std::vector<std::pair<std::string, double>> point_V;  // against link-; NaN: hangs on nothing
    std::optional<double> volts(const std::string& point) const;
};
Moment moment_at(const Turn& turn, double t);

// Which sixth of the turn an angle lies in, 1 .. 6; the steps of a six-step drive, counted from the one along phase u.
int step_of(drive::Modulation modulation, double angle);
// Where the first of them begins.
double first_step(drive::Modulation modulation);

// Where the two panels look: at the present, or again and again at one angle of the turn.
struct TurnCursor {
    std::optional<double> angle;  // rad, put there by hand; nothing: not put anywhere
    bool calm = false;            // at no rate the present instant is followed: it would flicker
    // At more than this a present instant is one out of many that nobody sees: then the angle stands still.
    static constexpr double fastest_live = 0.02;
    // Where it stands still without a hand: in the middle of the first step.
    bool stands(const Turn& turn, bool running, double rate) const {
        return turn.omega != 0.0 && (angle || (running && (calm || rate > fastest_live)));
    }
    double time(const Turn& turn, bool running, double rate, drive::Modulation modulation) const;
};

// The current's way, of an instant, as words: "In at u, back by w."
std::string way_words(const Moment& m, double nothing_A);
// More than this is a current, of this turn: a thousandth of its largest, a milliampere at least.
double least_amps(const Turn& turn);
double most_amps(const Turn& turn);

}  // namespace sunshaft::view
