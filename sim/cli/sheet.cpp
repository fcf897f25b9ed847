// sunshaft sheet: what this site should read, with bands, to print and take along.
#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <optional>

#include "bench/field_tests.hpp"
#include "cli/verb.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"

namespace sunshaft::cli {
namespace {

using meter::Mode;

struct Row {
    std::string what;
    bench::Probes probes;
    Mode mode;
};

// The rows of some field tests, as this site has them.
std::vector<Row> rows_of(const site::Works& w, std::initializer_list<const char*> ids) {
    std::vector<Row> rows;
    for (const char* id : ids) {
        const bench::FieldTest& test = *bench::find_test(id);
        for (const bench::Observation& look : test.observations(w)) rows.push_back({test.name, look.probes, look.mode});
    }
    return rows;
}

std::string where(const Row& row) {
    return row.probes.around.empty() ? fmt::format("{} - {}", row.probes.red, row.probes.black)
                                     : "clamp on " + row.probes.around;
}

// What a row reads: one display, and a band that holds every display seen.
struct Seen {
    std::string shown;
    std::optional<double> low, high;
    void add(const meter::Reading& r) {
        shown = r.shown;
        if (!r.low || !r.high) return;
        low = std::min(low.value_or(*r.low), *r.low);
        high = std::max(high.value_or(*r.high), *r.high);
    }
};

void print_row(const Row& row, const std::vector<Seen>& seen) {
    fmt::print("{:<28} {:<20}", row.what, where(row));
    for (const Seen& s : seen)
        fmt::print(
            " {:>12} {:<22}", s.shown,
            s.low ? fmt::format("({})", text::range(*s.low, *s.high, std::string(meter::unit_of(row.mode)))) : "");
    fmt::print("\n");
}

// The meters a row is read with.
struct Meters {
    using List = std::vector<std::shared_ptr<const meter::Spec>>;
    static std::shared_ptr<const meter::Spec> shipped(const char* name) {
        return std::make_shared<const meter::Spec>(meter::find_spec(name));
    }
    List volts = {shipped("average"), shipped("true-rms")}, clamps = {shipped("clamp-ac")};
    const List& of(const Row& row) const { return meter::takes_clamp(row.mode) ? clamps : volts; }
};

// What every meter that has the mode is to look at.
std::vector<bench::Observation> looks(const std::vector<Row>& rows, const Meters& meters) {
    std::vector<bench::Observation> list;
    for (const Row& row : rows)
        for (const auto& meter : meters.of(row))
            if (meter->has(row.mode)) list.push_back({row.probes, row.mode, "", meter});
    return list;
}

void print_rows(const std::vector<Row>& rows, const std::vector<std::vector<bench::Seen>>& takes,
                const Meters& meters) {
    std::size_t column = 0;
    for (const Row& row : rows) {
        std::vector<Seen> seen;
        for (const auto& meter : meters.of(row)) {
            if (!meter->has(row.mode)) continue;
            seen.emplace_back();
            for (const auto& take : takes)
                if (take[column].reading) seen.back().add(*take[column].reading);
            ++column;
        }
        print_row(row, seen);
    }
}

// Rows that are compared with each other are read on the same recordings: the link swings with the tracker, and one row
// after the other would each catch another volt of it. The band holds all of these recordings.
constexpr int recordings = 10;
constexpr double recording_s = 0.2, between_s = 0.2;

void print_running(bench::Bench& bench, const std::vector<Row>& rows, const Meters& meters) {
    std::vector<std::vector<bench::Seen>> takes;
    bench.connect({}, 0.0);
    for (int k = 0; k < (bench.state().command.running ? recordings : 1); ++k) {
        if (k) bench.advance(recording_s + between_s);
        takes.push_back(bench::observe(bench, looks(rows, meters), recording_s));
    }
    print_rows(rows, takes, meters);
}

int sheet(const BenchOptions& options) {
    bench::Conduct conduct(options.anyway);
    bench::Bench bench = make_bench(options, conduct, false);
    const site::Works works = bench.site()->works;
    fmt::print("{}\n{}\n\n", bench.scenario().site.name, bench.scenario().site.description);
    const Meters meters;
    const auto head = [&](const char* what, std::vector<bench::Hazard> first) {
        print_cautions(first, stdout);
        fmt::print("\n{:<28} {:<20} {:>12} {:<22} {:>12}\n", what, "", "averaging", "(band)", "true rms");
    };
    if (works.supply.kind == site::Supply::Kind::array) {
        // The drive off, the isolator open: the array by itself, and the dead tests.
        bench::Bench dead = bench::at_station(
            bench.scenario(), {.faults = bench.edits().faults, .acts = bench.edits().acts}, bench::Station::dead);
        const bench::Scene now = bench::scene(*dead.site(), dead.plant().look(dead.state()));
        auto first = bench::joined(conduct.hazards(), bench::needs(now, {"lead.u", "lead.v", ""}, Mode::ohm));
        for (const auto& m : meters.volts)
            first = bench::joined(std::move(first), bench::needs(now, {"array+", "array-", ""}, Mode::dcv, m.get()));
        head("drive off and isolated", first);
        std::vector<Row> rows = rows_of(works, {"open-circuit-volts", "module-volts", "winding-ohms"});
        // One module stands for its string: the others read the same.
        std::erase_if(rows, [](const Row& row) {
            return row.probes.red.find(".m") != std::string::npos && !row.probes.red.ends_with(".m1+");
        });
        print_rows(rows, {bench::observe(dead, looks(rows, meters))}, meters);
    }
    const auto settled = bench.settle();
    const bench::Scene now = bench::scene(*bench.site(), bench.plant().look(bench.state()));
    auto first = works.supply.kind == site::Supply::Kind::array ? std::vector<bench::Hazard>{} : conduct.hazards();
    for (const auto& m : meters.volts)
        first = bench::joined(std::move(first), bench::needs(now, {"drive.u", "drive.v", ""}, Mode::acv, m.get()));
    fmt::print("\n");
    head("drive running", first);
    print_running(bench, rows_of(works, {"link-volts", "output-volts", "line-clamps"}), meters);
    if (works.water.pump.index() != 0)
        fmt::print("{:<28} {:<20} {:>12}  at {}\n", "bucket-and-stopwatch test", "flow",
                   text::quantity(3600 * bench.gauge("flow").value, "m3/h", 3),
                   text::quantity(bench.gauge("head").value, "m", 3));
    if (!settled.settled) fmt::print("not settled after {:.0f} s\n", settled.seconds);
    if (works.supply.kind == site::Supply::Kind::array)
        fmt::print(
            "\nAt {:.0f} W/m2 and {:.0f} degC modules. With other sun the volts move, the ratios hardly. "
            "The band holds the swing of the link.\n",
            works.array.sunlight(), works.array.module_degC);
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
