#include "teach/play.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "site/load.hpp"
#include "teach/draw.hpp"
#include "teach/words.hpp"
#include "text/figure.hpp"

namespace sunshaft::teach {
Play::Play(const Lesson& lesson, const Beliefs& beliefs, PlayOptions options)
    : lesson_(lesson),
      beliefs_(beliefs),
      options_(std::move(options)),
      benches_(options_.benches ? options_.benches : std::make_shared<Benches>()),
      answers_(*benches_, beliefs) {
    base_ = {options_.site.empty() ? lesson.site : options_.site, lesson.set, lesson.fault};
    beats_.push_back({Kind::say, 0, 0, fmt::format("{}. {}", lesson.title, lesson.aim)});
    const auto question = [&](Asked asked, bool exercise) {
        questions_.push_back(std::move(asked));
        mine_.push_back({});
        mine_.back().exercise = exercise;
        return questions_.size() - 1;
    };
    for (const Step& step : lesson.steps) {
        if (!step.say.empty()) beats_.push_back({Kind::say, 0, 0, step.say});
        for (const Look& look : step.given)
            if (!step.predict) beats_.push_back({Kind::look, 0, 0, {}, look});
        if (step.measure) beats_.push_back({Kind::look, 0, 0, {}, *step.measure});
        if (!step.test.empty()) beats_.push_back({Kind::test, 0, 0, step.test});
        if (!step.predict) continue;
        const std::size_t n = question({*step.predict, base_, step.given, step.why}, false);
        for (const Kind kind : {Kind::value, Kind::reason, Kind::observe, Kind::explain, Kind::reveal})
            beats_.push_back({kind, n});
    }
    for (std::size_t e = 0; e < lesson.exercises.size(); ++e) {
        beats_.push_back({Kind::say, 0, e,
                          fmt::format("Exercise {} of {}: {} rounds. Every value and every reason counts.", e + 1,
                                      lesson.exercises.size(), rounds)});
        for (Asked& asked : exercise(e)) {
            const std::size_t n = question(std::move(asked), true);
            for (const Kind kind : {Kind::value, Kind::reason, Kind::mark}) beats_.push_back({kind, n, e});
        }
        beats_.push_back({Kind::verdict, questions_.size(), e});
    }
    beats_.push_back({Kind::end});
    next();
}

std::vector<Asked> Play::exercise(std::size_t n) const {
    return drawn(lesson_.exercises.at(n), base_, options_.seed, fmt::format("{}/{}", lesson_.id, n), rounds);
}
std::vector<Asked> Play::predictions() const {
    std::vector<Asked> list;
    for (const Step& step : lesson_.steps)
        if (step.predict) list.push_back({*step.predict, base_, step.given, step.why});
    return list;
}

// On to the next thing that is asked; what only has to be said goes with it.
void Play::next() {
    turn_ = {};
    while (!beats_.empty()) {
        now_ = std::move(beats_.front());
        beats_.pop_front();
        carry_out(now_);
        if (turn_.asks != Turn::Asks::nothing) return;
        if (now_.kind == Kind::end) {
            over_ = true;
            outcome_.done = true;
            return;
        }
    }
}

void Play::caution(const State& state, const Look& look) {
    bool fresh = false;
    const auto lines = answers_.cautions(state, look);
    for (const std::string& line : lines)
        if (cautioned_.insert(line).second) {
            say("before you touch: " + line);
            fresh = true;
        }
    if (!fresh && !lines.empty()) say("before you touch: what was said before still holds.");
}

// The conditions of a question and the readings that are known.
void Play::introduce(const Asked& asked) {
    for (std::string& line : conditions(*benches_, base_.set.size(), asked)) say(std::move(line));
    for (const Look& look : asked.given) {
        caution(asked.state, look);
        const Seen s = answers_.seen(asked.state, look);
        say(fmt::format("Known: {}{}: {}.", look.where(), look.healthy ? ", when all was well" : "", s.shown));
    }
}

void Play::choose(const Asked& asked, const char* question) {
    say(question);
    order_ = reasons_in_order(lesson_, options_.seed, asked);
    turn_.asks = Turn::Asks::choice;
    for (const std::string& id : order_) turn_.choices.push_back(answers_.belief(id, asked.look.mark).says);
}

void Play::observe(const Asked& asked) {
    caution(asked.state, asked.look);
    const Seen s = answers_.seen(asked.state, asked.look);
    say(fmt::format("{} shows {}.", asked.look.where(), s.shown));
}

// What each belief expected, beside what is read; and why, computed.
void Play::reveal(const Asked& asked, const Committed& mine) {
    const Seen s = answers_.seen(asked.state, asked.look);
    const auto fit = answers_.fitting(asked);
    for (const std::string& id : asked.why) {
        const Belief& b = answers_.belief(id, asked.look.mark);
        const bool fits = std::find(fit.begin(), fit.end(), id) != fit.end();
        say(fmt::format("{}: \"{}\" expects {}.{}", fits ? "fits" : "does not fit", b.says,
                        figure_of(answers_.expects(asked, b), s.unit),
                        fits || b.refuted.empty() ? "" : " " + b.refuted));
    }
    if (mine.matched.size() == 1)
        say(fmt::format("Your figure is the one that \"{}\" expects.",
                        answers_.belief(mine.matched[0], asked.look.mark).says));
    else if (mine.matched.size() > 1)
        say("Your figure alone does not tell which of these you had in mind. That is why you were asked.");
    for (const std::string& reason : s.reading.reasons) say(reason);
}

void Play::mark(const Asked& asked, Committed& mine) {
    const auto accepted = answers_.accepted(asked);
    const Seen s = answers_.seen(asked.state, asked.look);
    const auto fit = answers_.fitting(asked);
    mine.value_right = accepted.takes(mine.typed);
    mine.reason_right = fit.size() == 1 && mine.reason == fit.front();
    say(accepted.over
            ? fmt::format("It shows {}: {}.", s.shown, accepted.because)
            : fmt::format("It shows {}. Taken as right: {} to {} ({}).", s.shown, figure_of(accepted.low, s.unit),
                          figure_of(accepted.high, s.unit), accepted.because));
    say(mine.value_right ? "Your value is right." : "Your value is not right.");
    if (mine.reason_right) say("Your reason is right.");
    else if (fit.size() == 1)
        say(fmt::format("The reason that fits: {}", answers_.belief(fit.front(), asked.look.mark).says));
    if (!mine.value_right && mine.matched.size() == 1 && (fit.empty() || mine.matched[0] != fit.front())) {
        const Belief& b = answers_.belief(mine.matched[0], asked.look.mark);
        say(fmt::format("Your figure is the one that \"{}\" expects. {}", b.says, b.refuted));
    }
}

void Play::carry_out(const Beat& beat) {
    const Asked* asked = beat.question < questions_.size() ? &questions_[beat.question] : nullptr;
    turn_.question = asked;
    switch (beat.kind) {
        case Kind::say: say(beat.say); break;
        case Kind::look: {
            caution(base_, beat.look);
            say(fmt::format("{}: {} shows {}.", station_words(beat.look.station), beat.look.where(),
                            answers_.seen(base_, beat.look).shown));
            break;
        }
        case Kind::test: {
            const bench::FieldTest& test = *bench::find_test(beat.say);
            const bench::Bench& there = benches_->at(base_, test.station);
            for (const std::string& line : bench::words(bench::hazards(test, there)))
                if (cautioned_.insert(line).second) say("before you touch: " + line);
            say(fmt::format("{}: {}", test.name, test.how));
            for (const bench::Seen& s : bench::observe(there, test.observations(there.site()->works)))
                say(fmt::format("{} shows {}.", s.what.where(),
                                s.gauge     ? s.gauge->shown()
                                : s.reading ? s.reading->shown
                                            : "nothing: the circuit is live"));
            break;
        }
        case Kind::value:
            introduce(*asked);
            say(fmt::format("What will it show: {}?", asked->look.where()));
            turn_.asks = Turn::Asks::value;
            turn_.unit = Answers::usual_unit(asked->look);
            break;
        case Kind::reason: choose(*asked, "Why? Choose one."); break;
        case Kind::observe: observe(*asked); break;
        case Kind::explain: choose(*asked, "Which explanation fits the reading? Choose one."); break;
        case Kind::reveal: reveal(*asked, mine_[beat.question]); break;
        case Kind::mark:
            caution(asked->state, asked->look);
            mark(*asked, mine_[beat.question]);
            break;
        case Kind::verdict: {
            bool got = true;
            for (std::size_t n = beat.question - rounds; n < beat.question; ++n)
                got = got && mine_[n].value_right && mine_[n].reason_right;
            outcome_.got.push_back(got);
            say(got ? "Got it." : "Not yet. Another seed has other values.");
            break;
        }
        case Kind::end: outcome_.committed = mine_; break;
    }
}

// "2", "b", or the sentence itself; "" where it is none of them.
std::string Play::chosen(const std::string& said) const {
    const auto at = said.find_first_not_of(' ');
    if (at == std::string::npos) return "";
    for (std::size_t n = 0; n < order_.size(); ++n) {
        const std::string digit = std::to_string(n + 1), letter(1, static_cast<char>('a' + n));
        std::string word = said.substr(at, said.find_last_not_of(' ') + 1 - at);
        if (word == digit || word == letter || word == turn_.choices[n]) return order_[n];
    }
    return "";
}

void Play::answer(const std::string& said) {
    if (over_ || turn_.asks == Turn::Asks::nothing) return;
    Committed& mine = mine_[now_.question];
    const Asked& asked = questions_[now_.question];
    if (turn_.asks == Turn::Asks::value) {
        const auto typed = diagnose::typed(said, turn_.unit);
        if (typed.kind != diagnose::Typed::Kind::figure && typed.kind != diagnose::Typed::Kind::over) {
            turn_.lines = {fmt::format("{}. Say a figure such as 0,5 or 230 V, or OL.", typed.read_back())};
            return;
        }
        mine.typed = typed;
        mine.matched = answers_.matched(asked, typed);
        next();
        turn_.lines.insert(turn_.lines.begin(), fmt::format("Kept: {}.", typed.read_back()));
        return;
    }
    const std::string id = chosen(said);
    if (id.empty()) {
        turn_.lines = {fmt::format("Choose one by its number, 1 to {}.", order_.size())};
        return;
    }
    (now_.kind == Kind::explain ? mine.explanation : mine.reason) = id;
    if (now_.kind == Kind::reason) mine.reason_right = false;
    next();
}

}  // namespace sunshaft::teach
