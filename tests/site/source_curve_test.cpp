// The collapsed dc side against closed forms, published figures and the full circuit.
#include <cmath>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "site/source_curve.hpp"
#include "site/wiring.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;

namespace {

// The 54-cell module used below, figures at 1000 W/m2 and 25 degC: M. G. Villalva, J. R. Gazoli, E. R. Filho,
// "Comprehensive approach to modeling and simulation of photovoltaic arrays", IEEE Trans. Power Electronics 24
// (2009) 1198-1208, table II.
const solar::SingleDiode published{8.214, 9.825198473e-8, 0.221, 415.405, 1.803620948};

Works array_of(int in_series) {
    Scenario s;
    s.array.modules_in_series = in_series;
    s.sun.irradiance_W_m2 = 1000;
    s.sun.module_temperature_degC = 25;
    s.dc_run.length_m = 0;
    s.dc_run.isolator_contact_ohm = 0;
    s.dc_run.fuse_ohm = 0;
    s.array.connector_ohm = 0;
    s.link.esr_ohm = 0;
    s.link.bleed_ohm = open_circuit;
    s.drive.electronics_W = 0;
    s.array.leakage_plus_ohm = s.array.leakage_minus_ohm = open_circuit;
    Works w = set_up(s);
    w.array.arrester.fitted = false;
    w.array.breakdown_V = open_circuit;  // the single-diode law alone
    for (Module& m : w.array.strings[0].modules) {
        m.data.stc = published;
        m.data.adjust_pct = m.data.alpha_sc = 0;
        m.bypass = {solar::Bypass::open, solar::Bypass::open, solar::Bypass::open};
    }
    return w;
}

double voltage_at(const SourceCurve& c, const std::string& node, double v) {
    const int column = c.column(node);
    REQUIRE(column >= 0);
    return c.node_voltage(column, v);
}

}  // namespace

TEST_CASE("identical modules in series are one diode; inner nodes divide evenly") {
    const Works w = array_of(10);
    const SourceCurve c = source_curve(w);
    const solar::SingleDiode all = solar::series(published, 10);
    const solar::KeyPoints key = solar::key_points(all);
    for (std::size_t k = 0; k < c.grid().size(); ++k)  // nodes are solved
        CHECK(c.currents()[k] == approx(solar::current(all, c.grid()[k])).epsilon(1e-9).margin(1e-9));
    for (double v = 0.02; v < 1.15 * key.Voc; v += 0.37) {  // between them the table interpolates
        CHECK(c.source_current(v) == approx(solar::current(all, v)).margin(1e-6 * key.Isc).epsilon(1e-6));
        CHECK(c.net_current(v) == approx(solar::current(all, v)).margin(1e-6 * key.Isc).epsilon(1e-6));
    }
    CHECK(c.open_V == approx(key.Voc).epsilon(1e-7));
    CHECK(c.max_power_W == approx(key.Pmp).epsilon(1e-7));
    CHECK(c.max_power_V == approx(key.Vmp).epsilon(1e-4));
    for (const double v : {12.3, 200.0, 311.0}) {
        CHECK(voltage_at(c, "s1.m1+", v) == approx(v).epsilon(1e-9));
        CHECK(voltage_at(c, "s1.m4+", v) == approx(0.7 * v).epsilon(1e-7));
        CHECK(voltage_at(c, "s1.m10-", v) == approx(0.0).margin(1e-9));
        CHECK(voltage_at(c, "s1.m2.1-", v) == approx((8 + 2.0 / 3) / 10 * v).epsilon(1e-7));
        CHECK(c.branch_current("s1", v) == approx(solar::current(all, v)).epsilon(1e-5));
        CHECK(c.branch_current("s1.m3.2", v) == approx(solar::current(all, v)).epsilon(1e-5));
        CHECK(c.branch_current("dc+", v) == approx(solar::current(all, v)).epsilon(1e-5));
        CHECK(c.branch_current("dc-", v) == approx(solar::current(all, v)).epsilon(1e-5));
    }
    CHECK(std::isnan(c.branch_current("s9", 100.0)));
    CHECK(c.column("s9+") == -1);
}

TEST_CASE("ten modules through 1 ohm of cable into 20 ohm: published load line") {
    // Ten in series into 20 ohm through 1 ohm: I 8.164788037 A, load 163.295760733 V, array 171.460548770 V.
    Works w = array_of(10);
    w.array.plus.run.ohm = 1.0;
    const SourceCurve c = source_curve(w);
    CHECK(c.source_current(163.295760733) == approx(8.164788037).epsilon(1e-6));
    CHECK(voltage_at(c, "array+", 163.295760733) == approx(171.460548770).epsilon(1e-6));
    CHECK(c.run_loss(163.295760733) == approx(8.164788037 * 8.164788037).epsilon(1e-5));
    CHECK(c.supply_power(163.295760733) == approx(8.164788037 * 171.460548770).epsilon(1e-6));
}

TEST_CASE("partial shading, two modules at 1000 and 500 W/m2") {
    // Computed twice independently (scan over current; Lambert W over voltage): shunt constant, light current
    // scaled with irradiance, one ideal bypass that clamps a module at -0.5 V.
    Works w = array_of(2);
    for (Module& m : w.array.strings[0].modules) {
        m.bypass = {};
        m.data.bypass_drop_V = (0.5 + 0.054) / 3;  // so that three in series drop 0.5 V at the 3.7 A they take here
        m.data.Isc = 8.214;
    }
    w.array.strings[0].modules[1].light = {0.5, 0.5, 0.5};
    w.array.strings[0].modules[1].shunt_factor = 0.5;  // undoes the shunt's growth in weak light
    const SourceCurve c = source_curve(w);
    // Both modules above zero: nothing but the bypass diodes' saturation current differs.
    CHECK(c.source_current(40) == approx(4.0824745).epsilon(1e-5));
    CHECK(c.source_current(50) == approx(4.0515118).epsilon(1e-5));
    CHECK(c.source_current(60) == approx(2.9582950).epsilon(1e-5));
    CHECK(c.open_V == approx(64.500378).epsilon(1e-5));
    CHECK(c.max_power_W == approx(216.906891).epsilon(1e-5));
    CHECK(c.max_power_V == approx(55.413124).epsilon(1e-3));
    CHECK(voltage_at(c, "s1.m1+", 40) - voltage_at(c, "s1.m1-", 40) == approx(30.725668).epsilon(2e-5));
    CHECK(voltage_at(c, "s1.m2+", 40) - voltage_at(c, "s1.m2-", 40) == approx(9.274332).epsilon(5e-5));
    // Bypassed, a real diode's drop moves with its current instead of standing at 0.5 V; the second maximum is
    // that of the sunny module.
    CHECK(c.source_current(20) == approx(8.1373300).epsilon(1e-4));
    CHECK(c.source_current(25) == approx(7.7958147).epsilon(1e-3));
    CHECK(c.source_current(28) == approx(6.5453837).epsilon(4e-3));  // 2.5 A round the shade: 0.46 V
    CHECK(voltage_at(c, "s1.m2+", 25) - voltage_at(c, "s1.m2-", 25) == approx(-0.5).margin(0.02));
    double second = 0.0;
    for (double v = 20; v < 32; v += 0.01) second = std::max(second, v * c.source_current(v));
    CHECK(second == approx(196.340313).epsilon(1e-3));
}

TEST_CASE("one sub-string of three shaded, and one shorted out") {
    Works w = array_of(1);
    Module& m = w.array.strings[0].modules[0];
    m.bypass = {};
    m.data.bypass_drop_V = 0.5;
    m.data.Isc = 8.214;
    m.light[1] = 0.3;
    SourceCurve c = source_curve(w);
    // The reference clamps at 0.5 V; this diode drops 0.47 V at the 5 A it takes there, of 17.1 V: 0.2 %.
    CHECK(c.max_power_W == approx(129.629700).epsilon(2e-3));
    CHECK(c.max_power_W > 129.629700);
    CHECK(c.open_V == approx(32.147106).epsilon(1e-3));
    m.light[1] = 1.0;
    m.bypass[1] = solar::Bypass::shorted;
    c = source_curve(w);
    // 133.423746 W with a perfect short. This shorted diode keeps 5 milliohm, through which the third's own
    // light current (8.21 A) and the string's flow with opposite signs.
    CHECK(c.max_power_W == approx(133.423746 + 7.6 * 0.005 * (8.21 - 7.6)).epsilon(1e-5));
    CHECK(c.open_V == approx(21.922275 + 8.21 * 0.005).epsilon(1e-5));
}

TEST_CASE("the table against w folds run resistance, bleed, electronics and ESR in") {
    Works w = array_of(6);
    w.array.minus.run.ohm = 0.7;
    w.link.esr_ohm = 0.4;
    w.link.bleed_ohm = 20e3;
    w.link.electronics_W = 6;
    w.link.dropout_V = 40;
    const SourceCurve c = source_curve(w);
    // Where the electronics' rise begins and ends its second slope jumps by 6 P / (v rise^2). A cubic Hermite piece of
    // width h across a jump J misses by at most 0.01615 J h^2 (of (J/2)(x - a)+^2, the largest over a and x). Kept
    // monotone, its end slope is less by J h / 6 at most, which is 4/27 h of that here and in the next piece. The table
    // has 1023 pieces.
    const double width = (c.grid().back() - c.grid().front()) / 1023;
    const double miss = (0.01615 + 4.0 / 27 / 6) * 6 * (6.0 / 40) / (1.6 * 1.6) * width * width;
    for (double x = 1; x < 225; x += 0.93) {
        const double v = c.link_voltage(x);
        const double net = c.source_current(v) - v / 20e3 - electronics_current(w.link, v).i;
        const double kink = std::min(std::abs(v - 40), std::abs(v - 41.6)) < 2.02 * width ? miss : 0.0;
        CHECK(c.net_current(x) == approx(net).margin(2e-6 + kink));
        CHECK(v == approx(x + 0.4 * net).epsilon(1e-7).margin(0.4 * kink));
        const double h = 1e-5;
        CHECK(c.net_slope(x) == approx((c.net_current(x + h) - c.net_current(x - h)) / (2 * h)).margin(1e-5));
        CHECK(c.supply_power(v) - c.run_loss(v) == approx(v * c.source_current(v)).epsilon(1e-12).margin(1e-12));
    }
    CHECK(electronics_current(w.link, 120).i == approx(0.05).epsilon(1e-14));
    // Nothing up to the drop-out voltage, the whole 4 % above it; once dark they wake at 1.25 times it.
    CHECK(electronics_current(w.link, 40).i == 0.0);
    CHECK(electronics_current(w.link, 41.6).i == approx(6 / 41.6).epsilon(1e-14));
    CHECK(electronics_current(w.link, 50, true).i == 0.0);
    CHECK(electronics_current(w.link, 52, true).i == approx(6.0 / 52).epsilon(1e-14));
    for (const double v : {36.0, 40.3, 41.0, 41.5, 100.0})
        CHECK(electronics_current(w.link, v).slope ==
              approx((electronics_current(w.link, v + 1e-6).i - electronics_current(w.link, v - 1e-6).i) / 2e-6)
                  .epsilon(1e-6));
}

TEST_CASE("the curve falls everywhere, below zero and beyond open circuit too") {
    for (const double share : {1.0, 0.6, 0.05}) {
        Works w = array_of(8);
        for (Module& m : w.array.strings[0].modules) m.bypass = {};
        w.array.strings[0].modules[2].light = {share, 1.0, share};
        const SourceCurve c = source_curve(w);
        double before = c.net_current(-40.0);
        for (double v = -39.9; v < 400.0; v += 0.1) {
            const double now = c.net_current(v);
            REQUIRE(now <= before + 1e-12);
            REQUIRE(c.net_slope(v) <= 1e-12);
            before = now;
        }
    }
}

TEST_CASE("the interpolated curve stays on the full circuit with shade, two strings and leakage") {
    Scenario s;
    s.array.modules_in_series = 5;
    s.array.strings = 2;
    Works w = set_up(s);
    w.array.strings[0].modules[1].light = {0.4, 0.9, 0.7};
    w.array.strings[1].modules[4].light = {0.2, 0.2, 1.0};
    w.array.strings[1].modules[0].reversed = true;
    w.array.leak_minus_ohm = 5e3;
    const SourceCurve c = source_curve(w);
    circuit::Circuit full;
    wire_dc(w, full);
    const auto source = full.voltage_source(*full.find("link+"), *full.find("link-"), 0.0);
    circuit::Solver solver(full);
    double worst = 0.0, worst_node = 0.0;
    for (double v = 0.33; v < 160; v += 1.71) {
        const auto at = solver.solve_with(source, v);
        worst = std::max(worst, std::abs(c.source_current(v) - at.current(source)));
        for (const char* node : {"s1.m2.1-", "s2.m4-", "array+", "frame", "s2.m1+"})
            worst_node = std::max(worst_node,
                                  std::abs(voltage_at(c, node, v) - at.voltage(*full.find(node), *full.find("link-"))));
    }
    CHECK(worst < 5e-3);       // A, of 13
    CHECK(worst_node < 0.05);  // V: a shaded third turns over within half a volt
}

TEST_CASE("an open string, a leaky joint, an open isolator") {
    Works w = array_of(4);
    for (Module& m : w.array.strings[0].modules) m.bypass = {};
    w.array.strings[0].joints[2].open = true;
    SourceCurve c = source_curve(w);
    for (const double v : {0.0, 50.0, 131.0}) {
        CHECK(std::abs(c.source_current(v)) < 1e-12);
        CHECK(c.branch_current("s1", v) == approx(0.0).margin(1e-12));
        CHECK(voltage_at(c, "s1.m1+", v) == approx(v).epsilon(1e-9));
        CHECK(voltage_at(c, "s1.m2-", v) == approx(v - 2 * solar::voltage(published, 0)).margin(1e-4));
    }
    // 10 Mohm across the break: open-circuit voltage as ever, no current to speak of.
    w.array.strings[0].joints[2].leak_ohm = 1e7;
    c = source_curve(w);
    CHECK(c.open_V == approx(4 * solar::voltage(published, 0)).epsilon(1e-5));
    CHECK(c.source_current(0.0) == approx(4 * solar::voltage(published, 0) / 1e7).epsilon(1e-3));

    w.array.plus.contact.open = w.array.minus.contact.open = true;
    c = source_curve(w);
    CHECK(std::abs(c.net_current(77.0)) < 1e-12);
    CHECK(c.island(c.column("dc+")) == 0);
    CHECK(c.island(c.column("iso.in+")) == c.island(c.column("s1.m1+")));
    CHECK(c.island(c.column("iso.in+")) != 0);
}

TEST_CASE("a bench supply is a straight line, or stiff") {
    Scenario s;
    s.supply.kind = "bench";
    s.supply.voltage_V = 300;
    s.supply.resistance_ohm = 0.5;
    s.link.esr_ohm = 0.03;
    s.link.bleed_ohm = open_circuit;
    s.drive.electronics_W = 0;
    SourceCurve c = source_curve(set_up(s));
    CHECK_FALSE(c.stiff);
    for (double v = -140; v < 590; v += 7.3) {
        CHECK(c.source_current(v) == approx((300 - v) / 0.5).epsilon(1e-12).margin(1e-10));
        CHECK(c.net_current(v) == approx((300 - v) / 0.53).epsilon(1e-12).margin(1e-10));
        CHECK(c.net_slope(v) == approx(-1 / 0.53).epsilon(1e-11));
        CHECK(c.run_loss(v) == approx((300 - v) * (300 - v) / 0.5).epsilon(1e-11).margin(1e-7));
        CHECK(c.supply_power(v) == approx(300 * (300 - v) / 0.5).epsilon(1e-11).margin(1e-7));
    }
    CHECK(c.open_V == approx(300).epsilon(1e-12));
    s.supply.resistance_ohm = 0;
    c = source_curve(set_up(s));
    CHECK(c.stiff);
    CHECK(c.stiff_V == 300);
    CHECK(voltage_at(c, "array+", 300) == approx(300).epsilon(1e-15));
    Works w = set_up(s);
    w.array.plus.contact.ohm = 0.1;
    CHECK_FALSE(source_curve(w).stiff);
}

TEST_CASE("guards and metal parts are there in every supply's curve, in islands of their own") {
    for (const char* kind : {"array", "bench", "mains"}) {
        Scenario s;
        s.supply.kind = kind;
        const SourceCurve c = source_curve(set_up(s));
        for (const char* node : {"dry.1", "dry.2", "float.1", "casing", "earth"}) {
            INFO(kind << " " << node);
            REQUIRE(c.column(node) >= 0);
            CHECK(std::isfinite(c.node_voltage(c.column(node), 10.0)));
        }
        CHECK(c.island(c.column("dry.1")) == c.island(c.column("dry.2")));
        CHECK(c.island(c.column("dry.1")) != c.island(c.column("casing")));
        CHECK(c.island(c.column("casing")) == c.island(c.column("earth")));
        CHECK(voltage_at(c, "dry.1", 10.0) == voltage_at(c, "dry.2", 10.0));
    }
}

TEST_CASE("polarity confused at the drive: the link sits two diode drops below zero") {
    Works w = array_of(4);
    for (Module& m : w.array.strings[0].modules) m.bypass = {};
    w.array.swapped = true;
    const SourceCurve c = source_curve(w);
    CHECK(c.source_current(0.0) == approx(-8.2096).epsilon(1e-3));
    CHECK(c.net_current(-1.0) < -8.0);
    // Three legs share the short-circuit current: somewhat below 2 x 0.8 V, the drop at 10 A a leg.
    CHECK(c.net_current(-1.45) < 0.0);
    CHECK(c.net_current(-1.75) > 0.0);
    CHECK(c.branch_current("dc+", 0.0) == approx(-8.2096).epsilon(1e-3));
}

TEST_CASE("night: a covered array gives nothing and a charged link sees dark diodes") {
    Works w = array_of(2);
    w.array.covered = true;
    solar::SingleDiode dark = published;
    dark.IL = 0;
    dark.Rsh *= 1000;  // the shunt follows 1/irradiance down to 1 W/m2
    const SourceCurve c = source_curve(w);
    CHECK(c.open_V == approx(0.0).margin(1e-6));
    CHECK(c.source_current(10.0) < 0.0);
    CHECK(c.source_current(10.0) > -1e-3);
    CHECK(c.source_current(70.0) == approx(solar::current(solar::series(dark, 2), 70.0)).epsilon(1e-5));
}
