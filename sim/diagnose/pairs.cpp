// Two causes at once: by chance, or from one event.
#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <set>

#include "diagnose/posterior.hpp"
#include "diagnose/suspects.hpp"
#include "diagnose/weigh.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr double too_little = 0.15, misfit = 0.01;  // of what no cause explains; of the best of them
constexpr double told_apart = 3.0;                  // standard deviations from a healthy site
constexpr std::size_t most_halves = 12, a_fact = 4;
constexpr double room = 0.12;  // a severity found for the one alone may lie off by so much of what it changes

// A cause as bad as it is most probable alone.
Change as_bad_alone(const Posterior& p, std::size_t c) {
    const Cause& cause = p.causes[c];
    return cause.graded ? point(*site::find_fault(cause.fault), cause.places.front(), p.share[c]).change
                        : cause.points.front().change;
}

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

// Every two of them, each as bad as it would be alone.
std::vector<Pair> Weighing::pairs_of_halves(const Posterior& p) const {
    const std::vector<std::size_t> list = halves(p);
    std::vector<Pair> all;
    for (std::size_t a = 0; a < list.size(); ++a)
        for (std::size_t b = a + 1; b < list.size(); ++b) {
            Change both = as_bad_alone(p, list[a]);
            for (site::Fault& f : as_bad_alone(p, list[b]).faults) both.faults.push_back(std::move(f));
            if (both.faults[0].kind != both.faults[1].kind) all.push_back({list[a], list[b], std::move(both)});
        }
    return all;
}

// About what two show together: what each changes of the healthy site, one laid over the other.
Profile Weighing::both(const Profile& a, const Profile& b) const {
    Profile sum = a;
    for (std::size_t f = 0; f < facts_.list.size(); ++f) {
        if (!(b.behaviour[f] == healthy_.behaviour[f])) sum.behaviour[f] = b.behaviour[f];
        for (std::size_t kind = 0; kind < 2; ++kind) {
            Shown& x = sum.shown[f][kind];
            const Shown &y = b.shown[f][kind], &good = healthy_.shown[f][kind];
            constexpr Shown::Kind figure = Shown::Kind::figure;
            const bool add =
                x.kind == figure && y.kind == figure && good.kind == figure && facts_.list[f].kind != Fact::Kind::says;
            if (!add) {
                if (y.kind != good.kind || y.value != good.value) x = y;
                continue;
            }
            const bool flows = facts_.list[f].looks.front().gauge == "flow";  // never back through a bucket
            x.value = flows ? std::max(0.0, x.value + y.value - good.value) : x.value + y.value - good.value;
        }
    }
    return sum;
}

// The likeliest ones alone, with any other at any severity laid over: those that then fit best are worth their run.
std::vector<Pair> Weighing::laid_over(const Posterior& p) const {
    constexpr std::size_t firsts = 8, of_two_kinds = 3, in_all = 24;
    std::vector<std::size_t> order;
    for (std::size_t c = 0; c < p.causes.size(); ++c)
        if (site::find_fault(p.causes[c].fault) && p.best[c].possible && !p.best[c].shown.empty()) order.push_back(c);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return p.probability[a] > p.probability[b]; });
    std::vector<std::pair<double, Pair>> worth;
    for (std::size_t n = 0; n < std::min(firsts, order.size()); ++n) {
        const std::size_t one = order[n];
        const Change first = as_bad_alone(p, one);
        for (const std::size_t other : order) {
            const Cause& second = causes_[other];
            if (second.fault == p.causes[one].fault) continue;
            for (std::size_t k = 0; k < second.points.size(); ++k) {
                const Profile& shows = profiles_[other][k];
                if (!shows.possible || shows.shown.empty()) continue;
                Pair x{one, other, first, second.graded ? second.points[k].share : -1.0,
                       1.0 / static_cast<double>(second.points.size())};
                x.change.faults.insert(x.change.faults.end(), second.points[k].change.faults.begin(),
                                       second.points[k].change.faults.end());
                if (x.change.faults.size() != 2) continue;
                const double log = fit(both(p.best[one], shows), 0.0).log + log_prior(p, x);
                worth.emplace_back(log, std::move(x));
            }
        }
    }
    std::stable_sort(worth.begin(), worth.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    std::map<std::pair<std::string, std::string>, std::size_t> of_kinds;
    std::vector<Pair> out;
    for (auto& [log, x] : worth) {
        if (out.size() == in_all) break;
        auto kinds = std::minmax(p.causes[x.one].fault, p.causes[x.other].fault);
        if (++of_kinds[{kinds.first, kinds.second}] <= of_two_kinds) out.push_back(std::move(x));
    }
    return out;
}

// The best of them once more, with the second halfway between all the severities it was tried at: what one fault does
// to the other may turn over within a few per cent of its range.
std::vector<Pair> Weighing::between_tried(const std::vector<Pair>& all) const {
    const auto best = std::find_if(all.begin(), all.end(), [](const Pair& x) { return x.at >= 0.0; });
    if (best == all.end()) return {};
    std::set<double> tried;
    for (const Pair& x : all)
        if (x.one == best->one && x.other == best->other && x.at >= 0.0) tried.insert(x.at);
    std::vector<Pair> out;
    for (auto from = tried.begin(), to = std::next(from); to != tried.end(); from = to++) {
        Pair near = *best;
        near.at = 0.5 * (*from + *to);
        site::Fault& fault = near.change.faults.back();
        fault.severity = site::severity_at(*site::find_fault(fault.kind), near.at);
        out.push_back(std::move(near));
    }
    return out;
}

double Weighing::log_prior(const Posterior& p, const Pair& x) const {
    return std::log(x.share * (p.causes[x.one].prior * second(p.causes, priors_, x.one, x.other) +
                               p.causes[x.other].prior * second(p.causes, priors_, x.other, x.one)));
}

// Sets what each shows and how probable that makes it, beside all of p.
void Weighing::weigh_pairs(const Posterior& p, std::vector<Pair>& list, const std::function<bool(double)>& progress) {
    std::vector<Change> changes;
    for (const Pair& x : list) changes.push_back(x.change);
    auto seen = profiles_of(changes, progress);
    for (std::size_t n = 0; n < list.size(); ++n) {
        Profile& profile = seen[n];
        Pair& x = list[n];
        if (!profile.possible) continue;
        for (std::size_t f = 0; f < facts_.list.size(); ++f) {
            const Shown &is = profile.shown[f][0], &good = healthy_.shown[f][0];
            if (is.kind != Shown::Kind::figure || good.kind != Shown::Kind::figure) continue;
            const double moved = compared(facts_.list[f], is.value) - compared(facts_.list[f], good.value);
            profile.loose[f] = room * room * moved * moved;
        }
        const Fit f = fit(profile, 0.0);
        x.probability = std::exp(std::min(50.0, f.log + log_prior(p, x) - p.log_total));
        x.off = f.off;
        x.profile = std::move(profile);
    }
    std::erase_if(list, [](const Pair& x) { return !(x.probability > 0.0); });
}

std::vector<Pair> Weighing::pairs(Posterior& p, const std::function<bool(double)>& progress) {
    double unknown = p.reading;
    for (std::size_t c = 0; c < p.causes.size(); ++c)
        if (p.causes[c].fault == "nothing-here-fits") unknown += p.probability[c];
    if ((unknown < too_little && p.fits > misfit && !p.strained) || !(priors_.two_at_once > 0.0)) return {};
    const auto part = [&](double from, double to) {
        return [&progress, from, to](double f) { return !progress || progress(from + f * (to - from)); };
    };
    std::vector<Pair> all = pairs_of_halves(p);
    for (Pair& x : laid_over(p)) all.push_back(std::move(x));
    weigh_pairs(p, all, part(0.0, 0.7));
    const auto more_probable = [](const Pair& a, const Pair& b) { return a.probability > b.probability; };
    std::stable_sort(all.begin(), all.end(), more_probable);
    constexpr int rounds = 3;
    for (int round = 0; round < rounds; ++round) {
        std::vector<Pair> near = between_tried(all);
        weigh_pairs(p, near, part(0.7 + 0.1 * round, 0.8 + 0.1 * round));
        std::move(near.begin(), near.end(), std::back_inserter(all));
        std::stable_sort(all.begin(), all.end(), more_probable);
    }
    // Of one pair the severity that fits best stands for it.
    std::set<std::pair<std::size_t, std::size_t>> told;
    std::erase_if(all, [&](const Pair& x) { return !told.insert(std::minmax(x.one, x.other)).second; });
    double more = 0.0;
    for (const Pair& x : all) more += x.probability;
    for (Pair& x : all) x.probability /= 1.0 + more;
    for (double& x : p.probability) x /= 1.0 + more;
    p.reading /= 1.0 + more;
    std::erase_if(all, [](const Pair& x) { return x.probability < 1e-4; });
    return all;
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
