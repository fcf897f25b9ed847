#include "files/folders.hpp"

#include <cstdlib>

namespace sunshaft::files {
namespace {

std::filesystem::path folder(const char* variable, const char* otherwise) {
    // A path that is not absolute is to be ignored.
    if (const char* set = std::getenv(variable); set != nullptr && std::filesystem::path(set).is_absolute())
        return std::filesystem::path(set) / "sunshaft";
    if (!home().empty()) return home() / ".local" / otherwise / "sunshaft";
    return {};
}

}  // namespace

std::filesystem::path home() {
    const char* set = std::getenv("HOME");
    return set != nullptr ? std::filesystem::path(set) : std::filesystem::path{};
}
std::filesystem::path state_folder() { return folder("XDG_STATE_HOME", "state"); }
std::filesystem::path data_folder() { return folder("XDG_DATA_HOME", "share"); }

}  // namespace sunshaft::files
