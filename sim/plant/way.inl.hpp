// Implementation of driver.hpp: a linear machine's way through one window, step by step.
#pragma once

#include <cmath>
#include <limits>

namespace sunshaft::plant {

// A linear machine under way in one window: what a step moves, kept apart from the State.
template <class Machine>
template <class Sink>
class Driver<Machine>::Way {
  public:
    Way(Driver& driver, State& state, Sink& to)
        : d_(driver),
          s_(state),
          sink_(to),
          chain_(driver.chain),
          block_(driver.block_),
          stiff_(chain_.compiled()->stiff),
          pole_pairs_(chain_.machine.pole_pairs),
          esr_(block_.esr()),
          load_most_(chain_.load_rate() > 0.0 ? 0.2 / chain_.load_rate() : std::numeric_limits<double>::infinity()),
          inv_j_(chain_.turning != 0.0 && chain_.free_shaft() ? chain_.compiled()->inv_j : 0.0),
          y_{Two{s_.x[i_alpha], s_.x[i_beta]}, block_.psi(s_.x), s_.x[v_cap]},
          t_(s_.t),
          w_(s_.x[speed]),
          angle_(s_.x[theta]),
          q_(s_.x[flow]),
          torque_(block_.torque(y_)),
          w_start_(w_),
          q_start_(q_) {
        a_.x = b_.x = s_.x;
        if (chain_.row->cv == 0.0) {
            touch(block_.behind(*chain_.row, tangent_, y_));
        } else {
            const Point p = chain_.point(t_, s_.x);
            touch(p.link - esr_ * p.net);
        }
    }

    // To `end`, over all edges before it. Returns true when an event stopped it, false at the end or before an edge it
    // cannot do.
    bool run(double end) {
        bool event = false;
        Start start = d_.start_;
        do {
            double stop = end;
            if (s_.next_edge < s_.window.count)
                stop = std::min(stop, s_.window.edges[static_cast<std::size_t>(s_.next_edge)].t);
            // What was right in the layer after the last start of this kind, or before the cut.
            layer_ = static_cast<std::size_t>(start);
            guess_ = s_.long_step[layer_];
            start = Start::switched;
            first_ = true;
            const double rate = block_.fastest(*chain_.row, tangent_, pole_pairs_ * w_);
            climbs_ = far(rate, stop - t_);
            begin(*chain_.row);
            while (t_ < stop && !event) {
                if (t_ >= d_.load_until_) refresh_load();
                if (std::abs(from_.behind - touches_) > d_.source_band_) {
                    d_.sum_run(sums_);
                    touch(from_.behind);
                    begin(*chain_.row);
                }
                event = piece(*chain_.row, stop);
            }
        } while (!event && t_ < end && d_.switch_over(s_, t_, angle_, w_, from_.volt, y_));
        s_.long_step[static_cast<std::size_t>(Start::resumed)] = guess_;
        put(s_.x, y_, w_, angle_, q_);
        if (s_.steps > d_.most_steps_) d_.give_up(s_.x, s_.x, d_.piece_weight_, t_);
        s_.t = t_;
        d_.sum_run(sums_);
        d_.book(sums_, s_.energy);
        d_.book_slow(s_, sums_, w_start_);
        return event;
    }

  private:
    static constexpr bool shown = !std::is_same_v<Sink, NoSink>, fine = shown && !requires { Sink::sums_only; };
    // The link at a state: voltage, net current of the source and the voltage behind the ESR it goes by.
    struct Link {
        double volt = 0, net = 0, behind = 0;
    };
    [[gnu::always_inline]] inline Link link_at(const ModeRow& r, const Five& f) const {
        if (stiff_) [[unlikely]]
            return {f.v, block_.draw(r, f) + r.cv * f.v, f.v};
        const double behind = block_.behind(r, tangent_, f), net = tangent_.i + tangent_.slope * behind;
        return {behind + esr_ * net, net, behind};
    }
    [[gnu::always_inline]] static inline void put(X& x, const Five& f, double w, double angle, double q) {
        x[i_alpha] = f.i[0], x[i_beta] = f.i[1], x[v_cap] = f.v;
        if constexpr (!Block<Machine>::magnets) x[psi_alpha] = f.psi[0], x[psi_beta] = f.psi[1];
        x[speed] = w, x[theta] = angle, x[flow] = q;
    }
    [[gnu::always_inline]] inline void set(Point& p, double t, const Link& l, const Five& f, double w) const {
        p.t = t, p.link = l.volt, p.net = l.net, p.slope = tangent_.slope;
        if constexpr (Block<Machine>::magnets) {
            const double pw = pole_pairs_ * w;
            p.emf = {pw * f.psi[0], pw * f.psi[1]}, p.knows_emf = true;
        }
    }
    void touch(double behind) {
        if (stiff_) return;
        const site::CurrentSlope net = chain_.source->net(behind);
        tangent_ = {net.i - net.slope * behind, net.slope}, touches_ = behind;
    }
    // A mode, or a tangent, from here on.
    [[gnu::always_inline]] inline void begin(const ModeRow& r) {
        from_ = link_at(r, y_);
        form_ = block_.form(r, tangent_);
        torque_rate_ = std::numeric_limits<double>::quiet_NaN();
        rate_ = block_.fastest(r, tangent_, pole_pairs_ * w_);
        if (climbs_) [[unlikely]]
            ladder_ = &d_.ladder(r, tangent_, pole_pairs_ * w_);
    }
    // Whether a series does not reach nearly as far as a step might.
    [[gnu::always_inline]] inline bool far(double rate, double left) const {
        return !Driver::within_reach(rate, std::min(guess_, left));
    }
    // As Affine::carry, of what is stiff. Its bend is that of the parabola with the curve's own mean, which in a layer
    // is not half way's.
    Five climb(const Five& y, double h, Five& bend) {
        Five sum{};
        middle_ = ladder_->carry(y, form_, 0.5 * h, sum);
        const Five end = ladder_->carry(middle_, form_, 0.5 * h, sum);
        bend = (1.5 / h) * sum + -0.75 * (y + end);
        return end;
    }
    [[gnu::always_inline]] inline Five carry(const Five& y, double h, Five& bend) {
        if (climbs_) [[unlikely]]
            return climb(y, h, bend);
        return d_.carry(form_, y, h, h * rate_, bend);
    }
    [[gnu::noinline]] void refresh_load() {
        put(a_.x, y_, w_, angle_, q_);
        set(a_, t_, from_, y_, w_);
        d_.refresh_load(a_, s_.window.end,
                        s_.window.end - s_.window_start > 4 * load_lasts ? 4 * load_lasts : load_lasts);
    }

    [[gnu::always_inline]] inline Load load_at(double w, double q) const {
        const double faster = w - d_.load_speed_, fuller = q - d_.load_flow_;
        return {d_.load_.torque + d_.load_slope_.torque * faster + d_.load_by_flow_.torque * fuller,
                d_.load_.flow_rate + d_.load_slope_.flow_rate * faster + d_.load_by_flow_.flow_rate * fuller};
    }
    // The state h on, and what hangs on it.
    [[gnu::always_inline]] inline void step(const ModeRow& r, double h) {
        const Load here = load_at(w_, q_);
        double mean_w = w_ + 0.5 * h * inv_j_ * (torque_ - here.torque);
        if constexpr (Block<Machine>::magnets) {
            // A light rotor follows every pulse of the torque. The windings work against the mean of its speed at both
            // ends, by which the shaft is booked: against any other, one would give more than the other gets.
            if (torque_rate_ != torque_rate_) {
                block_.turn(form_, r, pole_pairs_ * mean_w, angle_ + 0.5 * h * pole_pairs_ * mean_w);
                torque_rate_ = block_.torque_rate(y_, form_.rate(y_));
            }
            mean_w += h * std::min(h, 1.0 / rate_) * (1.0 / 4) * inv_j_ * torque_rate_;
        }
        block_.turn(form_, r, pole_pairs_ * mean_w, angle_ + 0.5 * h * pole_pairs_ * mean_w);
        to_ = carry(y_, h, bend_);
        mean_w_ = mean_w;
        torque1_ = block_.torque(to_);
        const Five half = {0.5 * (y_.i + to_.i) + bend_.i, 0.5 * (y_.psi + to_.psi) + bend_.psi, 0.0};
        mean_torque_ = (torque_ + 4 * block_.torque(half) + torque1_) * (1.0 / 6);
        const Load mean_load = load_at(mean_w, q_ + 0.5 * h * here.flow_rate);
        w1_ = w_ + h * inv_j_ * (mean_torque_ - mean_load.torque);
        if constexpr (Block<Machine>::magnets) {
            // Guessed not quite right: the currents it would have made.
            const Two e = ((0.5 * (w_ + w1_) - mean_w) * pole_pairs_) * half.psi;
            beside_ = -h * Two{r.P.aa * e[0] + r.P.ab * e[1], r.P.ab * e[0] + r.P.bb * e[1]};
            to_.i += beside_;
            const double more = block_.torque({beside_, half.psi, 0.0});
            torque1_ += more, mean_torque_ += 0.5 * more;
            w1_ += 0.5 * h * inv_j_ * more;
        }
        angle1_ = angle_ + h * pole_pairs_ * (0.5 * (w_ + w1_) - h * inv_j_ * (torque1_ - torque_) * (1.0 / 12));
        q1_ = q_ + h * mean_load.flow_rate;
    }

    // One piece, towards `stop`; none where it turns out too long. True: it ends at an event.
    [[gnu::always_inline]] inline bool piece(const ModeRow& r, double stop) {
        double left = stop - t_;
        const double bends = to_corner();
        if (bends < left && (left - bends) * std::abs(pole_pairs_ * w_) > a_hair) left = bends;
        if (!climbs_ && far(rate_, left)) [[unlikely]]
            climbs_ = true, begin(r);
        const double turn_most = r.free < 2 && !block_.straight() ? 2 * d_.turn_piece(w_) : guess_;
        const double most = std::min({climbs_ ? left : d_.reach_.back() / rate_, guess_, turn_most, load_most_});
        double h = left;
        if (!(left <= most)) h = climbs_ ? ladder_->step_below(most) : 0.0;
        if (!(h > 0.0)) h = left / std::ceil(left / most);
        const bool whole = h == stop - t_, corner = h == left && bends <= left;
        step(r, h);
        ++s_.steps;
        double bent = bends_less * shows(bend_), off_course = 0.0;
        if (climbs_) [[unlikely]]
            bent = std::max(bent, layer(h, false));
        if constexpr (Block<Machine>::magnets) off_course = misjudged();
        const double worst = std::max(bent, off_course);
        if (!(worst <= 1.3)) [[unlikely]] {
            too_long(h, worst);
            return false;
        }
        // One cut short by an edge or a corner tells nothing of how long it could have been.
        const bool tells = h < left || worst > 0.6;
        // A bend grows with the square of the time, the other with the cube.
        if (tells) {
            const double room = off_course > bent ? std::cbrt(off_course) : std::sqrt(std::max(bent, 0.01));
            guess_ = std::min(2 * guess_, h * (0.95 / room));
        }
        if (std::exchange(first_, false) && tells) s_.long_step[layer_] = guess_;
        double t1 = whole ? stop : t_ + h;
        next_ = link_at(r, to_);
        bool event = false;
        if (r.watched || chain_.turning * w1_ <= 0.0) event = look(r, h, t1);
        add(r, h);
        const bool sensed = d_.senses_ && d_.senses_->measures();
        if (shown || sensed) show(r, h, t1, fine || sensed ? parts(r, h, bent) : 1.0);
        ++s_.pieces;
        // At its end, by the parabola through the torque at both ends and in the middle.
        if constexpr (Block<Machine>::magnets) torque_rate_ = (4 * torque1_ + 2 * torque_ - 6 * mean_torque_) / h;
        y_ = to_, w_ = w1_, angle_ = angle1_, q_ = q1_, torque_ = torque1_, t_ = t1, from_ = next_;
        if (corner && !event) {
            put(a_.x, y_, w_, angle_, q_);
            y_.psi = block_.psi(a_.x), torque_ = block_.torque(y_);
            torque_rate_ = std::numeric_limits<double>::quiet_NaN();
        }
        return event;
    }
    // How far a bend, or what else of a state, shows in a piece.
    [[gnu::always_inline]] inline double shows(const Five& bend) const {
        return std::max({std::abs(bend.i[0]) * d_.piece_weight_[i_alpha],
                         std::abs(bend.i[1]) * d_.piece_weight_[i_alpha], std::abs(bend.v) * d_.piece_weight_[v_cap]});
    }
    // What a guessed mean speed leaves, its first order put right already: more where the speed changes much.
    [[gnu::always_inline]] inline double misjudged() const {
        const double change = std::abs(w1_ - w_) * 10.0, all = std::abs(w_);
        return speed_counts * shows(Five{beside_, {}, 0.0}) * (change < all ? std::max(change / all, 0.2) : 1.0);
    }
    // What dies away within a piece is no parabola, and the squares of a current are more than a chord's: by how much
    // the middle is beside that of the cubic by both ends and their rates (Hermite), mean of the ends +
    // h (y0' - y1') / 8. The link's own layer has no square to speak of, and its mean is exact: it counts for who keeps
    // its wave. There, where a source holds the link, millivolts are amperes of its own.
    double layer(double h, bool link) const {
        const Five change = form_.rate(y_) + -1.0 * form_.rate(to_), chord = 0.5 * (y_ + to_),
                   off = middle_ + -1.0 * chord + (-0.125 * h) * change;
        if (!link) return layer_counts * shows(Five{off.i, {}, 0.0});
        return layer_counts * std::max(shows(off), std::abs(tangent_.slope * off.v) * d_.piece_weight_[i_alpha]);
    }
    // s until the trapezoid of an EMF bends, and a little more, as the shaft gathers way.
    [[gnu::always_inline]] inline double to_corner() const {
        constexpr double never = std::numeric_limits<double>::infinity();
        if constexpr (Block<Machine>::magnets) {
            if (!block_.straight()) return never;
            const double sense = w_ < 0.0 ? -pole_pairs_ : pole_pairs_, rate = sense * w_,
                         more = sense * inv_j_ * (torque_ - load_at(w_, q_).torque),
                         way = block_.straight_on(angle_, w_) + 1e-9, square = rate * rate + 2 * more * way;
            return square > 0.0 ? 2 * way / (rate + std::sqrt(square)) : never;
        }
        return never;
    }

    [[gnu::noinline]] void too_long(double h, double worst) {
        guess_ = h * (worst < 1e6 ? std::max(0.2, 0.95 / std::sqrt(worst)) : 0.2);
        if (h >= 1e-13 && s_.steps <= d_.most_steps_) return;
        put(s_.x, to_, w_, angle_, q_);
        d_.give_up(s_.x, s_.x, d_.piece_weight_, t_);
    }

    // Whether what the modes assume is broken at the end of the piece; if so, the piece ends there.
    bool look(const ModeRow& r, double& h, double& t1) {
        put(b_.x, to_, w1_, angle1_, q1_);
        set(b_, t1, next_, to_, w1_);
        const double breach = d_.violation(s_.legs, b_);
        if (!(breach > 0.0)) return false;
        put(a_.x, y_, w_, angle_, q_);
        set(a_, t_, from_, y_, w_);
        const auto at = [&](double when) {
            Point p = a_;
            step(r, when - t_);
            next_ = link_at(r, to_);
            put(p.x, to_, w1_, angle1_, q1_);
            set(p, when, next_, to_, w1_);
            return p;
        };
        const Five half = {0.5 * (y_.i + to_.i) + bend_.i, 0.5 * (y_.psi + to_.psi) + bend_.psi,
                           0.5 * (y_.v + to_.v) + bend_.v};
        Point middle = a_;
        put(middle.x, half, mean_w_, angle_ + 0.5 * h * pole_pairs_ * mean_w_, q_);
        set(middle, t_ + 0.5 * h, link_at(r, half), half, mean_w_);
        t1 =
            d_.locate(s_.legs, t_, d_.violation(s_.legs, a_), b_, breach, at, {middle.t, d_.violation(s_.legs, middle)})
                .t;
        at(t1);  // the last one looked at need not be the one taken
        h = t1 - t_;
        return true;
    }

    // Into the sums: the chord moved by two thirds of the bend, as emit() does.
    [[gnu::always_inline]] inline void add(const ModeRow& r, double h) {
        const double draw = shift * (r.ci[0] * bend_.i[0] + r.ci[1] * bend_.i[1]),
                     off = (shift * bend_.v - esr_ * draw) * block_.shared(r, tangent_);
        // A stiff source gives what the bridge takes.
        const double off_net = stiff_ ? draw : tangent_.slope * off, off_link = (1.0 + esr_ * tangent_.slope) * off;
        const Five mean = {0.5 * (y_.i + to_.i) + shift * bend_.i, 0.5 * (y_.psi + to_.psi) + shift * bend_.psi,
                           0.5 * (from_.volt + next_.volt) + off_link};
        d_.sum(sums_, r, mean, {to_.i - y_.i, to_.psi - y_.psi, next_.volt - from_.volt},
               0.5 * (from_.net + next_.net) + off_net, next_.net - from_.net, h, s_);
        if (!chain_.free_shaft()) [[unlikely]]
            sums_.shaft += h * w_ * mean_torque_;
        const double faster = 0.5 * (w_ + w1_) - w_start_, change = w1_ - w_;
        sums_.faster += h * faster;
        sums_.faster_square += h * (faster * faster + change * (change * (1.0 / 12)));
        if (chain_.load_rate() == 0.0) [[likely]]
            return;
        const double fuller = 0.5 * (q_ + q1_) - q_start_, more = q1_ - q_;
        sums_.fuller += h * fuller;
        sums_.fuller_square += h * (fuller * fuller + more * (more * (1.0 / 12)));
        sums_.fuller_faster += h * (fuller * faster + more * (change * (1.0 / 12)));
    }

    struct End {
        double t;
        Five y;
        double w, angle, q;
    };
    [[gnu::always_inline]] inline void hand_over(const ModeRow& r, const End& from, const End& to, const Five& bend) {
        const Five off = {shift * bend.i, shift * bend.psi, shift * bend.v};
        const Five begin = {from.y.i + off.i, from.y.psi + off.psi, from.y.v + off.v},
                   end = {to.y.i + off.i, to.y.psi + off.psi, to.y.v + off.v};
        put(a_.x, begin, from.w, from.angle, from.q);
        set(a_, from.t, link_at(r, begin), begin, from.w);
        put(b_.x, end, to.w, to.angle, to.q);
        set(b_, to.t, link_at(r, end), end, to.w);
        if constexpr (fine) chain_.complete(a_), chain_.complete(b_);  // on the source's curve, not beside it
        if constexpr (shown) sink_.piece(chain_, a_, b_);
        if (d_.senses_ && d_.senses_->measures()) [[unlikely]]
            d_.senses_->piece(chain_, s_, a_, b_);
    }
    // How many pieces stand for a step where waves are kept.
    double parts(const ModeRow& r, double h, double bent) const {
        if (climbs_) bent = std::max(bent, layer(h, true));
        const double curve = std::sqrt(bent * (1.0 / bends_less));
        return std::ceil(r.free < 2 && !block_.straight() ? std::max(curve, h / d_.turn_piece(w_)) : curve);
    }
    // A piece for sink and senses, or several where they keep waves.
    [[gnu::always_inline]] inline void show(const ModeRow& r, double h, double t1, double count) {
        const End last = {t1, to_, w1_, angle1_, q1_};
        End begin = {t_, y_, w_, angle_, q_};
        if (!(count > 1.0)) return hand_over(r, begin, last, bend_);
        Five bend;
        for (double n = 1.0; n <= count; n += 1.0) {
            const double share = n / count;
            End end = {t_ + share * h, carry(begin.y, h / count, bend), w_ + share * (w1_ - w_),
                       angle_ + share * (angle1_ - angle_), q_ + share * (q1_ - q_)};
            if (n == count) end = last;
            hand_over(r, begin, end, bend);
            begin = end;
        }
    }

    // A step may bend ten times as much as a piece: sinks that keep waves get it in several, those that only sum
    // (Sink::sums_only) do not lose by it.
    // The other two by trial: the accounts of splices, and a start beside CVODE (tests/plant), need them.
    static constexpr double a_hair = 1e-4;  // electrical rad past a trapezoid's corner that nobody sees
    static constexpr double bends_less = 0.1, shift = 2.0 / 3, layer_counts = 2.0, speed_counts = 100.0;
    Driver& d_;
    State& s_;
    Sink& sink_;
    Chain<Machine>& chain_;
    const Block<Machine>& block_;
    const bool stiff_;
    const double pole_pairs_, esr_;
    const double load_most_;  // s, the longest step the load allows
    const double inv_j_;
    Five y_, to_{}, bend_{}, middle_{};  // middle: of a climb
    Two beside_{};                       // A, of a light rotor's mean speed
    double t_, w_, angle_, q_, torque_, w_start_, q_start_;
    double guess_ = 0.0;  // s, the longest piece to try
    bool first_ = true;   // of a stretch
    std::size_t layer_ = 0;
    double w1_ = 0, angle1_ = 0, q1_ = 0, torque1_ = 0, mean_torque_ = 0;
    double torque_rate_ = std::numeric_limits<double>::quiet_NaN();  // N m/s where a piece begins; not known yet
    Tangent tangent_;
    double touches_ = 0.0;  // V
    Affine form_;
    double rate_ = 0.0;    // 1/s, the fastest
    bool climbs_ = false;  // too stiff for a series
    const Ladder* ladder_ = nullptr;
    double mean_w_ = 0.0;  // rad/s: that the last step went by
    Link from_, next_;
    Sums sums_;
    Point a_, b_;
};

}  // namespace sunshaft::plant
