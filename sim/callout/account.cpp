#include "callout/account.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "bench/field_tests.hpp"
#include "bench/observe.hpp"
#include "bench/places.hpp"
#include "bench/senses.hpp"
#include "callout/visit.hpp"
#include "diagnose/answer_words.hpp"
#include "diagnose/places.hpp"
#include "diagnose/typed.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::callout {
namespace {

using diagnose::Answer;
using diagnose::Suspect;

constexpr double raised = 1.5;  // so many times as probable as before anything was read
constexpr double tells_bits = 0.1;
constexpr double nearly = 0.8;              // of the best information a minute: all its points
constexpr double misleads = 0.7;            // a reading that leaves so little of what was probable of the truth
constexpr std::ptrdiff_t most_weighed = 4;  // measurements whose alternatives are worked out

bool same(const Suspect& s, const Named& n) { return s.fault == n.fault && diagnose::one_place(s.place, n.place); }

// The probability of what is named, with what no test at hand tells from it.
double share(const Answer& a, const std::vector<Suspect>& grouped, const Named& named) {
    std::vector<std::string> groups;
    for (const Suspect& s : grouped)
        if (same(s, named)) groups.push_back(s.group);
    double sum = 0.0;
    for (const Suspect& s : a.suspects) {
        bool in = same(s, named);
        for (const Suspect& g : grouped)
            in = in || (g.fault == s.fault && g.place == s.place && std::ranges::find(groups, g.group) != groups.end());
        // A suspect whose place is open stands for two at least.
        constexpr double open = 0.5;
        if (in) sum += (s.place.empty() && !named.place.empty() ? open : 1.0) * s.probability;
    }
    return sum;
}

double entropy(const Answer& a) {
    double h = 0.0;
    for (const Suspect& s : a.suspects)
        if (s.probability > 0.0) h -= s.probability * std::log2(s.probability);
    return h;
}

bool has(const std::vector<std::string>& acts, const std::string& act) {
    return std::ranges::find(acts, act) != acts.end();
}

bool looked(const diagnose::Seen& seen) {
    return !seen.lamp.empty() || !seen.sound.empty() || !seen.look.empty() || !seen.message.empty() ||
           seen.shown == "no water" ||  // by eye, at the outlet
           bench::told_in_words(seen.gauge) || seen.gauge.starts_with("drive_");
}

// Volts looked for on a link that was cut off: done for safety, whatever it tells.
bool proves_dead(const diagnose::Seen& seen) {
    return seen.mode == "dcv" && bench::of_dc(seen.red) && bench::of_dc(seen.black) &&
           (has(seen.act, "open@isolator") || has(seen.act, "stop@drive"));
}

// What the way to a reading takes: the state changed from that of the reading before it, and the reading itself;
// whoever
// looks and listens does it once.
double minutes(const diagnose::Seen* before, const diagnose::Seen& seen, const diagnose::Priors& priors) {
    const std::vector<std::string> none;
    const std::vector<std::string>& was = before ? before->act : none;
    double m = 0.0;
    const auto begins = [&](const char* act) { return has(seen.act, act) && !has(was, act); };
    if (begins("open@isolator") || begins("stop@drive")) m += priors.minute("isolate");
    if (begins("pull@pump")) m += priors.minute("wires-off");
    if (begins("cover@array")) m += priors.minute("cover");
    if (has(was, "pull@pump") && !has(seen.act, "pull@pump")) m += priors.minute("refit");
    if (!looked(seen)) return m + priors.minute(seen.gauge.empty() ? "reading" : "gauge");
    return before && looked(*before) && m == 0.0 ? 0.0 : m + priors.minute("ask");
}

// Readings one after the other that are one test, or one round of looking.
struct Visited {
    std::size_t first, last;
    const bench::FieldTest* test;  // null: none of the table
    bool looks;
};
std::vector<Visited> visits(const diagnose::Case& notes, const site::Works& works) {
    const auto test_of = [&](const diagnose::Seen& s) -> const bench::FieldTest* {
        const std::string gauge = !s.lamp.empty() ? "lamps" : s.gauge;
        const bool running = s.act.empty();
        for (const bench::FieldTest& t : bench::field_tests()) {
            if (running != (t.station == bench::Station::running)) continue;
            const auto other = [&](const bench::StationRow& row) {
                return *row.mark && has(s.act, row.mark) != (t.station == row.station);
            };
            if (std::any_of(bench::stations().begin(), bench::stations().end(), other)) continue;
            for (const bench::Observation& o : t.observations(works)) {
                const bool pair = (o.probes.red == s.red && o.probes.black == s.black) ||
                                  (o.probes.red == s.black && o.probes.black == s.red);
                if (!o.gauge.empty()
                        ? o.gauge == gauge
                        : gauge.empty() && pair && o.probes.around == s.around && meter::mode_name(o.mode) == s.mode)
                    return &t;
            }
        }
        return nullptr;
    };
    std::vector<Visited> all;
    for (std::size_t n = 0; n < notes.seen.size(); ++n) {
        const diagnose::Seen& s = notes.seen[n];
        const Visited v{n, n, test_of(s), looked(s)};
        const bool on = !all.empty() && notes.seen[n - 1].act == s.act && all.back().looks == v.looks &&
                        (v.looks || (v.test && all.back().test == v.test));
        if (on) all.back().last = n;
        else all.push_back(v);
    }
    return all;
}

// One of two faults: does some reading look otherwise because of it? Read again on the site without it.
bool bears(const Callout& callout, const diagnose::Case& notes, const std::vector<Visited>& all, std::size_t which) {
    bench::Edits without = edits(callout);
    without.faults.erase(without.faults.begin() + static_cast<std::ptrdiff_t>(which));
    const Scenario scenario = diagnose::site_of(notes);
    for (const Visited& v : all) {
        if (!v.test) continue;
        bench::Bench there = bench::at_station(scenario, without, v.test->station);
        for (std::size_t n = v.first; n <= v.last; ++n) {
            const diagnose::Seen& s = notes.seen[n];
            const std::string gauge = !s.lamp.empty() ? "lamps" : !s.sound.empty() ? "sound" : s.gauge;
            if (!gauge.empty()) {
                const auto told_then = told(gauge, there.gauge(gauge, false).shown());
                if (std::ranges::none_of(told_then, [&](const auto& x) { return says(x) == says(s); })) return true;
                continue;
            }
            bench::Observation look;
            look.probes = {s.red, s.black, s.around};
            look.mode = meter::mode_from(s.mode).value_or(meter::Mode::dcv);
            look.instrument = std::make_shared<const meter::Spec>(s.meter.empty() ? bench::usual_meter(look.mode)
                                                                                  : meter::find_spec(s.meter));
            const meter::Reading r = bench::observe(there, look);
            const diagnose::Typed now = diagnose::typed(s.shown, meter::unit_of(look.mode));
            if (r.over_range != (now.kind == diagnose::Typed::Kind::over)) return true;
            constexpr double apart = 0.1;  // what a person would call another reading (common practice, no source)
            if (!r.over_range && r.value && std::abs(*r.value - now.value) > apart * std::max(std::abs(*r.value), 1e-3))
                return true;
        }
    }
    return false;
}

// What a test promised a minute beside the best at hand, as known before it.
double worth(const Answer& before, const Visited& v) {
    double best = 0.0, chosen = 0.0;
    for (const diagnose::Proposal& p : before.next) {
        if (p.gain_bits < tells_bits) continue;
        const double rate = p.gain_bits / std::max(1.0, p.minutes);
        const bool it = v.test && p.test == v.test->id;
        if (it) chosen = rate;
        if (it || p.exposure < 5) best = std::max(best, rate);  // live work is nobody's duty
    }
    return best > 0.0 ? std::min(1.0, chosen / (nearly * best)) : 0.0;
}

// Of two faults each has its half.
void mark_two(Account& a, const Callout& callout, const Conducted& c, const std::array<bool, 2>& bears) {
    const std::array<Named, 2> truths{callout.truth, *callout.second};
    int found = 0;
    for (std::size_t n = 0; n < 2; ++n) {
        const auto it = [&](const Named& x) {
            return x.fault == truths[n].fault && diagnose::one_place(x.place, truths[n].place);
        };
        found += bears[n] && (it(c.named) || (c.second && it(*c.second))) ? 1 : 0;
    }
    a.right = a.borne = found == 2;
    a.points.push_back({"C1", text::say("{} of two faults, named with readings that bear them.", found),
                        std::round(22.5 * found), 45.0});
}

void mark_one(Account& a, double named_borne, double named_before) {
    a.borne = named_borne >= suffices_from && named_borne >= raised * named_before;  // no other measure than for E1
    a.points.push_back({"C1",
                        a.right && a.borne ? text::tr("Right fault, right place, and your readings bear it.")
                        : a.right          ? text::tr("It is true, but your readings do not bear it.")
                                           : text::tr("What you named is not what was wrong."),
                        a.right && a.borne ? 45.0 : 0.0, 45.0});
}

void mark_rest(Account& a, double truth_borne) {
    a.points.push_back({"E1", text::say("Your readings leave {} for what was wrong.", diagnose::chance(truth_borne)),
                        std::round(20.0 * std::min(1.0, truth_borne / suffices_from)), 20.0, a.suffices});
    double sum = 0.0;
    int tests = 0, good = 0, worst = -1;
    for (const Step& s : a.steps) {
        if (s.free) continue;
        const double w = s.needless ? 0.0 : s.worth;
        ++tests;
        sum += w;
        good += w >= 0.5 ? 1 : 0;
        if (worst < 0 ||
            w < (a.steps[static_cast<std::size_t>(worst)].needless ? 0.0
                                                                   : a.steps[static_cast<std::size_t>(worst)].worth))
            worst = static_cast<int>(&s - a.steps.data());
    }
    // Who sees by looking what it is has nothing to measure.
    const bool enough = tests == 0 && a.suffices >= 0;
    const std::string why =
        enough       ? std::string(text::tr("Looking sufficed, and nothing was measured."))
        : tests == 0 ? std::string(text::tr("Nothing was measured."))
                     : text::say("{} of {} tests promised about as much a minute as the best at hand.", good, tests);
    const double points = enough ? 15.0 : tests == 0 ? 0.0 : std::round(15.0 * sum / tests);
    a.points.push_back({"A1", why, points, 15.0, good == tests ? -1 : worst});
    const std::size_t unsafe = a.unsafe.size();
    a.points.push_back({"S1", unsafe == 0 ? text::tr("No unsafe act.") : text::say("Unsafe acts: {}.", unsafe),
                        unsafe == 0 ? 20.0 : 0.0, 20.0});
    for (const Point& p : a.points) a.mark += p.points;
    if (unsafe > 0) a.mark = std::min(a.mark, deadly_cap);
}

// From the rows with the most and the least of what they can give.
void advise(Account& a, const Callout& callout, const Named& named) {
    const auto by_share = [](const Point& x, const Point& y) { return x.points / x.of < y.points / y.of; };
    const Point& least = *std::ranges::min_element(a.points, by_share);
    const Point& most = *std::ranges::max_element(a.points, by_share);
    a.well = most.points > 0.0 ? most.why : text::tr("You came to the end.");
    if (!a.unsafe.empty()) {
        a.change = text::tr("Stop where the bench refuses: the order it tells is the one that brings you home.");
        a.lesson = "dark-is-not-dead";
    } else if (least.points == least.of) {
        a.change = text::tr("Nothing: do it again on another site.");
    } else if (least.rule == std::string_view("A1")) {
        a.change = text::tr("Choose the test that promises most a minute, and stop once the evidence suffices.");
        a.lesson = "two-open-pairs";
    } else if (least.rule == std::string_view("E1")) {
        a.change = text::tr("Go on until one suspect is left, or name the group that no test splits.");
        a.lesson = "how-far-down";
    } else if (a.right) {
        a.change = text::tr("Name what your readings bear, not what you guess.");
    } else if (callout.second) {
        a.change = text::tr("Two things were wrong. After the first is found, ask whether it explains every reading.");
        a.lesson = "after-the-repair";
    } else if (callout.faults.empty()) {
        a.change = text::tr(
            "A healthy site is an answer, too: name a fault only where a reading lies outside its healthy band.");
        a.lesson = callout.truth.fault == "health" ? "nothing-is-wrong" : "sun-amps-volts";
    } else if (named.fault == "health" || named.fault == "low-sun") {
        a.change = text::tr("Test the part you did not touch before you call a site healthy.");
        a.lesson = "what-the-guard-says";
    } else {
        a.change = text::tr("Halve first: array, box, or bore.");
        a.lesson = "halve-it";
    }
}

// What was said, what was wrong and what was named.
Account in_words(const Callout& callout, const Conducted& c) {
    Account a;
    a.said = words(callout.owner);
    a.truth = title_of(callout.truth);
    a.named = title_of(c.named);
    if (callout.second) a.truth = text::say("{}; and {}", a.truth, title_of(*callout.second));
    if (c.second) a.named = text::say("{}; and {}", a.named, title_of(*c.second));
    for (const std::string& act : c.unsafe) a.unsafe.push_back(act_words(act));
    return a;
}

// How many parts of the work are done; false: stop.
using Done = std::function<bool(double)>;

// What is known before the first visit, and after each. Before a measurement, and at the end, with what each test at
// hand promises then.
std::vector<Answer> known_after_each(const diagnose::Case& notes, const std::vector<Visited>& all,
                                     const diagnose::Priors& priors, const std::string& cache, const Done& done) {
    std::vector<Answer> known;
    std::ptrdiff_t measured = 0;
    for (std::size_t visited = 0; visited <= all.size(); ++visited) {
        diagnose::Case part = notes;
        part.seen.resize(visited == 0 ? 0 : all[visited - 1].last + 1);
        if (visited > 0 && !all[visited - 1].looks) ++measured;
        // The first few measurements alone: what comes later is judged by what it told.
        const bool tests = visited == all.size() || (!all[visited].looks && measured < most_weighed);
        diagnose::Diagnosis d(part, priors, cache);
        known.push_back(d.answer([&](double f) { return done(static_cast<double>(visited) + f); }, tests));
    }
    return known;
}

// What was done in a visit, how long it took and what it showed.
Step step_of(const Visited& v, const std::vector<diagnose::Seen>& seen, const diagnose::Priors& priors) {
    Step s{v.first, v.last, 0.0, 0.0, v.test && !v.looks ? v.test->id : "", "", ""};
    for (std::size_t k = v.first; k <= v.last; ++k) {
        s.minutes += minutes(k ? &seen[k - 1] : nullptr, seen[k], priors);
        s.shown += (s.shown.empty() ? "" : ", ") + says(seen[k]);
    }
    const bool several = v.last > v.first;
    s.what = v.looks && several  ? text::tr("looked, listened")
             : v.test && several ? text::tr(v.test->name)
                                 : seen[v.first].what();
    s.free = v.looks || proves_dead(seen[v.first]);
    return s;
}

// The steps, what each told and was worth, and the first after which the evidence sufficed.
void follow(Account& a, const Callout& callout, const diagnose::Case& notes, const std::vector<Visited>& all,
            const std::vector<Answer>& known, const diagnose::Priors& priors) {
    const std::vector<Suspect>& grouped = known.back().suspects;
    double before = share(known.front(), grouped, callout.truth);
    for (std::size_t n = 0; n < all.size(); ++n) {
        const Answer &was = known[n], &is = known[n + 1];
        Step s = step_of(all[n], notes.seen, priors);
        s.from = a.minutes;
        s.truth = share(is, grouped, callout.truth);
        s.left = left(is);
        s.bits = entropy(was) - entropy(is);
        s.needless = a.suffices >= 0 && was.stop.advice != "measure" && was.stop.advice != "repeat";
        s.worth = was.next.empty() && s.bits >= tells_bits ? 1.0 : worth(was, all[n]);
        s.misled = s.truth < misleads * before;
        before = s.truth;
        a.minutes += s.minutes;
        if (a.suffices < 0 && leading(is, grouped) >= suffices_from) a.suffices = static_cast<int>(n);
        a.steps.push_back(std::move(s));
    }
}

// Tests of the best way that were not done.
std::vector<std::string> not_done(const Path& best, const std::vector<Visited>& all) {
    std::vector<std::string> names;
    for (const Leg& leg : best.legs) {
        const auto did = [&](const Visited& v) { return v.test && leg.test == v.test->id; };
        if (!leg.test.empty() && std::ranges::none_of(all, did)) names.push_back(leg.name);
    }
    return names;
}

// Is it what was wrong, or what no test at hand tells from it?
bool names(const Answer& whole, const Named& named, const Named& truth) {
    for (const Suspect& x : whole.suspects)
        for (const Suspect& y : whole.suspects)
            if (same(x, truth) && same(y, named) && x.group == y.group) return true;
    return named.fault == truth.fault && diagnose::one_place(named.place, truth.place);
}

}  // namespace

double minutes(const diagnose::Case& notes, const diagnose::Priors& priors) {
    double sum = 0.0;
    const diagnose::Seen* before = nullptr;
    for (const diagnose::Seen& seen : notes.seen) {
        sum += minutes(before, seen, priors);
        before = &seen;
    }
    return sum;
}

Account judge(const Callout& callout, const Conducted& c, const diagnose::Priors& priors, const std::string& cache,
              const std::function<bool(double)>& progress) {
    Account a = in_words(callout, c);
    diagnose::Case site_only = c.notes;
    site_only.seen.clear();
    const std::vector<Visited> all = visits(c.notes, site::set_up(diagnose::site_of(site_only)));
    // In parts: an answer before anything was read and after each visit, and two for the best way.
    const double parts = static_cast<double>(all.size() + 3);
    const Done done = [&](double of_parts) { return !progress || progress(of_parts / parts); };
    const std::vector<Answer> known = known_after_each(c.notes, all, priors, cache, done);
    const Answer& whole = known.back();  // its groups: what no test at hand splits, by all that was read
    follow(a, callout, c.notes, all, known, priors);
    a.best = best_path(callout, priors, cache, [&](double f) { return done(parts - 2.0 + 2.0 * f); });
    if (a.suffices < 0) a.missing = not_done(a.best, all);
    a.right = names(whole, c.named, callout.truth);
    double truth = share(whole, whole.suspects, callout.truth);
    if (callout.second) {
        mark_two(a, callout, c, {bears(callout, c.notes, all, 0), bears(callout, c.notes, all, 1)});
        truth = std::min(1.0, truth + share(whole, whole.suspects, *callout.second));
    } else {
        mark_one(a, share(whole, whole.suspects, c.named), share(known.front(), whole.suspects, c.named));
    }
    mark_rest(a, truth);
    advise(a, callout, c.named);
    return a;
}

}  // namespace sunshaft::callout
