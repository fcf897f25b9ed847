// What the owner tells of the days before: what is meant by it, and that the suspects follow what a day's run predicts.
#include "diagnose/history.hpp"

#include <cmath>

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "diagnose/suspects.hpp"
#include "site/keys.hpp"

using namespace sunshaft;
using namespace sunshaft::diagnose;
using sunshaft::test::site_named;
using test::approx;

namespace {

Cause cause(const char* kind, const char* place, double severity) {
    Cause c;
    c.fault = kind;
    c.places = {place};
    c.points.push_back({0.0, severity, {{}, {{kind, place, severity, 0.0}}}});
    return c;
}
Cause healthy() {
    Cause c;
    c.fault = "health";
    c.places = {""};
    c.points.push_back({0.0, 1.0, {}});
    return c;
}

}  // namespace

TEST_CASE("sentences of the days before are understood, others are left to the priors' words") {
    const auto noon = told("Stops at noon, back at three");
    REQUIRE(noon);
    CHECK(noon->what == Told::What::stops_midday);
    CHECK(noon->now == 15.0);
    const auto full = told("tank full by two last month, by four now");
    REQUIRE(full);
    CHECK(full->what == Told::What::full_by);
    CHECK(full->before == 14.0);
    CHECK(full->now == 16.0);
    CHECK(told("the tank was full by 14:30, now by 5 pm")->now == 17.0);
    CHECK(told("the tank was full by 14:30, now by 17:00")->before == approx(14.5));
    const auto starts = told("some twenty starts a day");
    REQUIRE(starts);
    CHECK(starts->what == Told::What::starts);
    CHECK(starts->now == 20.0);
    for (const char* other : {"rain got in last year", "an electrician was here", "the tank is full", "starts slowly",
                              "stops in the afternoon"})
        CHECK_FALSE(told(other));
    const History none(site_named("hill-orchard"), {"an electrician was here"});
    CHECK(none.empty());
    CHECK(none.rest() == std::vector<std::string>{"an electrician was here"});
    CHECK(told("it trips, but only after rain")->what == Told::What::after_rain);
    // No sun to run on: the words are left to the priors.
    const History rig(site_named("bench-rig"), {"stops at noon"});
    CHECK(rig.empty());
    CHECK(rig.rest().size() == 1);
}

TEST_CASE("a tank that fills later is told of a site that lifts less, by as much as it lifts less") {
    const Scenario s = site_named("hill-orchard");
    History some(s, {"tank full by one last month, by two now"}), much(s, {"tank full by one last month, by four now"});
    const auto none = cause("lost-phase", "splice.v", 1.0);  // no water at all
    CHECK(*some.likely(none) < 0.1 * *some.likely(healthy()));
    const auto worn = [&](double severity) { return cause("worn-pump", "pump", severity); };
    // The more worn, the better it goes with the later hour.
    const double mild_some = *some.likely(worn(0.1)), mild_much = *much.likely(worn(0.1));
    CHECK(mild_some > mild_much);
    CHECK(*much.likely(healthy()) < *some.likely(healthy()));
    // Over a range of severities, too, of which none that is looked at need make it just so late.
    Cause range;
    range.fault = "worn-pump", range.places = {"pump"}, range.graded = true;
    for (const double severity : {0.02, 0.25, 0.5, 1.0})
        range.points.push_back({severity, severity, {{}, {{"worn-pump", "pump", severity, 0.0}}}});
    CHECK(*some.likely(range) > 1.2 * *some.likely(none));
    CHECK(*much.likely(range) > 2.0 * *much.likely(healthy()));
}

TEST_CASE("a noon without water is told of what stops a site at noon") {
    Scenario s = site_named("hill-orchard");
    History h(s, {"stops at noon, back at three"});
    REQUIRE_FALSE(h.empty());
    // A well whose water falls to the probe when most is drawn, against a pump that is merely worn, a line that is
    // lost.
    const double screen = *h.likely(cause("encrusted-screen", "well", 4.0)),
                 worn = *h.likely(cause("worn-pump", "pump", 0.3)),
                 lost = *h.likely(cause("lost-phase", "splice.v", 1.0));
    CHECK(screen > 4 * worn);
    CHECK(screen > 4 * lost);
    CHECK(screen > 1.5 * *h.likely(healthy()));
    // Priors follow, and still sum to one.
    std::vector<Cause> list{healthy(), cause("worn-pump", "pump", 0.3), cause("encrusted-screen", "well", 4.0)};
    for (Cause& c : list) c.prior = 1.0 / 3;
    h.weigh(list, load_priors(shipped_priors()));
    CHECK(list[0].prior + list[1].prior + list[2].prior == approx(1.0).epsilon(1e-12));
    CHECK(list[2].prior > 0.5);
    // A well that lets it run for minutes only starts it often.
    History often(s, {"some forty starts a day"});
    CHECK(*often.likely(cause("encrusted-screen", "well", 4.0)) > 3 * *often.likely(healthy()));
}

TEST_CASE("what fails only after rain is told of what comes with damp, not of what is there in the dry as well") {
    const Scenario s = site_named("hill-orchard");
    const Priors priors = load_priors(shipped_priors());
    History h(s, {"stops, only after rain"}, &priors);
    REQUIRE_FALSE(h.empty());
    const auto likely = [&](const char* fault, const char* place, double severity) {
        return h.likely(cause(fault, place, severity)).value_or(-1.0);
    };
    // Rain that makes the probe read as dry stops the pump for the day; a wet splice costs no water there.
    const double probe = likely("clean-water", "dry", 2e5), splice = likely("wet-splice-to-earth", "v", 2e4);
    CHECK(probe > 0.7);
    CHECK(splice > 0.1);
    CHECK(probe > 3 * splice);
    // These stop it, or take from it, in the dry as well.
    CHECK(likely("lost-phase", "splice.v", 1.0) < 0.2 * splice);
    CHECK(likely("worn-pump", "pump", 0.3) < 0.2 * splice);
    CHECK(likely("drive-dead", "drive", 1.0) < 0.2 * splice);
    std::vector<Cause> list{healthy(), cause("worn-pump", "pump", 0.3), cause("clean-water", "dry", 2e5)};
    for (Cause& c : list) c.prior = 1.0 / 3;
    h.weigh(list, priors);
    CHECK(list[2].prior > 0.9);
}

TEST_CASE("where changing cloud passes, readings apart in time bind each other less; a figure off the own array less") {
    const auto facts_of = [](const char* source) {
        Case c = parse_case(
            std::string("site = \"hill-orchard\"\nsky = { irradiance_W_m2 = 640, source = \"") + source + "\" }\n",
            "my.toml");
        return facts(c, under_its_sky(site_of(c), c), load_priors(shipped_priors()));
    };
    const Facts metered = facts_of("in-plane meter"), cloud = facts_of("changing cloud"), own = facts_of("own array");
    CHECK(metered.sun_swing == approx(0.03));
    CHECK(cloud.sun_swing > 0.3);
    REQUIRE(metered.list.size() == 1);
    CHECK(metered.list[0].sd == approx(0.05 * 640 + 5));
    CHECK(own.list[0].sd > 4 * metered.list[0].sd);
    CHECK(metered.notes.empty());
    REQUIRE(own.notes.size() == 1);
    CHECK(own.notes[0].find("own dirt") != std::string::npos);
}
