#include "drawn.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "diagnose/posterior.hpp"
#include "diagnose/trials.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"

namespace sunshaft::evaluation {
namespace {

// What a person writes down.
std::string written_down(const bench::Seen& s, double gain, std::mt19937_64& dice) {
    std::normal_distribution<double> normal;
    if (s.gauge)
        return s.what.gauge == "flow"   ? fmt::format("{:.1f} m3/h", 3600 * s.gauge->value * (1 + 0.02 * normal(dice)))
               : !s.gauge->says.empty() ? s.gauge->says
                                        : s.gauge->shown();
    if (!s.reading) return "not measured";
    if (s.reading->over_range || !s.reading->value) return s.reading->over_range ? "OL" : "not measured";
    // No digit that the display has not: 0.05 ohm is 0.1 ohm there, or nothing.
    const double count = s.reading->resolution, value = *s.reading->value * (1 + gain);
    const double shown = count > 0.0 ? count * std::round(value / count) : value;
    const std::string unit(meter::unit_of(s.what.mode));
    return std::abs(shown) < 1.0 && unit == "ohm" ? fmt::format("{:.1f} ohm", shown) : text::quantity(shown, unit, 3);
}

}  // namespace

std::vector<site::Fault> Drawn::faults() const {
    std::vector<site::Fault> out;
    for (const Truth& t : truths) out.push_back({t.kind, t.place, t.severity, 0.0});
    return out;
}

// ISO 9906:2012, table of grades, 3B: flow within 9 %, head within 7 % (from memory).
bool passes(const Scenario& real, const Scenario& written) {
    const auto within = [](double is, double said, double share) { return std::abs(is - said) <= share * said; };
    return within(real.pump.best_flow_m3_h, written.pump.best_flow_m3_h, 0.09) &&
           within(real.pump.displacement_L_per_rev, written.pump.displacement_L_per_rev, 0.09) &&
           within(real.pump.shutoff_head_m, written.pump.shutoff_head_m, 0.07) &&
           within(real.pump.best_head_m, written.pump.best_head_m, 0.07);
}

constexpr double least_insulation_ohm = 1e6;

double heavy(std::mt19937_64& dice) {
    std::student_t_distribution<double> t(4.0);
    return t(dice);
}

Lottery::Lottery(const Scenario& written, const diagnose::Priors& priors, unsigned long seed)
    : written_(written), works_(site::set_up(written)), priors_(priors), dice_(seed) {
    for (const site::FaultRow& row : site::fault_catalogue())
        if (!row.places(works_).empty() && std::string_view(row.group) != "operator and meter") {
            rows_.push_back(&row);
            const auto at = priors.fault.find(row.kind);
            weights_.push_back(at == priors.fault.end() ? 1.0 : at->second);
        }
}

Truth Lottery::fault(bool by_priors, const std::vector<std::string>& kinds) {
    std::vector<double> weights = weights_;
    for (std::size_t n = 0; n < rows_.size(); ++n) {
        if (!by_priors) weights[n] = 1.0;
        if (!kinds.empty() && std::find(kinds.begin(), kinds.end(), rows_[n]->kind) == kinds.end()) weights[n] = 0.0;
    }
    std::discrete_distribution<std::size_t> any(weights.begin(), weights.end());
    const site::FaultRow& row = *rows_[any(dice_)];
    const auto places = row.places(works_);
    Truth t;
    t.kind = row.kind;
    t.place = places[dice_() % places.size()];
    std::uniform_real_distribution<double> share(0.1, 0.95);
    t.severity = row.least == row.most ? row.usual : site::severity_at(row, share(dice_));
    t.where = priors_.place_of(row.kind, row.group, t.place);
    return t;
}

// Half of them from one event, where the first has one.
std::vector<Truth> Lottery::pair() {
    std::vector<Truth> both{fault(true, {})};
    std::vector<std::string> along;
    for (const diagnose::Priors::Common& event : priors_.common)
        if (std::find(event.of.begin(), event.of.end(), both.front().kind) != event.of.end())
            for (const site::FaultRow* row : rows_)
                if (row->kind != both.front().kind &&
                    std::find(event.of.begin(), event.of.end(), row->kind) != event.of.end())
                    along.push_back(row->kind);
    both.push_back(fault(true, dice_() % 2 ? along : std::vector<std::string>{}));
    return both;
}

// The site as it really stands: each nuisance a random share of its deviation.
Scenario Lottery::real() {
    Scenario real = written_;
    for (const diagnose::Nuisance& n : diagnose::nuisances(written_)) {
        if (n.sky) continue;
        Scenario moved = written_;
        site::set_keys(moved, n.set);
        const double much = std::clamp(1.2 * heavy(dice_), -4.0, 4.0);
        for (const std::string& set : n.set) {
            const site::Key* key = site::find_key(set.substr(0, set.find('=')));
            const site::Value a = site::get(written_, *key), b = site::get(moved, *key);
            if (!std::holds_alternative<double>(a)) continue;
            const double from = std::get<double>(a), to = std::get<double>(b);
            const bool leakage = key->name().find("leakage_") != std::string::npos && key->name().ends_with("_ohm");
            double x = leakage ? from * std::pow(to / from, much) : from + much * (to - from);
            // Insulation that passes (IEC 62446-1: 1 Mohm from 120 V on, from memory); less is a fault.
            if (leakage) x = std::max(x, least_insulation_ohm);
            Scenario trial = real;
            try {
                site::put(trial, *key, x);
                real = trial;
            } catch (const site::BadInput&) {
            }
        }
    }
    return real;
}

Drawn Lottery::draw(Part part, const std::vector<std::string>& kinds) {
    Drawn out;
    switch (part) {
        case Part::by_priors: out.part = "drawn by the priors", out.truths = {fault(true, {})}; break;
        case Part::evenly: out.part = "drawn evenly over kinds", out.truths = {fault(false, {})}; break;
        case Part::healthy: out.part = "healthy"; break;
        case Part::pairs: out.part = "pairs", out.truths = pair(); break;
        case Part::of_kinds: out.part = "left out of the library", out.truths = {fault(false, kinds)}; break;
    }
    out.real = real();
    out.pump_passes = passes(out.real, written_);
    // Every case is read under one sky, so that what is computed serves all; the meter in its plane is off by some.
    out.real.sun.irradiance_W_m2 *= 1 + 0.03 * std::normal_distribution<double>()(dice_);
    // A fifth carry one wrong statement about the site: what stands there is not what is written.
    if (dice_() % 5 == 0 && part != Part::of_kinds) {
        const double s = written_.array.modules_in_series, metres = written_.drop_cable.length_m;
        const std::vector<std::string> wrong[] = {{fmt::format("array.modules_in_series={}", s - 1)},
                                                  {fmt::format("array.modules_in_series={}", s + 1)},
                                                  {fmt::format("drop_cable.length_m={}", 0.75 * metres)},
                                                  {fmt::format("drop_cable.length_m={}", 1.33 * metres)}};
        const auto& one = wrong[dice_() % 4];
        try {
            Scenario trial = out.real;
            site::set_keys(trial, one);
            (void)bench::checked(trial, {.faults = out.faults()});
            out.real = trial, out.misstated = one;
        } catch (const site::BadInput&) {
        }
    }
    return out;
}

std::vector<std::string> acts_to(const bench::FieldTest& test, const site::Works& works) {
    return diagnose::way_to(test.station, works);
}

bool carry_out(diagnose::Case& c, const Drawn& site, const std::string& test, const std::vector<std::string>& act,
               std::map<std::string, double>& gains, std::mt19937_64& dice) {
    const bench::FieldTest& row = *bench::find_test(test);
    const auto looks = row.observations(site::set_up(site.real));
    if (looks.empty()) return false;
    constexpr double long_run_s = 300.0;  // whoever comes finds it running
    bench::Bench there = bench::at_station(site.real, {.faults = site.faults()}, row.station, long_run_s);
    if (row.station == bench::Station::running) there.settle();
    for (const bench::Seen& s : bench::observe(there, looks)) {
        const double spread = s.what.mode == meter::Mode::insulation ? 0.05
                              : s.what.mode == meter::Mode::ohm      ? 0.005
                                                                     : 0.01;
        const std::string mode(meter::mode_name(s.what.mode));
        auto gain = gains.find(mode);
        if (gain == gains.end()) gain = gains.emplace(mode, spread * heavy(dice)).first;
        diagnose::Seen seen;
        seen.act = act;
        seen.red = s.what.probes.red;
        seen.black = s.what.probes.black;
        seen.around = s.what.probes.around;
        seen.gauge = s.what.gauge;
        seen.after_s = bench::row_of(row.station).after_s;
        if (s.what.gauge.empty()) seen.mode = mode;
        seen.shown = written_down(s, s.what.gauge.empty() ? gain->second : 0.0, dice);
        c.seen.push_back(seen);
    }
    return true;
}

}  // namespace sunshaft::evaluation
