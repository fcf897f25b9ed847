// From which hour of its day on a site can be tested, and what a case says of it.
#include "diagnose/today.hpp"

#include <algorithm>
#include <cmath>

#include "../site_named.hpp"
#include "asked.hpp"
#include "catch_shim.hpp"
#include "day/skies.hpp"
#include "day/when.hpp"
#include "diagnose/answer_words.hpp"
#include "diagnose/suspects.hpp"
#include "site/keys.hpp"

using namespace sunshaft;
using namespace sunshaft::diagnose;
using sunshaft::test::site_named;
using test::approx;

namespace {

Case visit(const std::string& sky, const std::string& more = "") {
    return parse_case("site = \"hill-orchard\"\nsky = { " + sky + " }\n" + more, "my.toml");
}
std::optional<Today> today(const Case& c) { return today_of(c, under_its_sky(site_of(c), c)); }

}  // namespace

TEST_CASE("early in the morning a case says from which hour on what runs can be tested") {
    const auto t = today(visit("at = \"2026-03-21 06:20\", source = \"clear sky by the hour\""));
    REQUIRE(t);
    CHECK(t->date == "2026-03-21");
    CHECK(t->hour == approx(6.0 + 20.0 / 60));
    const Opening *array = t->of("open-circuit-volts"), *clamps = t->of("line-clamps"), *bucket = t->of("bucket");
    for (const Opening* o : {array, clamps, bucket}) {
        REQUIRE(o);
        CHECK_FALSE(o->now);
        CHECK(o->from_h > 6.4);
        CHECK(o->from_h < 11.0);
        CHECK(o->from_W_m2 > 20.0);
    }
    REQUIRE(array);
    CHECK(array->array);
    CHECK(array->from_W_m2 == day::bright);
    CHECK(bucket->from_h > clamps->from_h);  // it turns before it lifts
    CHECK_FALSE(t->of("winding-ohms"));      // dead: at any hour
    // The light at that hour is what the modules get then.
    const Scenario s = site_named("hill-orchard");
    const day::NamedSky& clear = day::shipped_skies().sky("clear");
    for (const Opening* o : {array, clamps, bucket}) {
        CHECK(day::moment_at(s, {2026, 3, 21}, o->from_h, clear).plane > 0.9 * o->from_W_m2);
        CHECK(day::moment_at(s, {2026, 3, 21}, o->from_h - 0.5, clear).plane < 1.1 * o->from_W_m2);
    }
    CHECK(t->sun_W_m2 == approx(day::moment_at(s, {2026, 3, 21}, t->hour, clear).plane));
    const auto lines = words(*t);
    CHECK(std::any_of(lines.begin(), lines.end(), [&](const std::string& l) {
        return l.find("from " + clock_of(clamps->from_h)) != std::string::npos;
    }));
    CHECK(std::any_of(lines.begin(), lines.end(),
                      [](const std::string& l) { return l.find("no proof of a good array") != std::string::npos; }));
    // Later all of it works, and nothing is said.
    const auto noon = today(visit("at = \"2026-03-21 10:00\", source = \"clear sky by the hour\""));
    REQUIRE(noon);
    CHECK(noon->of("line-clamps")->now);
    CHECK(words(*noon).empty());
    // A duller sky opens later.
    const auto haze = today(visit("at = \"2026-03-21 06:20\", source = \"haze by eye\""));
    REQUIRE(haze);
    CHECK(haze->of("line-clamps")->from_h > clamps->from_h);
}

TEST_CASE("an hour is the sky's, else the last reading's; one the sun here does not bear out is not used") {
    CHECK_FALSE(today(visit("irradiance_W_m2 = 600")));
    CHECK_FALSE(today(visit("at = \"07:00\"")));
    CHECK_FALSE(today(visit("at = \"2026-13-21 07:00\"")));
    const std::string reading = "[[seen]]\nat = \"2026-03-21 12:10\"\ngauge = \"flow\"\nshown = \"9 m3/h\"\n";
    REQUIRE(today(visit("irradiance_W_m2 = 700", reading)));
    CHECK(today(visit("irradiance_W_m2 = 700", reading))->hour == approx(12.0 + 10.0 / 60));
    const Case night = visit("irradiance_W_m2 = 820, at = \"2026-03-21 23:10\"");
    CHECK_FALSE(today(night));
    CHECK(hour_amiss(night, site_of(night)));
    CHECK_FALSE(hour_amiss(visit("irradiance_W_m2 = 700, at = \"2026-03-21 12:10\""), site_of(night)));
    // A site without a sun.
    CHECK_FALSE(today_of(visit("at = \"2026-03-21 07:00\""), site_named("bench-rig")));
}

TEST_CASE("without a figure of the light it is worked out of the hour and a sky that is named") {
    const Case c = with_its_light(visit("at = \"2026-03-21 12:00\", source = \"haze by eye\""));
    const day::Moment m =
        day::moment_at(site_named("hill-orchard"), {2026, 3, 21}, 12.0, day::shipped_skies().sky("hazy"));
    CHECK(c.irradiance == approx(m.cells).margin(0.51));
    CHECK(c.module_degC == approx(m.cell_degC).margin(0.51));
    CHECK(with_its_light(visit("irradiance_W_m2 = 500, at = \"2026-03-21 12:00\", source = \"haze by eye\""))
              .irradiance == 500.0);
    // By eye, and no sky named: nothing to work it out of.
    CHECK(std::isnan(with_its_light(visit("at = \"2026-03-21 12:00\"")).irradiance));
}

TEST_CASE("what works now is proposed first, what must wait says its hour, weak light is no proof") {
    const auto ask = [](const Case& c) {
        return Diagnosis(c, test::priors_of({"bypass-diode-shorted", "module-reversed", "open-string"}),
                         test::kept().path())
            .answer();
    };
    // The array's volts mean something ten minutes from now.
    const Case c = visit("irradiance_W_m2 = 130, at = \"2026-03-21 06:52\", source = \"in-plane meter\"",
                         "to_hand = [\"multimeter\"]\n");
    const Answer a = ask(c);
    REQUIRE(a.today);
    REQUIRE_FALSE(a.next.empty());
    bool waits = false;
    for (const Proposal& x : a.next) {
        const Opening* o = a.today->of(x.test);
        CHECK(x.now == (!o || o->now));
        if (!x.now && o) CHECK((x.from_h == o->from_h || (std::isnan(x.from_h) && std::isnan(o->from_h))));
        if (x.now) CHECK(std::isnan(x.from_h));
        waits = waits || !x.now;
        const bench::Station s = bench::find_test(x.test)->station;
        CHECK(x.weak_light == (s == bench::Station::lit || s == bench::Station::shorted));
        CHECK(in_this_light(x).empty() == (x.now && !x.weak_light));
    }
    CHECK(a.next.front().now);
    CHECK(waits);
    Proposal array;
    array.weak_light = true;
    CHECK(in_this_light(array).find("no proof of a good array") != std::string::npos);
    // What the stop names is told of, too.
    for (const std::string& line : stop_waits(a)) CHECK(line.find("not in this light") != std::string::npos);
    // Told no hour, nothing waits.
    Case timeless = c;
    timeless.sky_at.clear();
    const Answer b = ask(timeless);
    CHECK_FALSE(b.today);
    for (const Proposal& x : b.next) CHECK(x.now);
}

TEST_CASE("where a pump rightly waits, doing nothing is leaving it and no repair") {
    const std::set<std::string> kinds = {"high-resistance-splice",
                                         "lost-phase",
                                         "string-fuse-blown",
                                         "soiled-array",
                                         "guard-cable-cut",
                                         "worn-pump",
                                         "seized"};
    const Answer a = test::ask(
        "site = \"hill-orchard\"\nsky = { irradiance_W_m2 = 111, module_temperature_degC = 19, source = \"haze by "
        "eye\" }\n"
        "intake = [\"does not pump\"]\nto_hand = [\"multimeter\", \"clamp-ac\"]\nwho = \"authorised\"\n",
        kinds, true);
    CHECK(a.where[0] > 0.5);
    CHECK(a.stop.advice == "measure");
    CHECK(a.stop.text.starts_with("Leave it and come again if need be: about "));
}
