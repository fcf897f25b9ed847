// A case on one page: it holds the readings as they were said, the suspects the engine names, and what to do; no words
// on words, however many readings there are.
#include "teach/case_page.hpp"

#include <algorithm>

#include "catch_shim.hpp"
#include "diagnose/answer_words.hpp"
#include "pages.hpp"
#include "text/words.hpp"

using namespace sunshaft;
using report::Paper;

namespace {

bool holds(const std::vector<Paper::Placed>& placed, const std::string& words) {
    return std::ranges::any_of(placed, [&](const auto& p) { return p.words.find(words) != std::string::npos; });
}

diagnose::Case case_of(std::size_t readings) {
    diagnose::Case c;
    c.site = "hill-orchard";
    c.intake = {"since the storm little water comes"};
    for (std::size_t n = 0; n < readings; ++n) {
        diagnose::Seen s;
        s.at = "2026-11-29 12:32";
        s.around = std::string(1, "uvw"[n % 3]);
        s.mode = "aca";
        s.shown = n % 3 == 1 ? "7.1" : "9.9";
        if (n > 5) s.act = {"open@isolator", "pull@pump"};
        c.seen.push_back(s);
    }
    return c;
}

diagnose::Answer answer_of(const diagnose::Case& c) {
    diagnose::Answer a;
    a.where = {0.0, 0.01, 0.2, 0.0, 0.78, 0.01};
    diagnose::Suspect first;
    first.fault = "high-resistance-splice", first.place = "v", first.severity = 2.4, first.probability = 0.8;
    first.title = "bad splice: resistance in the joint above the motor";
    diagnose::Suspect second = first;
    second.fault = "output-terminal-loose", second.place = "drive.v", second.probability = 0.2;
    second.title = "loose output terminal";
    // In an order of its own.
    for (std::size_t n = c.seen.size(); n-- > 0;)
        first.columns.push_back({.seen = n,
                                 .what = c.seen[n].what(),
                                 .read = c.seen[n].shown + " A",
                                 .healthy = n == 0 ? "8.35 A" : "8.34 A",
                                 .suspect = "8.41 A"});
    a.suspects = {first, second};
    a.against = 1;
    a.doubtful = {{.seen = 0, .why = "prefix may be lost", .probability = 0.4}};
    for (const diagnose::Seen& s : c.seen) a.read_back.push_back(s.shown + " A");
    diagnose::Proposal next;
    next.name = "winding ohms", next.how = "pump wires off: ohms pair by pair at the top of the drop cable";
    next.minutes = 30;
    next.outcomes.push_back(
        {.shown = "6 ohm, 6 ohm, 3.59 ohm", .means = "x", .probability = 0.7, .after = {0.95, 0.05}});
    next.outcomes.push_back({.shown = "3.59 ohm", .means = "x", .probability = 0.2, .after = {0.02, 0.98}});
    next.hazards.push_back({.kind = bench::Danger::live_in_light});
    next.hazards.push_back({.kind = bench::Danger::authorised});
    a.next = {next};
    a.stop.text = "Repair now: about 5 h 00.";
    return a;
}

}  // namespace

TEST_CASE("a case's page holds readings, suspects, cautions and the next test, by names and never by ids") {
    const diagnose::Case c = case_of(3);
    const diagnose::Answer a = answer_of(c);
    std::vector<Paper::Placed> placed;
    const std::string pdf = teach::case_page(c, a, &placed);
    CHECK(pdf.rfind("%PDF", 0) == 0);
    test::check_page(placed);
    CHECK(holds(placed, "hill-orchard"));
    CHECK(holds(placed, "since the storm"));
    CHECK(holds(placed, "For trained and authorised people only"));
    for (const std::string& caution : bench::words(a.next.front().hazards)) CHECK(holds(placed, caution));
    for (const diagnose::Suspect& s : a.suspects) {
        CHECK(holds(placed, text::capital(diagnose::name(s))));
        CHECK(holds(placed, diagnose::chance(s.probability)));
    }
    CHECK(holds(placed, "7.1 A"));
    // Each beside its own reading.
    const auto at = [&](const std::string& words) {
        return std::ranges::find(placed, words, &Paper::Placed::words)->y;
    };
    CHECK(at("8.35 A") < at("7.1 A"));
    CHECK(holds(placed, "8.34 A"));
    CHECK(holds(placed, "0.78"));
    CHECK(holds(placed, a.stop.text));
    CHECK(holds(placed, "Winding ohms") + holds(placed, "winding ohms") > 0);
    CHECK(holds(placed, "If it shows 6 ohm, 6 ohm, 3.59 ohm: " + diagnose::name(a.suspects[0])));
    CHECK_FALSE(holds(placed, "output-terminal-loose"));
    CHECK(holds(placed, "What the proving test showed"));
}

TEST_CASE("thirty readings still make one page, and it says how many are not on it") {
    const diagnose::Case c = case_of(30);
    std::vector<Paper::Placed> placed;
    (void)teach::case_page(c, answer_of(c), &placed);
    test::check_page(placed);
    CHECK(holds(placed, "14 more"));
    for (const auto& p : placed) CHECK(p.page == placed.front().page);
}
