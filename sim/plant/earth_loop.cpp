#include "plant/earth_loop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace sunshaft::plant {
namespace {

// Times after an edge, in units of the fast time constant, between which a straight line follows the exponential to
// half a per cent.
constexpr double marks[] = {0.07, 0.14, 0.22, 0.3, 0.39, 0.49, 0.6, 0.72, 0.86, 1.02, 1.2,
                            1.4,  1.65, 1.95, 2.3, 2.75, 3.3,  4.1, 5.2,  7.0,  10.0};

}  // namespace

EarthLoop::EarthLoop(const site::Site& site) : site_(site) {
    const site::Works& w = site.works;
    const site::Array& array = w.array;
    const auto leak = [&](std::vector<Leak>& list, const std::string& node, double ohm, int stiff) {
        if (!(ohm < site::open_circuit)) return;
        const int column = site.source.stiff ? -1 : site.source.column(node);
        list.push_back({column >= 0 ? column : stiff, 1.0 / ohm});
    };
    const bool dc = w.supply.kind != site::Supply::Kind::mains;
    if (dc && !w.bonds.frame.open) {
        for (std::size_t s = 0; s < array.strings.size() && w.supply.kind == site::Supply::Kind::array; ++s) {
            const site::String& string = array.strings[s];
            for (std::size_t m = 0; m < string.modules.size(); ++m) {
                const std::string own = fmt::format("s{}.m{}", s + 1, m + 1);
                const bool turned = string.modules[m].reversed;
                if (m == 0) leak(frame_, own + (turned ? "-" : "+"), string.earth_ohm.front(), -1);
                leak(frame_, own + (turned ? "+" : "-"), string.earth_ohm[m + 1], -2);
            }
        }
        leak(frame_, "array+", array.leak_plus_ohm, -1);
        leak(frame_, "array-", array.leak_minus_ohm, -2);
        array_F_ = array.capacitance_F;
    }
    if (dc) {
        leak(arrester_, "dc+", array.arrester.plus_ohm, -1);
        leak(arrester_, "dc-", array.arrester.minus_ohm, -2);
        leak(arrester_, "dc+", w.link.monitor_ohm, -1);
        leak(arrester_, "dc-", w.link.monitor_ohm, -2);
        monitor_S_ = 2.0 / w.link.monitor_ohm;
        fitted_F_ = w.link.earth_F;
    }
    if (!w.bonds.casing.open)
        for (std::size_t k = 0; k < 3; ++k)
            // A wet joint's own cell is nothing beside what the drive puts on the winding.
            winding_S_[k] = 1.0 / w.phases[k].earth_leak_ohm + 1.0 / w.phases[k].earth_cell_ohm;
    core_F_ = w.cable_capacitance;
}

double EarthLoop::potential(const Leak& leak, double link) const {
    return leak.column == -1 ? link : leak.column == -2 ? 0.0 : site_.source.node_voltage(leak.column, link);
}

EarthLoop::Forcing EarthLoop::forcing(const Input& in) const {
    Forcing f;
    f.G = insulation_S;
    f.J = insulation_S * 0.5 * in.link;
    for (const Leak& l : frame_) f.G += l.siemens, f.J += l.siemens * potential(l, in.link);
    for (const Leak& l : arrester_) f.arrester_G += l.siemens, f.arrester_J += l.siemens * potential(l, in.link);
    for (std::size_t k = 0; k < 3; ++k) {
        if (core_F_ > 0.0 && std::isfinite(in.lead[k])) f.n += 1.0, f.s += in.lead[k];
        if (std::isfinite(in.motor[k])) f.leak_G += winding_S_[k], f.leak_J += winding_S_[k] * in.motor[k];
    }
    f.G += f.arrester_G + f.leak_G;
    f.J += f.arrester_J + f.leak_J;
    return f;
}

motor::Vec3 EarthLoop::leaking(const Input& in) const {
    const Forcing f = forcing(in);
    motor::Vec3 out{};
    for (std::size_t k = 0; k < 3; ++k) out[k] = winding_S_[k] * (in.motor[k] - f.J / f.G);
    return out;
}

double EarthLoop::insulation_ohm(bool output_on) const {
    double siemens = insulation_S - monitor_S_;
    for (const Leak& l : frame_) siemens += l.siemens;
    for (const Leak& l : arrester_) siemens += l.siemens;
    if (output_on)
        for (const double winding : winding_S_) siemens += winding;
    return 1.0 / std::max(siemens, insulation_S);
}

EarthLoop::Currents EarthLoop::currents(const Forcing& f, double e, double U) const {
    Currents c;
    c.uvw = (f.n > 0.0 ? (f.s - f.n * e - U) / core_ohm : 0.0) + f.leak_J - f.leak_G * e;
    c.dc = c.uvw + f.arrester_J - f.arrester_G * e;
    // What the fitted capacitors bring back at the drive goes round neither clamp.
    if (fitted_F_ > 0.0) {
        const double I = f.n > 0.0 ? (f.s - f.n * e - U) / core_ohm : 0.0;
        c.dc -= fitted_F_ / (array_F_ + fitted_F_ + stray_F) * (f.J - f.G * e + I);
    }
    c.pe = -c.dc;
    return c;
}

// As it comes to rest after a long time: every terminal that hangs on the output stands at half the link on average.
void EarthLoop::begin(const Forcing& f, double link) {
    e_ = (f.J - f.leak_J + f.leak_G * 0.5 * link) / f.G;
    U_ = f.n * (0.5 * link - e_);
    begun_ = true;
}

bool EarthLoop::edge(const Input& a) const {
    for (std::size_t k = 0; k < 3; ++k)
        if (!(std::abs(a.lead[k] - last_.lead[k]) <= 1e-3 * std::max(1.0, std::abs(a.link)))) return true;
    return false;
}

std::vector<double> EarthLoop::cuts(const Input& a, double dt) const {
    const double since = edge(a) ? 0.0 : since_edge_;
    std::vector<double> out;
    if (core_F_ > 0.0)
        for (const double mark : marks) {
            const double at = (mark * core_ohm * core_F_ - since) / dt;
            if (at > 0.0 && at < 1.0 - 1e-9) out.push_back(at);
        }
    out.push_back(1.0);
    return out;
}

std::vector<EarthLoop::Currents> EarthLoop::piece(const Input& a, const Input& b, double dt,
                                                  const std::vector<double>& cuts) {
    const Forcing fa = forcing(a), fb = forcing(b);
    if (!begun_) begin(fa, a.link);
    since_edge_ = (edge(a) ? 0.0 : since_edge_) + dt;
    last_ = b;

    // x = (e, U), x' = A x + b0 + b1 t
    const double C_a = array_F_ + fitted_F_ + stray_F, C = core_F_ > 0.0 ? core_F_ : 1.0, R = core_ohm, n = fa.n;
    const double a11 = -(fa.G + n / R) / C_a, a12 = -(n > 0.0 ? 1.0 / R : 0.0) / C_a;
    const double a21 = n > 0.0 ? -n / (R * C) : 0.0, a22 = -1.0 / (R * C);
    const double u0 = fa.J + (n > 0.0 ? fa.s / R : 0.0), u1 = fb.J + (n > 0.0 ? fb.s / R : 0.0);
    const double b0e = u0 / C_a, b1e = (u1 - u0) / C_a / dt;
    const double b0U = n > 0.0 ? fa.s / (R * C) : 0.0, b1U = n > 0.0 ? (fb.s - fa.s) / (R * C) / dt : 0.0;
    const double det = a11 * a22 - a12 * a21;
    // A^-1 (x, y)
    const auto solve = [&](double x, double y) {
        return std::array{(a22 * x - a12 * y) / det, (a11 * y - a21 * x) / det};
    };
    const auto q = solve(-b1e, -b1U);
    const auto p = solve(q[0] - b0e, q[1] - b0U);
    // Both eigenvalues of such a network are real and negative.
    const double half_trace = 0.5 * (a11 + a22), root = std::sqrt(std::max(half_trace * half_trace - det, 0.0));
    const double fast = half_trace - root, slow = det / fast;
    const double e0 = e_ - p[0], U0 = U_ - p[1];
    // exp(A t) = (exp(fast t) (A - slow) - exp(slow t) (A - fast)) / (fast - slow)
    const auto at = [&](double t) {
        const double ef = std::exp(fast * t), es = std::exp(slow * t), w = fast - slow;
        const double k1 = w != 0.0 ? (ef - es) / w : t * ef,
                     k0 = w != 0.0 ? (fast * es - slow * ef) / w : ef * (1.0 - fast * t);
        const double ye = k0 * e0 + k1 * (a11 * e0 + a12 * U0), yU = k0 * U0 + k1 * (a21 * e0 + a22 * U0);
        return std::array{p[0] + q[0] * t + ye, p[1] + q[1] * t + yU};
    };
    const auto between = [&](double share) {
        Forcing f = fa;
        f.s += share * (fb.s - fa.s);
        f.J += share * (fb.J - fa.J);
        f.arrester_J += share * (fb.arrester_J - fa.arrester_J);
        f.leak_J += share * (fb.leak_J - fa.leak_J);
        return f;
    };
    std::vector<Currents> out;
    out.reserve(cuts.size() + 1);
    out.push_back(currents(fa, e_, U_));
    std::array<double, 2> x{e_, U_};
    for (const double share : cuts) {
        x = at(share * dt);
        out.push_back(currents(between(share), x[0], x[1]));
    }
    e_ = x[0];
    U_ = x[1];
    return out;
}

}  // namespace sunshaft::plant
