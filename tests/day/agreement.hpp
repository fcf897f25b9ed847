// The same site at the same moment by the live solver and by the day's averages, both with well, tank and temperatures
// held where a start finds them.
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
    double worst() const { return std::max({speed.apart(), flow.apart(), watt.apart(), ampere.apart(), link.apart()}); }
};

inline Agreement agreement(const std::string& site_name, const std::vector<std::string>& set,
                           const std::vector<std::string>& faults, double live_s = 6.0) {
    Scenario scenario = site::load_scenario(site::find_scenario(site_name));
    site::set_keys(scenario, set);
    std::vector<site::Fault> list;
    const site::Works parts = site::set_up(scenario);
    for (const std::string& f : faults) list.push_back(site::parse_fault(f, parts));
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
    out.watt.day = o.dc_W;
    out.link.day = o.link_V;
    out.ampere.day = std::sqrt(std::max({o.turn[day::square_u], o.turn[day::square_v], o.turn[day::square_w]}));
    return out;
}

}  // namespace sunshaft::test
