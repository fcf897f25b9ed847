#pragma once
// The glass over a crowded place of the cutaway, and the names of what lies under it.
#include <functional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "model/lens.hpp"
#include "paint/marks.hpp"

namespace sunshaft::panels {

struct UnderGlass {
    const view::Dot* dot = nullptr;  // what a click would mean; at most one of the three
    const view::Ring* ring = nullptr;
    const view::Part* part = nullptr;
    std::string words;  // of it
};

void paint_lens(paint::Canvas& c, const view::Lens& lens, const view::SiteDrawing& d, const UnderGlass& meant,
                const bench::Probes& probes, const view::Palette& p);

// What the site is made of there, without its names: boxes, modules, wires, joints.
void paint_under_glass(paint::Canvas& c, const view::Lens& lens, const view::SiteDrawing& d, const view::Palette& p);
// What of a wire lies under the glass, piece by piece, as it stands there.
void wire_under_glass(const view::Lens& lens, const view::WirePath& wire,
                      const std::function<void(const std::vector<view::Point>&)>& draw);

// A box, cut off at a circle: its corners and where it meets the rim, in order round its middle.
std::vector<view::Point> box_in_circle(view::Point centre, double radius, const view::Box& box);

}  // namespace sunshaft::panels
