#include "diagnose/suspects.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "bench/senses.hpp"
#include "diagnose/history.hpp"
#include "diagnose/next.hpp"
#include "diagnose/places.hpp"
#include "diagnose/posterior.hpp"
#include "diagnose/repaired.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using text::say, text::tr;

constexpr double least_probability = 1e-4, doubtful_from = 0.1;
constexpr std::size_t opened = 4;  // suspects that are set beside the readings

std::string figure(const Fact& f, double value) {
    if (f.unit == "m3/s") return text::quantity(3600 * value, "m3/h", 3);
    return text::quantity(value, f.unit, 3);
}
std::string figure(const Fact& f, const Shown& s) {
    if (s.kind == Shown::Kind::over) return tr("over range");
    if (s.kind == Shown::Kind::nothing) return tr("cannot be read");
    if (f.kind == Fact::Kind::says)
        return bench::sense_words(f.looks.front().gauge, static_cast<unsigned>(std::lround(s.value)));
    return figure(f, s.value);
}
std::string figure(const Fact& f, const Behaviour& b) {
    if (f.means.front().starts_with("lamp "))
        return tr(lamp_on(b, f.means.front().substr(5)) ? text::id("on") : text::id("off"));
    const bool is = std::any_of(f.means.begin(), f.means.end(), [&](const std::string& m) { return shows(b, m); });
    return is ? tr("the same") : tr(drive::phase_words(b.phase));
}

}  // namespace

struct Diagnosis::Work {
    Case c;
    Priors priors;
    Scenario scenario;
    Sights sights;
    Facts facts;
    std::string cache;

    Work(Case given, Priors known, const std::string& folder)
        : c(with_its_light(std::move(given))),
          priors(std::move(known)),
          scenario(under_its_sky(site_of(c), c)),
          sights(scenario, folder),
          facts(diagnose::facts(c, scenario, priors)),
          cache(folder) {}

    // Places of one kind that the readings cannot tell apart are one suspect.
    std::vector<Held> held(const Posterior& p) const {
        std::map<std::string, std::vector<std::size_t>> kinds;
        for (std::size_t n = 0; n < p.causes.size(); ++n) {
            const std::string& kind = p.causes[n].fault;
            // What is written wrongly, a test of its own each; and each other cause that is no fault.
            kinds[kind == "site-data" ? kind + p.causes[n].places.front() : kind].push_back(n);
        }
        std::vector<Held> out;
        for (auto& [kind, list] : kinds) {
            std::stable_sort(list.begin(), list.end(),
                             [&](std::size_t a, std::size_t b) { return p.log_evidence[a] > p.log_evidence[b]; });
            for (std::size_t from = 0; from < list.size();) {
                std::size_t to = from + 1;
                constexpr double apart = 0.7;  // a factor of two
                while (to < list.size() && p.log_evidence[list[from]] - p.log_evidence[list[to]] < apart) ++to;
                Held h;
                std::vector<std::string> places;
                for (std::size_t k = from; k < to; ++k) {
                    const std::size_t n = list[k];
                    h.suspect.probability += p.probability[n];
                    places.insert(places.end(), p.causes[n].places.begin(), p.causes[n].places.end());
                    if (k == from || p.probability[n] > p.probability[h.cause]) h.cause = n;
                    const auto at = std::find(wheres.begin(), wheres.end(), p.causes[n].where);
                    if (at != wheres.end()) h.where[static_cast<std::size_t>(at - wheres.begin())] += p.probability[n];
                }
                const Cause& c0 = p.causes[h.cause];
                h.suspect.fault = c0.fault;
                h.suspect.place = common_place(places);
                h.suspect.title = c0.title;
                h.suspect.where = c0.where;
                h.change = change(p, h.cause);
                if (const site::FaultRow* row = site::find_fault(c0.fault); row && c0.graded)
                    h.suspect.severity = site::severity_at(*row, p.share[h.cause]);
                out.push_back(std::move(h));
                from = to;
            }
        }
        if (p.reading > 0.0) {
            Held h;
            h.suspect = {"reading", "meter", 1.0, p.reading, "", text::id("one of the readings is wrong"), "data"};
            h.where[5] = p.reading;
            out.push_back(std::move(h));
        }
        std::stable_sort(out.begin(), out.end(), [](const Held& a, const Held& b) {
            return a.suspect.probability != b.suspect.probability ? a.suspect.probability > b.suspect.probability
                                                                  : a.suspect.fault < b.suspect.fault;
        });
        return out;
    }

    // Pairs of the same two kinds are one suspect, where the best of them lies.
    static void add_pairs(std::vector<Held>& list, const Posterior& p, const std::vector<Pair>& pairs) {
        std::map<std::pair<std::string, std::string>, Held> kinds;
        for (const Pair& x : pairs) {
            const Cause &one = p.causes[x.one], &other = p.causes[x.other];
            Held& h = kinds[{one.fault, other.fault}];
            const double before = h.pair ? h.pair->probability : -1.0;
            h.suspect.probability += x.probability;
            for (const Cause* c : {&one, &other})
                if (const auto at = std::find(wheres.begin(), wheres.end(), c->where); at != wheres.end())
                    h.where[static_cast<std::size_t>(at - wheres.begin())] += 0.5 * x.probability;
            if (x.probability <= before) continue;
            h.pair = &x;
            h.cause = x.one;
            h.change = x.change;
            const auto& faults = h.change.faults;
            h.suspect.fault = one.fault, h.suspect.place = common_place(one.places);
            h.suspect.title = one.title, h.suspect.where = one.where, h.suspect.severity = faults.front().severity;
            h.suspect.with = {{other.fault, common_place(other.places), other.title, faults.back().severity}};
            h.suspect.group = fmt::format("{} and {}", one.fault, other.fault);
        }
        for (auto& [kind, h] : kinds) list.push_back(std::move(h));
        std::stable_sort(list.begin(), list.end(),
                         [](const Held& a, const Held& b) { return a.suspect.probability > b.suspect.probability; });
    }

    static Change change(const Posterior& p, std::size_t n) {
        const Cause& c = p.causes[n];
        if (c.graded) return point(*site::find_fault(c.fault), c.places.front(), p.share[n]).change;
        const auto best = std::max_element(p.weight[n].begin(), p.weight[n].end());
        const auto at = static_cast<std::size_t>(best - p.weight[n].begin());
        return c.points.empty() ? Change{} : c.points[std::min(at, c.points.size() - 1)].change;
    }

    void doubts(const Posterior& p, const std::vector<Held>& list, Answer& a) const {
        for (const auto& x : facts.contradicted) a.doubtful.push_back({x.seen, x.why, 1.0});
        for (std::size_t f = 0; f < facts.list.size(); ++f) {
            const Fact& fact = facts.list[f];
            if (p.slip[f] < doubtful_from || fact.seen >= c.seen.size()) continue;
            std::string why = say("{} fits nothing else that was read", fact.text);
            // What one slip would make of it, by the first hypothesis that is none of the readings' and fits it not.
            for (const Held& h : list) {
                if (h.suspect.fault == "nothing-here-fits") continue;
                const Profile& best = h.suspect.fault == "reading" ? healthy_ : p.best[h.cause];
                if (best.shown.empty() || fact.kind != Fact::Kind::figure) break;
                const Shown& s = best.shown[f][0];
                if (s.kind != Shown::Kind::figure || s.value == 0.0) break;
                if (figure(fact, s.value) == figure(fact, fact.value)) continue;
                why = say("{} was read where {} would fit the rest", fact.text, figure(fact, s.value));
                for (const auto& [factor, words] : {std::pair{1e3, text::id("a lost k?")},
                                                    {1e-3, text::id("a k too many?")},
                                                    {1e6, text::id("a lost M?")},
                                                    {-1.0, text::id("leads swapped?")}})
                    if (std::abs(fact.value * factor / s.value - 1) < 0.05) why += fmt::format("; {}", tr(words));
                break;
            }
            a.doubtful.push_back({fact.seen, why, p.slip[f], fact.repeats});
        }
        std::stable_sort(a.doubtful.begin(), a.doubtful.end(),
                         [](const Doubt& x, const Doubt& y) { return x.probability > y.probability; });
    }

    std::vector<Compared> columns(const Posterior& p, const Held& held) const {
        std::vector<Compared> rows;
        const std::size_t cause = held.cause;
        const bool healthy_one = held.suspect.fault == "reading" || held.suspect.fault == "nothing-here-fits";
        const auto health =
            std::find_if(p.causes.begin(), p.causes.end(), [](const Cause& x) { return x.fault == "health"; });
        const auto h = static_cast<std::size_t>(health - p.causes.begin());
        const Profile& would = held.pair ? held.pair->profile : healthy_one ? healthy_ : p.best[cause];
        if (would.shown.empty()) return rows;
        const std::vector<double>& off = held.pair ? held.pair->off : p.off[healthy_one ? h : cause];
        for (std::size_t f = 0; f < facts.list.size(); ++f) {
            const Fact& fact = facts.list[f];
            Compared row{fact.seen, fact.seen < c.seen.size() ? c.seen[fact.seen].what() : fact.looks.front().gauge,
                         fact.text, "",
                         "",        0.0,
                         0.0};
            if (fact.kind == Fact::Kind::behaves) {
                row.healthy = figure(fact, healthy_.behaviour[f]);
                row.suspect = figure(fact, would.behaviour[f]);
            } else {
                row.healthy = figure(fact, healthy_.shown[f][0]);
                row.suspect = figure(fact, met(fact, would.shown[f][0]));
            }
            if (!p.off[h].empty()) row.off_healthy = p.off[h][f];
            if (!off.empty()) row.off_suspect = off[f];
            rows.push_back(row);
        }
        return rows;
    }

    // The reading that speaks most against a suspect.
    static std::optional<std::size_t> against(const std::vector<Compared>& rows) {
        std::optional<std::size_t> most;
        for (std::size_t k = 0; k < rows.size(); ++k)
            if (std::abs(rows[k].off_suspect) > 1.0 &&
                (!most || std::abs(rows[k].off_suspect) > std::abs(rows[*most].off_suspect)))
                most = k;
        return most;
    }

    // Answer::where.
    static void locate(const Posterior& p, const std::vector<Held>& list, Answer& a) {
        // What is not known spreads over what the others leave open: half as they stand, half as before.
        std::array<double, 6> before{};
        double unknown = 0.0, known = 0.0;
        for (const Cause& c : p.causes)
            if (const auto at = std::find(wheres.begin() + 1, wheres.end(), c.where);
                at != wheres.end() && c.fault != "nothing-here-fits")
                before[static_cast<std::size_t>(at - wheres.begin())] += c.prior;
        double before_sum = 0.0;
        for (const double x : before) before_sum += x;
        for (const Held& h : list) {
            if (h.suspect.fault == "nothing-here-fits") {
                unknown += h.suspect.probability;
                continue;
            }
            known += h.suspect.probability;
            for (std::size_t k = 0; k < 6; ++k) a.where[k] += h.where[k];
        }
        for (std::size_t k = 0; k < 6; ++k)
            a.where[k] += unknown * (known > 1e-9 ? 0.5 * a.where[k] / known + 0.5 * before[k] / before_sum
                                                  : before[k] / before_sum);
    }

    // The answer to what was read after the first n, in the numbers of all.
    template <class Ask>
    Answer since(std::size_t n, Ask&& ask) const {
        Case rest = c;
        rest.seen.erase(rest.seen.begin(), rest.seen.begin() + static_cast<std::ptrdiff_t>(n));
        std::string mended;
        for (Tried& t : rest.tried) {
            if (t.after == n) mended = site::find_fault(t.fault)->title, rest.mended.push_back(t.fault);
            t.after = t.after == Tried::all_readings ? t.after : t.after - std::min(t.after, n);
        }
        Diagnosis asked(std::move(rest), priors, cache);
        Answer a = ask(asked);
        for (Doubt& x : a.doubtful) x.seen += n;
        for (Suspect& s : a.suspects)
            for (Compared& x : s.columns) x.seen += n;
        a.read_back.insert(a.read_back.begin(), n, "");
        for (const Fact& f : facts.list)
            if (f.seen < n) a.read_back[f.seen] = f.text;
        for (PutDown& x : a.put_down) x.first += n, x.last += n;
        a.put_down.insert(a.put_down.begin(), {1, n, mended});
        return a;
    }

    Profile healthy_;
};

Diagnosis::Diagnosis(Case c, Priors priors, const std::string& cache)
    : work_(std::make_unique<Work>(std::move(c), std::move(priors), cache)) {}
Diagnosis::~Diagnosis() = default;

Answer Diagnosis::answer(const std::function<bool(double)>& progress, bool tests) {
    return weighed(progress, tests, false);
}
Answer Diagnosis::first(const std::function<bool(double)>& progress) { return weighed(progress, false, true); }

Answer Diagnosis::weighed(const std::function<bool(double)>& progress, bool tests, bool rough) {
    Work& w = *work_;
    const auto part = [&](double from, double to) {
        return [&progress, from, to](double f) { return !progress || progress(from + f * (to - from)); };
    };
    bool dusk = false;
    if (std::isfinite(w.c.irradiance)) {
        const Sight now = w.sights.see({{{}, {}, {{{}, meter::Mode::dcv, "flow", "", false}}}}).front();
        const bool pump = site::set_up(w.scenario).water.pump.index() != 0;
        dusk = pump ? now.shown.front().value <= 0.0 : !now.behaviour.driven;
    }
    if (const std::size_t n = before_a_repair(w.c, w.scenario, w.sights, w.priors, dusk, rough, part(0.0, 0.1))) {
        w.sights.keep();
        return w.since(n, [&](Diagnosis& rest) { return rest.weighed(part(0.1, 1.0), tests, rough); });
    }
    Weighing weighing(w.sights, w.facts, w.priors, causes_told(w.c, w.scenario, w.priors, dusk, rough));
    Posterior p = weighing.weigh(rough, part(0.0, tests ? 0.5 : 0.95));
    w.healthy_ = weighing.healthy();
    if (!rough && !w.facts.list.empty())
        weighing.set_harmless_to_health(p, part(tests ? 0.5 : 0.95, tests ? 0.6 : 1.0));
    std::vector<Pair> pairs;
    if (!rough && !w.facts.list.empty()) pairs = weighing.pairs(p, part(tests ? 0.6 : 1.0, tests ? 0.65 : 1.0));
    Weighing::leave_room(p, pairs);
    std::vector<Held> list = w.held(p);
    Work::add_pairs(list, p, pairs);
    Answer a;
    a.fits = p.fits;
    a.notes = w.c.aside;
    a.notes.insert(a.notes.end(), w.facts.notes.begin(), w.facts.notes.end());
    a.read_back.assign(w.c.seen.size(), "");
    for (const Fact& f : w.facts.list)
        if (f.seen < a.read_back.size()) a.read_back[f.seen] = f.text;
    Work::locate(p, list, a);
    w.doubts(p, list, a);
    for (std::size_t n = 0; n < std::min(list.size(), opened); ++n) list[n].suspect.columns = w.columns(p, list[n]);
    if (!list.empty()) a.against = Work::against(list.front().suspect.columns);
    for (Held& h : list) {
        const double sum = std::accumulate(h.where.begin(), h.where.end(), 0.0);
        for (std::size_t k = 0; k < 6 && sum > 0.0; ++k) h.suspect.lies[k] = h.where[k] / sum;
    }
    if (tests) a.today = today_of(w.c, w.scenario);
    if (tests) plan(w.sights, w.c, w.priors, found_stopped(w.facts), list, a, part(0.65, 1.0));
    double sum = 0.0;
    for (const Held& h : list)
        if (h.suspect.probability >= least_probability || &h == &list.front()) {
            a.suspects.push_back(h.suspect);
            sum += h.suspect.probability;
        }
    for (Suspect& s : a.suspects) {
        s.probability /= sum;
        if (s.group.empty()) s.group = s.place.empty() ? s.fault : s.fault + "@" + s.place;
    }
    const double shares = std::max(1e-12, a.where[0] + a.where[1] + a.where[2] + a.where[3] + a.where[4] + a.where[5]);
    for (double& x : a.where) x /= shares;
    a.computed = w.sights.computed();
    w.sights.keep();
    return a;
}

}  // namespace sunshaft::diagnose
