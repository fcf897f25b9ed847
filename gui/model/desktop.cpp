#include "model/desktop.hpp"

#include <algorithm>
#include <cstdlib>
#include <optional>
#include <sstream>
#include <string>

#include "model/files.hpp"

namespace sunshaft::view {
namespace {

// What stands behind "key=" in a file of settings, without blanks; nothing: it is not there.
std::optional<std::string> value_in(const std::filesystem::path& file, const std::string& key) {
    const auto text = read_text(file);
    if (!text) return {};
    std::istringstream lines(*text);
    for (std::string line; std::getline(lines, line);) {
        std::erase_if(line, [](char c) { return c == ' ' || c == '\t' || c == '\r'; });
        if (line.starts_with(key + "=")) return line.substr(key.size() + 1);
    }
    return {};
}

}  // namespace

bool wants_no_animations(const std::filesystem::path& settings) {
    if (settings.empty()) return false;
    for (const char* toolkit : {"gtk-4.0", "gtk-3.0"})
        if (const auto on = value_in(settings / toolkit / "settings.ini", "gtk-enable-animations"))
            return *on == "0" || *on == "false" || *on == "FALSE" || *on == "False";
    const auto factor = value_in(settings / "kdeglobals", "AnimationDurationFactor");
    return factor && std::atof(factor->c_str()) == 0.0 && factor->starts_with("0");
}

std::filesystem::path settings_folder() {
    if (const char* set = std::getenv("XDG_CONFIG_HOME"); set && *set) return set;
    const char* home = std::getenv("HOME");
    return home && *home ? std::filesystem::path(home) / ".config" : std::filesystem::path();
}

}  // namespace sunshaft::view
