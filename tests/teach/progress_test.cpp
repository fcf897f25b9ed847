// What a learner brings to the next lesson: twelve sessions are simulated, by the file alone.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>

#include "../files/scratch.hpp"
#include "beliefs.hpp"
#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "teach/progress.hpp"

using namespace sunshaft;
using test::beliefs;
using test::Contains;

TEST_CASE("twelve sessions: what was missed comes back after 1, 3 and 7 of them, on new values") {
    const auto lessons = teach::shipped_lessons();
    const test::Scratch folder;
    const std::string file = folder / "progress.toml";
    const std::string missed = "joint-adds-twice";  // of "a-joint-in-two-pairs", which is the second session
    std::vector<std::string> taken = {"isolator-open"};
    for (const auto& l : lessons)
        if (l.id != "isolator-open" && l.id != "a-joint-in-two-pairs") taken.push_back(l.id);
    taken.insert(taken.begin() + 1, "a-joint-in-two-pairs");

    std::vector<std::size_t> came_back;
    std::set<std::uint64_t> seeds;
    std::vector<std::string> older;
    for (std::size_t n = 0; n < 12; ++n) {
        teach::Progress p = teach::read_progress(file);
        REQUIRE(p.sessions.size() == n);
        const auto asked = teach::recall(p, lessons, beliefs());
        INFO("session " << n);
        // None at first; then the last lesson; with two behind, an older one as well. Never more than three.
        CHECK(asked.size() <= 3);
        if (n == 0) CHECK(asked.empty());
        teach::Session s;
        s.lesson = taken[n];
        s.got = true;
        std::set<std::string> of;
        for (const auto& r : asked) {
            of.insert(fmt::format("{}/{}", r.lesson->id, r.exercise));
            seeds.insert(r.seed);
            if (r.about == missed) {
                came_back.push_back(n);
                s.right.push_back(missed);  // answered right each time
                const auto& why = r.lesson->exercises[r.exercise].why;
                CHECK(std::find(why.begin(), why.end(), missed) != why.end());
            }
        }
        CHECK(of.size() == asked.size());  // no question twice
        if (n > 0)
            CHECK(std::any_of(asked.begin(), asked.end(), [&](const auto& r) { return r.lesson->id == taken[n - 1]; }));
        if (n > 2) {
            CHECK(asked.size() >= 2);
            for (const auto& r : asked)
                if (r.lesson->id != taken[n - 1] && r.about.empty()) older.push_back(r.lesson->id);
        }
        if (n == 1) s.missed.push_back(missed), s.got = false;
        p.sessions.push_back(s);
        teach::write_progress(file, p);
    }
    // Missed at session 1: due at 2; right there: 3 later; right there: 7 later.
    CHECK(came_back == std::vector<std::size_t>{2, 5});
    CHECK(teach::due(teach::read_progress(file)).at(missed) == 12);
    CHECK(seeds.size() == 11);                                             // other values each time
    CHECK(std::set<std::string>(older.begin(), older.end()).size() >= 4);  // not always the same older lesson
}

TEST_CASE("missed again it begins anew; right three times it is done with") {
    teach::Progress p;
    const auto session = [&](std::vector<std::string> missed, std::vector<std::string> right) {
        p.sessions.push_back({"half-reading", false, std::move(missed), std::move(right)});
    };
    session({"broken-means-zero"}, {});
    CHECK(teach::due(p).at("broken-means-zero") == 1);
    session({}, {"broken-means-zero"});
    CHECK(teach::due(p).at("broken-means-zero") == 4);
    session({}, {});
    session({}, {});
    session({"broken-means-zero"}, {});
    CHECK(teach::due(p).at("broken-means-zero") == 5);
    for (int n = 0; n < 3; ++n) session({}, {"broken-means-zero"});
    CHECK(teach::due(p).empty());
}

TEST_CASE("a lesson opens with its recall, and what was missed there is told") {
    teach::Progress before;
    before.sessions.push_back({"the-leads-are-in-it", false, {"leads-count-twice"}, {}});
    const teach::Lesson lesson = teach::load_lesson("isolator-open");
    teach::PlayOptions options;
    options.recall = teach::recall(before, teach::shipped_lessons(), beliefs());
    REQUIRE(options.recall.size() == 1);  // the last lesson's question is that of the belief
    CHECK(options.recall[0].about == "leads-count-twice");
    teach::Play play(lesson, beliefs(), options);
    CHECK(play.progress().first == 0);
    std::size_t asked = 0;
    while (!play.over()) {
        const auto& turn = play.turn();
        ++asked;
        if (turn.asks == teach::Turn::Asks::value) {
            if (asked == 1) CHECK(turn.lines[1].words.find("Recall 1 of 1") == 0);
            play.answer(play.answers().seen(turn.question->state, turn.question->look).shown);
            continue;
        }
        const auto& asks = *turn.question;
        const std::string fits = beliefs().at(play.answers().fitting(asks).front()).says;
        const auto at = std::find(turn.choices.begin(), turn.choices.end(), fits) - turn.choices.begin();
        // In the recall the belief of old again; all else right.
        const bool first = asked == 2;
        const auto old = std::find(turn.choices.begin(), turn.choices.end(), beliefs().at("leads-count-twice").says) -
                         turn.choices.begin();
        play.answer(std::to_string((first ? old : at) + 1));
    }
    const teach::Session s = teach::session_of(lesson, play.outcome());
    CHECK(s.lesson == "isolator-open");
    CHECK(s.got);  // the recall is no exercise
    CHECK(s.missed == std::vector<std::string>{"leads-count-twice"});
    CHECK(s.right.empty());
}

TEST_CASE("a learner's file that is damaged is told in one line, and not overwritten unread") {
    const test::Scratch folder;
    const std::string file = folder / "p.toml";
    std::ofstream(file) << "[[session]\nlesson = 1\n";
    try {
        (void)teach::read_progress(file);
        FAIL("nothing was thrown");
    } catch (const site::BadInput& e) {
        CHECK_THAT(std::string(e.what()), Contains("p.toml:1:"));
    }
    CHECK(teach::read_progress(folder / "none.toml").sessions.empty());
}
