// sunshaft report: two to four pages on a site for its owner or a project's file.
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "cli/verb.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "teach/site_report.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct ReportOptions {
    SiteOptions site;
    std::string out, weather;
};

int report(const ReportOptions& o) {
    const std::string ending = std::filesystem::path(o.out).extension().string();
    if (ending != ".pdf" && ending != ".html")
        throw site::BadInput(say("--out: {}: is no kind of report, expected a name that ends in .pdf or .html",
                                 site::on_one_line(o.out)));
    const Scenario scenario = load(o.site);
    files::FreshFile file(o.out);  // refused before the work, if at all
    day::Weather weather;
    if (!o.weather.empty()) weather = day::read_weather(o.weather, scenario);
    const teach::SiteReport made = teach::site_report(scenario, weather);
    file.write(ending == ".pdf" ? teach::report_pdf(made) : teach::report_html(made));
    file.finish();
    return 0;
}

}  // namespace

Run add_report(CLI::App& app) {
    auto options = std::make_shared<ReportOptions>();
    add_site_options(app, options->site);
    app.add_option("--out", options->out, tr("the report to write: .pdf or .html"))->type_name("FILE")->required();
    app.add_option(
           "--weather", options->weather,
           tr("a year of measured weather (CSV, as `sunshaft day` takes it); without it cloudless days and hazy ones"))
        ->type_name("FILE");
    app.footer("Example: sunshaft report hill-orchard --out report.pdf");
    return [options] { return report(*options); };
}

}  // namespace sunshaft::cli
