// Skies as data: what they leave of a cloudless day's light, and what a figure of the light is worth.
#include "day/skies.hpp"

#include <cmath>

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "day/run.hpp"

using namespace sunshaft;
using namespace sunshaft::day;
using sunshaft::test::orchard;
using test::approx;

namespace {

double kWh_m2(const Weather& w, const Scenario& s) {
    double sum = 0.0;
    for (const Moment& m : moments(w, Array(s), 600.0)) sum += m.plane * m.seconds() / 3.6e6;
    return sum;
}

}  // namespace

TEST_CASE("every sky leaves less than a clear one, what is lost of the beam comes back in part as sky light") {
    const Scenario s = orchard();
    const Weather clear = clear_sky(s, {2026, 6, 21}, 1, 60.0);
    const double most = kWh_m2(clear, s);
    double last = most;
    for (const char* id : {"clear", "hazy", "overcast"}) {
        const NamedSky& sky = shipped_skies().sky(id);
        const Weather w = under(sky, clear);
        const double now = kWh_m2(w, s);
        CHECK(now <= last);
        last = now;
        for (std::size_t n = 0; n < w.rows.size(); ++n) {
            const double beam = clear.rows[n].ghi - clear.rows[n].dhi;
            CHECK(w.rows[n].dhi >= clear.rows[n].dhi - 1e-9);
            CHECK(w.rows[n].dni == approx(sky.beam * clear.rows[n].dni).margin(1e-9));
            CHECK(w.rows[n].ghi == approx(w.rows[n].dhi + sky.beam * std::max(beam, 0.0)).margin(1e-9));
        }
    }
    CHECK(kWh_m2(under(shipped_skies().sky("clear"), clear), s) == approx(most));
    CHECK(last < 0.5 * most);
}

TEST_CASE("clouds pass: the same ones every time, for the share of the day their lengths say, others by another seed") {
    const Scenario s = orchard();
    const Weather clear = clear_sky(s, {2026, 6, 1}, 20, 60.0);
    const NamedSky& sky = shipped_skies().sky("changing");
    REQUIRE(sky.passes());
    const Weather a = under(sky, clear, 1), b = under(sky, clear, 1), c = under(sky, clear, 2);
    double lit = 0.0, all = 0.0;
    std::size_t alike = 0, edges = 0;
    for (std::size_t n = 0; n < clear.rows.size(); ++n) {
        CHECK(a.rows[n].ghi == b.rows[n].ghi);
        if (clear.rows[n].dni < 300) continue;
        const double through = (a.rows[n].dni / clear.rows[n].dni - sky.beam) / (1 - sky.beam);
        CHECK(through > -1e-9);
        CHECK(through < 1 + 1e-9);
        lit += through, all += 1.0;
        alike += a.rows[n].dni == c.rows[n].dni;
        edges += through > 0.01 && through < 0.99;
    }
    // A cloud or gap is never under 20 s, which lengthens both a little.
    CHECK(lit / all == approx(sky.gap_s / (sky.gap_s + sky.cloud_s)).margin(0.03));
    CHECK(static_cast<double>(alike) < 0.8 * all);
    CHECK(edges > 100);
}

TEST_CASE("what a figure of the light is worth goes by what people write of its source") {
    const Skies& k = shipped_skies();
    CHECK(k.source("in-plane meter").band < k.source("clear sky, by the clock").band);
    CHECK(k.source("clear sky, by the clock").band < k.source("hazy, by eye").band);
    CHECK(k.source("").id == k.sources.back().id);
    CHECK(k.source("Changing CLOUD").swing == k.sky("changing").swing);
    CHECK(k.source("changing cloud").swing > 5 * k.source("in-plane meter").swing);
    const SunSource& own = k.source("the site's own array, clamped");
    REQUIRE_FALSE(own.blind.empty());
    CHECK_FALSE(own.caution.empty());
    CHECK_THROWS_AS(k.sky("purple"), site::BadInput);
}

TEST_CASE("a table of skies with a mistake says where and what") {
    const auto why = [](const char* text) {
        try {
            parse_skies(text, "my.toml");
        } catch (const site::BadInput& e) {
            return std::string(e.what());
        }
        return std::string();
    };
    CHECK(why("[[sky]]\nid = \"a\"\nbeam = 2\n").starts_with("my.toml:3:8: beam: expected"));
    CHECK(why("[[sky]]\nid = \"a\"\n").starts_with("my.toml:1:1: source: expected"));
    CHECK(why("[[sky]]\nid = \"a\"\ngap_min = 3\n").find("cloud_min") != std::string::npos);
    CHECK(why("[[sky]]\nid = \"a\"\n[[source]]\nid = \"x\"\nsky = \"b\"\n").find("expected one of a") !=
          std::string::npos);
    CHECK(why("[[sky]").starts_with("my.toml:1:"));
}

TEST_CASE("the light at an hour by the clock: noon above the morning, haze below clear, a cloud below its gap") {
    const Scenario s = orchard();
    const Skies& k = shipped_skies();
    const Date day{2026, 6, 21};
    const auto light = [&](double hour, const char* sky, bool cloud = false) {
        return moment_at(s, day, hour, k.sky(sky), cloud).cells;
    };
    CHECK(light(12, "clear") > light(9, "clear"));
    CHECK(light(12, "hazy") < light(12, "clear"));
    CHECK(light(12, "changing") == approx(light(12, "clear")));
    CHECK(light(12, "changing", true) < 0.5 * light(12, "changing"));
    CHECK(light(2, "clear") == 0.0);
}
