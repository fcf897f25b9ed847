// How well one site, fully given, explains what was read.
#include <algorithm>
#include <array>
#include <cmath>

#include "diagnose/posterior.hpp"
#include "diagnose/senses.hpp"
#include "diagnose/weigh.hpp"

namespace sunshaft::diagnose {
namespace {

bool tries(const Behaviour& b) {
    return b.trips > 0 || b.phase == drive::Phase::tripped || b.phase == drive::Phase::locked;
}

// A cause that is a level of its own is not moved by all that is uncertain of the healthy one's: a well that holds the
// pump dry is not one in which the probe is covered.
double much(const Nuisance& moves, const Fact& fact, const Shown& is, const Shown& good) {
    constexpr double own_level_m = 2.0;
    const bool own =
        moves.level && fact.looks.front().gauge == "water" && std::abs(is.value - good.value) > own_level_m;
    return own ? 0.25 : 1.0;
}

// What was told in words, beside what a site would show: as it may well be told of it, or not.
struct Word {
    bool is;
    double log, without;
};
// How often one says so who names any lamp of any moment, or any message; of other words it is all that is left.
double by_chance(const Fact& fact) {
    constexpr double one_message = 0.1;  // of those in scenarios/priors.toml
    const std::string& m = fact.means.front();
    if (!m.starts_with("lamp ")) {
        constexpr std::array plain = {"off", "turns", "stands", "runs", "trips"};
        return std::find(plain.begin(), plain.end(), m) == plain.end() ? one_message : 1.0;
    }
    double on = 0.0, all = 0.0;
    for (int phase = 0; phase <= static_cast<int>(drive::Phase::latched); ++phase, ++all)
        if (lamp_on({static_cast<drive::Phase>(phase)}, m.substr(5))) ++on;
    return std::max(0.05, fact.denied ? 1.0 - on / all : on / all);
}

// own: how often it is a slip, of a drive that tries how often it was found otherwise; slip: without that.
Word said(const Fact& fact, const Shown& s, const Behaviour& b, double own, double slip) {
    const Senses& senses = shipped_senses();
    const double tries_too = senses.wrong_while_it_tries;
    if (fact.kind == Fact::Kind::says) {
        // Where it is known what is told in between, there is no other doubt.
        const double doubt = std::max(own, tries(b) && !std::isfinite(s.waits) ? tries_too : 0.0);
        constexpr double well = 0.1;  // told so by one in ten: no contradiction
        const std::string& gauge = fact.looks.front().gauge;
        const auto word = [](double number) { return static_cast<unsigned>(number + 0.5); };
        // Where there is nothing of the kind to be told of, it was told of something else.
        if (s.kind != Shown::Kind::figure) {
            const double log = std::log(senses.told(gauge, word(fact.value), 0, 1.0));
            return {false, log, log};
        }
        const auto told_with = [&](double share) { return senses.told(gauge, word(fact.value), word(s.value), share); };
        const double p = told_with(0.0);
        return {p > well, std::log(told_with(doubt)), std::log(p)};
    }
    bool is = false, lamp = false, holds = false;
    for (const std::string& m : fact.means) {
        is = is || (m.starts_with("lamp ") ? lamp_on(b, m.substr(5)) : shows(b, m));
        lamp = lamp || m.starts_with("lamp ");
        holds = holds || m.ends_with("hold");
    }
    is = is != fact.denied;
    // A drive that stops and starts again passes through much of what is told, but no guard holds it.
    const bool found_so = tries(b) && (is || !holds || fact.denied);
    const double doubt = std::max(found_so ? std::max(own, tries_too)
                                  : lamp   ? senses.lamp_wrong
                                           : senses.words_wrong,
                                  slip);
    // Told by mistake: of a lamp or a message any of them alike.
    const double log = std::log(is ? 1.0 - doubt : doubt * by_chance(fact));
    return {is, log, log};
}

// Both are figures, to be compared as such.
bool is_figure(const Fact& fact, const Shown& s) {
    return fact.kind != Fact::Kind::over && s.kind == Shown::Kind::figure && !fact.at_most && !fact.at_least;
}

// What was read or would be shown is no figure but that something is over range, or only a limit was told.
Word no_figure(const Fact& fact, const Shown& s, double own, double width) {
    const bool is_over = s.kind == Shown::Kind::over ||
                         (s.kind == Shown::Kind::figure && fact.kind == Fact::Kind::over &&
                          ((fact.over_from > 0.0 && std::abs(s.value) > fact.over_from) ||
                           (fact.looks.front().mode == meter::Mode::insulation && std::abs(s.value) > 2e8)));
    bool agrees = fact.kind == Fact::Kind::over && is_over;
    if (s.kind == Shown::Kind::figure && (fact.at_most || fact.at_least)) {
        const double bears = 0.1 * std::abs(fact.value) + fact.least + s.band;
        agrees = fact.at_most ? s.value <= fact.value + bears : s.value >= fact.value - bears;
    }
    if (s.kind == Shown::Kind::over && fact.at_least) agrees = true;
    // A figure where none was expected is a density like every other figure's.
    const bool density = fact.kind == Fact::Kind::figure && !fact.at_most && !fact.at_least;
    return {agrees, agrees ? std::log1p(-own) : std::log(own) - (density ? std::log(width) : 0.0), agrees ? 0.0 : -1e3};
}

double square(double x) { return x * x; }

// What a figure is compared in: a ratio, or the unit itself.
double unit_of(const Fact& fact, double value) { return fact.log ? 1.0 / std::max(std::abs(value), 1e-15) : 1.0; }

// Of one reading: of what was typed, the meter, the display, and a level between two.
double variance(const Fact& fact, const Shown& is) {
    const double unit = unit_of(fact, is.value), size_of = std::abs(is.value);
    double v = square(fact.sd * unit_of(fact, fact.value));
    v += square(fact.share * size_of * unit) + square(fact.least * unit) + square(0.5 * is.step * unit);
    if (fact.log) v += square(0.15);
    // A level between two is as likely anywhere between them; a meter's band is rarely used up.
    const double of_band = fact.looks.front().gauge == "water" ? 0.58 : fact.gain_sd > 0.0 ? 0.3 : 0.25;
    v += square(of_band * is.band * unit);
    return v;
}

// Sites and meters are off by more than their deviation more often than a normal law has it (common practice, no
// source): of one site in three all that is shared is taken as wider, and of one in three one thing is far off.
struct Mixed {
    double log, without, distance;
    std::vector<double> slip;
    Eigen::VectorXd off;
};
Mixed mixed(const Eigen::VectorXd& residual, const Eigen::MatrixXd& shared, const Eigen::VectorXd& own,
            const std::vector<double>& slip, const std::vector<double>& width) {
    constexpr double wider = 1.0 / 3, outlier = 1.0 / 3, far = 3.0;
    constexpr std::array<Spread, 2> spreads{Spread{1.0, outlier, far}, Spread{1.8, outlier, far}};
    std::array<Weighed, 2> w;
    std::array<double, 2> log{}, without{};
    for (std::size_t k = 0; k < 2; ++k) {
        w[k] = diagnose::weigh(residual, shared, own, spreads[k], slip, width);
        const double prior = std::log(k ? wider : 1.0 - wider);
        log[k] = prior + w[k].log_likelihood, without[k] = prior + w[k].log_without;
    }
    const auto half = shares_of({log[0], log[1]});
    Mixed out{log_sum({log[0], log[1]}),
              log_sum({without[0], without[1]}),
              w[without[1] > without[0] ? 1 : 0].distance,
              {},
              residual};
    for (std::size_t r = 0; r < slip.size(); ++r) out.slip.push_back(half[0] * w[0].slip[r] + half[1] * w[1].slip[r]);
    out.off.array() /= (shared.rowwise().squaredNorm() + own).array().sqrt();
    return out;
}

}  // namespace

bool of_the_sky(const Fact& f) {
    return f.kind == Fact::Kind::figure && (f.looks.front().gauge == "sun" || f.looks.front().gauge == "module_temp");
}

bool Weighing::like_healthy(const Profile& p) const {
    if (!p.possible) return false;
    for (std::size_t f = 0; f < facts_.list.size(); ++f) {
        if (!(p.behaviour[f] == healthy_.behaviour[f])) return false;
        for (std::size_t k = 0; k < 2; ++k) {
            const Shown &a = p.shown[f][k], &b = healthy_.shown[f][k];
            if (a.kind != b.kind || std::abs(a.value - b.value) > 0.1 * (a.band + b.band) + 1e-3 * std::abs(b.value))
                return false;
        }
    }
    return true;
}

Weighing::Beside Weighing::beside(const Profile& p, std::size_t f, std::size_t kind, double least_slip) const {
    const Fact& fact = facts_.list[f];
    const Profile& of = fact.well ? healthy_ : p;
    const Shown& s = of.shown[f][kind];
    // Who read it again and found the same is seldom wrong twice; what no hypothesis knows stays unknown.
    const double slips = priors_.slip * std::pow(priors_.slip_again, fact.repeats - 1);
    const double alone = of_the_sky(fact) ? 0.001 : std::max(slips, least_slip);
    // A drive that trips and tries again is read now while it tries, now while it waits.
    const bool either = fact.state.running() && tries(of.behaviour[f]) && !std::isfinite(s.waits);
    return {s, of.behaviour[f], alone, std::max(alone, either ? 0.5 : 0.0)};
}

// What is uncertain of every site moves this one's figure, in the row r of `shared`; v: variance of the reading alone.
void Weighing::move_by_nuisances(const Profile& p, std::size_t f, std::size_t kind, Eigen::Index r,
                                 Eigen::MatrixXd& shared, double& v) const {
    const Fact& fact = facts_.list[f];
    const Shown& is = fact.well ? healthy_.shown[f][kind] : p.shown[f][kind];
    const Shown& good = healthy_.shown[f][kind];
    // What moves a healthy site's figure moves this one's by no more than its share of it.
    double scale = good.kind == Shown::Kind::figure ? 1.0 : 0.0;
    const bool own_slopes = p.slopes && !fact.well && is.value != is.waits;  // those are of the running site
    const Slopes& slopes = own_slopes ? *p.slopes : slope_;
    if (scale > 0.0 && !own_slopes && !fact.log && good.value != 0.0)
        scale = std::min(1.0, std::abs(is.value / good.value));
    for (Eigen::Index k = 0; k < slope_[kind].cols(); ++k) {
        const Nuisance& moves = nuisances_[static_cast<std::size_t>(k)];
        const double slope = scale * much(moves, fact, is, good) * slopes[kind](static_cast<Eigen::Index>(f), k);
        const bool of_sky = moves.sky;
        if (of_sky && fact.well) v += square(slope);  // another day's sun
        else shared(r, k) = slope;
        // The sun moves between one reading and the next, by far more where clouds pass; the slope is that of
        // sun_step.
        if (of_sky && k == 0 && !of_the_sky(fact)) v += square(facts_.sun_swing / sun_step * slope);
    }
}

Weighing::Figures Weighing::figures(const Profile& p, const std::vector<std::size_t>& rows, std::size_t kind) const {
    const Eigen::Index size = static_cast<Eigen::Index>(rows.size()), nuisances = slope_[kind].cols(),
                       gains = static_cast<Eigen::Index>(gains_.size());
    Figures all{Eigen::VectorXd(size), Eigen::VectorXd::Zero(size), Eigen::MatrixXd::Zero(size, nuisances + gains)};
    for (Eigen::Index r = 0; r < size; ++r) {
        const std::size_t f = rows[static_cast<std::size_t>(r)];
        const Fact& fact = facts_.list[f];
        const Shown& is = fact.well ? healthy_.shown[f][kind] : p.shown[f][kind];
        const Shown& good = healthy_.shown[f][kind];
        const double m = compared(fact, is.value), unit = unit_of(fact, is.value);
        all.residual(r) = compared(fact, fact.value) - m;
        double v = variance(fact, is);
        v += p.loose[f];
        if (good.kind == Shown::Kind::figure) v += square(p.vague * (m - compared(fact, good.value)));
        const auto gain = std::find(gains_.begin(), gains_.end(), fact.gain);
        if (gain != gains_.end())
            all.shared(r, nuisances + (gain - gains_.begin())) =
                fact.gain_sd > 0.0 ? fact.gain_sd * (fact.log ? 1.0 : is.value) : 0.4 * is.band * unit;
        move_by_nuisances(p, f, kind, r, all.shared, v);
        all.own(r) = std::max(v, square(1e-6 * std::max(std::abs(is.value) * unit, 1e-6)));
    }
    return all;
}

Weighing::Fit Weighing::fit(const Profile& p, double least_slip, std::size_t kind) const {
    const std::size_t n = facts_.list.size();
    Fit out;
    out.slip.assign(n, 0.0);
    out.off.assign(n, 0.0);
    std::vector<std::size_t> rows;
    std::vector<double> slip, width;
    for (std::size_t f = 0; f < n; ++f) {
        const Fact& fact = facts_.list[f];
        const Beside b = beside(p, f, kind, least_slip);
        const bool told = fact.kind == Fact::Kind::behaves || fact.kind == Fact::Kind::says;
        if (!told && is_figure(fact, b.is)) {
            rows.push_back(f);
            slip.push_back(b.own);
            width.push_back(width_[kind][f]);
            continue;
        }
        const Word word =
            told ? said(fact, b.is, b.behaves, b.own, b.alone) : no_figure(fact, b.is, b.own, width_[kind][f]);
        out.log += word.log;
        out.without += word.without;
        if (!word.is) out.slip[f] = told ? 0.5 : 1.0, out.off[f] = told ? 2.0 : contradicts;
    }
    if (rows.empty()) return out;
    const Figures read = figures(p, rows, kind);
    const Mixed all = mixed(read.residual, read.shared, read.own, slip, width);
    out.log += all.log;
    out.without += all.without;
    out.figures = static_cast<int>(rows.size());
    out.distance = all.distance;
    for (std::size_t r = 0; r < rows.size(); ++r) {
        out.slip[rows[r]] = all.slip[r];
        out.off[rows[r]] = all.off(static_cast<Eigen::Index>(r));
    }
    return out;
}

// Eyes and ears on one visit, meters on another: each finds a drive that stops and tries again while it runs, or while
// it waits.
Weighing::Fit Weighing::so_or_so(const Profile& p, double least_slip, std::size_t kind) const {
    std::array<std::vector<std::size_t>, 2> visits;
    for (std::size_t f = 0; f < facts_.list.size(); ++f) {
        const Fact& fact = facts_.list[f];
        const Shown& s = p.shown[f][kind];
        if (fact.well || s.kind != Shown::Kind::figure || !std::isfinite(s.waits)) continue;
        visits[fact.looks.front().gauge.empty() ? 1 : 0].push_back(f);
    }
    // Who reads something has mostly started it for that (common practice, no source).
    constexpr double runs = 0.7;
    std::vector<std::pair<Profile, double>> found{{p, 0.0}};
    for (const auto& visit : visits) {
        if (visit.empty()) continue;
        for (std::size_t n = found.size(); n-- > 0;) {
            found.push_back({found[n].first, found[n].second + std::log(1.0 - runs)});
            for (const std::size_t f : visit) {
                Shown& s = found.back().first.shown[f][kind];
                s.value = s.waits, s.band = s.waits_band, s.step = s.waits_step;
            }
            found[n].second += std::log(runs);
        }
    }
    std::vector<Fit> fits;
    std::vector<double> logs, without;
    for (const auto& [one, prior] : found) {
        fits.push_back(fit(one, least_slip, kind));
        logs.push_back(prior + fits.back().log), without.push_back(prior + fits.back().without);
    }
    Fit out = fits[static_cast<std::size_t>(std::max_element(logs.begin(), logs.end()) - logs.begin())];
    out.log = log_sum(logs);
    out.without = log_sum(without);
    return out;
}

Weighing::Fit Weighing::fit(const Profile& p, double least_slip) const {
    const bool two =
        std::any_of(facts_.list.begin(), facts_.list.end(), [](const Fact& f) { return f.looks.size() > 1; });
    Fit a = so_or_so(p, least_slip, 0);
    if (!two) return a;
    const Fit b = so_or_so(p, least_slip, 1);
    Fit out = a.log >= b.log ? a : b;
    const auto half = shares_of({a.log, b.log});
    out.log = log_sum({a.log, b.log}) - std::log(2.0);
    out.without = log_sum({a.without, b.without}) - std::log(2.0);
    for (std::size_t f = 0; f < out.slip.size(); ++f) out.slip[f] = half[0] * a.slip[f] + half[1] * b.slip[f];
    return out;
}

}  // namespace sunshaft::diagnose
