// What of a site is how warm, and where it stands in the drawing: for a glass that shows heat.
#pragma once

#include <string>
#include <vector>

#include "model/palette.hpp"
#include "model/site_drawing.hpp"

namespace sunshaft::view {

struct Warm {
    std::string name;  // "splice v"
    Box box;           // of the drawing
    double degC = 0.0;
    bool by_camera = true;  // false: under water or inside a housing, where no camera looks
};

// Modules and, where somebody looks at it, the array's connectors and hot cells; the drive's heat sink, the joints
// above the motor, pump and windings; without what is not to be known.
std::vector<Warm> warm_things(const Snapshot& s, const SiteDrawing& d);
// The smallest of them at a point, null: none.
const Warm* warm_at(const std::vector<Warm>& things, Point at);
// As heat is drawn: from dark blue at the freezing point to white at 120 degC.
Colour heat_colour(double degC);

}  // namespace sunshaft::view
