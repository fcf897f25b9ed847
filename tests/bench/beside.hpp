// What stands beside a run: recording it, and steady states without one; on shipped sites, edits of the site included.
#pragma once

#include <fmt/format.h>
#include <time.h>

#include "plant/steady.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::bench {

struct Beside {
    double plain = 0, recorded = 0;  // x real time
    double warm = 0, cold = 0;       // steady points a second: edit, compile, state, and means over 0.1 s
    int points = 0, found = 0;
    double turns = 0;  // run for one
};

inline double thread_seconds() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

// steady: look for steady points, too.
inline Beside beside(const Scenario& scenario, double span, bool steady) {
    using namespace plant;
    Beside r;
    site::Now now;
    now.powered = true;
    now.probe_wet = site::set_up(scenario).guards.probe_wet;
    now.winding_degC = scenario.motor.winding_temperature_degC;
    const auto compiled = [&](double cable) {
        return site::compile_site(scenario, {{"undersized-cable", "cable", cable, 0.0}}, {}, {}, &now);
    };
    auto site = compiled(1.05);
    Plant plant(site);
    State running = plant.start();
    settle(plant, running);
    for (int round = 0; round < 7; ++round) {
        State s = running;
        double from = thread_seconds();
        plant.advance(s, s.t + span);
        r.plain = std::max(r.plain, span / (thread_seconds() - from));
        s = running;
        Recorder recorder({signal(*site, "drive.u:drive.v"), signal(*site, "around.u"), signal(*site, "link_V")});
        from = thread_seconds();
        plant.advance(s, s.t + span, recorder);
        r.recorded = std::max(r.recorded, span / (thread_seconds() - from));
    }
    if (!steady) return r;
    Periodic last = periodic(plant, running);
    double from = thread_seconds();
    constexpr int points = 200;
    long turns = 0;
    for (int n = 0; n < points; ++n) {  // along a sweep, each from the one before
        auto next = compiled(1.05 + 0.4 * n / points);
        Plant there(next);
        State s = there.start();
        take_up(there, s, *site, running);
        const Periodic found = periodic(there, s, &last);
        ++r.points;
        if (!found.found) continue;
        ++r.found;
        turns += found.turns_run;
        there.average_turns(s, 0.1);
        last = found, site = next, running = s;
    }
    r.warm = points / (thread_seconds() - from);
    r.turns = r.found ? static_cast<double>(turns) / r.found : 0.0;
    from = thread_seconds();
    constexpr int starts = 4;
    for (int n = 0; n < starts; ++n) {
        Plant there(compiled(1.05 + 0.1 * n));
        State s = there.start();
        settle(there, s);
    }
    r.cold = starts / (thread_seconds() - from);
    return r;
}

inline void print_beside(bool json) {
    struct Row {
        const char *name, *site;
        std::vector<std::string> set;
        double span, warm, cold;  // asked
    };
    // All that is off by default and lies in the solver's way.
    const std::vector<std::string> everything = {
        "motor.saturation_factor=1.42", "motor.bar_depth_mm=20",      "motor.iron_loss_W=40",
        "drive.output_choke_H=1e-3",    "drive.earth_trip_A=5",       "drive.current_sensing=three-sensors",
        "link.earth_monitor_ohm=1e6",   "drive.flow_switch_m3_h=0.2", "link.earth_monitor_trip_ohm=1e4"};
    const Row rows[] = {{"six-step", "hill-orchard", {}, 2.0, 10000, 500},
                        {"PWM 8 kHz", "terrace-pwm", {"drive.dead_time_s=0"}, 0.4, 2500, 100},
                        {"PWM 8 kHz, 1 us dead time", "terrace-pwm", {}, 0.4, 1000, 100},
                        {"120 degrees, permanent magnet", "stone-fold", {}, 1.0, 1500, 500},
                        {"six-step, everything on", "hill-orchard", everything, 1.0, 0, 0},
                        {"PWM 8 kHz, everything on", "terrace-pwm", everything, 0.4, 0, 0}};
    if (!json)
        fmt::print("\n{:<30}{:>8} {:>22} {:>6} | {:>24} {:>7} {:>6} {:>12} {:>6}\n", "shipped site, array", "x real",
                   "three signals recorded", "ratio", "steady points/s warm", "asked", "turns", "from a start",
                   "asked");
    for (const Row& row : rows) {
        Scenario s = site::load_scenario(site::find_scenario(row.site));
        site::set_keys(s, row.set);
        const Beside b = beside(s, row.span, row.warm > 0);
        if (json)
            fmt::print(
                ",\n  {{\"case\": \"{}\", \"site\": \"{}\", \"x_real_time\": {:.1f}, \"three_signals_recorded\": "
                "{:.1f}, "
                "\"steady_points_per_s_warm\": {:.1f}, \"of_which_found\": {:.3f}, \"turns_run\": {:.1f}, "
                "\"steady_points_per_s_from_a_start\": {:.2f}}}",
                row.name, row.site, b.plain, b.recorded, b.warm,
                b.points ? static_cast<double>(b.found) / b.points : 0.0, b.turns, b.cold);
        else
            fmt::print("{:<30}{:8.0f} {:22.0f} {:6.2f} | {:14.0f} ({:3d}/{:3d}) {:7.0f} {:6.1f} {:12.1f} {:6.0f}\n",
                       row.name, b.plain, b.recorded, b.recorded / b.plain, b.warm, b.found, b.points, row.warm,
                       b.turns, b.cold, row.cold);
        std::fflush(stdout);
    }
}

}  // namespace sunshaft::bench
