// The sheets of a snapshot and its last turn: the same for the site and for its healthy twin.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "model/figures.hpp"

namespace sunshaft::view {

namespace {

// What each leg did in every row; in the last one the state itself knows.
void add_legs(Turn& turn, const drive::Bridge& bridge, const plant::State& now) {
    trace::Recording& r = turn.rows;
    const auto column = [&](const std::string& name) {
        return static_cast<std::size_t>(std::find(r.names.begin(), r.names.end(), name) - r.names.begin());
    };
    const std::size_t link = column("link_V");
    for (std::size_t k = 0; k < 3; ++k) {
        const int phase = static_cast<int>(k);
        const std::size_t v = column(site::phase_point("drive", phase)), i = column(site::phase_point("around", phase));
        if (std::max({link, v, i}) >= r.y0.size()) return;
        double most = 0.0;
        for (const double amps : r.y0[i]) most = std::isfinite(amps) ? std::max(most, std::abs(amps)) : most;
        std::vector<double> mode(r.rows());
        const auto middle = [&](std::size_t n, std::size_t row) { return 0.5 * (r.y0[n][row] + r.y1[n][row]); };
        for (std::size_t row = 0; row < mode.size(); ++row)
            mode[row] = static_cast<double>(
                leg_of(bridge, k,
                       {middle(link, row), middle(v, row), middle(i, row), 1e-6 * std::max(1.0, most), turn.driven}));
        mode.back() = static_cast<double>(now.legs[k]);
        r.names.push_back(site::phase_point("leg", phase));
        r.y0.push_back(mode), r.y1.push_back(std::move(mode));
    }
}

}  // namespace

std::shared_ptr<const Turn> last_turn(const bench::Bench& bench, const History& history, const bench::Probes& probes) {
    const site::Site& site = *bench.site();
    const site::Works& w = site.works;
    const plant::State& now = bench.state();
    auto out = std::make_shared<Turn>();
    Turn& turn = *out;
    const double rotor = site::pole_pairs(w.motor) * now.x[plant::speed];
    const bool mains = w.supply.kind == site::Supply::Kind::mains;
    if (mains) {
        turn.omega = 2.0 * std::numbers::pi * w.supply.frequency;
        turn.angle = turn.omega * now.t;
    } else if (now.command.running) {
        turn.driven = true;
        // Two cores exchanged and the rotor turns against the drive's own count.
        const auto& c = w.core_at;
        const double sense = (c[1] - c[0] + 3) % 3 == 1 ? 1.0 : -1.0;
        turn.omega = site::self_commutated(w.motor) && now.command.follow
                         ? sense * rotor
                         : 2.0 * std::numbers::pi * now.command.frequency;
        turn.angle = now.modulator.angle - turn.omega * (now.window.end - now.t);
    } else if (site::self_commutated(w.motor)) {
        const motor::Vec2 magnets = bench.plant().look(now).flux;
        turn.omega = rotor;
        turn.angle = std::atan2(magnets[1], magnets[0]) + 0.5 * std::numbers::pi;
    }
    if (std::abs(turn.omega) < 2.0 * std::numbers::pi * 0.5) turn.omega = 0.0;
    const double span = turn.omega == 0.0 ? Turn::standing : 2.0 * std::numbers::pi / std::abs(turn.omega);
    std::vector<std::string> names = turn_signals();
    for (const std::string* probe : {&probes.red, &probes.black})
        if (!probe->empty() && std::find(names.begin(), names.end(), *probe) == names.end()) names.push_back(*probe);
    turn.rows = history.rows_of(names, now.t - span, Turn::most_rows);
    std::vector<plant::Signal> signals;
    for (const std::string& name : turn.rows.names) signals.push_back(plant::signal(site, name));
    const std::vector<double> present = bench.plant().read(now, signals);
    turn.rows.t0.push_back(now.t);
    turn.rows.t1.push_back(now.t);
    for (std::size_t n = 0; n < present.size(); ++n)
        turn.rows.y0[n].push_back(present[n]), turn.rows.y1[n].push_back(present[n]);
    add_legs(turn, w.bridge, now);
    return out;
}

void fill_sheets(Snapshot& s) {
    const site::Site& site = *s.site;
    const site::Works& w = site.works;
    const double link = s.means.seconds > 0.0 ? s.means.link : s.now.nodes.link;
    if (w.supply.kind != site::Supply::Kind::mains) {
        s.array_V = link;
        s.array_A = site.source.stiff ? s.now.nodes.source_i : site.source.source_current(link);
        s.best_V = site.source.max_power_V;
        s.best_W = site.source.max_power_W;
        for (std::size_t n = 0; n < w.array.strings.size(); ++n) {
            const double amps = site.source.branch_current(fmt::format("s{}", n + 1), link);
            s.string_amps.push_back(std::isfinite(amps) ? amps : 0.0);
        }
    }
    s.splice = splice_sheet(site, s.means.current_rms);
    for (std::size_t k = 0; k < 3; ++k) s.splice[k].kelvin = s.now.slow.splice_degC[k] - w.splice_heat.round_degC;
    s.flow_m3_h = (s.means.seconds > 0.0 ? s.means.flow : s.now.flow) * 3600.0;
    s.head_m = s.now.head;
    s.water_level_m = s.now.water_level;
    s.static_head_m = s.now.static_head;
    s.tank_fill = s.now.slow.tank_fill;
    s.winding_degC = s.now.slow.winding_degC + w.winding_degC - site.scenario.motor.winding_temperature_degC;
    s.pump_degC = s.now.slow.pump_degC;
    s.heat_sink_degC = s.now.slow.heat_sink_degC;
    s.pump_damage = s.now.slow.damage;
    water_curves(site, s.means.seconds > 0.0 ? s.means.speed : s.now.speed, s.static_head_m, s.pump_curve,
                 s.main_curve);
    s.lamps = lamps(site, s.now.control);
    s.drive_display = drive::display(s.now.control);
}

}  // namespace sunshaft::view
