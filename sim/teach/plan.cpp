#include "teach/plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "teach/words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::teach {
namespace {

// The clock of 45 minutes, and what is left of each part when there is less time: spare goes first, then the exercise
// down to one round, then recall. Predict, bench and explain stay whole: without them it is no lesson.
struct PlanPart {
    const char* name;
    int minutes, least, gives;  // gives: in which order it gives time up, 0 never
};
constexpr PlanPart parts[] = {{text::id("recall"), 5, 0, 3},    {text::id("predict"), 5, 5, 0},
                              {text::id("bench"), 15, 15, 0},   {text::id("explain"), 5, 5, 0},
                              {text::id("exercise"), 10, 4, 2}, {text::id("spare"), 5, 0, 1}};

std::string clock(int minutes) { return fmt::format("{:02}:{:02}", minutes / 60 % 24, minutes % 60); }

std::string todo(std::string_view part, const Lesson& lesson, std::size_t predictions) {
    if (part == "recall")
        return text::tr("Three questions out of earlier lessons, on new values. Everybody writes, then hands.");
    if (part == "predict")
        return text::sentences(
            {predictions == 1 ? text::tr("One question.") : text::say("The first of {} questions.", predictions),
             text::tr("Everybody writes a figure down, then hands for each reason. Nobody is told what is right.")});
    if (part == "bench")
        return text::say("Cautions aloud, then the leads. {} steps on the bench; the pairs swap meter and notes.",
                         lesson.steps.size());
    if (part == "explain")
        return text::tr("Hands again: which explanation fits the reading? Then open the computed reasons.");
    if (part == "exercise") return text::say("{} rounds on own values, alone or in pairs.", rounds);
    return text::tr("For the question nobody expected. Else one more round with another seed.");
}

std::string place_of(const Look& look) { return fmt::format("{}, {}", look.where(), state_words(look)); }

class Maker {
  public:
    Maker(const Lesson& lesson, const Beliefs& beliefs, const PlanOptions& options)
        : l_(lesson), beliefs_(beliefs), o_(options), answers_(benches_, beliefs) {}

    Plan make() {
        plan_.id = l_.id;
        plan_.title = l_.title;
        plan_.aim = l_.aim;
        plan_.site = o_.site.empty() ? l_.site : o_.site;
        plan_.seed = o_.seed;
        plan_.by_clock = o_.start_min > 0;
        for (const Step& step : l_.steps)
            if (step.predict) asked_.push_back({*step.predict, {plan_.site, l_.set, l_.fault}, step.given, step.why});
        phases();
        cautions();
        wrong();
        for (std::size_t n = 0; n < asked_.size(); ++n) question(asked_[n]);
        if (plan_.ask.size() < 4)
            plan_.ask.push_back(text::tr("What would you do next on this site, and what before it?"));
        return std::move(plan_);
    }

  private:
    const Seen& seen(const Asked& a) { return answers_.seen(a.state, a.look); }

    void phases() {
        std::vector<int> minutes;
        for (const PlanPart& part : parts) minutes.push_back(part.minutes);
        int lost = std::clamp(o_.late_min, 0, 30);
        for (int turn = 1; turn <= 3 && lost > 0; ++turn)
            for (std::size_t n = 0; n < std::size(parts); ++n) {
                if (parts[n].gives != turn) continue;
                const int given = std::min(lost, parts[n].minutes - parts[n].least);
                if (given == 0) continue;
                minutes[n] -= given;
                lost -= given;
                plan_.cut.push_back(minutes[n] == 0
                                        ? text::say("No {}.", text::tr(parts[n].name))
                                        : text::say("{} in {} minutes: one round, the others at home with seed {}.",
                                                    text::tr(parts[n].name), minutes[n], o_.seed));
            }
        if (lost > 0)
            plan_.cut.push_back(text::say(
                "{} minutes are still missing. Stop after explain; the exercise opens the next lesson.", lost));
        int at = o_.start_min + std::clamp(o_.late_min, 0, 30);
        const int end = o_.start_min + 45;
        for (std::size_t n = 0; n < std::size(parts); ++n) {
            if (minutes[n] == 0) continue;
            const int until = std::min(at + minutes[n], end);
            if (until <= at) continue;
            plan_.phases.push_back({text::tr(parts[n].name), at, until, todo(parts[n].name, l_, asked_.size())});
            at = until;
        }
        plan_.stop = text::say(
            "Stop after explain. Next week: sunshaft lesson {} --seed {} --from {} goes on with the exercise, on the "
            "same "
            "values.",
            l_.id, o_.seed, l_.steps.size() + 1);
    }

    void cautions() {
        const State base{plan_.site, l_.set, l_.fault};
        std::vector<std::pair<State, Look>> looks;
        for (const Step& step : l_.steps) {
            if (step.measure) looks.emplace_back(base, *step.measure);
            if (step.predict) looks.emplace_back(base, *step.predict);
        }
        plan_.cautions = answers_.cautions(looks);
        // Where only eyes and a bucket are used, what is dangerous about the site all the same.
        if (plan_.cautions.empty()) plan_.cautions = answers_.standing(base);
    }

    void wrong() {
        for (const std::string& id : l_.believes) {
            const Belief& b = beliefs_.at(id);
            plan_.wrong.push_back(fmt::format("\"{}\" {}", b.says, b.refuted));
        }
    }

    void question(const Asked& a) {
        const Seen s = seen(a);
        std::string known;
        const auto lines = conditions(benches_, l_.set.size(), a);
        for (std::size_t n = 1; n < lines.size(); ++n) known += lines[n] + " ";  // the first is the state
        for (const Look& look : a.given) known += known_words(benches_, a, look) + " ";
        plan_.ask.push_back(known + text::say("What will it show: {}? Why?", place_of(a.look)));
        std::vector<Plan::Mark> line;
        line.push_back({s.over || !s.value ? std::numeric_limits<double>::infinity() : *s.value, s.shown, true});
        for (const std::string& id : a.why) {
            const double x = answers_.expects(a, beliefs_.at(id));
            if (std::isnan(x)) continue;
            line.push_back({x, beliefs_.at(id).says, false});
        }
        plan_.board.push_back(line);
        plan_.board_of.push_back(a.look.where());
        plan_.units.push_back(s.unit);
        same_figures(a);
        slips(a, s);
    }

    // Where two beliefs expect the same, a figure does not tell which of them was meant.
    void same_figures(const Asked& a) {
        for (std::size_t n = 0; n < a.why.size(); ++n)
            for (std::size_t m = n + 1; m < a.why.size(); ++m) {
                const double x = answers_.expects(a, beliefs_.at(a.why[n])),
                             y = answers_.expects(a, beliefs_.at(a.why[m]));
                if (std::abs(x - y) > 0.02 * std::max(std::abs(x), std::abs(y)) + 1e-12) continue;
                plan_.trouble.push_back(
                    text::say("The same figure follows from \"{}\" and from \"{}\" Ask for the reason.",
                              beliefs_.at(a.why[n]).says, beliefs_.at(a.why[m]).says));
            }
    }

    void say_slip(const Asked& a, const Look& look, const char* what, const Seen& right) {
        try {
            const Seen s = answers_.seen(a.state, look);
            if (s.shown == right.shown) return;
            const std::string words = text::say_of(what, s.shown, right.shown);
            if (std::find(plan_.trouble.begin(), plan_.trouble.end(), words) == plan_.trouble.end())
                plan_.trouble.push_back(words);
        } catch (const std::exception&) {  // this meter cannot be set so
        }
    }

    // What hands get wrong, as this bench would show it.
    void slips(const Asked& a, const Seen& right) {
        using meter::Mode;
        if (!a.look.on_display()) return;
        const auto turned_to = [&](Mode mode) {
            Look look = a.look;
            look.what.mode = mode;
            return look;
        };
        const meter::Spec& spec = *a.look.what.instrument;
        switch (a.look.what.mode) {
            case Mode::dcv: {
                Look look = a.look;
                std::swap(look.what.probes.red, look.what.probes.black);
                say_slip(a, look, text::id("Exchanged leads: it shows {} instead of {}."), right);
                if (spec.has(Mode::acv))
                    say_slip(a, turned_to(Mode::acv), text::id("Left on AC it shows {} instead of {}."), right);
                break;
            }
            case Mode::acv:
                if (spec.has(Mode::dcv))
                    say_slip(a, turned_to(Mode::dcv), text::id("Left on DC it shows {} instead of {}."), right);
                break;
            case Mode::aca:
                if (spec.has(Mode::dca))
                    say_slip(a, turned_to(Mode::dca), text::id("Left on DC it shows {} instead of {}."), right);
                break;
            case Mode::dca:
                if (spec.has(Mode::aca))
                    say_slip(a, turned_to(Mode::aca), text::id("Left on AC it shows {} instead of {}."), right);
                break;
            case Mode::ohm: {
                Look look = a.look;
                look.fault.push_back("bad-lead@meter=1");
                say_slip(a, look, text::id("Worn leads of 1 ohm, not zeroed: it shows {} instead of {}."), right);
                break;
            }
            default: break;
        }
    }

    const Lesson& l_;
    const Beliefs& beliefs_;
    PlanOptions o_;
    Benches benches_;
    Answers answers_;
    std::vector<Asked> asked_;
    Plan plan_;
};

}  // namespace

Plan make_plan(const Lesson& lesson, const Beliefs& beliefs, const PlanOptions& options) {
    return Maker(lesson, beliefs, options).make();
}

std::string plan_text(const Plan& plan) {
    std::string out;
    const auto line = [&](const std::string& words) { out.append(words).append(1, '\n'); };
    const auto block = [&](const char* head, const std::vector<std::string>& rows) {
        if (rows.empty()) return;
        line(fmt::format("\n{}", head));
        for (const std::string& row : rows) line("  " + row);
    };
    line(text::say("{}. Site: {}. Seed {}.", plan.title, plan.site, plan.seed));
    line(text::say("Aim: {}", plan.aim));
    line(std::string("\n") + text::tr("Clock"));
    for (const auto& p : plan.phases)
        line(fmt::format("  {}  {:<9} {}",
                         plan.by_clock ? text::say("{} to {}", clock(p.from), clock(p.to))
                                       : text::say("{:>2} to {:>2} min", p.from, p.to),
                         p.name, p.what));
    block(text::tr("Cut, because of the late start"), plan.cut);
    block(text::tr("Before you touch"), plan.cautions);
    block(text::tr("Where to stop"), {plan.stop});
    block(text::tr("The usual wrong belief"), plan.wrong);
    block(text::tr("What to ask"), plan.ask);
    block(text::tr("What goes wrong"), plan.trouble);
    line(std::string("\n") + text::tr("On the board"));
    for (std::size_t n = 0; n < plan.board.size(); ++n) {
        line(fmt::format("  {}", plan.board_of[n]));
        for (const auto& mark : plan.board[n])
            line(fmt::format("    {:>12}  {}", mark.shown ? mark.words : figure_of(mark.value, plan.units[n]),
                             mark.shown ? std::string(text::tr("is shown")) : mark.words));
    }
    return out;
}

}  // namespace sunshaft::teach
