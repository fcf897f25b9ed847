// Signals: what can be recorded from a running plant, by name.
//
//   drive.u              potential of a test point against link- (V); every point of site/points.hpp
//   drive.u:drive.v      voltage between two points (V)
//   around.u             current in a clamp round a conductor (A): u v w s1 .. dc+ dc-; uvw dc pe: what goes by earth
//                        (earth_loop.hpp)
//   speed_rpm  torque_N_m  load_N_m  flow_m3_h  head_m  link_V  link_capacitor_V  power_W (from the supply)
//   star_V               star point against link-
//   turns_A              in what bridges turns of a winding (motor/bridged_turns.hpp); 0 where nothing does
//   flux_alpha_Wb  flux_beta_Wb   what the stator windings link, two-axis: L_sigma i + k_r psi of an induction machine
//                        (motor/induction.hpp), L(theta) i + magnet of a sinusoidal permanent-magnet one; NaN:
//                        trapezoidal
#pragma once

#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "plant/chain.hpp"
#include "plant/earth_loop.hpp"
#include "trace/trace.hpp"

namespace sunshaft::plant {

struct Signal {
    enum class Kind {
        phase_node,
        dc_node,
        guard,
        link_plus,
        link_minus,
        star,
        motor_current,
        leg_current,
        earth_current,
        dc_current,
        string_current,
        speed,
        torque,
        load,
        flow,
        head,
        link,
        capacitor,
        power,
        flux,
        turns,
        none
    };
    Kind kind = Kind::none;
    int index = 0;            // node, phase or column
    Kind minus = Kind::none;  // second point of a difference
    int minus_index = 0;
    double sign = 1.0;
    std::string label;  // of a branch of the DC side
    std::string name;
};

// A signal that is read neither at points nor by a clamp, by its name alone.
struct NamedSignal {
    const char *name, *unit, *label;  // label: in few words, for a screen; null: its name says it
    Signal::Kind kind;
    int index = 0;
};
const NamedSignal* named_signal(std::string_view name);  // null: none
// The conductor of a clamp's signal: "u" of "around.u"; empty: no clamp's.
std::string_view clamped(std::string_view name);
// "V" of "drive.u:drive.v", "A" of "around.u", "rpm" of "speed_rpm"; empty: a point alone, or no signal at all.
std::string_view unit_of(std::string_view name);

// Throws site::BadInput when the name is none of the above or the point does not exist on this site.
Signal signal(const site::Site& site, const std::string& name);

// Evaluates signals at an instant of a chain.
template <class Machine>
struct Eyes {
    const Chain<Machine>& chain;
    const X& x;
    double t;
    Nodes nodes;
    Eyes(const Chain<Machine>& c, const X& state, double time)
        : chain(c), x(state), t(time), nodes(c.nodes(state, time)) {}
    double at(Signal::Kind kind, int index) const {
        using K = Signal::Kind;
        const auto k = static_cast<std::size_t>(index);
        switch (kind) {
            case K::phase_node: return nodes.v[k];
            case K::guard: return chain.guard_V[k];
            case K::dc_node: return chain.source->node_voltage(index, nodes.link);
            case K::link_plus:
            case K::link: return nodes.link;
            case K::star: return nodes.star;
            case K::motor_current: return nodes.i[k];
            case K::leg_current: return nodes.leg_i[k];
            case K::dc_current: return chain.site.source.stiff ? nodes.bridge_i : nodes.source_i;
            case K::speed: return x[speed] * 30.0 / 3.14159265358979323846;
            case K::torque: return chain.torque(x);
            case K::load: return chain.load_torque(x);
            case K::flow: return x[flow] * 3600.0;
            case K::head: return chain.pump_head(x);
            case K::capacitor: return x[v_cap];
            case K::power: {
                Energies p;
                chain.powers(x, t, p);
                return p[from_supply];
            }
            case K::flux: return chain.linkage(x)[k];
            case K::turns: return chain.turns_current(x);
            // depends on what went before: the recorder's
            case K::earth_current: return std::numeric_limits<double>::quiet_NaN();
            case K::string_current:
            case K::link_minus:
            case K::none: break;
        }
        return 0.0;
    }
    double operator()(const Signal& s) const {
        if (s.kind == Signal::Kind::string_current) return s.sign * chain.source->branch_current(s.label, nodes.link);
        double v = s.sign * at(s.kind, s.index);
        if (s.minus != Signal::Kind::none) v -= at(s.minus, s.minus_index);
        return v;
    }
};

// One signal in one leg mode: a row over (i_alpha, i_beta, link voltage, 1, EMF alpha, beta, common), and what of it is
// looked up at every point because it is no row: the DC side's nodes and branches, shaft, water, guards.
struct SignalRow {
    double a = 0, b = 0, v = 0, c = 0, ea = 0, eb = 0, e0 = 0;
    bool emf = false, looked_up = false, minus_looked_up = false;
};

template <class Machine>
double look_up(const Chain<Machine>& chain, const Point& p, Signal::Kind kind, int index, const std::string& label) {
    using K = Signal::Kind;
    switch (kind) {
        case K::dc_node: return chain.source->node_voltage(index, p.link);
        case K::guard: return chain.guard_V[static_cast<std::size_t>(index)];
        case K::dc_current: return chain.site.source.source_current(p.link);
        case K::string_current: return chain.source->branch_current(label, p.link);
        case K::speed: return p.x[speed] * 30.0 / 3.14159265358979323846;
        case K::flow: return p.x[flow] * 3600.0;
        case K::capacitor: return p.x[v_cap];
        default: return 0.0;
    }
}

// The row of a signal, found by asking linear_nodes() at nothing and at one of each.
template <class Machine>
SignalRow signal_row(const Chain<Machine>& chain, const Signal& s) {
    using K = Signal::Kind;
    const auto is_looked_up = [&](K kind) {
        return kind == K::dc_node || kind == K::guard || kind == K::string_current || kind == K::speed ||
               kind == K::flow || kind == K::capacitor || (kind == K::dc_current && !chain.site.source.stiff);
    };
    const auto of = [](const Nodes& n, K kind, int index) {
        const auto k = static_cast<std::size_t>(index);
        switch (kind) {
            case K::phase_node: return n.v[k];
            case K::link_plus:
            case K::link: return n.link;
            case K::star: return n.star;
            case K::motor_current: return n.i[k];
            case K::leg_current: return n.leg_i[k];
            case K::dc_current: return n.bridge_i;
            default: return 0.0;
        }
    };
    SignalRow row;
    row.looked_up = is_looked_up(s.kind);
    row.minus_looked_up = is_looked_up(s.minus);
    const auto at = [&](const Vec2& i, double v, const Vec2& e, double e0) {
        const Nodes n = chain.linear_nodes(i, v, e, e0);
        return (row.looked_up ? 0.0 : s.sign * of(n, s.kind, s.index)) -
               (row.minus_looked_up ? 0.0 : of(n, s.minus, s.minus_index));
    };
    row.c = at({0, 0}, 0, {0, 0}, 0);
    row.a = at({1, 0}, 0, {0, 0}, 0) - row.c;
    row.b = at({0, 1}, 0, {0, 0}, 0) - row.c;
    row.v = at({0, 0}, 1, {0, 0}, 0) - row.c;
    row.ea = at({0, 0}, 0, {1, 0}, 0) - row.c;
    row.eb = at({0, 0}, 0, {0, 1}, 0) - row.c;
    row.e0 = at({0, 0}, 0, {0, 0}, 1) - row.c;
    row.emf = !(std::abs(row.ea) + std::abs(row.eb) + std::abs(row.e0) < 1e-12);
    return row;
}

// Sink that writes signals as a recording. Rows beyond `limit` are an error in words: memory stays bounded.
class Recorder {
  public:
    explicit Recorder(std::vector<Signal> signals);
    trace::Recording recording;

    template <class Machine>
    void piece(const Chain<Machine>& chain, const Point& from, const Point& to) {
        if (!curved_ && !by_earth_ && chain.linear()) return straight(chain, from, to);
        const Eyes<Machine> a(chain, from.x, from.t), b(chain, to.x, to.t);
        begin_.resize(signals_.size()), end_.resize(signals_.size());
        for (std::size_t n = 0; n < signals_.size(); ++n) begin_[n] = a(signals_[n]), end_[n] = b(signals_[n]);
        if (curved_ || chain.bends()) straighten(chain, from, to);
        if (by_earth_) return split(chain.site, from.t, to.t, a.nodes, b.nodes);
        recording.t0.push_back(from.t);
        recording.t1.push_back(to.t);
        for (std::size_t n = 0; n < signals_.size(); ++n) {
            recording.y0[n].push_back(begin_[n]);
            recording.y1[n].push_back(end_[n]);
        }
    }
    void clear();
    // After an act or a fault has put another site in place: the same names, looked up there.
    void rebind(const site::Site& site);
    const std::vector<Signal>& signals() const { return signals_; }

  private:
    // By rows, compiled when a leg mode is first met.
    template <class Machine>
    void straight(const Chain<Machine>& chain, const Point& from, const Point& to) {
        if (compiled_ != chain.compiled()) {
            compiled_ = chain.compiled();
            rows_.assign(chain.compiled()->rows.size(), {});
        }
        std::vector<SignalRow>& rows = rows_[chain.row_index()];
        if (rows.empty())
            for (const Signal& s : signals_) rows.push_back(signal_row(chain, s));
        begin_.resize(signals_.size()), end_.resize(signals_.size());
        evaluate(chain, rows, from, begin_);
        evaluate(chain, rows, to, end_);
        if (chain.bends()) {
            X middle;
            for (std::size_t n = 0; n < state_size; ++n) middle[n] = 0.5 * (from.x[n] + to.x[n]);
            half_.resize(signals_.size());
            evaluate(chain, rows, chain.point(0.5 * (from.t + to.t), middle), half_);
            for (std::size_t n = 0; n < signals_.size(); ++n) {
                const double shift = (half_[n] - 0.5 * (begin_[n] + end_[n])) * (2.0 / 3);
                begin_[n] += shift, end_[n] += shift;
            }
        }
        recording.t0.push_back(from.t);
        recording.t1.push_back(to.t);
        for (std::size_t n = 0; n < signals_.size(); ++n) {
            recording.y0[n].push_back(begin_[n]);
            recording.y1[n].push_back(end_[n]);
        }
    }
    template <class Machine>
    void evaluate(const Chain<Machine>& chain, const std::vector<SignalRow>& rows, const Point& p,
                  std::vector<double>& out) const {
        Vec3 e{};
        bool known = false;
        for (std::size_t n = 0; n < rows.size(); ++n) {
            const SignalRow& r = rows[n];
            double y = r.a * p.x[i_alpha] + r.b * p.x[i_beta] + (r.v * p.link + r.c);
            if (r.emf) {
                if (!known) e = chain.emf_and_common(p.x), known = true;
                y += r.ea * e[0] + r.eb * e[1] + r.e0 * e[2];
            }
            const Signal& s = signals_[n];
            if (r.looked_up) [[unlikely]]
                y += s.sign * look_up(chain, p, s.kind, s.index, s.label);
            if (r.minus_looked_up) [[unlikely]]
                y -= look_up(chain, p, s.minus, s.minus_index, s.label);
            out[n] = y;
        }
    }
    // Torque, power, the voltage of a sine source or of an open winding run in a curve between the ends of a piece
    // although the states do not. As with these (Driver::emit) the chord moved by two thirds of the bend fits best.
    template <class Machine>
    void straighten(const Chain<Machine>& chain, const Point& from, const Point& to) {
        X middle;
        for (std::size_t n = 0; n < state_size; ++n) middle[n] = 0.5 * (from.x[n] + to.x[n]);
        const Eyes<Machine> half(chain, middle, 0.5 * (from.t + to.t));
        for (std::size_t n = 0; n < signals_.size(); ++n) {
            const double shift = (half(signals_[n]) - 0.5 * (begin_[n] + end_[n])) * (2.0 / 3);
            begin_[n] += shift, end_[n] += shift;
        }
    }
    // A piece in several rows, for currents that die away after its edge.
    void split(const site::Site& site, double t0, double t1, const Nodes& a, const Nodes& b) {
        if (!earth_ || earth_of_ != &site) earth_.emplace(site), earth_of_ = &site;
        const EarthLoop::Input from = earth_input(a), to = earth_input(b);
        const std::vector<double> cuts = earth_->cuts(from, t1 - t0);
        const std::vector<EarthLoop::Currents> flow = earth_->piece(from, to, t1 - t0, cuts);
        for (std::size_t r = 0; r < cuts.size(); ++r) {
            const double share0 = r ? cuts[r - 1] : 0.0, share1 = cuts[r];
            recording.t0.push_back(r ? recording.t1.back() : t0);
            recording.t1.push_back(share1 < 1.0 ? t0 + share1 * (t1 - t0) : t1);
            for (std::size_t n = 0; n < signals_.size(); ++n) {
                const bool by_earth = signals_[n].kind == Signal::Kind::earth_current;
                recording.y0[n].push_back(by_earth ? pick(flow[r], signals_[n])
                                                   : begin_[n] + share0 * (end_[n] - begin_[n]));
                recording.y1[n].push_back(by_earth ? pick(flow[r + 1], signals_[n])
                                                   : begin_[n] + share1 * (end_[n] - begin_[n]));
            }
        }
    }
    static double pick(const EarthLoop::Currents& c, const Signal& s) {
        return s.index == 0 ? c.uvw : s.index == 1 ? c.dc : c.pe;
    }
    static EarthLoop::Input earth_input(const Nodes& nodes) {
        EarthLoop::Input in;
        for (std::size_t k = 0; k < 3; ++k) {
            in.lead[k] = nodes.v[site::PhaseNode::lead + k];
            in.motor[k] = nodes.v[site::PhaseNode::motor + k];
        }
        in.link = nodes.link;
        return in;
    }
    std::vector<Signal> signals_;
    std::vector<double> begin_, end_, half_;  // of the present piece
    std::shared_ptr<const void> compiled_;    // what the rows are of
    std::vector<std::vector<SignalRow>> rows_;
    bool by_earth_ = false, curved_ = false;
    std::optional<EarthLoop> earth_;
    const site::Site* earth_of_ = nullptr;
};

struct NoSink {
    template <class Machine>
    void piece(const Chain<Machine>&, const Point&, const Point&) {}
};

}  // namespace sunshaft::plant
