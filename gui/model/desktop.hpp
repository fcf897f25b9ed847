// What somebody has told their whole desktop, and every program is to keep to.
#pragma once

#include <filesystem>

namespace sunshaft::view {

// That nothing be animated. There is no one place for it: looked for where the two usual toolkits keep it, in files
// (gtk-4.0/settings.ini, gtk-3.0/settings.ini: gtk-enable-animations; kdeglobals: AnimationDurationFactor).
bool wants_no_animations(const std::filesystem::path& settings);

// $XDG_CONFIG_HOME, ~/.config; empty: there is none.
std::filesystem::path settings_folder();

}  // namespace sunshaft::view
