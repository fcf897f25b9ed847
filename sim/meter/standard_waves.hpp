// How a meter reads the standard waves: the quickest way to get to know one, or to check a file one has
// written.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "meter/reading.hpp"

namespace sunshaft::meter {

struct StandardRow {
    std::string wave;   // "sine", "six-step line-line", "PWM 8 kHz line-line", ...
    double peak = 0.0;  // V or A
    Truth truth;
    std::vector<std::pair<Mode, Reading>> readings;  // every mode of the meter that reads a wave, of this unit
};

// Sine, square, quasi-square of 120 deg, triangle, pulse train of duty 0.25, and sine-triangle PWM (index 0.8)
// at 2, 4, 8 and 16 kHz, at 50 Hz; voltages with a peak of 320 V and currents with one of 10 A, less where a
// meter's ranges are.
std::vector<StandardRow> standard_readings(const Spec& spec);

}  // namespace sunshaft::meter
