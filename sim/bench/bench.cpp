#include "bench/bench.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "circuit/circuit.hpp"
#include "trace/statistics.hpp"
#include "site/keys.hpp"

namespace sunshaft::bench {
namespace {

bool on_output(const std::string& point) {
    for (const char* stem : {"drive.", "lead.", "cable.", "motor."})
        if (point.rfind(stem, 0) == 0) return true;
    return false;
}

bool on_array(const std::string& point) {
    return point.rfind("array", 0) == 0 || point.rfind("iso.in", 0) == 0 || (point.size() > 1 && point[0] == 's' && std::isdigit(point[1]));
}

site::BadInput no_point(const std::string& name) {
    return site::BadInput(fmt::format("{}: no such test point on this site, expected one that `sunshaft points` lists", name));
}

}  // namespace

Bench::Bench(Scenario scenario, const Edits& edits) : base_(std::move(scenario)) {
    Edits all = edits;
    const auto planted = site::planted_faults(base_, site::set_up(base_));
    all.faults.insert(all.faults.begin(), planted.begin(), planted.end());
    edits_ = all;
    compile();
    state_ = plant_->start();
    plant_->open_account(state_);
}

void Bench::compile() {
    Scenario scenario = base_;
    site::set_keys(scenario, edits_.set);
    std::vector<site::Fault> faults;
    for (const auto& f : edits_.faults)
        if (f.start <= state_.t) faults.push_back(f);
    std::vector<site::Act> acts;
    for (const auto& a : edits_.acts)
        if (a.time <= state_.t) acts.push_back(a);
    std::vector<site::MeterLoad> loads;
    if (meter_ohm_ > 0.0 && !probes_.red.empty() && !probes_.black.empty()) loads.push_back({probes_.red, probes_.black, meter_ohm_});
    auto site = site::compile_site(scenario, faults, acts, loads);
    auto plant = std::make_unique<plant::Plant>(site);
    scenario_ = std::move(scenario);
    site_ = std::move(site);
    const bool running = plant_ != nullptr;
    plant_ = std::move(plant);
    if (running) plant_->adopt(state_);
}

void Bench::edit(const Edits& edits) {
    const Edits before = edits_;
    edits_ = edits;
    try {
        // Those still to come are checked now, not when their time is there.
        const site::Works works = site::set_up(base_);
        for (const auto& f : edits.faults) { site::Works w = works; site::apply(w, f); }
        for (const auto& a : edits.acts) { site::Works w = works; site::apply(w, a); }
        compile();
    } catch (...) {
        edits_ = before;
        throw;
    }
}

void Bench::connect(const Probes& probes, double meter_ohm) {
    if (probes == probes_ && meter_ohm == meter_ohm_) return;
    const Probes before = probes_;
    const double ohm = meter_ohm_;
    probes_ = probes;
    meter_ohm_ = meter_ohm;
    try {
        for (const std::string* name : {&probes.red, &probes.black})
            if (!name->empty()) plant::signal(*site_, *name);
        compile();
    } catch (...) {
        probes_ = before;
        meter_ohm_ = ohm;
        throw;
    }
}

double Bench::next_change() const {
    double t = std::numeric_limits<double>::infinity();
    for (const auto& f : edits_.faults)
        if (f.start > state_.t) t = std::min(t, f.start);
    for (const auto& a : edits_.acts)
        if (a.time > state_.t) t = std::min(t, a.time);
    return t;
}

void Bench::advance(double seconds, plant::Recorder* recorder) {
    const double until = state_.t + seconds;
    while (state_.t < until) {
        const double change = next_change(), stop = std::min(until, change);
        if (recorder) plant_->advance(state_, stop, *recorder);
        else plant_->advance(state_, stop);
        state_.t = stop;
        if (stop == change) compile();
    }
}

plant::Settled Bench::settle(double longest, const std::function<bool(double)>& progress) {
    for (double t = next_change(); std::isfinite(t); t = next_change()) advance(t - state_.t);
    return plant::settle(*plant_, state_, longest, progress);
}

bool Bench::still() {
    if (site_->works.supply.kind == site::Supply::Kind::mains || state_.command.running) return false;
    const double least = 1e-4 * plant::reference(*site_)[plant::i_alpha];
    return std::abs(state_.x[plant::speed]) < 0.5 && std::abs(state_.x[plant::i_alpha]) < least &&
           std::abs(state_.x[plant::i_beta]) < least;
}

double Bench::still_voltage(const std::string& red, const std::string& black, double meter_ohm) {
    circuit::Circuit c = site_->wiring;
    const auto a = c.find(red), b = c.find(black);
    if (!a) throw no_point(red);
    if (!b) throw no_point(black);
    const double link = state_.x[plant::v_cap];
    if (link > 1.0) c.voltage_source(c.node("link+"), c.node("link-"), link, std::max(1e-3, site_->works.link.esr_ohm));
    if (meter_ohm > 0.0 && std::isfinite(meter_ohm)) c.resistor(*a, *b, meter_ohm);
    const double v = circuit::solve(c).voltage(*a, *b);
    return std::isfinite(v) ? v : 0.0;  // nothing between the two islands: the meter's own resistance pulls them together
}

meter::Context Bench::context(const Probes& probes) {
    meter::Context c;
    const site::Works& w = site_->works;
    c.red = probes.around.empty() ? probes.red : probes.around;
    c.black = probes.black;
    const double f = plant::fundamental(*plant_, state_);
    if (f > 0.5 && !still()) c.fundamental_Hz = f;
    const bool switching = state_.command.running;
    const auto m = w.drive.modulation;
    const bool six_step = m == site::Modulation::six_step_180 || m == site::Modulation::six_step_120;
    const bool chopped = six_step ? state_.command.amplitude < 1.0 : m != site::Modulation::ideal_sine;
    if (switching && chopped) c.carrier_Hz = w.drive.carrier;
    if (w.supply.kind != site::Supply::Kind::mains) c.link_V = plant_->look(state_).nodes.link;
    c.output = on_output(probes.red) || on_output(probes.black);
    c.from_array = w.supply.kind == site::Supply::Kind::array && (on_array(probes.red) || on_array(probes.black));
    c.ideal_six_step = six_step && !chopped;
    const double open = w.supply.kind == site::Supply::Kind::mains ? w.supply.voltage : site_->source.open_V;
    c.earth_V = open;
    c.live = !still() || (w.supply.kind != site::Supply::Kind::mains && state_.x[plant::v_cap] > 1.0) ||
             (c.from_array && w.array.sunlight() > 1.0);
    return c;
}

meter::Reading Bench::read(const meter::Spec& spec, meter::Mode mode, const Probes& probes, meter::Context extra) {
    meter::Context c = context(probes);
    c.keep_waves = extra.keep_waves;
    c.manual_range = extra.manual_range;
    c.test_V = extra.test_V;
    c.temperature_degC = extra.temperature_degC;
    const bool clamp = meter::takes_clamp(mode);
    if (meter::drives_circuit(mode)) {
        const auto a = site_->wiring.find(probes.red), b = site_->wiring.find(probes.black);
        if (!a) throw no_point(probes.red);
        if (!b) throw no_point(probes.black);
        circuit::Circuit wiring = site_->wiring;
        const double link = state_.x[plant::v_cap];
        if (link > 1.0) wiring.voltage_source(wiring.node("link+"), wiring.node("link-"), link, std::max(1e-3, site_->works.link.esr_ohm));
        meter::Passive p;
        plant::Recorder recorder({plant::signal(*site_, probes.red + ":" + probes.black)});
        if (!still()) advance(0.1, &recorder);
        const trace::Trace standing = recorder.recording.signal(0);
        const auto s = trace::statistics(standing);
        if (std::isfinite(s.rms) && s.rms > 1e-3) {
            // A live circuit: what stands there drives the ohmmeter as well.
            const double ohm = circuit::Solver(wiring).resistance_between(*a, *b);
            p = meter::resistance(std::max(1e-3, ohm), s.mean);
            p.ac_rms = s.rms_ac;
        } else {
            const auto source = wiring.voltage_source(*a, *b, 0.0, 1e-3);
            const auto solver = std::make_shared<circuit::Solver>(wiring);
            p.current = [solver, source](double volt) {
                const double i = solver->solve_with(source, volt).current(source);
                return std::isfinite(i) ? -i : 0.0;
            };
            c.live = c.live && std::abs(p.current(0.0)) > 1e-9;
        }
        meter::Reading r = meter::read(spec, mode, p, c);
        const auto more = cautions(*site_, probes, mode);
        r.cautions.insert(r.cautions.begin(), more.begin(), more.end());
        return r;
    }
    trace::Trace wave;
    std::vector<std::string> notes;
    if (still() && !clamp) {
        const double v = still_voltage(probes.red, probes.black, meter::input_resistance(spec, mode));
        wave = {{0.0, 1.0, v, v}};
    } else {
        connect(clamp ? Probes{} : probes, clamp ? 0.0 : meter::input_resistance(spec, mode));
        const std::string name = clamp ? "around." + probes.around : probes.red + ":" + probes.black;
        plant::Recorder recorder({plant::signal(*site_, name)});
        plant_->advance_turns(state_, 0.2, recorder);
        wave = recorder.recording.signal(0);
        bool loose = false;
        for (trace::Segment& s : wave)
            if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) s.y0 = s.y1 = 0.0, loose = true;
        if (loose) notes.push_back(fmt::format("{} and {} hang on nothing common: the meter's own resistance pulls them together", probes.red, probes.black));
    }
    meter::Reading r = meter::read(spec, mode, wave, c);
    r.warnings.insert(r.warnings.end(), notes.begin(), notes.end());
    const auto more = cautions(*site_, probes, mode);
    r.cautions.insert(r.cautions.begin(), more.begin(), more.end());
    return r;
}

Bench::Gauge Bench::gauge(const std::string& name) {
    const plant::Instant now = plant_->look(state_);
    const site::Works& w = site_->works;
    if (name == "flow") return {now.flow, "m3/s", "bucket and watch at the outlet"};
    if (name == "head") {
        // Gauge at the wellhead: what the outlet above it and the main's friction ask.
        const double head = now.flow > 0.0 ? w.water.outlet_height + site_->main_loss(now.flow) : w.water.outlet_height;
        return {head, "m", "pressure gauge at the wellhead"};
    }
    if (name == "water") return {state_.water_level, "m", "dip tape, below ground"};
    if (name == "sun") return {w.array.sunlight(), "W/m2", "irradiance meter in the module plane"};
    if (name == "module_temp") return {w.array.module_degC, "degC", "infrared thermometer on a module"};
    throw site::BadInput(fmt::format("{}: no such gauge, expected flow, head, water, sun or module_temp", name));
}

std::vector<std::string> cautions(const site::Site& site, const Probes& probes, meter::Mode mode) {
    std::vector<std::string> list = {"Only for those trained for it; the local electrical code and licensed practice come first."};
    const bool array = on_array(probes.red) || on_array(probes.black) || on_array(probes.around);
    const bool output = on_output(probes.red) || on_output(probes.black);
    const bool dead = meter::drives_circuit(mode);
    const double open = site.works.supply.kind == site::Supply::Kind::mains ? site.works.supply.voltage : site.source.open_V;
    if (array || dead)
        list.push_back("The isolator does not switch modules off: in light they stay live. Cover the array; part connectors only unloaded, never under load.");
    if (dead)
        list.push_back("This test belongs on a dead circuit: stop the drive, isolate, lock and tag, cover the array, wait for the link to "
                       "discharge, then prove dead: tester, circuit, tester again. Dark lamps prove nothing.");
    if (dead && output) list.push_back("Wait until the pump stands still: water running back can turn the motor and make voltage on pulled wires.");
    if (mode == meter::Mode::insulation)
        list.push_back("Disconnect the drive and surge arresters before an insulation test, and discharge the circuit after it.");
    if (!dead && open > 60.0)
        list.push_back(fmt::format("Up to {:.0f} V stands here: meter and leads rated for the category and this voltage, no bare hands, one lead at a time.", open));
    if (!dead && output)
        list.push_back("The output is a switched wave from a live link: keep covers on until the leads are placed with the drive isolated.");
    return list;
}

}  // namespace sunshaft::bench
