#include "apart.hpp"

#include <fmt/format.h>

#include "diagnose/places.hpp"

namespace sunshaft::evaluation {

using diagnose::Change;
using diagnose::Sight;

Apart::Apart(const Scenario& written, const diagnose::Priors& priors)
    : works_(site::set_up(written)),
      sights_(written, diagnose::cache_folder()),
      tests_(diagnose::left_to_do(works_, {}, priors)),
      causes_(diagnose::causes(written, {}, priors, false)) {}

std::vector<Sight> Apart::seen(const Change& c) {
    std::string key;
    for (const std::string& set : c.set) key += set + ";";
    for (const site::Fault& f : c.faults) key += fmt::format("{}@{}={};", f.kind, f.place, f.severity);
    const auto found = known_.find(key);
    if (found != known_.end()) return found->second;
    std::vector<diagnose::Sights::Ask> asks;
    for (const diagnose::Candidate& x : tests_) {
        std::vector<diagnose::Look> looks;
        for (const bench::Observation& o : x.looks) looks.push_back({o.probes, o.mode, o.gauge, "", false});
        asks.push_back({c, diagnose::state_for(x.test->station, works_), looks});
    }
    return known_[key] = sights_.see(asks);
}

bool Apart::same(const Change& a, const Change& b) {
    const auto x = seen(a), y = seen(b);
    for (std::size_t n = 0; n < tests_.size(); ++n)
        if (diagnose::distance2(*tests_[n].test, tests_[n].looks, x[n], y[n]) > 1.0) return false;
    return true;
}

bool Apart::same(const diagnose::Suspect& s, const Change& truth) {
    const auto as_fitted = change(s);
    if (s.fault == "low-water") {
        const double rest = sights_.scenario().well.static_level_m;
        std::vector<double> levels;
        for (double level = 0.0; level < 1.0; level += 0.04)
            levels.push_back(rest + level * (works_.water.pump_depth - rest));
        for (const site::Fault& f : truth.faults)  // of that one the water stands just there
            if (f.kind == "low-well") levels.push_back(rest + f.severity);
        for (const double metres : levels)
            if (same(Change{{fmt::format("well.static_level_m={}", metres)}, {}}, truth)) return true;
    }
    // What is no fault: any case of it.
    if (!as_fitted && s.with.empty())
        for (const diagnose::Cause& c : causes_)
            if (c.fault == s.fault && !c.graded && (s.place.empty() || c.places.front() == s.place))
                for (const auto& point : c.points)
                    if (same(point.change, truth)) return true;
    if (!as_fitted) return false;
    if (same(*as_fitted, truth)) return true;
    if (as_fitted->faults.empty()) return false;
    const site::FaultRow& row = *site::find_fault(s.fault);
    if (row.least == row.most) return false;
    double share = 0.5;  // severity_at() grows or falls all along
    const bool grows = site::severity_at(row, 0.999) > site::severity_at(row, 0.0);
    for (double step = 0.25; step > 1e-4; step *= 0.5)
        share += (site::severity_at(row, share) < s.severity) == grows ? step : -step;
    for (const double off : {-0.02, 0.02, -0.04, 0.04, -0.07, 0.07, -0.1, 0.1, -0.15, 0.15}) {
        if (share + off < 0.0 || share + off > 1.0) continue;
        Change near = *as_fitted;
        near.faults.front().severity = site::severity_at(row, share + off);
        if (same(near, truth)) return true;
    }
    return false;
}

std::optional<Change> Apart::change(const diagnose::Suspect& s) const {
    const site::FaultRow* row = site::find_fault(s.fault);
    if (!row || !s.with.empty()) return std::nullopt;
    for (const std::string& place : row->places(works_))
        if (diagnose::one_place(place, s.place)) return Change{{}, {{s.fault, place, s.severity, 0.0}}};
    return std::nullopt;
}

}  // namespace sunshaft::evaluation
