// How it begins: whether the shaft breaks away, and what flows while it stands.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "day/operating.hpp"

namespace sunshaft::day {

using std::numbers::pi;

// The shaft does not turn: what the drive makes of that.
Operating Averager::held(const Curve& curve, const Wanted& wanted) {
    const std::tuple<int, int, int, int> key{static_cast<int>(curve.open_V), static_cast<int>(20 * curve.short_A),
                                             static_cast<int>(32 * wanted.most), parted_ * 64 + warmth_};
    const auto [found, fresh] = held_.try_emplace(key);
    if (fresh) found->second = hold(curve, wanted);
    return found->second;
}

Operating Averager::hold(const Curve& curve, const Wanted& wanted) {
    MotorSide& m = side(0);
    const drive::DriveSettings& d = works_.drive;
    const double field = std::max(slowest_Hz(), leads() ? slowest_Hz() : std::max(wanted.most, 1e-3) * d.frequency);
    const double held_speed = std::isfinite(works_.shaft.held_speed) ? works_.shaft.held_speed : 0.0;
    const double slip = field - m.sense() * held_speed * m.pole_pairs() / (2 * pi);
    Operating o;
    o.turning = o.standing = true;
    o.field_Hz = field;
    o.speed = held_speed;
    double v = curve.open_V;
    if (leads()) {
        // Held at the tracker's target by the amplitude, which rises no further at a share of the current limit: what
        // flows at rest goes with the square root of the power.
        v = std::min(std::max(wanted.target_V / d.voltage_gain, 1.0), std::max(curve.open_V, 1.0));
        o.turn = begun();
        o.amplitude = begun_V() / v;
        double most = std::max(0.0, curve.power(v) - own_W(v)) / std::max(o.turn[bridge_in], 1e-9);
        if (d.current_limit > 0.0)
            most = std::min(most, std::pow(drive::start_A * d.current_limit, 2) / std::max(o.turn[peak_square], 1e-9));
        for (double& y : o.turn) y *= most;
    } else if (overcurrent_at_start(curve.open_V)) {
        // The link's capacitor brings that before the array has to.
        o.field_Hz = slowest_Hz();
        o.turn = m.exact(o.field_Hz, volts_for(o.field_Hz, v), o.field_Hz);
        o.link_V = v;
        o.setting = wanted.most;
        return o;
    } else if (d.control == drive::Control::mppt) {
        // At the tracker's target, as far up the ramp as the array bears.
        v = std::clamp(wanted.target_V / d.voltage_gain, 1.0, std::max(curve.open_V, 1.0));
        const double watt = curve.power(v) - own_W(v);
        double low = slowest_Hz(), high = std::max(low, wanted.most * d.frequency);
        for (int n = 0; n < 12; ++n) {
            o.field_Hz = n == 0 ? high : n == 1 ? low : 0.5 * (low + high);
            o.turn = m.exact(o.field_Hz, volts_for(o.field_Hz, v), o.field_Hz - (field - slip));
            const bool bears = o.turn[bridge_in] <= watt;
            if (n == 0 && bears) break;
            if (n == 1 && !bears) {
                o.starved = true;
                v = 0.99 * drive::collapse * wanted.start_V / d.voltage_gain;
                break;
            }
            if (n > 0) (bears ? low : high) = o.field_Hz;
        }
    } else {
        // Down from open circuit to where the array gives what it takes.
        for (int n = 0; n < 24; ++n) {
            const double volts = volts_for(field, v);
            o.turn = m.exact(field, volts, slip);
            o.amplitude = v > 0.0 ? volts / v : 0.0;
            if (curve.power(v) >= o.turn[bridge_in] + own_W(v) || v < 1.0) break;
            v *= 0.95;
        }
    }
    o.link_V = v;
    o.setting = wanted.most;
    o.dc_W = o.turn[bridge_in] + own_W(v);
    o.dc_A = v > 0.0 ? o.dc_W / v : 0.0;
    return o;
}

// More than the limit in a line as soon as the output is on: a short, not a load.
bool Averager::overcurrent_at_start(double link_V) {
    const double limit = works_.drive.current_limit, field = slowest_Hz();
    if (leads() || !(limit > 0.0)) return false;
    const auto [found, fresh] = shorted_.try_emplace({static_cast<int>(link_V / 5.0), parted_});
    if (fresh) found->second = side(0).exact(field, volts_for(field, link_V), field)[peak_square] > limit * limit;
    return found->second;
}

// A motor that leads at the slowest, at a tenth of the array's volts above its EMF: what it begins with goes with that.
double Averager::begun_V() { return side(0).idle_V(slowest_Hz()) + 0.1 * std::max(sun_open_V_, 1.0); }
const Turn& Averager::begun() {
    const auto [found, fresh] = begun_.try_emplace({warmth_, parted_});
    if (fresh) found->second = side(0).exact(slowest_Hz(), begun_V(), 0.0);
    return found->second;
}

bool Averager::breaks_away(const Curve& curve, const Wanted& wanted) {
    if (std::isfinite(works_.shaft.held_speed)) return false;
    const auto [found, fresh] = breaks_.try_emplace(
        {static_cast<int>(curve.most_V() / 5.0), static_cast<int>(20 * curve.short_A), parted_ * 64 + warmth_});
    if (!fresh) return found->second;
    const Start s = start(curve, wanted, false);
    return found->second = s.torque_Nm > s.hold_Nm;
}

Averager::Start Averager::start(const Curve& curve, const Wanted& wanted, bool at_most) {
    MotorSide& m = side(0);
    const double link = curve.most_V();
    Start s{0.0, std::max(m.hold_Nm(), std::abs(m.flowing(0.0).torque))};
    if (overcurrent_at_start(curve.open_V)) return s;
    for (const double share : {0.1, 0.2, 0.35, 0.5, 0.7, 1.0}) {
        const double field = std::max(slowest_Hz(), share * works_.drive.frequency);
        if (field > wanted.most * works_.drive.frequency + 1e-9 && share > 0.1) break;
        if (leads()) {  // the amplitude rises until a share of the current limit, all the volts, or all the sun hold it
            const double idle = m.idle_V(slowest_Hz());
            const Turn& t = begun();
            double most = (reach(link) - idle) / (begun_V() - idle);
            if (works_.drive.current_limit > 0.0)
                most = std::min(most, drive::start_A * works_.drive.current_limit / std::sqrt(t[peak_square]));
            most = std::min(most, std::sqrt(std::max(0.0, curve.power(link) - own_W(link)) / t[bridge_in]));
            s.torque_Nm = std::abs(t[torque_Nm]) * most;
            break;
        }
        const Turn t = m.exact(field, volts_for(field, link), field);
        // What a standing motor takes at the least the drive can give empties the link before the shaft has moved.
        if (works_.supply.kind == site::Supply::Kind::array && field == slowest_Hz() &&
            t[bridge_in] + own_W(link) > curve.power(link))
            break;
        s.torque_Nm = std::max(s.torque_Nm, std::abs(t[torque_Nm]));
        if (!at_most && s.torque_Nm > s.hold_Nm) break;
    }
    return s;
}

}  // namespace sunshaft::day
