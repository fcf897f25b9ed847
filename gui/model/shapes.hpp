#pragma once
// The arithmetic behind drawn shapes: triangles of a concave polygon, hatch lines inside it, dashes along a
// line, points on a curve. Pure functions of points; any unit.
#include <array>
#include <span>
#include <vector>

#include "model/geometry.hpp"
#include "model/palette.hpp"

namespace sunshaft::view {

using Triangle = std::array<int, 3>;  // indices into the polygon

/// Twice the enclosed area; positive when the points run clockwise on a screen (y down).
double twice_area(std::span<const Point> polygon);

bool is_convex(std::span<const Point> polygon);

/// Ear clipping of a simple polygon (no holes, either sense of rotation): n-2 triangles, or fewer when points
/// coincide. A polygon that crosses itself gives a cover that is not exact, never an endless loop.
/// Meisters, "Polygons have ears", Amer. Math. Monthly 82 (1975).
std::vector<Triangle> triangulate(std::span<const Point> polygon);

struct Segment {
    Point a;
    Point b;
};

/// Parallel lines at +45 degrees (rising to the right) or -45 degrees, `spacing` apart at right angles to them,
/// clipped to the polygon (even-odd rule). The lines' phase depends on the plane, not on the polygon, so
/// hatches of neighbours meet.
std::vector<Segment> hatch_lines(std::span<const Point> polygon, double spacing, bool rising);

/// Lengths of dash, gap, dash, gap ... of a line style at a line width; empty for solid.
std::span<const double> dash_pattern(LineStyle style);

/// Cuts a polyline into its dashes: each result is the polyline of one dash. `offset` shifts the pattern along.
std::vector<std::vector<Point>> dashes(std::span<const Point> line, std::span<const double> pattern, double scale,
                                       double offset = 0.0);

/// Points on the cubic Bezier a, c1, c2, b, `steps` spans.
std::vector<Point> cubic(Point a, Point c1, Point c2, Point b, int steps);

/// A slack cable between two ends: one cubic whose middle hangs `sag` below the straight line.
std::vector<Point> slack(Point a, Point b, double sag, int steps);

}  // namespace sunshaft::view
