// Scope: the channels over time with true edges, the healthy site behind in grey, trigger, two cursors, a table of
// figures.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/signals.hpp"
#include "model/waves_csv.hpp"
#include "panels/panels.hpp"
#include "panels/plot.hpp"
#include "panels/scope_recording.hpp"
#include "panels/scope_trigger.hpp"
#include "panels/wipe.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using text::id, text::say, text::say_of, text::tr;
using view::Box;
using view::Point;

constexpr double table_width = 336.0;

class Scope : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return id("Scope"); }

    void draw_tab_row(PanelContext& x) override {
        if (!x.desk) return;
        auto items = settings(x);
        // What the row has no room for stands on a card behind "more", so that nothing is out of reach.
        const Canvas measure = x.canvas();
        double all = 0, room = x.box.w - 24;
        for (const Item& item : items) all += need(measure, item);
        const double more_w = button_width(measure, tr("More"), {.plain = true}) + 8;
        const bool more = all > room;
        row_full_ = more && x.box.w < more_w + 16;
        if (more) room -= more_w;
        for (int rank = 0; rank < 9; ++rank)
            for (Item& item : items)
                if (item.rank == rank) {
                    const double wide = need(measure, item);
                    item.shown = wide <= room;
                    room -= item.shown ? wide : room;
                }
        double right = x.box.right() - 16;
        if (more && !row_full_) {
            more_key(x, items, {right - more_w + 8, x.box.y + 3, more_w - 8, x.box.h - 6});
            right -= more_w;
        }
        more_ = more_ && more;
        const Box row{x.box.x, x.box.y, std::max(60.0, x.box.w - 16), x.box.h};
        if (trigger_open_) trigger_card(x, row, trigger_open_);
        if (recording_open_) recording_.card(x, row, recording_open_);
        for (auto item = std::rbegin(items); item != std::rend(items); ++item) {
            double taken = 0.0;
            if (!item->shown) continue;
            if (setting(x, item->id, {right, x.box.y + x.box.h / 2 + 4.5}, item->name, item->words, taken))
                press(x, item->id);
            right -= taken + 20;
        }
    }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        view::ScopeSettings& set = x.desk->scope;
        Box rest = x.box.inset(8, 4);
        keys(x);
        const bool table = rest.w > 820;
        const Box side = table ? rest.cut_right(table_width) : Box{};
        if (choosing_) choices(x, table ? side : rest.cut_right(table_width), *s);
        if (s->waves.empty()) {
            Canvas c = x.canvas();
            c.text({rest.x + 16, rest.y + 28}, tr("Place both leads, or choose a channel."),
                   {.colour = x.palette().ink_soft});
            return;
        }
        const view::Wave* source = trigger_source(*s, set.trigger);
        auto stretch = view::find_sweep(*source->trace, trigger_of(set, *s, *source, false), set.width(), armed_at_);
        if (stretch) last_ = stretch;
        if (!last_) return;
        const view::Stretch shown = stretch.value_or(*last_);
        const double zero = shown.trigger_t.value_or(shown.from);

        // One plot a unit, in the order of the channels.
        std::vector<std::string> units;
        for (const auto& w : s->waves)
            if (std::ranges::find(units, w.unit) == units.end()) units.push_back(w.unit);
        if (units.size() > 3) units.resize(3);
        const double each = rest.h / static_cast<double>(units.size());
        for (std::size_t u = 0; u < units.size(); ++u)
            plot(x, {rest.x, rest.y + each * static_cast<double>(u), rest.w, each}, *s, units[u], shown, zero,
                 u + 1 == units.size());
        cursor_handles(x, rest, shown, zero);
        if (x.hovers(rest) && x.input.wheel != 0.0) rescale(*x.desk, x.input.wheel > 0 ? -1 : 1);
        if (table && !choosing_) tables(x, side, *s, zero);
        // The row of tabs is full: the key stands in the corner the axes leave.
        if (row_full_) more_key(x, settings(x), {rest.right() - 46, rest.bottom() - 22, 44, 22});
    }

    // The sweep on show, and the healthy one as it lies behind it.
    std::string csv(const view::Desk& desk) const override {
        std::vector<view::Wave> waves;
        if (!last_) return {};
        const auto part = [&](view::Wave w, const trace::Trace& t, double later) {
            trace::Trace moved = trace::slice(t, last_->from - later, last_->to - later);
            for (trace::Segment& s : moved) s.t0 += later, s.t1 += later;
            w.trace = std::make_shared<const trace::Trace>(std::move(moved));
            waves.push_back(std::move(w));
        };
        const auto s = desk.snapshot();
        for (std::size_t n = 0; n < s->waves.size(); ++n) {
            const view::Wave& w = s->waves[n];
            part(w, *w.trace, 0.0);
            if (auto laid = recording_.seen(desk, s->waves, n, *last_)) waves.push_back(std::move(*laid));
            view::Wave healthy = w;
            healthy.label = say("{} healthy", healthy.label);
            if (desk.scope.ghost && w.healthy && w.healthy != w.trace && ghost_later_)
                part(healthy, *w.healthy, *ghost_later_);
        }
        return view::waves_to_csv(waves);
    }

  private:
    // Pulses cross any level many times a turn: a pulsed voltage is caught by its fundamental.
    static view::Trigger trigger_of(const view::ScopeSettings& set, const view::Snapshot& s, const view::Wave& source,
                                    bool healthy) {
        view::Trigger t = set.trigger;
        if (source.unit == "V") t.fundamental_Hz = healthy ? s.healthy_fundamental_Hz : s.fundamental_Hz;
        return t;
    }
    struct Item {
        const char *id, *name;
        std::string words;
        int rank;  // what the row has no room for goes from the highest rank down
        bool shown = false;
    };
    std::vector<Item> settings(PanelContext& x) const {
        const view::ScopeSettings& set = x.desk->scope;
        const char* const sweeps[] = {tr("auto"), tr("normal"), tr("single")};
        const auto s = x.desk->snapshot();
        const view::Wave* source = trigger_source(*s, set.trigger);
        const std::string edge =
            say_of(set.trigger.slope == view::Slope::rising ? id("{} rising through {}") : id("{} falling through {}"),
                   source ? source->label : tr("first channel"),
                   view::figure(set.trigger.level, source ? source->unit : "", 3).text());
        return {
            {"base", tr("time base"), say("{} per division", view::figure(set.seconds_per_division, "s", 2).text()), 0},
            {"trigger", tr("trigger"), edge, 2},
            {"sweep", tr("sweep"), sweeps[static_cast<int>(set.trigger.sweep)], 4},
            {"ghost", tr("healthy ghost"), set.ghost ? tr("shown") : tr("hidden"), 3},
            {"bandwidth", tr("bandwidth"),
             set.bandwidth_Hz > 0 ? view::figure(set.bandwidth_Hz, "Hz", 3).text() : tr("full"), 5},
            {"persistence", tr("persistence"), set.persists ? tr("on") : tr("off"), 6},
            {"follows", tr("leads and clamp"), set.follows ? tr("on the scope") : tr("not followed"), 7},
            {"recording", tr("recording"), ScopeRecording::words(*x.desk), 8},
            {"channels", tr("channels"), choosing_ ? tr("choose") : tr("as listed"), 1}};
    }
    static double need(const Canvas& c, const Item& item) { return setting_width(c, item.name, item.words) + 20; }

    // The key, and while it is down the card above it with the settings that are not in the row.
    void more_key(PanelContext& x, const std::vector<Item>& items, const Box& key) {
        if (button(x, "more", key, tr("More"), {.chosen = more_, .plain = true})) more_ = !more_;
        hint(x, key, tr("Settings of the scope that have no room in this row"));
        if (!more_) return;
        double wide = 0, lines = 0;
        for (const Item& item : items)
            if (!item.shown) wide = std::max(wide, need(x.canvas(), item)), ++lines;
        const double left = std::max(8.0, key.right() - wide - 24);
        const Box card{left, key.y - lines * 28 - 24, wide + 24, lines * 28 + 16};
        const Popup popup(x, "more settings", card);
        Canvas c = x.canvas();
        paint::sheet(c, card, x.palette().sheet, x.palette().accent);
        double y = card.y + 27;
        for (const Item& item : items) {
            double taken = 0.0;
            if (item.shown) continue;
            if (setting(x, item.id, {card.right() - 16, y}, item.name, item.words, taken)) press(x, item.id);
            y += 28;
        }
        const bool elsewhere =
            x.input.pressed[left_button] && !card.contains(x.input.mouse) && !key.contains(x.input.mouse);
        if (elsewhere || (!x.input.typing && x.input.take(Key::Escape))) more_ = false;
    }

    void press(PanelContext& x, std::string_view what) {
        view::ScopeSettings& set = x.desk->scope;
        if (what == "channels") choosing_ = !choosing_;
        if (what == "follows") set.follows = !set.follows;
        if (what == "ghost") set.ghost = !set.ghost;
        if (what == "persistence") set.persists = !set.persists;
        if (what == "bandwidth") set.bandwidth_Hz = set.bandwidth_Hz == 0.0 ? 20e3 : set.bandwidth_Hz > 1e3 ? 1e3 : 0.0;
        if (what == "base") rescale(*x.desk, x.input.shift ? -1 : +1);
        if (what == "trigger") trigger_open_ = !trigger_open_, more_ = false;
        if (what == "recording") recording_open_ = !recording_open_, more_ = false;
        if (what == "sweep") {
            view::Trigger wanted = set.trigger;
            wanted.sweep = static_cast<view::Sweep>((static_cast<int>(wanted.sweep) + 1) % 3);
            x.desk->trigger(wanted);
            armed_at_ = x.desk->snapshot()->t;
        }
    }
    static void rescale(view::Desk& desk, int direction) {
        desk.scope.seconds_per_division =
            std::clamp(view::next_125(desk.scope.seconds_per_division, direction), 1e-5, 10.0);
        desk.show_seconds(2.5 * desk.scope.width());
    }
    void keys(PanelContext& x) {
        if (x.input.typing) return;
        if (x.input.take(Key::LBracket)) rescale(*x.desk, -1);
        if (x.input.take(Key::RBracket)) rescale(*x.desk, 1);
    }

    // What all that is drawn of a unit spans: neither the ghost nor a recording is cut off.
    view::Span all_of(PanelContext& x, const view::Snapshot& s, const std::string& unit, const view::Stretch& shown) {
        const view::ScopeSettings& set = x.desk->scope;
        std::optional<view::Span> span;
        const auto hold = [&](const std::optional<view::Span>& one) {
            if (one) span = span ? view::Span{std::min(span->low, one->low), std::max(span->high, one->high)} : *one;
        };
        for (std::size_t n = 0; n < s.waves.size(); ++n) {
            const view::Wave& w = s.waves[n];
            if (w.unit != unit) continue;
            hold(view::span_of(set.bandwidth_Hz > 0 ? limited(w.name, w.trace, set.bandwidth_Hz) : *w.trace, shown.from,
                               shown.to));
            if (const auto* laid = x.desk->laid ? x.desk->laid->beside(s.waves, n) : nullptr) hold(laid->span);
            if ((!set.ghost && !x.window.wipe) || !w.healthy || w.healthy == w.trace || w.healthy->empty()) continue;
            hold(view::span_of(*w.healthy, trace::start(*w.healthy), trace::finish(*w.healthy)));
        }
        return span.value_or(view::Span{-1, 1});
    }

    void plot(PanelContext& x, const Box& outer, const view::Snapshot& s, const std::string& unit,
              const view::Stretch& shown, double zero, bool last) {
        const view::Palette& p = x.palette();
        const view::ScopeSettings& set = x.desk->scope;
        labels_ = 44;
        for (const auto& w : s.waves)
            labels_ =
                std::max(labels_, x.canvas().width(w.label, {.colour = {}, .size = 12, .face = Face::strong}) + 16);
        Box inner = plot_inside({outer.x, outer.y, outer.w - labels_, outer.h}, last);
        const view::Span room = view::pleasant(all_of(x, s, unit, shown));
        Axes axes{{shown.from - zero, shown.to - zero, room.low, room.high, inner}, "s", unit, last, 8, 4};
        {
            Canvas c = x.canvas();
            draw_axes(c, axes, p);
            if (shown.trigger_t && outer.y <= x.box.y + 8) {
                const double at = axes.area.x(0.0);
                const Point mark[] = {{at - 5, inner.y - 8}, {at + 5, inner.y - 8}, {at, inner.y - 1}};
                c.fill(mark, p.ink);
            }
        }
        int n = -1;
        std::vector<double> taken;
        for (const auto& w : s.waves) {
            ++n;
            if (w.unit != unit) continue;
            const view::SignalLook& look = p.signal[static_cast<std::size_t>(n) % p.signal.size()];
            view::PlotArea area = axes.area;
            area.t_from = shown.from, area.t_to = shown.to;
            const auto line =
                view::trace_line(set.bandwidth_Hz > 0 ? limited(w.name, w.trace, set.bandwidth_Hz) : *w.trace, area,
                                 static_cast<int>(inner.w * x.canvas().scale()));
            if (!line.empty()) label(x, inner, line.back().y, w.label, look, taken);
            // A draw list of its own: each holds 65 535 corners.
            Child child =
                x.child(("wave " + w.name).c_str(), {inner.x, inner.y - 1, inner.w, inner.h + 2}, false, true);
            Canvas c = child.canvas();
            const int columns = static_cast<int>(inner.w * c.scale());
            const auto halves = wiped(x, s, inner);
            if ((set.ghost || halves) && w.healthy && w.healthy != w.trace) {
                const view::Wave* source = trigger_source(s, set.trigger);
                view::Trigger trigger = trigger_of(set, s, *source, true);
                trigger.sweep = view::Sweep::automatic;
                const auto ghost =
                    source->healthy ? view::find_sweep(*source->healthy, trigger, set.width()) : std::nullopt;
                if (ghost) {
                    ghost_later_ = shown.from - ghost->from;
                    view::PlotArea back = area;
                    back.t_from = ghost->from, back.t_to = ghost->to;
                    const auto clip = c.clip(halves ? halves->healthy : inner.inset(0, -1));
                    c.polyline(view::trace_line(set.bandwidth_Hz > 0
                                                    ? limited(w.name + " healthy", w.healthy, set.bandwidth_Hz)
                                                    : *w.healthy,
                                                back, columns),
                               halves ? paint::Stroke{.colour = look.colour, .width = 2.0, .style = look.style}
                                      : paint::Stroke{.colour = p.ghost, .width = 1.0});
                }
            }
            const auto clip = c.clip(halves ? halves->site : inner.inset(0, -1));
            if (const view::Wave* source = trigger_source(s, set.trigger); x.desk->laid && source)
                recording_.draw(c, *x.desk, s, static_cast<std::size_t>(n),
                                static_cast<std::size_t>(source - s.waves.data()), trigger_of(set, s, *source, false),
                                area, columns, p);
            if (set.persists) afterglow(c, w.name, shown, area, line, look);
            if (line.size() > 1) c.polyline(line, {.colour = look.colour, .width = 2.0, .style = look.style});
        }
        if (wiped(x, s, inner)) wipe_line(x, inner);
        if (const view::Wave* source = trigger_source(s, set.trigger); source && source->unit == unit)
            level_handle_.draw(x, axes.area, *source,
                               p.signal[static_cast<std::size_t>(source - s.waves.data()) % p.signal.size()].colour);
    }

    const trace::Trace& limited(const std::string& name, const std::shared_ptr<const trace::Trace>& wave,
                                double bandwidth_Hz) {
        Limited& l = limited_[name];
        if (l.of != wave || l.bandwidth_Hz != bandwidth_Hz)
            l = {wave, bandwidth_Hz, view::band_limited(*wave, bandwidth_Hz)};
        return l.wave;
    }

    // The sweeps before this one on the same axes, paler with age.
    void afterglow(Canvas& c, const std::string& name, const view::Stretch& shown, const view::PlotArea& area,
                   const std::vector<Point>& line, const view::SignalLook& look) {
        constexpr std::size_t kept = 8;
        Glow& glow = glow_[name];
        const bool same_axes = glow.box == area.box && glow.low == area.y_low && glow.high == area.y_high &&
                               glow.width == shown.to - shown.from;
        if (!same_axes) glow = {area.box, area.y_low, area.y_high, shown.to - shown.from, {}, {}};
        for (std::size_t n = 0; n < glow.lines.size(); ++n)
            c.polyline(glow.lines[n], {.colour = look.colour.faded(0.08 + 0.3 * static_cast<double>(n + 1) /
                                                                              static_cast<double>(kept)),
                                       .width = 1.2});
        if (glow.at == shown.from) return;
        glow.at = shown.from;
        glow.lines.push_back(line);
        if (glow.lines.size() > kept) glow.lines.erase(glow.lines.begin());
    }

    // Nothing below a ten-thousandth of the largest: that is the solver's own.
    static std::string level(double v, double largest) {
        if (std::abs(v) < 1e-4 * largest || std::abs(v) < 5e-4) return "0";
        return fmt::format("{}{}", v > 0 ? "+" : "", view::cell(v));
    }

    static void label(PanelContext& x, const Box& inner, double y, const std::string& words,
                      const view::SignalLook& look, std::vector<double>& taken) {
        // Labels at the traces' right ends, pushed apart.
        y = std::clamp(y, inner.y + 6, inner.bottom() - 6);
        for (int n = 0; n < 8; ++n)
            for (const double other : taken)
                if (std::abs(other - y) < 13) y = other + (other + 13 < inner.bottom() - 2 ? 13 : -13);
        taken.push_back(y);
        Canvas c = x.canvas();
        c.line({inner.right() + 1, y}, {inner.right() + 9, y}, {.colour = look.colour, .width = 2});
        c.text({inner.right() + 12, y}, words,
               {.colour = x.palette().ink, .size = 12, .face = Face::strong, .sit = paint::Sit::middle});
    }

    void cursor_handles(PanelContext& x, const Box& rest, const view::Stretch& shown, double zero) {
        const view::Palette& p = x.palette();
        const Box inner = plot_inside({rest.x, rest.y, rest.w - labels_, rest.h}, true);
        Canvas c = x.overlay();
        const auto clip = c.clip(x.box);
        for (int n = 0; n < 2; ++n) {
            const double at = inner.x + cursor_[n] * inner.w;
            const Box handle{at - 8, rest.y - 4, 16, 16};
            const Touch t = touch(x, n ? "cursor B" : "cursor A", handle);
            if (t.held) cursor_[n] = std::clamp((x.input.mouse.x - inner.x) / inner.w, 0.0, 1.0);
            c.line({at, rest.y + 8}, {at, inner.bottom()},
                   {.colour = p.accent, .width = 1.2, .style = view::LineStyle::dashed});
            c.fill(handle, p.accent);
            c.text(handle.centre(), n ? "B" : "A",
                   {.colour = p.on_accent,
                    .size = 12,
                    .face = Face::strong,
                    .align = Align::centre,
                    .sit = paint::Sit::middle});
            time_[n] = shown.from + cursor_[n] * (shown.to - shown.from) - zero;
        }
    }

    void tables(PanelContext& x, Box side, const view::Snapshot& s, double zero) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        c.rule({side.x, side.y - 4}, {side.x, side.bottom() + 4}, p.rule);
        side = side.inset(14, 0);
        const double a = side.x + 0.54 * side.w, b = side.x + 0.75 * side.w, r = side.right();
        double y = side.y + 14;
        auto head = [&](const char* words, const char* one, const char* two, const char* three) {
            paint::title(c, {side.x, y}, words, p.ink_soft);
            for (const auto& [at, text] : {std::pair{a, one}, {b, two}, {r, three}})
                c.text({at, y}, text, {.colour = p.ink_soft, .size = 12, .align = Align::right});
            y += 18;
        };
        auto cell = [&](double at, const std::string& text, view::Colour colour) {
            c.text({at, y}, text, {.colour = colour, .size = 12, .face = Face::mono, .align = Align::right});
        };
        head(tr("Cursors"), tr("at A"), tr("at B"), "B − A");
        // Seconds as they are said: all three with the prefix of the screen, to a thousandth of its width.
        const double width = x.desk->scope.width();
        const auto time = [&](double t) { return view::tick_text(t, width / 1000, width, "s"); };
        c.text({side.x, y}, say("time  {}", view::tick_unit(width, "s")), {.colour = p.ink, .size = 12});
        cell(a, time(time_[0]), p.ink), cell(b, time(time_[1]), p.ink), cell(r, time(time_[1] - time_[0]), p.ink);
        y += 17;
        int n = -1;
        for (const auto& w : s.waves) {
            const view::SignalLook& look = p.signal[static_cast<std::size_t>(++n) % p.signal.size()];
            paint::signal_key(c, {side.x, y - 4}, look);
            c.text({side.x + 26, y}, fmt::format("{}  {}", w.label, w.unit), {.colour = p.ink, .size = 12});
            const auto reading = view::cursors(
                x.desk->scope.bandwidth_Hz > 0 ? limited(w.name, w.trace, x.desk->scope.bandwidth_Hz) : *w.trace,
                zero + time_[0], zero + time_[1]);
            const auto span = view::span_of(*w.trace, trace::start(*w.trace), trace::finish(*w.trace));
            const double largest = span ? std::max(std::abs(span->low), std::abs(span->high)) : 0.0;
            cell(a, level(reading.y1, largest), p.ink), cell(b, level(reading.y2, largest), p.ink),
                cell(r, level(reading.dy, largest), p.ink);
            y += 17;
        }
        y += 4;
        c.rule({side.x, y}, {side.right(), y}, p.rule);
        y += 18;
        head(tr("Between turns"), "rms", x.desk->laid ? tr("recorded") : tr("healthy"), tr("differs"));
        for (std::size_t k = 0; k < s.waves.size() && y <= side.bottom() - 4; ++k, y += 17) {
            const view::Wave& w = s.waves[k];
            paint::signal_key(c, {side.x, y - 4}, p.signal[k % p.signal.size()]);
            c.text({side.x + 26, y}, fmt::format("{}  {}", w.label, w.unit), {.colour = p.ink, .size = 12});
            cell(a, w.rms ? view::cell(*w.rms) : "-", p.ink);
            const std::optional<double> beside = rms_beside(*x.desk, s.waves, k);
            if (!w.rms || !beside) continue;
            cell(b, view::cell(*beside), p.ink_soft);
            const double differs = *beside > 1e-3 * std::max(1.0, *w.rms) ? 100 * (*w.rms / *beside - 1) : 0.0;
            cell(r,
                 std::abs(differs) < 0.05 ? "0 %"
                                          : view::signed_figure(differs, std::abs(differs) < 99.95 ? 1 : 0) + " %",
                 std::abs(differs) > 3 ? p.accent : p.ink);
        }
    }

    // Of the recording laid over; without one of the healthy site.
    static std::optional<double> rms_beside(const view::Desk& desk, const std::vector<view::Wave>& waves,
                                            std::size_t which) {
        if (!desk.laid) return waves[which].healthy_rms;
        const view::LaidSignal* own = desk.laid->beside(waves, which);
        return own ? std::optional(own->rms) : std::nullopt;
    }

    void choices(PanelContext& x, Box side, const view::Snapshot& s) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        c.rule({side.x, side.y - 4}, {side.x, side.bottom() + 4}, p.rule);
        paint::title(c, {side.x + 14, side.y + 14}, tr("Channels, five at most"), p.ink_soft);
        side.cut_top(24);
        std::vector<std::string> wanted = x.desk->channels();
        double y = side.y + 12, left = side.x + 14;
        std::vector<std::string> also = wanted;
        if (!s.probes.red.empty() && !s.probes.black.empty()) also.push_back(s.probes.red + ":" + s.probes.black);
        for (const std::string& name : view::channel_choices(*s.site, also)) {
            const auto words = view::signal_words(name);
            bool on = std::ranges::find(wanted, name) != wanted.end();
            const std::string label = c.fitted(fmt::format("{}  {}", words.label, words.unit), 94, {.colour = p.ink});
            if (checkbox(x, "channel " + name, {left, y}, label, on, !on && wanted.size() >= 5)) {
                if (on) wanted.push_back(name);
                else std::erase(wanted, name);
                x.desk->choose_channels(wanted);
            }
            y += 22;
            if (y > side.bottom() - 8) y = side.y + 12, left += 118;
        }
    }

    struct Limited {
        std::shared_ptr<const trace::Trace> of;
        double bandwidth_Hz = 0.0;
        trace::Trace wave;
    };
    struct Glow {
        Box box;
        double low = 0.0, high = 0.0, width = 0.0;
        std::optional<double> at;
        std::vector<std::vector<Point>> lines;
    };
    std::map<std::string, Limited> limited_;
    std::map<std::string, Glow> glow_;
    LevelHandle level_handle_;
    ScopeRecording recording_;
    bool choosing_ = false, more_ = false, row_full_ = false, trigger_open_ = false, recording_open_ = false;
    double cursor_[2] = {0.25, 0.5};
    double labels_ = 44;  // room for the names of the traces at their right ends
    double time_[2] = {0, 0};
    double armed_at_ = 0.0;
    std::optional<view::Stretch> last_;
    std::optional<double> ghost_later_;  // s the healthy wave is moved by to lie under this one
};

}  // namespace

std::unique_ptr<shell::Panel> scope() { return std::make_unique<Scope>(); }

}  // namespace sunshaft::panels
