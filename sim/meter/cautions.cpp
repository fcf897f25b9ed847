// What must be read before the probes touch anything.
#include <fmt/format.h>

#include <algorithm>

#include "meter/chain.hpp"

namespace sunshaft::meter {

void add_cautions(const Spec& spec, Mode mode, const Context& ctx, double highest_V, Reading& reading) {
    Words say(reading);
    const double volts = std::max(highest_V, ctx.earth_V.value_or(0.0));
    constexpr const char* roman[] = {"", "", "II", "III", "IV"};
    constexpr double touch_V =
        50.0;  // above it a live part is not touched (IEC 61140 takes 50 V AC, 120 V DC as the upper bound)
    if (drives_circuit(mode)) {
        if (ctx.from_array)
            say.caution(
                "Modules make voltage as long as light falls on them: cover them, or part them only unloaded, "
                "before this test.");
        say.caution(
            "Only on a dead circuit: stop, isolate, lock, wait out the link's discharge, prove dead, then "
            "connect the meter.");
        if (mode == Mode::insulation)
            say.caution(
                "Disconnect drive, guards and surge arresters first, keep everyone away from both ends, and "
                "discharge afterwards.");
        return;
    }
    if (ctx.live && (volts > touch_V || takes_clamp(mode)))
        say.caution("Live work" + (volts > touch_V ? ", " + say("voltage_present", volts, "V") : std::string()) +
                    ": for those the local code allows, and only where a dead test cannot answer.");
    if (ctx.from_array)
        say.caution(
            "This side stays live in any light, whatever the isolator's position; connectors are never opened "
            "under load.");
    if (volts > 0.0 && spec.category == 0 && volts > touch_V)
        say.caution("This meter has no measurement category: it does not belong on this voltage.");
    else if (spec.category > 0 && volts > spec.category_V)
        say.caution(fmt::format(
            "Do not connect this meter: {} is more than the {} its category CAT {} is rated for.",
            say("voltage_present", volts, "V"), say("category_V", spec.category_V, "V"), roman[spec.category]));
}

}  // namespace sunshaft::meter
