#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "site/keys.hpp"
#include "teach/play.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using site::BadInput;

[[noreturn]] void wrong(const Mark& mark, const std::string& words) {
    throw BadInput(fmt::format("{}: {}", mark.at(), words));
}

// Exactly one reason fits, and the others stay clear of the band by half its width.
void one_fits(Answers& answers, const Asked& asked, const std::string& when, std::set<std::string>& refuted) {
    std::vector<std::string> fit;
    try {
        fit = answers.fitting(asked);
    } catch (const BadInput& e) {
        if (std::string_view(e.what()).find(".toml:") != std::string_view::npos) throw;
        wrong(asked.look.mark, e.what());
    }
    const Seen s = answers.seen(asked.state, asked.look);
    const auto accepted = answers.accepted(asked);
    if (fit.empty())
        wrong(asked.look.mark, text::say("why: none of {} expects the {} that is read{}, expected one that fits",
                                         text::spaced(asked.why), s.shown, when));
    if (fit.size() > 1)
        wrong(asked.look.mark, text::say("why: {} all fit the {} that is read{}, expected values at which one fits",
                                         text::spaced(fit), s.shown, when));
    for (const std::string& id : asked.why) {
        if (id == fit.front()) continue;
        refuted.insert(id);
        const double x = answers.expects(asked, answers.belief(id, asked.look.mark));
        if (std::isnan(x))
            wrong(asked.look.mark,
                  text::say("why: {} expects no figure here{}, expected a belief that does", id, when));
        const double clear = 0.25 * (accepted.high - accepted.low);
        if (!accepted.over && std::isfinite(x) && x > accepted.low - clear && x < accepted.high + clear)
            wrong(asked.look.mark,
                  text::say("why: {} expects {}, too near the {} that is read{}, expected values further apart", id,
                            text::quantity(x, s.unit), s.shown, when));
    }
}

// A figure that is known beforehand is the answer: nothing would have to be worked out.
bool is_told(Answers& answers, const Asked& asked) {
    const auto accepted = answers.accepted(asked);
    return std::ranges::any_of(asked.given, [&](const Look& look) {
        const Seen s = answers.seen(asked.state, look);
        if (s.over) return accepted.over;
        return s.value && s.unit == accepted.unit && accepted.takes(*s.value);
    });
}

void check_all(const Lesson& lesson, const Beliefs& beliefs, int seeds, const std::shared_ptr<Benches>& benches) {
    for (const Step& step : lesson.steps)
        if (step.say.empty() && (step.predict || step.measure))
            wrong(step.mark, text::tr("say: is empty, expected a sentence"));
    std::vector<std::string> sites = {lesson.site};
    if (!lesson.also.empty()) sites.push_back(lesson.also);
    std::set<std::string> refuted;
    for (const std::string& on : sites) {
        for (int seed = 1; seed <= seeds; ++seed) {
            Lesson only = lesson;
            only.steps.clear();  // what the steps show is asked for below
            Play play(only, beliefs, {static_cast<std::uint64_t>(seed), on, benches});
            Answers& answers = play.answers();
            const std::string here = text::say(" on {}", on);
            if (seed == 1) {
                const State base{on, lesson.set, lesson.fault};
                for (const Step& step : lesson.steps) {
                    for (const Look& look : step.given) (void)answers.seen(base, look);
                    if (step.measure) (void)answers.seen(base, *step.measure);
                    if (step.predict) one_fits(answers, {*step.predict, base, step.given, step.why}, here, refuted);
                }
            }
            for (std::size_t e = 0; e < lesson.exercises.size(); ++e) {
                const auto asked = play.exercise(e);
                const std::string when = text::say("{} at seed {}", here, seed);
                double low = -1e300, high = 1e300;
                std::size_t over = 0, told = 0;
                for (const Asked& a : asked) {
                    one_fits(answers, a, when, refuted);
                    told += is_told(answers, a);
                    const auto accepted = answers.accepted(a);
                    over += accepted.over;
                    if (accepted.over) continue;
                    low = std::max(low, accepted.low);
                    high = std::min(high, accepted.high);
                }
                if (over == asked.size() || (over == 0 && low <= high))
                    wrong(lesson.exercises[e].mark,
                          text::say("vary: one answer would pass all rounds{}, expected values further apart", when));
                if (told == asked.size())
                    wrong(
                        lesson.exercises[e].mark,
                        text::say("given: holds the answer in all rounds{}, expected readings it follows from", when));
            }
        }
    }
    for (const std::string& id : lesson.believes) {
        const Belief& b = [&]() -> const Belief& {
            const auto at = beliefs.find(id);
            if (at == beliefs.end())
                wrong(lesson.mark, text::say("believes: {} is no row of beliefs.toml, expected one", id));
            return at->second;
        }();
        if (!refuted.contains(id))
            wrong(lesson.mark, text::say("believes: {} is never refuted here, expected a question that does", id));
        if (b.refuted.empty())
            wrong(b.mark, text::say("refuted: is missing, expected what shows that {} does not hold", id));
    }
}

}  // namespace

void check(const Lesson& lesson, const Beliefs& beliefs, int seeds, std::shared_ptr<Benches> benches) {
    try {
        check_all(lesson, beliefs, seeds, benches ? std::move(benches) : std::make_shared<Benches>());
    } catch (const BadInput& e) {  // of a site, a key or a fault: it has no place in the lesson's file yet
        if (std::string_view(e.what()).find(".toml:") != std::string_view::npos) throw;
        wrong(lesson.mark, e.what());
    }
}

}  // namespace sunshaft::teach
