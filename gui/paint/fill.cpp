// Fills of the canvas: polygons with a fringe one pixel wide that fades out, so that edges are smooth.
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "model/shapes.hpp"
#include "paint/canvas.hpp"
#include "paint/ledger.hpp"

namespace sunshaft::paint {

namespace {

Point outward_normal(Point a, Point b) {  // of a polygon that runs clockwise on the screen
    const Point d = b - a;
    const double length = std::hypot(d.x, d.y);
    return length > 0.0 ? Point{d.y / length, -d.x / length} : Point{};
}

}  // namespace

void Canvas::fill_px(std::span<const Point> polygon, Colour top, Colour bottom, double y0, double y1) {
    if (!drawn(fonts_->ledger())) return;
    std::vector<Point> points;  // in pixels, clockwise
    points.reserve(polygon.size());
    for (const Point p : polygon) {
        const Point q{p.x * scale_, p.y * scale_};
        if (!std::isfinite(q.x) || !std::isfinite(q.y)) continue;
        if (points.empty() || view::distance(points.back(), q) > 1e-3) points.push_back(q);
    }
    while (points.size() > 1 && view::distance(points.front(), points.back()) <= 1e-3) points.pop_back();
    const std::size_t n = points.size();
    if (n < 3 || (top.a == 0 && bottom.a == 0)) return;
    if (view::twice_area(points) < 0.0) std::reverse(points.begin(), points.end());

    std::vector<view::Triangle> triangles;
    if (view::is_convex(points)) {
        for (int i = 1; i + 1 < static_cast<int>(n); ++i) triangles.push_back({0, i, i + 1});
    } else {
        triangles = view::triangulate(points);
    }
    const int corners = static_cast<int>(2 * n);

    const double span = (y1 - y0) * scale_;
    const auto colour_at = [&](double y) {
        if (top == bottom || !(span > 0.0)) return top;
        return view::mix(top, bottom, (y - y0 * scale_) / span);
    };
    const ImVec2 uv = ImGui::GetIO().Fonts->TexUvWhitePixel;
    list_->PrimReserve(static_cast<int>(triangles.size() * 3 + n * 6), corners);
    const unsigned base = list_->_VtxCurrentIdx;
    for (std::size_t i = 0; i < n; ++i) {
        const Point before = outward_normal(points[(i + n - 1) % n], points[i]);
        const Point after = outward_normal(points[i], points[(i + 1) % n]);
        const double cosine = before.x * after.x + before.y * after.y;
        const Point across = (before + after) * (0.5 / std::max(0.35, 1.0 + cosine));
        const Colour c = colour_at(points[i].y);
        const Point in = points[i] - across;
        const Point out = points[i] + across;
        list_->PrimWriteVtx({static_cast<float>(in.x), static_cast<float>(in.y)}, uv, u32(c));
        list_->PrimWriteVtx({static_cast<float>(out.x), static_cast<float>(out.y)}, uv, u32(c.faded(0.0)));
    }
    const auto index = [&](std::size_t i) { list_->PrimWriteIdx(static_cast<ImDrawIdx>(base + i)); };
    for (const auto& t : triangles)
        for (const int i : t) index(static_cast<std::size_t>(2 * i));
    for (std::size_t i = 0; i < n; ++i) {
        const std::size_t k = (i + 1) % n;
        for (const std::size_t corner : {2 * i, 2 * i + 1, 2 * k + 1, 2 * i, 2 * k + 1, 2 * k}) index(corner);
    }
}

void Canvas::fill(std::span<const Point> polygon, Colour colour) { fill_px(polygon, colour, colour, 0.0, 1.0); }

void Canvas::fill(std::span<const Point> polygon, Colour top, Colour bottom, double y0, double y1) {
    fill_px(polygon, top, bottom, y0, y1);
}

void Canvas::fill(const Box& box, Colour colour, double corner) {
    if (box.empty() || colour.a == 0) return;
    if (colour.a == 255 && std::min(box.w, box.h) >= 3.0) cover(box);
    const ImVec2 low = px(box.top_left());
    const ImVec2 high = px({box.right(), box.bottom()});
    if (corner > 0.0) list_->AddRectFilled(low, high, u32(colour), px(corner));
    else  // on whole pixels: neighbours meet without a seam
        list_->AddRectFilled({std::round(low.x), std::round(low.y)}, {std::round(high.x), std::round(high.y)},
                             u32(colour));
}

void Canvas::gradient(const Box& box, Colour top, Colour bottom) {
    if (box.empty()) return;
    const ImVec2 low = px(box.top_left());
    const ImVec2 high = px({box.right(), box.bottom()});
    list_->AddRectFilledMultiColor({std::round(low.x), std::round(low.y)}, {std::round(high.x), std::round(high.y)},
                                   u32(top), u32(top), u32(bottom), u32(bottom));
}

void Canvas::disc(Point centre, double radius, Colour colour) {
    if (colour.a == 0 || !(radius > 0.0) || !drawn(fonts_->ledger())) return;
    const int corners = std::clamp(static_cast<int>(std::sqrt(radius * scale_) * 8.0), 12, 128);
    std::vector<Point> points;
    points.reserve(static_cast<std::size_t>(corners));
    for (int i = 0; i < corners; ++i) {
        const double angle = 2.0 * std::numbers::pi * i / corners;
        points.push_back({centre.x + radius * std::cos(angle), centre.y + radius * std::sin(angle)});
    }
    fill_px(points, colour, colour, 0.0, 1.0);
}

void Canvas::hatch(std::span<const Point> polygon, Colour colour, double spacing, bool rising, double width) {
    if (!drawn(fonts_->ledger())) return;
    for (const auto& s : view::hatch_lines(polygon, spacing, rising))
        stroke_px(std::array{px(s.a), px(s.b)}, colour, px(width), Cap::butt, false);
}

void Canvas::area(std::span<const Point> points, double level, Colour colour) {
    // One quadrilateral a span: a wave may cross the level and its edges may be vertical.
    if (points.size() < 2 || !drawn(fonts_->ledger())) return;
    const ImVec2 uv = ImGui::GetIO().Fonts->TexUvWhitePixel;
    const ImU32 c = u32(colour);
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        const Point a = points[i];
        const Point b = points[i + 1];
        if (!(b.x > a.x) || !std::isfinite(a.y) || !std::isfinite(b.y)) continue;
        list_->PrimReserve(6, 4);
        list_->PrimQuadUV(px(a), px(b), px({b.x, level}), px({a.x, level}), uv, uv, uv, uv, c);
    }
}

void Canvas::rule(Point a, Point b, Colour colour, double width) {
    if (colour.a == 0) return;
    const float thick = std::max(1.0F, std::round(px(width)));
    ImVec2 low = px({std::min(a.x, b.x), std::min(a.y, b.y)});
    ImVec2 high = px({std::max(a.x, b.x), std::max(a.y, b.y)});
    const bool flat = std::abs(a.y - b.y) <= std::abs(a.x - b.x);
    float& across = flat ? low.y : low.x;
    across = std::round(across - thick * 0.5F + 0.01F);
    (flat ? high.y : high.x) = across + thick;
    (flat ? low.x : low.y) = std::round(flat ? low.x : low.y);
    (flat ? high.x : high.y) = std::round(flat ? high.x : high.y);
    list_->AddRectFilled(low, high, u32(colour));
}

void Canvas::frame(const Box& box, Colour colour, double width) {
    if (box.empty() || colour.a == 0) return;
    const float thick = std::max(1.0F, std::round(px(width)));
    ImVec2 low = px(box.top_left());
    ImVec2 high = px({box.right(), box.bottom()});
    low = {std::round(low.x), std::round(low.y)};
    high = {std::round(high.x), std::round(high.y)};
    const ImU32 c = u32(colour);
    list_->AddRectFilled(low, {high.x, low.y + thick}, c);
    list_->AddRectFilled({low.x, high.y - thick}, high, c);
    list_->AddRectFilled({low.x, low.y + thick}, {low.x + thick, high.y - thick}, c);
    list_->AddRectFilled({high.x - thick, low.y + thick}, {high.x, high.y - thick}, c);
}

}  // namespace sunshaft::paint
