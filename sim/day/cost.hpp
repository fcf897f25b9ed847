// What a fault costs: water lost a day and a year beside the healthy site, and what water does not show: danger to
// people, heat that can start a fire, how long motor or pump bear it.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "day/run.hpp"

namespace sunshaft::day {

struct Cost {
    site::Fault fault;
    // Into the tank and not over its edge, where somebody draws from it, without where in its float's cycle the tank
    // happened to stand (Totals::cycle_m3); lost: beside the healthy site, 0 within a five-hundredth of it, which two
    // runs of the same site may differ by as their steps fall.
    double water_m3 = 0.0, lost_m3 = 0.0;      // of the day
    double year_m3 = 0.0, year_lost_m3 = 0.0;  // of the year
    double short_days = missing;               // in a year, with less than the need; NaN: no need given
    double price = missing;                    // of the year's lost water; NaN: no price given
    std::vector<std::string> people;           // what can hurt someone, in words with the figure
    std::vector<std::string> unprotected;      // a guard that no longer guards
    // Of a joint, contact, fuse, leak, string or cell, in the brightest light of the day.
    double heat_W = 0.0;  // the most in one place, beyond the healthy one's
    std::string heat_where;
    std::optional<double> destroyed_s;  // running until motor or pump is destroyed
    std::string destroyed_what;
    std::vector<std::string> notes;  // what of it cannot act here
    std::string failed;              // not computed, and why
    // The higher, the sooner it belongs on the list, whatever water it costs.
    int rank() const { return !people.empty() ? 3 : destroyed_s ? 2 : heat_W >= 10.0 ? 1 : 0; }
};

struct Costs {
    double healthy_m3 = 0.0, healthy_year_m3 = 0.0, healthy_short_days = missing;
    std::vector<Cost> list;  // dangerous ones first, then by water lost
};

// The year of a site: its weather's, or twelve cloudless days that stand for a month each.
struct Year {
    std::vector<Moment> moments;
    double days_each = 1.0;  // that one of them stands for
    std::string words;
};

// progress(share done) may return false: Stopped. On all processors.
Costs costs(const Scenario& scenario, const std::vector<site::Fault>& faults, const std::vector<Moment>& day,
            const Year& year, const std::function<bool(double)>& progress = {});
// Every kind of the catalogue that acts on the site, in its first place, at its usual severity.
std::vector<site::Fault> whole_catalogue(const Scenario& scenario);
// Where figures of such a day are coarse, each with why: what it says of the water stays true.
std::vector<std::string> coarse(const Scenario& scenario, const std::vector<site::Fault>& faults);
// Water is drawn from the tank. Where not, what is lifted counts, run over or not.
bool draws(const Scenario& scenario);
Year twelve_days(const Scenario& scenario, int year);

}  // namespace sunshaft::day
