#include "diagnose/next.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "bench/senses.hpp"
#include "day/when.hpp"
#include "diagnose/stop.hpp"
#include "diagnose/trials.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using text::tr;

constexpr std::size_t most_suspects = 24, most_proposals = 10, most_outcomes = 4;
constexpr double least_share = 0.003;

Crowd crowd_of(const std::vector<Held>& suspects) {
    Crowd out;
    for (std::size_t n = 0; n < suspects.size() && out.who.size() < most_suspects; ++n)
        if (suspects[n].suspect.probability >= least_share && suspects[n].suspect.fault != "nothing-here-fits")
            out.who.push_back(n);
    for (const std::size_t n : out.who) out.p.push_back(suspects[n].suspect.probability);
    out.all = std::accumulate(out.p.begin(), out.p.end(), 0.0);
    for (double& x : out.p) x /= out.all;
    return out;
}

// bench::usual_meter() by the name of its file.
const char* usual_meter(meter::Mode mode) {
    switch (mode) {
        case meter::Mode::acv: return "average";
        case meter::Mode::dca: return "clamp-hall";
        case meter::Mode::aca: return "clamp-ac";
        case meter::Mode::insulation: return "insulation";
        default: return "true-rms";
    }
}

std::string shown_words(const bench::Observation& o, const Shown& s) {
    if (s.kind == Shown::Kind::over) return tr("over range");
    if (s.kind == Shown::Kind::nothing) return tr("cannot be read");
    if (bench::told_in_words(o.gauge)) return bench::sense_words(o.gauge, static_cast<unsigned>(s.value));
    return bench::figure_words(s.value, o.gauge.empty() ? meter::unit_of(o.mode) : bench::gauge_unit(o.gauge), 3);
}

// What an outcome would leave of every suspect. likeness: of what each of the crowd shows with it; those that are not
// in it say nothing about it, it weighs neither for nor against them.
std::vector<double> after(const std::vector<Held>& suspects, const Crowd& crowd, const std::vector<double>& likeness) {
    double seen = 0.0;
    for (std::size_t k = 0; k < crowd.who.size(); ++k) seen += crowd.p[k] * likeness[k];
    std::vector<double> left;
    for (const Held& h : suspects) left.push_back(h.suspect.probability * seen);
    for (std::size_t k = 0; k < crowd.who.size(); ++k) left[crowd.who[k]] = crowd.p[k] * crowd.all * likeness[k];
    const double sum = std::accumulate(left.begin(), left.end(), 0.0);
    for (double& p : left) p /= sum;
    return left;
}

// The look that tells most.
std::size_t leading_look(const Candidate& x, const Crowd& crowd) {
    std::size_t lead = 0;
    double most = -1.0;
    for (std::size_t l = 0; l < x.looks.size(); ++l) {
        double d = 0.0;
        for (std::size_t a = 0; a < crowd.p.size(); ++a)
            for (std::size_t b = a + 1; b < crowd.p.size(); ++b) {
                Sight sa = x.seen[a], sb = x.seen[b];
                sa.shown = {sa.shown[l]}, sb.shown = {sb.shown[l]};
                d += crowd.p[a] * crowd.p[b] * distance2(*x.test, {x.looks[l]}, sa, sb);
            }
        if (d > most) most = d, lead = l;
    }
    return lead;
}

std::vector<Outcome> outcomes(const Candidate& x, const Crowd& crowd, const std::vector<Held>& suspects) {
    constexpr double the_same = 0.4;
    std::vector<Outcome> out;
    std::vector<bool> told(crowd.who.size(), false);
    for (std::size_t a = 0; a < crowd.who.size() && out.size() < most_outcomes; ++a) {
        if (told[a]) continue;
        Outcome o{"", "", 0.0};
        for (std::size_t l = 0; l < x.looks.size(); ++l)
            o.shown += (o.shown.empty() ? "" : ", ") + shown_words(x.looks[l], x.seen[a].shown[l]);
        for (std::size_t b = a; b < crowd.who.size(); ++b) {
            if (told[b] || x.likeness[a][b] < the_same) continue;
            told[b] = true;
            o.probability += crowd.p[b] * crowd.all;
            const Suspect& s = suspects[crowd.who[b]].suspect;
            if (o.means.size() < 120)
                o.means +=
                    fmt::format("{}{}{}", o.means.empty() ? "" : ", ", s.fault, s.place.empty() ? "" : "@" + s.place);
        }
        o.after = after(suspects, crowd, x.likeness[a]);
        out.push_back(std::move(o));
    }
    return out;
}

Proposal proposal(const Candidate& x, const Crowd& crowd, const std::vector<Held>& suspects, const site::Works& works) {
    Proposal out;
    out.test = x.test->id;
    out.name = tr(x.test->name);
    out.how = tr(x.test->how);
    out.act = way_to(x.test->station, works);
    out.undo = way_back(x.test->station, works);
    const std::size_t lead = leading_look(x, crowd);
    out.what = x.looks[lead];
    for (std::size_t l = 0; l < x.looks.size(); ++l)
        if (l != lead) out.also.push_back(x.looks[l]);
    if (out.what.gauge.empty()) out.meter = usual_meter(out.what.mode);
    out.minutes = x.way + x.minutes;
    out.minutes_there = x.minutes;
    out.gain_bits = x.bits;
    out.exposure = x.exposure;
    out.lacks = x.lacks;
    out.now = x.now;
    out.outcomes = outcomes(x, crowd, suspects);
    return out;
}

bool in_the_light(bench::Station s) { return s == bench::Station::lit || s == bench::Station::shorted; }

// As dangerous as the first suspect makes it.
std::vector<bench::Hazard> hazards(const Candidate& x, const Scenario& scenario, const Change& suspect) {
    bench::Edits edits;
    edits.faults = suspect.faults;
    try {
        return bench::hazards(*x.test, bench::at_station(scenario, edits, x.test->station, 1.0));
    } catch (const std::exception&) {
        return bench::hazards(*x.test, bench::at_station(scenario, {}, bench::Station::dead));
    }
}

}  // namespace

void plan(Sights& sights, const Case& c, const Priors& priors, bool stopped, std::vector<Held>& suspects,
          Answer& answer, const std::function<bool(double)>& progress) {
    constexpr double least_bits = 0.002;
    const Scenario& scenario = sights.scenario();
    const site::Works works = site::set_up(scenario);
    const Crowd crowd = crowd_of(suspects);
    if (crowd.who.empty() || !(crowd.all > 0.0)) return;
    std::vector<Change> changes;
    for (const std::size_t n : crowd.who) changes.push_back(suspects[n].change);
    std::vector<Candidate> list = left_to_do(works, c, priors);
    for (Candidate& x : list) {
        const Opening* o = answer.today ? answer.today->of(x.test->id) : nullptr;
        x.now = !o || o->now;
    }
    look_ahead(sights, changes, crowd.p, stopped, list, progress);
    const std::vector<Visit> order = visits(list, crowd.p);
    group(list, crowd, scenario, priors, suspects);
    int number = 0;
    for (const Visit& v : order) {
        for (const std::size_t n : v.tests) {
            auto& to = v.possible ? answer.next : answer.bring;
            if (list[n].bits < least_bits || to.size() >= most_proposals) continue;
            to.push_back(proposal(list[n], crowd, suspects, works));
            to.back().hazards = hazards(list[n], scenario, changes.front());
            if (const Opening* o = answer.today ? answer.today->of(to.back().test) : nullptr; o && !o->now)
                to.back().from_h = o->from_h;
            to.back().weak_light = in_the_light(list[n].test->station) && c.irradiance < day::bright;
            to.back().visit = number;
        }
        ++number;
    }
    answer.stop = stop_or_go(c, priors, crowd, suspects, list, order, answer);
    for (const Candidate& x : list)
        if (std::find(answer.stop.tests.begin(), answer.stop.tests.end(), x.test->id) != answer.stop.tests.end())
            answer.stop.hazards = bench::joined(std::move(answer.stop.hazards), hazards(x, scenario, changes.front()));
}

}  // namespace sunshaft::diagnose
