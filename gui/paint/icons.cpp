#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "paint/marks.hpp"

namespace sunshaft::paint {

namespace {

constexpr double kPi = std::numbers::pi;

Point polar(Point centre, double radius, double angle) {
    return {centre.x + radius * std::cos(angle), centre.y + radius * std::sin(angle)};
}

void turn_arrow(Canvas& c, Point m, double s, const Stroke& line, bool left) {
    const double side = left ? -1.0 : 1.0;
    c.arc({m.x, m.y + s * 0.08}, s * 0.32, left ? -kPi * 0.75 : -kPi * 1.5, left ? kPi * 0.5 : -kPi * 0.25, line);
    const Point tip{m.x + side * s * 0.26, m.y - s * 0.14};
    const std::array head{Point{tip.x + side * s * 0.16, tip.y + s * 0.06},
                          Point{tip.x - side * s * 0.2, tip.y + s * 0.06},
                          Point{tip.x + side * s * 0.1, tip.y - s * 0.28}};
    c.fill(head, line.colour);
}

}  // namespace

void icon(Canvas& c, Icon which, Point m, double s, Colour colour) {
    const double h = s / 2.0;
    const Stroke line{.colour = colour, .width = std::max(1.2, s * 0.095), .cap = Cap::round};
    switch (which) {
        case Icon::play:
            c.fill(std::array{Point{m.x - h * 0.6, m.y - h * 0.8}, Point{m.x + h * 0.8, m.y},
                              Point{m.x - h * 0.6, m.y + h * 0.8}},
                   colour);
            break;
        case Icon::hold:
            c.fill(Box{m.x - h * 0.7, m.y - h * 0.8, h * 0.45, s * 0.8}, colour);
            c.fill(Box{m.x + h * 0.25, m.y - h * 0.8, h * 0.45, s * 0.8}, colour);
            break;
        case Icon::step:
            c.fill(Box{m.x - h * 0.85, m.y - h * 0.8, h * 0.3, s * 0.8}, colour);
            c.fill(std::array{Point{m.x - h * 0.25, m.y - h * 0.8}, Point{m.x + h * 0.95, m.y},
                              Point{m.x - h * 0.25, m.y + h * 0.8}},
                   colour);
            break;
        case Icon::sun:
            c.disc(m, h * 0.48, colour);
            for (int i = 0; i < 8; ++i)
                c.line(polar(m, h * 0.7, kPi * i / 4.0), polar(m, h * 0.98, kPi * i / 4.0), line);
            break;
        case Icon::warning: {
            const std::array corners{Point{m.x, m.y - h * 0.85}, Point{m.x + h * 0.95, m.y + h * 0.78},
                                     Point{m.x - h * 0.95, m.y + h * 0.78}};
            c.polyline(corners, {.colour = colour, .width = line.width}, true);
            c.line({m.x, m.y - h * 0.28}, {m.x, m.y + h * 0.22}, line);
            c.disc({m.x, m.y + h * 0.5}, line.width * 0.62, colour);
            break;
        }
        case Icon::magnifier:
            c.circle({m.x - h * 0.15, m.y - h * 0.15}, h * 0.62, line);
            c.line({m.x + h * 0.32, m.y + h * 0.32}, {m.x + h * 0.85, m.y + h * 0.85}, line);
            break;
        case Icon::projector:  // a screen on a stand
            c.outline({m.x - h * 0.95, m.y - h * 0.75, s * 0.95, s * 0.55}, {.colour = colour, .width = line.width});
            c.line({m.x, m.y + h * 0.35}, {m.x, m.y + h * 0.8}, line);
            c.line({m.x - h * 0.45, m.y + h * 0.85}, {m.x + h * 0.45, m.y + h * 0.85}, line);
            break;
        case Icon::cross:
            c.line({m.x - h * 0.6, m.y - h * 0.6}, {m.x + h * 0.6, m.y + h * 0.6}, line);
            c.line({m.x + h * 0.6, m.y - h * 0.6}, {m.x - h * 0.6, m.y + h * 0.6}, line);
            break;
        case Icon::chevron_right:
            c.fill(std::array{Point{m.x - h * 0.45, m.y - h * 0.6}, Point{m.x + h * 0.55, m.y},
                              Point{m.x - h * 0.45, m.y + h * 0.6}},
                   colour);
            break;
        case Icon::chevron_down:
            c.fill(std::array{Point{m.x - h * 0.6, m.y - h * 0.45}, Point{m.x + h * 0.6, m.y - h * 0.45},
                              Point{m.x, m.y + h * 0.55}},
                   colour);
            break;
        case Icon::undo: turn_arrow(c, m, s, line, true); break;
        case Icon::redo: turn_arrow(c, m, s, line, false); break;
        case Icon::heal:  // a tick
            c.polyline(std::array{Point{m.x - h * 0.75, m.y}, Point{m.x - h * 0.2, m.y + h * 0.6},
                                  Point{m.x + h * 0.8, m.y - h * 0.6}},
                       line);
            break;
        case Icon::camera:
            c.outline({m.x - h * 0.9, m.y - h * 0.5, s * 0.9, s * 0.62}, {.colour = colour, .width = line.width});
            c.circle({m.x, m.y + h * 0.12}, h * 0.36, {.colour = colour, .width = line.width});
            c.line({m.x - h * 0.35, m.y - h * 0.75}, {m.x + h * 0.35, m.y - h * 0.75}, line);
            break;
        case Icon::ground_water:  // the drawing sign of a water level
            c.polyline(std::array{Point{m.x - h * 0.6, m.y - h * 0.5}, Point{m.x + h * 0.6, m.y - h * 0.5},
                                  Point{m.x, m.y + h * 0.5}},
                       {.colour = colour, .width = line.width}, true);
            break;
        case Icon::section:  // the drawing sign of a section: a bar with an arrow
            c.line({m.x - h * 0.9, m.y}, {m.x + h * 0.4, m.y}, line);
            c.arrow({m.x + h * 0.4, m.y}, {m.x + h * 0.4, m.y + h * 0.95}, line, h * 0.7);
            break;
    }
}

void fault_mark(Canvas& c, Point m, int number, double height, const view::Palette& palette) {
    const double h = height / 2.0;
    c.mark({m.x - h, m.y - h, height, height}, "fault mark");
    c.fill(std::array{Point{m.x, m.y - h}, Point{m.x + h, m.y}, Point{m.x, m.y + h}, Point{m.x - h, m.y}},
           palette.accent);
    if (number > 0)
        c.text(m, std::to_string(number),
               {.colour = palette.on_accent,
                .size = 12.0,
                .face = Face::strong,
                .align = Align::centre,
                .sit = Sit::middle});
}

}  // namespace sunshaft::paint
