// The table of all scenario keys. Ranges are what the model can compute and what can stand on a site, wide
// rather than narrow: they catch a slip of the unit (8 instead of 8000), not an unusual design.
#include <limits>

#include "site/keys.hpp"
#include "site/works.hpp"

namespace sunshaft::site {
namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

Range from(double low, double high) { return {low, high, false, false}; }
Range above(double low, double high) { return {low, high, true, false}; }
Range below(double low, double high) { return {low, high, false, true}; }
Words one_of(std::vector<std::string_view> words) { return {std::move(words)}; }

template <class... Machines>
Words kinds(const std::variant<Machines...>*) {
    return one_of({Machines::kind...});
}
Words motor_kinds() { return kinds(static_cast<const Motor*>(nullptr)); }

// A row's path and member, from one spelling.
// clang-format off
#define KEY(member) #member, +[](Scenario& s) -> auto& { return s.member; }
// clang-format on

std::vector<Key> rows() {
    return {
        {KEY(site.name), "", Text{80}, "what the site is called"},
        {KEY(site.description), "", Text{400}, "a sentence or two about it"},
        {KEY(site.latitude_deg), "deg", from(-90, 90), "north positive"},
        {KEY(site.longitude_deg), "deg", from(-180, 180), "east positive"},
        {KEY(site.elevation_m), "m", from(-450, 6000), "above the sea: thinner air lets more sun through"},
        {KEY(site.utc_offset_h), "h", from(-12, 14), "of the clock there; left out: the longitude's whole hour"},
        {KEY(site.lowest_module_temperature_degC), "degC", from(-60, 50),
         "of the modules on the coldest bright morning, for the highest voltage that can be present. Left out: 30 K "
         "below the air"},

        {KEY(supply.kind), "", one_of({"array", "bench", "mains"}),
         "array: the modules; bench: a DC source; mains: three-phase sine straight on the motor cable"},
        {KEY(supply.voltage_V), "V", from(0, 1500), "bench: DC voltage; mains: line-line rms"},
        {KEY(supply.resistance_ohm), "ohm", from(0, 1000),
         "bench: source and run; mains: per phase; 0 is an ideal source"},
        {KEY(supply.frequency_Hz), "Hz", from(1, 400), "mains: frequency"},
        {KEY(supply.second), "", one_of({"none", "generator", "mains"}),
         "array: another supply behind a change-over switch, three phases through a rectifier. A generator stands "
         "still until it is started"},
        {KEY(supply.second_voltage_V), "V", above(0, 1000), "of that supply, line-line rms"},
        {KEY(supply.second_resistance_ohm), "ohm", above(0, 1000), "of that supply, per phase"},

        {KEY(sun.irradiance_W_m2), "W/m2", from(0, 2000), "in the plane of the array; 0 is night"},
        {KEY(sun.air_temperature_degC), "degC", from(-50, 70), "air in the shade"},
        {KEY(sun.module_temperature_degC), "degC", from(-50, 120),
         "of the cells; left out: from air, sun and array.module_noct_degC"},
        {KEY(sun.time_of_day), "", Clock{}, "places the sun in the picture, computes nothing"},

        {KEY(array.modules_in_series), "", from(1, 60), "modules in one string"},
        {KEY(array.strings), "", from(1, 50), "strings in parallel"},
        {KEY(array.module), "", Text{80},
         "a row of the module table (see `sunshaft modules`); empty: the data-sheet values below"},
        {KEY(array.module_isc_A), "A", above(0, 50), "short-circuit current at 1000 W/m2, 25 degC"},
        {KEY(array.module_voc_V), "V", above(0, 200), "open-circuit voltage at 1000 W/m2, 25 degC"},
        {KEY(array.module_imp_A), "A", above(0, 50), "current at maximum power"},
        {KEY(array.module_vmp_V), "V", above(0, 200), "voltage at maximum power"},
        {KEY(array.module_alpha_A_per_K), "A/K", from(-0.05, 0.05),
         "temperature coefficient of the short-circuit current"},
        {KEY(array.module_beta_V_per_K), "V/K", below(-2, 0),
         "temperature coefficient of the open-circuit voltage, negative"},
        {KEY(array.module_cells), "", from(3, 300), "cells in series in one module"},
        {KEY(array.module_low_light_efficiency), "", from(0.5, 1.1),
         "share of the efficiency at 1000 W/m2 that is left at 200. Left out: 0.94, or what the figures above allow"},
        {KEY(array.module_low_light_voltage), "", from(0.7, 1),
         "share of V_oc at 1000 W/m2 that is left at 200. With module_low_light_efficiency it tells how much of the "
         "shunt follows the light: truer below 200. Left out: all of it"},
        {KEY(array.module_photocurrent_A), "A", above(0, 50),
         "single-diode parameters of one module, all five or none, instead of the currents and voltages above"},
        {KEY(array.module_saturation_A), "A", above(0, 1), "of its diode"},
        {KEY(array.module_series_ohm), "ohm", from(0, 100), "in series with its cells"},
        {KEY(array.module_shunt_ohm), "ohm", above(0, inf),
         "across its cells; constant unless module_low_light_efficiency asks for one that follows the light"},
        {KEY(array.module_ideality), "", from(0.3, 5), "of one of its cells"},
        {KEY(array.module_noct_degC), "degC", from(25, 80),
         "nominal operating cell temperature (800 W/m2, 20 degC air, 1 m/s)"},
        {KEY(array.connector_ohm), "ohm", from(0, 1000), "each joint in a string"},
        {KEY(array.bypass_drop_V), "V", above(0, 1.5), "of a conducting bypass diode at about rated current"},
        {KEY(array.cell_breakdown_V), "V", above(1, inf),
         "at which a shaded cell breaks down backwards, 10 to 30 V of silicon; inf: never"},
        {KEY(array.leakage_plus_ohm), "ohm", above(0, inf), "whole array, plus conductor to earth; inf: none"},
        {KEY(array.leakage_minus_ohm), "ohm", above(0, inf), "whole array, minus conductor to earth; inf: none"},
        {KEY(array.tilt_deg), "deg", from(0, 90), "0 lies flat, 90 stands; left out: as much as the latitude"},
        {KEY(array.azimuth_deg), "deg", from(0, 360),
         "where it faces: 0 north, 90 east, 180 south; left out: towards the equator"},
        {KEY(array.mount), "", Text{120},
         "fixed; single-axis, \"single-axis 45\" (most degrees to a side): turned about a level axis from north to "
         "south. Or tilted by the season, as \"4:10 10:45\" (month:tilt)"},
        {KEY(array.horizon), "", Text{400},
         "hills, trees, the row in front: azimuth:height pairs in deg, as \"90:12 180:3 270:20\"; straight between "
         "them; empty: flat"},
        {KEY(array.ground_albedo), "", from(0, 1), "share of the light the ground gives back; grass 0.2, snow 0.8"},
        {KEY(array.transposition), "", one_of({"isotropic", "hay-davies", "perez"}),
         "the sky's light in a tilted plane. isotropic: a sky bright alike all over. hay-davies: brighter round the "
         "sun. perez: at the horizon, too"},
        {KEY(array.module_fuse_A), "A", above(0, 100), "largest string fuse on the module's plate; for `fit`"},
        {KEY(array.capacitance_to_earth_F), "F", from(0, 1e-3), "whole array to earth"},

        {KEY(dc_run.length_m), "m", from(0, 2000), "from array to drive, one way"},
        {KEY(dc_run.conductor_mm2), "mm2", from(0.5, 400), "copper, each pole"},
        {KEY(dc_run.isolator_contact_ohm), "ohm", from(0, 1000), "of the isolator, each pole"},
        {KEY(dc_run.fuse_ohm), "ohm", from(0, 1000), "each string fuse"},
        {KEY(dc_run.fuse_A), "A", above(0, 1000), "rating of the string fuses; for `fit`"},
        {KEY(dc_run.rated_A), "A", above(0, 1000), "what the conductor bears as it is laid; for `fit`"},

        {KEY(link.capacitance_F), "F", from(1e-6, 1), "of the DC link"},
        {KEY(link.esr_ohm), "ohm", from(0, 10), "series resistance of the link capacitor"},
        {KEY(link.bleed_ohm), "ohm", above(0, inf), "discharges the link after switch-off; inf: none"},
        {KEY(link.precharge_ohm), "ohm", from(0, 1e5), "limits the charging current at connection"},
        {KEY(link.overvoltage_V), "V", from(0, 2000), "trips above this link voltage; 0: never"},

        {KEY(link.earth_capacitance_F), "F", from(0, 1e-4),
         "interference capacitors from both input poles to earth, together; 0: none fitted"},
        {KEY(link.earth_monitor_ohm), "ohm", above(100, inf),
         "of an earth monitor's network, each pole to earth; inf: none fitted"},
        {KEY(link.earth_monitor_trip_ohm), "ohm", from(0, 1e7),
         "the drive stops when its monitor finds less insulation than this; 0: it only shows"},

        {KEY(drive.modulation), "",
         one_of({"six-step-180", "six-step-120", "sine-triangle", "third-harmonic", "space-vector", "ideal-sine"}),
         "how the bridge makes three phases"},
        {KEY(drive.control), "", one_of({"fixed", "v-f", "mppt"}),
         "fixed: frequency and index as given; v-f: ramp to the ceiling; mppt: speed follows the sun"},
        {KEY(drive.frequency_Hz), "Hz", above(0, 400), "fixed: output frequency; v-f and mppt: the ceiling"},
        {KEY(drive.minimum_frequency_Hz), "Hz", above(0, 400),
         "v-f and mppt: never slower than this; a magnet motor at rest is stepped on at this"},
        {KEY(drive.ramp_Hz_per_s), "Hz/s", above(0, 1000), "soft start"},
        {KEY(drive.carrier_Hz), "Hz", from(200, 50000), "of the PWM kinds"},
        {KEY(drive.modulation_index), "", from(0, 20),
         "fixed: 1 = sine peak equals carrier peak; above that over-modulation"},
        {KEY(drive.duty), "", from(0, 1), "fixed six-step-120: share of the time the leg is on"},
        {KEY(drive.nominal_voltage_V), "V", above(0, 1000),
         "v-f and mppt: line-line fundamental rms at the nominal frequency"},
        {KEY(drive.nominal_frequency_Hz), "Hz", above(0, 400), "v-f and mppt: where the nominal voltage is reached"},
        {KEY(drive.boost_V), "V", from(0, 200), "v-f and mppt: added at zero frequency, line-line rms"},
        {KEY(drive.on_resistance_ohm), "ohm", from(0, 100), "each switching device; 0 is ideal"},
        {KEY(drive.diode_drop_V), "V", from(0, 5), "each free-wheel diode; 0 is ideal"},
        {KEY(drive.dead_time_s), "s", from(0, 1e-4), "both devices of a leg off at each change"},
        {KEY(drive.edge_time_s), "s", from(0, 1e-5), "in which an output goes from rail to rail, 0.05 to 0.5 us"},
        {KEY(drive.current_limit_A), "A", from(0, 1000), "trips above this peak phase current; 0: never"},
        {KEY(drive.electronics_W), "W", from(0, 200), "the drive's own constant draw from the link"},
        {KEY(drive.electronics_dropout_V), "V", from(0, 500),
         "below this link voltage the electronics are dark; they wake again at 1.25 times it"},
        {KEY(drive.start_voltage_V), "V", from(0, 1500), "waits until the array gives this much; 0: starts at once"},
        {KEY(drive.tracker), "", one_of({"perturb-and-observe", "constant-voltage", "open-voltage-share"}),
         "mppt: searches; holds one voltage; or holds a share of what stood there before the start"},
        {KEY(drive.tracker_voltage_V), "V", above(0, 1500), "constant-voltage: the link is held at this"},
        {KEY(drive.tracker_share), "", from(0.5, 0.95),
         "open-voltage-share: of the voltage before the start; 0.71 to 0.80 (common practice, no source)"},
        {KEY(drive.tracker_period_s), "s", from(0.1, 5),
         "mppt: least time between two steps; a step waits until the link is at rest"},
        {KEY(drive.tracker_step), "", from(0.002, 0.01),
         "mppt: relative change of the voltage target in one step; the link swings by two of them"},
        {KEY(drive.phase_loss_detection), "", YesNo{},
         "trips when a phase carries no current; false lets the motor hum"},
        {KEY(drive.enabled), "", YesNo{},
         "the drive's run switch; false: no output with the isolator on, nothing is dead"},
        {KEY(drive.current_sensing), "", one_of({"ideal", "three-sensors", "two-shunts", "link-shunt"}),
         "how it measures line currents: exactly; a sensor in each line. Shunts in the legs of u and v, w is their "
         "sum; one shunt in the link's minus"},
        {KEY(drive.sensing_blind_s), "s", from(0, 1e-4),
         "shunts are not read so long after a switching, 2 to 6 us (common practice, no source)"},
        {KEY(drive.earth_trip_A), "A", from(0, 100),
         "three-sensors: stops when the three lines sum up to this, rms; 0: not looked at"},
        {KEY(drive.rotor_sensing), "", one_of({"ideal", "back-emf"}),
         "magnet motor: the drive always knows the rotor's place. Or it aligns it, ramps up blindly and takes over by "
         "the volts it makes"},
        {KEY(drive.align_s), "s", from(0, 10), "back-emf: the field stands still for so long before the start"},
        {KEY(drive.start_ramp_Hz_per_s), "Hz/s", above(0, 1000), "back-emf: blindly, up to a tenth of the ceiling"},
        {KEY(drive.highest_input_V), "V", above(0, 2000), "highest input voltage on its plate; for `fit`"},
        {KEY(drive.motor_current_A), "A", from(0, 1000),
         "rated line current, rms, for stall and overload trips; 0: not told"},
        {KEY(drive.motor_heating_s), "s", above(0, 1e5), "time constant of the motor overload trip"},
        {KEY(drive.stall_s), "s", above(0, 1e4), "trips when the motor has not turned for this long"},
        {KEY(drive.phase_loss_s), "s", above(0, 1e4), "trips when a line has carried nothing for this long"},
        {KEY(drive.trip_retry_s), "s", above(0, 1e5), "wait after a trip before the next try"},
        {KEY(drive.trip_retries), "", from(0, 100), "tries after trips in a row; the next trip locks out"},
        {KEY(drive.trip_forget_s), "s", above(0, 1e6), "running so long without a trip starts the count again"},
        {KEY(drive.low_sun_retry_s), "s", above(0, 1e5), "wait after the sun has given in"},
        {KEY(drive.low_sun_retry_longest_s), "s", above(0, 1e5),
         "a start that did not last so long doubles that wait, up to this. Up to low_sun_retry_s: all waits alike"},
        {KEY(drive.dry_delay_s), "s", from(0, 1e4), "stops when the dry-run guard has been open for this long"},
        {KEY(drive.dry_retry_s), "s", above(0, 1e6), "dry-run hold: earliest next try"},
        {KEY(drive.output_choke_H), "H", from(0, 0.1), "choke in each line at the drive's output; 0: none fitted"},
        {KEY(drive.flow_switch_m3_h), "m3/h", from(0, 1000),
         "flow switch in the rising main: below this for flow_delay_s the pump counts as running dry; 0: none fitted"},
        {KEY(drive.flow_delay_s), "s", above(0, 1e4), "how long the water may take to come, or stay away"},
        {KEY(drive.low_load_W), "W", from(0, 1e5),
         "taken from the array at the speed ceiling. Below it, less with the cube of the speed, the pump counts as "
         "dry. 0: not looked at"},
        {KEY(drive.tank_delay_s), "s", from(0, 1e4), "stops when the float circuit has been open for this long"},
        {KEY(drive.tank_retry_s), "s", above(0, 1e6), "wait once the float circuit is closed again"},
        {KEY(drive.charge_s), "s", above(0, 100), "the link counts as charged when it has not risen for this long"},
        {KEY(drive.heat_sink_limit_degC), "degC", from(0, 300), "trips above this heat sink temperature"},
        {KEY(drive.heat_sink_K_per_W), "K/W", above(0, 1000), "heat sink to air"},
        {KEY(drive.heat_sink_J_per_K), "J/K", above(0, 1e6), "heat the sink stores"},

        {KEY(drop_cable.length_m), "m", from(0, 1000), "from drive to splice"},
        {KEY(drop_cable.conductor_mm2), "mm2", from(0.2, 400), "copper, each core"},
        {KEY(drop_cable.stranding), "", one_of({"class-2", "class-5"}), "conductor class of IEC 60228"},
        {KEY(drop_cable.temperature_degC), "degC", from(-40, 120), "of the copper"},
        {KEY(drop_cable.inductance_H_per_km), "H/km", from(0, 0.01), "each core"},
        {KEY(drop_cable.core_capacitance_F_per_km), "F/km", from(0, 1e-5), "each core to earth and to the others"},
        {KEY(drop_cable.leakage_ohm), "ohm", above(0, inf), "each core to earth; inf: none"},

        {KEY(splice.depth_m), "m", from(0, 1000), "below ground; left out: just above the pump"},
        {KEY(splice.u_ohm), "ohm", from(0, inf), "of the joint in phase u; inf: open"},
        {KEY(splice.v_ohm), "ohm", from(0, inf), "of the joint in phase v; inf: open"},
        {KEY(splice.w_ohm), "ohm", from(0, inf), "of the joint in phase w; inf: open"},

        {KEY(motor.kind), "", motor_kinds(), "star connected, star point isolated"},
        {KEY(motor.pole_pairs), "", from(1, 30), "half the number of poles"},
        {KEY(motor.stator_resistance_ohm), "ohm", above(0, 1000), "one phase of the star, 20 degC"},
        {KEY(motor.stator_leakage_H), "H", above(0, 1), "induction: one phase"},
        {KEY(motor.rotor_leakage_H), "H", above(0, 1), "induction: one phase, seen from the stator"},
        {KEY(motor.magnetizing_H), "H", above(0, 10), "induction: one phase, three-phase value"},
        {KEY(motor.rotor_resistance_ohm), "ohm", above(0, 1000), "induction: one phase, seen from the stator, 20 degC"},
        {KEY(motor.saturation_factor), "", from(1, 5),
         "induction: magnetizing current at rated voltage over what a straight curve would ask. 1: straight; 1.4 is "
         "typical (a measured 2.2 kW motor: 1.42)"},
        {KEY(motor.saturation_exponent), "", from(2, 20),
         "induction: of the flux in that curve. 10 suits a measured 2.2 kW motor, 6 a smaller one whose iron gives in "
         "earlier"},
        {KEY(motor.second_cage_ohm), "ohm", above(0, 1000),
         "double-cage: the outer cage, one phase, seen from the stator, 20 degC; rotor_resistance_ohm is the inner "
         "one"},
        {KEY(motor.second_cage_leakage_H), "H", above(0, 1),
         "double-cage: of the outer cage alone; rotor_leakage_H is that of the inner one"},
        {KEY(motor.cages_leakage_H), "H", from(0, 1), "double-cage: leakage both cages share"},
        {KEY(motor.bar_depth_mm), "mm", from(0, 100),
         "induction: depth of the cage's aluminium bars, whose ohms rise with the slip. 20 to 35 is a deep bar; 0: "
         "thin"},
        {KEY(motor.iron_loss_W), "W", from(0, 1e5),
         "induction: at rated voltage and frequency; 3 % of the rated power is common practice, no source"},
        {KEY(motor.rated_voltage_V), "V", above(0, 1000),
         "induction: of the plate, line-line rms, where the two above hold; left out: drive.nominal_voltage_V, on the "
         "mains theirs"},
        {KEY(motor.rated_frequency_Hz), "Hz", above(0, 400),
         "induction: of the plate; left out: drive.nominal_frequency_Hz, on the mains theirs"},
        {KEY(motor.back_emf), "", one_of({"sinusoidal", "trapezoidal"}),
         "permanent-magnet: shape of the voltage the turning magnets make"},
        {KEY(motor.flux_linkage_Wb), "Wb", above(0, 10),
         "permanent-magnet: peak of one phase at 20 degC; EMF peak = this times electrical speed"},
        {KEY(motor.magnet_flux_per_K), "", from(-0.01, 0),
         "permanent-magnet: share of that flux lost for each kelvin and got back. Rare earth -0.0009 to -0.0012, "
         "ferrite -0.002, samarium-cobalt -0.0003 to -0.0005 (makers' data)"},
        {KEY(motor.bridged_turns_ohm), "ohm", from(0, 2), "what a fault between turns leaves between them; 0: bolted"},
        {KEY(motor.bridged_turns_leakage), "", one_of({"share", "square"}),
         "of bridged turns: goes with their share of the winding, or with its square (all in the same slots)"},
        {KEY(motor.d_inductance_H), "H", above(0, 1),
         "permanent-magnet: along the magnets; synchronous-reluctance: the easy way"},
        {KEY(motor.q_inductance_H), "H", above(0, 1),
         "permanent-magnet: across the magnets; synchronous-reluctance: the hard way"},
        {KEY(motor.surge_ohm), "ohm", above(0, inf),
         "of one winding to a fast edge. 2000 to 5000 below 4 kW, 800 at 40 kW, 400 at 90 kW (common practice, no "
         "source)"},
        {KEY(motor.inertia_kg_m2), "kg m2", from(1e-6, 100), "of all that turns"},
        {KEY(motor.viscous_friction_N_m_s), "N m s", from(0, 10), "torque per rad/s"},
        {KEY(motor.breakaway_N_m), "N m", from(0, 1000),
         "holds the shaft at rest, besides dry friction and brake, gone at 30 rad/s. Left out: 3 % of rated torque"},
        {KEY(motor.dry_friction_N_m), "N m", from(0, 1000), "the same at any speed"},
        {KEY(motor.load_torque_N_m), "N m", from(0, 10000), "a brake on the shaft, besides the pump"},
        {KEY(motor.load_torque_N_m_s2), "N m s2", from(0, 10), "a fan on the shaft: torque = this times speed squared"},
        {KEY(motor.winding_temperature_degC), "degC", from(-40, 250), "of the copper at the start"},
        {KEY(motor.cooling_K_per_W), "K/W", above(0, 100), "winding to the water round the motor"},
        {KEY(motor.heat_capacity_J_per_K), "J/K", above(0, 1e7), "heat the motor stores"},
        {KEY(motor.locked_speed_rpm), "rpm", from(-20000, 20000), "left out: free to turn; given: held at this speed"},

        {KEY(pump.kind), "", one_of({"centrifugal", "progressive-cavity", "none"}),
         "none: nothing on the shaft but motor.load_torque"},
        {KEY(pump.rated_speed_rpm), "rpm", above(0, 20000), "the speed of the figures below"},
        {KEY(pump.shutoff_head_m), "m", above(0, 1000), "centrifugal: head at no flow"},
        {KEY(pump.best_flow_m3_h), "m3/h", above(0, 1000), "centrifugal: flow at best efficiency"},
        {KEY(pump.best_head_m), "m", above(0, 1000), "centrifugal: head at best efficiency"},
        {KEY(pump.best_efficiency), "", {Range{0, 1, true, true}}, "centrifugal: water power over shaft power"},
        {KEY(pump.stages), "", from(1, 200),
         "centrifugal: impellers in a row, for the specific speed of one. Left out: one for each 5 m at 2850 rpm "
         "(common practice, no source)"},
        {KEY(pump.reversed_head_share), "", from(0.05, 0.8),
         "centrifugal: share of the shut-off head held when turned backwards. Left out: by specific speed, 0.49 "
         "measured on a radial pump (Donsky 1961)"},
        {KEY(pump.displacement_L_per_rev), "L/rev", above(0, 100), "progressive-cavity: volume of one turn"},
        {KEY(pump.slip_fraction), "", below(0, 1),
         "progressive-cavity: share of the flow lost at rated speed and head"},
        {KEY(pump.rated_head_m), "m", above(0, 1000), "progressive-cavity: head of the slip figure"},
        {KEY(pump.running_friction_N_m), "N m", from(0, 1000), "progressive-cavity: rotor on stator while turning"},
        {KEY(pump.breakaway_N_m), "N m", from(0, 1000),
         "torque to start turning; left out: centrifugal 3 % of its torque at the best point, else 2.5 x running"},
        {KEY(pump.npsh_m), "m", from(0, 30),
         "centrifugal: head its inlet needs over vapour pressure at rated speed and best flow. 3 % of the head is lost "
         "then. Left out: never short of it"},
        {KEY(pump.fit_degC), "degC", from(0, 60),
         "progressive-cavity: water for which slip and friction hold; warmer water swells the rubber; left out: this "
         "well's"},
        {KEY(pump.dry_life_s), "s", above(0, 1e6), "running dry at rated speed until damage begins"},

        {KEY(rising_main.length_m), "m", above(0, 5000), "left out: pump depth, tank height and 10 m along the ground"},
        {KEY(rising_main.diameter_mm), "mm", from(5, 1000), "inside"},
        {KEY(rising_main.roughness_mm), "mm", from(0, 5), "of the wall; 0 is smooth"},
        {KEY(rising_main.minor_loss), "", from(0, 1000), "sum of the K values of bends and fittings"},
        {KEY(rising_main.valve_opening), "", from(0, 1), "wellhead valve; 0 closed, 1 open"},

        {KEY(well.static_level_m), "m", from(0, 1000), "water below ground while nothing is pumped"},
        {KEY(well.drawdown_m_per_m3_h), "m/(m3/h)", from(0, 1000), "the level falls this much per flow"},
        {KEY(well.pump_depth_m), "m", above(0, 1000), "pump intake below ground"},
        {KEY(well.bore_depth_m), "m", above(0, 1500), "bottom below ground"},
        {KEY(well.bore_diameter_mm), "mm", from(40, 5000), "inside"},
        {KEY(well.recovery_s), "s", above(0, 1e6), "time constant of the level"},
        {KEY(well.water_temperature_degC), "degC", from(0, 60), "of the water pumped"},
        {KEY(well.dry_probe_depth_m), "m", from(0, 1000), "dry-run probe below ground; left out: 2 m above the pump"},
        {KEY(well.sand_mg_L), "mg/L", from(0, 10000), "sand in the water, which wears the pump; 25 to 50 is borne"},

        {KEY(tank.height_m), "m", from(-100, 500), "outlet above ground; negative: downhill"},
        {KEY(tank.volume_m3), "m3", above(0, 1e5), "of the tank"},
        {KEY(tank.fill), "", from(0, 1), "at the start; 0 empty, 1 full"},
        {KEY(tank.use_m3_h), "m3/h", from(0, 1e5), "drawn from the tank"},
        {KEY(tank.use_hours), "", Text{80}, "when, by the clock, for `day`: \"6-9 17-20\"; empty: all day"},
        {KEY(tank.need_m3_day), "m3/day", above(0, 1e6), "water needed in a day, for `day` and `fit`"},
        {KEY(tank.price_per_m3), "", above(0, 1e6), "what water brought instead costs, in any money, for `day`"},
        {KEY(tank.float_stop), "", from(0, 1), "fill at which the float stops the pump"},
        {KEY(tank.float_start), "", from(0, 1), "fill at which it lets the pump go again"},
        {KEY(tank.float_switch), "", YesNo{}, "a float holds the pump while the tank is full"},

        {KEY(solver.tolerance), "", from(1e-6, 1e-2),
         "error of a step; meters then err by about as much, 0.03 % at the default; smaller is slower"},
    };
}
#undef KEY

}  // namespace

std::span<const Key> keys() {
    static const std::vector<Key> table = rows();
    return table;
}

}  // namespace sunshaft::site
