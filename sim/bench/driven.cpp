// The modes with a source of the meter's own: ohm, continuity, diode, insulation, capacitance.
#include <cmath>
#include <limits>
#include <memory>
#include <tuple>

#include "bench/held.hpp"
#include "bench/places.hpp"
#include "circuit/circuit.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

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

meter::Reading read_driven(Bench& bench, const Held& held) {
    const auto& [spec, mode, probes, c] = std::tie(held.spec, held.mode, held.probes, held.context);
    bench.connect({}, 0.0);
    const std::shared_ptr<const site::Site> site = bench.site();
    const site::Hands& hands = site->works.hands;
    const circuit::Node a = node_at(site->wiring, probes.red), b = node_at(site->wiring, probes.black);
    meter::Passive p;
    if (hands.current_jack || std::isinf(hands.lead_ohm)) {
        meter::Reading r = meter::read(spec, mode, meter::resistance(std::numeric_limits<double>::infinity()), c);
        r.warnings.push_back(hands.current_jack
                                 ? text::tr("the red lead sits in the current jack: the meter's source goes nowhere")
                                 : text::tr("the meter finds an open circuit even with its leads touching: check the "
                                            "leads and their sockets"));
        return r;
    }
    plant::Recorder recorder({plant::signal(*site, probes.red + ":" + probes.black)});
    if (!bench.still_at(probes)) bench.advance(0.1, &recorder);
    const auto s = trace::statistics(recorder.recording.signal(0));
    circuit::Circuit wiring = bench.wiring_at_rest();
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
