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

Places link_place(const Works& works) {
    return works.supply.kind == Supply::Kind::mains ? Places{} : Places{"link"};
}

Places arrester_places(const Works& works) {
    return works.array.arrester.fitted ? Places{"arrester+", "arrester-"} : Places{};
}

}  // namespace

std::vector<FaultRow> dc_faults() {
    return {
        {"isolator-pole-burnt", "dc side", "one pole of the isolator does not make contact", "", 1, 1, 1,
         pole_places, [](Works& w, const std::string& place, double) { pole_at(w, place).contact.open = true; },
         "One blade or contact of the isolator is burnt away; the other still closes.",
         "Controller dark in full sun with the isolator on.",
         "Voltage pole to pole on both sides of the isolator, then across each pole: the open pole shows the "
         "whole voltage.",
         drive_caution},
        {"isolator-contact", "dc side", "contact resistance in the isolator", "ohm", 0, 1e4, 2, pole_places,
         [](Works& w, const std::string& place, double ohm) { pole_at(w, place).contact.ohm = ohm; },
         "A worn or dirty contact; it gets hot under load.", "Weak in full sun; a hot or discoloured isolator.",
         "Voltage drop across each pole under load, infrared thermometer; replace the isolator.",
         drive_caution},
        {"dc-conductor-open", "dc side", "fuse or conductor at the drive's input open", "", 1, 1, 1,
         [](const Works& w) {
             return w.supply.kind == Supply::Kind::mains ? Places{} : Places{"dc+", "dc-"};
         },
         [](Works& w, const std::string& place, double) {
             (place.back() == '+' ? w.array.dc_plus : w.array.dc_minus).open = true;
         },
         "The last stretch between isolator and drive input is interrupted.",
         "Controller dark with the isolator on.", "Voltage at the isolator's output and at the drive's input.",
         drive_caution},
        {"undersized-run", "dc side", "DC run too thin or too long", "times its resistance", 1, 100, 6,
         array_place,
         [](Works& w, const std::string&, double times) {
             w.array.plus.run.ohm *= times;
             w.array.minus.run.ohm *= times;
         },
         "The conductors between array and drive lose too much voltage.", "Weak at noon, normal in weak sun.",
         "Voltage under load at both ends of the run; replace it with a thicker one.", array_caution},
        {"polarity-reversed", "dc side", "plus and minus confused at the drive's input", "", 1, 1, 1,
         array_place, [](Works& w, const std::string&, double) { w.array.swapped = !w.array.swapped; },
         "The array stands the wrong way round on the drive: its free-wheel diodes short it.",
         "Nothing runs; the DC conductors carry the full short-circuit current.",
         "Polarity at the isolator's output before switching on; a clamp shows current with about two volts at "
         "the input.",
         "Do not part a connector that carries this current: cover the array first."},
        {"arrester-leaky", "dc side", "surge arrester worn: leaks to earth", "ohm", 1, 1e8, 5e4,
         arrester_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(place.back() == '+' ? w.array.arrester.plus_ohm : w.array.arrester.minus_ohm, ohm);
         },
         "A varistor that has taken many surges conducts at working voltage.",
         "Often nothing, or a warm arrester.",
         "Insulation test with and without the arrester: without it the reading recovers; replace the "
         "arrester.",
         drive_caution},
        {"arrester-shorted", "dc side", "surge arrester shorted to earth", "ohm", 0, 10, 0.1, arrester_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(place.back() == '+' ? w.array.arrester.plus_ohm : w.array.arrester.minus_ohm, ohm);
         },
         "After a direct surge one pole is tied to earth.",
         "Nothing, until a second earth fault; a burnt arrester.",
         "Each pole to earth, controller off: one reads nothing, the other everything; replace the arrester.",
         drive_caution},
        {"arrester-open", "dc side", "surge arrester burnt open", "", 1, 1, 1,
         [](const Works& w) { return w.array.arrester.fitted ? Places{"arrester"} : Places{}; },
         [](Works& w, const std::string&, double) { w.array.arrester.fitted = false; },
         "The arrester has disconnected itself and protects nothing any more.",
         "Nothing, until the next thunderstorm.",
         "Its window, or an insulation test above its working voltage: a healthy one conducts.", drive_caution},
        {"capacitor-dried-out", "dc side", "link capacitor dried out", "share of the capacity", 0, 0.98, 0.7,
         link_place,
         [](Works& w, const std::string&, double share) {
             w.link.farad *= 1 - share;
             w.link.esr_ohm = w.link.esr_ohm * (1 + 10 * share) +
                              0.2 * share;  // both go together; common practice, no source
         },
         "Years of heat: less capacity, more series resistance.",
         "Rough running, trips, a bulging or leaking capacitor.",
         "AC voltage on the link while running; capacitance with the link proved dead.", drive_caution},
        {"bleed-open", "dc side", "bleed resistor open", "", 1, 1, 1,
         [](const Works& w) { return std::isinf(w.link.bleed_ohm) ? Places{} : link_place(w); },
         [](Works& w, const std::string&, double) { w.link.bleed_ohm = open_circuit; },
         "Nothing discharges the link once the electronics have gone dark.", "Nothing.",
         "The link voltage stays after switch-off, far beyond the stated time.",
         "The link stays dangerous for hours with all lamps dark: prove it dead every time."},
        {"precharge-open", "dc side", "charging resistor open", "", 1, 1, 1, link_place,
         [](Works& w, const std::string&, double) { w.link.precharge_ohm = open_circuit; },
         "The link is not charged, so the contact that bridges the resistor never closes.",
         "Controller dark with full voltage at its input.",
         "Voltage at the input and at the link: full here, nothing there; the drive goes to the workshop.",
         drive_caution},
        {"damp-board", "dc side", "damp board: leakage across the link", "ohm", 100, 1e6, 3e3, link_place,
         [](Works& w, const std::string&, double ohm) { in_parallel(w.link.bleed_ohm, ohm); },
         "Condensed water and dirt lie across the link's conductors.", "Late starts, corrosion, odd trips.",
         "The link bleeds down much faster than stated; dry, clean, seal.", drive_caution},
    };
}

}  // namespace sunshaft::site
