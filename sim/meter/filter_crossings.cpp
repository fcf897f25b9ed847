// When a filtered wave passes two levels.
#include "meter/filter_bank.hpp"

namespace sunshaft::meter {

Crossings Filter::cross(trace::View u, double low, double high) const {
    Crossings out;
    const double T = trace::duration(u);
    if (!(T > 0.0)) return out;
    if (no_mean_) {
        Filter rest = *this;
        rest.no_mean_ = false;
        return rest.cross(trace::scaled(u, 1.0, -trace::statistics(u).mean), low, high);
    }
    const Bank bank(*this);
    const double scale = largest(u);
    struct Event {
        double t;
        bool up;  // through `high`; else down through `low`
    };
    std::vector<Event> events, here;
    double above = 0.0;
    bool over_high = false, over_low = false, first = true, began_high = false, began_low = false;
    for_each_piece(bank, u, Start::periodic, [&](Piece<Bank>& piece, const trace::Segment&) {
        const double a = piece.q[0];
        here.clear();
        // One level at a time; the stretch before the first change of side counts with the side at the start.
        const auto side = [&](double level, bool up, bool& over) {
            piece.q[0] = a - level;
            const bool starts = piece.at_start() > 0.0;
            if (first) (up ? began_high : began_low) = starts;
            if (!first && starts != over && starts == up) here.push_back({0.0, up});
            over = starts;
            double from = 0.0, spent = 0.0;
            search_sign_changes(piece, scale, [&](double t0, double ya, double t1, double yb) {
                if ((yb > 0.0) == over) return;
                const double root = piece.root_between(t0, t1, ya, yb);
                if (over) spent += root - from;
                from = root;
                over = !over;
                if (over == up) here.push_back({root, up});
            });
            if (over) spent += piece.h - from;
            return spent;
        };
        const double spent = side(high, true, over_high);
        above += spent;
        if (low < high) side(low, false, over_low);  // the same level: every rise has its fall
        piece.q[0] = a;
        std::sort(here.begin(), here.end(), [](const Event& x, const Event& y) { return x.t < y.t; });
        events.insert(events.end(), here.begin(), here.end());
        first = false;
    });
    out.above = above / T;
    // Where the end joins the beginning.
    if (over_high != began_high && began_high) events.push_back({T, true});
    if (over_low != began_low && !began_low) events.push_back({T, false});
    // Twice round, counted the second time: the arming carries over.
    bool armed = !(low < high);
    for (int round = 0; round < 2; ++round) {
        out.rising = 0;
        for (const Event& e : events) {
            if (!e.up) armed = true;
            else if (armed) {
                ++out.rising;
                armed = !(low < high);
            }
        }
    }
    return out;
}

}  // namespace sunshaft::meter
