// Strings, connectors, the array's wiring and its insulation.
#include "site/fault_groups.hpp"

namespace sunshaft::site {

std::vector<FaultRow> array_faults() {
    return {
        {"open-connector", "array", "connector parted or burnt through, clean break", "", 1, 1, 1,
         connector_places,
         [](Works& w, const std::string& place, double) {
             connector_at(w, place).open = true;
             connector_at(w, place).leak_ohm = open_circuit;
         },
         "One connector of a string no longer conducts at all.",
         "One string: no pumping although the sun shines; several: less water than usual.",
         "Controller off: open-circuit voltage at the string's ends, then walk the connectors from one end "
         "until the voltage "
         "is missing; replace both halves with the same kind.",
         array_caution},
        {"leaky-connector", "array", "connector burnt, with a conducting crust left across the break", "ohm",
         1e4, 1e10, 1e7, connector_places,
         [](Works& w, const std::string& place, double ohm) {
             connector_at(w, place).open = true;
             connector_at(w, place).leak_ohm = ohm;
         },
         "A broken connector whose soot or damp still passes microamperes.",
         "No pumping, yet a voltmeter at the controller shows some of the open-circuit voltage.",
         "Measure again with the meter's low-impedance input, or under load: a voltage that collapses comes "
         "through a bad "
         "joint. Walk the connectors, replace both halves.",
         array_caution},
        {"high-resistance-connector", "array", "connector with contact resistance", "ohm", 0, 1e4, 4,
         connector_places,
         [](Works& w, const std::string& place, double ohm) { connector_at(w, place).ohm = ohm; },
         "A crimp or contact with some ohm; it gets hot under load.",
         "Weak in full sun, nearly normal in weak sun; a connector smells or is deformed.",
         "Open-circuit voltage and short-circuit current look well; find it by temperature under load or by "
         "voltage drop "
         "across each connector; replace both halves.",
         array_caution},
        {"wet-connector", "array", "water in a connector: leakage to the frame", "ohm", 1e3, 1e8, 1e5,
         connector_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(earth_at(w, place), ohm); },
         "Water has crept into a connector and ties its conductor to the metal it lies on.",
         "Often nothing; trips of an earth-fault device on wet mornings.",
         "Insulation test of the string to earth, electronics and arresters disconnected; the place follows "
         "from the ratio "
         "of the two pole-to-earth voltages; dry or replace.",
         array_caution},
        {"string-earth-fault", "array", "conductor of a string chafed through to the frame", "ohm", 0, 1e6, 100,
         connector_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(earth_at(w, place), ohm); },
         "A conductor touches the frame; with the array otherwise floating no current flows yet.",
         "Nothing, until a second fault: then fire or shock. One pole reads much less to earth than it should.",
         "Voltage of each pole to earth with the controller off: their ratio tells behind which module it is; "
         "mend the "
         "insulation.",
         array_caution},
        {"earth-leakage-plus", "array", "leakage of the plus conductor to earth", "ohm", 10, 1e8, 1e5,
         array_place, [](Works& w, const std::string&, double ohm) { in_parallel(w.array.leak_plus_ohm, ohm); },
         "The insulation of the plus conductor of the DC run has suffered.", "Often nothing.",
         "Insulation test of the DC run, both ends disconnected; replace the run.", array_caution},
        {"earth-leakage-minus", "array", "leakage of the minus conductor to earth", "ohm", 10, 1e8, 1e5,
         array_place,
         [](Works& w, const std::string&, double ohm) { in_parallel(w.array.leak_minus_ohm, ohm); },
         "The insulation of the minus conductor of the DC run has suffered.", "Often nothing.",
         "Insulation test of the DC run, both ends disconnected; replace the run.", array_caution},
        {"open-string", "array", "whole string open", "", 1, 1, 1, string_places,
         [](Works& w, const std::string& place, double) { string_at(w, place).joints.back().open = true; },
         "A string carries no current at all: its return conductor is broken.",
         "With one string the system is dead; with several it runs, but only with the sun of the others.",
         "Clamp each string under load; then find the break by walking the connectors, controller off; mend "
         "it.",
         array_caution},
        {"string-fuse-blown", "array", "string fuse blown", "", 1, 1, 1, string_places,
         [](Works& w, const std::string& place, double) { string_at(w, place).fuse.open = true; },
         "The fuse between a string and the array's bar is open.",
         "As a string open: dead with one string, weaker with several.",
         "Voltage on both sides of the fuse, controller off; find out why it blew before replacing it with the "
         "same rating.",
         "Never pull a fuse under load: isolate first. Both sides of a string fuse can be live."},
        {"string-reversed", "array", "string connected with plus and minus confused", "", 1, 1, 1,
         string_places, [](Works& w, const std::string& place, double) { string_at(w, place).reversed = true; },
         "The string's ends are swapped where it joins the array.",
         "One string: nothing runs. Beside healthy strings: they are shorted by it, heat and blown fuses.",
         "Polarity and open-circuit voltage of each string before it is joined to the others.", array_caution},
        {"wired-in-parallel", "array", "modules of a string wired plus to plus instead of in series", "", 1, 1,
         1,
         [](const Works& w) {
             Places list;
             for (const std::string& s : string_places(w))
                 if (w.array.strings.front().modules.size() > 1) list.push_back(s);
             return list;
         },
         [](Works& w, const std::string& place, double) { string_at(w, place).parallel = true; },
         "All plus leads are joined, and all minus leads: the voltage is that of one module.",
         "The controller stays dark or waits for sun for ever.",
         "Open-circuit voltage against module count and temperature: it is that of one module; rewire in "
         "series.",
         array_caution},
        {"blocking-diode-open", "array", "blocking diode burnt open", "", 1, 1, 1,
         [](const Works& w) {
             Places list;
             for (const std::string& s : string_places(w))
                 if (w.array.strings.front().blocking != BlockingDiode::none) list.push_back(s);
             return list;
         },
         [](Works& w, const std::string& place, double) { string_at(w, place).blocking = BlockingDiode::open; },
         "The diode in series with a string no longer conducts.",
         "Less water than usual, as with one string fewer.",
         "Clamp each string under load; diode test of the blocking diodes with the array covered.",
         array_caution},
        {"blocking-diode-shorted", "array", "blocking diode shorted", "", 1, 1, 1,
         [](const Works& w) {
             Places list;
             for (const std::string& s : string_places(w))
                 if (w.array.strings.front().blocking != BlockingDiode::none) list.push_back(s);
             return list;
         },
         [](Works& w, const std::string& place, double) {
             string_at(w, place).blocking = BlockingDiode::shorted;
         },
         "The diode conducts both ways and protects nothing any more.",
         "Nothing, until that string has another fault: then its neighbours feed it.",
         "Diode test of the blocking diodes with the array covered.", array_caution},
        {"soiled-array", "array", "whole array soiled", "share of the light", 0, 0.95, 0.25, array_place,
         [](Works& w, const std::string&, double share) {
             for (String& string : w.array.strings)
                 for (Module& module : string.modules)
                     for (double& light : module.light) light *= 1 - share;
         },
         "Dust, droppings or leaves take part of the light, everywhere alike.",
         "Starts later, stops earlier, pumps less.",
         "Short-circuit current against the irradiance meter; wash with water early in the day.",
         "Do not step on modules; cold water on hot glass cracks it."},
    };
}

}  // namespace sunshaft::site
