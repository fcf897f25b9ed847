// Against what was measured: whole characteristics of a cell and a module, modules in weak sun and warm, a pump on its
// test stand, a pump in all quadrants, a small motor at no load.
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <numbers>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "roots/roots.hpp"
#include "solar/module.hpp"
#include "water/pump.hpp"

namespace sunshaft::proof {
namespace {

struct Pair {
    double v, i;
};

// T. Easwarakhanthan, J. Bottin, I. Bouhouch, C. Boutrit, "Nonlinear minimization algorithm for determining the solar
// cell parameters with microcomputers", Int. J. Solar Energy 4 (1986) 1-12, public copy: a 57 mm cell at 33 degC, a
// module of 36 cells at 45 degC, both at 1000 W/m2. The constants k and q of that literature.
constexpr Pair cell_points[] = {
    {-0.2057, 0.764}, {-0.1291, 0.762}, {-0.0588, 0.7605}, {0.0057, 0.7605}, {0.0646, 0.76},   {0.1185, 0.759},
    {0.1678, 0.757},  {0.2132, 0.757},  {0.2545, 0.7555},  {0.2924, 0.754},  {0.3269, 0.7505}, {0.3585, 0.7465},
    {0.3873, 0.7385}, {0.4137, 0.728},  {0.4373, 0.7065},  {0.459, 0.6755},  {0.4784, 0.632},  {0.496, 0.573},
    {0.5119, 0.499},  {0.5265, 0.413},  {0.5398, 0.3165},  {0.5521, 0.212},  {0.5633, 0.1035}, {0.5736, -0.01},
    {0.5833, -0.123}, {0.59, -0.21}};
constexpr Pair module_points[] = {
    {0.1248, 1.0315},  {1.8093, 1.03},    {3.3511, 1.026},   {4.7622, 1.022},   {6.0538, 1.018},
    {7.2364, 1.0155},  {8.3189, 1.014},   {9.3097, 1.01},    {10.2163, 1.0035}, {11.0449, 0.988},
    {11.8018, 0.963},  {12.4929, 0.9255}, {13.1231, 0.8725}, {13.6983, 0.8075}, {14.2221, 0.7265},
    {14.6995, 0.6345}, {15.1346, 0.5345}, {15.5311, 0.4275}, {15.8929, 0.3185}, {16.2229, 0.2085},
    {16.5241, 0.101},  {16.7987, -0.008}, {17.0499, -0.111}, {17.2793, -0.209}, {17.4885, -0.303}};
constexpr double k_over_q = 1.3806503e-23 / 1.60217646e-19;
const solar::SingleDiode cell57{0.760776, 3.23021e-7, 0.0363771, 53.7185, 1.481184 * k_over_q * 306.15};
const solar::SingleDiode module36{1.030514, 3.482263e-6, 1.201271, 981.9822, 48.642835 * k_over_q * 318.15};

template <std::size_t n>
double rms_miss(const solar::SingleDiode& law, const Pair (&points)[n]) {
    double sum = 0.0;
    for (const Pair& p : points) sum += std::pow(solar::current(law, p.v) - p.i, 2);
    return std::sqrt(sum / static_cast<double>(n));
}
template <std::size_t n>
double largest_miss(const solar::SingleDiode& law, const Pair (&points)[n]) {
    double most = 0.0;
    for (const Pair& p : points) most = std::max(most, std::abs(solar::current(law, p.v) - p.i));
    return most;
}

// Modules measured over irradiance and temperature (B. Marion et al., "Data for validating models for PV module
// performance", NREL 2014), fitted to their figures at 1000 and 200 W/m2, 25 degC. Stated there: P_mp +-2.8 %, V_oc
// +-0.3 %.
struct Sheet {
    const char* name;
    solar::DataSheet sheet;
    double weak_W, strong_W, weak_V;  // at 200 and 1000 W/m2; V_oc at 200
    struct Point {
        double sun, degC, watt, open_V;
    };
    std::vector<Point> points;
};
const std::vector<Sheet>& sheets() {
    static const std::vector<Sheet> list = {{"36-cell multi-crystalline module of 81 W",
                                             {5.064, 21.67, 4.693, 17.32, 0.0045, -0.0722, 36},
                                             14.69,
                                             81.29,
                                             19.76,
                                             {{100, 25, 6.79, 18.85},
                                              {400, 25, 31.27, 20.61},
                                              {600, 25, 47.88, 21.08},
                                              {800, 50, 58.33, 19.61},
                                              {1000, 65, 67.65, 18.79}}},
                                            {"36-cell multi-crystalline module of 46 W",
                                             {2.741, 22.07, 2.532, 18.26, 0.00088, -0.0724, 36},
                                             8.11,
                                             46.24,
                                             20.26,
                                             {{100, 25, 3.65, 19.36}, {600, 25, 26.99, 21.52}}}};
    return list;
}
solar::KeyPoints fitted(const Sheet& m, double sun, double degC) {
    return solar::key_points(
        solar::translate(solar::from_datasheet(m.sheet, 5 * m.weak_W / m.strong_W, m.weak_V / m.sheet.Voc), sun, degC));
}

// R. W. Fox, A. T. McDonald, Introduction to Fluid Mechanics, pump-characteristics example: gauges and ammeter read at
// 1750 rpm, reduced with 231 in3 to the gallon, g 32.2 ft/s2, motor efficiency 0.90.
constexpr double gallon_per_minute = 0.2271247 / 3600;
water::Centrifugal tested_pump() {
    constexpr double density = 1.94 * 515.3788;  // slug/ft3
    return water::centrifugal(1750 * std::numbers::pi / 30, 37.60249, 1000 * gallon_per_minute, 27.18265, 0.791514,
                              density);
}
double tested_head(double gallons) {
    return tested_pump().head(1750 * std::numbers::pi / 30, gallons * gallon_per_minute);
}
double tested_watt(double gallons) {
    const double w = 1750 * std::numbers::pi / 30;
    return w * tested_pump().torque(w, gallons * gallon_per_minute);
}

// A pump of specific speed 25 (rpm, m3/s, m) in units of its rated point, with the shut-off head of the measured one;
// water of a density that makes rated power over efficiency one unit.
water::Centrifugal radial() { return water::centrifugal(1.0, 1.288, 1.0, 1.0, 0.85, 0.85 / water::gravity); }
// Held backwards under rated head without torque: the speed it runs away to.
double runaway(double* flow) {
    const water::Centrifugal p = radial();
    const auto back = [&](double a) {  // the flow that leaves rated head
        return roots::root([&](double q) { return p.head(a, q) - 1.0; }, -3.0, 0.0);
    };
    const double speed = roots::root([&](double a) { return p.torque(a, back(a)); }, -2.5, -0.3);
    if (flow) *flow = back(speed);
    return speed;
}

// Magnetizing current of a small machine against voltage: what it draws at no load, held at the speed it was read at.
double no_load_A(double volt, double rpm) {
    Scenario s = rig(krause_3hp, 0.0, "mains", volt);
    s.supply.frequency_Hz = 50;
    // Reactance V2 / Q of one phase, Q from volts, amperes and watts: 169.8 ohm at 245 V, where the iron is straight,
    // 141.2 at 408 V, and an exponent for what lies between: that is the fit. In every row volts times amperes stay
    // 1.4 to 3.8 % below the apparent power by watts and vars, so that nothing nearer can be asked of it.
    s.motor.stator_resistance_ohm = 12.6;
    s.motor.stator_leakage_H = s.motor.rotor_leakage_H = 0.03;
    s.motor.magnetizing_H = 141.2 / (100 * std::numbers::pi) - 0.03;
    s.motor.saturation_factor = 169.8 / 141.2;
    s.motor.saturation_exponent = 6;
    s.motor.rated_voltage_V = 408, s.motor.rated_frequency_Hz = 50;
    s.motor.rotor_resistance_ohm = 12;
    s.motor.iron_loss_W = 65;
    s.motor.locked_speed_rpm = rpm;
    s.solver.tolerance = 1e-6;
    return settled(s).current_rms[0];
}

}  // namespace

std::vector<Row> measured_rows() {
    std::vector<Row> r;
    auto add = [&](const char* field, std::string what, const char* source, double expected, double tolerance,
                   std::function<double()> f) {
        r.push_back({field, std::move(what), source, expected, tolerance, std::move(f)});
    };
    const char* easwarakhanthan =
        "measured: T. Easwarakhanthan et al., Int. J. Solar Energy 4 (1986) 1-12; parameters of the literature, "
        "currents "
        "of the implicit equation by another program";
    add("measured", "57 mm cell, 26 points: rms miss of the curve, A", easwarakhanthan, 7.75393e-4, 1e-4,
        [] { return rms_miss(cell57, cell_points); });
    add("measured", "57 mm cell, 26 points: largest miss, A", easwarakhanthan, 1.5974e-3, 1e-3,
        [] { return largest_miss(cell57, cell_points); });
    add("measured", "36-cell module, 25 points: rms miss of the curve, A", easwarakhanthan, 2.138527e-3, 1e-4,
        [] { return rms_miss(module36, module_points); });
    add("measured", "36-cell module, 25 points: largest miss, A", easwarakhanthan, 4.4171e-3, 1e-3,
        [] { return largest_miss(module36, module_points); });
    const char* nrel =
        "measured: B. Marion et al., data for validating models for PV module performance, NREL 2014 (P_mp within 2.8 "
        "%)";
    // Half as much sun as the weaker of the two the fit knows.
    const char* beyond = "measured: B. Marion et al., NREL 2014, half as much sun as the fit has seen";
    for (const Sheet& m : sheets())
        for (const Sheet::Point& p : m.points) {
            const bool weak = p.sun < 200;
            add("measured",
                fmt::format("{}, fitted at 1000 and 200 W/m2: P_mp at {:g} W/m2, {:g} degC, W", m.name, p.sun, p.degC),
                weak ? beyond : nrel, p.watt, 0.028, [&m, p] { return fitted(m, p.sun, p.degC).Pmp; });
            if (weak)
                add("measured", fmt::format("{}: V_oc at {:g} W/m2, {:g} degC, V", m.name, p.sun, p.degC), beyond,
                    p.open_V, 0.005, [&m, p] { return fitted(m, p.sun, p.degC).Voc; });
        }
    const char* fox =
        "measured: pump test in R. W. Fox, A. T. McDonald, Introduction to Fluid Mechanics, example 10.3 (title from "
        "memory), pump given by shut-off and best point";
    for (const Pair p : {Pair{500, 34.37044}, {800, 30.57630}, {1100, 24.66727}})
        add("measured", fmt::format("pump test, head at {:g} gal/min, m", p.v), fox, p.i, 0.03,
            [p] { return tested_head(p.v); });
    for (const Pair p : {Pair{800, 19450.50}, {1100, 22085.73}})
        add("measured", fmt::format("pump test, shaft power at {:g} gal/min, W", p.v), fox, p.i, 0.05,
            [p] { return tested_watt(p.v); });
    const char* suter =
        "measured: B. Donsky, J. Basic Eng. 83 (1961) 685, radial pump, its table in Wylie and Streeter, Fluid "
        "Transients";
    add("measured", "radial pump, half speed and half flow: head over rated", suter, 0.25, 1e-4,
        [] { return radial().head(0.5, 0.5); });
    add("measured", "radial pump, rated speed, three quarters of the flow: head over rated", suter, 1.143021, 0.02,
        [] { return radial().head(1.0, 0.75); });
    add("measured", "radial pump, rotor held, water forced back: head over rated", suter, 0.692, 1e-9,
        [] { return radial().head(0.0, -1.0); });
    add("measured", "radial pump, turned backwards against a shut valve: head over rated", suter, 0.634, 1e-9,
        [] { return radial().head(-1.0, 0.0); });
    add("measured", "radial pump as a turbine at rated speed and flow: head over rated", suter, 1.010, 1e-9,
        [] { return radial().head(-1.0, -1.0); });
    add("measured", "radial pump, water running back under rated head, no torque: speed over rated", suter, -1.152409,
        2e-3, [] { return runaway(nullptr); });
    // The source's table is read straight between its entries, here with a bend.
    add("measured", "radial pump, water running back under rated head, no torque: flow over rated", suter, -0.653209,
        5e-3, [] {
            double flow = 0.0;
            runaway(&flow);
            return flow;
        });
    add("measured", "radial pump, rated speed, half the flow forced back: head over rated", suter, 1.430949, 2e-3,
        [] { return radial().head(1.0, -0.5); });
    add("measured", "radial pump, rotor held, water forced back: torque over rated", suter, 0.865, 1e-9,
        [] { return radial().torque(0.0, -1.0); });
    const char* no_load =
        "measured: no-load readings of a 4-pole laboratory motor, public script (two copies); three of its voltages "
        "fix "
        "the curve";
    for (const auto& [volt, ampere, rpm] : {std::array{388.2, 1.58, 1473.6},
                                            {373.2, 1.50, 1473.6},
                                            {352.4, 1.37, 1470.3},
                                            {337.4, 1.30, 1470.3},
                                            {310.0, 1.17, 1470.3},
                                            {282.5, 1.04, 1470.3},
                                            {214.0, 0.78, 1465.3}})
        add("measured", fmt::format("small motor at no load, {:g} V: line current, A", volt), no_load, ampere, 0.04,
            [volt = volt, rpm = rpm] { return no_load_A(volt, rpm); });
    return r;
}

}  // namespace sunshaft::proof
