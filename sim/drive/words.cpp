// Lamps and event log of the drive.
#include <fmt/format.h>

#include <algorithm>

#include "drive/control.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::drive {

std::vector<Lamp> lamps(const ControlState& c) {
    const bool lit = c.phase != Phase::off && c.phase != Phase::charging;
    return {{"supply", c.phase != Phase::off},
            {"running", turning(c.phase)},
            {"waiting for sun", c.phase == Phase::waiting_for_sun},
            {"dry-run hold", c.phase == Phase::dry_hold},
            {"tank hold", c.phase == Phase::tank_hold},
            {"tripped", lit && (c.phase == Phase::tripped || c.phase == Phase::locked)},
            {"locked out", c.phase == Phase::locked}};
}

Display display(const ControlState& c) {
    Display d;
    d.dark = c.phase == Phase::off || c.phase == Phase::charging;
    if (d.dark) return d;
    d.link_V = c.link_V;
    if (turning(c.phase)) d.amperes = (c.line_A[0] + c.line_A[1] + c.line_A[2]) / 3.0;
    for (const LogEntry& e : log_since(c))
        if (e.phase == Phase::tripped || e.phase == Phase::locked || e.phase == Phase::dry_hold ||
            e.phase == Phase::tank_hold || (e.phase == Phase::waiting_for_sun && e.cause == Cause::low_sun))
            d.last_stop = e.cause == Cause::too_many_trips ? c.trip : e.cause;
    return d;
}

std::string stop_words(Cause cause) {
    switch (cause) {
        case Cause::none: return "no stop yet";
        case Cause::low_sun: return "low sun";
        case Cause::dry: return "dry-run guard open";
        case Cause::low_load: return "low load";
        case Cause::no_flow: return "no flow";
        case Cause::tank_full: return "tank full";
        case Cause::over_current: return "over-current";
        case Cause::stall: return "stall";
        case Cause::phase_loss: return "phase loss";
        case Cause::over_voltage: return "over-voltage";
        case Cause::motor_overload: return "motor overload";
        case Cause::heat_sink: return "too hot";
        case Cause::earth_fault: return "earth fault";
        case Cause::low_insulation: return "low insulation";
        default: return "stopped";
    }
}

std::vector<LogEntry> log_since(const ControlState& c, long from) {
    const long size = static_cast<long>(c.log.size());
    std::vector<LogEntry> list;
    for (long n = std::max({from, c.logged - size, 0L}); n < c.logged; ++n)
        list.push_back(c.log[static_cast<std::size_t>(n % size)]);
    return list;
}

std::string phase_words(Phase phase) {
    switch (phase) {
        case Phase::off: return "dark";
        case Phase::charging: return "charging the link";
        case Phase::stopped: return "stopped at its run switch";
        case Phase::waiting_for_sun: return "waiting for sun";
        case Phase::soft_start: return "soft start";
        case Phase::running: return "running";
        case Phase::ceiling: return "running at the speed ceiling";
        case Phase::dry_hold: return "dry-run hold";
        case Phase::tank_hold: return "tank hold";
        case Phase::tripped: return "tripped";
        case Phase::locked: return "locked out";
        case Phase::latched: return "control latched up";
    }
    return "";
}

std::string words(const LogEntry& e) {
    using text::say, text::fixed;
    const std::string phase = text::tr(phase_words(e.phase));
    switch (e.cause) {
        case Cause::none: return phase;
        case Cause::dark: return say("{}: {} V on the link, too little for the electronics", phase, fixed(e.value, 0));
        case Cause::powered: return say("{}: {} V, the electronics wake", phase, fixed(e.value, 0));
        case Cause::charged: return say("{}: link charged to {} V", phase, fixed(e.value, 0));
        case Cause::sun: return say("{}: {} V on the link", phase, fixed(e.value, 0));
        case Cause::ramp_done: return say("{}: {} Hz, the ramp is over", phase, fixed(e.value, 1));
        case Cause::at_ceiling: return say("{}: {} Hz", phase, fixed(e.value, 1));
        case Cause::below_ceiling: return say("{}: {} Hz, below the speed ceiling again", phase, fixed(e.value, 1));
        case Cause::low_sun: return say("{}: link fell to {} V", phase, fixed(e.value, 0));
        case Cause::dry: return say("{}: guard circuit open", phase);
        case Cause::no_flow: return say("{}: the flow switch sees no flow", phase);
        case Cause::low_load: return say("{}: only {} W taken, as without water", phase, fixed(e.value, 0));
        case Cause::wet_again: return say("{}: dry-run guard closed again, the wait is over", phase);
        case Cause::tank_full: return say("{}: float circuit open", phase);
        case Cause::tank_has_room: return say("{}: float circuit closed again", phase);
        case Cause::switched_off: return phase;
        case Cause::switched_on: return say("{}: run switch on", phase);
        case Cause::over_current: return say("{}: over-current, {} A peak", phase, fixed(e.value, 1));
        case Cause::stall: return say("{}: stall, {} A in the strongest line", phase, fixed(e.value, 1));
        case Cause::phase_loss: return say("{}: phase loss, {} A in the weakest line", phase, fixed(e.value, 2));
        case Cause::over_voltage: return say("{}: over-voltage, {} V on the link", phase, fixed(e.value, 0));
        case Cause::motor_overload: return say("{}: motor overload, {} A", phase, fixed(e.value, 1));
        case Cause::heat_sink: return say("{}: heat sink too hot, {} degC", phase, fixed(e.value, 0));
        case Cause::earth_fault: return say("{}: earth fault, {} A leave for earth", phase, fixed(e.value, 2));
        case Cause::low_insulation:
            return say("{}: the earth monitor finds {} kohm to earth", phase, fixed(e.value, 0));
        case Cause::start_missed: return say("{}: the rotor is not found, missed start {}", phase, fixed(e.value, 0));
        case Cause::rotor_found: return say("{}: rotor found by its volts at {} Hz", phase, fixed(e.value, 1));
        case Cause::retry: return say("{}: tries again after trip {} in a row", phase, fixed(e.value, 0));
        case Cause::too_many_trips: return say("{}: {} trips in a row, only a restart helps", phase, fixed(e.value, 0));
        case Cause::latched: return say("{}: its program has stopped", phase);
        case Cause::freed: return say("{}: {} V on the link, the latch is gone", phase, fixed(e.value, 1));
    }
    return phase;
}

}  // namespace sunshaft::drive
