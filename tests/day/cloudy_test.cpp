// A whole cloudy hour by the live solver and by the day at steps of a second: the same water.
#include <fmt/format.h>

#include <cmath>
#include <cstdlib>

#include "bench/bench.hpp"
#include "catch_shim.hpp"
#include "day/run.hpp"
#include "day/skies.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;

namespace {

constexpr double light_s = 10.0;  // the light stands for so long

struct Hour {
    double live_m3 = 0.0, day_m3 = 0.0;
    long live_starts = 0, day_starts = 0;
    double apart() const { return std::abs(day_m3 - live_m3) / std::max(live_m3, 1e-9); }
};

Hour hour_of_clouds(const char* name, double from_h, double seconds) {
    const Scenario s = site::load_scenario(site::find_scenario(name));
    const day::Date date{2026, 6, 21};
    const day::Weather whole = day::under(day::shipped_skies().sky("changing"), day::clear_sky(s, date, 1, light_s), 3);
    const double begin = day::seconds_of(date) - 3600 * day::utc_offset_h(s) + 3600 * from_h;
    day::Weather hour;
    hour.source = whole.source;
    for (const day::Sky& row : whole.rows)
        if (row.begin > begin - 1.0 && row.end < begin + seconds + 1.0) hour.rows.push_back(row);
    const day::Array array(s);
    Hour out;
    // Light and warmth of the rows, alike for both.
    std::vector<day::Moment> seconds_of_light;
    bench::Edits edits;
    const auto under = [&](const day::Moment& m) {
        edits.set = {fmt::format("sun.irradiance_W_m2={}", m.cells),
                     fmt::format("sun.module_temperature_degC={}", m.cell_degC),
                     fmt::format("sun.air_temperature_degC={}", m.air_degC)};
        return edits;
    };
    std::optional<bench::Bench> live;
    for (const day::Sky& row : hour.rows) {
        const day::Moment m = array.moment(row);
        if (!live) live.emplace(s, under(m));
        else live->edit(under(m));
        live->advance(row.end - row.begin);
        for (double at = m.begin; at < m.end - 0.5; at += 1.0) {
            day::Moment second = m;
            second.begin = at, second.end = at + 1.0;
            seconds_of_light.push_back(second);
        }
    }
    out.live_m3 = live->state().slow.delivered;
    for (const drive::LogEntry& e : live->events()) out.live_starts += e.cause == drive::Cause::sun;
    day::Averager averager(s, {});
    day::Options options;
    options.longest_step = 1.0;
    const day::Totals all = day::run(averager, seconds_of_light, options).all;
    out.day_m3 = all.water_m3;
    out.day_starts = all.starts;
    if (std::getenv("SUNSHAFT_TELL"))
        fmt::print("{} from {} h: live {:.4f} m3 in {} starts, day {:.4f} m3 in {}, {:.2f} % apart\n", name, from_h,
                   out.live_m3, out.live_starts, out.day_m3, out.day_starts, 100 * out.apart());
    return out;
}

}  // namespace

TEST_CASE("live run and day bring the same water through a cloudy hour, within two per cent", "[.soak]") {
    for (const char* name : {"hill-orchard", "terrace-pwm"}) {
        const Hour h = hour_of_clouds(name, 11.0, 3600.0);
        INFO(name << ": live " << h.live_m3 << " m3, day " << h.day_m3 << " m3");
        CHECK(h.live_m3 > 1.0);
        CHECK(h.apart() < 0.02);
    }
}
