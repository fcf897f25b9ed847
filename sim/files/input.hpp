// Files from outside, read whole, and what is checked before a parser sees them.
#pragma once

#include <cstddef>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>

namespace sunshaft::files {

// what() is what the file is or is not, without its name: "is not there", "is a folder", "is a pipe, no plain
// file", "is larger than 1 MB" ...
struct Unreadable : std::runtime_error {
    using std::runtime_error::runtime_error;
};

// Most bytes of a settings file (scenario, meter, session), which has some thousand, and of recorded waves.
inline constexpr std::size_t most_settings = 1 << 20, most_waves = 1 << 30;

// The whole of a plain file of at most `most` bytes; never waits on a pipe or reads from a device. Throws
// Unreadable.
std::string read_whole(const std::string& path, std::size_t most);

// Where TOML text nests deeper than any file of ours: dotted keys and brackets, which a parser follows by
// recursion. Line and column from 1, as a TOML parser counts them. Call before parsing what somebody else
// wrote.
struct Place {
    std::size_t line, column;
};
std::optional<Place> too_deep(std::string_view toml);
inline constexpr const char* too_deep_words =
    "is nested deeper than any key can be, expected at most 16 levels";

}  // namespace sunshaft::files
