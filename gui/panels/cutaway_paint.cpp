// The picture of the cutaway: what site_drawing lays out, in colours, moved by the snapshot.
#include "panels/cutaway_paint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "model/figures.hpp"
#include "model/format.hpp"
#include "panels/cutaway_second.hpp"
#include "panels/cutaway_sky.hpp"
#include "panels/cutaway_states.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

const view::ConductorLook& look_of(view::Wire wire, const view::Palette& p) {
    switch (wire) {
        case view::Wire::l1: return p.l1;
        case view::Wire::l2: return p.l2;
        case view::Wire::l3: return p.l3;
        case view::Wire::earth: return p.earth;
        case view::Wire::dc_plus: return p.dc_plus;
        case view::Wire::dc_minus: break;
    }
    return p.dc_minus;
}

void ground(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, double sun_height) {
    const auto sky = view::sky(p, sun_height);
    c.gradient(d.box, sky.high, sky.low);
    double lowest = d.box.y;
    for (const Point& q : d.surface) lowest = std::max(lowest, q.y);
    const double deep = d.box.bottom() - lowest;
    for (std::size_t n = 0; n < 3; ++n) {
        // Strata follow the surface, flatter with depth.
        std::vector<Point> layer;
        for (const Point& q : d.surface)
            layer.push_back({q.x, n == 0 ? q.y : lowest + deep * (n == 1 ? 0.28 : 0.62) + 0.15 * (q.y - lowest)});
        layer.push_back({d.box.right(), d.box.bottom()});
        layer.push_back({d.box.x, d.box.bottom()});
        const bool wet = n == 2 && d.bore;
        c.fill(layer, wet ? view::mix(p.strata[n], p.ground_water, 0.25) : p.strata[n]);
        c.hatch(layer, p.hatch, 5.0 + static_cast<double>(n), n % 2 == 0);
    }
    c.polyline(d.surface, {.colour = p.ink, .width = 1.8});
}

void torn_band(Canvas& c, const view::SiteDrawing& d, const view::Palette& p) {
    if (!d.depth.tear) return;
    const auto& tear = *d.depth.tear;
    std::vector<Point> top, bottom;
    for (double x = d.box.x; x <= d.box.right() + 12; x += 12) {
        const double wave = 3.0 * std::sin(x * 0.09) + 1.5 * std::sin(x * 0.23);
        top.push_back({x, tear.top + wave});
        bottom.push_back({x, tear.bottom + wave});
    }
    std::vector<Point> band = top;
    band.insert(band.end(), bottom.rbegin(), bottom.rend());
    c.fill(band, p.ground);
    c.polyline(top, {.colour = p.ink_soft, .width = 1.2});
    c.polyline(bottom, {.colour = p.ink_soft, .width = 1.2});
    // At the right: over the bore a fault of the cable may have its mark.
    c.text({d.box.right() - 16, 0.5 * (tear.top + tear.bottom) + 4},
           text::say("{} of ground left out of the drawing", text::figure_at(tear.to_m - tear.from_m, "m", 1).text()),
           {.colour = p.ink_soft, .size = 12, .align = Align::right});
}

void array(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s) {
    for (const Box& post : d.posts) c.fill(post, p.steel);
    for (std::size_t n = 0; n < d.strings.size(); ++n) {
        const auto& string = d.strings[n];
        const StringWords above = string_words(c, d, p, s, n);
        c.text({above.name.x, string.label.y}, above.said, {.colour = p.ink});
        if (!above.amps.number.empty())
            paint::value(c, {above.current.x, string.label.y}, above.amps.number, above.amps.unit, amps_look(p));
        for (const auto& m : string.modules) {
            c.fill(m.box, p.cell);
            const double third = m.box.w / 3;
            for (std::size_t k = 0; k < 3; ++k) {
                const Box part{m.box.x + third * static_cast<double>(k), m.box.y, third, m.box.h};
                if (m.light[k] < 0.999)
                    c.fill(part, view::Colour{0, 0, 0, static_cast<std::uint8_t>(170 * (1 - m.light[k]))});
                c.rule({part.x, part.y}, {part.x, part.bottom()}, p.cell_line);
            }
            for (int r = 1; r < 4; ++r)
                c.rule({m.box.x, m.box.y + m.box.h * r / 4}, {m.box.right(), m.box.y + m.box.h * r / 4}, p.cell_line);
            c.frame(m.box, m.reversed ? p.accent : p.module_frame);
        }
        for (const auto& j : string.joints) {
            if (!j.open) {
                c.cubic(j.a, {j.a.x, j.a.y + j.droop}, {j.b.x, j.b.y + j.droop}, j.b, {.colour = p.ink, .width = 1.6});
            } else {
                const Point middle = view::lerp(j.a, j.b, 0.5);
                c.line(j.a, {j.a.x, j.a.y + 4}, {.colour = p.accent, .width = 2});
                c.line(j.b, {j.b.x, j.b.y + 4}, {.colour = p.accent, .width = 2});
                // Under it, or where the next string's words are, before the row.
                paint::TextLook look{
                    .colour = p.accent, .size = 12, .face = Face::strong, .align = Align::centre, .halo = p.ground};
                const double half = 0.5 * c.width(text::tr("open"), look) + 2;
                const Box under{middle.x - half, middle.y + 16, 2 * half, 14};
                bool free = true;
                if (n + 1 < d.strings.size()) {
                    const auto& next = d.strings[n + 1];
                    free = under.bottom() < next.label.y - 14 ||
                           (under.x > next.label.x + 100 && under.right() < next.current.x - 60);
                }
                Point at{middle.x, middle.y + 27};
                if (!free && !string.modules.empty())
                    at = {std::min(string.modules.front().box.x, string.modules.back().box.x) - 15, j.a.y + 4},
                    look.align = Align::right;
                const Box words{look.align == Align::centre ? at.x - half : at.x - 2 * half, at.y - 11, 2 * half, 14};
                if ((look.align == Align::centre || !d.tank || words.x > d.tank->box.right() + 26) &&
                    !on_main(d, words))
                    c.text(at, text::tr("open"), look);
            }
        }
        c.fill(string.fuse, p.sheet);
        c.frame(string.fuse, string.fuse_open ? p.accent : p.ink);
    }
    if (!d.array.empty()) {
        for (const auto& string : d.strings) {
            if (!string.covered || string.modules.empty()) continue;
            const Box &first = string.modules.front().box, &last = string.modules.back().box;
            const double left = std::min(first.x, last.x) - 2, right = std::max(first.right(), last.right()) + 2;
            const Box cover{left, first.y - 2, right - left, first.h + 4};
            c.fill(cover, p.steel_dark);
            c.frame(cover, p.ink);
            const paint::TextLook look{
                .colour = p.sheet, .face = Face::strong, .align = Align::centre, .sit = paint::Sit::middle};
            if (cover.h > 15 && c.width(text::tr("covered"), look) < cover.w)
                c.text(cover.centre(), text::tr("covered"), look);
        }
    }
    if (!d.supply.empty()) {
        paint::sheet(c, d.supply, p.sheet, p.ink);
        const auto& w = s.site->works.supply;
        c.text(d.supply.centre(),
               text::say_of(w.kind == site::Supply::Kind::mains ? text::id("mains {}") : text::id("DC source {}"),
                            text::quantity(w.voltage, "V")),
               {.colour = p.ink, .align = Align::centre, .sit = paint::Sit::middle});
    }
}

void drive(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s) {
    if (!d.isolator.empty()) {
        paint::sheet(c, d.isolator, p.sheet, p.ink);
        for (std::size_t k = 0; k < 2; ++k) {
            const Point a = d.poles_in[k], b = d.poles_out[k];
            c.line(a, d.pole_open[k] ? Point{b.x - 4, b.y - 12} : b,
                   {.colour = d.pole_open[k] ? p.accent : p.ink, .width = 2.2});
        }
    }
    if (d.drive.empty()) return;
    if (!d.gland.empty()) c.fill(d.gland, p.steel);
    paint::sheet(c, d.drive, p.sheet, p.ink);
    Box box = d.drive.inset(12, 8);
    c.text({box.x, box.y + 12}, text::tr("Drive"), {.colour = p.ink, .face = Face::strong});
    const auto& settings = s.site->works.drive;
    const char* kind = settings.modulation == site::Modulation::six_step_180   ? text::tr("six-step")
                       : settings.modulation == site::Modulation::six_step_120 ? text::tr("six-step, 120°")
                       : settings.modulation == site::Modulation::ideal_sine   ? text::tr("ideal sine")
                                                                               : "PWM";
    const std::string turns = s.sealed ? kind : fmt::format("{}, {} Hz", kind, text::fixed(s.now.electrical_Hz, 1));
    const paint::TextLook quiet{.colour = p.ink_soft, .size = 12, .align = Align::right};
    const bool roomy = d.drive.w >= 190;  // else the link's voltage stands there
    if ((roomy || d.isolator.empty()) && c.width(turns, quiet) + 48 <= box.w)
        c.text({box.right(), box.y + 12}, turns, quiet);
    for (const auto& guard : d.guards) {
        if (guard.jumper)
            c.line(guard.terminal[0] + Point{0, -1}, guard.terminal[1] + Point{0, -1},
                   {.colour = p.accent, .width = 3});
        if (roomy)
            c.text({guard.terminal[1].x + 10, guard.terminal[1].y + 4},
                   guard.place == "dry" ? text::tr("probe") : text::tr("float"),
                   {.colour = guard.holds || guard.pulled || guard.jumper ? p.accent : p.ink_soft, .size = 12});
        if (guard.pulled)
            c.line(guard.terminal[0] + Point{-8, 7}, guard.terminal[1] + Point{8, 7},
                   {.colour = p.accent, .width = 1.6, .style = view::LineStyle::dashed});
    }
    const bool electronics = !d.isolator.empty() && !s.hidden;  // without a meter nobody knows it
    if (electronics) {
        const auto link = view::figure(s.means.seconds > 0 ? s.means.link : s.now.nodes.link, "V", 3);
        const Point beside = roomy ? Point{d.link_plus.x + 11, 0.5 * (d.link_plus.y + d.link_minus.y) + 4.5}
                                   : Point{box.right(), box.y + 12};
        c.text(beside, text::say("link {}", link.text()),
               {.colour = p.ink, .size = 12, .face = Face::strong, .align = roomy ? Align::left : Align::right});
    }
    for (std::size_t k = 0; k < 3; ++k)
        c.text({d.terminal[k].x, d.terminal[k].y - 10}, std::string(1, "UVW"[k]),
               {.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::centre});
    double y = d.drive.y + 44;
    const double left = d.drive.x + (d.guards.empty() ? 14 : roomy ? 84 : 44);
    const double room = d.drive.bottom() - (roomy ? 42 : 56) - y;
    const std::size_t fit = room < 0 ? 0 : static_cast<std::size_t>(room / 17) + 1;
    if (fit < 2 && !s.lamps.empty()) {  // one lamp says little: the state in words, of a call-out what is lit
        std::string state = drive::turning(s.now.control.phase) ? text::tr("running")
                                                                : text::tr(drive::phase_words(s.now.control.phase));
        if (s.sealed) {
            state.clear();
            for (const view::Lamp& lamp : s.lamps)
                if (lamp.on) state += (state.empty() ? "" : ", ") + text::tr(lamp.name);
            if (state.empty()) state = text::tr("all dark");
        }
        const paint::TextLook strong{.colour = p.ink, .size = 12, .face = Face::strong};
        c.text({left, y}, c.fitted(state, d.drive.right() - 8 - left, strong), strong);
    } else
        for (const view::Lamp& lamp : view::lamps_that_fit(s.lamps, fit)) {
            const Box eye{left, y - 8, 9, 9};
            if (lamp.on) c.fill(eye, lamp_colour(lamp, p));
            c.frame(eye, p.ink_soft);
            const paint::TextLook words{
                .colour = lamp.on ? p.ink : p.ink_soft, .size = 12, .face = lamp.on ? Face::strong : Face::words};
            c.text({eye.right() + 7, y}, c.fitted(text::tr(lamp.name), d.drive.right() - 8 - eye.right() - 7, words),
                   words);
            y += 17;
        }
}

// Where the ruler leaves no room beside its figures the notes stand in their place.
bool no_room_for_notes(const view::SiteDrawing& d) { return d.bore->box.x - 52 - d.left < 66; }

bool near_a_note(const view::Bore& b, double y, bool narrow) {
    if (!narrow) return false;
    const auto near = [&](double note, double reach) { return std::abs(note - y) < reach; };
    return near(b.water_y, 15) || near(b.rest_y, 15) || near(b.pump.centre().y, 22) || near(b.motor.centre().y, 22);
}

void bore(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s) {
    if (!d.bore) return;
    const auto& b = *d.bore;
    const bool narrow = no_room_for_notes(d), wide = b.box.x - 52 - d.left > 104;
    struct Level {
        double y;
        std::string words;
        Box box;
    };
    const paint::TextLook look{.colour = p.ink, .size = 12, .align = Align::right, .halo = p.strata[1]};
    std::vector<Level> levels;
    const auto level = [&](double y, const char* words, double metres) {
        Level l{y, (wide ? std::string(words) + "  " : "") + text::figure_at(metres, "m", 0.1).text(), {}};
        const double right = narrow ? b.box.x - 9 : b.box.x - 52, w = c.width(l.words, look);
        l.box = {right - w - 4, y - 7, w + 8, 14};
        levels.push_back(std::move(l));
    };
    if (!b.water_in_tear) {
        if (std::abs(b.rest_y - b.water_y) > 14)
            level(b.rest_y, text::tr("level at rest"), s.site->works.water.static_level);
        level(b.water_y, text::tr("level now"), s.water_level_m);
    }
    // The water table leaves the words out.
    std::vector<Point> piece;
    const auto draw_piece = [&] {
        if (piece.size() > 1) c.polyline(piece, {.colour = p.water_deep, .width = 1.4});
        for (std::size_t n = 0; n + 1 < piece.size(); ++n)
            if (piece[n + 1].x <= b.box.x)
                c.mark({piece[n].x, std::min(piece[n].y, piece[n + 1].y) - 0.7, piece[n + 1].x - piece[n].x,
                        1.4 + std::abs(piece[n].y - piece[n + 1].y)},
                       "water table");
        piece.clear();
    };
    for (std::size_t n = 0; n < b.table.size(); ++n) {
        const Point from = b.table[n], to = b.table[std::min(n + 1, b.table.size() - 1)];
        const Box step{from.x, std::min(from.y, to.y) - 1, std::max(1.0, to.x - from.x), 2 + std::abs(from.y - to.y)};
        if (std::any_of(levels.begin(), levels.end(), [&](const Level& l) { return meet(l.box, step); })) draw_piece();
        else piece.push_back(from);
    }
    draw_piece();
    c.fill(b.box, p.ground);
    const double water = std::clamp(b.water_y, b.box.y, b.box.bottom());
    c.fill(Box{b.box.x, water, b.box.w, b.box.bottom() - water}, p.water);
    c.rule({b.box.x, water}, {b.box.right(), water}, p.water_deep, 1.4);
    c.line({b.box.x, b.box.y}, {b.box.x, b.box.bottom()}, {.colour = p.ink, .width = 1.8});
    c.line({b.box.right(), b.box.y}, {b.box.right(), b.box.bottom()}, {.colour = p.ink, .width = 1.8});
    c.rule({b.box.x, b.box.bottom()}, {b.box.right(), b.box.bottom()}, p.ink, 1.8);
    const auto beside_level = [&](double y) {
        return std::any_of(levels.begin(), levels.end(), [&](const Level& l) { return std::abs(l.y - y) < 12; });
    };
    for (const auto& tick : b.ruler) {
        c.rule({b.box.x - 5, tick.y}, {b.box.x, tick.y}, p.ink_soft);
        if (tick.labelled && !beside_level(tick.y) && !near_a_note(b, tick.y, narrow))
            c.text({b.box.x - 9, tick.y + 4}, fmt::format("{} m", tick.metres),
                   {.colour = p.ink, .size = 12, .align = Align::right});
    }
    for (const Level& l : levels) c.text({l.box.right() - 4, l.y + 4}, l.words, look);
}

void machine(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s) {
    const double hot = s.hidden ? 0.0 : std::clamp((s.winding_degC - 40) / 100, 0.0, 1.0);
    auto motor = [&](const Box& box) {
        c.fill(box, view::heat_tint(p, p.steel, hot));
        c.frame(box, p.ink, 1.8);
        const Box rotor{box.centre().x - box.w * 0.18, box.y + box.h * 0.12, box.w * 0.36, box.h * 0.76};
        c.fill(rotor, p.sheet);
        // Bars of the rotor pass as it turns.
        const double angle = std::atan2(s.now.flux[1], s.now.flux[0]);
        for (int k = 0; k < 5; ++k) {
            const double share = std::fmod(angle / (2 * 3.14159265358979) + 1.0 + k / 5.0, 1.0);
            const double x = rotor.x + share * rotor.w;
            c.rule({x, rotor.y}, {x, rotor.bottom()}, p.steel_dark);
        }
        c.frame(rotor, p.ink);
    };
    if (d.bench_motor) {
        motor(d.bench_motor->body);
        c.fill(d.bench_motor->fan, p.steel);
        c.frame(d.bench_motor->fan, p.ink);
        if (!s.hidden)
            c.text({d.bench_motor->body.centre().x, d.bench_motor->body.y - 8},
                   text::figure_at(s.now.speed * 30 / 3.14159265358979, "rpm", 1).text(),
                   {.colour = p.ink, .face = Face::strong, .align = Align::centre});
    }
    if (!d.bore) return;
    const auto& b = *d.bore;
    motor(b.motor);
    c.fill(b.pump, p.steel);
    c.frame(b.pump, p.ink, 1.8);
    for (double y = b.pump.y + 6; y < b.pump.bottom() - 4; y += 9)
        c.line({b.pump.x + 3, y + 4}, {b.pump.right() - 3, y - 2}, {.colour = p.ink, .width = 1.2});
    // The joint in the cable, each core as warm as its watts say, and a leader to its enlargement.
    for (std::size_t k = 0; k < 3; ++k) {
        const Box joint{b.core_x[k] - 2.2, b.splice_y - 7, 4.4, 14};
        c.fill(joint, view::heat_tint(p, p.steel, std::clamp(s.splice[k].kelvin / 60, 0.0, 1.0)));
        c.frame(joint, std::isfinite(s.splice[k].ohms) ? p.ink : p.accent);
    }
    if (!d.sheets.splice.empty()) {
        const Point from{b.box.right() + 2, b.splice_y},
            to{d.sheets.splice.x, std::clamp(b.splice_y, d.sheets.splice.y + 24, d.sheets.splice.bottom() - 12)};
        const double bend = 0.5 * (from.x + to.x);
        const Point path[] = {from, {bend, from.y}, {bend, to.y}, to};
        c.polyline(path, {.colour = p.ink_soft, .width = 1.2});
    }
    if (!d.sheets.motor.empty()) {
        const Point mark{b.box.right() + 8, b.motor.centre().y};
        c.line(mark, mark + Point{14, 0}, {.colour = p.ink, .width = 1.8});
        c.arrow(mark + Point{14, 0}, mark + Point{14, 15}, {.colour = p.ink, .width = 1.4}, 5);
        c.text(mark + Point{8, -5}, "A",
               {.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::centre, .halo = p.strata[2]});
    }
    const double left = no_room_for_notes(d) ? b.box.x - 9 : b.box.x - 52;
    const bool wide = left - d.left > 104;
    auto note = [&](double y, std::string words) {
        if (!wide) words = words.substr(words.find("  ") + 2);
        c.text({left, y}, words, {.colour = p.ink, .size = 12, .align = Align::right, .halo = p.strata[2]});
    };
    if (s.hidden) return;
    note(b.pump.centre().y - 4, text::say("pump  {} m³/h", text::figure(s.flow_m3_h, "m3/h", 3).number));
    note(b.pump.centre().y + 11, text::say("against  {}", text::figure(s.head_m, "m", 3).text()));
    note(b.motor.centre().y - 4,
         text::say("motor  {}", text::figure_at(s.now.speed * 30 / 3.14159265358979, "rpm", 1).text()));
    note(b.motor.centre().y + 11, text::say("winding  {}", text::figure_at(s.winding_degC, "°C", 1).text()));
}

void water(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s) {
    if (d.main.size() > 1) {
        const auto path = view::rounded(d.main, 14);
        c.polyline(path, {.colour = p.ink, .width = 11});
        c.polyline(path, {.colour = p.water_deep, .width = 8});
        // Chevrons ride with the water; standing water has none.
        if (s.flow_m3_h > 1e-3) {
            const double area = s.site->works.water.main.area(), speed = s.flow_m3_h / 3600 / area;
            const double spacing = 46, shift = std::fmod(s.t * speed * d.depth.metre, spacing);
            double run = -shift;
            for (std::size_t n = 0; n + 1 < path.size(); ++n) {
                const double length = view::distance(path[n], path[n + 1]);
                if (length <= 0) continue;
                const Point dir = (path[n + 1] - path[n]) * (1 / length), side{-dir.y, dir.x};
                for (; run < length; run += spacing) {
                    if (run < 0) continue;
                    const Point tip = path[n] + dir * run;
                    const Point v[] = {tip - dir * 4 + side * 3, tip, tip - dir * 4 - side * 3};
                    c.polyline(v, {.colour = p.sheet, .width = 1.4});
                }
                run -= length;
            }
        }
    }
    if (!d.tank) return;
    const auto& t = *d.tank;
    c.fill(t.box, p.sheet);
    c.fill(Box{t.box.x, t.level_y, t.box.w, t.box.bottom() - t.level_y}, p.water);
    c.rule({t.box.x, t.level_y}, {t.box.right(), t.level_y}, p.water_deep, 1.4);
    c.outline(t.box, {.colour = p.ink, .width = 1.8});
    c.line(t.hinge, t.ball, {.colour = p.ink, .width = 1.4});
    c.disc(t.ball, 5, p.accent);
    const Box ball{t.ball.x - 5, t.ball.y - 5, 10, 10};
    c.mark(ball, "float");
    // At the foot, or where the ball lies there, higher up or left of it.
    const std::string full = text::figure_at(100 * s.tank_fill, "%", 1).text();
    const paint::TextLook look{.colour = p.ink, .face = Face::strong, .align = Align::right};
    const double wide = c.width(full, look);
    for (const Point q : {Point{t.box.right() - 8, t.box.bottom() - 8},
                          {t.box.right() - 8, t.ball.y - 10},
                          {t.ball.x - 10, t.box.bottom() - 8},
                          {t.box.right() - 8, t.ball.y + 22}}) {
        const Box at{q.x - wide, q.y - 11, wide, 14};
        if (meet(at, ball.inset(-2)) || at.x < t.box.x + 3 || at.y < t.box.y + 2 || q.y > t.box.bottom() - 3) continue;
        c.text(q, full, look);
        break;
    }
}

void wires(Canvas& c, const view::SiteDrawing& d, const view::Palette& p) {
    for (const auto& w : d.wires) c.conductor(w.points, look_of(w.wire, p), 2.4);
    bool any = false;
    for (std::size_t k = 0; k < 3; ++k) {
        if (!d.pulled[k]) continue;
        // The bare end stands clear of its terminal, which is struck out.
        c.circle(d.lead_end[k], 8, {.colour = p.accent, .width = 2.0, .style = view::LineStyle::dashed});
        const Point gap{d.terminal[k].x, d.drive.bottom() + 3};
        c.line(gap + Point{-6, -4}, gap + Point{6, 4}, {.colour = p.accent, .width = 2.4});
        c.line(gap + Point{-6, 4}, gap + Point{6, -4}, {.colour = p.accent, .width = 2.4});
        any = true;
    }
    if (any) {
        const paint::TextLook look{
            .colour = p.accent, .size = 12, .face = Face::strong, .align = Align::right, .halo = p.sky_day_low};
        c.text({d.gland.x - 6, d.drive.bottom() + 12}, text::tr("disconnected"), look);
    }
    if (d.earth.x > 0)
        for (int k = 0; k < 3; ++k)
            c.rule({d.earth.x - 9 + 3.0 * k, d.earth.y + 4 + 4.0 * k},
                   {d.earth.x + 9 - 3.0 * k, d.earth.y + 4 + 4.0 * k}, p.ink, 1.6);
}

}  // namespace

Box ring_box(const view::Ring& ring) { return {ring.at.x - ring.rx, ring.at.y - ring.ry, 2 * ring.rx, 2 * ring.ry}; }

void ellipse(Canvas& c, const view::Ring& ring, double wider, const paint::Stroke& stroke) {
    std::array<Point, 40> path;
    for (std::size_t n = 0; n < path.size(); ++n) {
        const double angle = 2 * std::numbers::pi * static_cast<double>(n) / static_cast<double>(path.size());
        path[n] = ring.at + Point{(ring.rx + wider) * std::cos(angle), (ring.ry + wider) * std::sin(angle)};
    }
    c.polyline(path, stroke, true);
}

view::Colour lamp_colour(const view::Lamp& lamp, const view::Palette& p) {
    if (lamp.name == "tripped" || lamp.name == "locked out") return p.accent;
    return lamp.name == "supply" || lamp.name == "running" ? p.lamp_on : p.sun;
}

void paint_site(Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p,
                bool sun_carried) {
    const double hours = d.sun ? d.sun->hours : 12.0;
    const double height = d.sun ? 90 * d.sun->height(hours) : 45.0;
    ground(c, d, p, height);
    const auto words = sun_words(c, d, p, s, sun_carried);
    sun(c, d, p, s, words);
    bore(c, d, p, s);
    array(c, d, p, s);
    water(c, d, p, s);
    if (d.change_over) second_supply(c, *d.change_over, p);
    drive(c, d, p, s);
    wires(c, d, p);
    paint_state_words(c, d, p);
    if (d.change_over) second_supply_poles(c, *d.change_over, p);
    machine(c, d, p, s);
    torn_band(c, d, p);
    if (words) c.text(words->at, words->words, sun_look(p));
}

}  // namespace sunshaft::panels
