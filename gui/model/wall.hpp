// The wall: a second window that shows a class the instructor's bench, and only that. The instructor's program tells it
// through a file, on the same machine; the wall computes the bench anew, hides every fault, and obeys no hand.
//
//     told = wall_text(desk, {.blank = false, .frozen = true});     // in the instructor's program, written whole
//     take_wall(desk, told, state, why)                             // in the wall's
//
// Faults are told when they set in, not before: a fault planted from the laptop changes nothing on the wall but the
// physics. A lesson with a class is told by its seed and the answers given so far: the wall plays it along, and has no
// notes. A lesson alone or in a pair, and a call-out, stay on the laptop.
#pragma once

#include <string>

#include "model/desk.hpp"

namespace sunshaft::view {

std::string wall_text(const Desk& desk, const WallState& state);
// What a wall is told of the site; empty: it is no such text.
std::string wall_site(const std::string& text);
// Shows what is told, of whatever site. Frozen: nothing changes but that. False: not yet as told, to be tried again;
// why says in one line what is wrong with the text, and is empty where a lesson is still being worked out.
bool take_wall(Desk& desk, const std::string& text, WallState& state, std::string& why);

}  // namespace sunshaft::view
