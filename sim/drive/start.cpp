// Start of a magnet motor whose rotor is found by the volts it makes: control.hpp says how. The stages, and a hand-over
// at a speed where there are volts enough, are those of any such firmware (application notes ask for 10 to 30 % of
// rated speed); shares and times are common practice, no source.
#include <algorithm>
#include <cmath>

#include "drive/control.hpp"

namespace sunshaft::drive {
namespace {

// Times the volts the field's speed should bring: more come from a rotor that rocks, not from one in step.
constexpr double emf_most = 1.6;
constexpr double hand_over = 0.1;  // of the ceiling, or drive.minimum_frequency_Hz where that is more

}  // namespace

Command search(const DriveSettings& s, ControlState& c, double dt, const Measured& m, double amplitude) {
    using Stage = Search::Stage;
    Search& q = c.search;
    const double top = std::clamp(hand_over * s.frequency, std::min(s.minimum_frequency, s.frequency), s.frequency);
    const auto go = [&](Stage stage) {
        q.stage = stage;
        q.since = q.good_s = q.bad_s = 0.0;
    };
    const auto miss = [&] {
        ++q.missed;
        go(Stage::coast);
        enter(c, c.phase, Cause::start_missed, q.missed);
    };
    q.since += dt;
    const double Hz = q.stage == Stage::found ? std::abs(m.electrical_Hz) : q.Hz;
    const double due = s.emf_per_Hz * std::max(Hz, 0.3 * top);
    const bool seen = m.emf_V > emf_seen * due && (q.stage == Stage::found || m.emf_V < emf_most * due);
    q.bad_s = seen ? 0.0 : q.bad_s + dt;
    // A look that shows nothing spoils nothing, for half a turn.
    const bool spoilt = !seen && (!std::isnan(m.emf_V) || q.bad_s > 0.5 / top);
    q.good_s = spoilt ? 0.0 : q.good_s + dt;
    switch (q.stage) {
        case Stage::align:
            q.Hz = 0.0;
            if (q.since >= s.align_s) go(Stage::ramp);
            break;
        case Stage::ramp:
            q.Hz = std::min(top, q.Hz + s.start_ramp * dt);
            if (q.Hz < 0.5 * top) q.good_s = 0.0;
            if (q.Hz >= top && q.good_s >= 1.0 / top) {
                go(Stage::found);
                q.missed = 0;
                enter(c, c.phase, Cause::rotor_found, q.Hz);
            } else if (q.since > top / s.start_ramp + hand_over_s) {
                miss();
            }
            break;
        case Stage::found:
            if (q.bad_s > lost_s) miss();
            break;
        case Stage::coast:
            if (q.since >= coast_s) go(Stage::align);
            break;
    }
    if (q.stage == Stage::coast) {
        c.setting = 0.0;
        return {};
    }
    if (q.stage == Stage::found) return {true, m.electrical_Hz, amplitude};
    return {true, q.Hz, amplitude, false};
}

}  // namespace sunshaft::drive
