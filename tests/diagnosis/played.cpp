#include "played.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "danger.hpp"
#include "diagnose/places.hpp"

namespace sunshaft::evaluation {
namespace {

constexpr int most_visits = 6, most_of_two = 10;
constexpr double sure = 0.8;  // less is acted on only where no test is left that tells anything

// What a textbook does, visit by visit: looks about, then clamps, then isolates and measures dead, then the modules
// (common practice, no source).
const std::vector<std::vector<std::string>>& textbook() {
    static const std::vector<std::vector<std::string>> order = {
        {"drive-display", "sound", "tank"},
        {"line-clamps", "string-clamps"},
        {"winding-ohms", "cable-insulation", "guard-ohms", "input-ohms"},
        {"open-circuit-volts", "poles-to-earth"},
        {"dip", "gauge", "shut-head"},
        {"bridge-diodes", "dead-volts", "core-capacitance"}};
    return order;
}

double minutes_of(const std::vector<std::string>& tests, const diagnose::Case& c, const site::Works& works,
                  const diagnose::Priors& priors) {
    double sum = 0.0, way = 0.0;
    for (const diagnose::Candidate& x : diagnose::left_to_do(works, c, priors))
        if (std::find(tests.begin(), tests.end(), x.test->id) != tests.end()) {
            sum += x.minutes;
            way = std::max(way, x.way);
        }
    return sum + way;
}

}  // namespace

Player::Player(const std::string& name, const Scenario& written, const diagnose::Priors& priors)
    : name_(name), written_(written), works_(site::set_up(written)), priors_(priors), apart_(written, priors) {}

bool Player::like_healthy(const Drawn& site) { return !site.truths.empty() && apart_.same({{}, site.faults()}, {}); }

bool Player::harmless(const Drawn& site) const {
    for (const Truth& t : site.truths)
        if (!priors_.harmless(t.kind, t.severity)) return false;
    const auto flow = [&](const std::vector<site::Fault>& with) {
        bench::Bench b(site.real, {.faults = with});
        b.settle();
        return b.gauge("flow", false).value;
    };
    const double good = flow({});
    return good > 0.0 && flow(site.faults()) > (1.0 - priors_.harmless_water) * good;
}

// The true fault leads, wherever it lies, or one that no test tells from it. A healthy site that rightly waits is one.
// Of a pump that no acceptance test would pass it may be said that the pump is bad.
// Of two causes either may lead, as long as both are named.
bool Player::right(const diagnose::Answer& a, const Drawn& site) {
    const diagnose::Suspect& top = a.suspects.front();
    if (site.truths.empty()) {
        const site::FaultRow* row = site::find_fault(top.fault);
        if (!site.pump_passes && row && std::string_view(row->group) == "pump and water") return true;
        return top.where == "waiting" || (!site.misstated.empty() && top.fault == "site-data");
    }
    if (site.truths.size() == 1 && top.fault == site.truths.front().kind && top.with.empty() &&
        diagnose::one_place(top.place, site.truths.front().place))
        return true;
    if (top.where == "waiting" && harmless(site)) return true;
    if (site.truths.size() == 2) {
        std::set<std::string> named{top.fault}, true_ones;
        for (const auto& second : top.with) named.insert(second.fault);
        for (const Truth& t : site.truths) true_ones.insert(t.kind);
        return named == true_ones;
    }
    return apart_.same(top, {{}, site.faults()});
}

std::vector<std::string> Player::next_visit(const diagnose::Case& c, const diagnose::Answer& a, Way way,
                                            std::mt19937_64& dice) const {
    std::vector<std::string> out;
    if (way == Way::proposed) {
        for (const diagnose::Proposal& x : a.next)
            if (x.visit == a.next.front().visit) out.push_back(x.test);
        return out;
    }
    const auto left = diagnose::left_to_do(works_, c, priors_);
    const auto is_left = [&](const std::string& id) {
        return std::any_of(left.begin(), left.end(), [&](const auto& x) { return x.test->id == id; });
    };
    if (way == Way::textbook) {
        for (const auto& visit : textbook()) {
            for (const std::string& id : visit)
                if (is_left(id)) out.push_back(id);
            if (!out.empty()) return out;
        }
        return out;
    }
    if (!left.empty()) out.push_back(left[dice() % left.size()].test->id);
    return out;
}

// What acting on the first suspect mends, and takes out of the site: once the pump is lifted, all that lies down there.
bool Player::mended(const diagnose::Suspect& top, const std::string& advice, Drawn& site) {
    return std::erase_if(site.truths, [&](const Truth& t) {
               if (advice == "lift") return t.where == "bore";
               const auto is = [&](const std::string& fault, const std::string& place) {
                   return fault == t.kind && diagnose::one_place(place, t.place);
               };
               return is(top.fault, top.place) ||
                      std::ranges::any_of(top.with, [&](const diagnose::Second& x) { return is(x.fault, x.place); }) ||
                      (top.with.empty() && apart_.same(top, {{}, {{t.kind, t.place, t.severity, 0.0}}}));
           }) > 0;
}

Played Player::play(const Drawn& drawn, Way way, std::mt19937_64& dice) {
    Played out;
    Drawn site = drawn;
    std::set<std::string> read_again;
    diagnose::Case c;
    c.site = name_;
    if (works_.supply.kind == site::Supply::Kind::array) c.irradiance = works_.array.irradiance;
    c.sky_source = "in-plane meter";
    std::map<std::string, double> gains;
    carry_out(c, site, "bucket", {}, gains, dice);
    carry_out(c, site, "lamps", {}, gains, dice);
    const std::string lies = drawn.truths.empty() ? "waiting" : drawn.truths.front().where;
    for (out.visits = 0;; ++out.visits) {
        diagnose::Diagnosis d(c, priors_, diagnose::cache_folder());
        const diagnose::Answer a = d.answer();
        const diagnose::Suspect& top = a.suspects.front();
        const bool is = right(a, site);
        if (is && !out.found_at) out.found_at = std::max(1, out.visits);
        if (!is) out.found_at = 0;
        out.leads = fmt::format("{}{}{} {:.2f}", top.fault, top.place.empty() ? "" : "@", top.place, top.probability);
        out.advice = a.stop.advice;
        out.doubted.clear();
        for (const diagnose::Doubt& doubt : a.doubtful)
            out.doubted += fmt::format("{}({:.2f}) {}; ", c.seen[doubt.seen].what(), doubt.probability, doubt.why);
        out.fits = a.fits;
        out.said = out.said_of_truth = 0.0;
        for (const diagnose::Suspect& s : a.suspects) {
            if (s.group == top.group) out.said += s.probability;
            if (site.truths.empty() ? s.where == "waiting" : s.fault == site.truths.front().kind)
                out.said_of_truth += s.probability;
        }
        const bool looks = a.stop.advice == "measure" || a.stop.advice == "repeat";
        if (out.visits >= (drawn.truths.size() > 1 ? most_of_two : most_visits)) break;
        const bool more = !a.next.empty() && a.next.front().gain_bits >= diagnose::worth_bits;
        if (!looks && out.visits > 0 && (out.said >= sure || !more)) {
            // What is advised is done. What a repair did not change is told, and one goes on from there: of two causes
            // until both are mended, or the one that is left costs nothing.
            const bool acts = a.stop.advice == "repair" || a.stop.advice == "lift", two = site.truths.size() == 2;
            if (acts && site::find_fault(top.fault) && (a.stop.advice == "lift" ? two : two || !is)) {
                const bool helped = mended(top, a.stop.advice, site);
                if (!helped && a.stop.advice == "lift") break;
                out.minutes += priors_.minutes_to_repair(top.fault, top.where);
                if (helped && (site.truths.empty() || like_healthy(site) || harmless(site))) {
                    out.path += fmt::format(", [{} repaired: well again]", top.fault);
                    out.found_at = std::max(1, out.visits);
                    break;
                }
                out.path += fmt::format(", [{} repaired: {}]", top.fault, helped ? "still not well" : "no change");
                c.tried.push_back({top.fault, top.place, "no change", "", c.seen.size()});
                if (helped)
                    for (const char* told : {"bucket", "lamps"}) carry_out(c, site, told, {}, gains, dice);
                continue;
            }
            break;
        }
        // What is doubted is read again, once: it shows the same.
        if (a.stop.advice == "repeat" && !a.doubtful.empty()) {
            const diagnose::Seen doubted = c.seen[a.doubtful.front().seen];
            if (read_again.insert(doubted.what() + doubted.shown).second) {
                c.seen.push_back(doubted);
                out.minutes += priors_.minute("ask");
                out.path += ", [read again]";
                --out.visits;
                continue;
            }
        }
        const std::vector<std::string> tests =
            a.next.empty() ? std::vector<std::string>{} : next_visit(c, a, way, dice);
        const std::size_t before = c.seen.size();
        out.minutes += minutes_of(tests, c, works_, priors_);
        for (const std::string& id : tests) {
            out.path += fmt::format("{}{}", out.path.empty() ? "" : id == tests.front() ? ", " : " + ", id);
            if (way == Way::proposed)
                for (const diagnose::Proposal& x : a.next)
                    if (x.test == id)
                        if (const std::string harm = danger(site, x); !harm.empty())
                            out.dangers.push_back(fmt::format("{}: {}", id, harm));
            carry_out(c, site, id, acts_to(*bench::find_test(id), works_), gains, dice);
        }
        if (c.seen.size() == before) break;
    }
    out.notes = c;
    out.wrong_lift = out.advice == "lift" && lies != "bore" && !out.found_at;
    out.called_healthy = !site.truths.empty() && !harmless(site) && out.advice == "wait" && !out.found_at;
    return out;
}

}  // namespace sunshaft::evaluation
