#include "panels/grips.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "model/desk.hpp"
#include "model/site_offers.hpp"
#include "panels/cutaway_second.hpp"
#include "panels/cutaway_sky.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Part;
using view::Point;

namespace {

constexpr double kMoves = 5.0;     // units until a press is a drag
constexpr double kOut = 18.0;      // units a thing is pulled until it is out
constexpr double kNoReturn = 0.6;  // of the way
constexpr const char* kValve = "rising_main.valve_opening";
constexpr const char* kCloud = "cloud";
constexpr const char* kShade = "shaded-module";
constexpr double kTurn = 2 * std::numbers::pi;  // of the wheel, from open to shut

Point pivot(const Box& lever) { return {lever.x + 8, lever.y + 8}; }
double angle(Point of, Point about) { return std::atan2(of.y - about.y, of.x - about.x); }
double opening(double was, double turned) { return std::clamp(was - turned / kTurn, 0.0, 1.0); }
double opening(const site::Works& w) { return w.water.valve_shut ? 0.0 : w.water.valve_opening; }

}  // namespace

void Grips::lay_out(const view::SiteDrawing& d, const view::Snapshot& s) {
    lever_ = roll_ = wheel_ = cloud_ = changeover_ = {};
    for (const Part& part : d.parts) {
        if (part.kind == Part::Kind::isolator && !part.box.empty())
            lever_ = part, lever_.box = {d.isolator.centre().x - 8, d.isolator.bottom(), 28, 28};
        if (part.kind == Part::Kind::changeover) changeover_ = part, changeover_.box = changeover_lever(*d.change_over);
        if (part.kind == Part::Kind::array && !part.apart && !part.box.empty()) {
            Box roll{d.array.x - 12, d.array.y, 8, d.array.h};
            // A low sun is not hidden by it: the longer of what is left above and below.
            if (d.sun && meet(roll, sun_disc(*d.sun))) {
                const Box sun = sun_disc(*d.sun).inset(-3);
                const double above = sun.y - roll.y, below = roll.bottom() - sun.bottom();
                if (below > above) roll.y = sun.bottom();
                roll.h = std::max(above, below);
            }
            if (!on_main(d, roll)) roll_ = part, roll_.box = roll;
        }
    }
    array_wide_ = std::max(1.0, d.array.w);
    if (d.main.size() > 1) wheel_.box = {d.valve.x - 11, d.valve.y - 11, 22, 22}, wheel_.place = kValve;
    // In the clear sky behind the modules, or over the first that is in the shade.
    modules_.clear();
    for (std::size_t n = 0; n < d.strings.size(); ++n)
        for (std::size_t m = 0; m < d.strings[n].modules.size(); ++m)
            modules_.emplace_back(fmt::format("s{}.m{}", n + 1, m + 1), d.strings[n].modules[m].box);
    shaded_.clear();
    for (const auto& f : s.edits.faults)
        if (shaded_.empty() && f.kind == kShade) shaded_ = f.place;
    if (s.hidden || modules_.empty()) return;
    Point at = cloud_rest_ = cloud_rest(d).centre();
    for (const auto& [name, box] : modules_)
        if (name == shaded_) at = box.centre();
    const Box box{at.x - 22, at.y - 12, 44, 24};
    if (meet(box, d.drive.inset(-4)) || (!d.isolator.empty() && meet(box, d.isolator.inset(-4)))) return;
    cloud_.box = box, cloud_.place = kCloud;
}

const Part* Grips::beside(Point mouse) const {
    for (const Part* part : {&cloud_, &lever_, &changeover_, &roll_, &wheel_})
        if (part->box.contains(mouse)) return part;
    return nullptr;
}

void Grips::targets(const PanelContext& x) const {
    x.target("lever", lever_.box);
    x.target("change-over lever", changeover_.box);
    x.target("cover roll", roll_.box);
    x.target("wheel", wheel_.box);
    x.target(kCloud, cloud_.box);
    for (const auto& [name, box] : modules_) x.target("module " + name, box);
}

void Grips::take(const Part& part, Point mouse) {
    part_ = part;
    on_lever_ = part.kind == Part::Kind::isolator && lever_.box.contains(mouse);
    moved_ = false;
    from_ = at_ = mouse;
    turned_ = 0.0;
    asked_.reset();
}

// The card still stands that this hand has called.
bool Grips::asks() const {
    return asked_ && shared_->asked && shared_->asked->kind == asked_->kind && shared_->asked->place == asked_->place;
}

double Grips::share() const {
    if (!part_) return 0.0;
    if (part_->kind == Part::Kind::array)
        return std::clamp((part_->apart ? from_.x - at_.x : at_.x - from_.x) / array_wide_, 0.0, 1.0);
    if (on_lever_) {
        const double turn = std::clamp(angle(at_, pivot(lever_.box)) / (std::numbers::pi / 2), 0.0, 1.0);
        return part_->apart ? 1.0 - turn : turn;
    }
    return std::min(1.0, view::distance(at_, from_) / kOut);
}

std::optional<Part> Grips::follow(PanelContext& x, const view::Snapshot& s) {
    if (!part_) return {};
    if (asked_) {
        if (!asks()) part_.reset(), asked_.reset();
        return {};
    }
    const bool wheel = part_->place == kValve;
    if (wheel && !moved_) valve_ = opening(s.site->works);
    if (wheel) {
        // Past half a turn the angle starts anew.
        const double step = std::remainder(angle(x.input.mouse, wheel_.box.centre()) - angle(at_, wheel_.box.centre()),
                                           2 * std::numbers::pi);
        turned_ = valve_ - opening(valve_, turned_ + step);
        turned_ *= kTurn;
    }
    at_ = x.input.mouse;
    moved_ = moved_ || view::distance(at_, from_) > kMoves;
    x.wake_in(0.016);
    if (wheel && moved_)
        if (const std::string act = view::valve_act(s.site->works, opening(valve_, turned_)); !act.empty()) {
            shared_->asked = asked_ = {act, "valve"};
            return {};
        }
    if (x.input.released[left_button]) {
        const Part part = *std::exchange(part_, std::nullopt);
        if (part.place == kCloud && moved_) drop_cloud(*x.desk, at_);
        if (wheel && moved_ && !s.site->works.water.valve_shut)
            x.desk->set(kValve, fmt::format("{:.2f}", opening(valve_, turned_)));
        return moved_ || wheel || part.place == kCloud ? std::nullopt : std::optional(part);
    }
    if (wheel || part_->place == kCloud || share() < kNoReturn) return {};
    const auto offers = view::offers(*s.site, *part_);
    if (offers.empty()) part_.reset();
    else shared_->asked = asked_ = {offers.front().kind, offers.front().place};
    return {};
}

// Shade where it was let go of, and light where it came from: one act.
void Grips::drop_cloud(view::Desk& desk, Point at) const {
    const auto under = std::ranges::find_if(modules_, [at](const auto& m) { return m.second.contains(at); });
    const std::string to = under == modules_.end() ? "" : under->first;
    if (to == shaded_) return;
    if (to.empty()) desk.heal(kShade, shaded_);
    else if (shaded_.empty()) desk.plant(kShade, to, site::find_fault(kShade)->usual);
    else desk.move_fault(kShade, shaded_, to);
}

// To the next module that way, or off them all to where it rests.
void Grips::blow_cloud(view::Desk& desk, Point way) const {
    const Point from = cloud_.box.centre();
    std::optional<Point> to;
    double best = view::not_that_way;
    const auto look = [&](Point at) {
        if (const double far = view::far_on(from, at, way); far < best) best = far, to = at;
    };
    for (const auto& [name, box] : modules_) look(box.centre());
    if (!shaded_.empty()) look(cloud_rest_);
    if (to) drop_cloud(desk, *to);
}

void Grips::join_ring(PanelContext& x) {
    const auto stop = [&](const char* name, const Box& box) {
        const bool on = !box.empty() && x.ring.add(static_cast<WidgetId>(std::hash<std::string>{}(name)));
        if (!on) return false;
        focus_mark(x, box);
        x.target(fmt::format("keyboard at {}", name), box);
        return true;
    };
    on_wheel_ = stop("wheel", wheel_.box);
    on_cloud_ = stop(kCloud, cloud_.box);
}

void Grips::keys(PanelContext& x, const view::Snapshot& s) const {
    for (const auto& [key, way] : arrow_ways) {
        if (on_wheel_ && way.x != 0 && x.input.take(key)) turn_valve(*x.desk, s, static_cast<int>(way.x));
        if (on_cloud_ && x.input.take(key)) blow_cloud(*x.desk, way);
    }
}

void Grips::turn_valve(view::Desk& desk, const view::Snapshot& s, int step) const {
    const double to = std::clamp(opening(s.site->works) + 0.1001 * step, 0.0, 1.0);
    if (!s.site->works.water.valve_shut || !view::valve_act(s.site->works, to).empty())
        desk.set(kValve, fmt::format("{:.2f}", to));
}

void Grips::paint(Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p) const {
    const double out = part_ && (moved_ || asked_) ? share() : 0.0;
    const auto holds = [&](Part::Kind kind) {
        return part_ && part_->place != kValve && part_->place != kCloud && part_->kind == kind;
    };
    if (!cloud_.box.empty()) {
        const Point at = part_ && part_->place == kCloud ? at_ : cloud_.box.centre();
        const Colour grey = view::mix(p.sheet, p.steel, 0.55);
        c.fill(Box{at.x - 19, at.y, 38, 9}, grey.faded(0.95), 4.5);
        for (const auto& [dx, dy, r] : {std::array{-9.0, -1.0, 8.0}, {4.0, -3.0, 9.5}, {13.0, 2.0, 6.0}})
            c.disc(at + Point{dx, dy}, r, grey.faded(0.95));
        c.mark({at.x - 18, at.y - 11, 36, 20}, kCloud);
    }
    if (!lever_.box.empty()) {
        const double turn = holds(Part::Kind::isolator) ? (lever_.apart ? 1.0 - out : out) : lever_.apart ? 1.0 : 0.0;
        const Point from = pivot(lever_.box);
        const double a = turn * std::numbers::pi / 2;
        const Point to = from + Point{17 * std::cos(a), 17 * std::sin(a)};
        c.line({from.x, d.isolator.bottom()}, from, {.colour = p.ink, .width = 2.0});
        c.line(from, to, {.colour = lever_.apart ? p.accent : p.ink, .width = 5.0, .cap = paint::Cap::round});
        c.disc(from, 5, p.ink);
        c.disc(from, 2.4, p.sheet);
        c.mark({from.x - 5, from.y - 5, 10, 10}, "lever");
    }
    if (d.change_over) {
        const double turn = holds(Part::Kind::changeover) ? out : 0.0;
        paint_changeover_lever(c, *d.change_over, d.change_over->chosen ? 1.0 - turn : turn, p);
    }
    if (!roll_.box.empty()) {
        c.fill(roll_.box, p.steel_dark, 3);
        c.outline(roll_.box, {.colour = p.ink, .width = 1.2}, 3);
        c.mark(roll_.box, "cover, rolled up");
    }
    if (holds(Part::Kind::array) && out > 0.0 && !part_->apart)
        for (const auto& string : d.strings) {
            if (string.modules.empty()) continue;
            const Box &a = string.modules.front().box, &b = string.modules.back().box;
            const double left = std::min(a.x, b.x) - 2, wide = std::max(a.right(), b.right()) + 2 - left;
            const Box cover{left, a.y - 2, wide * out, a.h + 4};
            c.fill(cover, p.steel_dark);
            c.frame(cover, p.ink);
        }
    if (!wheel_.box.empty()) {
        const bool turns = part_ && part_->place == kValve;
        const double open = turns ? opening(valve_, turned_) : opening(s.site->works);
        const Point at = wheel_.box.centre();
        const Colour rim = open < 0.995 ? p.accent : p.ink;
        c.disc(at, 8.5, p.sheet);
        c.circle(at, 8.5, {.colour = rim, .width = 2.4});
        for (int k = 0; k < 4; ++k) {
            const double a = (1.0 - open) * kTurn + k * std::numbers::pi / 2;
            c.line(at, at + Point{8 * std::cos(a), 8 * std::sin(a)}, {.colour = rim, .width = 1.6});
        }
        if (turns)
            c.text(at + Point{14, -8}, text::say("{:.0f} % open", 100 * open),
                   {.colour = p.ink, .size = 12, .face = Face::strong, .halo = p.ground});
    }
    // The two poles tied together.
    if (d.array_shorted)
        c.line(d.poles_in[0], d.poles_in[1], {.colour = p.accent, .width = 4.0, .cap = paint::Cap::round});
    if (!part_ || out <= 0.0) return;
    std::optional<Point> anchor;
    if (holds(Part::Kind::connector)) {
        for (const auto& string : d.strings)
            for (const auto& joint : string.joints)
                if (joint.place == part_->place) anchor = joint.b;
    } else if (holds(Part::Kind::wire)) {
        for (std::size_t k = 0; k < 3; ++k)
            if (part_->place == std::string(1, "uvw"[k])) anchor = d.pulled[k] ? d.lead_end[k] : d.terminal[k];
    } else if (holds(Part::Kind::fuse) || holds(Part::Kind::guard)) {
        anchor = part_->box.centre();
    }
    if (!anchor) return;
    c.line(*anchor, at_, {.colour = p.ink, .width = 4.0, .cap = paint::Cap::round});
    c.line(*anchor, at_, {.colour = p.accent, .width = 2.0, .cap = paint::Cap::round});
    c.disc(at_, 5, p.accent);
}

}  // namespace sunshaft::panels
