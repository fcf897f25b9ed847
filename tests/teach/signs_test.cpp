// What a lesson is passed by, and the word on its worksheet.
#include <algorithm>
#include <set>

#include "learners.hpp"

using namespace sunshaft;
using teach::Play, teach::Turn;
using test::all, test::beliefs, test::benches, test::Learner, test::play, test::read_anew;

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
