#include "diagnose/runs.hpp"

#include <algorithm>
#include <cmath>

#include "bench/field_tests.hpp"
#include "day/foretell.hpp"
#include "drive/overload.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr double longest_s = 60.0;
// That are looked at: where something swings, where turns are alike, and where they differ by what a carrier beside
// them brings.
constexpr double window_s = 0.4, turns_alike_s = 0.06, nearly_alike_s = 0.12;

bool cut_off(const std::vector<site::Act>& acts) {
    return std::any_of(acts.begin(), acts.end(), [](const site::Act& a) {
        return (a.kind == "open" && a.place == "isolator") || a.kind == "stop" ||
               (a.kind == "cover" && a.place == "array");
    });
}

// A site being brought to where it stands.
struct Brought {
    bench::Bench bench;
    double window = window_s, cycle = 0.0;
    bool hunts = false;  // its tracker goes to and fro: figures are what they are at one moment
    bool rests = true;   // Standing::rests
};

// As a start ends: at rest, hunting about the best point, or at the same place of a cycle that comes again and again
// where so much waiting would have ended.
void run_in(Brought& run) {
    bench::Bench& b = run.bench;
    plant::Patience patience(*b.site(), b.state());
    const double end = b.time() + longest_s;
    plant::State before = b.state();  // the last one that was not too far
    const auto fraction_passed = [&](double fraction) {
        if (b.time() <= end) before = b.state();
        return patience(fraction);
    };
    const bool settled = b.settle(longest_s, fraction_passed).settled;
    if (!patience.swings) run.window = nearly_alike_s;  // a swing is slower than turns, all else is not
    run.rests = settled || patience.swings || patience.cycle > 0.0;
    run.hunts = patience.cycle == 0.0 && patience.hunts;
    run.cycle = patience.cycle;
    if (patience.cycle == 0.0) return;
    if (b.time() > end) b.state() = before;  // the look that told of the cycle went past it
    const double left = end - b.time(), rest = left - patience.cycle * std::floor(left / patience.cycle);
    b.state().slow.held = true;
    if (rest > 0.0) b.advance(rest);
    b.state().slow.held = false;
}

// Who comes finds it at rest, not as it runs down.
void run_down(bench::Bench& there) {
    constexpr double still = 1.0;  // rad/s: less is silent
    for (int n = 0; n < 10 && std::abs(there.state().x[plant::speed]) > still; ++n) {
        bench::Bench later(there);
        later.advance(0.5);
        if (later.state().control.phase != there.state().control.phase) break;
        there = std::move(later);
    }
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
    // No hill of the array's may lie on the way down to where it stands.
    const bool one_hill = !source.stiff && plant::from_above(source, source.max_power_V * 1.001);
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

// A line that is open is open wherever that is: what opens one and does nothing else runs as a parted winding does.
// None: it is something else.
const Standing* Runs::with_open_line(const Change& change, const bench::Bench& b) const {
    const site::Works& w = b.site()->works;
    if (!change.set.empty() || change.faults.size() != 1 || w.turns.on()) return nullptr;
    for (std::size_t k = 0; k < 3; ++k) {
        const site::Phase& p = w.phases[k];
        if (!(p.through() > site::open_above_ohm) ||
            std::min({p.earth_leak_ohm, p.between_leak_ohm, p.earth_cell_ohm}) < site::open_above_ohm)
            continue;
        std::call_once(opened_[k], [this, k] {
            bench::Edits edits;
            edits.faults.push_back({"winding-open", std::string(1, static_cast<char>('u' + k)), 1.0, 0.0});
            try {
                Brought open{bench::Bench(*scenario_, edits)};
                run_in(open);
                open_[k] = std::make_unique<const Standing>(standing_of(open));
            } catch (const std::exception&) {
            }
        });
        return open_[k].get();
    }
    return nullptr;
}

Standing Runs::standing(const Change& change) const {
    Brought r{bench::Bench(*scenario_, {change.set, change.faults, {}})};
    const bool runs_empty = r.bench.site()->works.water.leak_area > 0.0;  // its main, which no other tells
    try {
        if (const Neighbour* near = runs_empty ? nullptr : neighbour();
            near && (as_neighbour(*near, r.bench, r.window) || foretold(*near, change, r.bench, r.window)))
            return standing_of(r);
    } catch (const plant::SolverError&) {
    }
    if (const Standing* open = with_open_line(change, r.bench)) return *open;
    r.window = window_s;
    run_in(r);
    return standing_of(r);
}

Run Runs::taken_up(const Change& change, const Standing& s) const {
    Run r{bench::Bench(*scenario_, {change.set, change.faults, {}}), s.window, s.cycle, s.trips, s.later, {}};
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
    try {
        if (const Neighbour* near = neighbour(state.acts); near && as_neighbour(*near, r.bench, r.window))
            return {std::move(r.bench), r.window};
    } catch (const plant::SolverError&) {
    }
    r.window = window_s;
    run_in(r);
    Standing s;
    add_later(r, s);
    return {std::move(r.bench), r.window, 0.0, false, std::move(s.later), {}};
}

}  // namespace sunshaft::diagnose
