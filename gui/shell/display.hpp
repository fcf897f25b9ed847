#pragma once
// Whether there is a display a window can be opened on, asked before anything that would end the program tries.
#include <string>

namespace sunshaft::shell {

/// Why no window can be opened, as words after "no window: "; empty when one can.
std::string why_no_window();

}  // namespace sunshaft::shell
