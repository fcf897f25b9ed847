#include "model/shapes.hpp"

#include <limits>
#include <numbers>

namespace sunshaft::view {

namespace {

double cross(Point a, Point b, Point c) { return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x); }

bool inside(Point p, Point a, Point b, Point c) {
    return cross(a, b, p) >= 0.0 && cross(b, c, p) >= 0.0 && cross(c, a, p) >= 0.0;
}

}  // namespace

double twice_area(std::span<const Point> polygon) {
    double sum = 0.0;
    for (std::size_t i = 0; i < polygon.size(); ++i) {
        const Point p = polygon[i];
        const Point q = polygon[(i + 1) % polygon.size()];
        sum += p.x * q.y - q.x * p.y;
    }
    return sum;
}

bool is_convex(std::span<const Point> polygon) {
    const std::size_t n = polygon.size();
    bool left = false;
    bool right = false;
    double turned = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        const Point a = polygon[i];
        const Point b = polygon[(i + 1) % n];
        const Point c = polygon[(i + 2) % n];
        const double turn = cross(a, b, c);
        left = left || turn < 0.0;
        right = right || turn > 0.0;
        if (left && right) return false;
        turned += std::abs(std::atan2(turn, (b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y)));
    }
    return turned < 2.0 * std::numbers::pi + 0.01;  // a star turns one way too, but more than once round
}

std::vector<Triangle> triangulate(std::span<const Point> polygon) {
    const int n = static_cast<int>(polygon.size());
    std::vector<Triangle> result;
    if (n < 3) return result;
    result.reserve(static_cast<std::size_t>(n - 2));
    std::vector<int> left(static_cast<std::size_t>(n));
    const bool clockwise = twice_area(polygon) > 0.0;
    for (int i = 0; i < n; ++i) left[static_cast<std::size_t>(i)] = clockwise ? i : n - 1 - i;

    const auto at = [&](int index) { return polygon[static_cast<std::size_t>(index)]; };
    std::size_t i = 0;
    std::size_t tried = 0;
    while (left.size() > 3) {
        const std::size_t m = left.size();
        i %= m;
        const int a = left[(i + m - 1) % m];
        const int b = left[i];
        const int c = left[(i + 1) % m];
        const double turn = cross(at(a), at(b), at(c));
        bool ear = turn > 0.0;
        for (std::size_t k = 0; ear && k < m; ++k) {
            const int other = left[k];
            if (other == a || other == b || other == c) continue;
            const Point p = at(other);
            if (p == at(a) || p == at(b) || p == at(c)) continue;
            ear = !inside(p, at(a), at(b), at(c));
        }
        const bool flat = turn == 0.0;
        if (ear || flat || tried > m) {  // after a fruitless round: cut anyway, the polygon crosses itself
            if (!flat) result.push_back({a, b, c});
            left.erase(left.begin() + static_cast<std::ptrdiff_t>(i));
            tried = 0;
        } else {
            ++i;
            ++tried;
        }
    }
    result.push_back({left[0], left[1], left[2]});
    return result;
}

std::vector<Segment> hatch_lines(std::span<const Point> polygon, double spacing, bool rising) {
    std::vector<Segment> result;
    if (polygon.size() < 3 || !(spacing > 0.0)) return result;
    // A line of the hatch is s = x + y (rising) or s = x - y (falling) held constant, stepped by spacing *
    // sqrt 2.
    const double sign = rising ? 1.0 : -1.0;
    const double step = spacing * std::numbers::sqrt2;
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const Point p : polygon) {
        low = std::min(low, p.x + sign * p.y);
        high = std::max(high, p.x + sign * p.y);
    }
    std::vector<double> cuts;
    for (double k = std::ceil(low / step); k * step < high; k += 1.0) {
        const double s = k * step;
        cuts.clear();
        for (std::size_t i = 0; i < polygon.size(); ++i) {
            const Point p = polygon[i];
            const Point q = polygon[(i + 1) % polygon.size()];
            const double sp = p.x + sign * p.y;
            const double sq = q.x + sign * q.y;
            if ((sp <= s) == (sq <= s)) continue;
            cuts.push_back(p.x + (q.x - p.x) * (s - sp) / (sq - sp));
        }
        std::sort(cuts.begin(), cuts.end());
        for (std::size_t i = 0; i + 1 < cuts.size(); i += 2) {
            if (cuts[i + 1] - cuts[i] < 1e-9) continue;  // only touches a corner
            const auto on_line = [&](double x) { return Point{x, sign * (s - x)}; };
            result.push_back({on_line(cuts[i]), on_line(cuts[i + 1])});
        }
    }
    return result;
}

std::span<const double> dash_pattern(LineStyle style) {
    static constexpr std::array dashed{7.0, 4.0};
    static constexpr std::array dotted{2.0, 2.6};
    static constexpr std::array dash_dot{9.0, 3.2, 2.0, 3.2};
    static constexpr std::array long_dash{15.0, 5.0};
    switch (style) {
        case LineStyle::dashed: return dashed;
        case LineStyle::dotted: return dotted;
        case LineStyle::dash_dot: return dash_dot;
        case LineStyle::long_dash: return long_dash;
        case LineStyle::solid: break;
    }
    return {};
}

std::vector<std::vector<Point>> dashes(std::span<const Point> line, std::span<const double> pattern, double scale,
                                       double offset) {
    std::vector<std::vector<Point>> result;
    double period = 0.0;
    for (const double d : pattern) period += d * scale;
    if (line.size() < 2 || !(period > 0.0)) return result;

    std::size_t phase = 0;
    double left = pattern[0] * scale;  // of the present dash or gap
    double skip = std::fmod(offset, period);
    if (skip < 0.0) skip += period;
    while (skip >= left) {
        skip -= left;
        phase = (phase + 1) % pattern.size();
        left = pattern[phase] * scale;
    }
    left -= skip;

    const auto drawing = [&] { return phase % 2 == 0; };
    if (drawing()) result.push_back({line[0]});
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
        const Point a = line[i];
        const Point b = line[i + 1];
        const double length = distance(a, b);
        if (!(length > 0.0) || !std::isfinite(length)) continue;
        double done = 0.0;
        while (length - done > left) {
            done += left;
            const Point p = lerp(a, b, done / length);
            if (drawing()) result.back().push_back(p);
            phase = (phase + 1) % pattern.size();
            left = pattern[phase] * scale;
            if (drawing()) result.push_back({p});
        }
        left -= length - done;
        if (drawing()) result.back().push_back(b);
    }
    if (!result.empty() && result.back().size() < 2) result.pop_back();
    return result;
}

std::vector<Point> cubic(Point a, Point c1, Point c2, Point b, int steps) {
    std::vector<Point> line;
    steps = std::max(1, steps);
    line.reserve(static_cast<std::size_t>(steps) + 1);
    for (int i = 0; i <= steps; ++i) {
        const double t = static_cast<double>(i) / steps;
        const double u = 1.0 - t;
        line.push_back(a * (u * u * u) + c1 * (3.0 * u * u * t) + c2 * (3.0 * u * t * t) + b * (t * t * t));
    }
    return line;
}

std::vector<Point> slack(Point a, Point b, double sag, int steps) {
    // The middle of a cubic lies 3/4 of the way from the chord to the line of its control points.
    const double drop = sag * 4.0 / 3.0;
    Point c1 = lerp(a, b, 0.3);
    Point c2 = lerp(a, b, 0.7);
    c1.y += drop;
    c2.y += drop;
    return cubic(a, c1, c2, b, steps);
}

}  // namespace sunshaft::view
