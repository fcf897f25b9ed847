#include "teach/play.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "site/load.hpp"
#include "teach/draw.hpp"
#include "teach/words.hpp"
#include "text/figure.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

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

// The bench as it is in this state, for who shows it.
void Play::stand(const State& state, const Look& look) {
    if (!options_.stepwise) return;
    const State there = state.with(look);
    turn_.bench_key = there.key(look.station, look.after_s);
    turn_.bench = benches_->share(there, look.station, look.after_s);
    turn_.look = look;
}

void Play::caution(const State& state, const Look& look) {
    bool fresh = false;
    const auto lines = answers_.cautions(state, look);
    for (const std::string& line : lines)
        if (cautioned_.insert(line).second) {
            say(Line::Kind::caution, line);
            fresh = true;
        }
    if (!fresh && !lines.empty()) say(Line::Kind::caution, text::tr("what was said before still holds."));
}

// The conditions of a question and the readings that are known.
void Play::introduce(const Question& question) {
    const Asked& asked = question.asked;
    for (std::string& line : conditions(*benches_, question.common, asked)) say(Line::Kind::state, std::move(line));
    for (const Look& look : asked.given) {
        caution(asked.state, look);
        say(Line::Kind::known, known_words(*benches_, asked, look));
    }
}

// How the site is when a step looks at it.
void Play::set_out(const Look& look) {
    for (std::string& line : setting(*benches_, lesson_, base_, look)) say(Line::Kind::state, std::move(line));
}

void Play::choose(const Question& question, const char* words) {
    say(Line::Kind::ask,
        options_.of_class ? text::say("{} Hands up for each in turn.", words) : text::say("{} Choose one.", words));
    order_ = reasons_in_order(*question.lesson, question.seed, question.asked);
    turn_.asks = options_.of_class ? Turn::Asks::hands : Turn::Asks::choice;
    for (const std::string& id : order_) turn_.choices.push_back(answers_.belief(id, question.asked.look.mark).says);
}

void Play::observe(const Asked& asked) {
    if (!options_.stepwise) caution(asked.state, asked.look);
    stand(asked.state, asked.look);
    const Seen s = answers_.seen(asked.state, asked.look);
    say(Line::Kind::shows, text::say("{} shows {}.", asked.look.where(), s.shown));
}

// What each belief expected, beside what is read; and why, computed.
void Play::reveal(const Asked& asked, std::size_t question) {
    stand(asked.state, asked.look);
    const Seen s = answers_.seen(asked.state, asked.look);
    const auto fit = answers_.fitting(asked);
    for (const std::string& id : asked.why) {
        const Belief& b = answers_.belief(id, asked.look.mark);
        const bool fits = std::find(fit.begin(), fit.end(), id) != fit.end();
        say(fits ? Line::Kind::fits : Line::Kind::against,
            text::sentences({text::say("\"{}\" expects {}.", b.says, figure_of(answers_.expects(asked, b), s.unit)),
                             fits ? "" : b.refuted}));
    }
    for (int person = 0; person < people(); ++person) {
        const Committed& mine = this->mine(question, person);
        if (mine.matched.size() == 1)
            say(Line::Kind::mark, text::say("{}Your figure is the one that \"{}\" expects.", whose(person),
                                            answers_.belief(mine.matched[0], asked.look.mark).says));
        else if (mine.matched.size() > 1)
            say(Line::Kind::mark,
                whose(person) +
                    text::tr(
                        "Your figure alone does not tell which of these you had in mind. That is why you were asked."));
    }
    for (const std::string& reason : s.reading.reasons) say(Line::Kind::why, reason);
}

void Play::mark(const Asked& asked, std::size_t question) {
    stand(asked.state, asked.look);
    const auto accepted = answers_.accepted(asked);
    const Seen s = answers_.seen(asked.state, asked.look);
    const auto fit = answers_.fitting(asked);
    say(Line::Kind::shows,
        accepted.over ? text::say("It shows {}: {}.", s.shown, accepted.because)
                      : text::say("It shows {}. Taken as right: {} to {} ({}).", s.shown,
                                  figure_of(accepted.low, s.unit), figure_of(accepted.high, s.unit), accepted.because));
    bool all = !options_.of_class;
    if (all)
        for (int person = 0; person < people(); ++person) {
            mark_one(asked, mine(question, person));
            all = all && mine(question, person).reason_right;
        }
    if (!all && fit.size() == 1)
        say(Line::Kind::mark,
            text::say("The reason that fits: {}", answers_.belief(fit.front(), asked.look.mark).says));
}

void Play::mark_one(const Asked& asked, Committed& mine) {
    const auto accepted = answers_.accepted(asked);
    const auto fit = answers_.fitting(asked);
    const std::string who = whose(mine.person);
    mine.value_right = accepted.takes(mine.typed);
    mine.reason_right = fit.size() == 1 && mine.reason == fit.front();
    say(Line::Kind::mark,
        who + text::tr(mine.value_right ? text::id("Your value is right.") : text::id("Your value is not right.")));
    say(Line::Kind::mark,
        who + text::tr(mine.reason_right ? text::id("Your reason is right.") : text::id("Your reason does not fit.")));
    if (!mine.value_right && mine.matched.size() == 1 && (fit.empty() || mine.matched[0] != fit.front())) {
        const Belief& b = answers_.belief(mine.matched[0], asked.look.mark);
        say(Line::Kind::mark, text::say("{}Your figure is the one that \"{}\" expects. {}", who, b.says, b.refuted));
    }
}

// Of a pair: who answers; the other one's answers are not in sight.
void Play::turn_of(const Beat& beat) {
    if (!options_.in_pair) return;
    turn_.person = beat.person;
    say(Line::Kind::state, text::say("{} answers, {} looks away.", name(beat.person), name(1 - beat.person)));
}

// Where the leads have to lie; the reading waits for them.
void Play::lay(const Beat& beat) {
    const bool asked = beat.question < questions_.size() && beats_.front().kind == Kind::observe;
    const State& state = asked ? questions_[beat.question].asked.state : base_;
    caution(state, beat.look);
    stand(state, beat.look);
    turn_.closed = asked;
    if (!asked) set_out(beat.look);
    if (!beat.look.on_display()) {
        say(Line::Kind::ask,
            text::say_of(beat.look.ear ? text::id("Listen: {}.") : text::id("Look: {}."), beat.look.where()));
        return go_on();
    }
    if (options_.in_pair) {
        const int holds = readings_++ % 2;
        say(Line::Kind::state, text::say("{} holds the meter, {} writes down.", name(holds), name(1 - holds)));
    }
    const bench::Probes& p = beat.look.what.probes;
    say(Line::Kind::ask, p.around.empty() ? text::say("Place the leads: red on {}, black on {}.", p.red, p.black)
                                          : text::say("Close the clamp round {}.", p.around));
    turn_.asks = Turn::Asks::leads;
}

void Play::test(const std::string& id) {
    const bench::FieldTest& row = *bench::find_test(id);
    const bench::Bench& there = benches_->at(base_, row.station);
    for (const std::string& line : bench::words(bench::hazards(row, there)))
        if (cautioned_.insert(line).second) say(Line::Kind::caution, line);
    Look look;
    look.station = row.station;
    stand(base_, look);
    turn_.look.reset();  // several, one after the other
    say(Line::Kind::say, fmt::format("{}: {}", text::tr(row.name), text::tr(row.how)));
    for (const bench::Seen& s : bench::observe(there, row.observations(there.site()->works)))
        say(Line::Kind::shows, text::say("{} shows {}.", s.what.where(),
                                         s.gauge     ? s.gauge->shown()
                                         : s.reading ? s.reading->shown
                                                     : text::tr("nothing: the circuit is live")));
}

// What the scope shows, for who has none.
void Play::show(const Beat& beat) {
    turn_.show = beat.show;
    for (const std::string& signal : beat.show) {
        Look look;
        look.meter = "true-rms-wide";
        look.what.instrument = std::make_shared<const meter::Spec>(meter::find_spec(look.meter));
        look.what.mode = meter::Mode::acv;
        const auto cut = signal.find(':');
        look.what.probes = {signal.substr(0, cut), signal.substr(cut + 1), ""};
        stand(base_, look);
        turn_.look.reset();
        const meter::Truth truth = answers_.seen(base_, look).reading.truth;
        const double peak = truth.crest_factor && truth.rms ? *truth.crest_factor * *truth.rms : 0.0;
        say(Line::Kind::shows,
            text::say(
                "On the scope, {}: up to {}, {}.", look.what.where(), text::quantity(peak, "V", 3),
                truth.fundamental_Hz ? text::quantity(*truth.fundamental_Hz, "Hz", 3) : text::tr("not alternating")));
    }
}

void Play::carry_out(const Beat& beat) {
    const Question* of = beat.question < questions_.size() ? &questions_[beat.question] : nullptr;
    const Asked* asked = of ? &of->asked : nullptr;
    turn_.question = asked;
    switch (beat.kind) {
        case Kind::say: say(Line::Kind::say, beat.say); break;
        case Kind::show: show(beat); break;
        case Kind::pause: go_on(); break;
        case Kind::lay: lay(beat); break;
        case Kind::look: {
            if (!options_.stepwise) caution(base_, beat.look), set_out(beat.look);
            stand(base_, beat.look);
            say(Line::Kind::shows, text::say("{} shows {}.", beat.look.where(), answers_.seen(base_, beat.look).shown));
            go_on();
            break;
        }
        case Kind::test:
            test(beat.say);
            go_on();
            break;
        case Kind::value:
            turn_.spread.clear();
            stand(asked->state, asked->look);
            turn_.sealed = turn_.closed = true;
            turn_of(beat);
            introduce(*of);
            say(Line::Kind::ask,
                text::sentences({text::say("What will it show: {}?", asked->look.where()),
                                 options_.of_class ? text::tr("Everybody writes a figure down.") : ""}));
            turn_.asks = options_.of_class ? Turn::Asks::go_on : Turn::Asks::value;
            turn_.unit = Answers::usual_unit(asked->look);
            break;
        case Kind::reason:
            stand(asked->state, asked->look);
            turn_.sealed = turn_.closed = true;
            turn_of(beat);
            if (options_.stepwise) say(Line::Kind::state, text::say("What will it show: {}?", asked->look.where()));
            choose(*of, text::tr("Why?"));
            break;
        case Kind::observe:
            turn_.closed = true;
            observe(*asked);
            break;
        case Kind::explain:
            turn_.closed = true;
            stand(asked->state, asked->look);
            turn_of(beat);
            if (options_.stepwise && !options_.of_class) {
                const Committed& mine = this->mine(beat.question, beat.person);
                say(Line::Kind::kept, text::say("You said {}: \"{}\"", mine.typed.read_back(),
                                                answers_.belief(mine.reason, asked->look.mark).says));
            }
            choose(*of, text::tr("Which explanation fits the reading?"));
            break;
        case Kind::reveal:
            reveal(*asked, beat.question);
            go_on();
            break;
        case Kind::mark:
            caution(asked->state, asked->look);
            mark(*asked, beat.question);
            go_on();
            break;
        case Kind::verdict: {
            if (options_.of_class) {
                say(Line::Kind::mark, text::tr("Hands up: who had all three values and all three reasons?"));
                break;
            }
            for (int person = 0; person < people(); ++person) {
                bool got = true;
                for (std::size_t n = beat.question - rounds; n < beat.question; ++n)
                    got = got && mine(n, person).value_right && mine(n, person).reason_right;
                (person ? outcome_.got_other : outcome_.got).push_back(got);
                say(Line::Kind::mark,
                    whose(person) +
                        text::tr(got ? text::id("Got it.") : text::id("Not yet. Another seed has other values.")));
            }
            break;
        }
        case Kind::end: outcome_.committed = mine_; break;
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
