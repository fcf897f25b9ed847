// The chain as one ODE: from the link capacitor to the water in the rising main.
//
//   link      C dv_c/dt = i_net(w) - i_bridge,   w = v_c - ESR i_bridge,   v = w + ESR i_net(w)      (SourceCurve)
//   motor     (L + Lc) di/dt = P (v_legs - Z i - R_w i - e)       P: projection on the free current directions
//   rotor     dpsi/dt, e, torque: motor/induction.hpp, motor/permanent_magnet.hpp
//   turns     bridged ones: a loop beside the motor's currents, motor/bridged_turns.hpp
//   shaft     J dw/dt = torque - friction - brake - pump;  stands while less pulls at it than holds it (`turning`)
//   water     (rho L / A) dQ/dt = rho g (H_pump - static head - loss(Q)),   Q >= 0 behind a check valve
//
// P = D (D' L D)^-1 D', D spanning the free directions (two, one or none): healthy, one line open and all open in one
// formula. For each pattern of leg modes everything linear is compiled once (ModeRow); an open phase is eliminated,
// never made stiff. The cable inductance is lumped with the motor's.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <tuple>

#include "motor/bridged_turns.hpp"
#include "motor/clarke.hpp"
#include "plant/options.hpp"
#include "plant/slow.hpp"
#include "plant/state.hpp"
#include "site/site.hpp"

namespace sunshaft::plant {

using motor::Vec2;
using motor::Vec3;

// A quadratic form in (i_alpha, i_beta, link voltage, 1).
struct Quadratic {
    double aa = 0, ab = 0, bb = 0, av = 0, bv = 0, vv = 0, a = 0, b = 0, v = 0, one = 0;
};

// Linear relations that hold while the legs stay as they are.
struct ModeRow {
    // Voltage behind all series resistance, in (alpha, beta): u = M i + vl v + v0   (M = -(Z + R_w), 2x2)
    double maa = 0, mab = 0, mba = 0, mbb = 0;
    Vec2 vl{}, v0{};
    // di/dt = A i + al v + a0 - P e where the inductance does not depend on the rotor's position
    double aaa = 0, aab = 0, aba = 0, abb = 0;
    Vec2 al{}, a0{};
    motor::Sym2 P{};
    // Current drawn from the link: ci . i + cv v + c0
    Vec2 ci{};
    double cv = 0, c0 = 0;
    int free = 2;
    Vec2 dir{1, 0};
    std::array<double, 3> a{}, b{};  // source of each leg: s_k = a v + b
    // Drive terminal potentials and leg currents: p i_alpha + q i_beta + r v + c + (ea, eb) . e; the last for floating
    // ones
    struct Line {
        double p = 0, q = 0, r = 0, c = 0, ea = 0, eb = 0;
    };
    std::array<Line, 3> terminal{}, leg{};
    Quadratic bridge_loss, cable_loss;
    // What a leg's i^2 is more than that of the winding it feeds; beside: somewhere it is.
    std::array<Quadratic, 3> beside_square{};
    bool beside = false;
    const site::Reduced* net = nullptr;
    int driven = 0;
    bool floating = false;  // a leg is blocked
    bool watched = false;   // a leg is blocked or in a diode: events are possible
};

struct Sine {
    bool on = false, mains = false;
    double angle0 = 0, omega = 0, t0 = 0, amplitude = 0;  // mains: amplitude in V, phase peak
};

// A state at an instant with what hangs on it in the present leg mode. Ends of pieces are points.
struct Point {
    double t = 0;
    X x{};
    // link voltage (V), current from the dc side into capacitor and bridge (A), d net / dw
    double link = 0, net = 0, slope = 0;
    // EMF in two axes (V), where who made the point had it at hand; like the currents it then runs straight to that of
    // the piece's other end.
    Vec2 emf{};
    bool knows_emf = false;
};

// What hangs on speed and flow only and moves slowly: torque the shaft has to bring (N m), rate of the flow (m3/s2).
struct Load {
    double torque = 0, flow_rate = 0;
};

// Voltages against link- (V), see nodes().
struct Nodes {
    std::array<double, site::PhaseNode::count> v{};  // NaN: tied to nothing
    double star = 0, link = 0, source_i = 0, bridge_i = 0;
    Vec3 i{}, leg_i{};  // motor and leg currents
};

// What the meters of a run look at most: the same as Nodes, without what lies below.
struct Terminals {
    Vec3 drive{}, leg_i{};
    double link = 0;
};

// What a site fixes, worked out once and never changed.
template <class Machine>
struct Compiled {
    using Equations = typename Machine::Equations;

    Compiled(const site::Site& site, const Machine& machine);

    const site::Site& site;
    const Machine machine;
    Equations equations;
    std::array<ModeRow, 125> rows{};  // by drive::index(legs)
    bool constant_L = true, held = false, stiff = false, check_valve = true;
    double inv_c = 0, inv_j = 0, inv_inertance = 0, rho_g = 0, Lc = 0, esr = 0, pole_pairs = 1, on_resistance = 0;
    double rest = 0, running = 0;            // dry friction of motor, brake and pump together, N m
    double pump_rest = 0, pump_running = 0;  // the pump's share of it
    Vec3 Rw{};
    Quadratic winding_loss, splice_loss;
    int pump = 0;          // index of site::Pump
    double load_rate = 0;  // Chain::load_rate()
    double density = 1000.0;
    double grip = 1.0;  // pump speed over motor speed

    // Node voltages from currents, sources, EMF and current slopes; linear in all of them. spared: V less on the
    // resistance of a winding than its current makes (bridged turns).
    void spread(const ModeRow& r, const Vec2& i, const Vec3& s, const Vec2& inner, double e0, const Vec2& di,
                double link, Nodes& n, const Vec3& spared = {}) const;

  private:
    void compile(const drive::Legs& legs, ModeRow& r) const;
    Quadratic cable_loss(const ModeRow& r) const;
};

// What follows the state: which legs conduct, a sine source, the way water and shaft go.
struct Mode {
    const ModeRow* row = nullptr;
    Sine sine;
    double turning = 0.0;                       // which way the shaft turns, 1 or -1; 0: it stands (State::turning)
    double static_head = 0.0;                   // m
    std::array<double, 2> guard_V{};            // at the drive's terminals: dry-run guard, float
    const site::SourceCurve* source = nullptr;  // through the charging resistor or past it
    double covered = 1.0, damage = 0.0;         // share of the intake under water; wear from running dry
    double lift = 1.0;                          // share of a centrifugal pump's head that air and bubbles leave it
    double turns_hot = 1.0;                     // ohms of bridged turns over those of as many others
    water::Centrifugal centrifugal{};           // as worn as that
    water::ProgressiveCavity cavity{};
};

// The chain in a mode: a value that is cheap to copy. Whoever only looks copies it, and disturbs nothing.
template <class Machine>
class Chain : public Mode {
  public:
    using Equations = typename Machine::Equations;
    static constexpr bool bridged = motor::is_bridged<Machine>;
    // Components of the state that are stepped, the first ones.
    using Flux = typename Equations::Flux;
    static constexpr bool two_cages = std::tuple_size_v<Flux> == 4;
    static constexpr std::size_t states = two_cages ? state_size : bridged ? i_turns + 1 : healthy_states;

    explicit Chain(std::shared_ptr<const Compiled<Machine>> compiled);
    Chain(const site::Site& of, const Machine& with) : Chain(std::make_shared<const Compiled<Machine>>(of, with)) {}

    void set_legs(const drive::Legs& legs) { row = &compiled_->rows[static_cast<std::size_t>(drive::index(legs))]; }
    // What hangs on the slow states and on the control's phase.
    void follow(const State& s);

    void operator()(const X& x, X& d, double t) const;
    // The same where link and net of the point, and the load, are known already.
    void rates(const Point& p, const Load& load, X& d) const;
    void rates(const Point& p, X& d) const { rates(p, load(p.x), d); }
    Load load(const X& x) const;
    // not inlined: measured faster in the solver's loops
    [[gnu::noinline]] Load load_apart(const X& x) const { return load(x); }
    // 1/s: how fast a pump that displaces pulls its shaft and its water together. 0: the load changes over tens of
    // milliseconds only (centrifugal pump, fan, friction one way).
    double load_rate() const { return compiled_->load_rate; }
    // Jacobian of the stiff block (i_alpha, i_beta, v_cap), row-major 3x3: an approximation is enough for a W-method.
    void block(const X& x, double t, double* j) const { block(point(t, x), j); }
    void block(const Point& p, double* j) const;
    // Fills in link, net and slope.
    void complete(Point& p) const;
    // How far a curve lies off its chord halfway: currents, link capacitor, rotor flux; with a loop or two cages all.
    using Bend = std::array<double, states == healthy_states ? 5 : states>;
    static_assert(i_alpha == 0 && i_beta == 1 && v_cap == 2 && psi_alpha == 3 && psi_beta == 4);
    // Moves a completed point by k times a bend.
    void shift(Point& p, double k, const Bend& bend) const;
    Point point(double t, const X& x) const {
        Point p{t, x};
        complete(p);
        return p;
    }

    Terminals terminals(const Point& p) const;
    Vec3 leg_currents(const Point& p) const;
    // Adds the energies of a straight piece up to the shaft, J: exact for all that is quadratic in the state.
    void account(const Point& a, const Point& b, Energies& e) const { electrical(a, b, b.t - a.t, e); }
    // And those of shaft and water for a time at one speed and flow, or while they change little or evenly.
    void mechanical(const X& x, double dt, Energies& e) const;
    void account_slow(double dt, const X& from, const X& middle, const X& to, Energies& e) const;
    // Everything, the inner nodes included; no hurry.
    Nodes nodes(const X& x, double t) const;
    // Power of each energy_name entry at an instant, W.
    void powers(const X& x, double t, Energies& p) const;
    double stored(const X& x) const;  // J: capacitor, magnetic, shaft, moving water
    Vec2 emf(const Point& p) const { return p.knows_emf ? p.emf : emf(p.x); }
    Vec2 emf(const X& x) const { return compiled_->equations.at(wound(x), flux(x), x[speed], x[theta]).emf; }
    double torque(const X& x) const {
        const double own = compiled_->equations.torque(wound(x), flux(x), x[speed], x[theta]);
        if constexpr (bridged) return own - x[i_turns] * compiled_->equations.zero_emf(1.0, x[theta]);
        else return own;
    }
    // Flux of the rotor, Wb; and where it is a derivative, into its place.
    static Flux flux(const X& x) {
        if constexpr (two_cages) return {x[psi_alpha], x[psi_beta], x[outer_alpha], x[outer_beta]};
        else return {x[psi_alpha], x[psi_beta]};
    }
    static void put_flux(X& x, const Flux& psi) {
        x[psi_alpha] = psi[0], x[psi_beta] = psi[1];
        if constexpr (two_cages) x[outer_alpha] = psi[2], x[outer_beta] = psi[3];
    }
    // Copies what is not stepped.
    static void keep(X& to, const X& from) {
        for (std::size_t n = states; n < state_size; ++n) to[n] = from[n];
    }
    // Currents as the machine's field sees them: those of the lines, less what bridged turns carry past it.
    Vec2 wound(const X& x) const {
        if constexpr (bridged) {
            const Vec2& a = motor::axis[static_cast<std::size_t>(machine.turns.phase)];
            const double k = x[i_turns] * (2.0 / 3);
            return {x[i_alpha] - k * a[0], x[i_beta] - k * a[1]};
        } else {
            return {x[i_alpha], x[i_beta]};
        }
    }
    // In what bridges the turns, A.
    double turns_current(const X& x) const {
        if constexpr (bridged) return x[i_turns] / machine.turns.share;
        else return (void)x, 0.0;
    }
    // What turns in the machine, and what its stator windings link, two-axis, Wb (motor/machine.hpp).
    Vec2 field(const X& x) const { return compiled_->equations.field(flux(x), x[theta]); }
    Vec2 linkage(const X& x) const { return compiled_->equations.linkage(wound(x), flux(x), x[theta]); }
    double load_torque(const X& x) const;
    // The shaft's own speed counts: it is not held from outside.
    bool free_shaft() const { return !compiled_->held; }
    // What pulls at a shaft at rest, and what holds it there (N m).
    double pull(const X& x) const { return torque(x) - pump_torque(0.0, x[flow]); }
    double hold() const { return compiled_->rest; }
    double pump_head(const X& x) const;
    double link_voltage(const X& x, double t) const { return point(t, x).link; }
    // Removes what the pattern does not allow: currents of blocked legs, flow behind the check valve.
    void project(X& x) const;
    // What the ends of a piece show does not lie on straight lines between them, though the states do: a sine source,
    // the EMF on a line that carries nothing.
    bool bends() const { return sine.on || row->free < 2; }
    // Whether node voltages and leg currents are linear in the currents, the link voltage and the EMF while the legs
    // stay as they are; if so, what they are there. source_i is left out.
    bool linear() const { return !bridged && compiled_->constant_L && !sine.on; }
    Nodes linear_nodes(const Vec2& i, double link, const Vec2& e, double e0) const;
    // EMF in two axes, and what is common to the three phases.
    Vec3 emf_and_common(const X& x) const {
        const Vec2 e = emf(x);
        return {e[0], e[1], compiled_->equations.zero_emf(x[speed], x[theta])};
    }
    // Which of the rows it is, of which compilation.
    std::size_t row_index() const { return static_cast<std::size_t>(row - compiled_->rows.data()); }
    const std::shared_ptr<const Compiled<Machine>>& compiled() const { return compiled_; }
    // Fastest electrical rate at a state, 1/s: the measure of stiffness.
    double stiffness(const X& x, double t) const;

    const site::Site& site;
    const Machine& machine;

  private:
    void wear(double damage);
    // rates() where turns are bridged
    void bridged_rates(const Point& p, const Load& load, X& d) const;
    double turns_spare(const X& x) const;  // V less on their winding's resistance than its current makes
    double bridge_current(const X& x, double v, double t) const;
    void complete_leaky(Point& p) const;
    Vec2 drive_voltage(const X& x, double v, double t) const;
    Vec2 sine_unit(double t) const;
    double sine_power(const X& x, double link, double t) const;
    void electrical(const Point& a, const Point& b, double dt, Energies& e) const;
    void turns_loss(const X& m, const X& d, double dt, Energies& e) const;
    double pump_torque(double w, double q) const;  // on the motor's side of the coupling
    // What goes through the pump: the main's flow and what leaks.
    double friction(double w) const;
    double pump_friction(double w) const;
    double cavity_head(double w, double q) const;
    double cavity_torque(double w, double q) const;

    std::shared_ptr<const Compiled<Machine>> compiled_;
};

}  // namespace sunshaft::plant

#include "plant/chain.inl.hpp"
#include "plant/chain_modes.inl.hpp"
