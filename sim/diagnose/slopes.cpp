// How what is uncertain of every site moves what is read: of the healthy site, and, once some readings are told, of the
// likeliest suspects themselves.
#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <cmath>

#include "diagnose/posterior.hpp"
#include "diagnose/weigh.hpp"

namespace sunshaft::diagnose {

// moved: as many as there are nuisances.
Slopes Weighing::slopes(const Profile& base, const Profile* moved) const {
    Slopes out;
    const auto facts = static_cast<Eigen::Index>(facts_.list.size()),
               all = static_cast<Eigen::Index>(nuisances_.size());
    for (std::size_t kind = 0; kind < 2; ++kind) {
        out[kind] = Eigen::MatrixXd::Zero(facts, all);
        for (std::size_t f = 0; f < facts_.list.size(); ++f)
            for (std::size_t k = 0; k < nuisances_.size(); ++k) {
                const Shown &is = base.shown[f][kind], &there = moved[k].shown[f][kind];
                // Where the site does something else there, it is another branch and no slope.
                if (is.kind != Shown::Kind::figure || there.kind != Shown::Kind::figure || !moved[k].possible ||
                    moved[k].behaviour[f].driven != base.behaviour[f].driven)
                    continue;
                out[kind](static_cast<Eigen::Index>(f), static_cast<Eigen::Index>(k)) =
                    compared(facts_.list[f], there.value) - compared(facts_.list[f], is.value);
            }
    }
    return out;
}

// A string that a bad joint throttles feels a sun, a pump or a module that is a little off far more than a healthy one
// does, and the figures of a drive that stops hang on when it does. So the causes that come nearest, were what they
// change known to a fourth only, get slopes of their own.
void Weighing::with_own_slopes(Posterior& p, const std::function<bool(double)>& progress) {
    constexpr std::size_t most = 8;
    constexpr double vague = 0.25, hopeless = 8.0;
    struct Near {
        double log = -1e18;
        std::size_t cause = 0, point = 0, gap = no_gap;
        double within = 0.5;
    };
    std::vector<Near> near(causes_.size());
    tbb::parallel_for(std::size_t{0}, causes_.size(), [&](std::size_t c) {
        if (causes_[c].points.back().change.faults.empty()) return;
        for (const Part& x : parts(c, vague)) {
            const double log = std::log(causes_[c].prior) + x.log;
            if (log > near[c].log) near[c] = {log, c, x.point, x.gap, x.within};
        }
    });
    std::stable_sort(near.begin(), near.end(), [](const Near& a, const Near& b) { return a.log > b.log; });
    near.resize(std::min(most, near.size()));
    const double least = near.empty() ? 0.0 : std::max(-1e17, near.front().log - hopeless);
    std::erase_if(near, [&](const Near& x) { return x.log < least; });
    // Looked at just there first.
    std::vector<Between> between;
    for (Near& x : near)
        if (x.gap != no_gap) between.push_back({0.0, x.cause, x.gap, x.within}), x.point = x.gap + 1;
    (void)insert(between, progress);
    std::vector<Change> changes;
    for (const Near& x : near)
        for (const Nuisance& n : nuisances_) changes.push_back({n.set, causes_[x.cause].points[x.point].change.faults});
    const auto moved = profiles_of(changes, progress);
    std::vector<std::size_t> anew;
    for (std::size_t n = 0; n < near.size(); ++n) {
        const std::size_t c = near[n].cause;
        const auto own =
            std::make_shared<const Slopes>(slopes(profiles_[c][near[n].point], moved.data() + n * nuisances_.size()));
        for (Profile& point : profiles_[c]) point.slopes = own;
        anew.push_back(c);
    }
    weigh(p, anew);
}

}  // namespace sunshaft::diagnose
