// The sites a user can choose from: those shipped with the program, and files opened before.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/site_drawing.hpp"

namespace sunshaft::view {

struct SiteEntry {
    std::string file;                         // its path
    std::string name, line;                   // "Hill Orchard"; what it is, in a line
    std::optional<SiteDrawing> drawing = {};  // as it stands at rest; of those shipped
    double pump_depth_m = 0.0;                // 0: no well
};

std::vector<SiteEntry> shipped_sites();  // by name; one that cannot be loaded is not among them
// Not shipped, the latest first, at most `most`; a file that is gone or no longer a site is not among them.
std::vector<SiteEntry> recent_sites(std::size_t most = 5);
// Keeps a file in mind for recent_sites(): in `recent` in the state folder, one path a line. False: cannot be kept.
bool keep_in_mind(const std::string& file);

}  // namespace sunshaft::view
