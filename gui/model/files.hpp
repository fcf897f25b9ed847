#pragma once
// Where the window keeps its files, and how it reads and writes them.
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "files/folders.hpp"

namespace sunshaft::view {

using files::data_folder;
using files::state_folder;

/// A plain file of up to a megabyte; nothing when it cannot be read.
std::optional<std::string> read_text(const std::filesystem::path& file);

/// Writes a file whole or not at all (files/fresh_file.hpp); makes its folder. False when it cannot be.
bool write_whole(const std::filesystem::path& file, std::string_view text);

/// A name that is still free in the working folder (or the home folder when that cannot be written):
/// "sunshaft-2024-03-14-132004.png".
std::filesystem::path fresh_name(std::string_view ending);

}  // namespace sunshaft::view
