// From the array's end of the DC run to the link.
#include <cmath>

#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

Places pole_places(const Works& works) {
    return works.supply.kind == Supply::Kind::mains ? Places{} : Places{"isolator+", "isolator-"};
}
Pole& pole_at(Works& works, const std::string& place) {
    return place.back() == '+' ? works.array.plus : works.array.minus;
}

Places link_place(const Works& works) { return works.supply.kind == Supply::Kind::mains ? Places{} : Places{"link"}; }

Places arrester_places(const Works& works) {
    return works.array.arrester.fitted ? Places{"arrester+", "arrester-"} : Places{};
}

Places isolated_array(const Works& works) {
    return works.supply.kind == Supply::Kind::array ? Places{"isolator"} : Places{};
}

}  // namespace

std::vector<FaultRow> dc_faults() {
    return {
        {"isolator-pole-burnt", "dc side", "one pole of the isolator does not make contact", "", 1, 1, 1, pole_places,
         [](Works& w, const std::string& place, double) { pole_at(w, place).contact.open = true; },
         "One blade or contact of the isolator is burnt away. The other still closes.",
         "Drive dark in full sun with the isolator on.",
         "Dead first: array covered, proved dead, isolator closed by hand: ohms across each pole. Replace the "
         "isolator.",
         drive_caution},
        {"isolator-contact", "dc side", "contact resistance in the isolator", "ohm in the contact", 0, 1e4, 2,
         pole_places, [](Works& w, const std::string& place, double ohm) { pole_at(w, place).contact.ohm = ohm; },
         "A worn or dirty contact; it gets hot under load.", "Weak in full sun. A hot or discoloured isolator.",
         "Thermal camera on the isolator under load. Dead: array covered, proved dead, ohms across each closed "
         "pole. Replace the isolator.",
         drive_caution},
        {"isolator-leaks", "dc side", "damp isolator lets current past when off", "ohm left past it", 1e4, 1e7, 3e5,
         isolated_array,
         [](Works& w, const std::string&, double ohm) {
             w.array.plus.contact.leak_ohm = w.array.minus.contact.leak_ohm = 0.5 * ohm;
         },
         "Water or soot on the isolator's body: a lit array keeps the link charged with the isolator off.",
         "The link does not discharge all the way; a latched control does not let go.",
         "Volts at the drive's input with the isolator off: they stay. Replace the isolator, find how water got in.",
         caution("Off is not dead here: the drive's input stays live until the array is covered.",
                 "Cover, wait, prove dead.")},
        {"dc-conductor-open", "dc side", "fuse or conductor at the drive's input open", "", 1, 1, 1,
         [](const Works& w) {
             return w.supply.kind == Supply::Kind::mains ? Places{} : Places{"dc+", "dc-"};
         },
         [](Works& w, const std::string& place, double) {
             (place.back() == '+' ? w.array.dc_plus : w.array.dc_minus).open = true;
         },
         "The last stretch between isolator and drive input is interrupted.", "Drive dark with the isolator on.",
         "Array covered, isolator open, proved dead: ohms of each conductor from the isolator to the drive's "
         "input. Repair it.",
         drive_caution},
        {"changeover-welded", "dc side", "change-over switch: contacts on the array's side do not open", "", 1, 1, 1,
         [](const Works& w) { return w.supply.second.fitted ? Places{"second"} : Places{}; },
         [](Works& w, const std::string&, double) { w.supply.second.welded = true; },
         "Turned under load, its contacts have welded. On the second supply the array stays connected, too.",
         "Nothing that is seen. Modules warm at night while the second supply runs.",
         "Change-over switch on the second supply, its breaker open, array covered, proved dead: ohms from iso.out+ to "
         "dc+. Replace the switch.",
         caution("Two sources feed one another here.", "The second supply makes a covered array live.",
                 "Open its breaker as well, prove both dead.")},
        {"undersized-run", "dc side", "DC run too thin or too long", "times its resistance", 1, 100, 6, array_place,
         [](Works& w, const std::string&, double times) {
             w.array.plus.run.ohm *= times;
             w.array.minus.run.ohm *= times;
         },
         "The conductors between array and drive lose too much voltage.", "Weak at noon, normal in weak sun.",
         "Length and section against the table. Dead: ohms of the run with its far ends joined. Replace it with a "
         "thicker one.",
         array_caution},
        {"polarity-reversed", "dc side", "reversed polarity at the drive's input", "", 1, 1, 1, array_place,
         [](Works& w, const std::string&, double) { w.array.swapped = !w.array.swapped; },
         "The array stands the wrong way round on the drive: its free-wheel diodes short it.",
         "Nothing runs. The DC conductors carry the full short-circuit current.",
         "Clamp the DC conductor, isolator on. Cover the array, clamp 0 A, then open the isolator. Check polarity "
         "before switching on again.",
         short_circuit_caution},
        {"arrester-leaky", "dc side", "surge arrester worn: leaks to earth", "ohm left to earth", 1, 1e8, 5e4,
         arrester_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(place.back() == '+' ? w.array.arrester.plus_ohm : w.array.arrester.minus_ohm, ohm);
         },
         "A varistor that has taken many surges conducts at working voltage.", "Often nothing, or a warm arrester.",
         "Disconnect the arrester; test the cable. Check the arrester by its window or replace it.", arrester_caution},
        {"arrester-shorted", "dc side", "surge arrester shorted to earth", "ohm left to earth", 0, 10, 0.1,
         arrester_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(place.back() == '+' ? w.array.arrester.plus_ohm : w.array.arrester.minus_ohm, ohm);
         },
         "After a direct surge one pole is tied to earth.", "Nothing, until a second earth fault. A burnt arrester.",
         "Look at its window. Isolator open: each pole to earth; one reads nothing, the other everything. Replace "
         "the arrester.",
         frame_caution},
        {"arrester-open", "dc side", "surge arrester burnt open", "", 1, 1, 1,
         [](const Works& w) { return w.array.arrester.fitted ? Places{"arrester"} : Places{}; },
         [](Works& w, const std::string&, double) { w.array.arrester.fitted = false; },
         "The arrester has disconnected itself and protects nothing any more.", "Nothing, until the next thunderstorm.",
         "Check its window. Replace the arrester.", arrester_caution},
        {"capacitor-dried-out", "dc side", "link capacitor dried out", "of the capacitance lost", 0, 0.98, 0.7,
         link_place,
         [](Works& w, const std::string&, double share) {
             w.link.farad *= 1 - share;
             w.link.esr_ohm =
                 w.link.esr_ohm * (1 + 10 * share) + 0.2 * share;  // both go together; common practice, no source
         },
         "Years of heat: less capacitance, more series resistance.",
         "Rough running, trips, a bulging or leaking capacitor.",
         "Link proved dead: look at the capacitor, measure its capacitance. Drive to the workshop; leave the pump "
         "in the well.",
         drive_caution},
        {"bleed-open", "dc side", "bleed resistor open", "", 1, 1, 1,
         [](const Works& w) { return std::isinf(w.link.bleed_ohm) ? Places{} : link_place(w); },
         [](Works& w, const std::string&, double) { w.link.bleed_ohm = open_circuit; },
         "Nothing discharges the link once the electronics have gone dark.", "Nothing.",
         "The link voltage stays after switch-off, far beyond the time on the label. Drive to the workshop, "
         "closed; leave the pump in the well.",
         bleed_caution},
        {"precharge-open", "dc side", "pre-charge resistor open", "", 1, 1, 1, link_place,
         [](Works& w, const std::string&, double) { w.link.precharge_ohm = open_circuit; },
         "The link is not charged, so the contact that bridges the resistor never closes.",
         "Drive dark with full voltage at its input.",
         "Dead: ohms of the pre-charge resistor. Drive to the workshop; leave the pump in the well.", drive_caution},
        {"damp-board", "dc side", "damp board: leakage across the link", "ohm left across the link", 100, 1e6, 3e3,
         link_place, [](Works& w, const std::string&, double ohm) { in_parallel(w.link.bleed_ohm, ohm); },
         "Condensed water and dirt lie across the link's conductors.", "Late starts, corrosion, odd trips.",
         "Dead: ohms across the link are low. Drive to the workshop; find how water got in. Leave the pump in the "
         "well.",
         drive_caution},
    };
}

}  // namespace sunshaft::site
