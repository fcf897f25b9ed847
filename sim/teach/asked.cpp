#include "teach/asked.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "bench/senses.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "teach/worked_out.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

constexpr double in_the_head = 0.02;       // of a figure worked out without paper
constexpr double beside_the_rest = 0.005;  // of the next figure that is expected: nothing beside it

std::string shown_key(const Look& look) {
    const auto& p = look.what.probes;
    return fmt::format("{}|{}|{}|{}|{}|{}|{}|{}|{}|{}", look.meter, static_cast<int>(look.what.mode), p.red, p.black,
                       p.around, look.what.gauge, look.what.set.source_F.value_or(0.0), look.order,
                       look.ear ? static_cast<int>(*look.ear) : -1, look.left_s);
}

// How far off a gauge may be: what its field test leaves open.
double open_of(const std::string& gauge, double value) {
    for (const auto& [name, id] : {std::pair{"flow", "bucket"}, {"head", "gauge"}, {"water", "dip"}, {"tank", "tank"}})
        if (gauge == name) return bench::find_test(id)->share * std::abs(value) + bench::find_test(id)->least;
    return in_the_head * std::abs(value);
}

}  // namespace

State State::with(const Look& look) const {
    State s = *this;
    if (look.healthy) s.fault.clear();
    s.set.insert(s.set.end(), look.set.begin(), look.set.end());
    s.fault.insert(s.fault.end(), look.fault.begin(), look.fault.end());
    return s;
}

std::string State::key(bench::Station station, double after_s) const {
    return fmt::format("{}|{}|{}|{}|{}", site, text::spaced(set), text::spaced(fault), static_cast<int>(station),
                       after_s);
}

std::shared_ptr<const bench::Bench> Benches::share(const State& state, bench::Station station, double after_s) {
    constexpr std::size_t most_kept = 100;  // each holds some hundred kilobytes; what was read there stays
    const std::string key = state.key(station, after_s);
    if (kept_.size() >= most_kept && !kept_.contains(key)) kept_.clear();
    auto& kept = kept_[key];
    if (kept) return kept;
    auto& base = sites_[state.site];
    if (!base) base = std::make_shared<const Scenario>(site::load_scenario(site::find_scenario(state.site)));
    Scenario scenario = *base;
    site::set_keys(scenario, state.set);
    const site::Works works = site::set_up(scenario);
    bench::Edits edits;
    for (const std::string& f : state.fault) edits.faults.push_back(site::parse_fault(f, works));
    kept = std::make_shared<const bench::Bench>(bench::at_station(scenario, edits, station, after_s));
    return kept;
}

const Seen& Benches::seen(const State& state, const Look& look) {
    const State there = state.with(look);
    auto [kept, fresh] = seen_.try_emplace(there.key(look.station, look.after_s) + "|" + shown_key(look));
    Seen& s = kept->second;
    if (!fresh) return s;
    try {
        const bench::Bench& bench = at(there, look.station, look.after_s);
        if (!look.what.gauge.empty() && !look.ear) {
            const auto gauge = bench::Bench(bench).gauge(look.what.gauge, false);
            s.value = gauge.value;
            s.shown = gauge.shown();
            s.unit = gauge.unit;
            s.how = gauge.how;
            const double open = open_of(look.what.gauge, gauge.value);
            s.low = gauge.value - open;
            s.high = gauge.value + open;
            return s;
        }
        if (!look.on_display()) return s = worked_out(bench, look);
        s.reading = bench::observe(bench, look.what);
    } catch (...) {
        seen_.erase(kept);
        throw;
    }
    const meter::Reading& r = s.reading;
    s.value = r.value;
    s.over = r.over_range;
    s.shown = r.shown;
    s.unit = r.unit;
    if (r.value) {
        s.low = std::min(r.low.value_or(*r.value), *r.value - 0.5 * r.resolution);
        s.high = std::max(r.high.value_or(*r.value), *r.value + 0.5 * r.resolution);
    }
    return s;
}

std::vector<std::string> Answers::cautions(const State& state, const Look& look) { return cautions({{state, look}}); }

std::vector<std::string> Answers::cautions(const std::vector<std::pair<State, Look>>& looks) {
    std::vector<bench::Hazard> all;
    for (const auto& [state, look] : looks)
        for (bench::Hazard& h :
             bench::hazards({look.what}, look.station, benches_->at(state.with(look), look.station, look.after_s))) {
            const auto like = std::ranges::find_if(all, [&](const bench::Hazard& x) {
                bench::Hazard other = x;
                other.volts = h.volts;
                return bench::words(other) == bench::words(h);
            });
            if (like == all.end()) all.push_back(std::move(h));
            else like->volts = std::max(like->volts, h.volts);
        }
    return bench::words(bench::joined(std::move(all), {}));
}

std::vector<std::string> Answers::standing(const State& state) {
    return bench::words(
        bench::standing(bench::scene(site::set_up(benches_->at(state, bench::Station::running, 0.0).scenario()))));
}

// The names a formula may use, beside scenario keys.
double Answers::named(const Asked& asked, const std::string& name) {
    const State there = asked.state.with(asked.look);
    const auto none = std::numeric_limits<double>::quiet_NaN();
    const auto look_at = [&](const char* red, const char* black, bench::Station station, bool healthy) {
        Look l;
        l.meter = "true-rms";
        l.what.mode = meter::Mode::dcv;
        l.what.probes = {red, black, ""};
        l.station = station;
        State s = there;
        if (healthy) s.fault.clear();
        const Seen v = seen(s, l);
        return v.reading.truth.mean.value_or(v.value.value_or(none));
    };
    if (name == "given" || name == "given2") {
        const std::size_t n = name == "given" ? 0 : 1;
        if (n >= asked.given.size()) return none;
        const Seen v = seen(asked.state, asked.given[n]);
        return v.over ? std::numeric_limits<double>::infinity() : v.value.value_or(none);
    }
    if (name == "healthy") {
        Look l = asked.look;
        l.fault.clear();
        l.healthy = true;
        const Seen v = seen(asked.state, l);
        return v.over ? std::numeric_limits<double>::infinity() : v.value.value_or(none);
    }
    if (name == "array") return look_at("array+", "array-", bench::Station::lit, true);
    if (name == "module") return look_at("s1.m1+", "s1.m1-", bench::Station::lit, true);
    if (name == "order") return asked.look.order;
    if (name == "left_s") return asked.look.left_s;
    if (name == "coupled_F") return asked.look.what.set.source_F.value_or(none);
    if (name == "source_A" || name == "test_V") {  // of the lowest range, of the insulation test that is meant
        const meter::Function& f = asked.look.what.spec().function(asked.look.what.mode);
        if (name == "test_V") return f.test_V.empty() ? none : tested_at(f);
        return f.source_A.empty() ? none : f.source_A.front();
    }
    if (name == "meter_ohm") return meter::input_resistance(asked.look.what.spec(), asked.look.what.mode);
    const bench::Bench& bench = benches_->at(there, asked.look.station, asked.look.after_s);
    const site::Works& works = bench.site()->works;
    if (name == "modules")
        return works.array.strings.empty() ? none : static_cast<double>(works.array.strings[0].modules.size());
    if (name == "strings") return static_cast<double>(works.array.strings.size());
    if (name == "severity") return bench.edits().faults.empty() ? none : bench.edits().faults.back().severity;
    if (name == "place") {  // the number in a place such as s1.m4-
        if (bench.edits().faults.empty()) return none;
        const std::string& place = bench.edits().faults.back().place;
        const auto m = place.find(".m");
        return m == std::string::npos ? none : std::atof(place.c_str() + m + 2);
    }
    if (name == "link") return bench.plant().look(bench.state()).nodes.link;
    if (const site::Key* key = site::find_key(name)) {
        const site::Value v = site::get(bench.scenario(), *key);
        if (const double* x = std::get_if<double>(&v)) return *x;
        if (const int* x = std::get_if<int>(&v)) return *x;
        return none;
    }
    const meter::Truth& truth = seen(asked.state, asked.look).reading.truth;
    const std::pair<const char*, std::optional<double>> figures[] = {
        {"mean", truth.mean},
        {"rms", truth.rms},
        {"rms_ac", truth.rms_ac},
        {"rectified_mean", truth.rectified_mean},
        {"fundamental", truth.fundamental_rms},
        {"frequency", truth.fundamental_Hz},
        {"peak", truth.crest_factor && truth.rms ? std::optional(*truth.crest_factor * *truth.rms) : std::nullopt}};
    for (const auto& [known, value] : figures)
        if (name == known) return value.value_or(name == "fundamental" ? 0.0 : none);
    constexpr const char* names =
        "mean rms rms_ac rectified_mean fundamental frequency peak given given2 healthy array module modules strings "
        "link meter_ohm source_A test_V left_s coupled_F order severity place";
    throw std::invalid_argument(text::say("{} means nothing, expected a scenario key or one of {}", name, names));
}

const Belief& Answers::belief(const std::string& id, const Mark& asked_at) const {
    const auto at = beliefs_->find(id);
    if (at != beliefs_->end()) return at->second;
    std::vector<std::string_view> ids;
    for (const auto& [known, row] : *beliefs_) ids.push_back(known);
    const auto near = site::nearest(id, ids);
    throw site::BadInput(text::say("{}: why: {} is no row of beliefs.toml, expected an id that stands there{}",
                                   asked_at.at(), site::on_one_line(id),
                                   near ? text::say(" (did you mean {}?)", *near) : ""));
}

double Answers::expects(const Asked& asked, const Belief& belief) {
    try {
        return belief.predicts([&](const std::string& name) { return named(asked, name); });
    } catch (const std::invalid_argument& e) {
        throw site::BadInput(fmt::format("{}: predicts: {}", belief.mark.at(), e.what()));
    }
}

Answers::Accepted Answers::accepted(const Asked& asked) {
    const Seen s = seen(asked.state, asked.look);
    Accepted a;
    a.unit = s.unit;
    if (s.over || !s.value) {
        a.over = true;
        a.because = text::tr("the display is over range");
        return a;
    }
    // Beside what the others expect, a few thousandths of it are nothing.
    double least = std::numeric_limits<double>::infinity();
    for (const std::string& id : asked.why)
        if (const double x = std::abs(expects(asked, belief(id, asked.look.mark))); x > 2.0 * std::abs(*s.value))
            least = std::min(least, x);
    const double rest = std::isfinite(least) ? beside_the_rest * least : 0.0;
    const double open = std::max(in_the_head * std::abs(*s.value), rest);
    a.low = std::min(s.low, *s.value - open);
    a.high = std::max(s.high, *s.value + open);
    a.because = a.low < s.low || a.high > s.high ? text::tr("2 % for arithmetic in the head")
                                                 : text::tr("the display's own band");
    return a;
}

bool Answers::Accepted::takes(const diagnose::Typed& typed) const {
    using Kind = diagnose::Typed::Kind;
    if (typed.kind == Kind::over) return over;
    if (typed.kind != Kind::figure || typed.at_least || typed.at_most || typed.moves == diagnose::Typed::Moves::jumps)
        return false;
    return takes(typed.value);
}

std::vector<std::string> Answers::fitting(const Asked& asked) {
    const Accepted a = accepted(asked);
    std::vector<std::string> fit;
    for (const std::string& id : asked.why) {
        const double x = expects(asked, belief(id, asked.look.mark));
        if (std::isinf(x) ? a.over : a.takes(x)) fit.push_back(id);
    }
    return fit;
}

std::vector<std::string> Answers::matched(const Asked& asked, const diagnose::Typed& typed) {
    using Kind = diagnose::Typed::Kind;
    std::vector<std::string> fit;
    for (const std::string& id : asked.why) {
        const double x = expects(asked, belief(id, asked.look.mark));
        if (typed.kind == Kind::over ? std::isinf(x)
                                     : typed.kind == Kind::figure && std::isfinite(x) &&
                                           std::abs(typed.value - x) <= std::max(in_the_head * std::abs(x), 1e-9))
            fit.push_back(id);
    }
    return fit;
}

std::string Answers::usual_unit(const Look& look) {
    if (look.ear) return "Hz";
    if (look.what.gauge == "flow") return "m3/h";
    if (!look.what.gauge.empty()) return std::string(bench::gauge_unit(look.what.gauge));
    if (look.left_s > 0.0) return "V";
    if (look.what.mode == meter::Mode::insulation) return "Mohm";
    if (look.what.mode == meter::Mode::cap) return "nF";
    return std::string(meter::unit_of(look.what.mode));
}

}  // namespace sunshaft::teach
