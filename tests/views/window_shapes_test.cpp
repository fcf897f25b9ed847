// The arithmetic behind drawn shapes.
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "catch_shim.hpp"
#include "model/shapes.hpp"

using namespace sunshaft;
using view::Point;

namespace {

double area(std::span<const Point> polygon) { return std::abs(view::twice_area(polygon)) / 2.0; }

double area_of(std::span<const Point> polygon, const std::vector<view::Triangle>& triangles) {
    double sum = 0.0;
    for (const auto& t : triangles) {
        const std::array corners{polygon[static_cast<std::size_t>(t[0])], polygon[static_cast<std::size_t>(t[1])],
                                 polygon[static_cast<std::size_t>(t[2])]};
        sum += area(corners);
    }
    return sum;
}

/// A polygon that sees its middle from everywhere: simple, mostly concave.
std::vector<Point> random_star(std::mt19937& random, int corners) {
    std::uniform_real_distribution<double> radius(10.0, 100.0);
    std::vector<Point> polygon;
    for (int i = 0; i < corners; ++i) {
        const double angle = 2.0 * std::numbers::pi * i / corners;
        const double r = radius(random);
        polygon.push_back({r * std::cos(angle), r * std::sin(angle)});
    }
    return polygon;
}

}  // namespace

TEST_CASE("triangles cover exactly the polygon, either way round") {
    const std::vector<Point> u{{0, 0}, {90, 0}, {90, 80}, {60, 80}, {60, 30}, {30, 30}, {30, 80}, {0, 80}};
    auto triangles = view::triangulate(u);
    CHECK(triangles.size() == 6);
    CHECK(area_of(u, triangles) == test::approx(area(u)).epsilon(1e-12));
    CHECK_FALSE(view::is_convex(u));

    std::mt19937 random(7);
    for (int n = 3; n < 60; ++n) {
        auto polygon = random_star(random, n);
        INFO("corners " << n);
        CHECK(area_of(polygon, view::triangulate(polygon)) == test::approx(area(polygon)).epsilon(1e-9));
        std::reverse(polygon.begin(), polygon.end());
        triangles = view::triangulate(polygon);
        CHECK(triangles.size() == polygon.size() - 2);
        CHECK(area_of(polygon, triangles) == test::approx(area(polygon)).epsilon(1e-9));
    }
}

TEST_CASE("polygons that are not polygons end quickly") {
    CHECK(view::triangulate({}).empty());
    CHECK(view::triangulate(std::vector<Point>{{0, 0}, {1, 1}}).empty());
    const std::vector<Point> flat{{0, 0}, {1, 0}, {2, 0}, {3, 0}};
    CHECK(area_of(flat, view::triangulate(flat)) == 0.0);
    const std::vector<Point> bow{{0, 0}, {10, 10}, {10, 0}, {0, 10}};
    CHECK(view::triangulate(bow).size() <= 2);
    const std::vector<Point> twice{{0, 0}, {0, 0}, {10, 0}, {10, 0}, {10, 10}, {0, 10}};
    CHECK(area_of(twice, view::triangulate(twice)) == test::approx(100.0).epsilon(1e-12));
}

TEST_CASE("convex or not") {
    const std::vector<Point> square{{0, 0}, {1, 0}, {1, 1}, {0, 1}};
    CHECK(view::is_convex(square));
    std::vector<Point> pentagram;  // turns the same way at each corner, but goes round twice
    for (int i = 0; i < 5; ++i) {
        const double angle = 4.0 * std::numbers::pi * i / 5.0;
        pentagram.push_back({std::cos(angle), std::sin(angle)});
    }
    CHECK_FALSE(view::is_convex(pentagram));
}

TEST_CASE("hatch lines stay inside and their length times spacing is the area") {
    const std::vector<Point> u{{0, 0}, {90, 0}, {90, 80}, {60, 80}, {60, 30}, {30, 30}, {30, 80}, {0, 80}};
    for (const bool rising : {true, false}) {
        double length = 0.0;
        for (const auto& s : view::hatch_lines(u, 0.5, rising)) {
            length += view::distance(s.a, s.b);
            const Point d = s.b - s.a;
            CHECK(std::abs(d.x) == test::approx(std::abs(d.y)).margin(1e-9));
            CHECK((d.x * d.y < 0.0) == rising);  // y points down
            const Point m = view::lerp(s.a, s.b, 0.5);
            CHECK_FALSE((m.x > 30 && m.x < 60 && m.y > 30 && m.y < 80));
        }
        CHECK(length * 0.5 == test::approx(area(u)).epsilon(0.01));
    }
    CHECK(view::hatch_lines(u, 0.0, true).empty());
}

TEST_CASE("dashes take their share of the line and go round corners") {
    const std::vector<Point> line{{0, 0}, {100, 0}, {100, 100}};
    const std::array pattern{7.0, 4.0};
    const auto pieces = view::dashes(line, pattern, 1.0);
    double drawn = 0.0;
    for (const auto& piece : pieces)
        for (std::size_t i = 0; i + 1 < piece.size(); ++i) drawn += view::distance(piece[i], piece[i + 1]);
    CHECK(drawn == test::approx(200.0 / 11.0 * 7.0).margin(7.0));
    CHECK(pieces.size() == 19);
    CHECK(pieces[9].size() == 3);  // the dash from 99 to 106 bends at 100
    // An offset of one period changes nothing, half a period does.
    CHECK(view::dashes(line, pattern, 1.0, 11.0)[3] == pieces[3]);
    CHECK(view::dashes(line, pattern, 1.0, 7.0)[0].front() == Point{4.0, 0.0});
    CHECK(view::dashes(std::vector<Point>{{5, 5}}, pattern, 1.0).empty());
    for (const auto style :
         {view::LineStyle::dashed, view::LineStyle::dotted, view::LineStyle::dash_dot, view::LineStyle::long_dash})
        CHECK(view::dash_pattern(style).size() % 2 == 0);
    CHECK(view::dash_pattern(view::LineStyle::solid).empty());
}

TEST_CASE("a slack cable starts and ends where it is held and hangs by its sag") {
    const auto line = view::slack({0, 0}, {100, 40}, 30, 40);
    CHECK(line.front() == Point{0, 0});
    CHECK(line.back() == Point{100, 40});
    const Point middle = line[20];
    CHECK(middle.x == test::approx(50).epsilon(1e-9));
    CHECK(middle.y == test::approx(20 + 30).epsilon(1e-9));
}
