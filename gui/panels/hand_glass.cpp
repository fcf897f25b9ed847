#include "panels/hand_glass.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/heat.hpp"
#include "model/turn.hpp"
#include "paint/marks.hpp"
#include "panels/lens.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

constexpr double slowed = 1e-3;  // simulated s per s: a turn at 50 Hz takes 20 s

// Which way and how much of a current, along its wire: an arrow in the middle of the longest stretch of this piece.
void current_arrow(Canvas& c, const std::vector<Point>& piece, double share, view::Colour colour) {
    Point a, along;
    double length = 0.0;
    for (std::size_t n = 0; n + 1 < piece.size(); ++n)
        if (const double one = view::distance(piece[n], piece[n + 1]); one > length)
            a = piece[n], along = piece[n + 1] - a, length = one;
    if (length < 24.0 || share == 0.0) return;
    const Point half = along * (std::copysign(std::min(0.45, (8.0 + 22.0 * std::abs(share)) / length), share));
    const Point middle = a + along * 0.5;
    c.arrow(middle - half, middle + half, {.colour = colour, .width = 2.0 + 3.0 * std::abs(share)}, 9.0);
}

const char* leg_words(drive::Leg leg) {
    switch (leg) {
        case drive::Leg::upper: return "+";
        case drive::Leg::lower: return "−";
        case drive::Leg::diode_up: return text::tr("+ diode");
        case drive::Leg::diode_down: return text::tr("− diode");
        case drive::Leg::blocked: break;
    }
    return text::tr("open");
}

}  // namespace

HandGlass::Words HandGlass::heat(Canvas& c, const view::Lens& lens, const view::SiteDrawing& d,
                                 const view::Snapshot& s) {
    if (s.sealed)
        return {text::tr("Not to be known"),
                text::tr("In a call-out heat is a reading: ask for it as for the others.")};
    const auto things = view::warm_things(s, d);
    // What is round them: the air, or below ground the water.
    const bool below = d.bore && lens.at.y > d.depth.ground_y;
    const double round = below ? s.site->works.water.degC : s.site->scenario.sun.air_temperature_degC;
    const view::Colour white = view::rgb(0xffffff);
    c.disc(lens.centre, lens.radius + 2.4, view::heat_colour(round));
    for (const view::Warm& w : things) {
        const Point a = lens.on_glass(w.box.top_left());
        const auto shape =
            box_in_circle(lens.centre, lens.radius, {a.x, a.y, w.box.w * lens.zoom, w.box.h * lens.zoom});
        if (shape.size() < 3) continue;
        c.fill(shape, view::heat_colour(w.degC));
        c.polyline(shape, {.colour = white.faded(0.35), .width = 1.0}, true);
    }
    const Point eye = lens.on_glass(lens.at);
    for (const Point& arm : {Point{7.0, 0.0}, Point{0.0, 7.0}})
        c.line(eye - arm, eye + arm, {.colour = white, .width = 1.4});
    const view::Warm* meant = view::warm_at(things, lens.at);
    const char* surroundings = below ? text::tr("ground and water") : text::tr("air");
    return {fmt::format("{}  {:.0f} °C", meant ? meant->name : std::string(surroundings), meant ? meant->degC : round),
            !meant || meant->by_camera ? text::tr("Emissivity 0.95: bare metal and glass show less than they are.")
                                       : text::tr("No camera sees this in the field: it is shown for teaching.")};
}

HandGlass::Words HandGlass::time(PanelContext& x, Canvas& c, const view::Lens& lens, const view::SiteDrawing& d,
                                 const view::Snapshot& s) {
    const view::Palette& p = x.palette();
    c.disc(lens.centre, lens.radius + 2.4, p.sheet);
    paint_under_glass(c, lens, d, p);
    if (!s.turn)
        return s.hidden
                   ? Words{text::tr("Not to be known"), text::tr("What the switches do would tell what is hidden.")}
                   : Words{text::tr("No bridge"),
                           text::tr("No switches make these waves: there is nothing to be slowed down.")};
    const view::Turn& turn = *s.turn;
    if (turn.omega == 0.0) return {text::tr("Nothing turns"), text::tr("There is nothing here to be slowed down.")};
    // By the wall's clock round the last turn, however fast the bench itself runs; held it stands still.
    if (s.running == view::Running::run && !x.window.is_calm()) {
        angle_ = std::remainder(angle_ + turn.omega * slowed * std::min(x.input.dt, 0.1), 2 * std::numbers::pi);
        x.wake_in(0.033);
    }
    const view::Moment m = view::moment_at(turn, turn.when(angle_ < 0 ? angle_ + 2 * std::numbers::pi : angle_));
    const double most = std::max(view::most_amps(turn), 1e-9), least = view::least_amps(turn);
    const auto& core_at = s.site->works.core_at;
    for (const view::WirePath& wire : d.wires)
        for (std::size_t leg = 0; leg < 3; ++leg) {
            const auto core = static_cast<std::size_t>(core_at[leg]);
            if (wire.wire != view::core_wire[core] || std::abs(m.amps[leg]) < least) continue;
            wire_under_glass(lens, wire, [&](const std::vector<Point>& piece) {
                current_arrow(c, piece, m.amps[leg] / most, p.ink);
            });
        }
    for (std::size_t leg = 0; leg < 3; ++leg) {
        const Point at = lens.on_glass(d.terminal[leg]);
        if (turn.driven && lens.covers(at))
            c.text(at + Point{0.0, -12.0}, leg_words(m.legs[leg]),
                   {.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::centre, .halo = p.sheet});
    }
    const Box motor = d.bore ? d.bore->motor : d.bench_motor ? d.bench_motor->body : Box{};
    const Point hub = lens.on_glass(motor.centre());
    if (const double linked = std::hypot(m.flux[0], m.flux[1]);
        !motor.empty() && linked > 1e-6 && view::distance(hub, lens.centre) < lens.radius - 40.0)
        c.arrow(hub, hub + Point{36.0 * m.flux[0] / linked, -36.0 * m.flux[1] / linked},
                {.colour = p.signal[0].colour, .width = 3.0});
    return {text::say("slowed 1000 times  {:.1f} ms", (m.t - turn.from()) * 1e3), view::way_words(m, least)};
}

void HandGlass::draw(PanelContext& x, Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s) {
    if (!x.input.typing && x.input.take(Key::T))
        kind_ = kind_ == Kind::none ? Kind::heat : kind_ == Kind::heat ? Kind::time : Kind::none;
    if (on() && !x.input.typing && x.input.take(Key::Escape)) kind_ = Kind::none;
    x.desk->look_at_heat(kind_ == Kind::heat);
    const Point m = x.input.mouse;
    if (!on() || !d.box.contains(m)) return;
    const view::Palette& p = x.palette();
    view::Lens lens{.at = m, .centre = m, .zoom = 2.0, .radius = std::min({110.0, 0.4 * d.box.w, 0.4 * d.box.h})};
    // It lies inside the drawing, with room for its words below.
    const double out = lens.radius + 5.0;
    lens.centre = {std::clamp(m.x, d.box.x + out, std::max(d.box.x + out, d.box.right() - out)),
                   std::clamp(m.y, d.box.y + out, std::max(d.box.y + out, d.box.bottom() - out - 62.0))};
    c.disc(lens.centre, lens.radius + 4.0, p.ink);
    const Words words = kind_ == Kind::heat ? heat(c, lens, d, s) : time(x, c, lens, d, s);
    constexpr double wide = 236.0, high = 60.0;
    const Box tag{std::clamp(lens.centre.x - 0.5 * wide, d.box.x + 4, std::max(d.box.x + 4, d.box.right() - wide - 4)),
                  lens.centre.y + lens.radius + 6.0, wide, high};
    paint::sheet(c, tag, p.sheet, p.ink_soft);
    c.text({tag.x + 8, tag.y + 17}, words.line, {.colour = p.ink, .face = Face::strong});
    c.paragraph({tag.x + 8, tag.y + 22}, wide - 16, words.why, {.colour = p.ink_soft, .size = 12});
    x.keep_clear(tag);
    x.keep_clear({lens.centre.x - lens.radius, lens.centre.y - lens.radius, 2 * lens.radius, 2 * lens.radius});
    if (x.targets) (*x.targets)[kind_ == Kind::heat ? "heat glass" : "time glass"] = tag;
}

}  // namespace sunshaft::panels
