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

// Shaft and water at mean speed and on both sides of it: Simpson's rule then has the speed's mean square, too. What a
// pump that displaces asks for is a quadratic of speed and flow together: on both sides along both.
template <class Machine>
void Driver<Machine>::book_slow(State& s, const Sums& k, double w_start) {
    if (!(k.seconds > 0.0)) return;
    const double mean = k.faster / k.seconds,
                 aside = std::sqrt(3 * std::max(0.0, k.faster_square / k.seconds - mean * mean));
    X from = booked_x_, middle = booked_x_, to = s.x;
    middle[speed] = w_start + mean;
    middle[flow] = 0.5 * (from[flow] + to[flow]);
    if (chain.load_rate() != 0.0) {
        const double fuller = k.fuller / k.seconds, both = 3 * (k.fuller_faster / k.seconds - fuller * mean),
                     along = aside > 0.0 ? both / aside : 0.0,
                     rest =
                         std::sqrt(std::max(0.0, 3 * (k.fuller_square / k.seconds - fuller * fuller) - along * along));
        middle[flow] = booked_x_[flow] + fuller;
        chain.mechanical(middle, k.seconds / 3, s.energy);
        for (const double way : {-1.0, 1.0}) {
            X beside = middle;
            beside[flow] += way * rest;
            chain.mechanical(beside, k.seconds / 6, s.energy);
            beside[speed] = middle[speed] + way * aside, beside[flow] = middle[flow] + way * along;
            chain.mechanical(beside, k.seconds / 6, s.energy);
        }
    } else {
        const double way = to[speed] < from[speed] ? -aside : aside;
        from[speed] = middle[speed] - way, to[speed] = middle[speed] + way;
        chain.account_slow(k.seconds, from, middle, to, s.energy);
    }
    shut_check_valve(s);
    booked_t_ = s.t, booked_x_ = s.x;
}

// Whether the way of a linear machine serves in this mode.
template <class Machine>
bool Driver<Machine>::affine(const State& s, double stop) const {
    if (options_.method != Method::automatic || !block_.holds() || chain.sine.on || !even_load()) return false;
    return chain.row->driven != 0 || chain.stiffness(s.x, s.t) * (stop - s.t) <= 1.0;  // as in choose()
}

// For a mode, near a tangent and a speed. A shaft that trembles, on unequal lines, comes back to a few speeds a turn.
template <class Machine>
const Ladder& Driver<Machine>::ladder(const ModeRow& r, const Tangent& tangent, double pw) {
    if (ladders_.empty()) ladders_.resize(chain.compiled()->rows.size());
    Ladders& of_mode = ladders_[static_cast<std::size_t>(&r - chain.compiled()->rows.data())];
    const Tangent near = {tangent.i, Ladder::near_slope(tangent.slope, chain.compiled()->inv_c)};
    const double near_pw = Ladder::near_speed(pw);
    const auto it = [&](const Ladder& l) { return l.is_of(near.slope, near_pw); };
    if (of_mode.now < of_mode.kept.size() && it(of_mode.kept[of_mode.now])) return of_mode.kept[of_mode.now];
    const auto known = std::find_if(of_mode.kept.begin(), of_mode.kept.end(), it);
    of_mode.now = static_cast<std::size_t>(known - of_mode.kept.begin());
    if (known != of_mode.kept.end()) return *known;
    if (of_mode.kept.size() < most_ladders) of_mode.kept.emplace_back();  // is held by nobody meanwhile
    of_mode.now = of_mode.next;
    of_mode.next = (of_mode.next + 1) % most_ladders;
    Ladder& l = of_mode.kept[of_mode.now];
    Affine base = block_.form(r, near);
    block_.turn(base, r, near_pw, 0.0);
    l.build(base, near.slope, near_pw, block_.fastest(r, near, near_pw));
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

}  // namespace sunshaft::plant
