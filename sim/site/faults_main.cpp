// The rising main between pump and tank.
#include <numbers>

#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

Places main_place(const Works& works) {
    return pump_place(works).empty() ? Places{} : Places{"main"};
}

}  // namespace

std::vector<FaultRow> main_faults() {
    return {
        {"hole-in-main", "pump and water", "hole half way up the rising main", "mm across", 0.5, 60, 8, main_place,
         [](Works& w, const std::string&, double mm) {
             // Sharp-edged hole: contraction and friction leave 0.62 of the area (any text on hydraulics).
             w.water.leak_area += 0.62 * std::numbers::pi / 4 * mm * mm * 1e-6;
         },
         "Half way up water sprays back into the bore.",
         "Less water, a long wait for it after each stop: the main empties down to the hole.",
         "Bucket and watch against the current: full work, little water; gauge at the wellhead falls after a stop.",
         lift_caution},
    };
}

}  // namespace sunshaft::site
