// What is said with the drive off: a machine that turns makes voltage, a cut-off link falls or keeps its charge.
#include <algorithm>

#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
using meter::Mode;

namespace {

std::string all(const meter::Reading& r) {
    std::string text;
    for (const std::string& s : r.reasons) text += s + " ";
    for (const std::string& s : r.warnings) text += s + " ";
    return text;
}
bool says(const meter::Reading& r, const char* what) { return all(r).find(what) != std::string::npos; }

}  // namespace

TEST_CASE("with the drive off a turning magnet motor is the source: said so, no ratio to the link") {
    const bench::Probes pair{"drive.u", "drive.v", ""};
    bench::Bench water =
        at("river-meadow", {.faults = {{"check-valve-open", "pump", 1.0, 0.0}}, .acts = {{"stop", "drive", 6.0}}});
    water.advance(12.0);
    REQUIRE(water.state().x[plant::flow] < 0.0);
    for (const Mode mode : {Mode::acv, Mode::dcv, Mode::hz}) {
        const meter::Reading r = test::read(water, meter::find_spec("true-rms"), mode, pair);
        INFO(meter::mode_name(mode) << ": " << all(r));
        CHECK(says(r, "the motor's magnets make this voltage"));
        CHECK(says(r, "Water falling back in the pipe turns it."));
        CHECK_FALSE(r.link_ratio.has_value());
        CHECK_FALSE(says(r, "of the link"));
        CHECK_FALSE(says(r, "The fundamental drives the motor"));
        CHECK(r.reasons.size() <= 5);
    }
    bench::Bench coasting = at("river-meadow", {.acts = {{"stop", "drive", 6.0}}});
    coasting.advance(6.3);
    const meter::Reading r = test::read(coasting, meter::find_spec("true-rms"), Mode::acv, pair);
    INFO(all(r));
    CHECK(says(r, "It is still running down."));
    // A running drive, an induction motor that coasts, and wires that are off: none of it.
    bench::Bench runs = at("river-meadow");
    runs.settle();
    CHECK_FALSE(says(test::read(runs, meter::find_spec("true-rms"), Mode::acv, pair), "magnets"));
    bench::Bench cage = at("hill-orchard", {.acts = {{"stop", "drive", 6.0}}});
    cage.advance(6.05);
    CHECK_FALSE(says(test::read(cage, meter::find_spec("true-rms"), Mode::acv, pair), "magnets"));
}

TEST_CASE("a cut-off link that falls is said to fall, by its rate, and to be still charged") {
    const char* pairs[][2] = {{"dc+", "dc-"}, {"iso.out+", "iso.out-"}};
    bench::Bench b = at("river-meadow", {.acts = {{"stop", "drive", 6.0}, {"open", "isolator", 7.0}}});
    b.advance(7.5);
    const site::Link& link = b.site()->works.link;
    for (const auto& p : pairs) {
        const meter::Reading r = test::read(b, meter::find_spec("true-rms"), Mode::dcv, {p[0], p[1], ""});
        INFO(all(r));
        CHECK(says(r, "the link is cut off and still charged. Wait, and measure again."));
        CHECK_FALSE(says(r, "steady"));
        CHECK_FALSE(says(r, "ripple"));
        // Bleed resistor and electronics empty the capacitor: C dV/dt = V / R + P / V.
        const double v = r.truth.mean.value();
        const double rate = (v / link.bleed_ohm + link.electronics_W / v) / link.farad;
        const auto said = std::find_if(r.figures.begin(), r.figures.end(),
                                       [](const meter::Figure& f) { return f.name == "falls_in_a_second"; });
        REQUIRE(said != r.figures.end());
        CHECK(said->value == approx(rate).epsilon(0.02));
    }
    // Dark, and nothing left that discharges it.
    bench::Bench kept = at("river-meadow", {.faults = {{"bleed-open", "link", 1.0, 0.0}},
                                            .acts = {{"stop", "drive", 6.0}, {"open", "isolator", 7.0}}});
    kept.advance(60.0);
    const meter::Reading r = test::read(kept, meter::find_spec("true-rms"), Mode::dcv, {"dc+", "dc-", ""});
    INFO(all(r));
    CHECK(says(r, "still charged, and nothing discharges it"));
    CHECK_FALSE(says(r, "steady"));
    // Fed by the array it is steady.
    bench::Bench fed = at("river-meadow", {.acts = {{"stop", "drive", 6.0}}});
    fed.advance(9.0);
    CHECK_FALSE(says(test::read(fed, meter::find_spec("true-rms"), Mode::dcv, {"dc+", "dc-", ""}), "cut off"));
}
