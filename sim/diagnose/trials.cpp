#include "diagnose/trials.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "bench/senses.hpp"
#include "diagnose/senses.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using bench::FieldTest;
using bench::Station;
using meter::Mode;

constexpr double much_off = 60.0;

bool has(const std::vector<std::string>& list, std::initializer_list<const char*> any) {
    return std::any_of(any.begin(), any.end(),
                       [&](const char* a) { return std::find(list.begin(), list.end(), a) != list.end(); });
}

// What is missing for a test; empty: nothing.
std::string lacks(const FieldTest& t, const std::vector<bench::Observation>& looks, const Case& c) {
    if (c.to_hand_said) {
        const Mode mode = looks.front().mode;
        const std::string& gauge = looks.front().gauge;
        if (gauge == "flow" && !has(c.to_hand, {"bucket"})) return text::id("bucket");
        if (gauge == "head" && !has(c.to_hand, {"gauge"})) return text::id("gauge");
        if (gauge == "water" && !has(c.to_hand, {"dip-meter"})) return text::id("dip-meter");
        if ((gauge == "connector_temp" || gauge == "cell_temp") && !has(c.to_hand, {"thermal-camera"}))
            return text::id("thermal-camera");
        if (gauge.empty()) {
            if (mode == Mode::aca && !has(c.to_hand, {"clamp-ac", "clamp-dc"})) return text::id("clamp-ac");
            if (mode == Mode::dca && !has(c.to_hand, {"clamp-dc"})) return text::id("clamp-dc");
            if (mode == Mode::insulation && !has(c.to_hand, {"insulation"})) return text::id("insulation");
            if (!meter::takes_clamp(mode) && mode != Mode::insulation && !has(c.to_hand, {"multimeter"}))
                return text::id("multimeter");
        }
        for (const Station s : {Station::covered, Station::shorted, Station::renewed, Station::one_covered})
            if (t.station == s && !has(c.to_hand, {"cover"})) return text::id("cover");
    }
    if (exposure_of(t) == 5 && !c.who.empty() && c.who != "authorised") return text::id("an authorised person");
    if (exposure_of(t) == 5 && c.alone) return text::id("a second person");
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

double information(const std::vector<double>& p, const Likeness& likeness) {
    double bits = 0.0;
    for (std::size_t h = 0; h < p.size(); ++h) {
        double seen = 0.0;
        for (std::size_t g = 0; g < p.size(); ++g) seen += p[g] * likeness[h][g];
        if (p[h] > 0.0) bits -= p[h] * std::log2(std::min(1.0, seen));
    }
    return bits;
}

// One state and one place to look, in words that can be compared.
std::string one_look(std::vector<std::string> acts, const bench::Probes& probes, const std::string& gauge, Mode mode) {
    std::sort(acts.begin(), acts.end());
    std::string key;
    for (const std::string& act : acts) key += act + " ";
    if (!gauge.empty()) return key + gauge;
    if (probes.red > probes.black)
        return key + probes.around + probes.black + " " + probes.red + mode_name(mode).data();
    return key + probes.around + probes.red + " " + probes.black + mode_name(mode).data();
}

std::vector<std::string> names(const State& state) {
    std::vector<std::string> acts;
    for (const site::Act& act : state.acts) acts.push_back(act.kind + "@" + act.place);
    return acts;
}

// What was read already, and what the site was left like by the last reading.
struct Read {
    std::set<std::string> looks;
    bool isolated = false, wires_off = false;
};
Read read_so_far(const Case& c) {
    Read out;
    for (const Seen& s : c.seen) {
        if (s.when == "well") continue;
        out.isolated = out.wires_off = false;
        std::vector<std::string> standing;
        for (const std::string& act : s.act)
            if (const auto at = act.find('@'); at != std::string::npos)
                site::stands(standing, act.substr(0, at), act.substr(at + 1));
        for (const std::string& act : standing) {
            out.isolated = out.isolated || act.starts_with("open@isolator") || act.starts_with("stop@");
            out.wires_off = out.wires_off || act == "pull@pump";
        }
        const auto mode = meter::mode_from(s.mode);
        const auto sensed = bench::sensed_in(s.look);
        const std::string gauge = !s.gauge.empty() ? s.gauge : !s.sound.empty() ? "sound" : sensed ? sensed->gauge : "";
        out.looks.insert(one_look(standing, {s.red, s.black, s.around}, gauge,
                                  mode.value_or(s.around.empty() ? Mode::dcv : Mode::aca)));
    }
    return out;
}

// Of one state of the site and one way of being near it: looking about is one visit, clamps are another. The valve is
// shut for a moment by whoever is at the gauge.
std::pair<Station, int> set_up_of(const Candidate& x) {
    const Station station = x.test->station == Station::shut ? Station::running : x.test->station;
    return {station, x.exposure <= 2 ? 0 : x.exposure};
}

Likeness both(const Likeness& a, const Likeness& b) {
    Likeness out = a;
    for (std::size_t h = 0; h < out.size(); ++h)
        for (std::size_t g = 0; g < out[h].size(); ++g) out[h][g] *= b[h][g];
    return out;
}

// Acts that are tried cost a run of each suspect: asked where those they can tell apart are likely.
bool is_tried(Station s) {
    using enum Station;
    return s == restarted || s == rolled || s == renewed || s == one_covered || s == lifted || s == freed;
}
// A part named u, v or w in a place: "drive.u", "u.upper", "u-v".
bool of_a_phase(const std::string& place) {
    const auto apart = [&](std::size_t n) {
        return n >= place.size() || !std::isalnum(static_cast<unsigned char>(place[n]));
    };
    for (std::size_t n = 0; n < place.size(); ++n)
        if (place[n] >= 'u' && place[n] <= 'w' && (n == 0 || apart(n - 1)) && apart(n + 1)) return true;
    return false;
}
// A restart tells of what has stopped; of what runs it tells nothing that is not seen without. The others tell of the
// part they move.
bool can_tell(Station s, const Change& suspect, const Sight& running) {
    const auto faulty = [&](const auto& is) { return std::any_of(suspect.faults.begin(), suspect.faults.end(), is); };
    switch (s) {
        case Station::restarted:
            return running.possible && (running.behaviour.trips > 0 || running.behaviour.phase == drive::Phase::locked);
        case Station::rolled: return faulty([](const site::Fault& f) { return of_a_phase(f.place); });
        case Station::renewed: return faulty([](const site::Fault& f) { return f.kind == "string-fuse-blown"; });
        case Station::one_covered:
            return faulty([](const site::Fault& f) {
                return f.place.size() > 1 && f.place[0] == 's' && std::isdigit(static_cast<unsigned char>(f.place[1]));
            });
        case Station::lifted:
        case Station::freed:
            return (running.possible && running.behaviour.phase == drive::Phase::tank_hold) ||
                   faulty([](const site::Fault& f) { return f.place == "float"; });
        default: return true;
    }
}

// From the test that tells most for its minutes on: what still tells enough for the minutes it adds.
Visit visit_of(const std::vector<Candidate>& list, std::vector<std::size_t> tests, const std::vector<double>& p) {
    // Who is there already looks at whatever tells something for its minutes (common practice, no source).
    constexpr double least_bits = 0.02, least_rate = 0.005;
    Visit v;
    v.likeness.assign(p.size(), std::vector<double>(p.size(), 1.0));
    while (!tests.empty()) {
        std::size_t best = 0;
        double most = -1.0, bits = 0.0;
        for (std::size_t k = 0; k < tests.size(); ++k) {
            const Candidate& x = list[tests[k]];
            const double told = information(p, both(v.likeness, x.likeness)),
                         minutes = x.minutes + (v.tests.empty() ? x.way : 0.0);
            if ((told - v.bits) / minutes > most) most = (told - v.bits) / minutes, best = k, bits = told;
        }
        const Candidate& x = list[tests[best]];
        if (!v.tests.empty() && (bits - v.bits < least_bits || most < least_rate)) break;
        v.likeness = both(v.likeness, x.likeness);
        v.minutes += x.minutes + (v.tests.empty() ? x.way : 0.0);
        v.bits = bits;
        v.exposure = std::max(v.exposure, x.exposure);
        v.tests.push_back(tests[best]);
        tests.erase(tests.begin() + static_cast<std::ptrdiff_t>(best));
    }
    // A glance is never saved, whoever looks about: a few minutes each, no hand on anything but the clamp that is out.
    constexpr double glance_min = 3.0, glance_bits = 0.002;
    for (const std::size_t n : tests) {
        const Candidate& x = list[n];
        if (v.exposure > 3 || x.exposure > 3 || x.minutes > glance_min || x.bits < glance_bits) continue;
        v.likeness = both(v.likeness, x.likeness);
        v.minutes += x.minutes;
        v.bits = information(p, v.likeness);
        v.tests.push_back(n);
    }
    std::stable_sort(v.tests.begin(), v.tests.end(),
                     [&](std::size_t a, std::size_t b) { return list[a].exposure < list[b].exposure; });
    return v;
}

}  // namespace

int exposure_of(const FieldTest& t) {
    for (const Station s : {Station::restarted, Station::one_covered, Station::lifted, Station::freed})
        if (t.station == s) return 3;  // isolator, cover or float in hand
    for (const char* at_the_box : {"lamps", "drive-display", "box", "smell"})
        if (std::string_view(t.id) == at_the_box) return 2;
    if (!t.electrical) return t.station == Station::dead ? 4 : 1;
    switch (t.station) {
        case Station::dead:
        case Station::covered:
        case Station::warm:
        case Station::rolled:
        case Station::renewed: return 4;
        case Station::lit:
        case Station::shorted:
        case Station::bled: return 5;
        case Station::running:
        case Station::restarted:
        case Station::other:
        case Station::shut:
        case Station::one_covered:
        case Station::lifted:
        case Station::freed: break;
    }
    return std::string_view(t.id).find("clamp") != std::string_view::npos ? 3 : 5;
}

State state_for(Station s, const site::Works& works) {
    State state;
    const bool array = works.supply.kind == site::Supply::Kind::array;
    const auto act = [&](const char* kind, const char* place) { state.acts.push_back({kind, place, 0.0}); };
    const bench::StationRow& row = bench::row_of(s);
    state.after_s = row.after_s;
    const bool dead = !row.runs || s == Station::bled || s == Station::warm;
    if (!dead) {
        state.acts = bench::acts_to(works, s);
        return state;
    }
    if (array) act("open", "isolator");
    else act("stop", "drive");
    if (s != Station::bled) act("pull", "pump");
    if (s == Station::covered) act("cover", "array");
    if (s == Station::shorted) act("short", "array");
    return state;
}

std::vector<std::string> way_to(Station s, const site::Works& works) {
    std::vector<std::string> way = names(state_for(s, works));
    if (s != Station::rolled && s != Station::renewed) return way;
    const bool array = works.supply.kind == site::Supply::Kind::array;
    std::vector<std::string> before = {array ? "open@isolator" : "stop@drive"}, after;
    if (s == Station::renewed) before.push_back("cover@array"), after.push_back("uncover@array");
    after.push_back(array ? "close@isolator" : "start@drive");
    way.insert(way.begin(), before.begin(), before.end());
    way.insert(way.end(), after.begin(), after.end());
    return way;
}

std::vector<std::string> way_back(Station s, const site::Works& works) {
    std::vector<std::string> back;
    if (!row_of(s).runs || s == Station::bled || s == Station::warm) return back;  // what follows is done there, too
    const std::vector<std::string> way = way_to(s, works);
    const auto& rows = site::act_catalogue();
    for (auto act = way.rbegin(); act != way.rend(); ++act) {
        const std::string kind = act->substr(0, act->find('@')), place = act->substr(act->find('@'));
        const auto undoes = std::find_if(rows.begin(), rows.end(), [&](const auto& r) { return kind == r.undoes; });
        const site::ActRow* row = site::find_act(kind);
        if (kind == "exchange") back.push_back(*act);
        else if (*row->undoes) back.push_back(row->undoes + place);
        else if (undoes != rows.end()) back.push_back(undoes->kind + place);
    }
    if (s == Station::renewed) back.clear();  // a good fuse stays
    return back;
}

double distance2(const FieldTest& t, const std::vector<bench::Observation>& looks, const Sight& a, const Sight& b) {
    if (!a.possible || !b.possible) return 0.0;
    double off = 0.0, shared_square = 0.0, shared_off = 0.0;
    for (std::size_t n = 0; n < looks.size(); ++n) {
        const Shown &x = a.shown[n], &y = b.shown[n];
        if (x.kind != y.kind) return much_off;
        if (x.kind != Shown::Kind::figure) continue;
        // A drive that waits now and then beside one that does not: found so or so. Of two that do the run is seen.
        double one = x.value, other = y.value;
        if (std::isfinite(x.waits) != std::isfinite(y.waits)) {
            const double waits = std::isfinite(x.waits) ? x.waits : x.value,
                         beside = std::isfinite(x.waits) ? y.value : y.waits;
            if (std::abs(waits - beside) < std::abs(one - other)) one = waits, other = beside;
        }
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
            off += shipped_senses().apart2(looks[n].gauge, static_cast<unsigned>(one + 0.5),
                                           static_cast<unsigned>(other + 0.5));
            continue;
        }
        const Bearing be = bearing(t, looks[n], x, y);
        const double d = one - other, own = std::max(be.own2, 1e-18);
        off += d * d / own;
        shared_square += be.level * be.level / own;
        shared_off += be.level * d / own;
    }
    // A rank-one level out of the sum (Sherman and Morrison).
    return std::min(much_off, off - shared_off * shared_off / (1.0 + shared_square));
}

std::vector<Candidate> left_to_do(const site::Works& works, const Case& c, const Priors& priors) {
    const Read read = read_so_far(c);
    std::vector<Candidate> list;
    for (const FieldTest& t : bench::field_tests()) {
        auto looks = t.observations(works);
        // Module by module is half an hour of pulling connectors: only its place is told by it.
        if (looks.empty() || looks.size() > 8 || t.station == Station::warm) continue;
        const auto acts = names(state_for(t.station, works));
        std::erase_if(looks, [&](const bench::Observation& o) {
            const std::string whole = o.gauge.substr(0, o.gauge.find('.'));  // all lugs were looked at
            return read.looks.contains(one_look(acts, o.probes, o.gauge, o.mode)) ||
                   (!whole.empty() && read.looks.contains(one_look(acts, o.probes, whole, o.mode)));
        });
        if (looks.empty()) continue;
        Candidate x{&t, looks, exposure_of(t), t.minutes, 0.0, lacks(t, looks, c)};
        if (x.exposure >= 4 && t.station != Station::running && !read.isolated) x.way += priors.minute("isolate");
        if (x.exposure == 4 && !read.wires_off) x.way += priors.minute("wires-off");
        if (t.station == Station::covered || t.station == Station::renewed) x.way += priors.minute("cover");
        if (x.exposure != 4 && read.wires_off) x.way += priors.minute("refit");
        list.push_back(std::move(x));
    }
    return list;
}

void look_ahead(Sights& sights, const std::vector<Change>& suspects, const std::vector<double>& p, bool stopped,
                std::vector<Candidate>& list, const std::function<bool(double)>& progress) {
    const site::Works works = site::set_up(sights.scenario());
    constexpr double perhaps = 0.1;
    std::map<Station, std::vector<Look>> looks_of{{Station::running, {}}};
    std::vector<std::size_t> from;  // by candidate: the first of its looks among those of its station
    const auto gather = [&] {
        from.clear();
        for (auto& [station, looks] : looks_of) looks.clear();
        for (const Candidate& x : list) {
            auto& looks = looks_of[x.test->station];
            from.push_back(looks.size());
            for (const bench::Observation& o : x.looks) looks.push_back({o.probes, o.mode, o.gauge, "", false});
        }
    };
    gather();
    std::vector<Sights::Ask> asks;
    std::map<Station, std::size_t> first;
    const auto ask = [&](Station station) {
        first[station] = asks.size();
        for (const Change& change : suspects) asks.push_back({change, state_for(station, works), looks_of.at(station)});
    };
    for (const auto& [station, looks] : looks_of)
        if (!is_tried(station)) ask(station);
    auto seen = sights.see(asks, progress);
    std::map<Station, double> likely;
    for (std::size_t k = 0; k < suspects.size(); ++k)
        for (const auto& [station, looks] : looks_of)
            if (can_tell(station, suspects[k], seen[first[Station::running] + k])) likely[station] += p[k];
    std::erase_if(list,
                  [&](const Candidate& x) { return is_tried(x.test->station) && likely[x.test->station] < perhaps; });
    gather();
    for (const auto& [station, looks] : looks_of)
        if (is_tried(station) && !looks.empty()) ask(station);
    seen = sights.see(asks, progress);  // what was asked before is known
    for (std::size_t n = 0; n < list.size(); ++n) {
        Candidate& x = list[n];
        for (std::size_t k = 0; k < suspects.size(); ++k) {
            Sight s = seen[first[x.test->station] + k];
            const auto begin = s.shown.begin() + static_cast<std::ptrdiff_t>(from[n]);
            s.shown = {begin, begin + static_cast<std::ptrdiff_t>(x.looks.size())};
            for (Shown& one : s.shown)
                if (stopped && !is_tried(x.test->station) && std::isfinite(one.waits))
                    one.value = std::exchange(one.waits, not_given), one.band = one.waits_band,
                    one.step = one.waits_step;
            x.seen.push_back(std::move(s));
        }
        x.likeness.assign(p.size(), std::vector<double>(p.size(), 1.0));
        for (std::size_t a = 0; a < p.size(); ++a)
            for (std::size_t b = a + 1; b < p.size(); ++b)
                x.likeness[a][b] = x.likeness[b][a] =
                    std::exp(-0.5 * distance2(*x.test, x.looks, x.seen[a], x.seen[b]));
        x.bits = information(p, x.likeness);
    }
}

std::vector<Visit> visits(const std::vector<Candidate>& list, const std::vector<double>& p) {
    std::map<std::pair<std::pair<Station, int>, bool>, std::vector<std::size_t>> set_ups;
    for (std::size_t n = 0; n < list.size(); ++n) set_ups[{set_up_of(list[n]), list[n].lacks.empty()}].push_back(n);
    std::vector<Visit> out;
    for (auto& [key, tests] : set_ups) {
        // What the first visit leaves out is a visit of its own, so that it can be chosen too.
        while (!tests.empty()) {
            Visit v = visit_of(list, tests, p);
            v.possible = key.second;
            v.now = std::all_of(v.tests.begin(), v.tests.end(), [&](std::size_t n) { return list[n].now; });
            std::erase_if(tests,
                          [&](std::size_t n) { return std::find(v.tests.begin(), v.tests.end(), n) != v.tests.end(); });
            out.push_back(std::move(v));
        }
    }
    // Nor is it worth going for less than a twentieth of what is not known.
    double unknown = 0.0;
    for (const double x : p)
        if (x > 0.0) unknown -= x * std::log2(x);
    const double worth = std::max(worth_bits, 0.05 * unknown);
    std::stable_sort(out.begin(), out.end(), [&](const Visit& a, const Visit& b) {
        const bool wa = a.bits >= worth, wb = b.bits >= worth;
        if (wa != wb) return wa;
        if (wa && a.now != b.now) return a.now;
        const int ea = std::max(a.exposure, 2), eb = std::max(b.exposure, 2);  // who looks about reads the display too
        if (wa && ea != eb) return ea < eb;
        return a.bits / a.minutes > b.bits / b.minutes;
    });
    return out;
}

}  // namespace sunshaft::diagnose
