#include "diagnose/runs.hpp"

#include <algorithm>
#include <cmath>

#include "bench/field_tests.hpp"
#include "day/foretell.hpp"

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

// As a start ends: at rest, hunting about the best point, or at the same place of a cycle that comes again and again
// where so much waiting would have ended.
void run_in(Run& run) {
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
const Run* Runs::with_open_line(const Change& change, const bench::Bench& b) const {
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
                Run open{bench::Bench(*scenario_, edits), window_s};
                run_in(open);
                open_[k] = std::make_unique<const Run>(std::move(open));
            } catch (const std::exception&) {
            }
        });
        return open_[k].get();
    }
    return nullptr;
}

Run Runs::running(const Change& change) const {
    Run r{bench::Bench(*scenario_, {change.set, change.faults, {}}), window_s};
    try {
        if (const Neighbour* near = neighbour();
            near && (as_neighbour(*near, r.bench, r.window) || foretold(*near, change, r.bench, r.window)))
            return r;
    } catch (const plant::SolverError&) {
    }
    r.window = window_s;
    if (const Run* open = with_open_line(change, r.bench)) {
        r.bench.state() = open->bench.state();
        r.bench.plant().adopt(r.bench.state());
        r.rests = open->rests, r.hunts = open->hunts, r.cycle = open->cycle;
        return r;
    }
    run_in(r);
    return r;
}

Run Runs::after(const Change& change, const State& state, const Run* running) const {
    bench::Edits edits{change.set, change.faults, state.acts};
    if (state.restarts()) {  // it begins where every start does
        std::erase_if(edits.acts, [](const site::Act& a) { return a.kind == "restart"; });
        for (site::Act& a : edits.acts) a.time = 0.0;
        Run r{bench::Bench(*scenario_, edits), window_s};
        r.bench.advance(state.after_s);
        r.rests = false;
        return r;
    }
    if (std::isfinite(state.after_s)) {
        Run r{running->bench, window_s};
        for (site::Act& a : edits.acts) a.time = r.bench.time();
        r.bench.edit(edits);
        r.bench.advance(state.after_s);
        return r;
    }
    for (site::Act& a : edits.acts) a.time = 0.0;
    Run r{bench::Bench(*scenario_, edits), window_s};
    if (cut_off(state.acts)) {
        bench::wait_for_link(r.bench);
        return r;
    }
    try {
        if (const Neighbour* near = neighbour(state.acts); near && as_neighbour(*near, r.bench, r.window)) return r;
    } catch (const plant::SolverError&) {
    }
    r.window = window_s;
    run_in(r);
    return r;
}

}  // namespace sunshaft::diagnose
