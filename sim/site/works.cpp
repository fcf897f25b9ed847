#include "site/works.hpp"

#include <fmt/format.h>

#include <bit>
#include <cmath>
#include <cstdint>
#include <numbers>

#include "files/shipped.hpp"
#include "site/cable.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/memo.hpp"
#include "text/language.hpp"
#include "water/quadrants.hpp"
#include "water/tank.hpp"

namespace sunshaft::site {
namespace {

constexpr double rpm = std::numbers::pi / 30;  // rad/s
constexpr double m3_per_h = 1.0 / 3600, mm = 1e-3, km = 1e3;

solar::ModuleData module_from_table(const Scenario& s) {
    const std::vector<solar::ModuleData> rows = solar::load_table(asset("modules.csv"));
    std::vector<std::string_view> names;
    for (const solar::ModuleData& row : rows) {
        if (row.name == s.array.module) return row;
        names.push_back(row.name);
    }
    const auto near = nearest(s.array.module, names);
    throw bad_key(s, "array.module",
                  text::say("is {}, expected a row of the module table, {} to {}{}", on_one_line(s.array.module),
                            names.front(), names.back(), near ? text::say(" (did you mean {}?)", *near) : ""));
}

solar::ModuleData module_from_keys(const Scenario& s) {
    const auto& a = s.array;
    const double low_light = a.module_low_light_efficiency;
    // Both or none: how V_oc falls tells the diode, and only then the efficiency the shunt.
    const bool asked = !std::isnan(low_light), by_parameters = !std::isnan(a.module_photocurrent_A);
    const double low_light_V = asked && !by_parameters ? a.module_low_light_voltage : not_given;
    // A fit costs half a millisecond, and every edit asks for it. As bits, since what is not given is no number.
    std::array<std::uint64_t, 14> question;
    std::size_t n = 0;
    for (const double x :
         {low_light_V, a.module_isc_A, a.module_voc_V, a.module_imp_A, a.module_vmp_V, a.module_alpha_A_per_K,
          a.module_beta_V_per_K, static_cast<double>(a.module_cells), low_light, a.module_ideality,
          a.module_photocurrent_A, a.module_saturation_A, a.module_series_ohm, a.module_shunt_ohm})
        question[n++] = std::bit_cast<std::uint64_t>(x);
    static Memo<std::array<std::uint64_t, 14>, solar::ModuleData> fitted(64);
    solar::ModuleData data;
    try {
        data = *fitted(question, [&] {
            const solar::DataSheet sheet{a.module_isc_A,         a.module_voc_V,        a.module_imp_A, a.module_vmp_V,
                                         a.module_alpha_A_per_K, a.module_beta_V_per_K, a.module_cells};
            if (!by_parameters && !std::isnan(low_light_V)) return solar::from_datasheet(sheet, low_light, low_light_V);
            if (!by_parameters) return solar::from_datasheet(sheet, asked ? low_light : solar::typical_low_light);
            const double ideality_V = a.module_ideality * a.module_cells * solar::thermal_voltage(25.0);
            return solar::from_parameters(
                {a.module_photocurrent_A, a.module_saturation_A, a.module_series_ohm, a.module_shunt_ohm, ideality_V},
                a.module_alpha_A_per_K, a.module_beta_V_per_K, a.module_cells, low_light);
        });
    } catch (const std::invalid_argument& e) {
        throw bad_key(s, by_parameters ? "array.module_photocurrent_A" : "array.module_vmp_V",
                      by_parameters ? text::say("{}, expected parameters of one module", e.what())
                                    : text::say("{}, expected data-sheet values of one module", e.what()));
    }
    const double kept = solar::low_light_efficiency(data);
    // Four figures and two of weak light ask for more than five parameters can give: within what P_mp is known to.
    const double near = std::isnan(low_light_V) ? 5e-4 : 0.03 * low_light;
    if (asked && std::abs(kept - low_light) > near)
        throw bad_key(
            s, "array.module_low_light_efficiency",
            low_light < kept
                ? text::say("is {}, expected {:.3f} or more with the module's other figures", low_light, kept)
                : text::say("is {}, expected {:.3f} or less with the module's other figures", low_light, kept));
    data.noct_degC = a.module_noct_degC;
    return data;
}

solar::ModuleData module_data(const Scenario& s) {
    const auto& a = s.array;
    solar::ModuleData data = a.module.empty() ? module_from_keys(s) : module_from_table(s);
    data.bypass_drop_V = a.bypass_drop_V;
    return data;
}

Supply supply(const Scenario& s) {
    const Supply::Kind kind = s.supply.kind == "bench"   ? Supply::Kind::bench
                              : s.supply.kind == "mains" ? Supply::Kind::mains
                                                         : Supply::Kind::array;
    Supply supply{kind, s.supply.voltage_V, s.supply.resistance_ohm, s.supply.frequency_Hz};
    SecondSupply& second = supply.second;
    second.fitted = s.supply.second != "none";
    second.mains = s.supply.second == "mains";
    second.volt = 3 * std::numbers::sqrt2 / std::numbers::pi * s.supply.second_voltage_V;
    second.ohm = 2 * s.supply.second_resistance_ohm;
    second.breaker = {.ohm = 0.0, .open = !second.mains};
    return supply;
}

Array array(const Scenario& s) {
    Array array;
    if (s.supply.kind != "array") {  // a bench supply's resistance holds its whole run
        for (Pole* pole : {&array.plus, &array.minus}) pole->run.ohm = pole->contact.ohm = 0.0;
        array.dc_plus.ohm = array.dc_minus.ohm = 0.0;
        return array;
    }
    const solar::ModuleData data = module_data(s);
    const Joint connector{s.array.connector_ohm};
    const auto in_series = static_cast<std::size_t>(s.array.modules_in_series);
    String string;
    string.modules.assign(in_series, Module{.data = data});
    string.joints.assign(in_series + 1, connector);
    string.earth_ohm.assign(in_series + 1, open_circuit);
    string.fuse.ohm = s.dc_run.fuse_ohm;
    // From three strings on the others can push more into a faulty one than its modules bear (IEC 62548: string
    // protection is asked for then; a diode beside the fuse is common practice, no source).
    if (s.array.strings >= 3) string.blocking = BlockingDiode::good;
    array.strings.assign(static_cast<std::size_t>(s.array.strings), string);

    array.irradiance = s.sun.irradiance_W_m2;
    array.module_degC = std::isnan(s.sun.module_temperature_degC)
                            ? solar::noct_temperature(s.sun.air_temperature_degC, s.sun.irradiance_W_m2, data.noct_degC)
                            : s.sun.module_temperature_degC;
    // Before the sun has warmed them modules are as cold as the air: 30 K from a working day to the year's coldest
    // bright morning (common practice, no source). Never warmer than they are now.
    const double coldest = std::isnan(s.site.lowest_module_temperature_degC) ? s.sun.air_temperature_degC - 30.0
                                                                             : s.site.lowest_module_temperature_degC;
    array.coldest_degC = std::min(coldest, array.module_degC);
    // Flexible conductor (class 5), as warm as the air.
    const double run =
        s.dc_run.length_m * at_temperature(iec60228_ohm_per_m(s.dc_run.conductor_mm2, 5), s.sun.air_temperature_degC);
    for (Pole* pole : {&array.plus, &array.minus}) {
        pole->run.ohm = run;
        pole->contact.ohm = s.dc_run.isolator_contact_ohm;
    }
    array.dc_plus = array.dc_minus = connector;
    array.arrester.fitted = true;
    array.arrester.volt = 1.6 * data.Voc * static_cast<double>(in_series);  // common practice, no source
    array.leak_plus_ohm = s.array.leakage_plus_ohm;
    array.leak_minus_ohm = s.array.leakage_minus_ohm;
    array.breakdown_V = s.array.cell_breakdown_V;
    array.capacitance_F = s.array.capacitance_to_earth_F;
    return array;
}

Modulation modulation(const std::string& word) {
    if (word == "six-step-120") return Modulation::six_step_120;
    if (word == "sine-triangle") return Modulation::sine_triangle;
    if (word == "third-harmonic") return Modulation::third_harmonic;
    if (word == "space-vector") return Modulation::space_vector;
    if (word == "ideal-sine") return Modulation::ideal_sine;
    return Modulation::six_step_180;
}

DriveSettings drive(const Scenario& s) {
    const auto& d = s.drive;
    DriveSettings drive;
    drive.modulation = modulation(d.modulation);
    drive.control = d.control == "fixed" ? Control::fixed : d.control == "mppt" ? Control::mppt : Control::v_f;
    drive.frequency = d.frequency_Hz;
    drive.minimum_frequency = d.minimum_frequency_Hz;
    drive.ramp = d.ramp_Hz_per_s;
    drive.carrier = d.carrier_Hz;
    drive.index = d.modulation_index;
    drive.duty = d.duty;
    drive.nominal_V = d.nominal_voltage_V;
    drive.nominal_Hz = d.nominal_frequency_Hz;
    drive.boost_V = d.boost_V;
    drive.dead_time = d.dead_time_s;
    drive.current_limit = d.current_limit_A;
    drive.start_V = d.start_voltage_V;
    drive.tracker_period = d.tracker_period_s;
    drive.tracker_step = d.tracker_step;
    drive.tracker = d.tracker == "constant-voltage"     ? Tracker::constant_voltage
                    : d.tracker == "open-voltage-share" ? Tracker::open_voltage_share
                                                        : Tracker::perturb_and_observe;
    drive.tracker_V = std::isnan(d.tracker_voltage_V) ? 0.0 : d.tracker_voltage_V;
    drive.tracker_share = d.tracker_share;
    drive.low_load_W = d.low_load_W;
    drive.flow_switch = s.pump.kind == "none" ? 0.0 : d.flow_switch_m3_h * m3_per_h;
    drive.flow_delay_s = d.flow_delay_s;
    drive.sensing = d.current_sensing == "three-sensors" ? drive::Sensing::three_sensors
                    : d.current_sensing == "two-shunts"  ? drive::Sensing::two_shunts
                    : d.current_sensing == "link-shunt"  ? drive::Sensing::link_shunt
                                                         : drive::Sensing::ideal;
    drive.sensing_blind_s = d.sensing_blind_s;
    drive.earth_trip_A = drive.sensing == drive::Sensing::three_sensors ? d.earth_trip_A : 0.0;
    drive.insulation_trip_ohm = s.link.earth_monitor_ohm < open_circuit ? s.link.earth_monitor_trip_ohm : 0.0;
    drive.back_emf = d.rotor_sensing == "back-emf" && s.motor.kind == motor::PermanentMagnet::kind;
    drive.emf_per_Hz = 2 * std::numbers::pi * s.motor.flux_linkage_Wb;
    drive.align_s = d.align_s;
    drive.start_ramp = d.start_ramp_Hz_per_s;
    drive.phase_loss_detection = d.phase_loss_detection;
    drive.enabled = d.enabled;
    drive.link_F = s.link.capacitance_F;
    drive.overvoltage_V = s.link.overvoltage_V;
    // Fed from elsewhere they stop for want of a link, too.
    drive.dropout_V = d.electronics_W > 0.0 ? std::max(d.electronics_dropout_V, 5.0) : 5.0;
    drive.motor_A = d.motor_current_A;
    drive.motor_heating_s = d.motor_heating_s;
    drive.stall_s = d.stall_s;
    drive.phase_loss_s = d.phase_loss_s;
    drive.trip_retry_s = d.trip_retry_s;
    drive.trip_retries = d.trip_retries;
    drive.trip_forget_s = d.trip_forget_s;
    drive.low_sun_retry_s = d.low_sun_retry_s, drive.low_sun_retry_longest_s = d.low_sun_retry_longest_s;
    drive.dry_delay_s = d.dry_delay_s;
    drive.dry_retry_s = d.dry_retry_s;
    drive.tank_delay_s = d.tank_delay_s;
    drive.tank_retry_s = d.tank_retry_s;
    drive.charge_s = d.charge_s;
    drive.heat_sink_limit_degC = d.heat_sink_limit_degC;
    return drive;
}

std::array<Phase, 3> phases(const Scenario& s) {
    const auto& c = s.drop_cable;
    const double copper =
        c.length_m *
        at_temperature(iec60228_ohm_per_m(c.conductor_mm2, c.stranding == "class-2" ? 2 : 5), c.temperature_degC);
    const std::array<double, 3> splice = {s.splice.u_ohm, s.splice.v_ohm, s.splice.w_ohm};
    std::array<Phase, 3> phases;
    for (std::size_t k = 0; k < 3; ++k) {
        phases[k].cable.ohm = copper;
        phases[k].splice.ohm = splice[k];
        phases[k].winding.ohm = at_temperature(s.motor.stator_resistance_ohm, s.motor.winding_temperature_degC);
        phases[k].earth_leak_ohm = c.leakage_ohm;
    }
    return phases;
}

using MotorKeys = decltype(Scenario::motor);

// Each motor from its keys.
void read(const MotorKeys& m, motor::PermanentMagnet& machine) {
    machine.flux = m.flux_linkage_Wb;
    machine.Ld = m.d_inductance_H;
    machine.Lq = m.q_inductance_H;
    machine.trapezoidal = m.back_emf == "trapezoidal";
    machine.flux_20 = machine.flux;
    machine.flux_per_K = m.magnet_flux_per_K;
    machine.warm(1.0, m.winding_temperature_degC - 20.0);
}
void read(const MotorKeys& m, motor::SynchronousReluctance& machine) {
    machine.Ld = m.d_inductance_H;
    machine.Lq = m.q_inductance_H;
}
void read(const MotorKeys& m, motor::Induction& machine) {
    machine.Lls = m.stator_leakage_H;
    machine.Llr = m.rotor_leakage_H;
    machine.Lm = m.magnetizing_H;
    // Cage bars are copper or aluminium, whose coefficients are nearly the same.
    machine.Rr = at_temperature(m.rotor_resistance_ohm, m.winding_temperature_degC);
    machine.saturation = m.saturation_factor;
    machine.exponent = m.saturation_exponent;
    machine.bar_m = m.bar_depth_mm * mm;
}
void read(const MotorKeys& m, motor::DoubleCage& machine) {
    machine.Lls = m.stator_leakage_H;
    machine.Lm = m.magnetizing_H;
    machine.Lc = m.cages_leakage_H;
    machine.Llr = m.rotor_leakage_H;
    machine.L_outer = m.second_cage_leakage_H;
    machine.Rr = at_temperature(m.rotor_resistance_ohm, m.winding_temperature_degC);
    machine.R_outer = at_temperature(m.second_cage_ohm, m.winding_temperature_degC);
}
// Where saturation and iron loss of an induction motor are told.
void rate(const Scenario& s, Motor& motor) {
    auto* machine = std::get_if<motor::Induction>(&motor);
    if (!machine) return;
    const bool mains = s.supply.kind == "mains";
    const auto told = [](double plate, double else_) { return std::isnan(plate) ? else_ : plate; };
    machine->rate(told(s.motor.rated_voltage_V, mains ? s.supply.voltage_V : s.drive.nominal_voltage_V),
                  told(s.motor.rated_frequency_Hz, mains ? s.supply.frequency_Hz : s.drive.nominal_frequency_Hz),
                  s.motor.iron_loss_W);
}

template <class... Machines>
void choose(std::variant<Machines...>& motor, const MotorKeys& m) {
    const auto offer = [&](auto machine) {
        if (m.kind != machine.kind) return;
        machine.pole_pairs = m.pole_pairs;
        read(m, machine);
        motor = machine;
    };
    (offer(Machines{}), ...);
}
Motor motor(const Scenario& s) {
    Motor motor;
    choose(motor, s.motor);
    rate(s, motor);
    return motor;
}

Shaft shaft(const Scenario& s) {
    const auto& m = s.motor;
    Shaft shaft;
    shaft.inertia = m.inertia_kg_m2;
    shaft.viscous = m.viscous_friction_N_m_s;
    shaft.breakaway = m.breakaway_N_m;
    shaft.dry_friction = m.dry_friction_N_m;
    shaft.load_torque = m.load_torque_N_m;
    shaft.fan = m.load_torque_N_m_s2;
    shaft.held_speed = m.locked_speed_rpm * rpm;
    return shaft;
}

Pump pump(const Scenario& s, double density) {
    const auto& p = s.pump;
    const double speed = p.rated_speed_rpm * rpm;
    if (p.kind == "centrifugal") {
        try {
            const double flow = p.best_flow_m3_h * m3_per_h;
            // One impeller lifts 5 m at 2850 rpm, with the square of the speed (common practice, no source).
            const double pace = p.rated_speed_rpm / 2850, one = 5.0 * pace * pace;
            const double stages = std::isnan(p.stages) ? std::max(1.0, std::round(p.best_head_m / one)) : p.stages;
            const double specific = water::specific_speed(speed, flow, p.best_head_m / stages);
            // Every edit asks for it. As bits, since what is not given is no number.
            std::array<std::uint64_t, 8> question;
            std::size_t n = 0;
            for (const double x : {speed, p.shutoff_head_m, flow, p.best_head_m, p.best_efficiency, density, specific,
                                   p.reversed_head_share})
                question[n++] = std::bit_cast<std::uint64_t>(x);
            static Memo<std::array<std::uint64_t, 8>, water::Centrifugal> built(64);
            water::Centrifugal pump = *built(question, [&] {
                return water::centrifugal(speed, p.shutoff_head_m, flow, p.best_head_m, p.best_efficiency, density,
                                          specific, p.reversed_head_share);
            });
            // Bearings and seals; common practice, no source.
            pump.breakaway = std::isnan(p.breakaway_N_m) ? 0.03 * pump.torque(speed, flow) : p.breakaway_N_m;
            return pump;
        } catch (const std::invalid_argument& e) {
            throw bad_key(s, "pump.best_head_m", text::say("{}, expected figures of one pump", e.what()));
        }
    }
    if (p.kind == "none") return std::monostate{};
    // Rubber swells in warmer water: a tighter fit leaks less and rubs more, 2 % for each kelvin (common practice, no
    // source: stators are chosen by the water's temperature).
    const double warmer = std::isnan(p.fit_degC) ? 0.0 : s.well.water_temperature_degC - p.fit_degC;
    const double tighter = std::exp(0.02 * warmer);
    water::ProgressiveCavity screw = water::progressive_cavity(
        p.displacement_L_per_rev * 1e-3, p.slip_fraction, speed, p.rated_head_m,
        std::isnan(p.breakaway_N_m) ? 2.5 * p.running_friction_N_m : p.breakaway_N_m, p.running_friction_N_m, density);
    screw.slip /= tighter;
    screw.breakaway *= tighter, screw.running *= tighter;
    return screw;
}

Hydraulics hydraulics(const Scenario& s) {
    const water::Water water = water::water_at(s.well.water_temperature_degC);
    Hydraulics h;
    h.pump = pump(s, water.density);
    h.main.length =
        std::isnan(s.rising_main.length_m) ? s.well.pump_depth_m + s.tank.height_m + 10.0 : s.rising_main.length_m;
    h.main.diameter = s.rising_main.diameter_mm * mm;
    h.main.roughness = s.rising_main.roughness_mm * mm;
    h.main.minor_loss = s.rising_main.minor_loss;
    h.main.density = water.density;
    h.main.kinematic_viscosity = water.kinematic_viscosity();
    h.static_level = s.well.static_level_m;
    h.outlet_height = s.tank.height_m;
    h.pump_depth = s.well.pump_depth_m;
    h.drawdown = s.well.drawdown_m_per_m3_h / m3_per_h;
    h.recovery_s = s.well.recovery_s;
    h.valve_opening = s.rising_main.valve_opening;
    h.bore_depth = s.well.bore_depth_m;
    h.bore_diameter = s.well.bore_diameter_mm * mm;
    h.degC = s.well.water_temperature_degC;
    h.tank = {s.tank.volume_m3, s.tank.float_stop, s.tank.float_start};
    h.tank_fill = s.tank.fill;
    h.tank_use = s.tank.use_m3_h * m3_per_h;
    h.dry_life_s = s.pump.dry_life_s;
    h.npsh = std::isnan(s.pump.npsh_m) ? 0.0 : s.pump.npsh_m;
    h.best_flow = s.pump.kind == "progressive-cavity"
                      ? s.pump.displacement_L_per_rev * 1e-3 * s.pump.rated_speed_rpm / 60
                      : s.pump.best_flow_m3_h * m3_per_h;
    h.vapour_head = water.vapour_pressure / (water.density * water::gravity);
    h.rated_speed = s.pump.rated_speed_rpm * rpm;
    h.sand = s.well.sand_mg_L * 1e-3;
    return h;
}

}  // namespace

double Guards::circuit_ohm(const Guard& guard, double sensor_ohm) {
    constexpr double jumper_ohm = 0.05;
    const double sensor = 1 / (1 / guard.shunt_ohm + 1 / sensor_ohm);
    const double wires = guard.pulled ? open_circuit : guard.wire.through() + sensor;
    return guard.jumper ? 1 / (1 / jumper_ohm + 1 / wires) : wires;
}

std::string asset(const std::string& name) { return files::shipped_data() + "/assets/" + name; }

Works set_up(const Scenario& s) {
    Works works;
    works.supply = supply(s);
    works.array = array(s);
    works.link = {.farad = s.link.capacitance_F,
                  .esr_ohm = s.link.esr_ohm,
                  .bleed_ohm = s.link.bleed_ohm,
                  .precharge_ohm = s.link.precharge_ohm,
                  .electronics_W = s.drive.electronics_W,
                  .dropout_V = s.drive.electronics_dropout_V,
                  .overvoltage_V = s.link.overvoltage_V,
                  .earth_F = s.link.earth_capacitance_F,
                  .monitor_ohm = s.link.earth_monitor_ohm};
    works.bridge.on_resistance = s.drive.on_resistance_ohm;
    works.bridge.diode_drop = s.drive.diode_drop_V;
    works.drive = drive(s);
    works.phases = phases(s);
    works.cable_inductance = s.drop_cable.inductance_H_per_km * s.drop_cable.length_m / km;
    works.cable_capacitance = s.drop_cable.core_capacitance_F_per_km * s.drop_cable.length_m / km;
    works.choke = s.drive.output_choke_H;
    works.cable_m = s.drop_cable.length_m;
    works.edge_s = s.drive.edge_time_s;
    works.motor_surge_ohm = s.motor.surge_ohm;
    works.motor = motor(s);
    works.winding_degC = s.motor.winding_temperature_degC;
    works.turns.contact_ohm = s.motor.bridged_turns_ohm;
    works.turns.by_share = s.motor.bridged_turns_leakage == "share";
    works.shaft = shaft(s);
    works.water = hydraulics(s);
    const bool pumping = s.pump.kind != "none";
    works.guards.dry.fitted = pumping;
    works.guards.full.fitted = pumping && s.tank.float_switch;
    works.guards.probe_depth =
        std::isnan(s.well.dry_probe_depth_m) ? s.well.pump_depth_m - 2.0 : s.well.dry_probe_depth_m;
    works.guards.probe_wet = s.well.static_level_m <= works.guards.probe_depth;
    works.guards.float_up = s.tank.fill >= works.water.tank.stop;
    works.heat_sink = {s.drive.heat_sink_K_per_W, s.drive.heat_sink_J_per_K, s.sun.air_temperature_degC};
    works.splice_heat.round_degC = s.well.water_temperature_degC;
    works.motor_heat = {s.motor.cooling_K_per_W, s.motor.heat_capacity_J_per_K, s.well.water_temperature_degC};
    return works;
}

}  // namespace sunshaft::site
