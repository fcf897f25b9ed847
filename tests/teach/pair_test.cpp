// Two at one machine: each commits while the other's answers are out of sight, and each is marked.
#include <algorithm>

#include "catch_shim.hpp"
#include "teach/play.hpp"

using namespace sunshaft;
using teach::Turn;

TEST_CASE("a pair: each commits with the other's hidden, both are marked, the meter changes hands") {
    const teach::Beliefs beliefs = teach::load_beliefs();
    const teach::Lesson lesson = teach::load_lesson("one-wave-two-meters");
    teach::PlayOptions options;
    options.seed = 4;
    options.in_pair = true;
    options.stepwise = true;
    teach::Play play(lesson, beliefs, options);
    const auto said = [&] {
        std::string all;
        for (const auto& line : play.turn().lines) all.append(line.words).append(1, '\n');
        return all;
    };
    std::vector<int> order;
    int holds_a = 0, holds_b = 0, turns = 0;
    for (; !play.over() && turns < 200; ++turns) {
        const Turn& turn = play.turn();
        INFO(said());
        holds_a += said().find("A holds the meter") != std::string::npos;
        holds_b += said().find("B holds the meter") != std::string::npos;
        switch (turn.asks) {
            case Turn::Asks::value: {
                const auto& asked = *turn.question;
                order.push_back(turn.person);
                CHECK(turn.sealed);
                // What the other said is nowhere.
                if (turn.person == 1) CHECK(said().find("Kept") == std::string::npos);
                CHECK(said().find("777") == std::string::npos);
                play.answer(turn.person == 0 ? play.answers().seen(asked.state, asked.look).shown : "777");
                break;
            }
            case Turn::Asks::choice: {
                const auto& asked = *turn.question;
                const std::string fits = beliefs.at(play.answers().fitting(asked).front()).says;
                const auto at = std::find(turn.choices.begin(), turn.choices.end(), fits) - turn.choices.begin();
                const auto other = (at + 1) % static_cast<long>(turn.choices.size());
                if (!turn.sealed && turn.person == 0) CHECK(said().find("777") == std::string::npos);
                play.answer(std::to_string((turn.person == 0 ? at : other) + 1));
                break;
            }
            default: play.answer("");
        }
    }
    REQUIRE(play.over());
    // One prediction and three rounds, both of them each time.
    CHECK(order == std::vector<int>{0, 1, 0, 1, 0, 1, 0, 1});
    CHECK(holds_a >= 1);
    CHECK(holds_b >= 1);
    CHECK(play.outcome().got == std::vector<bool>{true});
    CHECK(play.outcome().got_other == std::vector<bool>{false});
    int right = 0, wrong = 0;
    for (const auto& c : play.outcome().committed)
        if (c.exercise)
            (c.person == 0 ? right : wrong) += c.person == 0 ? c.reason_right && c.value_right : !c.reason_right;
    CHECK(right == 3);
    CHECK(wrong == 3);
}

TEST_CASE("a pair is called by its names") {
    const teach::Beliefs beliefs = teach::load_beliefs();
    const teach::Lesson lesson = teach::load_lesson("one-wave-two-meters");
    teach::PlayOptions options;
    options.in_pair = true;
    options.who = {"Ana", "Ben"};
    teach::Play play(lesson, beliefs, options);
    const auto says = [&](const char* words) {
        return std::ranges::any_of(play.turn().lines, [&](const auto& line) { return line.words == words; });
    };
    CHECK(says("Ana answers, Ben looks away."));
    play.answer("300");
    play.answer("1");
    CHECK(says("Ben answers, Ana looks away."));
}
