#pragma once
// Acts of a script that are the bench's, not the window's. They go through the Desk as a user's do. Without a
// thread behind the desk, time passes only by `wait`, so a script gives the same pictures on every run.
//
//   probe red|black|around POINT    "-" takes it off       mode MODE           meter 1|2 SPEC
//   change-meter SPEC KEY VALUE     restore-meter SPEC  extremes|inrush on|off
//   plant KIND PLACE SEVERITY       heal KIND PLACE        heal all
//   do ACT PLACE                    set KEY VALUE          undo   redo
//   run  hold  step                 rate NUMBER            wait SECONDS        (simulated)
//   channels SIGNAL...              scope SECONDS          (per division)      ghost|teaching|marks on|off
//   trigger SIGNAL|- LEVEL rising|falling
//   alter FIELD|back                one field of what is shown, for tests (desk_alter.hpp)
//   tell                            what the meters show, a line each, on standard output
#include <string>
#include <vector>

#include "model/desk.hpp"

namespace sunshaft::view {

/// Carries out one act. Throws ScriptError when it is unknown, malformed, or refused by the desk.
void play(Desk& desk, const std::vector<std::string>& words);

/// One line a meter: "meter 1: 261.3 V", "meter 2: OL", "clamp: -".
std::string told(const Snapshot& snapshot);

}  // namespace sunshaft::view
