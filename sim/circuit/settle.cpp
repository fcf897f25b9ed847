#include "circuit/settle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

#include "circuit/network.hpp"
#include "roots/roots.hpp"

namespace sunshaft::circuit {
namespace {

constexpr int stages = 5;
constexpr double gamma_ = 0.25;
constexpr double a[stages][stages] = {{gamma_, 0, 0, 0, 0},
                                      {1.0 / 2, gamma_, 0, 0, 0},
                                      {17.0 / 50, -1.0 / 25, gamma_, 0, 0},
                                      {371.0 / 1360, -137.0 / 2720, 15.0 / 544, gamma_, 0},
                                      {25.0 / 24, -49.0 / 48, 125.0 / 16, -85.0 / 12, gamma_}};  // last row = weights
constexpr double error_weight[stages] = {-3.0 / 16, -27.0 / 32, 25.0 / 32, 0.0, 1.0 / 4};

constexpr double instant = 1e-15;  // s: charges that meet without resistance have met after this

}  // namespace

std::vector<CapacitorVolt> capacitor_volts(const Circuit& circuit, const Solution& at_rest) {
    std::vector<CapacitorVolt> result;
    for (Branch b = 0; b < circuit.branches(); ++b) {
        const auto& what = circuit.info(b);
        if (what.kind == Circuit::Kind::capacitor && at_rest.connected(what.a, what.b))
            result.push_back({b, at_rest.voltage(what.a, what.b)});
    }
    return result;
}

struct Settle::Impl {
    struct Capacitor {
        Branch branch;
        double farad;
        double volt = 0.0;
        std::array<double, stages> rate{};  // V/s
    };
    Network network;
    double tolerance;
    std::vector<Capacitor> capacitors{};
    double time = 0.0;
    double next_step = 0.0;  // s, 0: no idea yet

    // Solves with each capacitor as its companion; `rest` is gamma h.
    void solve_stage(double rest, int stage) {
        for (const Capacitor& c : capacitors) network.ohm(c.branch) = rest / c.farad;
        network.solve();
        for (Capacitor& c : capacitors) c.rate[static_cast<std::size_t>(stage)] = network.current(c.branch) / c.farad;
    }

    void euler(double h) {
        for (const Capacitor& c : capacitors) network.source(c.branch) = c.volt;
        solve_stage(h, 0);
        for (Capacitor& c : capacitors) c.volt = network.voltage(c.branch);
    }

    // One step from the present capacitor voltages, which stay. Returns the error over the tolerance.
    double attempt(double h) {
        for (int s = 0; s < stages; ++s) {
            for (const Capacitor& c : capacitors) {
                double volt = c.volt;
                for (int r = 0; r < s; ++r) volt += h * a[s][r] * c.rate[static_cast<std::size_t>(r)];
                network.source(c.branch) = volt;
            }
            solve_stage(gamma_ * h, s);
        }
        double worst = 0.0;
        for (const Capacitor& c : capacitors) {
            double error = 0.0;
            for (int s = 0; s < stages; ++s) error += h * error_weight[s] * c.rate[static_cast<std::size_t>(s)];
            worst = std::max(worst, std::fabs(error) / (tolerance * (1.0 + std::fabs(c.volt))));
        }
        return worst;
    }

    void accept(double h) {
        for (Capacitor& c : capacitors) c.volt = network.voltage(c.branch);  // stiffly accurate: the last stage
        time += h;
    }

    // The largest step not beyond `most` that holds the tolerance, attempted and not yet accepted.
    double careful_step(double most) {
        double h = next_step > 0.0 ? std::min(next_step, most) : 1e-3 * most;
        for (;;) {
            const double error = attempt(h);
            const double factor = std::clamp(0.9 * std::pow(error, -0.25), 0.1, 5.0);
            if (error <= 1.0) {
                if (h < most || factor < 1.0) next_step = h * factor;
                return h;
            }
            h *= factor;
            if (!(h > 1e-14 * time) || !(h > instant))
                throw std::runtime_error(fmt::format("the capacitors cannot be followed beyond {} s", time));
        }
    }
};

Settle::Settle(const Circuit& circuit, const std::vector<CapacitorVolt>& start, double tolerance)
    : impl_(new Impl{Network(circuit, Network::Capacitors::companion), tolerance}) {
    if (!(tolerance > 0.0)) throw std::invalid_argument("the tolerance of a transient must be above zero");
    for (Branch b = 0; b < circuit.branches(); ++b) {
        const auto& what = circuit.info(b);
        if (what.kind == Circuit::Kind::capacitor && what.value > 0.0) impl_->capacitors.push_back({b, what.value});
    }
    for (const auto& [capacitor, volt] : start) {
        if (circuit.info(capacitor).kind != Circuit::Kind::capacitor || !std::isfinite(volt))
            throw std::invalid_argument(fmt::format("{}: {} V is no charge", circuit.describe(capacitor), volt));
        for (auto& c : impl_->capacitors)
            if (c.branch == capacitor) c.volt = volt;
    }
    impl_->euler(instant);  // charges share
    impl_->euler(instant);  // and the currents are those of what follows
}
Settle::~Settle() = default;
Settle::Settle(Settle&&) noexcept = default;
Settle& Settle::operator=(Settle&&) noexcept = default;

double Settle::time() const { return impl_->time; }

Solution Settle::solution() const { return impl_->network.solution(); }

double Settle::voltage(Branch capacitor) const { return impl_->network.voltage(capacitor); }

Solution Settle::run_to(double t) {
    if (!(t >= impl_->time) || std::isinf(t))
        throw std::invalid_argument(fmt::format("cannot run from {} s to {} s", impl_->time, t));
    while (impl_->time < t) {
        const double most = t - impl_->time;
        const double h = impl_->careful_step(most);
        impl_->accept(h);
        if (h == most) impl_->time = t;
    }
    return solution();
}

std::optional<double> Settle::run_until(Node red, Node black, double volt, double latest) {
    const auto beyond = [&] { return solution().voltage(red, black) - volt; };
    double here = beyond();
    if (std::isnan(here))
        throw std::invalid_argument(fmt::format("no voltage is defined between {} and {}",
                                                impl_->network.circuit().name(red),
                                                impl_->network.circuit().name(black)));
    if (here == 0.0) return time();
    while (impl_->time < latest) {
        double h = impl_->careful_step(latest - impl_->time);
        double there = beyond();
        if ((here < 0.0) == (there < 0.0) && there != 0.0) {
            impl_->accept(h);
            here = there;
            continue;
        }
        // Passed within this step, of a length that is sought: each trial a full step from its start.
        const auto after = [&](double step) {
            impl_->attempt(step);
            return beyond();
        };
        const double least = 1e-14 * (impl_->time + h);
        h = std::max(least, roots::root(after, 0.0, h, here, there, least));
        impl_->attempt(h);
        impl_->accept(h);
        return time();
    }
    return std::nullopt;
}

}  // namespace sunshaft::circuit
