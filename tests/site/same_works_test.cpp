// Two works are the same where every member is (the compiler's own comparison): each key that is part of the plant
// makes them differ, and those that are not are named here.
#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "site/works.hpp"
#include "written.hpp"

using namespace sunshaft;
using namespace sunshaft::site;

namespace {

// Read by the picture, by `day`, by `fit` or by the solver itself, and by no part of the plant.
const std::set<std::string_view> not_of_the_plant = {
    "site.name",         "site.description",      "site.latitude_deg",   "site.longitude_deg",  "site.elevation_m",
    "site.utc_offset_h", "sun.time_of_day",       "array.tilt_deg",      "array.azimuth_deg",   "array.mount",
    "array.horizon",     "array.ground_albedo",   "array.transposition", "array.module_fuse_A", "dc_run.fuse_A",
    "dc_run.rated_A",    "drive.highest_input_V", "splice.depth_m",      "tank.use_hours",      "tank.need_m3_day",
    "tank.price_per_m3", "solver.tolerance"};

// A key may count only beside others: these sites have every kind of part between them.
std::vector<Scenario> of_every_kind() {
    const std::vector<std::vector<std::string>> kinds = {
        {},
        {"supply.kind=bench", "pump.kind=none"},
        {"supply.kind=mains", "motor.kind=double-cage"},
        {"supply.second=generator", "motor.kind=synchronous-reluctance", "pump.kind=progressive-cavity",
         "pump.fit_degC=20", "drive.flow_switch_m3_h=1"},
        {"motor.kind=permanent-magnet", "drive.rotor_sensing=back-emf", "drive.current_sensing=three-sensors",
         "link.earth_monitor_ohm=1e5"},
        {"array.module_low_light_efficiency=0.96", "array.module_low_light_voltage=0.93", "motor.saturation_factor=1.5",
         "motor.iron_loss_W=40"},
        {"array.module_photocurrent_A=9.02", "array.module_saturation_A=1e-9", "array.module_series_ohm=0.3",
         "array.module_shunt_ohm=300", "array.module_ideality=1.1"}};
    std::vector<Scenario> list;
    for (const auto& keys : kinds) list.push_back(test::written(keys));
    return list;
}

// Other values of a key, a little off and far off.
std::vector<Value> others(const Key& key, const Value& now) {
    std::vector<Value> list;
    if (const auto* yes = std::get_if<bool>(&now)) return {!*yes};
    if (const auto* words = std::get_if<Words>(&key.domain)) {
        for (const std::string_view word : words->list) list.emplace_back(std::string(word));
        return list;
    }
    if (std::holds_alternative<std::string>(now))
        return {"row-02", "06:30", "6-9", "axis:0 limit:45", "90:10 180:5", "another"};
    const auto* range = std::get_if<Range>(&key.domain);
    const double high = std::isfinite(range->high) ? range->high : 10 * range->low + 1e4;
    const double there = std::holds_alternative<int>(now) ? std::get<int>(now) : std::get<double>(now);
    for (const double x : {1.01 * there, 0.99 * there, there + 1, there - 1, range->low + 0.01 * (high - range->low),
                           range->low + 0.3 * (high - range->low), range->low + 0.8 * (high - range->low)}) {
        if (!std::isfinite(x)) continue;
        if (std::holds_alternative<int>(now)) list.emplace_back(static_cast<int>(std::lround(x)));
        else list.emplace_back(x);
    }
    return list;
}

bool makes_another(const Scenario& base, const Works& works, const Key& key) {
    for (const Value& value : others(key, get(base, key))) {
        if (!fault_in(key, value).empty()) continue;
        Scenario other = base;
        put(other, key, value);
        if (conflict(other)) continue;
        try {
            if (!(set_up(other) == works)) return true;
        } catch (const BadInput&) {  // figures no module or pump can have together
        }
    }
    return false;
}

}  // namespace

TEST_CASE("every key of the plant makes other works of a site, and no other key does") {
    const std::vector<Scenario> sites = of_every_kind();
    std::set<std::string_view> make_none;
    for (const Key& key : keys()) {
        const auto differs = [&](const Scenario& s) { return makes_another(s, set_up(s), key); };
        if (std::ranges::none_of(sites, differs)) make_none.insert(key.path);
    }
    CHECK(make_none == not_of_the_plant);
}

TEST_CASE("a site set up twice is the same, with what is not given in it") {
    for (const Scenario& s : of_every_kind()) CHECK((set_up(s) == set_up(s)));
    Works a = set_up(Scenario{}), b = a;
    REQUIRE(std::isnan(a.shaft.held_speed));
    b.shaft.held_speed = 0.0;
    CHECK_FALSE(a == b);
    a.shaft.held_speed = 0.0;
    CHECK((a == b));
}
