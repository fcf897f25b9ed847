// The sentences that protect whoever works on a site, each of them here and nowhere else. The faults' cautions are
// built of them; those of a moment with its figures (bench/hazard_words.cpp) say them, too.
#pragma once

#include <array>
#include <string>

namespace sunshaft::site {

namespace says {
// The order of dead work.
inline constexpr const char* isolate = "Stop, isolate, lock and tag.";
inline constexpr const char* cover = "Cover the array.";
inline constexpr const char* isolate_and_cover = "Stop, isolate, lock and tag, cover the array.";
inline constexpr const char* wait_label = "Wait the time on the drive's label.";
inline constexpr const char* prove = "Prove the tester, the link, the tester again.";
inline constexpr const char* shaft_still = "Wait until the shaft stands still.";
inline constexpr const char* dark_lamps = "Dark lamps prove nothing.";
inline constexpr const char* no_discharge = "Link will NOT discharge: do not open the drive.";
// Live work.
inline constexpr const char* live_work =
    "Live work only if your local code and your authorisation allow it and no dead test will do.";
inline constexpr const char* gloves = "Insulating gloves rated for this voltage.";
inline constexpr const char* place_leads = "Isolate and prove dead, place the leads, refit the cover, then switch on.";
inline constexpr const char* clamp = "Clamp insulated conductors only, covers on.";
// The array.
inline constexpr const char* unplug = "Unplug a connector only after a clamp shows 0 A in it.";
inline constexpr const char* isolator_is_no_proof = "An open isolator is no proof.";
inline constexpr const char* clamp_first = "Cover the array and clamp 0 A before touching a fuse or connector.";
inline constexpr const char* frame_live = "Treat the frame as live.";
inline constexpr const char* other_pole = "One touch of the other pole can kill.";
inline constexpr const char* link_breaks = "Up to full voltage when broken.";
inline constexpr const char* rated_link = "Rated link, array covered while fitting and removing.";
inline constexpr const char* no_stepping = "Do not step on modules.";
// Pump and water.
inline constexpr const char* lift_dead = "Isolate, lock and prove dead before lifting.";
inline constexpr const char* lift_gear = "Lift pump and pipe with the right gear, never by the cable.";
inline constexpr const char* dry = "Run dry, the pump is ruined within minutes.";
inline constexpr const char* no_bypass = "Never bypass the dry-run guard to try.";
inline constexpr const char* bursts = "A screw-type pump against a shut valve bursts the pipe.";
inline constexpr const char* stop_first = "Stop it first.";
inline constexpr const char* float_bridged = "Bridged float: the tank runs over.";
inline constexpr const char* at_the_tank = "Someone stays at the tank; remove it after.";
}  // namespace says

// What protects whoever acts on a fault's advice: whole sentences, one after the other.
struct Caution {
    std::array<const char*, 8> sentences{};  // null behind the last
    std::string said() const;                // in the language that is spoken
};

// Of sentences and of other cautions.
template <class... Parts>
constexpr Caution caution(const Parts&... parts) {
    Caution whole;
    std::size_t n = 0;
    const auto add = [&](const auto& part) {
        if constexpr (requires { part.sentences; }) {
            for (const char* sentence : part.sentences)
                if (sentence) whole.sentences.at(n++) = sentence;
        } else {
            whole.sentences.at(n++) = part;
        }
    };
    (add(parts), ...);
    return whole;
}

inline constexpr Caution dead_first = caution(says::isolate_and_cover, says::wait_label, says::prove);
inline constexpr Caution unplug_dead = caution(says::unplug, says::isolator_is_no_proof);
inline constexpr Caution lift = caution(says::lift_dead, says::lift_gear);
inline constexpr Caution live_work = caution(says::live_work, says::gloves);
inline constexpr Caution dry_pump = caution(says::dry, says::no_bypass);
inline constexpr Caution bridged_float = caution(says::float_bridged, says::at_the_tank);

inline constexpr Caution array_caution =
    caution("Modules stay live in any light.", unplug_dead, "Cover the array first.");
inline constexpr Caution frame_caution =
    caution(says::frame_live, says::other_pole, "Cover the array before you touch either.");
inline constexpr Caution circulating_caution =
    caution("Current circulates between strings with the isolator open.", says::clamp_first);
inline constexpr Caution fuse_caution =
    caution("Both sides of a string fuse can be live.", "Cover the array and clamp 0 A before touching a fuse.");
inline constexpr Caution module_caution = caution(says::no_stepping, "Cold water on hot glass cracks it.");
inline constexpr Caution short_caution = caution(says::link_breaks, says::rated_link, unplug_dead);
inline constexpr Caution short_circuit_caution =
    caution("The DC run carries the array's short-circuit current: opened now it arcs.",
            "Cover the array and clamp 0 A first.", "Then:", dead_first);
inline constexpr Caution arrester_caution =
    caution(dead_first, "An insulation test with the arrester in destroys it or misleads.");
inline constexpr Caution drive_caution = caution("Licensed work.", dead_first, says::dark_lamps);
inline constexpr Caution bleed_caution =
    caution(says::no_discharge, "With all lamps dark it stays dangerous for hours.");
inline constexpr Caution dark_caution =
    caution(says::dark_lamps, "Keep the drive closed; the pump can start by itself at once.",
            "Before it is opened:", dead_first);
inline constexpr Caution settings_caution =
    caution("Change settings with the pump stopped and the covers on.", "It can start by itself.");
inline constexpr Caution live_caution = caution(live_work, says::place_leads);
inline constexpr Caution clamp_caution = caution(says::clamp, live_work);
inline constexpr Caution pump_wire_caution = caution(dead_first, says::shaft_still);
inline constexpr Caution lift_caution = caution(pump_wire_caution, lift);
inline constexpr Caution clamp_lift_caution = caution(says::clamp, lift);
inline constexpr Caution warm_caution = caution(pump_wire_caution, "Do not hurry.");
inline constexpr Caution spin_caution = caution(
    "Wait until the shaft stands still: water running back puts voltage on the wires and loads the bearing.", lift);
inline constexpr Caution screw_caution = caution(says::bursts, says::stop_first, lift);
inline constexpr Caution burst_caution =
    caution(says::bursts, says::stop_first, "A pump that moves no water boils it: keep clear of hot pipes.");
inline constexpr Caution air_caution = caution("An air-bound pump runs dry inside: do not let it run on.");
inline constexpr Caution jumper_caution =
    caution("A jumper to test: dip the well first, someone at the switch, a time limit; it comes out again.", dry_pump);
inline constexpr Caution float_caution = caution(bridged_float, "Never climb a wet ladder or tank roof alone.");
inline constexpr Caution guard_caution =
    caution(dead_first, "The pump is unprotected meanwhile.", dry_pump, bridged_float);
inline constexpr Caution unguarded_caution = caution("Pump or tank is unprotected now.", dry_pump, bridged_float);
inline constexpr Caution prove_caution = caution("A wrong or dead meter shows a live circuit as dead.",
                                                 "Prove it on a known source before and after every test.");
inline constexpr Caution ohms_caution =
    caution("Ohms belong on a dead circuit only: a meter without the right category can burst.");
inline constexpr Caution jack_caution =
    caution("Leads in the current jack put a short across what they touch: arc and burns.",
            "Look at the jacks before every voltage.");
inline constexpr Caution meter_fuse_caution = caution("Replace it only with a fuse of the same breaking capacity.");

}  // namespace sunshaft::site
