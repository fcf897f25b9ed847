// The currents in the strings of an array as it is wired now, by its whole circuit.
#include <fmt/format.h>

#include <cmath>

#include "bench/hazards.hpp"
#include "bench/places.hpp"
#include "circuit/circuit.hpp"
#include "site/wiring.hpp"

namespace sunshaft::bench {

std::vector<double> string_currents(const site::Works& w, double link_V) {
    if (!array(w)) return {};
    site::Works wired = w;
    wired.array.plus.contact.open = wired.array.minus.contact.open = std::isnan(link_V);
    if (std::isnan(link_V)) wired.array.plus.contact.leak_ohm = wired.array.minus.contact.leak_ohm = site::open_circuit;
    circuit::Circuit c;
    site::wire_dc(wired, c);
    if (!std::isnan(link_V)) c.voltage_source(c.node("link+"), c.node("link-"), link_V, 1e-3);
    const circuit::Solution found = circuit::solve(c);
    std::vector<double> amps;
    for (std::size_t n = 1; n <= w.array.strings.size(); ++n) {
        const auto branch = c.find_branch(fmt::format("s{}", n));
        const double i = branch ? found.current(*branch) : 0.0;
        amps.push_back(std::isfinite(i) ? i : 0.0);
    }
    return amps;
}

}  // namespace sunshaft::bench
