#include "diagnose/runs.hpp"

#include <algorithm>
#include <cmath>

#include "bench/drawn.hpp"
#include "bench/field_tests.hpp"
#include "day/foretell.hpp"
#include "drive/overload.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr double longest_s = 60.0;
// That are looked at: where something swings, where turns are alike, and where they differ by what a carrier beside
// them brings.
constexpr int draw_downs = 3;  // rounds
constexpr double window_s = 0.4, turns_alike_s = 0.06, nearly_alike_s = 0.12;

bool cut_off(const std::vector<site::Act>& acts) {
    return std::any_of(acts.begin(), acts.end(), [](const site::Act& a) {
        return (a.kind == "open" && a.place == "isolator") || a.kind == "stop" ||
               (a.kind == "cover" && a.place == "array");
    });
}

}  // namespace

struct Brought {
    bench::Bench bench;
    double window = window_s, cycle = 0.0;
    bool swings = false;   // to and fro for ever: no level is told any nearer by it
    bool hunts = false;    // its tracker goes to and fro: figures are what they are at one moment
    bool rests = true;     // Standing::rests
    bool started = false;  // it was run in: by a start, or from where it ran
};

namespace {

// The electronics are dark and what is on the link bleeds away, or is nothing that counts.
bool bleeds_down(const bench::Bench& b, double before_V) {
    constexpr double surely_s = 5.0, nothing_V = 1.0;
    const plant::State& s = b.state();
    const double volt = s.x[plant::v_cap];
    return s.control.phase == drive::Phase::off && s.control.time - s.control.since > surely_s &&
           (std::abs(volt) < nothing_V || (volt > 0.0 && volt < before_V));
}

// To where that comes to rest: who comes finds it minutes later.
void bleed_down(bench::Bench& b) {
    constexpr double look_s = 0.5, near_V = 0.05;
    constexpr int most = 6;
    for (int n = 0; n < most; ++n) {
        const double one = b.state().x[plant::v_cap];
        b.advance(look_s);
        const double two = b.state().x[plant::v_cap];
        b.advance(look_s);
        const double three = b.state().x[plant::v_cap], bend = (three - two) - (two - one);
        if (std::abs(three - one) < near_V || !(bend > 0.0)) return;
        plant::State there = b.state();
        there.x[plant::v_cap] = three - (three - two) * (three - two) / bend;  // as an exponential ends
        b.take(there);
    }
}

// As a start ends: at rest, hunting about the best point, or at the same place of a cycle that comes again and again
// where so much waiting would have ended.
void run_in(Brought& run) {
    bench::Bench& b = run.bench;
    run.window = window_s;
    run.started = true;
    plant::Patience patience(*b.site(), b.state());
    const double end = b.time() + longest_s;
    plant::State before = b.state();  // the last one that was not too far
    bool bleeds = false;
    const auto fraction_passed = [&](double fraction) {
        bleeds = bleeds_down(b, before.x[plant::v_cap]);
        if (b.time() <= end) before = b.state();
        return !bleeds && patience(fraction);
    };
    const bool settled = b.settle(longest_s, fraction_passed).settled || bleeds;
    if (bleeds) bleed_down(b);
    if (!patience.swings) run.window = nearly_alike_s;  // a swing is slower than turns, all else is not
    run.rests = settled || patience.swings || patience.cycle > 0.0;
    run.swings = patience.cycle == 0.0 && patience.swings;
    run.hunts = patience.cycle == 0.0 && patience.hunts;
    run.cycle = patience.cycle;
    if (patience.cycle == 0.0) return;
    if (b.time() > end) b.state() = before;  // the look that told of the cycle went past it
    const double left = end - b.time(), rest = left - patience.cycle * std::floor(left / patience.cycle);
    b.state().slow.held = true;
    if (rest > 0.0) b.advance(rest);
    b.state().slow.held = false;
}

// Who comes finds it at rest, not as it runs down, and the well as it was before.
void run_down(bench::Bench& there) {
    constexpr double still = 1.0;  // rad/s: less is silent
    for (int n = 0; n < 10 && std::abs(there.state().x[plant::speed]) > still; ++n) {
        bench::Bench later(there);
        later.advance(0.5);
        if (later.state().control.phase != there.state().control.phase) break;
        there = std::move(later);
    }
    if (there.site()->works.water.pump.index() != 0) there.state().water_level = there.site()->works.water.static_level;
}

// Where its current lies so near that of a stall that another pump of its kind would be stopped: the site then.
std::optional<plant::State> stalled(const bench::Bench& now) {
    constexpr double near = 0.05;  // common practice, no source: what sun, warmth and data leave open of a current
    const auto& settings = now.site()->works.drive;
    if (!drive::nearly_stalls(settings, now.state().control, near)) return {};
    bench::Bench there(now);
    drive::stop_stalled(settings, there.state().control);
    there.advance(0.5);
    run_down(there);
    return there.state();
}

// Sets Standing::waits of a start that fails and comes again and again: the half of it that is not seen now.
void add_other_half(const bench::Bench& now, Standing& s) {
    bench::Bench there(now);
    const bool turns = drive::turning(there.state().control.phase);
    for (double passed = 0.0; passed < s.cycle; passed += 0.5) {
        there.advance(0.5);
        if (drive::turning(there.state().control.phase) == turns) continue;
        if (turns) run_down(there);
        s.waits = there.state();
        return;
    }
}

// Sets Standing::waits.
void add_wait(const bench::Bench& now, Standing& s) {
    if (s.cycle > 0.0) return add_other_half(now, s);
    if ((s.waits = stalled(now))) {
        s.trips = true;
        return;
    }
    constexpr double ever_s = 3600.0, briefly_s = 120.0;
    const auto& settings = now.site()->works.drive;
    drive::ControlState cold = now.state().control;
    cold.heat = 0.0;
    const double left = drive::overload_in_s(settings, cold);
    if (!(left < ever_s)) return;
    bench::Bench there(now);
    there.state().control.heat = 10.0;  // full: stops at the next look
    there.advance(0.5);
    if (there.state().control.trip != drive::Cause::motor_overload) return;
    run_down(there);
    s.waits = there.state();
    s.trips = left < std::max(briefly_s, settings.trip_forget_s);
}

void add_later(const Brought& run, Standing& s) {
    const bench::Bench& now = run.bench;
    std::vector<double> after_s;  // each so many seconds after the one before
    if (run.hunts) after_s = {4.0, 7.0};
    // Until it trips it may never come to rest: the tracker creeps all the while.
    else if (s.waits && s.trips && !s.rests)
        after_s = {0.9 * drive::overload_in_s(now.site()->works.drive, now.state().control)};
    bench::Bench there(now);
    for (const double seconds : after_s) {
        there.advance(seconds);
        if (there.state().control.trips != now.state().control.trips) break;
        s.later.push_back(there.state());
    }
}

// Sets Standing::waits of one that draws its well down until the guard stops it, for far longer than it lets it run:
// the well has come back by then.
void add_hold(const Brought& run, Standing& s) {
    const site::Works& w = run.bench.site()->works;
    if (!w.guards.dry.fitted || !drive::turning(run.bench.state().control.phase) ||
        plant::well(w).steady_level(std::max(0.0, bench::outflow(run.bench))) < w.guards.probe_depth)
        return;
    bench::Bench there(run.bench);
    there.state().water_level = w.guards.probe_depth + 0.1;
    there.advance(w.drive.dry_delay_s + 1.0);
    if (there.state().control.phase != drive::Phase::dry_hold) return;  // its guard is blind
    run_down(there);
    s.waits = there.state();
    s.cycle = w.drive.dry_retry_s;
}

// No other hill of the array's lies on the way down to its best.
bool has_one_hill(const site::SourceCurve& source) {
    return !source.stiff && plant::from_above(source, source.max_power_V * 1.001);
}

bool water_comes(const bench::Bench& b) { return b.state().x[plant::flow] > 0.0; }
// However the bore stands: its pump does nothing, or turns as fast as it may and reaches not even the rest level.
bool lifts_nothing(const bench::Bench& b) {
    if (water_comes(b)) return false;
    const plant::Instant now = b.plant().look(b.state());
    return now.head <= (b.state().control.setting >= 1.0 ? now.static_head : 0.0);
}

// Within what no clamp of the trade tells apart, at any link voltage.
bool gives_the_same(const site::SourceCurve& a, const site::SourceCurve& b) {
    constexpr double share = 1e-2;
    if (a.stiff || b.stiff || std::abs(a.open_V - b.open_V) > share * a.open_V) return false;
    const double most = std::abs(a.source_current(0.0));
    for (const double v : a.grid())
        if (v >= 0.0 && v <= a.open_V && std::abs(a.source_current(v) - b.source_current(v)) > share * most)
            return false;
    return true;
}

Standing standing_of(const Brought& run) {
    Standing s{run.bench.state(), run.window, run.rests, run.cycle};
    add_wait(run.bench, s);
    add_later(run, s);
    return s;
}

}  // namespace

// The site as it is written, after these acts, running: whose state others that start alike take over.
const Runs::Neighbour* Runs::neighbour(const std::vector<site::Act>& acts) const {
    std::unique_lock hold(lock_);
    Met& met = met_[State{acts}.key()];
    hold.unlock();
    std::call_once(met.once, [&] {
        try {
            bench::Bench b(*scenario_, {{}, {}, acts});
            plant::Patience patience(*b.site(), b.state());
            const bool settled = b.settle(longest_s, [&](double fraction) { return patience(fraction); }).settled;
            if (!(settled || patience.hunts || patience.swings) || !b.state().command.running ||
                !drive::turning(b.state().control.phase))
                return;
            for (int round = 0; round < draw_downs && !bench::drawn_down(b); ++round) b.settle(longest_s);
            plant::Periodic p;
            if (settled) p = plant::periodic(b.plant(), b.state());
            met.near = std::make_unique<const Neighbour>(Neighbour{std::move(b), std::move(p)});
        } catch (const std::exception&) {  // each site starts by itself
        }
    });
    return met.near.get();
}

// Whether a state is one in which the site stays, or leads there in some turns. full: with all the drive may give.
bool Runs::stays(const Neighbour& near, bench::Bench& trial, bool full, double target_V, double& window) {
    const int trips = trial.state().control.trips;
    bool there = false;
    window = window_s;
    if (full) {
        const bool alike =
            plant::periodic(trial.plant(), trial.state(), near.periodic.found ? &near.periodic : nullptr).found;
        const plant::Stays how = alike ? plant::Stays::even : plant::runs_on(trial.plant(), trial.state());
        there = how != plant::Stays::no;
        if (how == plant::Stays::even) window = alike ? turns_alike_s : nearly_alike_s;
    }
    if (!there && (target_V > 0.0 || !full)) {
        const plant::Stays how = plant::regulated(trial.plant(), trial.state(), target_V);
        there = how != plant::Stays::no;
        if (how == plant::Stays::even) window = nearly_alike_s;
    }
    return there && trial.state().control.trips == trips;
}

bool Runs::as_neighbour(const Neighbour& near, bench::Bench& b, double& window) {
    if (!plant::starts_alike(*near.bench.site(), *b.site())) return false;
    const site::SourceCurve& source = b.site()->source;
    bench::Bench trial(b);
    plant::take_up(trial.plant(), trial.state(), *near.bench.site(), near.bench.state());
    const bool one_hill = has_one_hill(source);
    const bool full = near.bench.state().control.setting >= 1.0;
    if (!stays(near, trial, full, one_hill ? source.max_power_V : 0.0, window)) return false;
    if (!source.stiff && trial.state().control.setting >= 1.0 &&
        !plant::from_above(source, trial.state().control.link_V))
        return false;
    b = std::move(trial);
    return true;
}

bool Runs::foretold(const Neighbour& near, const Change& change, bench::Bench& b, double& window) {
    bench::Bench trial(b);
    const auto f = day::foretell(b.scenario(), change.faults, trial.plant(), trial.state(), *near.bench.site(),
                                 near.bench.state());
    if (!f.runs) return false;
    trial.state() = f.state;
    if (!stays(near, trial, f.full, f.target_V, window)) return false;
    b = std::move(trial);
    return true;
}

// The same site with another change that does the same to it, worked out once.
const Runs::Stood& Runs::stood_once(const Change& change) const {
    std::unique_lock hold(lock_);
    Stood& there = stood_[change.faults.front().kind + "@" + change.faults.front().place];
    hold.unlock();
    std::call_once(there.once, [&] {
        try {
            const bench::Bench b = at_rest(change);
            there.source = b.site()->source;
            there.standing = std::make_unique<const Standing>(stood(change, b));
        } catch (const std::exception&) {  // each by itself
        }
    });
    return there;
}

// A line that is open is open wherever that is: what opens one and does nothing else runs as a parted winding does. A
// leg that is dead opens it for a shaft at rest, which makes no volts that its diodes would let by. None: it is
// something else.
const Standing* Runs::with_open_line(const bench::Bench& b) const {
    const site::Works& w = b.site()->works;
    if (w.turns.on()) return nullptr;
    for (std::size_t k = 0; k < 3; ++k) {
        const site::Phase& p = w.phases[k];
        const drive::LegParts& leg = w.bridge.legs[k];
        const bool dead = leg.upper == drive::Device::open && leg.lower == drive::Device::open;
        if (!(dead || p.through() > site::open_above_ohm) ||
            std::min({p.earth_leak_ohm, p.between_leak_ohm, p.earth_cell_ohm}) < site::open_above_ohm)
            continue;
        const Standing* open =
            stood_once({{}, {{"winding-open", std::string(1, static_cast<char>('u' + k)), 1.0, 0.0}}}).standing.get();
        const bool stands = open && open->state.turning == 0 && open->state.x[plant::speed] == 0.0;
        return dead && !stands ? nullptr : open;
    }
    return nullptr;
}

// A string that gives nothing gives nothing wherever it is parted: what makes the array's curve that of an open string,
// and is in the array alone, runs as that does. None: it is something else.
const Standing* Runs::with_dead_string(const site::Fault& fault, const bench::Bench& b) const {
    const std::string string = fault.place.substr(0, fault.place.find('.'));
    if (std::string_view(site::find_fault(fault.kind)->group) != "array" || string.size() < 2 || string[0] != 's' ||
        b.site()->works.array.strings.size() < 2)
        return nullptr;
    const Stood& open = stood_once({{}, {{"open-string", string, 1.0, 0.0}}});
    return open.standing && gives_the_same(open.source, b.site()->source) ? open.standing.get() : nullptr;
}

// A main that runs empty as no neighbour's does begins where the neighbour runs. False: it begins otherwise.
bool Runs::beside_neighbour(Brought& r) const {
    const Neighbour* near = neighbour();
    if (!near || !plant::starts_alike(*near->bench.site(), *r.bench.site())) return false;
    try {
        Brought there(r);
        plant::take_up(there.bench.plant(), there.bench.state(), *near->bench.site(), near->bench.state());
        const int trips = there.bench.state().control.trips;
        run_in(there);
        if (there.bench.state().control.trips != trips) return false;
        r = std::move(there);
        return true;
    } catch (const plant::SolverError&) {
        return false;
    }
}

// Where it stands, begun with the water at a level.
Brought Runs::brought(const Change& change, const bench::Bench& at_rest, double level) const {
    Brought r{at_rest};
    r.bench.state().water_level = level;
    const bool runs_empty = r.bench.site()->works.water.leak_area > 0.0;  // its main, which no other tells
    try {
        if (const Neighbour* near = runs_empty ? nullptr : neighbour();
            near && (as_neighbour(*near, r.bench, r.window) || foretold(*near, change, r.bench, r.window)))
            return r;
    } catch (const plant::SolverError&) {
    }
    if (!runs_empty || !beside_neighbour(r)) run_in(r);
    if (runs_empty) run_in(r);  // what leaks goes on finding its level where all else is at rest
    return r;
}

// To where it stands now that its water has been moved.
void Runs::go_on(const Neighbour* near, Brought& r) {
    const drive::ControlState& c = r.bench.state().control;
    const site::SourceCurve& source = r.bench.site()->source;
    const double tracked_V = has_one_hill(source) ? source.max_power_V : c.link_V;
    try {
        bench::Bench trial(r.bench);
        double window = 0.0;
        if (near && !r.swings && stays(*near, trial, c.setting >= 1.0, tracked_V, window)) {
            r = Brought{std::move(trial), window};
            r.started = true;
            return;
        }
    } catch (const plant::SolverError&) {
    }
    run_in(r);
}

Standing Runs::stood(const Change& change, const bench::Bench& at_rest) const {
    const Neighbour* near = neighbour();
    Brought r =
        brought(change, at_rest,
                near ? bench::drawn_down_to(at_rest, bench::outflow(near->bench)) : at_rest.state().water_level);
    for (int round = 0; round < draw_downs; ++round) {
        if (bench::drawn_down(r.bench) || lifts_nothing(r.bench)) break;
        // What is found without a start is found so again. What starts again and again starts with the water where it
        // is then; and so did what has never pumped any.
        if (!r.started || r.cycle > 0.0 || (r.swings && !water_comes(r.bench)))
            r = brought(change, at_rest, r.bench.state().water_level);
        else go_on(near, r);
        if (r.swings && water_comes(r.bench)) break;
    }
    Standing s = standing_of(r);
    if (!s.waits) add_hold(r, s);
    return s;
}

bench::Bench Runs::at_rest(const Change& change) const {
    return bench::Bench(*scenario_, {change.set, change.faults, {}});
}

Standing Runs::standing(const Change& change, const bench::Bench& b) const {
    if (change.set.empty() && change.faults.size() == 1) {
        if (const Standing* open = with_open_line(b)) return *open;
        if (const Standing* dead = with_dead_string(change.faults.front(), b)) return *dead;
    }
    return stood(change, b);
}

Run Runs::taken_up(const bench::Bench& at_rest, const Standing& s) {
    Run r{at_rest, s.window, s.cycle, s.trips, s.later, {}};
    if (s.waits) r.waits.emplace(r.bench).take(*s.waits);
    r.bench.take(s.state);
    return r;
}

Run Runs::after(const Change& change, const State& state, const Run* running) const {
    bench::Edits edits{change.set, change.faults, state.acts};
    if (state.restarts()) {  // it begins where every start does
        std::erase_if(edits.acts, [](const site::Act& a) { return a.kind == "restart"; });
        for (site::Act& a : edits.acts) a.time = 0.0;
        Run r{bench::Bench(*scenario_, edits), window_s};
        r.bench.advance(state.after_s);
        if (const auto there = stalled(r.bench)) r.waits.emplace(r.bench).take(*there);
        return r;
    }
    if (std::isfinite(state.after_s)) {
        const auto done_to = [&](bench::Bench& b) {
            edits = b.edits();
            for (site::Act a : state.acts) a.time = b.time(), edits.acts.push_back(a);
            b.edit(edits);
            b.advance(state.after_s);
        };
        Run r{running->bench, window_s};
        done_to(r.bench);
        if (running->waits) done_to(r.waits.emplace(*running->waits));
        return r;
    }
    for (site::Act& a : edits.acts) a.time = 0.0;
    Brought r{bench::Bench(*scenario_, edits)};
    if (cut_off(state.acts)) {
        bench::wait_for_link(r.bench);
        return {std::move(r.bench), window_s};
    }
    const auto found = [](Brought&& there) {
        const Standing s = standing_of(there);  // what stops and is started again is found so or so, after an act too
        Run out{std::move(there.bench), s.window, s.cycle, s.trips, s.later, {}};
        if (s.waits) out.waits.emplace(out.bench).take(*s.waits);
        return out;
    };
    try {
        if (const Neighbour* near = neighbour(state.acts)) {
            r.bench.state().water_level = bench::drawn_down_to(r.bench, bench::outflow(near->bench));
            if (as_neighbour(*near, r.bench, r.window)) return found(std::move(r));
        }
    } catch (const plant::SolverError&) {
    }
    run_in(r);
    return found(std::move(r));
}

}  // namespace sunshaft::diagnose
