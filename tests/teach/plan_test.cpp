// The clock of a lesson, what a late start costs, and the instructor's page.
#include "teach/plan.hpp"

#include <algorithm>
#include <cmath>

#include "beliefs.hpp"
#include "catch_shim.hpp"

using namespace sunshaft;
using test::beliefs;

namespace {
int minutes(const teach::Plan& plan, const std::string& part) {
    for (const auto& p : plan.phases)
        if (p.name == part) return p.to - p.from;
    return 0;
}
}  // namespace

TEST_CASE("45 minutes: 5 recall, 5 predict, 15 bench, 5 explain, 10 exercise, 5 spare") {
    const teach::Lesson lesson = teach::load_lesson("one-wave-two-meters");
    const teach::Plan plan = teach::make_plan(lesson, beliefs());
    const std::vector<std::pair<std::string, int>> wanted = {{"recall", 5},  {"predict", 5},   {"bench", 15},
                                                             {"explain", 5}, {"exercise", 10}, {"spare", 5}};
    REQUIRE(plan.phases.size() == wanted.size());
    int at = 0;
    for (std::size_t n = 0; n < wanted.size(); ++n) {
        CHECK(plan.phases[n].name == wanted[n].first);
        CHECK(plan.phases[n].from == at);
        CHECK((at += wanted[n].second) == plan.phases[n].to);
    }
    CHECK(at == 45);
    CHECK(plan.cut.empty());
    CHECK(plan.stop.find("--from 4") != std::string::npos);  // after its three steps
}

TEST_CASE("a late start: spare goes first, predict, bench and explain never, and the bell rings when it does") {
    const teach::Lesson lesson = teach::load_lesson("one-wave-two-meters");
    for (int late = 0; late <= 30; ++late) {
        INFO(late);
        const teach::Plan plan = teach::make_plan(lesson, beliefs(), {1, {}, late, 9 * 60 + 10});
        CHECK(plan.phases.front().from == 9 * 60 + 10 + late);
        CHECK(plan.phases.back().to <= 9 * 60 + 55);
        for (std::size_t n = 1; n < plan.phases.size(); ++n) CHECK(plan.phases[n].from == plan.phases[n - 1].to);
        CHECK(minutes(plan, "predict") == 5);
        if (late <= 16) CHECK(minutes(plan, "explain") == 5);
        if (late <= 16) CHECK(minutes(plan, "bench") == 15);
        if (late > 0) CHECK_FALSE(plan.cut.empty());
        if (late <= 5) CHECK(minutes(plan, "exercise") == 10);
        if (late > 16) CHECK(plan.cut.back().find("still missing") != std::string::npos);
    }
}

TEST_CASE("every lesson's page: one page, nothing on anything, what is shown beside what is believed") {
    for (const auto& lesson : teach::shipped_lessons()) {
        INFO(lesson.id);
        const teach::Plan plan = teach::make_plan(lesson, beliefs(), {2, {}, 8, 0});
        CHECK(plan.wrong.size() == lesson.believes.size());
        CHECK_FALSE(plan.cautions.empty());
        const auto predictions = std::count_if(lesson.steps.begin(), lesson.steps.end(),
                                               [](const teach::Step& s) { return s.predict.has_value(); });
        CHECK(plan.board.size() == static_cast<std::size_t>(predictions));
        for (const auto& line : plan.board) {
            // A belief that fits stands where the bar stands, the others elsewhere.
            const auto& shown = line.front();
            CHECK(shown.shown);
            CHECK(line.size() >= 3);
            int near = 0;
            double most = 0.0;  // beside which a few thousandths are nothing
            for (const auto& m : line)
                if (std::isfinite(m.value)) most = std::max(most, std::abs(m.value));
            for (std::size_t n = 1; n < line.size(); ++n)
                near += std::isinf(shown.value)
                            ? std::isinf(line[n].value)
                            : std::abs(line[n].value - shown.value) <= 0.06 * std::abs(shown.value) + 0.006 * most;
            // Of nothing an ohmmeter still shows its leads and a count.
            const bool of_leads =
                plan.units[static_cast<std::size_t>(&line - plan.board.data())] == "ohm" && shown.value < 0.3 &&
                std::any_of(line.begin() + 1, line.end(), [](const auto& m) { return m.value == 0.0; });
            CHECK((near >= 1 || of_leads));
        }
        const teach::PlanPage page = teach::plan_page(plan);
        CHECK(page.pages == 1);
        CHECK(page.pdf.substr(0, 4) == "%PDF");
        for (const auto& a : page.placed) {
            CHECK(a.y + a.high <= 841.9 - 20);
            CHECK(a.x + a.wide <= 595.3 - 20);
        }
        for (std::size_t a = 0; a < page.placed.size(); ++a)
            for (std::size_t b = a + 1; b < page.placed.size(); ++b) {
                const auto &p = page.placed[a], &q = page.placed[b];
                const double wide = std::min(p.x + p.wide, q.x + q.wide) - std::max(p.x, q.x),
                             high = std::min(p.y + p.high, q.y + q.high) - std::max(p.y, q.y);
                INFO(p.words << " and " << q.words);
                CHECK_FALSE((wide > 1.0 && high > 2.5));
            }
    }
}
