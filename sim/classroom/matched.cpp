#include "classroom/matched.hpp"

#include <algorithm>
#include <set>

#include "bench/field_tests.hpp"

namespace sunshaft::classroom {
namespace {

// Live contact, dead work, nothing but looking: what one is exposed to, not how often.
std::set<std::string> exposures(const callout::Path& path) {
    std::set<std::string> all;
    for (const callout::Leg& leg : path.legs) {
        const bench::FieldTest* test = bench::find_test(leg.test);
        if (!test || !test->electrical) continue;
        const bool running = test->station == bench::Station::running || test->station == bench::Station::shut;
        const bool clamp = std::string_view(test->id).find("clamp") != std::string_view::npos;
        const bool lit = test->station == bench::Station::lit || test->station == bench::Station::shorted;
        all.insert(running && clamp ? "clamp" : running || lit ? "live contact" : "isolating");
    }
    return all;
}

}  // namespace

std::string hazard_words(const callout::Path& path) {
    std::string words;
    for (const std::string& e : exposures(path)) words += (words.empty() ? "" : ", ") + e;
    return words.empty() ? "looking" : words;
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

Handout match(const Scenario& scenario, const std::string& site, const diagnose::Priors& priors,
              const std::string& cache, const Wanted& wanted, const std::function<bool(double)>& progress) {
    Handout out;
    std::vector<Handed> all;
    const auto count = static_cast<std::size_t>(std::max(1, wanted.count));
    for (; out.tried < wanted.most; ++out.tried) {
        const std::uint64_t seed = wanted.first + static_cast<std::uint64_t>(out.tried);
        const auto told = [&](double f) { return !progress || progress((out.tried + f) / wanted.most); };
        Handed h;
        h.seed = seed;
        h.call = callout::draw(scenario, priors, {seed, wanted.level}, [&](double f) { return told(0.1 * f); });
        h.call.site = site;
        h.path = callout::best_path(h.call, priors, cache, [&](double f) { return told(0.1 + 0.9 * f); });
        if (!h.path.suffices) continue;  // nobody could say what it is
        // Those that are as dangerous, by their minutes: as many neighbours as are wanted, with it among them.
        all.push_back(std::move(h));
        std::vector<Handed> same;
        for (const Handed& x : all)
            if (exposures(x.path) == exposures(all.back().path)) same.push_back(x);
        std::ranges::stable_sort(same, {}, [](const Handed& x) { return x.path.minutes; });
        for (std::size_t from = 0; from + count <= same.size(); ++from) {
            std::vector<Handed> some(same.begin() + static_cast<std::ptrdiff_t>(from),
                                     same.begin() + static_cast<std::ptrdiff_t>(from + count));
            if (!alike(some)) continue;
            out.calls = std::move(some);
            out.matched = true;
            ++out.tried;
            return out;
        }
    }
    std::ranges::stable_sort(all, {}, [](const Handed& x) { return x.path.minutes; });
    if (all.size() > count) all.erase(all.begin() + static_cast<std::ptrdiff_t>(count), all.end());
    out.calls = std::move(all);
    return out;
}

}  // namespace sunshaft::classroom
