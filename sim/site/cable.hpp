// Conductors: resistance from standard tables and temperature.
#pragma once

#include <optional>
#include <string_view>

namespace sunshaft::site {

// IEC 60228 maximum DC resistance at 20 degC of plain annealed copper, ohm/m. Sections between the table's rows are
// interpolated in 1/A; below the first and above the last row scaled by 1/A. class_ is 2 or 5.
double iec60228_ohm_per_m(double section_mm2, int class_);
// Copper temperature coefficient 0.00393 /K at 20 degC (IACS).
double at_temperature(double ohm_20degC, double degC);
// Solid copper of an AWG gauge (ASTM B258: d = 0.127 mm * 92^((36-n)/39)), ohm/m at 20 degC.
double awg_ohm_per_m(int gauge);

}  // namespace sunshaft::site
