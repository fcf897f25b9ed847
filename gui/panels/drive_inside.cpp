// Inside the drive: six switches and their diodes in one instant, those that conduct closed, and the way the current
// takes from the link through the motor and back.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "panels/panels.hpp"
#include "panels/turn_strip.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using drive::Device;
using drive::Leg;
using view::Box;
using view::Point;

// A stretch of wire and what it carries from its first point to its last.
struct Run {
    std::vector<Point> points;
    double amps = 0.0;
    bool chevrons = true;
};

// Where everything of the drawing stands.
struct Plan {
    double top, low, middle, link_x, star_x, turn_x, coil_x;
    std::array<double, 3> leg_x, node_y, coil_y;
    double cell_h, upper_y, lower_y;
    explicit Plan(const Box& b) {
        top = b.y + 10.0, low = b.bottom() - 10.0, middle = 0.5 * (top + low);
        link_x = b.x + 30.0;
        const double from = b.x + std::max(96.0, 0.2 * b.w), right = b.right() - 20.0;
        const double pitch = std::clamp(0.42 * (right - from) / 3.0, 57.0, 150.0);
        for (std::size_t k = 0; k < 3; ++k) {
            leg_x[k] = from + pitch * static_cast<double>(k) + 20.0;
            node_y[k] = middle + 12.0 * (static_cast<double>(k) - 1.0);
            coil_y[k] = middle + std::min(42.0, 0.3 * (low - top)) * (static_cast<double>(k) - 1.0);
        }
        star_x = right - 12.0;
        turn_x = leg_x[2] + 46.0;
        coil_x = star_x - std::clamp(0.16 * b.w, 44.0, 90.0);
        cell_h = std::clamp(0.5 * (low - top) - 26.0, 26.0, 52.0);
        upper_y = 0.5 * (top + middle - 12.0);
        lower_y = 0.5 * (low + middle + 12.0);
    }
};

class DriveInside : public Panel {
  public:
    explicit DriveInside(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Inside the drive"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(16, 8);
        if (const std::string why = closed(*s); !why.empty()) {
            x.canvas().paragraph(rest.top_left(), rest.w, why, {.colour = p.ink_soft});
            return;
        }
        shared_->turn_cursor.calm = x.window.is_calm();
        const view::Moment m = moment_of(*s, shared_->turn_cursor);
        const double most = view::most_amps(*s->turn), least = view::least_amps(*s->turn);
        Box head = rest.cut_top(22);
        const bool strobe = shared_->turn_cursor.stands(*s->turn, s->running == view::Running::run, s->wanted_rate);
        const double named = caption(x, head, m, least, strobe && rest.w > 560);
        head.cut_left(named + 16);
        turn_keys(x, head, *s, shared_->turn_cursor);
        Box strip = rest.cut_bottom(kTurnStrip);
        turn_strip(x, strip, *s, shared_->turn_cursor);
        Box side = rest.cut_right(rest.w > 1000 ? 330 : std::min(210.0, 0.29 * rest.w));
        side.cut_left(16);
        bridge(x, rest, *s, m, most, least);
        field(x, side, *s, m, least);
        if (s->running == view::Running::run) x.wake_in(0.033);
    }

  private:
    static std::string closed(const view::Snapshot& s) {
        if (s.hidden) return text::tr("Closed: faults are hidden. Measure at the terminals.");
        if (s.site->works.supply.kind == site::Supply::Kind::mains)
            return text::tr("There is no drive here: the motor hangs on the mains.");
        if (s.site->works.drive.modulation == drive::Modulation::ideal_sine)
            return text::tr("This drive is an ideal sine source: it has no switches.");
        if (!s.turn) return text::tr("Nothing has run yet.");
        return {};
    }

    // What of the motor's current comes out of the link now.
    static double from_link(const view::Moment& m) {
        double amps = 0.0;
        for (std::size_t k = 0; k < 3; ++k)
            if (m.legs[k] == Leg::upper || m.legs[k] == Leg::diode_up) amps += m.amps[k];
        return amps;
    }

    static double caption(PanelContext& x, const Box& row, const view::Moment& m, double least, bool strobe) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        double most = 0.0;
        for (const double a : m.amps) most = std::max(most, std::abs(a));
        const std::string words = most < least
                                      ? text::tr("no current")
                                      : text::say("lit: where current flows, {}", view::figure(most, "A", 3).text());
        return c.text({row.x, row.y + 16.0}, strobe ? text::say("{}. Every turn at one angle", words) : words,
                      {.colour = p.ink_soft});
    }

    // ---- the drawing

    static void lit(Canvas& c, const Run& run, double most, double least, const view::Palette& p) {
        if (std::abs(run.amps) < least || run.points.size() < 2) return;
        const double share = std::clamp(std::abs(run.amps) / std::max(most, 1e-9), 0.0, 1.0);
        c.polyline(run.points, {.colour = p.sun.faded(0.22), .width = 3.0 + 7.0 * share, .cap = paint::Cap::round});
        c.polyline(run.points, {.colour = p.sun, .width = 1.4 + 1.4 * share, .cap = paint::Cap::round});
    }
    // On the longest straight of it, in the true direction.
    static void chevron(Canvas& c, const Run& run, double least, const view::Palette& p) {
        if (!run.chevrons || std::abs(run.amps) < least || run.points.size() < 2) return;
        std::size_t best = 0;
        for (std::size_t n = 0; n + 1 < run.points.size(); ++n)
            if (view::distance(run.points[n], run.points[n + 1]) >
                view::distance(run.points[best], run.points[best + 1]))
                best = n;
        const Point a = run.points[best], b = run.points[best + 1];
        const double length = view::distance(a, b);
        if (length < 12.0) return;
        const Point ahead = (b - a) * ((run.amps > 0.0 ? 1.0 : -1.0) / length), side{-ahead.y, ahead.x},
                    tip = view::lerp(a, b, 0.5) + ahead * 4.0;
        const Point head[] = {tip - ahead * 8.0 + side * 5.0, tip, tip - ahead * 8.0 - side * 5.0};
        c.polyline(head, {.colour = p.ink, .width = 1.8});
    }

    void bridge(PanelContext& x, const Box& box, const view::Snapshot& s, const view::Moment& m, double most,
                double least) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const Plan plan(box);
        const site::Works& works = s.site->works;
        const double drawn = from_link(m);
        std::vector<Run> runs;
        // The link and its rails: between two legs flows what the legs further on take.
        std::array<double, 3> up{}, down{};
        for (std::size_t k = 0; k < 3; ++k) {
            up[k] = m.legs[k] == Leg::upper || m.legs[k] == Leg::diode_up ? m.amps[k] : 0.0;
            down[k] = m.legs[k] == Leg::lower || m.legs[k] == Leg::diode_down ? m.amps[k] : 0.0;
        }
        double plus = up[0] + up[1] + up[2], minus = down[0] + down[1] + down[2];
        runs.push_back({{{plan.link_x, plan.middle - 5.0}, {plan.link_x, plan.top}}, drawn, false});
        runs.push_back({{{plan.link_x, plan.low}, {plan.link_x, plan.middle + 5.0}}, drawn, false});
        double left = plan.link_x;
        for (std::size_t k = 0; k < 3; ++k) {
            runs.push_back({{{left, plan.top}, {plan.leg_x[k], plan.top}}, plus, k == 0});
            runs.push_back({{{left, plan.low}, {plan.leg_x[k], plan.low}}, minus, k == 0});
            plus -= up[k], minus -= down[k];
            left = plan.leg_x[k];
        }
        c.line({plan.link_x, plan.top}, {plan.leg_x[2], plan.top}, {.colour = p.dc_plus.core, .width = 2.0});
        const Point rail[] = {{plan.link_x, plan.low}, {plan.leg_x[2], plan.low}};
        c.conductor(rail, p.dc_minus, 2.0);
        c.line({plan.link_x, plan.top}, {plan.link_x, plan.middle - 5.0}, {.colour = p.dc_plus.core, .width = 2.0});
        const Point foot[] = {{plan.link_x, plan.middle + 5.0}, {plan.link_x, plan.low}};
        c.conductor(foot, p.dc_minus, 2.0);
        for (const double y : {plan.middle - 5.0, plan.middle + 5.0})
            c.rule({plan.link_x - 12.0, y}, {plan.link_x + 12.0, y}, p.ink, 2.6);
        c.text({box.x, plan.top + 5.0}, "+", {.colour = p.ink, .size = 15, .face = Face::strong});
        c.text({box.x, plan.low + 5.0}, "−", {.colour = p.ink, .size = 15, .face = Face::strong});
        c.text({plan.link_x + 18.0, plan.middle - 3.0}, text::tr("link"), {.colour = p.ink_soft, .size = 12});
        const auto volts = view::figure(m.volts("link+").value_or(0.0), "V", 3);
        paint::value(c, {plan.link_x + 18.0, plan.middle + 13.0}, volts.number, volts.unit,
                     {.number = p.ink, .unit = p.ink_soft, .align = Align::left});

        for (std::size_t k = 0; k < 3; ++k) leg(x, c, plan, k, works.bridge.legs[k], m, runs, p);
        wires(c, plan, s, m, runs, p, least, box.right());
        for (const Run& run : runs) lit(c, run, most, least, p);
        for (const Run& run : runs) chevron(c, run, least, p);
        for (std::size_t k = 0; k < 3; ++k) {
            c.disc({plan.leg_x[k], plan.node_y[k]}, 3.2, p.ink);
            c.text({plan.leg_x[k] - 8.0, plan.node_y[k] + (k == 2 ? 13.0 : -5.0)}, std::string(1, "UVW"[k]),
                   {.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::right, .halo = p.ground});
        }
    }

    static void leg(PanelContext& x, Canvas& c, const Plan& plan, std::size_t k, const drive::LegParts& parts,
                    const view::Moment& m, std::vector<Run>& runs, const view::Palette& p) {
        const double at = plan.leg_x[k], node = plan.node_y[k], half = 0.5 * plan.cell_h;
        for (const bool upper : {true, false}) {
            const double y = upper ? plan.upper_y : plan.lower_y, rail = upper ? plan.top : plan.low;
            const Device device = upper ? parts.upper : parts.lower;
            const bool closed = m.legs[k] == (upper ? Leg::upper : Leg::lower),
                       diode = m.legs[k] == (upper ? Leg::diode_up : Leg::diode_down);
            const Box cell{at - 17.0, y - half, 54.0, plan.cell_h};
            c.frame(cell, device == Device::good ? p.rule : p.accent);
            // The way out of the rail and into the node; then either through the switch or through the diode beside it.
            const double side = upper ? -1.0 : 1.0;  // towards the rail
            const Point outer{at, y + side * (half - 4.0)}, inner{at, y - side * (half - 4.0)};
            const double amps = closed || diode ? m.amps[k] : 0.0;
            c.line({at, rail}, outer, {.colour = p.ink, .width = 1.6});
            c.line(inner, {at, node}, {.colour = p.ink, .width = 1.6});
            runs.push_back({{{at, rail}, outer}, amps, false});
            runs.push_back({{inner, {at, node}}, amps, false});
            // The switch: its blade hangs on the lower contact.
            const double reach = half - 9.0;
            const Point hinge{at, y + reach}, contact{at, y - reach},
                blade = closed ? contact : Point{at - 0.62 * reach - 3.0, y - 0.72 * reach};
            for (const auto& [a, b] : {std::pair{outer, upper ? contact : hinge}, {inner, upper ? hinge : contact}})
                c.line(a, b, {.colour = p.ink, .width = 1.6});
            c.line(hinge, blade, {.colour = p.ink, .width = closed ? 2.2 : 1.6});
            c.disc(hinge, 2.4, p.ink);
            c.disc(contact, 2.4, closed ? p.ink : p.ground);
            c.circle(contact, 2.4, {.colour = p.ink, .width = 1.2});
            // The diode, always from minus to plus.
            const double dx = at + 24.0, size = std::min(7.0, 0.32 * plan.cell_h);
            const Point high{dx, y - half + 4.0}, low{dx, y + half - 4.0};
            const Point triangle[] = {{dx - size, y + size * 0.8}, {dx + size, y + size * 0.8}, {dx, y - size * 0.8}};
            const paint::Stroke thin{.colour = p.ink_soft, .width = 1.2};
            c.line({at, high.y}, high, thin);
            c.line({at, low.y}, low, thin);
            c.line(high, low, thin);
            c.fill(triangle, diode ? p.sun : p.ground);
            c.polyline(triangle, {.colour = diode ? p.ink : p.ink_soft, .width = 1.2}, true);
            c.line({dx - size, y - size * 0.8}, {dx + size, y - size * 0.8},
                   {.colour = diode ? p.ink : p.ink_soft, .width = 1.6});
            if (closed) runs.push_back({{outer, inner}, amps, false});
            if (diode) runs.push_back({{outer, {dx, outer.y}, {dx, inner.y}, inner}, amps, false});
            const char* ails = device == Device::open      ? text::tr("never closes")
                               : device == Device::shorted ? text::tr("shorted")
                                                           : "";
            if (*ails) {
                const Point cross{cell.right() - 7.0, cell.y + 7.0};
                c.line(cross + Point{-4, -4}, cross + Point{4, 4}, {.colour = p.accent, .width = 2.0});
                c.line(cross + Point{-4, 4}, cross + Point{4, -4}, {.colour = p.accent, .width = 2.0});
            }
            hint(x, cell,
                 text::sentences({text::say_of(upper    ? closed ? text::id("Upper switch of {}: closed.")
                                                                 : text::id("Upper switch of {}: open.")
                                                  : closed ? text::id("Lower switch of {}: closed.")
                                                        : text::id("Lower switch of {}: open."),
                                               site::phase_letter[k]),
                                  diode ? text::tr("Its diode carries.") : "",
                                  *ails ? text::say("Fault: {}.", ails) : ""}));
        }
    }

    // From the legs to the windings, over the legs further on.
    static void wires(Canvas& c, const Plan& plan, const view::Snapshot& s, const view::Moment& m,
                      std::vector<Run>& runs, const view::Palette& p, double least, double right) {
        const view::ConductorLook* look[] = {&p.l1, &p.l2, &p.l3};
        const site::Works& works = s.site->works;
        const Point star{plan.star_x, plan.middle};
        for (std::size_t k = 0; k < 3; ++k) {
            // Which winding the core on this leg goes to.
            const auto w = static_cast<std::size_t>(works.core_at[k]);
            const double y = plan.node_y[k], to = plan.coil_y[k];
            std::vector<Point> wire{{plan.leg_x[k], y}};
            for (std::size_t over = k + 1; over < 3; ++over)
                for (const double a : {180.0, 225.0, 270.0, 315.0, 360.0})
                    wire.push_back({plan.leg_x[over] + 6.0 * std::cos(a * std::numbers::pi / 180.0),
                                    y + 6.0 * std::sin(a * std::numbers::pi / 180.0)});
            const double bend = plan.turn_x + (k == 1 ? 0.0 : 10.0);
            wire.insert(wire.end(), {{bend, y}, {bend, to}});
            const double gap_x = 0.5 * (bend + plan.coil_x);
            const site::Phase& phase = works.phases[w];
            const bool pulled = !std::isfinite(works.phases[k].terminal.through()),
                       broken = !std::isfinite(phase.cable.through()) || !std::isfinite(phase.splice.through());
            const auto piece = [&](std::vector<Point> points) { c.conductor(points, *look[k], 2.0); };
            auto near = wire;
            near.push_back({gap_x - 5.0, to});
            piece(near);
            if (!pulled && !broken) {
                piece({{gap_x - 5.0, to}, {gap_x + 5.0, to}});
                near.back().x = plan.coil_x;
            } else {
                for (const double side : {-5.0, 5.0}) {
                    const Point jag[] = {
                        {gap_x + side + 2.0, to - 5.0}, {gap_x + side - 2.0, to}, {gap_x + side + 2.0, to + 5.0}};
                    c.polyline(jag, {.colour = p.accent, .width = 1.8});
                }
                const paint::TextLook word{
                    .colour = p.accent, .size = 12, .face = Face::strong, .align = Align::centre, .halo = p.ground};
                if (plan.coil_x - bend > 44.0)
                    c.text({gap_x, to - 8.0}, pulled ? text::tr("taken off") : text::tr("open"), word);
            }
            piece({{gap_x + 5.0, to}, {plan.coil_x, to}});
            runs.push_back({near, m.amps[k]});
            // The winding: three arches, then to the star point.
            std::vector<Point> coil;
            const double length = plan.star_x - 22.0 - plan.coil_x, arch = length / 3.0;
            for (int n = 0; n < 3; ++n)
                for (int a = 0; a <= 8; ++a)
                    coil.push_back({plan.coil_x + arch * (n + 0.5) - 0.5 * arch * std::cos(a * std::numbers::pi / 8),
                                    to - 0.42 * arch * std::sin(a * std::numbers::pi / 8)});
            coil.push_back({plan.star_x, to});
            if (k != 1) coil.push_back(star);
            const bool open_winding = !std::isfinite(phase.winding.through());
            c.polyline(coil, {.colour = open_winding ? p.accent : p.ink,
                              .width = 1.8,
                              .style = open_winding ? view::LineStyle::dashed : view::LineStyle::solid});
            runs.push_back({coil, m.amps[k], false});
            const double amps = m.amps[k];
            const auto f = view::figure(std::abs(amps) < least ? 0.0 : amps, "A", 3);
            paint::value(c, {plan.star_x - 6.0, to + 16.0}, f.number, f.unit,
                         {.number = p.ink, .unit = p.ink_soft, .size = 12});
            if (works.core_at != std::array<int, 3>{0, 1, 2})
                c.text({plan.star_x + 6.0, to + 4.0}, std::string(1, "uvw"[w]),
                       {.colour = works.core_at[k] == static_cast<int>(k) ? p.ink : p.accent, .size = 12});
        }
        c.disc(star, 3.2, p.ink);
        if (plan.star_x + 18.0 < right)
            c.text(star + Point{7.0, 4.0}, "n", {.colour = p.ink, .size = 12, .face = Face::strong});
    }

    // ---- the field that turns, and the words

    static void field(PanelContext& x, const Box& box, const view::Snapshot& s, const view::Moment& m, double least) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const bool wide = box.w > 250.0;
        const double radius = std::min(wide ? 0.24 * box.w : 0.34 * box.w, wide ? 0.44 * box.h : 0.24 * box.h);
        const Point centre{wide ? box.x + radius + 2.0 : box.centre().x, box.y + radius + 4.0};
        const drive::Modulation kind = s.site->works.drive.modulation;
        const view::Turn& turn = *s.turn;
        c.circle(centre, radius, {.colour = p.rule_strong, .width = 1.2});
        const auto toward = [&](double angle, double share) {
            return centre + Point{radius * share * std::cos(angle), -radius * share * std::sin(angle)};
        };
        // The six directions the switches can pull in, the present one dark.
        if (turn.driven && turn.omega != 0.0) {
            const int now = view::step_of(kind, turn.angle_at(m.t));
            for (int n = 0; n < 6; ++n) {
                const double angle = view::first_step(kind) + (n + 0.5) * std::numbers::pi / 3.0;
                const bool is = n + 1 == now;
                c.line(toward(angle, 0.86), toward(angle, 1.0),
                       {.colour = is ? p.ink : p.rule_strong, .width = is ? 4.0 : 2.0});
            }
        }
        const bool linked = std::isfinite(m.flux[0]) && std::isfinite(m.flux[1]);
        motor::Vec3 windings{};
        for (std::size_t k = 0; k < 3; ++k) windings[static_cast<std::size_t>(s.site->works.core_at[k])] = m.amps[k];
        const motor::Vec2 tip = linked ? m.flux : motor::clarke(windings);
        double most = std::hypot(tip[0], tip[1]);
        const auto& path = linked ? s.flux_path : s.amp_path;
        for (const auto& q : path) most = std::max(most, std::hypot(q[0], q[1]));
        const bool any = most > (linked ? 1e-6 : least);
        if (any) {
            const auto at = [&](const motor::Vec2& v) {
                return centre + Point{0.8 * radius * v[0] / most, -0.8 * radius * v[1] / most};
            };
            std::vector<Point> trail;
            for (const auto& q : path) trail.push_back(at(q));
            if (trail.size() > 2) c.polyline(trail, {.colour = p.signal[0].colour, .width = 1.4}, linked);
            if (view::distance(centre, at(tip)) > 3.0) c.arrow(centre, at(tip), {.colour = p.ink, .width = 2.2});
        }
        c.disc(centre, 2.4, p.ink);
        const paint::TextLook quiet{.colour = p.ink_soft, .size = 12};
        const std::string name = !any     ? text::tr("no field")
                                 : linked ? text::tr("field in the motor")
                                          : text::tr("field of the currents");
        Box words = box;
        if (wide) {
            words.cut_left(2.0 * radius + 20.0);
            c.text({words.x, words.y + 12.0}, name, quiet);
            words.cut_top(20.0);
        } else {
            words.cut_top(2.0 * radius + 10.0);
            c.text({box.centre().x, words.y + 12.0}, name, {.colour = p.ink_soft, .size = 12, .align = Align::centre});
            words.cut_top(18.0);
        }
        std::string said = view::way_words(m, least);
        if (from_link(m) < -least) said += std::string(" ") + text::tr("It is given back to the link.");
        const paint::TextLook look{.colour = p.ink, .size = wide ? 13.0 : 12.0};
        if (c.paragraph_height(words.w, said, look) > words.h) said = said.substr(0, said.find(". ") + 1);
        if (c.paragraph_height(words.w, said, look) <= words.h) c.paragraph(words.top_left(), words.w, said, look);
    }

    std::shared_ptr<view::SharedView> shared_;
};

}  // namespace

std::unique_ptr<shell::Panel> drive_inside(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<DriveInside>(std::move(shared));
}

}  // namespace sunshaft::panels
