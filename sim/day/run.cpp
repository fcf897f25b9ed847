#include "day/run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>
#include <sstream>

#include "drive/overload.hpp"
#include "plant/earth_loop.hpp"
#include "plant/slow.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/language.hpp"

namespace sunshaft::day {
namespace {

using drive::Cause;
using drive::Phase;
using text::say, text::tr;
constexpr std::size_t most_events = 10000;
using std::numbers::pi;

// Mean magnitude of the volts between two lines, as a share of amplitude times link: six steps in blocks of 180 and of
// 120 degrees, else sines of the square root of 3/4 at most.
double mean_of_line(drive::Modulation m) {
    return m == drive::Modulation::six_step_180   ? 2.0 / 3.0
           : m == drive::Modulation::six_step_120 ? 0.5
                                                  : std::sqrt(3.0) / pi;
}

class Runner {
  public:
    Runner(Averager& averager, const Options& options)
        : averager_(averager),
          options_(options),
          site_(averager.motor_site()),
          settings_(averager.works().drive),
          hours_(draw_hours(averager.scenario())),
          use_(averager.works().water.tank_use),
          offset_s_(3600 * utc_offset_h(averager.scenario())) {
        s_.control.phase = Phase::off;
        s_.control.dark_at = 0.0;
        plant::start_slow(*site_, s_);
        averager_.follow(s_);
    }

    void through(const Moment& m) {
        if (result_.days.empty() || m.begin + offset_s_ >= day_end_) begin_day(m.begin + offset_s_);
        if (m.gap) {
            result_.all.gap_s += m.seconds();
            result_.days.back().gap_s += m.seconds();
            if (options_.marks) mark(m, m.begin, {});
            return;
        }
        failed_ = 0;
        curve_ = averager_.curve(m.cells, m.cell_degC);
        best_W_ = curve_.power(curve_.most_V());
        site_->works.heat_sink.round_degC = m.air_degC;
        site_->works.water.tank_use = draws(m) ? use_ : 0.0;
        const double begin = s_.t, end = begin + m.seconds();
        while (end - s_.t > 1e-6) {
            const double at = m.begin + (s_.t - begin);
            step(m, at, end - s_.t);
        }
        result_.all.seconds += m.seconds();
        const double sun = m.plane * m.seconds() / 3.6e6;
        result_.all.sun_kWh_m2 += sun;
        result_.days.back().sun_kWh_m2 += sun;
    }

    Result take() {
        Totals& all = result_.all;
        end_cycle();
        all.spilled_m3 = s_.slow.spilled;
        all.damage = s_.slow.damage;
        all.burnt = s_.slow.turns_burn >= 1.0;
        all.parted = s_.slow.turns_parted;
        all.energy = s_.energy;
        return std::move(result_);
    }

  private:
    void begin_day(double local) {
        const double midnight = std::floor(local / 86400) * 86400;
        day_end_ = midnight + 86400;
        result_.days.push_back({.date = date_of(midnight + 1.0)});
    }
    bool draws(const Moment& m) const {
        if (hours_.empty()) return true;
        const double hour = std::fmod(0.5 * (m.begin + m.end) + offset_s_, 86400.0) / 3600;
        return std::any_of(hours_.begin(), hours_.end(), [hour](const Hours& h) {
            return h.from <= h.to ? hour >= h.from && hour < h.to : hour >= h.from || hour < h.to;
        });
    }

    // How far the drive may be taken before something may happen, all that is fast standing as it does now.
    double stride(const Operating& now, double left) const {
        const drive::ControlState& c = s_.control;
        double dt = left;
        switch (c.phase) {
            case Phase::charging: dt = std::min(dt, std::max(settings_.charge_s, 0.05)); break;
            case Phase::soft_start:
            case Phase::running:
            case Phase::ceiling:
                if (standing_) dt = std::min(dt, 1.0);
                else if (c.stall_s > 0.0 || c.lost_s > 0.0) dt = std::min(dt, 0.5);
                else if (c.dry_s > 0.0 || c.low_s > 0.0) dt = std::min(dt, std::max(settings_.dry_delay_s, 0.1));
                else if (c.float_s > 0.0) dt = std::min(dt, std::max(settings_.tank_delay_s, 0.1));
                else dt = std::min({dt, to_guard(now), to_overload(now)});
                break;
            case Phase::waiting_for_sun:
                if (c.retry_at > c.time) dt = std::min(dt, c.retry_at - c.time + 1e-6);
                break;
            case Phase::tripped:
            case Phase::dry_hold:
            case Phase::tank_hold: dt = std::min(dt, c.retry_at > c.time ? c.retry_at - c.time + 1e-6 : 10.0); break;
            default: break;
        }
        return std::max(dt, std::min(left, 0.01));
    }
    // Seconds until water or tank reach a guard, at the present flow; not below a second.
    double to_guard(const Operating& now) const {
        const site::Works& w = site_->works;
        double dt = 1e9;
        const double rise = std::max(0.0, now.flow - s_.slow.leak) - w.water.tank_use;
        if (w.guards.full.fitted && rise > 0.0 && !s_.slow.float_up)
            dt = std::min(dt, (w.water.tank.stop - s_.slow.tank_fill) * w.water.tank.volume / rise + 0.01);
        const water::Well well = plant::well(w);
        const double rest = well.static_level + well.specific_drawdown * now.flow, tau = well.time_constant();
        for (const double depth : {well.probe_depth + 0.011, well.intake_depth - 0.2, well.intake_depth}) {
            if (!(rest > depth && s_.water_level < depth)) continue;
            dt = std::min(dt, tau * std::log((rest - s_.water_level) / (rest - depth)) + 0.01);
        }
        // Over the intake's last hand of water flow and level hang together.
        if (s_.water_level > well.intake_depth - 0.21) dt = std::min(dt, 0.1 * tau);
        else if (std::abs(rest - s_.water_level) > 0.1) dt = std::min(dt, std::max(0.5 * tau, 5.0));
        // A main that is still filling.
        if (s_.slow.missing > 0.0 && now.flow > 0.0) dt = std::min(dt, 5.0);
        if (s_.slow.lift < 0.999) dt = std::min(dt, 10.0);
        // Something that warms towards a limit.
        if (w.turns.on() || watches_warmth_) dt = std::min(dt, 10.0);
        return std::max(dt, 0.5);
    }
    // Until its thermal image of the motor is full, or its heat sink too hot.
    double to_overload(const Operating& now) const {
        const site::Thermal& sink = site_->works.heat_sink;
        const double rest = sink.round_degC + now.turn[lost_bridge] * sink.K_per_W,
                     limit = settings_.heat_sink_limit_degC, is = s_.slow.heat_sink_degC;
        double dt = drive::overload_in_s(settings_, s_.control);
        if (is < limit && limit < rest)
            dt = std::min(dt, sink.K_per_W * sink.J_per_K * std::log((rest - is) / (rest - limit)));
        return std::max(dt + 0.01, 0.5);
    }
    // The thermal image goes by the currents of this step, not of the one before it.
    void see_currents(const Operating& o) {
        drive::Measured m;
        for (std::size_t k = 0; k < 3; ++k) m.line_A2[k] = std::max(0.0, o.turn[square_u + k]);
        m = drive::sensed(settings_, m);
        for (std::size_t k = 0; k < 3; ++k) s_.control.line_A[k] = std::sqrt(m.line_A2[k]);
    }

    // Starts that fail one like the other, as long as the light is the same, are counted and passed over together.
    void pass_failures(const Moment& m, double at, double& left) {
        drive::ControlState& c = s_.control;
        if (failed_ < 2 || c.phase != Phase::waiting_for_sun || !(c.retry_at > c.time)) return;
        // waits that still grow are no cycle yet
        if (drive::low_sun_wait(settings_, c.short_starts + 1) > drive::low_sun_wait(settings_, c.short_starts)) return;
        const double cycle = c.retry_at - c.time + failed_after_;
        const double count = std::floor(left / cycle) - 1.0;
        if (count < 1.0) return;
        Operating o;
        o.link_V = averager_.idle_V(curve_);
        o.dc_W = averager_.own_W(o.link_V);
        const double dt = count * cycle;
        move(o, dt);
        book(m, at, o, dt);
        // On the ramp for that part of it.
        result_.all.in_phase_s[static_cast<std::size_t>(Phase::waiting_for_sun)] -= count * failed_after_;
        result_.all.in_phase_s[static_cast<std::size_t>(Phase::soft_start)] += count * failed_after_;
        result_.all.starts += static_cast<long>(count);
        result_.days.back().starts += static_cast<long>(count);
        result_.all.stops[Cause::low_sun] += static_cast<long>(count);
        c.time = s_.t;
        c.retry_at += dt;
        left -= dt;
    }

    void step(const Moment& m, double at, double left) {
        drive::ControlState& c = s_.control;
        const double had = left;
        pass_failures(m, at, left);
        at += had - left;
        const double gain = settings_.voltage_gain;
        averager_.follow(s_);
        Operating o;
        if (drive::turning(c.phase)) {
            Wanted want;
            want.start_V = c.start_V;
            // A tracker that climbs begins to when the ramp is over.
            const bool climbs =
                settings_.tracker == drive::Tracker::perturb_and_observe && settings_.tracker_stuck <= 0.0;
            if (settings_.control == drive::Control::mppt && !(climbs && c.phase == Phase::soft_start))
                c.target_V = gain * averager_.tracked_V(curve_, c.target_V / gain, c.start_V);
            want.target_V = c.target_V;
            if (!turns_) turns_ = averager_.breaks_away(curve_, want);
            want.turns = turns_;
            o = averager_.at(curve_, want);
            if (o.starved) turns_ = false;
        } else {
            o.link_V = averager_.idle_V(curve_) * (drive::bridged(c.phase) ? 1.0 : through_precharge_);
            // Behind a valve that does not close the column runs back.
            if (!site_->works.water.check_valve && !drained()) o.flow = averager_.flow_at(0.0);
            o.dc_W = averager_.own_W(o.link_V);
        }
        standing_ = o.standing;
        if (o.turning) see_currents(o);
        double dt = stride(o, left);
        if (o.flow < 0.0) dt = std::min(dt, std::min(left, 5.0));  // a column that runs back through the pump
        up_ = false;
        if (c.phase == Phase::soft_start && o.turning && !o.standing && !o.starved) {
            // On its ramp it passes through all that lies below: what it lifts and takes there is left out.
            const double rest = o.field_Hz / settings_.ramp - (c.time - c.since);
            up_ = rest <= left;
            dt = std::clamp(rest, std::min(0.01, left), left);
            o.turn = {};
            o.speed = o.flow = 0.0;
            o.dc_W = averager_.own_W(o.link_V);
        }
        // A collapse takes the time the link's capacitor gives, some tenths of a second, after a ramp that cannot
        // end.
        if (o.starved)
            dt = std::min(left, std::max(0.5, c.phase == Phase::soft_start ? o.field_Hz / settings_.ramp : 0.0));
        move(o, dt);
        book(m, at, o, dt);
        decide(o, at + dt, dt);
        if (o.starved && c.phase == Phase::waiting_for_sun) ++failed_, failed_after_ = dt;
    }

    // The last of a column that runs back takes for ever.
    bool drained() const {
        const water::RisingMain& main = site_->works.water.main;
        return s_.slow.missing > 0.999 * main.area() * main.length;
    }

    // Lets dt pass for all that is slow.
    void move(const Operating& o, double dt) {
        plant::Energies& e = s_.energy;
        const double run = curve_.run_loss(o.link_V);
        e[plant::from_supply] += (o.dc_W + run) * dt;
        e[plant::in_dc_run] += run * dt;
        e[plant::in_link] += averager_.own_W(o.link_V) * dt;
        if (o.turning) {
            const Turn& t = o.turn;
            e[plant::in_bridge] += t[lost_bridge] * dt, e[plant::in_cable] += t[lost_cable] * dt;
            e[plant::in_winding] += t[lost_winding] * dt, e[plant::in_cage] += t[lost_cage] * dt;
            e[plant::in_iron] += t[lost_iron] * dt, e[plant::in_turns] += t[lost_turns] * dt;
            e[plant::square_aa] += t[winding_aa] * dt, e[plant::square_ab] += t[winding_ab] * dt;
            e[plant::square_bb] += t[winding_bb] * dt;
            averager_.account(o, dt, e);
        }
        s_.x[plant::speed] = o.speed;
        s_.x[plant::flow] = s_.slow.flow = o.flow;
        const double delivered = s_.slow.delivered, fill = s_.slow.tank_fill;
        s_.t += dt;
        plant::look_slow(*site_, s_);
        // Bubbles come and go within a step.
        if (site_->works.water.npsh > 0.0)
            for (int n = 0; n < 8; ++n) plant::sense(*site_, s_);
        if (o.turning) on_s_ += dt;
        if (!result_.all.destroyed_s) look_for_ruin();
        const double out = s_.slow.delivered - delivered, wanted = site_->works.water.tank_use * dt;
        const double had = fill * site_->works.water.tank.volume + out;
        result_.all.drawn_m3 += std::min(wanted, had);
        result_.all.lacked_m3 += std::max(0.0, wanted - had);
        result_.all.water_m3 += out;
        result_.days.back().water_m3 += out;
        // Held by its float the tank stands somewhere in the cycle. Let go, it is what it still reaches that counts.
        const bool full = s_.slow.tank_fill >= site_->works.water.tank.start;  // no float that is stuck
        if (s_.control.phase == Phase::tank_hold && full) top_ = s_.slow.tank_fill;
        else if (top_) top_ = std::max(*top_, s_.slow.tank_fill);
        if (s_.slow.tank_fill <= 0.0) end_cycle();
    }
    void end_cycle() {
        if (!top_) return;
        const water::Tank& tank = site_->works.water.tank;
        const double top = std::clamp(*top_, tank.start, tank.stop);
        result_.all.cycle_m3 += (top - 0.5 * (tank.start + tank.stop)) * tank.volume;
        top_.reset();
    }

    void look_for_ruin() {
        const plant::Slow& n = s_.slow;
        const char* what = n.damage >= 0.5          ? tr("pump worn out by running hot or dry")
                           : n.turns_parted         ? tr("winding molten at the bridged turns")
                           : n.turns_burn >= 1.0    ? tr("winding burnt through to the casing")
                           : n.winding_degC > 155.0 ? tr("windings past 155 degC")
                                                    : nullptr;
        if (!what) return;
        result_.all.destroyed_s = on_s_;
        result_.all.destroyed_what = what;
    }

    void book(const Moment& m, double at, const Operating& o, double dt) {
        Totals& all = result_.all;
        Day& day = result_.days.back();
        all.in_phase_s[static_cast<std::size_t>(s_.control.phase)] += dt;
        if (o.standing) all.standing_s += dt;
        all.offered_J += best_W_ * dt;
        day.offered_J += best_W_ * dt;
        all.taken_J += o.dc_W * dt;
        day.taken_J += o.dc_W * dt;
        if (o.link_V > all.highest_V) all.highest_V = o.link_V, all.highest_at = at;
        if (s_.slow.winding_degC > all.hottest_degC) all.hottest_degC = s_.slow.winding_degC, all.hottest_at = at;
        if (m.plane > all.most_plane) {
            all.most_plane = m.plane, all.most_plane_degC = m.cell_degC;
            all.link_then = o.link_V;
        }
        if (o.turning) {
            for (std::size_t k = 0; k < 3; ++k) all.most_square[k] = std::max(all.most_square[k], o.turn[square_u + k]);
            all.most_line_square =
                std::max(all.most_line_square, mean_of_line(settings_.modulation) * o.amplitude * o.link_V * o.link_V);
        }
        if (options_.marks) mark(m, at, o);
    }
    void mark(const Moment& m, double at, const Operating& o) {
        result_.marks.push_back(
            {.t = at,
             .plane = m.plane,
             .dc_W = o.dc_W,
             .link_V = o.link_V,
             .speed = o.speed,
             .flow = o.flow,
             .out = s_.slow.out,
             .tank = s_.slow.tank_fill,
             .water_m = s_.water_level,
             .winding_degC = s_.slow.winding_degC,
             .line_A = std::sqrt(std::max({o.turn[square_u], o.turn[square_v], o.turn[square_w], 0.0})),
             .phase = s_.control.phase,
             .gap = m.gap,
             .standing = o.standing});
    }

    // The drive's own state machine, on the means of the step.
    void decide(const Operating& o, double at, double dt) {
        drive::ControlState& c = s_.control;
        c.time = s_.t;
        drive::Measured m;
        m.link_V = o.link_V;
        if (o.turning) {
            for (std::size_t k = 0; k < 3; ++k) m.line_A2[k] = std::max(0.0, o.turn[square_u + k]);
        }
        m.source_W = o.dc_W;
        m.electrical_Hz = o.standing ? 0.0 : std::abs(o.speed) * averager_.pole_pairs() / (2 * pi);
        m.heat_sink_degC = s_.slow.heat_sink_degC;
        if (settings_.insulation_trip_ohm > 0.0) m.insulation_ohm = plant::EarthLoop(*site_).insulation_ohm(o.turning);
        m.dry_open = site::Guards::reads_open(s_.slow.dry_V);
        m.float_open = site::Guards::reads_open(s_.slow.float_V);
        // Sensors err about a mean of nothing; then, as an instant near a crest sees them: no line is above the
        // highest.
        drive::Measured seen = drive::sensed(settings_, m);
        const double most = std::sqrt(std::max({m.line_A2[0], m.line_A2[1], m.line_A2[2], 1e-12}));
        const double crest = std::sqrt(std::max(o.turn[peak_square], 0.0)) / most;
        for (std::size_t k = 0; k < 3; ++k)
            seen.line_A[k] = std::abs(seen.line_A[k]) + settings_.current_gain * std::sqrt(m.line_A2[k]) * crest;
        c.link_V = seen.link_V;
        const bool was = drive::turning(c.phase);
        // While it ramps up it is not yet where it will be.
        const bool ramping = was && o.speed == 0.0 && !o.standing;
        if (was) c.setting = ramping ? 0.0 : std::clamp(o.setting, 0.0, 1.0);
        const long logged = c.logged;
        const bool on = drive::supervise(settings_, averager_.leads(), c, dt, seen);
        if (on && was && c.phase == Phase::soft_start && up_)
            drive::enter(c, Phase::running, Cause::ramp_done, o.field_Hz);
        if (!was && drive::turning(c.phase)) turns_ = false;
        for (const drive::LogEntry& e : drive::log_since(c, logged)) note(e, at);
    }
    void note(const drive::LogEntry& e, double at) {
        if (e.cause == Cause::sun) ++result_.all.starts, ++result_.days.back().starts;
        if (e.phase == Phase::tripped || e.phase == Phase::dry_hold || e.phase == Phase::tank_hold ||
            (e.phase == Phase::waiting_for_sun && e.cause == Cause::low_sun))
            ++result_.all.stops[e.cause];
        if (result_.events.size() < most_events) result_.events.push_back({at, e.phase, e.cause, e.value});
    }

    Averager& averager_;
    const Options& options_;
    std::shared_ptr<site::Site> site_;
    const drive::DriveSettings settings_;
    // for its earth monitor; null: none that stops it
    const std::shared_ptr<const site::Site> earth_site_ = settings_.insulation_trip_ohm > 0.0 ? averager_.motor_site()
                                                                                              : nullptr;
    std::vector<Hours> hours_;
    double use_, offset_s_;
    plant::State s_{};
    Curve curve_;
    double best_W_ = 0.0, on_s_ = 0.0, day_end_ = 0.0;
    int failed_ = 0;  // starts, in this light, the last so many s after it began
    double failed_after_ = 0.0;
    std::optional<double> top_;                           // fill, since the float last held the pump
    bool turns_ = false, standing_ = false, up_ = false;  // broken away; output on, at rest; the ramp is over
    // What of the array's volts gets through the pre-charge resistor, with the bleed behind it.
    double through_precharge_ = site_->works.link.precharge_ohm < 1e6 ? 1.0 : 0.0;
    bool watches_warmth_ = std::any_of(site_->works.phases.begin(), site_->works.phases.end(),
                                       [](const site::Phase& p) { return std::isfinite(p.splice_opens_degC); });
    Result result_;
};

}  // namespace

double Totals::energy_gap() const {
    using namespace plant;
    double out = 0.0;
    for (const std::size_t n :
         {in_dc_run, in_link, in_bridge, in_cable, in_winding, in_cage, in_iron, in_bearing, in_pump, in_pipe, lifted})
        out += energy[n];
    return energy[from_supply] > 0.0 ? (energy[from_supply] - out) / energy[from_supply] : 0.0;
}

Result run(Averager& averager, const std::vector<Moment>& moments, const Options& options) {
    check(averager.scenario());
    Runner runner(averager, options);
    std::size_t n = 0;
    for (const Moment& m : moments) {
        runner.through(m);
        if (options.progress && ++n % 512 == 0 &&
            !options.progress(static_cast<double>(n) / static_cast<double>(moments.size())))
            throw Stopped();
    }
    return runner.take();
}

void check(const Scenario& s) {
    if (s.supply.kind != "array")
        throw site::bad_key(s, "supply.kind", say("is {}, expected array: a day needs a sun to run on", s.supply.kind));
    if (s.motor.kind == "synchronous-reluctance")
        throw site::bad_key(s, "motor.kind",
                            tr("is synchronous-reluctance, expected induction or permanent-magnet: a day is not "
                               "averaged over the load angle"));
    draw_hours(s);
}

std::vector<Hours> draw_hours(const Scenario& s) {
    std::vector<Hours> list;
    std::istringstream words(s.tank.use_hours);
    for (std::string word; words >> word;) {
        const std::size_t dash = word.find('-');
        const auto hour = [&](const std::string& text) {
            double value = -1.0;
            const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
            if (error != std::errc() || end != text.data() + text.size() || !(value >= 0.0 && value <= 24.0))
                throw site::bad_key(
                    s, "tank.use_hours",
                    say("{} is no stretch of hours, expected some as 6-9 17-20", site::on_one_line(word, 40)));
            return value;
        };
        if (dash == std::string::npos) hour("");
        list.push_back({hour(word.substr(0, dash)), hour(word.substr(dash + 1))});
    }
    return list;
}

}  // namespace sunshaft::day
