// Other solvers between the same stops, on the same right-hand side, with the same pieces, events and meters.
#pragma once

#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/generation.hpp>
#include <boost/numeric/odeint/stepper/generation/make_controlled.hpp>

#include "plant/driver.hpp"
#include "sundials_shim.hpp"

namespace sunshaft::bench {

using namespace plant;

// Cuts a step into pieces and stops at an event. at(t, x): dense output.
template <class Machine, class Sink, class At>
bool emit_step(Driver<Machine>& driver, State& s, Sink& sink, const X& x1, double t1, At at) {
    auto& chain = driver.chain;
    Point a = chain.point(s.t, s.x), b;
    const double t0 = s.t, h = t1 - t0;
    X middle;
    at(t0 + 0.5 * h, middle);
    const int count = driver.pieces(h, s.x, middle, x1);
    for (int n = 1; n <= count; ++n) {
        b.t = n == count ? t1 : t0 + h * n / count;
        if (n == count) b.x = x1;
        else at(b.t, b.x);
        chain.complete(b);
        bool event = false;
        if ((chain.row->watched || driver.shaft_due(b)) && driver.violation(s.legs, b) > 0.0) {
            event = true;
            b = driver.locate(s.legs, a.t, driver.violation(s.legs, a), b, driver.violation(s.legs, b), [&](double t) {
                Point p;
                p.t = t;
                at(t, p.x);
                chain.complete(p);
                return p;
            });
        }
        if (event || count > 1) at(0.5 * (a.t + b.t), middle);
        driver.emit(s, sink, a, b, driver.bend_of(a.x, middle, b.x));
        s.x = b.x;
        s.t = b.t;
        if (event) return true;
        a = b;
    }
    return false;
}

template <class Machine, class Sink>
void advance_cvode(Driver<Machine>& driver, test::Cvode<X, Chain<Machine>>& cvode, State& s, double until, Sink& sink) {
    driver.advance_with(s, until, [&](State& at, double stop) {
        cvode.restart(at.t, at.x, stop);
        X x1;
        while (at.t < stop) {
            double t1 = cvode.step(stop, x1);
            if (stop - t1 < 1e-14) t1 = stop;
            ++at.steps;
            if (emit_step(driver, at, sink, x1, t1, [&](double t, X& x) { cvode.at(t, x); })) return true;
        }
        return false;
    });
}

// Odeint's controlled Dormand-Prince, its own error checker (one absolute tolerance for all) and step control.
template <class Machine>
class OdeintDopri5 {
    using Stepper = odeint::runge_kutta_dopri5<X, double, X, double, odeint::array_algebra>;

  public:
    explicit OdeintDopri5(double relative) : controlled_(odeint::make_controlled(relative, relative, Stepper())) {}

    template <class Sink>
    void advance(Driver<Machine>& driver, State& s, double until, Sink& sink) {
        driver.advance_with(s, until, [&](State& at, double stop) {
            X d, x1, d1;
            driver.chain(at.x, d, at.t);
            while (at.t < stop) {
                const bool last = stop - at.t <= dt_;
                double h = last ? stop - at.t : dt_, t1 = at.t;
                const double tried = h;
                const auto result = controlled_.try_step(std::cref(driver.chain), at.x, d, t1, x1, d1, h);
                ++at.steps;
                if (result == odeint::fail) {
                    dt_ = h;
                    continue;
                }
                if (!last || h < dt_) dt_ = h;
                const double t0 = at.t, end = last ? stop : t1;
                const X x0 = at.x;
                if (emit_step(driver, at, sink, x1, end, [&](double t, X& x) {
                        controlled_.stepper().calc_state(t, x, x0, d, t0, x1, d1, t0 + tried);
                    }))
                    return true;
                d = d1;
            }
            return false;
        });
    }

  private:
    typename odeint::result_of::make_controlled<Stepper>::type controlled_;
    double dt_ = 1e-5;
};

}  // namespace sunshaft::bench
