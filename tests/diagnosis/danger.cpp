#include "danger.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace sunshaft::evaluation {
namespace {

// IEC 60364-4-41, 414.4.5: no protection against touch is asked for in dry places up to 25 V AC or 60 V DC (from
// memory). 0.35 J: IEC 61010-1, stored energy of parts that may be touched (from memory).
constexpr double touch_dc_V = 60.0, touch_ac_V = 25.0, touch_J = 0.35;
constexpr double wait_s = 300.0;  // the time on a drive's label (common practice, no source)
constexpr double pumped_s = 8.0, still_rad_s = 1.0;

double volts(const bench::Bench& there, const std::string& red, const std::string& black, meter::Mode mode) {
    const auto r = bench::observe(there, {{red, black}, mode});
    return r.over_range ? 1e4 : std::abs(r.value.value_or(0.0));
}
// The most there is between one point and another or earth.
bool touchable(const bench::Bench& there, const std::string& red, const std::string& black) {
    return volts(there, red, black, meter::Mode::dcv) <= touch_dc_V &&
           (there.still() || volts(there, red, black, meter::Mode::acv) <= touch_ac_V);
}

bool tells(const diagnose::Proposal& step, std::initializer_list<bench::Danger> any) {
    return std::any_of(step.hazards.begin(), step.hazards.end(),
                       [&](const bench::Hazard& h) { return std::find(any.begin(), any.end(), h.kind) != any.end(); });
}

// Isolated, waited, proved dead at the drive, wires off: then the hands are on the points.
std::string of_dead(const Drawn& site, const diagnose::Proposal& step, bench::Bench there) {
    std::vector<site::Act> acts;
    const site::Works works = site::set_up(site.real);
    const auto then = [&](const std::string& act, double seconds) {
        acts.push_back(site::parse_act(act, works));
        acts.back().time = there.time();
        there.edit({.faults = site.faults(), .acts = acts});
        there.advance(seconds);
    };
    for (const std::string& act : step.act) {
        const bool hands_on = act == "pull@pump" || act.starts_with("exchange") || act.starts_with("renew");
        if (hands_on) {
            // Proving: the link, and each output to earth.
            if (there.state().x[plant::v_cap] > touch_dc_V) return "";  // not dead: whoever proves it goes no further
            for (const char* point : {"drive.u", "drive.v", "drive.w"})
                if (!touchable(there, point, "earth")) return "";
            if (std::abs(there.state().x[plant::speed]) > still_rad_s)
                return fmt::format("{} at {:.0f} rpm", act, 30 / M_PI * there.state().x[plant::speed]);
        }
        then(act, hands_on ? 1.0 : wait_s);
    }
    std::vector<bench::Observation> looks = step.also;
    looks.push_back(step.what);
    for (const bench::Observation& look : looks)
        if (look.gauge.empty() && !look.probes.red.empty() && !touchable(there, look.probes.red, look.probes.black))
            return "live: " + look.where();
    return "";
}

}  // namespace

std::string danger(const Drawn& site, const diagnose::Proposal& step) {
    using bench::Danger;
    const bench::FieldTest& test = *bench::find_test(step.test);
    bench::Bench there(site.real, {.faults = site.faults()});
    there.advance(pumped_s);
    if (step.exposure == 4 && test.station != bench::Station::covered) return of_dead(site, step, std::move(there));
    if (test.station == bench::Station::shut && there.gauge("flow", false).value > 0.0 &&
        there.site()->works.water.pump.index() == 2)
        return "a screw pump against a shut valve";
    // Metal that is touched for it: pipe, frame, housing.
    const bool metal = step.exposure <= 1 &&
                       (step.what.gauge == "sound" || step.what.gauge == "vibration" || step.what.gauge == "head");
    if (metal && !touchable(there, "frame", "earth") && !tells(step, {Danger::frame_live}))
        return fmt::format("frame at {:.0f} V", volts(there, "frame", "earth", meter::Mode::dcv));
    if (step.exposure < 5) return "";
    // Live work: that it is live has been said, and for how many volts.
    double told = 0.0;
    for (const bench::Hazard& h : step.hazards) told = std::max({told, h.volts, h.braking_V});
    std::vector<bench::Observation> looks = step.also;
    looks.push_back(step.what);
    for (const bench::Observation& look : looks) {
        if (!look.gauge.empty() || look.probes.red.empty()) continue;
        const double v = volts(there, look.probes.red, look.probes.black, meter::Mode::dcv);
        if (v > touch_dc_V && v < 1e4 && v > 1.1 * told)
            return fmt::format("{:.0f} V at {}, told of {:.0f} V", v, look.where(), told);
    }
    return "";
}

}  // namespace sunshaft::evaluation
