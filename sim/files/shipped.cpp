#include "files/shipped.hpp"

#include <cstdlib>
#include <filesystem>

namespace sunshaft::files {
namespace {

namespace fs = std::filesystem;

bool holds_data(const fs::path& folder) {
    std::error_code error;
    return !folder.empty() && fs::is_directory(folder / "scenarios" / "meters", error) &&
           fs::is_regular_file(folder / "assets" / "modules.csv", error);
}

std::string find() {
    // What was asked for is taken even when it is wrong: its name then stands in the message.
    if (const char* set = std::getenv("SUNSHAFT_DATA"); set && *set) return set;
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error);
    if (!error) {
        if (const fs::path installed = program.parent_path().parent_path() / "share" / "sunshaft";
            holds_data(installed))
            return installed.string();
        for (fs::path above = program.parent_path(); above.has_relative_path(); above = above.parent_path())
            if (holds_data(above)) return above.string();
    }
    // Nowhere: its name stands in the message of whoever looks for a file there.
    return (program.parent_path().parent_path() / "share" / "sunshaft").string();
}

}  // namespace

const std::string& shipped_data() {
    static const std::string folder = find();
    return folder;
}

}  // namespace sunshaft::files
