// The words of hazards.hpp: one sentence one thought, to be read aloud to someone on a ladder. Those that faults'
// cautions say as well stand in site/cautions.hpp, all others in this file.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/hazards.hpp"
#include "site/cautions.hpp"
#include "site/points.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::bench {
namespace {

using text::fixed, text::say, text::sentences, text::tr;
namespace says = site::says;

std::string volts(double v) { return fixed(v, v < 9.95 ? 1 : 0) + " V"; }
std::string amps(double a) { return fixed(a, a < 0.995 ? 2 : 1) + " A"; }
std::string joules(double j) { return fixed(j, j < 9.95 ? 1 : 0) + " J"; }
std::string metres(double m) { return fixed(m, 1) + " m"; }

std::string braking(const Hazard& h) {
    return h.braking_V > 0.0 ? say("A braking motor can lift the link higher, to its trip at {}.", volts(h.braking_V))
                             : "";
}

// What an arc is drawn at: {} carries so much.
std::string arc(const Hazard& h) {
    if (const std::string fused = site::fused_string(h.where); !fused.empty())
        return say("The fuse of {} carries {} at up to {}.", fused, amps(h.amps), volts(h.volts));
    if (h.where == "shorting link")
        return say("The shorting link carries {} at up to {}.", amps(h.amps), volts(h.volts));
    return say("Connector {} carries {} at up to {}.", h.where, amps(h.amps), volts(h.volts));
}

// What the danger is; without figures where there are none.
std::string statement(const Hazard& h) {
    switch (h.kind) {
        case Danger::test_into_electronics:
            return tr("The insulation tester would drive its voltage into the electronics and destroy them.");
        case Danger::ohms_on_live:
            return sentences({say("These points are live: up to {} can be present. A test with the meter's own source "
                                  "there destroys the meter and can burn you.",
                                  volts(h.volts)),
                              braking(h)});
        case Danger::meter_not_rated:
            return sentences({say("Do not connect this meter: up to {} can be present here.", volts(h.volts)),
                              h.meter_rating.empty() ? say("It has no measurement category.")
                                                     : say("It is rated {}.", h.meter_rating),
                              braking(h)});
        case Danger::arc: return sentences({arc(h), tr("Opened now it draws an arc that does not go out.")});
        case Danger::shorted_live:
            return say(
                "The isolator joins the short to the drive: up to {} from the array and the charge of the link. It "
                "burns at "
                "the place of contact.",
                amps(h.amps));
        case Danger::live_wires: return say("The wires are live: up to {} can be present on them.", volts(h.volts));
        case Danger::changed_live:
            return tr(
                "The drive runs. Turned now, the change-over switch draws a DC arc, and its contacts can weld. Stop "
                "the drive first.");
        case Danger::shut_valve: return sentences({tr(says::bursts), tr(says::stop_first)});
        case Danger::pump_running:
            return say(
                "The pump runs on these wires: up to {} can be present. Taken off now they arc and destroy the drive.",
                volts(h.volts));
        case Danger::dry_pump:
            return say(
                "The dip meter shows water at {}: the intake is not covered. Bridged now, the pump runs dry and is "
                "ruined.",
                metres(h.metres));
        case Danger::undipped:
            return tr("Nobody has dipped the well. Bridged now, the pump may run dry and be ruined.");
        case Danger::stored_charge:
            return h.at_most ? say("Stored charge: the link can still hold up to {}.", volts(h.volts))
                             : say("Stored charge: in this model the link still holds {}, {}.", volts(h.volts),
                                   joules(h.joules));
        case Danger::earth_capacitors:
            return say(
                "Capacitors from both poles to earth are fitted here. They stay charged after switching off, up to {}. "
                "They also make leakage current with nothing wrong.",
                volts(h.volts));
        case Danger::never_discharges: return tr(says::no_discharge);
        case Danger::circulating:
            if (h.where == "shorting link")
                return say(
                    "The shorting link carries {} with the isolator open. Cover the array and clamp 0 A before "
                    "touching it, "
                    "a fuse or connector.",
                    amps(h.amps));
            return sentences(
                {say("Current circulates between strings with the isolator open: {} in {}.", amps(h.amps), h.where),
                 tr(says::clamp_first)});
        case Danger::back_spin:
            return h.volts > 0.5
                       ? say("Water running back turns the motor and puts voltage on the wires: {} in this model.",
                             volts(h.volts))
                       : say("Water running back turns the motor and puts voltage on the wires.");
        case Danger::live_cable:
            return sentences({say("The motor cable is live at {}.", volts(h.volts)), tr(says::isolate),
                              tr("Prove the tester, the cable, the tester again.")});
        case Danger::live_link:
            return h.where == "outputs" ? say("Outputs and link are live, up to {}.", volts(h.volts))
                                        : say("The link is live, up to {}.", volts(h.volts));
        case Danger::not_proved: return tr("Link and outputs count as live until proved dead.");
        case Danger::live_modules: return tr("The modules are live in any light.");
        case Danger::live_pole:
            return sentences(
                {say("Live work: up to {} can be present here. Do it only if your local code and your authorisation "
                     "allow it and no dead test will do. Meter and leads rated for it, insulating gloves rated for "
                     "this voltage.",
                     volts(h.volts)),
                 braking(h)});
        case Danger::live_in_light:
            return sentences({tr("The isolator does not switch modules off."),
                              h.volts > 0.0 ? say("In any light this side stays live, up to {}.", volts(h.volts))
                                            : say("In any light this side stays live.")});
        case Danger::frame_live:
            return h.where == "pipe" ? tr("Treat pipe and wellhead as live until a tester has shown that they are not.")
                   : h.where == "box" ? tr("Treat the box as live: hold a hand near it, not on it.")
                                      : sentences({tr(says::frame_live), tr(says::other_pole)});
        case Danger::switched_output: return tr(says::place_leads);
        case Danger::dead_test: return sentences({tr("This test belongs on a dead circuit."), tr(says::dark_lamps)});
        case Danger::insulation_test:
            return tr(
                "Disconnect drive, guards and surge arresters before an insulation test. Keep everyone away from "
                "both ends. Discharge "
                "the circuit after it.");
        case Danger::unplugging: return sentences({tr(says::unplug), tr(says::isolator_is_no_proof)});
        case Danger::shorting_link:
            return sentences({h.volts > 0.0 ? say("Up to {} when the link breaks, up to {} through it.", volts(h.volts),
                                                  amps(h.amps))
                                            : tr(says::link_breaks),
                              tr(says::rated_link)});
        case Danger::dry_run:
            return sentences(
                {tr("A bridged dry-run guard protects nothing: run dry, the pump is ruined within minutes."),
                 h.metres > 0.0 ? say("Its intake hangs at {}.", metres(h.metres)) : "",
                 tr("The jumper comes out again.")});
        case Danger::overflow: return sentences({tr(says::float_bridged), tr(says::at_the_tank)});
        case Danger::tank:
            return tr("Reach into the tank from a safe stand. Never climb in: air can be bad, and nobody hears you.");
        case Danger::isolator:
            return tr(
                "Open under load only an isolator marked for it. It does not switch modules off, and the link stays "
                "charged.");
        case Danger::two_sources:
            return tr(
                "Two supplies: the isolator does not switch the second one off. Open its breaker, too. A change-over "
                "switch can weld: prove both sides dead.");
        case Danger::disconnecting: return tr("Wires come off, and go back, on a dead drive only.");
        case Danger::joining: return tr("Join with the isolator open. Check the polarity before it is closed.");
        case Danger::reversal: return tr("Keep the phase order. Running in reverse can unscrew the pipe.");
        case Danger::against_valve:
            return tr("A shut valve is for a centrifugal pump only, and for seconds. Stand clear of the pipe.");
        case Danger::starts_alone:
            return tr("The pump can start by itself at once. Covers on, hands off, warn everyone.");
        case Danger::dark_lamps: return sentences({tr(says::dark_lamps), tr("A restart does not make the link dead.")});
        case Danger::stopped: return tr("Stopped is not dead: input, link and output terminals stay live.");
        case Danger::cover:
            return sentences({tr("Cover opaque and complete: what lets light through leaves the full voltage."),
                              tr(says::no_stepping)});
        case Danger::full_voltage:
            return h.volts > 0.0 ? say("Full voltage is back at once: up to {}.", volts(h.volts))
                                 : tr("Full voltage is back at once.");
        case Danger::written_down: return tr("Write it down: the guard is back.");
        case Danger::authorised:
            return tr("For trained and authorised people only. Your local code and licensed practice come first.");
    }
    return "";
}

const char* sentence(First what) {
    switch (what) {
        case First::isolated: return tr(says::isolate);
        case First::covered: return tr(says::cover);
        case First::waited: return tr(says::wait_label);
        case First::proved_dead: return tr(says::prove);
        case First::no_current: return tr("Clamp it: it must show 0 A.");
        case First::standing_still: return tr(says::shaft_still);
        case First::disconnected: return tr("Disconnect drive, guards and surge arresters from what is tested.");
        case First::water_measured: return tr("Dip the well: water must stand above the intake.");
        case First::watched: return tr("Someone stays at the switch, with a time limit.");
    }
    return "";
}

// The same step where there is little room.
const char* brief(First what) {
    switch (what) {
        case First::isolated: return tr("Stop, isolate.");
        case First::waited: return tr("Wait the label's time.");
        case First::proved_dead: return tr("Prove it dead.");
        default: return sentence(what);
    }
}

// A list of dangers reads better when each step of the order is said once.
std::string with_first(const Hazard& h, std::vector<First>& said) {
    std::string text = statement(h);
    // These say it themselves.
    if (h.kind == Danger::circulating || h.kind == Danger::unplugging) said.push_back(First::no_current);
    if (h.kind == Danger::circulating) said.push_back(First::covered);
    for (const First f : h.first) {
        if (std::find(said.begin(), said.end(), f) != said.end()) continue;
        said.push_back(f);
        text = sentences({text, sentence(f)});
    }
    return text;
}

}  // namespace

const char* name(Danger kind) {
    constexpr const char* names[] = {"test-into-electronics",
                                     "ohms-on-live",
                                     "meter-not-rated",
                                     "arc",
                                     "shorted-live",
                                     "changed-live",
                                     "live-wires",
                                     "shut-valve",
                                     "pump-running",
                                     "dry-pump",
                                     "undipped",
                                     "stored-charge",
                                     "never-discharges",
                                     "earth-capacitors",
                                     "circulating",
                                     "back-spin",
                                     "live-cable",
                                     "live-link",
                                     "not-proved",
                                     "live-modules",
                                     "live-pole",
                                     "live-in-light",
                                     "frame-live",
                                     "switched-output",
                                     "dead-test",
                                     "insulation-test",
                                     "unplugging",
                                     "shorting-link",
                                     "dry-run",
                                     "overflow",
                                     "tank",
                                     "isolator",
                                     "two-sources",
                                     "disconnecting",
                                     "joining",
                                     "reversal",
                                     "against-valve",
                                     "starts-alone",
                                     "dark-lamps",
                                     "stopped",
                                     "cover",
                                     "full-voltage",
                                     "written-down",
                                     "authorised"};
    static_assert(std::size(names) == static_cast<std::size_t>(Danger::authorised) + 1);
    return names[static_cast<std::size_t>(kind)];
}

const char* name(First what) {
    constexpr const char* names[] = {"isolated",       "covered",      "waited",         "proved-dead", "no-current",
                                     "standing-still", "disconnected", "water-measured", "watched"};
    static_assert(std::size(names) == static_cast<std::size_t>(First::watched) + 1);
    return names[static_cast<std::size_t>(what)];
}

std::string in_a_list(Lasting what, double figure) {
    const std::string high = text::quantity(figure, "V", 3), current = text::quantity(figure, "A", 2);
    switch (what) {
        case Lasting::frame_live: return say("frame live: up to {} against the other pole", high);
        case Lasting::casing_live: return say("motor casing, pipe and water can be live: up to {}", high);
        case Lasting::charged: return say("link stays charged at up to {} after switch-off", high);
        case Lasting::above_rating: return say("more volts than the site was built for: {}", high);
        case Lasting::circulating:
            return say("{} circulate between strings with the isolator open: an arc when unplugged", current);
        case Lasting::through_drive:
            return say("{} flow whatever the drive does: the isolator opened under load draws an arc", current);
        case Lasting::behind_isolator: return say("isolator off leaves up to {} behind it", high);
        case Lasting::no_dry_guard: return tr("no dry-run guard: a dry well ruins the pump within minutes");
        case Lasting::no_float: return tr("no float: the tank runs over");
    }
    return "";
}

std::string words(const Hazard& hazard) {
    std::vector<First> said;
    return with_first(hazard, said);
}

std::vector<std::string> words(const std::vector<Hazard>& hazards) {
    std::vector<std::string> list;
    std::vector<First> said;
    for (const Hazard& h : hazards)
        if (std::string text = with_first(h, said); std::find(list.begin(), list.end(), text) == list.end())
            list.push_back(std::move(text));
    return list;
}

std::vector<std::string> one_line(const std::vector<Hazard>& hazards) {
    std::string full, dangers, steps;
    std::vector<First> said, named;
    bool by_whom = false;
    for (const Hazard& h : hazards) {
        if (h.kind == Danger::authorised) {
            by_whom = true;
            continue;
        }
        full = sentences({full, with_first(h, said)});
        if (h.kind != Danger::unplugging) dangers = sentences({dangers, statement(h)});
        for (const First f : h.first)
            if (std::find(named.begin(), named.end(), f) == named.end()) {
                named.push_back(f);
                steps = sentences({steps, brief(f)});
            }
    }
    std::vector<std::string> lines;
    if (by_whom) lines.push_back(sentences({full, words(Hazard{.kind = Danger::authorised})}));
    if (by_whom) lines.push_back(sentences({full, tr("Your local code and licensed practice come first.")}));
    lines.push_back(full);
    lines.push_back(sentences({dangers, steps}));
    return lines;
}

std::vector<std::string> reasons(const std::vector<Hazard>& hazards) {
    std::vector<std::string> list;
    for (const Hazard& h : hazards)
        if (h.refuse) list.push_back(statement(h));
    return list;
}

std::string order(const std::vector<Hazard>& hazards) {
    std::vector<First> steps;
    for (const Hazard& h : hazards)
        if (h.refuse)
            for (const First f : h.first)
                if (std::find(steps.begin(), steps.end(), f) == steps.end()) steps.push_back(f);
    std::sort(steps.begin(), steps.end());
    std::string text;
    for (const First f : steps) text = sentences({text, sentence(f)});
    for (const Hazard& h : hazards)
        if (h.kind == Danger::meter_not_rated && h.refuse)
            text = sentences({text, tr("Take a meter rated for this voltage.")});
    return text;
}

}  // namespace sunshaft::bench
