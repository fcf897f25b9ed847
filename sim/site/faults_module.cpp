// What ails a single module.
#include <algorithm>

#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

// Two of a kind on one module: the worse is seen.
void darkens(double& seen, double share) { seen = std::max(seen, share); }

}  // namespace

std::vector<FaultRow> module_faults() {
    return {
        {"shaded-module", "array", "one module in the shade", "of the light lost", 0, 1, 0.6, module_places,
         [](Works& w, const std::string& place, double share) {
             Module& module = module_at(w, place);
             for (double& light : module.light) light *= 1 - share;
             darkens(module.shadow, share);
         },
         "A tree, a mast or a weed takes the light of one module. Its bypass diodes take over.",
         "Less water at certain hours.",
         "Look at each hour of the day. Compare the string currents by clamp. Remove what shades.", module_caution},
        {"shaded-substring", "array", "one third of a module in the shade", "of the light lost", 0, 1, 0.8, part_places,
         [](Works& w, const std::string& place, double share) {
             Module& module = module_at(w, place);
             module.light[part_at(place)] *= 1 - share;
             darkens(module.shadow, share);
         },
         "One sub-string has less light than the rest. Its bypass diode takes over.",
         "A step in the output at certain hours. The tracker may stay on the lower of two maxima.",
         "Look at each hour of the day. Compare the string currents by clamp. Remove what shades.", module_caution},
        {"shaded-cell", "array", "one cell in the shade", "of its light lost", 0, 1, 0.9, part_places,
         [](Works& w, const std::string& place, double share) {
             Module& module = module_at(w, place);
             module.dark[part_at(place)] = {1, 1 - share};
             darkens(module.shadow, share);
         },
         "A leaf or a dropping covers one cell. The others drive it backwards, up to what its bypass diode allows.",
         "A little less water. A hot cell, in time a brown spot.",
         "Thermal camera on the modules under load. Clean the glass. Look again: a spot that stays is damage.",
         module_caution},
        {"cracked-substring", "array", "cracked cells in one third of a module", "of the cell area lost", 0, 1, 0.5,
         part_places,
         [](Works& w, const std::string& place, double share) {
             Module& module = module_at(w, place);
             module.light[part_at(place)] *= 1 - share;
             module.series_ohm += 0.3 * share;
             darkens(module.worn, share);
         },
         "Part of the area of some cells has lost contact: less current, more resistance.",
         "Less water than the sun should give. Sometimes visible lines or a hot cell.",
         "Thermal camera on the modules under load. Replace the module.", array_caution},
        {"bypass-diode-shorted", "array", "bypass diode shorted", "", 1, 1, 1, part_places,
         [](Works& w, const std::string& place, double) {
             module_at(w, place).bypass[part_at(place)] = solar::Bypass::shorted;
         },
         "One third of a module is bridged for good, often after lightning.",
         "A little less water. The open-circuit voltage is a third of a module low.",
         "Array covered, 0 A by clamp, unplugged: uncover and take each module's open-circuit voltage. One reads "
         "two thirds. Replace diode or module.",
         array_caution},
        {"bypass-diode-open", "array", "bypass diode burnt open", "", 1, 1, 1, part_places,
         [](Works& w, const std::string& place, double) {
             module_at(w, place).bypass[part_at(place)] = solar::Bypass::open;
         },
         "The sub-string has no way round any more.",
         "Nothing in full sun. With shade on that module the whole string stops, and cells burn.",
         "Thermal camera while that third is shaded under load: its cells get hot. Replace diode or module.",
         array_caution},
        {"module-dead", "array", "module gives nothing, its bypass diodes carry the string", "", 1, 1, 1, module_places,
         [](Works& w, const std::string& place, double) {
             module_at(w, place).light = {0.0, 0.0, 0.0};
         },
         "The cells of a module no longer contribute, as if dark.",
         "Less water. The drive may never reach its start voltage.",
         "Array covered, 0 A by clamp, unplugged: uncover and take each module's open-circuit voltage. Replace "
         "the module.",
         array_caution},
        {"module-reversed", "array", "module connected the wrong way round", "", 1, 1, 1, module_places,
         [](Works& w, const std::string& place, double) { module_at(w, place).reversed = true; },
         "One module works against the others. Under load its bypass diodes carry the string.",
         "The voltage at the drive is low by two modules.",
         "Isolator open: open-circuit voltage against module count; two modules are missing. Then array covered, "
         "unplugged: polarity of each module.",
         array_caution},
        {"module-degraded", "array", "aged module", "of the current lost", 0, 0.9, 0.2, module_places,
         [](Works& w, const std::string& place, double share) {
             Module& module = module_at(w, place);
             for (double& light : module.light) light *= 1 - share;
             darkens(module.worn, share);
             module.series_ohm += share;  // browning and corroded ribbons come together; common practice, no source
         },
         "Browned encapsulant and corroded ribbons: less current, more resistance.", "Less water year by year.",
         "String currents by clamp against the irradiance meter. A single module: short-circuit current with a "
         "rated link, covered while fitting. Replace it.",
         short_caution},
        {"module-mismatched", "array", "module of a weaker type in the string", "of the current lost", 0, 0.9, 0.3,
         module_places,
         [](Works& w, const std::string& place, double share) {
             solar::ModuleData& data = module_at(w, place).data;
             data.stc = solar::parallel(data.stc, 1 - share);
             data.Isc *= 1 - share, data.Imp *= 1 - share;
             data.alpha_sc *= 1 - share;
         },
         "A replacement module with smaller cells limits the string.", "Weaker since the module was replaced.",
         "Read the labels. Compare the string currents by clamp. Fit a module of the right type.", array_caution},
        {"module-shunted", "array", "potential-induced degradation: shunted cells", "ohm left across the cells", 1, 1e4,
         40, module_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(module_at(w, place).shunt_ohm, ohm); },
         "High voltage to earth has made the cells leak; worst at the negative end of long strings.",
         "Weak in the morning and under clouds, less so at noon.",
         "In weak light: open-circuit voltage, module against module. Ask the maker about earthing and recovery.",
         array_caution},
    };
}

}  // namespace sunshaft::site
