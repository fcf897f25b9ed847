#include "water/rising_main.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "water/pump.hpp"

namespace sunshaft::water {
namespace {

constexpr double laminar_end = 2300.0, turbulent_start = 4000.0;  // Re

struct Friction {
    double factor, slope;  // f, df/dRe
};

Friction laminar(double reynolds) { return {64 / reynolds, -64 / (reynolds * reynolds)}; }

// With x = 1 / sqrt f: x + 2 log10(rough + smooth x) = 0. The left side is concave and rises, so Newton's
// method comes from below after its first step and cannot miss.
Friction colebrook(double reynolds, double relative_roughness) {
    const double rough = relative_roughness / 3.7, smooth = 2.51 / reynolds;
    constexpr double two_log = 2 / std::numbers::ln10;
    double x = 1 / std::sqrt(haaland(reynolds, relative_roughness));
    for (int i = 0; i < 20; ++i) {
        const double inside = rough + smooth * x;
        const double step = (x + two_log * std::log(inside)) / (1 + two_log * smooth / inside);
        x -= step;
        if (std::fabs(step) < 1e-15 * x) break;
    }
    const double inside = rough + smooth * x;
    const double dx = two_log * smooth * x / reynolds / inside / (1 + two_log * smooth / inside);
    return {1 / (x * x), -2 * dx / (x * x * x)};
}

Friction transition(double reynolds, double relative_roughness) {
    const Friction a = laminar(laminar_end), b = colebrook(turbulent_start, relative_roughness);
    const double w = turbulent_start - laminar_end, t = (reynolds - laminar_end) / w;
    const double rise = b.factor - a.factor, ma = a.slope * w, mb = b.slope * w;
    const double c2 = 3 * rise - 2 * ma - mb, c3 = ma + mb - 2 * rise;
    return {a.factor + t * (ma + t * (c2 + t * c3)), (ma + t * (2 * c2 + t * 3 * c3)) / w};
}

Friction friction(double reynolds, double relative_roughness) {
    if (reynolds < laminar_end) return laminar(reynolds);
    if (reynolds < turbulent_start) return transition(reynolds, relative_roughness);
    return colebrook(reynolds, relative_roughness);
}

}  // namespace

double friction_factor(double reynolds, double relative_roughness) {
    if (!(reynolds >= 0) || std::isinf(reynolds))
        throw std::invalid_argument(
            fmt::format("friction factor: Reynolds number is {}, expected 0 or more", reynolds));
    if (!(relative_roughness >= 0 && relative_roughness <= 0.1))
        throw std::invalid_argument(
            fmt::format("friction factor: relative roughness is {}, expected 0 to 0.1", relative_roughness));
    return friction(reynolds, relative_roughness).factor;
}

double swamee_jain(double reynolds, double relative_roughness) {
    const double log = std::log10(relative_roughness / 3.7 + 5.74 / std::pow(reynolds, 0.9));
    return 0.25 / (log * log);
}

double haaland(double reynolds, double relative_roughness) {
    const double x = -1.8 * std::log10(std::pow(relative_roughness / 3.7, 1.11) + 6.9 / reynolds);
    return 1 / (x * x);
}

double hazen_williams_loss(double length, double diameter, double coefficient, double flow) {
    const double loss = 10.67 * length * std::pow(std::fabs(flow) / coefficient, 1.852) / std::pow(diameter, 4.8704);
    return std::copysign(loss, flow);
}

double gate_valve_loss(double opening) {
    if (!(opening >= 0 && opening <= 1))
        throw std::invalid_argument(fmt::format("gate valve: opening is {}, expected 0 to 1", opening));
    constexpr std::array<double, 4> loss{24.0, 4.5, 0.9, 0.17};  // at 1/4, 1/2, 3/4, 1
    if (opening < 0.25)
        return opening > 0 ? loss[0] * 0.0625 / (opening * opening) : std::numeric_limits<double>::infinity();
    const std::size_t i = std::min<std::size_t>(static_cast<std::size_t>(4 * opening) - 1, 2);
    const double t = 4 * opening - static_cast<double>(i + 1);
    return loss[i] * std::pow(loss[i + 1] / loss[i], t);
}

double RisingMain::area() const { return std::numbers::pi / 4 * diameter * diameter; }

double RisingMain::reynolds(double flow) const { return std::fabs(flow) / area() * diameter / kinematic_viscosity; }

double RisingMain::loss(double flow) const {
    const double v = std::fabs(flow) / area(), re = reynolds(flow);
    // Laminar as f Re, so that no flow is not 0 times infinity.
    const double pipe = re < laminar_end ? 32 * kinematic_viscosity * length * v / (diameter * diameter)
                                         : friction(re, roughness / diameter).factor * length / diameter * v * v / 2;
    return std::copysign((pipe + minor_loss * v * v / 2) / gravity, flow);
}

double RisingMain::loss_slope(double flow) const {
    const double v = std::fabs(flow) / area(), re = reynolds(flow);
    double pipe = 32 * kinematic_viscosity * length / (diameter * diameter);
    if (re >= laminar_end) {
        const Friction f = friction(re, roughness / diameter);
        pipe = length / diameter * v * (f.factor + f.slope * re / 2);
    }
    return (pipe + minor_loss * v) / (gravity * area());
}

double RisingMain::inertance() const { return density * length / area(); }

LossTable::LossTable(const RisingMain& main, double max_flow) {
    const auto good = [](double value) { return std::isfinite(value) && value >= 0; };
    if (!(good(main.diameter) && main.diameter > 0 && good(main.kinematic_viscosity) && main.kinematic_viscosity > 0))
        throw std::invalid_argument("rising main: diameter and viscosity must be more than 0");
    if (!(good(main.length) && good(main.roughness) && main.roughness <= 0.1 * main.diameter && good(main.minor_loss)))
        throw std::invalid_argument(
            "rising main: length and losses must be 0 or more, roughness at most a tenth of the diameter");
    if (!good(max_flow)) throw std::invalid_argument("rising main: the largest flow must be 0 or more");

    const double per_re = main.area() * main.kinematic_viscosity / main.diameter;  // flow at Re = 1
    const double starts[] = {0.0, laminar_end * per_re, turbulent_start * per_re};
    last_ = std::max(max_flow, 1.5 * starts[2]);
    // Turbulent pieces as wide as an 8th of the flow where that zone starts, within reason.
    const double turbulent_pieces = std::clamp(std::ceil(8 * (last_ / starts[2] - 1)), 8.0, 16384.0);
    const int counts[] = {1, 32, static_cast<int>(turbulent_pieces)};
    const double ends[] = {starts[1], starts[2], last_};

    pieces_.clear();
    double value = 0.0, slope = main.loss_slope(0.0);
    for (std::size_t z = 0; z < 3; ++z) {
        const double step = (ends[z] - starts[z]) / counts[z];
        zones_[z] = {starts[z], 1 / step, counts[z] - 1.0, pieces_.size()};
        for (int i = 1; i <= counts[z]; ++i) {
            const double to = i == counts[z] ? ends[z] : starts[z] + i * step;
            const double next = main.loss(to), next_slope = main.loss_slope(to);
            const double rise = next - value, ma = slope * step, mb = next_slope * step;
            pieces_.push_back({value, ma, 3 * rise - 2 * ma - mb, ma + mb - 2 * rise});
            value = next;
            slope = next_slope;
        }
    }
    // Beyond: value and slope continue, curvature that of k Q2.
    end_[0] = value;
    end_[1] = slope;
    end_[2] = value / (last_ * last_);
}

Water water_at(double degC) {
    if (!(degC >= 0 && degC <= 60))
        throw std::invalid_argument(fmt::format("water temperature is {} degC, expected 0 to 60", degC));
    const double t = degC, kelvin = degC + 273.15;
    const double density =
        (999.83952 +
         t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))))) /
        (1 + 16.879850e-3 * t);

    const double warm = kelvin / 300;
    const double viscosity = 1e-6 * (280.68 * std::pow(warm, -1.9) + 511.45 * std::pow(warm, -7.7) +
                                     61.131 * std::pow(warm, -19.6) + 0.45903 * std::pow(warm, -40.0));

    constexpr double critical_kelvin = 647.096, critical_pressure = 22.064e6;
    const double tau = 1 - kelvin / critical_kelvin;
    const double exponent = -7.85951783 * tau + 1.84408259 * std::pow(tau, 1.5) - 11.7866497 * std::pow(tau, 3.0) +
                            22.6807411 * std::pow(tau, 3.5) - 15.9618719 * std::pow(tau, 4.0) +
                            1.80122502 * std::pow(tau, 7.5);
    return {density, viscosity, critical_pressure * std::exp(critical_kelvin / kelvin * exponent)};
}

}  // namespace sunshaft::water
