// The sheet of expected readings: what stands on it is computed, in a safe order, and can be read when printed.
#include <algorithm>
#include <cmath>
#include <set>

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "pages.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/shipped.hpp"
#include "teach/sheet.hpp"
#include "text/language.hpp"

using namespace sunshaft;
using report::Paper;
using sunshaft::test::site_named;
using test::approx;
using test::check_page;

namespace {

const teach::SheetRow* row(const teach::Sheet& sheet, const std::string& test) {
    for (const auto& r : sheet.rows)
        if (std::find(r.tests.begin(), r.tests.end(), test) != r.tests.end()) return &r;
    return nullptr;
}
double figure(const std::string& text) { return std::stod(text.substr(text.find_first_of("0123456789"))); }

}  // namespace

TEST_CASE("the sheet's figures are those of its site, its sky and its meter") {
    const auto orchard = site_named("hill-orchard");
    const auto sheet = teach::expected(orchard, {}, teach::SheetMeters::usual());
    // Ten modules in series: the string reads ten times one module's band.
    const double module = figure(row(sheet, "module-volts")->healthy.front()),
                 whole = figure(row(sheet, "open-circuit-volts")->healthy.front());
    CHECK(whole == approx(10.0 * module).epsilon(0.01));
    // Averaging reads lower than true rms on the square wave.
    const auto* volts = row(sheet, "output-volts");
    REQUIRE(volts->healthy.size() == 2);
    CHECK(figure(volts->healthy[1]) < figure(volts->healthy[0]));
    // Another sky moves the volts and leaves the ohms.
    Scenario dim = orchard;
    site::set_key(dim, "sun.irradiance_W_m2=500");
    const auto other = teach::expected(dim, {}, teach::SheetMeters::usual());
    CHECK(row(other, "output-volts")->healthy != volts->healthy);
    CHECK(row(other, "winding-ohms")->healthy == row(sheet, "winding-ohms")->healthy);
    // The person's own meter: one figure a row, and who else must be asked is said.
    const auto own = teach::expected(orchard, {}, teach::SheetMeters::owned("average"));
    CHECK(row(own, "output-volts")->healthy == std::vector<std::string>{volts->healthy[1]});
    CHECK(row(own, "core-capacitance")->set.find("with another meter: true-rms") != std::string::npos);
    CHECK(row(own, "cable-insulation")->set.find("another meter") == std::string::npos);
}

TEST_CASE("from the pump's start until the well is drawn down, the sheet holds what is read") {
    const auto orchard = site_named("hill-orchard");
    const auto sheet = teach::expected(orchard, {}, teach::SheetMeters::usual());
    const auto& lines = row(sheet, "bucket")->healthy;
    REQUIRE(lines.size() == 3);
    // The same site as the pump starts, and an hour later.
    bench::Bench bench(orchard);
    bench.settle();
    const double first_flow = bench.gauge("flow").value * 3600, first_dip = bench.gauge("water", false).value;
    bench.warm(bench.warm_degC(3600));
    bench.state().water_level = bench.pumped_level().level;
    bench.settle();
    const double flow = bench.gauge("flow").value * 3600, dip = bench.gauge("water", false).value;
    REQUIRE(first_flow > 1.1 * flow);
    INFO(lines[0] << ", " << lines[2]);
    const auto high = [](const std::string& text) { return figure(text.substr(text.find(" to "))); };
    // A bucket tells three per cent.
    CHECK(figure(lines[0]) == approx(0.97 * flow).epsilon(0.01));
    CHECK(high(lines[0]) == approx(1.03 * first_flow).epsilon(0.01));
    CHECK(figure(lines[0].substr(lines[0].find("pumped down"))) == approx(flow).epsilon(0.01));
    CHECK(figure(lines[2]) == approx(first_dip).margin(0.2));
    CHECK(high(lines[2]) == approx(dip).margin(0.2));
    // What is clamped changes with it: its band holds both.
    CHECK(row(sheet, "line-clamps")->healthy.front().find('-') != std::string::npos);
}

TEST_CASE("dead tests come before live ones, each part behind its caution") {
    for (const char* name : {"hill-orchard", "bench-rig", "stone-fold"}) {
        const auto sheet = teach::expected(site_named(name), {}, teach::SheetMeters::usual());
        INFO(name);
        bool live = false;
        int number = 0;
        for (const auto& r : sheet.rows) {
            CHECK(r.number == ++number);
            CHECK_FALSE((live && !r.live));
            live = live || r.live;
            CHECK_FALSE(r.healthy.empty());
            CHECK_FALSE(r.boxes.empty());
        }
        REQUIRE_FALSE(sheet.first.empty());
        REQUIRE_FALSE(sheet.live.empty());
        CHECK(sheet.first.front().find("authorised") != std::string::npos);
        CHECK(std::any_of(sheet.live.begin(), sheet.live.end(),
                          [](const auto& l) { return l.find("Live work: up to") != std::string::npos; }));
    }
}

TEST_CASE("what low, high, zero and unequal mean comes from faults planted on the site, and the pages hold it") {
    const Scenario rig = site_named("bench-rig");
    auto sheet = teach::expected(rig, {}, teach::SheetMeters::usual());
    const auto priors = diagnose::load_priors(diagnose::shipped_priors());
    int calls = 0;
    CHECK_FALSE(teach::add_meanings(sheet, rig, priors, [&](double) { return ++calls < 3; }));
    CHECK(sheet.rows.front().means.empty());
    REQUIRE(teach::add_meanings(sheet, rig, priors));
    const auto has = [&](const char* test, const char* reading, const char* cause) {
        for (const auto& m : row(sheet, test)->means)
            if (m.reading == reading && std::find(m.causes.begin(), m.causes.end(), cause) != m.causes.end())
                return true;
        return false;
    };
    CHECK(has("winding-ohms", "two OL", "lost phase"));
    CHECK(has("winding-ohms", "unequal", "bad splice"));
    CHECK_FALSE(has("winding-ohms", "low", "lost phase"));
    CHECK(has("cable-insulation", "0", "winding leaks to the casing"));
    std::vector<Paper::Placed> placed;
    const std::string pdf = teach::sheet_pdf(sheet, &placed);
    CHECK(pdf.starts_with("%PDF"));
    check_page(placed);
    // The number of each row stands in the table and at its points in the drawing.
    for (const auto& r : sheet.rows)
        CHECK(std::count_if(placed.begin(), placed.end(),
                            [&](const auto& p) { return p.words == std::to_string(r.number); }) >= 2);
    // The live caution stands on every page that has a live row, above it.
    std::set<int> pages;
    for (const auto& p : placed)
        if (p.words == "clamp on u, v, w" || p.words.starts_with("dc+ to dc")) {
            CHECK(std::any_of(placed.begin(), placed.end(), [&](const auto& c) {
                return c.page == p.page && c.y < p.y && c.words.starts_with("Live work");
            }));
            pages.insert(p.page);
        }
    CHECK_FALSE(pages.empty());
    const std::string html = teach::sheet_html(sheet);
    CHECK(html.find("Live work") < html.find("<h2>Live tests after"));
    CHECK(html.find("<svg") != std::string::npos);
    CHECK(html.find("two OL") != std::string::npos);
}

TEST_CASE("what a reading means is told of the bore as who comes finds it: drawn down") {
    const Scenario orchard = site_named("hill-orchard");
    auto sheet = teach::expected(orchard, {}, teach::SheetMeters::usual());
    diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    for (const site::FaultRow& r : site::fault_catalogue()) priors.fault[r.kind] = 0.0;
    priors.fault["encrusted-screen"] = 1.0;
    REQUIRE(teach::add_meanings(sheet, orchard, priors));
    const auto* dip = row(sheet, "dip");
    REQUIRE(dip);
    // A screen lets the level fall only while water is drawn through it. Less sun lets it rise.
    const auto means = [&](const std::string& reading, const std::string& cause) {
        return std::any_of(dip->means.begin(), dip->means.end(), [&](const auto& m) {
            return m.reading == reading && std::find(m.causes.begin(), m.causes.end(), cause) != m.causes.end();
        });
    };
    CHECK(means("dip high", "well screen encrusted"));
    CHECK(means("dip low", "less sun than above"));
}

TEST_CASE("every shipped site has its sheet on two pages", "[.soak]") {
    const auto priors = diagnose::load_priors(diagnose::shipped_priors());
    const std::string language = GENERATE("en", "es");
    INFO(language);
    if (language != "en") text::speak(text::Catalogue::shipped(language));
    for (const std::string& name : site::shipped_sites()) {
        INFO(name);
        const Scenario scenario = site_named(name.c_str());
        auto sheet = teach::expected(scenario, {}, teach::SheetMeters::usual());
        REQUIRE(teach::add_meanings(sheet, scenario, priors));
        std::vector<Paper::Placed> placed;
        (void)teach::sheet_pdf(sheet, &placed);
        check_page(placed);
        CHECK(placed.back().page <= 2);
    }
    text::speak_english();
}

TEST_CASE("in another language the sheet is as short, as whole and in no other words") {
    const auto priors = diagnose::load_priors(diagnose::shipped_priors());
    const Scenario rig = site_named("bench-rig");
    text::speak(text::Catalogue::shipped("es"));
    auto sheet = teach::expected(rig, {}, teach::SheetMeters::usual());
    REQUIRE(teach::add_meanings(sheet, rig, priors));
    std::vector<Paper::Placed> placed;
    (void)teach::sheet_pdf(sheet, &placed);
    text::speak_english();
    check_page(placed);
    test::check_spanish(placed);
    CHECK(placed.back().page <= 2);
    // What a reading is called is said last: its order, its causes and its figures are the English sheet's.
    const auto english = teach::expected(rig, {}, teach::SheetMeters::usual());
    REQUIRE(sheet.rows.size() == english.rows.size());
    for (std::size_t n = 0; n < sheet.rows.size(); ++n) {
        CHECK(sheet.rows[n].tests == english.rows[n].tests);
        CHECK(sheet.rows[n].boxes.size() == english.rows[n].boxes.size());
        CHECK(sheet.rows[n].set != english.rows[n].set);
    }
    CHECK(row(sheet, "winding-ohms")->means.front().reading == "alto");
}

TEST_CASE("signs for print: dashes, ohm, superscripts, and figures that stay with their units") {
    CHECK(teach::printed("u-v, v-w") == "u\u2013v, v\u2013w");
    CHECK(teach::printed("3.2-4.0 ohm") == "3.2\u20134.0\u00a0\u03a9");
    CHECK(teach::printed("46 kohm at 820 W/m2") == "46\u00a0k\u03a9 at 820\u00a0W/m\u00b2");
    CHECK(teach::printed("11 m3/h, 51 degC, array+ to array-") ==
          "11\u00a0m\u00b3/h, 51\u00a0\u00b0C, array+ to array-");
    CHECK(teach::printed("true-rms, square-wave, 1-phase") == "true-rms, square-wave, 1-phase");
}

TEST_CASE("a sheet for an hour under a sky: its sun, and bands as wide as that sky leaves them") {
    const Scenario orchard = site_named("hill-orchard");
    Scenario clear = orchard, hazy = orchard, night = orchard;
    const auto at_noon = teach::light_at(clear, {2026, 6, 21}, 12.0, "clear"),
               in_haze = teach::light_at(hazy, {2026, 6, 21}, 12.0, "hazy");
    CHECK(clear.sun.irradiance_W_m2 > 1.1 * hazy.sun.irradiance_W_m2);
    CHECK(clear.sun.module_temperature_degC > hazy.sun.module_temperature_degC);
    REQUIRE(in_haze.shares.size() == 3);
    CHECK(in_haze.shares[2] - in_haze.shares[1] > at_noon.shares[2] - at_noon.shares[1]);
    CHECK(teach::light_at(night, {2026, 6, 21}, 2.0, "clear").shares.size() == 1);
    CHECK(night.sun.irradiance_W_m2 == 0.0);
    CHECK_THROWS_AS(teach::light_at(night, {2026, 6, 21}, 2.0, "purple"), site::BadInput);
    const auto band = [](const teach::SheetRow& r) {
        const std::string& text = r.healthy.front();
        const auto dash = text.find_first_of("-t", text.find_first_of("0123456789"));
        return std::pair{figure(text), dash == std::string::npos ? figure(text) : figure(text.substr(dash))};
    };
    const auto meters = teach::SheetMeters::owned("true-rms");
    const auto known = teach::expected(hazy, {}, meters), told = teach::expected(hazy, {}, meters, in_haze);
    CHECK(told.sky.starts_with("12:00 on 2026-06-21, haze: "));
    for (const char* test : {"open-circuit-volts", "line-clamps", "output-volts"}) {
        INFO(test);
        const auto [low, high] = band(*row(known, test));
        const auto [lower, higher] = band(*row(told, test));
        CHECK(lower < low + 1e-9);
        CHECK(higher > high - 1e-9);
        CHECK(higher - lower > 1.05 * (high - low));
    }
    // The dark knows no sky.
    CHECK(row(told, "winding-ohms")->healthy == row(known, "winding-ohms")->healthy);
    CHECK(row(told, "bucket")->healthy.front().find(" to ") != std::string::npos);
    const auto own = teach::light_by("clamped the site's own array", orchard);
    CHECK(own.note.find("own dirt") != std::string::npos);
    CHECK(own.shares[2] - own.shares[1] > 4 * (teach::light_by("in-plane meter", orchard).shares[2] - 1.0));
}
