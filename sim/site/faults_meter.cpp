// The meter itself and the hand that holds it. These edit the meter's chain (Hands), never what stands on the site.
#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

Places meter_place(const Works&) { return {"meter"}; }

}  // namespace

std::vector<FaultRow> meter_faults() {
    return {
        {"ac-mode-on-dc", "operator and meter", "meter left on AC where DC stands", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.turn = Hands::Turn::ac_on_dc; },
         "The switch stands on AC volts: the coupling capacitor keeps the DC voltage out.",
         "Nothing. The one who measures believes the array or the link dead.",
         "Turn to DC and measure again. Prove the meter on a known source.", prove_caution},
        {"dc-mode-on-ac", "operator and meter", "meter left on DC where AC stands", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.turn = Hands::Turn::dc_on_ac; },
         "The switch stands on DC volts: an alternating output averages to nothing.",
         "Nothing. The one who measures believes the output dead.",
         "Turn to AC and measure again. Prove the meter on a known source.", prove_caution},
        {"ohms-live", "operator and meter", "meter left on ohms on a live circuit", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.turn = Hands::Turn::ohms_live; },
         "The switch stands on ohms: what is present on the circuit works against the meter's own source.",
         "Nonsense on the display, or a ruined meter.", "Look at the switch. Make the circuit dead before any ohms.",
         ohms_caution},
        {"leads-in-current-jack", "operator and meter", "red lead in the current jack", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.current_jack = true; },
         "Some hundredths of an ohm lie between the probes. The voltage input is not connected at all.",
         "A bang, a blown meter fuse, a pump that stops. The display shows nothing.",
         "Stop measuring. Look at the jacks; test the meter's fuse with its own ohms.", jack_caution},
        {"meter-fuse-blown", "operator and meter", "fuse of the meter's current jack blown", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.fuse_blown = true; },
         "The current path of the meter is open: it reads no current where there is some.",
         "Nothing in the volt and ohm positions.",
         "Leads off the circuit: ohms from the voltage jack to the current jack of the same meter. Near nothing "
         "means the fuse is whole.",
         meter_fuse_caution},
        {"meter-battery-flat", "operator and meter", "meter's battery flat: its reference has sunk",
         "of the reference lost", 0, 0.8, 0.15, meter_place,
         [](Works& w, const std::string&, double share) { w.hands.battery_low = share; },
         "Every voltage and current is compared with a reference that is too low, so it reads too high. An "
         "insulation tester no longer reaches its voltage.",
         "Readings that are all high by the same share.", "A known source reads high. Change the battery.",
         prove_caution},
        {"wrong-range", "operator and meter", "range set by hand, and wrongly",
         "of the way from lowest to highest range", 0, 1, 1, meter_place,
         [](Works& w, const std::string&, double at) { w.hands.range_at = at; },
         "Too low a range shows over-range, too high a one drops the figures that matter.",
         "A display that does not move, or only in big steps.",
         "Turn to automatic, or start from the highest range down.", prove_caution},
        {"leads-swapped", "operator and meter", "probe leads swapped", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.swapped = true; }, "Red is on black and black on red.",
         "A minus sign, and diodes that seem to conduct the wrong way.",
         "Look at the jacks. Check on a source of known polarity.", prove_caution},
        {"bad-lead", "operator and meter", "test lead with resistance, or broken", "ohm added", 0, open_circuit, 3,
         meter_place, [](Works& w, const std::string&, double ohm) { w.hands.lead_ohm += ohm; },
         "Broken strands or dirty tips add to every ohm reading. A lead broken through makes everything read as "
         "dead.",
         "Ohm readings that are high or that jump when the lead moves.",
         "Fault in the leads: broken, or plugged into the wrong socket. Stop measuring. Tips together on ohms: "
         "more than half an ohm is a bad lead.",
         prove_caution},
        {"clamp-round-two", "operator and meter", "clamp closed round two conductors", "", 1, 1, 1, meter_place,
         [](Works& w, const std::string&, double) { w.hands.two_conductors = true; },
         "The clamp adds the currents of both conductors: out and back cancel, two phases make the third.",
         "A current of nothing. Or a dead line that seems to carry as much as the others.",
         "Look into the jaws: one conductor alone.", clamp_caution},
    };
}

}  // namespace sunshaft::site
