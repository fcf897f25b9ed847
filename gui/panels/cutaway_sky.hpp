#pragma once
// The sun of the cutaway: its arc, its disc, its figure where nothing else is.
#include <optional>
#include <string>

#include "model/format.hpp"
#include "panels/cutaway_paint.hpp"

namespace sunshaft::panels {

bool meet(const view::Box& a, const view::Box& b);
/// The rising main passes there.
bool on_main(const view::SiteDrawing& d, const view::Box& box);

/// Where a cloud stands that shades nothing.
view::Box cloud_rest(const view::SiteDrawing& d);
view::Box sun_disc(const view::Sun& sun);
/// The sun's figure, found a place where nothing else is.
struct SunWords {
    view::Point at;
    std::string words;
    view::Box box;
};
std::optional<SunWords> sun_words(const shell::Canvas& c, const view::SiteDrawing& d, const view::Palette& p,
                                  const view::Snapshot& s, bool carried);
paint::TextLook sun_look(const view::Palette& p);
void sun(shell::Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s,
         const std::optional<SunWords>& words);
/// A string's name and current, beside the sun where that passes over them.
struct StringWords {
    std::string said;
    view::Figure amps;
    view::Box name, current;
};
StringWords string_words(const shell::Canvas& c, const view::SiteDrawing& d, const view::Palette& p,
                         const view::Snapshot& s, std::size_t string);
paint::ValueLook amps_look(const view::Palette& p);

}  // namespace sunshaft::panels
