#include "model/turn.hpp"
#include "text/language.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace sunshaft::view {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi, sixth = two_pi / 6.0;

double wrap(double angle) { return angle - two_pi * std::floor(angle / two_pi); }

int column(const trace::Recording& r, const std::string& name) {
    const auto at = std::find(r.names.begin(), r.names.end(), name);
    return at == r.names.end() ? -1 : static_cast<int>(at - r.names.begin());
}

bool is_point(const std::string& name) {
    for (const char* other : {"leg.", "around.", "flux_"})
        if (name.starts_with(other)) return false;
    return name != "link_V" && name != "star_V" && name != "link+" && name != "link-" && name != "motor.n";
}

double largest(const Turn& turn) {
    double most = 0.0;
    for (const char* name : {"around.u", "around.v", "around.w"}) {
        const int n = column(turn.rows, name);
        if (n < 0) continue;
        for (const auto* ends : {&turn.rows.y0, &turn.rows.y1})
            for (const double y : (*ends)[static_cast<std::size_t>(n)])
                if (std::isfinite(y)) most = std::max(most, std::abs(y));
    }
    return most;
}

}  // namespace

const std::vector<std::string>& turn_signals() {
    static const std::vector<std::string> names = {"around.u", "around.v",      "around.w",    "drive.u", "drive.v",
                                                   "drive.w",  "motor.u",       "motor.v",     "motor.w", "star_V",
                                                   "link_V",   "flux_alpha_Wb", "flux_beta_Wb"};
    return names;
}

drive::Leg leg_of(const drive::Bridge& bridge, std::size_t leg, const LegState& is) {
    using drive::Leg;
    const double ohm = bridge.on_resistance, drop = bridge.diode_drop, v = is.volts, i = is.amps;
    const bool flows = std::abs(i) > is.nothing_A;
    const drive::LegParts& parts = bridge.legs[leg];
    // What each would make of this current; of two that come to the same a switch is meant, where one may be closed.
    struct Law {
        Leg mode;
        double off;
        bool can;
    };
    const Law laws[] = {{Leg::upper, v - (is.link - ohm * i),
                         is.switching ? parts.upper != drive::Device::open : parts.upper == drive::Device::shorted},
                        {Leg::lower, v + ohm * i,
                         is.switching ? parts.lower != drive::Device::open : parts.lower == drive::Device::shorted},
                        {Leg::diode_up, v - (is.link + drop), flows && i < 0.0},
                        {Leg::diode_down, v + drop, flows && i > 0.0}};
    const Law* best = nullptr;
    for (const Law& law : laws)
        if (law.can && (!best || std::abs(law.off) < std::abs(best->off))) best = &law;
    // Where nothing flows only a closed switch holds the terminal to its rail.
    if (!std::isfinite(v) || !best || (!flows && std::abs(best->off) > 1e-5 * std::max(1.0, std::abs(is.link))))
        return Leg::blocked;
    return best->mode;
}

double Turn::angle_at(double t) const { return wrap(angle - omega * (to() - t)); }

double Turn::when(double wanted) const {
    if (omega == 0.0) return to();
    const double back = omega > 0.0 ? wrap(angle - wanted) : wrap(wanted - angle);
    return std::max(from(), to() - back / std::abs(omega));
}

std::optional<double> Moment::volts(const std::string& point) const {
    const auto at = std::find_if(point_V.begin(), point_V.end(), [&](const auto& p) { return p.first == point; });
    if (at == point_V.end() || !std::isfinite(at->second)) return {};
    return at->second;
}

Moment moment_at(const Turn& turn, double t) {
    Moment m;
    const trace::Recording& r = turn.rows;
    if (!r.rows()) return m;
    m.t = std::clamp(t, turn.from(), turn.to());
    // The present instant has a row of its own; before it an edge counts as passed.
    std::size_t k = static_cast<std::size_t>(std::upper_bound(r.t1.begin(), r.t1.end(), m.t) - r.t1.begin());
    if (m.t >= turn.to()) k = r.rows() - 1;
    k = std::min(k, r.rows() - 1);
    const double wide = r.t1[k] - r.t0[k];
    const double share = wide > 0.0 ? std::clamp((m.t - r.t0[k]) / wide, 0.0, 1.0) : 1.0;
    const auto at = [&](const std::string& name) {
        const int n = column(r, name);
        if (n < 0) return std::numeric_limits<double>::quiet_NaN();
        const auto c = static_cast<std::size_t>(n);
        return r.y0[c][k] + share * (r.y1[c][k] - r.y0[c][k]);
    };
    for (std::size_t p = 0; p < 3; ++p) {
        const int phase = static_cast<int>(p);
        const double leg = at(site::phase_point("leg", phase));
        if (leg >= 0.0 && leg < drive::leg_modes) m.legs[p] = static_cast<drive::Leg>(std::lround(leg));
        const double amps = at(site::phase_point("around", phase));
        m.amps[p] = std::isfinite(amps) ? amps : 0.0;
    }
    m.flux = {at("flux_alpha_Wb"), at("flux_beta_Wb")};
    m.point_V = {{"link-", 0.0}, {"link+", at("link_V")}, {"motor.n", at("star_V")}};
    for (const std::string& name : r.names)
        if (is_point(name)) m.point_V.emplace_back(name, at(name));
    return m;
}

double first_step(drive::Modulation modulation) {
    return modulation == drive::Modulation::six_step_180 ? -0.5 * sixth : 0.0;
}

int step_of(drive::Modulation modulation, double angle) {
    return 1 + std::min(5, static_cast<int>(wrap(angle - first_step(modulation)) / sixth));
}

double TurnCursor::time(const Turn& turn, bool running, double rate, drive::Modulation modulation) const {
    if (!stands(turn, running, rate)) return turn.to();
    return turn.when(angle.value_or(first_step(modulation) + 0.5 * sixth));
}

double most_amps(const Turn& turn) { return largest(turn); }
double least_amps(const Turn& turn) { return std::max(1e-3, 1e-3 * largest(turn)); }

std::string way_words(const Moment& m, double nothing) {
    std::string in, out, idle;
    const auto name = [](std::string& list, std::size_t k) {
        list += fmt::format("{}{}", list.empty() ? "" : text::tr(" and "), site::phase_letter[k]);
    };
    int closed = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        const bool device = m.legs[k] == drive::Leg::upper || m.legs[k] == drive::Leg::lower;
        closed += device;
        if (m.amps[k] > nothing) name(in, k);
        else if (m.amps[k] < -nothing) name(out, k);
        else if (device) name(idle, k);
    }
    if (in.empty() || out.empty())
        return closed == 0 ? text::tr("All six switches are open. No current flows.")
                           : text::tr("No current flows, although switches are closed.");
    std::string words = text::say("Current goes to the motor by {} and comes back by {}.", in, out);
    if (!idle.empty()) words += " " + text::say("None flows in {}, although a switch there is closed.", idle);
    return words;
}

}  // namespace sunshaft::view
