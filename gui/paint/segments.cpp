// Seven-segment figures: the segment font where it is installed, else drawn as polygons of the same size. (Any
// other font would lose the point between the digits, and with it the reading.)
#include <algorithm>
#include <array>
#include <string_view>

#include "paint/marks.hpp"

namespace sunshaft::paint {

namespace {

constexpr double kPlace = 0.816;  // em from digit to digit, as in the font

/// Segments of a letter as bits: a top, b upper right, c lower right, d bottom, e lower left, f upper left, g
/// middle.
unsigned segments_of(char letter) {
    constexpr std::array<unsigned, 10> digits{0x3F, 0x06, 0x5B, 0x4F, 0x66, 0x6D, 0x7D, 0x07, 0x7F, 0x6F};
    if (letter >= '0' && letter <= '9') return digits[static_cast<std::size_t>(letter - '0')];
    switch (letter) {
        case '-': return 0x40;
        case 'O': return 0x3F;
        case 'L': return 0x38;
        case 'A': return 0x77;
        case 'b': return 0x7C;
        case 'C': return 0x39;
        case 'd': return 0x5E;
        case 'E': return 0x79;
        case 'F': return 0x71;
        case 'H': return 0x76;
        case 'n': return 0x54;
        case 'o': return 0x5C;
        case 'P': return 0x73;
        case 'r': return 0x50;
        case 't': return 0x78;
        case 'U': return 0x3E;
        default: return 0;
    }
}

/// A bar from a to b with pointed ends.
void bar(Canvas& c, Point a, Point b, double half, Colour colour) {
    const double length = view::distance(a, b);
    const Point d = (b - a) * (1.0 / length);
    const Point across{-d.y * half, d.x * half};
    const double gap = half * 0.22;
    const Point from = a + d * gap;
    const Point to = b - d * gap;
    const std::array corners{from, from + d * half + across, to - d * half + across,
                             to,   to - d * half - across,   from + d * half - across};
    c.fill(corners, colour);
}

/// The lit segments of one digit whose place ends at `right` on the baseline.
void digit(Canvas& c, Point right, unsigned lit, double size, Colour colour) {
    const double half = size * 0.052;
    const double x0 = right.x - kPlace * size + 0.10 * size;
    const double x1 = right.x - 0.10 * size;
    const double bottom = right.y - half;
    const double top = right.y - size + half;
    const double middle = (top + bottom) / 2.0;
    const std::array<std::array<Point, 2>, 7> bars{{{Point{x0, top}, Point{x1, top}},
                                                    {Point{x1, top}, Point{x1, middle}},
                                                    {Point{x1, middle}, Point{x1, bottom}},
                                                    {Point{x0, bottom}, Point{x1, bottom}},
                                                    {Point{x0, middle}, Point{x0, bottom}},
                                                    {Point{x0, top}, Point{x0, middle}},
                                                    {Point{x0, middle}, Point{x1, middle}}}};
    for (std::size_t i = 0; i < bars.size(); ++i)
        if ((lit >> i & 1U) != 0) bar(c, bars[i][0], bars[i][1], half, colour);
}

}  // namespace

double segments_width(const Canvas& c, const SegmentLook& look) {
    if (look.drawn || !c.fonts().has(Face::segment)) return look.places * kPlace * look.size;
    return look.places * c.width("8", {.colour = look.lit, .size = look.size, .face = Face::segment});
}

double segments(Canvas& c, Point at, std::string_view shown, const SegmentLook& look) {
    const bool font = !look.drawn && c.fonts().has(Face::segment);
    const TextLook lit{.colour = look.lit, .size = look.size, .face = Face::segment};
    TextLook unlit = lit;
    unlit.colour = look.ghost;
    const double width = segments_width(c, look);
    const double place = width / std::max(1, look.places);
    c.mark({at.x - width, at.y - look.size, width, look.size}, shown);
    for (int i = 0; i < look.places; ++i) {
        const double right = at.x - place * i;
        if (font) c.text({right - place, at.y}, "8", unlit);
        else digit(c, {right, at.y}, 0x7F, look.size, look.ghost);
    }
    // From the right: a point belongs to the digit on its left and takes no place of its own.
    double x = at.x;
    for (std::size_t i = shown.size(); i-- > 0;) {
        const std::string_view letter = shown.substr(i, 1);
        if (letter == ".") {
            if (font) c.text({x, at.y}, letter, lit);
            else c.disc({x, at.y - 0.052 * look.size}, 0.06 * look.size, look.lit);
            continue;
        }
        if (font) {
            if (letter != " ") c.text({x - place, at.y}, letter, lit);
        } else {
            digit(c, {x, at.y}, segments_of(letter[0]), look.size, look.lit);
        }
        x -= place;
    }
    return width;
}

}  // namespace sunshaft::paint
