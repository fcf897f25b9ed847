// The bench with the drive off: the wiring solved as a network, its capacitances charging and discharging.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/bench.hpp"
#include "bench/hands.hpp"
#include "circuit/circuit.hpp"
#include "site/keys.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

circuit::Node point(const circuit::Circuit& c, const std::string& name) {
    if (const auto found = c.find(name)) return *found;
    throw site::BadInput(
        fmt::format("{}: no such test point on this site, expected one that `sunshaft points` lists", name));
}

// The link as a charge that what the plant says has left of it.
void add_link(circuit::Circuit& c, double volt, double esr) {
    if (volt > 1.0) c.voltage_source(c.node("link+"), c.node("link-"), volt, std::max(1e-3, esr));
}

// What a charge of one volt between two points takes, F: the network of capacitors alone, whatever joins them by less
// than this counting as one metal.
double capacitance_between(const circuit::Circuit& wiring, circuit::Node red, circuit::Node black) {
    constexpr double one_metal_ohm = 1e5, per_second = 1.0;  // a capacitor of 1 F becomes 1 S
    circuit::Circuit c;
    for (circuit::Node n = 0; n < wiring.nodes(); ++n) c.node(wiring.name(n));
    for (circuit::Branch b = 0; b < wiring.branches(); ++b) {
        const auto& what = wiring.info(b);
        if (what.kind == circuit::Circuit::Kind::capacitor && what.value > 0.0)
            c.resistor(what.a, what.b, 1.0 / (what.value * per_second));
        if (what.kind == circuit::Circuit::Kind::resistor && what.ohm < one_metal_ohm) c.resistor(what.a, what.b, 0.0);
    }
    const double ohm = circuit::Solver(c).resistance_between(red, black);
    return ohm > 0.0 && std::isfinite(ohm) ? 1.0 / (ohm * per_second) : 0.0;
}

}  // namespace

circuit::Circuit Bench::wiring_at_rest() const {
    circuit::Circuit c = site_->wiring;  // with the leads that lie there: they are loads of the works
    add_link(c, state_.x[plant::v_cap], site_->works.link.esr_ohm);
    return c;
}

circuit::Solution Bench::resting(bool settled) {
    const double link = state_.x[plant::v_cap];
    if (settled || !charges_moving_) return circuit::solve(wiring_at_rest());
    // A link that has bled further: from the charges of this moment on.
    if (settle_ && std::abs(link - settle_link_) > 1e-3 * std::max(1.0, settle_link_)) {
        settle_link_ = link;  // or keep_charges(), which asks for this moment's voltages, would come back here
        keep_charges();
    }
    if (!settle_) {
        const circuit::Circuit c = wiring_at_rest();
        std::vector<circuit::CapacitorVolt> start;
        for (circuit::Branch b = 0; b < c.branches(); ++b) {
            const auto& what = c.info(b);
            if (what.kind != circuit::Circuit::Kind::capacitor) continue;
            const auto kept = std::find_if(charges_.begin(), charges_.end(), [&](const Charge& k) {
                return k.a == c.name(what.a) && k.b == c.name(what.b);
            });
            if (kept != charges_.end()) start.push_back({b, kept->volt});
        }
        settle_ = std::make_shared<circuit::Settle>(c, start, 1e-5);
        settle_link_ = link;
    }
    return settle_->run_to(std::max(settle_->time(), state_.t - charges_at_));
}

void Bench::keep_charges() {
    const circuit::Solution now = resting(state_.command.running);
    std::vector<Charge> charges;
    const circuit::Circuit& c = site_->wiring;
    for (circuit::Branch b = 0; b < c.branches(); ++b) {
        const auto& what = c.info(b);
        if (what.kind == circuit::Circuit::Kind::capacitor && now.connected(what.a, what.b))
            charges.push_back({c.name(what.a), c.name(what.b), now.voltage(what.a, what.b)});
    }
    charges_ = std::move(charges);
    charges_at_ = state_.t;
    charges_moving_ = true;
    settle_.reset();
}

double Bench::still_voltage(const std::string& red, const std::string& black, double meter_ohm) {
    const circuit::Node a = point(site_->wiring, red), b = point(site_->wiring, black);
    const bool lying =
        probes_.red == red && probes_.black == black && std::abs(meter_ohm - meter_ohm_) <= 1e-9 * meter_ohm_;
    double v;
    if (lying) {
        v = resting(false).voltage(a, b);
    } else {
        circuit::Circuit c = wiring_at_rest();
        if (meter_ohm > 0.0 && std::isfinite(meter_ohm)) c.resistor(a, b, meter_ohm);
        v = circuit::solve(c).voltage(a, b);
    }
    // nothing between the two islands: the meter's own resistance pulls them together
    return std::isfinite(v) ? v : 0.0;
}

// The modes with a source of the meter's own.
meter::Reading Bench::read_driven(const meter::Spec& spec, meter::Mode mode, const Probes& probes,
                                  const meter::Context& asked) {
    meter::Context c = asked;
    connect({}, 0.0);                              // a voltmeter's leads are lifted
    const site::Hands hands = site_->works.hands;  // a copy: connect() puts another site in place
    const circuit::Node a = point(site_->wiring, probes.red), b = point(site_->wiring, probes.black);
    meter::Passive p;
    if (hands.current_jack || std::isinf(hands.lead_ohm)) {
        meter::Reading r = meter::read(spec, mode, meter::resistance(std::numeric_limits<double>::infinity()), c);
        r.warnings.push_back(
            hands.current_jack
                ? "the red lead sits in the current jack: the meter's source goes nowhere"
                : "the meter finds an open circuit even with its leads touching: check the leads and their sockets");
        return r;
    }
    plant::Recorder recorder({plant::signal(*site_, probes.red + ":" + probes.black)});
    if (!still_at(probes)) advance(0.1, &recorder);
    const auto s = trace::statistics(recorder.recording.signal(0));
    circuit::Circuit wiring = wiring_at_rest();
    if (std::isfinite(s.rms) && s.rms > 1e-3) {
        // A live circuit: what stands there drives the ohmmeter as well.
        const double ohm = circuit::Solver(wiring).resistance_between(a, b);
        p = meter::resistance(std::max(1e-3, ohm), s.mean);
        p.ac_rms = s.rms_ac;
    } else {
        if (mode == meter::Mode::cap) p.capacitance_F = capacitance_between(wiring, a, b);
        const auto source = wiring.voltage_source(a, b, 0.0, 1e-3);
        const auto solver = std::make_shared<circuit::Solver>(wiring);
        p.current = [solver, source](double volt) {
            const double i = solver->solve_with(source, volt).current(source);
            return std::isfinite(i) ? -i : 0.0;
        };
    }
    return meter::read(spec, mode, p, c);
}

}  // namespace sunshaft::bench
