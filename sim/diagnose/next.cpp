#include "diagnose/next.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "bench/field_tests.hpp"
#include "bench/senses.hpp"
#include "diagnose/decide.hpp"
#include "text/figure.hpp"
#include "text/words.hpp"

namespace sunshaft::diagnose {
namespace {

using bench::FieldTest;
using bench::Station;
using meter::Mode;

constexpr std::size_t most_suspects = 14;
constexpr double least_share = 0.003, worth_bits = 0.1, much_off = 60.0;

State state_for(Station s, bool array) {
    State state;
    const auto act = [&](const char* kind, const char* place) { state.acts.push_back({kind, place, 0.0}); };
    if (s == Station::running) return state;
    if (s == Station::shut) {
        act("shut", "valve");
        state.after_s = 5.0;
        return state;
    }
    if (array) act("open", "isolator");
    else act("stop", "drive");
    if (s == Station::bled) {
        state.after_s = 20.0;
        return state;
    }
    act("pull", "pump");
    if (s == Station::warm) state.after_s = 25.0;
    if (s == Station::covered) act("cover", "array");
    if (s == Station::shorted) act("short", "array");
    return state;
}

// 0 ask, 1 look and listen, 2 the drive's display, 3 clamp with covers on, 4 isolated and proved dead, 5 live contact.
int exposure_of(const FieldTest& t) {
    if (std::string_view(t.id) == "lamps" || std::string_view(t.id) == "drive-display") return 2;
    if (!t.electrical) return 1;
    switch (t.station) {
        case Station::dead:
        case Station::covered:
        case Station::warm: return 4;
        case Station::lit:
        case Station::shorted:
        case Station::bled: return 5;
        case Station::running:
        case Station::shut: break;
    }
    return std::string_view(t.id).find("clamp") != std::string_view::npos ? 3 : 5;
}

bool has(const std::vector<std::string>& list, std::initializer_list<const char*> any) {
    return std::any_of(any.begin(), any.end(),
                       [&](const char* a) { return std::find(list.begin(), list.end(), a) != list.end(); });
}

// What is missing for a test; empty: nothing.
std::string lacks(const FieldTest& t, const std::vector<bench::Observation>& looks, const Case& c) {
    if (c.to_hand_said) {
        const Mode mode = looks.front().mode;
        const std::string& gauge = looks.front().gauge;
        if (gauge == "flow" && !has(c.to_hand, {"bucket"})) return "bucket";
        if (gauge == "head" && !has(c.to_hand, {"gauge"})) return "gauge";
        if (gauge == "water" && !has(c.to_hand, {"dip-meter"})) return "dip-meter";
        if ((gauge == "connector_temp" || gauge == "cell_temp") && !has(c.to_hand, {"thermal-camera"}))
            return "thermal-camera";
        if (gauge.empty()) {
            if (mode == Mode::aca && !has(c.to_hand, {"clamp-ac", "clamp-dc"})) return "clamp-ac";
            if (mode == Mode::dca && !has(c.to_hand, {"clamp-dc"})) return "clamp-dc";
            if (mode == Mode::insulation && !has(c.to_hand, {"insulation"})) return "insulation";
            if (!meter::takes_clamp(mode) && mode != Mode::insulation && !has(c.to_hand, {"multimeter"}))
                return "multimeter";
        }
        if (t.station == Station::covered && !has(c.to_hand, {"cover"})) return "cover";
        if (t.station == Station::shorted && !has(c.to_hand, {"cover"})) return "cover";
    }
    if (exposure_of(t) == 5 && !c.who.empty() && c.who != "authorised") return "an authorised person";
    if (exposure_of(t) == 5 && c.alone) return "a second person";
    return "";
}

// Two readings of one test that bear so much: a level all of them share (one meter, one sun, one warmth), and what each
// has of its own (common practice, no source).
struct Bearing {
    double own2, level;
};
Bearing bearing(const FieldTest& t, const bench::Observation& o, const Shown& a, const Shown& b) {
    const auto square = [](double x) { return x * x; };
    const double size = 0.5 * (std::abs(a.value) + std::abs(b.value));
    double own = square(0.006 * size) + square(0.25 * (a.band + b.band)) + square(0.5 * (a.step + b.step)) +
                 square(t.share * size) + square(t.least);
    if (o.mode == Mode::ohm && o.gauge.empty()) own += square(0.05);
    double level = 0.04 * size;
    if (!o.gauge.empty()) level = o.gauge == "flow" ? 0.08 * size : o.gauge == "water" ? 1.5 : 0.06 * size;
    return {own, level};
}

// Squared distance of two hypotheses in the readings of a test, in units of what they leave open.
double distance2(const FieldTest& t, const std::vector<bench::Observation>& looks, const Sight& a, const Sight& b) {
    if (!a.possible || !b.possible) return 0.0;
    double off = 0.0, shared_square = 0.0, shared_off = 0.0;
    for (std::size_t n = 0; n < looks.size(); ++n) {
        const Shown &x = a.shown[n], &y = b.shown[n];
        if (x.kind != y.kind) return much_off;
        if (x.kind != Shown::Kind::figure) continue;
        const bool log = looks[n].gauge.empty() && (looks[n].mode == Mode::insulation || looks[n].mode == Mode::cap);
        if (log) {
            const auto bounded = [&](double v) {
                return std::log(std::clamp(std::abs(v), looks[n].mode == Mode::cap ? 1e-12 : 1.0, 5e8));
            };
            const double d = (bounded(x.value) - bounded(y.value)) / 0.3;
            off += d * d;
            continue;
        }
        if (bench::told_in_words(looks[n].gauge)) {  // the value only tells one from another
            constexpr double misseen = 6.0;
            off += std::abs(x.value - y.value) > 0.5 ? misseen : 0.0;
            continue;
        }
        const Bearing be = bearing(t, looks[n], x, y);
        const double d = x.value - y.value;
        const double own = std::max(be.own2, 1e-18);
        off += d * d / own;
        shared_square += be.level * be.level / own;
        shared_off += be.level * d / own;
    }
    // A rank-one level out of the sum (Sherman and Morrison).
    return std::min(much_off, off - shared_off * shared_off / (1.0 + shared_square));
}

struct Candidate {
    const FieldTest* test;
    std::vector<bench::Observation> looks;
    std::vector<std::vector<double>> likeness;  // by suspect and suspect: exp(-d2/2)
    double bits = 0.0, minutes = 0.0;
    std::string lacks;
};

double information(const std::vector<double>& p, const std::vector<std::vector<double>>& likeness) {
    double bits = 0.0;
    for (std::size_t h = 0; h < p.size(); ++h) {
        double seen = 0.0;
        for (std::size_t g = 0; g < p.size(); ++g) seen += p[g] * likeness[h][g];
        if (p[h] > 0.0) bits -= p[h] * std::log2(std::min(1.0, seen));
    }
    return bits;
}

// bench::usual_meter() by the name of its file.
const char* usual_meter(Mode mode) {
    switch (mode) {
        case Mode::acv: return "average";
        case Mode::dca: return "clamp-hall";
        case Mode::aca: return "clamp-ac";
        case Mode::insulation: return "insulation";
        default: return "true-rms";
    }
}

// What an outcome would leave of every suspect. likeness: of what each of `who` shows with it; those that are not among
// them say nothing about it, it weighs neither for nor against them.
std::vector<double> after(const std::vector<Held>& suspects, const std::vector<std::size_t>& who,
                          const std::vector<double>& likeness) {
    double seen = 0.0, known = 0.0;
    for (std::size_t k = 0; k < who.size(); ++k) {
        seen += suspects[who[k]].suspect.probability * likeness[k];
        known += suspects[who[k]].suspect.probability;
    }
    std::vector<double> left;
    for (const Held& h : suspects) left.push_back(h.suspect.probability * seen / known);
    for (std::size_t k = 0; k < who.size(); ++k) left[who[k]] = suspects[who[k]].suspect.probability * likeness[k];
    const double sum = std::accumulate(left.begin(), left.end(), 0.0);
    for (double& p : left) p /= sum;
    return left;
}

std::string shown_words(const bench::Observation& o, const Shown& s) {
    if (s.kind == Shown::Kind::over) return "over range";
    if (s.kind == Shown::Kind::nothing) return "cannot be read";
    if (bench::told_in_words(o.gauge)) return bench::sense_words(o.gauge, static_cast<unsigned>(s.value));
    return bench::figure_words(s.value, o.gauge.empty() ? meter::unit_of(o.mode) : bench::gauge_unit(o.gauge), 3);
}

}  // namespace

void plan(Sights& sights, const Case& c, const Priors& priors, std::vector<Held>& suspects, Answer& answer,
          const std::function<bool(double)>& progress) {
    const Scenario& scenario = sights.scenario();
    const site::Works works = site::set_up(scenario);
    const bool array = works.supply.kind == site::Supply::Kind::array;
    std::vector<std::size_t> who;  // suspects that count
    for (std::size_t n = 0; n < suspects.size() && who.size() < most_suspects; ++n)
        if (suspects[n].suspect.probability >= least_share && suspects[n].suspect.fault != "nothing-here-fits")
            who.push_back(n);
    std::vector<double> p;
    for (const std::size_t n : who) p.push_back(suspects[n].suspect.probability);
    const double all = std::accumulate(p.begin(), p.end(), 0.0);
    if (who.empty() || all <= 0.0) return;
    for (double& x : p) x /= all;

    // What has been read already, and the state the site stands in now.
    std::vector<std::string> done;
    bool isolated = false, wires_off = false;
    for (const Seen& s : c.seen) {
        if (s.when == "well") continue;
        isolated = wires_off = false;
        for (const std::string& act : s.act) {
            isolated = isolated || act.starts_with("open@isolator") || act.starts_with("stop@");
            wires_off = wires_off || act == "pull@pump";
        }
        done.push_back(!s.gauge.empty() ? s.gauge : s.what() + " " + (s.act.empty() ? "running" : "dead"));
    }
    std::vector<Candidate> list;
    std::map<Station, std::vector<Look>> looks_of;
    for (const FieldTest& t : bench::field_tests()) {
        auto looks = t.observations(works);
        // Module by module is half an hour of pulling connectors: only its place is told by it.
        if (looks.empty() || looks.size() > 8 || t.station == Station::warm) continue;
        const bool running = t.station == Station::running;
        std::erase_if(looks, [&](const bench::Observation& o) {
            const std::string what = !o.gauge.empty()          ? o.gauge
                                     : o.probes.around.empty() ? fmt::format("{} - {}", o.probes.red, o.probes.black)
                                                               : "clamp on " + o.probes.around;
            return std::find(done.begin(), done.end(),
                             o.gauge.empty() ? what + (running ? " running" : " dead") : what) != done.end();
        });
        if (looks.empty()) continue;
        Candidate x{&t, looks, {}, 0.0, t.minutes, lacks(t, looks, c)};
        const int exposure = exposure_of(t);
        if (exposure >= 4 && t.station != Station::running && !isolated) x.minutes += priors.minute("isolate");
        if (exposure == 4 && !wires_off) x.minutes += priors.minute("wires-off");
        if (t.station == Station::covered) x.minutes += priors.minute("cover");
        if (exposure != 4 && wires_off) x.minutes += priors.minute("refit");
        for (const bench::Observation& o : looks) looks_of[t.station].push_back({o.probes, o.mode, o.gauge, "", false});
        list.push_back(std::move(x));
    }
    std::vector<Sights::Ask> asks;
    std::map<Station, std::size_t> first;
    for (const auto& [station, looks] : looks_of) {
        first[station] = asks.size();
        for (const std::size_t n : who) asks.push_back({suspects[n].change, state_for(station, array), looks});
    }
    const auto seen = sights.see(asks, progress);
    std::map<Station, std::size_t> at;
    for (Candidate& x : list) {
        const std::size_t from = at[x.test->station], begin = first[x.test->station];
        at[x.test->station] += x.looks.size();
        const auto part = [&](std::size_t k) {
            Sight s = seen[begin + k];
            s.shown = {s.shown.begin() + static_cast<std::ptrdiff_t>(from),
                       s.shown.begin() + static_cast<std::ptrdiff_t>(from + x.looks.size())};
            return s;
        };
        x.likeness.assign(who.size(), std::vector<double>(who.size(), 1.0));
        for (std::size_t a = 0; a < who.size(); ++a)
            for (std::size_t b = a + 1; b < who.size(); ++b)
                x.likeness[a][b] = x.likeness[b][a] = std::exp(-0.5 * distance2(*x.test, x.looks, part(a), part(b)));
        x.bits = information(p, x.likeness);
        Proposal out;
        out.test = x.test->id;
        out.name = x.test->name;
        out.how = x.test->how;
        for (const site::Act& act : state_for(x.test->station, array).acts)
            out.act.push_back(act.kind + "@" + act.place);
        // The look that tells most comes first.
        std::size_t lead = 0;
        double most = -1.0;
        for (std::size_t l = 0; l < x.looks.size(); ++l) {
            double d = 0.0;
            for (std::size_t a = 0; a < who.size(); ++a)
                for (std::size_t b = a + 1; b < who.size(); ++b) {
                    Sight sa = part(a), sb = part(b);
                    sa.shown = {sa.shown[l]}, sb.shown = {sb.shown[l]};
                    d += p[a] * p[b] * distance2(*x.test, {x.looks[l]}, sa, sb);
                }
            if (d > most) most = d, lead = l;
        }
        out.what = x.looks[lead];
        for (std::size_t l = 0; l < x.looks.size(); ++l)
            if (l != lead) out.also.push_back(x.looks[l]);
        if (out.what.gauge.empty()) out.meter = usual_meter(out.what.mode);
        out.minutes = x.minutes;
        out.gain_bits = x.bits;
        out.exposure = exposure_of(*x.test);
        out.lacks = x.lacks;
        std::vector<bool> told(who.size(), false);
        for (std::size_t a = 0; a < who.size() && out.outcomes.size() < 4; ++a) {
            if (told[a]) continue;
            Outcome o{"", "", 0.0};
            for (const bench::Observation& look : x.looks) {
                const auto l = static_cast<std::size_t>(&look - x.looks.data());
                o.shown += (o.shown.empty() ? "" : ", ") + shown_words(look, part(a).shown[l]);
            }
            for (std::size_t b = a; b < who.size(); ++b) {
                if (told[b] || x.likeness[a][b] < 0.4) continue;
                told[b] = true;
                o.probability += p[b] * all;
                const Suspect& s = suspects[who[b]].suspect;
                if (o.means.size() < 120)
                    o.means += fmt::format("{}{}{}", o.means.empty() ? "" : ", ", s.fault,
                                           s.place.empty() ? "" : "@" + s.place);
            }
            o.after = after(suspects, who, x.likeness[a]);
            out.outcomes.push_back(std::move(o));
        }
        (out.lacks.empty() ? answer.next : answer.bring).push_back(std::move(out));
    }
    const auto order = [](const Proposal& a, const Proposal& b) {
        const bool wa = a.gain_bits >= worth_bits, wb = b.gain_bits >= worth_bits;
        if (wa != wb) return wa;
        if (wa && a.exposure != b.exposure) return a.exposure < b.exposure;
        return a.gain_bits / a.minutes > b.gain_bits / b.minutes;
    };
    std::stable_sort(answer.next.begin(), answer.next.end(), order);
    std::stable_sort(answer.bring.begin(), answer.bring.end(), order);
    for (auto* which : {&answer.next, &answer.bring}) {
        std::erase_if(*which, [](const Proposal& x) { return x.gain_bits < 0.01; });
        if (which->size() > 6) which->resize(6);
        for (Proposal& x : *which) {
            const FieldTest& t = *bench::find_test(x.test);
            bench::Edits edits;
            edits.faults = suspects[who.front()].change.faults;  // as dangerous as the first suspect makes it
            try {
                x.hazards = bench::hazards(t, bench::at_station(scenario, edits, t.station, 1.0));
            } catch (const std::exception&) {
                x.hazards = bench::hazards(t, bench::at_station(scenario, {}, Station::dead));
            }
        }
    }
    // Groups: what no test that can be done now tells apart, and the act that would.
    std::vector<std::size_t> group(who.size());
    std::iota(group.begin(), group.end(), std::size_t{0});
    const double alike = std::exp(-0.5);
    for (std::size_t a = 0; a < who.size(); ++a)
        for (std::size_t b = 0; b < a && group[a] == a; ++b)
            if (std::all_of(list.begin(), list.end(),
                            [&](const Candidate& x) { return !x.lacks.empty() || x.likeness[a][b] >= alike; }))
                group[a] = group[b];
    for (std::size_t a = 0; a < who.size(); ++a) {
        const Suspect& leader = suspects[who[group[a]]].suspect;
        Suspect& s = suspects[who[a]].suspect;
        s.group = leader.place.empty() ? leader.fault : leader.fault + "@" + leader.place;
        for (std::size_t b = 0; b < who.size() && !s.split; ++b) {
            if (a == b || group[a] != group[b]) continue;
            const Candidate* best = nullptr;
            for (const Candidate& x : list)
                if (!x.lacks.empty() && x.likeness[a][b] < alike && (!best || x.minutes < best->minutes)) best = &x;
            if (best)
                s.split = Split{best->test->id, best->minutes,
                                bench::hazards(*best->test, bench::at_station(scenario, {}, Station::dead))};
            else if (s.where == "bore" || suspects[who[b]].suspect.where == "bore")
                s.split = Split{"lift", priors.minutes_to_repair("", "bore"), bench::needs("pull", "pump")};
        }
    }
    // Stop? A repair is what cures a group; whatever lies down the bore is one lift.
    std::vector<Repair> repairs;
    std::vector<std::string> repair_of;
    for (std::size_t a = 0; a < who.size(); ++a) {
        const Suspect& s = suspects[who[a]].suspect;
        const std::string key = s.where == "bore" || s.where == "waiting" ? s.where : s.group;
        const auto found = std::find(repair_of.begin(), repair_of.end(), key);
        const auto n = static_cast<std::size_t>(found - repair_of.begin());
        if (found == repair_of.end()) {
            if (repairs.size() >= 10) continue;
            repair_of.push_back(key);
            repairs.push_back({priors.minutes_to_repair(s.fault, s.where), std::vector<bool>(who.size(), false)});
        }
        repairs[n].cures[a] = true;
    }
    const double second_visit = priors.minutes_to_repair("second visit", "");
    std::size_t act_first = 0;
    const double act = repair_cost(p, repairs, second_visit, &act_first);
    double best_cost = act;
    const Proposal* best = nullptr;
    for (const Proposal& x : answer.next) {
        if (x.gain_bits < worth_bits) continue;
        const auto found =
            std::find_if(list.begin(), list.end(), [&](const Candidate& k) { return x.test == k.test->id; });
        Trial trial{x.minutes, found->likeness};
        for (auto& row : trial.outcome) {
            const double sum = std::accumulate(row.begin(), row.end(), 0.0);
            for (double& v : row) v /= sum;
        }
        const double cost = trial_cost(p, trial, repairs, second_visit);
        constexpr double pays = 0.99;  // less is within what the minutes themselves are worth
        if (cost < std::min(best_cost, pays * act)) best_cost = cost, best = &x;
    }
    const auto hours = [](double minutes) {
        return minutes < 90 ? fmt::format("{:.0f} min", 5 * std::ceil(minutes / 5))
                            : fmt::format("{:.0f} h {:02.0f}", std::floor(minutes / 60),
                                          10 * std::floor(std::fmod(minutes, 60.0) / 10));
    };
    std::size_t acting_on = 0;
    while (acting_on + 1 < who.size() && !repairs[act_first].cures[acting_on]) ++acting_on;
    const Suspect& top = suspects.front().suspect;
    const std::string acting = repair_of[act_first] == "bore" ? "lift" : "repair";
    const Proposal* worth =
        !answer.next.empty() && answer.next.front().gain_bits >= worth_bits ? &answer.next.front() : nullptr;
    // Never a lift while what takes minutes above the ground is untried.
    const double above = answer.where[1] + answer.where[2] + answer.where[4];
    if (!best && acting == "lift" && above > 0.05) best = worth;
    if (!answer.doubtful.empty() && (top.fault == "reading" || answer.fits < nothing_fits)) {
        answer.stop = {"repeat", priors.minute("ask"),
                       fmt::format("Read {} again before anything else: {}.",
                                   c.seen[answer.doubtful.front().seen].what(), answer.doubtful.front().why)};
    } else if (best) {
        // What exposes nobody comes before it.
        const Proposal& gentlest = answer.next.front();
        const bool two = &gentlest != best;
        const double together = best_cost + (two ? gentlest.minutes : 0.0);
        const std::string tests =
            text::capital(two ? fmt::format("{}, then {}", gentlest.name, best->name) : best->name);
        answer.stop = {"measure", together,
                       fmt::format("{} now: about {}. {} first: about {} in all.",
                                   acting == "lift" ? "Lift the pump" : "Repair", hours(act), tests, hours(together))};
    } else if (top.fault == "site-data") {
        answer.stop = {"recount", priors.minutes_to_repair("site-data", "data"),
                       "Count the modules, photograph the labels, and correct what is written of the site."};
    } else if (top.where == "waiting") {
        answer.stop = {"wait", priors.minutes_to_repair(top.fault, "waiting"),
                       top.fault == "health" ? "Nothing that was read is wrong. Leave it running and come back."
                                             : fmt::format("It may be {}. Wait, and look again.", top.title)};
    } else if (!c.who.empty() && c.who != "authorised" && (acting == "lift" || top.where == "box")) {
        answer.stop = {"hand-over", act,
                       fmt::format("Hand over to an authorised person: {}. About {}.", top.title, hours(act))};
    } else {
        answer.stop = {acting, act,
                       fmt::format("{}, about {} in all. No further test pays for its minutes.",
                                   acting == "lift" ? "Lift the pump"
                                                    : "Look at this first: " + suspects[who[acting_on]].suspect.title,
                                   hours(act))};
    }
}

}  // namespace sunshaft::diagnose
