// What is shown of the suspects: shares that add up, readings that tell most first; and the thread that weighs them.
#include <fmt/format.h>

#include "desk_support.hpp"
#include "look.hpp"
#include "model/suspect_rows.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

TEST_CASE("six shares are shown in hundredths that add up to one") {
    for (const auto& shares :
         {std::array{1 / 6.0, 1 / 6.0, 1 / 6.0, 1 / 6.0, 1 / 6.0, 1 / 6.0},
          std::array{0.335, 0.335, 0.33, 0.0, 0.0, 0.0}, std::array{0.996, 0.004, 0.0, 0.0, 0.0, 0.0}}) {
        int sum = 0;
        const auto shown = hundredths(shares);
        for (std::size_t n = 0; n < 6; ++n) {
            sum += shown[n];
            CHECK(std::abs(shown[n] - 100 * shares[n]) < 1.0);
        }
        CHECK(sum == 100);
    }
}

TEST_CASE("the readings that set a suspect apart come first, and an outcome moves the shares of the six places") {
    diagnose::Suspect s;
    for (const double off : {0.4, -7.0, 3.0}) s.columns.push_back({s.columns.size(), "clamp", "", "", "", off, 0.0});
    const auto rows = telling(s, 2);
    REQUIRE(rows.size() == 2);
    CHECK(rows[0]->seen == 1);
    CHECK(rows[1]->seen == 2);

    diagnose::Answer a;
    a.suspects.resize(3);
    a.suspects[0].lies[4] = 1.0;
    a.suspects[1].lies[1] = a.suspects[1].lies[2] = 0.5;  // the third lies nowhere that is known
    const auto where = where_with(a, {0.25, 0.5, 0.25});
    CHECK(where[4] == approx(1 / 3.0));
    CHECK(where[1] == approx(1 / 3.0));
    CHECK(where[2] == approx(1 / 3.0));
}

TEST_CASE("a question is answered beside the bench, a new one stops it, and no reading asks nothing") {
    Suspecting suspecting;
    CHECK_FALSE(suspecting.now()->open);
    const auto asked = [](const char* site, const char* seen) {
        return diagnose::parse_case(fmt::format("site = \"{}\"\n{}", site, seen), "my.toml");
    };
    const char* one = "[[seen]]\naround = \"u\"\nmode = \"aca\"\nshown = \"2.9 A\"\n";
    const std::string two = std::string(one) + "[[seen]]\naround = \"v\"\nmode = \"aca\"\nshown = \"2.9 A\"\n";
    suspecting.ask(asked("bench-rig", ""));
    CHECK_FALSE(suspecting.now()->open);
    suspecting.ask(asked("bench-rig", one));
    CHECK(suspecting.now()->open);
    suspecting.ask(asked("bench-rig", two.c_str()));
    suspecting.wait();
    const auto now = suspecting.now();
    CHECK(now->trouble.empty());
    REQUIRE(now->answer);
    CHECK(now->answered->seen.size() == 2);
    CHECK(now->with_tests);
    CHECK(now->progress > 0.5);
    suspecting.ask(asked("no such site", one));
    suspecting.wait();
    CHECK_FALSE(suspecting.now()->answer);
    CHECK(suspecting.now()->trouble.find("no such site") != std::string::npos);
}
