// The user's own folders, as the base directory specification has them.
#pragma once

#include <filesystem>

namespace sunshaft::files {

// $XDG_STATE_HOME/sunshaft or ~/.local/state/sunshaft; empty when there is neither.
std::filesystem::path state_folder();
// $XDG_DATA_HOME/sunshaft or ~/.local/share/sunshaft; empty when there is neither.
std::filesystem::path data_folder();
// $HOME; empty when it is not set.
std::filesystem::path home();

}  // namespace sunshaft::files
