#include "day/motor_side.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <tuple>
#include <type_traits>

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

// A linear relation of the ModeRow mixed by shares of time that sum to one.
class Mixture {
  public:
    void add(const ModeRow& r, double w) {
        if (first_) sum_ = r, zero();
        first_ = false;
        const auto plus = [w](double& to, double from) { to += w * from; };
        plus(sum_.maa, r.maa), plus(sum_.mab, r.mab), plus(sum_.mba, r.mba), plus(sum_.mbb, r.mbb);
        plus(sum_.aaa, r.aaa), plus(sum_.aab, r.aab), plus(sum_.aba, r.aba), plus(sum_.abb, r.abb);
        for (std::size_t n = 0; n < 2; ++n) {
            plus(sum_.vl[n], r.vl[n]), plus(sum_.v0[n], r.v0[n]);
            plus(sum_.al[n], r.al[n]), plus(sum_.a0[n], r.a0[n]), plus(sum_.ci[n], r.ci[n]);
        }
        plus(sum_.P.aa, r.P.aa), plus(sum_.P.ab, r.P.ab), plus(sum_.P.bb, r.P.bb);
        plus(sum_.cv, r.cv), plus(sum_.c0, r.c0);
        for (std::size_t k = 0; k < 3; ++k) {
            plus(sum_.leg[k].p, r.leg[k].p), plus(sum_.leg[k].q, r.leg[k].q);
            plus(sum_.leg[k].r, r.leg[k].r), plus(sum_.leg[k].c, r.leg[k].c);
            quadratic(sum_.beside_square[k], r.beside_square[k], w);
        }
        quadratic(sum_.bridge_loss, r.bridge_loss, w);
        quadratic(sum_.cable_loss, r.cable_loss, w);
        sum_.beside = sum_.beside || r.beside;
    }
    ModeRow row() const {
        ModeRow r = sum_;
        r.watched = false;
        return r;
    }

  private:
    void zero() {
        const ModeRow& like = sum_;
        ModeRow r;
        r.free = like.free, r.dir = like.dir, r.net = like.net, r.driven = like.driven;
        r.P = {0, 0, 0};
        sum_ = r;
    }
    static void quadratic(Quadratic& to, const Quadratic& q, double w) {
        to.aa += w * q.aa, to.ab += w * q.ab, to.bb += w * q.bb, to.av += w * q.av, to.bv += w * q.bv;
        to.vv += w * q.vv, to.a += w * q.a, to.b += w * q.b, to.v += w * q.v, to.one += w * q.one;
    }
    ModeRow sum_{};
    bool first_ = true;
};

// The site on a stiff link with its shaft held, so that Chain is an electrical machine alone.
std::shared_ptr<site::Site> held(const site::Site& of) {
    auto s = std::make_shared<site::Site>(of);
    s->source.stiff = true;
    s->works.shaft.held_speed = 0.0;
    s->works.supply.kind = site::Supply::Kind::bench;
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
    static constexpr int flux = Machine::Equations::has_rotor_flux ? 2 : 0;
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
        const bool check = site_->works.water.check_valve;
        const double none = rate(0.0);
        if (none == 0.0 || (none < 0.0 && check)) return 0.0;
        double far = std::copysign(std::max(1e-4, std::abs(last_flow_)), none);
        for (int n = 0; n < 40 && rate(far) * none > 0.0; ++n) far *= 1.6;
        return last_flow_ = root(rate, 0.0, far, none, rate(far), 1e-9);
    }

    // ---- averaged -------------------------------------------------------------------------------------------------

    const ModeRow& row_of(drive::Legs legs) const {
        for (std::size_t k = 0; k < 3; ++k) {
            const drive::LegParts& parts = site_->works.bridge.legs[k];
            if (parts.upper == drive::Device::shorted) legs[k] = drive::Leg::upper;
            else if (parts.lower == drive::Device::shorted) legs[k] = drive::Leg::lower;
        }
        return compiled_->rows[static_cast<std::size_t>(drive::index(legs))];
    }
    static drive::Legs pattern(int upper) {
        drive::Legs legs{};
        for (std::size_t k = 0; k < 3; ++k) legs[k] = upper >> k & 1 ? drive::Leg::upper : drive::Leg::lower;
        return legs;
    }
    // The bridge's mean row at an angle of the field; leg_i: which way lines carry, for dead times.
    ModeRow mean_row(double angle, double amplitude, const motor::Vec3& leg_i) const {
        const drive::DriveSettings& d = site_->works.drive;
        std::array<double, 3> c{};
        for (std::size_t k = 0; k < 3; ++k) c[k] = std::cos(angle - static_cast<double>(k) * 2 * pi / 3);
        Mixture mix;
        if (d.modulation == drive::Modulation::six_step_180) {
            const int upper = (c[0] > 0) | (c[1] > 0) << 1 | (c[2] > 0) << 2;
            mix.add(row_of(pattern(upper)), amplitude);
            if (amplitude < 1.0) mix.add(row_of(pattern(0)), 1.0 - amplitude);
            return mix.row();
        }
        double common = 0.0;
        if (d.modulation == drive::Modulation::third_harmonic) common = (4 * c[0] * c[0] * c[0] - 3 * c[0]) / 6;
        if (d.modulation == drive::Modulation::space_vector)
            common = 0.5 * (std::max({c[0], c[1], c[2]}) + std::min({c[0], c[1], c[2]}));
        std::array<std::pair<double, int>, 3> duty{};
        for (std::size_t k = 0; k < 3; ++k)
            duty[k] = {std::clamp(0.5 + 0.5 * amplitude * (c[k] - common), 0.0, 1.0), static_cast<int>(k)};
        std::array<double, 3> dead{};
        for (std::size_t k = 0; k < 3; ++k) {
            const bool switches = duty[k].first > 0.0 && duty[k].first < 1.0;
            if (d.modulation != drive::Modulation::ideal_sine && switches)
                dead[k] = std::min((d.dead_time + d.dead_time_extra[k]) * d.carrier, 0.25);
        }
        std::sort(duty.begin(), duty.end(), std::greater<>());
        int upper = 0;
        double before = 1.0;
        for (const auto& [share, leg] : duty) {
            if (before > share) mix.add(row_of(pattern(upper)), before - share);
            upper |= 1 << leg;
            before = share;
        }
        if (before > 0.0) mix.add(row_of(pattern(7)), before);
        for (std::size_t k = 0; k < 3; ++k) {
            if (dead[k] == 0.0 || leg_i[k] == 0.0) continue;
            drive::Legs up = pattern(0), down = pattern(0), diode = pattern(0);
            up[k] = drive::Leg::upper;
            diode[k] = leg_i[k] > 0.0 ? drive::Leg::diode_down : drive::Leg::diode_up;
            mix.add(row_of(diode), 2 * dead[k]);
            mix.add(row_of(up), -dead[k]);
            mix.add(row_of(down), -dead[k]);
        }
        return mix.row();
    }

    static X spread(const Vector& v, double speed) {
        X x{};
        x[i_alpha] = v[0], x[i_beta] = v[1];
        if constexpr (flux == 2) x[psi_alpha] = v[2], x[psi_beta] = v[3];
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
        if constexpr (flux == 2) out[2] = d[psi_alpha], out[3] = d[psi_beta];
        if constexpr (bridged) out[size - 1] = d[i_turns];
        return out;
    }

    // E = exp(A h) and F, the integral of exp(A s) from 0 to h, by doubling.
    static void exponential(const Matrix& A, double h, Matrix& E, Matrix& F) {
        const double norm = A.cwiseAbs().rowwise().sum().maxCoeff() * h;
        int doublings = 0;
        while (std::ldexp(norm, -doublings) > 0.25 && doublings < 40) ++doublings;
        const double step = std::ldexp(h, -doublings);
        const Matrix Ah = A * step;
        Matrix term = Matrix::Identity(), f = Matrix::Identity();
        E = Matrix::Identity();
        for (int n = 1; n <= 8; ++n) {
            term = (term * Ah / n).eval();
            E += term;
            f += term / (n + 1);
        }
        F = f * step;
        for (; doublings > 0; --doublings) {
            F = (F + E * F).eval();
            E = (E * E).eval();
        }
    }

    // Reference flux of the machine for the secant of its saturation, Wb.
    double flux_scale(double field_Hz, double volts) const { return 0.55 * volts / (2 * pi * std::max(field_Hz, 1.0)); }

    Turn steady(double field_Hz, double volts, double speed) {
        const drive::DriveSettings& d = site_->works.drive;
        const bool pwm = !six_step(d.modulation);
        const bool modulated = pwm && d.modulation != drive::Modulation::ideal_sine;
        const int steps = 72;
        double link = volts, amplitude = 1.0;
        if (pwm) {  // what dead times and drops take depends on the link itself
            const double reach = drive::linear_limit(d.modulation);
            link = std::max(nominal_V_, volts / reach);
            amplitude = volts / link;
        }
        electric_->source.stiff_V = link;
        const double h = 1.0 / (field_Hz * steps), angle = 2 * pi / steps;
        // A held sample takes sin(x)/x of the fundamental.
        const double held_sample = pwm ? 0.5 * angle / std::sin(0.5 * angle) : 1.0;
        std::array<ModeRow, 72> rows;
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
                rows[n] = mean_row(angle * (k + 0.5), amplitude * held_sample, leg_i[n]);
            }
            for (int k = 0; k < steps; ++k) {
                const auto n = static_cast<std::size_t>(k);
                chain_.row = &rows[n];
                drives[n] = rate(Vector::Zero(), speed);
            }
            chain_.row = &rows[0];
            for (int j = 0; j < size; ++j) {
                Vector e = Vector::Zero();
                const double scale = flux == 2 && (j == 2 || j == 3) ? psi0 : 1.0;
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
                if constexpr (flux == 2) psi += (x[k][2] * x[k][2] + x[k][3] * x[k][3]) / steps;
            }
            if (dead)
                for (std::size_t k = 0; k < static_cast<std::size_t>(steps); ++k) {
                    chain_.row = &rows[k];
                    leg_i[k] = chain_.leg_currents(chain_.point(0.0, spread(0.5 * (x[k] + x[k + 1]), speed)));
                }
            if (saturates) psi0 = std::sqrt(std::max(psi, 1e-12));
        }
        Turn out{};
        Energies e{};
        double peak = 0.0, square[3] = {0, 0, 0};
        for (std::size_t k = 0; k < static_cast<std::size_t>(steps); ++k) {
            chain_.row = &rows[k];
            const double t = h * static_cast<double>(k);
            const Point a = chain_.point(t, spread(x[k], speed)), b = chain_.point(t + h, spread(x[k + 1], speed));
            chain_.account(a, b, e);
            const double middle = chain_.torque(spread(0.5 * (x[k] + x[k + 1]), speed));
            out[torque_Nm] += (chain_.torque(a.x) + 4 * middle + chain_.torque(b.x)) / (6 * steps);
            const motor::Vec3 i0 = chain_.leg_currents(a), i1 = chain_.leg_currents(b);
            for (std::size_t n = 0; n < 3; ++n) {
                square[n] += (i0[n] * i0[n] + i0[n] * i1[n] + i1[n] * i1[n]) / (3 * steps);
                peak = std::max(peak, i0[n] * i0[n]);
            }
        }
        fill(out, e, h * steps, peak);
        for (std::size_t n = 0; n < 3; ++n) out[square_u + n] = square[n];
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
        auto site = std::make_shared<site::Site>(*electric_);
        drive::DriveSettings& d = site->works.drive;
        d.frequency = field_Hz;
        const bool chops = d.modulation != drive::Modulation::six_step_180;
        const double link = chops ? std::max(volts, nominal_V_) : volts;
        d.duty = d.index = volts / link;
        site->source.stiff_V = link;
        site->works.shaft.held_speed = speed;
        Plant plant(site);
        State s = plant.start();
        s.slow.held = true;
        // A rotor's flux takes its time, a magnet motor's currents some turns; a broken cage beats with twice the slip.
        double wait = std::max(0.03, 4 / field_Hz), mean = std::max(0.01, 2 / field_Hz);
        if constexpr (slips) {
            const double slip = std::abs(field_Hz - std::abs(speed) * machine_.pole_pairs / (2 * pi));
            wait = std::max(wait, 4 * (machine_.Lm + machine_.Llr) / machine_.Rr);
            mean = std::max(mean, 0.5 / std::max(slip, 0.5));
        }
        plant.advance(s, wait);
        plant.open_account(s);
        const double from = s.t;
        const Means m = plant.average_turns(s, mean);
        Turn out{};
        fill(out, s.energy, s.t - from, 0.0);
        out[torque_Nm] = m.torque;
        for (std::size_t k = 0; k < 3; ++k) {
            out[square_u + k] = m.current_rms[k] * m.current_rms[k];
            // As of a block of 120 degrees: its height.
            out[peak_square] = std::max(out[peak_square], 1.5 * out[square_u + k]);
        }
        return out;
    }

    // ---- between nodes --------------------------------------------------------------------------------------------

    using Key = std::tuple<int, int, int>;
    const Turn& node(int f, int u, int s) {
        const auto [found, fresh] = nodes_.try_emplace({f, u, s});
        if (!fresh) return found->second;
        const double field = field_at(f);
        if constexpr (slips) {
            const double volts = share_step * u * volts_on_line(field), per_Hz = volts / field;
            found->second = exact(field, volts, slip_at(s) * pull_out_);
            for (double& y : found->second) y /= per_Hz * per_Hz;
        } else {
            found->second = exact(field, idle_V(field) + above_at(u), 0.0);
        }
        return found->second;
    }
    static constexpr double share_step = 0.125;
    double field_step() const { return std::max(site_->works.drive.frequency, 1.0) / 16; }
    double field_at(int n) const { return std::max(field_step() * n, 0.02 * field_step()); }
    // Slips in units of that of most torque: close together where motors work.
    static double slip_at(int n) { return std::sinh(0.25 * n) / std::sinh(2.0) * 1.0; }
    static double slip_index(double x) { return std::asinh(x * std::sinh(2.0)) / 0.25; }
    double above_at(int n) const { return 0.03 * nominal_V_ * n; }

    Turn between(double field_Hz, double volts, double slip_Hz, std::size_t count) {
        Turn out{};
        const double f = field_Hz / field_step();
        const int f0 = static_cast<int>(std::floor(f));
        const double x = f - f0;
        if constexpr (slips) {
            const double u = volts / (share_step * volts_on_line(field_Hz));
            // At the top of the line, where it mostly is, one row is enough.
            const int u0 = static_cast<int>(std::floor(u + 1e-9));
            const double y = std::max(0.0, u - u0) < 1e-9 ? 0.0 : u - u0;
            const double s = slip_index(slip_Hz / pull_out_);
            const int s0 = static_cast<int>(std::floor(s));
            const double z = s - s0;
            // Lagrange through four.
            const std::array<double, 4> w = {-z * (z - 1) * (z - 2) / 6, (z + 1) * (z - 1) * (z - 2) / 2,
                                             -(z + 1) * z * (z - 2) / 2, (z + 1) * z * (z - 1) / 6};
            for (int a = 0; a < 2; ++a)
                for (int b = 0; b < 2; ++b) {
                    const double share = (a ? x : 1 - x) * (b ? y : 1 - y);
                    if (share == 0.0) continue;
                    for (int c = 0; c < 4; ++c) {
                        const Turn& n = node(f0 + a, std::max(1, u0 + b), s0 - 1 + c);
                        for (std::size_t k = 0; k < count; ++k) out[k] += share * w[static_cast<std::size_t>(c)] * n[k];
                    }
                }
            const double per_Hz = volts / field_Hz;
            for (std::size_t k = 0; k < count; ++k) out[k] *= per_Hz * per_Hz;
        } else {
            const double u = (volts - idle_V(field_Hz)) / above_at(1);
            const int u0 = static_cast<int>(std::floor(u));
            const double y = u - u0;
            for (int a = 0; a < 2; ++a)
                for (int b = 0; b < 2; ++b) {
                    const double share = (a ? x : 1 - x) * (b ? y : 1 - y);
                    if (share == 0.0) continue;
                    const Turn& n = node(f0 + a, u0 + b, 0);
                    for (std::size_t k = 0; k < count; ++k) out[k] += share * n[k];
                }
        }
        return out;
    }

    std::shared_ptr<site::Site> site_, electric_;
    std::shared_ptr<const Compiled<Machine>> compiled_;
    Chain<Machine> chain_;
    std::shared_ptr<const Compiled<Machine>> water_;
    Chain<Machine> main_;
    Machine machine_;
    double sense_ = 1.0, pull_out_ = 1.0, nominal_V_ = 1.0, last_flow_ = 1e-3;
    bool averaged_ = true;
    std::map<Key, Turn> nodes_;
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
