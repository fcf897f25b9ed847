// Implementation of driver.hpp: stepping from one stop to the next, cutting steps into pieces, locating events.
#pragma once

namespace sunshaft::plant {

namespace detail {
// The two methods with dense output, as dense() wants them.
template <class F, class Stepper>
struct Dopri {
    static constexpr int order = 5;
    // tighter than asked: it costs little at this order, and errors here do not fade
    static constexpr double strict = 2.0;
    Stepper& rk;
    void take(const F& f, const X& x, const X& d, double t, X& x1, X& d1, double h, X& error) {
        rk.do_step(std::cref(f), x, d, t, x1, d1, h, error);
    }
    void at(double sigma, const X& x, const X& d, double t, const X& x1, const X& d1, double h, X& out) {
        rk.calc_state(t + sigma * h, out, x, d, t, x1, d1, t + h);
    }
    void next(const F&, const Point&, const X& d1, X& d) { d = d1; }
};

template <class F>
struct Implicit {
    static constexpr int order = 3;
    static constexpr double strict = 1.0;
    rosenbrock_w<Ra34pw2, X, F::states>& ros;
    void take(const F& f, const X& x, const X& d, double t, X& x1, X&, double h, X& error) {
        double j[9];
        f.block(x, t, j);
        ros.step(f, j, x, d, t, x1, h, error);
    }
    void at(double sigma, const X& x, const X&, double, const X&, const X&, double, X& out) {
        ros.interpolate(x, sigma, out);
    }
    void next(const F& f, const Point& p, const X&, X& d) { f.rates(p, d); }
};

// Square of the error measure: NaN in any component makes it NaN, which no comparison accepts.
template <std::size_t states>
inline double measure(const X& error, const X& weight) {
    double sum = 0.0;
    for (std::size_t n = 0; n < states; ++n) sum += (error[n] * weight[n]) * (error[n] * weight[n]);
    return sum;
}
// Factor to the next step from the squared measure, for a local error of order p in h (5 taken as 4: a root, not a
// power).
inline double factor(double square, int p) {
    if (!(square > 1e-8)) return square >= 0.0 ? 4.0 : 0.1;
    const double m = std::sqrt(square);
    return std::clamp(0.9 / (p == 2 ? std::sqrt(m) : (p == 3 ? std::cbrt(m) : std::sqrt(std::sqrt(m)))), 0.2, 4.0);
}
}  // namespace detail

template <class Machine>
inline int Driver<Machine>::pieces(double h, const X& x0, const X& middle, const X& x1) const {
    const Bend bend = bend_of(x0, middle, x1);
    double worst = 0.0;
    for (const std::size_t n : {i_alpha, i_beta, v_cap}) worst = std::max(worst, std::abs(bend[n]) * piece_weight_[n]);
    // So do the EMF on a line that carries nothing, and a sine source, whatever the currents do.
    if (chain.row->free < 2) [[unlikely]] {
        const Vec2 e0 = chain.emf(x0), half = chain.emf(middle), e1 = chain.emf(x1);
        const double per_volt = reference_[i_alpha] / reference_[v_cap] * piece_weight_[i_alpha];
        for (std::size_t k = 0; k < 2; ++k)
            worst = std::max(worst, std::abs(half[k] - 0.5 * (e0[k] + e1[k])) * per_volt);
        worst = std::max(worst, std::pow(h / turn_piece(middle[speed]), 2));
    }
    if (chain.sine.on) [[unlikely]]
        worst = std::max(worst, std::pow(h * chain.sine.omega * (sine_pieces / (2 * std::numbers::pi)), 2));
    return worst <= 1.0 ? 1 : std::min(static_cast<int>(std::sqrt(worst)) + 1, 1000);
}

// A chord lies beside its curve. Moved by two thirds of the bend (Simpson's rule) it has the curve's mean, and is the
// straight line that fits best: mean squares and products then miss only the square of what is left. Ends of neighbours
// still meet to third order.
template <class Machine>
template <class Sink>
[[gnu::always_inline]] inline void Driver<Machine>::emit(State& s, Sink& sink, const Point& a, const Point& b,
                                                         const Bend& bend) {
    Point from = a, to = b;
    chain.shift(from, 2.0 / 3, bend);
    chain.shift(to, 2.0 / 3, bend);
    sink.piece(chain, from, to);
    chain.account(from, to, s.energy);
    if (senses_ && senses_->measures()) [[unlikely]]
        senses_->piece(chain, s, from, to);
    ++s.pieces;
}

// The event between two times: the time as a parabola of the breach, through both ends and a third point, and in a
// bracket (R. P. Brent, Algorithms for Minimization without Derivatives, 1973, ch. 4; from memory). Aimed a little
// behind it: the breach at the point returned is small and positive. beside: a third point to begin with; a guess will
// do. at(t): the point at a time in between.
template <class Machine>
template <class At>
Point Driver<Machine>::locate(const drive::Legs& legs, double lo, double breach_lo, Point hi, double breach_hi, At at,
                              Breach beside) const {
    constexpr double aim = 3e-6, good = 1e-5;
    double halved = hi.t - lo;
    for (int n = 0; n < 60 && breach_hi > good && hi.t - lo > 1e-10; ++n) {
        const double span = hi.t - lo, a = breach_lo - aim, b = breach_hi - aim, c = beside.much - aim;
        // Back from hi, in spans.
        double back = b / (b - a);
        const double curved = b * c / ((a - b) * (a - c)) + (hi.t - beside.t) / span * (a * b / ((c - a) * (c - b)));
        if (curved > 0.0 && curved < 1.0) back = curved;
        if (n % 3 == 2) {
            if (span > 0.5 * halved) back = 0.5;
            halved = span;
        }
        if (!(breach_lo < 0.0)) back = 0.5;
        const Point middle = at(hi.t - std::clamp(back, 0.01, 0.99) * span);
        const double breach = violation(legs, middle);
        if (breach > 0.0) {
            beside = {hi.t, breach_hi};
            hi = middle, breach_hi = breach;
        } else {
            beside = {lo, breach_lo};
            lo = middle.t, breach_lo = breach;
        }
    }
    return hi;
}

// Steps of ros2w, each one piece. Returns true when an event stopped it before `stop`.
template <class Machine>
template <class Sink>
bool Driver<Machine>::short_steps(State& s, double stop, Sink& sink) {
    const bool soft = chain.load_rate() == 0.0;
    // Inlined by force: the compiler's measure of the caller's size says no, the clock says yes.
    const auto load_at = [ this, soft ](const X& x) __attribute__((always_inline)) {
        if (!soft) return chain.load_apart(x);
        const double faster = x[speed] - load_speed_;
        return Load{load_.torque + load_slope_.torque * faster, load_.flow_rate + load_slope_.flow_rate * faster};
    };
    const auto loaded = [ this, &load_at ](const X& x, X& d, double t) __attribute__((always_inline)) {
        Point p{t, x};
        chain.complete(p);
        chain.rates(p, load_at(x), d);
    };
    X d, error;
    double j[9];
    Point a = chain.point(s.t, s.x), b;
    chain.keep(b.x, a.x);
    bool first = true;
    double wanted = s.short_step;
    for (;;) {
        if (soft && a.t >= load_until_) refresh_load(a, s.window.end);
        chain.rates(a, load_at(a.x), d);
        chain.block(a, j);
        const double left = stop - a.t;
        double h = std::min(left < 1.01 * wanted ? left : wanted, turn_piece(a.x[speed]));
        for (;;) {
            ros2w_.step(loaded, j, a.x, d, a.t, b.x, h, error);
            ++s.steps;
            const double m = detail::measure<states>(error, short_weight_);
            if (m <= 1.0) {
                if (s.steps > most_steps_) give_up(b.x, error, short_weight_, a.t);
                // A step cut short by the stop tells little about the next one.
                wanted = h < left || m > 0.04 ? h * detail::factor(m, 2) : std::max(wanted, 2 * h);
                // A stretch begins with the layer after a switching: what was right there is the guess for the next
                // one.
                if (first) s.short_step = wanted;
                first = false;
                break;
            }
            wanted = h *= std::min(0.9, detail::factor(m, 2));
            if (h < 1e-13 || s.steps > most_steps_) give_up(b.x, error, short_weight_, a.t);
        }
        b.t = stop - (a.t + h) < 1e-14 ? stop : a.t + h;
        chain.complete(b);
        bool event = false;
        if (chain.row->watched || shaft_due(b)) {
            const double breach = violation(s.legs, b);
            if (breach > 0.0) {
                b = locate(s.legs, a.t, violation(s.legs, a), b, breach, [&](double t) {
                    return at_time(a, t, [&](X& x) { ros2w_.step(loaded, j, a.x, d, a.t, x, t - a.t, error); });
                });
                X last = a.x;  // the last one looked at need not be the one taken: its error says how this curve bends
                ros2w_.step(loaded, j, a.x, d, a.t, last, b.t - a.t, error);
                event = true;
            }
        }
        // The curve bends by a quarter of the error measure, which is h^2/2 x''.
        Bend bend;
        for (std::size_t n = 0; n < bend.size(); ++n) bend[n] = -0.25 * error[n];
        emit(s, sink, a, b, bend);
        s.x = b.x;
        s.t = b.t;
        if (!soft) {
            X middle = b.x;
            for (const std::size_t n : {speed, flow}) middle[n] = 0.5 * (a.x[n] + b.x[n]) - 0.25 * error[n];
            book_slow(s, middle);
            b.x = s.x;
        }
        if (event || b.t >= stop) return event;
        a = b;
    }
}

// Steps of a method with dense output.
template <class Machine>
template <class Sink, class Step>
bool Driver<Machine>::dense(State& s, double stop, Sink& sink, Step step) {
    Point a = chain.point(s.t, s.x), b;
    X d, d1, x1, error, middle;
    for (X* x : {&b.x, &x1, &middle}) chain.keep(*x, a.x);
    chain.rates(a, d);
    bool first = true;
    double& guess = s.long_step[static_cast<std::size_t>(start_)];
    double wanted = guess;
    while (a.t < stop) {
        const double left = stop - a.t;
        double h = left < 1.2 * wanted ? left : (left < 2.0 * wanted ? 0.5 * left : wanted);
        for (;;) {
            step.take(chain, a.x, d, a.t, x1, d1, h, error);
            ++s.steps;
            const double m = Step::strict * Step::strict * detail::measure<states>(error, dense_weight_);
            if (m <= 1.0) {
                if (s.steps > most_steps_) give_up(x1, error, dense_weight_, a.t);
                wanted = h * detail::factor(m, Step::order);
                // A stretch begins with the layer after a switching: what was right there is the guess for the next
                // one.
                if (first) guess = h < left || wanted < guess ? wanted : std::max(guess, h);
                first = false;
                break;
            }
            h *= std::min(0.8, detail::factor(m, Step::order));
            if (h < 1e-13 || s.steps > most_steps_) give_up(x1, error, dense_weight_, a.t);
        }
        const double t0 = a.t, t1 = left - h < 1e-14 ? stop : t0 + h;
        const X x0 = a.x;
        step.at(0.5, x0, d, t0, x1, d1, h, middle);
        const X half = middle;
        const int count = pieces(h, x0, middle, x1);
        for (int n = 1; n <= count; ++n) {
            const double f = static_cast<double>(n) / count;
            b.t = n == count ? t1 : t0 + f * h;
            if (n == count) b.x = x1;
            else step.at(f, x0, d, t0, x1, d1, h, b.x);
            chain.complete(b);
            if (chain.row->watched || shaft_due(b)) {
                const double breach = violation(s.legs, b);
                if (breach > 0.0) {
                    b = locate(s.legs, a.t, violation(s.legs, a), b, breach, [&](double t) {
                        return at_time(a, t, [&](X& x) { step.at((t - t0) / h, x0, d, t0, x1, d1, h, x); });
                    });
                    step.at((0.5 * (a.t + b.t) - t0) / h, x0, d, t0, x1, d1, h, middle);
                    emit(s, sink, a, b, bend_of(a.x, middle, b.x));
                    s.x = b.x;
                    s.t = b.t;
                    step.at(0.5 * (b.t - t0) / h, x0, d, t0, x1, d1, h, middle);
                    book_slow(s, middle);
                    return true;
                }
            }
            if (count > 1) step.at((n - 0.5) / count, x0, d, t0, x1, d1, h, middle);
            emit(s, sink, a, b, bend_of(a.x, middle, b.x));
            a = b;
        }
        s.x = a.x;
        s.t = a.t;
        book_slow(s, half);
        if (s.x[flow] != a.x[flow]) {  // the check valve shut: the last slope is no longer that of what follows
            a.x = s.x;
            chain.rates(a, d1);
        }
        if (a.t < stop) step.next(chain, a, d1, d);
    }
    return false;
}

template <class Machine>
template <class Sink>
void Driver<Machine>::advance(State& s, double until, Sink& sink) {
    advance_with(s, until, [&](State& at, double stop) {
        if constexpr (Block<Machine>::possible) {
            if (affine(at, stop)) {
                // Its sums are of its own time: what the general way left for the window's end comes first.
                if (at.t > booked_t_) book_slow(at);
                return Way<Sink>(*this, at, sink).run(std::min(at.window.end, until));
            }
        }
        switch (choose(at, stop - at.t)) {
            case Method::ros2w: return short_steps(at, stop, sink);
            case Method::ra34pw2: return dense(at, stop, sink, detail::Implicit<Chain<Machine>>{ra34pw2_});
            default: return dense(at, stop, sink, detail::Dopri<Chain<Machine>, Dopri5>{dopri5_});
        }
    });
}

}  // namespace sunshaft::plant
