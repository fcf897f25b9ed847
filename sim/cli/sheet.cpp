// sunshaft sheet: what this site should read, with bands, to print and take along.
#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <memory>

#include "cli/verb.hpp"
#include "day/run.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "teach/sheet.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct SheetOptions {
    BenchOptions bench;
    std::string out, meter, at, sky, date, source;
};

void print_table(const teach::Sheet& sheet, bool live) {
    for (const teach::SheetRow& row : sheet.rows) {
        if (row.live != live) continue;
        fmt::print("{:>2}  {}: {}{}\n", row.number, row.where, row.set,
                   row.ratio.empty() || row.ratio.find('\n') != std::string::npos ? "" : say(", ratio {}", row.ratio));
        for (std::size_t n = 0; n < row.healthy.size(); ++n)
            fmt::print("      {:<24} {}\n", row.healthy[n], n < row.with.size() ? row.with[n] : "");
    }
}

void print_first(const std::vector<std::string>& lines) {
    for (const std::string& line : lines) fmt::print("{}\n", say("before you touch: {}", line));
}

int print(const teach::Sheet& sheet, const bench::Conduct& conduct) {
    fmt::print("{}\n{}\n{}\n\n", sheet.name, sheet.description, say("Computed for {}.", sheet.sky));
    print_cautions(conduct.hazards(), stdout);
    print_first(sheet.first);
    fmt::print("\n{}\n", tr("dead tests first"));
    print_table(sheet, false);
    fmt::print("\n");
    print_first(sheet.live);
    fmt::print(
        "\n{}\n",
        tr("live tests after: volts and amps move with the sun, ratios hardly; the band holds the link's swing"));
    print_table(sheet, true);
    if (!sheet.note.empty()) fmt::print("{}\n", sheet.note);
    print_unsafe(conduct, stdout);
    return 0;
}

// "15:00" as hours.
double hour_of(const std::string& text) {
    int hour = -1, minute = -1;
    char rest = 0;
    if (std::sscanf(text.c_str(), "%2d:%2d%c", &hour, &minute, &rest) != 2 || hour < 0 || hour > 23 || minute < 0 ||
        minute > 59)
        throw site::BadInput(say("--at: is {}, expected a time as 15:00", site::on_one_line(text, 40)));
    return hour + minute / 60.0;
}

// The scenario's sun as it is, as an hour's under a sky, or as a figure somebody has by some means.
teach::SheetLight light_of(const SheetOptions& o, Scenario& scenario) {
    const bool asked = !o.at.empty() || !o.sky.empty() || !o.date.empty();
    if (asked && !o.source.empty())
        throw site::BadInput(
            tr("--light-by: goes with a figure of the light (--set sun.irradiance_W_m2=640), not with --at"));
    if (!o.source.empty()) return teach::light_by(o.source, scenario);
    if (!asked) return {};
    day::check(scenario);
    day::Date date{2026, 3, 21};
    try {
        if (!o.date.empty()) date = day::parse_date(o.date);
    } catch (const std::invalid_argument& e) {
        throw site::BadInput(say("--date: {}", e.what()));
    }
    return teach::light_at(scenario, date, o.at.empty() ? 12.0 : hour_of(o.at), o.sky.empty() ? "clear" : o.sky);
}

int sheet(const SheetOptions& o) {
    const std::string ending = std::filesystem::path(o.out).extension().string();
    if (!o.out.empty() && ending != ".pdf" && ending != ".html")
        throw site::BadInput(say("--out: {}: is no kind of sheet, expected a name that ends in .pdf or .html",
                                 site::on_one_line(o.out)));
    if (!o.out.empty() && (!o.bench.faults.empty() || !o.bench.acts.empty()))
        throw site::BadInput(tr("--out: a sheet tells of the healthy site, expected neither --fault nor --do"));
    bench::Conduct conduct(o.bench.anyway);
    const bench::Bench given = make_bench(o.bench, conduct, false);
    const auto meters = o.meter.empty() ? teach::SheetMeters::usual() : teach::SheetMeters::owned(o.meter);
    Scenario scenario = given.scenario();
    const teach::SheetLight light = light_of(o, scenario);
    teach::Sheet made = teach::expected(scenario, given.edits(), meters, light);
    if (o.out.empty()) return print(made, conduct);
    files::FreshFile file(o.out);  // refused before the work, if at all
    Progress progress(tr("faults tried"));
    teach::add_meanings(made, scenario, diagnose::load_priors(diagnose::shipped_priors()), std::ref(progress));
    progress.done();
    file.write(ending == ".pdf" ? teach::sheet_pdf(made) : teach::sheet_html(made));
    file.finish();
    return 0;
}

}  // namespace

Run add_sheet(CLI::App& app) {
    auto options = std::make_shared<SheetOptions>();
    add_bench_options(app, options->bench);
    app.add_option("--meter", options->meter, tr("the meter you own: a file or a name of `sunshaft meters`"))
        ->type_name("METER");
    app.add_option("--out", options->out,
                   tr("write pages to print, with what other readings mean on this site: .pdf or .html"))
        ->type_name("FILE");
    app.add_option("--at", options->at,
                   tr("the sheet for a visit at this time: the sun of that hour, with what it may be off"))
        ->type_name("HH:MM");
    app.add_option("--sky", options->sky,
                   tr("the sky of the visit: clear, hazy, changing, overcast (scenarios/skies.toml)"))
        ->type_name("SKY");
    app.add_option("--date", options->date, tr("its day, as 2026-06-21; without it 21 March"))->type_name("DATE");
    app.add_option(
           "--light-by", options->source,
           tr("where the scenario's figure of the light comes from: \"in-plane meter\", \"own array\", \"by eye\" ..."))
        ->type_name("WORDS");
    app.footer(
        "Example: sunshaft sheet hill-orchard --at 15:00 --sky hazy\n         sunshaft sheet stone-fold --set "
        "sun.irradiance_W_m2=600 --meter average --out sheet.pdf");
    return [options] { return sheet(*options); };
}

}  // namespace sunshaft::cli
