#include "plant/surges.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace sunshaft::plant {
namespace {

constexpr double loss_factor = 0.05;  // of the insulation
constexpr double resistivity = 1.7241e-8, vacuum = 4e-7 * std::numbers::pi;
constexpr double died_away = 0.01;  // of an edge: what is left then is taken to be gone
constexpr int most_waves = 400;

double ramp(double t, double edge_s) {
    if (t < 0.0) return 0.0;
    return edge_s > 0.0 ? std::min(t / edge_s, 1.0) : 1.0;
}

// One front of the answer to an edge of 1: so much after it, so high, of the edge's own length.
struct Front {
    double after, step;
};

// The answer's difference to the settled jump, or current, which the lumped wave has from the edge on.
std::vector<Front> fronts_at_motor(const SurgeLine& line) {
    std::vector<Front> list;
    const double whole = line.settled(), bounce = line.at_end() * line.at_source() * line.keep * line.keep;
    double wave = line.launched() * line.keep * (1.0 + line.at_end()) / whole, reached = 0.0;
    for (int n = 0; n < most_waves; ++n) {
        const double after = (2 * n + 1) * line.delay_s;
        if (std::abs(1.0 - reached) < died_away && std::abs(wave) < died_away) {
            list.push_back({after, 1.0 - reached});
            break;
        }
        list.push_back({after, wave});
        reached += wave;
        wave *= bounce;
    }
    return list;
}

std::vector<Front> fronts_at_drive(const SurgeLine& line) {
    std::vector<Front> list;
    double wave = line.launched() / line.surge_ohm, reached = wave;
    list.push_back({0.0, wave});
    const double step = line.keep * line.keep * line.at_end();
    const double least = died_away * wave, whole = wave * (1.0 - step) / (1.0 - step * line.at_source());
    for (int n = 1; n < most_waves; ++n) {
        // What comes back counts against the current, what of it is reflected again with it.
        const double back = wave * step;
        wave = back * line.at_source();
        if (std::abs(reached - whole) < least && std::abs(back) < least) {
            // What a resistance in place of the winding would take for good is the lumped current's business.
            list.push_back({2 * n * line.delay_s, -reached});
            break;
        }
        list.push_back({2 * n * line.delay_s, wave - back});
        reached += wave - back;
    }
    return list;
}

struct Jump {
    double t, step;
};
std::vector<Jump> jumps(trace::View wave) {
    double largest = 0.0;
    for (const trace::Segment& s : wave) largest = std::max({largest, std::abs(s.y0), std::abs(s.y1)});
    std::vector<Jump> list;
    for (std::size_t n = 1; n < wave.size(); ++n)
        if (const double step = wave[n].y0 - wave[n - 1].y1; std::abs(step) > 1e-3 * largest)
            list.push_back({wave[n].t0, step});
    return list;
}

// The wave and, from each jump on, its fronts; less the jump itself where `instead`.
trace::Trace added(trace::View wave, const std::vector<Jump>& edges, const std::vector<Front>& fronts, double edge_s,
                   bool instead) {
    struct Turn {  // of what is added: a step, a change of slope
        double t, step, slope;
    };
    std::vector<Turn> turns;
    for (const Jump& e : edges) {
        if (instead) turns.push_back({e.t, -e.step, 0.0});
        for (const Front& f : fronts) {
            const double high = e.step * f.step, t = e.t + f.after;
            if (edge_s <= 0.0) {
                turns.push_back({t, high, 0.0});
                continue;
            }
            turns.push_back({t, 0.0, high / edge_s});
            turns.push_back({t + edge_s, 0.0, -high / edge_s});
        }
    }
    std::sort(turns.begin(), turns.end(), [](const Turn& a, const Turn& b) { return a.t < b.t; });
    trace::Trace out;
    out.reserve(wave.size() + turns.size());
    double more = 0.0, slope = 0.0, since = wave.empty() ? 0.0 : wave.front().t0;
    auto turn = turns.begin();
    for (const trace::Segment& s : wave) {
        double from = s.t0;
        const double own = (s.y1 - s.y0) / (s.t1 - s.t0);
        const auto put = [&](double to) {
            if (!(to > from)) return;
            out.push_back({from, to, s.y0 + own * (from - s.t0) + more + slope * (from - since),
                           s.y0 + own * (to - s.t0) + more + slope * (to - since)});
            from = to;
        };
        for (; turn != turns.end() && turn->t < s.t1; ++turn) {
            put(std::max(turn->t, s.t0));
            more += slope * (turn->t - since) + turn->step;
            since = turn->t;
            slope += turn->slope;
        }
        put(s.t1);
    }
    return out;
}

}  // namespace

double SurgeLine::sum(double edge_s, double share, double t, double backward) const {
    double out = 0.0, wave = launched();
    const double there = std::pow(keep, share), back = std::pow(keep, 1.0 - share);
    for (int n = 0; n < 100000 && std::abs(wave) > 1e-15; ++n) {
        const double forth = t - (2 * n + share) * delay_s, again = t - (2 * n + 2 - share) * delay_s;
        if (forth < 0.0) break;
        out += wave * there * ramp(forth, edge_s);
        out += backward * wave * keep * at_end() * back * ramp(again, edge_s);
        wave *= keep * keep * at_end() * at_source();
    }
    return out;
}

double SurgeLine::voltage(double edge_s, double share, double t) const { return sum(edge_s, share, t, 1.0); }
double SurgeLine::current(double edge_s, double share, double t) const {
    return sum(edge_s, share, t, -1.0) / surge_ohm;
}

double SurgeLine::settled() const {
    return launched() * keep * (1.0 + at_end()) / (1.0 - at_end() * at_source() * keep * keep);
}

double SurgeLine::peak(double edge_s) const {
    // Straight between the times at which a front begins or ends: the highest is at one of them.
    double most = settled();
    for (int n = 0; n < 60; ++n)
        for (const double t : {(2 * n + 1) * delay_s, (2 * n + 1) * delay_s + edge_s})
            most = std::max(most, voltage(edge_s, 1.0, t));
    return most;
}

std::optional<SurgeLine> surge_line(const site::Works& w) {
    if (w.supply.kind == site::Supply::Kind::mains || w.drive.modulation == site::Modulation::ideal_sine) return {};
    if (!(w.cable_inductance > 0.0 && w.cable_capacitance > 0.0 && w.cable_m > 0.0)) return {};
    SurgeLine line;
    line.surge_ohm = std::sqrt(w.cable_inductance / w.cable_capacitance);
    line.delay_s = std::sqrt(w.cable_inductance * w.cable_capacitance);
    line.source_ohm = w.bridge.on_resistance;
    line.end_ohm = std::min(w.motor_surge_ohm, 1e9);
    double copper = w.phases[0].cable.ohm;
    for (const site::Phase& phase : w.phases)
        if (!phase.cable.open) copper = std::min(copper, phase.cable.ohm);
    double skin = 0.0;
    if (copper > 0.0) {
        const double radius = std::sqrt(resistivity * w.cable_m / copper / std::numbers::pi);
        const double depth = std::sqrt(resistivity / (std::numbers::pi * line.ring_Hz() * vacuum));
        skin = copper * std::max(1.0, radius / (2.0 * depth));
    }
    line.keep = std::exp(-0.25 * std::numbers::pi * loss_factor - skin / (2.0 * line.surge_ohm));
    return line;
}

double edge_s(const site::Works& w, const SurgeLine& line) {
    return std::hypot(w.edge_s, 2.2 * w.choke / line.surge_ohm);
}

bool at_motor(const std::string& signal) {
    using site::Part;
    const auto colon = signal.find(':');
    bool below = false;
    for (const std::string& point :
         {signal.substr(0, colon), colon == std::string::npos ? std::string() : signal.substr(colon + 1)}) {
        const Part part = site::part_of(point);
        if (part == Part::drive || part == Part::lead) return false;
        below = below || part == Part::motor || part == Part::cable;
    }
    return below;
}

trace::Trace with_surges(const SurgeLine& line, double edge_s, trace::View wave) {
    return added(wave, jumps(wave), fronts_at_motor(line), edge_s, true);
}

trace::Trace with_surges(const SurgeLine& line, double edge_s, trace::View current, trace::View leg_V) {
    return added(current, jumps(leg_V), fronts_at_drive(line), edge_s, false);
}

}  // namespace sunshaft::plant
