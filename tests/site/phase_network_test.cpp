// The eliminated motor side against the full circuit, and the free directions.
#include <cmath>
#include <random>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "site/phase_network.hpp"
#include "site/points.hpp"
#include "site/wiring.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;

namespace {

constexpr std::array<const char*, 4> stems = {"drive", "lead", "cable", "motor"};
constexpr LegDrive device = LegDrive::device, diode = LegDrive::diode, floating = LegDrive::floating;

PhaseNetwork network(const Works& w, double on_resistance) {
    circuit::Circuit c;
    wire_ac(w, c);
    return PhaseNetwork(c, on_resistance);
}

std::size_t at(int stem, int k) { return static_cast<std::size_t>(3 * stem + k); }

std::vector<Pattern> patterns() {
    std::vector<Pattern> all;
    for (const LegDrive u : {device, diode, floating})
        for (const LegDrive v : {device, diode, floating})
            for (const LegDrive w : {device, diode, floating}) all.push_back({u, v, w});
    return all;
}

// Largest difference between the eliminated form and the circuit solved in full, for one pattern.
double mismatch(const Works& works, const Pattern& p, double on_resistance, std::mt19937& random) {
    const PhaseNetwork net = network(works, on_resistance);
    const Reduced& r = net[p];
    const motor::Vec3 s = {310.0, -3.5, 120.0};
    motor::Vec3 i{};
    std::uniform_int_distribution<int> eighths(-40, 40);
    if (r.free_directions == 2) {
        i = {eighths(random) / 8.0, eighths(random) / 8.0, 0.0};
        i[2] = 0.0 - i[0] - i[1];
    } else if (r.free_directions == 1) {
        const double a = eighths(random) / 8.0;
        const motor::Vec3 along = motor::phases(r.direction);
        for (std::size_t k = 0; k < 3; ++k) i[k] = std::abs(along[k]) < 0.1 ? 0.0 : std::copysign(a, along[k]);
    }
    circuit::Circuit c;
    Works forced = works;  // current sources in place of the windings
    for (Phase& phase : forced.phases) phase.winding.open = true;
    wire_ac(forced, c);
    const circuit::Node reference = c.node("link-"), star = c.node("motor.n");
    std::array<circuit::Branch, 3> legs{};
    for (int k = 0; k < 3; ++k) {
        const auto n = static_cast<std::size_t>(k);
        if (p[n] != floating)
            legs[n] = c.voltage_source(c.node(phase_point("drive", k)), reference, s[n],
                                       p[n] == device ? on_resistance : 0.0);
        c.current_source(c.node(phase_point("motor", k)), star, i[n]);
    }
    const circuit::Solution full = circuit::solve(c);
    double worst = 0.0;
    std::array<double, PhaseNode::count> mine{};
    for (std::size_t n = 0; n < PhaseNode::count; ++n)
        for (std::size_t k = 0; k < 3; ++k) mine[n] += r.A[n][k] * s[k] - r.Z[n][k] * i[k];
    for (int a = 0; a < PhaseNode::count; ++a) {
        const circuit::Node na = *c.find(phase_point(stems[static_cast<std::size_t>(a / 3)], a % 3));
        const auto ia = static_cast<std::size_t>(a);
        const bool tied = full.connected(na, reference);
        CHECK(tied == (r.island[ia] == -1));
        if (tied) worst = std::max(worst, std::abs(mine[ia] - full.voltage(na, reference)));
        for (int b = 0; b < a && !tied; ++b) {
            const circuit::Node nb = *c.find(phase_point(stems[static_cast<std::size_t>(b / 3)], b % 3));
            const auto ib = static_cast<std::size_t>(b);
            CHECK(full.connected(na, nb) == (r.island[ia] == r.island[ib]));
            if (full.connected(na, nb)) worst = std::max(worst, std::abs(mine[ia] - mine[ib] - full.voltage(na, nb)));
        }
    }
    for (std::size_t k = 0; k < 3; ++k) {
        double leg = 0.0;
        for (std::size_t j = 0; j < 3; ++j) leg += r.G[k][j] * s[j] + r.B[k][j] * i[j];
        const double there = p[k] == floating ? 0.0 : -full.current(legs[k]);
        worst = std::max(worst, std::abs(leg - there));
    }
    return worst;
}

}  // namespace

TEST_CASE("the ordinary case is bit-clean") {
    Scenario s;
    s.supply.kind = "bench";
    s.splice.v_ohm = 3.0;
    const Works w = set_up(s);
    const PhaseNetwork net = network(w, 0.02);
    const Reduced& r = net[{device, device, device}];
    CHECK(r.free_directions == 2);
    for (int k = 0; k < 3; ++k) {
        const auto n = static_cast<std::size_t>(k);
        const Phase& phase = w.phases[n];
        for (int j = 0; j < 3; ++j)
            for (int stem = 0; stem < 4; ++stem) {
                CHECK(r.A[at(stem, k)][static_cast<std::size_t>(j)] == (j == k ? 1.0 : 0.0));
                if (j != k) CHECK(r.Z[at(stem, k)][static_cast<std::size_t>(j)] == 0.0);
            }
        CHECK(r.Z[at(0, k)][n] == 0.02);
        CHECK(r.Z[at(1, k)][n] == 0.02);
        CHECK(r.Z[at(2, k)][n] == 0.02 + phase.cable.ohm);
        CHECK(r.Z[at(3, k)][n] == 0.02 + phase.cable.ohm + phase.splice.ohm);
        CHECK(r.G[n] == motor::Vec3{0, 0, 0});
        CHECK(r.B[n][n] == 1.0);
        CHECK(r.island[at(3, k)] == -1);
    }
    CHECK(net[{device, diode, device}].Z[at(3, 1)][1] == w.phases[1].cable.ohm + 3.0);
}

TEST_CASE("islands and free directions") {
    Scenario s;
    s.supply.kind = "bench";
    Works w = set_up(s);
    CHECK(network(w, 0.02)[{device, floating, device}].free_directions == 1);
    CHECK(network(w, 0.02)[{device, floating, floating}].free_directions == 0);
    CHECK(network(w, 0.02)[{floating, floating, floating}].free_directions == 0);

    w.phases[2].splice.open = true;
    const PhaseNetwork lost = network(w, 0.0);
    const Reduced& r = lost[{device, device, device}];
    CHECK(r.free_directions == 1);
    CHECK(r.direction == motor::Vec2{0.5 * motor::sqrt3, -0.5} /* u against v */);
    CHECK(r.island[at(2, 2)] == -1);
    CHECK(r.island[at(3, 2)] == 0);
    CHECK(r.island[at(3, 0)] == -1);
    // The floating leg of the broken phase has nothing behind it: it imposes nothing more.
    CHECK(lost[{device, device, floating}].free_directions == 1);
    CHECK(lost[{device, floating, device}].free_directions == 0);

    // A bridge of water between v and w below the break feeds w from v.
    w.phases[1].between_leak_ohm = 200.0;
    CHECK(network(w, 0.0)[{device, device, device}].free_directions == 2);
    // Leg v floats too: v and w hang together, and only a current round through the water is left.
    const Reduced pair = network(w, 0.0)[{device, floating, device}];
    CHECK(pair.free_directions == 1);
    CHECK(pair.direction == motor::Vec2{0.0, -1.0});
    CHECK(pair.Z[at(3, 1)][1] == 0.0);  // v's own terminal is the island's reference
    CHECK(pair.Z[at(3, 2)][2] == 200.0);
    CHECK(pair.island[at(3, 1)] == pair.island[at(3, 2)]);
}

TEST_CASE("an open winding takes a direction away without floating its terminal") {
    Scenario s;
    s.supply.kind = "bench";
    Works w = set_up(s);
    w.phases[0].winding.open = true;
    const PhaseNetwork net = network(w, 0.02);
    CHECK(net.winding_open(0));
    CHECK_FALSE(net.winding_open(1));
    const Reduced& r = net[{device, device, device}];
    CHECK(r.free_directions == 1);
    CHECK(r.direction == motor::Vec2{0.0, 1.0});
    CHECK(r.island[at(3, 0)] == -1);
}

TEST_CASE("above 10 kohm a phase counts as open, and a leak across driven phases does not") {
    Scenario s;
    s.supply.kind = "bench";
    Works w = set_up(s);
    w.phases[1].splice.ohm = 0.99 * open_above_ohm;
    CHECK(network(w, 0.02)[{device, device, device}].free_directions == 2);
    w.phases[1].splice.ohm = 1.01 * open_above_ohm;
    CHECK(network(w, 0.02)[{device, device, device}].free_directions == 1);
    w.phases[1].splice.ohm = 0.005;
    w.phases[0].between_leak_ohm = 5e4;  // u-v
    const Reduced r = network(w, 0.02)[{device, device, device}];
    CHECK(r.free_directions == 2);
    // Leg u feeds (s_u - s_v) / 50 kohm besides the motor's current.
    CHECK(r.G[0][0] == approx(1 / 5e4).epsilon(1e-4));
    CHECK(r.G[0][1] == approx(-1 / 5e4).epsilon(1e-4));
    w.phases[0].between_leak_ohm = 2 * leak_above_ohm;
    CHECK(network(w, 0.02)[{device, device, device}].G[0][0] == 0.0);
    // A floating leg is not tied by the leak.
    w.phases[0].between_leak_ohm = 5e4;
    CHECK(network(w, 0.02)[{device, floating, device}].free_directions == 1);
}

TEST_CASE("two leaks to the casing are a path between phases") {
    Scenario s;
    s.supply.kind = "bench";
    Works w = set_up(s);
    w.phases[0].earth_leak_ohm = 300.0;
    w.phases[1].earth_leak_ohm = 100.0;
    const Reduced r = network(w, 0.0)[{diode, diode, diode}];
    const double path = 400.0 + 2 * (w.phases[0].cable.ohm + w.phases[0].splice.ohm);
    CHECK(r.G[0][0] == approx(1 / path).epsilon(1e-10));
    CHECK(r.G[0][1] == approx(-1 / path).epsilon(1e-10));
}

TEST_CASE("random wiring agrees with the circuit solved in full, all 27 patterns") {
    std::mt19937 random(20260731);
    std::uniform_real_distribution<double> decades(-2.0, 3.0), chance(0.0, 1.0);
    double worst = 0.0;
    for (int trial = 0; trial < 60; ++trial) {
        Scenario s;
        s.supply.kind = "bench";
        s.drop_cable.core_capacitance_F_per_km = 0;
        Works w = set_up(s);
        for (Phase& phase : w.phases) {
            for (Joint* j : {&phase.terminal, &phase.cable, &phase.splice}) {
                const double c = chance(random);
                j->ohm = c < 0.2 ? 0.0 : c < 0.3 ? open_circuit : std::pow(10.0, decades(random));
            }
            phase.earth_leak_ohm = chance(random) < 0.3 ? std::pow(10.0, decades(random)) : open_circuit;
            phase.between_leak_ohm = chance(random) < 0.3 ? std::pow(10.0, decades(random)) : open_circuit;
        }
        for (const Pattern& p : patterns())
            worst = std::max(worst, mismatch(w, p, trial % 3 == 0 ? 0.0 : 0.05, random));
    }
    CHECK(worst < 1e-7);
}
