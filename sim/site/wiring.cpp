#include "site/wiring.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "site/points.hpp"

namespace sunshaft::site {
namespace {

using circuit::Circuit;
using circuit::CurrentAndSlope;
using circuit::Node;

// A lit sub-string with its bypass diode, as a branch from its minus end to its plus end, so that the branch's
// current is what it delivers.
struct SubStringLaw : circuit::CurrentLaw {
    explicit SubStringLaw(const solar::SubString& part) : part_(part) {}
    CurrentAndSlope operator()(double v) const override {
        const solar::CurrentAndSlope out = solar::current_and_slope(part_, -v);
        return {out.i, -out.di_dv};
    }
    solar::SubString part_;
};

// A varistor: 1 mA at its rated voltage, a steep power law round it, some nA below (a bridge of 1 Gohm, so that
// what it ties is tied), some ohm far above.
struct VaristorLaw : circuit::CurrentLaw {
    explicit VaristorLaw(double volt) : volt_(volt) {}
    CurrentAndSlope operator()(double v) const override {
        constexpr double exponent = 25.0, leak = 1e9, series = 0.5;
        // The power law up to where its slope is that of the series resistance, straight on from there.
        const double knee = volt_ * std::pow(volt_ / (series * 1e-3 * exponent), 1 / (exponent - 1));
        const double x = std::min(std::abs(v), knee) / volt_, power = 1e-3 * std::pow(x, exponent);
        const double beyond = std::max(0.0, std::abs(v) - knee) / series;
        const double slope = std::abs(v) < knee ? 1e-3 * exponent * std::pow(x, exponent - 1) / volt_ : 1 / series;
        return {std::copysign(power + beyond, v) + v / leak, slope + 1 / leak};
    }
    double volt_;
};

void joint(Circuit& c, Node a, Node b, const Joint& j, std::string label = {}) {
    c.resistor(a, b, j.through(), std::move(label));
}

void leak(Circuit& c, Node a, Node b, double ohm) {
    if (ohm < open_circuit) c.resistor(a, b, ohm);
}

// Laws of one string, each once: alike parts in series then fold into one (circuit/fold.hpp).
class Laws {
  public:
    std::shared_ptr<const SubStringLaw> of(const solar::SubString& part) {
        for (const auto& law : known_)
            if (everything(law->part_) == everything(part)) return law;
        return known_.emplace_back(std::make_shared<const SubStringLaw>(part));
    }

  private:
    using Everything = std::array<double, 20>;
    static Everything everything(const solar::SubString& s) {
        const solar::SingleDiode &c = s.cells, &d = s.dark;
        return {c.IL,
                c.I0,
                c.Rs,
                c.Rsh,
                c.a,
                d.IL,
                d.I0,
                d.Rs,
                d.Rsh,
                d.a,
                static_cast<double>(s.bypass),
                s.bypass_drop_V,
                s.rated_A,
                s.bypass_vt,
                s.bypass_ohm,
                static_cast<double>(s.dark_cells),
                s.breakdown.volt,
                s.breakdown.share,
                s.breakdown.exponent,
                s.lit_cells};
    }
    std::vector<std::shared_ptr<const SubStringLaw>> known_;
};

// One module between its own leads.
void wire_module(const Works& works, const Module& module, const std::string& name, Laws& laws, Circuit& c) {
    Node at = c.node(name + "+");
    for (std::size_t k = 0; k < 3; ++k) {
        const std::string part = fmt::format("{}.{}", name, k + 1);
        const Node next = c.node(k == 2 ? name + "-" : part + "-");
        c.nonlinear(next, at, laws.of(sub_string(works.array, module, static_cast<int>(k))), part);
        at = next;
    }
}

void wire_string(const Works& works, const String& string, const std::string& name, Circuit& c) {
    const Node plus = c.node(name + "+"), minus = c.node(name + "-"), frame = c.node("frame");
    const Node first = string.reversed ? minus : plus, last = string.reversed ? plus : minus;
    Node at = first;
    Laws laws;
    for (std::size_t m = 0; m < string.modules.size(); ++m) {
        const Module& module = string.modules[m];
        const std::string own = fmt::format("{}.m{}", name, m + 1);
        const Node upper = c.node(own + (module.reversed ? "-" : "+")),
                   lower = c.node(own + (module.reversed ? "+" : "-"));
        joint(c, string.parallel ? first : at, upper, string.joints[m]);
        wire_module(works, module, own, laws, c);
        if (m == 0) leak(c, upper, frame, string.earth_ohm.front());
        leak(c, lower, frame, string.earth_ohm[m + 1]);
        at = lower;
        if (string.parallel && m + 1 < string.modules.size()) c.resistor(at, last, string.joints.back().ohm);
    }
    joint(c, at, last, string.joints.back());

    const Node array_plus = c.node("array+");
    const bool diode = string.blocking == BlockingDiode::good || string.blocking == BlockingDiode::open;
    const Node behind = diode ? c.node(name + ".diode") : array_plus;
    c.resistor(plus, behind, string.through_fuse(), name);
    // A Schottky diode: about half a volt at a string's current (common practice, no source).
    if (string.blocking == BlockingDiode::good) c.nonlinear(behind, array_plus, circuit::diode(0.5, 8.0, 5e-3, 0.03));
    c.resistor(minus, c.node("array-"), 0.0);
}

}  // namespace

solar::SubString sub_string(const Array& array, const Module& module, int part) {
    solar::ModuleData data = module.data;
    data.stc.Rs += module.series_ohm;
    const auto k = static_cast<std::size_t>(part);
    const double light = module.covered ? 0.0 : array.sunlight() * module.light[k];
    solar::SubString s = solar::substring(data, light, array.module_degC);
    s.cells = solar::series(solar::translate_cec(data, light, array.module_degC), 1.0 / 3);
    s.cells.Rsh = 1 / (1 / (s.cells.Rsh * module.shunt_factor) + 3 / module.shunt_ohm);
    s.bypass = module.bypass[k];
    s.breakdown.volt = array.breakdown_V;
    const solar::DarkCells& dark = module.dark[k];
    if (dark.cells == 0) return s;
    // The dark ones are taken out of the row: each cell has its even share of the sub-string's parameters.
    const double all = s.lit_cells;
    const auto some = [&](const solar::SingleDiode& whole, double cells) { return solar::series(whole, cells / all); };
    s.dark_cells = std::min(dark.cells, static_cast<int>(all) - 1);
    s.lit_cells = all - s.dark_cells;
    solar::SingleDiode less = solar::series(solar::translate_cec(data, light * dark.light, array.module_degC), 1.0 / 3);
    less.Rsh = 1 / (1 / (less.Rsh * module.shunt_factor) + 3 / module.shunt_ohm);
    s.dark = some(less, s.dark_cells);
    s.cells = some(s.cells, s.lit_cells);
    return s;
}

std::vector<Connector> connectors(const Works& works) {
    std::vector<Connector> list;
    for (std::size_t k = 0; k < works.array.strings.size(); ++k) {
        const String& string = works.array.strings[k];
        const std::string name = fmt::format("s{}", k + 1);
        const std::string first = name + (string.reversed ? "-" : "+"), last = name + (string.reversed ? "+" : "-");
        std::string at = first;
        for (std::size_t m = 0; m < string.modules.size(); ++m) {
            const std::string own = fmt::format("{}.m{}", name, m + 1);
            const bool turned = string.modules[m].reversed;
            list.push_back({m == 0 ? own + "+" : fmt::format("{}.m{}-", name, m), string.parallel ? first : at,
                            own + (turned ? "-" : "+"), string.joints[m].through()});
            at = own + (turned ? "+" : "-");
        }
        if (!string.modules.empty())
            list.push_back(
                {fmt::format("{}.m{}-", name, string.modules.size()), at, last, string.joints.back().through()});
    }
    return list;
}

namespace {

// Isolator and second supply to the drive's input.
void wire_input(const SecondSupply& second, const Array& array, Circuit& c) {
    const Node out_plus = c.node("iso.out+"), out_minus = c.node("iso.out-");
    const Node dc_plus = c.node("dc+"), dc_minus = c.node("dc-");
    Joint plus = array.dc_plus, minus = array.dc_minus;
    plus.open = plus.open || !second.lets_array(), minus.open = minus.open || !second.lets_array();
    joint(c, array.swapped ? out_minus : out_plus, dc_plus, plus, "dc+");
    joint(c, dc_minus, array.swapped ? out_plus : out_minus, minus, "dc-");
    if (!second.fitted) return;
    const Node poles = c.node("second.source"), rectified = c.node("second.rectified");
    const Node second_plus = c.node("second+"), second_minus = c.node("second-");
    c.voltage_source(poles, second_minus, second.volt, second.ohm, "second");
    c.nonlinear(poles, rectified, circuit::diode(1.8, 10.0));  // two diodes
    joint(c, rectified, second_plus, second.breaker);
    c.resistor(second_plus, second_minus, 1e6);  // of what is fitted across its output
    const double through = second.chosen ? 0.005 : open_circuit;
    c.resistor(second_plus, dc_plus, through);
    c.resistor(second_minus, dc_minus, through);
}

}  // namespace

void wire_dc(const Works& works, Circuit& c) {
    if (works.supply.kind == Supply::Kind::mains) return;
    const Array& array = works.array;
    const Node plus = c.node("array+"), minus = c.node("array-");
    const Node frame = c.node("frame"), earth = c.node("earth");
    joint(c, frame, earth, works.bonds.frame, "pe");

    if (works.supply.kind == Supply::Kind::bench) {
        c.voltage_source(plus, minus, works.supply.voltage, works.supply.ohm, "supply");
    } else {
        for (std::size_t s = 0; s < array.strings.size(); ++s)
            wire_string(works, array.strings[s], fmt::format("s{}", s + 1), c);
    }
    leak(c, plus, frame, array.leak_plus_ohm);
    leak(c, minus, frame, array.leak_minus_ohm);
    if (array.capacitance_F > 0.0)
        for (const Node pole : {plus, minus}) c.capacitor(pole, frame, array.capacitance_F / 2);

    const Node in_plus = c.node("iso.in+"), in_minus = c.node("iso.in-");
    const Node out_plus = c.node("iso.out+"), out_minus = c.node("iso.out-");
    const Node dc_plus = c.node("dc+"), dc_minus = c.node("dc-");
    joint(c, plus, in_plus, array.plus.run);
    if (array.shorted) c.resistor(in_plus, in_minus, 0.005);
    joint(c, in_plus, out_plus, array.plus.contact);
    wire_input(works.supply.second, array, c);
    joint(c, out_minus, in_minus, array.minus.contact);
    joint(c, in_minus, minus, array.minus.run);
    if (array.arrester.fitted)
        for (const Node pole : {dc_plus, dc_minus})
            c.nonlinear(pole, earth, std::make_shared<VaristorLaw>(array.arrester.volt));
    leak(c, dc_plus, earth, array.arrester.plus_ohm);
    leak(c, dc_minus, earth, array.arrester.minus_ohm);
    for (const Node pole : {dc_plus, dc_minus}) {
        leak(c, pole, earth, works.link.monitor_ohm);
        if (works.link.earth_F > 0.0) c.capacitor(pole, earth, works.link.earth_F / 2);
    }
    // The charging resistor is bridged by a contact once the link is up; with it open the link never comes up.
    c.resistor(dc_plus, c.node("link+"), std::isinf(works.link.precharge_ohm) ? open_circuit : 0.0);
    c.resistor(c.node("link-"), dc_minus, 0.0);
}

void wire_ac(const Works& works, Circuit& c) {
    const Node star = c.node("motor.n"), casing = c.node("casing"), earth = c.node("earth");
    joint(c, casing, earth, works.bonds.casing);
    for (int k = 0; k < 3; ++k) {
        const Phase& phase = works.phases[static_cast<std::size_t>(k)];
        const Node lead = c.node(phase_point("lead", k));
        const Node cable = c.node(phase_point("cable", k)), motor = c.node(phase_point("motor", k));
        joint(c, c.node(phase_point("drive", k)),
              c.node(phase_point("lead", works.core_at[static_cast<std::size_t>(k)])), phase.terminal,
              phase_letter[static_cast<std::size_t>(k)]);
        joint(c, lead, cable, phase.cable);
        joint(c, cable, motor, phase.splice);
        if (works.turns.on() && works.turns.phase == k && !phase.winding.open)
            c.resistor(motor, star, works.turns.still_ohm(phase.winding.ohm));
        else joint(c, motor, star, phase.winding);
        leak(c, motor, casing, phase.earth_leak_ohm);
        if (phase.earth_cell_ohm < open_circuit)
            c.voltage_source(motor, casing, phase.earth_cell_V, phase.earth_cell_ohm);
        const Node next = c.node(phase_point("motor", (k + 1) % 3));
        if (phase.between_cell_V != 0.0 && phase.between_leak_ohm < open_circuit)
            c.voltage_source(motor, next, phase.between_cell_V, phase.between_leak_ohm);
        else leak(c, motor, next, phase.between_leak_ohm);
        if (works.cable_capacitance > 0.0) {
            // Along the core; a broken one keeps what is above the break at its upper end.
            c.capacitor(lead, earth, works.cable_capacitance * phase.core_above);
            if (phase.core_above < 1.0) c.capacitor(cable, earth, works.cable_capacitance * (1 - phase.core_above));
        }
    }
}

void wire_guards(const Works& works, Circuit& c) {
    const auto wire = [&](const std::string& name, const Guard& guard, double sensor_ohm) {
        if (!guard.fitted) return;
        const Node one = c.node(name + ".1"), two = c.node(name + ".2");
        const Node wire_one = c.node(name + ".wire"), sensor = c.node(name + ".sensor");
        if (guard.jumper) c.resistor(one, two, 0.05);
        if (works.guards.powered) c.voltage_source(one, two, Guards::feed_V, Guards::feed_ohm);
        c.resistor(one, wire_one, guard.pulled ? open_circuit : 0.0);
        joint(c, wire_one, sensor, guard.wire);
        leak(c, sensor, two, sensor_ohm);
        leak(c, sensor, two, guard.shunt_ohm);
    };
    wire("dry", works.guards.dry, works.guards.probe_ohm());
    wire("float", works.guards.full, works.guards.float_ohm());
}

void wire_loads(const Works& works, Circuit& c) {
    for (const MeterLoad& load : works.loads) {
        const auto red = c.find(load.red), black = c.find(load.black);
        if (red && black && *red != *black) leak(c, *red, *black, load.ohm);
    }
}

void wire_bridge(const Works& works, Circuit& c) {
    const Node plus = c.node("link+"), minus = c.node("link-");
    leak(c, plus, minus, works.link.bleed_ohm);
    // A junction of about its data-sheet drop at 10 A; an ideal one still has to be a diode at rest.
    const auto diode = circuit::diode(std::max(works.bridge.diode_drop, 0.1), 10.0);
    for (int k = 0; k < 3; ++k) {
        const drive::LegParts& leg = works.bridge.legs[static_cast<std::size_t>(k)];
        const Node out = c.node(phase_point("drive", k));
        c.nonlinear(out, plus, diode);
        c.nonlinear(minus, out, diode);
        // One that has burnt through is metal of some milliohms (no source), on a bridge of ideal switches as well.
        const double burnt = std::max(works.bridge.on_resistance, 2e-3);
        if (leg.upper == drive::Device::shorted) c.resistor(out, plus, burnt);
        if (leg.lower == drive::Device::shorted) c.resistor(minus, out, burnt);
    }
}

}  // namespace sunshaft::site
