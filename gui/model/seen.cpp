#include "model/seen.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace sunshaft::view {
namespace {

// The way through the meter would tell what is wrong with it or with the hand that holds it; and if it were closed for
// those faults alone, that it is closed would tell.
std::shared_ptr<const meter::Reading> display_only(const std::shared_ptr<const meter::Reading>& reading) {
    if (!reading) return reading;
    auto out = std::make_shared<meter::Reading>(*reading);
    out->truth = {};
    out->stages.clear();
    out->reasons.clear();
    out->figures.clear();
    out->warnings.clear();
    return out;
}

}  // namespace

Snapshot seen(const Snapshot& all) {
    constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
    Snapshot s = all;
    s.hidden = true;
    for (MeterFace& face : s.meters) face.reading = display_only(face.reading), face.expected.reset();
    s.clamp_expected.reset();
    s.clamp = display_only(s.clamp);
    s.edits.faults.clear();
    s.faulty = false;
    s.site = all.plain_site ? all.plain_site : all.site;
    s.healthy = {};
    s.healthy_power = {};
    s.twin.reset();
    s.power = {};
    for (Wave& w : s.waves) w.healthy = nullptr, w.healthy_rms.reset();
    s.healthy_spectra.clear();
    s.healthy_volt_phasor = s.healthy_amp_phasor = {};
    s.healthy_fundamental_Hz = 0.0;
    s.healthy_volt_path.clear();
    s.healthy_amp_path.clear();
    s.healthy_array_current = s.healthy_array_power = s.healthy_pump_curve = s.healthy_main_curve = {};
    s.flux_path.clear();
    s.healthy_flux_path.clear();
    s.signature.reset();
    s.string_amps.clear();
    s.point_V.clear();
    s.turn.reset();
    s.splice = {};
    s.array_current = s.array_power = s.pump_curve = s.main_curve = {};
    s.array_V = s.array_A = s.best_V = s.best_W = unknown;
    s.winding_degC = s.pump_degC = s.heat_sink_degC = s.pump_damage = unknown;
    std::erase_if(s.events, [](const Event& e) { return e.kind == Event::Kind::fault; });
    return s;
}

DayView seen(const DayView& all) {
    DayView v = all;
    v.hidden = true;
    v.faulty = false;
    v.site = nullptr;
    v.most_power = v.most_flow = v.most_water = 0.0;
    if (v.healthy) {
        for (const double w : v.healthy->power_W) v.most_power = std::max(v.most_power, w);
        for (const double f : v.healthy->flow_m3_h) v.most_flow = std::max(v.most_flow, f);
        v.most_water = v.healthy->dusk_m3;
    }
    v.year_most_m3 = 0.0;
    if (v.year) {
        auto days = std::make_shared<std::vector<YearDay>>(*v.year);
        for (YearDay& d : *days) d.site_m3 = d.healthy_m3, v.year_most_m3 = std::max(v.year_most_m3, d.healthy_m3);
        v.year = std::move(days);
    }
    for (MonthWater& m : v.months) m.site_m3 = m.healthy_m3;
    return v;
}

std::vector<bench::Hazard> hazards_of(const bench::Scene& scene, const Snapshot& s) {
    const meter::Mode mode = s.meters[0].mode;
    std::vector<bench::Hazard> list = bench::needs(scene, s.probes, mode);
    for (const MeterFace& face : s.meters)
        if (face.meter && face.meter->has(mode))
            list = bench::joined(std::move(list), bench::needs(scene, s.probes, mode, face.meter.get()));
    return list;
}

Snapshot unread(Snapshot s) {
    constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
    for (Wave& w : s.waves) w.rms.reset();
    s.spectra.clear();
    s.volt_sequence = s.amp_sequence = {};
    s.volt_phasor = s.amp_phasor = {};
    s.volt_path.clear();
    s.amp_path.clear();
    s.means.link = s.now.nodes.link = unknown;
    // Some causes name a voltage.
    s.drive_display = {};
    s.now.control.logged = 0;
    std::erase_if(s.events, [](const Event& e) { return e.kind == Event::Kind::drive; });
    return s;
}

Snapshot outside(const Snapshot& all) {
    Snapshot s = seen(all);
    s.sealed = true;
    // Water by eye, as bench/senses.cpp has it; the depth of a tank to a tenth.
    constexpr double trickle_m3_h = 5.0 * 0.06, drop_m3_h = 0.06;
    const double flow = s.flow_m3_h;
    s.flow_m3_h = flow < drop_m3_h ? 0.0 : flow < trickle_m3_h ? 0.2 : 1.0;
    s.tank_fill = std::round(10.0 * s.tank_fill) / 10.0;
    s.water_level_m = s.site->scenario.well.static_level_m;
    s.static_head_m = s.head_m = 0.0;
    // Cautions are told from the site as it is written: the state of what is wrong with it would tell.
    const bench::Scene written = all.twin                   ? bench::scene(*s.site, all.twin->now)
                                 : all.edits.faults.empty() ? bench::scene(*s.site, all.now)
                                                            : bench::scene(s.site->works);
    s.cautions = bench::words(bench::at_most(hazards_of(written, s), *written.works));
    s.now = {};
    s.means = {};
    s.array_warmth.reset();
    s.drive_display = {};
    s.volt_phasor = s.amp_phasor = {};
    s.volt_sequence = s.amp_sequence = {};
    s.fundamental_Hz = 0.0;
    s.volt_path.clear();
    s.amp_path.clear();
    // The scope shows where the leads lie and nothing else; the spectrum the same.
    const auto elsewhere = [&](const auto& of) {
        const bool pair =
            !s.probes.red.empty() && !s.probes.black.empty() && of.name == s.probes.red + ":" + s.probes.black;
        return !pair && (s.probes.around.empty() || of.name != "around." + s.probes.around);
    };
    std::erase_if(s.waves, elsewhere);
    std::erase_if(s.spectra, elsewhere);
    std::erase_if(s.events, [](const Event& e) { return e.kind != Event::Kind::hands; });
    // How hard the computation finds it is no business of a learner's.
    s.achieved_rate = s.wanted_rate;
    s.keeps_up = true;
    s.failure.clear();
    return s;
}

}  // namespace sunshaft::view
