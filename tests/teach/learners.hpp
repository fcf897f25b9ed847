// Learners who play a lesson, and what they go by.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "beliefs.hpp"
#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "teach/draw.hpp"
#include "teach/play.hpp"
#include "text/figure.hpp"

namespace sunshaft::test {

using teach::Play, teach::Turn;

inline const std::vector<teach::Lesson>& lessons() {
    static const std::vector<teach::Lesson> all = teach::shipped_lessons();
    return all;
}

// One for all: what one learner's bench showed it shows the next.
inline std::shared_ptr<teach::Benches> benches() {
    static const auto all = std::make_shared<teach::Benches>();
    return all;
}

// A display that anybody can build from what the question says in public: the site, its keys and its known fault, set
// up anew and read, without the engine's own figures.
struct Display {
    std::string shown;
    double value;
    bool over;
};
// What no meter shows by itself, in closed form. The lines of a six-step wave between two terminals: the first has
// sqrt(6) / pi of the link, multiples of three cancel, the others fall with their number (N. Mohan, T. Undeland, W.
// Robbins, Power Electronics, chapter on square-wave inverters, from memory).
inline Display worked_out_anew(const teach::Look& look, const Scenario& scenario,
                               const std::vector<std::string>& faults) {
    double x = 0.0;
    if (look.ear) x = (faults.empty() ? 6.0 : 2.0) * scenario.drive.frequency_Hz;
    else if (look.order) x = look.order % 3 == 0 ? 0.0 : std::sqrt(6.0) / M_PI * scenario.supply.voltage_V / look.order;
    else {
        const auto& cable = scenario.drop_cable;
        const double farad = 3.0 * cable.core_capacitance_F_per_km * cable.length_m / 1000.0;
        x = 500.0 * std::exp(-look.left_s / (cable.leakage_ohm / 3.0 * farad));
    }
    return {text::plain(x), x, false};
}
inline Display read_anew(const teach::Asked& asked) {
    const teach::State there = asked.state.with(asked.look);
    Scenario scenario = site::load_scenario(site::find_scenario(there.site));
    site::set_keys(scenario, there.set);
    if (asked.look.ear || asked.look.order || asked.look.left_s > 0.0)
        return worked_out_anew(asked.look, scenario, there.fault);
    bench::Edits edits;
    for (const auto& f : there.fault) edits.faults.push_back(site::parse_fault(f, site::set_up(scenario)));
    bench::Bench there_now = bench::at_station(scenario, edits, asked.look.station, asked.look.after_s);
    if (const auto& gauge = asked.look.what.gauge; !gauge.empty()) {
        const auto g = there_now.gauge(gauge, false);
        return {g.shown(), g.value, false};
    }
    const auto r = bench::observe(there_now, asked.look.what);
    return {r.shown, r.value.value_or(0.0), r.over_range};
}

enum class Learner { right, wrong, random, middle, copies, repeats };

// Plays to the end. right: builds the site and reads it, and takes the reason whose figure fits. wrong: answers as the
// first belief that does not fit would. random: any figure from nothing to twice what is known. middle: what stands in
// the middle of the range of the seeds. copies: of the figures told before the question the one that is right, by luck,
// or else the last; repeats: what the display of the question before showed. Both take the reason that expects such a
// figure, where there is one.
inline teach::Outcome play(const teach::Lesson& lesson, std::uint64_t seed, Learner how, const std::string& site = {}) {
    Play p(lesson, beliefs(), {seed, site, benches()});
    teach::Draw dice(seed, fmt::format("dice of {}", lesson.id));
    std::string reason, before = "0";
    for (int n = 0; !p.over(); ++n) {
        REQUIRE(n < 400);
        const Turn& turn = p.turn();
        REQUIRE_FALSE(turn.lines.empty());
        REQUIRE(turn.asks != Turn::Asks::nothing);
        const teach::Asked& asked = *turn.question;
        if (turn.asks == Turn::Asks::value) {
            const auto fit = p.answers().fitting(asked);
            reason = fit.front();
            std::string said = how == Learner::right ? read_anew(asked).shown : "";
            if (how == Learner::wrong) {
                for (const auto& id : asked.why)
                    if (id != fit.front()) reason = id;
                const double x = p.answers().expects(asked, beliefs().at(reason));
                said = std::isinf(x) ? "OL"
                                     : text::plain(x / (turn.unit == "Mohm" ? 1e6
                                                        : turn.unit == "nF" ? 1e-9
                                                                            : 1));
            }
            if (how == Learner::random || how == Learner::middle) {
                // What a person could take for the range: up to twice the largest figure any of the beliefs names.
                double most = 1e-3;
                for (const auto& id : asked.why)
                    if (const double x = p.answers().expects(asked, beliefs().at(id)); std::isfinite(x))
                        most = std::max(most, std::abs(x));
                const double x = how == Learner::middle ? 0.5 * most : most * dice.share();
                said = text::plain(x / (turn.unit == "Mohm" ? 1e6 : turn.unit == "nF" ? 1e-9 : 1));
                reason = asked.why[dice.below(asked.why.size())];
            }
            if (how == Learner::copies || how == Learner::repeats) {
                said = before;
                if (how == Learner::copies)
                    for (const teach::Look& given : asked.given) {
                        said = p.answers().seen(asked.state, given).shown;
                        if (p.answers().accepted(asked).takes(diagnose::typed(said, turn.unit))) break;
                    }
                auto typed = diagnose::typed(said, turn.unit);
                using Kind = diagnose::Typed::Kind;
                if (typed.kind != Kind::figure && typed.kind != Kind::over)  // "trips": no figure to be copied
                    typed = diagnose::typed(said = "0", turn.unit);
                const auto same = p.answers().matched(asked, typed);
                reason = same.empty() ? asked.why[dice.below(asked.why.size())] : same[dice.below(same.size())];
            }
            before = p.answers().seen(asked.state, asked.look).shown;
            p.answer(said);
            continue;
        }
        const auto at = std::find(turn.choices.begin(), turn.choices.end(), beliefs().at(reason).says);
        REQUIRE(at != turn.choices.end());
        p.answer(std::to_string(at - turn.choices.begin() + 1));
    }
    return p.outcome();
}
inline bool all(const std::vector<bool>& got) {
    return std::all_of(got.begin(), got.end(), [](bool g) { return g; });
}

}  // namespace sunshaft::test
