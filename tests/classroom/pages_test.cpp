// An account fits one page whatever happened; call-outs of one class are as hard as each other.
#include <fmt/format.h>
#include <oneapi/tbb/global_control.h>

#include <algorithm>

#include "../files/scratch.hpp"
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
    CHECK(doing.front() == "drawing 48 call-outs");
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
    CHECK(most_alike(all, 6).empty());  // two and two: no more
    all.push_back(of("worn-pump", 33));
    all.push_back(of("worn-pump", 60));
    CHECK(most_alike(all, 6).empty());
    all.push_back(of("worn-pump", 32));
    const std::vector<Handed> some = most_alike(all, 6);
    REQUIRE(some.size() == 6);
    CHECK(alike(some));
    for (const char* fault : {"lost-phase", "health", "worn-pump"})
        CHECK(std::ranges::count(some, fault, [](const Handed& h) { return h.call.truth.fault; }) == 2);
}

TEST_CASE("call-outs of one class: what was weighed comes before what is supposed, then the nearest minutes") {
    const char* const faults[] = {"lost-phase", "worn-pump", "seized"};
    const auto of = [&](std::size_t n, double minutes, std::vector<const char*> tests = {"line-clamps"}) {
        Handed h = handed(minutes, 1, std::move(tests));
        h.call.truth.fault = faults[n % 3];
        h.seed = n;
        return h;
    };
    // Neither the longest window nor the one that ends first: three of them lie within a minute.
    std::vector<Handed> all{of(0, 20), of(1, 22.9), of(2, 30), of(3, 30.5), of(4, 31), of(5, 34), of(6, 34.4)};
    std::vector<Handed> some = most_alike(all, 3);
    REQUIRE(some.size() == 3);
    CHECK(some[0].seed == 2);
    CHECK(some[2].seed == 4);
    // The nearest minutes are of no use where one of them is only supposed.
    all[3].supposed = true;
    some = most_alike(all, 3);
    REQUIRE(some.size() == 3);
    CHECK(std::ranges::none_of(some, &Handed::supposed));
    CHECK(alike(some));
    // Past other hazards they do not count.
    for (std::size_t n = 2; n < 7; ++n) all[n] = of(n, 30, n % 2 ? std::vector{"line-clamps"} : std::vector{"sound"});
    CHECK(most_alike(all, 4).empty());
    CHECK(closeness_words({of(0, 30), of(1, 33)}) ==
          "30 to 33 minutes: 10 % apart, 15 % allowed. Groups of 1 to 1: 2 apart is allowed. "
          "They take one to: clamp.");
}

TEST_CASE("call-outs of one class: matched on a small site, the same for a seed with one thread and a warm cache") {
    const Scenario site = site::load_scenario(site::find_scenario("bench-rig"));
    const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    const test::Scratch kept;
    const auto seeds = [](const Handout& h) {
        std::vector<std::uint64_t> all;
        for (const Handed& c : h.calls) all.push_back(c.seed);
        return all;
    };
    const Wanted wanted{2, 2, 1, 30};
    const Handout cold = match(site, "bench-rig", priors, kept.path(), wanted);
    REQUIRE(cold.matched);
    REQUIRE(cold.calls.size() == 2);
    CHECK(alike(cold.calls));
    CHECK(std::ranges::none_of(cold.calls, &Handed::supposed));
    CHECK(cold.weighed < cold.drawn / 4);
    // What is said of them is so: drawn and worked out anew they are the same.
    for (const Handed& h : cold.calls) {
        const callout::Callout again = callout::draw(site, priors, {h.seed, wanted.level});
        CHECK(again.truth == h.call.truth);
        CHECK(callout::best_path(h.call, priors, kept.path()).minutes == h.path.minutes);
    }
    const tbb::global_control one(tbb::global_control::max_allowed_parallelism, 1);
    const Handout warm = match(site, "bench-rig", priors, kept.path(), wanted);
    CHECK(seeds(warm) == seeds(cold));
    CHECK(warm.weighed == cold.weighed);
}
