// The bench with the drive off: the wiring solved as a network, its capacitances charging and discharging.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/bench.hpp"
#include "bench/places.hpp"
#include "circuit/circuit.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::bench {
namespace {

// The link as a charge that what the plant says has left of it.
void add_link(circuit::Circuit& c, double volt, double esr) {
    if (volt > 1.0) c.voltage_source(c.node("link+"), c.node("link-"), volt, std::max(1e-3, esr));
}

}  // namespace

circuit::Node node_at(const circuit::Circuit& c, const std::string& name) {
    if (const auto found = c.find(name)) return *found;
    throw site::BadInput(text::say("{}: no such test point on this site, expected one that `sunshaft points` lists",
                                   site::on_one_line(name)));
}

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
    const circuit::Node a = node_at(site_->wiring, red), b = node_at(site_->wiring, black);
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

}  // namespace sunshaft::bench
