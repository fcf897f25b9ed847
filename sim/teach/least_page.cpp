#include "teach/least_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

using report::Paper;
using text::say, text::tr;

constexpr double margin = 28, names = 196, cell = 13.0, row_high = 11.0, group_gap = 18.0, small = 7.0, body = 8.0;
constexpr std::size_t list_columns = 3;

// Tests that see anything at all.
std::vector<std::size_t> seeing(const std::vector<diagnose::LeastSeen>& rows) {
    std::vector<std::size_t> list;
    for (std::size_t t = 0; t < bench::field_tests().size(); ++t)
        if (std::any_of(rows.begin(), rows.end(), [&](const auto& row) { return std::isfinite(row.much[t]); }))
            list.push_back(t);
    return list;
}

}  // namespace

std::string least_page(const Scenario& scenario, const std::vector<diagnose::LeastSeen>& rows, bool pdf,
                       std::vector<Paper::Placed>* placed) {
    const auto& tests = bench::field_tests();
    const std::vector<std::size_t> shown = seeing(rows);
    std::size_t groups = 0;
    for (std::size_t n = 0; n < rows.size(); ++n)
        groups += n == 0 || std::string_view(rows[n].row->group) != rows[n - 1].row->group;
    const std::size_t lines = (shown.size() + list_columns - 1) / list_columns;
    const double wide = std::max(2 * margin + names + cell * static_cast<double>(shown.size()), 620.0),
                 high = 2 * margin + 46 + row_high * static_cast<double>(rows.size()) +
                        (group_gap + 10) * static_cast<double>(groups) + 16 + 12 * static_cast<double>(lines);
    Paper p(pdf ? Paper::Kind::pdf : Paper::Kind::svg, wide, high);
    const double inner = wide - 2 * margin;
    double y = margin;
    y += p.text(margin, y, say("{}: from how much of each fault on which field test sees it", scenario.site.name),
                {.size = 13, .bold = true, .wide = inner});
    y +=
        2 + p.text(margin, y + 2,
                   say("Computed under {}, against the bands of the meters used. A cell is the fuller, the less of the "
                       "fault is enough. Hatched: seen, it has no degrees. Empty: not seen.",
                       text::quantity(scenario.sun.irradiance_W_m2, "W/m2", 3)),
                   {.size = body, .wide = inner});
    const auto column = [&](std::size_t n) { return margin + names + cell * static_cast<double>(n); };
    std::string group;
    for (const diagnose::LeastSeen& row : rows) {
        if (group != row.row->group) {
            group = row.row->group;
            y += group_gap;
            p.text(margin, y - 1, tr(row.row->group), {.size = body, .bold = true});
            for (std::size_t n = 0; n < shown.size(); ++n)
                p.text(column(n) + 0.5 * cell, y, fmt::format("{}", n + 1), {.size = 6, .mono = true, .align = 0.5});
            y += 10;
        }
        p.text(margin, y + 1.5, fmt::format("{} @{}", row.row->kind, row.place), {.size = small});
        p.line(margin, y + row_high, column(shown.size()), y + row_high, 0.2);
        for (std::size_t n = 0; n < shown.size(); ++n) {
            const double much = row.much[shown[n]], x = column(n) + 1, side = cell - 2, tall = row_high - 2;
            if (n % 5 == 0) p.line(column(n), y, column(n), y + row_high, 0.2);
            if (!std::isfinite(much)) continue;
            const double full = tall * std::max(0.15, 1.0 - 0.85 * much);
            if (row.row->least == row.row->most) p.hatch(x, y + 1, side, tall, 2.5);
            else p.bar(x, y + 1 + tall - full, side, full);
        }
        y += row_high;
    }
    y += 16;
    for (std::size_t n = 0; n < shown.size(); ++n) {
        const std::size_t stack = n / lines;
        const double x = margin + inner / list_columns * static_cast<double>(stack);
        p.text(x, y + 12 * static_cast<double>(n % lines), fmt::format("{}", n + 1), {.size = small, .mono = true});
        p.text(x + 18, y + 12 * static_cast<double>(n % lines), tr(tests[shown[n]].name), {.size = small});
    }
    if (placed) *placed = p.placed();
    return p.finish();
}

}  // namespace sunshaft::teach
