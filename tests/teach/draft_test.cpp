// A lesson written as a file and read back: nothing is lost, and no reading is in it.
#include "teach/draft.hpp"

#include <algorithm>
#include <regex>

#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "teach/play.hpp"

using namespace sunshaft;

TEST_CASE("every shipped lesson survives being written and read back") {
    for (const auto& lesson : teach::shipped_lessons()) {
        INFO(lesson.id);
        const std::string text = teach::to_toml(lesson);
        const teach::Lesson back = teach::parse_lesson(text, lesson.id + ".toml");
        CHECK(teach::to_toml(back) == text);
        CHECK(back.title == lesson.title);
        CHECK(back.believes == lesson.believes);
        REQUIRE(back.steps.size() == lesson.steps.size());
        for (std::size_t n = 0; n < lesson.steps.size(); ++n) {
            const teach::Step &a = lesson.steps[n], &b = back.steps[n];
            CHECK(a.say == b.say);
            CHECK(a.why == b.why);
            CHECK(a.show == b.show);
            CHECK(a.given.size() == b.given.size());
            for (const auto& [p, q] : {std::pair{&a.measure, &b.measure}, {&a.predict, &b.predict}}) {
                REQUIRE(p->has_value() == q->has_value());
                if (!*p) continue;
                CHECK((*p)->where() == (*q)->where());
                CHECK((*p)->station == (*q)->station);
                CHECK((*p)->fault == (*q)->fault);
                CHECK((*p)->set == (*q)->set);
                CHECK((*p)->healthy == (*q)->healthy);
            }
        }
        // The same questions at the same seed.
        const teach::Beliefs beliefs = teach::load_beliefs();
        const teach::State base{lesson.site, lesson.set, lesson.fault};
        for (std::size_t e = 0; e < lesson.exercises.size(); ++e) {
            const auto &a = lesson.exercises[e], &b = back.exercises[e];
            CHECK(a.why == b.why);
            CHECK(a.fault == b.fault);
            CHECK(a.ask.where() == b.ask.where());
            REQUIRE(a.vary.size() == b.vary.size());
        }
    }
}

TEST_CASE("the template has less than 25 lines, is a lesson, and waits for its sentences") {
    const std::string text = teach::lesson_template();
    CHECK(std::count(text.begin(), text.end(), '\n') < 25);
    std::string worded = text;
    try {
        (void)teach::parse_lesson(text, "t.toml");
        FAIL("title and aim are empty");
    } catch (const site::BadInput& e) {
        CHECK(std::string(e.what()).find("t.toml:3:") == 0);
    }
    worded = std::regex_replace(worded, std::regex("(title|aim) = \"\""), "$1 = \"What is live\"");
    const teach::Lesson lesson = teach::parse_lesson(worded, "t.toml");
    try {
        teach::check(lesson, teach::load_beliefs());
        FAIL("its sentences are empty");
    } catch (const site::BadInput& e) {
        CHECK(std::string(e.what()) == "t.toml:9:1: say: is empty, expected a sentence");
    }
    worded = std::regex_replace(worded, std::regex("say = \"\""), "say = \"The lever is down.\"");
    CHECK_NOTHROW(teach::check(teach::parse_lesson(worded, "t.toml"), teach::load_beliefs()));
}

TEST_CASE("words in a lesson may hold quotes") {
    teach::Lesson lesson = teach::load_lesson("isolator-open");
    lesson.title = "The \"dead\" lever";
    lesson.steps[0].say = "A back\\slash and a \"word\".";
    const teach::Lesson back = teach::parse_lesson(teach::to_toml(lesson), "l.toml");
    CHECK(back.title == lesson.title);
    CHECK(back.steps[0].say == lesson.steps[0].say);
    CHECK(teach::stem_of(lesson.title) == "the-dead-lever");
}
