// sunshaft sheet: what this site should read, with bands, to print and take along.
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "cli/verb.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "teach/sheet.hpp"

namespace sunshaft::cli {
namespace {

struct Options {
    BenchOptions bench;
    std::string out, meter;
};

void print_table(const teach::Sheet& sheet, bool live) {
    for (const teach::SheetRow& row : sheet.rows) {
        if (row.live != live) continue;
        fmt::print("{:>2}  {}: {}{}\n", row.number, row.where, row.set,
                   row.ratio.empty() || row.ratio.find('\n') != std::string::npos ? "" : ", ratio " + row.ratio);
        for (std::size_t n = 0; n < row.healthy.size(); ++n)
            fmt::print("      {:<24} {}\n", row.healthy[n], n < row.with.size() ? row.with[n] : "");
    }
}

void print_first(const std::vector<std::string>& lines) {
    for (const std::string& line : lines) fmt::print("before you touch: {}\n", line);
}

int print(const teach::Sheet& sheet, const bench::Conduct& conduct) {
    fmt::print("{}\n{}\nComputed for {}.\n\n", sheet.name, sheet.description, sheet.sky);
    print_cautions(conduct.hazards(), stdout);
    print_first(sheet.first);
    fmt::print("\ndead tests first\n");
    print_table(sheet, false);
    fmt::print("\n");
    print_first(sheet.live);
    fmt::print(
        "\nlive tests after: volts and amps move with the sun, ratios hardly; the band holds the link's swing\n");
    print_table(sheet, true);
    if (!sheet.note.empty()) fmt::print("{}\n", sheet.note);
    print_unsafe(conduct, stdout);
    return 0;
}

int sheet(const Options& o) {
    const std::string ending = std::filesystem::path(o.out).extension().string();
    if (!o.out.empty() && ending != ".pdf" && ending != ".html")
        throw site::BadInput(fmt::format("--out: {}: is no kind of sheet, expected a name that ends in .pdf or .html",
                                         site::on_one_line(o.out)));
    if (!o.out.empty() && (!o.bench.faults.empty() || !o.bench.acts.empty()))
        throw site::BadInput("--out: a sheet tells of the healthy site, expected neither --fault nor --do");
    bench::Conduct conduct(o.bench.anyway);
    const bench::Bench given = make_bench(o.bench, conduct, false);
    const auto meters = o.meter.empty() ? teach::SheetMeters::usual() : teach::SheetMeters::owned(o.meter);
    teach::Sheet made = teach::expected(given.scenario(), given.edits(), meters);
    if (o.out.empty()) return print(made, conduct);
    files::FreshFile file(o.out);  // refused before the work, if at all
    Progress progress("faults tried");
    teach::add_meanings(made, given.scenario(), diagnose::load_priors(diagnose::shipped_priors()), std::ref(progress));
    progress.done();
    file.write(ending == ".pdf" ? teach::sheet_pdf(made) : teach::sheet_html(made));
    file.finish();
    return 0;
}

}  // namespace

Run add_sheet(CLI::App& app) {
    auto options = std::make_shared<Options>();
    add_bench_options(app, options->bench);
    app.add_option("--meter", options->meter, "the meter you own: a file or a name of `sunshaft meters`")
        ->type_name("METER");
    app.add_option("--out", options->out,
                   "write pages to print, with what other readings mean on this site: .pdf or .html")
        ->type_name("FILE");
    app.footer("Example: sunshaft sheet stone-fold --set sun.irradiance_W_m2=600 --meter average --out sheet.pdf");
    return [options] { return sheet(*options); };
}

}  // namespace sunshaft::cli
