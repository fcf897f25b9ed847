#include "teach/site_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "day/run.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

using text::say, text::tr;

constexpr double step_s = 600.0;

using Facts = std::vector<std::pair<std::string, std::string>>;

std::string metres(double x) { return text::quantity(x, "m", 3); }

std::string modulation_words(drive::Modulation m) {
    switch (m) {
        case drive::Modulation::six_step_180: return tr("square-wave output in six steps, blocks of 180 degrees");
        case drive::Modulation::six_step_120: return tr("square-wave output in six steps, blocks of 120 degrees");
        case drive::Modulation::sine_triangle: return tr("pulses for a sine (PWM)");
        case drive::Modulation::third_harmonic: return tr("pulses for a sine with third harmonic (PWM)");
        case drive::Modulation::space_vector: return tr("pulses for a sine by space vector (PWM)");
        case drive::Modulation::ideal_sine: return tr("an ideal sine");
    }
    return "";
}

Facts facts(const Scenario& s, const site::Works& works) {
    Facts list;
    const day::Array lies(s);
    day::ArraySide array(works);
    const day::Curve full = array.at(1000.0, 25.0);
    list.emplace_back(tr("Array"), say("{} x {} modules in series; {} at the drive in 1000 W/m2 at 25 degC, {}",
                                       works.array.strings.size(), works.array.strings.front().modules.size(),
                                       text::quantity(full.power(full.most_V()), "W", 3), lies.lies()));
    if (works.supply.second.fitted) {
        const std::string volts = text::quantity(s.supply.second_voltage_V, "V", 3);
        list.emplace_back(tr("Second supply"),
                          works.supply.second.mains
                              ? say("mains, {} line to line, behind a change-over switch", volts)
                              : say("generator, {} line to line, behind a change-over switch", volts));
    }
    list.emplace_back(tr("Run to the drive"),
                      say("{} of {} mm²", metres(s.dc_run.length_m), text::quantity(s.dc_run.conductor_mm2, "", 3)));
    std::string drive =
        say("{}, up to {}", modulation_words(works.drive.modulation), text::quantity(s.drive.frequency_Hz, "Hz", 3));
    if (s.drive.start_voltage_V > 0.0)
        drive += say("; starts from {}", text::quantity(s.drive.start_voltage_V, "V", 3));
    if (s.link.overvoltage_V > 0.0) drive += say("; trips above {}", text::quantity(s.link.overvoltage_V, "V", 3));
    list.emplace_back(tr("Drive"), drive);
    std::string motor = tr(s.motor.kind);
    if (s.drive.motor_current_A > 0.0) motor += say(", {} rated", text::quantity(s.drive.motor_current_A, "A", 3));
    list.emplace_back(tr("Motor"), say("{}; pump cable {} of {} mm²", motor, metres(s.drop_cable.length_m),
                                       text::quantity(s.drop_cable.conductor_mm2, "", 3)));
    if (works.water.pump.index() != 0) {
        list.emplace_back(tr("Pump"), say("{}, at {}", tr(s.pump.kind), metres(s.well.pump_depth_m)));
        list.emplace_back(tr("Well"),
                          say("{} deep; water at rest {} down, {} lower for each m3/h", metres(s.well.bore_depth_m),
                              metres(s.well.static_level_m), metres(s.well.drawdown_m_per_m3_h)));
        list.emplace_back(tr("Main and tank"),
                          say("{} of {} mm; tank of {}, {} above ground", metres(s.rising_main.length_m),
                              text::quantity(s.rising_main.diameter_mm, "", 3),
                              text::quantity(s.tank.volume_m3, "m3", 3), metres(s.tank.height_m)));
    }
    return list;
}

// Water into the tank by months of the calendar; days of them with data.
struct Months {
    std::array<double, 12> m3{}, days{};
};
Months months(const Scenario& s, const day::Weather& weather) {
    day::Averager averager(s, {});
    day::Options options;
    options.longest_step = step_s;
    const day::Result r = day::run(averager, day::moments(weather, day::Array(s), step_s), options);
    Months out;
    for (const day::Day& d : r.days) {
        const double share = 1.0 - std::min(1.0, d.gap_s / 86400.0);
        if (share < 0.5) continue;  // too little of it is known
        const auto n = static_cast<std::size_t>(d.date.month - 1);
        out.m3[n] += d.water_m3, out.days[n] += share;
    }
    return out;
}

}  // namespace

SiteReport site_report(const Scenario& s, const day::Weather& weather) {
    day::check(s);
    SiteReport r;
    r.sheet = expected(s, {}, SheetMeters::usual());
    r.facts = facts(s, r.sheet.works);
    r.need_m3_day = s.tank.need_m3_day;
    r.fit = day::fit(s);
    r.suggestion = day::suggest(s);
    const bool given = !weather.rows.empty();
    const day::Weather clear = given ? weather : day::clear_sky(s, {2026, 1, 1}, 365, step_s);
    const Months most = months(s, clear);
    const Months least = given ? most : months(s, day::under(day::shipped_skies().sky("hazy"), clear));
    r.weather = given ? weather.source
                      : tr("cloudless days and for hazy days all the year; a real year brings less than cloudless");
    for (std::size_t n = 0; n < 12; ++n) {
        r.months[n].days = most.days[n];
        if (most.days[n] > 0.0) {
            // A tank that is full every day is as full under haze, give or take where its float falls.
            std::tie(r.months[n].least_m3, r.months[n].most_m3) =
                std::minmax({least.m3[n] / std::max(least.days[n], 1e-9), most.m3[n] / most.days[n]});
        }
        r.least_year_m3 += least.m3[n], r.most_year_m3 += most.m3[n];
    }
    return r;
}

}  // namespace sunshaft::teach
