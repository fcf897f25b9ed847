#pragma once
// The language the window speaks: one of text::languages(), and only where its catalogue has the window completely
// (`bench` in its X-Complete); else English.
#include <string>

namespace sunshaft::view {

/// "": as the environment has it. From any thread; what is worked out later speaks it.
void speak_in(const std::string& language);
/// The next one the window can speak, after the one it speaks now.
std::string next_language();

}  // namespace sunshaft::view
