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
    explicit Unreadable(const std::string& words, bool nothing_there = false)
        : std::runtime_error(words), missing(nothing_there) {}
    bool missing;  // there is no file of that name
};

// Most bytes of a settings file (scenario, meter, session), which has some thousand, and of recorded waves.
inline constexpr std::size_t most_settings = 1 << 20, most_waves = 1 << 30;

// The whole of a plain file of at most `most` bytes; never waits on a pipe or reads from a device. Throws
// Unreadable.
std::string read_whole(const std::string& path, std::size_t most);

// What a TOML parser must not be given, by the first place of it: keys and brackets nested deeper than any file
// of ours, which it follows by recursion, and letters beyond ASCII outside quotes, which no key may have and on
// which its tables end. Line and column from 1, as a parser counts them. Call before parsing what somebody else
// wrote.
struct TomlTrouble {
    std::size_t line, column;
    const char* words;
};
std::optional<TomlTrouble> toml_trouble(std::string_view text);

}  // namespace sunshaft::files
