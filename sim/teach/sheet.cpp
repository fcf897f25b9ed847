#include "teach/sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using text::id, text::say, text::tr;

using bench::Observation;
using bench::Station;
using meter::Mode;

// A row of the sheet: which looks of which field tests it takes, and how it is done in few words. In the order of work:
// dead tests first.
struct SheetLine {
    std::vector<const char*> tests;
    const char *where, *set;
    enum Take { all, first, strings } take = all;  // of a test's looks; strings: one module of each string
};
const SheetLine lines[] = {
    {{"guard-ohms"}, id("dry-run probe, float"), id("ohms at the drive's guard terminals")},
    {{"input-ohms"}, id("dc+ to dc-"), id("ohms, isolator open, link discharged"), SheetLine::first},
    {{"winding-ohms"}, id("u-v, v-w, w-u"), id("ohms, pump wires off, leads zeroed")},
    {{"cable-insulation"}, id("u, v, w to earth"), id("insulation tester, 500 V, pump wires off")},
    {{"core-capacitance"}, id("u, v, w to earth"), id("capacitance, pump wires off")},
    {{"array-insulation"}, id("plus, minus to frame"), id("insulation tester, 500 V, array covered")},
    {{"open-circuit-volts"}, id("array+ to array-"), id("DC volts, isolator open"), SheetLine::first},
    {{"module-volts"},
     id("each module alone"),
     id("DC volts at its own leads, 0 A by clamp, unplugged; write the least"),
     SheetLine::strings},
    {{"string-clamps"}, id("clamp on each string"), id("DC amps, running, jaws zeroed")},
    {{"link-volts"}, id("dc+ to dc-"), id("DC volts, running")},
    {{"output-volts"}, id("u-v, v-w, w-u at the drive"), id("AC volts, running; ratio to the link")},
    {{"line-clamps"}, id("clamp on u, v, w"), id("AC amps, running")},
    {{"second-volts"}, id("second+ to second-"), id("DC volts, running on the second supply"), SheetLine::first},
    {{"second-strings"}, id("clamp on each string"), id("DC amps, running on the second supply, jaws zeroed")},
    {{"bucket", "gauge", "dip"}, id("outlet, gauge, well"), id("bucket and stopwatch, wellhead gauge, dip meter")},
};

std::vector<Observation> looks_of(const SheetLine& line, const site::Works& works) {
    std::vector<Observation> list;
    for (const char* id : line.tests)
        for (Observation& o : bench::find_test(id)->observations(works)) {
            if (line.take == SheetLine::first && !list.empty()) break;
            list.push_back(std::move(o));
        }
    return list;
}

// What is written over the box of a look.
std::string box_of(const Observation& o) {
    if (o.gauge == "flow") return "m3/h";
    if (o.gauge == "head") return tr("gauge");
    if (o.gauge == "water") return tr("dip");
    if (!o.gauge.empty()) return o.gauge;
    if (!o.probes.around.empty()) return o.probes.around;
    const auto tail = [](const std::string& point) {
        const auto dot = point.find('.');
        return dot == std::string::npos ? point : point.substr(dot + 1);
    };
    const std::string &red = o.probes.red, &black = o.probes.black;
    if (red == "dry.1") return tr("probe");
    if (red == "float.1") return tr("float");
    if (red.find(".m") != std::string::npos) return red.substr(0, red.find('.'));
    if (black == "frame") return red.ends_with("+") ? tr("plus pole") : tr("minus pole");
    if (black == "earth") return tail(red);
    if (red.ends_with("+")) return std::string(meter::unit_of(o.mode));
    return tail(red) + "-" + tail(black);
}

// The least and the most a display can show, over several looks and several moments.
struct Span {
    std::optional<double> low, high;
    double step = 0.0;
    bool over = false;
    std::string unit;
    void add(const meter::Reading& r) {
        unit = r.unit;
        over = over || r.over_range;
        if (!r.low || !r.high) return;
        low = std::min(low.value_or(*r.low), *r.low);
        high = std::max(high.value_or(*r.high), *r.high);
        step = std::max(step, r.resolution);
    }
    // Whole steps of the display that lie in the band.
    std::string text() const {
        if (!low) return over ? "OL" : tr("no reading");
        double a = *low, b = *high;
        if (step > 0.0 && b - a > 2.0 * step)
            a = std::ceil(a / step - 1e-6) * step, b = std::floor(b / step + 1e-6) * step;
        const text::Prefix prefix = text::prefix_for(std::max(std::abs(a), std::abs(b)), unit);
        const double scale = std::pow(10.0, -prefix.exponent);
        // No finer than the width of the band can bear.
        const double wide = std::max((b - a) * scale, 1e-9);
        const int decimals = std::min(text::decimals_of(std::max(step * scale, 1e-9)),
                                      std::max(0, static_cast<int>(std::ceil(1.0 - std::log10(wide)))));
        const std::string from = text::fixed(a * scale, decimals), to = text::fixed(b * scale, decimals);
        const std::string band = from == to ? from : a < 0.0 ? say("{} to {}", from, to) : from + "-" + to;
        return fmt::format("{} {}{}", band, prefix.sign, unit);
    }
};

// Values that belong together, as what they are to the first: "1:1:1", "1:0.52:1".
std::string proportion(const std::vector<double>& values) {
    if (values.size() < 2 || values.size() > 3 || std::abs(values.front()) < 1e-12) return "";
    std::string text;
    for (const double v : values) {
        const double share = v / values.front();
        text += (text.empty() ? "" : ":") + (std::abs(share - 1.0) < 0.02 ? "1" : text::quantity(share, "", 2));
    }
    return text;
}

// Rows that are compared with each other are read on the same recordings: the link swings with the tracker. The band
// holds all of them.
constexpr int recordings = 10;
constexpr double recording_s = 0.2, between_s = 0.2;

struct Filled {
    SheetRow row;
    std::vector<SheetMeters::Spec> meters;
};

// What a gauge shows from the pump's start until the well is drawn down, at every light, and what its test can tell.
void fill_gauges(SheetRow& row, const std::vector<std::vector<bench::Seen>>& takes) {
    std::string flow;
    for (std::size_t n = 0; n < row.looks.size(); ++n) {
        const bench::Seen& s = takes.front()[n];
        if (!s.gauge) continue;
        const bench::FieldTest& test = *bench::find_test(row.tests.size() == 1 ? row.tests.front() : row.tests[n]);
        double low = s.gauge->value, high = low;
        for (const auto& take : takes)
            if (n < take.size() && take[n].gauge)
                low = std::min(low, take[n].gauge->value), high = std::max(high, take[n].gauge->value);
        const auto band = [&](double scale, const char* unit) {
            const double least = std::max(0.0, low - test.share * low - test.least) * scale,
                         most = (high + test.share * high + test.least) * scale;
            return say("{} to {}", text::column(least, unit, most, 3), text::quantity(most, unit, 3));
        };
        if (s.what.gauge != "flow") row.healthy.push_back(fmt::format("{} {}", box_of(s.what), band(1.0, "m")));
        else if (high <= 0.0) flow = s.gauge->shown();
        // First it is looked at where pumping brings the water (pump_down).
        else flow = say("{}, pumped down {}", band(3600.0, "m3/h"), text::quantity(s.gauge->value * 3600.0, "m3/h", 3));
    }
    row.healthy.insert(row.healthy.begin(), flow);
    row.with.assign(row.healthy.size(), "");
}

void fill(Filled& asked, const std::vector<std::vector<bench::Seen>>& takes) {
    SheetRow& row = asked.row;
    const std::size_t each = asked.row.looks.size();
    if (!asked.row.looks.front().gauge.empty()) return fill_gauges(row, takes);
    std::vector<std::string> links;
    for (std::size_t m = 0; m < asked.meters.size(); ++m) {
        // Guards are two circuits of different kind, read as two figures.
        const bool apart = row.tests.front() == "guard-ohms";
        std::vector<std::pair<std::string, Span>> spans;
        std::vector<double> values;
        std::optional<double> link;
        for (const auto& take : takes)
            for (std::size_t n = 0; n < each; ++n) {
                const bench::Seen& s = take[m * each + n];
                if (!s.reading) continue;
                const std::string label = apart ? box_of(s.what) : "";
                auto at = std::find_if(spans.begin(), spans.end(), [&](const auto& one) { return one.first == label; });
                if (at == spans.end()) at = spans.insert(spans.end(), {label, {}});
                at->second.add(*s.reading);
                if (&take == &takes.front()) {
                    values.push_back(s.reading->value.value_or(std::nan("")));
                    if (s.reading->link_ratio) link = s.reading->link_ratio;
                }
            }
        if (spans.empty()) spans.emplace_back();
        for (const auto& [label, span] : spans) {
            row.healthy.push_back(label.empty() ? span.text() : label + " " + span.text());
            row.with.push_back(tr(asked.meters[m]->name));
        }
        if (link) links.push_back(text::quantity(*link, "", 2) + ":1");
        else if (m == 0 && !apart && std::none_of(values.begin(), values.end(), [](double v) { return std::isnan(v); }))
            row.ratio = proportion(values);
    }
    if (!links.empty() && std::any_of(links.begin(), links.end(), [&](const auto& l) { return l != links.front(); }))
        for (std::size_t n = 0; n < links.size(); ++n) row.ratio += (n ? "\n" : "") + links[n];
    else if (!links.empty()) row.ratio = links.front();
    // Two meters that show the same are one line.
    const bool alike =
        std::all_of(row.healthy.begin(), row.healthy.end(), [&](const auto& h) { return h == row.healthy.front(); });
    if (alike) row.healthy.resize(1), row.with.resize(1);
}

// Every look of these rows, so many times.
void read_rows(const std::vector<Filled*>& here, bench::Bench& bench, int times,
               std::vector<std::vector<std::vector<bench::Seen>>>& takes) {
    for (int k = 0; k < times; ++k) {
        if (k) bench.advance(recording_s + between_s);
        std::vector<Observation> list;
        std::vector<std::size_t> of;
        for (std::size_t n = 0; n < here.size(); ++n) {
            const bool gauge = here[n]->meters.empty();
            if (gauge && k) continue;
            for (std::size_t m = 0; m < (gauge ? 1 : here[n]->meters.size()); ++m)
                for (Observation o : here[n]->row.looks) {
                    if (!gauge) o.instrument = here[n]->meters[m];
                    list.push_back(std::move(o));
                    of.push_back(n);
                }
        }
        auto seen = bench::observe(bench, list, recording_s);
        for (auto& t : takes) t.emplace_back();
        for (std::size_t n = 0; n < seen.size(); ++n) takes[of[n]].back().push_back(std::move(seen[n]));
    }
}

// As it stands after an hour of pumping at this sun: the motor warm, the water where that brings it. False: alike.
bool pump_down(bench::Bench& bench) {
    constexpr double hour_s = 3600.0;
    if (bench.site()->works.water.pump.index() == 0) return false;
    bench.warm(bench.warm_degC(hour_s));
    const bench::Bench::Pumped to = bench.pumped_level();
    if (!to.runs) return false;
    // A hair higher than where a guard stops the pump.
    bench.state().water_level = std::max(bench.state().water_level, to.level - (to.stops ? 0.02 : 0.0));
    bench.settle();
    return true;
}

bool live(Station s) { return s != Station::dead && s != Station::covered; }

}  // namespace

SheetMeters SheetMeters::usual() {
    const auto shipped = [](const char* name) { return std::make_shared<const meter::Spec>(meter::find_spec(name)); };
    return {{shipped("true-rms"), shipped("average")}, {shipped("clamp-hall")}};
}
SheetMeters SheetMeters::owned(const std::string& name) {
    SheetMeters meters = usual();
    meters.own = std::make_shared<const meter::Spec>(meter::find_spec(name));
    return meters;
}
std::vector<SheetMeters::Spec> SheetMeters::of(const Observation& what) const {
    if (own && own->has(what.mode)) return {own};
    std::vector<Spec> list;
    for (const Spec& spec : meter::takes_clamp(what.mode) ? clamps : volts)
        if (spec->has(what.mode)) list.push_back(spec);
    if (what.mode == Mode::insulation || list.empty())
        list = {std::make_shared<const meter::Spec>(bench::usual_meter(what.mode))};
    if (own) list.resize(1);
    return list;
}

SheetLight light_at(Scenario& scenario, const day::Date& date, double hour, const std::string& sky_id) {
    const day::NamedSky& sky = day::shipped_skies().sky(sky_id);
    const day::Moment m = day::moment_at(scenario, date, hour, sky);
    const double under_cloud = sky.passes() ? day::moment_at(scenario, date, hour, sky, true).cells : m.cells;
    const std::array sun{fmt::format("sun.irradiance_W_m2={:.1f}", m.cells),
                         fmt::format("sun.module_temperature_degC={:.1f}", m.cell_degC),
                         fmt::format("sun.air_temperature_degC={:.1f}", m.air_degC)};
    site::set_keys(scenario, sun);
    const int minute = static_cast<int>(std::lround(hour * 60));
    SheetLight light;
    light.words =
        say("{:02d}:{:02d} on {}, {}", minute / 60, minute % 60, day::text_of(date), text::lower(tr(sky.title)));
    if (!(m.cells > 0.0)) return light;  // night
    // Clouds and gaps are told apart by eye: the band is that of the clear air between, and what a cloud leaves.
    const double band = sky.passes() ? day::shipped_skies().skies.front().band : sky.band;
    light.shares = {1.0, sky.passes() ? under_cloud / m.cells : 1.0 - band, 1.0 + band};
    if (sky.passes())
        light.note =
            tr("Clouds pass: read what belongs together in one go, and compare ratios, not volts minutes apart.");
    return light;
}

SheetLight light_by(const std::string& words, const Scenario& scenario) {
    const day::SunSource& source = day::shipped_skies().source(words);
    SheetLight light;
    light.words = say("light by {}", tr(source.id));
    if (scenario.sun.irradiance_W_m2 > 0.0) light.shares = {1.0, 1.0 - source.band, 1.0 + source.band};
    if (!source.caution.empty()) light.note = text::capital(tr(source.caution)) + ".";
    return light;
}

namespace {

// What the site is fed by, as it stands at the head of the sheet.
std::string sky_of(const site::Works& works, const SheetLight& light) {
    std::string sky = works.supply.kind == site::Supply::Kind::array
                          ? say("{:.0f} W/m2, modules {:.0f} degC", works.array.irradiance, works.array.module_degC)
                          : say("{:.0f} V supply", works.supply.voltage);
    if (!light.words.empty()) sky = fmt::format("{}: {}", light.words, sky);
    const auto [dimmest, brightest] = std::minmax_element(light.shares.begin(), light.shares.end());
    if (light.shares.size() > 1)
        sky += say(", light from {:.0f} to {:.0f}", *dimmest * works.array.irradiance,
                   *brightest * works.array.irradiance);
    return sky;
}

// The rows this site has, still empty, each with the meters it is read with.
std::vector<Filled> rows_of(const site::Works& works, const SheetMeters& meters) {
    std::vector<Filled> asked;
    for (const SheetLine& line : lines) {
        Filled a;
        a.row.looks = looks_of(line, works);
        if (a.row.looks.empty()) continue;
        a.row.station = bench::find_test(line.tests.front())->station;
        a.row.number = static_cast<int>(asked.size()) + 1;
        a.row.tests.assign(line.tests.begin(), line.tests.end());
        a.row.where = tr(line.where);
        a.row.set = tr(line.set);
        a.row.live = live(a.row.station);
        for (const Observation& o : a.row.looks)
            if (const std::string box = box_of(o);
                std::find(a.row.boxes.begin(), a.row.boxes.end(), box) == a.row.boxes.end())
                a.row.boxes.push_back(box);
        if (a.row.looks.front().gauge.empty()) a.meters = meters.of(a.row.looks.front());
        if (!a.meters.empty())
            for (Observation& o : a.row.looks) o.instrument = a.meters.front();
        if (meters.own && !a.meters.empty() && a.meters.front() != meters.own &&
            a.row.set.find(tr(a.meters.front()->name)) == std::string::npos)
            a.row.set += say(", with another meter: {}", tr(a.meters.front()->name));
        asked.push_back(std::move(a));
    }
    return asked;
}

// The rows of one station filled, at every light there is where that counts. The bench in the first light comes back;
// unsettled: seconds after which it still was.
bench::Bench fill_station(Station station, const std::vector<Filled*>& here, const Scenario& scenario,
                          const bench::Edits& edits, const SheetLight& light, std::optional<double>& unsettled) {
    const bool runs = station == Station::running || station == Station::other;
    std::vector<std::vector<std::vector<bench::Seen>>> takes(here.size());
    std::optional<bench::Bench> first_bench;
    for (std::size_t l = 0; l < light.shares.size(); ++l) {
        if (l > 0 && (!live(station) || station == Station::other)) break;  // needs no second light
        Scenario lit = scenario;
        if (l > 0) lit.sun.irradiance_W_m2 *= light.shares[l];
        bench::Bench bench = bench::at_station(lit, {.faults = edits.faults, .acts = edits.acts}, station);
        if (runs) {
            const auto settled = bench.settle();
            if (!settled.settled && l == 0) unsettled = settled.seconds;
        }
        const bool on = runs && bench.state().command.running;
        const plant::State start = bench.state();
        if (on && pump_down(bench)) read_rows(here, bench, recordings, takes);
        if (on) bench.take(start);
        read_rows(here, bench, on ? recordings : 1, takes);
        if (l == 0) first_bench.emplace(std::move(bench));
    }
    for (std::size_t n = 0; n < here.size(); ++n) fill(*here[n], takes[n]);
    return std::move(*first_bench);
}

// Who may do this at all stands first on paper.
std::vector<std::string> on_paper(const std::vector<bench::Hazard>& list) {
    auto words = bench::words(list);
    if (!words.empty() && list.back().kind == bench::Danger::authorised)
        std::rotate(words.begin(), words.end() - 1, words.end());
    return words;
}

}  // namespace

Sheet expected(const Scenario& scenario, const bench::Edits& edits, const SheetMeters& meters,
               const SheetLight& light) {
    Sheet sheet;
    sheet.name = scenario.site.name;
    sheet.description = tr(scenario.site.description);
    sheet.works = site::set_up(scenario);
    sheet.sky = sky_of(sheet.works, light);
    sheet.note = light.note;
    sheet.meters = meters.own ? say("read with: {}", tr(meters.own->name))
                              : tr("upper figure: true-rms meter; lower figure: averaging meter, where they differ");
    std::vector<Filled> asked = rows_of(sheet.works, meters);
    std::vector<bench::Hazard> dead_first, live_first;
    for (const Station station : {Station::dead, Station::covered, Station::lit, Station::running, Station::other}) {
        std::vector<Filled*> here;
        for (Filled& a : asked)
            if (a.row.station == station) here.push_back(&a);
        if (here.empty()) continue;
        std::optional<double> unsettled;
        const bench::Bench bench = fill_station(station, here, scenario, edits, light, unsettled);
        if (unsettled) sheet.note = text::sentences({sheet.note, say("Not settled after {:.0f} s.", *unsettled)});
        for (const Filled* a : here) {
            auto& first = a->row.live ? live_first : dead_first;
            for (const std::string& id : a->row.tests)
                first = bench::joined(std::move(first), bench::hazards(*bench::find_test(id), bench));
        }
    }
    sheet.first = on_paper(dead_first);
    sheet.live = on_paper(live_first);
    for (Filled& a : asked) sheet.rows.push_back(std::move(a.row));
    return sheet;
}

}  // namespace sunshaft::teach
