#include "diagnose/posterior.hpp"

#include <fmt/format.h>

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "bench/field_tests.hpp"
#include "diagnose/suspects.hpp"
#include "diagnose/weigh.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr double impossible = -1e9;  // logarithm of a probability

// Chi-square tail, by Wilson and Hilferty's cube root (1931).
double chi_tail(double distance, int figures) {
    const double k = std::max(1, figures), z = (std::cbrt(distance / k) - 1 + 2 / (9 * k)) / std::sqrt(2 / (9 * k));
    return 0.5 * std::erfc(z / std::sqrt(2.0));
}

// The sky needs no physics: it is what it is set to.
double sky(const Scenario& s, const Change& change, const std::string& gauge) {
    Scenario there = s;
    site::set_keys(there, change.set);
    const site::Works works = site::set_up(there);
    return gauge == "sun" ? works.array.sunlight() : works.array.module_degC;
}

// Two ways to stand: nothing goes over from one to the other. Whether it trips in the end or not is none: what is read
// while it turns does go over.
bool parted(const Behaviour& a, const Behaviour& b) { return a.driven != b.driven || a.turns != b.turns; }
bool parted(const Profile& a, const Profile& b) {
    return !std::equal(a.behaviour.begin(), a.behaviour.end(), b.behaviour.begin(),
                       [](const Behaviour& x, const Behaviour& y) { return !parted(x, y); });
}

}  // namespace

Weighing::Weighing(Sights& sights, const Facts& facts, const Priors& priors, std::vector<Cause> causes)
    : sights_(sights), facts_(facts), priors_(priors), causes_(std::move(causes)) {
    profiles_.resize(causes_.size());
    for (const Fact& f : facts_.list)
        if (!f.gain.empty() && std::find(gains_.begin(), gains_.end(), f.gain) == gains_.end())
            gains_.push_back(f.gain);
}

// A site once run or solved is looked at wherever people usually look there: the next reading then costs nothing.
std::vector<Look> Weighing::usual_looks(const State& state) const {
    std::vector<const char*> ids;
    if (state.running()) ids = {"line-clamps", "link-volts", "bucket"};
    else if (!std::isfinite(state.after_s) && state.acts.size() == 2 && state.acts[1].kind == "pull")
        ids = {"winding-ohms"};
    std::vector<Look> list;
    const site::Works works = site::set_up(sights_.scenario());
    for (const char* id : ids)
        for (const bench::Observation& o : bench::find_test(id)->observations(works))
            list.push_back({o.probes, o.mode, o.gauge, "", false});
    return list;
}

std::vector<Profile> Weighing::profiles_of(const std::vector<Change>& changes,
                                           const std::function<bool(double)>& progress) {
    const std::size_t n = facts_.list.size();
    // Facts of one state are one question.
    std::vector<std::string> states;
    std::vector<std::size_t> state_of(n);
    for (std::size_t f = 0; f < n; ++f) {
        const std::string key = facts_.list[f].state.key();
        const auto at = std::find(states.begin(), states.end(), key);
        state_of[f] = static_cast<std::size_t>(at - states.begin());
        if (at == states.end()) states.push_back(key);
    }
    std::vector<Sights::Ask> asks;
    std::vector<std::pair<std::size_t, std::size_t>> of;  // change and state
    for (std::size_t c = 0; c < changes.size(); ++c)
        for (std::size_t s = 0; s < states.size(); ++s) {
            Sights::Ask ask{changes[c], {}, {}};
            bool needed = false;
            for (std::size_t f = 0; f < n; ++f) {
                const Fact& fact = facts_.list[f];
                if (state_of[f] != s || of_the_sky(fact)) continue;
                needed = true;
                ask.state = fact.state;
                ask.looks.insert(ask.looks.end(), fact.looks.begin(), fact.looks.end());
            }
            if (!needed) continue;
            const auto more = usual_looks(ask.state);  // behind those of the facts
            ask.looks.insert(ask.looks.end(), more.begin(), more.end());
            asks.push_back(std::move(ask));
            of.emplace_back(c, s);
        }
    const auto seen = sights_.see(asks, progress);
    std::vector<Profile> out(changes.size());
    for (Profile& p : out) p.shown.resize(n), p.behaviour.resize(n), p.loose.assign(n, 0.0);
    for (std::size_t a = 0; a < asks.size(); ++a) {
        Profile& p = out[of[a].first];
        p.possible = p.possible && seen[a].possible;
        std::size_t look = 0;
        for (std::size_t f = 0; f < n; ++f) {
            if (state_of[f] != of[a].second || of_the_sky(facts_.list[f])) continue;
            p.behaviour[f] = seen[a].behaviour;
            for (std::size_t k = 0; k < facts_.list[f].looks.size(); ++k) p.shown[f][k] = seen[a].shown[look++];
            if (facts_.list[f].looks.size() == 1) p.shown[f][1] = p.shown[f][0];
        }
    }
    for (std::size_t f = 0; f < n; ++f)
        if (of_the_sky(facts_.list[f]))
            for (std::size_t c = 0; c < changes.size(); ++c) {
                const double x = sky(sights_.scenario(), changes[c], facts_.list[f].looks.front().gauge);
                out[c].shown[f].fill({Shown::Kind::figure, x, 0.0, 0.0});
            }
    return out;
}

void Weighing::look(const std::vector<std::pair<std::size_t, std::size_t>>& which,
                    const std::function<bool(double)>& progress) {
    std::vector<Change> changes;
    for (const auto& [c, p] : which) changes.push_back(causes_[c].points[p].change);
    auto found = profiles_of(changes, progress);
    for (std::size_t n = 0; n < which.size(); ++n) {
        auto& list = profiles_[which[n].first];
        list.resize(causes_[which[n].first].points.size());
        list[which[n].second] = std::move(found[n]);
    }
}

Profile Weighing::between(const Cause& c, const std::vector<Profile>& points, std::size_t left, double s) const {
    const Profile &a = points[left], &b = points[left + 1];
    Profile p = s < 0.5 ? a : b;
    const double h = c.points[left + 1].share - c.points[left].share;
    for (std::size_t f = 0; f < facts_.list.size(); ++f)
        for (std::size_t k = 0; k < 2 && facts_.list[f].kind != Fact::Kind::says; ++k) {
            const Shown &x = a.shown[f][k], &y = b.shown[f][k];
            if (x.kind != Shown::Kind::figure || y.kind != Shown::Kind::figure ||
                parted(a.behaviour[f], b.behaviour[f]))
                continue;
            const Fact& fact = facts_.list[f];
            const double from = compared(fact, x.value), to = compared(fact, y.value);
            Shown& z = p.shown[f][k];
            z.value = fact.log ? std::exp(from + s * (to - from)) : from + s * (to - from);
            z.band = x.band + s * (y.band - x.band);
            // How far the curve may lie off the line: from the slopes beside, at most a third of the step.
            double bend = 0.0;
            const auto slope_at = [&](std::size_t l) {
                return (compared(fact, points[l + 1].shown[f][k].value) - compared(fact, points[l].shown[f][k].value)) /
                       (c.points[l + 1].share - c.points[l].share);
            };
            const auto figures = [&](std::size_t l) { return points[l].shown[f][k].kind == Shown::Kind::figure; };
            if (left > 0 && figures(left - 1)) bend = std::abs(slope_at(left) - slope_at(left - 1));
            if (left + 2 < points.size() && figures(left + 2))
                bend = std::max(bend, std::abs(slope_at(left + 1) - slope_at(left)));
            // A wide gap is not known to be straight, whatever the points beside it say.
            constexpr double wide = 0.3;
            const double least = std::abs(to - from) / 6 * std::min(1.0, h / wide);
            const double sd =
                std::clamp(bend * h / 8, least, std::max(least, std::abs(to - from) / 3)) * 4 * s * (1 - s);
            if (k == 0) p.loose[f] = sd * sd;
        }
    return p;
}

// A cause at all its severities, with what each weighs.
std::vector<Weighing::Part> Weighing::parts(std::size_t c, double vague) const {
    constexpr int steps = 8;
    const Cause& cause = causes_[c];
    const auto& points = profiles_[c];
    const double slip = cause.fault == "nothing-here-fits" ? priors_.unknown_slip : 0.0;
    std::vector<Part> parts;
    const auto take = [&](Profile profile, double log_weight, std::size_t near, double share, std::size_t gap = no_gap,
                          double within = 0.5) {
        if (!profile.possible) return;
        profile.vague = vague;
        Fit f = fit(profile, slip);
        parts.push_back({f.log + log_weight, near, share, gap, within, std::move(f), std::move(profile)});
    };
    if (!cause.graded || points.size() < 2) {
        for (std::size_t k = 0; k < points.size(); ++k)
            take(points[k], -std::log(static_cast<double>(points.size())), k, cause.points[k].share);
        return parts;
    }
    for (std::size_t l = 0; l + 1 < points.size(); ++l) {
        const double h = cause.points[l + 1].share - cause.points[l].share;
        for (int k = 0; k < steps; ++k) {
            const double s = (k + 0.5) / steps;
            const std::size_t near = s < 0.5 ? l : l + 1;
            if (!points[l].possible || !points[l + 1].possible)
                take(points[near], std::log(h / steps), near, cause.points[near].share);
            else take(between(cause, points, l, s), std::log(h / steps), near, cause.points[l].share + s * h, l, s);
        }
    }
    // The end itself: a joint that is quite open, a screen that is quite shut.
    take(points.back(), std::log(0.05), points.size() - 1, 1.0);
    return parts;
}

// One cause at all its severities. Others do not enter, so this is done again only where its severities grew finer.
Weighing::Alone Weighing::alone(std::size_t c) const {
    Alone out;
    out.weight.assign(profiles_[c].size(), 0.0);
    out.gaps.assign(profiles_[c].size(), {});
    out.slip.assign(facts_.list.size(), 0.0);
    std::vector<Part> parts = this->parts(c);
    if (parts.empty()) return out;
    std::vector<double> own;
    for (const Part& part : parts) own.push_back(part.log);
    out.log_evidence = log_sum(own);
    const auto shares = shares_of(own);
    std::size_t best = 0;
    std::vector<double> best_in(profiles_[c].size(), -1e18);
    for (std::size_t k = 0; k < parts.size(); ++k) {
        out.weight[parts[k].point] += shares[k];
        if (const std::size_t g = parts[k].gap; g != no_gap) {
            out.gaps[g].weight += shares[k];
            if (parts[k].log > best_in[g]) best_in[g] = parts[k].log, out.gaps[g].best = parts[k].within;
        }
        for (std::size_t f = 0; f < facts_.list.size(); ++f) out.slip[f] += shares[k] * parts[k].fit.slip[f];
        if (parts[k].log > parts[best].log) best = k;
    }
    out.without = parts[best].fit.without;
    out.share = parts[best].share;
    out.off = parts[best].fit.off;
    out.best = std::move(parts[best].profile);
    return out;
}

void Weighing::combine(Posterior& p) const {
    const std::size_t n = causes_.size();
    std::vector<double> logs(n);
    p.log_evidence.assign(n, 0.0);
    p.share.assign(n, 0.0);
    p.weight.assign(n, {});
    p.gaps.assign(n, {});
    p.off.assign(n, {});
    p.best.assign(n, {});
    double reading_log = -1e9;
    for (std::size_t c = 0; c < n; ++c) {
        const Alone& x = alone_[c];
        const double prior = std::log(causes_[c].prior);
        p.log_evidence[c] = x.log_evidence;
        p.share[c] = x.share, p.weight[c] = x.weight, p.gaps[c] = x.gaps, p.off[c] = x.off, p.best[c] = x.best;
        logs[c] = x.log_evidence > impossible ? prior + x.log_evidence : impossible;
        const double without = prior + x.without;
        if (causes_[c].fault == "health") {
            // A healthy site with a slip among the readings is a suspect of its own.
            const double with = logs[c] > without ? logs[c] + std::log1p(-std::exp(without - logs[c])) : impossible;
            reading_log = facts_.list.empty() ? impossible : with;
            logs[c] = std::max(without, impossible);
        } else if (causes_[c].fault == "nothing-here-fits") {
            logs[c] = logs[c] > without ? logs[c] + std::log1p(-std::exp(without - logs[c])) : impossible;
            if (facts_.list.empty()) logs[c] = prior;
        }
    }
    std::vector<double> all = logs;
    all.push_back(reading_log);
    const auto shares = shares_of(all);
    p.log_total = log_sum(all);
    p.probability.assign(shares.begin(), shares.end() - 1);
    p.reading = shares.back();
    p.slip.assign(facts_.list.size(), 0.0);
    for (std::size_t c = 0; c < n; ++c) {
        if (causes_[c].fault == "nothing-here-fits") continue;
        const double weight = p.probability[c] + (causes_[c].fault == "health" ? p.reading : 0.0);
        for (std::size_t f = 0; f < facts_.list.size(); ++f) p.slip[f] += weight * alone_[c].slip[f];
    }
    p.causes = causes_;
    p.profiles = profiles_;
}

void Weighing::weigh(Posterior& p, const std::vector<std::size_t>& anew) {
    alone_.resize(causes_.size());
    tbb::parallel_for(std::size_t{0}, anew.size(), [&](std::size_t k) { alone_[anew[k]] = alone(anew[k]); });
    combine(p);
}

std::vector<Weighing::Between> Weighing::worth_refining(const Posterior& p) const {
    // Points between those whose severities carry most, as long as they stand far apart.
    std::vector<Between> gaps;
    for (std::size_t c = 0; c < causes_.size(); ++c) {
        const Cause& cause = causes_[c];
        if (!cause.graded || p.probability[c] < 3e-5) continue;  // a coarse look hides much of a cause
        for (std::size_t l = 0; l + 1 < cause.points.size(); ++l) {
            const double h = cause.points[l + 1].share - cause.points[l].share;
            if (h < 0.02) continue;
            // Where it turns at one end and stands at the other nothing is known of the way between: in the middle.
            const double within = parted(profiles_[c][l], profiles_[c][l + 1]) ? 0.5 : p.gaps[c][l].best;
            gaps.push_back({p.probability[c] * p.gaps[c][l].weight, c, l, within});
        }
    }
    std::sort(gaps.begin(), gaps.end(), [](const Between& a, const Between& b) {
        return a.worth != b.worth ? a.worth > b.worth : a.cause != b.cause ? a.cause < b.cause : a.left > b.left;
    });
    constexpr std::size_t most = 20;
    constexpr double least = 3e-5;
    std::vector<Between> chosen;
    for (const Between& g : gaps)
        if (chosen.size() < most && g.worth > least) chosen.push_back(g);
    for (const Between& g : unknown_between(p))
        if (std::none_of(chosen.begin(), chosen.end(),
                         [&](const Between& x) { return x.cause == g.cause && x.left == g.left; }))
            chosen.push_back(g);
    return chosen;
}

// Between a severity at which the motor turns and one at which it stands nothing is known of what is read: a cause that
// fits at neither may fit there. Those that would come near, were half of what they change uncertain.
std::vector<Weighing::Between> Weighing::unknown_between(const Posterior& p) const {
    constexpr std::size_t most = 8;
    constexpr double vague = 0.5, hopeless = 16.0, narrow = 0.05;
    std::vector<Between> gaps;
    for (std::size_t c = 0; c < causes_.size(); ++c) {
        const auto& points = causes_[c].points;
        for (std::size_t l = 0; causes_[c].graded && l + 1 < points.size(); ++l) {
            const Profile &a = profiles_[c][l], &b = profiles_[c][l + 1];
            if (points[l + 1].share - points[l].share < narrow || !a.possible || !b.possible) continue;
            if (parted(a, b)) gaps.push_back({0.0, c, l, 0.5});
        }
    }
    tbb::parallel_for(std::size_t{0}, gaps.size(), [&](std::size_t n) {
        Between& g = gaps[n];
        double log = impossible;
        for (const std::size_t k : {g.left, g.left + 1}) {
            Profile there = profiles_[g.cause][k];
            there.vague = vague;
            log = std::max(log, fit(there, 0.0).log);
        }
        g.worth = std::log(causes_[g.cause].prior) + log - p.log_total;
    });
    std::erase_if(gaps, [](const Between& g) { return !(g.worth > -hopeless); });
    std::stable_sort(gaps.begin(), gaps.end(), [](const Between& a, const Between& b) { return a.worth > b.worth; });
    if (gaps.size() > most) gaps.resize(most);
    return gaps;
}

void Weighing::set_fits(Posterior& p) const {
    // Does anything fit? Of the hypothesis that explains most, how rare readings so far off are.
    double best = -1e18;
    for (std::size_t c = 0; c < causes_.size(); ++c) {
        if (causes_[c].fault == "nothing-here-fits" || !p.best[c].possible || p.best[c].shown.empty()) continue;
        const Fit f = fit(p.best[c], 0.0);
        const double without = f.without + std::log(causes_[c].prior);
        if (without <= best) continue;
        best = without;
        p.fits = f.without < -500 ? 0.0 : chi_tail(f.distance, f.figures);
        p.fits_but_one = p.fits;
        if (p.fits > nothing_fits || facts_.list.empty()) continue;
        const auto most = static_cast<std::size_t>(std::max_element(f.slip.begin(), f.slip.end()) - f.slip.begin());
        if (facts_.list[most].repeats > 1) continue;
        Profile loose = p.best[c];
        loose.loose[most] = 1e12;
        const Fit other = fit(loose, 0.0);
        const auto odd = std::count(f.off.begin(), f.off.end(), contradicts);
        const bool figure = facts_.list[most].kind == Fact::Kind::figure;  // else words, which the tail does not know
        if (odd == 0) p.fits_but_one = figure ? chi_tail(other.distance, other.figures - 1) : p.fits;
        else p.fits_but_one = odd == 1 ? chi_tail(f.distance, f.figures) : 0.0;
    }
}

Posterior Weighing::weigh(bool rough, const std::function<bool(double)>& progress) {
    const int rounds = rough ? 2 : 5;
    const auto part = [&](double from, double to) {
        return [&progress, from, to](double f) { return !progress || progress(from + f * (to - from)); };
    };
    nuisances_ = nuisances(sights_.scenario());
    std::vector<Change> changes = {{}};
    for (const Nuisance& k : nuisances_) changes.push_back({k.set, {}});
    const auto base = profiles_of(changes, part(0.0, 0.05));
    healthy_ = base.front();
    // The ends of each range first: where neither shows anything, nothing between does.
    std::vector<std::pair<std::size_t, std::size_t>> ends, middle;
    for (std::size_t c = 0; c < causes_.size(); ++c)
        for (std::size_t k = 0; k < causes_[c].points.size(); ++k)
            if (!causes_[c].graded || k == 0 || k + 1 == causes_[c].points.size()) ends.emplace_back(c, k);
    look(ends, part(0.05, 0.5));
    for (std::size_t c = 0; c < causes_.size(); ++c) {
        const std::size_t last = causes_[c].points.size() - 1;
        for (std::size_t k = 1; k < last && causes_[c].graded; ++k)
            if (like_healthy(profiles_[c][0]) && like_healthy(profiles_[c][last])) profiles_[c][k] = profiles_[c][0];
            else middle.emplace_back(c, k);
    }
    look(middle, part(0.5, 0.7));
    const std::size_t n = facts_.list.size();
    slope_ = slopes(healthy_, base.data() + 1);
    for (std::size_t kind = 0; kind < 2; ++kind) {
        width_[kind].assign(n, 1.0);
        for (std::size_t f = 0; f < n; ++f) {
            const Fact& fact = facts_.list[f];
            double low = compared(fact, fact.value), high = low;
            for (const auto& cause : profiles_)
                for (const Profile& p : cause)
                    if (p.possible && p.shown[f][kind].kind == Shown::Kind::figure) {
                        const double x = compared(fact, p.shown[f][kind].value);
                        low = std::min(low, x), high = std::max(high, x);
                    }
            width_[kind][f] = std::max(1.2 * (high - low), 0.5 * std::abs(fact.value) * (fact.log ? 0.0 : 1.0));
            width_[kind][f] = std::max(width_[kind][f], fact.log ? 1.0 : 1e-6);
        }
    }
    Posterior p;
    std::vector<std::size_t> anew(causes_.size());
    std::iota(anew.begin(), anew.end(), std::size_t{0});
    weigh(p, anew);
    const double step = (rough ? 0.3 : 0.25) / rounds;
    for (int round = 0; round < rounds; ++round)
        if (!refine(p, part(0.7 + step * round, 0.7 + step * (round + 1)))) break;
    set_fits(p);
    constexpr double doubtful = 0.3, strains = 0.05;  // of right causes' readings three in ten fit no better
    constexpr std::ptrdiff_t few = 4;                 // tell too little for it to be worth its runs
    const auto told =
        std::count_if(facts_.list.begin(), facts_.list.end(), [](const Fact& f) { return !of_the_sky(f); });
    if (!rough && (p.fits < doubtful || told > few)) {
        p.strained = p.fits < strains;
        with_own_slopes(p, part(0.95, 0.99));
        refine(p, part(0.99, 1.0));
        set_fits(p);
    }
    return p;
}

// Looks at severities between those known; whose they are.
std::vector<std::size_t> Weighing::insert(std::vector<Between> chosen, const std::function<bool(double)>& progress) {
    // From the right of each cause, so that places before stay what they are.
    std::sort(chosen.begin(), chosen.end(), [](const Between& a, const Between& b) {
        return a.cause != b.cause ? a.cause < b.cause : a.left > b.left;
    });
    std::vector<Change> fresh;
    for (const Between& g : chosen) {
        Cause& cause = causes_[g.cause];
        const double left = cause.points[g.left].share, right = cause.points[g.left + 1].share;
        const double share = left + std::clamp(g.within, 0.15, 0.85) * (right - left);
        const auto at = cause.points.begin() + static_cast<std::ptrdiff_t>(g.left) + 1;
        fresh.push_back(
            cause.points.insert(at, point(*site::find_fault(cause.fault), cause.places.front(), share))->change);
    }
    auto found = profiles_of(fresh, progress);
    std::vector<std::size_t> anew;
    for (std::size_t k = 0; k < chosen.size(); ++k) {
        if (anew.empty() || anew.back() != chosen[k].cause) anew.push_back(chosen[k].cause);
        auto& list = profiles_[chosen[k].cause];
        found[k].slopes = list.front().slopes;
        list.insert(list.begin() + static_cast<std::ptrdiff_t>(chosen[k].left) + 1, std::move(found[k]));
    }
    return anew;
}

// False: nowhere is it worth it.
bool Weighing::refine(Posterior& p, const std::function<bool(double)>& progress) {
    const std::vector<Between> chosen = worth_refining(p);
    if (chosen.empty()) return false;
    weigh(p, insert(chosen, progress));
    return true;
}

void Weighing::set_harmless_to_health(Posterior& p, const std::function<bool(double)>& progress) {
    const site::Works works = site::set_up(sights_.scenario());
    if (works.water.pump.index() == 0) return;
    const Look flow{{}, meter::Mode::dcv, "flow", "", false};
    const auto found =
        std::find_if(p.causes.begin(), p.causes.end(), [](const Cause& x) { return x.fault == "health"; });
    const auto health = static_cast<std::size_t>(found - p.causes.begin());
    std::vector<Sights::Ask> asks = {{{}, {}, {flow}}};
    std::vector<std::pair<std::size_t, std::size_t>> of;
    for (std::size_t c = 0; c < p.causes.size(); ++c) {
        if (!p.causes[c].graded || p.probability[c] < 5e-3) continue;
        // What the readings show is told, whether it costs water now or not.
        constexpr double plain = 3.0;  // a factor of twenty
        if (p.log_evidence[c] - p.log_evidence[health] > plain) continue;
        for (std::size_t k = 0; k < p.causes[c].points.size(); ++k) {
            if (p.weight[c][k] < 0.02 || !priors_.harmless(p.causes[c].fault, p.causes[c].points[k].severity)) continue;
            asks.push_back({p.causes[c].points[k].change, {}, {flow}});
            of.emplace_back(c, k);
        }
    }
    const auto seen = sights_.see(asks, progress);
    const Shown& good = seen.front().shown.front();
    if (good.kind != Shown::Kind::figure || !(good.value > 0.0)) return;
    std::vector<double> kept = p.probability;
    for (std::size_t n = 0; n < of.size(); ++n) {
        const Shown& s = seen[n + 1].shown.front();
        const auto [c, k] = of[n];
        if (!seen[n + 1].possible || s.kind != Shown::Kind::figure ||
            s.value < (1.0 - priors_.harmless_water) * good.value)
            continue;
        const double moved = p.probability[c] * p.weight[c][k];
        kept[c] -= moved;
        kept[health] += moved;
    }
    for (double& x : kept) x = std::max(0.0, x);
    p.probability = kept;
}

}  // namespace sunshaft::diagnose
