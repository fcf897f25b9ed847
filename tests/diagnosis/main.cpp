// How often the suspects are right: sites drawn with tolerances of their own, a fault of any severity put in, readings
// taken by the live solver as people take them, and the first answers counted. Prints what comes out, whatever it is.
//
//   sunshaft-bench-diagnosis [--cases N] [--seed S] [--site NAME] [--play yes]
//
// The tolerances are wider and heavier-tailed than those the weighing assumes (Student t with 4 degrees of freedom),
// the meter has a gain error of its own, severities are drawn evenly over the range, off every grid. Half of the faults
// are drawn by the priors, half evenly over the kinds. Every case is read in three visits: clamps and water, winding
// ohms, insulation; or, played, from the complaint on by what is proposed next. Not part of the fast tests.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <random>
#include <string>

#include "bench/field_tests.hpp"
#include "diagnose/posterior.hpp"
#include "diagnose/suspects.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/figure.hpp"

using namespace sunshaft;

namespace {

struct Truth {
    std::string kind, place;
    double severity = 1.0;
    std::string where;
};

double heavy(std::mt19937_64& dice) {
    std::student_t_distribution<double> t(4.0);
    return t(dice);
}

// The site as it really stands: each nuisance a random share of its deviation, the sky as well.
Scenario drawn(const Scenario& written, std::mt19937_64& dice) {
    Scenario real = written;
    for (const diagnose::Nuisance& n : diagnose::nuisances(written)) {
        if (n.sky) continue;
        Scenario moved = written;
        site::set_keys(moved, n.set);
        const double much = std::clamp(1.2 * heavy(dice), -4.0, 4.0);
        for (const std::string& set : n.set) {
            const site::Key* key = site::find_key(set.substr(0, set.find('=')));
            const site::Value a = site::get(written, *key), b = site::get(moved, *key);
            if (!std::holds_alternative<double>(a)) continue;
            const double x = std::get<double>(a) + much * (std::get<double>(b) - std::get<double>(a));
            Scenario trial = real;
            try {
                site::put(trial, *key, x);
                real = trial;
            } catch (const site::BadInput&) {
            }
        }
    }
    return real;
}

// What a person writes down.
std::string written_down(const bench::Seen& s, double gain, std::mt19937_64& dice) {
    std::normal_distribution<double> normal;
    if (s.gauge)
        return s.what.gauge == "flow"   ? fmt::format("{:.1f} m3/h", 3600 * s.gauge->value * (1 + 0.02 * normal(dice)))
               : !s.gauge->says.empty() ? s.gauge->says
                                        : s.gauge->shown();
    if (!s.reading) return "not measured";
    if (s.reading->over_range || !s.reading->value) return s.reading->over_range ? "OL" : "not measured";
    return text::quantity(*s.reading->value * (1 + gain), std::string(meter::unit_of(s.what.mode)), 3);
}

// act: what is done first; those of a dead station where none is told.
void add(diagnose::Case& c, const Scenario& real, const std::vector<site::Fault>& faults, const std::string& test,
         double gain, std::mt19937_64& dice, const std::vector<std::string>* act = nullptr) {
    const bench::FieldTest& row = *bench::find_test(test);
    const auto looks = row.observations(site::set_up(real));
    if (looks.empty()) return;
    bench::Bench there = bench::at_station(real, {.faults = faults}, row.station);
    if (row.station == bench::Station::running) there.settle();
    for (const bench::Seen& s : bench::observe(there, looks)) {
        diagnose::Seen seen;
        if (act) seen.act = *act;
        else if (row.station != bench::Station::running)
            seen.act = {there.site()->works.supply.kind == site::Supply::Kind::array ? "open@isolator" : "stop@drive",
                        "pull@pump"};
        seen.red = s.what.probes.red;
        seen.black = s.what.probes.black;
        seen.around = s.what.probes.around;
        seen.gauge = s.what.gauge;
        if (row.station == bench::Station::shut) seen.after_s = 5.0;
        if (row.station == bench::Station::bled) seen.after_s = 20.0;
        if (s.what.gauge.empty()) seen.mode = meter::mode_name(s.what.mode);
        seen.shown = written_down(s, gain, dice);
        c.seen.push_back(seen);
    }
}

// Two-sided 95 % (Wilson 1927).
std::pair<double, double> wilson(int k, int n) {
    const double z = 1.959963984540054, p = static_cast<double>(k) / n, d = 1 + z * z / n;
    const double middle = (p + z * z / (2 * n)) / d, half = z / d * std::sqrt(p * (1 - p) / n + z * z / (4.0 * n * n));
    return {middle - half, middle + half};
}

// Whether a fault costs no water now, and endangers nothing: it cannot be told from health, nor need it be.
bool harmless(const Scenario& real, const std::vector<site::Fault>& faults, const diagnose::Priors& priors) {
    if (faults.empty() || !priors.harmless(faults.front().kind)) return false;
    const auto flow = [&](const std::vector<site::Fault>& with) {
        bench::Bench b(real, {.faults = with});
        b.settle();
        return b.gauge("flow", false).value;
    };
    const double good = flow({});
    return good > 0.0 && flow(faults) > (1.0 - priors.harmless_water) * good;
}

// From the complaint on, doing what is proposed: visits until the true kind, or one of its group, leads; the minutes.
struct Played {
    int found_at = 0;  // visits; 0: not within most_visits
    int visits = 0;
    double minutes = 0.0;
    std::string path, leads, advice;
    bool wrong_lift = false;
};
Played play(const std::string& name, const Scenario& real, const std::vector<site::Fault>& faults, const Truth& truth,
            const diagnose::Priors& priors, double sun, std::mt19937_64& dice) {
    constexpr int most_visits = 6;
    Played out;
    diagnose::Case c;
    c.site = name;
    c.irradiance = sun;
    c.sky_source = "in-plane meter";
    add(c, real, faults, "bucket", 0.0, dice);
    add(c, real, faults, "lamps", 0.0, dice);
    std::map<std::string, double> gains;  // one meter a mode
    for (out.visits = 0;; ++out.visits) {
        diagnose::Diagnosis d(c, priors, diagnose::cache_folder());
        const diagnose::Answer a = d.answer();
        const diagnose::Suspect& top = a.suspects.front();
        const auto kind = [](const std::string& group) { return group.substr(0, group.find('@')); };
        // A healthy site that rightly waits is one.
        const bool right = top.fault == truth.kind || (truth.where == "waiting" && top.where == "waiting") ||
                           std::any_of(a.suspects.begin(), a.suspects.end(), [&](const auto& s) {
                               return s.fault == truth.kind && s.group == top.group && s.probability > 0.02;
                           });
        if (right && !out.found_at) out.found_at = out.visits + 1;
        if (!right) out.found_at = 0;
        out.leads = fmt::format("{} {:.2f}", kind(top.group), top.probability);
        out.advice = a.stop.advice;
        if (out.visits == most_visits || a.next.empty() || a.next.front().gain_bits < 0.05 ||
            (a.stop.advice != "measure" && a.stop.advice != "repeat" && out.visits > 0))
            break;
        const diagnose::Proposal& next = a.next.front();
        out.minutes += next.minutes;
        out.path += (out.path.empty() ? "" : ", ") + next.test;
        auto& gain = gains
                         .try_emplace(next.what.gauge + std::string(meter::mode_name(next.what.mode)),
                                      next.what.gauge.empty() ? 0.01 * heavy(dice) : 0.0)
                         .first->second;
        const std::size_t before = c.seen.size();
        add(c, real, faults, next.test, gain, dice, &next.act);
        if (c.seen.size() == before) break;
    }
    if (out.found_at) out.found_at = std::max(1, out.found_at - 1);
    out.wrong_lift = out.advice == "lift" && truth.where != "bore";
    return out;
}

struct Count {
    int cases = 0, first = 0, third = 0, right_where = 0;
    double said = 0.0, log_score = 0.0, minutes = 0.0;
    int visits = 0;
};
void print(const std::string& name, const Count& n) {
    if (!n.cases) return;
    const auto line = [&](const char* what, int k) {
        const auto [low, high] = wilson(k, n.cases);
        fmt::print("  {:<28} {:>3} of {:<3} {:.2f} ({:.2f} to {:.2f})\n", what, k, n.cases,
                   static_cast<double>(k) / n.cases, low, high);
    };
    fmt::print("{}\n", name);
    line("true kind first", n.first);
    line("true kind in first three", n.third);
    line("true where most probable", n.right_where);
    fmt::print("  {:<28} {:.2f}\n  {:<28} {:.2f} nat (even over six: 1.79)\n", "mean chance said of the first",
               n.said / n.cases, "log score of where", n.log_score / n.cases);
}

}  // namespace

int main(int argc, char** argv) {
    int cases = 20;
    unsigned long seed = 1;
    std::string name = "hill-orchard";
    bool plays = false;
    for (int n = 1; n + 1 < argc; n += 2) {
        const std::string option = argv[n];
        if (option == "--cases") cases = std::atoi(argv[n + 1]);
        else if (option == "--seed") seed = std::strtoul(argv[n + 1], nullptr, 10);
        else if (option == "--site") name = argv[n + 1];
        else if (option == "--play") plays = std::string_view(argv[n + 1]) != "no";
        else return fmt::print(stderr, "{}: expected --cases, --seed, --site or --play\n", option), 2;
    }
    const Scenario scenario = site::load_scenario(site::find_scenario(name));
    const site::Works works = site::set_up(scenario);
    const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    std::vector<const site::FaultRow*> rows;
    std::vector<double> weights;
    for (const site::FaultRow& row : site::fault_catalogue())
        if (!row.places(works).empty() && std::string_view(row.group) != "operator and meter") {
            rows.push_back(&row);
            const auto at = priors.fault.find(row.kind);
            weights.push_back(at == priors.fault.end() ? 1.0 : at->second);
        }
    std::mt19937_64 dice(seed);
    std::map<std::string, Count> counts;
    std::map<std::string, std::map<std::string, int>> confusion;
    std::map<int, std::pair<int, int>> calibration;  // by tenth of the chance said: cases, right
    for (int n = 0; n < cases; ++n) {
        Truth truth{"health", "", 1.0, "waiting"};
        std::vector<site::Fault> faults;
        const std::string part = n % 5 == 4 ? "healthy" : n % 2 ? "drawn evenly over kinds" : "drawn by the priors";
        if (n % 5 != 4) {
            std::discrete_distribution<std::size_t> by_prior(weights.begin(), weights.end());
            const site::FaultRow& row = *rows[n % 2 ? dice() % rows.size() : by_prior(dice)];
            const auto places = row.places(works);
            truth.kind = row.kind;
            truth.place = places[dice() % places.size()];
            std::uniform_real_distribution<double> share(0.1, 0.95);
            truth.severity = row.least == row.most ? row.usual : site::severity_at(row, share(dice));
            truth.where = priors.place_of(row.kind, row.group, truth.place);
            faults.push_back({truth.kind, truth.place, truth.severity, 0.0});
        }
        Scenario real = drawn(scenario, dice);
        // Every case is read under one sky, so that what is computed serves all; the meter in its plane is off by some.
        real.sun.irradiance_W_m2 *= 1 + 0.03 * std::normal_distribution<double>()(dice);
        if (plays) {
            try {
                const bool mild = harmless(real, faults, priors);
                if (mild) truth.where = "waiting";
                const Played x = play(name, real, faults, truth, priors, works.array.irradiance, dice);
                for (const std::string& to : {mild ? std::string("costs nothing now") : part, std::string("all")}) {
                    Count& k = counts[to];
                    ++k.cases;
                    k.first += x.found_at > 0;
                    k.third += x.wrong_lift;
                    k.minutes += x.minutes;
                    k.visits += x.visits;
                }
                fmt::print("{:>3} {:<24} {:<12} {:>10.4g}  {:<12} -> {:<34} {:<8} {} {:3.0f} min: {}\n", n, truth.kind,
                           truth.place, truth.severity, truth.where, x.leads, x.advice,
                           x.found_at ? fmt::format("after {}", x.found_at) : std::string("missed "), x.minutes,
                           x.path);
            } catch (const std::exception& why) {
                fmt::print("{} {}: not played: {}\n", truth.kind, truth.place, why.what());
            }
            std::fflush(stdout);
            continue;
        }
        diagnose::Case c;
        c.site = name;
        if (works.supply.kind == site::Supply::Kind::array) c.irradiance = works.array.irradiance;
        c.sky_source = "in-plane meter";
        try {
            add(c, real, faults, "line-clamps", 0.01 * heavy(dice), dice);
            add(c, real, faults, "bucket", 0.0, dice);
            add(c, real, faults, "winding-ohms", 0.005 * heavy(dice), dice);
            add(c, real, faults, "cable-insulation", 0.05 * heavy(dice), dice);
        } catch (const std::exception& why) {
            fmt::print("{} {}: not read: {}\n", truth.kind, truth.place, why.what());
            continue;
        }
        diagnose::Diagnosis d(c, priors, diagnose::cache_folder());
        const diagnose::Answer a = d.answer({}, false);
        const auto most = std::max_element(a.where.begin(), a.where.end()) - a.where.begin();
        const auto true_where =
            std::find(diagnose::wheres.begin(), diagnose::wheres.end(), truth.where) - diagnose::wheres.begin();
        const bool first = a.suspects.front().fault == truth.kind;
        bool third = false;
        for (std::size_t k = 0; k < 3 && k < a.suspects.size(); ++k) third = third || a.suspects[k].fault == truth.kind;
        for (const std::string& to : {part, std::string("all")}) {
            Count& k = counts[to];
            ++k.cases;
            k.first += first;
            k.third += third;
            k.right_where += most == true_where;
            k.said += a.suspects.front().probability;
            k.log_score -= std::log(std::max(1e-6, a.where[static_cast<std::size_t>(true_where)]));
        }
        auto& bin = calibration[std::min(9, static_cast<int>(10 * a.where[static_cast<std::size_t>(most)]))];
        ++bin.first;
        bin.second += most == true_where;
        ++confusion[truth.where][diagnose::wheres[static_cast<std::size_t>(most)]];
        fmt::print("{:>3} {:<24} {:<12} {:>10.4g}  {:<12} -> {:<24} {:<10} {:.2f}  {} {:.2f}{}\n", n, truth.kind,
                   truth.place, truth.severity, truth.where, a.suspects.front().fault, a.suspects.front().place,
                   a.suspects.front().probability, diagnose::wheres[static_cast<std::size_t>(most)],
                   a.where[static_cast<std::size_t>(most)],
                   first   ? ""
                   : third ? "  (third)"
                           : "  (missed)");
        std::fflush(stdout);
    }
    if (plays) {
        fmt::print("\n{}, {} cases, seed {}: from the complaint on, six visits at most\n", name, cases, seed);
        for (const auto& [part, k] : counts) {
            const auto [low, high] = wilson(k.first, k.cases);
            fmt::print("{}: found {} of {}, {:.2f} ({:.2f} to {:.2f}); visits {:.1f}, minutes {:.0f}; wrong lifts {}\n",
                       part, k.first, k.cases, static_cast<double>(k.first) / k.cases, low, high,
                       static_cast<double>(k.visits) / k.cases, k.minutes / k.cases, k.third);
        }
        return 0;
    }
    fmt::print("\n{}, {} cases, seed {}: clamps, bucket, winding ohms, insulation\n", name, cases, seed);
    for (const auto& [part, n] : counts) print(part, n);
    fmt::print("where, by the chance said of the most probable: cases, share right\n");
    for (const auto& [tenth, n] : calibration)
        fmt::print("  {:.1f} to {:.1f}  {:>3}  {:.2f}\n", tenth / 10.0, tenth / 10.0 + 0.1, n.first,
                   static_cast<double>(n.second) / n.first);
    fmt::print("true where -> most probable where\n");
    for (const auto& [from, row] : confusion)
        for (const auto& [to, n] : row) fmt::print("  {:<14} {:<14} {}\n", from, to, n);
    return 0;
}
