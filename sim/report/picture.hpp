// A picture as a PNG file.
#pragma once

#include <cstdint>
#include <span>
#include <string>

namespace sunshaft::report {

// Rows from the top, four bytes a pixel: red, green, blue, one that is not looked at. Throws as
// files::FreshFile does.
void write_png(const std::string& path, int width, int height, std::span<const std::uint8_t> rgba);

}  // namespace sunshaft::report
