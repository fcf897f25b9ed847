#include "classroom/matched.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "bench/field_tests.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::classroom {
namespace {

using text::say, text::tr;

// Live contact, dead work, nothing but looking: what one is exposed to, not how often.
std::set<std::string> exposures(const callout::Path& path) {
    std::set<std::string> all;
    for (const callout::Leg& leg : path.legs) {
        const bench::FieldTest* test = bench::find_test(leg.test);
        if (!test || !test->electrical) continue;
        using bench::Station;
        const auto is = [&](std::initializer_list<Station> some) {
            return std::find(some.begin(), some.end(), test->station) != some.end();
        };
        const bool runs =
            bench::row_of(test->station).runs && !is({Station::bled, Station::warm, Station::rolled, Station::renewed});
        const bool clamp = std::string_view(test->id).find("clamp") != std::string_view::npos;
        const bool lit = test->station == bench::Station::lit || test->station == bench::Station::shorted;
        all.insert(runs && clamp ? tr("clamp") : runs || lit ? tr("live contact") : tr("isolating"));
    }
    return all;
}

}  // namespace

std::string hazard_words(const callout::Path& path) {
    std::string words;
    for (const std::string& e : exposures(path)) words += (words.empty() ? "" : ", ") + e;
    return words.empty() ? tr("looking") : words;
}

bool alike(const std::vector<Handed>& calls) {
    if (calls.empty()) return false;
    const auto minutes = [](const Handed& h) { return h.path.minutes; };
    const auto group = [](const Handed& h) { return h.path.group; };
    const auto [low, high] = std::ranges::minmax(calls, {}, minutes);
    const auto [small, large] = std::ranges::minmax(calls, {}, group);
    return high.path.minutes <= (1.0 + minutes_apart) * low.path.minutes &&
           large.path.group <= small.path.group + group_apart &&
           std::ranges::all_of(calls, [&](const Handed& h) { return exposures(h.path) == exposures(calls[0].path); });
}

std::vector<Handed> some_alike(const std::vector<Handed>& all, std::size_t count) {
    std::vector<const Handed*> same;
    for (const Handed& x : all)
        if (exposures(x.path) == exposures(all.back().path)) same.push_back(&x);
    std::ranges::stable_sort(same, {}, [](const Handed* x) { return x->path.minutes; });
    const auto most = [&](const std::string& fault) {
        return site::find_fault(fault) ? (count + 2) / 3 : (count + 4) / 5;
    };
    for (auto from = same.begin(); from != same.end(); ++from) {
        std::vector<Handed> some;
        std::map<std::string, std::size_t> times;
        for (auto at = from; at != same.end() && some.size() < count; ++at) {
            const std::string& fault = (*at)->call.truth.fault;
            if (times[fault] >= most(fault)) continue;
            some.push_back(**at);
            if (alike(some)) ++times[fault];
            else some.pop_back();
        }
        if (some.size() == count) return some;
    }
    return {};
}

namespace {

// What a candidate is like before anything is weighed: what shows from outside, and in which part of the site it lies.
// From the same signs the same tests come first, so these are the likely pairs.
struct Drawn {
    Handed handed;
    std::string alike;
};

std::string likeness(const callout::Callout& c) {
    const site::FaultRow* row = site::find_fault(c.truth.fault);
    callout::Complaint shows = c.owner;
    shows.since = 0;  // the seed alone chooses it
    return fmt::format("{}|{}", callout::words(shows), row ? row->group : c.truth.fault);
}

// What many others are like comes first.
void by_crowd(std::vector<Drawn>& drawn) {
    std::map<std::string, int> crowd;
    for (const Drawn& d : drawn) ++crowd[d.alike];
    std::ranges::stable_sort(drawn, [&](const Drawn& a, const Drawn& b) {
        return crowd[a.alike] != crowd[b.alike] ? crowd[a.alike] > crowd[b.alike] : a.alike < b.alike;
    });
}

// The next to be weighed, from a place on: what is like one that a look round told comes last.
Drawn& next_of(std::vector<Drawn>& drawn, std::size_t from, const std::set<std::string>& looked) {
    const auto at = drawn.begin() + static_cast<std::ptrdiff_t>(from);
    const auto next = std::find_if(at, drawn.end(), [&](const Drawn& d) { return !looked.contains(d.alike); });
    if (next != drawn.end()) std::rotate(at, next, next + 1);
    return *at;
}

}  // namespace

Handout match(const Scenario& scenario, const std::string& site, const diagnose::Priors& priors,
              const std::string& cache, const Wanted& wanted, const Progress& progress) {
    Handout out;
    const auto count = static_cast<std::size_t>(std::max(1, wanted.count));
    std::vector<Handed> all;
    std::vector<Drawn> waiting;
    int drawn = 0;
    const auto tell = [&](double f, const std::string& doing) {
        if (progress && !progress(f, doing)) throw diagnose::Stopped();
        return true;
    };
    while (true) {
        // Drawing is cheap, weighing is not: a few more than can be used, and those that many others are like first.
        const int batch = std::min(wanted.most, drawn + std::max(6, 3 * wanted.count));
        for (const int first = drawn; drawn < batch; ++drawn) {
            const std::string doing = say("drawing call-out {} of {}", drawn + 1, batch);
            const double share = static_cast<double>(drawn - first) / (batch - first);
            tell(share, doing);
            Drawn d;
            d.handed.seed = wanted.first + static_cast<std::uint64_t>(drawn);
            d.handed.call = callout::draw(scenario, priors, {d.handed.seed, wanted.level},
                                          [&](double) { return tell(share, doing); });
            d.handed.call.site = site;
            d.alike = likeness(d.handed.call);
            waiting.push_back(std::move(d));
        }
        by_crowd(waiting);
        std::set<std::string> looked;
        for (std::size_t weighed = 0; weighed < waiting.size(); ++weighed) {
            Drawn& d = next_of(waiting, weighed, looked);
            const std::string doing = say("weighing call-out {} of at most {} ({} that could be told so far)",
                                          weighed + 1, waiting.size(), all.size());
            Handed h = std::move(d.handed);
            h.path = callout::best_path(h.call, priors, cache, [&](double f) { return tell(f, doing); });
            ++out.tried;
            if (!h.path.suffices) continue;  // nobody could say what it is
            if (exposures(h.path).empty()) {
                looked.insert(d.alike);
                continue;
            }
            all.push_back(std::move(h));
            if (auto some = some_alike(all, count); !some.empty()) {
                out.calls = std::move(some);
                out.matched = true;
                return out;
            }
        }
        waiting.clear();
        if (drawn >= wanted.most) break;
    }
    std::ranges::stable_sort(all, {}, [](const Handed& x) { return x.path.minutes; });
    if (all.size() > count) all.erase(all.begin() + static_cast<std::ptrdiff_t>(count), all.end());
    out.calls = std::move(all);
    return out;
}

}  // namespace sunshaft::classroom
