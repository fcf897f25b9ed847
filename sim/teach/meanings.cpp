#include <fmt/format.h>

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <mutex>

#include "bench/blind.hpp"
#include "bench/drawn.hpp"
#include "site/keys.hpp"
#include "teach/sheet.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using Probes = std::vector<bench::Probe>;
using text::id;

// What these readings of one test look like beside the healthy ones, as ids of sentences; empty: like them.
std::string looks_like(const Probes& ill, const Probes& well) {
    if (ill.size() != well.size() || ill.empty() || bench::distance(ill, well) <= 1.0) return "";
    std::size_t over = 0, none = 0, minus = 0, low = 0, high = 0;
    for (std::size_t n = 0; n < ill.size(); ++n) {
        const double v = ill[n].value, h = well[n].value, open = ill[n].tolerance + well[n].tolerance;
        if (std::isnan(v)) {
            over += !std::isnan(h);
            continue;
        }
        if (std::isnan(h)) {
            ++low;
            continue;
        }
        if (std::abs(v - h) <= open) continue;
        if (std::abs(v) <= std::max(ill[n].tolerance, 0.01 * std::abs(h))) ++none;
        else if (v * h < 0.0) ++minus;
        else ++(std::abs(v) < std::abs(h) ? low : high);
    }
    const std::size_t all = ill.size();
    const auto so = [&](std::size_t n, std::array<const char*, 3> some, const char* what) -> std::string {
        return n == all || n > some.size() ? what : some[n - 1];
    };
    if (over) return so(over, {id("one OL"), id("two OL"), id("three OL")}, "OL");
    if (none) return so(none, {id("one 0"), id("two 0"), id("three 0")}, "0");
    if (minus) return id("minus");
    if (low == all || high == all) {
        // Of several that moved one way, some far more than the others: that is what one sees.
        double least = 1e300, most = 0.0, open = 0.0;
        for (std::size_t n = 0; n < all; ++n) {
            if (std::isnan(ill[n].value) || std::isnan(well[n].value)) return low == all ? "low" : "high";
            const double share = ill[n].value / well[n].value;
            least = std::min(least, share);
            most = std::max(most, share);
            open = std::max(open, 2.0 * ill[n].tolerance / std::abs(well[n].value));
        }
        if (most - least <= open) return low == all ? "low" : "high";
    }
    return all == 1 ? (low ? id("low") : id("high")) : id("unequal");
}

// "bad splice: resistance in the joint above the motor" is a bad splice.
std::string short_title(const std::string& title) { return title.substr(0, title.find_first_of(":,")); }

// low, high, nothing, over range, the rest.
int order_of(const std::string& reading) {
    constexpr const char* ends[] = {"low", "high", "0", "OL", "minus", "unequal"};
    for (std::size_t n = 0; n < std::size(ends); ++n)
        if (reading.ends_with(ends[n])) return static_cast<int>(n);
    return static_cast<int>(std::size(ends));
}

// What was read, and how far off it may be: the meter's band and what the test itself leaves open.
bench::Probe probe(const bench::Seen& s, const bench::FieldTest& test) {
    double value = std::nan(""), open = 0.0;
    if (s.gauge) value = s.gauge->value;
    else if (s.reading && s.reading->value && s.reading->low && s.reading->high) {
        value = *s.reading->value;
        open = std::max(0.5 * (*s.reading->high - *s.reading->low), s.reading->resolution);
    }
    return {value, std::isnan(value) ? 0.0 : open + test.share * std::abs(value) + test.least};
}

// The test a look of a row belongs to: each of several has its own gauge.
const bench::FieldTest& test_of(const SheetRow& row, std::size_t look) {
    return *bench::find_test(row.tests.size() == 1 ? row.tests.front() : row.tests[look]);
}

// A reading as it is said; of several gauges with its own before it: "dip low".
std::string said(const SheetRow& row, const std::string& reading) {
    for (std::size_t n = 0; row.tests.size() > 1 && n < row.tests.size(); ++n)
        if (const std::string gauge = test_of(row, n).short_; reading.starts_with(gauge + " "))
            return text::tr(gauge) + " " + text::tr(reading.substr(gauge.size() + 1));
    return text::tr(reading);
}

// The bore as who comes finds it: what a screen or a leak does shows only then.
void draw_down(bench::Bench& bench) {
    constexpr double again_s = 4.0;  // at its point anew
    constexpr int rounds = 3;
    for (int n = 0; n < rounds && bench.state().command.running && !bench::drawn_down(bench); ++n)
        bench.advance(again_s);
}

// Every row's looks on this site with these faults.
std::vector<Probes> read_rows(const Sheet& sheet, const Scenario& scenario, const std::vector<site::Fault>& faults) {
    std::vector<Probes> out(sheet.rows.size());
    using enum bench::Station;
    for (const bench::Station station : {dead, covered, lit, running}) {
        std::vector<bench::Observation> looks;
        for (const SheetRow& row : sheet.rows)
            if (row.station == station) looks.insert(looks.end(), row.looks.begin(), row.looks.end());
        if (looks.empty()) continue;
        bench::Bench bench = bench::at_station(scenario, {.faults = faults}, station);
        if (station == running) draw_down(bench);
        const auto seen = bench::observe(bench, looks);
        std::size_t at = 0;
        for (std::size_t r = 0; r < sheet.rows.size(); ++r)
            for (std::size_t n = 0; sheet.rows[r].station == station && n < sheet.rows[r].looks.size(); ++n)
                out[r].push_back(probe(seen[at++], test_of(sheet.rows[r], n)));
    }
    return out;
}

struct Moved {
    std::string title;
    double weight;
    std::vector<Probes> rows;
};
struct Ranked {
    std::string reading, title;
    double weight;
};

// A weaker sun and colder modules: the readings move, and nothing is at fault.
std::vector<Moved> weather(const Sheet& sheet, const Scenario& scenario) {
    if (sheet.works.supply.kind != site::Supply::Kind::array) return {};
    constexpr double first = 1e3, weaker = 0.7, colder_K = 15.0;
    Scenario dim = scenario, cold = scenario;
    site::set_key(dim, fmt::format("sun.irradiance_W_m2={}", weaker * sheet.works.array.irradiance));
    site::set_key(dim, fmt::format("sun.module_temperature_degC={}", sheet.works.array.module_degC));
    site::set_key(cold, fmt::format("sun.module_temperature_degC={}", sheet.works.array.module_degC - colder_K));
    return {{text::tr("less sun than above"), first, read_rows(sheet, dim, {})},
            {text::tr("colder modules than above"), first, read_rows(sheet, cold, {})}};
}

}  // namespace

bool add_meanings(Sheet& sheet, const Scenario& scenario, const diagnose::Priors& priors,
                  const std::function<bool(double)>& progress) {
    const auto healthy = read_rows(sheet, scenario, {});
    std::vector<Moved> all = weather(sheet, scenario);
    struct Planted {
        const site::FaultRow* row;
        double weight;
        std::vector<Probes> rows;
    };
    std::vector<Planted> planted;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto known = priors.fault.find(row.kind);
        const double weight = known == priors.fault.end() ? 1.0 : known->second;
        if (weight > 0.0 && std::string_view(row.group) != "operator and meter" && !row.places(sheet.works).empty())
            planted.push_back({&row, weight, {}});
    }
    std::mutex lock;
    std::size_t done = 0, failed = 0;
    bool stopped = false;
    tbb::parallel_for(std::size_t{0}, planted.size(), [&](std::size_t n) {
        if (const std::lock_guard hold(lock); stopped) return;
        const auto places = planted[n].row->places(sheet.works);
        bool worked = true;
        try {
            const site::Fault fault{planted[n].row->kind, places[places.size() / 2], planted[n].row->usual, 0.0};
            planted[n].rows = read_rows(sheet, scenario, {fault});
        } catch (const std::runtime_error&) {
            worked = false;
        }
        const std::lock_guard hold(lock);
        ++done;
        failed += !worked;
        if (progress && !progress(static_cast<double>(done) / static_cast<double>(planted.size()))) stopped = true;
    });
    if (stopped) return false;
    for (Planted& p : planted)
        if (!p.rows.empty()) all.push_back({short_title(text::tr(p.row->title)), p.weight, std::move(p.rows)});
    if (failed) sheet.note = text::sentences({sheet.note, text::say("Faults that could not be computed: {}.", failed)});
    for (std::size_t r = 0; r < sheet.rows.size(); ++r) {
        SheetRow& row = sheet.rows[r];
        std::vector<Ranked> ranked;
        for (const Moved& m : all) {
            // A row of several gauges says which of them.
            const bool apart = row.tests.size() > 1;
            for (std::size_t n = 0; n < (apart ? healthy[r].size() : 1); ++n) {
                const Probes ill = apart ? Probes{m.rows[r][n]} : m.rows[r],
                             well = apart ? Probes{healthy[r][n]} : healthy[r];
                const std::string reading = looks_like(ill, well);
                if (!reading.empty())
                    ranked.push_back(
                        {apart ? fmt::format("{} {}", test_of(row, n).short_, reading) : reading, m.title, m.weight});
            }
        }
        std::stable_sort(ranked.begin(), ranked.end(),
                         [](const Ranked& a, const Ranked& b) { return a.weight > b.weight; });
        row.means.clear();
        for (const Ranked& one : ranked) {
            auto at = std::find_if(row.means.begin(), row.means.end(),
                                   [&](const Meaning& m) { return m.reading == one.reading; });
            if (at == row.means.end()) at = row.means.insert(row.means.end(), {one.reading, {}});
            if (std::find(at->causes.begin(), at->causes.end(), one.title) == at->causes.end())
                at->causes.push_back(one.title);
        }
        const auto place = [&](const Meaning& m) {  // of several gauges: in their order
            int gauge = 0;
            for (std::size_t n = 0; row.tests.size() > 1 && n < row.tests.size(); ++n)
                if (m.reading.starts_with(test_of(row, n).short_)) gauge = static_cast<int>(n);
            return std::pair(gauge, order_of(m.reading));
        };
        std::stable_sort(row.means.begin(), row.means.end(),
                         [&](const Meaning& a, const Meaning& b) { return place(a) < place(b); });
        for (Meaning& m : row.means) m.reading = said(row, m.reading);
    }
    return true;
}

}  // namespace sunshaft::teach
