#pragma once
// What a part's shape alone says too softly, in a word beside it: a fuse that is open, a guard with a jumper, an array
// that is shorted.
#include <string>
#include <vector>

#include "model/site_drawing.hpp"
#include "paint/canvas.hpp"

namespace sunshaft::panels {

struct StateWord {
    view::Point at;  // right end of the baseline
    std::string words;
    view::Box box;
};
std::vector<StateWord> state_words(const paint::Canvas& c, const view::SiteDrawing& d);
void paint_state_words(paint::Canvas& c, const view::SiteDrawing& d, const view::Palette& p);

/// Where an open fuse's word stands, in any language.
view::Box open_fuse_room(const view::StringDrawing& string);

}  // namespace sunshaft::panels
