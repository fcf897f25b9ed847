// A day at the well: array, drive, motor, pump, well and tank through hours or years of weather.
//
// At each step the electrical side stands at its operating point (operating.hpp); the drive's own state machine
// (drive::supervise), and well, tank, warmth, wear and guards (plant::look_slow) are those of the live run, given the
// means of the step. Steps are as long as the weather's where nothing happens, and short through starts, stops,
// holds and trips.
//
// Left out: what passes in less than a second (the current of a start, the link when a stop lets it rise), the
// tracker's hunting, the swing of a link that is held below the array's best voltage, how the shaft trembles within a
// turn where it crawls, and what a meter or a hand does. unseen() says which faults act on nothing that is left.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "day/operating.hpp"
#include "day/weather.hpp"

namespace sunshaft::day {

inline constexpr std::size_t phases = static_cast<std::size_t>(drive::Phase::latched) + 1;

// One instant of the chart.
struct Mark {
    double t = 0.0;                                                       // s since 1970, UTC
    double plane = 0.0;                                                   // W/m2
    double dc_W = 0.0, link_V = 0.0, speed = 0.0, flow = 0.0, out = 0.0;  // rad/s, m3/s
    double tank = 0.0, water_m = 0.0, winding_degC = 0.0;                 // fill, m below ground
    double line_A = 0.0;                                                  // rms, the highest of the drive's lines
    drive::Phase phase = drive::Phase::off;
    bool gap = false, standing = false;
};
struct Event {
    double t = 0.0;
    drive::Phase phase = drive::Phase::off;
    drive::Cause cause = drive::Cause::none;
    double value = 0.0;
};

struct Totals {
    double seconds = 0.0, gap_s = 0.0;        // computed; without data
    double water_m3 = 0.0, spilled_m3 = 0.0;  // into the tank; of that over its edge
    double drawn_m3 = 0.0, lacked_m3 = 0.0;   // from the tank; wanted while it was empty
    // Of the water into the tank: how much more or less than half way through the float's cycle it held when it last
    // began to fall for good, until empty or to the end. Where in that cycle a day ends is chance: two like days differ
    // by it. 0 where the float stopped nothing.
    double cycle_m3 = 0.0;
    double sun_kWh_m2 = 0.0;                // in the plane
    double offered_J = 0.0, taken_J = 0.0;  // what the array could give at its best; what the drive took
    std::array<double, phases> in_phase_s{};
    double standing_s = 0.0;  // output on, shaft not turning
    long starts = 0;
    std::map<drive::Cause, long> stops;              // trips, holds and low sun, by cause
    double highest_V = 0.0, highest_at = 0.0;        // of the link
    double hottest_degC = -273.0, hottest_at = 0.0;  // windings
    double damage = 0.0;                             // of the pump, lasting
    // The brightest step: light, warmth of the cells, link; and the most there ever was in a line, A2,
    // and between two lines, V2: of what a bridge puts out, the mean square is the link's volts times the mean of the
    // magnitude.
    double most_plane = 0.0, most_plane_degC = 25.0, link_then = 0.0;
    std::array<double, 3> most_square{};
    double most_line_square = 0.0;
    // With the output on, until motor or pump was destroyed: worn by half, windings past 155 degC (class F, IEC
    // 60085), turns burnt to the casing or molten.
    std::optional<double> destroyed_s = {};
    std::string destroyed_what = {};
    bool burnt = false, parted = false;  // bridged turns to the casing; copper molten
    plant::Energies energy{};
    double energy_gap() const;  // of what came in
};

struct Day {
    Date date;
    double water_m3 = 0.0, taken_J = 0.0, offered_J = 0.0, sun_kWh_m2 = 0.0, gap_s = 0.0;
    long starts = 0;
};

struct Result {
    Totals all;
    std::vector<Day> days;      // by the clock of the site
    std::vector<Mark> marks;    // where asked for
    std::vector<Event> events;  // the first ten thousand
};

struct Options {
    double longest_step = 60.0;  // s
    bool marks = false;
    std::function<bool(double)> progress = {};  // share done; false stops
};

// Stopped by its caller.
struct Stopped {};

// Throws site::BadInput where the site has no sun to run on, Stopped.
Result run(Averager& averager, const std::vector<Moment>& moments, const Options& options = {});
// Throws site::BadInput where the site has no array or a motor that is not averaged.
void check(const Scenario& scenario);

// Faults that change nothing the day works with, each with why: what cannot act is said, not passed over.
std::vector<std::string> unseen(const Scenario& scenario, const std::vector<site::Fault>& faults);

// Hours of the day in which the tank's draw-off runs. Throws site::BadInput.
struct Hours {
    double from, to;
};
std::vector<Hours> draw_hours(const Scenario& scenario);

}  // namespace sunshaft::day
