#include <fmt/format.h>

#include <cmath>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "solar/module.hpp"

namespace sunshaft::proof {
namespace {

constexpr const char* villalva =
    "M. G. Villalva, J. R. Gazoli, E. R. Filho, IEEE Trans. Power Electronics 24(5), 2009, data sheet of a 54-cell "
    "module";
constexpr const char* de_soto =
    "W. De Soto, S. A. Klein, W. A. Beckman, Solar Energy 80 (2006) 78-88, module of the public CEC table";
constexpr const char* precise =
    "40-digit solutions of the single-diode equation, test data of the pvlib-python library, set 1";
constexpr const char* measured =
    "T. Easwarakhanthan et al., Int. J. Solar Energy 4 (1986) 1-12, measured 57 mm cell, parameters of the literature";

// The 54-cell module: from its published parameters, and from its data sheet.
solar::ModuleData published() {
    Scenario s;
    published_module(s);
    return site::set_up(s).array.strings[0].modules[0].data;
}
solar::ModuleData from_sheet() {
    return solar::from_datasheet({8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 54}, solar::typical_low_light);
}
double power(const solar::ModuleData& m, double sun, double degC) {
    return solar::key_points(solar::translate(m, sun, degC)).Pmp;
}

// A module measured over irradiance and temperature, fitted to its figures at 1000 and 200 W/m2, 25 degC.
struct Measured {
    const char* name;
    solar::DataSheet sheet;
    double weak_W, strong_W;  // at 200 and 1000 W/m2
    struct Point {
        double sun, degC, watt;
    };
    std::vector<Point> others;
};
const std::vector<Measured>& measured_modules() {
    static const std::vector<Measured> list = {
        {"96-cell heterojunction module",
         {5.903, 70.21, 5.506, 58.54, 0.00164, -0.1688, 96},
         61.14,
         322.3,
         {{400, 25, 126.45}, {800, 25, 257.56}, {1000, 50, 298.95}, {600, 75, 162.97}}},
        {"36-cell multi-crystalline module",
         {2.741, 22.07, 2.532, 18.26, 0.00088, -0.0724, 36},
         8.11,
         46.24,
         {{400, 25, 17.47}, {800, 25, 36.58}, {1000, 50, 41.37}, {1000, 65, 38.51}}}};
    return list;
}
solar::KeyPoints table(std::size_t row, double sun, double degC) {
    return solar::key_points(solar::translate(solar::load_table(site::asset("modules.csv")).at(row), sun, degC));
}
solar::KeyPoints exact() {
    constexpr double k = 1.380649e-23, q = 1.602176634e-19;
    return solar::key_points({1.0, 5e-10, 0.1, 300.0, 1.01 * 72 * k * 298.15 / q});
}
solar::SingleDiode measured_cell() {
    constexpr double k = 1.3806503e-23, q = 1.60217646e-19;
    return {0.760776, 3.23021e-7, 0.0363771, 53.7185, 1.481184 * k * 306.15 / q};
}

}  // namespace

std::vector<Row> solar_rows() {
    std::vector<Row> r;
    auto add = [&](const std::string& what, const char* source, double expected, double tolerance,
                   std::function<double()> f) {
        r.push_back({"array", what, source, expected, tolerance, std::move(f)});
    };
    add("V_oc of the equation, V", precise, 39.7481073798697, 1e-8, [] { return exact().Voc; });
    add("P_mp of the equation, W", precise, 28.7148160456399, 1e-8, [] { return exact().Pmp; });
    add("measured cell at 0.4373 V, A", measured, 0.7065, 2.3e-3,
        [] { return solar::current(measured_cell(), 0.4373); });
    add("54-cell module by its published parameters: data sheet's I_sc, A", villalva, 8.21, 1e-3,
        [] { return solar::key_points(published().stc).Isc; });
    add("54-cell module by its published parameters: data sheet's V_oc, V", villalva, 32.9, 1e-3,
        [] { return solar::key_points(published().stc).Voc; });
    add("54-cell module by its published parameters: data sheet's power at 26.3 V, W", villalva, 200.143, 5e-4,
        [] { return 26.3 * solar::current(published().stc, 26.3); });
    const char* reckoned =
        "parameters and translation of Villalva, Gazoli, Filho 2009, the equation solved by another program";
    struct Weak {
        double sun, watt;
    };
    for (const Weak w : {Weak{800, 159.391627}, {600, 118.323730}, {400, 77.1827869}, {200, 36.5114892}})
        add(fmt::format("54-cell module by its published parameters at {:g} W/m2: P_mp, W", w.sun), reckoned, w.watt,
            1e-5, [w] { return power(published(), w.sun, 25); });
    add("54-cell module from its data sheet at 200 W/m2, against its published parameters: P_mp, W", villalva,
        36.5114892, 0.04, [] { return power(from_sheet(), 200, 25); });
    add("54-cell module from its data sheet at 400 W/m2, against its published parameters: P_mp, W", villalva,
        77.1827869, 0.02, [] { return power(from_sheet(), 400, 25); });
    const char* matrices =
        "measured (IEC 61853-1 matrix of a laboratory; NREL, data for validating PV module models, 2014: P_mp within "
        "2.8 %)";
    for (const Measured& m : measured_modules())
        for (const Measured::Point& p : m.others)
            add(fmt::format("{}, fitted at 1000 and 200 W/m2: P_mp at {:g} W/m2, {:g} degC, W", m.name, p.sun, p.degC),
                matrices, p.watt, 0.028,
                [&m, p] { return power(solar::from_datasheet(m.sheet, 5 * m.weak_W / m.strong_W), p.sun, p.degC); });
    add("60-cell module, 800 W/m2, 50 degC: V_oc, V", de_soto, 32.0794914, 1e-5, [] { return table(1, 800, 50).Voc; });
    add("60-cell module, 800 W/m2, 50 degC: P_mp, W", de_soto, 150.249301, 1e-5, [] { return table(1, 800, 50).Pmp; });
    add("60-cell module, 1000 W/m2, 65 degC: P_mp, W", de_soto, 170.481135, 1e-5,
        [] { return table(1, 1000, 65).Pmp; });
    return r;
}

std::vector<Row> trade_rows() {
    const char* trade = "common practice, no source";
    std::vector<Row> r;
    auto pair = [](double degC) {
        Scenario s;
        s.array.module_isc_A = 5.3, s.array.module_voc_V = 21.6, s.array.module_imp_A = 4.9,
        s.array.module_vmp_V = 17.5;
        s.array.module_alpha_A_per_K = 0.003, s.array.module_beta_V_per_K = -0.075, s.array.module_cells = 36;
        s.array.modules_in_series = 2;
        s.sun.irradiance_W_m2 = 900;
        s.sun.module_temperature_degC = degC;
        s.pump.kind = "none";
        return bench::Bench(s).site()->source.open_V;
    };
    r.push_back({"trade", "two 12 V-class modules in series, cool (40-44 V): V_oc, V", trade, 42.0, 2.0 / 42,
                 [=] { return pair(25); }});
    r.push_back({"trade", "two 12 V-class modules in series at 60 degC (about 38 V): V_oc, V", trade, 38.0, 1.0 / 38,
                 [=] { return pair(60); }});
    // Ten 54-cell modules in series at 800 W/m2 and 55 degC, 4 ohm in one connector, over the same without it.
    auto string = [](double ohm) {
        Scenario t;
        published_module(t);
        t.array.modules_in_series = 10, t.array.strings = 1;
        t.sun.irradiance_W_m2 = 800, t.sun.module_temperature_degC = 55;
        t.pump.kind = "none";
        bench::Edits e;
        if (ohm > 0.0) e.faults.push_back({"high-resistance-connector", "s1.m4-", ohm, 0.0});
        return bench::Bench(t, e).site()->source;
    };
    r.push_back({"trade", "4 ohm in one of ten connectors: V_oc over the healthy one", villalva, 1.0, 2e-3,
                 [=] { return string(4).open_V / string(0).open_V; }});
    r.push_back({"trade", "4 ohm in one of ten connectors: I_sc over the healthy one", villalva, 1.0, 2e-3,
                 [=] { return string(4).source_current(0.0) / string(0).source_current(0.0); }});
    r.push_back({"trade", "4 ohm in one of ten connectors: share of the power left (about 10 % lost)", villalva, 0.90,
                 0.02, [=] { return string(4).max_power_W / string(0).max_power_W; }});
    r.push_back({"trade", "10 Mohm joint in a healthy pair on a 10 Mohm meter: share of the open voltage",
                 "voltage divider, closed form", 0.5, 5e-3, [=] {
                     Scenario s;
                     s.array.modules_in_series = 2;
                     s.array.leakage_plus_ohm = s.array.leakage_minus_ohm = std::numeric_limits<double>::infinity();
                     s.pump.kind = "none";
                     bench::Edits bad;
                     bad.acts.push_back({"open", "isolator", 0.0});
                     bench::Bench healthy(s, bad);
                     bad.faults.push_back({"leaky-connector", "s1.m1-", 1e7, 0.0});
                     bench::Bench faulty(s, bad);
                     const bench::Observation array{{"array+", "array-", ""}, meter::Mode::dcv};
                     healthy.settle(), faulty.settle();
                     return bench::observe(faulty, array).value.value_or(not_given) /
                            bench::observe(healthy, array).value.value_or(not_given);
                 }});
    return r;
}

}  // namespace sunshaft::proof
