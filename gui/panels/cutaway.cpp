// Cutaway: the site in section. Leads and clamp go onto dots and rings by hand; parts are parted and joined.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <utility>

#include "model/desk.hpp"
#include "model/point_words.hpp"
#include "model/site_drawing.hpp"
#include "model/site_offers.hpp"
#include "panels/below_ground.hpp"
#include "panels/case_marks.hpp"
#include "panels/cutaway_paint.hpp"
#include "panels/first_minute.hpp"
#include "panels/grips.hpp"
#include "panels/hand_glass.hpp"
#include "panels/lead_keys.hpp"
#include "panels/lead_names.hpp"
#include "panels/lens.hpp"
#include "panels/panels.hpp"
#include "panels/part_menu.hpp"
#include "panels/wipe.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using text::id, text::say, text::tr, view::Box, view::Point;

class Cutaway : public Panel {
  public:
    explicit Cutaway(std::shared_ptr<view::SharedView> shared)
        : shared_(std::move(shared)), grips_(shared_), menu_(shared_) {}
    Place place() const override { return Place::cutaway; }
    const char* title() const override { return id("Cutaway, section through the bore"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        drawn_ = true;
        drawing_ = view::draw_site(*s->site, x.box, view::moving_part(*s), sheet_);
        drawing_.keys = x.keys;
        if (s->hidden) {
            const auto on_sheet = [&sheets = drawing_.sheets](const view::Dot& dot) {
                return sheets.splice.contains(dot.at) || sheets.motor.contains(dot.at) || sheets.power.contains(dot.at);
            };
            std::erase_if(drawing_.dots, on_sheet);
            const auto below = [&](const auto& it) {
                return s->sealed && drawing_.bore && it.at.y > surface_at(drawing_, it.at.x);
            };
            std::erase_if(drawing_.dots, below);
            std::erase_if(drawing_.rings, below);
        }
        minute_.follow(x, drawing_, held_ != Lead::none);
        grips_.lay_out(drawing_, *s);
        find_lens(x);
        if (sun_ && drawing_.sun)
            drawing_.sun->hours = drawing_.sun->hours_at(x.input.mouse),
            drawing_.sun->at = drawing_.sun->on_arc(drawing_.sun->hours);
        paint_cutaway(x, *s, drawing_, sheet_, sun_);
        bool wiping = false;
        {
            Child child = x.child("marks", x.box);
            Canvas c = child.canvas();
            paint::title(c, {x.box.x + 16, x.box.y + 20},
                         s->sealed                                ? tr("What your eyes see")
                         : x.box.w <= 640                         ? tr("Cutaway")
                         : s->site->works.water.pump.index() == 0 ? tr("Cutaway, the bench")
                                                                  : tr(title()),
                         p.ink_soft);
            if (!(s->sealed && drawing_.bore) && drawing_.sheets.chooser) choose_sheet(x);
            grips_.paint(c, drawing_, *s, p);
            minute_.glow(x, c);
            marks(x, c, *s, p);
            dots(x, c, *s, p);
            case_marks(x, c, drawing_, *shared_);
            // Pairs of values flank the bore's axis, and a rule that is looked at.
            const double axis = drawing_.bore ? drawing_.bore->box.centre().x : -1.0;
            wipe_key(x, *s, {x.box.x + 16, x.box.y + 30}, axis > 0.0 ? axis : x.box.centre().x);
            wiping = wipe_hands(x, *s, x.box, axis > 0.0 ? std::optional(axis) : std::nullopt);
            pairs_ = wiping || x.window.wipe == axis;
        }
        if (lens_) Child glass = x.child("glass", lens_box());  // what lies under it cannot be pressed
        if (!wiping || held_ != Lead::none) hands(x, *s);
        pointer(x);
        menu_.draw(x, *s);
        if (s->running == view::Running::run && s->now.speed != 0) x.wake_in(0.033);
    }

    void draw_over(PanelContext& x) override {
        if (!x.desk || !std::exchange(drawn_, false)) return;  // hidden: no leads either
        const view::Palette& p = x.palette();
        Canvas c = x.overlay();
        const auto& probes = x.desk->probes();
        const Point edge{drawing_.box.right(), drawing_.box.y + 80};
        const auto jacks =
            shared_->jacks.value_or(view::SharedView::Jacks{edge, edge + Point{0, 24}, edge + Point{0, 80}});
        // A lead in the hand snaps to the dot it reads.
        const auto hangs = in_hand_at();
        const auto end = [&](Lead which, const std::string& point) {
            if (hangs && keys_.in_hand() == which) return std::optional(hangs->at + Point{9, -13});
            return held_ == which && (lens_ || point.empty()) ? std::optional(x.input.mouse) : dot_at(point);
        };
        lead(c, end(Lead::red, probes.red), jacks.red, p.lead_red, p);
        lead(c, minute_.sway() ? minute_.sway() : end(Lead::black, probes.black), jacks.black, p.lead_black, p);
        minute_.cue_sway(c, p);
        std::optional<Point> jaw;
        if (held_ == Lead::clamp) jaw = x.input.mouse;
        else if (hangs && keys_.in_hand() == Lead::clamp) jaw = hangs->at + Point{9, -13};
        else if (const auto* ring = drawing_.ring(probes.around)) {
            jaw = ring->at + Point{0, ring->ry + 4};
            ellipse(c, *ring, 4, {.colour = p.lead_clamp.core, .width = 4});
            ellipse(c, *ring, 4, {.colour = p.accent, .width = 1.4});
        }
        if (jaw) lead(c, jaw, jacks.clamp, p.lead_clamp, p);
        wipe_rule(x, *x.desk->snapshot(), drawing_.box, pairs_);
        for (const auto& [box, line] : tags_) {
            paint::sheet(c, box, p.sheet, p.accent);
            c.text({box.x + 6, box.y + 14}, line, tag_look(p));
        }
        glass_.draw(x, c, drawing_, *x.desk->snapshot());
        if (hangs) keys_.draw(x, spots(*x.desk, keys_.in_hand()), *hangs, drawing_.box);
        if (!lens_) return;
        paint_lens(c, *lens_, drawing_, under_glass_, probes, p);
        if (held_ != Lead::none)
            c.disc(x.input.mouse, 5.0,
                   held_ == Lead::red     ? p.lead_red.core
                   : held_ == Lead::black ? p.lead_black.core
                                          : p.lead_clamp.core);
    }

  private:
    // ---- the glass over what stands too close for a hand

    // It opens by itself over a crowded place as a lead slows down there, or the bare mouse has rested; it goes as the
    // mouse leaves it.
    void find_lens(PanelContext& x) {
        if (glass_.on()) return lens_.reset();
        const double rested = held_ != Lead::none ? 0.06 : 0.12;  // s
        const Point m = x.input.mouse;
        const bool over = x.box.contains(m) && (held_ != Lead::none || lens_ || x.hovers(x.box));
        if (menu_.is_open() || sun_ || grips_.held() || !over || minute_.takes(m) || (lens_ && !lens_->covers(m)) ||
            (!x.input.typing && lens_ && x.input.take(Key::Escape)))
            lens_.reset();
        if (lens_ || menu_.is_open() || sun_ || grips_.held() || !over || minute_.takes(m)) return;
        // A press means what was in sight before it, however long the frame took.
        if (x.input.pressed[left_button] || x.input.pressed[right_button] || x.input.released[left_button]) return;
        const auto found = view::lens_over(drawing_, m);
        if (!found) return;
        if (x.input.still_for >= rested) lens_ = found;
        else x.wake_in(rested);
    }
    Box lens_box() const {
        return {lens_->centre.x - lens_->radius, lens_->centre.y - lens_->radius, 2 * lens_->radius, 2 * lens_->radius};
    }
    // Where in the drawing the hand is, and how near counts there.
    Point hand(Point mouse) const { return lens_ ? lens_->in_drawing(mouse) : mouse; }
    double reach() const { return reach(lens_.has_value()); }
    double reach(bool glass) const { return view::dot_reach / (glass ? lens_->zoom : 1.0); }

    // Of a lead taken up by key.
    std::optional<view::Spot> in_hand_at() const {
        if (!keys_.holds() || (!focused_dot_ && !focused_ring_)) return {};
        return focused_dot_ ? view::Spot{focused_dot_->name, "", focused_dot_->at}
                            : view::Spot{focused_ring_->name, "", focused_ring_->at};
    }
    std::optional<Point> dot_at(const std::string& name) const {
        const auto* dot = name.empty() ? nullptr : drawing_.dot(name);
        return dot ? std::optional(dot->at) : std::nullopt;
    }
    static void lead(Canvas& c, const std::optional<Point>& end, Point jack, const view::ConductorLook& look,
                     const view::Palette& p) {
        if (!end) return;
        c.lead(*end, jack, 26 + 0.08 * view::distance(*end, jack), look, p.ground, 3.0);
        c.disc(*end, 4.5, look.core);
    }

    void choose_sheet(PanelContext& x) {
        const std::array<std::string_view, 3> words = {tr("Splice"), tr("Motor"), tr("Power")};
        int chosen = static_cast<int>(sheet_);
        const Box& at = !drawing_.sheets.splice.empty()
                            ? drawing_.sheets.splice
                            : (!drawing_.sheets.motor.empty() ? drawing_.sheets.motor : drawing_.sheets.power);
        if (key_row(x, "sheets", {at.right() - 196, at.y + 4, 190, 22}, words, chosen))
            sheet_ = static_cast<view::SheetChoice>(chosen);
    }

    void marks(PanelContext& x, Canvas& c, const view::Snapshot& s, const view::Palette& p) {
        if (x.desk->marks_hidden) return;
        int number = 0, meters = 0;
        std::vector<Point> placed;
        for (const auto& f : s.edits.faults) {
            // What is wrong with the meter stands where its leads come in.
            Point at = f.place == "meter" ? Point{x.box.right() - 18 - 24 * meters++,
                                                  (shared_->jacks ? shared_->jacks->red.y : x.box.y + 80) - 30}
                                          : drawing_.fault_anchor(f.kind, f.place) + Point{0, -16};
            // Two at one place stand side by side.
            while (std::any_of(placed.begin(), placed.end(),
                               [&](Point q) { return std::abs(q.x - at.x) < 18 && std::abs(q.y - at.y) < 18; }))
                at.x -= 19;
            placed.push_back(at);
            paint::fault_mark(c, at, ++number, 18, p);
            const Touch t = touch(x, "mark " + f.kind + f.place, {at.x - 10, at.y - 10, 20, 20});
            const site::FaultRow* row = site::find_fault(f.kind);
            hint(x, t, say("{} at {}", row ? tr(row->title) : f.kind.c_str(), f.place));
            if (t.clicked)
                shared_->chosen_fault = {f.kind, f.place}, shared_->chosen_fault_is_new = true,
                x.window.shown.drawer = true;
        }
    }

    void dots(PanelContext& x, Canvas& c, const view::Snapshot& s, const view::Palette& p) {
        join_ring(x);
        const Point at_hand = hand(x.input.mouse);
        const bool over = x.hovers(x.box) || lens_;
        const view::Dot* near = over ? drawing_.dot_near(at_hand, reach()) : nullptr;
        const view::Ring* ring = over ? ring_meant(at_hand) : nullptr;
        under_glass_ = {near, near ? nullptr : ring, near || ring || !lens_ ? nullptr : part_meant(at_hand), {}};
        if (under_glass_.part) under_glass_.words = view::part_title(*under_glass_.part);
        for (const auto& r : drawing_.rings) {
            c.mark(ring_box(r), "ring " + r.name);
            const bool lit = &r == ring || &r == focused_ring_;
            ellipse(
                c, r, 0,
                {.colour = lit ? p.accent : p.ink_soft, .width = lit ? 2.0 : 1.0, .style = view::LineStyle::dotted});
        }
        if (x.targets) {
            for (const auto& d : drawing_.dots) x.target("dot " + d.name, {d.at.x - 5, d.at.y - 5, 10, 10});
            for (const auto& r : drawing_.rings) x.target("ring " + r.name, {r.at.x - 3, r.at.y - 3, 6, 6});
            for (const auto& part : drawing_.parts)
                if (const auto at = free_spot(part))
                    if (const auto seen = in_sight(*at))
                        x.target("part " + part.id(), {seen->x - 1, seen->y - 1, 2, 2});
            if (focused_dot_)
                x.target("keyboard at " + focused_dot_->name, {focused_dot_->at.x - 5, focused_dot_->at.y - 5, 10, 10});
            if (focused_ring_)
                x.target("keyboard at ring " + focused_ring_->name,
                         {focused_ring_->at.x - 5, focused_ring_->at.y - 5, 10, 10});
            if (lens_) {
                x.target("glass open", lens_box());
                const auto place = [&](const std::string& name, Point in_drawing) {
                    if (const Point q = lens_->on_glass(in_drawing);
                        view::distance(q, lens_->centre) < lens_->radius - 8)
                        x.target(name, {q.x - 6, q.y - 6, 12, 12});
                };
                for (const auto& d : drawing_.dots) place("glass dot " + d.name, d.at);
                for (const auto& r : drawing_.rings) place("glass ring " + r.name, r.at);
            }
            grips_.targets(x);
            if (drawing_.sun) x.target("sun", {drawing_.sun->at.x - 8, drawing_.sun->at.y - 8, 16, 16});
        }
        for (const auto& d : drawing_.dots)
            paint::test_point(c, d.at, d.reachable, &d == near || &d == focused_dot_, p, d.radius);
        const auto name = [&](Point at, const std::string& words, const std::string& value, const std::string& where) {
            const std::string line = value.empty() ? words : fmt::format("{}  {}", words, value);
            const double wide = c.width(line, tag_look(p));
            const Box tag{std::min(at.x + 12, drawing_.box.right() - 16 - wide), at.y - 30, wide + 12, 20};
            tags_.emplace_back(tag, line);
            hint(x, Box{at.x - 11, at.y - 11, 22, 22}, fmt::format("{}\n{}", words, where));
        };
        tags_.clear();
        if (lens_) return;  // names stand on the glass
        if (const view::Dot* d = near || keys_.holds() ? near : focused_dot_)
            name(d->at, d->name, x.window.is_calm() && x.desk->running() ? "" : view::volts_at(s, d->name),
                 d->reachable ? d->where : say("{} (out of reach in the field: for teaching only)", d->where));
        if (const view::Ring* r = ring ? ring : near || keys_.holds() ? nullptr : focused_ring_)
            name(r->at, say("clamp on {}", r->name), view::amps_around(s, r->name), r->where);
        lead_names(x, c, drawing_, x.desk->probes(), near);
    }

    // What a click here means: a dot before all; a ring inside it; a part on it, a ring only near it no longer; the
    // modules, being large, last.
    const view::Ring* ring_meant(Point m, bool glass) const {
        if (drawing_.dot_near(m, reach(glass))) return nullptr;
        if (glass) return drawing_.ring_at(m, reach(glass));
        if (const auto* inside = drawing_.ring_near(m, 1e-6)) return inside;
        const auto* part = drawing_.part_at(m);
        return part && part->kind != view::Part::Kind::array ? nullptr : drawing_.ring_near(m, view::dot_reach);
    }
    const view::Part* part_meant(Point m, bool glass) const {
        return drawing_.dot_near(m, reach(glass)) || ring_meant(m, glass) ? nullptr : drawing_.part_at(m);
    }
    const view::Ring* ring_meant(Point m) const { return ring_meant(m, lens_.has_value()); }
    const view::Part* part_meant(Point m) const { return part_meant(m, lens_.has_value()); }

    // Where a click on a part is not taken for a dot or a ring.
    std::optional<Point> free_spot(const view::Part& part) const {
        constexpr int steps = 8;
        for (int k = 0; k <= steps * steps; ++k) {
            // From the middle outwards, in turns to either side.
            const auto along = [&](double from, double size, int n) {
                const int out = (n % 2 ? 1 : -1) * ((n + 1) / 2);
                return from + size * (0.5 + out / double(steps + 1));
            };
            const Point at{along(part.box.x, part.box.w, k % steps), along(part.box.y, part.box.h, k / steps % steps)};
            if (const auto* meant = part_meant(at, lens_ && lens_->covers(at)); meant && meant->id() == part.id())
                return at;
        }
        return {};
    }

    // Where a place of the drawing is to be pressed: on the glass, or beside it; nowhere if the glass hides it.
    std::optional<Point> in_sight(Point at) const {
        if (!lens_) return at;
        if (const Point q = lens_->on_glass(at); view::distance(q, lens_->centre) < lens_->radius - 8) return q;
        return lens_->covers(at) ? std::nullopt : std::optional(at);
    }

    // The leads with this one there; the other one's dot is taken.
    static bench::Probes with(bench::Probes probes, Lead lead, const view::Dot* dot, const view::Ring* ring) {
        if (lead == Lead::clamp) {
            probes.around = ring ? ring->name : "";
        } else {
            std::string& end = lead == Lead::red ? probes.red : probes.black;
            const std::string& other = lead == Lead::red ? probes.black : probes.red;
            end = dot && dot->name != other ? dot->name : "";
        }
        return probes;
    }
    static void put(view::Desk& desk, Lead lead, const view::Dot* dot, const view::Ring* ring) {
        const bench::Probes& now = desk.probes();
        if (dot && dot->name == (lead == Lead::red ? now.black : now.red)) return;
        desk.place(with(now, lead, dot, ring));
    }

    void put_sun(view::Desk& desk, double hours) const {
        desk.set({{"sun.time_of_day", view::time_of_day(hours)},
                  {"sun.irradiance_W_m2", fmt::format("{:.0f}", drawing_.sun->asked_W_m2(hours))}});
    }

    void hands(PanelContext& x, const view::Snapshot& s) {
        view::Desk& desk = *x.desk;
        const Point mouse = x.input.mouse, m = hand(mouse);
        const auto& probes = desk.probes();
        const bool over = x.hovers(x.box) || lens_;
        if (menu_.covers(mouse)) return;
        if (x.input.pressed[left_button]) menu_.close();
        if (x.input.pressed[left_button] && held_ == Lead::none) {
            // A lead is taken at its tip, or at its jack on the meter.
            auto close_to = [&](const std::optional<Point>& q) { return q && view::distance(*q, m) < reach(); };
            const auto at_jack = [&](const Point& q) { return view::distance(q, mouse) < view::dot_reach; };
            const auto jack = shared_->jacks;
            const auto* ring = drawing_.ring(probes.around);
            if (close_to(dot_at(probes.red)) || (jack && at_jack(jack->red))) held_ = Lead::red;
            else if (close_to(dot_at(probes.black)) || (jack && at_jack(jack->black))) held_ = Lead::black;
            else if ((ring && close_to(ring->at) && !part_meant(m)) || (jack && at_jack(jack->clamp)))
                held_ = Lead::clamp;
            else if (over && !minute_.takes(mouse)) {
                const auto* dot = drawing_.dot_near(m, reach());
                const auto* near = ring_meant(m);
                if (dot)
                    put(desk,
                        x.input.shift || (!probes.red.empty() && probes.black.empty() && probes.red != dot->name)
                            ? Lead::black
                            : Lead::red,
                        dot, nullptr);
                else if (near) put(desk, Lead::clamp, nullptr, near);
                else if (const auto* thing = lens_ ? nullptr : grips_.beside(m)) grips_.take(*thing, mouse);
                else if (const auto* part = part_meant(m)) grips_.take(*part, mouse), lens_.reset();
                else if (!lens_ && drawing_.sun && view::distance(drawing_.sun->at, m) < 20) sun_ = true;
            }
        }
        if (x.input.pressed[right_button] && over)
            if (const auto* dot = drawing_.dot_near(m, reach())) put(desk, Lead::black, dot, nullptr);
        if (held_ != Lead::none) {
            const bench::Probes to =
                with(desk.probes(), held_, drawing_.dot_near(m, 1.6 * reach()),
                     lens_ ? drawing_.ring_at(m, 1.6 * reach()) : drawing_.ring_near(m, 1.6 * reach()));
            x.input.released[left_button] ? desk.place(to) : desk.carry(to);
        }
        if (x.input.released[left_button]) {
            if (sun_ && drawing_.sun) put_sun(desk, drawing_.sun->hours_at(m));
            held_ = Lead::none;
            sun_ = false;
        }
        if (const auto clicked = grips_.follow(x, s)) menu_.open(*clicked, mouse);
        if (held_ != Lead::none || sun_) x.wake_in(0.016);
        if (const auto* part =
                x.hovers(x.box) && !lens_ && !menu_.is_open() && !minute_.takes(mouse) ? part_meant(m) : nullptr)
            hint(x, part->box, view::part_title(*part) + "\n" + tr("Click: what may be done here"));
        keyboard(x, s);
    }

    // The pointer is a hand over what it can take or press.
    void pointer(PanelContext& x) const {
        const Point mouse = x.input.mouse, m = hand(mouse);
        const auto jack = shared_->jacks;
        const auto at_jack = [&](const Point& q) { return view::distance(q, mouse) < view::dot_reach; };
        const bool takes = held_ != Lead::none || sun_ ||
                           (jack && (at_jack(jack->red) || at_jack(jack->black) || at_jack(jack->clamp))) ||
                           ((x.hovers(x.box) || lens_) &&
                            (minute_.takes(mouse) || drawing_.dot_near(m, reach()) || ring_meant(m) || part_meant(m) ||
                             grips_.beside(m) || (!lens_ && drawing_.sun && view::distance(drawing_.sun->at, m) < 20)));
        if (!takes || menu_.is_open()) return;
        ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
        x.overlay().cue({mouse.x - 1, mouse.y - 1, 2, 2}, "hand");
    }

    // Dots and rings are stops of the keyboard's way through the window, in the order of the current.
    void join_ring(PanelContext& x) {
        focused_dot_ = nullptr;
        focused_ring_ = nullptr;
        focused_part_ = nullptr;
        for (const auto& d : drawing_.dots)
            if (x.ring.add(stop("dot ", d.name))) focused_dot_ = &d;
        for (const auto& r : drawing_.rings)
            if (x.ring.add(stop("ring ", r.name))) focused_ring_ = &r;
        for (const auto& part : drawing_.parts)
            if (x.ring.add(stop("part ", part.id()))) focused_part_ = &part;
        on_sun_ = drawing_.sun && x.ring.add(stop("sun", ""));
        if (focused_dot_) focus_mark(x, Box{focused_dot_->at.x - 6, focused_dot_->at.y - 6, 12, 12});
        if (focused_ring_) focus_mark(x, ring_box(*focused_ring_));
        if (focused_part_) focus_mark(x, focused_part_->box);
        if (focused_part_) x.target("keyboard at part " + focused_part_->id(), focused_part_->box);
        grips_.join_ring(x);
        if (on_sun_) focus_mark(x, Box{drawing_.sun->at.x - 16, drawing_.sun->at.y - 16, 32, 32});
    }
    static WidgetId stop(const char* kind, const std::string& name) {
        return static_cast<WidgetId>(std::hash<std::string>{}(kind + name));
    }

    // A lead in the hand goes where the keyboard is. With none, Enter sets down the one that is missing, arrows go on.
    void keyboard(PanelContext& x, const view::Snapshot& s) {
        view::Desk& desk = *x.desk;
        const std::string at = focused_dot_ ? focused_dot_->name : focused_ring_ ? focused_ring_->name : "";
        const auto asked = keys_.follow(
            x, [&](Lead lead) { return spots(desk, lead); }, at, focused_ring_ != nullptr);
        if (asked.down) return put(desk, asked.lead, focused_dot_, focused_ring_);
        if (!asked.to.empty()) x.ring.show(stop(asked.lead == Lead::clamp ? "ring " : "dot ", asked.to));
        if (asked.lead != Lead::none || x.input.typing) return;
        if (focused_dot_ && x.ring.pressed(stop("dot ", at)))
            put(desk, !desk.probes().red.empty() && desk.probes().black.empty() ? Lead::black : Lead::red, focused_dot_,
                nullptr);
        if (focused_ring_ && x.ring.pressed(stop("ring ", at))) put(desk, Lead::clamp, nullptr, focused_ring_);
        if (focused_part_ && x.ring.pressed(stop("part ", focused_part_->id())))
            menu_.open(*focused_part_, focused_part_->box.centre());
        grips_.keys(x, s);
        for (const auto& [key, way] : arrow_ways)
            if (on_sun_ && way.x != 0 && x.input.take(key)) put_sun(desk, drawing_.sun->hours + 0.25 * way.x);
        if (at.empty()) return;
        const std::string to = LeadKeys::walk(x, spots(desk, focused_ring_ ? Lead::clamp : Lead::none), at);
        if (!to.empty()) x.ring.show(stop(focused_ring_ ? "ring " : "dot ", to));
    }
    // Where this lead can go: not where the other one lies.
    std::vector<view::Spot> spots(const view::Desk& desk, Lead lead) const {
        std::vector<view::Spot> list;
        const std::string other = lead == Lead::red     ? desk.probes().black
                                  : lead == Lead::black ? desk.probes().red
                                                        : "";
        if (lead == Lead::clamp)
            for (const auto& r : drawing_.rings) list.push_back({r.name, r.where, r.at});
        else
            for (const auto& d : drawing_.dots)
                if (d.name != other) list.push_back({d.name, d.where, d.at});
        return list;
    }

    static paint::TextLook tag_look(const view::Palette& p) {
        return {.colour = p.ink, .size = 12, .face = Face::strong};
    }

    std::shared_ptr<view::SharedView> shared_;
    Grips grips_;
    PartMenu menu_;
    std::optional<view::Lens> lens_;
    HandGlass glass_;
    std::vector<std::pair<Box, std::string>> tags_;  // names at hand, painted over the leads
    UnderGlass under_glass_;                         // of drawing_, for this frame
    view::SiteDrawing drawing_;
    FirstMinute minute_;
    LeadKeys keys_;
    view::SheetChoice sheet_ = view::SheetChoice::splice;
    Lead held_ = Lead::none;
    const view::Dot* focused_dot_ = nullptr;  // of drawing_, for this frame
    const view::Ring* focused_ring_ = nullptr;
    const view::Part* focused_part_ = nullptr;
    bool on_sun_ = false, sun_ = false, pairs_ = false, drawn_ = false;  // on_: the keyboard
};

}  // namespace

std::unique_ptr<shell::Panel> cutaway(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<Cutaway>(std::move(shared));
}

}  // namespace sunshaft::panels
