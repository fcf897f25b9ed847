// A lesson on the bench, played through the desk by scripted learners: nothing can be measured before figure and reason
// are committed, the live display shows what the lesson says it does, and the bench as it stood comes back.
#include <cstdlib>

#include "../files/scratch.hpp"
#include "desk_support.hpp"
#include "model/files.hpp"
#include "text/figure.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using Asks = teach::Turn::Asks;

namespace {

// What the lesson will ask, in order, and what is right.
struct Key {
    std::vector<teach::Asked> asked;
    std::vector<std::string> shown, reasons;
};
Key key_of(const char* name, std::uint64_t seed, const teach::Beliefs& beliefs) {
    const teach::Lesson lesson = teach::load_lesson(name);
    teach::PlayOptions options;
    options.seed = seed;
    teach::Play play(lesson, beliefs, options);
    Key key;
    key.asked = play.predictions();
    for (std::size_t e = 0; e < lesson.exercises.size(); ++e)
        for (const teach::Asked& a : play.exercise(e)) key.asked.push_back(a);
    for (const teach::Asked& a : key.asked) {
        key.shown.push_back(play.answers().seen(a.state, a.look).shown);
        key.reasons.push_back(beliefs.at(play.answers().fitting(a).front()).says);
    }
    return key;
}

std::string said(const Teaching::State& s) {
    std::string all;
    for (const teach::Line& line : s.turn.lines) all.append(line.words).append(1, '\n');
    return all;
}

struct Played {
    teach::Outcome outcome;
    int measured = 0, waited = 0;
};
// right: figure and reason as they are; else the first reason that is not.
Played play(Desk& desk, const char* name, std::uint64_t seed, bool right) {
    const teach::Beliefs beliefs = teach::load_beliefs();
    const Key key = key_of(name, seed, beliefs);
    teach::PlayOptions options;
    options.seed = seed;
    desk.begin_lesson(name, options);
    Played played;
    std::size_t question = 0;
    bool reason_given = false;
    for (int n = 0; n < 100 && desk.lesson() && !desk.lesson()->over; ++n) {
        desk.meet_lesson();
        const auto s = desk.lesson();
        INFO(name << ", turn " << s->turns << ": " << said(*s));
        REQUIRE(s->trouble.empty());
        switch (s->turn.asks) {
            case Asks::value: {
                if (reason_given) ++question, reason_given = false;
                // Nothing lies, nothing can be laid, and no panel tells.
                desk.work(0.4);
                CHECK(desk.leads_locked());
                CHECK(desk.probes() == bench::Probes{});
                desk.place(key.asked.at(question).look.what.probes);
                desk.carry(key.asked.at(question).look.what.probes);
                CHECK(desk.probes() == bench::Probes{});
                CHECK_FALSE(desk.last_error().empty());
                const auto seen = desk.snapshot();
                CHECK(seen->hidden);
                CHECK(seen->edits.faults.empty());
                CHECK_FALSE(seen->meters[0].reading);
                for (const Wave& w : seen->waves) CHECK_FALSE(w.rms);
                CHECK(seen->spectra.empty());
                CHECK(std::isnan(seen->means.link));
                CHECK(seen->drive_display.dark);
                for (const Event& e : seen->events) CHECK(e.kind == Event::Kind::hands);
                CHECK(said(*s).find(" shows " + key.shown[question]) == std::string::npos);
                desk.answer_lesson(key.shown[question]);
                break;
            }
            case Asks::choice: {
                const auto& all = s->turn.choices;
                const auto fits = std::ranges::find(all, key.reasons.at(question)) - all.begin();
                const bool after = !s->turn.sealed;
                const auto take = right || after ? fits : (fits + 1) % static_cast<long>(all.size());
                desk.answer_lesson(std::to_string(take + 1));
                reason_given = true;
                break;
            }
            case Asks::leads: {
                ++played.measured;
                const bench::Probes wanted = s->turn.look->what.probes;
                desk.work(0.2);
                desk.meet_lesson();
                CHECK(desk.lesson()->turns == s->turns);  // not yet
                // Where the leads lie right already it waits to be told, so that what is said can be read.
                const bool waits = desk.lesson_waits();
                CHECK(waits == (desk.probes() == wanted));
                played.waited += waits;
                if (!waits) {
                    if (wanted.around.empty()) desk.place({wanted.red, "", ""});
                    desk.place(wanted);
                }
                desk.work(1.0);
                CHECK_FALSE(desk.truth()->meters[1].reading);  // a second meter would load what is read
                // The live display is what the lesson says next, within the meter's own band.
                const auto reading = desk.truth()->meters[0].reading;
                REQUIRE(reading);
                desk.meet_lesson();
                if (waits) {
                    CHECK(desk.lesson()->turns == s->turns);
                    desk.answer_lesson("");
                }
                const auto next = desk.lesson();
                REQUIRE(next->turns == s->turns + 1);
                if (reading->value && reading->low) {
                    const std::string words = said(*next);
                    const auto at = words.find(" shows ");
                    REQUIRE(at != std::string::npos);
                    const std::string told = words.substr(at + 7, words.find('\n', at) - at - 8);
                    const auto typed = diagnose::typed(told, reading->unit);
                    INFO(told);
                    CHECK(typed.value >= *reading->low - 1e-12);
                    CHECK(typed.value <= *reading->high + 1e-12);
                }
                break;
            }
            default: desk.answer_lesson(""); break;
        }
    }
    REQUIRE(desk.lesson());
    played.outcome = desk.lesson()->outcome;
    return played;
}

}  // namespace

TEST_CASE("a lesson is played on the bench by who reads right, and the bench comes back") {
    Desk desk(site_named("hill-orchard"), false);
    desk.place({"drive.u", "drive.v", ""});
    desk.plant("high-resistance-splice", "v", 2.4);
    desk.work(1.0);
    const std::string before = desk.session();
    for (const auto& [name, measured] :
         {std::pair{"one-wave-two-meters", 3}, {"a-joint-in-two-pairs", 1}, {"two-wires-in-the-jaws", 2}}) {
        INFO(name);
        const Played played = play(desk, name, 5, true);
        CHECK(played.outcome.done);
        CHECK(played.outcome.got == std::vector<bool>{true});
        CHECK(played.measured == measured);
        CHECK(desk.session() == before);  // what a kill leaves behind
        // Nothing else changes the site meanwhile.
        desk.plant("lost-phase", "splice.u", 1.0);
        CHECK_FALSE(desk.last_error().empty());
        desk.act("open", "isolator");
        desk.set("supply.voltage_V", "200");
        CHECK(desk.session() == before);
        desk.leave_lesson();
        CHECK_FALSE(desk.lesson());
        CHECK(desk.session() == before);
        CHECK(desk.edits().faults.size() == 1);
    }
}

TEST_CASE("the display on the bench is the lesson's: one meter, with what couples it") {
    Desk desk(site_named("hill-orchard"), false);
    for (const auto& [name, waited] :
         {std::pair{"half-reading", 1}, {"the-meter-leans-on-it", 0}, {"a-ghost-on-a-free-wire", 1}}) {
        INFO(name);
        const Played played = play(desk, name, 5, true);
        CHECK(played.outcome.done);
        CHECK(played.measured >= 1);
        CHECK(played.waited == waited);
        desk.leave_lesson();
    }
    desk.place({"drive.u", "drive.v", ""});
    desk.work(1.0);
    CHECK(desk.truth()->meters[1].reading);  // as before the lesson
}

TEST_CASE("who gives another reason has not got it; what was committed stays") {
    Desk desk(site_named("bench-rig"), false);
    const Played played = play(desk, "one-wave-two-meters", 6, false);
    CHECK(played.outcome.got == std::vector<bool>{false});
    for (const auto& c : played.outcome.committed) {
        CHECK_FALSE(c.reason_right);
        if (!c.exercise) CHECK(c.explanation != c.reason);
    }
}

TEST_CASE("a class is counted by hands, before the reading and after it") {
    Desk desk(site_named("bench-rig"), false);
    teach::PlayOptions options;
    options.of_class = true;
    desk.begin_lesson("the-star-phase", options);
    desk.meet_lesson();
    REQUIRE(desk.lesson()->turn.asks == Asks::go_on);  // everybody writes a figure down
    CHECK(desk.leads_locked());
    desk.answer_lesson("");
    REQUIRE(desk.lesson()->turn.asks == Asks::hands);
    CHECK(desk.lesson()->turn.spread.empty());
    desk.answer_lesson("9 7");  // one is missing: nothing is taken
    REQUIRE(desk.lesson()->turn.asks == Asks::hands);
    desk.answer_lesson("9 7 4");
    REQUIRE(desk.lesson()->turn.spread.size() == 3);
    CHECK(desk.lesson()->turn.spread[0].before == 9);
    CHECK(desk.lesson()->turn.spread[2].after == -1);
    desk.meet_lesson();
    desk.place({"motor.u", "motor.n", ""});
    desk.meet_lesson();
    REQUIRE(desk.lesson()->turn.asks == Asks::hands);
    desk.answer_lesson("2, 16, 2");
    const auto s = desk.lesson();
    REQUIRE(s->turn.spread.size() == 3);
    CHECK(s->turn.spread[1].before == 7);
    CHECK(s->turn.spread[1].after == 16);
    CHECK(s->outcome.got.empty());
}

TEST_CASE("a lesson that is not there is refused in one line") {
    Desk desk(site_named("bench-rig"), false);
    desk.begin_lesson("no-such-lesson", {});
    CHECK_FALSE(desk.lesson());
    CHECK(desk.last_error().find("no-such-lesson") != std::string::npos);
}

TEST_CASE("a lesson is recorded at the bench, worded, checked and played from the step that is edited") {
    Desk desk(site_named("stone-fold"), false);
    const test::Scratch folder;
    setenv("XDG_DATA_HOME", (folder / "data").c_str(), 1);
    desk.record_lesson();
    desk.set("array.leakage_plus_ohm", "inf");
    desk.set("array.leakage_minus_ohm", "inf");
    desk.act("open", "isolator");
    desk.act("pull", "pump");
    desk.choose_meter(0, "average");
    desk.choose_mode(meter::Mode::dcv);
    desk.note();
    CHECK(desk.writing.lesson().steps.empty());  // nothing lies there yet
    desk.place({"array+", "array-", ""});
    desk.work(1.0);
    desk.note();
    desk.plant("leaky-connector", "s1.m2-", 8e6);
    desk.work(1.0);
    desk.note();
    REQUIRE(desk.writing.lesson().steps.size() == 2);
    CHECK(desk.writing.at == 1);
    CHECK_FALSE(desk.save_lesson());
    CHECK(desk.writing.trouble() == "The lesson has no title yet.");

    // Ten minutes at 40 words a minute, with half a minute an act.
    int words = 0;
    const auto type = [&](std::string& field, const std::string& text) {
        words += 1 + static_cast<int>(std::ranges::count(text, ' '));
        field = text;
    };
    teach::Lesson& lesson = desk.writing.lesson();
    type(lesson.title, "Neither all nor nothing again");
    type(lesson.steps[0].say, "The pump stopped on a bright day. First the healthy array.");
    type(lesson.steps[1].say, "A connector has burnt and left a crust. What remains for the display?");
    desk.writing.predict(1, true);
    lesson.steps[1].why = {"meter-divides", "any-path-passes-volts", "broken-means-zero"};
    CHECK_FALSE(desk.save_lesson());  // no aim: where it is missing
    CHECK(desk.writing.trouble().find("neither-all-nor-nothing-again.toml:") != std::string::npos);
    CHECK(desk.writing.trouble().find("aim") != std::string::npos);
    type(desk.writing.lesson().aim, "Explains a middling voltage by the meter's own resistance.");
    REQUIRE(desk.save_lesson());
    const int acts = 12;
    CHECK(words / 40.0 + acts * 0.5 < 10.0);

    const teach::Lesson saved = teach::load_lesson(desk.writing.file());
    CHECK(saved.believes == std::vector<std::string>{"any-path-passes-volts", "broken-means-zero"});
    CHECK(saved.steps[1].predict->station == bench::Station::lit);
    CHECK(saved.steps[1].predict->fault == std::vector<std::string>{"leaky-connector@s1.m2-=8000000"});
    CHECK_NOTHROW(teach::check(saved, teach::load_beliefs()));
    // What the display showed stands nowhere in it.
    const std::string text = read_text(desk.writing.file()).value_or("");
    for (const Note& note : desk.notebook.notes())
        CHECK(text.find(note.shown.substr(0, note.shown.find(' '))) == std::string::npos);

    desk.try_lesson(true);
    REQUIRE(desk.lesson());
    CHECK(desk.lesson()->trouble.empty());
    CHECK(desk.lesson()->partial);
    CHECK(desk.lesson()->turn.asks == Asks::value);  // at once at the second step
    desk.leave_lesson();
    CHECK(desk.writing.on());
    CHECK(desk.writing.at == 1);
    CHECK(desk.edits().faults.size() == 1);
    std::vector<std::string> damaged;
    CHECK(teach::own_lessons(damaged).size() == 1);
    CHECK(damaged.empty());
    unsetenv("XDG_DATA_HOME");
}
