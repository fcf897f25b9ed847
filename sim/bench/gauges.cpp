// The instruments that are not electrical: bucket, pressure gauge, dip meter, thermometers.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/bench.hpp"
#include "bench/marks.hpp"
#include "bench/senses.hpp"
#include "circuit/circuit.hpp"
#include "plant/slow.hpp"
#include "site/keys.hpp"
#include "site/wiring.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

using text::say, text::tr;

constexpr double glass_bears_degC = 150.0;  // of what a module is laminated with (common practice, no source)
// The link's mean voltage over the next fifth of a second.
double mean_link_V(Bench& bench) {
    plant::Recorder recorder({plant::signal(*bench.site(), "link_V")});
    bench.plant().advance_turns(bench.state(), 0.2, recorder);
    return trace::statistics(recorder.recording.signal(0)).mean;
}
// The array's wiring at that.
struct UnderLoad {
    circuit::Circuit wiring;
    circuit::Solution found;
};
UnderLoad under_load(const site::Works& works, double link_V) {
    circuit::Circuit c;
    site::wire_dc(works, c);
    c.voltage_source(c.node("link+"), c.node("link-"), link_V, 1e-3);
    circuit::Solution found = circuit::solve(c);
    return {std::move(c), std::move(found)};
}

// The hottest, or the one that is asked for as "NAME.PLACE".
const Bench::Warm& chosen(const std::vector<Bench::Warm>& list, const std::string& name, const std::string& stem,
                          const char* what) {
    const std::string wanted = name == stem ? "" : name.substr(stem.size() + 1);
    const auto at =
        wanted.empty()
            ? std::max_element(list.begin(), list.end(),
                               [](const Bench::Warm& a, const Bench::Warm& b) { return a.watt < b.watt; })
            : std::find_if(list.begin(), list.end(), [&](const Bench::Warm& c) { return c.place == wanted; });
    if (at == list.end())
        throw site::BadInput(list.empty() ? say("{}: no such {} on this site, expected an array", name, what)
                                          : say("{}: no such {} on this site, expected {} and the like", name, what,
                                                list.front().place));
    return *at;
}

// How a thermal camera looked, and what it makes of it.
std::string connector_says(const Bench::Warm& at, bool hottest, double above_K) {
    const std::string watt = text::quantity(at.watt, "W", 3), above = text::quantity(above_K, "K", 3);
    std::string words = hottest ? say("thermal camera on {}, the hottest connector, once warm; {} turn to heat in it, "
                                      "{} above the air",
                                      at.place, watt, above)
                                : say("thermal camera on {}, once warm; {} turn to heat in it, {} above the air",
                                      at.place, watt, above);
    return at.degC > plastic_bears_degC ? say("{}; its plastic does not bear that, it burns", words) : words;
}
std::string cell_says(const Bench::Warm& at, double above_K) {
    if (!(at.watt > 0.0)) return tr("thermal camera on the modules; no cell is hotter than its neighbours");
    std::string words =
        say("thermal camera on the hottest cell of {}, once warm. Driven backwards it turns {} to heat, {} above the "
            "module's other cells",
            at.place, text::quantity(at.watt, "W", 3), text::quantity(above_K, "K", 3));
    return at.degC > glass_bears_degC ? say("{}; its glass and backing do not bear that", words) : words;
}

}  // namespace

std::vector<Bench::Warm> hot_cells(const site::Works& w, double link_V) {
    if (w.supply.kind != site::Supply::Kind::array) return {};
    const UnderLoad now = under_load(w, link_V);
    std::vector<Bench::Warm> list;
    for (std::size_t s = 0; s < w.array.strings.size(); ++s)
        for (std::size_t m = 0; m < w.array.strings[s].modules.size(); ++m)
            for (int part = 0; part < 3; ++part) {
                std::string place = fmt::format("s{}.m{}.{}", s + 1, m + 1, part + 1);
                for (circuit::Branch b = 0; b < now.wiring.branches(); ++b) {
                    const auto& what = now.wiring.info(b);
                    if (what.label != place) continue;
                    const double volt = -now.found.voltage(what.a, what.b);
                    const solar::SubString sub = site::sub_string(w.array, w.array.strings[s].modules[m], part);
                    const double watt = solar::hottest(sub, volt).watt;
                    list.push_back({place, watt, solar::hot_cell_degC(watt, w.array.module_degC)});
                }
            }
    return list;
}

std::vector<Bench::Warm> Bench::connectors() {
    const site::Works& w = site_->works;
    if (w.supply.kind != site::Supply::Kind::array) return {};
    const auto [c, found] = under_load(w, mean_link_V(*this));
    std::vector<Warm> list;
    for (const site::Connector& joint : site::connectors(w)) {
        double ampere = 0.0;
        for (circuit::Branch b = 0; b < c.branches(); ++b)
            if (c.info(b).kind == circuit::Circuit::Kind::resistor && c.name(c.info(b).a) == joint.from &&
                c.name(c.info(b).b) == joint.to)
                ampere = found.current(b);
        const double watt = std::isfinite(joint.ohm) && std::isfinite(ampere) ? ampere * ampere * joint.ohm : 0.0;
        list.push_back({joint.place, watt, joint_degC(watt, scenario_.sun.air_temperature_degC)});
    }
    return list;
}

Bench::Pumped Bench::pumped_level() {
    const site::Works& w = site_->works;
    const water::Well well = plant::well(w);
    // Where the flow that settles with the water held there would bring it. Each time the pump runs already: one that a
    // guard has stopped waits before it starts again.
    plant::State from = state_;
    bool runs = false;
    const auto tends_to = [&](double level) {
        plant::State trial = from;
        trial.water_level = level;
        const plant::Settled settled = plant::settle(*plant_, trial);
        runs = trial.command.running;
        if (runs) from = trial;
        return well.steady_level(runs ? std::max(0.0, settled.last.flow - trial.slow.leak) : 0.0);
    };
    // Halved by hand: where a level tends to bounds the one sought as well, and each trial begins where the last ended.
    double low = w.water.static_level, high = tends_to(low);
    if (!runs || !(high > low)) return {low, runs, false};
    bool stops = false;  // at `high` a guard stops the pump
    constexpr double near_m = 0.01;
    for (int n = 0; n < 12 && high - low > near_m; ++n) {
        // The deeper the water the less is pumped: the level sought lies between any level and where that tends to.
        const double level = n == 0 ? high : 0.5 * (low + high), there = tends_to(level);
        if (there > level) {
            low = level;
            if (there < high) high = there, stops = false;
        } else {
            high = level;
            stops = !runs;
            if (runs) low = std::max(low, there);
        }
    }
    return {0.5 * (low + high), true, stops};
}

const std::vector<std::string>& Bench::gauges() {
    static const std::vector<std::string> names = {
        "flow",      "head",      "water",   "tank",     "sun",     "module_temp", "joint_temp", "connector_temp",
        "cell_temp", "lamps",     "drive_V", "drive_Hz", "drive_A", "drive_stop",  "outlet",     "settles",
        "sound",     "vibration", "box",     "lug",      "smell",   "modules"};
    return names;
}

bool Bench::is_gauge(const std::string& name) {
    return std::find(gauges().begin(), gauges().end(), name) != gauges().end() || name.starts_with("connector_temp.") ||
           name.starts_with("cell_temp.") || name.starts_with("lug.") || name.starts_with("modules.");
}

std::string_view gauge_unit(std::string_view gauge) {
    static constexpr std::pair<std::string_view, std::string_view> units[] = {
        {"flow", "m3/s"},      {"head", "m"},           {"water", "m"},         {"tank", "m3"},
        {"sun", "W/m2"},       {"module_temp", "degC"}, {"joint_temp", "degC"}, {"connector_temp", "degC"},
        {"cell_temp", "degC"}, {"drive_V", "V"},        {"drive_A", "A"},       {"drive_Hz", "Hz"}};
    const std::string_view kind = gauge.substr(0, gauge.find('.'));  // connector_temp.s1.m5-
    const auto* row = std::find_if(std::begin(units), std::end(units), [&](const auto& u) { return u.first == kind; });
    return row == std::end(units) ? std::string_view{} : row->second;
}

std::string figure_words(double value, std::string_view unit, int digits) {
    return unit == "m3/s" ? text::quantity(3600.0 * value, "m3/h", digits)
                          : text::quantity(value, std::string(unit), digits);
}

std::string Bench::Gauge::shown() const { return says.empty() ? figure_words(value, unit, 4) : says; }

Bench::Gauge Bench::gauge(const std::string& name, bool ahead) {
    const plant::Instant now = plant_->look(state_);
    const site::Works& w = site_->works;
    const std::string unit(gauge_unit(name));
    if (name == "flow")
        return {now.slow.missing > 0.0 ? 0.0 : std::max(0.0, now.flow - now.slow.leak), unit,
                tr("bucket and stopwatch at the outlet")};
    if (name == "head") {
        // The column that stands above the gauge, which a hole or an open check valve lets fall, and what the way up
        // there costs.
        const double standing = std::max(0.0, now.static_head - now.water_level), out = now.flow - now.slow.leak;
        const double head = out > 0.0 ? standing + site_->above_gauge.loss(out) : standing;
        return {head, unit, tr("pressure gauge at the wellhead")};
    }
    if (name == "water") {
        Gauge g{state_.water_level, unit, tr("dip meter, from the ground down to the water now")};
        if (w.water.pump.index() == 0) return g;
        g.rest = w.water.static_level;
        g.how += "; " + say("at rest {}", text::quantity(*g.rest, "m", 3));
        if (!ahead) return g;
        const Pumped pumped = pumped_level();
        if (!pumped.runs) {
            g.how += std::string("; ") + tr("the pump does not run");
            return g;
        }
        g.pumped = pumped.level;
        const std::string level = text::quantity(pumped.level, "m", 3);
        g.how += "; " + (pumped.stops ? say("pumped down to {}, where its guard stops the pump", level)
                                      : say("pumped at this sun it settles at {}", level));
        return g;
    }
    if (name == "tank") return {now.slow.tank_fill * w.water.tank.volume, unit, tr("how full the tank is, by eye")};
    if (name == "sun") return {w.array.sunlight(), unit, tr("irradiance meter in the module plane")};
    if (name == "module_temp") return {w.array.module_degC, unit, tr("infrared thermometer on a module")};
    if (name == "joint_temp") {
        const auto& joints = now.slow.splice_degC;
        const auto hottest = std::max_element(joints.begin(), joints.end());
        return {*hottest, unit,
                say("thermometer on the three joints above the motor, the hottest: {}",
                    site::phase_letter[static_cast<std::size_t>(hottest - joints.begin())])};
    }
    if (const std::string stem = "connector_temp"; name == stem || name.starts_with(stem + ".")) {
        const std::vector<Warm> list = connectors();
        const Warm& at = chosen(list, name, stem, tr("connector"));
        return {at.degC, unit, connector_says(at, name == stem, at.degC - scenario_.sun.air_temperature_degC)};
    }
    if (const std::string stem = "cell_temp"; name == stem || name.starts_with(stem + ".")) {
        const std::vector<Warm> list = hot_cells(w, mean_link_V(*this));
        const Warm& at = chosen(list, name, stem, tr("third of a module"));
        return {at.degC, unit, cell_says(at, at.degC - w.array.module_degC)};
    }
    if (is_gauge(name)) return sense(name);
    throw site::BadInput(say("{}: no such gauge, expected one of {}", site::on_one_line(name), text::spaced(gauges())));
}

}  // namespace sunshaft::bench
