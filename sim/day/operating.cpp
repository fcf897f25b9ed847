#include "day/operating.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "day/roots.hpp"
#include "site/source_curve.hpp"

namespace sunshaft::day {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double warmth_step = 50.0;  // K, from the scenario's own temperature of the windings on
constexpr double close = 1e-7;

}  // namespace

Averager::Averager(Scenario scenario, std::vector<site::Fault> faults, std::vector<site::Act> acts)
    : scenario_(std::move(scenario)),
      faults_(std::move(faults)),
      acts_(std::move(acts)),
      works_(site::stand(scenario_, faults_, acts_)),
      array_(works_),
      sun_open_V_(works_.supply.kind == site::Supply::Kind::array
                      ? array_.at(std::max(works_.array.irradiance, 50.0), works_.array.module_degC).open_V
                      : works_.supply.voltage) {
    side(0);
}

std::shared_ptr<site::Site> Averager::motor_site() const { return site::compile_motor_side(scenario_, works_); }

MotorSide& Averager::side(int warmer) {
    const int warmth = warmth_ + warmer;
    const auto [found, fresh] = sides_.try_emplace({warmth, parted_});
    if (fresh) {
        const plant::Slow& s = state_.slow;
        site::Now now{.winding_degC = scenario_.motor.winding_temperature_degC + warmth_step * warmth,
                      .splice_open = s.splice_open,
                      .turns_earthed = s.turns_burn >= 1.0,
                      .turns_parted = s.turns_parted};
        const bool as_begun = warmth == 0 && parted_ == 0;
        found->second = MotorSide::make(scenario_, as_begun ? works_ : site::stand(scenario_, faults_, acts_, &now),
                                        std::max(sun_open_V_, 1.0));
        found->second->follow(state_);
    }
    return *found->second;
}

void Averager::follow(const plant::State& s) {
    state_ = s;
    state_.control.phase = drive::Phase::running;
    const double warm = (s.slow.winding_degC - scenario_.motor.winding_temperature_degC) / warmth_step;
    warmth_ = std::max(0, static_cast<int>(std::floor(warm + 1e-9)));
    warmer_ = warm - warmth_;  // a little below nothing where the water is cooler than the scenario's winding
    memo_.found = false;
    if (std::abs(s.water_level - least_at_) > 0.5) least_W_ = 0.0, least_at_ = s.water_level;
    parted_ = s.slow.splice_open[0] | s.slow.splice_open[1] << 1 | s.slow.splice_open[2] << 2 |
              (s.slow.turns_burn >= 1.0) << 3 | s.slow.turns_parted << 4;
    side(0).follow(state_);
    if (std::abs(warmer_) > 1e-6) side(1).follow(state_);
}

Turn Averager::turn(double field_Hz, double volts, double slip_Hz) {
    Turn out = side(0).turn(field_Hz, volts, slip_Hz);
    if (std::abs(warmer_) > 1e-6) {
        const Turn warm = side(1).turn(field_Hz, volts, slip_Hz);
        for (std::size_t k = 0; k < turn_size; ++k) out[k] += warmer_ * (warm[k] - out[k]);
    }
    return out;
}

double Averager::torque(double field_Hz, double volts, double slip_Hz) {
    const double cool = side(0).torque(field_Hz, volts, slip_Hz);
    return std::abs(warmer_) > 1e-6 ? cool + warmer_ * (side(1).torque(field_Hz, volts, slip_Hz) - cool) : cool;
}

double Averager::power(double field_Hz, double volts, double slip_Hz) {
    const double cool = side(0).power(field_Hz, volts, slip_Hz);
    return std::abs(warmer_) > 1e-6 ? cool + warmer_ * (side(1).power(field_Hz, volts, slip_Hz) - cool) : cool;
}

double Averager::own_W(double link_V) const {
    const double bleed = std::isfinite(works_.link.bleed_ohm) ? link_V * link_V / works_.link.bleed_ohm : 0.0;
    return bleed + link_V * site::electronics_current(works_.link, link_V).i;
}

double Averager::idle_V(const Curve& curve) const {
    if (!(curve.open_V > 0.0)) return 0.0;
    // Falls from the source's surplus at low volts to the draw alone at open circuit.
    const auto surplus = [&](double v) { return curve.current(v) - own_W(v) / std::max(v, 1e-6); };
    double low = 0.0, high = curve.open_V;
    for (int n = 0; n < 40; ++n) {
        const double v = 0.5 * (low + high);
        // The highest of the points where they meet.
        (surplus(v) > 0.0 ? low : high) = v;
    }
    return low;
}

double Averager::tracked_V(const Curve& curve, double from, double start_V) const {
    const drive::DriveSettings& d = works_.drive;
    const double gain = d.voltage_gain;
    if (d.tracker_stuck > 0.0) return d.tracker_stuck * start_V / gain;
    if (d.tracker == drive::Tracker::constant_voltage) return d.tracker_V / gain;
    if (d.tracker == drive::Tracker::open_voltage_share) return d.tracker_share * start_V / gain;
    return curve.climb(from, drive::lowest_target * start_V / gain, drive::highest_target * start_V / gain);
}

double Averager::reach(double link_V) const {
    const drive::DriveSettings& d = works_.drive;
    if (d.control == drive::Control::fixed) {
        if (d.modulation == drive::Modulation::six_step_180) return link_V;
        return link_V * (d.modulation == drive::Modulation::six_step_120 ? d.duty : d.index);
    }
    const bool block =
        d.modulation == drive::Modulation::six_step_180 || d.modulation == drive::Modulation::six_step_120;
    return link_V * (block ? 1.0 : drive::linear_limit(d.modulation));
}

// What a motor that slips is given at a frequency.
double Averager::volts_for(double field_Hz, double link_V) const {
    const drive::DriveSettings& d = works_.drive;
    if (d.control == drive::Control::fixed) return reach(link_V);
    const double seen = link_V * d.voltage_gain;
    return link_V * drive::amplitude_for(d.modulation, drive::asked_volts(d, field_Hz), seen);
}

double Averager::slowest_Hz() const { return works_.drive.minimum_frequency; }

// Speed, slip or volts at which motor and load agree at a frequency; most_V: of a motor that slips, what it is given.
Averager::Balance Averager::balance(double field_Hz, double most_V) {
    if (memo_.found && memo_Hz_ == field_Hz && (leads() || memo_.volts == most_V)) return memo_;
    MotorSide& m = side(0);
    Balance b;
    const auto at_speed = [&](double slip) { return m.sense() * 2 * pi * (field_Hz - slip) / m.pole_pairs(); };
    // Excess of the motor's torque over an unknown: volts, or slip. It rises with both.
    double start, close_to, low, high;
    if (m.leads()) {
        b.speed = at_speed(0.0);
        b.water = m.flowing(b.speed);
        start = last_volts_ > 0.0 ? last_volts_ + m.idle_V(field_Hz) - m.idle_V(last_Hz_) : 1.05 * m.idle_V(field_Hz);
        close_to = 1e-5 * std::max(most_V, 1.0);
        low = 0.02 * m.idle_V(field_Hz), high = std::max(1.1 * most_V, 1.2 * low);
    } else {
        b.volts = most_V;
        start = last_slip_ != 0.0 ? last_slip_ : 0.1 * m.pull_out_Hz();
        close_to = 1e-5 * m.pull_out_Hz();
        low = -0.3 * m.pull_out_Hz(), high = std::min(1.2 * m.pull_out_Hz(), field_Hz);
    }
    const auto excess = [&](double x) {
        if (m.leads()) return torque(field_Hz, x, 0.0) * m.sense() - std::abs(b.water.torque);
        b.water = m.flowing(at_speed(x));
        return (torque(field_Hz, b.volts, x) - b.water.torque) * m.sense();
    };
    double x = std::clamp(start, low, high), y = excess(x);
    double before = x + (m.leads() ? 0.01 * most_V : 0.02 * m.pull_out_Hz()), y_before = excess(before);
    for (int n = 0; n < 8 && !b.found; ++n) {
        const double slope = (y - y_before) / (x - before);
        if (!(slope > 0.0)) break;
        const double next = x - y / slope;
        if (!(next > low && next < high)) break;
        before = x, y_before = y;
        x = next, y = excess(x);
        b.found = std::abs(x - before) < close_to;
    }
    if (!b.found && m.leads()) {
        // More volts are more torque: from there on by growing strides until the sign turns.
        double stride = 0.02 * std::max(most_V, 1.0);
        const double way = y > 0.0 ? -1.0 : 1.0;
        while (!b.found && (way > 0.0 ? x < high : x > low)) {
            const double next = std::clamp(x + way * stride, low, high), y_next = excess(next);
            if ((y_next > 0.0) != (y > 0.0)) {
                x = root(excess, x, next, y, y_next, 1e-7);
                b.found = true;
                break;
            }
            x = next, y = y_next, stride *= 1.5;
        }
        if (!b.found) return b;
    } else if (!b.found) {  // walk up from below
        const int steps = 24;
        double y_low = excess(low), from = low;
        for (int n = 1; n <= steps; ++n) {
            const double to = low + (high - low) * n / steps, y_to = excess(to);
            if (y_low <= 0.0 && y_to > 0.0) {
                x = root(excess, from, to, y_low, y_to, 1e-8);
                b.found = true;
                break;
            }
            from = to, y_low = y_to;
        }
        if (!b.found) return b;
    }
    if (m.leads()) {
        b.volts = last_volts_ = x;
    } else {
        b.slip_Hz = last_slip_ = x;
        b.speed = at_speed(x);
        b.water = m.flowing(b.speed);
    }
    last_Hz_ = field_Hz;
    b.bridge_W = power(field_Hz, b.volts, b.slip_Hz);
    memo_ = b, memo_Hz_ = field_Hz;
    return b;
}

Operating Averager::point(double link_V, double field_Hz, const Balance& b) {
    Operating o;
    o.turning = true;
    o.link_V = link_V;
    o.field_Hz = field_Hz;
    o.amplitude = link_V > 0.0 ? b.volts / link_V : 0.0;
    o.setting = leads() ? b.volts / std::max(reach(link_V), 1e-9) : field_Hz / works_.drive.frequency;
    o.speed = b.speed;
    o.flow = b.water.flow;
    o.load_Nm = b.water.torque;
    o.turn = turn(field_Hz, b.volts, b.slip_Hz);
    o.dc_W = o.turn[bridge_in] + own_W(link_V);
    o.dc_A = link_V > 0.0 ? o.dc_W / link_V : 0.0;
    return o;
}

// The frequency at which the drive takes `watt` at a link voltage; none: not even the slowest is that little. Where all
// there is takes less, what takes most.
std::optional<Operating> Averager::regulated(double link_V, double watt, double most_Hz) {
    const double most_V = reach(link_V), own = own_W(link_V);
    const auto at = [&](double field_Hz) { return balance(field_Hz, leads() ? most_V : volts_for(field_Hz, link_V)); };
    const auto excess = [&](const Balance& b) {
        return !b.found || (leads() && b.volts > most_V) ? std::abs(watt) + 1.0 : b.bridge_W + own - watt;
    };
    if (watt < 0.98 * least_W_) {
        starved_ = true;
        return std::nullopt;
    }
    // From where it last was.
    double x = std::clamp(last_regulated_ > 0.0 ? last_regulated_ : 0.5 * most_Hz, 0.02 * most_Hz, most_Hz);
    Balance here = at(x);
    double y = excess(here), before = std::min(1.01 * x, most_Hz), y_before = 0.0;
    if (before == x) before = 0.99 * x;
    y_before = excess(at(before));
    for (int n = 0; n < 8 && here.found && y != y_before; ++n) {
        const double next = x - y * (x - before) / (y - y_before);
        if (!(next > 0.02 * most_Hz && next < most_Hz)) break;
        before = x, y_before = y;
        x = next, here = at(x), y = excess(here);
        if (!here.found || (leads() && here.volts > most_V)) break;
        const bool fast_enough =
            leads() ? here.volts >= most_V * slowest_Hz() / works_.drive.frequency : x >= slowest_Hz();
        if (std::abs(y) < 1e-5 * std::max(watt, 1.0) && fast_enough) {
            last_regulated_ = x;
            return point(link_V, x, here);
        }
    }
    double low = std::min(slowest_Hz(), most_Hz), high = most_Hz;
    here = at(high);
    if (excess(here) <= 0.0) return point(link_V, high, here);
    const double slowest = leads() ? 0.02 * most_Hz : low;
    here = at(slowest);
    // A motor that leads is slowest at a share of the volts.
    const bool carries = excess(here) <= 0.0;
    if (!carries) {
        starved_ = here.found;
        if (here.found) least_W_ = here.bridge_W + own;
        return std::nullopt;
    }
    low = slowest;
    for (int n = 0; n < 48 && high - low > 1e-7 * high; ++n) {
        const double middle = 0.5 * (low + high);
        const Balance b = at(middle);
        if (excess(b) > 0.0) high = middle;
        else low = middle, here = b;
    }
    if (leads() && here.volts < most_V * slowest_Hz() / works_.drive.frequency) {
        starved_ = true;
        return std::nullopt;
    }
    last_regulated_ = low;
    return point(link_V, low, here);
}

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
        const double volts = m.idle_V(field) + 0.1 * v;
        o.turn = turn(field, volts, 0.0);
        o.amplitude = volts / v;
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

bool Averager::breaks_away(const Curve& curve, const Wanted& wanted) {
    if (std::isfinite(works_.shaft.held_speed)) return false;
    MotorSide& m = side(0);
    const double link = curve.most_V();
    const auto [found, fresh] = breaks_.try_emplace(
        {static_cast<int>(link / 5.0), static_cast<int>(20 * curve.short_A), parted_ * 64 + warmth_});
    if (!fresh) return found->second;
    if (overcurrent_at_start(curve.open_V)) return found->second = false;
    const double hold = std::max(m.hold_Nm(), std::abs(m.flowing(0.0).torque));
    bool breaks = false;
    for (const double share : {0.1, 0.2, 0.35, 0.5, 0.7, 1.0}) {
        const double field = std::max(slowest_Hz(), share * works_.drive.frequency);
        if (field > wanted.most * works_.drive.frequency + 1e-9 && share > 0.1) break;
        if (leads()) {  // the amplitude rises until a share of the current limit, all the volts, or all the sun hold it
            const double idle = m.idle_V(slowest_Hz()), volts = idle + 0.1 * link;
            const Turn t = turn(slowest_Hz(), volts, 0.0);
            double most = (reach(link) - idle) / (volts - idle);
            if (works_.drive.current_limit > 0.0)
                most = std::min(most, drive::start_A * works_.drive.current_limit / std::sqrt(t[peak_square]));
            most = std::min(most, std::sqrt(std::max(0.0, curve.power(link) - own_W(link)) / t[bridge_in]));
            breaks = std::abs(t[torque_Nm]) * most > hold;
            break;
        }
        const Turn t = m.exact(field, volts_for(field, link), field);
        // What a standing motor takes at the least the drive can give empties the link before the shaft has moved.
        if (works_.supply.kind == site::Supply::Kind::array && field == slowest_Hz() &&
            t[bridge_in] + own_W(link) > curve.power(link))
            break;
        breaks = breaks || std::abs(t[torque_Nm]) > hold;
    }
    return found->second = breaks;
}

// More sun than it may use: the link rises from `from` to where the array gives just what all that may be given takes.
// None: the array cannot give that much.
std::optional<Operating> Averager::unbound(const Curve& curve, double from, double most_Hz) {
    const double open = curve.open_V;
    Balance b;
    if (!leads()) {
        const auto short_of = [&](double link_V) {
            b = balance(most_Hz, volts_for(most_Hz, link_V));
            return b.found ? b.bridge_W + own_W(link_V) - curve.power(link_V) : 1e9;
        };
        const double at_from = short_of(from);
        if (at_from > 0.0) return std::nullopt;
        const double link = root(short_of, from, open, at_from, short_of(open), 1e-5);
        short_of(link);
        return b.found ? std::optional(point(link, most_Hz, b)) : std::nullopt;
    }
    b = balance(most_Hz, reach(open));
    if (b.found) {  // at the speed ceiling, with volts to spare?
        const auto short_of = [&](double v) { return b.bridge_W + own_W(v) - curve.power(v); };
        if (const double at_from = short_of(from); at_from <= 0.0) {
            const double link = root(short_of, from, open, at_from, short_of(open), 1e-6);
            if (b.volts <= reach(link)) return point(link, most_Hz, b);
        }
    }
    // With all the volts there are: along the frequencies, the link is what the motor asks for.
    const double per_volt = std::max(reach(1.0), 1e-9);
    const auto short_of = [&](double field_Hz) {
        b = balance(field_Hz, reach(open));
        const double link = b.volts / per_volt;
        return b.found ? b.bridge_W + own_W(link) - curve.power(std::clamp(link, from, open)) : curve.power(from) + 1.0;
    };
    double x = std::clamp(last_full_ > 0.0 ? last_full_ : 0.8 * most_Hz, 0.05 * most_Hz, most_Hz), y = short_of(x);
    double before = 0.98 * x, y_before = short_of(before);
    bool close_by = false;
    for (int n = 0; n < 8 && y > y_before && !close_by; ++n) {
        const double next = x - y * (x - before) / (y - y_before);
        if (!(next > 0.05 * most_Hz && next <= most_Hz)) break;
        before = x, y_before = y;
        x = next, y = short_of(x);
        close_by = std::abs(y) < 1e-5 * std::max(curve.power(from), 1.0);
    }
    if (!close_by) {
        double low = 0.02 * most_Hz, high = most_Hz;
        for (int n = 0; n < 32 && high - low > 1e-7 * most_Hz; ++n) {
            x = 0.5 * (low + high);
            (short_of(x) <= 0.0 ? low : high) = x;
        }
        short_of(x = low);
    }
    const double link = b.volts / per_volt;
    if (!b.found || link < from || link > open) return std::nullopt;
    last_full_ = x;
    return point(link, x, b);
}

// Whether a link that a weak sun holds falls on to where the drive stops, faster than the ramp lets go. Below the best
// point the array gives the less the lower the link: what lacks at the lower end has to come out of the capacitor until
// the ramp, twice as fast as it climbs, has let go of as much (the power goes with the cube of the speed). An estimate,
// on the side of falling.
bool Averager::falls_through(const Curve& curve, const Operating& o, double start_V) const {
    if (curve.power(1.01 * o.link_V) <= curve.power(o.link_V)) return false;
    const double high = drive::weak_link, low = drive::collapse;
    const double lets_go_s = std::log(high / low) / (3 * 2 * works_.drive.ramp / o.field_Hz);
    const double wanted_J = (1 - low / high) * o.dc_W * lets_go_s;
    return wanted_J > 0.5 * works_.link.farad * start_V * start_V * (high * high - low * low);
}

Operating Averager::at(const Curve& curve, const Wanted& wanted) {
    const drive::DriveSettings& d = works_.drive;
    const auto collapsed = [&] {
        Operating o;
        o.turning = o.starved = true;
        o.link_V = 0.99 * drive::collapse * wanted.start_V / d.voltage_gain;  // it stops the moment it sees this
        return o;
    };
    const double bright = curve.most_V();
    if (!(curve.power(bright) > own_W(bright))) return collapsed();
    if (std::isfinite(works_.shaft.held_speed) || !wanted.turns) return held(curve, wanted);
    const double most_Hz = wanted.most * d.frequency;
    const bool tracks = d.control == drive::Control::mppt;
    double stays = wanted.target_V / d.voltage_gain;
    if (const auto o = unbound(curve, tracks ? stays : bright, most_Hz)) return *o;
    if (d.control == drive::Control::fixed) return held(curve, wanted);
    // Not enough for the ceiling: a tracker's link stands at its target; without one the ramp lets go where the link
    // has come down to a share of what it began with (drive/control.cpp), and there it stands.
    if (!tracks) stays = drive::weak_link * wanted.start_V / d.voltage_gain;
    starved_ = false;
    if (const auto o = regulated(stays, curve.power(stays), most_Hz))
        return !tracks && falls_through(curve, *o, wanted.start_V / d.voltage_gain) ? collapsed() : *o;
    if (starved_) return collapsed();  // the least it can turn takes more than there is
    return held(curve, wanted);        // no speed is one it can hold
}

}  // namespace sunshaft::day
