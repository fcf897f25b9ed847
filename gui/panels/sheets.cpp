// The three sheets beside the bore: splice, motor in section, power on its way.
#include "panels/cutaway_paint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/figures.hpp"
#include "model/format.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

// In place of a figure that nobody has measured.
constexpr const char* kUnknown = "?";

}  // namespace

void splice_sheet(Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p,
                  const std::array<std::string, 3>& noted_amps) {
    const Box& box = d.sheets.splice;
    if (box.empty()) return;
    paint::sheet(c, box, p.sheet, p.rule_strong);
    paint::title(c, {box.x + 10, box.y + 19}, s.hidden ? text::tr("Splice: not measured") : text::tr("Splice"),
                 p.ink_soft);
    // The columns share what the drawing leaves them (site_drawing's splice_figures_w), four places and a gap each.
    const double warm = box.right() - 10, pitch = (warm - d.sheets.figures_x) / 4, w = warm - pitch, o = w - pitch,
                 a = o - pitch;
    for (const auto& [at, words] : {std::pair{a, "A"}, {o, "Ω"}, {w, "W"}, {warm, "K"}})
        c.text({at, box.y + 38}, words, {.colour = p.ink_soft, .size = 12, .align = Align::right});
    const view::ConductorLook* look[] = {&p.l1, &p.l2, &p.l3};
    const char* letter[] = {"U", "V", "W"};
    for (std::size_t k = 0; k < 3; ++k) {
        const double y = d.sheets.row_y[k];
        const auto& row = s.splice[k];
        const bool open = !std::isfinite(row.ohms), bad = !s.hidden && (open || row.ohms > 0.2);
        c.text({box.x + 10, y + 4}, letter[k], {.colour = p.ink, .face = Face::strong});
        const Point left{d.sheets.cable_x, y}, right{d.sheets.motor_x, y}, middle = view::lerp(left, right, 0.5);
        const double half = std::min(16.0, 0.25 * (right.x - left.x));
        const Point one[] = {left, {middle.x - half, y}}, two[] = {{middle.x + half, y}, right};
        c.conductor(one, *look[k], 2.4);
        c.conductor(two, *look[k], 2.4);
        const Box joint{middle.x - half, y - 6, 2 * half, 12};
        c.fill(joint, view::heat_tint(p, p.steel, std::clamp(row.kelvin / 60, 0.0, 1.0)));
        c.frame(joint, bad ? p.accent : p.ink);
        const auto cell = [&](double at, const std::string& text) {
            const auto colour = bad ? p.accent : text == kUnknown ? p.ink_soft : p.ink;
            c.text({at, y + 4}, text, {.colour = colour, .size = 12, .face = Face::mono, .align = Align::right});
        };
        if (s.hidden) {  // the clamp's own figure, where it was noted
            cell(a, noted_amps[k].empty() ? kUnknown : noted_amps[k]);
            for (const double at : {o, w, warm}) cell(at, kUnknown);
            continue;
        }
        cell(a, view::cell(row.amps));
        cell(o, view::cell(row.ohms));
        cell(w, view::cell(row.watts));
        cell(warm, view::signed_figure(row.kelvin, 0));
    }
}

void motor_sheet(Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p) {
    const Box& box = d.sheets.motor;
    if (box.empty()) return;
    paint::sheet(c, box, p.sheet, p.rule_strong);
    paint::title(c, {box.x + 10, box.y + 19}, text::tr("Motor, section A-A"), p.ink_soft);
    const bool wide = box.w > 1.5 * box.h;
    const double radius = std::min({wide ? std::min(0.3 * box.w, std::max(30.0, 0.5 * (box.w - 214))) : 0.38 * box.w,
                                    0.5 * (box.h - (wide ? 36 : 130))});
    const Point centre =
        wide ? Point{box.x + radius + 16, box.y + 28 + radius} : Point{box.centre().x, box.y + 30 + radius};
    c.disc(centre, radius, p.steel);
    c.circle(centre, radius, {.colour = p.ink, .width = 1.8});
    const view::ConductorLook* look[] = {&p.l1, &p.l2, &p.l3};
    double most = 1e-9;
    if (!s.hidden)
        for (const double i : s.now.nodes.i) most = std::max(most, std::abs(i));
    // Slots: six belts of 60 degrees, u -w v -u w -v; the disc's size is the current of this instant, filled out of the
    // page.
    constexpr int belt[] = {0, 2, 1, 0, 2, 1};
    constexpr double sign[] = {1, -1, 1, -1, 1, -1};
    for (int slot = 0; slot < 24; ++slot) {
        const double angle = 2 * 3.14159265358979 * (slot + 0.5) / 24 - 3.14159265358979 / 2;
        const int group = (slot / 4) % 6;
        const auto k = static_cast<std::size_t>(belt[group]);
        const double i = s.hidden ? 0.5 : sign[group] * s.now.nodes.i[k] / most;
        const Point at{centre.x + 0.83 * radius * std::cos(angle), centre.y + 0.83 * radius * std::sin(angle)};
        const double size = 0.04 * radius + 0.05 * radius * std::abs(i);
        c.disc(at, size, look[k]->core);
        if (i < 0) c.disc(at, 0.6 * size, p.sheet);
    }
    c.disc(centre, 0.68 * radius, p.ground);
    c.circle(centre, 0.68 * radius, {.colour = p.ink, .width = 1.2});
    const double field = std::atan2(s.now.current[1], s.now.current[0]),
                 rotor = std::atan2(s.now.flux[1], s.now.flux[0]);
    const double flux = std::hypot(s.now.flux[0], s.now.flux[1]);
    if (s.means.seconds > 0 && most > 1e-3)
        c.arrow(centre, {centre.x + 0.55 * radius * std::cos(-field), centre.y + 0.55 * radius * std::sin(-field)},
                {.colour = p.accent, .width = 2.2});
    if (flux > 1e-6 && !s.hidden)
        c.line(centre, {centre.x + 0.6 * radius * std::cos(-rotor), centre.y + 0.6 * radius * std::sin(-rotor)},
               {.colour = p.ink, .width = 1.4, .style = view::LineStyle::dashed});
    // The path of the flux, in its own scale: the larger of now and healthy fills the rotor.
    double widest = 1e-9;
    for (const auto* path : {&s.flux_path, &s.healthy_flux_path})
        for (const auto& q : *path) widest = std::max(widest, std::hypot(q[0], q[1]));
    const auto trail = [&](const std::vector<motor::Vec2>& path, const paint::Stroke& stroke) {
        std::vector<Point> points;
        for (const auto& q : path)
            points.push_back({centre.x + 0.62 * radius * q[0] / widest, centre.y - 0.62 * radius * q[1] / widest});
        if (points.size() > 2) c.polyline(points, stroke, true);
    };
    trail(s.healthy_flux_path, {.colour = p.ghost, .width = 1.2});
    trail(s.flux_path, {.colour = p.signal[0].colour, .width = 1.8});
    c.disc(centre, 5, p.steel_dark);
    double y = wide ? box.y + 44 : centre.y + radius + 20;
    const double left = wide ? centre.x + radius + 18 : box.x + 12, right = box.right() - 12;
    auto row = [&](const char* words, const std::string& number, const char* unit, const view::Colour& key,
                   view::LineStyle style) {
        c.line({left, y - 4}, {left + 16, y - 4}, {.colour = key, .width = 2, .style = style});
        c.text({left + 22, y}, words, {.colour = p.ink, .size = 12});
        paint::value(c, {right, y}, number, unit, {.number = p.ink, .unit = p.ink_soft, .size = 12});
        y += 17;
    };
    if (s.hidden) {
        for (const auto& [words, unit] :
             {std::pair{"field turns at", "Hz"}, {"rotor turns at", "Hz"}, {"slip", "%"}, {"torque", "N m"}})
            row(words, kUnknown, unit, p.sheet, view::LineStyle::solid);
        return;
    }
    const double pairs =
        std::visit([](const auto& m) { return static_cast<double>(m.pole_pairs); }, s.site->works.motor);
    // Without current there is no field to turn: what the drive puts out ends at its terminals.
    const bool fed = *std::max_element(s.means.current_rms.begin(), s.means.current_rms.end()) > 0.01;
    if (fed)
        row(text::tr("field turns at"), text::fixed(s.now.electrical_Hz, 1), "Hz", p.accent, view::LineStyle::solid);
    else row(text::tr("no current: no field"), "", "", p.sheet, view::LineStyle::solid);
    row(text::tr("rotor turns at"), text::fixed(pairs * s.now.speed / (2 * 3.14159265358979), 1), "Hz", p.ink,
        view::LineStyle::dashed);
    if (fed && std::isfinite(s.now.slip))
        row(text::tr("slip"), text::fixed(100 * s.now.slip, 1), "%", p.sheet, view::LineStyle::solid);
    if (!s.flux_path.empty()) {
        c.line({left, y - 4}, {left + 16, y - 4}, {.colour = p.signal[0].colour, .width = 2});
        c.text({left + 22, y},
               c.fitted(s.healthy_flux_path.empty() ? text::tr("flux path") : text::tr("flux path, healthy in grey"),
                        right - left - 22, {.colour = p.ink, .size = 12}),
               {.colour = p.ink, .size = 12});
        y += 17;
    }
    row(text::tr("torque"), text::fixed(s.means.torque, 2), "N m", p.sheet, view::LineStyle::solid);
}

void power_sheet(Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p) {
    const Box& box = d.sheets.power;
    if (box.empty()) return;
    paint::sheet(c, box, p.sheet, p.rule_strong);
    paint::title(c, {box.x + 10, box.y + 19}, text::tr("Power on its way"), p.ink_soft);
    namespace pl = plant;
    const auto& w = s.power;
    struct Row {
        const char* words;
        double watts, healthy;
        int kind;
    };
    const auto& h = s.healthy_power;
    const auto sum = [](const plant::Energies& e, std::initializer_list<int> of) {
        double watts = 0;
        for (const int n : of) watts += e[static_cast<std::size_t>(n)];
        return watts;
    };
    const auto loss = [&](const char* words, std::initializer_list<int> of) {
        return Row{words, sum(w, of), sum(h, of), 1};
    };
    const site::Supply& supply = s.site->works.supply;
    const bool array = supply.kind == site::Supply::Kind::array && !supply.second.feeds();
    const bool pump = !std::holds_alternative<std::monostate>(s.site->works.water.pump);
    const Row rows[] = {
        {array ? text::tr("from the array") : text::tr("from the supply"), w[pl::from_supply], h[pl::from_supply], 0},
        loss(text::tr("lost in DC run"), {pl::in_dc_run}),
        loss(text::tr("in drive"), {pl::in_link, pl::in_bridge}),
        {text::tr("in drop cable"), w[pl::in_cable] - w[pl::in_splice], h[pl::in_cable] - h[pl::in_splice], 1},
        loss(text::tr("in splice"), {pl::in_splice}),
        pump ? loss(text::tr("in motor"), {pl::in_winding, pl::in_cage, pl::in_iron, pl::in_bearing})
             : loss(text::tr("in motor"), {pl::in_winding, pl::in_cage, pl::in_iron}),
        pump ? loss(text::tr("in pump, main"), {pl::in_pump, pl::in_pipe}) : Row{nullptr, 0, 0, 1},
        pump ? Row{text::tr("lifted as water"), w[pl::lifted], h[pl::lifted], 2}
             : Row{text::tr("into the brake"), w[pl::in_bearing], h[pl::in_bearing], 2}};
    // What went astray may come from what was stored: a run-down motor, a link that empties.
    double spent = 0;
    for (const Row& r : rows)
        if (r.kind != 0) spent += std::max(0.0, r.watts);
    // Below a watt there is nothing to share out, and no bar is drawn to full width for it.
    const double most = std::max({std::abs(w[pl::from_supply]), spent, 1.0});
    double names = 0;
    for (const Row& r : rows)
        if (r.words) names = std::max(names, c.width(r.words, {.colour = p.ink, .size = 12, .face = Face::strong}));
    const double left = box.x + 10 + names + 8, right = box.right() - 66;
    const double pitch = std::min(20.0, (box.h - 32) / 8);
    double y = box.y + 26, from = left;
    for (const Row& r : rows) {
        if (!r.words) continue;
        const double length = std::clamp(r.watts / most, 0.0, 1.0) * (right - left);
        const bool odd = s.faulty && r.kind == 1 && r.watts > 1.5 * std::abs(r.healthy) + 0.01 * most;
        const auto colour = odd ? p.accent : p.ink;
        c.text({box.x + 10, y + 10}, r.words, {.colour = colour, .size = 12, .face = odd ? Face::strong : Face::words});
        if (s.hidden) {  // a bar without a length
            c.outline({left, y + 2, 36, pitch - 6}, {.colour = p.rule_strong, .style = view::LineStyle::dashed});
            paint::value(c, {box.right() - 10, y + 10}, kUnknown, "W",
                         {.number = p.ink_soft, .unit = p.ink_soft, .size = 12});
            y += pitch;
            continue;
        }
        const Box bar{r.kind == 0 ? left : from, y + 2, length, pitch - 5};
        if (length > 0)
            c.fill(bar,
                   r.kind == 0 ? p.power_source : (r.kind == 2 ? p.power_lifted : (odd ? p.accent : p.power_loss)));
        if (r.kind == 1) from += length;
        paint::value(c, {box.right() - 10, y + 10},
                     std::abs(r.watts) < 0.05 ? "0" : text::fixed(r.watts, std::abs(r.watts) < 9.95 ? 1 : 0), "W",
                     {.number = colour, .unit = p.ink_soft, .size = 12});
        y += pitch;
    }
}

}  // namespace sunshaft::panels
