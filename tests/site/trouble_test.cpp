// What single faults do to the still wiring and to the source curve, by closed forms and facts of the trade.
#include <cmath>
#include <random>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "site/load.hpp"
#include "site/site.hpp"
#include "site/wiring.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;

namespace {

Works ill(const Scenario& s, const std::vector<Fault>& faults, const std::vector<Act>& acts = {}) {
    Works w = set_up(s);
    for (const Fault& fault : faults) apply(w, fault);
    for (const Act& act : acts) apply(w, act);
    return w;
}

Works ill(const char* site, const std::vector<Fault>& faults, const std::vector<Act>& acts = {}) {
    return ill(load_scenario(find_scenario(site)), faults, acts);
}

// One string of four modules and nothing else.
Scenario four_in_series() {
    Scenario s;
    s.array.modules_in_series = 4;
    return s;
}

circuit::Circuit wired(const Works& w) {
    circuit::Circuit c;
    wire_dc(w, c);
    wire_bridge(w, c);
    wire_ac(w, c);
    wire_guards(w, c);
    return c;
}

double volts(const Works& w, const std::string& red, const std::string& black, double ohm = 10e6) {
    circuit::Circuit c = wired(w);
    c.resistor(c.node(red), c.node(black), ohm);
    return circuit::solve(c).voltage(c.node(red), c.node(black));
}

// A test voltage behind a resistance between two points: what it sees.
double seen_ohm(const Works& w, const std::string& red, const std::string& black, double volt, double inner = 1e3) {
    circuit::Circuit c = wired(w);
    const auto source = c.voltage_source(c.node(red), c.node(black), volt, inner);
    const auto at = circuit::solve(c);
    return at.voltage(c.node(red), c.node(black)) / -at.current(source);
}

}  // namespace

TEST_CASE("4 ohm in one connector of ten modules: the still readings are well, a tenth of the power is gone") {
    // Ten 54-cell modules, 800 W/m2, 55 degC; parameters of M. G. Villalva, J. R. Gazoli, E. R. Filho, IEEE Trans.
    // Power Electronics 24(5), 2009.
    Scenario s;
    s.array.module_cells = 54;
    s.array.module_photocurrent_A = 8.214, s.array.module_saturation_A = 9.825198473e-8, s.array.module_ideality = 1.3;
    s.array.module_series_ohm = 0.221, s.array.module_shunt_ohm = 415.405;
    s.array.module_alpha_A_per_K = 0.0032, s.array.module_beta_V_per_K = -0.123;
    s.array.modules_in_series = 10;
    s.sun.irradiance_W_m2 = 800;
    s.sun.module_temperature_degC = 55;
    const auto healthy = compile_site(s), bad = compile_site(s, {{"high-resistance-connector", "s1.m4-", 4.0, 0.0}});
    CHECK(bad->source.open_V == approx(healthy->source.open_V).epsilon(2e-3));
    CHECK(bad->source.source_current(0) == approx(healthy->source.source_current(0)).epsilon(2e-3));
    const double lost = 1 - bad->source.max_power_W / healthy->source.max_power_W;
    CHECK(lost == approx(0.10).margin(0.015));
}

TEST_CASE("earth fault behind module 3 of 10: the place from the ratio of two readings") {
    Scenario s;
    s.array.modules_in_series = 10;
    s.array.leakage_plus_ohm = s.array.leakage_minus_ohm = open_circuit;
    Works w = set_up(s);
    w.array.arrester.fitted = false;
    apply(w, Fault{"string-earth-fault", "s1.m3-", 100.0, 0.0});
    apply(w, Act{"open", "isolator", 0.0});
    const double plus = volts(w, "array+", "earth"), minus = volts(w, "array-", "earth");
    CHECK(plus > 0);
    CHECK(minus < 0);
    CHECK(10 * plus / (plus - minus) == approx(3.0).margin(0.01));  // modules between plus and the fault
}

TEST_CASE("walking a leaky string with and without the drive's bleed gives opposite results") {
    const Fault leaky{"leaky-connector", "s1.m2-", 1e7, 0.0};
    Works w = ill(four_in_series(), {leaky}, {{"open", "isolator", 0.0}});
    w.array.arrester.fitted = false;
    w.array.leak_plus_ohm = w.array.leak_minus_ohm = open_circuit;
    const double whole = volts(ill(four_in_series(), {}, {{"open", "isolator", 0.0}}), "array+", "array-");
    // Off: nothing flows, so nothing drops across the break; the ends read half on a 10 Mohm meter.
    CHECK(std::abs(volts(w, "s1.m2-", "s1.m3+")) < 0.01 * whole);
    CHECK(volts(w, "array+", "array-") == approx(whole / 2).epsilon(2e-3));
    // On, the bleed pulls the drive's side down and the whole voltage stands across the break.
    apply(w, Act{"close", "isolator", 0.0});
    CHECK(volts(w, "s1.m2-", "s1.m3+") == approx(-whole).epsilon(0.02));
    CHECK(volts(w, "array+", "array-") < 0.02 * whole);
}

TEST_CASE("module faults show in the module's own open-circuit voltage") {
    const std::vector<Act> off = {{"open", "isolator", 0.0}};
    const auto own = [&](const char* kind, const char* place, double severity, double sun = 800) {
        Works sick = ill(four_in_series(), {{kind, place, severity, 0.0}}, off), well = ill(four_in_series(), {}, off);
        sick.array.irradiance = well.array.irradiance = sun;
        return volts(sick, "s1.m2+", "s1.m2-") / volts(well, "s1.m2+", "s1.m2-");
    };
    CHECK(own("bypass-diode-shorted", "s1.m2.2", 1) == approx(2.0 / 3).margin(0.002));
    CHECK(own("bypass-diode-open", "s1.m2.2", 1) == approx(1.0).epsilon(1e-6));  // blind
    CHECK(own("module-dead", "s1.m2", 1) < 0.02);
    CHECK(own("module-shunted", "s1.m2", 40) > 0.98);  // hidden in full sun
    CHECK(own("module-shunted", "s1.m2", 40, 40) < 0.6);
    CHECK(own("shaded-module", "s1.m2", 0.6) > 0.9);  // nearly blind: the voltage follows the logarithm of light
    const double whole = volts(ill(four_in_series(), {}, off), "array+", "array-");
    CHECK(volts(ill(four_in_series(), {{"module-reversed", "s1.m2", 1, 0}}, off), "array+", "array-") ==
          approx(whole / 2).epsilon(1e-3));
    CHECK(volts(ill(four_in_series(), {{"wired-in-parallel", "s1", 1, 0}}, off), "array+", "array-") ==
          approx(whole / 4).epsilon(2e-3));
    CHECK(volts(ill(four_in_series(), {{"string-reversed", "s1", 1, 0}}, off), "array+", "array-") ==
          approx(-whole).epsilon(1e-3));
    CHECK(volts(ill(four_in_series(), {{"polarity-reversed", "array", 1, 0}}), "dc+", "dc-") < -0.3);
}

TEST_CASE("a burnt isolator pole shows the whole voltage across itself") {
    const Works w = ill(four_in_series(), {{"isolator-pole-burnt", "isolator-", 1, 0}});
    const double whole = volts(w, "iso.in+", "iso.in-");
    CHECK(volts(w, "iso.out-", "iso.in-") == approx(whole).epsilon(0.01));
    CHECK(std::abs(volts(w, "iso.in+", "iso.out+")) < 1e-3);
    CHECK(std::abs(volts(w, "dc+", "dc-")) < 0.02 * whole);
}

TEST_CASE("blocking diodes keep neighbours out of a weak string") {
    Scenario s;
    s.array.strings = 3;
    s.array.modules_in_series = 4;
    Works w = set_up(s);
    for (Module& m : w.array.strings[0].modules)
        m.bypass = {solar::Bypass::shorted, solar::Bypass::shorted, solar::Bypass::shorted};
    const auto into_weak = [&] {
        const SourceCurve c = source_curve(w);
        return c.branch_current("s1", 0.8 * c.open_V);
    };
    CHECK(std::abs(into_weak()) < 1e-3);
    w.array.strings[0].blocking = BlockingDiode::shorted;
    CHECK(into_weak() < -5.0);
}

TEST_CASE("diode test of the bridge from its terminals") {
    const std::vector<Act> off = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}};
    // 1 mA as a meter's diode position gives: about half a volt forward, over-range backward.
    const auto drop = [&](const Works& w, const std::string& red, const std::string& black) {
        circuit::Circuit c = wired(w);
        c.voltage_source(c.node(red), c.node(black), 3.0, 2.5e3);
        return circuit::solve(c).voltage(c.node(red), c.node(black));
    };
    const Works healthy = ill("hill-orchard", {}, off);
    CHECK(drop(healthy, "drive.u", "link+") == approx(0.45).margin(0.2));
    CHECK(drop(healthy, "link-", "drive.u") == approx(0.45).margin(0.2));
    CHECK(drop(healthy, "link+", "drive.u") > 2.0);
    const Works shorted = ill("hill-orchard", {{"device-shorted", "u.upper", 1, 0}}, off);
    CHECK(drop(shorted, "link+", "drive.u") < 0.01);
    CHECK(drop(shorted, "drive.u", "link+") < 0.01);
}

TEST_CASE("insulation of the array: only with the arrester off") {
    Works w = ill("hill-orchard", {}, {{"open", "isolator", 0.0}, {"cover", "array", 0.0}});
    w.array.leak_plus_ohm = w.array.leak_minus_ohm = open_circuit;
    // Drive side of the isolator, 1000 V: the varistors conduct.
    CHECK(seen_ohm(w, "dc+", "earth", 1000.0, 1e6) < 3e6);
    w.array.arrester.fitted = false;
    for (Phase& phase : w.phases) phase.earth_leak_ohm = 1e8;
    CHECK(seen_ohm(w, "array+", "earth", 1000.0, 1e6) > 1e9);
}

TEST_CASE("a wet splice is a cell: ohms differ with the leads swapped") {
    Works w =
        ill("hill-orchard", {{"lost-phase", "motor.u", 1, 0}, {"wet-splice", "u-v", 5e3, 0}}, {{"pull", "pump", 0.0}});
    const double one = seen_ohm(w, "lead.u", "lead.v", 3.0), other = seen_ohm(w, "lead.v", "lead.u", 3.0);
    CHECK(std::abs(one - other) > 0.1 * std::min(one, other));
    // 10 Mohm against 5 kohm: the cell's voltage comes through whole.
    CHECK(volts(w, "lead.u", "lead.v") == approx(0.4).epsilon(2e-3));
}

TEST_CASE("exchanged pump wires exchange what drives the motor") {
    const auto site = compile_site(load_scenario(find_scenario("hill-orchard")), {{"phases-swapped", "v-w", 1, 0}});
    const Reduced& r = site->phases[{LegDrive::device, LegDrive::device, LegDrive::device}];
    CHECK(r.free_directions == 2);
    CHECK(r.A[PhaseNode::motor + 1] == motor::Vec3{0, 0, 1});
    CHECK(r.A[PhaseNode::motor + 2] == motor::Vec3{0, 1, 0});
    CHECK(r.B[1] == motor::Vec3{0, 0, 1});
}

TEST_CASE("winding ohms: a share of the turns bridged, closed form") {
    // Star of three equal windings R, share f bridged in u: u-v and w-u read 2R - fR + cable, v-w reads 2R +
    // cable.
    const std::vector<Act> off = {{"pull", "pump", 0.0}};
    const Works healthy = ill("hill-orchard", {}, off),
                bad = ill("hill-orchard", {{"winding-partly-shorted", "u", 0.2, 0}}, off);
    const double R = healthy.phases[0].winding.ohm;
    CHECK(seen_ohm(healthy, "lead.u", "lead.v", 0.2) - seen_ohm(bad, "lead.u", "lead.v", 0.2) ==
          approx(0.2 * R).epsilon(1e-4));
    CHECK(seen_ohm(healthy, "lead.v", "lead.w", 0.2) == approx(seen_ohm(bad, "lead.v", "lead.w", 0.2)).epsilon(1e-6));
    // Healthy pairs agree within 1 ohm (common practice, no source).
    CHECK(std::abs(seen_ohm(healthy, "lead.u", "lead.v", 0.2) - seen_ohm(healthy, "lead.w", "lead.u", 0.2)) < 1.0);
}

TEST_CASE("a hot winding gains 0.393 % a kelvin from 20 degC") {
    const Works cold = ill("hill-orchard", {{"hot-motor", "motor", 20, 0}}),
                hot = ill("hill-orchard", {{"hot-motor", "motor", 120, 0}});
    CHECK(hot.phases[2].winding.ohm / cold.phases[2].winding.ohm == approx(1.393).epsilon(1e-12));
    CHECK(std::get<motor::Induction>(hot.motor).Rr / std::get<motor::Induction>(cold.motor).Rr ==
          approx(1.393).epsilon(1e-12));
}

TEST_CASE("guards: what the drive hears and what an ohmmeter at its terminals reads") {
    const auto guards = [](const std::vector<Fault>& f, const std::vector<Act>& a = {}) {
        return ill("hill-orchard", f, a).guards;
    };
    CHECK_FALSE(guards({}).says_dry());
    CHECK_FALSE(guards({}).says_full());
    CHECK(guards({{"guard-cable-cut", "dry", 1, 0}}).says_dry());
    CHECK(guards({{"dry-probe-open", "dry", 1, 0}}).says_dry());
    CHECK(guards({{"clean-water", "dry", 2e5, 0}}).says_dry());
    CHECK(guards({{"dry-probe-high", "dry", 1, 0}}).says_dry());
    CHECK(guards({{"low-well", "well", 60, 0}}).says_dry());
    CHECK(guards({{"float-stuck-up", "float", 1, 0}}).says_full());
    // Blind: the well runs dry and nobody hears it.
    for (const char* kind : {"dry-probe-fouled", "guard-cable-shorted", "jumper-left-in"})
        CHECK_FALSE(guards({{kind, "dry", find_fault(kind)->usual, 0}, {"low-well", "well", 60, 0}}).says_dry());
    CHECK(guards({}, {{"pull", "dry", 0}}).says_dry());
    CHECK_FALSE(guards({}, {{"pull", "dry", 0}, {"jumper", "dry", 0}}).says_dry());
    const Works w = ill("hill-orchard", {});
    CHECK(seen_ohm(w, "dry.1", "dry.2", 1.0) ==
          approx(Guards::circuit_ohm(w.guards.dry, w.guards.probe_ohm())).epsilon(1e-9));
    CHECK(seen_ohm(w, "float.1", "float.2", 1.0) == approx(2.2).epsilon(1e-6));
}

TEST_CASE("random pairs and triples of faults compile on every site") {
    std::mt19937 random(4711);
    for (const char* name : {"stone-fold", "river-meadow", "hill-orchard", "terrace-pwm", "bench-rig"}) {
        const Scenario s = load_scenario(find_scenario(name));
        for (int trial = 0; trial < 60; ++trial) {
            Works w = set_up(s);
            std::string text = name;
            for (int n = 0; n < 2 + trial % 2; ++n) {
                const FaultRow& row = fault_catalogue()[random() % fault_catalogue().size()];
                const auto places = row.places(w);
                if (places.empty()) continue;
                const double most = std::isinf(row.most) ? 1e3 : row.most;
                const Fault fault{row.kind, places[random() % places.size()],
                                  row.least + (most - row.least) * static_cast<double>(random() % 5) / 4, 0.0};
                text += " " + fault.kind + "@" + fault.place;
                apply(w, fault);
            }
            INFO(text);
            const SourceCurve c = source_curve(w);
            if (!c.stiff)
                for (const double share : {-0.01, 0.3, 0.8, 1.0, 1.1})
                    REQUIRE(std::isfinite(c.net_current(share * 300)));
            const circuit::Circuit all = wired(w);
            REQUIRE_NOTHROW(circuit::solve(all));
            const PhaseNetwork net(all, w.bridge.on_resistance);
            for (const LegDrive u : {LegDrive::device, LegDrive::floating})
                for (const auto& row : net[{u, LegDrive::diode, LegDrive::device}].Z)
                    for (const double z : row) REQUIRE(std::isfinite(z));
        }
    }
}
