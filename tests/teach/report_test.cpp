// The report on a site: its figures are those of the rooms that compute them, and its pages hold them.
#include "teach/site_report.hpp"

#include <cmath>

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "day/run.hpp"
#include "pages.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

using namespace sunshaft;
using report::Paper;
using sunshaft::test::site_named;
using test::approx;

namespace {}  // namespace

TEST_CASE("a report's water is the day room's, month by month, and haze brings less than a clear sky") {
    Scenario s = site_named("hill-orchard");
    site::set_key(s, "tank.need_m3_day=65");
    const auto r = teach::site_report(s, {});
    day::Averager averager(s, {});
    day::Options options;
    options.longest_step = 600.0;
    const auto all =
        day::run(averager, day::moments(day::clear_sky(s, {2026, 1, 1}, 365, 600.0), day::Array(s), 600.0), options);
    double june = 0.0;
    for (const auto& d : all.days)
        if (d.date.month == 6) june += d.water_m3 / 30;
    CHECK(r.months[5].most_m3 == approx(june).epsilon(0.007));
    CHECK(r.most_year_m3 == approx(all.all.water_m3).epsilon(0.007));
    CHECK(r.least_year_m3 < r.most_year_m3);
    for (const auto& m : r.months) CHECK(m.least_m3 <= m.most_m3 + 1e-9);

    std::vector<Paper::Placed> placed;
    const std::string pdf = teach::report_pdf(r, &placed);
    CHECK(pdf.starts_with("%PDF"));
    test::check_page(placed);
    const int pages = placed.back().page;
    CHECK(pages >= 2);
    CHECK(pages <= 4);
    const auto stands = [&](const std::string& words) {
        return std::any_of(placed.begin(), placed.end(),
                           [&](const auto& p) { return p.words.find(words) != std::string::npos; });
    };
    for (const auto& m : r.fit.rows) {
        INFO(m.what);
        CHECK(stands(teach::printed(m.what)));
    }
    for (const auto& row : r.sheet.rows) CHECK(stands(teach::printed(row.where)));
    CHECK(stands("Dashed: needed"));
    // A row that fails or is not told is said at the head of the margins.
    CHECK((r.fit.sound() || stands("It does not fit") || stands("Not called sound")));
    // Cautions stand before what is to be touched: on the first page and before the live rows.
    CHECK(std::count_if(placed.begin(), placed.end(),
                        [](const auto& p) { return p.words.find("Live work: up to") == 0; }) >= 2);

    const std::string html = teach::report_html(r);
    for (const auto& m : r.fit.rows) CHECK(html.find(teach::printed(m.what)) != std::string::npos);
    CHECK(html.find("<svg") != std::string::npos);
    CHECK(html.find("In the year") != std::string::npos);
}

TEST_CASE("of measured weather a report counts the months there are, and a site without sun has none") {
    const Scenario s = site_named("hill-orchard");
    day::Weather w = day::clear_sky(s, {2026, 2, 1}, 59, 600.0);
    w.source = "my.csv";
    const auto r = teach::site_report(s, w);
    CHECK(r.months[0].days == 0.0);
    CHECK(r.months[1].days == approx(28.0));
    CHECK(r.months[2].days == approx(31.0));
    CHECK(r.months[2].least_m3 == r.months[2].most_m3);
    // Two months are no year, and an owner reads no key of a file.
    const std::string html = teach::report_html(r);
    CHECK(html.find("days with data") != std::string::npos);
    CHECK(html.find("In the year") == std::string::npos);
    CHECK(html.find(s.drive.modulation) == std::string::npos);
    std::vector<Paper::Placed> placed;
    teach::report_pdf(r, &placed);
    test::check_page(placed);
    CHECK(std::any_of(placed.begin(), placed.end(), [](const auto& p) { return p.words == "no data"; }));
    text::speak(text::Catalogue::shipped("es"));
    placed.clear();
    teach::report_pdf(teach::site_report(s, w), &placed);
    text::speak_english();
    test::check_page(placed);
    test::check_spanish(placed);
    CHECK(std::any_of(placed.begin(), placed.end(), [](const auto& p) { return p.words == "sin datos"; }));
    CHECK_THROWS_AS(teach::site_report(site_named("bench-rig"), {}), site::BadInput);
}
