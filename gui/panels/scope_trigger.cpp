#include "panels/scope_trigger.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;

namespace {

view::Span span_of(const view::Wave& w) {
    return view::span_of(*w.trace, trace::start(*w.trace), trace::finish(*w.trace)).value_or(view::Span{});
}

// As fine as a hand can want it: a thousandth of what the wave spans.
int decimals_for(const view::Span& span) {
    const double size = span.high - span.low;
    return size >= 100 ? 1 : size >= 10 ? 2 : 3;
}

double rounded(double level, const view::Span& span) {
    const double digits = std::pow(10.0, decimals_for(span));
    return std::round(level * digits) / digits;
}

double middle(const view::Span& span) { return rounded(0.5 * (span.low + span.high), span); }

}  // namespace

const view::Wave* trigger_source(const view::Snapshot& s, const view::Trigger& trigger) {
    for (const view::Wave& w : s.waves)
        if (w.name == trigger.source) return &w;
    return s.waves.empty() ? nullptr : &s.waves.front();
}

void trigger_card(PanelContext& x, const Box& key, bool& open) {
    const auto s = x.desk->snapshot();
    const view::Palette& p = x.palette();
    const double wide = 336, high = 138;
    const Box card{std::max(8.0, key.right() - wide), std::max(8.0, key.y - high - 8), wide, high};
    const Popup popup(x, "trigger's card", card);
    Canvas c = x.canvas();
    paint::sheet(c, card, p.sheet, p.accent);
    paint::title(c, {card.x + 16, card.y + 22}, text::tr("Trigger"), p.ink_soft);
    view::Trigger wanted = x.desk->scope.trigger;
    double y = card.y + 32;
    const auto row = [&](const char* words) {
        c.text({card.x + 16, y + 13}, words, {.colour = p.ink, .sit = Sit::middle});
        const Box at{card.x + 78, y, wide - 94, 26};
        y += 34;
        return at;
    };
    const view::Wave* source = trigger_source(*s, wanted);
    const Box on = row(text::tr("Channel")), edge = row(text::tr("Edge")), level = row(text::tr("Level"));
    if (source) {
        std::vector<std::string_view> labels;
        for (const view::Wave& w : s->waves) labels.push_back(w.label);
        int which = static_cast<int>(source - s->waves.data());
        if (key_row(x, "trigger channel", on, labels, which)) {
            source = &s->waves[static_cast<std::size_t>(which)];
            wanted.source = source->name;
            // A level that this wave never passes catches nothing.
            if (const view::Span span = span_of(*source); wanted.level <= span.low || wanted.level >= span.high)
                wanted.level = span.low < 0.0 && span.high > 0.0 ? 0.0 : middle(span);
        }
        const view::Span span = span_of(*source);
        number_field(x, "trigger level", {level.x, level.y, 132, 26}, wanted.level, -1e6, 1e6, decimals_for(span),
                     source->unit);
        const Box half{level.right() - 78, level.y, 78, 26};
        if (button(x, "trigger middle", half, text::tr("Middle"))) wanted.level = middle(span);
        hint(x, half, text::tr("Halfway between the lowest and the highest value of this channel"));
    } else {
        c.text({on.x, on.centre().y}, text::tr("none is on the scope"), {.colour = p.ink_soft, .sit = Sit::middle});
    }
    const std::string_view edges[] = {text::tr("rising"), text::tr("falling")};
    int slope = wanted.slope == view::Slope::falling ? 1 : 0;
    if (key_row(x, "trigger edge", edge, edges, slope))
        wanted.slope = slope ? view::Slope::falling : view::Slope::rising;
    x.desk->trigger(wanted);
    const bool elsewhere =
        x.input.pressed[left_button] && !card.contains(x.input.mouse) && !key.contains(x.input.mouse);
    if (elsewhere || (!x.input.typing && x.input.take(Key::Escape))) open = false;
}

void LevelHandle::draw(PanelContext& x, const view::PlotArea& area, const view::Wave& source, view::Colour colour) {
    const view::Palette& p = x.palette();
    const Box& inner = area.box;
    const double level = held_.value_or(x.desk->scope.trigger.level);
    const double y = std::clamp(area.y(level), inner.y, inner.bottom());
    const Touch t = touch(x, "level handle", {inner.x - 4, y - 9, 18, 18});
    Canvas c = x.canvas();
    const view::Point mark[] = {{inner.x, y - 6}, {inner.x + 9, y}, {inner.x, y + 6}};
    c.fill(mark, t.hovered || t.held ? p.accent : colour);
    if (t.focused) focus_mark(x, t.box);
    hint(x, t, text::tr("Trigger level: pull it up or down"));
    // Where the mouse lets go counts, also when that is all of the way it came.
    if (t.held || held_)
        held_ = rounded(area.value(std::clamp(x.input.mouse.y, inner.y, inner.bottom())), span_of(source));
    if (t.held) {
        c.line({inner.x, y}, {inner.right(), y}, {.colour = p.accent, .width = 1.2, .style = view::LineStyle::dashed});
        c.text({inner.x + 16, y - 5}, view::figure(*held_, source.unit, 3).text(),
               {.colour = p.ink, .size = 12, .face = Face::strong, .halo = p.sheet});
    } else if (held_) {
        view::Trigger wanted = x.desk->scope.trigger;
        wanted.level = *held_;
        held_.reset();
        x.desk->trigger(wanted);
    }
}

}  // namespace sunshaft::panels
