#include "day/when.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#include "bench/field_tests.hpp"
#include "text/language.hpp"

namespace sunshaft::day {
namespace {

constexpr double dusk = 20.0;             // W/m2, enough to see by (common practice, no source)
constexpr double carries = 0.25;          // of the rated current
constexpr double shortest_s = 10 * 60.0;  // worth going there for

std::vector<Open> stretches(const std::vector<Mark>& marks, const std::function<bool(const Mark&)>& holds) {
    std::vector<Open> list;
    bool in = false;
    for (const Mark& m : marks) {
        const bool now = !m.gap && holds(m);
        if (now && !in) list.push_back({m.t, m.t});
        if (in || now) list.back().to = m.t;
        in = now;
    }
    std::erase_if(list, [](const Open& o) { return o.to - o.from < shortest_s; });
    return list;
}

// The weakest light in which it went on, W/m2.
double least_sun(const std::vector<Mark>& marks, const std::vector<Open>& open) {
    double least = missing;
    for (const Mark& m : marks)
        if (std::any_of(open.begin(), open.end(), [&](const Open& o) { return o.from <= m.t && m.t < o.to; }))
            least = std::isnan(least) ? m.plane : std::min(least, m.plane);
    return least;
}

// What eyes and noses find without the pump running.
bool looked_at_rest(const std::string& gauge, When& w, const std::vector<Open>& daylight) {
    if (gauge == "tank" || gauge == "smell") {
        w.why = tr("by eye or nose, whether it runs or not");
        return true;
    }
    if (!gauge.starts_with("modules") && gauge != "lamps" && !gauge.starts_with("drive_")) return false;
    w.needs = Needs::daylight, w.open = daylight, w.why = tr("by daylight, whether it runs or not");
    return true;
}

}  // namespace

std::vector<When> when(const Scenario& scenario, const site::Works& works, const Result& result) {
    using bench::Station, text::tr;
    const double rated = scenario.drive.motor_current_A;
    const auto light = stretches(result.marks, [](const Mark& m) { return m.plane >= bright; });
    const auto runs =
        stretches(result.marks, [](const Mark& m) { return drive::turning(m.phase) && !m.standing && m.speed != 0.0; });
    const auto loaded = stretches(result.marks, [&](const Mark& m) {
        return drive::turning(m.phase) && !m.standing && m.speed != 0.0 && m.line_A >= carries * rated;
    });
    const auto water = stretches(result.marks, [](const Mark& m) { return m.out > 1e-6; });
    const auto daylight = stretches(result.marks, [](const Mark& m) { return m.plane >= dusk; });
    std::vector<When> list;
    for (const bench::FieldTest& test : bench::field_tests()) {
        if (test.observations(works).empty()) continue;
        When w{test.id, tr(test.name), "", Needs::nothing, {}};
        switch (test.station) {
            case Station::dead: w.why = tr("on a dead circuit, at any hour"); break;
            case Station::covered: w.why = tr("under a cover, at any hour"); break;
            case Station::lit:
            case Station::shorted:
                w.needs = Needs::light, w.open = light;
                w.why = tr("from 200 W/m2 on; good volts in weak light are no proof of a good array");
                break;
            case Station::running:
            case Station::restarted:
            case Station::shut:
            case Station::rolled:
            case Station::renewed:
            case Station::one_covered:
            case Station::lifted:
                if (test.station == Station::running &&
                    looked_at_rest(test.observations(works).front().gauge, w, daylight))
                    break;
                w.needs = test.electrical ? Needs::current : Needs::water;
                w.open = test.electrical ? loaded : water;
                w.why = test.electrical ? tr("while a quarter of the rated current or more flows")
                                        : tr("while water comes");
                w.least_sun = least_sun(result.marks, w.open);
                break;
            case Station::freed:
                w.needs = Needs::light, w.open = light, w.why = tr("from 200 W/m2 on: a drive that is let go starts");
                break;
            case Station::other: w.why = tr("on the second supply, at any hour"); break;
            case Station::bled:
            case Station::warm: w.needs = Needs::has_run, w.open = runs, w.why = tr("right after it has run"); break;
        }
        list.push_back(w);
    }
    return list;
}

}  // namespace sunshaft::day
