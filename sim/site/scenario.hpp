// The scenario: everything that stands on one site, as a user writes it.
//
// A scenario is a TOML file; each key carries its unit in its name. The one table of all keys (unit, default,
// domain, meaning) is in keys_table.cpp; loading, checking, `sunshaft keys` and `--set` are driven by it. This struct
// is what the table fills. Values are in the unit of the key's name (the only place in the program that is not SI);
// set_up() in works.hpp turns them into SI.
#pragma once

#include <limits>
#include <string>
#include <vector>

namespace sunshaft {

inline constexpr double not_given = std::numeric_limits<double>::quiet_NaN();

// A fault that stands on the site from the start or comes at a time: one [[fault]] table. The catalogue in faults.hpp
// says which kinds there are, where they may sit and what their severity means.
struct PlantedFault {
    std::string kind, place;
    double severity = not_given;  // 0 to 1, or in the unit of the kind (inf: an open splice); not given: the usual one
    double at_s = 0.0;            // since the start of the run
    std::string where = {};       // "file:line:column" for messages; empty for one made in code
};

struct Scenario {
    std::string file;  // where it came from, for messages; empty for one made in code
    std::vector<PlantedFault> faults;

    struct {
        std::string name = "unnamed site";
        std::string description;
        double latitude_deg = 30.0;
        double longitude_deg = 0.0;
        double elevation_m = 0.0;                           // above the sea
        double utc_offset_h = not_given;                    // of the clock there; not given: by the longitude
        double lowest_module_temperature_degC = not_given;  // coldest bright morning; not given: 30 K below the air now
    } site;

    struct {
        std::string kind = "array";   // array | bench | mains
        double voltage_V = 300.0;     // bench: DC voltage; mains: line-line rms
        double resistance_ohm = 0.0;  // bench: source and run; mains: per phase
        double frequency_Hz = 50.0;   // mains
        // beside an array, behind a change-over switch: three phases through a rectifier
        std::string second = "none";         // none | generator | mains
        double second_voltage_V = 230.0;     // line-line rms
        double second_resistance_ohm = 0.5;  // per phase
    } supply;

    struct {
        double irradiance_W_m2 = 800.0;  // in the plane of the array
        double air_temperature_degC = 25.0;
        double module_temperature_degC = not_given;  // given: used as it is; else from air, sun and NOCT
        std::string time_of_day = "12:00";           // only places the sun in the picture
    } sun;

    struct {
        int modules_in_series = 2;
        int strings = 1;
        std::string module = "";    // name of a row in assets/modules.csv; empty: the data-sheet values below
        double module_isc_A = 9.0;  // data sheet at 1000 W/m2, 25 degC
        double module_voc_V = 38.0;
        double module_imp_A = 8.3;
        double module_vmp_V = 31.0;
        double module_alpha_A_per_K = 0.0045;  // of I_sc
        double module_beta_V_per_K = -0.12;    // of V_oc
        int module_cells = 60;
        double module_noct_degC = 45.0;
        double module_low_light_efficiency = not_given;  // share of the efficiency left at 200 W/m2
        double module_low_light_voltage = not_given;     // and of V_oc; counts with that
        // Single-diode parameters at 1000 W/m2, 25 degC instead of the four points above: all five or none.
        double module_photocurrent_A = not_given;
        double module_saturation_A = not_given;
        double module_series_ohm = not_given;
        double module_shunt_ohm = not_given;
        double module_ideality = not_given;
        double connector_ohm = 0.001;  // each of the joints in a string
        double bypass_drop_V = 0.5;
        double cell_breakdown_V = 15.0;  // of one cell, backwards; inf: none
        double leakage_plus_ohm = 2e7;   // whole array, plus conductor to earth
        double leakage_minus_ohm = 2e7;
        double capacitance_to_earth_F = 2e-7;
        // How it lies, for the sun's way over a day.
        double tilt_deg = not_given;     // 0 lies flat; not given: the latitude
        double azimuth_deg = not_given;  // it faces; not given: the equator
        std::string mount = "fixed";     // solar/mount.hpp
        std::string horizon = "";        // "azimuth:height ..." in deg, straight between; empty: flat
        double ground_albedo = 0.2;
        std::string transposition = "hay-davies";  // of the sky's light into its plane: solar/sky.hpp
        double module_fuse_A = not_given;          // largest fuse its modules bear (plate)
    } array;

    struct {
        double length_m = 15.0;  // one way
        double conductor_mm2 = 6.0;
        double isolator_contact_ohm = 0.002;  // each pole
        double fuse_ohm = 0.005;              // each string fuse
        double fuse_A = not_given;            // its rating
        double rated_A = not_given;           // what the conductor bears as it is laid
    } dc_run;

    struct {
        double capacitance_F = 1e-3;
        double esr_ohm = 0.03;
        double bleed_ohm = 47e3;
        double precharge_ohm = 47.0;
        double overvoltage_V = 0.0;  // trip; 0: none
        // fitted at the drive's input, from both poles to earth: capacitors together, an earth monitor's resistors each
        double earth_capacitance_F = 0.0;
        double earth_monitor_ohm = std::numeric_limits<double>::infinity();
        double earth_monitor_trip_ohm = 0.0;  // stops below this insulation; 0: it only shows
    } link;

    struct {
        // six-step-180 six-step-120 sine-triangle third-harmonic space-vector ideal-sine
        std::string modulation = "six-step-180";
        std::string control = "v-f";  // fixed | v-f | mppt
        double frequency_Hz = 50.0;   // fixed: output; v-f, mppt: the ceiling
        double minimum_frequency_Hz = 5.0;
        double ramp_Hz_per_s = 20.0;
        double carrier_Hz = 4000.0;
        double modulation_index = 1.0;     // fixed: as it is; 1 = sine peak equals carrier peak
        double duty = 1.0;                 // six-step-120 under fixed control
        double nominal_voltage_V = 230.0;  // v-f: line-line fundamental rms at nominal_frequency_Hz
        double nominal_frequency_Hz = 50.0;
        double boost_V = 4.0;             // v-f: added at zero frequency, line-line rms
        double on_resistance_ohm = 0.02;  // each device
        double diode_drop_V = 0.8;
        double dead_time_s = 0.0;
        double edge_time_s = 2e-7;                    // of the output voltage, rail to rail
        double current_limit_A = 0.0;                 // trip, peak; 0: none
        double electronics_W = 4.0;                   // constant power from the link
        double electronics_dropout_V = 18.0;          // below: dark; awake again from 1.25 times this
        double start_voltage_V = 0.0;                 // waits for this much sun; 0: none
        std::string tracker = "perturb-and-observe";  // perturb-and-observe | constant-voltage | open-voltage-share
        double tracker_voltage_V = not_given;         // constant-voltage
        double tracker_share = 0.78;                  // open-voltage-share: of the open-circuit voltage
        double tracker_period_s = 0.5;
        double tracker_step = 0.01;  // relative change of the voltage target
        bool phase_loss_detection = false;
        bool enabled = true;                    // its run switch
        std::string current_sensing = "ideal";  // ideal | three-sensors | two-shunts | link-shunt
        double sensing_blind_s = 4e-6;          // shunts: not read so long after a switching
        double earth_trip_A = 0.0;              // three-sensors: stops at this sum of the lines, rms; 0: not looked at
        std::string rotor_sensing = "ideal";    // magnet motor: ideal | back-emf
        double align_s = 0.5;                   // back-emf: held on one axis before the start
        double start_ramp_Hz_per_s = 10.0;      // back-emf: up to a tenth of the ceiling
        double highest_input_V = not_given;     // of the plate
        // supervision
        double motor_current_A = 0.0;              // rated line current, rms; 0: not told
        double motor_heating_s = 200.0;            // time constant of the motor overload trip
        double stall_s = 5.0, phase_loss_s = 1.0;  // how long before it trips
        double trip_retry_s = 30.0;
        int trip_retries = 3;  // then locked out
        double trip_forget_s = 300.0;
        double low_sun_retry_s = 10.0, low_sun_retry_longest_s = 300.0;
        double dry_delay_s = 2.0, dry_retry_s = 600.0;
        double output_choke_H = 0.0;                         // fitted in each line between drive and cable
        double flow_switch_m3_h = 0.0, flow_delay_s = 30.0;  // at the wellhead; 0: none fitted
        double low_load_W = 0.0;  // at the ceiling: runs dry below that, less with the speed's cube; 0: not looked at
        double tank_delay_s = 2.0, tank_retry_s = 10.0;
        double charge_s = 0.1;  // the link has not risen for so long: charged
        double heat_sink_limit_degC = 85.0;
        double heat_sink_K_per_W = 1.0, heat_sink_J_per_K = 500.0;
    } drive;

    struct {
        double length_m = 40.0;
        double conductor_mm2 = 2.5;
        std::string stranding = "class-5";  // IEC 60228: class-2 | class-5
        double temperature_degC = 20.0;
        double inductance_H_per_km = 3e-4;
        double core_capacitance_F_per_km = 1.2e-7;  // each core to earth and the others
        double leakage_ohm = 1e9;                   // each core to earth
    } drop_cable;

    struct {
        double depth_m = not_given;  // not given: just above the pump
        double u_ohm = 0.005;        // inf: open
        double v_ohm = 0.005;
        double w_ohm = 0.005;
    } splice;

    struct {
        std::string kind = "induction";  // induction | double-cage | permanent-magnet | synchronous-reluctance
        int pole_pairs = 1;
        double stator_resistance_ohm = 1.0;  // per phase of the star, 20 degC
        // induction
        double stator_leakage_H = 3e-3;
        double rotor_leakage_H = 3e-3;
        double magnetizing_H = 0.1;
        double rotor_resistance_ohm = 0.8;
        // double-cage: the outer one, beside the inner one above
        double second_cage_ohm = 4.0, second_cage_leakage_H = 1e-3;
        double cages_leakage_H = 0.0;                                        // that both share
        double saturation_factor = 1.0;                                      // at rated voltage and frequency
        double saturation_exponent = 10.0;                                   // of the flux in it
        double bar_depth_mm = 0.0;                                           // of the cage; 0: thin, no skin effect
        double iron_loss_W = 0.0;                                            // there, too
        double rated_voltage_V = not_given, rated_frequency_Hz = not_given;  // not given: as told the drive
        // permanent magnet
        std::string back_emf = "sinusoidal";  // sinusoidal | trapezoidal
        double flux_linkage_Wb = 0.05;        // peak of one phase: EMF peak = flux * electrical speed
        double d_inductance_H = 2e-3;
        double q_inductance_H = 2e-3;
        double magnet_flux_per_K = -0.0011;  // share of the flux at 20 degC
        // both
        double bridged_turns_ohm = 0.0;               // what a turn-to-turn fault leaves between the turns
        std::string bridged_turns_leakage = "share";  // share | square
        double surge_ohm = 2000.0;                    // of a winding to a fast edge
        double inertia_kg_m2 = 2e-3;
        double viscous_friction_N_m_s = 1e-4;
        // holds the shaft at rest, besides dry friction and brake; not given: 3 % of rated torque
        double breakaway_N_m = not_given;
        double dry_friction_N_m = 0.0;
        double load_torque_N_m = 0.0;     // a brake on the shaft (bench rig)
        double load_torque_N_m_s2 = 0.0;  // a fan: torque = this * speed^2
        double winding_temperature_degC = 20.0;
        double cooling_K_per_W = 0.1, heat_capacity_J_per_K = 3000.0;  // winding to the water round it
        double locked_speed_rpm = not_given;  // given: the shaft is held at this speed (test stand)
    } motor;

    struct {
        std::string kind = "centrifugal";  // centrifugal | progressive-cavity | none
        double rated_speed_rpm = 2850.0;
        // centrifugal, at rated speed
        double shutoff_head_m = 62.0;
        double best_flow_m3_h = 6.0;
        double best_head_m = 45.0;
        double best_efficiency = 0.58;
        double stages = not_given;               // not given: by what one lifts at that speed
        double reversed_head_share = not_given;  // of the shut-off head, turned backwards; not given: by specific speed
        // progressive cavity
        double displacement_L_per_rev = 0.05;
        double slip_fraction = 0.1;  // of the flow, at rated speed and rated_head_m
        double rated_head_m = 60.0;
        double running_friction_N_m = 0.8;
        // both; not given: centrifugal 3 % of the torque at the best point, progressive cavity 2.5 times its running
        // friction
        double breakaway_N_m = not_given;
        double npsh_m = not_given;    // centrifugal: required at rated speed and best flow; not given: never cavitates
        double fit_degC = not_given;  // progressive cavity: water for which slip and friction hold; not given: this one
        double dry_life_s = 120.0;    // running dry at rated speed until damage begins
    } pump;

    struct {
        double length_m = not_given;  // not given: pump depth + tank height + 10 m
        double diameter_mm = 40.0;
        double roughness_mm = 0.0015;
        double minor_loss = 6.0;     // sum of K
        double valve_opening = 1.0;  // wellhead valve
    } rising_main;

    struct {
        double static_level_m = 30.0;  // below ground
        double drawdown_m_per_m3_h = 0.5;
        double pump_depth_m = 45.0;
        double bore_depth_m = 60.0;
        double bore_diameter_mm = 150.0;
        double recovery_s = 120.0;  // time constant of the level
        double water_temperature_degC = 15.0;
        double dry_probe_depth_m = not_given;  // not given: 2 m above the pump
        double sand_mg_L = 0.0;                // in the water pumped
    } well;

    struct {
        double height_m = 8.0;  // outlet above ground
        double volume_m3 = 10.0;
        double fill = 0.4;  // 0 empty, 1 full
        bool float_switch = true;
        double float_stop = 0.95, float_start = 0.85;  // fill at which the float stops the pump and lets it go
        double use_m3_h = 0.0;                         // drawn from the tank
        std::string use_hours = "";                    // "6-9 17-20" by the clock; empty: all day
        double need_m3_day = not_given;                // what people, beasts and plants there need
        double price_per_m3 = not_given;               // of water that has to be brought instead
    } tank;

    struct {
        double tolerance = 4e-4;  // local error of a step, in units of the states' reference magnitudes
    } solver;
};

}  // namespace sunshaft
