#include "bench/blind.hpp"

#include <fmt/format.h>

#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_group.h>

#include <algorithm>
#include <cmath>
#include <mutex>

namespace sunshaft::bench {
namespace {

using Readings = std::vector<std::vector<Probe>>;

// What was read, and how far off it may be. Over range, or ohms on a live circuit: whatever it shows, it is not what
// was looked for.
Probe probe(const Seen& s, const FieldTest& test) {
    double value = std::nan(""), tolerance = 0.0;
    if (s.gauge && !s.gauge->says.empty()) return {s.gauge->value, 1e-3};  // words: one or another
    if (s.gauge) value = s.gauge->value;
    else if (s.reading && s.reading->value && s.reading->low && s.reading->high) {
        const meter::Reading& r = *s.reading;
        value = compared(test, r).value_or(std::nan(""));
        tolerance = std::max(0.5 * (*r.high - *r.low), r.resolution);
        if (test.of_link && *r.value != 0.0) tolerance *= value / *r.value;
    }
    if (std::isnan(value)) return {value, 0.0};
    return {value, tolerance + test.share * std::abs(value) + test.least};
}

// What is to be carried out on a site: all tests, or one.
struct Wanted {
    const site::Works& healthy;
    const FieldTest* only;
    bool wants(const FieldTest& t) const { return (!only || only == &t) && !t.observations(healthy).empty(); }
    // At one of these stations.
    bool at(const std::vector<Station>& line) const {
        return std::ranges::any_of(field_tests(), [&](const FieldTest& t) {
            return std::ranges::find(line, t.station) != line.end() && wants(t);
        });
    }
};

// All tests of the stations that follow from one another, on one bench; of each station together.
void carry_out(Bench& bench, const std::vector<Station>& line, const Wanted& wanted, Readings& out) {
    const auto& tests = field_tests();
    for (const Station station : line) {
        if (station != line.front() && station != Station::lit) lead_on(bench, station);
        std::vector<Observation> all;
        std::vector<std::size_t> of;
        for (std::size_t t = 0; t < tests.size(); ++t) {
            if (tests[t].station != station || !wanted.wants(tests[t])) continue;
            for (Observation& o : tests[t].observations(wanted.healthy)) all.push_back(std::move(o)), of.push_back(t);
        }
        const std::vector<Seen> seen = observe(bench, all);
        for (std::size_t n = 0; n < seen.size(); ++n) out[of[n]].push_back(probe(seen[n], tests[of[n]]));
    }
}

}  // namespace

double distance(const std::vector<Probe>& a, const std::vector<Probe>& b) {
    if (a.size() != b.size()) return 1e9;
    double worst = 0.0;
    for (std::size_t n = 0; n < a.size(); ++n) {
        const bool over_a = std::isnan(a[n].value), over_b = std::isnan(b[n].value);
        if (over_a && over_b) continue;
        if (over_a != over_b) return 1e9;
        worst = std::max(worst, std::abs(a[n].value - b[n].value) / std::max(a[n].tolerance + b[n].tolerance, 1e-12));
    }
    return worst;
}

Sight sight(const std::vector<Probe>& ill, const std::vector<Probe>& healthy) {
    const double d = distance(ill, healthy);
    return d > 3.0 ? Sight::seen : d > 1.0 ? Sight::weak : Sight::blind;
}

std::vector<std::vector<Probe>> carry_out(const Scenario& scenario, const std::vector<site::Fault>& faults,
                                          double running_s, const FieldTest* only) {
    using enum Station;
    Readings out(field_tests().size());
    const site::Works healthy = site::set_up(scenario);
    const Wanted wanted{healthy, only};
    const Edits edits{.faults = faults};
    if (const std::vector<Station> line{dead, lit, shorted}; wanted.at(line)) {
        Bench off = at_station(scenario, edits, dead);
        carry_out(off, line, wanted, out);
    }
    if (wanted.at({covered})) {
        Bench under_cover = at_station(scenario, edits, dead);
        lead_on(under_cover, covered);
        carry_out(under_cover, {covered}, wanted, out);
    }
    const std::vector<Station> beside{shut, one_covered, lifted, freed}, live{running, bled, warm};
    if (wanted.at(beside) || wanted.at({restarted}) || wanted.at(live)) {
        Bench on = at_station(scenario, edits, running, running_s);
        for (const Station station : beside) {
            if (!wanted.at({station})) continue;
            Bench moved(on);
            lead_on(moved, station);
            carry_out(moved, {station}, wanted, out);
        }
        if (wanted.at({restarted})) {
            Bench started(on);  // from rest, as a restart does
            carry_out(started, {restarted}, wanted, out);
        }
        if (wanted.at(live)) carry_out(on, live, wanted, out);
    }
    for (const Station station : {other, rolled, renewed}) {
        if (!wanted.at({station})) continue;
        Bench changed = at_station(scenario, edits, station, running_s);
        carry_out(changed, {station}, wanted, out);
    }
    return out;
}

std::vector<Signature> blind_map(const Scenario& scenario, const BlindPlan& plan,
                                 const std::function<bool(double)>& progress) {
    const site::Works works = site::set_up(scenario);
    std::vector<Signature> rows;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto places = row.places(works);
        if (places.empty() || (!plan.kind.empty() && plan.kind != row.kind)) continue;
        const auto take = [&](const std::string& place, double severity) {
            rows.push_back({{row.kind, place, severity, 0.0}, row.group, row.title, {}, {}, {}, {}});
        };
        if (plan.kind.empty()) take(places[places.size() / 2], row.usual);
        else
            for (const std::string& place : places)
                for (int n = 0; n < (row.least == row.most ? 1 : 5); ++n) take(place, site::severity_at(row, n / 4.0));
    }
    const Readings healthy = carry_out(scenario, {}, plan.running_s);
    (void)usual_meter(meter::Mode::dcv);  // read from its file once, before there are several
    // What one throws stops the others and comes out here.
    tbb::task_group_context context;
    std::mutex lock;
    std::size_t done = 0;
    tbb::parallel_for(
        std::size_t{0}, rows.size(),
        [&](std::size_t n) {
            rows[n].readings = carry_out(scenario, {rows[n].fault}, plan.running_s);
            const std::lock_guard hold(lock);
            ++done;
            if (context.is_group_execution_cancelled() || !progress) return;
            if (!progress(static_cast<double>(done) / static_cast<double>(rows.size())))
                context.cancel_group_execution();
        },
        context);
    if (context.is_group_execution_cancelled()) return {};
    for (Signature& row : rows)
        for (std::size_t t = 0; t < field_tests().size(); ++t) row.sight.push_back(sight(row.readings[t], healthy[t]));
    // What no test sees is like everything healthy, and a badly held meter is not a fault of the site: neither says
    // much here.
    const auto blind_all = [](const Signature& row) {
        return std::all_of(row.sight.begin(), row.sight.end(), [](Sight s) { return s == Sight::blind; });
    };
    const auto by_hand = [](const Signature& row) { return row.group == "operator and meter"; };
    for (std::size_t a = 0; a < rows.size(); ++a)
        for (std::size_t b = 0; b < rows.size(); ++b) {
            if (a == b || blind_all(rows[a]) || blind_all(rows[b]) || by_hand(rows[a]) || by_hand(rows[b])) continue;
            std::size_t parted = field_tests().size();
            bool by_meter = false;
            for (std::size_t t = 0; t < field_tests().size() && !by_meter; ++t) {
                if (distance(rows[a].readings[t], rows[b].readings[t]) <= 1.0) continue;
                if (field_tests()[t].electrical) by_meter = true;
                else if (parted == field_tests().size()) parted = t;
            }
            if (by_meter) continue;
            if (parted == field_tests().size()) rows[a].alike.push_back(b);
            else rows[a].parted.push_back({b, parted});
        }
    return rows;
}

}  // namespace sunshaft::bench
