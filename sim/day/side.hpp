// MotorSide of each motor. It is most of what there is to compile in this room: motors that stand at the end of this
// file are compiled in files of their own, side_*.cpp, beside each other. One that stands nowhere yet is compiled where
// it is used.
#pragma once

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <numbers>
#include <numeric>
#include <optional>
#include <utility>

#include "day/linear.hpp"
#include "day/mean_row.hpp"
#include "day/motor_side.hpp"
#include "day/turn_table.hpp"
#include "plant/chain.hpp"
#include "plant/run.hpp"
#include "roots/roots.hpp"

namespace sunshaft::day::sides {

using namespace plant;
using std::numbers::pi;

inline bool six_step(drive::Modulation m) {
    return m == drive::Modulation::six_step_180 || m == drive::Modulation::six_step_120;
}

// The site on a stiff link with its shaft held, so that Chain is an electrical machine alone.
inline std::shared_ptr<site::Site> held(const site::Site& of) {
    auto s = std::make_shared<site::Site>(of);
    s->source.stiff = true;
    s->works.shaft.held_speed = 0.0;
    s->works.supply.kind = site::Supply::Kind::bench;
    s->works.water.pump = std::monostate{};  // what it asks for is worked out beside it
    drive::DriveSettings& d = s->works.drive;
    d.control = drive::Control::fixed;
    d.current_limit = d.overvoltage_V = d.start_V = d.dropout_V = d.latches_V = d.motor_A = 0.0;
    d.heat_sink_limit_degC = 1e9;
    d.phase_loss_detection = false;
    d.enabled = d.on = true;
    s->works.link.electronics_W = 0.0;
    s->works.guards.dry.fitted = s->works.guards.full.fitted = false;
    return s;
}

template <class Machine>
class Side final : public MotorSide {
    static constexpr bool bridged = motor::is_bridged<Machine>;
    static constexpr bool slips = Machine::has_cage;
    static constexpr bool two_cages = Chain<Machine>::two_cages;
    static constexpr int flux = Machine::Equations::has_rotor_flux ? two_cages ? 4 : 2 : 0;
    static constexpr int size = 2 + flux + (bridged ? 1 : 0);
    using Matrix = Eigen::Matrix<double, size, size>;
    using Vector = Eigen::Matrix<double, size, 1>;

  public:
    Side(std::shared_ptr<site::Site> site, const Machine& machine)
        : site_(std::move(site)),
          electric_(held(*site_)),
          compiled_(std::make_shared<const Compiled<Machine>>(*electric_, machine)),
          chain_(compiled_),
          water_(std::make_shared<const Compiled<Machine>>(*site_, machine)),
          main_(water_),
          machine_(machine) {
        const std::array<int, 3>& core = site_->works.core_at;
        sense_ = (core[1] - core[0] + 3) % 3 == 1 ? 1.0 : -1.0;
        averaged_ = slips && site_->works.drive.modulation != drive::Modulation::six_step_120;
        for (const drive::LegParts& leg : site_->works.bridge.legs)
            if (leg.upper == drive::Device::open || leg.lower == drive::Device::open) averaged_ = false;
        if constexpr (slips) {
            if (machine.cage_asymmetry != 0.0) averaged_ = false;
            pull_out_ = machine.Rr / (2 * pi * (machine.Lls + machine.Llr));
        }
        for (const site::Phase& p : site_->works.phases) {
            const site::Phase& u = site_->works.phases[0];
            alike_ = alike_ && p.terminal.through() == u.terminal.through() && p.cable.through() == u.cable.through() &&
                     p.splice.through() == u.splice.through() && p.winding.through() == u.winding.through() &&
                     std::min(p.between_leak_ohm, p.earth_leak_ohm) > site::leak_above_ohm;
        }
        for (const drive::LegParts& leg : site_->works.bridge.legs)
            alike_ = alike_ && leg.upper == drive::Device::good && leg.lower == drive::Device::good;
        for (const double extra : site_->works.drive.dead_time_extra) alike_ = alike_ && extra == 0.0;
        alike_ = alike_ && !bridged;
        for (const drive::LegParts& leg : site_->works.bridge.legs)
            split_ = split_ || leg.upper == drive::Device::shorted || leg.lower == drive::Device::shorted;
        for (const site::Phase& p : site_->works.phases) split_ = split_ || p.between_leak_ohm < 1e3;
        // Volts about where an array works, for what depends on more than their mean.
        nominal_V_ = std::max(1.0, 0.8 * site_->source.open_V);
        if constexpr (!slips) {
            const drive::DriveSettings& d = site_->works.drive;
            slowest_octave_ = std::log2(d.minimum_frequency / std::max(d.frequency, 1.0));
            while (lowest_field_ < highest_field - 2 && octave_of(lowest_field_ + 1) <= slowest_octave_)
                ++lowest_field_;
            for (int f = 0; f < fields; ++f)
                lowest_level_[static_cast<std::size_t>(f)] =
                    none_above +
                    static_cast<int>(std::floor((least_V() - idle_V(field_at(f))) / above_at(none_above + 1)));
        }
    }

    bool leads() const override { return Machine::self_commutated; }
    bool averaged() const override { return averaged_; }
    double pull_out_Hz() const override { return pull_out_; }
    double sense() const override { return sense_; }
    int pole_pairs() const override { return machine_.pole_pairs; }
    double idle_V(double field_Hz) const override {
        // Line to line, mean over the sixth of a turn round its top.
        return 3 / pi * machine_.spin_V(2 * pi * field_Hz / machine_.pole_pairs);
    }
    std::array<double, 2> straight(double field_Hz, double volts) const override {
        const int u = static_cast<int>(level(field_Hz, volts));
        return {idle_V(field_Hz) + above_at(u), idle_V(field_Hz) + above_at(u + 1)};
    }
    double kept_Hz(double field_Hz) const override { return field_at(near_field(field_Hz)); }
    double hold_Nm() const override { return water_->rest; }

    double torque(double field_Hz, double volts, double slip_Hz) override {
        if constexpr (slips) return along(field_Hz, volts, slip_Hz)[torque_Nm];
        else return between(field_Hz, volts, slip_Hz, 1)[torque_Nm];
    }
    double power(double field_Hz, double volts, double slip_Hz) override {
        if constexpr (slips) return along(field_Hz, volts, slip_Hz)[bridge_in];
        else return between(field_Hz, volts, slip_Hz, turn_size)[bridge_in];
    }
    Turn turn(double field_Hz, double volts, double slip_Hz) override {
        return between(field_Hz, volts, slip_Hz, turn_size);
    }
    Turn exact(double field_Hz, double volts, double slip_Hz) override {
        if constexpr (slips)
            if (averaged_) return steady(field_Hz, volts, speed_at(field_Hz, slip_Hz));
        return live(field_Hz, volts, speed_at(field_Hz, slip_Hz));
    }

    void follow(const State& s) override { main_.follow(s); }
    Flowing flowing(double speed) override {
        main_.turning = speed > 0.0 ? 1.0 : speed < 0.0 ? -1.0 : 0.0;
        X x{};
        x[plant::speed] = speed;
        if (water_->pump != 0) x[flow] = steady_flow(x);
        const double torque = speed == 0.0 ? 0.0 : main_.load_torque(x);
        return {x[flow], torque};
    }
    void account(double speed, double q, double dt, Energies& e) override {
        main_.turning = speed > 0.0 ? 1.0 : speed < 0.0 ? -1.0 : 0.0;
        X x{};
        x[plant::speed] = speed;
        x[flow] = q;
        main_.account_slow(dt, x, x, x, e);
    }

  private:
    double speed_at(double field_Hz, double slip_Hz) const {
        return sense_ * 2 * pi * (field_Hz - (slips ? slip_Hz : 0.0)) / machine_.pole_pairs;
    }
    // Link volts at full amplitude that the V/f line asks for.
    double volts_on_line(double field_Hz) const {
        const drive::DriveSettings& d = site_->works.drive;
        return drive::asked_volts(d, field_Hz) / (six_step(d.modulation) ? 0.7796968 : 0.6123724);
    }

    double steady_flow(X x) {
        const auto rate = [&](double q) {
            x[flow] = q;
            return main_.pump_head(x) - main_.static_head - site_->main_loss(q);
        };
        // From where it was going; else between nothing and more than there can be.
        const double w = x[plant::speed];
        double q = last_flow_ + flow_slope_ * (w - last_speed_);
        if (!(q > 0.5 * last_flow_ && q < 2 * last_flow_)) q = last_flow_;
        if (const auto found =
                roots::near_by(rate, q, rate_slope_, 1e-3 * q, 0.2 * last_flow_, 5 * last_flow_, 1e-8 * q)) {
            if (w != last_speed_) flow_slope_ = (*found - last_flow_) / (w - last_speed_);
            last_speed_ = w;
            return last_flow_ = *found;
        }
        const bool check = site_->works.water.check_valve;
        const double none = rate(0.0);
        if (none == 0.0 || (none < 0.0 && check)) return 0.0;
        double far = std::copysign(1e-5, none);
        for (int n = 0; n < 60 && rate(far) * none > 0.0; ++n) far *= 1.6;
        q = roots::root(rate, 0.0, far, none, rate(far), 1e-9 * std::abs(far));
        if (q > 1e-6) last_flow_ = q, last_speed_ = w;
        return q;
    }

    // ---- averaged -------------------------------------------------------------------------------------------------

    static X spread(const Vector& v, double speed) {
        X x{};
        x[i_alpha] = v[0], x[i_beta] = v[1];
        if constexpr (flux > 0) x[psi_alpha] = v[2], x[psi_beta] = v[3];
        if constexpr (two_cages) x[outer_alpha] = v[4], x[outer_beta] = v[5];
        if constexpr (bridged) x[i_turns] = v[size - 1];
        x[plant::speed] = speed;
        return x;
    }
    Vector rate(const Vector& v, double speed) const {
        X d{};
        const Point p = chain_.point(0.0, spread(v, speed));
        chain_.rates(p, Load{}, d);
        Vector out;
        out[0] = d[i_alpha], out[1] = d[i_beta];
        if constexpr (flux > 0) out[2] = d[psi_alpha], out[3] = d[psi_beta];
        if constexpr (two_cages) out[4] = d[outer_alpha], out[5] = d[outer_beta];
        if constexpr (bridged) out[size - 1] = d[i_turns];
        return out;
    }

    // Reference flux of the machine for the secant of its saturation, Wb.
    double flux_scale(double field_Hz, double volts) const { return 0.55 * volts / (2 * pi * std::max(field_Hz, 1.0)); }

    Turn steady(double field_Hz, double volts, double speed);  // turns.inl.hpp
    // 60 degrees back, against the field.
    Matrix turned_back() const {
        Matrix back = Matrix::Identity();
        const double c = 0.5, s = sense_ * 0.5 * std::sqrt(3.0);
        for (int n = 0; n + 1 < 2 + flux; n += 2) {
            back(n, n) = back(n + 1, n + 1) = c;
            back(n, n + 1) = s, back(n + 1, n) = -s;
        }
        return back;
    }
    // What one line did in a sixth of a turn the others do in theirs.
    static void spread_evenly(Turn& out) {
        const double square = (out[square_u] + out[square_v] + out[square_w]) / 3;
        out[square_u] = out[square_v] = out[square_w] = square;
        out[winding_aa] = out[winding_bb] = 0.5 * (out[winding_aa] + out[winding_bb]);
        out[winding_ab] = 0.0;
    }

    static void fill(Turn& out, const Energies& e, double seconds, double peak) {
        out[bridge_in] = e[from_supply] / seconds;
        out[winding_aa] = e[square_aa] / seconds, out[winding_ab] = e[square_ab] / seconds;
        out[winding_bb] = e[square_bb] / seconds;
        out[lost_bridge] = e[in_bridge] / seconds, out[lost_cable] = e[in_cable] / seconds;
        out[lost_winding] = e[in_winding] / seconds, out[lost_cage] = e[in_cage] / seconds;
        out[lost_iron] = e[in_iron] / seconds, out[lost_turns] = e[in_turns] / seconds;
        out[peak_square] = peak;
    }

    // ---- switched -------------------------------------------------------------------------------------------------

    Turn live(double field_Hz, double volts, double speed);  // turns.inl.hpp
    Turn slipping(State& s, double field_Hz, double speed);
    Turn one_part(double field_Hz, double speed);
    Turn led(State& s, double field_Hz);
    const State& running();
    static std::pair<Turn, double> means(Plant& plant, State& s, double seconds);
    // Of the currents of a motor that leads, s.
    double fades_s() const {
        const motor::Sym2 L = compiled_->equations.inductance(0.0);
        return std::max(L.aa, L.bb) / std::max(-row_of(*compiled_, pattern(1)).maa, 1e-3);
    }

    // ---- between nodes --------------------------------------------------------------------------------------------

    // Frequencies by thirds of an octave about the drive's own; shares of the line's volts, or volts above the EMF;
    // slips crowded where motors work.
    static constexpr int fields = 36, highest_field = 30, levels = 80, slip_count = slips ? 48 : 1, no_slip = 16;
    // Of a motor that leads by whole octaves far below: there what flows hardly follows the frequency, and a turn takes
    // long.
    static constexpr double per_octave = 3.0, share_step = 0.125, slip_step = 0.22, coarse_below = slips ? -99.0 : -3.0;
    static constexpr int furthest_field = slips ? 0 : 18;

    double field_at(int n) const { return std::max(site_->works.drive.frequency, 1.0) * std::exp2(octave(n)); }
    // Octaves above the drive's own frequency; of a motor that leads none below the slowest it is driven at.
    double octave(int n) const { return std::max(octave_of(n), slips ? -99.0 : slowest_octave_); }
    static double octave_of(int n) {
        const double third = (n - highest_field) / per_octave;
        return third < coarse_below ? coarse_below + per_octave * (third - coarse_below) : third;
    }
    // Of the nodes the one nearest to a frequency.
    int near_field(double field_Hz) const {
        const double up = std::log2(field_Hz / std::max(site_->works.drive.frequency, 1.0));
        const double third = up < coarse_below ? coarse_below + (up - coarse_below) / per_octave : up;
        return std::clamp(static_cast<int>(std::lround(highest_field + per_octave * third)), lowest_field_ + 1,
                          fields - 2);
    }
    static double slip_at(int n) { return std::sinh(slip_step * (n - no_slip)) / std::sinh(2.0); }
    static double slip_index(double x) { return no_slip + std::asinh(x * std::sinh(2.0)) / slip_step; }
    double least_V() const { return 0.01 * nominal_V_; }
    double above_at(int n) const { return above_step * nominal_V_ * (n - none_above); }
    static constexpr double above_step = 0.06;
    static constexpr int none_above = 20;

    const Turn& node(int f, int u, int s) {
        // Where the EMF is little many levels lie below the least volts there are: one node for them all.
        if constexpr (!slips) u = std::max(u, lowest_level_[static_cast<std::size_t>(f)]);
        return table_.at(f, u, s, [&] {
            const double field = field_at(f);
            if constexpr (slips) {
                const double volts = share_step * std::max(u, 1) * volts_on_line(field), per_Hz = volts / field;
                Turn turn = exact(field, volts, slip_at(s) * pull_out_);
                for (double& y : turn) y /= per_Hz * per_Hz;
                return turn;
            } else {
                return rooted(exact(field, std::max(idle_V(field) + above_at(u), least_V()), 0.0));
            }
        });
    }
    // The current of a motor that leads is about straight in the volts above its EMF, from none on: what goes with its
    // square is kept as its root, and the power without it.
    static constexpr std::array<std::size_t, 8> with_square = {square_u,   square_v,   square_w,     winding_aa,
                                                               winding_bb, lost_cable, lost_winding, peak_square};
    static Turn rooted(Turn turn) {
        turn[bridge_in] -= turn[lost_cable] + turn[lost_winding];
        for (const std::size_t k : with_square) turn[k] = std::sqrt(std::max(turn[k], 0.0));
        return turn;
    }
    static void unroot(Turn& turn) {
        for (const std::size_t k : with_square) turn[k] *= turn[k];
        turn[bridge_in] += turn[lost_cable] + turn[lost_winding];
    }
    // Where volts lie between nodes.
    double level(double field_Hz, double volts) const {
        if constexpr (slips) return std::clamp(volts / (share_step * volts_on_line(field_Hz)), 1.0, levels - 2.0);
        else
            return std::clamp(none_above + (volts - idle_V(field_Hz)) / (above_step * nominal_V_), 0.0, levels - 1.001);
    }

    // The nodes about a frequency and volts, and their shares.
    struct Mix {
        double field_Hz = 0.0, volts = 0.0;
        int count = 0;
        struct Share {
            int f, u;
            double share;
        };
        std::array<Share, 6> of{};
    };
    Mix mix(double field_Hz, double volts) {
        if (about_.field_Hz != field_Hz) {  // the same for many volts
            const int near = near_field(field_Hz);
            const double up = std::log2(field_Hz / field_at(near));
            about_ = {field_Hz, near, three(up, octave(near - 1) - octave(near), octave(near + 1) - octave(near))};
        }
        const int f1 = about_.f;
        const std::array<double, 3>& in_f = about_.share;
        const double u = level(field_Hz, volts);
        const int u0 = std::min(static_cast<int>(u + 1e-9), levels - 2);
        const double y = std::abs(u - u0) < 1e-9 ? 0.0 : u - u0;
        Mix m{.field_Hz = field_Hz, .volts = volts};
        for (int a = 0; a < 3; ++a)
            for (int b = 0; b < 2; ++b)
                if (const double share = in_f[static_cast<std::size_t>(a)] * (b ? y : 1 - y); std::abs(share) > 1e-12)
                    m.of[static_cast<std::size_t>(m.count++)] = {f1 - 1 + a, u0 + b, share};
        return m;
    }
    // Four nodes of slip, and their shares.
    static std::pair<int, std::array<double, 4>> about(double slip_share) {
        const double s = std::clamp(slip_index(slip_share), 1.0, slip_count - 3.0);
        const int s0 = static_cast<int>(s);
        return {s0 - 1, four(s - s0)};
    }

    // Torque and power while the slip alone changes: the nodes of all else are mixed once.
    std::array<double, 2> along(double field_Hz, double volts, double slip_Hz) {
        if (along_.field_Hz != field_Hz || along_.volts != volts) {
            along_ = mix(field_Hz, volts);
            mixed_known_.fill(false);
        }
        const auto [first, in_s] = about(slip_Hz / pull_out_);
        std::array<double, 2> out{};
        for (int c = 0; c < 4; ++c) {
            const auto at = static_cast<std::size_t>(first + c);
            if (!mixed_known_[at]) {
                mixed_known_[at] = true;
                mixed_[at] = {};
                for (int n = 0; n < along_.count; ++n) {
                    const auto& [f, u, share] = along_.of[static_cast<std::size_t>(n)];
                    const Turn& turn = node(f, u, first + c);
                    mixed_[at][torque_Nm] += share * turn[torque_Nm], mixed_[at][bridge_in] += share * turn[bridge_in];
                }
            }
            for (const std::size_t k : {torque_Nm, bridge_in})
                out[k] += in_s[static_cast<std::size_t>(c)] * mixed_[at][k];
        }
        const double per_Hz = volts / field_Hz;
        for (double& y : out) y *= per_Hz * per_Hz;
        return out;
    }

    Turn between(double field_Hz, double volts, double slip_Hz, std::size_t count) {
        Turn out{};
        const Mix m = mix(field_Hz, volts);
        for (int n = 0; n < m.count; ++n) {
            const auto& [f, u, share] = m.of[static_cast<std::size_t>(n)];
            const auto add = [&](const Turn& turn, double w) {
                for (std::size_t k = 0; k < count; ++k) out[k] += w * turn[k];
            };
            if constexpr (slips) {
                const auto [first, in_s] = about(slip_Hz / pull_out_);
                for (int c = 0; c < 4; ++c) add(node(f, u, first + c), share * in_s[static_cast<std::size_t>(c)]);
            } else {
                add(node(f, u, 0), share);
            }
        }
        if constexpr (slips) {
            const double per_Hz = volts / field_Hz;
            for (std::size_t k = 0; k < count; ++k) out[k] *= per_Hz * per_Hz;
        } else if (count == turn_size) {
            unroot(out);
        }
        return out;
    }

    std::shared_ptr<site::Site> site_, electric_;
    std::shared_ptr<const Compiled<Machine>> compiled_;
    Chain<Machine> chain_;
    std::array<ModeRow, 72> rows_{};  // of the turn looked at last: the chain points into it
    std::shared_ptr<const Compiled<Machine>> water_;
    Chain<Machine> main_;
    Machine machine_;
    int lowest_field_ = furthest_field;
    std::array<int, static_cast<std::size_t>(fields)> lowest_level_{};
    double slowest_octave_ = 0.0;
    double sense_ = 1.0, pull_out_ = 1.0, nominal_V_ = 1.0, last_flow_ = 1e-3;
    double last_speed_ = 0.0, flow_slope_ = 0.0, rate_slope_ = 0.0;  // of flow by speed, of its rate by flow
    bool averaged_ = true, alike_ = true, split_ = false;            // split: a leg hangs on a rail, or two together
    std::unique_ptr<Plant> plant_;
    std::optional<State> runs_;  // of the plant, where a window ends
    motor::Vec2 begins_with_{};  // A, at the beginning of a third of a turn: of the last one looked at
    TurnTable table_{fields, levels, slip_count};
    Mix along_;
    struct AboutField {
        double field_Hz = 0.0;
        int f = 0;
        std::array<double, 3> share{};
    } about_;
    std::array<std::array<double, 2>, static_cast<std::size_t>(slip_count)> mixed_{};
    std::array<bool, static_cast<std::size_t>(slip_count)> mixed_known_{};
};

}  // namespace sunshaft::day::sides

#include "day/turns.inl.hpp"

namespace sunshaft::day::sides {

template <class Machine>
struct Make {
    static std::unique_ptr<MotorSide> side(std::shared_ptr<site::Site> site, const Machine& machine);
};
template <class Machine>
std::unique_ptr<MotorSide> Make<Machine>::side(std::shared_ptr<site::Site> site, const Machine& machine) {
    return std::make_unique<Side<Machine>>(std::move(site), machine);
}

extern template struct Make<motor::Induction>;
extern template struct Make<motor::Bridged<motor::Induction>>;
extern template struct Make<motor::DoubleCage>;
extern template struct Make<motor::Bridged<motor::DoubleCage>>;
extern template struct Make<motor::PermanentMagnet>;
extern template struct Make<motor::Bridged<motor::PermanentMagnet>>;
extern template struct Make<motor::SynchronousReluctance>;
extern template struct Make<motor::Bridged<motor::SynchronousReluctance>>;

}  // namespace sunshaft::day::sides
