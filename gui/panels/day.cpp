// Day: sun, power, flow and water from dawn to dusk, this site beside its healthy twin, the clock to be dragged through
// it; and the year as a calendar of days.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <utility>
#include <vector>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/site_drawing.hpp"
#include "model/waves_csv.hpp"
#include "panels/day_calendar.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;
using view::DayLine;
using view::DayView;
using view::Point;

constexpr const char* kSun = "W/m²";
constexpr double kStripHead = 32.0, kAxis = 20.0, kStripGap = 9.0, kLeft = 62.0, kRight = 84.0;
constexpr double kFive = 1.0 / 12.0;                  // h: the clock's step
constexpr double kSetEvery = 0.1, kPlayEvery = 0.25;  // s of wall clock between two moments of the live run

std::string m3(double x) { return text::figure(x, "m3", 3).number + " m³"; }

// A row of the strip: a figure over the hours.
struct Row {
    const char *name, *unit;
    Box box;
    double most = 1.0;
    Point at(double from, double to, double hour, double y) const {
        return {box.x + (hour - from) / (to - from) * box.w, box.bottom() - std::min(y / most, 1.05) * box.h};
    }
};

class DayStrip : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Day"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->want_day(year_);
        const auto v = x.desk->the_day();
        const auto s = x.desk->snapshot();
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        if (v->open) x.wake_in(0.05);
        if (!v->trouble.empty()) {
            c.paragraph({x.box.x + 24, x.box.y + 16}, x.box.w - 48, text::say("No day to show. {}", v->trouble),
                        {.colour = p.ink_soft});
            return;
        }
        if (v->hour.empty() && v->missing.empty()) {
            c.text({x.box.x + 24, x.box.y + 28}, text::tr("The day is being worked out."), {.colour = p.ink_soft});
            return;
        }
        Box rest = x.box.inset(16, 0);
        head(x, c, rest.cut_top(kStripHead), *v, *s, p);
        if (!v->missing.empty() && !year_) {
            c.text({rest.x + 8, rest.y + 24}, v->missing, {.colour = p.ink_soft});
            return;
        }
        if (year_) calendar_.draw(x, rest, *v);
        else strip(x, c, rest, *v, *s, p);
    }

    std::string csv(const view::Desk& desk) const override {
        const auto v = desk.the_day();
        std::vector<view::Column> columns{{"hour", v->hour},
                                          {"sun [W/m2]", v->sun_W_m2},
                                          {"modules [degC]", v->module_degC},
                                          {"air [degC]", v->air_degC}};
        const auto add = [&](const std::shared_ptr<const DayLine>& line, const std::string& whose) {
            if (!line) return;
            columns.push_back({whose + "power [W]", line->power_W});
            columns.push_back({whose + "flow [m3/h]", line->flow_m3_h});
            columns.push_back({whose + "water [m3]", line->water_m3});
        };
        add(v->site, "");
        if (v->healthy != v->site) add(v->healthy, "healthy ");
        return v->hour.empty() ? std::string() : view::columns_to_csv(columns);
    }

  private:
    // Which day, under which sky; what it comes to.
    void head(PanelContext& x, Canvas& c, const Box& row, const DayView& v, const view::Snapshot& s,
              const view::Palette& p) {
        view::DayWish& wish = x.desk->day;
        const double top = row.y + 4, high = row.h - 8;
        double at = row.x;
        const auto key = [&](const char* id, const char* words, const char* why, bool chosen = false) {
            const Box box{at, top, button_width(c, words), high};
            const bool pressed = button(x, id, box, words, {.chosen = chosen});
            hint(x, box, why);
            at = box.right() + 6;
            return pressed;
        };
        if (key("day before", "<", text::tr("The day before (Page up on the clock)"))) turn_to(wish, -1);
        const paint::TextLook date{.colour = p.ink, .face = Face::strong, .align = Align::centre};
        const double wide = c.width(view::date_text({2026, 9, 30}), date) + 8;
        c.text({at + wide / 2, row.y + 20}, view::date_text(wish.date), date);
        at += wide + 6;
        if (key("day after", ">", text::tr("The day after (Page down on the clock)"))) turn_to(wish, 1);
        const auto& skies = day::shipped_skies().skies;
        std::vector<std::string_view> titles;
        int chosen = 0;
        for (std::size_t n = 0; n < skies.size(); ++n) {
            titles.emplace_back(skies[n].title);
            if (skies[n].id == wish.sky) chosen = static_cast<int>(n);
        }
        if (x.desk->has_weather()) {
            titles.emplace_back(text::tr("Measured"));
            if (wish.sky == view::measured_sky) chosen = static_cast<int>(skies.size());
        }
        const Box list{at + 4, top, 136, high};
        if (chooser(x, "sky of the day", list, titles, chosen))
            wish.sky = chosen < static_cast<int>(skies.size()) ? skies[static_cast<std::size_t>(chosen)].id
                                                               : view::measured_sky;
        at = list.right() + 10;
        if (key("year", text::tr("Year"), text::tr("All days of the year, one cell each; a press on one opens it"),
                year_))
            year_ = !year_;
        if (!year_ && key("play", playing_ ? text::tr("Stop") : text::tr("Play"),
                          text::tr("Lets the day pass: an hour in three seconds"), playing_))
            play(*x.desk, v, s);
        legend(c, {at + 12, row.y, std::max(0.0, row.right() - at - 12), row.h}, v, p);
    }

    void legend(Canvas& c, const Box& row, const DayView& v, const view::Palette& p) const {
        const paint::TextLook soft{.colour = p.ink_soft, .size = 12};
        double right = row.right();
        if (v.open) {
            const std::string words = text::say("working it out, {:.0f} %", 100 * v.progress);
            right -= c.text({right - c.width(words, soft), row.y + 20}, words, soft) + 16;
        } else if (const std::string words = comes_to(c, row.w, v); !words.empty()) {
            const paint::TextLook look{.colour = v.faulty ? p.accent : p.ink, .face = Face::strong};
            right -= c.text({right - c.width(words, look), row.y + 20}, words, look) + 16;
        }
        if (year_) return;
        double at = row.x;
        const auto entry = [&](const view::SignalLook& look, const char* words) {
            const double wide = 30 + c.width(words, soft) + 14;
            if (at + wide > right) return;
            paint::signal_key(c, {at, row.y + 16}, look, 24);
            c.text({at + 30, row.y + 20}, words, soft);
            at += wide;
        };
        if (v.site) entry({p.signal[0].colour, view::LineStyle::solid}, text::tr("this site"));
        if (v.site) entry({p.signal[0].colour, view::LineStyle::dashed}, text::tr("from now on"));
        if (v.healthy && v.healthy != v.site)
            entry({p.ghost, view::LineStyle::solid}, v.hidden ? text::tr("healthy") : text::tr("healthy twin"));
    }
    // In the longest words there is room for.
    std::string comes_to(const Canvas& c, double room, const DayView& v) const {
        if (!v.healthy || year_) return {};
        std::vector<std::string> said;
        if (v.hidden || !v.site || !v.faulty) {
            said = {text::say_of(v.hidden ? text::id("{} by dusk if healthy") : text::id("{} by dusk"),
                                 m3(v.healthy->dusk_m3))};
        } else {
            const double less = v.healthy->dusk_m3 - v.site->dusk_m3;
            const std::string both = text::say("{} by dusk, healthy {}", m3(v.site->dusk_m3), m3(v.healthy->dusk_m3));
            said = {
                text::say_of(less >= 0 ? text::id("{}: {} lost") : text::id("{}: {} more"), both, m3(std::abs(less))),
                both};
        }
        for (const std::string& words : said)
            if (c.width(words, {.colour = {}, .face = Face::strong}) < room) return words;
        return {};
    }

    void strip(PanelContext& x, Canvas& c, const Box& all, const DayView& v, const view::Snapshot& s,
               const view::Palette& p) {
        const Box plot{all.x + kLeft, all.y + 8, std::max(60.0, all.w - kLeft - kRight), all.h - 8 - kAxis};
        const double high = (plot.h - 3 * kStripGap) / 4;
        const auto row = [&](int n, const char* name, const char* unit, double most) {
            return Row{
                name, unit, {plot.x, plot.y + (high + kStripGap) * n, plot.w, high}, 1.06 * std::max(most, 1e-9)};
        };
        const std::array rows{row(0, text::tr("sun"), kSun, v.most_sun), row(1, text::tr("power"), "W", v.most_power),
                              row(2, text::tr("flow"), "m³/h", v.most_flow),
                              row(3, text::tr("water"), "m³", v.most_water)};
        const double from = v.dawn_h, to = v.dusk_h;
        const double hour = hands(x, plot, v, s);
        const auto now = view::now_of(v, s);
        frame(c, rows, plot, from, to, p);
        sun(c, rows[0], v, p);
        const auto lines = [&](const Row& r, auto member) {
            if (v.healthy && v.healthy != v.site)
                polyline(c, r, v, *v.healthy.*member, from, to, {.colour = p.ghost, .width = 1.4});
            if (!v.site) return;
            const double middle = std::clamp(hour, from, to);
            polyline(c, r, v, *v.site.*member, from, middle, {.colour = p.signal[0].colour, .width = 2});
            polyline(c, r, v, *v.site.*member, middle, to,
                     {.colour = p.signal[0].colour, .width = 2, .style = view::LineStyle::dashed});
        };
        lost(c, rows[3], v, p);
        lines(rows[1], &DayLine::power_W);
        lines(rows[2], &DayLine::flow_m3_h);
        lines(rows[3], &DayLine::water_m3);
        figures(c, rows, all, v, view::moment_of(v, hour), p);
        if (v.site) locked_out(c, rows[1], *v.site, from, to, p);
        if (now) flag(c, plot, rows[0], hour, *now, from, to, p);
    }

    // Where the clock stands: in the hand, or as the live run has it.
    double hands(PanelContext& x, const Box& plot, const DayView& v, const view::Snapshot& s) {
        view::Desk& desk = *x.desk;
        const double from = v.dawn_h, to = v.dusk_h;
        double hour = view::hours_of(s.site->scenario.sun.time_of_day);
        const Touch t = touch(x, "clock", plot);
        if (t.focused) focus_mark(x, plot.inset(-2));
        hint(x, t,
             text::tr(
                 "The clock of this day: drag it, and the live run takes sun, modules and air of that moment. Left and "
                 "right: "
                 "5 minutes, with Shift an hour. Page up and down: another day"));
        if (t.held) {
            playing_ = false;
            held_ = std::clamp(from + (x.input.mouse.x - plot.x) / plot.w * (to - from), from, to);
            if (x.input.now > set_at_ + kSetEvery) set(desk, *held_, true, x.input.now);
            x.wake_in(0.03);
        } else if (held_) {
            set(desk, *std::exchange(held_, std::nullopt), false, x.input.now);
        }
        if (t.focused) {
            for (const auto& [key, by] : {std::pair{Key::Left, -1}, {Key::Right, 1}}) {
                if (x.input.take(key)) set(desk, hour + by * kFive, false, x.input.now);
                if (x.input.take(key, false, true)) set(desk, hour + by, false, x.input.now);
            }
            if (x.input.take(Key::PageUp)) turn_to(desk.day, -1);
            if (x.input.take(Key::PageDown)) turn_to(desk.day, 1);
            if (x.input.take(Key::Home)) set(desk, from, false, x.input.now);
            if (x.input.take(Key::End)) set(desk, to, false, x.input.now);
        }
        if (playing_) {
            x.wake_in(0.05);
            if (x.input.now > set_at_ + kPlayEvery) {
                play_hour_ += kFive;
                playing_ = play_hour_ < to;
                set(desk, std::min(play_hour_, to), playing_, x.input.now);
            }
            hour = play_hour_;
        }
        return held_.value_or(hour);
    }
    void set(view::Desk& desk, double hour, bool in_hand, double now) {
        desk.at_hour(hour, in_hand);
        set_at_ = now;
    }
    void play(view::Desk& desk, const DayView& v, const view::Snapshot& s) {
        if (playing_) desk.at_hour(play_hour_, false);
        playing_ = !playing_;
        const double hour = view::hours_of(s.site->scenario.sun.time_of_day);
        play_hour_ = hour > v.dawn_h && hour < v.dusk_h - 0.5 ? hour : v.dawn_h;
    }
    static void turn_to(view::DayWish& wish, int days) { wish.date = view::next_day(wish.date, days); }

    static void frame(Canvas& c, std::span<const Row> rows, const Box& plot, double from, double to,
                      const view::Palette& p) {
        const int every = plot.w / (to - from) < 26 ? 4 : 2;
        for (const Row& r : rows) {
            c.fill(r.box, p.sheet);
            c.text({r.box.x - 10, r.box.y + r.box.h / 2 - 2}, r.name,
                   {.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::right});
            c.text({r.box.x - 10, r.box.y + r.box.h / 2 + 12}, r.unit,
                   {.colour = p.ink_soft, .size = 12, .align = Align::right});
        }
        for (int h = static_cast<int>(std::ceil(from)); h <= static_cast<int>(to); ++h) {
            const double at = plot.x + (h - from) / (to - from) * plot.w;
            for (const Row& r : rows) c.rule({at, r.box.y}, {at, r.box.bottom()}, p.grid);
            if (h % every == 0)
                c.text({at, plot.bottom() + 15}, std::to_string(h),
                       {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::centre});
        }
        for (const Row& r : rows) c.rule({r.box.x, r.box.bottom()}, {r.box.right(), r.box.bottom()}, p.rule_strong);
    }

    static std::vector<Point> points(const Row& r, const DayView& v, const std::vector<double>& y, double from,
                                     double to) {
        std::vector<Point> list;
        const std::size_t count = std::min(y.size(), v.hour.size());
        for (std::size_t n = 0; n < count; ++n) {
            if (v.hour[n] < from - 0.02 || v.hour[n] > to + 0.02) continue;
            // What lies in one line needs no corner.
            const bool last = n + 1 >= count || v.hour[n + 1] > to + 0.02;
            if (list.size() > 1 && !last && y[n] == y[n - 1] && y[n] == y[n + 1]) continue;
            list.push_back(r.at(v.dawn_h, v.dusk_h, std::clamp(v.hour[n], from, to), y[n]));
        }
        return list;
    }
    static void polyline(Canvas& c, const Row& r, const DayView& v, const std::vector<double>& y, double from,
                         double to, const paint::Stroke& look) {
        const auto list = points(r, v, y, from, to);
        if (list.size() > 1) c.polyline(list, look);
    }
    static void sun(Canvas& c, const Row& r, const DayView& v, const view::Palette& p) {
        const auto list = points(r, v, v.sun_W_m2, v.dawn_h, v.dusk_h);
        if (list.size() < 2) return;
        c.area(list, r.box.bottom(), p.sun.faded(0.28));
        c.polyline(list, {.colour = p.sun, .width = 2});
    }
    // Between what the healthy twin lifts and what this site does.
    static void lost(Canvas& c, const Row& r, const DayView& v, const view::Palette& p) {
        if (!v.faulty || !v.site || !v.healthy) return;
        auto edge = points(r, v, v.healthy->water_m3, v.dawn_h, v.dusk_h);
        const auto back = points(r, v, v.site->water_m3, v.dawn_h, v.dusk_h);
        if (edge.size() < 2 || back.size() < 2) return;
        const double right = r.box.right();
        // Column by column: the two are not corner by corner beside each other.
        const auto at = [](const std::vector<Point>& list, double px) {
            const auto n = std::ranges::lower_bound(list, px, {}, &Point::x);
            if (n == list.begin()) return n->y;
            if (n == list.end()) return list.back().y;
            const Point &a = *(n - 1), &b = *n;
            return b.x > a.x ? a.y + (b.y - a.y) * (px - a.x) / (b.x - a.x) : b.y;
        };
        for (double px = r.box.x; px < right; px += 4) {
            const double w = std::min(4.0, right - px), high = at(edge, px + w / 2), low = at(back, px + w / 2);
            if (std::abs(high - low) > 0.5)
                c.fill(Box{px, std::min(high, low), w, std::abs(low - high)}, p.accent_tint);
        }
    }

    // Right of the plots: what stands at the clock's hour; of the water, what the whole day comes to.
    static void figures(Canvas& c, std::span<const Row> rows, const Box& all, const DayView& v,
                        const std::optional<view::DayMoment>& at, const view::Palette& p) {
        const double right = all.right() - 8;
        const auto put = [&](const Row& r, double site, std::optional<double> healthy, const char* unit) {
            const double middle = r.box.y + r.box.h / 2 + (healthy ? -2 : 5);
            // Watts and watts per square metre whole: their column has one unit.
            const auto words = [&](double value) {
                return unit[0] == 'W' ? text::fixed(value, 0)
                                      : text::figure(std::abs(value) < 5e-4 ? 0.0 : value, unit, 3).number;
            };
            c.text({right, middle}, words(site),
                   {.colour = p.ink, .size = 13, .face = Face::mono_strong, .align = Align::right});
            if (healthy)
                c.text({right, middle + 15}, words(*healthy),
                       {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right});
        };
        if (!at) return;
        put(rows[0], at->sun_W_m2, {}, "W/m2");
        const auto& own = at->site ? at->site : at->healthy;
        if (!own) return;
        const bool two = v.faulty && at->site && at->healthy;
        const auto beside = [&](double value) { return two ? std::optional(value) : std::nullopt; };
        const auto healthy = at->healthy.value_or(view::DayMoment::One{});
        put(rows[1], own->power_W, beside(healthy.power_W), "W");
        put(rows[2], own->flow_m3_h, beside(healthy.flow_m3_h), "m3/h");
        const double dusk = v.site ? v.site->dusk_m3 : v.healthy->dusk_m3;
        put(rows[3], dusk, beside(v.healthy ? v.healthy->dusk_m3 : 0.0), "m3");
        c.text({right, rows[3].box.bottom() + 15}, text::tr("by dusk"),
               {.colour = p.ink_soft, .size = 12, .align = Align::right});
        if (!two || !v.healthy || !v.site) return;
        // Bracketed: what lies between the two.
        const Row& r = rows[3];
        const double a = r.at(0, 1, 1, v.site->dusk_m3).y, b = r.at(0, 1, 1, v.healthy->dusk_m3).y,
                     x = r.box.right() + 4;
        if (std::abs(a - b) < 2) return;
        c.rule({x, a}, {x + 5, a}, p.accent);
        c.rule({x, b}, {x + 5, b}, p.accent);
        c.rule({x + 5, std::min(a, b)}, {x + 5, std::max(a, b)}, p.accent, 1.4);
    }

    // From where the drive waits for a hand.
    static void locked_out(Canvas& c, const Row& r, const DayLine& line, double from, double to,
                           const view::Palette& p) {
        if (line.locked.empty() || line.locked_h < from || line.locked_h > to) return;
        const Point at = r.at(from, to, line.locked_h, 0.0);
        c.line({at.x, r.box.y}, at, {.colour = p.accent, .width = 1.4, .style = view::LineStyle::dashed});
        const std::string words = fmt::format("{}, {}", view::hour_text(line.locked_h), line.locked);
        const paint::TextLook look{.colour = p.accent, .size = 12, .face = Face::strong, .halo = p.sheet};
        const double wide = c.width(words, look);
        c.text({at.x + 8 + wide < r.box.right() ? at.x + 8 : at.x - 8 - wide, r.box.centre().y + 4}, words, look);
    }

    static void flag(Canvas& c, const Box& plot, const Row& top, double hour, const view::DayNow& now, double from,
                     double to, const view::Palette& p) {
        const double at = plot.x + std::clamp((hour - from) / (to - from), 0.0, 1.0) * plot.w;
        c.line({at, plot.y - 4}, {at, plot.bottom()},
               {.colour = p.ink, .width = 1.6, .style = now.taken ? view::LineStyle::solid : view::LineStyle::dashed});
        const std::string words = now.taken ? text::say("now {}", view::hour_text(hour))
                                            : text::say("{}; the live run has {} {}", view::hour_text(hour),
                                                        text::fixed(now.live_W_m2, 0), kSun);
        const paint::TextLook look{.colour = p.sheet, .size = 12, .face = Face::strong};
        const double wide = c.width(words, look) + 14;
        const double x =
            std::clamp(at + (at > plot.centre().x ? -wide : 0.0), plot.x, std::max(plot.x, plot.right() - wide));
        const Box box{x, top.box.y - 6, wide, 18};
        c.fill(box, p.ink);
        c.text({box.x + 7, box.y + 13}, words, look);
    }

    bool year_ = false, playing_ = false;
    double play_hour_ = 12.0, set_at_ = -1e9;
    std::optional<double> held_;
    DayCalendar calendar_{year_};
};

}  // namespace

std::unique_ptr<shell::Panel> day_strip() { return std::make_unique<DayStrip>(); }

}  // namespace sunshaft::panels
