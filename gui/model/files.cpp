#include "model/files.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>

#include "files/fresh_file.hpp"
#include "files/input.hpp"

namespace sunshaft::view {

std::optional<std::string> read_text(const std::filesystem::path& file) {
    try {
        return files::read_whole(file.string(), files::most_settings);
    } catch (const files::Unreadable&) {
        return std::nullopt;
    }
}

bool write_whole(const std::filesystem::path& file, std::string_view text) {
    std::error_code error;
    if (file.has_parent_path()) std::filesystem::create_directories(file.parent_path(), error);
    try {
        files::FreshFile fresh(file.string());
        fresh.write(text);
        fresh.finish();
        return true;
    } catch (const std::exception&) {
        return false;
    }
}

std::filesystem::path fresh_name(std::string_view ending) {
    std::error_code error;
    std::filesystem::path folder = std::filesystem::current_path(error);
    if (error || ::access(folder.c_str(), W_OK) != 0) folder = files::home();
    const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
    const std::string stem = fmt::format("sunshaft-{:%Y-%m-%d-%H%M%S}", fmt::localtime(now));
    std::filesystem::path name = folder / fmt::format("{}{}", stem, ending);
    for (int n = 2; std::filesystem::exists(name, error); ++n) name = folder / fmt::format("{}-{}{}", stem, n, ending);
    return name;
}

}  // namespace sunshaft::view
