// Strings, connectors, the array's wiring and its insulation.
#include "site/fault_groups.hpp"

namespace sunshaft::site {

std::vector<FaultRow> array_faults() {
    return {
        {"open-connector", "array", "connector open or burnt through, clean break", "", 1, 1, 1, connector_places,
         [](Works& w, const std::string& place, double) {
             connector_at(w, place).open = true;
             connector_at(w, place).leak_ohm = open_circuit;
         },
         "One connector of a string no longer conducts at all.",
         "One string: no pumping although the sun shines. Several: less water than usual.",
         "Isolator open: open-circuit voltage at the ends of each string. Cover the array, clamp 0 A, unplug and "
         "test module by module. Replace both halves with the same make and type, crimped with the maker's tool.",
         array_caution},
        {"leaky-connector", "array", "connector burnt, with a conducting crust left across the break",
         "ohm left across the break", 1e4, 1e10, 1e7, connector_places,
         [](Works& w, const std::string& place, double ohm) {
             connector_at(w, place).open = true;
             connector_at(w, place).leak_ohm = ohm;
         },
         "A broken connector whose soot or damp still passes microamperes.",
         "No pumping, yet a voltmeter at the drive shows part of the open-circuit voltage.",
         "Measure again on a low-impedance position. A voltage that collapses comes through a bad joint, because "
         "the meter loads it. Find it module by module. Replace both halves with the same make and type, crimped "
         "with the maker's tool.",
         array_caution},
        {"high-resistance-connector", "array", "connector with contact resistance", "ohm in the contact", 0, 1e4, 4,
         connector_places, [](Works& w, const std::string& place, double ohm) { connector_at(w, place).ohm = ohm; },
         "A crimp or contact with some ohm; it gets hot under load.",
         "Weak in full sun, nearly normal in weak sun. A connector smells or is deformed.",
         "Open-circuit voltage and short-circuit current look well. Find it by thermal camera under load, or "
         "compare string currents. Replace both halves with the same make and type, crimped with the maker's "
         "tool.",
         array_caution},
        {"wet-connector", "array", "water in a connector: leakage to the frame", "ohm left to the frame", 1e3, 1e8, 1e5,
         connector_places, [](Works& w, const std::string& place, double ohm) { in_parallel(earth_at(w, place), ohm); },
         "Water has crept into a connector and ties its conductor to the metal it lies on.",
         "Often nothing. An earth-fault device trips on wet mornings.",
         "Drive and arresters disconnected, array covered: insulation test of each string to earth. In light the "
         "ratio of the two pole-to-earth voltages tells the place. Replace both halves.",
         frame_caution},
        {"string-earth-fault", "array", "conductor of a string chafed through to the frame", "ohm left to the frame", 0,
         1e6, 100, connector_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(earth_at(w, place), ohm); },
         "A conductor touches the frame. While the array floats otherwise, no current flows yet.",
         "Nothing, until a second fault: then fire or shock.",
         "Isolator open: voltage of each pole to earth. Their ratio tells behind which module it is. Cover the "
         "array and repair the insulation.",
         frame_caution},
        {"earth-leakage-plus", "array", "leakage of the plus conductor to earth", "ohm left to earth", 10, 1e8, 1e5,
         array_place, [](Works& w, const std::string&, double ohm) { in_parallel(w.array.leak_plus_ohm, ohm); },
         "The insulation of the plus conductor of the DC run has suffered.", "Often nothing.",
         "Both ends of the run disconnected, array covered: insulation test of the DC run. Replace the run.",
         frame_caution},
        {"earth-leakage-minus", "array", "leakage of the minus conductor to earth", "ohm left to earth", 10, 1e8, 1e5,
         array_place, [](Works& w, const std::string&, double ohm) { in_parallel(w.array.leak_minus_ohm, ohm); },
         "The insulation of the minus conductor of the DC run has suffered.", "Often nothing.",
         "Both ends of the run disconnected, array covered: insulation test of the DC run. Replace the run.",
         frame_caution},
        {"open-string", "array", "whole string open", "", 1, 1, 1, string_places,
         [](Works& w, const std::string& place, double) { string_at(w, place).joints.back().open = true; },
         "A string carries no current at all: its return conductor is broken.",
         "One string: the system is dead. Several: it runs with the sun of the others only.",
         "Isolator open: open-circuit voltage at the ends of each string; one is missing. Cover the array, find "
         "the break module by module, repair it.",
         array_caution},
        {"string-fuse-blown", "array", "string fuse blown", "", 1, 1, 1, string_places,
         [](Works& w, const std::string& place, double) { string_at(w, place).fuse_blown = true; },
         "The fuse between a string and the array's bar is open.",
         "As with an open string: dead with one string, weaker with several.",
         "Array covered, 0 A by clamp, fuse out: ohms of the fuse. Find out why it blew before you fit one of the "
         "same rating.",
         fuse_caution},
        {"string-reversed", "array", "string connected with reversed polarity", "", 1, 1, 1, string_places,
         [](Works& w, const std::string& place, double) { string_at(w, place).reversed = true; },
         "The string's ends are swapped where it joins the array.",
         "One string: nothing runs. Beside healthy strings: they drive current through it; heat, blown fuses.",
         "Cover the array and take the string fuses out. Then polarity and open-circuit voltage of each string "
         "before they are joined.",
         circulating_caution},
        {"wired-in-parallel", "array", "modules of a string wired plus to plus instead of in series", "", 1, 1, 1,
         [](const Works& w) {
             Places list;
             for (const std::string& s : string_places(w))
                 if (w.array.strings.front().modules.size() > 1) list.push_back(s);
             return list;
         },
         [](Works& w, const std::string& place, double) { string_at(w, place).parallel = true; },
         "All plus leads are joined, and all minus leads: the voltage is that of one module.",
         "The drive stays dark or waits for sun for ever.",
         "Isolator open: open-circuit voltage against module count and temperature. It is that of one module. "
         "Cover the array and rewire in series.",
         array_caution},
        {"blocking-diode-open", "array", "blocking diode burnt open", "", 1, 1, 1,
         [](const Works& w) {
             Places list;
             for (const std::string& s : string_places(w))
                 if (w.array.strings.front().blocking != BlockingDiode::none) list.push_back(s);
             return list;
         },
         [](Works& w, const std::string& place, double) { string_at(w, place).blocking = BlockingDiode::open; },
         "The diode in series with a string no longer conducts.", "Less water than usual, as with one string fewer.",
         "Array covered, isolator open, proved dead: diode test of each blocking diode. Replace the open one.",
         array_caution},
        {"blocking-diode-shorted", "array", "blocking diode shorted", "", 1, 1, 1,
         [](const Works& w) {
             Places list;
             for (const std::string& s : string_places(w))
                 if (w.array.strings.front().blocking != BlockingDiode::none) list.push_back(s);
             return list;
         },
         [](Works& w, const std::string& place, double) { string_at(w, place).blocking = BlockingDiode::shorted; },
         "The diode conducts both ways and protects nothing any more.",
         "Nothing, until that string has another fault: then its neighbours feed it.",
         "Array covered, isolator open, proved dead: diode test of each blocking diode. Replace the shorted one.",
         array_caution},
        {"soiled-array", "array", "whole array soiled", "of the light lost", 0, 0.95, 0.25, array_place,
         [](Works& w, const std::string&, double share) {
             for (String& string : w.array.strings)
                 for (Module& module : string.modules) {
                     for (double& light : module.light) light *= 1 - share;
                     module.dirt = std::max(module.dirt, share);
                 }
         },
         "Dust, droppings or leaves take part of the light, everywhere alike.",
         "Starts later, stops earlier, pumps less.",
         "Look first. Then the string currents by clamp against the irradiance meter. Wash early in the day, with "
         "cool glass.",
         module_caution},
    };
}

}  // namespace sunshaft::site
