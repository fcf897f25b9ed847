// Conductors: resistance from standard tables and temperature.
#pragma once

namespace sunshaft::site {

// IEC 60228 maximum DC resistance at 20 degC of plain annealed copper, ohm/m. Sections between the table's rows
// (0.75..95 mm2) are interpolated in 1/A; below the first and above the last row scaled by 1/A. class_ is 2
// (stranded) or 5 (flexible). Throws std::invalid_argument.
double iec60228_ohm_per_m(double section_mm2, int class_);

// Copper at another temperature: R20 (1 + 0.00393 (T - 20)), the International Annealed Copper Standard (IEC
// 60028).
double at_temperature(double ohm_20degC, double degC);

// Solid copper of an AWG gauge 0..40 (ASTM B258: d = 0.127 mm * 92^((36-n)/39)); throws std::invalid_argument.
double awg_diameter(int gauge);   // m
double awg_ohm_per_m(int gauge);  // at 20 degC, resistivity 17.241e-9 ohm m

}  // namespace sunshaft::site
