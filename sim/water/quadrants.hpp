// Complete characteristics of centrifugal pumps: head and torque whichever way shaft and water go, by specific speed.
//
// Measured by B. Donsky, "Complete pump characteristics and the effects of specific speeds on hydraulic transients", J.
// Basic Eng. 83 (1961) 685, in the form of P. Suter: with speed a, flow v, head h and torque b as shares of the best
// point and x = pi + atan2(v, a), 89 values a turn of
//
//     WH = h / (a2 + v2)          WB = b / (a2 + v2)
//
// for a radial pump of specific speed 25 (rpm, m3/s, m, one stage; two public copies of the table in E. B. Wylie, V. L.
// Streeter, "Fluid Transients", agree) and one of mixed flow of 147 (the same book, from memory: no public copy was
// found; it closes, passes its own best point, makes energy at no angle, and no check rests on it). Between them
// straight in the specific speed, as those texts do, below and above as the nearer one.
#pragma once

#include <array>

namespace sunshaft::water {

// Of one stage: rev/min, m3/s, m.
double specific_speed(double speed, double best_flow, double head_of_a_stage);

struct Quadrants {
    static constexpr std::size_t size = 89;
    // Of a2 + v2, at x = index pi / 44.
    std::array<double, size> head{}, torque{};

    // Straight between the entries, x from 0 to 2 pi.
    static double straight(const std::array<double, size>& table, double x);
};
Quadrants quadrants(double specific_speed);

}  // namespace sunshaft::water
