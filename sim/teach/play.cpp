#include "teach/play.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "teach/draw.hpp"
#include "teach/words.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {

std::string Line::plain() const {
    switch (kind) {
        case Kind::caution: return text::say("before you touch: {}", words);
        case Kind::fits: return text::say("fits: {}", words);
        case Kind::against: return text::say("does not fit: {}", words);
        default: return words;
    }
}

std::vector<std::string> Committed::missed() const {
    std::vector<std::string> list;
    if (reason_right || (!exercise && !recall)) return list;
    list.push_back(reason);
    if (matched.size() == 1 && matched.front() != reason && !value_right) list.push_back(matched.front());
    return list;
}

Play::Play(const Lesson& lesson, const Beliefs& beliefs, PlayOptions options)
    : lesson_(lesson),
      beliefs_(beliefs),
      options_(std::move(options)),
      benches_(options_.benches ? options_.benches : std::make_shared<Benches>()),
      answers_(*benches_, beliefs) {
    base_ = {options_.site.empty() ? lesson.site : options_.site, lesson.set, lesson.fault};
    lay_out();
    next();
}

std::size_t Play::question(Asked asked, const Lesson& lesson, std::uint64_t seed, std::size_t common) {
    questions_.push_back({std::move(asked), &lesson, seed, common});
    for (int person = 0; person < people(); ++person) {
        mine_.push_back({});
        mine_.back().lesson = lesson.id;
        mine_.back().person = person;
    }
    return questions_.size() - 1;
}

// The beats of a question; of one that is marked the leads are laid for the learner.
void Play::ask(std::size_t n, std::size_t at, bool marked) {
    const auto add = [&](Kind kind, int person = 0) {
        beats_.push_back({kind, n, at, {}, kind == Kind::lay ? questions_[n].asked.look : Look{}, {}, person});
    };
    for (int person = 0; person < people(); ++person) add(Kind::value, person), add(Kind::reason, person);
    if (marked) return add(Kind::mark);
    if (options_.stepwise) add(Kind::lay);
    add(Kind::observe);
    for (int person = 0; person < people(); ++person) add(Kind::explain, person);
    add(Kind::reveal);
}

void Play::lay_out() {
    beats_.push_back({Kind::say, 0, 0, fmt::format("{}.", lesson_.title)});
    const auto say = [&](std::size_t at, std::string words) { beats_.push_back({Kind::say, 0, at, std::move(words)}); };
    for (std::size_t r = 0; r < options_.recall.size(); ++r) {
        const Recall& recall = options_.recall[r];
        const Lesson& of = *recall.lesson;
        say(0, text::say("Recall {} of {}, from \"{}\". Site: {}.", r + 1, options_.recall.size(), of.title, of.site));
        auto asked = drawn(of.exercises.at(recall.exercise), {of.site, of.set, of.fault}, recall.seed,
                           fmt::format("{}/{}", of.id, recall.exercise), rounds);
        const std::size_t n = question(std::move(asked.front()), of, recall.seed, 0);
        for (int person = 0; person < people(); ++person)
            mine(n, person).recall = true, mine(n, person).about = recall.about;
        ask(n, 0, true);
    }
    const auto look = [&](std::size_t at, const Look& at_it) {
        if (options_.stepwise) beats_.push_back({Kind::lay, 0, at, {}, at_it});
        beats_.push_back({Kind::look, 0, at, {}, at_it});
    };
    for (std::size_t s = std::min(options_.from_step, lesson_.steps.size()); s < lesson_.steps.size(); ++s) {
        const Step& step = lesson_.steps[s];
        if (!step.say.empty()) say(s, step.say);
        if (!step.show.empty()) beats_.push_back({Kind::show, 0, s, {}, {}, step.show});
        for (const Look& given : step.given)
            if (!step.predict) look(s, given);
        if (step.measure) look(s, *step.measure);
        if (!step.test.empty()) beats_.push_back({Kind::test, 0, s, step.test});
        if (step.predict)
            ask(question({*step.predict, base_, step.given, step.why}, lesson_, options_.seed, base_.set.size()), s,
                false);
        else if (!step.measure && step.test.empty() && step.given.empty() && options_.stepwise)
            beats_.push_back({Kind::pause, 0, s});
    }
    for (std::size_t e = 0; e < lesson_.exercises.size(); ++e) {
        const std::size_t at = lesson_.steps.size() + e;
        say(at, text::say("Exercise {} of {}: {} rounds. Every value and every reason counts.", e + 1,
                          lesson_.exercises.size(), rounds));
        for (Asked& asked : exercise(e)) {
            const std::size_t n = question(std::move(asked), lesson_, options_.seed, base_.set.size());
            for (int person = 0; person < people(); ++person) mine(n, person).exercise = true;
            ask(n, at, true);
        }
        beats_.push_back({Kind::verdict, questions_.size(), at});
    }
    beats_.push_back({Kind::end, 0, lesson_.steps.size() + lesson_.exercises.size()});
}

std::pair<std::size_t, std::size_t> Play::progress() const {
    return {now_.at, lesson_.steps.size() + lesson_.exercises.size()};
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
    auto spread = std::move(turn_.spread);
    turn_ = {};
    turn_.spread = std::move(spread);
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

// "2", "b", "B)", "2.", or the sentence itself; "" where it is none of them.
std::string Play::chosen(const std::string& said) const {
    const auto at = said.find_first_not_of(' ');
    if (at == std::string::npos) return "";
    for (std::size_t n = 0; n < order_.size(); ++n) {
        const std::string digit = std::to_string(n + 1), letter(1, static_cast<char>('a' + n));
        std::string word = said.substr(at, said.find_last_not_of(' ') + 1 - at);
        if (word == turn_.choices[n]) return order_[n];
        if (word.size() == 2 && (word[1] == '.' || word[1] == ')')) word.pop_back();
        if (word == digit || text::folded(word) == letter) return order_[n];
    }
    return "";
}

// "5 3 8": as many counts as there are choices.
bool Play::count(const std::string& said, Committed& mine) {
    std::vector<int> counts;
    const char *at = said.data(), *end = at + said.size();
    while (at != end) {
        if (*at == ' ' || *at == ',') {
            ++at;
            continue;
        }
        int n = 0;
        const auto [rest, error] = std::from_chars(at, end, n);
        if (error != std::errc() || n < 0 || n > 999) return false;
        counts.push_back(n);
        at = rest;
    }
    if (counts.size() != order_.size()) return false;
    auto& hands = now_.kind == Kind::explain ? mine.hands_after : mine.hands;
    for (std::size_t n = 0; n < order_.size(); ++n) hands[order_[n]] = counts[n];
    return true;
}

void Play::tell_hands(const Question& question, const Committed& mine, bool after) {
    turn_.spread.clear();
    const auto& hands = after ? mine.hands_after : mine.hands;
    int all = 0;
    for (const auto& [id, n] : hands) all += n;
    std::vector<Line> lines;
    for (const std::string& id : reasons_in_order(*question.lesson, question.seed, question.asked)) {
        const Belief& b = answers_.belief(id, question.asked.look.mark);
        turn_.spread.push_back({b.says, mine.hands.at(id), after ? mine.hands_after.at(id) : -1});
        lines.push_back({Line::Kind::hands,
                         after ? text::say("{} of {}, {} before: {}", hands.at(id), all, mine.hands.at(id), b.says)
                               : text::say("{} of {}: {}", hands.at(id), all, b.says)});
    }
    turn_.lines.insert(turn_.lines.begin(), lines.begin(), lines.end());
}

void Play::answer(const std::string& said) {
    if (over_ || turn_.asks == Turn::Asks::nothing) return;
    if (turn_.asks == Turn::Asks::go_on || turn_.asks == Turn::Asks::leads) return next();
    Committed& mine = this->mine(now_.question, now_.person);
    const Question& of = questions_[now_.question];
    const auto again = [&](std::string words) { turn_.lines = {{Line::Kind::ask, std::move(words)}}; };
    if (turn_.asks == Turn::Asks::value) {
        const auto typed = diagnose::typed(said, turn_.unit);
        if (typed.kind != diagnose::Typed::Kind::figure && typed.kind != diagnose::Typed::Kind::over)
            return again(text::say("{}. Say a figure such as 0,5 or 230 V, or OL.", typed.read_back()));
        mine.typed = typed;
        mine.matched = answers_.matched(of.asked, typed);
        next();
        turn_.lines.insert(turn_.lines.begin(), {Line::Kind::kept, text::say("Kept: {}.", typed.read_back())});
        return;
    }
    const bool after = now_.kind == Kind::explain;
    if (turn_.asks == Turn::Asks::hands) {
        if (!count(said, mine))
            return again(text::say("Say {} counts, one for each in this order, for example: {}", order_.size(),
                                   order_.size() == 2   ? "9 7"
                                   : order_.size() == 3 ? "9 7 4"
                                                        : "9 7 4 0"));
        next();
        tell_hands(of, mine, after);
        return;
    }
    const std::string id = chosen(said);
    if (id.empty()) return again(text::say("Choose one by its number, 1 to {}.", order_.size()));
    (after ? mine.explanation : mine.reason) = id;
    next();
}

}  // namespace sunshaft::teach
