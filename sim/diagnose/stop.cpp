#include "diagnose/stop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "diagnose/decide.hpp"
#include "diagnose/places.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::diagnose {
namespace {

using text::say, text::tr;

// A repair is what cures a group; whatever lies down the bore is one lift, and what needs none a repair of its own.
struct Repairs {
    std::vector<Repair> list;
    std::vector<std::string> of;
};
Repairs repairs_of(const Crowd& crowd, const std::vector<Held>& suspects, const Priors& priors) {
    Repairs out;
    constexpr std::size_t most = 10;
    for (std::size_t a = 0; a < crowd.who.size(); ++a) {
        const Suspect& s = suspects[crowd.who[a]].suspect;
        const bool stays_down = priors.minutes_to_repair(s.fault, "bore") < priors.minutes_to_repair("", "bore"),
                   lifted = s.where == "bore" && !stays_down;
        const std::string key = lifted || s.where == "waiting" ? s.where : s.group;
        const auto found = std::find(out.of.begin(), out.of.end(), key);
        const auto n = static_cast<std::size_t>(found - out.of.begin());
        if (found == out.of.end()) {
            if (out.list.size() >= most) continue;
            out.of.push_back(key);
            // Who waits goes away, and must come again where something was wrong after all.
            out.list.push_back({priors.minutes_to_repair(s.fault, s.where), std::vector<bool>(crowd.who.size(), false),
                                s.where == "waiting" ? priors.minutes_to_repair("second visit", "") : 0.0});
        }
        out.list[n].cures[a] = true;
    }
    if (const auto lift = std::find(out.of.begin(), out.of.end(), "bore"); lift != out.of.end())
        for (std::size_t a = 0; a < crowd.who.size(); ++a)
            if (suspects[crowd.who[a]].suspect.where == "bore")
                out.list[static_cast<std::size_t>(lift - out.of.begin())].cures[a] = true;
    return out;
}

// A visit as a trial: what each suspect shows of it is an outcome.
Trial trial_of(const Visit& v) {
    Trial trial{v.minutes, v.likeness};
    for (auto& row : trial.outcome) {
        const double sum = std::accumulate(row.begin(), row.end(), 0.0);
        for (double& x : row) x /= sum;
    }
    return trial;
}

std::string hours(double minutes) {
    return minutes < 90
               ? say("{:.0f} min", 5 * std::ceil(minutes / 5))
               : say("{:.0f} h {:02.0f}", std::floor(minutes / 60), 10 * std::floor(std::fmod(minutes, 60.0) / 10));
}

std::string names(const Visit& v, const std::vector<Candidate>& candidates) {
    std::string out;
    for (const std::size_t n : v.tests)
        out += fmt::format("{}{}", out.empty() ? "" : ", ", tr(candidates[n].test->name));
    return out;
}

// What acting at once would take, and what looking before it would; minutes.
Stop look_first(const std::vector<Candidate>& candidates, const Visit& worth, const Visit& best,
                const std::string& acting, double act, double together) {
    const bool both = &worth != &best;
    const std::string tests = text::sentence_begins(
        both ? say("{}, then {}", names(worth, candidates), names(best, candidates)) : names(best, candidates));
    const char* now = acting == "bore" ? text::id("Lift the pump now: about {}. {} first: about {} in all.")
                      : acting == "waiting"
                          ? text::id("Leave it and come again if need be: about {}. {} first: about {} in all.")
                          : text::id("Repair now: about {}. {} first: about {} in all.");
    Stop stop{"measure", together, text::say_of(now, hours(act), tests, hours(together))};
    if (both)
        for (const std::size_t n : worth.tests) stop.tests.push_back(candidates[n].test->id);
    for (const std::size_t n : best.tests) stop.tests.push_back(candidates[n].test->id);
    return stop;
}

// It was repaired, nothing changed, and nothing was read since: to repair it again would change nothing.
bool in_vain(const Case& c, const Suspect& s) {
    return std::ranges::any_of(c.tried, [&](const Tried& t) {
        return t.what() == Tried::What::no_change && t.after >= c.seen.size() && t.fault == s.fault &&
               (t.place.empty() || one_place(s.place, t.place));
    });
}

}  // namespace

void group(const std::vector<Candidate>& candidates, const Crowd& crowd, const Scenario& scenario, const Priors& priors,
           std::vector<Held>& suspects) {
    const auto& who = crowd.who;
    std::vector<std::size_t> group(who.size());
    std::iota(group.begin(), group.end(), std::size_t{0});
    const double alike = std::exp(-0.5);
    for (std::size_t a = 0; a < who.size(); ++a)
        for (std::size_t b = 0; b < a && group[a] == a; ++b)
            if (std::all_of(candidates.begin(), candidates.end(),
                            [&](const Candidate& x) { return !x.lacks.empty() || x.likeness[a][b] >= alike; }))
                group[a] = group[b];
    for (std::size_t a = 0; a < who.size(); ++a) {
        const Suspect& leader = suspects[who[group[a]]].suspect;
        Suspect& s = suspects[who[a]].suspect;
        s.group = leader.place.empty() ? leader.fault : leader.fault + "@" + leader.place;
        for (std::size_t b = 0; b < who.size() && !s.split; ++b) {
            if (a == b || group[a] != group[b]) continue;
            const Candidate* best = nullptr;
            for (const Candidate& x : candidates)
                if (!x.lacks.empty() && x.likeness[a][b] < alike &&
                    (!best || x.minutes + x.way < best->minutes + best->way))
                    best = &x;
            if (best)
                s.split = Split{best->test->id, best->minutes + best->way,
                                bench::hazards(*best->test, bench::at_station(scenario, {}, bench::Station::dead))};
            else if (s.where == "bore" || suspects[who[b]].suspect.where == "bore")
                s.split = Split{"lift", priors.minutes_to_repair("", "bore"), bench::needs("pull", "pump")};
        }
    }
}

Stop stop_or_go(const Case& c, const Priors& priors, const Crowd& crowd, const std::vector<Held>& suspects,
                const std::vector<Candidate>& candidates, const std::vector<Visit>& visits, const Answer& answer) {
    const Repairs repairs = repairs_of(crowd, suspects, priors);
    const double second_visit = priors.minutes_to_repair("second visit", "");
    std::size_t act_first = 0;
    const double act = repair_cost(crowd.p, repairs.list, second_visit, &act_first);
    double best_cost = act;
    const Visit *best = nullptr, *worth = nullptr;
    for (const Visit& v : visits) {
        if (!v.possible || v.bits < worth_bits) continue;
        if (!worth) worth = &v;
        const double cost = trial_cost(crowd.p, trial_of(v), repairs.list, second_visit);
        constexpr double pays = 0.99;  // less is within what the minutes themselves are worth
        if (cost < std::min(best_cost, pays * act)) best_cost = cost, best = &v;
    }
    std::size_t acting_on = 0;
    while (acting_on + 1 < crowd.who.size() && !repairs.list[act_first].cures[acting_on]) ++acting_on;
    const Suspect& top = suspects.front().suspect;
    const std::string acting = repairs.of[act_first] == "bore" ? "lift" : "repair";
    const bool vain = in_vain(c, suspects[crowd.who[acting_on]].suspect);
    if (!best && vain) best = worth;
    // Never a lift while what takes minutes above the ground is untried.
    const double above = answer.where[1] + answer.where[2] + answer.where[4];
    if (!best && acting == "lift" && above > 0.05) best = worth;
    const auto doubted = std::ranges::find_if(answer.doubtful, [](const Doubt& x) { return x.times < 2; });
    // Or a pump would be lifted on the word that one reading is wrong: to read it again costs least of all.
    constexpr double rests = 0.5;
    if (doubted != answer.doubtful.end() && (top.fault == "reading" || answer.fits < nothing_fits ||
                                             (!best && acting == "lift" && doubted->probability > rests)))
        return {"repeat", priors.minute("ask"),
                say("Read {} again before anything else: {}.", c.seen[doubted->seen].what(), doubted->why)};
    if (best) {
        const double together = best_cost + (worth != best ? worth->minutes : 0.0);  // what exposes nobody comes before
        return look_first(candidates, *worth, *best, repairs.of[act_first], act, together);
    }
    if (vain)
        return {"hand-over", act,
                tr("It was repaired, and nothing changed; no test here says why. Hand over with all the readings.")};
    if (top.fault == "nothing-here-fits")
        return {"hand-over", act,
                tr("Nothing this program knows fits what was read. Hand over with all the readings.")};
    if (top.fault == "site-data")
        return {"recount", priors.minutes_to_repair("site-data", "data"),
                tr("Count the modules, photograph the labels, and correct what is written of the site.")};
    if (top.where == "waiting")
        return {"wait", priors.minutes_to_repair(top.fault, "waiting"),
                top.fault == "health" ? tr("Nothing that was read is wrong. Leave it running and come back.")
                                      : say("It may be {}. Wait, and look again.", tr(top.title))};
    if (!c.who.empty() && c.who != "authorised" && (acting == "lift" || top.where == "box"))
        return {"hand-over", act, say("Hand over to an authorised person: {}. About {}.", tr(top.title), hours(act))};
    if (acting == "lift")
        return {acting,
                act,
                say("Lift the pump, about {} in all. No further test pays for its minutes.", hours(act)),
                {},
                bench::needs("pull", "pump")};
    return {acting, act,
            say("Look at this first: {}, about {} in all. No further test pays for its minutes.",
                tr(suspects[crowd.who[acting_on]].suspect.title), hours(act))};
}

}  // namespace sunshaft::diagnose
