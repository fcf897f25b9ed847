#include "site/cable.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "text/language.hpp"

namespace sunshaft::site {
namespace {

struct Row {
    double mm2, class2, class5;  // ohm/km
};

// IEC 60228, plain copper, tables of class 2 and class 5.
constexpr std::array<Row, 13> table{{{0.75, 24.5, 26.0},
                                     {1, 18.1, 19.5},
                                     {1.5, 12.1, 13.3},
                                     {2.5, 7.41, 7.98},
                                     {4, 4.61, 4.95},
                                     {6, 3.08, 3.30},
                                     {10, 1.83, 1.91},
                                     {16, 1.15, 1.21},
                                     {25, 0.727, 0.780},
                                     {35, 0.524, 0.554},
                                     {50, 0.387, 0.386},
                                     {70, 0.268, 0.272},
                                     {95, 0.193, 0.206}}};

}  // namespace

double iec60228_ohm_per_m(double section_mm2, int class_) {
    if (!(section_mm2 > 0) || std::isinf(section_mm2))
        throw std::invalid_argument(text::say("conductor: section is {} mm2, expected more than 0", section_mm2));
    if (class_ != 2 && class_ != 5)
        throw std::invalid_argument(text::say("conductor: class is {}, expected 2 or 5", class_));
    const auto ohm_per_km = [class_](const Row& row) { return class_ == 2 ? row.class2 : row.class5; };

    for (std::size_t i = 0; i < table.size(); ++i) {
        const Row& row = table[i];
        if (section_mm2 == row.mm2) return ohm_per_km(row) / 1000;
        if (section_mm2 > row.mm2) continue;
        if (i == 0) return ohm_per_km(row) * row.mm2 / section_mm2 / 1000;
        const Row& below = table[i - 1];
        const double t = (1 / below.mm2 - 1 / section_mm2) / (1 / below.mm2 - 1 / row.mm2);
        return (ohm_per_km(below) + t * (ohm_per_km(row) - ohm_per_km(below))) / 1000;
    }
    return ohm_per_km(table.back()) * table.back().mm2 / section_mm2 / 1000;
}

double at_temperature(double ohm_20degC, double degC) { return ohm_20degC * (1 + 0.00393 * (degC - 20)); }

double awg_diameter(int gauge) {
    if (gauge < 0 || gauge > 40)
        throw std::invalid_argument(text::say("conductor: gauge is AWG {}, expected 0 to 40", gauge));
    return 0.127e-3 * std::pow(92.0, (36 - gauge) / 39.0);
}

double awg_ohm_per_m(int gauge) {
    const double d = awg_diameter(gauge);
    return 17.241e-9 / (std::numbers::pi / 4 * d * d);
}

}  // namespace sunshaft::site
