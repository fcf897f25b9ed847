// Implementation of driver.hpp: the windows of a linear machine (block.hpp), edges and all.
#pragma once

namespace sunshaft::plant {

// Orders of the series, and how far each reaches in units of the fastest rate's time: what is left out of it stays two
// hundredths of a step's tolerance.
template <class Machine>
inline double Driver<Machine>::series_reach(int order) const {
    double product = 0.02 * options_.relative;
    for (int n = 2; n <= order + 1; ++n) product *= n;
    return std::pow(product, 1.0 / (order + 1));
}

template <class Machine>
[[gnu::always_inline]] inline Five Driver<Machine>::carry(const Affine& f, const Five& y, double h, double reach,
                                                          Five& bend) const {
    if (reach < reach_[0]) return f.carry<2>(y, h, bend);
    if (reach < reach_[1]) return f.carry<3>(y, h, bend);
    if (reach < reach_[2]) return f.carry<4>(y, h, bend);
    if (reach < reach_[3]) return f.carry<6>(y, h, bend);
    return f.carry<10>(y, h, bend);
}

// Adds a piece to the sums: means and changes over it.
template <class Machine>
[[gnu::always_inline]] inline void Driver<Machine>::sum(Sums& k, const ModeRow& r, const Five& m, const Five& d,
                                                        double net, double dnet, double dt, State& s) const {
    constexpr double third = 1.0 / 12;
    const Two square = dt * (m.i * m.i + d.i * (d.i * third));
    const double ab = dt * (m.i[0] * m.i[1] + d.i[0] * (d.i[1] * third));
    const double ic = net - (r.ci[0] * m.i[0] + r.ci[1] * m.i[1] + r.cv * m.v + r.c0),
                 dic = dnet - (r.ci[0] * d.i[0] + r.ci[1] * d.i[1] + r.cv * d.v);
    k.seconds += dt;
    k.v += dt * m.v;
    k.square += square;
    k.ab += ab;
    k.supply += dt * (m.v * net + d.v * (dnet * third));
    k.capacitor += dt * (ic * ic + dic * (dic * third));
    k.behind += dt * (m.v - block_.esr() * net);
    k.behind_s += dt;
    if constexpr (!Block<Machine>::magnets) {
        const Two ir = block_.rotor(m), dir = block_.rotor(d), heat = ir * ir + dir * (dir * third);
        k.rotor += dt * (heat[0] + heat[1]);
    }
    if (block_.common(r)) [[likely]]
        return;
    k.other += square;
    k.other_ab += ab;
    const detail::Products products(m.i[0], m.i[1], m.v, d.i[0], d.i[1], d.v);
    k.bridge += dt * products(r.bridge_loss);
    k.cable += dt * products(r.cable_loss);
    if (r.beside) [[unlikely]]
        for (std::size_t n = 0; n < 3; ++n) s.energy[square_beside_u + n] += dt * products(r.beside_square[n]);
}

// The run's loss at the mean of the little way the link went on a tangent.
template <class Machine>
inline void Driver<Machine>::sum_run(Sums& k) const {
    if (k.behind_s > 0.0) k.run += k.behind_s * chain.source->run_loss_at(k.behind / k.behind_s);
    k.behind = k.behind_s = 0.0;
}

template <class Machine>
void Driver<Machine>::book(const Sums& k, Energies& e) const {
    if (!(k.seconds > 0.0)) return;
    const Compiled<Machine>& c = *chain.compiled();
    const auto of = [](const Quadratic& q, const Two& square, double ab) {
        return q.aa * square[0] + q.ab * ab + q.bb * square[1];
    };
    const Two common = k.square - k.other;
    const double common_ab = k.ab - k.other_ab;
    e[from_supply] += k.supply;
    if (!c.stiff) {
        const double v = k.v / k.seconds, draw = k.v * chain.source->source_current_at(v, 0.0);
        e[from_supply] += draw + k.run;
        e[in_dc_run] += k.run;
        e[in_link] += draw + c.esr * k.capacitor;
    }
    e[in_bearing] += k.shaft;
    e[in_bridge] += k.bridge + of(block_.common_bridge, common, common_ab);
    e[in_cable] += k.cable + of(block_.common_cable, common, common_ab);
    e[in_splice] += of(c.splice_loss, k.square, k.ab);
    e[in_winding] += of(c.winding_loss, k.square, k.ab);
    e[square_aa] += k.square[0];
    e[square_ab] += k.ab;
    e[square_bb] += k.square[1];
    e[in_cage] += block_.cage * k.rotor;
}

// Shaft and water at mean speed and on both sides of it: Simpson's rule then has the speed's mean square, too.
template <class Machine>
void Driver<Machine>::book_slow(State& s, const Sums& k, double w_start) {
    if (!(k.seconds > 0.0)) return;
    const double mean = k.faster / k.seconds,
                 aside = std::sqrt(3 * std::max(0.0, k.faster_square / k.seconds - mean * mean));
    X from = booked_x_, middle = booked_x_, to = s.x;
    middle[speed] = w_start + mean;
    middle[flow] = 0.5 * (from[flow] + to[flow]);
    const double way = to[speed] < from[speed] ? -aside : aside;
    from[speed] = middle[speed] - way, to[speed] = middle[speed] + way;
    chain.account_slow(k.seconds, from, middle, to, s.energy);
    shut_check_valve(s);
    booked_t_ = s.t, booked_x_ = s.x;
}

// Whether the way of a linear machine serves in this mode.
template <class Machine>
bool Driver<Machine>::affine(const State& s, double stop) const {
    if (options_.method != Method::automatic || !block_.holds() || chain.sine.on || !chain.soft_load()) return false;
    return chain.row->driven != 0 || chain.stiffness(s.x, s.t) * (stop - s.t) <= 1.0;  // as in choose()
}

// For a mode, near a tangent and a speed.
template <class Machine>
const Ladder& Driver<Machine>::ladder(const ModeRow& r, const Tangent& tangent, double pw) {
    if (ladders_.empty()) ladders_.resize(chain.compiled()->rows.size());
    Ladder& l = ladders_[static_cast<std::size_t>(&r - chain.compiled()->rows.data())];
    const Tangent near = {tangent.i, Ladder::near_slope(tangent.slope)};
    const double near_pw = Ladder::near_speed(pw);
    if (!l.is_of(near.slope, near_pw)) {
        Affine base = block_.form(r, near);
        block_.turn(base, r, near_pw, 0.0);
        l.build(base, near.slope, near_pw, block_.fastest(r, near, near_pw));
    }
    return l;
}

// Leg modes after the edges at an instant, as settle_legs() finds them. False: that is for the general way to do.
template <class Machine>
[[gnu::always_inline]] inline bool Driver<Machine>::switch_over(State& s, double t, double angle, double w, double link,
                                                                Five& y) {
    using drive::Gate;
    using drive::Leg;
    const auto& parts = chain.site.works.bridge.legs;
    drive::Gates gates = s.gates;
    int next = s.next_edge;
    while (next < s.window.count && s.window.edges[static_cast<std::size_t>(next)].t <= t + 1e-13) {
        const drive::Edge& e = s.window.edges[static_cast<std::size_t>(next++)];
        gates[static_cast<std::size_t>(e.leg)] = e.gate;
    }
    drive::Legs legs;
    for (std::size_t k = 0; k < 3; ++k) {
        const Gate g = parts[k].effective(gates[k]);
        if (g == Gate::off) {
            const ModeRow::Line& l = chain.row->leg[k];
            const double i = l.p * y.i[0] + l.q * y.i[1] + (l.r * link + l.c);
            legs[k] = std::abs(i) <= no_current_ ? Leg::blocked : i < 0.0 ? Leg::diode_up : Leg::diode_down;
        } else {
            legs[k] = g == Gate::upper ? Leg::upper : Leg::lower;
        }
    }
    const ModeRow& row = chain.compiled()->rows[static_cast<std::size_t>(drive::index(legs))];
    if (row.driven == 0) return false;
    Two i = y.i;
    if (row.free != 2) [[unlikely]] {
        const double along = row.free == 0 ? 0.0 : row.dir[0] * i[0] + row.dir[1] * i[1];
        i = along * Two{row.dir[0], row.dir[1]};
    }
    if (row.floating) {
        const ModeRow* before = std::exchange(chain.row, &row);
        X x = s.x;
        x[i_alpha] = i[0], x[i_beta] = i[1], x[v_cap] = y.v, x[theta] = angle, x[speed] = w;
        if constexpr (!Block<Machine>::magnets) x[psi_alpha] = y.psi[0], x[psi_beta] = y.psi[1];
        if (violation(legs, chain.point(t, x)) > 0.0) {  // a floating line that has to conduct
            chain.row = before;
            return false;
        }
    }
    s.gates = gates, s.next_edge = next, s.legs = legs;
    chain.row = &row;
    y.i = i;
    return true;
}

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
          inv_j_(chain_.turning != 0.0 && chain_.free_shaft() ? chain_.compiled()->inv_j : 0.0),
          y_{Two{s_.x[i_alpha], s_.x[i_beta]}, block_.psi(s_.x), s_.x[v_cap]},
          t_(s_.t),
          w_(s_.x[speed]),
          angle_(s_.x[theta]),
          q_(s_.x[flow]),
          torque_(block_.torque(y_)),
          w_start_(w_) {
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
        do {
            double stop = end;
            if (s_.next_edge < s_.window.count)
                stop = std::min(stop, s_.window.edges[static_cast<std::size_t>(s_.next_edge)].t);
            climbs_ = !d_.within_reach(block_.fastest(*chain_.row, tangent_, pole_pairs_ * w_), stop - t_);
            begin(*chain_.row);
            guess_ = s_.long_step[0];  // what was right in the layer after the last switching
            first_ = true;
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
    [[gnu::always_inline]] inline void set(Point& p, double t, const Link& l) const {
        p.t = t, p.link = l.volt, p.net = l.net, p.slope = tangent_.slope;
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
    // As Affine::carry, of what is stiff.
    Five climb(const Five& y, double h, Five& bend) const {
        const Five middle = ladder_->carry(y, form_, 0.5 * h), end = ladder_->carry(middle, form_, 0.5 * h);
        bend = middle + -0.5 * (y + end);
        return end;
    }
    [[gnu::always_inline]] inline Five carry(const Five& y, double h, Five& bend) const {
        if (climbs_) [[unlikely]]
            return climb(y, h, bend);
        return d_.carry(form_, y, h, h * rate_, bend);
    }
    [[gnu::noinline]] void refresh_load() {
        put(a_.x, y_, w_, angle_, q_);
        set(a_, t_, from_);
        d_.refresh_load(a_, s_.window.end,
                        s_.window.end - s_.window_start > 4 * load_lasts ? 4 * load_lasts : load_lasts);
    }

    // The state h on, and what hangs on it.
    [[gnu::always_inline]] inline void step(const ModeRow& r, double h) {
        const double slope = d_.load_slope_.torque, load = d_.load_.torque - slope * d_.load_speed_;
        double mean_w = w_ + 0.5 * h * inv_j_ * (torque_ - load - slope * w_);
        if constexpr (Block<Machine>::magnets) {
            // A light rotor follows every pulse of the torque: its mean speed, by the way the torque sets out. With the
            // speed of half the way more goes to the shaft than the windings give.
            if (torque_rate_ != torque_rate_) {
                block_.turn(form_, r, pole_pairs_ * mean_w, angle_ + 0.5 * h * pole_pairs_ * mean_w);
                torque_rate_ = block_.torque_rate(y_, form_.rate(y_));
            }
            mean_w += h * std::min(h, 1.0 / rate_) * (1.0 / 6) * inv_j_ * torque_rate_;
        }
        block_.turn(form_, r, pole_pairs_ * mean_w, angle_ + 0.5 * h * pole_pairs_ * mean_w);
        to_ = carry(y_, h, bend_);
        mean_w_ = mean_w;
        torque1_ = block_.torque(to_);
        const Five half = {0.5 * (y_.i + to_.i) + bend_.i, 0.5 * (y_.psi + to_.psi) + bend_.psi, 0.0};
        mean_torque_ = (torque_ + 4 * block_.torque(half) + torque1_) * (1.0 / 6);
        w1_ = w_ + h * inv_j_ * (mean_torque_ - load - slope * mean_w);
        angle1_ = angle_ + h * pole_pairs_ * (0.5 * (w_ + w1_) - h * inv_j_ * (torque1_ - torque_) * (1.0 / 12));
        q1_ = q_ + h * (d_.load_.flow_rate + d_.load_slope_.flow_rate * (w_ - d_.load_speed_));
    }

    // One piece, towards `stop`; none where it turns out too long. True: it ends at an event.
    [[gnu::always_inline]] inline bool piece(const ModeRow& r, double stop) {
        const double left = std::min(stop - t_, to_corner()),
                     turn_most = r.free < 2 && !block_.straight() ? d_.turn_piece(w_) : guess_;
        const double most = std::min({climbs_ ? left : d_.reach_.back() / rate_, guess_, turn_most});
        double h = left;
        if (!(left <= most)) h = climbs_ ? ladder_->step_below(most) : 0.0;
        if (!(h > 0.0)) h = left / std::ceil(left / most);
        const bool whole = h == stop - t_, corner = !whole && h == left;
        step(r, h);
        ++s_.steps;
        double worst = bends_less * shows(bend_);
        if (climbs_) [[unlikely]]
            worst = std::max(worst, layer(h));
        if constexpr (Block<Machine>::magnets) worst = std::max(worst, misjudged(h));
        if (!(worst <= 1.3)) [[unlikely]] {
            too_long(h, worst);
            return false;
        }
        // One cut short by an edge or a corner tells nothing of how long it could have been.
        if (h < left || worst > 0.6) guess_ = std::min(2 * guess_, h * (0.95 / std::sqrt(std::max(worst, 0.01))));
        if (std::exchange(first_, false)) s_.long_step[0] = guess_;
        double t1 = whole ? stop : t_ + h;
        next_ = link_at(r, to_);
        bool event = false;
        if (r.watched || chain_.turning * w1_ <= 0.0) event = look(r, h, t1);
        add(r, h);
        const bool sensed = d_.senses_ && d_.senses_->measures();
        if (shown || sensed) show(r, h, t1, fine || sensed ? std::ceil(std::sqrt(worst * (1.0 / bends_less))) : 1.0);
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
    // The current that a light rotor's mean speed makes, beside the one that was guessed.
    [[gnu::always_inline]] inline double misjudged(double h) const {
        const double guessed = (angle1_ - angle_) - h * pole_pairs_ * mean_w_, pw = pole_pairs_ * mean_w_;
        if (!(std::abs(pw) > 1e-9)) return 0.0;
        const Two rate = (form_.of_p * y_.psi[0] + form_.of_q * y_.psi[1]) * (guessed / pw);
        return speed_counts * std::max(std::abs(rate[0]), std::abs(rate[1])) * d_.piece_weight_[i_alpha];
    }
    // What dies away within a piece is no parabola, and its squares are more than a chord's: by how much the middle is
    // beside that of the cubic by both ends and their rates (Hermite), mean of the ends + h (y0' - y1') / 8. Where a
    // source holds the link, millivolts are amperes of its own.
    double layer(double h) const {
        const Five change = form_.rate(y_) + -1.0 * form_.rate(to_), off = bend_ + (-0.125 * h) * change;
        return layer_counts * std::max(shows(off), std::abs(tangent_.slope * off.v) * d_.piece_weight_[i_alpha]);
    }
    // s until the trapezoid of an EMF bends, and a little more.
    [[gnu::always_inline]] inline double to_corner() {
        if constexpr (!Block<Machine>::magnets) return std::numeric_limits<double>::infinity();
        else return (block_.straight_on(angle_, w_) + 1e-9) / std::max(std::abs(pole_pairs_ * w_), 1e-9);
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
        set(b_, t1, next_);
        const double breach = d_.violation(s_.legs, b_);
        if (!(breach > 0.0)) return false;
        put(a_.x, y_, w_, angle_, q_);
        set(a_, t_, from_);
        const auto at = [&](double when) {
            Point p = a_;
            step(r, when - t_);
            next_ = link_at(r, to_);
            put(p.x, to_, w1_, angle1_, q1_);
            set(p, when, next_);
            return p;
        };
        t1 = d_.locate(s_.legs, t_, d_.violation(s_.legs, a_), b_, breach, at).t;
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
        set(a_, from.t, link_at(r, begin));
        put(b_.x, end, to.w, to.angle, to.q);
        set(b_, to.t, link_at(r, end));
        if constexpr (fine) chain_.complete(a_), chain_.complete(b_);  // on the source's curve, not beside it
        if constexpr (shown) sink_.piece(chain_, a_, b_);
        if (d_.senses_ && d_.senses_->measures()) [[unlikely]]
            d_.senses_->piece(chain_, s_, a_, b_);
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
    static constexpr double bends_less = 0.1, shift = 2.0 / 3, layer_counts = 2.0, speed_counts = 30.0;
    Driver& d_;
    State& s_;
    Sink& sink_;
    Chain<Machine>& chain_;
    const Block<Machine>& block_;
    const bool stiff_;
    const double pole_pairs_, esr_, inv_j_;
    Five y_, to_{}, bend_{};
    double t_, w_, angle_, q_, torque_, w_start_;
    double guess_ = 0.0;  // s, the longest piece to try
    bool first_ = true;   // of a stretch
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
