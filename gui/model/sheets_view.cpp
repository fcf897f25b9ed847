#include "model/sheets_view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "plant/probe.hpp"
#include "site/load.hpp"

namespace sunshaft::view {

namespace {

constexpr double pi = std::numbers::pi;

double sound(double v) { return std::isfinite(v) ? v : 0.0; }

}  // namespace

std::array<SpliceLine, 3> splice_lines(const Snapshot& s) {
    std::array<SpliceLine, 3> lines;
    for (std::size_t k = 0; k < 3; ++k) {
        const SheetRow& row = s.splice[k];
        SpliceLine& line = lines[k];
        line.letter = std::string(1, "UVW"[k]);
        line.open = std::isinf(row.ohms);
        line.amps = figure(std::abs(sound(row.amps)) < 5e-4 ? 0.0 : row.amps, "A", 3);
        line.ohms = figure(row.ohms, "ohm", 3);
        line.watts = figure(std::abs(sound(row.watts)) < 0.005 ? 0.0 : row.watts, "W", 3);
        if (row.kelvin_known) line.kelvin = figure(row.kelvin, "K", 3);
        const double watts = std::max(0.0, sound(row.watts));
        line.heat = row.kelvin_known ? std::clamp(row.kelvin / 100.0, 0.0, 1.0) : watts / (watts + 25.0);
        double others = 0.0;
        for (std::size_t j = 0; j < 3; ++j)
            if (j != k) others = std::max(others, sound(s.splice[j].watts));
        line.stands_out = line.open || (watts > 1.0 && watts > 3.0 * others) || line.heat > 0.4;
    }
    return lines;
}

std::string splice_title(const Snapshot& s) {
    if (std::holds_alternative<std::monostate>(s.site->works.water.pump)) return "Splice at the motor";
    const double depth = s.site->scenario.splice.depth_m;
    return std::isfinite(depth) ? fmt::format("Splice at {:.1f} m", depth) : std::string("Splice above the pump");
}

std::vector<PowerRow> power_rows(const Snapshot& s) {
    using namespace plant;
    const auto of = [](const Energies& e, std::initializer_list<std::size_t> which) {
        double sum = 0.0;
        for (const std::size_t w : which) sum += sound(e[w]);
        return sum;
    };
    const auto row = [&](PowerRow::Kind kind, const char* name, const char* why, std::initializer_list<std::size_t> plus,
                         std::initializer_list<std::size_t> minus = {}) {
        PowerRow r{kind, name, why};
        r.watts = of(s.power, plus) - of(s.power, minus);
        r.healthy_watts = of(s.healthy_power, plus) - of(s.healthy_power, minus);
        return r;
    };
    using K = PowerRow::Kind;
    const auto supply = s.site->works.supply.kind;
    const char* source = supply == site::Supply::Kind::array   ? "from the array"
                         : supply == site::Supply::Kind::bench ? "from the supply"
                                                               : "from the mains";
    std::vector<PowerRow> rows{row(K::source, source, "What the source gives, mean over the last turns of the field.", {from_supply})};
    if (supply != site::Supply::Kind::mains) {
        rows.push_back(row(K::loss, "lost in DC run", "Joints, conductors, fuses and isolator between source and drive.", {in_dc_run}));
        rows.push_back(row(K::loss, "lost in drive", "Its electronics, the link's bleed resistor and the bridge.", {in_link, in_bridge}));
    }
    rows.push_back(row(K::loss, "lost in cable", "The copper of the drop cable.", {in_cable}, {in_splice}));
    rows.push_back(row(K::loss, "lost in splice", "The three joints above the motor.", {in_splice}));
    rows.push_back(row(K::loss, "lost in motor", "Winding, cage and bearings.", {in_winding, in_cage, in_bearing}));
    if (!std::holds_alternative<std::monostate>(s.site->works.water.pump)) {
        rows.push_back(row(K::loss, "lost in pump", "Between shaft and water.", {in_pump}));
        rows.push_back(row(K::loss, "lost in pipe", "Friction in the rising main.", {in_pipe}));
        rows.push_back(row(K::lifted, "lifted as water", "Against the height from water level to outlet.", {lifted}));
    } else {
        rows[rows.size() - 1].name = "motor and load";
        rows[rows.size() - 1].why = "Winding, cage, bearings and what the shaft drives.";
    }
    const double full = std::max(rows.front().watts, 1e-9);
    double left = 1.0;
    for (PowerRow& r : rows) {
        const double share = rows.front().watts > 0.05 ? std::clamp(r.watts / full, 0.0, 1.0) : 0.0;
        if (r.kind == K::source) {
            r.to = share;
            left = share;
        } else {
            r.to = std::max(0.0, left);
            r.from = std::max(0.0, left - share);
            left = r.from;
        }
        if (r.kind == K::lifted) r.from = 0.0, r.to = share;
        r.stands_out = s.faulty && r.kind == K::loss && s.healthy.seconds > 0 && r.watts > 1.5 * r.healthy_watts &&
                       r.watts - r.healthy_watts > 0.01 * full;
    }
    return rows;
}

std::vector<Slot> slots(int pole_pairs) {
    const int p = std::max(1, pole_pairs);
    const int in_belt = std::max(1, 24 / (6 * p));
    const int count = 6 * p * in_belt;
    // Belts counter-clockwise from the quarter turn clockwise of u's axis, where current goes into the page.
    constexpr std::array<int, 6> phase{0, 2, 1, 0, 2, 1};
    constexpr std::array<int, 6> sense{-1, 1, -1, 1, -1, 1};
    std::vector<Slot> list;
    for (int n = 0; n < count; ++n) {
        const int belt = n / in_belt;
        const double within = (n % in_belt + 0.5) / in_belt - 0.5;  // -0.5 .. 0.5 of a belt
        const double electrical = -pi / 2 + (belt + within) * pi / 3;
        list.push_back({electrical / p, phase[static_cast<std::size_t>(belt % 6)], sense[static_cast<std::size_t>(belt % 6)], 0.0});
    }
    return list;
}

MotorSection motor_section(const Snapshot& s) {
    MotorSection m;
    const site::Motor& motor = s.site->works.motor;
    m.magnets = std::holds_alternative<motor::PermanentMagnet>(motor);
    m.pole_pairs = std::visit([](const auto& machine) { return machine.pole_pairs; }, motor);
    m.slots = slots(m.pole_pairs);
    double most = 0.0;
    for (std::size_t k = 0; k < 3; ++k)
        most = std::max({most, sound(s.means.current_rms[k]), sound(s.healthy.current_rms[k]), std::abs(sound(s.now.nodes.i[k])) / 1.8});
    for (Slot& slot : m.slots) {
        const double amps = sound(s.now.nodes.i[static_cast<std::size_t>(slot.phase)]);
        slot.share = most > 1e-3 ? std::clamp(slot.sense * amps / (1.8 * most), -1.0, 1.0) : 0.0;
    }
    const double alpha = sound(s.now.flux[0]), beta = sound(s.now.flux[1]);
    m.field = std::hypot(alpha, beta) > 1e-6;
    m.field_angle = std::atan2(beta, alpha) / m.pole_pairs;
    m.rotor_Hz = sound(s.now.speed) / (2 * pi);
    m.field_Hz = sound(s.now.electrical_Hz) / m.pole_pairs;
    if (std::isfinite(s.now.slip) && !m.magnets && std::abs(m.field_Hz) > 0.01) m.slip = s.now.slip;
    m.winding_heat = std::clamp((sound(s.winding_degC) - 60.0) / 95.0, 0.0, 1.0);
    return m;
}

void FluxPath::add(double alpha, double beta) {
    const double r = std::hypot(alpha, beta);
    if (!(r > 1e-9)) return;
    const double turn = std::atan2(beta, alpha) / (2 * pi);
    const auto direction = static_cast<std::size_t>((turn - std::floor(turn)) * directions) % directions;
    double& kept = radius_[direction];
    if (kept == 0.0) ++seen_;
    kept = kept == 0.0 ? r : kept + 0.5 * (r - kept);
}

double FluxPath::largest() const { return *std::max_element(radius_.begin(), radius_.end()); }

void Motion::follow(const Snapshot& s) {
    if (s.number == number_) return;
    const double dt = s.t - t_;
    const bool fresh = number_ == 0 || dt < 0.0 || site_ != s.site->scenario.site.name;
    number_ = s.number;
    t_ = s.t;
    if (fresh) {
        site_ = s.site->scenario.site.name;
        flux.clear();
        healthy_flux.clear();
        turn_per_look = 0.0;
        return;
    }
    turn_per_look = sound(s.now.speed) * dt;
    shaft_angle = std::fmod(shaft_angle + turn_per_look, 2 * pi);
    const double bore = s.site->works.water.main.diameter;
    if (bore > 0.0) water_m += sound(s.flow_m3_h) / 3600.0 / (pi / 4 * bore * bore) * dt;
    water_m = std::fmod(water_m, 1e3);
    if (dt > 0.0) {
        flux.add(s.now.flux[0], s.now.flux[1]);
        if (!s.faulty) healthy_flux.add(s.now.flux[0], s.now.flux[1]);
    }
}

std::string potential_words(const Snapshot& s, const std::string& point) {
    using K = plant::Signal::Kind;
    try {
        const plant::Signal signal = plant::signal(*s.site, point);
        double volt = std::nan("");
        switch (signal.kind) {
            case K::phase_node: volt = s.now.nodes.v[static_cast<std::size_t>(signal.index)]; break;
            case K::star: volt = s.now.nodes.star; break;
            case K::link_plus: volt = s.now.nodes.link; break;
            case K::dc_node:
                if (s.site->source.island(signal.index) == 0) volt = s.site->source.node_voltage(signal.index, s.now.nodes.link);
                break;
            default: break;
        }
        if (!std::isfinite(volt)) return "";
        return fmt::format("now {} against link\u2212", figure(volt, "V", 4).text());
    } catch (const site::BadInput&) {
        return "";
    }
}

}  // namespace sunshaft::view
