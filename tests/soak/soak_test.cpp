// Nothing a fault can do breaks the run: no crash, no value that is not a number, the energy account closed to 0.1 %,
// no six-step run slower than real time. The sample runs with the fast tests, the whole of it with `sh tests/run.sh
// --soak`.
#include <chrono>
#include <cmath>
#include <random>

#include "bench/bench.hpp"
#include "catch_shim.hpp"
#include "names.hpp"
#include "site/load.hpp"

using namespace sunshaft;

namespace {

constexpr double run_s = 4.0;

struct Tally {
    int runs = 0, light = 0;
    double worst_gap = 0.0, worst_light = 0.0, slowest = 0.0;
    std::string worst = {};
};

// What a run at rated power would turn over: the measure of "light load". The solver's tolerances refer to rated
// currents, so a run that takes a twentieth of rated power or less is held to a ten-thousandth of rated power instead.
double rated_W(const site::Site& healthy) {
    const auto ref = plant::reference(healthy);
    return healthy.source.stiff ? ref[plant::v_cap] * ref[plant::i_alpha] : healthy.source.max_power_W;
}

std::string text(const std::vector<site::Fault>& faults) {
    std::string all;
    for (const auto& f : faults) all += " " + f.kind + "@" + f.place + "=" + std::to_string(f.severity);
    return all;
}

void run(const Scenario& scenario, const std::vector<site::Fault>& faults, double rated, Tally& tally) {
    bench::Edits edits;
    edits.faults = faults;
    bench::Bench b(scenario, edits);
    const auto begin = std::chrono::steady_clock::now();
    b.advance(run_s);
    const double wall = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    const plant::State& s = b.state();
    for (const double x : s.x) REQUIRE(std::isfinite(x));
    const auto look = b.plant().look(s);
    for (const double x : {look.torque, look.head, look.flow, look.nodes.link, look.nodes.bridge_i})
        CHECK(std::isfinite(x));
    for (const double e : s.energy) REQUIRE(std::isfinite(e));

    double turnover = std::abs(b.plant().stored(s) - s.stored_at_start);
    for (std::size_t n = 0; n < plant::energy_size; ++n)
        if (n != plant::in_splice) turnover = std::max(turnover, std::abs(s.energy[n]));
    ++tally.runs;
    const auto m = scenario.drive.modulation;
    tally.slowest = std::max(tally.slowest, wall / run_s);
    if (m == "six-step-180" || m == "six-step-120") CHECK(wall < run_s);
    if (turnover < 1e-3) return;  // nothing moved
    const double gap = std::abs(b.plant().energy_gap(s));
    const bool light = turnover < 0.05 * rated * run_s;
    const double of_rated = gap * turnover / (rated * run_s);
    CHECK((light ? of_rated <= 1e-4 : gap <= 1e-3));
    if (light) ++tally.light, tally.worst_light = std::max(tally.worst_light, of_rated);
    else if (gap > tally.worst_gap) tally.worst_gap = gap, tally.worst = scenario.site.name + text(faults);
}

void report(const char* what, const Tally& t) {
    WARN(what << ": " << t.runs << " runs, worst account gap " << 100 * t.worst_gap << " % (" << t.worst << "), "
              << t.light << " light-load runs (worst " << 100 * t.worst_light << " % of rated power), slowest "
              << t.slowest << " of real time");
}

void random_sets(int count, unsigned seed, const char* what) {
    std::mt19937 random(seed);
    Tally tally;
    std::vector<Scenario> scenarios;
    std::vector<double> rated;
    for (const char* name : shipped_names) {
        scenarios.push_back(site::load_scenario(site::find_scenario(name)));
        rated.push_back(rated_W(*site::compile_site(scenarios.back())));
    }
    for (int n = 0; n < count; ++n) {
        const Scenario& s = scenarios[static_cast<std::size_t>(n) % scenarios.size()];
        site::Works w = site::set_up(s);
        std::vector<site::Fault> faults;
        while (faults.size() < static_cast<std::size_t>(2 + (n / 5) % 2)) {
            const auto& row = site::fault_catalogue()[random() % site::fault_catalogue().size()];
            const auto places = row.places(w);
            if (places.empty()) continue;
            const site::Fault f{row.kind, places[random() % places.size()],
                                site::severity_at(row, static_cast<double>(random() % 5) / 4), 0.0};
            site::apply(w, f);  // the next one is chosen from what is still there
            faults.push_back(f);
        }
        INFO(s.file << text(faults));
        CHECK_NOTHROW(run(s, faults, rated[static_cast<std::size_t>(n) % rated.size()], tally));
    }
    report(what, tally);
}

void singles(const std::vector<double>& shares, int step, const char* what) {
    Tally tally;
    int n = 0;
    for (const char* name : shipped_names) {
        const Scenario s = site::load_scenario(site::find_scenario(name));
        const site::Works w = site::set_up(s);
        const double rated = rated_W(*site::compile_site(s));
        for (const auto& row : site::fault_catalogue()) {
            const auto places = row.places(w);
            double last = std::nan("");
            for (const double share : shares) {
                const double value = site::severity_at(row, share);
                if (places.empty() || value == last) continue;
                last = value;
                if (n++ % step) continue;
                const std::vector<site::Fault> faults = {
                    {row.kind, places[static_cast<std::size_t>(n) % places.size()], value, 0.0}};
                INFO(s.file << text(faults));
                CHECK_NOTHROW(run(s, faults, rated, tally));
            }
        }
    }
    report(what, tally);
}

}  // namespace

TEST_CASE("a sample of faults, alone and together", "[sample]") {
    singles({0.0, 0.25, 0.5, 0.75, 1.0}, 23, "sample of single faults");
    random_sets(40, 20260, "sample of pairs and triples");
}

TEST_CASE("every fault at five severities on every shipped site", "[.soak]") {
    singles({0.0, 0.25, 0.5, 0.75, 1.0}, 1, "single faults");
}

TEST_CASE("two thousand random pairs and triples", "[.soak]") { random_sets(2000, 4711, "pairs and triples"); }
