// The rising main between pump and tank.
#include <numbers>

#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {}  // namespace

Places main_place(const Works& works) { return pump_place(works).empty() ? Places{} : Places{"main"}; }

std::vector<FaultRow> main_faults() {
    return {
        {"hole-in-main", "pump and water", "hole in the rising main", "mm across", 0.5, 60, 8,
         [](const Works& w) {
             return main_place(w).empty() ? Places{} : Places{"main", "main.top", "main.foot"};
         },
         [](Works& w, const std::string& place, double mm) {
             w.water.leak_height = place == "main.top" ? 0.9 : place == "main.foot" ? 0.02 : 0.5;
             // Sharp-edged hole: contraction and friction leave 0.62 of the area (any text on hydraulics).
             w.water.leak_area += 0.62 * std::numbers::pi / 4 * mm * mm * 1e-6;
         },
         "Half way up (main), just below the top or just above the pump water sprays back into the bore.",
         "Less water, a long wait for it after each stop: the rising main empties down to the hole.",
         "Bucket-and-stopwatch test against the current: full work, little water. The gauge at the wellhead falls "
         "after a stop. Lift and replace the pipe.",
         lift_caution},
    };
}

}  // namespace sunshaft::site
