// The figures of Works by hand, from a scenario.
#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "site/works.hpp"
#include "written.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;

TEST_CASE("copper: IEC 60228 maxima, 0.00393 per kelvin") {
    const Works w = set_up(test::written({"dc_run.length_m=50", "dc_run.conductor_mm2=6", "sun.air_temperature_degC=70",
                                          "drop_cable.length_m=100", "drop_cable.conductor_mm2=4",
                                          "drop_cable.stranding=class-2", "drop_cable.temperature_degC=60",
                                          "motor.stator_resistance_ohm=1.82", "motor.winding_temperature_degC=75"}));
    // 50 m one way of 6 mm2 class 5 at 70 degC: 0.394845 ohm the pair.
    CHECK(w.array.plus.run.ohm + w.array.minus.run.ohm == approx(0.394845).margin(5e-7));
    // 100 m of 4 mm2 class 2 at 60 degC: 0.5334692 ohm.
    for (const Phase& phase : w.phases) CHECK(phase.cable.ohm == approx(0.5334692).margin(5e-8));
    // Copper at 75 degC: 1.21615 times its resistance at 20 degC.
    CHECK(w.phases[1].winding.ohm == approx(1.82 * 1.21615).epsilon(1e-9));
}

TEST_CASE("modules: heat, table row or data sheet, three sub-strings in series") {
    Scenario s;
    s.array.modules_in_series = 4;
    s.array.strings = 2;
    Works w = set_up(s);
    REQUIRE(w.array.strings.size() == 2);
    CHECK(w.array.strings[0].modules.size() == 4);
    CHECK(w.array.strings[0].joints.size() == 5);
    CHECK(w.array.module_degC == approx(25 + (45 - 20) * 800 / 800.0).epsilon(1e-14));  // NOCT
    CHECK(w.array.strings[1].modules[3].data.Voc == 38.0);

    s.array.module = "row-02";
    s.sun.module_temperature_degC = 50;
    w = set_up(s);
    CHECK(w.array.module_degC == 50);
    CHECK(w.array.strings[0].modules[0].data.stc.a == 1.6413);

    s.array.module = "row-2";
    CHECK_THROWS_AS(set_up(s), BadInput);
    try {
        set_up(s);
    } catch (const BadInput& e) {
        CHECK(std::string(e.what()).find("did you mean row-0") != std::string::npos);
        CHECK(std::string(e.what()).find("expected a row of the module table") != std::string::npos);
        CHECK(std::string(e.what()).find('\n') == std::string::npos);
    }
}

TEST_CASE("a bench supply's resistance is all there is before the drive") {
    Scenario s;
    s.supply.kind = "bench";
    const Works w = set_up(s);
    CHECK(w.array.strings.empty());
    for (const Joint* j : {&w.array.plus.run, &w.array.plus.contact, &w.array.dc_plus, &w.array.minus.run,
                           &w.array.minus.contact, &w.array.dc_minus})
        CHECK(j->through() == 0.0);
}

TEST_CASE("motor, shaft, pump and main in SI") {
    Scenario s;
    s.motor.locked_speed_rpm = 1500;
    s.pump.kind = "progressive-cavity";
    s.well.drawdown_m_per_m3_h = 0.5;
    Works w = set_up(s);
    CHECK(w.shaft.held_speed == approx(50 * std::numbers::pi).epsilon(1e-14));
    CHECK(w.water.drawdown == approx(1800.0).epsilon(1e-14));
    CHECK(w.water.main.length == 45 + 8 + 10);
    CHECK(w.water.main.diameter == 0.04);
    // At rated speed against the rated head a tenth of 0.05 L a turn slips back.
    const auto& pump = std::get<water::ProgressiveCavity>(w.water.pump);
    const double speed = 2850 * std::numbers::pi / 30, flow = 0.9 * 0.05e-3 * 2850 / 60;
    CHECK(pump.head(speed, flow, w.water.main.density) == approx(60.0).epsilon(1e-9));

    s.motor.locked_speed_rpm = not_given;
    s.motor.kind = "permanent-magnet";
    s.motor.back_emf = "trapezoidal";
    s.pump.kind = "none";
    w = set_up(s);
    CHECK(std::isnan(w.shaft.held_speed));
    CHECK(std::get<motor::PermanentMagnet>(w.motor).trapezoidal);
    CHECK(std::holds_alternative<std::monostate>(w.water.pump));
}

TEST_CASE("a module by its parameters, and what it keeps in weak light") {
    Scenario s;
    s.array.module_photocurrent_A = 8.2, s.array.module_saturation_A = 1e-9, s.array.module_ideality = 1.1;
    s.array.module_series_ohm = 0.2, s.array.module_shunt_ohm = 300;
    const solar::ModuleData by_parameters = set_up(s).array.strings[0].modules[0].data;
    CHECK(by_parameters.stc.IL == 8.2);
    CHECK(by_parameters.stc.a == approx(1.1 * 60 * 8.617333262e-5 * 298.15).epsilon(1e-12));

    Scenario t;
    const auto kept = [&] { return solar::low_light_efficiency(set_up(t).array.strings[0].modules[0].data); };
    CHECK(kept() == approx(solar::typical_low_light).epsilon(1e-6));
    t.array.module_low_light_efficiency = 0.97;
    CHECK(kept() == approx(0.97).epsilon(1e-6));
    t.array.module_low_light_efficiency = 0.7;
    try {
        set_up(t);
        FAIL("accepted");
    } catch (const BadInput& e) {
        const std::string text = e.what();
        const std::string before = "array.module_low_light_efficiency: is 0.7, expected ";
        REQUIRE(text.find(before) == 0);
        CHECK(text.find(" or more") != std::string::npos);
        // What it names is the least that is taken.
        const double least = std::stod(text.substr(before.size()));
        t.array.module_low_light_efficiency = least;
        CHECK(kept() == approx(least).margin(1e-3));
        t.array.module_low_light_efficiency = least - 2e-3;
        CHECK_THROWS_AS(kept(), BadInput);
    }
}

TEST_CASE("data-sheet values that cannot belong together are refused in one line") {
    Scenario s;
    s.array.module_vmp_V = 37.0;
    s.array.module_imp_A = 8.9;
    try {
        set_up(s);
        FAIL("accepted");
    } catch (const BadInput& e) {
        const std::string text = e.what();
        CHECK(text.find("array.module_vmp_V: ") == 0);
        CHECK(text.find("expected") != std::string::npos);
        CHECK(text.find('\n') == std::string::npos);
    }
}
