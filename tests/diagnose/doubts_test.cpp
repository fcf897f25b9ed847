// Readings that fit nothing: what is doubted, what is read again, and what that then counts for.
#include "asked.hpp"

using namespace sunshaft;
using diagnose::Answer;
using namespace sunshaft::test;

TEST_CASE("three pairs of ohms that no star can have: that reading is doubtful") {
    const Answer a = ask(at_orchard + ohms("u", "v", "3.6") + ohms("v", "w", "3.6") + ohms("w", "u", "13"), lines);
    sums(a);
    REQUIRE_FALSE(a.doubtful.empty());
    CHECK(a.doubtful.front().seen == 2);
    CHECK(a.doubtful.front().probability > 0.5);
    CHECK(share(a, "reading", "meter") + share(a, "nothing-here-fits") > 0.2);
}

TEST_CASE("readings that nothing known shows: that is said first, once the one most doubted was read again") {
    // Two dead lines of a motor that turns: no single slip makes sense of it.
    const std::string two = at_orchard + clamp("u", "0.0 A") + clamp("v", "0.0 A") + clamp("w", "8.3 A") +
                            "[[seen]]\ngauge = \"flow\"\nshown = \"11.3 m3/h\"\n";
    const Answer a = ask(two, {"worn-pump"}, true);
    sums(a);
    CHECK(a.fits < diagnose::nothing_fits);
    CHECK(a.suspects.front().fault == "nothing-here-fits");
    // One reading alone that fits nothing is read again first; where it stands, it is no slip.
    const std::string one = at_orchard + ohms("u", "v", "3.6") + ohms("v", "w", "3.6"), odd = ohms("w", "u", "60");
    const Answer first = ask(one + odd, {"worn-pump"}, true), stands = ask(one + odd + odd, {"worn-pump"}, true);
    CHECK(first.stop.advice == "repeat");
    CHECK(first.suspects.front().fault != "nothing-here-fits");
    CHECK(stands.stop.advice != "repeat");
    CHECK(stands.suspects.front().fault == "nothing-here-fits");
}

TEST_CASE("a reading that was read again counts for more, and a doubt names a hypothesis that it does not fit") {
    const std::string dip = "[[seen]]\ngauge = \"water\"\nshown = \"55 m\"\n";
    const std::string dry = at_orchard +
                            "[[seen]]\ngauge = \"flow\"\nshown = \"no water\"\n"
                            "[[seen]]\nlamp = \"dry-run hold\"\nshown = \"on\"\n"
                            "[[seen]]\ndo = [\"open@isolator\"]\nred = \"dry.1\"\nblack = \"dry.2\"\n"
                            "mode = \"ohm\"\nshown = \"OL\"\n" +
                            dip;
    const std::set<std::string> kinds = {"low-well", "dry-probe-open", "guard-cable-cut"};
    const Answer once = ask(dry, kinds, true), twice = ask(dry + dip, kinds, true);
    CHECK(once.stop.advice == "repeat");
    REQUIRE_FALSE(once.doubtful.empty());
    for (const diagnose::Doubt& d : once.doubtful) CHECK(d.why.find("55 m was read where 55 m") == std::string::npos);
    const auto odds = [](const Answer& a) { return share(a, "low-well") / share(a, "dry-probe-open"); };
    INFO(odds(once) << " " << odds(twice));
    CHECK(odds(twice) > 5.0 * odds(once));
}
