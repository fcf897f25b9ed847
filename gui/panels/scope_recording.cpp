#include "panels/scope_recording.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/desk.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;

std::string ScopeRecording::words(const view::Desk& desk) { return desk.laid ? desk.laid->name : text::tr("none"); }

void ScopeRecording::card(PanelContext& x, const Box& key, bool& open) {
    const auto s = x.desk->snapshot();
    const view::Palette& p = x.palette();
    const auto& laid = x.desk->laid;
    const double lines = laid ? static_cast<double>(s->waves.size()) : 1.0;
    const double wide = 420, high = 92 + 20 * lines + (why_not_.empty() ? 0 : 34);
    const Box card{std::max(8.0, key.right() - wide), std::max(8.0, key.y - high - 8), wide, high};
    const Popup popup(x, "recording's card", card);
    Canvas c = x.canvas();
    paint::sheet(c, card, p.sheet, p.accent);
    paint::title(c, {card.x + 16, card.y + 22}, text::tr("A recording laid over"), p.ink_soft);
    double y = card.y + 46;
    if (!laid)
        c.text({card.x + 16, y}, text::tr("None. Its waves lie behind those of the site, caught by the same trigger."),
               {.colour = p.ink_soft, .size = 12});
    for (std::size_t n = 0; laid && n < s->waves.size(); ++n, y += 20) {
        const view::LaidSignal* beside = laid->beside(s->waves, n);
        c.text({card.x + 16, y}, s->waves[n].label, {.colour = p.ink, .face = Face::strong});
        c.text({card.x + 110, y},
               beside ? c.fitted(beside->name, wide - 126, {.colour = p.ink}) : text::tr("nothing recorded"),
               {.colour = beside ? p.ink : p.ink_soft});
    }
    Box row{card.x + 16, card.bottom() - 38, wide - 32, 26};
    if (!why_not_.empty())
        c.paragraph({card.x + 16, row.y - 34}, wide - 32, why_not_, {.colour = p.accent, .size = 12});
    const Box take = row.cut_right(86);
    row.cut_right(8);
    if (laid) {
        if (button(x, "take recording away", take, text::tr("Take away"))) x.desk->laid.reset(), why_not_.clear();
    }
    const bool enter = entry_field(x, "recording file", row, file_, text::tr("Path of a CSV or COMTRADE file"));
    if ((!laid && button(x, "lay recording over", take, text::tr("Lay over"), {.off = file_.empty()})) || enter) {
        why_not_.clear();
        try {
            x.desk->laid = view::lay(file_);
        } catch (const std::exception& error) {
            why_not_ = error.what();
        }
    }
    const bool elsewhere =
        x.input.pressed[left_button] && !card.contains(x.input.mouse) && !key.contains(x.input.mouse);
    if (elsewhere || (!x.input.typing && x.input.take(Key::Escape))) open = false;
}

void ScopeRecording::draw(paint::Canvas& c, const view::Desk& desk, const view::Snapshot& s, std::size_t which,
                          std::size_t source, const view::Trigger& trigger, const view::PlotArea& area, int columns,
                          const view::Palette& p) {
    const view::LaidSignal* beside = desk.laid ? desk.laid->beside(s.waves, which) : nullptr;
    if (!beside) return;
    Caught now{desk.laid, trigger, area.t_from, area.t_to - area.t_from, {}, source};
    for (const view::Wave& w : s.waves) now.channels.push_back(w.name);
    if (now != caught_) {
        caught_ = std::move(now);
        stretch_ = desk.laid->stretch(s.waves, source, trigger, {area.t_from, area.t_to, {}}, s.fundamental_Hz);
    }
    if (!stretch_) return;
    view::PlotArea own = area;
    own.t_from = stretch_->from, own.t_to = stretch_->to;
    c.polyline(view::trace_line(beside->wave, own, columns),
               {.colour = p.signal[which % p.signal.size()].colour, .width = 1.2, .style = view::LineStyle::dash_dot});
}

std::optional<view::Wave> ScopeRecording::seen(const view::Desk& desk, const std::vector<view::Wave>& waves,
                                               std::size_t which, const view::Stretch& shown) const {
    const view::LaidSignal* beside = desk.laid && stretch_ ? desk.laid->beside(waves, which) : nullptr;
    if (!beside) return std::nullopt;
    view::Wave wave = waves[which];
    trace::Trace part = trace::slice(beside->wave, stretch_->from, stretch_->to);
    for (trace::Segment& one : part) one.t0 += shown.from - stretch_->from, one.t1 += shown.from - stretch_->from;
    wave.label = text::say("{} recorded", wave.label);
    wave.trace = std::make_shared<const trace::Trace>(std::move(part));
    return wave;
}

}  // namespace sunshaft::panels
