// Lamps and event log of the drive.
#include <fmt/format.h>

#include <algorithm>

#include "drive/control.hpp"

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
    const std::string phase = phase_words(e.phase);
    switch (e.cause) {
        case Cause::none: return phase;
        case Cause::dark:
            return fmt::format("{}: {:.0f} V on the link, too little for the electronics", phase, e.value);
        case Cause::powered: return fmt::format("{}: {:.0f} V, the electronics wake", phase, e.value);
        case Cause::charged: return fmt::format("{}: link charged to {:.0f} V", phase, e.value);
        case Cause::sun: return fmt::format("{}: {:.0f} V on the link", phase, e.value);
        case Cause::ramp_done: return fmt::format("{}: {:.1f} Hz, the ramp is over", phase, e.value);
        case Cause::at_ceiling: return fmt::format("{}: {:.1f} Hz", phase, e.value);
        case Cause::below_ceiling: return fmt::format("{}: {:.1f} Hz, below the speed ceiling again", phase, e.value);
        case Cause::low_sun: return fmt::format("{}: link fell to {:.0f} V", phase, e.value);
        case Cause::dry: return fmt::format("{}: guard circuit open", phase);
        case Cause::no_flow: return fmt::format("{}: the flow switch sees no flow", phase);
        case Cause::low_load: return fmt::format("{}: only {:.0f} W taken, as without water", phase, e.value);
        case Cause::wet_again: return fmt::format("{}: dry-run guard closed again, the wait is over", phase);
        case Cause::tank_full: return fmt::format("{}: float circuit open", phase);
        case Cause::tank_has_room: return fmt::format("{}: float circuit closed again", phase);
        case Cause::switched_off: return phase;
        case Cause::switched_on: return fmt::format("{}: run switch on", phase);
        case Cause::over_current: return fmt::format("{}: over-current, {:.1f} A peak", phase, e.value);
        case Cause::stall: return fmt::format("{}: stall, {:.1f} A in the strongest line", phase, e.value);
        case Cause::phase_loss: return fmt::format("{}: phase loss, {:.2f} A in the weakest line", phase, e.value);
        case Cause::over_voltage: return fmt::format("{}: over-voltage, {:.0f} V on the link", phase, e.value);
        case Cause::motor_overload: return fmt::format("{}: motor overload, {:.1f} A", phase, e.value);
        case Cause::heat_sink: return fmt::format("{}: heat sink too hot, {:.0f} degC", phase, e.value);
        case Cause::earth_fault: return fmt::format("{}: earth fault, {:.2f} A leave for earth", phase, e.value);
        case Cause::low_insulation:
            return fmt::format("{}: the earth monitor finds {:.0f} kohm to earth", phase, e.value);
        case Cause::start_missed: return fmt::format("{}: the rotor is not found, missed start {:.0f}", phase, e.value);
        case Cause::rotor_found: return fmt::format("{}: rotor found by its volts at {:.1f} Hz", phase, e.value);
        case Cause::retry: return fmt::format("{}: tries again after trip {:.0f} in a row", phase, e.value);
        case Cause::too_many_trips:
            return fmt::format("{}: {:.0f} trips in a row, only a restart helps", phase, e.value);
        case Cause::latched: return fmt::format("{}: its program has stopped", phase);
        case Cause::freed: return fmt::format("{}: {:.1f} V on the link, the latch is gone", phase, e.value);
    }
    return phase;
}

}  // namespace sunshaft::drive
