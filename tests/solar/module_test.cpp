// Modules: published translations, the data-sheet fit, the public table, facts of the trade.
#include "solar/module.hpp"

#include <cmath>
#include <cstdio>
#include <fstream>
#include <string>

#include "catch_shim.hpp"
#include "table.hpp"

using namespace sunshaft::solar;
using sunshaft::test::approx;

namespace {

const std::string table_file = std::string(SUNSHAFT_TEST_DATA) + "/cec_module_rows.csv";

ModuleData row(const std::string& name) {
    for (const ModuleData& m : load_table(table_file))
        if (m.name == name) return m;
    throw std::runtime_error("no row " + name);
}

void require_close(const KeyPoints& got, const KeyPoints& expected, double relative) {
    REQUIRE(got.Isc == approx(expected.Isc).epsilon(relative));
    REQUIRE(got.Voc == approx(expected.Voc).epsilon(relative));
    REQUIRE(got.Vmp == approx(expected.Vmp).epsilon(relative));
    REQUIRE(got.Imp == approx(expected.Imp).epsilon(relative));
    REQUIRE(got.Pmp == approx(expected.Pmp).epsilon(relative));
}

template <class Call>
std::string words_of(Call call) {
    try {
        call();
    } catch (const std::invalid_argument& error) {
        return error.what();
    }
    return "";
}

bool says(const std::string& words, const std::string& part) { return words.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("the 54-cell module of Villalva, Gazoli and Filho under their own translation") {
    // M. G. Villalva, J. R. Gazoli, E. R. Filho, "Comprehensive approach to modeling and simulation of
    // photovoltaic arrays", IEEE Trans. Power Electronics 24 (2009) 1198-1208: data sheet, fitted parameters
    // and translation; the results are computed from them independently of this program.
    const double Isc = 8.21, Voc = 32.9, Ki = 0.0032, Kv = -0.1230, n_cells = 1.3 * 54;
    const auto at = [&](double irradiance, double degC) {
        const double dT = degC - 25;
        const double a = n_cells * 1.3806503e-23 * (degC + 273.15) / 1.60217646e-19;
        return SingleDiode{(8.214 + Ki * dT) * irradiance / 1000, (Isc + Ki * dT) / std::expm1((Voc + Kv * dT) / a),
                           0.221, 415.405, a};
    };
    REQUIRE(at(1000, 25).I0 == approx(9.825198473e-8).epsilon(1e-9));

    const struct {
        double irradiance, degC;
        KeyPoints expected;
    } rows[] = {{1000, 25, {8.20963222, 32.8834124, 26.3489975, 7.59556866, 200.135620}},
                {1000, 50, {8.28958680, 29.8089562, 23.2645111, 7.55479454, 175.758601}},
                {1000, 75, {8.36951145, 26.7347574, 20.2590387, 7.47969106, 151.531350}},
                {800, 47, {6.62399438, 29.7417357, 23.5098545, 6.04444376, 142.103993}},
                {800, 25, {6.56770579, 32.4768248, 26.2599401, 6.06976354, 159.391627}},
                {600, 25, {4.92577935, 31.9511723, 26.0583425, 4.54072355, 118.323730}},
                {400, 25, {3.28385291, 31.2065200, 25.6477416, 3.00934048, 77.1827869}},
                {200, 25, {1.64192646, 29.9172075, 24.7103716, 1.47757750, 36.5114892}}};
    for (const auto& r : rows) {
        INFO(r.irradiance << " W/m2, " << r.degC << " degC");
        require_close(key_points(at(r.irradiance, r.degC)), r.expected, 1e-6);
    }

    const SingleDiode stc = at(1000, 25);
    const double curve[][2] = {{0, 8.20963222},  {5, 8.19759815},  {10, 8.18550391},     {15, 8.17244874},
                               {20, 8.14408213}, {25, 7.87959729}, {26.3, 7.60952734},   {28, 6.88199683},
                               {30, 5.07594687}, {32, 1.86873659}, {32.9, -0.0375210216}};
    for (const auto& [v, i] : curve) {
        INFO("v " << v);
        REQUIRE(current(stc, v) == approx(i).epsilon(1e-6));
    }
    // Against the data sheet.
    REQUIRE(current(stc, 0) == approx(8.21).epsilon(1e-3));
    REQUIRE(voltage(stc, 0) == approx(32.9).epsilon(1e-3));
    REQUIRE(26.3 * current(stc, 26.3) == approx(200.143).epsilon(5e-4));
}

TEST_CASE("De Soto translation of table rows") {
    // W. De Soto, S. A. Klein, W. A. Beckman, Solar Energy 80 (2006) 78-88; figures computed twice
    // independently of this program, one of them with pvlib-python's calcparams_desoto and singlediode.
    const struct {
        const char* name;
        double irradiance, degC, IL, I0, Rsh, a;
        KeyPoints expected;
    } rows[] = {{"row-01",
                 800,
                 25,
                 6.036,
                 1.943e-9,
                 19.65,
                 0.473,
                 {6.00726296, 10.2953048, 8.40872740, 5.29053265, 44.4866469}},
                {"row-01",
                 800,
                 50,
                 6.096,
                 9.46959302e-8,
                 19.65,
                 0.512661244,
                 {6.06697712, 9.17690462, 7.28908679, 5.32364961, 38.8045441}},
                {"row-02",
                 1000,
                 25,
                 7.843,
                 1.936e-9,
                 839.4,
                 1.6413,
                 {7.83964708, 36.3001957, 29.0001440, 7.34966589, 213.141369}},
                {"row-02",
                 800,
                 50,
                 6.43434,
                 9.43547714e-8,
                 1049.25,
                 1.77892368,
                 {6.43213900, 32.0794914, 25.2445460, 5.95175295, 150.249301}},
                {"row-02",
                 1000,
                 65,
                 8.16288,
                 7.43534037e-7,
                 839.4,
                 1.86149789,
                 {8.15938750, 30.1693626, 22.8874320, 7.44867903, 170.481135}},
                {"row-08",
                 1000,
                 25,
                 5.114,
                 8.196e-10,
                 381.68,
                 2.6373,
                 {5.09977013, 59.4006513, 46.9026324, 4.68980618, 219.964255}},
                {"row-08",
                 800,
                 50,
                 4.18198,
                 3.99448195e-8,
                 477.1,
                 2.85843869,
                 {4.17266547, 52.7089773, 41.0834432, 3.80008967, 156.120768}},
                {"row-08",
                 200,
                 25,
                 1.0228,
                 8.196e-10,
                 1908.4,
                 2.6373,
                 {1.02222954, 55.1619808, 46.4468199, 0.944499889, 43.8690163}}};
    for (const auto& r : rows) {
        INFO(r.name << " at " << r.irradiance << " W/m2, " << r.degC << " degC");
        const SingleDiode d = translate(row(r.name), r.irradiance, r.degC);
        REQUIRE(d.IL == approx(r.IL).epsilon(1e-5));
        REQUIRE(d.I0 == approx(r.I0).epsilon(1e-5));
        REQUIRE(d.Rsh == approx(r.Rsh).epsilon(1e-5));
        REQUIRE(d.a == approx(r.a).epsilon(1e-5));
        require_close(key_points(d), r.expected, 1e-5);
    }

    // The California Energy Commission's variant: alpha corrected by the Adjust column.
    const SingleDiode d = translate_cec(row("row-08"), 1000, 60);
    REQUIRE(d.IL == approx(5.25904374).epsilon(1e-5));
    REQUIRE(d.I0 == approx(1.61371605e-7).epsilon(1e-5));
    REQUIRE(d.a == approx(2.94689416).epsilon(1e-5));
    require_close(key_points(d), {5.24440938, 50.9041144, 38.4203225, 4.73485497, 181.914655}, 1e-5);
}

TEST_CASE("table rows reproduce their own data sheet") {
    const auto modules = load_table(table_file);
    REQUIRE(modules.size() == 10);
    for (const ModuleData& m : modules) {
        const KeyPoints k = key_points(m.stc);
        INFO(m.name << ": Isc " << k.Isc / m.Isc - 1 << " Voc " << k.Voc / m.Voc - 1 << " Imp " << k.Imp / m.Imp - 1
                    << " Vmp " << k.Vmp / m.Vmp - 1);
        // The listed parameters of row-06 put Isc 0.355 % above the listed Isc: a fault of the published row.
        if (m.name == "row-06") REQUIRE(k.Isc / m.Isc - 1 == approx(3.55e-3).margin(5e-6));
        else REQUIRE(k.Isc == approx(m.Isc).epsilon(5e-4));
        REQUIRE(k.Voc == approx(m.Voc).epsilon(5e-4));
        REQUIRE(k.Imp == approx(m.Imp).epsilon(5e-4));
        REQUIRE(k.Vmp == approx(m.Vmp).epsilon(5e-4));
    }
}

TEST_CASE("the shipped table is the published one") {
    const auto shipped = load_table(SUNSHAFT_SOURCE_DIR "/assets/modules.csv"), published = load_table(table_file);
    REQUIRE(shipped.size() == published.size());
    for (std::size_t k = 0; k < shipped.size(); ++k) {
        INFO(published[k].name);
        REQUIRE(shipped[k].name == published[k].name);
        REQUIRE(shipped[k].stc.I0 == published[k].stc.I0);
        REQUIRE(shipped[k].stc.Rsh == published[k].stc.Rsh);
        REQUIRE(shipped[k].Vmp == published[k].Vmp);
        REQUIRE(shipped[k].alpha_sc == published[k].alpha_sc);
    }
}

TEST_CASE("data-sheet fit meets De Soto's five conditions") {
    struct Sheet {
        std::string name;
        double Isc, Voc, Imp, Vmp, alpha, beta;
        int cells;
    };
    std::vector<Sheet> sheets = {
        {"54 cells (Villalva, Gazoli, Filho 2009)", 8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 54},
        {"36 cells, 12 V class", 5.3, 21.6, 4.9, 17.5, 0.003, -0.075, 36},
    };
    for (const ModuleData& m : load_table(table_file))
        sheets.push_back({m.name, m.Isc, m.Voc, m.Imp, m.Vmp, m.alpha_sc, m.beta_oc, m.cells});

    for (const Sheet& s : sheets) {
        const ModuleData m = from_datasheet({s.Isc, s.Voc, s.Imp, s.Vmp, s.alpha, s.beta, s.cells});
        const KeyPoints k = key_points(m.stc);
        INFO(s.name << ": IL " << m.stc.IL << " I0 " << m.stc.I0 << " Rs " << m.stc.Rs << " Rsh " << m.stc.Rsh << " a "
                    << m.stc.a << " beta " << voc_temperature_coefficient(m));
        REQUIRE(current(m.stc, 0) == approx(s.Isc).epsilon(1e-12));
        REQUIRE(voltage(m.stc, 0) == approx(s.Voc).epsilon(1e-12));
        REQUIRE(current(m.stc, s.Vmp) == approx(s.Imp).epsilon(1e-12));
        REQUIRE(k.Pmp == approx(s.Vmp * s.Imp).epsilon(1e-12));
        REQUIRE(k.Vmp == approx(s.Vmp).epsilon(1e-8));
        REQUIRE(m.stc.Rs >= 0);
        REQUIRE(m.stc.Rsh > 0);
        REQUIRE(voc_temperature_coefficient(m) == approx(s.beta).epsilon(1e-8));
        // The sheet of row-06 leaves no room for a shunt: the parameters stop at their limit, the gap does the
        // rest.
        if (s.name == "row-06") {
            REQUIRE(m.stc.Rsh == approx(1e4 * s.Voc / s.Isc).epsilon(1e-6));
            REQUIRE(m.gap_eV > 1.121);
            REQUIRE(m.gap_eV < 1.3);
        } else {
            REQUIRE(m.gap_eV == 1.121);
        }
    }
}

TEST_CASE("data-sheet fit finds parameters it did not choose") {
    // Made from known parameters with a known beta, so that the answer is unique.
    for (const SingleDiode& stc :
         {SingleDiode{8.214, 9.825e-9, 0.221, 215, 1.6}, SingleDiode{3.2, 1e-10, 0.45, 90, 0.92},
          SingleDiode{11.5, 5e-11, 0.05, 400, 1.9}, SingleDiode{5, 1e-7, 1e-4, 60, 1.3}}) {
        ModuleData made;
        made.stc = stc;
        made.alpha_sc = 0.0005 * stc.IL;
        const KeyPoints k = key_points(stc);
        const ModuleData found = from_datasheet({k.Isc, k.Voc, k.Imp, k.Vmp, made.alpha_sc,
                                                 voc_temperature_coefficient(made), static_cast<int>(k.Voc / 0.6)});
        INFO("IL " << stc.IL << " I0 " << stc.I0 << " Rs " << stc.Rs << " found " << found.stc.Rs);
        REQUIRE(found.stc.IL == approx(stc.IL).epsilon(1e-7));
        REQUIRE(found.stc.I0 == approx(stc.I0).epsilon(1e-5));
        REQUIRE(found.stc.Rs == approx(stc.Rs).margin(1e-7));
        REQUIRE(found.stc.Rsh == approx(stc.Rsh).epsilon(1e-5));
        REQUIRE(found.stc.a == approx(stc.a).epsilon(1e-7));
    }
}

TEST_CASE("data-sheet fit keeps the efficiency in weak light it is asked for, and the sheet's other figures") {
    const DataSheet sheet{8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 54};
    for (const double kept : {0.94, 0.96, 0.98, 1.0, 1.02}) {
        const ModuleData m = from_datasheet(sheet, kept);
        INFO(kept << ": a " << m.stc.a << " Rs " << m.stc.Rs << " Rsh " << m.stc.Rsh << " gap " << m.gap_eV);
        REQUIRE(low_light_efficiency(m) == approx(kept).epsilon(1e-9));
        REQUIRE(current(m.stc, 0) == approx(sheet.Isc).epsilon(1e-12));
        REQUIRE(voltage(m.stc, 0) == approx(sheet.Voc).epsilon(1e-12));
        REQUIRE(key_points(m.stc).Pmp == approx(sheet.Vmp * sheet.Imp).epsilon(1e-12));
        REQUIRE(voc_temperature_coefficient(m) == approx(sheet.beta_oc).epsilon(1e-8));
        REQUIRE(m.stc.Rs >= 0);
    }
    // What a sheet cannot go with gives the nearest that can: no less than where its shunt is gone.
    const ModuleData least = from_datasheet(sheet, 0.6);
    REQUIRE(low_light_efficiency(least) > 0.9);
    REQUIRE(least.stc.Rsh == approx(1e4 * sheet.Voc / sheet.Isc).epsilon(1e-3));
    // The parameters published for this module (Villalva, Gazoli, Filho 2009: n 1.3, Rs 0.221 ohm) keep 0.912 with a
    // constant shunt, 0.942 with one that follows the light; with that the fit comes upon them.
    const ModuleData m = from_datasheet(sheet, 0.942);
    REQUIRE(m.stc.a / (54 * thermal_voltage(25)) == approx(1.3).epsilon(0.02));
    REQUIRE(m.stc.Rs == approx(0.221).epsilon(0.05));
}

TEST_CASE(
    "measured modules: a fit that knows what is left at 200 W/m2 foretells the rest, De Soto's promises too much") {
    // tests/data/module_matrices.csv; P_mp of row-P2 to P4 is measured to 2.8 %.
    struct Point {
        double degC, sun, isc, voc, imp, vmp, watt;
    };
    const auto points = [](const std::string& name) {
        std::vector<Point> list;
        for (const auto& f : sunshaft::test::fields("module_matrices.csv")) {
            const auto n = [&](std::size_t k) { return sunshaft::test::number(f, k); };
            if (f[0] == name) list.push_back({n(1), n(2), n(3), n(4), n(5), n(6), n(7)});
        }
        return list;
    };
    const auto misfit = [](const ModuleData& m, const std::vector<Point>& list) {
        double sum = 0;
        for (const Point& p : list) {
            const double e = key_points(translate(m, p.sun, p.degC)).Pmp / p.watt - 1;
            sum += e * e;
        }
        return std::sqrt(sum / static_cast<double>(list.size()));
    };
    double kept_sum = 0;
    const struct {
        const char* name;
        int cells;
    } modules[] = {{"row-P1", 96}, {"row-P2", 36}, {"row-P3", 36}, {"row-P4", 36}};
    for (const auto& [name, cells] : modules) {
        const auto list = points(name);
        REQUIRE(list.size() > 15);
        const auto at = [&](double degC, double sun) {
            for (const Point& p : list)
                if (p.degC == degC && p.sun == sun) return p;
            throw std::runtime_error("no such point");
        };
        const Point full = at(25, 1000), warm = at(50, 1000);
        const DataSheet sheet{
            full.isc, full.voc, full.imp, full.vmp, (warm.isc - full.isc) / 25, (warm.voc - full.voc) / 25, cells};
        const double kept = 5 * at(25, 200).watt / full.watt;
        kept_sum += kept;
        const double own = misfit(from_datasheet(sheet, kept), list), de_soto = misfit(from_datasheet(sheet), list);
        INFO(name << ": keeps " << kept << ", rms error " << own << ", De Soto's fit " << de_soto);
        CHECK(own < 0.022);
        CHECK(own < de_soto);
    }
    CHECK(typical_low_light == approx(kept_sum / 4).margin(0.005));
}

TEST_CASE("a module by its five parameters") {
    const SingleDiode stc{8.214, 9.825198473e-8, 0.221, 415.405, 1.3 * 54 * thermal_voltage(25)};
    const ModuleData m = from_parameters(stc, 0.0032, -0.123, 54, std::nan(""));
    // Its shunt is a plain resistance: the figures of the module's own translation at 25 degC.
    REQUIRE(key_points(translate(m, 200, 25)).Pmp == approx(36.5114892).epsilon(1e-5));
    REQUIRE(translate(m, 200, 25).Rsh == stc.Rsh);
    REQUIRE(voc_temperature_coefficient(m) == approx(-0.123).epsilon(1e-8));
    REQUIRE(m.Isc == approx(8.21).epsilon(1e-3));
    REQUIRE(m.Voc == approx(32.9).epsilon(1e-3));
    // Warm: the paper's translation moves I0 by V_oc, this one by its gap; they agree to a third of a per cent.
    REQUIRE(key_points(translate(m, 800, 47)).Pmp == approx(142.103993).epsilon(1e-3));
    REQUIRE(key_points(translate(m, 1000, 75)).Pmp == approx(151.531350).epsilon(4e-3));
    // Asked for: between no part of the shunt following the light and all of it.
    const ModuleData follows = from_parameters(stc, 0.0032, -0.123, 54, 0.93);
    REQUIRE(low_light_efficiency(follows) == approx(0.93).epsilon(1e-9));
    REQUIRE(follows.shunt_light > 0.0);
    REQUIRE(follows.shunt_light < 1.0);
    REQUIRE(low_light_efficiency(from_parameters(stc, 0.0032, -0.123, 54, 0.99)) < 0.943);
    REQUIRE(says(words_of([&] { from_parameters(stc, 0.0032, -0.123, 5, std::nan("")); }), "V a cell"));
}

TEST_CASE("data-sheet fit refuses in words") {
    const auto words = [](double Isc, double Voc, double Imp, double Vmp, double alpha, double beta, int cells) {
        return words_of([=] { from_datasheet({Isc, Voc, Imp, Vmp, alpha, beta, cells}); });
    };
    REQUIRE(words(8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 54) == "");
    REQUIRE(says(words(0, 32.9, 7.61, 26.3, 0.0032, -0.123, 54), "Isc is 0 A: expected above 0"));
    REQUIRE(says(words(std::nan(""), 32.9, 7.61, 26.3, 0.0032, -0.123, 54), "Isc is nan"));
    REQUIRE(says(words(7.61, 32.9, 8.21, 26.3, 0.0032, -0.123, 54), "Imp 8.21 A is not below Isc 7.61 A"));
    REQUIRE(says(words(8.21, 26.3, 7.61, 32.9, 0.0032, -0.123, 54), "Vmp 32.9 V is not below Voc 26.3 V"));
    REQUIRE(says(words(8.21, 32.9, 4.0, 26.3, 0.0032, -0.123, 54), "half of Isc"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 16.0, 0.0032, -0.123, 54), "half of Voc"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 26.3, 0.05, -0.123, 54), "written in A/K"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 26.3, 0.0032, -0.37, 54), "written in V/K"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 26.3, 0.0032, 0.123, 54), "written in V/K"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 26.3, 0.0032, std::nan(""), 54), "written in V/K"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 10), "V a cell"));
    REQUIRE(says(words(8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 0), "0 cells"));
}

TEST_CASE("data-sheet fit meets every sheet it accepts") {
    int accepted = 0, refused = 0;
    const double Isc = 9, Voc = 40;
    for (double current_part : {0.55, 0.7, 0.85, 0.93, 0.95, 0.97, 0.99})
        for (double voltage_part : {0.55, 0.7, 0.8, 0.83, 0.86, 0.9, 0.95})
            for (double beta : {-0.0012, -0.0024, -0.0028, -0.0035, -0.0045, -0.0065}) {
                const double Imp = current_part * Isc, Vmp = voltage_part * Voc;
                INFO("Imp/Isc " << current_part << " Vmp/Voc " << voltage_part << " beta/Voc " << beta);
                ModuleData m;
                const std::string words = words_of([&] {
                    m = from_datasheet({Isc, Voc, Imp, Vmp, 0.0045, beta * Voc, 60});
                });
                if (!words.empty()) {
                    ++refused;
                    REQUIRE(says(words, "square"));
                    // Every shape and coefficient a real module may have is accepted.
                    const bool real = current_part < 0.98 && voltage_part > 0.6 && voltage_part < 0.88 &&
                                      current_part * voltage_part < 0.84 && beta < -0.002 && beta > -0.005;
                    REQUIRE_FALSE(real);
                    continue;
                }
                ++accepted;
                const KeyPoints k = key_points(m.stc);
                REQUIRE(k.Isc == approx(Isc).epsilon(1e-9));
                REQUIRE(k.Voc == approx(Voc).epsilon(1e-9));
                REQUIRE(k.Pmp == approx(Imp * Vmp).epsilon(1e-9));
                REQUIRE(voc_temperature_coefficient(m) == approx(beta * Voc).epsilon(1e-7));
                REQUIRE(m.stc.Rs >= 0);
                REQUIRE(m.stc.I0 > 0);
                REQUIRE(std::isfinite(m.stc.Rsh));
            }
    INFO(accepted << " accepted, " << refused << " refused");
    REQUIRE(accepted > 2 * refused);
}

TEST_CASE("open-circuit voltages as the trade knows them") {
    // Common practice, no source: a 12 V class (36-cell) module reads 20 to 22 V open, two in series 40 to 44 V
    // when cool and about 38 V at 60 degC module temperature.
    const ModuleData m = from_datasheet({5.3, 21.6, 4.9, 17.5, 0.003, -0.075, 36});
    const auto Voc = [&](double irradiance, double degC) { return voltage(translate(m, irradiance, degC), 0); };
    for (double irradiance : {500.0, 800.0, 1000.0})
        for (double degC : {20.0, 25.0, 30.0, 35.0}) {
            INFO(irradiance << " W/m2, module at " << degC << " degC: " << Voc(irradiance, degC) << " V");
            REQUIRE(Voc(irradiance, degC) > 20);
            REQUIRE(Voc(irradiance, degC) < 22);
        }
    REQUIRE(2 * Voc(1000, 60) == approx(38).margin(0.5));
    REQUIRE(2 * Voc(1000, 15) > 44);  // colder than the band: it follows the temperature
}

TEST_CASE("translation at the edges") {
    const ModuleData m = row("row-02");
    const SingleDiode dark = translate(m, 0, 25);
    REQUIRE(dark.IL == 0);
    REQUIRE(std::isfinite(dark.Rsh));
    REQUIRE(voltage(dark, 0) == approx(0).margin(1e-12));
    REQUIRE(current(dark, 30) < 0);

    const SingleDiode same = translate(m, 1000, 25);
    REQUIRE(same.IL == m.stc.IL);
    REQUIRE(same.I0 == approx(m.stc.I0).epsilon(1e-14));
    REQUIRE(same.a == m.stc.a);

    for (double degC : {-100.0, -40.0, 0.0, 100.0, 200.0}) {
        const KeyPoints k = key_points(translate(m, 1200, degC));
        INFO(degC << " degC");
        REQUIRE(k.Pmp > 0);
        REQUIRE(std::isfinite(k.Voc));
    }
    REQUIRE(says(words_of([&] { translate(m, -1, 25); }), "irradiance -1 W/m2"));
    REQUIRE(says(words_of([&] { translate(m, std::nan(""), 25); }), "irradiance nan"));
    REQUIRE(says(words_of([&] { translate(m, 1000, -300); }), "cell temperature -300 degC"));
}

TEST_CASE("module temperature") {
    // IEC 61215: at 800 W/m2 and 20 degC air the cell is at its nominal operating temperature.
    REQUIRE(noct_temperature(20, 800, 47) == approx(47).epsilon(1e-15));
    REQUIRE(noct_temperature(35, 0, 47) == 35);
    REQUIRE(noct_temperature(30, 1000, 45) == approx(61.25).epsilon(1e-15));
    // pvlib-python, documentation of temperature.faiman and its test: 900 W/m2, 20 degC, 5 m/s.
    REQUIRE(faiman_temperature(20, 900, 5) == approx(35.203).margin(5e-4));
}

TEST_CASE("IEC 60891 moves a measured point") {
    // IEC 60891 ed. 2 (2009), procedures 1 and 2 (equations from memory); figures computed independently.
    const MeasuredPoint point{23.2, 6.45, 850, 45};
    const MeasuredPoint first = translate_iec60891(point, Iec60891First{7.00, 0.0032, -0.123, 0.25, 0.001}, 1000, 25);
    REQUIRE(first.i == approx(7.6212941176).epsilon(1e-9));
    REQUIRE(first.v == approx(25.5196023529).epsilon(1e-9));
    const MeasuredPoint second =
        translate_iec60891(point, Iec60891Second{30.0, 0.0004, -0.0036, 0.06, 0.25, 0.001}, 1000, 25);
    REQUIRE(second.i == approx(7.5275294118).epsilon(1e-9));
    REQUIRE(second.v == approx(25.5337023084).epsilon(1e-9));
}

TEST_CASE("a faulty table is refused with file, line and column") {
    const std::string file = "solar_table_test.csv";
    const std::string header =
        "name,N_s,T_NOCT_C,I_sc_ref_A,V_oc_ref_V,I_mp_ref_A,V_mp_ref_V,alpha_sc_A_per_K,beta_oc_V_per_K,a_ref_"
        "V,"
        "I_L_ref_A,I_o_ref_A,R_s_ohm,R_sh_ref_ohm,Adjust_pct\n";
    const std::string good = "x,60,47,8,37,7.5,30,0.004,-0.13,1.6,8,1e-9,0.3,300,0\n";
    const auto words = [&](const std::string& content) {
        std::ofstream(file) << content;
        const std::string said = words_of([&] { load_table(file); });
        std::remove(file.c_str());
        return said;
    };
    REQUIRE(words("# comment\n\n" + header + good) == "");
    REQUIRE(words(header + "\xEF\xBB\xBF# not a comment\n") != "");
    REQUIRE(words(header + good + "y,60,47,8,abc,7.5,30,0.004,-0.13,1.6,8,1e-9,0.3,300,0\n") ==
            file + ":3: V_oc_ref_V: 'abc' is not a number");
    REQUIRE(words(header + "y,60,47,8,37,7.5,30,0.004,-0.13,1.6,8,1e-9,-0.3,300,0\n") ==
            file + ":2: R_s_ohm: a resistance below 0");
    REQUIRE(words(header + "y,60,47,8,37,7.5,30,0.004,-0.13,1.6,8,0,0.3,300,0\n") ==
            file + ":2: I_o_ref_A: 0 is not above 0");
    REQUIRE(words(header + "y,60.5,47,8,37,7.5,30,0.004,-0.13,1.6,8,1e-9,0.3,300,0\n") ==
            file + ":2: N_s: 60.5 is not a count of cells");
    REQUIRE(words(header + "y,60,47\n") == file + ":2: I_L_ref_A: the field is missing");
    REQUIRE(says(words(header + "y,60,47,8,37,7.5,30,0.004,-0.13,1.6,8,inf,0.3,300,0\n"), "'inf' is not a number"));
    REQUIRE(says(words("name,N_s\nx,60\n"), ":2: I_L_ref_A: the table has no such column"));
    REQUIRE(words("") == file + ": holds no module");
    REQUIRE(words_of([] { load_table("no/such/file.csv"); }) == "no/such/file.csv: cannot be read");
}
