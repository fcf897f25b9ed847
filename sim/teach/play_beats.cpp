// What each beat of a lesson brings: what is said, laid, shown, asked and marked.
#include <fmt/format.h>

#include <algorithm>

#include "teach/play.hpp"
#include "teach/words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {

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

// What the points show, without a question.
void Play::look(const Beat& beat) {
    if (!options_.stepwise) caution(base_, beat.look), set_out(beat.look);
    stand(base_, beat.look);
    say(Line::Kind::shows, text::say("{} shows {}.", beat.look.where(), answers_.seen(base_, beat.look).shown));
    go_on();
}

// The figure, before anything touches the points.
void Play::ask_value(const Beat& beat, const Question& of) {
    turn_.spread.clear();
    stand(of.asked.state, of.asked.look);
    turn_.sealed = turn_.closed = true;
    turn_of(beat);
    introduce(of);
    say(Line::Kind::ask, text::sentences({text::say("What will it show: {}?", of.asked.look.where()),
                                          options_.of_class ? text::tr("Everybody writes a figure down.") : ""}));
    turn_.asks = options_.of_class ? Turn::Asks::go_on : Turn::Asks::value;
    turn_.unit = Answers::usual_unit(of.asked.look);
}

// Its reason, before the reading; and after it the explanation that fits.
void Play::ask_reason(const Beat& beat, const Question& of) {
    stand(of.asked.state, of.asked.look);
    turn_.sealed = turn_.closed = true;
    turn_of(beat);
    if (options_.stepwise) say(Line::Kind::state, text::say("What will it show: {}?", of.asked.look.where()));
    choose(of, text::tr("Why?"));
}
void Play::ask_explanation(const Beat& beat, const Question& of) {
    turn_.closed = true;
    stand(of.asked.state, of.asked.look);
    turn_of(beat);
    if (options_.stepwise && !options_.of_class) {
        const Committed& mine = this->mine(beat.question, beat.person);
        say(Line::Kind::kept, text::say("You said {}: \"{}\"", mine.typed.read_back(),
                                        answers_.belief(mine.reason, of.asked.look.mark).says));
    }
    choose(of, text::tr("Which explanation fits the reading?"));
}

// Whether an exercise is got: every value and every reason of its rounds.
void Play::verdict(const Beat& beat) {
    if (options_.of_class)
        return say(Line::Kind::mark, text::tr("Hands up: who had all three values and all three reasons?"));
    for (int person = 0; person < people(); ++person) {
        bool got = true;
        for (std::size_t n = beat.question - rounds; n < beat.question; ++n)
            got = got && mine(n, person).value_right && mine(n, person).reason_right;
        (person ? outcome_.got_other : outcome_.got).push_back(got);
        say(Line::Kind::mark,
            whose(person) + text::tr(got ? text::id("Got it.") : text::id("Not yet. Another seed has other values.")));
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
        case Kind::look: look(beat); break;
        case Kind::test:
            test(beat.say);
            go_on();
            break;
        case Kind::value: ask_value(beat, *of); break;
        case Kind::reason: ask_reason(beat, *of); break;
        case Kind::observe:
            turn_.closed = true;
            observe(*asked);
            break;
        case Kind::explain: ask_explanation(beat, *of); break;
        case Kind::reveal:
            reveal(*asked, beat.question);
            go_on();
            break;
        case Kind::mark:
            caution(asked->state, asked->look);
            mark(*asked, beat.question);
            go_on();
            break;
        case Kind::verdict: verdict(beat); break;
        case Kind::end: outcome_.committed = mine_; break;
    }
}

}  // namespace sunshaft::teach
