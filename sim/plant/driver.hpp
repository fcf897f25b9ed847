// The driver: carries the state from one stop to the next.
//
//   next stop (switching instant, control window, caller's time) -> step -> events -> pieces -> new mode
//
// Switching instants are known and stepped to exactly. What is not known beforehand, a diode current's zero or a
// floating terminal reaching a rail, is located by root finding on the step's dense output. Between stops one of three
// steppers works, chosen from the stiffness of the present mode and the length of the window:
//   dopri5    Odeint's own, for smooth and non-stiff stretches (six-step, healthy)
//   ra34pw2   linearly implicit, for stiff ones (small run resistance, a splice of kilohms)
//   ros2w     two stages, for the short intervals of PWM
// Accepted steps are cut into straight pieces (trace/trace.hpp) that stay within `piece` of the dense output; a Sink
// receives each:  sink.piece(chain, t0, x0, t1, x1).
#pragma once

#include <boost/numeric/odeint/algebra/array_algebra.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <stdexcept>
#include <string>

#include "plant/chain.hpp"
#include "plant/rosenbrock_w.hpp"

namespace sunshaft::plant {

enum class Method { automatic, dopri5, ra34pw2, ros2w };

struct Options {
    double relative = 1e-4;  // of the local error
    double piece = 1e-3;     // chord error of a piece, in units of the reference current
    Method method = Method::automatic;
};

// What stopped the solver when it could not go on; says where and which component.
struct SolverError : std::runtime_error {
    using std::runtime_error::runtime_error;
};

// Reference magnitudes of the states on this site: scale of the absolute tolerances.
X reference(const site::Site& site);

template <class Machine>
class Driver {
  public:
    Driver(const site::Site& site, const Machine& machine, const Options& options = {});

    // Runs to `until` (s). Throws SolverError; the state is then as at the last good instant.
    template <class Sink>
    void advance(State& s, double until, Sink& sink);

    // A state that ran on another site goes on here: leg modes and forbidden currents are put right.
    void adopt(State& s) {
        chain.set_legs(s.legs);
        settle_legs(s);
        s.window.end = s.t;
        s.window.count = s.next_edge = 0;
    }

    Chain<Machine> chain;

  private:
    void begin_window(State& s);
    void apply_edges(State& s);
    void settle_legs(State& s);       // leg modes after a switching or an event
    double violation(const drive::Legs& legs, const X& x, double t) const;  // > 0: a leg must change its mode
    void after_event(State& s);
    Method choose(const State& s, double span) const;
    void check_finite(const X& x, double t) const;
    template <class Sink>
    void emit(State& s, Sink& sink, double t0, const X& x0, double t1, const X& x1);
    template <class Sink, class Step>
    bool dense(State& s, double stop, Sink& sink, Step step);
    template <class Sink>
    bool short_steps(State& s, double stop, Sink& sink);
    double chord_error(const X& x0, const X& mid, const X& x1) const;

    Options options_;
    X reference_{};
    double piece_i_, piece_v_;
    Tolerances<X> tol_;
    odeint::runge_kutta_dopri5<X, double, X, double, odeint::array_algebra> dopri5_;
    rosenbrock_w<Ra34pw2, X> ra34pw2_;
    rosenbrock_w<Ros2w, X> ros2w_;
    double step_ = 1e-5;  // hint carried from stretch to stretch
};

}  // namespace sunshaft::plant

#include "plant/driver.inl.hpp"
