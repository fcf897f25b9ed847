#include "callout/path.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "bench/field_tests.hpp"
#include "bench/observe.hpp"
#include "callout/account.hpp"
#include "callout/moment.hpp"
#include "callout/visit.hpp"
#include "text/language.hpp"

namespace sunshaft::callout {
namespace {

using diagnose::Answer;
using diagnose::Proposal;

constexpr int most_legs = 7;
constexpr double worth_bits = 0.1;
constexpr std::array<const char*, 7> at_first{"lamps",      "drive_V", "drive_Hz", "drive_A",
                                              "drive_stop", "outlet",  "sound"};

// Every look of the proposal, as it is read on the site.
std::vector<diagnose::Seen> carried_out(const Proposal& p, const bench::FieldTest& test, bench::Bench& there) {
    std::vector<diagnose::Seen> all;
    std::vector<bench::Observation> looks = p.also;
    looks.insert(looks.begin(), p.what);
    for (const bench::Observation& look : looks) {
        std::vector<diagnose::Seen> seen;
        if (!look.gauge.empty()) {
            seen = told(look.gauge, there.gauge(look.gauge, false).shown());
        } else {
            diagnose::Seen s;
            s.red = look.probes.red;
            s.black = look.probes.black;
            s.around = look.probes.around;
            s.mode = meter::mode_name(look.mode);
            s.meter = p.meter;
            bench::Observation with = look;
            with.instrument = std::make_shared<const meter::Spec>(meter::find_spec(p.meter));
            s.shown = bench::observe(there, with).shown;
            seen = {s};
        }
        for (diagnose::Seen& s : seen) {
            s.act = p.act;
            s.after_s = bench::row_of(test.station).after_s;
            all.push_back(std::move(s));
        }
    }
    return all;
}

}  // namespace

double leading(const Answer& a, const std::vector<diagnose::Suspect>& grouped) {
    std::map<std::string, double> groups;
    double most = 0.0;
    for (const diagnose::Suspect& s : a.suspects) {
        const auto known = std::ranges::find_if(
            grouped, [&](const diagnose::Suspect& g) { return g.fault == s.fault && g.place == s.place; });
        most = std::max(most, groups[known == grouped.end() ? s.group : known->group] += s.probability);
    }
    return most;
}

int left(const Answer& a) {
    return static_cast<int>(
        std::ranges::count_if(a.suspects, [](const diagnose::Suspect& s) { return s.probability >= still_left; }));
}

Path best_path(const Callout& callout, const diagnose::Priors& priors, const std::string& cache,
               const std::function<bool(double)>& progress) {
    Path path;
    diagnose::Case notes;
    notes.site = callout.site;
    const Scenario scenario = diagnose::site_of(notes);
    std::set<std::string> done{"lamps", "drive-display", "outlet", "sound"};
    // Everybody looks and listens first, which costs next to nothing.
    bench::Bench found(scenario, edits(callout));
    found.advance(before_s);
    Leg look{"", text::tr("look, listen"), 0.0, 0.0, "", 0};
    for (const char* gauge : at_first)
        for (diagnose::Seen& s : told(gauge, found.gauge(gauge, false).shown())) {
            look.shown += (look.shown.empty() ? "" : ", ") + says(s);
            notes.seen.push_back(std::move(s));
        }
    look.minutes = minutes(notes, priors);
    path.legs.push_back(std::move(look));
    for (int n = 0; n <= most_legs; ++n) {
        diagnose::Diagnosis d(notes, priors, cache);
        const auto told_of = [&](double f) { return !progress || progress((n + f) / (most_legs + 1)); };
        // What to do next is worked out only where something is left to do.
        Answer a = d.answer(told_of, false);
        path.suffices = leading(a) >= suffices_from;
        if (!path.suffices) {
            a = d.answer(told_of, true);
            path.suffices = leading(a) >= suffices_from;
        }
        path.legs.back().left = left(a);
        path.group = static_cast<int>(std::ranges::count_if(a.suspects, [&](const diagnose::Suspect& s) {
            return s.group == a.suspects.front().group && s.probability >= still_left;
        }));
        if (path.suffices) break;
        const auto next = std::ranges::find_if(
            a.next, [&](const Proposal& p) { return p.gain_bits >= worth_bits && !done.contains(p.test); });
        if (next == a.next.end() || n == most_legs) break;
        const bench::FieldTest& test = *bench::find_test(next->test);
        bench::Bench there = bench::at_station(scenario, edits(callout), test.station);
        const double before = minutes(notes, priors);
        Leg leg{next->test, next->name, before, 0.0, "", 0};
        for (diagnose::Seen& s : carried_out(*next, test, there)) {
            leg.shown += (leg.shown.empty() ? "" : ", ") + says(s);
            notes.seen.push_back(std::move(s));
        }
        leg.minutes = minutes(notes, priors) - before;
        done.insert(next->test);
        path.legs.push_back(std::move(leg));
    }
    path.minutes = minutes(notes, priors);
    return path;
}

}  // namespace sunshaft::callout
