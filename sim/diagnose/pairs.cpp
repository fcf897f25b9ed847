// Two causes at once: by chance, or from one event.
#include <algorithm>
#include <cmath>

#include "diagnose/posterior.hpp"
#include "diagnose/suspects.hpp"
#include "diagnose/weigh.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr double too_little = 0.15, misfit = 0.01;  // of what no cause explains; of the best of them
constexpr double told_apart = 3.0;                  // standard deviations from a healthy site
constexpr std::size_t most_halves = 12, a_fact = 4;
constexpr double room = 0.12;  // a severity found for the one alone may lie off by so much of what it changes

}  // namespace

// Causes of which each explains part of what is not healthy: for every such reading the most probable by it alone.
std::vector<std::size_t> Weighing::halves(const Posterior& p) const {
    std::size_t health = 0;
    while (p.causes[health].fault != "health") ++health;
    std::vector<std::size_t> list;
    for (std::size_t f = 0; f < facts_.list.size(); ++f) {
        if (p.off[health].empty() || std::abs(p.off[health][f]) < told_apart) continue;
        std::vector<std::pair<double, std::size_t>> by;
        for (std::size_t c = 0; c < p.causes.size(); ++c) {
            const bool fault = site::find_fault(p.causes[c].fault) != nullptr;
            if (!fault || p.off[c].empty() || std::abs(p.off[c][f]) > told_apart) continue;
            by.emplace_back(std::log(p.causes[c].prior) - 0.5 * p.off[c][f] * p.off[c][f], c);
        }
        std::sort(by.begin(), by.end(), [](const auto& a, const auto& b) {
            return a.first != b.first ? a.first > b.first : a.second < b.second;
        });
        for (std::size_t n = 0; n < std::min(a_fact, by.size()) && list.size() < most_halves; ++n)
            if (std::find(list.begin(), list.end(), by[n].second) == list.end()) list.push_back(by[n].second);
    }
    return list;
}

std::vector<Pair> Weighing::pairs(Posterior& p, const std::function<bool(double)>& progress) {
    double unknown = p.reading;
    for (std::size_t c = 0; c < p.causes.size(); ++c)
        if (p.causes[c].fault == "nothing-here-fits") unknown += p.probability[c];
    if ((unknown < too_little && p.fits > misfit && !p.strained) || !(priors_.two_at_once > 0.0)) return {};
    const std::vector<std::size_t> list = halves(p);
    const auto faults_of = [&](std::size_t c) {
        const Cause& cause = p.causes[c];
        return cause.graded ? point(*site::find_fault(cause.fault), cause.places.front(), p.share[c]).change.faults
                            : cause.points.front().change.faults;
    };
    std::vector<Pair> all;
    std::vector<Change> changes;
    for (std::size_t a = 0; a < list.size(); ++a)
        for (std::size_t b = a + 1; b < list.size(); ++b) {
            Change both{{}, faults_of(list[a])};
            for (site::Fault& f : faults_of(list[b])) both.faults.push_back(std::move(f));
            if (both.faults[0].kind == both.faults[1].kind) continue;
            changes.push_back(std::move(both));
            all.push_back({list[a], list[b], 0.0, {}, {}});
        }
    auto seen = profiles_of(changes, progress);
    double more = 0.0;
    std::vector<Pair> out;
    for (std::size_t n = 0; n < all.size(); ++n) {
        Profile& profile = seen[n];
        if (!profile.possible) continue;
        for (std::size_t f = 0; f < facts_.list.size(); ++f) {
            const Shown &is = profile.shown[f][0], &good = healthy_.shown[f][0];
            if (is.kind != Shown::Kind::figure || good.kind != Shown::Kind::figure) continue;
            const double moved = compared(facts_.list[f], is.value) - compared(facts_.list[f], good.value);
            profile.loose[f] = room * room * moved * moved;
        }
        const Fit f = fit(profile, 0.0);
        const std::size_t one = all[n].one, other = all[n].other;
        const double log = std::log(p.causes[one].prior * second(p.causes, priors_, one, other) +
                                    p.causes[other].prior * second(p.causes, priors_, other, one));
        all[n].probability = std::exp(std::min(50.0, f.log + log - p.log_total));
        more += all[n].probability;
        all[n].off = f.off;
        all[n].profile = std::move(profile);
        out.push_back(std::move(all[n]));
    }
    for (Pair& x : out) x.probability /= 1.0 + more;
    for (double& x : p.probability) x /= 1.0 + more;
    p.reading /= 1.0 + more;
    std::erase_if(out, [](const Pair& x) { return x.probability < 1e-4; });
    return out;
}

// How likely it is that none of what is known is there, by how rare such readings are under the best of it: at least as
// much as the bound allows (T. Sellke, M. J. Bayarri, J. O. Berger, "Calibration of p values for testing precise null
// hypotheses", The American Statistician 55 (2001) 62-71: odds against of -e p ln p).
void Weighing::leave_room(Posterior& p, std::vector<Pair>& pairs) {
    constexpr double most = 0.95;
    const double tail = p.fits_but_one;
    if (!(tail < nothing_fits)) return;
    std::size_t unknown = 0;
    while (unknown < p.causes.size() && p.causes[unknown].fault != "nothing-here-fits") ++unknown;
    if (unknown == p.causes.size()) return;
    double alone = p.reading;  // by what is known, one at a time
    for (std::size_t c = 0; c < p.causes.size(); ++c)
        if (c != unknown) alone += p.probability[c];
    const double prior = p.causes[unknown].prior, bound = tail > 0.0 ? -std::exp(1.0) * tail * std::log(tail) : 0.0,
                 odds = std::min(most / (1.0 - most), prior / (1.0 - prior) / std::max(bound, 1e-12)),
                 more = odds * alone - p.probability[unknown];
    if (!(more > 0.0)) return;
    p.probability[unknown] += more;
    for (double& x : p.probability) x /= 1.0 + more;
    for (Pair& x : pairs) x.probability /= 1.0 + more;
    p.reading /= 1.0 + more;
}

}  // namespace sunshaft::diagnose
