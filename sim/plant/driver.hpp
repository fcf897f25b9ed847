// The driver: carries the state from one stop to the next.
//
//   next stop (switching instant, control window, caller's time) -> step -> events -> pieces -> new mode
//
// Switching instants are known and stepped to exactly. What is not known beforehand, a diode current's zero, a
// floating terminal reaching a rail, a shaft that comes to rest or breaks away, is located by root finding on the
// step's dense output. A linear machine goes by its own series, over whole windows (block.hpp, way.inl.hpp), or by
// its exponential where something in it is so stiff that a series gets nowhere (ladder.hpp). Else one of three steppers
// works between stops, chosen from the stiffness of the present mode and the length of the stretch:
//   dopri5    Odeint's own, for smooth and non-stiff stretches (six-step, healthy)
//   ra34pw2   linearly implicit, for stiff ones of machines that are not linear
//   ros2w     two stages, for the short stretches of PWM
// Accepted steps are cut into straight pieces (trace/trace.hpp) that stay within `piece` of the dense output; a Sink
// receives each:  sink.piece(chain, a, b)  with a and b of type Point. One that only sums what it gets, and keeps no
// waves, says so by a member `sums_only`: it may get pieces that bend ten times as much.
//
// A run is a function of (site, state, time): cut at ends of control windows it gives the same bits as in one go; cut
// elsewhere the extra stop shifts later steps, and results agree within the tolerances.
#pragma once

#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>

#include "plant/block.hpp"
#include "plant/chain.hpp"
#include "plant/first_of.hpp"
#include "plant/ladder.hpp"
#include "plant/options.hpp"
#include "plant/rosenbrock_w.hpp"
#include "plant/senses.hpp"
#include "text/language.hpp"

namespace sunshaft::plant {

struct NoSink;  // probe.hpp

template <class Machine>
class Driver {
  public:
    Driver(const site::Site& site, const Machine& machine, const Options& options = {});

    // Runs to `until` (s). Throws SolverError; the state is then as at the last good instant.
    template <class Sink>
    void advance(State& s, double until, Sink& sink);
    // The same with another solver between the stops:  bool stretch(State& s, double stop)  runs s to `stop`, emits its
    // pieces, and returns true when it ended early because a leg has to change its mode (violation() > 0).
    template <class Stretch>
    void advance_with(State& s, double until, Stretch&& stretch);

    // Lays out the next control window if one is due: s.window then tells its end and its switching instants.
    void open_window(State& s);
    // A state that ran on another site goes on here: leg modes and forbidden currents are put right.
    void adopt(State& s);

    // Largest breach of what the present leg modes assume, in reference units; > 0: event.
    double violation(const drive::Legs& legs, const Point& p) const;
    // Whether the shaft may have come to rest or broken away at the end of a step: violation() is to be asked.
    bool shaft_due(const Point& p) const { return chain.turning * p.x[speed] <= 0.0; }
    using Bend = typename Chain<Machine>::Bend;
    // Hands a piece to the sink and books its energy.
    template <class Sink>
    void emit(State& s, Sink& sink, const Point& a, const Point& b, const Bend& bend);
    struct Breach {
        double t = 0.0, much = std::numeric_limits<double>::quiet_NaN();
    };
    // The event between two times, the breach at both given. at(t): the point at a time in between.
    template <class At>
    Point locate(const drive::Legs& legs, double lo, double breach_lo, Point hi, double breach_hi, At at,
                 Breach beside = {}) const;
    // Such a point: `a` moved on to t, its state as step(x) leaves it.
    template <class Step>
    Point at_time(Point a, double t, Step step) const {
        a.t = t;
        step(a.x);
        chain.complete(a);
        return a;
    }
    static Bend bend_of(const X& x0, const X& middle, const X& x1) {
        Bend bend;  // of the first components
        for (std::size_t n = 0; n < bend.size(); ++n) bend[n] = middle[n] - 0.5 * (x0[n] + x1[n]);
        return bend;
    }
    // How many straight pieces stand for a curve whose middle is known.
    int pieces(double h, const X& x0, const X& middle, const X& x1) const;

    // The chain as a state finds it, for who only looks.
    Chain<Machine> chain_at(const State& s) const {
        Chain<Machine> c = chain;
        take_up(c, s);
        return c;
    }

    Chain<Machine> chain;

  private:
    void look_through(const std::array<int, 3>& core_at);
    static void take_up(Chain<Machine>& chain, const State& s);
    void begin_window(State& s);
    bool apply_edges(State& s);  // whether there were any
    void settle_legs(State& s);  // leg modes after a switching
    void release(State& s);      // legs whose diode has run out of current
    void after_event(State& s);
    void settle_shaft(State& s);  // whether it stands, or which way it turns
    void shut_check_valve(State& s);
    void book_slow(State& s);                   // shaft and water moved evenly since the last time
    void book_slow(State& s, const X& middle);  // or went through this half way
    void book_slow(State& s, const Sums& k, double w_start);
    void refresh_load(const Point& p, double until, double lasts = load_lasts);
    Method choose(const State& s, double span) const;
    void check_finite(const X& x, double t) const;
    // So many steps in some milliseconds are the most that is worth doing: beyond that the figures of the site are to
    // blame.
    void allow_steps(const State& s);
    // Throws: no step is small enough. Names the component that asked for it, and a key that may be to blame.
    [[noreturn]] void give_up(const X& x, const X& error, const X& weight, double t) const;
    template <class Sink, class Step>
    bool dense(State& s, double stop, Sink& sink, Step step);
    template <class Sink>
    bool short_steps(State& s, double stop, Sink& sink);
    // A linear machine's way (affine.inl.hpp, way.inl.hpp).
    bool affine(const State& s, double stop) const;
    // Measured: from there on, in units of the fastest rate's time, the block's exponential is quicker than its series.
    static bool within_reach(double rate, double span) { return rate * span < 7.0; }
    template <class Sink>
    class Way;
    double series_reach(int order) const;
    const Ladder& ladder(const ModeRow& r, const Tangent& tangent, double pw);
    Five carry(const Affine& f, const Five& y, double h, double reach, Five& bend) const;
    void sum(Sums& k, const ModeRow& r, const Five& m, const Five& d, double net, double dnet, double dt,
             State& s) const;
    void sum_run(Sums& k) const;
    void book(const Sums& k, Energies& e) const;
    bool switch_over(State& s, double t, double angle, double w, double link, Five& y);

    Options options_;
    X reference_{};
    static constexpr double sine_pieces = 180;  // a period
    static constexpr double turn_pieces = 60;   // a turn of the field of an EMF that shows on a line
    // The longest piece there, s; infinite where no EMF shows.
    double turn_piece(double w) const {
        return chain.row->free < 2
                   ? 2 * std::numbers::pi / (turn_pieces * std::max(1e-9, std::abs(chain.machine.pole_pairs * w)))
                   : std::numeric_limits<double>::infinity();
    }
    // For the short steps: a soft load is looked at again after so long.
    static constexpr double load_lasts = 2.5e-4;  // s
    // A displacing pump's pulls within that, too; slowly enough to be stepped along with the rest.
    bool even_load() const { return chain.load_rate() * load_lasts < 0.15; }
    // And by how much more for each rad/s above load_speed_, for each m3/s above load_flow_ (a pump that displaces).
    Load load_, load_slope_, load_by_flow_;
    double load_speed_ = 0.0, load_flow_ = 0.0;
    double load_until_ = 0.0;
    double allowed_from_ = 0.0;  // s
    long most_steps_ = 0;
    double booked_t_ = 0.0;
    X booked_x_{};
    X dense_weight_{}, short_weight_{}, piece_weight_{};  // 1 / tolerance
    Start start_ = Start::resumed;                        // of the present stretch
    Block<Machine> block_;
    static constexpr std::size_t most_ladders = 12;
    struct Ladders {
        std::vector<Ladder> kept;
        std::size_t now = 0, next = 0;  // the last one taken; the one to be built anew
    };
    std::vector<Ladders> ladders_;          // by leg mode, where one is stiff
    std::array<double, 5> reach_{};         // of the series of orders 2, 3, 4, 6 and 10
    double source_band_ = 0.0;              // V: so far a tangent of the source's curve holds
    std::shared_ptr<const Senses> senses_;  // what the drive sees of its lines; none: all of it
    double no_current_ = 0.0;               // A: less counts as none
    // The drive finds the rotor through its own terminals, without a sensor on the shaft: what it takes for the angle
    // is view_sense theta + view_shift. Two wires exchanged, and its picture turns the other way.
    double view_sense_ = 1.0, view_shift_ = 0.0;
    static constexpr std::size_t states = Chain<Machine>::states;
    using Dopri5 = odeint::runge_kutta_dopri5<X, double, X, double, FirstOf<states>>;
    Dopri5 dopri5_;
    rosenbrock_w<Ra34pw2, X, states> ra34pw2_;
    rosenbrock_w<Ros2w, X, states> ros2w_;
};

}  // namespace sunshaft::plant

#include "plant/affine.inl.hpp"
#include "plant/driver.inl.hpp"
#include "plant/steps.inl.hpp"
#include "plant/way.inl.hpp"
