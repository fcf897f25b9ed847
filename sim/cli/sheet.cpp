// sunshaft sheet: what this site should read, with bands, to print and take along.
#include <fmt/format.h>

#include <memory>

#include "bench/bench.hpp"
#include "cli/verb.hpp"
#include "site/keys.hpp"

namespace sunshaft::cli {
namespace {

using meter::Mode;

struct Row {
    std::string what;
    bench::Probes probes;
    Mode mode;
};

std::vector<Row> running_rows(const site::Works& w) {
    std::vector<Row> rows;
    if (w.supply.kind != site::Supply::Kind::mains) rows.push_back({"link, drive running", {"dc+", "dc-", ""}, Mode::dcv});
    for (int k = 0; k < 3; ++k)
        rows.push_back({"output, drive running", {site::phase_point("drive", k), site::phase_point("drive", (k + 1) % 3), ""}, Mode::acv});
    for (int k = 0; k < 3; ++k) rows.push_back({"line current", {"", "", site::phase_letter[static_cast<std::size_t>(k)]}, Mode::aca});
    return rows;
}

void print_row(bench::Bench& bench, const Row& row, const std::vector<meter::Spec>& meters) {
    const std::string where = row.probes.around.empty() ? fmt::format("{} - {}", row.probes.red, row.probes.black) : "round " + row.probes.around;
    fmt::print("{:<28} {:<20}", row.what, where);
    for (const meter::Spec& m : meters) {
        if (!m.has(row.mode)) continue;
        const auto r = bench.read(m, row.mode, row.probes);
        std::string band = r.low && r.high ? fmt::format("({:.4g} .. {:.4g})", *r.low, *r.high) : "";
        fmt::print(" {:>12} {:<20}", r.shown, band);
    }
    fmt::print("\n");
}

int sheet(const BenchOptions& options) {
    bench::Conduct conduct(options.anyway);
    bench::Bench bench = make_bench(options, conduct, false);
    const site::Works works = bench.site()->works;
    fmt::print("{}\n{}\n\n", bench.scenario().site.name, bench.scenario().site.description);
    const std::vector<meter::Spec> volts = {meter::find_spec("average"), meter::find_spec("true-rms")};
    const std::vector<meter::Spec> clamps = {meter::find_spec("clamp-ac")};
    const auto head = [&](const char* what, std::vector<bench::Hazard> first) {
        print_cautions(first, stdout);
        fmt::print("\n{:<28} {:<20} {:>12} {:<20} {:>12}\n", what, "", "averaging", "(band)", "true rms");
    };
    if (works.supply.kind == site::Supply::Kind::array) {
        // The drive off, the isolator open: the array by itself, and the dead tests.
        bench::Edits off = bench.edits();
        off.acts.push_back({"open", "isolator", 0.0});
        off.acts.push_back({"pull", "pump", 0.0});
        bench::Bench dead(bench.scenario(), off);
        dead.settle();
        const bench::Scene now = bench::scene(*dead.site(), dead.plant().look(dead.state()));
        auto first = bench::joined(conduct.hazards(), bench::needs(now, {"lead.u", "lead.v", ""}, Mode::ohm));
        for (const meter::Spec& m : volts) first = bench::joined(std::move(first), bench::needs(now, {"array+", "array-", ""}, Mode::dcv, &m));
        head("drive off and isolated", first);
        print_row(dead, {"array, isolator open", {"array+", "array-", ""}, Mode::dcv}, volts);
        for (std::size_t s = 0; s < works.array.strings.size(); ++s)
            print_row(dead, {"first module by itself", {fmt::format("s{}.m1+", s + 1), fmt::format("s{}.m1-", s + 1), ""}, Mode::dcv}, volts);
        for (int k = 0; k < 3; ++k)
            print_row(dead, {"winding, wires pulled", {site::phase_point("lead", k), site::phase_point("lead", (k + 1) % 3), ""}, Mode::ohm}, volts);
    }
    const auto settled = bench.settle();
    const bench::Scene now = bench::scene(*bench.site(), bench.plant().look(bench.state()));
    auto first = works.supply.kind == site::Supply::Kind::array ? std::vector<bench::Hazard>{} : conduct.hazards();
    for (const meter::Spec& m : volts) first = bench::joined(std::move(first), bench::needs(now, {"drive.u", "drive.v", ""}, Mode::acv, &m));
    fmt::print("\n");
    head("drive running", first);
    for (const Row& row : running_rows(works)) print_row(bench, row, meter::takes_clamp(row.mode) ? clamps : volts);
    if (works.water.pump.index() != 0)
        fmt::print("{:<28} {:<20} {:>9.2f} m3/h  at {:.1f} m\n", "bucket-and-stopwatch test", "flow", 3600 * bench.gauge("flow").value, bench.gauge("head").value);
    if (!settled.settled) fmt::print("not settled after {:.0f} s\n", settled.seconds);
    if (works.supply.kind == site::Supply::Kind::array)
        fmt::print("\nat {:.0f} W/m2 and {:.0f} degC modules; with other sun the volts move, the ratios hardly.\n", works.array.sunlight(), works.array.module_degC);
    print_unsafe(conduct, stdout);
    return 0;
}

}  // namespace

Run add_sheet(CLI::App& app) {
    auto options = std::make_shared<BenchOptions>();
    add_bench_options(app, *options);
    app.footer("Example: sunshaft sheet stone-fold --set sun.irradiance_W_m2=600");
    return [options] { return sheet(*options); };
}

}  // namespace sunshaft::cli
