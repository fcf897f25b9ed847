#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "proof/proof.hpp"
#include "site/cable.hpp"
#include "trace/sequence.hpp"
#include "water/operating_point.hpp"
#include "water/pump.hpp"
#include "water/quadrants.hpp"
#include "water/rising_main.hpp"

namespace sunshaft::proof {

std::vector<Row> water_rows() {
    std::vector<Row> r;
    auto add = [&](const char* field, const char* what, const char* source, double expected, double tolerance,
                   std::function<double()> f) {
        r.push_back({field, what, source, expected, tolerance, std::move(f)});
    };
    const char* iec =
        "definition: the program's own table is IEC 60228, maximum resistance at 20 degC, plain copper (from open "
        "reproductions)";
    add("cable", "class 5, 2.5 mm2, ohm/km", iec, 7.98, 1e-9, [] { return 1000 * site::iec60228_ohm_per_m(2.5, 5); });
    add("cable", "class 2, 4 mm2, ohm/km", iec, 4.61, 1e-9, [] { return 1000 * site::iec60228_ohm_per_m(4, 2); });
    add("cable", "AWG 10, ohm per 1000 ft", "NBS Handbook 100, wire tables (public copy)", 0.9989, 5e-4,
        [] { return 304.8 * site::awg_ohm_per_m(10); });
    add("cable", "copper at 60 degC over 20 degC", "definition: temperature coefficient 0.00393 /K (IACS)", 1.1572,
        1e-9, [] { return site::at_temperature(1.0, 60); });
    const char* colebrook =
        "C. F. Colebrook, J. Inst. Civil Eng. 11 (1939) 133; table after L. F. Moody, Trans. ASME 66 (1944)";
    add("water", "friction factor, Re 1e5, e/D 1e-4", colebrook, 0.01851386607747165, 1e-8,
        [] { return water::friction_factor(1e5, 1e-4); });
    add("water", "friction factor, Re 1e6, e/D 0.01", colebrook, 0.037965, 2e-5,
        [] { return water::friction_factor(1e6, 0.01); });
    add("water", "friction factor, laminar, Re 1000", "64 / Re (G. Hagen, J. L. M. Poiseuille), closed form", 0.064,
        1e-12, [] { return water::friction_factor(1000, 0); });
    add("water", "stainless 5 cm, 60 m, 6 L/s: loss in m",
        "Y. A. Cengel, J. M. Cimbala, Fluid Mechanics, example 8-3 (SI); exact Colebrook", 9.816578 * 9.81 / 9.80665,
        1e-5, [] { return water::RisingMain{60, 0.05, 2e-6, 0, 999, 1.138e-3 / 999}.loss(0.006); });
    const char* affinity = "definition: affinity laws, H ~ n^2, P ~ n^3";
    auto pump = [] { return water::centrifugal(300, 60, 2e-3, 45, 0.6, 998.2); };
    add("water", "head at 0.8 n and 0.8 Q over head at n and Q", affinity, 0.64, 1e-12,
        [=] { return pump().head(240, 0.8 * 2e-3) / pump().head(300, 2e-3); });
    add("water", "power at 0.8 n and 0.8 Q over power at n and Q", affinity, 0.512, 1e-12,
        [=] { return 0.8 * pump().torque(240, 0.8 * 2e-3) / pump().torque(300, 2e-3); });
    add("water", "best point: hydraulic over shaft power", "definition: the given efficiency", 0.6, 1e-9,
        [=] { return 998.2 * water::gravity * 2e-3 * pump().head(300, 2e-3) / (300 * pump().torque(300, 2e-3)); });
    const char* suter =
        "B. Donsky, J. Basic Eng. 83 (1961) 685, table of the radial pump in Wylie and Streeter, Fluid Transients. "
        "Straight between its entries by another program";
    const auto whole = [](bool torque, double a, double v) {
        const water::Quadrants q = water::quadrants(25.0);
        const double x = std::numbers::pi + std::atan2(v, a);
        return (a * a + v * v) * water::Quadrants::straight(torque ? q.torque : q.head, x);
    };
    struct Quadrant {
        const char* what;
        double a, v, head, torque;
    };
    for (const Quadrant& q : {Quadrant{"0.8 of the speed, half the flow", 0.8, 0.5, 0.765085, 0.541068},
                              {"half the speed, rated flow", 0.5, 1.0, -0.057768, 0.209906},
                              {"rated speed, half the flow back", 1.0, -0.5, 1.430949, 0.421155},
                              {"turned and fed backwards", -1.0, -1.0, 1.01, 0.454}}) {
        r.push_back({"water", fmt::format("radial pump, {}: head over rated", q.what), suter, q.head, 1e-5,
                     [=] { return whole(false, q.a, q.v); }});
        r.push_back({"water", fmt::format("radial pump, {}: torque over rated", q.what), suter, q.torque, 1e-5,
                     [=] { return whole(true, q.a, q.v); }});
    }
    add("readings", "unbalance of 462, 463, 455 V in %", "NEMA MG-1, definition of voltage unbalance, worked example",
        1.1, 0.02, [] { return 100 * trace::unbalance(462, 463, 455); });
    add("readings", "V2/V1 of 462, 463, 455 V in %", "IEC 61000-4-30 formula from line magnitudes", 1.091427, 1e-6,
        [] { return 100 * trace::unbalance_factor(462, 463, 455); });
    return r;
}

}  // namespace sunshaft::proof
