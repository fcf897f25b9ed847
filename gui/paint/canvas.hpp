#pragma once
// Vector drawing over one ImGui draw list, in design units (pixels at 100 % scale, window coordinates, y down).
//
//   Canvas c = context.canvas();
//   c.fill(box, palette.sheet);
//   c.polyline(points, {.colour = palette.ink, .width = 1.8});
//   c.text({x, y}, "level now", {.colour = palette.ink_soft, .align = Align::right});
//
// Edges are smoothed by the shapes themselves, so the window needs no multisampling. Where two fills share an
// edge let the lower one run under the upper, else the ground shines through the seam.
//
// Drawing costs corners: a polyline 2 a point, a letter 4, a hatch line 2, a disc about 30. A picture of 1600 x
// 1000 takes some 50 000; thin traces to the pixel columns before they come here.
#include <imgui.h>

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/geometry.hpp"
#include "model/palette.hpp"
#include "paint/fonts.hpp"

namespace sunshaft::paint {

using view::Box;
using view::Colour;
using view::LineStyle;
using view::Point;

enum class Cap { butt, round };

struct Stroke {
    Colour colour;
    double width = 1.0;
    LineStyle style = LineStyle::solid;
    Cap cap = Cap::butt;
    double dash_offset = 0.0;
};

enum class Align { left, centre, right };
/// What of the text lies at the given height.
enum class Sit { baseline, top, middle, bottom };

struct TextLook {
    Colour colour;
    double size = 13.0;
    Face face = Face::words;
    Align align = Align::left;
    Sit sit = Sit::baseline;
    std::optional<Colour> halo = std::nullopt;  // outline that lifts the text off a drawing
    double tracking = 0.0;                      // extra room between letters, for capitals
};

class Canvas {
  public:
    Canvas(ImDrawList* list, const Fonts& fonts);

    double scale() const { return scale_; }
    const Fonts& fonts() const { return *fonts_; }
    ImDrawList* list() const { return list_; }

    // Lines
    void line(Point a, Point b, const Stroke& stroke);
    void polyline(std::span<const Point> points, const Stroke& stroke, bool closed = false);
    void cubic(Point a, Point c1, Point c2, Point b, const Stroke& stroke);
    void circle(Point centre, double radius, const Stroke& stroke);
    /// Angles in radians, 0 to the right, growing clockwise.
    void arc(Point centre, double radius, double from, double to, const Stroke& stroke);
    void outline(const Box& box, const Stroke& stroke, double corner = 0.0);
    /// Horizontal or vertical rule, set on whole pixels so that it is crisp.
    void rule(Point a, Point b, Colour colour, double width = 1.0);
    /// Frame of a sheet: four crisp rules inside the box.
    void frame(const Box& box, Colour colour, double width = 1.0);
    /// Shaft from a to b with a filled head at b.
    void arrow(Point a, Point b, const Stroke& stroke, double head = 7.0);
    /// Conductor along a path: casing, core, stripes.
    void conductor(std::span<const Point> points, const view::ConductorLook& look, double width,
                   bool round_caps = false);
    /// A lead hanging between two ends, casing `casing` under the lead's own colour.
    void lead(Point a, Point b, double sag, const view::ConductorLook& look, Colour casing, double width = 3.0);

    // Fills
    void fill(const Box& box, Colour colour, double corner = 0.0);
    void fill(std::span<const Point> polygon, Colour colour);
    /// Colour runs from `top` at y0 to `bottom` at y1, and stays beyond.
    void fill(std::span<const Point> polygon, Colour top, Colour bottom, double y0, double y1);
    void gradient(const Box& box, Colour top, Colour bottom);
    void disc(Point centre, double radius, Colour colour);
    void hatch(std::span<const Point> polygon, Colour colour, double spacing = 6.0, bool rising = true,
               double width = 1.0);
    /// Area between a polyline and a level, as under a wave.
    void area(std::span<const Point> points, double level, Colour colour);

    // Text
    /// Returns the width drawn.
    double text(Point at, std::string_view words, const TextLook& look);
    double width(std::string_view words, const TextLook& look) const;
    /// Height from the top of one line to the top of the next.
    double line_height(const TextLook& look) const;
    /// Wrapped at spaces to `width`; `at` is the top left (or top centre, top right). Returns the height taken.
    double paragraph(Point at, double width, std::string_view words, const TextLook& look);
    /// Where parts of such a paragraph stand, each from a byte on so many bytes long: a box for each line it is on.
    struct Part {
        std::size_t from, length;
    };
    std::vector<std::vector<Box>> paragraph_parts(Point at, double width, std::string_view words,
                                                  std::span<const Part> parts, const TextLook& look) const;
    double paragraph_height(double width, std::string_view words, const TextLook& look) const;
    /// The words, shortened with an ellipsis until they fit.
    std::string fitted(std::string_view words, double width, const TextLook& look) const;

    /// Nothing is drawn outside the box while the clip lives.
    class Clip {
      public:
        Clip(ImDrawList* list, ImVec2 low, ImVec2 high);
        ~Clip();
        Clip(const Clip&) = delete;
        Clip& operator=(const Clip&) = delete;

      private:
        ImDrawList* list_;
    };
    [[nodiscard]] Clip clip(const Box& box) const;

    // For the ledger (ledger.hpp), when there is one
    /// Something that must stay in sight stands here: words may not stand on it, nor it be hidden.
    void mark(const Box& box, std::string_view what) const;
    /// Something that other things may hide stands here, but no words on it.
    void faint(const Box& box, std::string_view what) const;
    /// A hand may take what stands here, and sees it by this (ledger.hpp).
    void cue(const Box& box, std::string_view which) const;
    /// All of this canvas's draw list is a popup: what it hides may be hidden.
    void is_popup() const;

    ImVec2 px(Point p) const;
    float px(double length) const { return static_cast<float>(length * scale_); }
    static ImU32 u32(Colour c) { return IM_COL32(c.r, c.g, c.b, c.a); }

  private:
    void stroke_px(std::span<const ImVec2> points, Colour colour, float width, Cap cap, bool closed);
    void fill_px(std::span<const Point> polygon, Colour top, Colour bottom, double y0, double y1);
    Box within_clip(const Box& box) const;
    void cover(const Box& box) const;
    void cover_along(std::span<const Point> points, double width) const;
    void glyphs(Point at, std::string_view words, const TextLook& look, Colour colour);

    ImDrawList* list_;
    const Fonts* fonts_;
    double scale_;
};

}  // namespace sunshaft::paint
