// What a lesson is passed by, and the word on its worksheet.
#include <algorithm>
#include <set>

#include "learners.hpp"
#include "teach/worksheet.hpp"
#include "text/language.hpp"

using namespace sunshaft;
using teach::Play, teach::Turn;
using test::all, test::beliefs, test::benches, test::Learner, test::play, test::read_anew;

TEST_CASE("the word that ties a worksheet to its answers is one of the language it is printed in") {
    const teach::Lesson lesson = teach::load_lesson("one-wave-two-meters");
    for (std::uint64_t seed = 1; seed <= 4; ++seed) {
        const auto english = teach::worksheet(lesson, beliefs(), {seed, {}, benches()});
        const text::Catalogue spanish = text::Catalogue::shipped("es");
        const std::string word = english.word.substr(0, english.word.find(' '));
        text::speak(spanish);
        const auto printed = teach::worksheet(lesson, beliefs(), {seed, {}, std::make_shared<teach::Benches>()});
        text::speak_english();
        const std::string said = printed.word.substr(0, printed.word.find(' '));
        CHECK(said != word);
        CHECK(std::ranges::any_of(spanish.of, [&](const auto& entry) { return entry.second.said == said; }));
    }
}

TEST_CASE("the lesson on a zero is passed with all five signs, each found by itself") {
    const teach::Lesson lesson = teach::load_lesson("a-zero-has-many-fathers");
    REQUIRE(lesson.exercises.size() == 5);
    std::set<std::string> signs;  // the reason of each that is no other's
    for (const teach::Exercise& e : lesson.exercises) signs.insert(e.why.front());
    CHECK(signs.size() == 5);
    CHECK(all(play(lesson, 3, Learner::right).got));
    // Who misses one of them has four.
    for (std::size_t missed = 0; missed < 5; ++missed) {
        INFO(lesson.exercises[missed].why.front());
        Play p(lesson, beliefs(), {3, {}, benches()});
        std::string reason;
        while (!p.over()) {
            if (p.turn().asks == Turn::Asks::value) {
                const teach::Asked& asked = *p.turn().question;
                reason = p.answers().fitting(asked).front();
                const bool it = asked.why == lesson.exercises[missed].why &&
                                asked.look.what.mode == lesson.exercises[missed].ask.what.mode;
                p.answer(it ? "123456" : read_anew(asked).shown);
            } else {
                p.answer(beliefs().at(reason).says);
            }
        }
        const auto& got = p.outcome().got;
        REQUIRE(got.size() == 5);
        CHECK(std::ranges::count(got, true) == 4);
        CHECK_FALSE(got[missed]);
    }
}
