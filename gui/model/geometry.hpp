#pragma once
// Plane geometry of the window, in design units: 1 unit is one pixel at 100 % scale; x right, y down.
#include <algorithm>
#include <cmath>

namespace sunshaft::view {

struct Point {
    double x = 0.0;
    double y = 0.0;
    friend constexpr Point operator+(Point a, Point b) { return {a.x + b.x, a.y + b.y}; }
    friend constexpr Point operator-(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }
    friend constexpr Point operator*(Point a, double k) { return {a.x * k, a.y * k}; }
    friend constexpr bool operator==(Point, Point) = default;
};

inline double distance(Point a, Point b) { return std::hypot(a.x - b.x, a.y - b.y); }
/// How far on `to` is, seen from `from` on the way an arrow key points (a unit along one axis); what lies aside of it
/// is farther. not_that_way: behind.
inline constexpr double not_that_way = 1e9;
inline double far_on(Point from, Point to, Point way) {
    const Point d = to - from;
    const double along = d.x * way.x + d.y * way.y, aside = std::abs(d.x * way.y) + std::abs(d.y * way.x);
    return along > 1 ? along + 2.5 * aside : not_that_way;
}
constexpr Point lerp(Point a, Point b, double t) { return a + (b - a) * t; }

struct Size {
    double w = 0.0;
    double h = 0.0;
    friend constexpr bool operator==(Size, Size) = default;
};

/// A rectangle; w and h are never negative when made by the functions below.
struct Box {
    double x = 0.0;
    double y = 0.0;
    double w = 0.0;
    double h = 0.0;

    constexpr double right() const { return x + w; }
    constexpr double bottom() const { return y + h; }
    constexpr Point top_left() const { return {x, y}; }
    constexpr Point centre() const { return {x + w / 2.0, y + h / 2.0}; }
    constexpr bool empty() const { return w <= 0.0 || h <= 0.0; }
    constexpr bool contains(Point p) const { return p.x >= x && p.x < right() && p.y >= y && p.y < bottom(); }

    constexpr Box inset(double dx, double dy) const {
        return {x + dx, y + dy, std::max(0.0, w - 2.0 * dx), std::max(0.0, h - 2.0 * dy)};
    }
    constexpr Box inset(double d) const { return inset(d, d); }

    // Each cut takes a slice off this box and returns it: `Box title = rest.cut_top(24);`
    constexpr Box cut_top(double d) {
        const Box slice{x, y, w, std::clamp(d, 0.0, h)};
        y += slice.h, h -= slice.h;
        return slice;
    }
    constexpr Box cut_left(double d) {
        const Box slice{x, y, std::clamp(d, 0.0, w), h};
        x += slice.w, w -= slice.w;
        return slice;
    }
    constexpr Box cut_bottom(double d) {
        d = std::clamp(d, 0.0, h);
        h -= d;
        return {x, y + h, w, d};
    }
    constexpr Box cut_right(double d) {
        d = std::clamp(d, 0.0, w);
        w -= d;
        return {x + w, y, d, h};
    }
    friend constexpr bool operator==(const Box&, const Box&) = default;
};

}  // namespace sunshaft::view
