#include "day/motor_side.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <deque>
#include <limits>
#include <numbers>
#include <type_traits>

#include "day/linear.hpp"
#include "day/mean_row.hpp"
#include "day/roots.hpp"
#include "plant/chain.hpp"
#include "plant/run.hpp"

namespace sunshaft::day {
namespace {

using namespace plant;
constexpr double pi = std::numbers::pi;

bool six_step(drive::Modulation m) {
    return m == drive::Modulation::six_step_180 || m == drive::Modulation::six_step_120;
}

// The site on a stiff link with its shaft held, so that Chain is an electrical machine alone.
std::shared_ptr<site::Site> held(const site::Site& of) {
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
    double hold_Nm() const override { return water_->rest; }

    double torque(double field_Hz, double volts, double slip_Hz) override {
        return between(field_Hz, volts, slip_Hz, 1)[torque_Nm];
    }
    double power(double field_Hz, double volts, double slip_Hz) override {
        return between(field_Hz, volts, slip_Hz, bridge_in + 1)[bridge_in];
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
        // From where it last was; else between nothing and more than there can be.
        double q = last_flow_, y = rate(q), before = 1.001 * q, y_before = rate(before);
        for (int n = 0; n < 8 && y != y_before; ++n) {
            const double next = q - y * (q - before) / (y - y_before);
            if (!(next > 0.2 * last_flow_ && next < 5 * last_flow_)) break;
            before = q, y_before = y;
            q = next, y = rate(q);
            if (std::abs(q - before) < 1e-8 * q) return last_flow_ = q;
        }
        const bool check = site_->works.water.check_valve;
        const double none = rate(0.0);
        if (none == 0.0 || (none < 0.0 && check)) return 0.0;
        double far = std::copysign(1e-5, none);
        for (int n = 0; n < 60 && rate(far) * none > 0.0; ++n) far *= 1.6;
        q = root(rate, 0.0, far, none, rate(far), 1e-9);
        if (q > 1e-6) last_flow_ = q;
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

    Turn steady(double field_Hz, double volts, double speed) {
        if (!(volts > 0.0)) return {};
        const drive::DriveSettings& d = site_->works.drive;
        const bool pwm = !six_step(d.modulation);  // a smooth mean
        const bool modulated = pwm && d.modulation != drive::Modulation::ideal_sine;
        const int steps = pwm ? 48 : 72;
        double link = volts, amplitude = 1.0;
        if (pwm || split_) {  // what dead times, drops and shorts take depends on the link itself
            const double reach = pwm ? drive::linear_limit(d.modulation) : 1.0;
            link = std::max(nominal_V_, volts / reach);
            amplitude = volts / link;
        }
        electric_->source.stiff_V = link;
        const double h = 1.0 / (field_Hz * steps), angle = 2 * pi / steps;
        // A held sample takes sin(x)/x of the fundamental.
        const double held_sample = pwm ? angle / std::sin(angle) : 1.0;
        auto& rows = rows_;
        std::array<Vector, 72> drives;
        std::array<motor::Vec3, 72> leg_i{};
        std::array<Vector, 73> x;
        double psi0 = flux_scale(field_Hz, volts);
        const bool dead = modulated && (d.dead_time > 0.0 ||
                                        d.dead_time_extra[0] + d.dead_time_extra[1] + d.dead_time_extra[2] > 0.0);
        bool saturates = false;
        if constexpr (slips) saturates = machine_.saturation != 1.0;
        const int rounds = 1 + (dead ? 2 : 0) + (saturates ? 4 : 0);
        for (int round = 0; round < rounds; ++round) {
            Matrix A, E, F;
            for (int k = 0; k < steps; ++k) {
                const auto n = static_cast<std::size_t>(k);
                if (round > 0 && !dead) break;
                // Two steps share a row.
                rows[n] =
                    k % 2 ? rows[n - 1] : mean_row(*compiled_, angle * (k + 1), amplitude * held_sample, leg_i[n]);
            }
            for (int k = 0; k < steps; ++k) {
                const auto n = static_cast<std::size_t>(k);
                chain_.row = &rows[n];
                drives[n] = rate(Vector::Zero(), speed);
            }
            chain_.row = &rows[0];
            for (int j = 0; j < size; ++j) {
                Vector e = Vector::Zero();
                const double scale = flux > 0 && j >= 2 && j < 2 + flux ? psi0 : 1.0;
                e[j] = scale;
                A.col(j) = (rate(e, speed) - drives[0]) / scale;
            }
            exponential(A, h, E, F);
            Matrix whole = Matrix::Identity();
            Vector sum = Vector::Zero();
            for (int k = 0; k < steps; ++k) sum = (E * sum + F * drives[static_cast<std::size_t>(k)]).eval();
            Matrix square = E;
            for (int n = steps; n > 0; n >>= 1) {
                if (n & 1) whole = (whole * square).eval();
                square = (square * square).eval();
            }
            Matrix allowed = Matrix::Identity();
            if (const ModeRow& r = rows[0]; r.free < 2) {
                const double one = r.free;
                allowed(0, 0) = one * r.dir[0] * r.dir[0], allowed(1, 1) = one * r.dir[1] * r.dir[1];
                allowed(0, 1) = allowed(1, 0) = one * r.dir[0] * r.dir[1];
            }
            x[0] = (Matrix::Identity() - whole * allowed).partialPivLu().solve(allowed * sum);
            double psi = 0.0;
            for (std::size_t k = 0; k < static_cast<std::size_t>(steps); ++k) {
                x[k + 1] = E * x[k] + F * drives[k];
                if constexpr (flux > 0) psi += (x[k][2] * x[k][2] + x[k][3] * x[k][3]) / steps;
            }
            if (dead)
                for (std::size_t k = 0; k < static_cast<std::size_t>(steps); ++k) {
                    chain_.row = &rows[k];
                    leg_i[k] = chain_.leg_currents(chain_.point(0.0, spread(0.5 * (x[k] + x[k + 1]), speed)));
                }
            if (saturates) psi0 = std::sqrt(std::max(psi, 1e-12));
        }
        // Simpson's rule over two steps, between whose edges all is smooth.
        Turn out{};
        Energies e{};
        double peak = 0.0;
        const auto look = [&](std::size_t row, std::size_t at, double weight) {
            chain_.row = &rows[row];
            const Point from = chain_.point(0.0, spread(x[at], speed));
            Point to = from;
            to.t = weight * h;
            chain_.account(from, to, e);
            out[torque_Nm] += weight * chain_.torque(from.x) / steps;
            const motor::Vec3 i = chain_.leg_currents(from);
            for (std::size_t n = 0; n < 3; ++n) {
                out[square_u + n] += weight * i[n] * i[n] / steps;
                peak = std::max(peak, i[n] * i[n]);
            }
        };
        for (std::size_t k = 0; k < static_cast<std::size_t>(steps); k += 2)
            look(k, k, 1.0 / 3), look(k, k + 1, 4.0 / 3), look(k + 1, k + 2, 1.0 / 3);
        if (split_) {  // while the pulse lasts a short carries far more than its mean
            for (int upper = 1; upper < 7; ++upper) {
                chain_.row = &row_of(*compiled_, pattern(upper));
                for (const double i : chain_.leg_currents(chain_.point(0.0, spread(x[0], speed))))
                    peak = std::max(peak, i * i);
            }
        }
        fill(out, e, h * steps, peak);
        return out;
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

    Turn live(double field_Hz, double volts, double speed) {
        drive::DriveSettings& d = electric_->works.drive;
        d.frequency = field_Hz;
        const bool chops = d.modulation != drive::Modulation::six_step_180;
        const double link = chops ? std::max(volts, nominal_V_) : volts;
        d.duty = d.index = volts / link;
        electric_->source.stiff_V = link;
        electric_->works.shaft.held_speed = speed;
        if (!plant_) plant_ = std::make_unique<Plant>(electric_);
        State s = plant_->start();
        s.slow.held = true;
        // A rotor's flux takes its time, and a broken cage beats with twice the slip; the currents of a magnet motor
        // have found their way within some of its electrical time constants.
        double wait = 0.0, mean = 1 / field_Hz;
        if constexpr (slips) {
            const double slip = std::abs(field_Hz - std::abs(speed) * machine_.pole_pairs / (2 * pi));
            wait = 4 * (machine_.Lm + machine_.Llr) / machine_.Rr;
            mean = std::max(2 * mean, 0.5 / std::max(slip, 0.5));
        } else {
            const motor::Sym2 L = compiled_->equations.inductance(0.0);
            const double ohm = std::max(-row_of(*compiled_, pattern(1)).maa, 1e-3);
            // Every sixth of a turn is like the one before, where the phases are alike.
            if (alike_) mean /= 6;
            wait = std::max(6 * std::max(L.aa, L.bb) / ohm, (alike_ ? 1.5 : 3.0) / (6 * field_Hz));
        }
        plant_->advance(s, wait);
        Turn out{};
        motor::Vec3 square{};
        double turned = speed;
        const auto take = [&](Plant& plant) {
            plant.open_account(s);
            const double from = s.t;
            const Means m = plant.average(s, mean);
            out = {};
            fill(out, s.energy, s.t - from, 0.0);
            out[torque_Nm] = m.torque;
            turned = m.speed;
            for (std::size_t k = 0; k < 3; ++k) square[k] = m.current_rms[k] * m.current_rms[k];
        };
        take(*plant_);
        if constexpr (slips)
            if (machine_.cage_asymmetry != 0.0) {
                // The torque of a broken cage beats with twice the slip, and the shaft swings with it as far as its
                // inertia and its load let it. That moves the currents: it is let go of, on a load that asks for the
                // mean torque at this speed and grows as the pump's does.
                const double synchronous = sense_ * 2 * pi * field_Hz / machine_.pole_pairs, slip = synchronous - speed;
                const bool drives = out[torque_Nm] * speed > 0.0 && slip * speed > 0.0 &&
                                    std::abs(slip) * machine_.pole_pairs / (2 * pi) < 0.7 * pull_out_;
                const bool fan = water_->pump == 1;
                double load = std::abs(out[torque_Nm]);
                for (int n = 0; drives && n < 2; ++n) {
                    auto free = std::make_shared<site::Site>(*electric_);
                    site::Shaft& shaft = free->works.shaft;
                    shaft.held_speed = not_given;
                    shaft.viscous = shaft.dry_friction = shaft.breakaway = shaft.load_torque = shaft.fan = 0.0;
                    (fan ? shaft.fan : shaft.load_torque) = load / (fan ? speed * speed : 1.0);
                    Plant swings(free);
                    const Turn held_still = out;
                    const motor::Vec3 square_still = square;
                    State before = s;
                    swings.adopt(s);
                    swings.advance(s, s.t + wait);
                    take(swings);
                    const double slipped = (synchronous - turned) / slip;
                    if (!(slipped > 0.5 && slipped < 2.0)) {  // it does not bear that load
                        out = held_still, square = square_still, s = before;
                        break;
                    }
                    if (std::abs(slipped - 1.0) < 0.005) break;
                    load /= slipped;
                }
            }
        if (mean < 0.5 / field_Hz) {  // what one line did in this sixth the others do in theirs
            square.fill((square[0] + square[1] + square[2]) / 3);
            out[winding_aa] = out[winding_bb] = 0.5 * (out[winding_aa] + out[winding_bb]);
            out[winding_ab] = 0.0;
        }
        for (std::size_t k = 0; k < 3; ++k) {
            out[square_u + k] = square[k];
            // As of a block of 120 degrees: its height.
            out[peak_square] = std::max(out[peak_square], 1.5 * out[square_u + k]);
        }
        return out;
    }

    // ---- between nodes --------------------------------------------------------------------------------------------

    // Frequencies by thirds of an octave about the drive's own; shares of the line's volts, or volts above the EMF;
    // slips crowded where motors work.
    static constexpr int fields = 36, highest_field = 30, levels = 80, slip_count = slips ? 48 : 1, no_slip = 16;
    static constexpr double per_octave = 3.0, share_step = 0.125, slip_step = 0.22;

    double field_at(int n) const {
        return std::max(site_->works.drive.frequency, 1.0) * std::exp2((n - highest_field) / per_octave);
    }
    static double slip_at(int n) { return std::sinh(slip_step * (n - no_slip)) / std::sinh(2.0); }
    static double slip_index(double x) { return no_slip + std::asinh(x * std::sinh(2.0)) / slip_step; }
    double above_at(int n) const { return above_step * nominal_V_ * (n - none_above); }
    static constexpr double above_step = 0.03;
    static constexpr int none_above = 40;

    const Turn& node(int f, int u, int s) {
        int& at = index_[static_cast<std::size_t>((f * levels + u) * slip_count + s)];
        if (at >= 0) return kept_[static_cast<std::size_t>(at)];
        const double field = field_at(f);
        Turn turn;
        if constexpr (slips) {
            const double volts = share_step * std::max(u, 1) * volts_on_line(field), per_Hz = volts / field;
            turn = exact(field, volts, slip_at(s) * pull_out_);
            for (double& y : turn) y /= per_Hz * per_Hz;
        } else {
            turn = exact(field, std::max(idle_V(field) + above_at(u), 0.01 * nominal_V_), 0.0);
        }
        at = static_cast<int>(kept_.size());
        kept_.push_back(turn);
        return kept_.back();
    }

    Turn between(double field_Hz, double volts, double slip_Hz, std::size_t count) {
        Turn out{};
        const double f = highest_field + per_octave * std::log2(field_Hz / std::max(site_->works.drive.frequency, 1.0));
        const int f1 = std::clamp(static_cast<int>(std::lround(f)), 1, fields - 2);
        const std::array<double, 3> in_f = three(std::clamp(f - f1, -1.0, 1.0));
        const auto whole = [&](double x) { return std::abs(x) < 1e-12; };
        if constexpr (slips) {
            const double u = std::clamp(volts / (share_step * volts_on_line(field_Hz)), 1.0, levels - 2.0);
            const int u0 = std::min(static_cast<int>(u + 1e-9), levels - 2);
            const double y = u - u0 < 1e-9 ? 0.0 : u - u0;
            const double s = std::clamp(slip_index(slip_Hz / pull_out_), 1.0, slip_count - 3.0);
            const int s0 = static_cast<int>(s);
            const std::array<double, 4> in_s = four(s - s0);
            for (int a = 0; a < 3; ++a)
                for (int b = 0; b < 2; ++b) {
                    const double share = in_f[static_cast<std::size_t>(a)] * (b ? y : 1 - y);
                    if (whole(share)) continue;
                    for (int c = 0; c < 4; ++c) {
                        const Turn& n = node(f1 - 1 + a, u0 + b, s0 - 1 + c);
                        const double w = share * in_s[static_cast<std::size_t>(c)];
                        for (std::size_t k = 0; k < count; ++k) out[k] += w * n[k];
                    }
                }
            const double per_Hz = volts / field_Hz;
            for (std::size_t k = 0; k < count; ++k) out[k] *= per_Hz * per_Hz;
        } else {
            const double u =
                std::clamp(none_above + (volts - idle_V(field_Hz)) / (above_step * nominal_V_), 0.0, levels - 1.001);
            const int u0 = static_cast<int>(u);
            const double y = u - u0;
            for (int a = 0; a < 3; ++a)
                for (int b = 0; b < 2; ++b) {
                    const double share = in_f[static_cast<std::size_t>(a)] * (b ? y : 1 - y);
                    if (whole(share)) continue;
                    const Turn& n = node(f1 - 1 + a, u0 + b, 0);
                    for (std::size_t k = 0; k < count; ++k) out[k] += share * n[k];
                }
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
    double sense_ = 1.0, pull_out_ = 1.0, nominal_V_ = 1.0, last_flow_ = 1e-3;
    bool averaged_ = true, alike_ = true, split_ = false;  // split: a leg hangs on a rail, or two together
    std::unique_ptr<Plant> plant_;
    std::vector<int> index_ = std::vector<int>(static_cast<std::size_t>(fields * levels * slip_count), -1);
    std::deque<Turn> kept_;
};

}  // namespace

std::unique_ptr<MotorSide> MotorSide::make(const Scenario& scenario, const site::Works& works, double open_V) {
    const std::shared_ptr<site::Site> site = site::compile_motor_side(scenario, works);
    site->source.open_V = site->source.stiff_V = open_V;  // the scale of what holds the shaft (plant/chain.hpp)
    const motor::BridgedTurns& turns = site->works.turns;
    const bool bridged = turns.on() && !site->phases.winding_open(turns.phase);
    return std::visit(
        [&](const auto& m) -> std::unique_ptr<MotorSide> {
            using Machine = std::decay_t<decltype(m)>;
            if (bridged)
                return std::make_unique<Side<motor::Bridged<Machine>>>(site, motor::Bridged<Machine>{m, turns});
            return std::make_unique<Side<Machine>>(site, m);
        },
        site->works.motor);
}

}  // namespace sunshaft::day
