// Plots as SVG, PNG or PDF, drawn with Cairo: waves over time, bars over the order of a harmonic, the path of a space
// vector.
//
// Edges stay vertical; a curve with more pieces than the page has points is thinned so that every point keeps its
// lowest and highest value. Series differ in colour and in dash or hatch. Colours: M. Okabe and K. Ito, "Color
// Universal Design", 2008.
#pragma once

#include <string>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::report {

struct Wave {
    std::string name;
    trace::Trace trace;  // x in s
};
struct Bars {
    std::string name;
    std::vector<double> heights;  // one for each order, from 1 on; >= 0
};
struct Path {
    std::string name;
    trace::Trace x, y;  // on the same break points
};

// Holds one kind of series; what is empty is not drawn.
struct Panel {
    std::string title, y_unit;  // an axis of time in s, an axis of orders, or for a path both axes in y_unit
    std::vector<Wave> waves;
    std::vector<Bars> bars;
    std::vector<Path> paths;
};

// The file's kind by its ending: .svg, .pdf or .png (twice the points). Panels fill rows of `columns`. Throws
// std::invalid_argument in one line when there is nothing to draw, a value is not finite or the file cannot be made.
void write_plot(const std::string& path, const std::string& title, const std::vector<Panel>& panels, int columns = 1);

// Whether an ending is one of the three.
bool is_plot(const std::string& ending);

// Steps of 1, 2 or 5 times a power of ten, at most `most` of them between low and high.
std::vector<double> tick_marks(double low, double high, int most);

// A trace of at most about 4 pieces a column over `columns` equal columns, with each column's first, lowest, highest
// and last value.
trace::Trace thinned(trace::View trace, int columns);

}  // namespace sunshaft::report
