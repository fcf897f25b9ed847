// sunshaft fit: does it fit together, each margin with its rule and source; and the one change that helps most.
#include <fmt/format.h>

#include <cmath>
#include <memory>

#include "cli/verb.hpp"
#include "day/fit.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

using day::Margin;
using nlohmann::json;

struct FitOptions {
    SiteOptions site;
    std::string meter;
    bool suggest = false, as_json = false;
};

std::string figure(double x, const std::string& unit) {
    if (std::isnan(x)) return "-";
    return unit == "%" ? text::percent(x) : text::quantity(x, unit, 3);
}

void print(const Scenario& s, const day::Fit& fit) {
    fmt::print("{}\n", s.site.name);
    fmt::print("{}\n\n",
               tr("Your local code and the parts' own papers come first; what stands here is no permission."));
    for (const Margin& m : fit.rows) {
        const std::string left = m.left_words();
        fmt::print("{:<8} {:<38} {:>10} {:<4} {:>10}  {}\n", tr(Margin::word(m.verdict)), m.what, figure(m.is, m.unit),
                   m.at_most        ? "<="
                   : m.bound == 0.0 ? ">"
                                    : ">=",
                   figure(m.bound, m.unit), left.empty() ? "" : say("margin {}", left));
        fmt::print("{:<8} {} ({})\n", "", m.rule, m.source);
        if (!m.note.empty()) fmt::print("{:<8} {}\n", "", m.note);
    }
    fmt::print("\n");
    if (fit.fails()) fmt::print("{}\n", tr("It does not fit: see the rows marked FAILS."));
    else if (fit.incomplete())
        fmt::print("{}\n", tr("Not called sound: figures are missing. Set the keys named above (sunshaft keys) and ask "
                              "again."));
    else fmt::print("{}\n", tr("Every row asked here fits. What is not asked here is not answered."));
}

int run_fit(const FitOptions& o) {
    const Scenario s = load(o.site);
    const day::Fit fit = day::fit(s, o.meter);
    std::optional<day::Suggestion> best;
    if (o.suggest) best = day::suggest(s, o.meter);
    if (o.as_json) {
        json rows = json::array();
        for (const Margin& m : fit.rows)
            rows.push_back({{"what", m.what},
                            {"verdict", Margin::word(m.verdict)},
                            {"is", number(m.is)},
                            {"bound", number(m.bound)},
                            {"at_most", m.at_most},
                            {"unit", m.unit},
                            {"margin", number(m.left())},
                            {"rule", m.rule},
                            {"source", m.source},
                            {"note", m.note}});
        json out{{"site", s.site.name}, {"sound", fit.sound()}, {"rows", rows}};
        if (o.suggest)
            out["suggestion"] = best ? json{{"change", best->change},
                                            {"why", best->why},
                                            {"row", best->row},
                                            {"margin_before", number(best->row_before)},
                                            {"margin_after", number(best->row_after)},
                                            {"fails_before", best->fails_before},
                                            {"fails_after", best->fails_after},
                                            {"water_m3_before", best->water_before},
                                            {"water_m3_after", best->water_after}}
                                     : json(nullptr);
        fmt::print("{}\n", out.dump(2));
    } else {
        print(s, fit);
        if (best)
            fmt::print("\n{}\n", say("What helps most: {} (--set {}). {}", best->why, best->change, best->words()));
        else if (o.suggest)
            fmt::print("\n{}\n", tr("None of the changes tried helps a margin or brings 3 % more water."));
    }
    return fit.sound() ? 0 : 1;
}

}  // namespace

Run add_fit(CLI::App& app) {
    auto o = std::make_shared<FitOptions>();
    add_site_options(app, o->site);
    app.add_option("--meter", o->meter,
                   tr("the meter used there: a file or a name of `sunshaft meters`; left out: true-rms"))
        ->type_name("METER");
    app.add_flag("--suggest", o->suggest,
                 tr("the one change that helps most, of modules, strings, cables, rising main, pump and tank"));
    app.add_flag("--json", o->as_json, tr("print one JSON object"));
    app.footer("Example: sunshaft fit hill-orchard --set drive.highest_input_V=450\n" +
               say("Status 0: every row fits. Status 1: a row fails, or a figure is missing and the site is not called "
                   "sound."));
    return [o] { return run_fit(*o); };
}

}  // namespace sunshaft::cli
