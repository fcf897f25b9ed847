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
            {"well dry", c.phase == Phase::dry_hold},
            {"tank full", c.phase == Phase::tank_hold},
            {"tripped", lit && (c.phase == Phase::tripped || c.phase == Phase::locked)},
            {"locked out", c.phase == Phase::locked}};
}

std::vector<LogEntry> log_since(const ControlState& c, long from) {
    const long size = static_cast<long>(c.log.size());
    std::vector<LogEntry> list;
    for (long n = std::max({from, c.logged - size, 0L}); n < c.logged; ++n) list.push_back(c.log[static_cast<std::size_t>(n % size)]);
    return list;
}

std::string phase_words(Phase phase) {
    switch (phase) {
        case Phase::off: return "dark";
        case Phase::charging: return "charging the link";
        case Phase::waiting_for_sun: return "waiting for sun";
        case Phase::soft_start: return "soft start";
        case Phase::running: return "running";
        case Phase::ceiling: return "running at the speed ceiling";
        case Phase::dry_hold: return "well dry: held";
        case Phase::tank_hold: return "tank full: held";
        case Phase::tripped: return "tripped";
        case Phase::locked: return "locked out until restart";
        case Phase::hung: return "the control hangs";
    }
    return "";
}

std::string words(const LogEntry& e) {
    const std::string phase = phase_words(e.phase);
    switch (e.cause) {
        case Cause::none: return phase;
        case Cause::dark: return fmt::format("{}: link {:.0f} V, electronics have no supply", phase, e.value);
        case Cause::powered: return fmt::format("{}: electronics wake at {:.0f} V", phase, e.value);
        case Cause::charged: return fmt::format("{}: link charged to {:.0f} V", phase, e.value);
        case Cause::sun: return fmt::format("{}: {:.0f} V on the link", phase, e.value);
        case Cause::ramp_done: return fmt::format("{}: off the ramp at {:.1f} Hz", phase, e.value);
        case Cause::at_ceiling: return fmt::format("{}: {:.1f} Hz", phase, e.value);
        case Cause::below_ceiling: return fmt::format("{}: back below the ceiling, {:.1f} Hz", phase, e.value);
        case Cause::low_sun: return fmt::format("{}: link fell to {:.0f} V", phase, e.value);
        case Cause::dry: return fmt::format("{}, dry-run guard open", phase);
        case Cause::wet_again: return fmt::format("{}: dry-run guard closed and the wait is over", phase);
        case Cause::tank_full: return fmt::format("{}, float circuit open", phase);
        case Cause::tank_has_room: return fmt::format("{}: float circuit closed again", phase);
        case Cause::over_current: return fmt::format("{}: over-current, {:.1f} A peak", phase, e.value);
        case Cause::stall: return fmt::format("{}: stall, {:.1f} A and no turning", phase, e.value);
        case Cause::phase_loss: return fmt::format("{}: phase loss, {:.2f} A in the weakest line", phase, e.value);
        case Cause::over_voltage: return fmt::format("{}: over-voltage, {:.0f} V on the link", phase, e.value);
        case Cause::motor_overload: return fmt::format("{}: motor overload, {:.1f} A", phase, e.value);
        case Cause::heat_sink: return fmt::format("{}: heat sink {:.0f} degC", phase, e.value);
        case Cause::retry: return fmt::format("{}: tries again after trip {:.0f}", phase, e.value);
        case Cause::too_many_trips: return fmt::format("{}: {:.0f} trips in a row", phase, e.value);
        case Cause::hung: return phase;
        case Cause::freed: return fmt::format("{}: link at {:.1f} V, the control has let go", phase, e.value);
    }
    return phase;
}

}  // namespace sunshaft::drive
