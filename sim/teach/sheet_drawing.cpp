// The chain from sun to tank as a section, with the number of each row at the points it touches.
#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "teach/sheet.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

using text::say, text::tr;

using report::Paper;

constexpr double words = 7.0;

class Chain {
  public:
    Chain(Paper& paper, const Sheet& sheet, double x, double y, double wide, double high)
        : p_(paper), s_(sheet), w_(sheet.works), x_(x), y_(y), wide_(wide), high_(high), ground_(y + 92.0) {}

    void draw() {
        const bool pump = w_.water.pump.index() != 0;
        p_.hatch(x_, ground_, wide_, y_ + high_ - ground_);
        p_.line(x_, ground_, x_ + wide_, ground_, 1.2);
        if (w_.supply.kind == site::Supply::Kind::array) array();
        else supply();
        if (w_.supply.kind != site::Supply::Kind::mains) drive();
        if (w_.supply.second.fitted) second();
        if (pump) well();
        else rig();
        details();
    }

  private:
    std::optional<int> number(const char* test) const {
        for (const SheetRow& row : s_.rows)
            if (std::find(row.tests.begin(), row.tests.end(), test) != row.tests.end()) return row.number;
        return std::nullopt;
    }
    void badge(double x, double y, const char* test) {
        if (const auto n = number(test)) p_.badge(x, y, *n);
    }
    void dot(double x, double y) {
        p_.ring(x, y, 2.6, 0.8);
        p_.ring(x, y, 0.8, 0.8);
    }

    void array() {
        const auto& strings = w_.array.strings;
        const std::size_t shown = std::min<std::size_t>(strings.size(), 3);
        const double left = x_ + 205, right = x_ + 372, each = 21;
        const double joint = right + 32;
        for (std::size_t n = 0; n < shown; ++n) {
            const double top = y_ + 14 + each * static_cast<double>(n);
            const std::size_t many = strings[n].modules.size(), drawn = std::min<std::size_t>(many, 24);
            const double w = (right - left) / static_cast<double>(drawn);
            for (std::size_t m = 0; m < drawn; ++m) {
                const double at = left + w * static_cast<double>(m);
                p_.box(at, top, w - 1.0, 13, 0.6);
                p_.line(at, top + 6.5, at + w - 1.0, top + 6.5, 0.4);
                p_.line(at + 0.5 * w, top, at + 0.5 * w, top + 13, 0.4);
            }
            p_.text(left - 5, top + 2, fmt::format("s{}", n + 1), {.size = words, .bold = true, .align = 1.0});
            p_.line(right, top + 6.5, joint, top + 6.5);
            p_.ring(right + 8, top + 6.5, 4.0, 0.9);
            p_.line(right + 6, top + 6.5, right + 10, top + 6.5);
        }
        const double first = y_ + 20.5, last = first + each * static_cast<double>(shown - 1);
        p_.line(joint, first, joint, last);
        badge(right + 22, first - 7, "string-clamps");
        badge(left - 26, y_ + 24, "module-volts");
        const std::size_t modules = strings.empty() ? 0 : strings.front().modules.size();
        p_.text(left, y_ + 1,
                strings.size() == 1      ? say("one string of {} modules", modules)
                : strings.size() > shown ? say("{} strings of {} modules, three drawn", strings.size(), modules)
                                         : say("{} strings of {} modules", strings.size(), modules),
                {.size = words});
        // Posts, and the frame's bond.
        const double under = last + 6.5;
        for (const double at : {left + 20, right - 20}) p_.line(at, under, at, ground_, 1.0);
        p_.path({{right - 20, under + 6}, {right - 6, under + 6}, {right - 6, ground_}}, 0.6, true);
        p_.earth(right - 6, ground_);
        badge(right - 6, under + 12, "array-insulation");
        // Isolator.
        const double iso = joint + 12, mid = 0.5 * (first + last);
        p_.line(joint, mid, iso, mid);
        p_.box(iso, mid - 13, 30, 26, 0.9);
        dot(iso + 7, mid - 4);
        dot(iso + 7, mid + 6);
        p_.line(iso + 10, mid - 5, iso + 20, mid - 9);
        p_.line(iso + 10, mid + 5, iso + 20, mid + 1);
        p_.line(iso + 20, mid - 4, iso + 30, mid - 4);
        p_.line(iso + 20, mid + 6, iso + 30, mid + 6);
        p_.line(iso + 30, mid - 4, drive_x(), mid - 4);
        p_.line(iso + 30, mid + 6, drive_x(), mid + 6);
        p_.text(iso + 15, mid + 14, tr("isolator"), {.size = words, .align = 0.5});
        badge(iso + 15, mid - 21, "open-circuit-volts");
    }
    // Below the isolator, by the change-over switch to the drive's input.
    void second() {
        const double left = drive_x() - 74, top = y_ + 70, turn = drive_x() + 12;
        p_.box(left, top, 62, 17, 0.9);
        const std::string volts = printed(text::quantity(s_.works.supply.second.line_V(), "V", 3));
        p_.text(left + 31, top + 4, s_.works.supply.second.mains ? say("mains {}", volts) : say("generator {}", volts),
                {.size = words, .align = 0.5});
        p_.path({{left + 62, top + 8}, {turn, top + 8}, {turn, y_ + 66}});
        p_.ring(turn, top + 8, 2.6, 0.8);
        badge(left - 9, top + 8, "second-volts");
    }
    void supply() {
        const bool mains = w_.supply.kind == site::Supply::Kind::mains;
        p_.box(x_ + 250, y_ + 26, 110, 36, 0.9);
        p_.text(x_ + 305, y_ + 33, mains ? tr("Three-phase mains") : tr("Bench supply"),
                {.size = 8, .bold = true, .align = 0.5});
        p_.text(x_ + 305, y_ + 46, printed(text::quantity(w_.supply.voltage, "V", 3)), {.size = words, .align = 0.5});
        if (mains) {
            p_.path({{x_ + 360, y_ + 44}, {x_ + 400, y_ + 44}, {x_ + 400, ground_ + 8}, {x_ + 140, ground_ + 8}});
            return;
        }
        for (const double at : {38.0, 50.0}) p_.line(x_ + 360, y_ + at, drive_x(), y_ + at);
    }
    double drive_x() const { return x_ + wide_ - 76; }

    void drive() {
        const double left = drive_x();
        p_.box(left, y_ + 8, 76, 58, 0.9);
        p_.text(left + 6, y_ + 12, tr("Drive"), {.size = 8, .bold = true});
        const bool six = w_.drive.modulation == site::Modulation::six_step_180 ||
                         w_.drive.modulation == site::Modulation::six_step_120;
        p_.text(left + 6, y_ + 23, six ? tr("square wave") : "PWM", {.size = words});
        p_.text(left + 6, y_ + 53, tr("terminals: detail A"), {.size = words});
        p_.line(left + 50, y_ + 66, left + 50, ground_, 2.0);
    }
    void cable_to(double x, double down) {
        if (w_.supply.kind == site::Supply::Kind::mains) return;
        const double along = ground_ + 8;
        p_.path({{drive_x() + 30, y_ + 66}, {drive_x() + 30, along}, {x, along}, {x, down}}, 1.4);
    }

    void well() {
        const double left = x_ + 118, right = left + 34, bottom = y_ + high_ - 4, pump = bottom - 46;
        // Bore: white, its walls.
        p_.box(left, ground_ - 6, right - left, bottom - ground_ + 6, 0.0);
        p_.line(left, ground_ - 6, left, bottom, 1.2);
        p_.line(right, ground_ - 6, right, bottom, 1.2);
        // Water at rest, pump, motor.
        const double water = ground_ + 20;
        p_.line(left + 1, water, right - 1, water, 0.7, true);
        for (double at = water + 5; at < pump - 3; at += 5) p_.line(left + 4, at, right - 4, at, 0.35, true);
        p_.box(left + 9, pump, 16, 16, 0.9);
        p_.hatch(left + 9, pump, 16, 16, 4.0);
        p_.box(left + 8, pump + 18, 18, 20, 0.9);
        p_.text(left + 17, pump + 22, "M", {.size = 8, .bold = true, .align = 0.5});
        cable_to(right - 5, pump + 18);
        p_.box(right - 7.5, pump - 12, 5, 8, 0.8);  // splice
        // Rising main to the tank.
        const double tank = x_ + 8, tank_top = y_ + 26;
        p_.path({{left + 17, pump},
                 {left + 17, ground_ - 12},
                 {left - 28, ground_ - 12},
                 {left - 28, tank_top - 8},
                 {tank + 44, tank_top - 8},
                 {tank + 44, tank_top + 4}},
                2.2);
        p_.box(tank, tank_top, 60, 34, 1.0);
        for (const double at : {14.0, 20.0, 26.0})
            p_.line(tank + 4, tank_top + at, tank + 56, tank_top + at, 0.4, true);
        p_.line(tank + 6, tank_top + 34, tank + 6, ground_);
        p_.line(tank + 54, tank_top + 34, tank + 54, ground_);
        p_.text(tank, tank_top - 22, tr("tank"), {.size = words});
        badge(tank + 34, tank_top - 16, "bucket");
        p_.ring(left - 12, ground_ - 19, 4.5, 0.9);
        p_.line(left - 12, ground_ - 19, left - 10, ground_ - 22);
        badge(left - 12, ground_ - 33, "gauge");
        badge(left + 45, ground_ + 22, "dip");
        p_.line(left + 17 + 11, water - 1, left + 38, ground_ + 22, 0.6);
        const auto& h = w_.water;
        const auto note = [&](double at, const std::string& line) {
            p_.label(left - 6, at, printed(line), {.size = words, .align = 1.0});
        };
        note(water - 4, say("water at rest {}", text::quantity(h.static_level, "m", 3)));
        note(pump - 13, tr("splice"));
        note(pump + 3, say("pump at {}", text::quantity(h.pump_depth, "m", 3)));
        note(pump + 23, tr("motor"));
    }
    void rig() {
        const double left = x_ + 40, top = ground_ - 42;
        p_.box(left, top, 90, 42, 1.0);
        p_.text(left + 45, top + 8, "M", {.size = 12, .bold = true, .align = 0.5});
        p_.text(left + 45, top + 26, tr("motor on the bench"), {.size = words, .align = 0.5});
        cable_to(left + 80, ground_);
    }

    void details() {
        const bool mains = w_.supply.kind == site::Supply::Kind::mains;
        const double top = ground_ + 24, high = y_ + high_ - top - 4;
        if (!mains) {
            const double left = x_ + 205;
            p_.box(left, top, 196, high, 0.9);
            p_.text(left + 6, top + 4, tr("Detail A, terminals of the drive"), {.size = 7.5, .bold = true});
            p_.line(left, top + 16, left + 196, top + 16, 0.6);
            double at = left + 12;
            const double y = top + high - 20, mark = y - 19;
            const auto pair = [&](const char* name, bool there, std::initializer_list<const char*> tests) {
                if (!there) return;
                dot(at, y);
                dot(at + 12, y);
                p_.text(at + 6, y + 5, name, {.size = words, .align = 0.5});
                double x = at + 6 - 7.5 * static_cast<double>(tests.size() - 1);
                for (const char* test : tests) badge(x, mark, test), x += 15;
                at += 37;
            };
            pair(tr("probe"), w_.guards.dry.fitted, {"guard-ohms"});
            pair(tr("float"), w_.guards.full.fitted, {"guard-ohms"});
            pair("dc+ dc-", true, {"input-ohms", "link-volts"});
            for (const char* letter : {"u", "v", "w"}) {
                p_.line(at, y - 2.6, at, y - 11);
                dot(at, y);
                p_.text(at, y + 5, letter, {.size = words, .align = 0.5});
                at += 20;
            }
            badge(at - 50, mark, "output-volts");
            p_.line(at - 24, y - 7, at - 16, y - 7, 1.4);
            badge(at - 16, mark, "line-clamps");
        }
        const double left = x_ + 411, wide = x_ + wide_ - left;
        p_.box(left, top, wide, high, 0.9);
        p_.text(left + 6, top + 4, tr("Detail B, pump wires off"), {.size = 7.5, .bold = true});
        p_.line(left, top + 16, left + wide, top + 16, 0.6);
        for (int k = 0; k < 3; ++k) {
            const double at = left + 14 + 17 * k;
            dot(at, top + 36);
            p_.text(at, top + 22, site::phase_letter[static_cast<std::size_t>(k)],
                    {.size = words, .bold = true, .align = 0.5});
            p_.path({{at, top + 39}, {at, top + 48}, {left + 31, top + high - 8}}, 0.9);
        }
        double y = top + 26;
        const double step = std::min(15.0, (high - 22.0) / 3.0);
        for (const auto& [test, name] : {std::pair{"winding-ohms", tr("ohms, pairs")},
                                         {"cable-insulation", tr("to earth")},
                                         {"core-capacitance", tr("to earth")}})
            if (number(test)) {
                badge(left + 66, y, test);
                p_.text(left + 76, y - 4.5, name, {.size = words});
                y += step;
            }
    }

    Paper& p_;
    const Sheet& s_;
    const site::Works& w_;
    double x_, y_, wide_, high_, ground_;
};

}  // namespace

void draw_chain(report::Paper& paper, const Sheet& sheet, double x, double y, double wide, double high) {
    Chain(paper, sheet, x, y, wide, high).draw();
}

}  // namespace sunshaft::teach
