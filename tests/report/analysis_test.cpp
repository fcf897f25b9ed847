// Signatures of the running chain: what the text books say stands in which line.
#include "report/analysis.hpp"

#include <cmath>
#include <numbers>

#include "bench/bench.hpp"
#include "catch_shim.hpp"
#include "plant/run.hpp"
#include "site/faults.hpp"
#include "site/load.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {

report::Analysis of(const char* fault, double seconds) {
    const Scenario scenario = site::load_scenario(std::string(SUNSHAFT_SOURCE_DIR) + "/scenarios/hill-orchard.toml");
    bench::Edits edits;
    if (*fault) edits.faults.push_back(site::parse_fault(fault, site::set_up(scenario)));
    bench::Bench bench(scenario, edits);
    bench.settle();
    std::vector<plant::Signal> signals;
    for (const char* name : {"drive.u:drive.v", "drive.v:drive.w", "drive.w:drive.u", "around.u", "around.v",
                             "around.w", "link_V", "torque_N_m", "speed_rpm"})
        signals.push_back(plant::signal(*bench.site(), name));
    plant::Recorder recorder(signals);
    const double f = plant::fundamental(bench.plant(), bench.state());
    bench.advance(seconds, &recorder);
    const auto& motor = std::get<motor::Induction>(bench.site()->works.motor);
    return report::analyse(recorder.recording, {"V", "V", "V", "A", "A", "A", "V", "N m", "rpm"}, f, motor.pole_pairs);
}

}  // namespace

TEST_CASE(
    "Six-step: harmonics 6k +- 1 at 1/n, torque at six times, nothing at twice; one phase lost: torque and link at "
    "twice") {
    const report::Analysis healthy = of("", 0.3);
    REQUIRE(healthy.periods == 10);
    const auto& h = healthy.waves[0].harmonics;
    // N. Mohan, T. M. Undeland, W. P. Robbins, "Power Electronics", square-wave operation: V_h = V_1 / h, h = 6k +- 1.
    // The link sags with the load, hence 3 %.
    for (const std::size_t n : {5u, 7u, 11u, 13u})
        CHECK(std::abs(h[n - 1]) / std::abs(h[0]) == approx(1.0 / static_cast<double>(n)).epsilon(0.03));
    for (const std::size_t n : {2u, 3u, 4u, 6u, 9u}) CHECK(std::abs(h[n - 1]) < 1e-4 * std::abs(h[0]));
    REQUIRE(healthy.ripples.size() == 3);
    const auto& link = healthy.ripples[0];
    const auto& torque = healthy.ripples[1];
    CHECK(torque.share[2] > 0.1);
    CHECK(torque.share[1] < 1e-3);
    CHECK(link.share[1] < 1e-4);
    REQUIRE(healthy.three.size() == 2);
    CHECK(healthy.three[1].factor < 1e-4);
    // Space vector of six-step line voltages: a hexagon, its corners 2/sqrt(3) from its sides.
    CHECK(healthy.three[0].alpha.size() > 6);

    const report::Analysis lost = of("lost-phase@splice.v=1", 0.3);
    CHECK(lost.three[1].factor == approx(1.0).epsilon(1e-3));  // single-phasing: both sequences alike
    CHECK(lost.ripples[1].share[1] > 0.5);                     // torque pulsates at twice the frequency
    CHECK(lost.ripples[0].share[1] > 20 * std::max(link.share[1], 1e-4));
}

TEST_CASE("Broken bars lift the sidebands at twice the slip frequency") {
    const report::Analysis healthy = of("", 2.0), broken = of("broken-bars@motor=0.1", 2.0);
    REQUIRE(healthy.sidebands);
    REQUIRE(broken.sidebands);
    CHECK(*healthy.slip == approx(0.0533).epsilon(0.05));
    CHECK(healthy.sidebands->lower_dB < -80);
    CHECK(broken.sidebands->lower_dB > -45);
    CHECK(broken.sidebands->lower_Hz == approx(50 * (1 - 2 * *broken.slip)).epsilon(1e-9));
}

TEST_CASE("A recording with no known name gives statistics and harmonics, values that do not exist are left out") {
    trace::Recording r;
    r.names = {"CH1", "gap"};
    r.y0.resize(2);
    r.y1.resize(2);
    for (const trace::Segment& s : trace::quasi_square(100, 120, 50, 12)) {
        r.t0.push_back(s.t0);
        r.t1.push_back(s.t1);
        r.y0[0].push_back(s.y0);
        r.y1[0].push_back(s.y1);
        r.y0[1].push_back(NAN);
        r.y1[1].push_back(1);
    }
    const report::Analysis a = report::analyse(r, {"V", ""}, 0, 0);
    REQUIRE(a.waves.size() == 1);
    CHECK(a.frequency_Hz == approx(50).epsilon(1e-6));
    CHECK(a.waves[0].statistics.rms == approx(100 * std::sqrt(2.0 / 3)).epsilon(1e-9));
    CHECK(a.waves[0].total == approx(std::sqrt(std::numbers::pi * std::numbers::pi / 9 - 1)).epsilon(1e-6));  // 31.08 %
    CHECK(a.three.empty());
    CHECK(report::analysis_json(a)["waves"].size() == 1);
    r.y0[0].assign(r.y0[0].size(), NAN);
    CHECK_THROWS_AS(report::analyse(r, {}, 0, 0), std::invalid_argument);
}
