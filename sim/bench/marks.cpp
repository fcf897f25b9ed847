#include "bench/marks.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "circuit/circuit.hpp"
#include "plant/run.hpp"
#include "roots/roots.hpp"
#include "site/points.hpp"
#include "site/wiring.hpp"

namespace sunshaft::bench {
namespace {

constexpr double kelvin = 273.15;
constexpr double discolours_degC = 70.0;

// What a connector's body, a rod of 20 mm by 110 mm, gives off to still air of that temperature, W: convection of a
// horizontal cylinder, 1.32 (K / m)^(1/4) W/(m2 K) (J. P. Holman, Heat Transfer, simplified equations for air, from
// memory), and radiation with an emissivity of 0.9. Size and emissivity: common practice, no source. What its cable
// carries away is left out.
double given_off_W(double degC, double air_degC) {
    constexpr double diameter = 0.02, area = std::numbers::pi * diameter * 0.11, stefan = 5.670374e-8, emissivity = 0.9;
    const double over = degC - air_degC;
    const auto fourth = [](double c) { return std::pow(c + kelvin, 4); };
    return area *
           (1.32 * std::pow(over / diameter, 0.25) * over + emissivity * stefan * (fourth(degC) - fourth(air_degC)));
}

// The site as it was built and what has failed since, without what hands have done to it.
site::Works untouched(const Bench& b) {
    site::Works w = site::set_up(b.scenario());
    for (const site::Fault& f : b.edits().faults)
        if (f.start <= b.time()) site::apply(w, f);
    return w;
}

double rated_A(const Bench& b, const site::Works& w) {
    return w.drive.motor_A > 0.0 ? w.drive.motor_A : plant::reference(*b.site())[plant::i_alpha] / std::numbers::sqrt2;
}
double rated_V(const Bench& b, const site::Works& w) {  // line to line, rms
    return w.supply.kind == site::Supply::Kind::mains ? w.supply.voltage : b.scenario().drive.nominal_voltage_V;
}
// What the drive takes from its supply at the motor's rating; power factor and the drive's own loss together: common
// practice, no source.
double rated_W(const Bench& b, const site::Works& w) {
    return 0.85 * std::numbers::sqrt3 * rated_V(b, w) * rated_A(b, w);
}

double array_V(const site::Works& w) {  // of most power, as the modules' plates have it
    double most = 0.0;
    for (const site::String& s : w.array.strings) {
        double sum = 0.0;
        for (const site::Module& m : s.modules) sum += m.data.Vmp;
        most = std::max(most, sum);
    }
    return most;
}

// What stands across an input that has burnt through lets the link up to no more than this.
double link_V(const site::Works& w) {
    constexpr double two_diodes_V = 1.5;
    if (w.array.swapped) return -two_diodes_V;  // the bridge's own diodes short the array
    double isc = 0.0;
    for (const site::String& s : w.array.strings)
        if (!s.modules.empty()) isc += s.modules.front().data.Isc;
    return std::min(array_V(w), isc * w.link.bleed_ohm);
}

class Contacts {
  public:
    Contacts(const Bench& b, site::Works works) : bench_(b), works_(std::move(works)) {
        works_.array.covered = false;
        works_.array.irradiance = 1000.0;
    }
    std::vector<Lug> all() {
        input();
        const double phase_V = rated_V(bench_, works_) / std::numbers::sqrt3, ampere = rated_A(bench_, works_);
        for (std::size_t k = 0; k < 3; ++k) {
            const site::Joint& j = works_.phases[k].terminal;
            // In series with what the motor is at its rating.
            const double through = phase_V / (phase_V / ampere + j.ohm);
            add(site::phase_point("drive", static_cast<int>(k)), j.open ? 0.0 : through * through * j.ohm, false);
        }
        return std::move(list_);
    }

  private:
    void add(std::string place, double watt, bool burnt) {
        if (!std::isfinite(watt)) watt = 0.0;
        list_.push_back({std::move(place), watt, joint_degC(watt, bench_.scenario().sun.air_temperature_degC), burnt});
    }
    void input() {
        using Kind = site::Supply::Kind;
        if (works_.supply.kind == Kind::mains) return;
        const site::Array& a = works_.array;
        // One pole of a switch that is not made while the other is: its blade has burnt away.
        if (works_.supply.kind == Kind::bench) {
            const double ampere = rated_W(bench_, works_) / std::max(works_.supply.voltage, 1.0);
            for (const auto& [pole, place] : {std::pair{&a.plus, "isolator+"}, {&a.minus, "isolator-"}})
                add(place, pole->contact.open ? 0.0 : ampere * ampere * pole->contact.ohm, pole->contact.open);
            return;
        }
        circuit::Circuit c;
        site::wire_dc(works_, c);
        const double volt = link_V(works_);
        const auto link = c.voltage_source(c.node("link+"), c.node("link-"), volt, 1e-3);
        const circuit::Solution found = circuit::solve(c);
        const double takes = std::abs(volt * found.current(link)), most = rated_W(bench_, works_);
        const double share = volt > 0.0 && takes > most ? most / takes : 1.0;
        const auto ampere = [&](const std::string& from, const std::string& to) {
            const auto a_end = c.find(from), b_end = c.find(to);
            double sum = 0.0;
            for (circuit::Branch b = 0; a_end && b_end && b < c.branches(); ++b)
                if (const auto& what = c.info(b);
                    what.kind == circuit::Circuit::Kind::resistor && what.a == *a_end && what.b == *b_end)
                    sum += share * found.current(b);
            return sum;
        };
        const auto watt = [&](const std::string& from, const std::string& to, const site::Joint& j) {
            const double i = ampere(from, to);
            return j.open ? 0.0 : i * i * j.ohm;
        };
        add("isolator+", watt("iso.in+", "iso.out+", a.plus.contact), a.plus.contact.open);
        add("isolator-", watt("iso.out-", "iso.in-", a.minus.contact), a.minus.contact.open);
        std::vector<bool> crust;  // soot across a break: it has burnt
        for (const site::String& s : a.strings)
            for (const site::Joint& j : s.joints) crust.push_back(j.open && std::isfinite(j.leak_ohm));
        std::size_t n = 0;
        for (const site::Connector& j : site::connectors(works_)) {
            const double i = std::isfinite(j.ohm) ? ampere(j.from, j.to) : 0.0;
            add(j.place, std::isfinite(j.ohm) ? i * i * j.ohm : 0.0, crust[n++]);
        }
    }

    const Bench& bench_;
    site::Works works_;
    std::vector<Lug> list_;
};

// What burns in an input that conducts more than it was built to, W: an array's volts across it, no more than its
// current.
double input_W(const site::Works& w, const site::Works& built) {
    const double siemens = 1 / w.link.bleed_ohm - 1 / built.link.bleed_ohm;
    if (!(siemens > 0.0) || w.supply.kind == site::Supply::Kind::mains) return 0.0;
    const double volt = w.supply.kind == site::Supply::Kind::bench ? w.supply.voltage : link_V(w);
    return volt * volt * siemens;
}

// Metal, or a fuse's ash, where a part was.
bool burnt_through(const site::Works& w) {
    constexpr double rest_ohm = 100.0;  // of a varistor that has burnt through; common practice, no source
    for (const drive::LegParts& leg : w.bridge.legs)
        if (leg.upper == drive::Device::shorted || leg.lower == drive::Device::shorted) return true;
    return w.array.arrester.plus_ohm < rest_ohm || w.array.arrester.minus_ohm < rest_ohm;
}

}  // namespace

double joint_degC(double watt, double air_degC) {
    constexpr double most_K = 5000.0;  // no contact gets there: it has burnt
    return roots::root([&](double degC) { return given_off_W(degC, air_degC) - watt; }, air_degC, air_degC + most_K);
}

Mark Lug::mark() const {
    return burnt || degC > plastic_bears_degC ? Mark::scorched
           : degC > discolours_degC           ? Mark::discoloured
                                              : Mark::clean;
}

std::vector<Lug> lugs(const Bench& bench) { return Contacts(bench, untouched(bench)).all(); }

double box_degC(const Bench& bench) {
    const double now = bench.state().slow.heat_sink_degC;
    if (!bench.state().command.running) return now;
    Bench on(bench);
    const site::Works& w = on.site()->works;
    const plant::Energies before = on.state().energy;
    const double from = on.time();
    on.plant().average_turns(on.state(), 0.02);
    const plant::Energies booked = plant::since(on.state().energy, before);
    const double seconds = on.time() - from, K_per_W = w.heat_sink.K_per_W;
    double terminals = 0.0;
    for (std::size_t k = 0; k < 3; ++k)
        if (const site::Joint& j = w.phases[k].terminal; !j.open)
            terminals += j.ohm * std::max(0.0, plant::line_square(booked, k)) / seconds;
    const double sink = w.heat_sink.round_degC + booked[plant::in_bridge] / seconds * K_per_W;
    return std::max(now, std::min(sink, w.drive.heat_sink_limit_degC)) + terminals * K_per_W;
}

unsigned smells(const Bench& bench) {
    constexpr unsigned warm = 1, burnt = 2;
    // Where dust on a heat sink begins to smell (common practice, no source). What classes B and F of insulation bear:
    // 130 and 155 degC (IEC 60085, from memory).
    constexpr double dust_degC = 75.0, varnish_degC = 130.0, chars_degC = 155.0;
    const site::Works w = untouched(bench), built = site::set_up(bench.scenario());
    const double air = bench.scenario().sun.air_temperature_degC;
    if (burnt_through(w)) return burnt;
    double hottest = joint_degC(input_W(w, built), air);
    for (const Lug& lug : Contacts(bench, w).all()) {
        if (lug.burnt) return burnt;
        hottest = std::max(hottest, lug.degC);
    }
    if (hottest > plastic_bears_degC) return burnt;
    // A motor down a bore is out of a nose's reach.
    const plant::Slow& slow = bench.state().slow;
    const double winding =
        w.water.pump.index() == 0 ? std::max(slow.winding_degC, slow.winding_degC + slow.turns_K) : air;
    if (winding > chars_degC || (w.water.pump.index() == 0 && slow.turns_burn >= 1.0)) return burnt;
    // A small supply that has failed: a part of some watts has gone.
    const bool supply_gone = built.drive.on && !w.drive.on;
    return supply_gone || hottest > discolours_degC || winding > varnish_degC || box_degC(bench) > dust_degC ? warm : 0;
}

}  // namespace sunshaft::bench
