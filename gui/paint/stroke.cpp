// Lines of the canvas. ImGui's font texture carries a strip with smoothed lines of every whole width; a line is
// a ribbon of two corners a point with that strip across it, so its edges come out smooth at any angle.
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

ImVec2 operator+(ImVec2 a, ImVec2 b) { return {a.x + b.x, a.y + b.y}; }
ImVec2 operator-(ImVec2 a, ImVec2 b) { return {a.x - b.x, a.y - b.y}; }
ImVec2 operator*(ImVec2 a, float k) { return {a.x * k, a.y * k}; }
float dot(ImVec2 a, ImVec2 b) { return a.x * b.x + a.y * b.y; }
float cross(ImVec2 a, ImVec2 b) { return a.x * b.y - a.y * b.x; }
ImVec2 unit(ImVec2 a) {
    const float length = std::sqrt(dot(a, a));
    return length > 0.0F ? a * (1.0F / length) : ImVec2{1.0F, 0.0F};
}
ImVec2 normal(ImVec2 direction) { return {-direction.y, direction.x}; }

/// Writes corners and triangles of one ribbon into a draw list.
class Ribbon {
  public:
    Ribbon(ImDrawList* list, Colour colour, float width) : list_(list) {
        const float drawn = std::max(width, 1.0F);
        if (width < 1.0F) colour = colour.faded(static_cast<double>(width));  // thinner than a pixel: fainter
        colour_ = Canvas::u32(colour);
        half_ = drawn * 0.5F + 1.0F;
        const int strip = std::clamp(static_cast<int>(std::lround(drawn)), 1, 63);
        const ImVec4 uv = ImGui::GetIO().Fonts->TexUvLines[strip];
        low_ = {uv.x, uv.y};
        high_ = {uv.z, uv.w};
        middle_ = {(uv.x + uv.z) * 0.5F, (uv.y + uv.w) * 0.5F};
    }

    float half() const { return half_; }

    /// A pair of corners across the line at p; joined to the pair before it unless this is the first.
    void pair(ImVec2 p, ImVec2 across, bool joined) {
        corner(p - across, low_);
        corner(p + across, high_);
        const auto n = next_ - 2;
        if (joined) {
            triangle(n - 2, n - 1, n + 1);
            triangle(n - 2, n + 1, n);
        }
    }

    /// Filled wedge round p from `from` to `to` (offsets of length half), used at sharp bends and round caps.
    void wedge(ImVec2 p, ImVec2 from, ImVec2 to, int steps, float turn) {
        const auto hub = next_;
        corner(p, middle_);
        const float start = std::atan2(from.y, from.x);
        for (int i = 0; i <= steps; ++i) {
            ImVec2 offset = i == steps ? to : from;
            if (i > 0 && i < steps) {
                const float angle = start + turn * static_cast<float>(i) / static_cast<float>(steps);
                offset = {std::cos(angle) * half_, std::sin(angle) * half_};
            }
            corner(p + offset, high_);
            if (i > 0) triangle(hub, next_ - 2, next_ - 1);
        }
    }

    void flush() {
        if (indices_.empty()) return;
        list_->PrimReserve(static_cast<int>(indices_.size()), static_cast<int>(corners_.size()));
        const auto base = list_->_VtxCurrentIdx;
        for (const auto& c : corners_) list_->PrimWriteVtx(c.pos, c.uv, c.col);
        for (const unsigned i : indices_) list_->PrimWriteIdx(static_cast<ImDrawIdx>(base + i));
    }

  private:
    void corner(ImVec2 pos, ImVec2 uv) {
        corners_.push_back({pos, uv, colour_});
        ++next_;
    }
    void triangle(unsigned a, unsigned b, unsigned c) { indices_.insert(indices_.end(), {a, b, c}); }

    ImDrawList* list_;
    ImU32 colour_ = 0;
    float half_ = 1.0F;
    ImVec2 low_, high_, middle_;
    std::vector<ImDrawVert> corners_;
    std::vector<unsigned> indices_;
    unsigned next_ = 0;
};

constexpr float kMiterLimitCosine = -0.3F;  // bends sharper than about 107 degrees get a wedge instead of a miter

}  // namespace

void Canvas::stroke_px(std::span<const ImVec2> given, Colour colour, float width, Cap cap, bool closed) {
    std::vector<ImVec2> points;
    points.reserve(given.size());
    for (const ImVec2 p : given) {
        if (!std::isfinite(p.x) || !std::isfinite(p.y)) continue;
        if (points.empty() || std::abs(p.x - points.back().x) + std::abs(p.y - points.back().y) > 1e-3F)
            points.push_back(p);
    }
    if (closed && points.size() > 2) {
        const ImVec2 d = points.front() - points.back();
        if (std::abs(d.x) + std::abs(d.y) < 1e-3F) points.pop_back();
    }
    if (points.size() < 2 || colour.a == 0) return;
    closed = closed && points.size() > 2;

    Ribbon ribbon(list_, colour, width);
    const float half = ribbon.half();
    const std::size_t n = points.size();
    const std::size_t spans = closed ? n : n - 1;
    const auto direction = [&](std::size_t span) { return unit(points[(span + 1) % n] - points[span % n]); };
    const int round_steps = std::clamp(static_cast<int>(width * 0.8F) + 4, 4, 24);

    // Joins point i between the spans before and after it.
    const auto join = [&](ImVec2 p, ImVec2 before, ImVec2 after, bool joined) {
        const ImVec2 n0 = normal(before);
        const ImVec2 n1 = normal(after);
        const float cosine = dot(n0, n1);
        if (cosine > kMiterLimitCosine) {
            ribbon.pair(p, (n0 + n1) * (half / (1.0F + cosine)), joined);
            return;
        }
        ribbon.pair(p, n0 * half, joined);
        // A thin line that turns right back has no corner to fill.
        if (cosine < -0.95F && width < 2.5F) return ribbon.pair(p, n1 * half, false);
        const float side = cross(before, after) > 0.0F ? -1.0F : 1.0F;
        const ImVec2 from = n0 * (half * side);
        const ImVec2 to = n1 * (half * side);
        const float turn = std::atan2(cross(from, to), dot(from, to));
        ribbon.wedge(p, from, to, width >= 2.5F ? round_steps / 2 : 1, turn);
        ribbon.pair(p, n1 * half, false);
    };

    if (closed) {
        // Start in the middle of a span, so that every corner is joined alike.
        const ImVec2 start = (points[n - 1] + points[0]) * 0.5F;
        const ImVec2 across = normal(direction(n - 1)) * half;
        ribbon.pair(start, across, false);
        for (std::size_t i = 0; i < n; ++i) join(points[i], direction(i + n - 1), direction(i), true);
        ribbon.pair(start, across, true);
    } else {
        const ImVec2 first = direction(0);
        const ImVec2 last = direction(spans - 1);
        constexpr float pi = std::numbers::pi_v<float>;
        if (cap == Cap::round) ribbon.wedge(points[0], normal(first) * half, normal(first) * -half, round_steps, pi);
        ribbon.pair(points[0], normal(first) * half, false);
        for (std::size_t i = 1; i + 1 < n; ++i) join(points[i], direction(i - 1), direction(i), true);
        ribbon.pair(points[n - 1], normal(last) * half, true);
        if (cap == Cap::round) ribbon.wedge(points[n - 1], normal(last) * -half, normal(last) * half, round_steps, pi);
    }
    ribbon.flush();
}

// A thick line hides what is under it: pieces short enough that their boxes tell where it runs.
void Canvas::cover_along(std::span<const Point> points, double width) const {
    for (std::size_t n = 0; n + 1 < points.size(); ++n) {
        const Point a = points[n], b = points[n + 1];
        const int pieces = a.x == b.x || a.y == b.y ? 1 : 1 + static_cast<int>(view::distance(a, b) / width);
        for (int k = 0; k < pieces; ++k) {
            const Point from = view::lerp(a, b, double(k) / pieces), to = view::lerp(a, b, double(k + 1) / pieces);
            cover(Box{std::min(from.x, to.x), std::min(from.y, to.y), std::abs(to.x - from.x), std::abs(to.y - from.y)}
                      .inset(-width / 2));
        }
    }
}

void Canvas::polyline(std::span<const Point> points, const Stroke& stroke, bool closed) {
    if (fonts_->ledger() && stroke.width >= 6.0 && stroke.colour.a == 255) cover_along(points, stroke.width);
    if (!drawn(fonts_->ledger())) return;
    std::vector<ImVec2> line;
    if (stroke.style == LineStyle::solid) {
        line.reserve(points.size());
        for (const Point p : points) line.push_back(px(p));
        // ImGui's indices have 16 bits: a very long line goes in pieces.
        constexpr std::size_t most = 8000;
        if (line.size() <= most) {
            stroke_px(line, stroke.colour, px(stroke.width), stroke.cap, closed);
            return;
        }
        if (closed) line.push_back(line.front());
        for (std::size_t from = 0; from + 1 < line.size(); from += most - 1)
            stroke_px(std::span(line).subspan(from, std::min(most, line.size() - from)), stroke.colour,
                      px(stroke.width), stroke.cap, false);
        return;
    }
    std::vector<Point> loop(points.begin(), points.end());
    if (closed && !loop.empty()) loop.push_back(loop.front());
    const double stretch = std::clamp(stroke.width / 2.0, 0.75, 2.5);
    for (const auto& dash : view::dashes(loop, view::dash_pattern(stroke.style), stretch, stroke.dash_offset)) {
        line.clear();
        for (const Point p : dash) line.push_back(px(p));
        stroke_px(line, stroke.colour, px(stroke.width), stroke.cap, false);
    }
}

void Canvas::line(Point a, Point b, const Stroke& stroke) { polyline(std::array{a, b}, stroke); }

void Canvas::cubic(Point a, Point c1, Point c2, Point b, const Stroke& stroke) {
    const double reach = view::distance(a, c1) + view::distance(c1, c2) + view::distance(c2, b);
    const int steps = std::clamp(static_cast<int>(reach * scale_ / 8.0), 8, 96);
    polyline(view::cubic(a, c1, c2, b, steps), stroke);
}

void Canvas::arc(Point centre, double radius, double from, double to, const Stroke& stroke) {
    const double length = std::abs(to - from) * radius * scale_;
    const int steps = std::clamp(static_cast<int>(length / 3.0), 6, 180);
    std::vector<Point> points;
    points.reserve(static_cast<std::size_t>(steps) + 1);
    for (int i = 0; i <= steps; ++i) {
        const double angle = from + (to - from) * i / steps;
        points.push_back({centre.x + radius * std::cos(angle), centre.y + radius * std::sin(angle)});
    }
    const bool whole = std::abs(to - from) > 2.0 * std::numbers::pi - 1e-6;
    polyline(points, stroke, whole);
}

void Canvas::circle(Point centre, double radius, const Stroke& stroke) {
    arc(centre, radius, 0.0, 2.0 * std::numbers::pi, stroke);
}

void Canvas::outline(const Box& box, const Stroke& stroke, double corner) {
    std::vector<Point> points;
    const double r = std::min({corner, box.w / 2.0, box.h / 2.0});
    const std::array corners{Point{box.right(), box.y}, Point{box.right(), box.bottom()}, Point{box.x, box.bottom()},
                             Point{box.x, box.y}};
    if (r <= 0.0) {
        polyline(corners, stroke, true);
        return;
    }
    const std::array inward{Point{-1, 1}, Point{-1, -1}, Point{1, -1}, Point{1, 1}};
    for (std::size_t i = 0; i < 4; ++i) {
        const Point hub = corners[i] + inward[i] * r;
        const double start = std::numbers::pi * (static_cast<double>(i) - 1.0) / 2.0;
        for (int k = 0; k <= 6; ++k) {
            const double angle = start + std::numbers::pi / 2.0 * k / 6.0;
            points.push_back({hub.x + r * std::cos(angle), hub.y + r * std::sin(angle)});
        }
    }
    polyline(points, stroke, true);
}

void Canvas::arrow(Point a, Point b, const Stroke& stroke, double head) {
    const double length = view::distance(a, b);
    if (!(length > 0.0)) return;
    const Point d = (b - a) * (1.0 / length);
    const Point across{-d.y, d.x};
    const Point neck = b - d * std::min(head, length);
    Stroke shaft = stroke;
    if (length > head) line(a, neck + d, shaft);
    fill(std::array{b, neck + across * (head * 0.42), neck - across * (head * 0.42)}, stroke.colour);
}

void Canvas::conductor(std::span<const Point> points, const view::ConductorLook& look, double width, bool round_caps) {
    const Cap cap = round_caps ? Cap::round : Cap::butt;
    if (look.casing.a != 0) polyline(points, {.colour = look.casing, .width = width + 2.0, .cap = cap});
    polyline(points, {.colour = look.core, .width = width, .cap = cap});
    if (look.stripe.a == 0) return;
    constexpr std::array stripes{4.0, 4.0};
    std::vector<ImVec2> line;
    for (const auto& dash : view::dashes(points, stripes, std::max(1.0, width / 2.4))) {
        line.clear();
        for (const Point p : dash) line.push_back(px(p));
        stroke_px(line, look.stripe, px(width), Cap::butt, false);
    }
}

void Canvas::lead(Point a, Point b, double sag, const view::ConductorLook& look, Colour casing, double width) {
    const int steps = std::clamp(static_cast<int>((view::distance(a, b) + sag) * scale_ / 8.0), 12, 96);
    const auto line = view::slack(a, b, sag, steps);
    if (Ledger* ledger = fonts_->ledger())
        for (const Point q : line) {
            const Box at = Box{q.x, q.y, 0.0, 0.0}.inset(-0.5 * width);
            ledger->put({Ledger::Kind::lead, list_, at, within_clip(at), "lead"});
        }
    polyline(line, {.colour = look.casing.a != 0 ? look.casing : casing, .width = width + 2.0, .cap = Cap::round});
    polyline(line, {.colour = look.core, .width = width, .cap = Cap::round});
}

}  // namespace sunshaft::paint
