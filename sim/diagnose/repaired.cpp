#include "diagnose/repaired.hpp"

#include <algorithm>
#include <cmath>

#include "diagnose/history.hpp"
#include "diagnose/places.hpp"

namespace sunshaft::diagnose {
namespace {

bool covers(const Tried& t, const Cause& c) {
    return t.fault == c.fault && (t.place.empty() || std::any_of(c.places.begin(), c.places.end(),
                                                                 [&](const auto& p) { return one_place(p, t.place); }));
}

// How many of what was read before and again after differ: then the repair changed something.
int changed(const Facts& before, const Facts& since) {
    int count = 0;
    for (const Fact& was : before.list)
        for (const Fact& is : since.list) {
            if (was.kind != is.kind || was.kind == Fact::Kind::behaves || was.well || is.well ||
                was.state.key() != is.state.key() || was.looks.front().key() != is.looks.front().key())
                continue;
            const double bears = was.kind == Fact::Kind::says
                                     ? 0.5
                                     : 3 * (was.sd + is.sd + was.least) + (0.02 + 3 * was.share) * std::abs(is.value);
            if (std::abs(was.value - is.value) > bears) ++count;
        }
    return count;
}

}  // namespace

std::vector<Cause> causes_told(const Case& c, const Scenario& scenario, const Priors& priors, bool dusk, bool rough) {
    History history(scenario, c.intake, &priors);
    Case without = c;
    without.intake = history.rest();
    std::vector<Cause> list = causes(scenario, without, priors, dusk, rough);
    history.weigh(list, priors);
    return list;
}

std::size_t before_a_repair(const Case& c, const Scenario& scenario, Sights& sights, const Priors& priors, bool dusk,
                            bool rough, const std::function<bool(double)>& progress) {
    // The last one that left something wrong, with readings on both sides.
    const auto last = std::find_if(c.tried.rbegin(), c.tried.rend(), [&](const Tried& t) {
        const auto what = t.what();
        return (what == Tried::What::no_change || what == Tried::What::came_back) && site::find_fault(t.fault) &&
               t.after > 0 && t.after < c.seen.size();
    });
    if (last == c.tried.rend()) return 0;
    const auto n = static_cast<std::ptrdiff_t>(last->after);
    Facts read[2];
    const auto weighed = [&](auto from, auto to, Facts& facts, double begin, double end) {
        Case part = c;
        part.seen.assign(from, to);
        std::erase_if(part.tried, [&](const Tried& t) { return t.after >= last->after; });
        facts = diagnose::facts(part, scenario, priors);
        Weighing weighing(sights, facts, priors, causes_told(part, scenario, priors, dusk, rough));
        return weighing.weigh(rough, [&](double f) { return !progress || progress(begin + f * (end - begin)); });
    };
    const Posterior before = weighed(c.seen.begin(), c.seen.begin() + n, read[0], 0.0, 0.5),
                    since = weighed(c.seen.begin() + n, c.seen.end(), read[1], 0.5, 1.0);
    if (before.causes.size() != since.causes.size()) return 0;
    const double most = *std::max_element(since.log_evidence.begin(), since.log_evidence.end());
    double one = 0.0, two = 0.0;
    for (std::size_t k = 0; k < since.causes.size(); ++k) {
        const double fits = std::exp(since.log_evidence[k] - most);
        const bool it = covers(*last, since.causes[k]);
        one += fits * before.probability[k] * (it ? priors.repair_fails : 1.0);
        if (it) continue;
        for (std::size_t r = 0; r < before.causes.size(); ++r)
            if (covers(*last, before.causes[r]))
                two += fits * before.probability[r] * second(before.causes, priors, r, k);
    }
    return two > one * std::pow(priors.slip, changed(read[0], read[1])) ? last->after : 0;
}

}  // namespace sunshaft::diagnose
