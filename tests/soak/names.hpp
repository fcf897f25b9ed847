// The shipped sites by name.
#pragma once

inline constexpr const char* shipped_names[] = {"stone-fold", "river-meadow", "hill-orchard", "terrace-pwm",
                                                "bench-rig"};
