#pragma once
// A plot's frame: sheet, grid, ticks with numbers, unit. Shared by the panels of the strip.
#include <string>

#include "model/scope_view.hpp"
#include "paint/canvas.hpp"

namespace sunshaft::panels {

struct Axes {
    view::PlotArea area;         // box: the plot itself, inside its numbers
    std::string x_unit, y_unit;  // written at the axes' ends; SI units get a prefix
    bool x_numbers = true;
    int x_about = 8, y_about = 4;
};

// Draws frame, grid and numbers. Room needed: 56 left, 22 below (with numbers), 8 right, 10 above.
void draw_axes(paint::Canvas& c, const Axes& axes, const view::Palette& palette);
view::Box plot_inside(const view::Box& outer, bool x_numbers);
// Why there is nothing to plot, where the plot would begin.
void quiet_words(paint::Canvas& c, const view::Box& room, const char* words, const view::Palette& palette);
// A curve of points in the plot's own units, clipped to its box.
void draw_curve(paint::Canvas& c, const view::PlotArea& area, const std::vector<double>& x,
                const std::vector<double>& y, const paint::Stroke& stroke);

}  // namespace sunshaft::panels
