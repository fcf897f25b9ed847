#include "day/operating.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "roots/roots.hpp"
#include "site/source_curve.hpp"

namespace sunshaft::day {
namespace {

using std::numbers::pi;
constexpr double winding_step = 50.0;  // K, from the scenario's own temperature of the windings on
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
        site::Now now{.winding_degC = scenario_.motor.winding_temperature_degC + winding_step * warmth,
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
    const double warm = (s.slow.winding_degC - scenario_.motor.winding_temperature_degC) / winding_step;
    warmth_ = std::max(0, static_cast<int>(std::floor(warm + 1e-9)));
    warmer_ = warm - warmth_;  // a little below nothing where the water is cooler than the scenario's winding
    memo_.found = false;
    unbound_key_ = {};
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
    return roots::last_true(
        0.0, curve.open_V, [&](double v) { return surplus(v) > 0.0; }, 1e-12 * curve.open_V);
}

double Averager::tracked_V(const Curve& curve, double from, double start_V) {
    const drive::DriveSettings& d = works_.drive;
    const double gain = d.voltage_gain;
    if (d.tracker_stuck > 0.0) return d.tracker_stuck * start_V / gain;
    if (d.tracker == drive::Tracker::constant_voltage) return d.tracker_V / gain;
    if (d.tracker == drive::Tracker::open_voltage_share) return d.tracker_share * start_V / gain;
    // At the end of its setting, with the link above its target, it has nothing to climb (drive/control.cpp).
    if (d.control == drive::Control::mppt && unbound(curve, from, d.frequency)) return from;
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

// Straight between the nearest frequencies it carried its load at; beyond them as at the nearest.
double Averager::above_about(double field_Hz) const {
    const Carried *under = nullptr, *over = nullptr;
    for (const auto& [kept, here] : above_) {
        if (here.field_Hz <= field_Hz) under = &here;
        else if (!over) over = &here;
    }
    if (!under || !over) return (under ? under : over)->above_V;
    const double share = (field_Hz - under->field_Hz) / (over->field_Hz - under->field_Hz);
    return under->above_V + share * (over->above_V - under->above_V);
}

// Volts at which a motor that leads carries its load: from stretch to stretch of the table, each of which is straight.
bool Averager::carry(Balance& b, double field_Hz, double most_V) {
    MotorSide& m = side(0);
    const double low = 0.02 * m.idle_V(field_Hz), high = std::max(1.1 * most_V, 1.2 * low);
    const double load = std::abs(b.water.torque);
    const auto excess = [&](double volts) { return torque(field_Hz, volts, 0.0) * m.sense() - load; };
    const double guess = above_.empty() ? 0.05 * m.idle_V(field_Hz) : above_about(field_Hz);
    double x = std::clamp(m.idle_V(field_Hz) + guess, low, high);
    for (int n = 0; n < 200; ++n) {
        const auto [from, to] = m.straight(field_Hz, x);
        const double y_from = excess(from), y_to = excess(to), slope = (y_to - y_from) / (to - from);
        const bool up = y_to <= 0.0;
        if (!up && y_from <= 0.0) {
            b.volts = from - y_from / slope;
            b.volts -= excess(b.volts) / slope;  // warmer windings have stretches of their own
            if (!(b.volts > low && b.volts < high)) return false;
            above_[m.kept_Hz(field_Hz)] = {field_Hz, b.volts - m.idle_V(field_Hz)};
            return true;
        }
        // As far as this stretch foretells, into the next one at least; after a while one by one.
        const double next = up ? to + 0.01 * (to - from) : from - 0.01 * (to - from), root = from - y_from / slope;
        const bool leap = n < 12 && slope > 0.0 && (up ? root > next : root < next);
        if (up ? x >= high || to >= high : x <= low || from <= low) return false;
        x = std::clamp(leap ? root : next, low, high);
    }
    return false;
}

// The slip at which one that slips does.
bool Averager::slip(Balance& b, double field_Hz) {
    MotorSide& m = side(0);
    const double pull_out = m.pull_out_Hz(), low = -0.3 * pull_out, high = std::min(1.2 * pull_out, field_Hz);
    // Excess of the motor's torque. It rises with the slip.
    const auto excess = [&](double x) {
        b.speed = m.sense() * 2 * pi * (field_Hz - x) / m.pole_pairs();
        b.water = m.flowing(b.speed);
        return (torque(field_Hz, b.volts, x) - b.water.torque) * m.sense();
    };
    const double start = std::clamp(last_slip_ != 0.0 ? last_slip_ : 0.1 * pull_out, low, high);
    if (const auto x = roots::near_by(excess, start, slip_slope_, 0.02 * pull_out, low, high, 1e-6 * pull_out);
        x && slip_slope_ > 0.0) {
        b.slip_Hz = last_slip_ = *x;
        return true;
    }
    slip_slope_ = 0.0;
    constexpr int steps = 24;  // walk up from below
    double y_low = excess(low), from = low;
    for (int n = 1; n <= steps; ++n) {
        const double to = low + (high - low) * n / steps, y_to = excess(to);
        if (y_low <= 0.0 && y_to > 0.0) {
            b.slip_Hz = last_slip_ = roots::root(excess, from, to, y_low, y_to, 1e-9 * pull_out);
            excess(b.slip_Hz);
            return true;
        }
        from = to, y_low = y_to;
    }
    return false;
}

// Speed, slip or volts at which motor and load agree at a frequency; most_V: of a motor that slips, what it is given.
Averager::Balance Averager::balance(double field_Hz, double most_V) {
    if (memo_.found && memo_Hz_ == field_Hz && (leads() || memo_.volts == most_V)) return memo_;
    MotorSide& m = side(0);
    Balance b;
    if (m.leads()) {
        b.speed = m.sense() * 2 * pi * field_Hz / m.pole_pairs();
        b.water = m.flowing(b.speed);
        b.found = carry(b, field_Hz, most_V);
    } else {
        b.volts = most_V;
        b.found = slip(b, field_Hz);
    }
    if (!b.found) return b;
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

// W that shaft and water turn over: a bridge takes no less. Looked at first, since a turn of a motor that leads takes
// long to work out, the slower the longer.
double Averager::shaft_W(double field_Hz) {
    MotorSide& m = side(0);
    const double speed = m.sense() * 2 * pi * field_Hz / m.pole_pairs();
    return std::max(0.0, speed * m.flowing(speed).torque);
}
// No faster than that: where a search begins.
double Averager::no_faster_Hz(double watt, double most_Hz) {
    const auto enough = [&](double field_Hz) { return shaft_W(field_Hz) <= watt; };
    const double least = 0.02 * most_Hz;
    if (!leads() || enough(most_Hz) || !enough(least)) return most_Hz;
    return roots::last_true(least, most_Hz, enough, 1e-3 * most_Hz);
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
    const auto too_fast = [&](double field_Hz) { return leads() && shaft_W(field_Hz) + own > watt; };
    // From where it last was.
    if (last_regulated_ == 0.0) last_regulated_ = std::min(0.5 * most_Hz, no_faster_Hz(watt - own, most_Hz));
    double x = std::clamp(last_regulated_, 0.02 * most_Hz, most_Hz);
    Balance here = at(x);
    double y = excess(here);
    if (regulated_slope_ == 0.0) regulated_slope_ = (excess(at(0.99 * x)) - y) / (-0.01 * x);
    for (int n = 0; n < 8 && here.found && !(leads() && here.volts > most_V); ++n) {
        const bool fast_enough =
            leads() ? here.volts >= most_V * slowest_Hz() / works_.drive.frequency : x >= slowest_Hz();
        if (std::abs(y) < 1e-7 * std::max(watt, 1.0) && fast_enough) {
            last_regulated_ = x;
            return point(link_V, x, here);
        }
        const double next = x - y / regulated_slope_;
        if (!(next > 0.02 * most_Hz && next < most_Hz)) break;
        const Balance there = at(next);
        const double y_next = excess(there);
        if (!((y_next - y) / (next - x) > 0.0)) break;
        regulated_slope_ = (y_next - y) / (next - x);
        x = next, y = y_next, here = there;
    }
    regulated_slope_ = 0.0;
    double high = most_Hz;
    const auto takes_more = [&](double field_Hz) { return too_fast(field_Hz) || excess(here = at(field_Hz)) > 0.0; };
    if (!takes_more(high)) return point(link_V, high, here);
    // A motor that leads is slowest at a share of the volts: down from above, since what turns slowly takes long.
    const double slowest = leads() ? 0.02 * most_Hz : std::min(slowest_Hz(), most_Hz);
    const auto below = [&](double field_Hz) { return leads() ? std::max(0.5 * field_Hz, slowest) : slowest; };
    double low = below(high);
    const double least_V = leads() ? most_V * slowest_Hz() / works_.drive.frequency : 0.0;
    for (; takes_more(low); high = low, low = below(high)) {
        const bool looked = !too_fast(low);
        if (low > slowest && !(looked && leads() && here.found && here.volts < least_V)) continue;
        starved_ = !looked || here.found;
        if (starved_) least_W_ = (looked ? here.bridge_W : shaft_W(low)) + own;
        return std::nullopt;
    }
    low = roots::last_true(
        low, high, [&](double field_Hz) { return !takes_more(field_Hz); }, 1e-7 * low);
    here = at(low);
    if (leads() && here.volts < least_V) {
        starved_ = true;
        return std::nullopt;
    }
    last_regulated_ = low;
    return point(link_V, low, here);
}

// More sun than it may use: the link rises from `from` to where the array gives just what all that may be given takes.
// None: the array cannot give that much.
std::optional<Operating> Averager::unbound(const Curve& curve, double from, double most_Hz) {
    const std::array<double, 5> key{curve.open_V, curve.short_A, curve.power(from), from, most_Hz};
    if (unbound_key_ != key) unbound_ = look_unbound(curve, from, most_Hz), unbound_key_ = key;
    return unbound_;
}

std::optional<Operating> Averager::look_unbound(const Curve& curve, double from, double most_Hz) {
    const double open = curve.open_V;
    Balance b;
    if (!leads()) {
        const auto short_of = [&](double link_V) {
            b = balance(most_Hz, volts_for(most_Hz, link_V));
            return b.found ? b.bridge_W + own_W(link_V) - curve.power(link_V) : 1e9;
        };
        const double at_from = short_of(from);
        if (at_from > 0.0) return std::nullopt;
        // Near where it last was, else anywhere above.
        auto link = roots::near_by(short_of, std::clamp(last_link_, from, open), link_slope_, -1e-3 * open, from, open,
                                   1e-7 * open);
        if (!link || !(link_slope_ > 0.0)) {
            link_slope_ = 0.0;
            link = roots::root(short_of, from, open, at_from, short_of(open), 1e-9 * open);
            short_of(*link);
        }
        last_link_ = *link;
        return b.found ? std::optional(point(*link, most_Hz, b)) : std::nullopt;
    }
    b = balance(most_Hz, reach(open));
    if (b.found) {  // at the speed ceiling, with volts to spare?
        const auto short_of = [&](double v) { return b.bridge_W + own_W(v) - curve.power(v); };
        if (const double at_from = short_of(from); at_from <= 0.0) {
            const double link = roots::root(short_of, from, open, at_from, short_of(open), 1e-9 * open);
            if (b.volts <= reach(link)) return point(link, most_Hz, b);
        }
    }
    return with_all_volts(curve, from, most_Hz);
}

// A motor that leads, with all the volts there are: along the frequencies, the link is what the motor asks for.
std::optional<Operating> Averager::with_all_volts(const Curve& curve, double from, double most_Hz) {
    const double open = curve.open_V;
    Balance b;
    const double per_volt = std::max(reach(1.0), 1e-9);
    const auto short_of = [&](double field_Hz) {
        b = balance(field_Hz, reach(open));
        const double link = b.volts / per_volt;
        return b.found ? b.bridge_W + own_W(link) - curve.power(std::clamp(link, from, open)) : curve.power(from) + 1.0;
    };
    // Where it lacks power at a link no higher than `from`, none of the lower ones is any higher.
    const auto none = [&](double y) { return y > 0.0 && b.found && b.volts <= from * per_volt; };
    double x = std::clamp(last_full_ > 0.0 ? last_full_ : 0.8 * most_Hz, 0.02 * most_Hz, most_Hz), y = short_of(x);
    double low = 0.02 * most_Hz, high = most_Hz;
    const auto bracket = [&] { (y <= 0.0 ? low : high) = x; };
    if (full_slope_ == 0.0 && !none(y)) {
        const double aside = 0.98 * x, y_aside = short_of(aside);
        full_slope_ = (y - y_aside) / (x - aside);
        y = short_of(x);
    }
    bool close_by = false;
    for (int n = 0; n < 8 && !none(y) && full_slope_ > 0.0 && !close_by; ++n) {
        bracket();
        const double next = x - y / full_slope_;
        if (!(next > low && next < high)) break;
        const double y_next = short_of(next);
        full_slope_ = (y_next - y) / (next - x);
        x = next, y = y_next;
        close_by = std::abs(y) < 1e-7 * std::max(curve.power(from), 1.0);
    }
    if (!close_by) full_slope_ = 0.0;
    if (!none(y) && !close_by) {
        bracket();
        const auto enough = [&](double field_Hz) {
            if (none(y)) return false;  // nor is there any nearby
            y = short_of(x = field_Hz);
            return y <= 0.0;
        };
        low = roots::last_true(low, high, enough, 1e-7 * most_Hz);
    }
    last_full_ = x;
    if (none(y)) return std::nullopt;
    if (!close_by) short_of(x = low);
    const double link = b.volts / per_volt;
    if (!b.found || link < from || link > open) return std::nullopt;
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
