// The same site at the same moment by the live solver and by the day's averages, both with well, tank and temperatures
// held where a start finds them. Like is compared with like:
//
//   flow       near its shut-off head a pump's flow answers its speed a hundredfold. It may lie off by what `told` of
//              the speed makes of it
//   tracker    one whose link swings to and fro at a knee of the array's curve, and the shaft with it, stands nowhere.
//              A day leaves that out (day/run.hpp): there both hold one voltage, a hair above the best (held)
//   shaft      a day knows it by one speed; how much it trembles within a turn is said
#pragma once

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "day/operating.hpp"
#include "plant/run.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::test {

struct Both {
    double live = 0.0, day = 0.0;
    double apart() const { return std::abs(day - live) / std::max({std::abs(live), std::abs(day), 1e-12}); }
};
struct Agreement {
    bool turning_live = false, turning_day = false, settled = false;
    int starts_live = 0;  // more than one: a sun that cannot carry it, over and over
    Both speed, flow, watt, ampere, link;
    double steep = 0.0;     // flow that `told` of the speed makes
    double trembles = 0.0;  // the live shaft, from lowest to highest over the mean
    bool held = false;
    static constexpr double told = 5e-4;
    double flow_apart() const { return std::abs(flow.day - flow.live) <= steep ? 0.0 : flow.apart(); }
    double worst() const { return std::max({speed.apart(), flow_apart(), watt.apart(), ampere.apart(), link.apart()}); }
};

// From the lowest to the highest speed of the live shaft within a second, over the mean of both.
inline double trembling(plant::Plant& plant, plant::State s) {
    constexpr double step_s = 2e-3;
    const double end = s.t + 1.0;
    double low = s.x[plant::speed], high = low;
    while (s.t < end) {
        plant.advance(s, s.t + step_s);
        low = std::min(low, s.x[plant::speed]), high = std::max(high, s.x[plant::speed]);
    }
    return 2 * (high - low) / std::max(std::abs(high + low), 1e-9);
}

// The scenario with its tracker held a hair above where the day's would stand.
inline Scenario held_tracker(Scenario scenario, const std::vector<site::Fault>& faults) {
    constexpr double hair = 1.02;
    day::Averager averager(scenario, faults);
    const site::Works& w = averager.works();
    const day::Curve curve = averager.curve(w.array.sunlight(), w.array.module_degC);
    const double gain = w.drive.voltage_gain, start_V = gain * averager.idle_V(curve);
    scenario.drive.tracker = "constant-voltage";
    scenario.drive.tracker_voltage_V =
        hair * gain * averager.tracked_V(curve, drive::first_target * start_V / gain, start_V);
    return scenario;
}

inline Agreement agreement(const Scenario& scenario, const std::vector<site::Fault>& list, double live_s) {
    const auto site = site::compile_site(scenario, list);
    plant::Plant plant(site);
    plant::State s = plant.start();
    s.slow.held = true;
    Agreement out;
    out.settled = plant::settle(plant, s).settled;
    // A tracker on a soft array is a minute on its way.
    if (!out.settled) plant.advance(s, s.t + 120.0);
    plant.open_account(s);
    const double from = s.t;
    const plant::Means m = plant.average(s, live_s);
    for (const drive::LogEntry& e : drive::log_since(s.control)) out.starts_live += e.cause == drive::Cause::sun;
    out.turning_live = drive::turning(s.control.phase);
    const double in_run = s.energy[plant::in_dc_run];
    out.watt.live = (s.energy[plant::from_supply] - in_run) / (s.t - from);
    out.link.live = m.link;
    out.speed.live = m.speed;
    out.flow.live = m.flow;
    out.ampere.live = std::max({m.current_rms[0], m.current_rms[1], m.current_rms[2]});
    if (out.turning_live) out.trembles = trembling(plant, s);

    day::Averager averager(scenario, list);
    averager.follow(s);
    const day::Curve curve = averager.curve(site->works.array.sunlight(), site->works.array.module_degC);
    day::Wanted wanted;
    wanted.start_V = s.control.start_V;
    wanted.target_V = averager.tracked_V(curve, drive::first_target * wanted.start_V / site->works.drive.voltage_gain,
                                         wanted.start_V) *
                      site->works.drive.voltage_gain;
    const day::Operating o = averager.at(curve, wanted);
    out.turning_day = o.turning && !o.standing && !o.starved;
    out.speed.day = o.speed;
    out.flow.day = o.flow;
    out.steep = std::abs(averager.flow_at(o.speed) - averager.flow_at(o.speed * (1.0 - Agreement::told)));
    out.watt.day = o.dc_W;
    out.link.day = o.link_V;
    out.ampere.day = std::sqrt(std::max({o.turn[day::square_u], o.turn[day::square_v], o.turn[day::square_w]}));
    return out;
}

inline Agreement agreement(const std::string& site_name, const std::vector<std::string>& set,
                           const std::vector<std::string>& faults, double live_s = 6.0) {
    Scenario scenario = site::load_scenario(site::find_scenario(site_name));
    site::set_keys(scenario, set);
    std::vector<site::Fault> list;
    const site::Works parts = site::set_up(scenario);
    for (const std::string& f : faults) list.push_back(site::parse_fault(f, parts));
    Agreement out = agreement(scenario, list, live_s);
    // A step about a smooth top moves the shaft by some per cent at most.
    constexpr double to_and_fro = 0.05;
    const bool climbs =
        parts.drive.control == drive::Control::mppt && parts.drive.tracker == drive::Tracker::perturb_and_observe;
    if (!climbs || !out.turning_live || out.trembles < to_and_fro) return out;
    Agreement held = agreement(held_tracker(scenario, list), list, live_s);
    held.held = true;
    return held.turning_live && held.trembles < to_and_fro ? held : out;  // else it was not the tracker
}

}  // namespace sunshaft::test
