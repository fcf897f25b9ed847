// Times the solver: x real time, worst meter error, and the ratio to two general solvers tuned to the same error.
//
//   sunshaft-bench-solver [--json] [--quick] [case number]...
// A rival is the fastest of its tolerances whose error is no larger than ours; beside it, the fastest within what is
// allowed. Everything in one run, on the processor time of this thread, so that other work on the machine counts
// little; the best of several rounds, ours and the rivals' taken in turns.
#include <fmt/format.h>
#include <time.h>

#include <cstring>
#include <functional>

#include "beside.hpp"
#include "cases.hpp"
#include "meters.hpp"
#include "rivals.hpp"

namespace sunshaft::bench {
namespace {

double seconds() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

constexpr double warm_up = 2.0, window = 0.2;  // s simulated: to the steady state; what is compared
constexpr double allowed = 1e-3;               // worst error

using Values = std::array<double, Meters::count>;
double worst(const Values& v, const Values& truth, double link, std::size_t& which) {
    const Values e = errors(v, truth, link);
    which = static_cast<std::size_t>(std::max_element(e.begin(), e.end()) - e.begin());
    return e[which];
}

struct Result {
    double speed = 0, error = 0;
    std::size_t which = 0;
    double tolerance = 0;
    double gap = 0;  // energy account, relative
    long steps = 0, pieces = 0, events = 0;
};

// Another solver: no worse than ours, and using all the error that is allowed.
struct Rival {
    Result same, loose;
};

// A way to advance a state with meters running.
using Advance = std::function<void(State&, double until, Meters&)>;

template <class Machine>
class Runner {
  public:
    Runner(const Case& c, const Machine& machine) : case_(c), machine_(machine), driver_(*c.site, machine) {
        start_.x[v_cap] = c.site->source.open_V;
        start_.water_level = c.site->works.water.static_level;
        Meters none;
        driver_.advance(start_, warm_up, none);
        start_.energy = start_.sampled = start_.slow.account = {};
        Driver<Machine> exact(*c.site, machine, {1e-11, 1e-7, Method::dopri5});
        State s = start_;
        Meters m;
        exact.advance(s, start_.t + window, m);
        truth_ = m.values();
        link_ = m.link_mean();
    }

    Result check(const Advance& advance) const {
        State s = start_;
        s.steps = s.pieces = s.events = 0;
        Meters m;
        advance(s, start_.t + window, m);
        Result r;
        r.error = worst(m.values(), truth_, link_, r.which);
        double out = driver_.chain.stored(s.x) - driver_.chain.stored(start_.x);
        for (std::size_t n = 0; n < energy_size; ++n)
            if (n != from_supply && n != in_splice) out += s.energy[n];
        r.gap = (s.energy[from_supply] - out) / s.energy[from_supply];
        r.steps = s.steps, r.pieces = s.pieces, r.events = s.events;
        return r;
    }
    double speed(const Advance& advance, double span) const {
        State s = start_;
        Meters m;
        const double before = seconds();
        advance(s, start_.t + span, m);
        return span / (seconds() - before);
    }
    // A rival over a ladder of tolerances, tight to loose.
    std::vector<Result> ladder(const std::function<Advance(double)>& make, double span) const {
        std::vector<Result> all;
        for (double tolerance = 1e-8; tolerance < 2e-2; tolerance *= 2) {
            const Advance advance = make(tolerance);
            all.push_back(check(advance));
            all.back().tolerance = tolerance;
            all.back().speed = speed(advance, span);
        }
        return all;
    }
    // The fastest of it as long as the error is kept: what is within by luck beyond a tolerance that is not does not
    // count.
    static Result fastest(const std::vector<Result>& ladder, double limit) {
        Result best;
        for (const Result& r : ladder) {
            if (!(r.error <= limit)) {
                if (best.tolerance > 0) break;
                continue;
            }
            if (r.speed > best.speed) best = r;
        }
        return best;
    }

    Result ours;
    Rival cvode, dopri5;
    void run(bool quick) {
        const Advance own = [&](State& s, double until, Meters& m) { driver_.advance(s, until, m); };
        const auto bdf = [&](double tolerance) -> Advance {
            return [&, tolerance](State& s, double until, Meters& m) {
                X absolute = reference(*case_.site);
                for (double& a : absolute) a *= tolerance;
                test::Cvode<X, Chain<Machine>> solver(driver_.chain, tolerance, absolute);
                advance_cvode(driver_, solver, s, until, m);
            };
        };
        const auto rk = [&](double tolerance) -> Advance {
            return [&, tolerance](State& s, double until, Meters& m) {
                OdeintDopri5<Machine> solver(tolerance);
                solver.advance(driver_, s, until, m);
            };
        };
        ours = check(own);
        const bool pwm = case_.target < 100;
        const auto tune = [&](Rival& rival, const auto& make, double span) {
            const std::vector<Result> all = ladder(make, span);
            rival = {fastest(all, std::min(ours.error, allowed)), fastest(all, allowed)};
        };
        if (!quick) {
            tune(cvode, bdf, pwm ? 0.02 : 0.1);
            tune(dopri5, rk, pwm ? 0.1 : 0.3);
        }
        const auto again = [&](Result& r, const auto& make, double span) {
            if (r.tolerance > 0) r.speed = std::max(r.speed, speed(make(r.tolerance), span));
        };
        for (int round = 0; round < (quick ? 5 : 7); ++round) {
            ours.speed = std::max(ours.speed, speed(own, pwm ? 0.4 : 1.0));
            if (quick) continue;
            for (Result* r : {&cvode.same, &cvode.loose}) again(*r, bdf, pwm ? 0.04 : 0.2);
            for (Result* r : {&dopri5.same, &dopri5.loose}) again(*r, rk, pwm ? 0.2 : 0.5);
        }
    }

  private:
    const Case& case_;
    const Machine machine_;
    Driver<Machine> driver_;
    State start_;
    Values truth_{};
    double link_ = 0;
};

void print(const Case& c, const Result& ours, const Rival& cvode, const Rival& dopri5, bool json, bool first) {
    const auto ratio = [&](const Result& r) { return r.speed > 0 ? ours.speed / r.speed : 0.0; };
    // One that gets as near as we do at no tolerance is measured at the error allowed.
    const auto beats = [&](const Rival& r, double by) { return ratio(r.same.speed > 0 ? r.same : r.loose) >= by; };
    const bool met =
        ours.speed >= c.target && ours.error <= allowed && beats(cvode, c.vs_cvode) && beats(dopri5, c.vs_dopri5);
    if (json) {
        const auto rival = [&](const char* name, const Rival& r) {
            return fmt::format(
                "\"{0}_x_real_time\": {1:.2f}, \"vs_{0}\": {2:.2f}, \"{0}_error_percent\": {3:.4f}, "
                "\"vs_{0}_at_allowed_error\": {4:.2f}, \"{0}_allowed_error_percent\": {5:.4f}",
                name, r.same.speed, ratio(r.same), 100 * r.same.error, ratio(r.loose), 100 * r.loose.error);
        };
        fmt::print(
            "{}  {{\"case\": \"{}\", \"source_ohm\": {}, \"x_real_time\": {:.1f}, \"worst_error_percent\": {:.4f}, "
            "\"worst_meter\": \"{}\", \"energy_gap_percent\": {:.4f}, {}, {}, \"met\": {}}}",
            first ? "" : ",\n", c.name, c.source_ohm, ours.speed, 100 * ours.error, meter_name[ours.which],
            100 * ours.gap, rival("cvode", cvode), rival("dopri5", dopri5), met);
        return;
    }
    fmt::print("{:<30}{:5.2f} {:6.0f} {:7.4f} {:<13}{:8.4f} |", c.name, c.source_ohm, ours.speed, 100 * ours.error,
               meter_name[ours.which], 100 * ours.gap);
    for (const Rival* r : {&cvode, &dopri5})
        fmt::print("{:7.1f} {:6.2f} {:7.4f} ({:5.2f} {:6.4f}) |", r->same.speed, ratio(r->same), 100 * r->same.error,
                   ratio(r->loose), 100 * r->loose.error);
    fmt::print(" {:>3.0f} {:>3.0f} {:>3.1f} {}\n", c.target, c.vs_cvode, c.vs_dopri5, met ? "met" : "NOT MET");
    std::fflush(stdout);
}

}  // namespace
}  // namespace sunshaft::bench

int main(int argc, char** argv) {
    using namespace sunshaft;
    using namespace sunshaft::bench;
    bool json = false, quick = false;
    std::vector<std::size_t> wanted;
    for (int n = 1; n < argc; ++n) {
        if (!std::strcmp(argv[n], "--json")) json = true;
        else if (!std::strcmp(argv[n], "--quick")) quick = true;
        else wanted.push_back(static_cast<std::size_t>(std::atoi(argv[n])));
    }
    const std::vector<Case> all = cases();
    if (json) fmt::print("[\n");
    else
        fmt::print(
            "x real time; ratios to rivals whose error is no larger than ours, in brackets to rivals that use the {} % "
            "allowed\n"
            "{:<30}{:>5} {:>6} {:>7} {:<13}{:>8} |{:>7} {:>6} {:>7}                |{:>7} {:>6} {:>7}                | "
            "at least\n",
            100 * allowed, "case", "ohm", "x real", "error %", "of", "gap %", "CVODE", "ratio", "error %", "dopri5",
            "ratio", "error %");
    bool first = true;
    for (std::size_t n = 0; n < all.size(); ++n) {
        if (!wanted.empty() && std::find(wanted.begin(), wanted.end(), n) == wanted.end()) continue;
        std::visit(
            [&](const auto& machine) {
                Runner runner(all[n], machine);
                runner.run(quick);
                print(all[n], runner.ours, runner.cvode, runner.dopri5, json, first);
                if (quick && !json)
                    fmt::print("    {} steps, {} pieces, {} events in {} s\n", runner.ours.steps, runner.ours.pieces,
                               runner.ours.events, 0.2);
            },
            all[n].site->works.motor);
        first = false;
    }
    if (wanted.empty()) print_beside(json);
    if (json) fmt::print("\n]\n");
}
