// The bridge: what the gates ask, what each leg does.
//
// A leg's mode is memory, never sign(i): a gated device conducts both ways through its on-resistance (a MOSFET
// channel); with both gates off a leg conducts through a free-wheel diode while current flows and is blocked after.
#pragma once

#include <array>
#include <cstdint>

namespace sunshaft::drive {

enum class Gate : std::uint8_t { off, upper, lower };
enum class Leg : std::uint8_t { upper, lower, diode_up, diode_down, blocked };
inline constexpr int leg_modes = 5;

using Gates = std::array<Gate, 3>;
using Legs = std::array<Leg, 3>;

inline int index(const Legs& l) {
    return static_cast<int>(l[0]) + leg_modes * static_cast<int>(l[1]) + leg_modes * leg_modes * static_cast<int>(l[2]);
}

// What stands in one leg. open: the device never conducts (its diode still does); shorted: it always does.
enum class Device : std::uint8_t { good, open, shorted };
struct LegParts {
    Device upper = Device::good, lower = Device::good;
    // What a gate command comes to with these parts.
    Gate effective(Gate asked) const {
        if (upper == Device::shorted) return Gate::upper;
        if (lower == Device::shorted) return Gate::lower;
        if (asked == Gate::upper && upper == Device::open) return Gate::off;
        if (asked == Gate::lower && lower == Device::open) return Gate::off;
        return asked;
    }
    bool operator==(const LegParts&) const = default;
};

struct Bridge {
    double on_resistance = 0.0;  // ohm, each device
    double diode_drop = 0.0;     // V
    std::array<LegParts, 3> legs{};
    bool operator==(const Bridge&) const = default;
};

}  // namespace sunshaft::drive
