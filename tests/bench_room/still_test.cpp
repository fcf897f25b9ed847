// The drive off: what floats takes its time, the meter and the hand that holds it have their part in the reading.
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

Scenario shipped(const char* name) { return site::load_scenario(site::find_scenario(name)); }
bench::Edits off() {
    bench::Edits e{.acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}};
    return e;
}
double shown(bench::Bench& b, const char* meter, meter::Mode mode, const bench::Probes& probes) {
    return test::read(b, meter::find_spec(meter), mode, probes).value.value_or(std::nan(""));
}

}  // namespace

TEST_CASE("a floating array follows the meter with the time constant of its capacitance, closed form") {
    // 8 Mohm from each pole to earth, 1.6 uF, a meter of 10 Mohm from plus to earth: from half the open voltage to
    // V_oc (8 || 10) / (8 || 10 + 8) through 8 || 10 || 8 Mohm.
    bench::Bench b(shipped("hill-orchard"), off());
    b.settle(1.0);
    const double open = b.still_voltage("array+", "array-", 0.0);
    const double meter = 10e6, side = 1 / (1 / 8e6 + 1 / meter), tau = 1.6e-6 / (1 / 8e6 + 1 / 8e6 + 1 / meter);
    const double from = 0.5 * open, to = open * side / (side + 8e6);
    const bench::Probes probes{"array+", "earth", ""};
    b.connect(probes, meter);
    CHECK(b.still_voltage("array+", "earth", meter) == approx(from).epsilon(2e-3));
    for (const double t : {0.5, 1.5, 4.0, 12.0}) {
        INFO(t);
        bench::Bench at(shipped("hill-orchard"), off());
        at.settle(1.0);
        at.connect(probes, meter);
        at.advance(t);
        CHECK(at.still_voltage("array+", "earth", meter) ==
              approx(to + (from - to) * std::exp(-t / tau)).epsilon(3e-3));
    }
    // Looked at again and again it is the same curve; come to rest it is the divider.
    b.advance(0.5), b.still_voltage("array+", "earth", meter), b.advance(1.0);
    CHECK(b.still_voltage("array+", "earth", meter) == approx(to + (from - to) * std::exp(-1.5 / tau)).epsilon(3e-3));
    b.settle(1.0);
    CHECK(b.still_voltage("array+", "earth", meter) == approx(to).epsilon(2e-3));
}

TEST_CASE("capacitance of lifted cores: in proportion to where one is broken") {
    const auto farad = [](const char* fault, const char* point) {
        bench::Edits e = off();
        const Scenario s = shipped("hill-orchard");
        e.faults.push_back(site::parse_fault(std::string(fault), site::set_up(s)));
        bench::Bench b(s, e);
        b.settle(1.0);
        return shown(b, "true-rms", meter::Mode::cap, {point, "earth", ""});
    };
    // The other two hang together through the windings, with what is left of the broken one below.
    const double whole = site::set_up(shipped("hill-orchard")).cable_capacitance;
    CHECK(farad("core-broken@u=0.4", "lead.u") == approx(0.4 * whole).epsilon(1e-3));
    CHECK(farad("core-broken@u=0.4", "lead.v") == approx(2.6 * whole).epsilon(1e-3));
    CHECK(farad("core-broken@u=1", "lead.u") == approx(whole).epsilon(1e-3));
}

TEST_CASE("what the hand does wrong is in the chain") {
    const bench::Probes link{"dc+", "dc-", ""}, clamp{"", "", "u"};
    const auto with = [&](const char* fault) {
        bench::Edits e;
        const Scenario s = shipped("bench-rig");
        if (*fault) e.faults.push_back(site::parse_fault(fault, site::set_up(s)));
        bench::Bench b(s, e);
        b.settle();
        return b;
    };
    bench::Bench healthy = with("");
    const double volt = shown(healthy, "true-rms", meter::Mode::dcv, link),
                 ampere = shown(healthy, "clamp-hall", meter::Mode::aca, clamp);
    const auto volts = [&](const char* fault) {
        bench::Bench b = with(fault);
        return shown(b, "true-rms", meter::Mode::dcv, link);
    };
    CHECK(volt == approx(320.0).epsilon(1e-3));
    CHECK(volts("leads-swapped") == approx(0.0 - volt).epsilon(1e-3));
    CHECK(volts("meter-battery-flat=0.2") == approx(volt / 0.8).epsilon(1e-3));
    CHECK(volts("bad-lead=1e6") == approx(volt / 1.1).epsilon(2e-3));
    CHECK(volts("bad-lead=inf") == 0.0);
    CHECK(volts("leads-in-current-jack") == 0.0);
    CHECK(std::abs(volts("ac-mode-on-dc")) < 0.02 * volt);
    CHECK(std::isnan(volts("wrong-range=0")));
    bench::Bench two = with("clamp-round-two");
    // Three phases in balance: two together are the third.
    CHECK(shown(two, "clamp-hall", meter::Mode::aca, clamp) == approx(ampere).epsilon(0.02));
    bench::Bench jack = with("leads-in-current-jack");
    const auto r = test::read(jack, meter::find_spec("true-rms"), meter::Mode::dcv, link);
    REQUIRE_FALSE(r.warnings.empty());
    CHECK(r.warnings.front().find("current jack") != std::string::npos);
}

TEST_CASE("water that runs back turns a magnet rotor: volts on pulled wires") {
    bench::Edits e{.acts = {{"open", "isolator", 6.0}, {"pull", "pump", 6.0}}};
    const Scenario s = shipped("river-meadow");
    e.faults.push_back(site::parse_fault("check-valve-open", site::set_up(s)));
    bench::Bench leaking(s, e);
    leaking.advance(10.0);
    CHECK(leaking.state().x[plant::speed] < -10.0);
    CHECK(shown(leaking, "true-rms", meter::Mode::acv, {"lead.u", "lead.v", ""}) > 5.0);
    e.faults.clear();
    bench::Bench healthy(s, e);
    healthy.advance(60.0);  // long enough to coast to rest
    CHECK(shown(healthy, "true-rms", meter::Mode::acv, {"lead.u", "lead.v", ""}) < 1.0);
}
