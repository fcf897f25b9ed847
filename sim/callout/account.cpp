#include "callout/account.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/senses.hpp"
#include "diagnose/answer_words.hpp"
#include "text/figure.hpp"

namespace sunshaft::callout {
namespace {

using diagnose::Answer;
using diagnose::Suspect;

constexpr double suffices_from = 0.75;  // of what was wrong, or of what no test splits from it
constexpr double raised = 1.5;          // and so many times as probable as before anything was read
constexpr double bears_from = 0.25;     // what is named must be at least so probable by one's own readings
constexpr double still_left = 0.05, tells_bits = 0.1;
constexpr double deadly_cap = 40.0;

// "v", "splice.v" and "drive.v" are one line where a suspect is known by its wire alone.
bool one_place(const std::string& a, const std::string& b) {
    if (a == b || a.empty() || b.empty()) return true;
    const auto ends = [](const std::string& longer, const std::string& shorter) {
        return longer.size() > shorter.size() && longer.ends_with(shorter) &&
               longer[longer.size() - shorter.size() - 1] == '.';
    };
    const auto begins = [](const std::string& longer, const std::string& shorter) {
        return longer.starts_with(shorter + ".");
    };
    return ends(a, b) || ends(b, a) || begins(a, b) || begins(b, a);
}
bool same(const Suspect& s, const Named& n) { return s.fault == n.fault && one_place(s.place, n.place); }

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
        if (in) sum += s.probability;
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
           bench::told_in_words(seen.gauge) || seen.gauge.starts_with("drive_");
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

void mark(Account& a, double truth_borne, double named_borne, double named_before) {
    const auto counts = [](const Step& s) { return !s.free || s.bits >= tells_bits; };
    const double told = static_cast<double>(
        std::ranges::count_if(a.steps, [](const Step& s) { return s.bits >= tells_bits && !s.needless; }));
    const double all = static_cast<double>(std::ranges::count_if(a.steps, counts));
    a.borne = named_borne >= bears_from && named_borne >= raised * named_before;
    a.points.push_back({"C1",
                        a.right && a.borne ? "Right fault, right place, and your readings bear it."
                        : a.right          ? "It is true, but your readings do not bear it."
                                           : "What you named is not what was wrong.",
                        a.right && a.borne ? 45.0 : 0.0, 45.0});
    a.points.push_back({"E1", fmt::format("Your readings leave {} for what was wrong.", diagnose::chance(truth_borne)),
                        std::round(20.0 * std::min(1.0, truth_borne / suffices_from)), 20.0});
    a.points.push_back(
        {"A1",
         all == 0.0 ? "Nothing was read."
                    : fmt::format("{:.0f} of {:.0f} readings told something that could change the act.", told, all),
         all == 0.0 ? 0.0 : std::round(15.0 * told / all), 15.0});
    a.points.push_back(
        {"S1", a.unsafe == 0 ? "No unsafe act." : fmt::format("{} unsafe act{}.", a.unsafe, a.unsafe > 1 ? "s" : ""),
         a.unsafe == 0 ? 20.0 : 0.0, 20.0});
    for (const Point& p : a.points) a.mark += p.points;
    if (a.unsafe > 0) a.mark = std::min(a.mark, deadly_cap);
}

// From the rows with the most and the least of what they can give.
void advise(Account& a) {
    const auto by_share = [](const Point& x, const Point& y) { return x.points / x.of < y.points / y.of; };
    const Point& least = *std::ranges::min_element(a.points, by_share);
    const Point& most = *std::ranges::max_element(a.points, by_share);
    a.well = most.points > 0.0 ? most.why : "You came to the end.";
    if (a.unsafe > 0) a.change = "Stop where the bench refuses: the order it tells is the one that brings you home.";
    else if (least.points == least.of) a.change = "Nothing: do it again on another site.";
    else if (least.rule == std::string_view("A1"))
        a.change = "Stop measuring once only one act is left, and choose what tells suspects apart.";
    else if (least.rule == std::string_view("E1"))
        a.change = "Go on until one suspect is left, or name the group that no test splits.";
    else a.change = a.right ? "Name what your readings bear, not what you guess." : "Halve first: array, box, or bore.";
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

std::string title_of(const Named& n) {
    if (n.fault == "health") return "nothing: the site is healthy";
    if (n.fault == "low-sun") return "nothing: too little sun";
    const site::FaultRow* row = site::find_fault(n.fault);
    return n.place.empty() ? row ? row->title : n.fault : fmt::format("{}, at {}", row ? row->title : n.fault, n.place);
}

Account judge(const Callout& callout, const Conducted& c, const diagnose::Priors& priors, const std::string& cache,
              const std::function<bool(double)>& progress) {
    Account a;
    a.said = callout.said;
    a.truth = title_of(callout.truth);
    a.named = title_of(c.named);
    a.unsafe = static_cast<int>(c.unsafe.size());
    const std::size_t readings = c.notes.seen.size();
    const auto answer = [&](std::size_t first, bool tests) {
        diagnose::Case part = c.notes;
        part.seen.resize(first);
        const double from = static_cast<double>(tests ? 0 : first + 1), all = static_cast<double>(readings + 2);
        diagnose::Diagnosis d(part, priors, cache);
        return d.answer([&](double f) { return !progress || progress((from + f) / all); }, tests);
    };
    // What no test at hand splits, by all that was read.
    const Answer whole = answer(readings, true);
    const Answer unread = answer(0, false);
    Answer before = unread;
    double clock = 0.0;
    for (std::size_t n = 0; n < readings; ++n) {
        const Answer now = answer(n + 1, false);
        const diagnose::Seen& seen = c.notes.seen[n];
        Step s{n,
               clock,
               minutes(n ? &c.notes.seen[n - 1] : nullptr, seen, priors),
               seen.what(),
               seen.shown,
               share(now, whole.suspects, callout.truth),
               0,
               entropy(before) - entropy(now),
               a.suffices >= 0,
               looked(seen)};
        s.left = static_cast<int>(
            std::ranges::count_if(now.suspects, [](const Suspect& x) { return x.probability >= still_left; }));
        clock += s.minutes;
        if (a.suffices < 0 && s.truth >= suffices_from) a.suffices = static_cast<int>(n);
        a.steps.push_back(std::move(s));
        before = now;
    }
    a.minutes = clock;
    const double truth = share(whole, whole.suspects, callout.truth), named = share(whole, whole.suspects, c.named);
    bool grouped = false;
    for (const Suspect& x : whole.suspects)
        for (const Suspect& y : whole.suspects)
            grouped = grouped || (same(x, callout.truth) && same(y, c.named) && x.group == y.group);
    a.right = grouped || (c.named.fault == callout.truth.fault && one_place(c.named.place, callout.truth.place));
    mark(a, truth, named, share(unread, whole.suspects, c.named));
    advise(a);
    return a;
}

std::vector<std::string> words(const Account& a) {
    std::vector<std::string> out;
    out.push_back(fmt::format("{:.0f} of 100", a.mark));
    out.push_back(fmt::format("The owner said: {}", a.said));
    out.push_back(fmt::format("What was wrong: {}.", a.truth));
    out.push_back(fmt::format("You said:       {}.", a.named));
    out.push_back(a.suffices < 0 ? std::string("Your readings never sufficed.")
                                 : fmt::format("Your readings sufficed after minute {:.0f}, reading {}.",
                                               a.steps[static_cast<std::size_t>(a.suffices)].from +
                                                   a.steps[static_cast<std::size_t>(a.suffices)].minutes,
                                               a.suffices + 1));
    out.push_back("");
    if (!a.steps.empty())
        out.push_back(
            fmt::format("  {:>3}  {:<28} {:>12}  {:>5}  {:>18}", "min", "reading", "shown", "left", "the truth then"));
    for (const Step& s : a.steps)
        out.push_back(fmt::format("  {:>3.0f}  {:<28} {:>12}  {:>5}  {:>18}{}", s.from, s.what, s.shown, s.left,
                                  diagnose::chance(s.truth), s.needless ? "  needless" : ""));
    out.push_back(fmt::format("  {:>3.0f}  on site in all", a.minutes));
    out.push_back("");
    for (const Point& p : a.points)
        out.push_back(fmt::format("  {} {:>3.0f} of {:<3.0f} {}", p.rule, p.points, p.of, p.why));
    if (a.unsafe > 0) out.push_back(fmt::format("  S2 an unsafe act caps the mark at {:.0f}.", deadly_cap));
    out.push_back("");
    out.push_back(fmt::format("Done well: {}", a.well));
    out.push_back(fmt::format("Change next time: {}", a.change));
    return out;
}

}  // namespace sunshaft::callout
