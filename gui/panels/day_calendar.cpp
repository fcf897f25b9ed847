#include "panels/day_calendar.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;

namespace {

constexpr double kMonthHead = 16.0, kMonth = 76.0, kSums = 150.0, kSumsNarrow = 84.0;

std::string month_m3(double x) { return text::figure(x, "m3", 3).number; }

}  // namespace

void DayCalendar::draw(PanelContext& x, const Box& box, const view::DayView& v) {
    Canvas c = x.canvas();
    const view::Palette& p = x.palette();
    const paint::TextLook soft{.colour = p.ink_soft, .size = 12};
    if (!v.year || v.year->empty()) {
        c.text({box.x + 8, box.y + 24}, text::tr("The year is being worked out."), {.colour = p.ink_soft});
        return;
    }
    const bool both = v.faulty;
    const double sums = both && box.w > 700 ? kSums : kSumsNarrow;
    const double pitch_x = (box.w - kMonth - sums) / 31, pitch_y = (box.h - kMonthHead - 4) / 12;
    const auto cell = [&](int month, int day) {
        return Box{box.x + kMonth + pitch_x * (day - 1), box.y + kMonthHead + pitch_y * (month - 1), pitch_x - 2,
                   pitch_y - 2};
    };
    for (const int day : {1, 5, 10, 15, 20, 25, 30})
        c.text({cell(1, day).centre().x, box.y + 11}, std::to_string(day),
               {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::centre});
    const double right = box.right() - 8;
    c.text({right, box.y + 11}, both ? (sums == kSums ? text::tr("m³: here, healthy") : text::tr("m³ here")) : "m³",
           {.colour = p.ink_soft, .size = 12, .align = Align::right});
    view::DayWish& wish = x.desk->day;
    const Box grid{box.x + kMonth, box.y + kMonthHead, pitch_x * 31, pitch_y * 12};
    const Touch t = touch(x, "days of the year", grid);
    std::optional<view::YearDay> under;
    for (const view::YearDay& d : *v.year) {
        const Box b = cell(d.date.month, d.date.day);
        const double most = std::max(v.year_most_m3, 1e-9);
        const auto blue = [&](double water) {
            return view::mix(p.sheet, p.water_deep, std::clamp(water / most, 0.0, 1.0));
        };
        c.fill(b, blue(d.site_m3));
        // What a healthy site would bring stands in the upper edge.
        if (both) c.fill(Box{b.x, b.y, b.w, std::max(3.0, b.h * 0.3)}, blue(d.healthy_m3));
        if (d.date == wish.date) c.outline(b.inset(-1), {.colour = p.accent, .width = 2});
        if (t.hovered && b.inset(-1).contains(x.input.mouse)) {
            under = d;
            c.outline(b, {.colour = p.ink, .width = 1.4});
        }
    }
    for (int month = 1; month <= 12; ++month) {
        const double base = box.y + kMonthHead + pitch_y * (month - 0.5) + 4;
        c.text({box.x + 4, base}, view::month_name(month), soft);
        const view::MonthWater& sum = v.months[static_cast<std::size_t>(month - 1)];
        const paint::TextLook figure{.colour = p.ink, .size = 12, .face = Face::mono, .align = Align::right};
        if (sums == kSums) {
            c.text({right, base}, month_m3(sum.healthy_m3),
                   {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right});
            c.text({right - 66, base}, month_m3(sum.site_m3), figure);
        } else {
            c.text({right, base}, month_m3(sum.site_m3), figure);
        }
    }
    if (t.focused) {
        focus_mark(x, grid.inset(-2));
        for (const auto& [key, by] : {std::pair{Key::Left, -1}, {Key::Right, 1}, {Key::Up, -30}, {Key::Down, 30}})
            if (x.input.take(key)) wish.date = view::next_day(wish.date, by);
    }
    if (under)
        hint(x, t,
             both ? text::say("{}: {} m³, healthy {} m³. Press to open the day", view::date_text(under->date),
                              month_m3(under->site_m3), month_m3(under->healthy_m3))
                  : text::say("{}: {} m³. Press to open the day", view::date_text(under->date),
                              month_m3(under->site_m3)));
    if (!t.clicked) return;
    if (under) wish.date = under->date;
    open_ = false;
}

}  // namespace sunshaft::panels
