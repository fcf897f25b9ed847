// The day of the strip: what it shows is what the day room computes, the live run takes a moment of it, and hidden
// faults leave no trace in it.
#include "model/day_view.hpp"

#include <cmath>

#include "../site_named.hpp"
#include "day/run.hpp"
#include "desk_support.hpp"
#include "model/days.hpp"
#include "model/seen.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::orchard;
using test::approx;

namespace {

const auto always = [](double) { return true; };

}  // namespace

TEST_CASE("the strip's day is the day room's: sun, water by dusk and its course, with a fault and without") {
    const Scenario s = orchard();
    DayQuestion q{s, {}, {{2026, 6, 21}, "clear"}, false};
    q.edits.faults = {{"high-resistance-splice", "v", 2.4, 0.0}};
    const auto v = day_view(q, nullptr, always);
    REQUIRE(v);
    REQUIRE(v->trouble.empty());
    REQUIRE(v->site->trouble.empty());
    const auto moments = day::moments(day::clear_sky(s, q.wish.date, 1, 60.0), day::Array(s), 60.0);
    day::Averager healthy(s, {}), faulty(s, q.edits.faults);
    const double well = day::run(healthy, moments).all.water_m3, bad = day::run(faulty, moments).all.water_m3;
    CHECK(v->healthy->dusk_m3 == approx(well).epsilon(1e-9));
    CHECK(v->site->dusk_m3 == approx(bad).epsilon(1e-9));
    CHECK(bad < well);
    for (const auto* line : {v->site.get(), v->healthy.get()}) {
        REQUIRE(line->water_m3.size() == 1440);
        // The course ends where the sum does, and never falls; flow is its slope.
        CHECK(line->water_m3.back() == approx(line->dusk_m3).epsilon(2e-3));
        double sum = 0.0;
        for (std::size_t n = 0; n < 1440; ++n) {
            CHECK((n == 0 || line->water_m3[n] >= line->water_m3[n - 1] - 1e-12));
            sum += line->flow_m3_h[n] / 60;
        }
        CHECK(sum == approx(line->dusk_m3).epsilon(5e-3));
    }
    CHECK(v->sun_W_m2[720] == approx(moments[720].cells));
    CHECK(v->dawn_h < 6.0);
    CHECK(v->dusk_h > 18.0);
}

TEST_CASE("the year of the strip is a day a cell, and its months are the sums of their days") {
    DayQuestion q{orchard(), {}, {{2026, 6, 21}, "clear"}, true};
    int told = 0;
    const auto v = day_view(q, nullptr, [&](double) {
        ++told;
        return true;
    });
    REQUIRE(v);
    REQUIRE(v->year);
    REQUIRE(v->year->size() == 365);
    CHECK(v->year->front().date == day::Date{2026, 1, 1});
    CHECK(v->year->back().date == day::Date{2026, 12, 31});
    double june = 0.0;
    for (const YearDay& d : *v->year)
        if (d.date.month == 6) june += d.site_m3;
    CHECK(v->months[5].site_m3 == approx(june));
    // At ten minutes a step about what the day at one minute brings.
    CHECK((*v->year)[171].site_m3 == approx(v->site->dusk_m3).epsilon(0.03));
    CHECK(told > 20);
    CHECK_FALSE(day_view(q, nullptr, [](double) { return false; }));
}

TEST_CASE("a day is asked for once: the clock asks nothing new, a fault does, and a site without sun says why not") {
    Days days;
    DayQuestion q{orchard(), {}, {}, false};
    days.ask(q);
    days.wait();
    const auto first = days.now();
    REQUIRE(first->healthy);
    CHECK(first->site == first->healthy);
    q.edits.set = {"sun.irradiance_W_m2=300", "sun.time_of_day=09:00"};
    days.ask(q);
    CHECK(days.now() == first);
    q.edits.faults = {{"lost-phase", "splice.v", 1.0, 0.0}};
    days.ask(q);
    CHECK(days.now()->open);
    CHECK(days.now()->healthy == first->healthy);  // stands until the new one is there
    days.wait();
    CHECK(days.now()->site->dusk_m3 < 0.5 * days.now()->healthy->dusk_m3);
    q.scenario = site::load_scenario(site::find_scenario("bench-rig"));
    q.edits = {};
    days.ask(q);
    days.wait();
    CHECK(days.now()->trouble.find("sun") != std::string::npos);
}

TEST_CASE("the live run takes sun, modules and air of an hour; dragging there is one entry of undo") {
    Desk desk(orchard(), false);
    desk.work(0.5);
    const std::string before = desk.snapshot()->site->scenario.sun.time_of_day;
    desk.want_day(false);
    const auto v = desk.the_day();
    REQUIRE(v->healthy);
    for (const double hour : {9.0, 9.5, 10.0}) desk.at_hour(hour, true);
    desk.at_hour(10.25, false);
    desk.work(0.1);
    const auto s = desk.snapshot();
    const auto at = moment_of(*v, 10.25);
    REQUIRE(at);
    CHECK(s->site->scenario.sun.time_of_day == "10:15");
    CHECK(s->site->works.array.sunlight() == approx(at->sun_W_m2).margin(0.6));
    CHECK(s->site->works.array.module_degC == approx(at->module_degC).margin(0.06));
    CHECK(s->site->scenario.sun.air_temperature_degC == approx(at->air_degC).margin(0.06));
    const auto now = now_of(*v, *s);
    REQUIRE(now);
    CHECK(now->taken);
    desk.undo();
    desk.work(0.1);
    CHECK(desk.snapshot()->site->scenario.sun.time_of_day == before);
    CHECK_FALSE(desk.can_undo());
    desk.redo();
    desk.set("sun.irradiance_W_m2", "333");
    desk.work(0.1);
    CHECK_FALSE(now_of(*v, *desk.snapshot())->taken);
}

TEST_CASE("while faults are hidden the day is that of the written site, whatever is planted") {
    Desk desk(orchard(), false);
    desk.want_day(true);
    const auto plain = desk.the_day();
    desk.plant("lost-phase", "splice.v", 1.0);
    desk.want_day(true);
    CHECK(desk.the_day()->faulty);
    CHECK(desk.the_day()->site->dusk_m3 < plain->healthy->dusk_m3);
    desk.marks_hidden = true;
    // At once, before anything is worked out again, and after.
    for (int n = 0; n < 2; ++n) {
        const auto v = desk.the_day();
        CHECK(v->hidden);
        CHECK_FALSE(v->faulty);
        CHECK_FALSE(v->site);
        REQUIRE(v->healthy);
        CHECK(v->healthy->dusk_m3 == plain->healthy->dusk_m3);
        CHECK(v->most_power == approx(*std::max_element(v->healthy->power_W.begin(), v->healthy->power_W.end())));
        REQUIRE(v->year);
        for (const YearDay& d : *v->year) CHECK(d.site_m3 == d.healthy_m3);
        CHECK(v->months[3].site_m3 == v->months[3].healthy_m3);
        desk.want_day(true);
    }
    const auto hidden = desk.the_day();
    desk.plant("open-string", "s1", 1.0);
    desk.want_day(true);
    CHECK(desk.the_day() == hidden);  // nothing is asked anew
}

TEST_CASE("which day and which sky are kept with the session") {
    Desk desk(orchard(), false);
    desk.day = {{2025, 2, 3}, "hazy"};
    std::string error;
    Desk other(orchard(), false);
    REQUIRE(other.restore(desk.session(), error));
    CHECK(other.day == desk.day);
    CHECK_FALSE(
        other.restore("kind = \"bench session\"\nscenario = \"hill-orchard\"\n[day]\ndate = \"soon\"\n", error));
    CHECK(error.find("date") != std::string::npos);
}

TEST_CASE("measured weather takes the place of a named sky: its days, its year, and what it does not hold is said") {
    Desk desk(orchard(), false);
    auto w = std::make_shared<day::Weather>(day::clear_sky(orchard(), {2025, 8, 1}, 3, 600.0));
    w->source = "my.csv";
    for (std::size_t n = 144; n < 288; ++n) w->rows[n].dni *= 0.2, w->rows[n].ghi *= 0.4;  // a dull second day
    desk.take_weather(w);
    CHECK(desk.day.sky == measured_sky);
    CHECK(desk.day.date == day::Date{2025, 8, 1});
    desk.want_day(true);
    const auto first = desk.the_day();
    REQUIRE(first->healthy);
    REQUIRE(first->hour.size() == 1440);
    CHECK(first->words == "my.csv");
    REQUIRE(first->year);
    REQUIRE(first->year->size() == 3);
    CHECK((*first->year)[1].site_m3 < 0.7 * (*first->year)[0].site_m3);
    desk.day.date = {2025, 8, 2};
    desk.want_day(false);
    CHECK(desk.the_day()->site->dusk_m3 < 0.7 * first->site->dusk_m3);
    CHECK(moment_of(*desk.the_day(), 12.0)->sun_W_m2 < 0.7 * moment_of(*first, 12.0)->sun_W_m2);
    desk.day.date = {2025, 9, 2};
    desk.want_day(false);
    CHECK(desk.the_day()->missing.find("my.csv holds nothing of 2 September 2025") != std::string::npos);
    CHECK_FALSE(desk.the_day()->site);
    desk.day.sky = "clear";
    desk.want_day(false);
    CHECK(desk.the_day()->site);
}
