#include "model/desk_alter.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::view {
namespace {

trace::Trace grown(const trace::Trace& t, double factor) { return trace::scaled(t, factor); }

meter::Reading& own(std::shared_ptr<const meter::Reading>& reading) {
    auto copy = std::make_shared<meter::Reading>(*reading);
    reading = copy;
    return *copy;
}

// Of the present instant of the last turn.
double& now_in(Snapshot& s, const std::string& signal) {
    auto copy = std::make_shared<Turn>(*s.turn);
    s.turn = copy;
    trace::Recording& r = copy->rows;
    const auto n = static_cast<std::size_t>(std::find(r.names.begin(), r.names.end(), signal) - r.names.begin());
    return r.y1.at(n).back();
}

// Nothing of the live run: the day's figures alone.
void nothing(Snapshot&) {}
DayLine& own(std::shared_ptr<const DayLine>& line) {
    auto copy = std::make_shared<DayLine>(*line);
    line = copy;
    return *copy;
}
void scale(std::vector<double>& y, double factor) {
    for (double& v : y) v *= factor;
}

void grow(Wave& w, double factor) { w.trace = std::make_shared<const trace::Trace>(grown(*w.trace, factor)); }

}  // namespace

const std::vector<Alteration>& alterations() {
    static const std::vector<Alteration> all = {
        {"meter 1", "meters", [](Snapshot& s) { own(s.meters[0].reading).shown = "123.4 V"; }},
        {"meter 2", "meters",
         [](Snapshot& s) {
             own(s.meters[1].reading).shown = "OL";
             own(s.meters[1].reading).over_range = true;
         }},
        {"meter's range", "meters",
         [](Snapshot& s) {
             own(s.meters[0].reading).range = 60.0;
             s.meters[0].full_scale = 60.0;
         }},
        {"clamp", "meters", [](Snapshot& s) { own(s.clamp).shown = "3.21 A"; }},
        {"stage number", "inside", [](Snapshot& s) { own(s.meters[0].reading).stages[2].number *= 0.5; }},
        {"stage wave", "inside",
         [](Snapshot& s) {
             for (auto& stage : own(s.meters[0].reading).stages)
                 if (stage.name == "bandwidth") stage.wave = grown(stage.wave, 0.5);
         }},
        {"truth", "inside", [](Snapshot& s) { own(s.meters[0].reading).truth.rms = 111.1; }},
        {"reason", "inside", [](Snapshot& s) { own(s.meters[0].reading).reasons[0] = "Altered."; }},
        {"wave", "strip Scope", [](Snapshot& s) { grow(s.waves[0], 0.5); }},
        {"healthy wave", "strip Scope",
         [](Snapshot& s) { s.waves[1].healthy = std::make_shared<const trace::Trace>(grown(*s.waves[1].trace, 0.5)); }},
        {"between turns", "strip Scope", [](Snapshot& s) { s.waves[1].rms = 1.234; }},
        {"healthy line", "strip Spectrum",
         [](Snapshot& s) {
             s.healthy_spectra = s.spectra;
             for (auto& one : s.healthy_spectra)
                 for (auto& line : one.lines) line.rms *= 0.3;
         }},
        {"spectral line", "strip Spectrum", [](Snapshot& s) { s.spectra[0].lines[4].rms *= 0.1; }},
        {"ripple", "strip Spectrum",
         [](Snapshot& s) {
             if (s.signature) s.signature->ripple[1][2] = 0.77;
         }},
        {"sidebands", "strip Spectrum",
         [](Snapshot& s) {
             if (s.signature) s.signature->sidebands = trace::Sidebands{50, 0.05, 44, 56, -33, -34, 1};
         }},
        {"distortion", "strip Spectrum", [](Snapshot& s) { s.spectra[0].thd = 0.777; }},
        {"healthy phasor", "strip Phasors",
         [](Snapshot& s) {
             s.healthy_amp_phasor = s.amp_phasor;
             s.healthy_amp_phasor[1] *= 0.5;
         }},
        {"phasor", "strip Phasors", [](Snapshot& s) { s.amp_phasor[1] *= 0.5; }},
        {"sequence", "strip Phasors", [](Snapshot& s) { s.volt_sequence[2] = 40.0; }},
        {"voltage path", "strip Space vector",
         [](Snapshot& s) {
             for (std::size_t k = 0; k < s.volt_path.size() / 3; ++k) s.volt_path[k][0] *= 0.5;
         }},
        {"current path", "strip Space vector",
         [](Snapshot& s) {
             for (auto& v : s.amp_path) v[1] *= 0.5;
         }},
        {"healthy path", "strip Space vector",
         [](Snapshot& s) {
             s.healthy_amp_path = s.amp_path;
             for (auto& v : s.healthy_amp_path) v[1] *= 0.5;
         }},
        {"healthy pump curve", "strip Curves",
         [](Snapshot& s) {
             s.healthy_pump_curve = s.pump_curve;
             for (double& y : s.healthy_pump_curve.y) y *= 0.8;
         }},
        {"healthy array curve", "strip Curves",
         [](Snapshot& s) {
             s.healthy_array_current = s.array_current;
             for (double& y : s.healthy_array_current.y) y *= 0.7;
         }},
        {"array curve", "strip Curves",
         [](Snapshot& s) {
             for (double& y : s.array_current.y) y *= 0.7;
         }},
        {"array's point", "strip Curves", [](Snapshot& s) { s.array_V *= 0.6; }},
        {"pump's point", "strip Curves", [](Snapshot& s) { s.flow_m3_h *= 0.5; }},
        {"pump curve", "strip Curves",
         [](Snapshot& s) {
             for (double& y : s.pump_curve.y) y *= 0.8;
         }},
        {"day's sun", "strip Day", nothing, [](DayView& v) { scale(v.sun_W_m2, 0.6); }},
        {"day's power", "strip Day", nothing, [](DayView& v) { scale(own(v.site).power_W, 0.6); }},
        {"day's flow", "strip Day", nothing, [](DayView& v) { scale(own(v.site).flow_m3_h, 0.6); }},
        {"day's water", "strip Day", nothing, [](DayView& v) { scale(own(v.site).water_m3, 0.6); }},
        {"water by dusk", "strip Day", nothing, [](DayView& v) { own(v.healthy).dusk_m3 = 12.3; }},
        {"healthy day", "strip Day", nothing,
         [](DayView& v) {
             v.faulty = true;
             scale(own(v.healthy).flow_m3_h, 0.6);
         }},
        {"lost water", "strip Day", nothing,
         [](DayView& v) {
             v.faulty = true;
             own(v.site).dusk_m3 *= 0.5;
         }},
        {"clock", "strip Day",
         [](Snapshot& s) {
             auto site = std::make_shared<site::Site>(*s.site);
             site->scenario.sun.time_of_day = "09:05";
             s.site = std::move(site);
         }},
        {"drive's state", "strip Drive", [](Snapshot& s) { s.now.control.phase = drive::Phase::locked; }},
        {"event", "strip Drive",
         [](Snapshot& s) {
             s.events.push_back({s.t, "altered"});
         }},
        {"heat sink", "strip Drive", [](Snapshot& s) { s.heat_sink_degC = 99.0; }},
        {"leg", "strip Inside the drive",
         [](Snapshot& s) {
             double& mode = now_in(s, "leg.u");
             mode = mode == 0.0 ? 1.0 : 0.0;
         }},
        {"diode", "strip Inside the drive", [](Snapshot& s) { now_in(s, "leg.v") = 3.0; }},
        {"leg current", "strip Inside the drive", [](Snapshot& s) { now_in(s, "around.w") *= -1.0; }},
        {"link now", "strip Inside the drive", [](Snapshot& s) { now_in(s, "link_V") = 211.0; }},
        {"field", "strip Inside the drive", [](Snapshot& s) { now_in(s, "flux_beta_Wb") += 0.5; }},
        {"step", "strip Inside the drive",
         [](Snapshot& s) {
             auto copy = std::make_shared<Turn>(*s.turn);
             copy->angle += 2.0;
             s.turn = copy;
         }},
        {"legs before", "strip Inside the drive",
         [](Snapshot& s) {
             auto copy = std::make_shared<Turn>(*s.turn);
             auto& r = copy->rows;
             const auto n = std::find(r.names.begin(), r.names.end(), "leg.u") - r.names.begin();
             std::fill(r.y0.at(static_cast<std::size_t>(n)).begin(), r.y0.at(static_cast<std::size_t>(n)).end(), 0.0);
             s.turn = copy;
         }},
        {"rung", "strip Ladder", [](Snapshot& s) { now_in(s, "drive.w") += 90.0; }},
        {"link's rung", "strip Ladder", [](Snapshot& s) { now_in(s, "link_V") *= 0.8; }},
        {"floating", "strip Ladder", [](Snapshot& s) { now_in(s, "leg.w") = 4.0; }},
        {"star's rung", "strip Ladder", [](Snapshot& s) { now_in(s, "star_V") += 40.0; }},
        {"display below", "strip Ladder", [](Snapshot& s) { own(s.meters[0].reading).shown = "123.4 V"; }},
        {"lamp", "cutaway", [](Snapshot& s) { s.lamps[0].on = !s.lamps[0].on; }},
        {"link", "cutaway", [](Snapshot& s) { s.means.link = 123.0; }},
        {"string current", "cutaway", [](Snapshot& s) { s.string_amps[0] = 1.23; }},
        {"splice current", "cutaway", [](Snapshot& s) { s.splice[1].amps = 1.23; }},
        {"splice ohms", "cutaway", [](Snapshot& s) { s.splice[1].ohms = 3.3; }},
        {"splice warmth", "cutaway", [](Snapshot& s) { s.splice[1].kelvin = 55.0; }},
        {"power", "cutaway", [](Snapshot& s) { s.power[plant::in_cable] *= 5.0; }},
        {"flux", "cutaway",
         [](Snapshot& s) {
             for (auto& v : s.flux_path) v[0] *= 0.6;
         }},
        {"rotor", "cutaway", [](Snapshot& s) { s.now.speed *= 0.5; }},
        {"winding", "cutaway", [](Snapshot& s) { s.winding_degC = 140.0; }},
        {"water level", "cutaway", [](Snapshot& s) { s.water_level_m += 6.0; }},
        {"tank", "cutaway", [](Snapshot& s) { s.tank_fill = 0.9; }},
        {"flow", "cutaway", [](Snapshot& s) { s.flow_m3_h = 1.1; }},
        {"rate", "top",
         [](Snapshot& s) {
             s.achieved_rate = 0.31;
             s.keeps_up = false;
         }},
        {"time", "top", [](Snapshot& s) { s.t += 100.0; }},
    };
    return all;
}

}  // namespace sunshaft::view
