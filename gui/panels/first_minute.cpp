#include "panels/first_minute.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "model/desk.hpp"
#include "model/setup.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

constexpr double kAlone = 5.0;  // s nobody touches anything, then the lead sways
constexpr double kSway = 1.8;   // s there and back
constexpr double kMinute = 60.0;

bool touched(const Input& in) {
    const auto any = [](const std::array<bool, 3>& b) { return b[0] || b[1] || b[2]; };
    return in.moved != Point{} || in.wheel != 0.0 || !in.keys.empty() || any(in.pressed) || any(in.down);
}

void rings(Canvas& c, const Box& box, Colour light) {
    c.outline(box.inset(-3), {.colour = light, .width = 2.0}, 6);
    c.outline(box.inset(-7), {.colour = light.faded(0.5), .width = 1.4}, 9);
    c.cue(box, "glowing");
}

}  // namespace

// Acts, settings and faults of the drawer: a bench at work.
bool FirstMinute::goes_on(const view::Desk& desk) const {
    bench::Edits others = desk.edits();
    std::erase_if(others.faults, [this](const site::Fault& f) {
        return std::ranges::any_of(parts_, [&](const Glow& g) { return g.kind == f.kind && g.place == f.place; });
    });
    return desk.marks_hidden || !view::same(others, found_->edits);
}

void FirstMinute::follow(PanelContext& x, const view::SiteDrawing& drawing, bool carried) {
    tip_.reset();
    still_.clear();
    const double now = x.input.now;
    if (x.window.cues == view::Cues::off) {
        *this = {};
        return;
    }
    if (!found_) found_ = {x.desk->probes(), x.desk->edits()}, since_ = now;
    const auto& faults = x.desk->edits().faults;
    const bool broken = stage_ == Stage::glows && faults.size() > found_->edits.faults.size();
    if (goes_on(*x.desk) || (stage_ == Stage::glows && !broken && now > since_ + kMinute)) {
        x.window.cues = view::Cues::off;
        *this = {};
        return;
    }
    if (stage_ != Stage::glows && !carried && x.desk->probes() != found_->probes) stage_ = Stage::glows, since_ = now;
    if (stage_ == Stage::glows) {
        if (broken) since_ = now;
        else x.wake_in(since_ + kMinute - now + 0.01);
        find_parts(drawing, x.desk->truth()->site->works);
        return;
    }
    if (stage_ == Stage::fresh) {
        if (touched(x.input)) since_ = now;
        if (now < since_ + kAlone) return x.wake_in(since_ + kAlone - now);
        stage_ = Stage::sways, since_ = now;
    }
    sway(x, drawing);
}

// The black lead's tip, towards the terminal of the drive that no lead is on.
void FirstMinute::sway(PanelContext& x, const view::SiteDrawing& drawing) {
    const auto& probes = x.desk->probes();
    const auto* from = drawing.dot(probes.black);
    const view::Dot* to = nullptr;
    for (const char* name : {"drive.w", "drive.v", "drive.u"})
        if (!to && name != probes.red && name != probes.black) to = drawing.dot(name);
    if (!from || !to) return;
    const double far = view::distance(from->at, to->at);
    const Point beside = view::lerp(from->at, to->at, std::max(0.6, 1.0 - 9.0 / far));
    if (x.window.cues == view::Cues::still || x.window.is_calm()) {
        still_ = {from->at, to->at};
        return;
    }
    if (stage_ != Stage::sways) return;
    const double share = (x.input.now - since_) / kSway;
    if (share >= 1.0 || x.input.pressed[left_button]) {
        stage_ = Stage::swayed;
        return;
    }
    const double along = std::pow(std::sin(std::numbers::pi * share), 2);
    tip_ = view::lerp(from->at, beside, along) + Point{0, 6.0 * along};
    x.wake_in(0.016);
}

void FirstMinute::cue_sway(Canvas& c, const view::Palette& p) const {
    if (tip_) c.cue({tip_->x - 5, tip_->y - 5, 10, 10}, "moving");
    for (const Point& at : still_) rings(c, {at.x - 6, at.y - 6, 12, 12}, p.sun);
}

// From the sun to the water: a module, the joint in the cable, the pump; what the site has of them.
void FirstMinute::find_parts(const view::SiteDrawing& drawing, const site::Works& works) {
    parts_.clear();
    const auto part = [&](const Box& box, const char* kind, const std::string& place) {
        const auto* row = site::find_fault(kind);
        const auto places = row->places(works);
        if (std::ranges::find(places, place) == places.end()) return;
        const double wider = std::max(0.0, 24 - box.w) / 2, higher = std::max(0.0, 24 - box.h) / 2;
        parts_.push_back({box.inset(-wider, -higher), kind, place});
    };
    if (!drawing.strings.empty() && !drawing.strings[0].modules.empty()) {
        const auto& modules = drawing.strings[0].modules;
        const std::size_t n =
            std::min<std::size_t>(3, modules.size() - 1);  // its mark stands clear of the string's words
        part(modules[n].box, "module-dead", fmt::format("s1.m{}", n + 1));
    }
    if (!drawing.bore) return;
    const auto& bore = *drawing.bore;
    part({bore.core_x[0] - 3, bore.splice_y - 8, bore.core_x[2] - bore.core_x[0] + 6, 16}, "lost-phase", "splice.w");
    part(bore.pump, "worn-pump", "pump");
}

bool FirstMinute::takes(Point mouse) const {
    return std::ranges::any_of(parts_, [&](const Glow& g) { return g.box.contains(mouse); });
}

void FirstMinute::glow(PanelContext& x, Canvas& c) {
    const view::Palette& p = x.palette();
    for (const Glow& g : parts_) {
        const auto& faults = x.desk->edits().faults;
        const bool broken =
            std::ranges::any_of(faults, [&](const site::Fault& f) { return f.kind == g.kind && f.place == g.place; });
        const Touch t = touch(x, "glow " + g.place, g.box);
        const Colour light = broken ? p.accent : p.sun;
        c.fill(g.box.inset(-3), light.faded(t.hovered ? 0.4 : 0.22), 6);
        rings(c, g.box, light);
        if (t.focused) focus_mark(x, g.box.inset(-9));
        if (!t.clicked) continue;
        since_ = x.input.now;
        if (broken) x.desk->heal(g.kind, g.place);
        else x.desk->plant(g.kind, g.place, site::find_fault(g.kind)->usual);
        return;
    }
}

}  // namespace sunshaft::panels
