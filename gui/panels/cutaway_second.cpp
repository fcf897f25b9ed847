#include "panels/cutaway_second.hpp"

#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "paint/marks.hpp"
#include "text/figure.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

// One pole: which of its two contacts the blade lies on; welded ones are not to be seen.
void pole(Canvas& c, const view::ChangeOver& k, std::size_t n, const view::Palette& p) {
    const Point common = k.to_drive[n], to = k.chosen ? k.from_second[n] : k.from_array[n];
    c.line(common, to, {.colour = k.chosen ? p.accent : p.ink, .width = 2.4, .cap = paint::Cap::round});
    for (const Point at : {common, k.from_array[n]}) {
        c.disc(at, 3.0, p.sheet);
        c.circle(at, 3.0, {.colour = p.ink, .width = 1.4});
    }
}

// A generator's circle with its wave, or a mains pole's three wires; at its right the breaker.
void source(Canvas& c, const view::ChangeOver& k, const view::Palette& p) {
    paint::sheet(c, k.source, p.sheet, p.ink);
    const paint::TextLook name{.colour = p.ink, .size = 12, .face = Face::strong};
    const paint::TextLook quiet{.colour = p.ink_soft, .size = 12};
    const Box room = k.source.inset(6, 4);
    const std::string said = k.mains ? "mains" : "generator", volts = text::quantity(k.volt_ac, "V");
    c.text({room.x, room.y + 10}, c.fitted(said, room.w, name), name);
    c.text({room.x, room.bottom() - 2}, c.fitted(volts, room.w - 26, quiet), quiet);
    const Point hinge{room.right() - 1, room.bottom() - 6}, far{room.right() - 21, room.bottom() - 6};
    c.line(hinge, k.standing ? Point{far.x + 3, far.y - 9} : far,
           {.colour = k.standing ? p.accent : p.ink, .width = 2.4, .cap = paint::Cap::round});
    for (const Point at : {hinge, far}) {
        c.disc(at, 2.6, p.sheet);
        c.circle(at, 2.6, {.colour = p.ink, .width = 1.3});
    }
}

Point pivot(const view::ChangeOver& k) { return {k.box.centre().x, k.box.y - 3}; }

}  // namespace

Box changeover_lever(const view::ChangeOver& k) { return {k.box.centre().x - 16, k.box.y - 21, 32, 21}; }

void paint_changeover_lever(Canvas& c, const view::ChangeOver& k, double turned, const view::Palette& p) {
    const double angle = (-0.75 + 0.5 * turned) * std::numbers::pi;
    const Point from = pivot(k), to = from + Point{16 * std::cos(angle), 16 * std::sin(angle)};
    c.line(from, to, {.colour = k.chosen ? p.accent : p.ink, .width = 5.0, .cap = paint::Cap::round});
    c.disc(from, 4.4, p.ink);
    c.disc(from, 2.0, p.sheet);
    c.mark({from.x - 5, from.y - 5, 10, 10}, "change-over lever");
}

void second_supply(Canvas& c, const view::ChangeOver& k, const view::Palette& p) {
    source(c, k, p);
    paint::sheet(c, k.box, p.sheet, p.ink);
}

void second_supply_poles(Canvas& c, const view::ChangeOver& k, const view::Palette& p) {
    for (std::size_t n = 0; n < 2; ++n) pole(c, k, n, p);
}

}  // namespace sunshaft::panels
