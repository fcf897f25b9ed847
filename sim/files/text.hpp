// Text from outside, made fit to be shown.
#pragma once

#include <string>
#include <string_view>

namespace sunshaft::files {

// Valid UTF-8 without anything that moves a terminal's cursor, colours it or turns the direction of writing:
// control characters and bidirectional marks become spaces. Bytes that are no UTF-8 are read as Latin-1.
std::string plain_text(std::string_view text);
bool is_plain(std::string_view text);

// The same, cut at `longest` bytes, marked "...".
std::string one_line(std::string_view text, std::size_t longest = 400);

}  // namespace sunshaft::files
