#include "panels/case_marks.hpp"

#include <algorithm>
#include <utility>

#include "model/desk.hpp"
#include "model/suspect_rows.hpp"
#include "panels/cutaway_paint.hpp"

namespace sunshaft::panels {

namespace {

// Where a lesson wants the leads: a ring in each lead's colour, round it the sheet's, until the lead lies there.
void lesson_marks(const shell::PanelContext& x, shell::Canvas& c, const view::SiteDrawing& d) {
    const auto s = x.desk->lesson();
    if (!s || s->turn.asks != teach::Turn::Asks::leads) return;
    const view::Palette& p = x.palette();
    const bench::Probes &wanted = s->turn.look->what.probes, &lie = x.desk->probes();
    const auto mark = [&](const std::string& place, const std::string& at, const view::ConductorLook& look) {
        if (place.empty() || place == at) return;
        const auto* dot = d.dot(place);
        const auto* ring = d.ring(place);
        if (!dot && !ring) return;
        const view::Point middle = dot ? dot->at : ring->at;
        const double r = (dot ? dot->radius : std::max(ring->rx, ring->ry)) + 6;
        c.circle(middle, r, {.colour = p.ground, .width = 6.0});
        if (look.casing.a) c.circle(middle, r, {.colour = look.casing, .width = 4.6});
        c.circle(middle, r, {.colour = look.core, .width = 3.0});
    };
    mark(wanted.around, lie.around, p.lead_clamp);
    if (!wanted.around.empty()) return;
    mark(wanted.red, lie.red, p.lead_red);
    mark(wanted.black, lie.black, p.lead_black);
}

// Where the figure comes from that is pointed at in the reasons of a reading.
void lit_marks(const shell::PanelContext& x, shell::Canvas& c, const view::SiteDrawing& d, meter::Part lit,
               bool by_clamp) {
    const view::Palette& p = x.palette();
    const paint::Stroke stroke{.colour = p.accent, .width = 2.4};
    const bench::Probes& lie = x.desk->probes();
    view::Box box;
    if (lit == meter::Part::drive) box = d.drive.inset(-5);
    if (lit == meter::Part::link)
        box = view::Box{d.link_plus.x, d.link_plus.y, 0, d.link_minus.y - d.link_plus.y}.inset(-10);
    if (!box.empty()) {
        c.fill(box, p.accent.faded(0.14), 4);
        c.outline(box, stroke, 4);
    }
    if (lit == meter::Part::leads && by_clamp) {
        if (const auto* ring = d.ring(lie.around)) ellipse(c, *ring, 8, stroke), box = ring_box(*ring);
    } else if (lit == meter::Part::leads) {
        for (const std::string& name : {lie.red, lie.black})
            if (const auto* dot = d.dot(name)) {
                c.circle(dot->at, dot->radius + 5, stroke);
                box = view::Box{dot->at.x, dot->at.y, 0, 0}.inset(-dot->radius);
            }
    }
    if (!box.empty()) x.target("lit part", box);
}

}  // namespace

void case_marks(const shell::PanelContext& x, shell::Canvas& c, const view::SiteDrawing& d, view::SharedView& shared) {
    lesson_marks(x, c, d);
    lit_marks(x, c, d, std::exchange(shared.lit, meter::Part::none), shared.lit_by_clamp);
    if (!x.window.shown.suspects || x.desk->sealed()) return;
    const view::Palette& p = x.palette();
    if (shared.asked_where)
        if (const view::Box box = view::box_of(d, *shared.asked_where); !box.empty())
            c.outline(box.inset(-5), {.colour = p.signal[0].colour, .width = 2.4}, 4);
    const auto s = x.desk->suspicion();
    if (!s->answer || !s->with_tests || s->answer->next.empty()) return;
    const auto& next = s->answer->next[std::min(shared.chosen_test, s->answer->next.size() - 1)];
    for (const std::string& place : view::places_of(next)) {
        const auto* dot = d.dot(place);
        const auto* ring = d.ring(place);
        if (!dot && !ring) continue;
        const view::Point at = dot ? dot->at : ring->at;
        const double r = dot ? dot->radius : std::max(ring->rx, ring->ry);
        c.circle(at, r + 3, {.colour = p.signal[0].colour, .width = 2.0});
        c.circle(at, r + 7, {.colour = p.signal[0].colour.faded(0.5), .width = 1.6});
    }
}

}  // namespace sunshaft::panels
