// What the back row is told of two meters: "Neither is faulty" only where both lie in their own band.
#include "model/verdict.hpp"

#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

// Meters on u and v of the bench rig: 180 degree blocks from 320 V, whose rms is sqrt(2/3) and whose rectified mean is
// 2/3 of it (scenarios/bench-rig.toml).
std::string said(const std::string& first, const std::string& second, const std::string& fault = "",
                 double severity = 0.0) {
    Desk desk(site::load_scenario(site::find_scenario("bench-rig")), false);
    desk.choose_meter(0, first);
    desk.choose_meter(1, second);
    desk.place({"drive.u", "drive.v", ""});
    if (!fault.empty()) desk.plant(fault, "meter", severity);
    REQUIRE(desk.last_error().empty());
    desk.work(2.5);
    const auto s = desk.snapshot();
    REQUIRE(s->meters[0].reading);
    REQUIRE(s->meters[1].reading);
    return verdict({"One", &*s->meters[0].reading}, {"Two", &*s->meters[1].reading}, s->meters[0].mode);
}

}  // namespace

TEST_CASE("two sound meters of different kinds on blocks: neither is faulty; two of one kind agree") {
    CHECK(said("true-rms", "average") == "Neither is faulty");
    CHECK(said("true-rms", "true-rms") == "Both agree");
    CHECK(said("average", "average") == "Both agree");
}

TEST_CASE("a meter outside its own band is named, and nobody is told that neither is faulty") {
    const std::string flat = said("true-rms", "average", "meter-battery-flat", 0.3);
    CHECK(flat.find("Neither") == std::string::npos);
    CHECK(flat.find("One") == 0);

    meter::Reading r;
    r.unit = "V";
    r.truth.rms_ac = 250.0;
    r.truth.rectified_mean = 250.0 * 0.9;
    r.value = 250.0, r.low = 247.0, r.high = 253.0, r.resolution = 0.1;
    CHECK(wanted(r, meter::Mode::acv) == 250.0);
    CHECK(in_own_band(r, meter::Mode::acv));
    r.truth.rms_ac = 253.2;
    CHECK_FALSE(in_own_band(r, meter::Mode::acv));
    // What its chain took away is named with its figure.
    r.stages = {{"probes", "", {}, 253.2, "rms", "V"}, {"bandwidth", "", {}, 250.0, "rms", "V"}};
    CHECK(verdict({"One", &r}, {"Two", &r}, meter::Mode::acv) == "One: its bandwidth takes 1.3 %");
    // A rectifier's reading is wanted at pi / (2 sqrt 2) times the rectified mean.
    r.stages.push_back({"rectifier", "", {}, 225.0, "rectified mean", "V"});
    CHECK(*wanted(r, meter::Mode::acv) == test::approx(225.0 * std::numbers::pi / (2 * std::sqrt(2.0))));
    CHECK(wanted(r, meter::Mode::ohm) == std::nullopt);
    CHECK(verdict({"One", &r}, {"Two", &r}, meter::Mode::ohm).empty());
}
