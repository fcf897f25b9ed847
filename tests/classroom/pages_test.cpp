// An account fits one page whatever happened; call-outs of one class are as hard as each other.
#include <fmt/format.h>

#include "catch_shim.hpp"
#include "classroom/account_page.hpp"
#include "classroom/matched.hpp"
#include "diagnose/sights.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::classroom;

namespace {

callout::Account account(int steps, int unsafe) {
    callout::Account a;
    a.said = "Since Tuesday no water comes.";
    a.truth = "lost phase: one conductor of the pump cable open, at splice.u";
    a.named = "bad splice: resistance in the joint above the motor, at v";
    for (int n = 0; n < steps; ++n) {
        callout::Step s{static_cast<std::size_t>(n),
                        static_cast<std::size_t>(n),
                        7.0 * n,
                        7.0,
                        "winding-ohms",
                        n % 3 == 0 ? "winding ohms, pump wires off, all three pairs" : "clamp on u",
                        n % 2 == 0 ? "OL, OL, 3.7 ohm, 22.8 A, 0.000 A, 22.9 A" : "0.000 A"};
        s.left = 3;
        s.truth = 0.4;
        s.needless = n > 5;
        s.misled = n == 2;
        a.steps.push_back(s);
    }
    a.suffices = steps > 5 ? 5 : -1;
    a.minutes = 7.0 * steps;
    for (int n = 0; n < 6; ++n)
        a.best.legs.push_back({"line-clamps", "line clamps", 5.0 * n, 5.0, "0.000 A, 22.8 A, 22.9 A", 2});
    a.best.minutes = 30.0;
    a.best.suffices = true;
    a.missing = {"winding ohms", "cable insulation"};
    for (int n = 0; n < unsafe; ++n) a.unsafe.push_back("Disconnect the pump wires");
    for (const char* rule : {"C1", "E1", "A1", "S1"})
        a.points.push_back({rule, "Your readings leave about 8 in 10 for what was wrong, and that is a long sentence.",
                            12.0, 25.0, 3});
    a.mark = 48.0;
    a.well = "Your readings leave about 8 in 10 for what was wrong.";
    a.change = "Choose the test that promises most a minute, and stop once the evidence suffices.";
    a.lesson = "two-open-pairs";
    return a;
}

Handed handed(double minutes, int group, std::vector<const char*> tests) {
    Handed h;
    h.path.minutes = minutes;
    h.path.group = group;
    for (const char* t : tests) h.path.legs.push_back({t, t, 0.0, 1.0, "", 1});
    return h;
}

}  // namespace

TEST_CASE("an account fits one page, and nothing on it lies on anything else") {
    for (const auto& [steps, unsafe] : {std::pair{0, 0}, {1, 0}, {6, 1}, {14, 2}, {40, 3}}) {
        std::vector<report::Paper::Placed> placed;
        CHECK(account_page(account(steps, unsafe), "Hill Orchard. \"No water.\" Ana.", &placed).starts_with("%PDF"));
        INFO(steps << " steps");
        CHECK(placed.size() > 20);
        for (const auto& p : placed) {
            INFO(p.words);
            CHECK(p.page == placed.front().page);
            CHECK(p.x >= 10.0);
            CHECK(p.x + p.wide <= report::a4_wide - 10.0);
            CHECK(p.y + p.high <= report::a4_high - 8.0);
        }
        for (std::size_t a = 0; a < placed.size(); ++a)
            for (std::size_t b = a + 1; b < placed.size(); ++b) {
                const auto &p = placed[a], &q = placed[b];
                constexpr double touch = 1.5;  // line boxes are higher than letters
                const bool meet = p.x + touch < q.x + q.wide && q.x + touch < p.x + p.wide &&
                                  p.y + touch < q.y + q.high && q.y + touch < p.y + p.high;
                INFO("'" << p.words << "' and '" << q.words << "'");
                CHECK_FALSE(meet);
            }
    }
}

TEST_CASE("call-outs of one class: it says what it does from the first moment, and stops when it is told") {
    const Scenario site = site::load_scenario(site::find_scenario("bench-rig"));
    std::vector<std::string> doing;
    int left = 3;
    CHECK_THROWS_AS(match(site, "bench-rig", diagnose::load_priors(diagnose::shipped_priors()), "", {},
                          [&](double, const std::string& what) {
                              if (doing.empty() || doing.back() != what) doing.push_back(what);
                              return --left > 0;
                          }),
                    diagnose::Stopped);
    REQUIRE_FALSE(doing.empty());
    CHECK(doing.front() == "drawing call-out 1 of 6");
}

TEST_CASE("call-outs of one class: minutes within 15 %, the same hazards, groups within two") {
    const std::vector<const char*> clamps{"line-clamps"}, dead{"line-clamps", "winding-ohms"};
    CHECK(alike({handed(30, 1, dead), handed(34, 3, dead), handed(32, 2, dead)}));
    CHECK_FALSE(alike({handed(30, 1, dead), handed(35, 1, dead)}));
    CHECK_FALSE(alike({handed(30, 1, dead), handed(30, 4, dead)}));
    CHECK_FALSE(alike({handed(30, 1, dead), handed(30, 1, clamps)}));
    CHECK_FALSE(alike({}));
    CHECK(hazard_words(handed(30, 1, dead).path) == "clamp, isolating");
    CHECK(hazard_words(handed(30, 1, {"sound"}).path) == "looking");
    CHECK(hazard_words(handed(30, 1, {"output-volts"}).path) == "live contact");
}

TEST_CASE("call-outs of one class: no fault is for more than a third of it, and a fifth at most are healthy") {
    const auto of = [](const char* fault, double minutes) {
        Handed h = handed(minutes, 1, {"line-clamps"});
        h.call.truth.fault = fault;
        return h;
    };
    std::vector<Handed> all;
    for (int n = 0; n < 6; ++n) all.push_back(of("lost-phase", 30)), all.push_back(of("health", 31));
    CHECK(some_alike(all, 6).empty());  // two and two: no more
    all.push_back(of("worn-pump", 33));
    all.push_back(of("worn-pump", 60));
    CHECK(some_alike(all, 6).empty());
    all.push_back(of("worn-pump", 32));
    const std::vector<Handed> some = some_alike(all, 6);
    REQUIRE(some.size() == 6);
    CHECK(alike(some));
    for (const char* fault : {"lost-phase", "health", "worn-pump"})
        CHECK(std::ranges::count(some, fault, [](const Handed& h) { return h.call.truth.fault; }) == 2);
}
