#include "diagnose/hypotheses.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "diagnose/facts.hpp"
#include "diagnose/places.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

// Shares of a range that are computed first; more come where they matter.
constexpr double shares[] = {0.08, 0.32, 0.55, 1.0};

bool of_a_module(const std::string& place) { return place.size() > 3 && place.find(".m") != std::string::npos; }
// "s1.m3-" -> "s1.m3"
std::string module_of(const std::string& place) {
    std::size_t end = place.find(".m") + 2;
    while (end < place.size() && place[end] >= '0' && place[end] <= '9') ++end;
    return place.substr(0, end);
}

// Places that cannot be told apart by what has been looked at share one computation.
std::vector<std::vector<std::string>> stand_ins(const site::FaultRow& row, const std::vector<std::string>& places,
                                                const std::set<std::string>& touched) {
    std::vector<std::vector<std::string>> out;
    std::map<std::string, std::vector<std::string>> strings;
    for (const std::string& place : places) {
        if (!of_a_module(place) || touched.contains(module_of(place))) out.push_back({place});
        else strings[place.substr(0, place.find('.'))].push_back(place);
    }
    for (auto& [string, list] : strings) {
        // A leak to the frame is told by where along the string it sits.
        const bool along = std::string_view(row.unit).find("to the frame") != std::string_view::npos;
        const std::size_t parts = along ? std::min<std::size_t>(3, list.size()) : 1;
        for (std::size_t p = 0; p < parts; ++p) {
            const std::size_t from = p * list.size() / parts, to = (p + 1) * list.size() / parts;
            std::vector<std::string> some(list.begin() + static_cast<std::ptrdiff_t>(from),
                                          list.begin() + static_cast<std::ptrdiff_t>(to));
            std::swap(some.front(), some[some.size() / 2]);
            out.push_back(std::move(some));
        }
    }
    return out;
}

std::string assignment(std::string_view key, double value) { return fmt::format("{}={}", key, text::plain(value)); }

double weight(const std::map<std::string, double>& table, const std::string& name, double otherwise) {
    const auto at = table.find(name);
    return at == table.end() ? otherwise : at->second;
}

// Conductor sizes one can buy, mm2 (IEC 60228).
double next_size(double mm2, int up) {
    constexpr double sizes[] = {0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70};
    const double* at = std::lower_bound(std::begin(sizes), std::end(sizes), mm2 - 1e-9);
    const auto n = (at - std::begin(sizes)) + up;
    return n < 0 || n >= static_cast<std::ptrdiff_t>(std::size(sizes)) ? 0.0 : sizes[n];
}

class Builder {
  public:
    Builder(const Scenario& s, const Case& c, const Priors& p, bool dusk, bool rough)
        : scenario_(s), works_(site::set_up(s)), case_(c), priors_(p), dusk_(dusk), rough_(rough) {}

    std::vector<Cause> build() {
        alone("health", text::id("nothing: the site is healthy"), {{}});
        waiting();
        data();
        alone("nothing-here-fits", text::id("something this program does not know"), {{}});
        double special = 0.0;
        for (const Cause& c : list_)
            if (c.fault != "low-sun" || !dusk_) special += c.prior;
        faults(std::max(5.0, 100.0 - special));
        double sum = 0.0;
        std::vector<std::string> before;  // what was there is weighed as a reading
        for (const std::string& said : case_.intake) {
            const auto sensed = sensed_in_passing(said);
            if (!sensed || sensed->gauge == "outlet") before.push_back(said);  // "no water comes since the lightning"
        }
        for (Cause& c : list_) {
            const std::string key = c.fault;
            c.prior *= priors_.times(key, before) * after_repairs(c);
            sum += c.prior;
        }
        for (Cause& c : list_) c.prior /= sum;
        for (const std::string& kind : case_.mended) beside(kind);
        return std::move(list_);
    }

  private:
    // A repair that changed nothing was the wrong one, or was not well made. One that helped may have helped by the
    // restart alone.
    double after_repairs(const Cause& c) const {
        double all = 1.0;
        for (const Tried& t : case_.tried) {
            const auto what = t.what();
            if (what == Tried::What::unknown || !site::find_fault(t.fault)) continue;
            const double covered =
                t.fault != c.fault
                    ? 0.0
                    : static_cast<double>(std::count_if(
                          c.places.begin(), c.places.end(),
                          [&](const std::string& place) { return t.place.empty() || one_place(place, t.place); })) /
                          static_cast<double>(c.places.size());
            const double fails = priors_.repair_fails, by_itself = priors_.well_by_restart;
            all *=
                what == Tried::What::well ? covered + (1.0 - covered) * by_itself : covered * fails + (1.0 - covered);
        }
        return all;
    }

    // What was there and is mended came with others, perhaps.
    void beside(const std::string& kind) {
        const auto first = std::find_if(list_.begin(), list_.end(), [&](const Cause& c) { return c.fault == kind; });
        if (first == list_.end() || !(priors_.two_at_once > 0.0)) return;
        std::vector<double> with;
        double sum = 0.0;
        for (std::size_t k = 0; k < list_.size(); ++k)
            sum += with.emplace_back(second(list_, priors_, static_cast<std::size_t>(first - list_.begin()), k));
        for (std::size_t k = 0; k < list_.size(); ++k) list_[k].prior = with[k] / sum;
    }

    // Of a range: none of it, which is as good as the healthy site and known, and all of it, either way.
    static std::vector<Cause::Point> ends(const site::FaultRow& row, const std::string& place) {
        const std::optional<double> nothing = site::nothing_at(row);
        std::vector<Cause::Point> points;
        if (!nothing || *nothing > 0.0) points.push_back(point(row, place, 0.0));
        if (nothing) points.push_back({*nothing, site::severity_at(row, *nothing), {}});
        if (!nothing || *nothing < 1.0) points.push_back(point(row, place, 1.0));
        return points;
    }

    // Sets of keys that belong together, each a case by itself; those a site cannot have are left out.
    std::vector<Cause::Point> possible(const std::vector<std::vector<std::string>>& sets) const {
        std::vector<Cause::Point> points;
        for (const auto& set : sets) {
            try {
                Scenario trial = scenario_;
                site::set_keys(trial, set);
                (void)site::set_up(trial);
                points.push_back({0.0, 1.0, {set, {}}});
            } catch (const site::BadInput&) {
            }
        }
        return points;
    }
    void alone(const std::string& name, const std::string& title, const std::vector<std::vector<std::string>>& sets,
               const std::string& place = "", double share = 1.0) {
        Cause c{name, {place}, title, priors_.place_of(name, name, place), 0.0, false, possible(sets)};
        c.prior = weight(priors_.cause, name, 2.0) * share;
        if (!c.points.empty() && c.prior > 0.0) list_.push_back(std::move(c));
    }

    void waiting() {
        const Scenario& s = scenario_;
        const bool array = works_.supply.kind == site::Supply::Kind::array, pump = works_.water.pump.index() != 0;
        if (array) {
            std::vector<std::vector<std::string>> sets;
            for (const double share : {0.05, 0.15, 0.25, 0.4})
                sets.push_back({assignment("sun.irradiance_W_m2", share * s.sun.irradiance_W_m2)});
            if (dusk_) sets = {{}};  // as it stands
            alone("low-sun", text::id("too little sun: rightly waiting"), sets, "",
                  dusk_ ? weight(priors_.cause, "low-sun-now", 200.0) / weight(priors_.cause, "low-sun", 5.0) : 1.0);
        }
        if (pump && s.tank.float_switch) alone("full-tank", text::id("tank full: rightly waiting"), {{"tank.fill=1"}});
        if (pump) {
            const double probe = works_.guards.probe_depth, intake = s.well.pump_depth_m;
            std::vector<std::vector<std::string>> sets;
            std::vector<double> levels = {probe + 0.3, 0.5 * (probe + intake), intake + 0.3};
            for (const double share : {0.2, 0.4, 0.6, 0.8})
                levels.push_back(s.well.static_level_m + share * (probe - s.well.static_level_m));
            std::sort(levels.begin(), levels.end());
            for (const double level : levels) sets.push_back({assignment("well.static_level_m", level)});
            alone("low-water", text::id("water low in the well: rightly waiting"), sets);
        }
        if (works_.supply.kind == site::Supply::Kind::mains) return;
        std::vector<std::vector<std::string>> sets = {{"drive.enabled=false"},
                                                      {assignment("drive.frequency_Hz", 0.7 * s.drive.frequency_Hz)}};
        if (s.drive.start_voltage_V > 0)
            sets.push_back({assignment("drive.start_voltage_V", 1.25 * s.drive.start_voltage_V)});
        alone("setting", text::id("a setting of the drive: its run switch, its speed or its start voltage"), sets);
    }

    void data() {
        const Scenario& s = scenario_;
        struct Row {
            std::string key, title;
            std::vector<std::vector<std::string>> sets;
        };
        std::vector<Row> rows;
        const auto around = [](std::string_view key, std::initializer_list<double> values) {
            std::vector<std::vector<std::string>> sets;
            for (const double v : values)
                if (v > 0.0) sets.push_back({assignment(key, v)});
            return sets;
        };
        if (works_.supply.kind == site::Supply::Kind::array) {
            const double n = s.array.modules_in_series, strings = s.array.strings;
            rows.push_back({"array.modules_in_series", text::id("another number of modules than written"),
                            around("array.modules_in_series", {n - 1, n + 1})});
            rows.push_back({"array.strings", text::id("another number of strings than written"),
                            around("array.strings", {strings - 1, strings + 1})});
            if (s.array.module.empty() && !(s.array.module_photocurrent_A > 0)) {
                Row other{"array.module", text::id("other modules than written"), {}};
                for (const double f : {0.9, 1.1})
                    other.sets.push_back({assignment("array.module_voc_V", f * s.array.module_voc_V),
                                          assignment("array.module_vmp_V", f * s.array.module_vmp_V)});
                for (const double f : {0.9, 1.1})
                    other.sets.push_back({assignment("array.module_isc_A", f * s.array.module_isc_A),
                                          assignment("array.module_imp_A", f * s.array.module_imp_A)});
                rows.push_back(std::move(other));
            }
        }
        rows.push_back({"drop_cable.length_m", text::id("another length of pump cable than written"),
                        around("drop_cable.length_m", {0.75 * s.drop_cable.length_m, 1.33 * s.drop_cable.length_m})});
        rows.push_back({"drop_cable.conductor_mm2", text::id("another size of pump cable than written"),
                        around("drop_cable.conductor_mm2",
                               {next_size(s.drop_cable.conductor_mm2, -1), next_size(s.drop_cable.conductor_mm2, 1)})});
        Row motor{"motor.stator_resistance_ohm", text::id("another motor than written, or star for delta"), {}};
        for (const double f : {1 / 3.0, 0.8, 1.25, 3.0}) {
            std::vector<std::string> set = {
                assignment("motor.stator_resistance_ohm", f * s.motor.stator_resistance_ohm)};
            if (site::has_cage(works_.motor))
                for (const auto& [key, value] : {std::pair{"motor.stator_leakage_H", s.motor.stator_leakage_H},
                                                 {"motor.rotor_leakage_H", s.motor.rotor_leakage_H},
                                                 {"motor.magnetizing_H", s.motor.magnetizing_H},
                                                 {"motor.rotor_resistance_ohm", s.motor.rotor_resistance_ohm}})
                    set.push_back(assignment(key, f * value));
            motor.sets.push_back(std::move(set));
        }
        rows.push_back(std::move(motor));
        if (works_.water.pump.index() != 0)
            rows.push_back({"well.static_level_m", text::id("another depth of the water than written"),
                            around("well.static_level_m", {0.8 * s.well.static_level_m, 1.2 * s.well.static_level_m})});
        for (const Row& row : rows)
            alone("site-data", row.title, row.sets, row.key, 1.0 / static_cast<double>(rows.size()));
    }

    void faults(double together) {
        std::set<std::string> touched;
        for (const Seen& s : case_.seen)
            for (const std::string* point : {&s.red, &s.black})
                if (of_a_module(*point)) touched.insert(module_of(*point));
        double sum = 0.0;
        for (const site::FaultRow& row : site::fault_catalogue())
            if (!row.places(works_).empty()) sum += weight(priors_.fault, row.kind, 1.0);
        for (const site::FaultRow& row : site::fault_catalogue()) {
            const auto places = row.places(works_);
            if (places.empty() || !(weight(priors_.fault, row.kind, 1.0) > 0.0)) continue;  // 0: never
            const double prior = together * weight(priors_.fault, row.kind, 1.0) / sum;
            for (auto& some : stand_ins(row, places, touched)) {
                Cause c;
                c.fault = row.kind;
                c.title = row.title;
                c.places = some;
                c.where = priors_.place_of(row.kind, row.group, some.front());
                c.prior = prior * static_cast<double>(some.size()) / static_cast<double>(places.size());
                c.graded = row.least != row.most;
                if (c.graded && rough_) c.points = ends(row, some.front());
                else if (c.graded)
                    for (const double share : shares) c.points.push_back(point(row, some.front(), share));
                else c.points.push_back({0.0, row.usual, {{}, {{row.kind, some.front(), row.usual, 0.0}}}});
                list_.push_back(std::move(c));
            }
        }
    }

    const Scenario& scenario_;
    site::Works works_;
    const Case& case_;
    const Priors& priors_;
    bool dusk_, rough_;
    std::vector<Cause> list_;
};

}  // namespace

Cause::Point point(const site::FaultRow& row, const std::string& place, double share) {
    const double severity = site::severity_at(row, share);
    return {share, severity, {{}, {{row.kind, place, severity, 0.0}}}};
}

std::vector<Cause> causes(const Scenario& scenario, const Case& c, const Priors& priors, bool dusk, bool rough) {
    return Builder(scenario, c, priors, dusk, rough).build();
}

double second(const std::vector<Cause>& causes, const Priors& priors, std::size_t first, std::size_t second) {
    double with = priors.two_at_once * causes[second].prior;
    for (const Priors::Common& event : priors.common) {
        const auto brings = [&](const std::string& kind) {
            return std::find(event.of.begin(), event.of.end(), kind) != event.of.end();
        };
        const std::string &one = causes[first].fault, &other = causes[second].fault;
        if (one == other || !brings(one) || !brings(other)) continue;
        double others = 0.0;
        for (const Cause& c : causes)
            if (c.fault != one && brings(c.fault)) others += c.prior;
        with += event.share * causes[second].prior / others;
    }
    return with;
}

Scenario under_its_sky(Scenario s, const Case& c) {
    if (std::isfinite(c.irradiance)) s.sun.irradiance_W_m2 = c.irradiance;
    if (std::isfinite(c.module_degC)) s.sun.module_temperature_degC = c.module_degC;
    return s;
}

}  // namespace sunshaft::diagnose
