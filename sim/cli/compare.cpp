// sunshaft compare: a recorded waveform laid over the computed one.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <numbers>

#include "cli/verb.hpp"
#include "plant/run.hpp"
#include "report/measured.hpp"
#include "report/plot.hpp"
#include "report/waves.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "trace/overlay.hpp"
#include "trace/period.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct CompareOptions {
    std::string measured;
    BenchOptions bench;
    std::vector<std::string> as, scale;
    std::string out;
    bool json = false;
};

std::pair<std::string, std::string> parted(const std::string& option, const std::string& text, const char* expected) {
    const auto at = text.rfind('=');
    if (at == std::string::npos || at == 0 || at + 1 == text.size())
        throw site::BadInput(say("{}: {}: expected {}", option, site::on_one_line(text), expected));
    return {text.substr(0, at), text.substr(at + 1)};
}

struct Pair {
    std::string column, signal, unit;
    trace::Trace wave;
};

bool exists(const trace::Trace& t) {
    return std::ranges::all_of(t, [](const trace::Segment& s) { return std::isfinite(s.y0) && std::isfinite(s.y1); });
}

// The columns that are signals of this site, by their own names or by --as.
std::vector<Pair> matched(const report::Measured& m, const CompareOptions& o, const site::Site& site) {
    std::map<std::string, std::string> as;
    std::map<std::string, double> scale;
    for (const std::string& text : o.as) as.insert(parted("--as", text, "COLUMN=SIGNAL"));
    for (const std::string& text : o.scale) {
        const auto [column, factor] = parted("--scale", text, "COLUMN=FACTOR");
        char* end = nullptr;
        const double x = std::strtod(factor.c_str(), &end);
        if (*end != '\0' || !std::isfinite(x) || x == 0.0)
            throw site::BadInput(
                say("--scale: {}: {}: expected a factor other than zero", column, site::on_one_line(factor)));
        scale[column] = x;
    }
    const auto& names = m.recording.names;
    std::string list;
    for (const std::string& name : names) list += fmt::format("{}{}", list.empty() ? "" : ", ", name);
    const auto need_column = [&](const std::string& option, const std::string& column) {
        if (std::ranges::find(names, column) == names.end())
            throw site::BadInput(say("{}: {}: no such column in {}, expected one of {}", option,
                                     site::on_one_line(column), o.measured, site::on_one_line(list, 400)));
    };
    for (const auto& [column, signal] : as) need_column("--as", column);
    for (const auto& [column, factor] : scale) need_column("--scale", column);
    std::vector<Pair> pairs;
    for (std::size_t k = 0; k < names.size(); ++k) {
        const auto given = as.find(names[k]);
        const std::string signal = given == as.end() ? names[k] : given->second;
        try {
            plant::signal(site, signal);
        } catch (const site::BadInput& error) {
            if (given != as.end()) throw site::BadInput(fmt::format("--as: {}", error.what()));
            continue;
        }
        trace::Trace wave = m.recording.signal(k);
        if (!exists(wave)) {
            fmt::print(stderr, "{}\n", say("{}: {}: values are missing, left out", o.measured, names[k]));
            continue;
        }
        if (const auto factor = scale.find(names[k]); factor != scale.end()) wave = trace::scaled(wave, factor->second);
        pairs.push_back({names[k], signal, report::signal_unit(signal), std::move(wave)});
    }
    if (pairs.empty())
        throw site::BadInput(
            say("{}: no column is a signal of this site, expected --as COLUMN=SIGNAL for one of {}. Signals as in "
                "`sunshaft run --help`",
                o.measured, site::on_one_line(list, 400)));
    return pairs;
}

// One period more than what was measured, to turn in; ten at most.
std::vector<trace::Trace> computed(bench::Bench& bench, const std::vector<Pair>& pairs) {
    {
        Progress progress(tr("settling"));
        const auto settled = bench.settle(60.0, [&](double f) { return progress(f); });
        progress.done();
        if (!settled.settled) fmt::print(stderr, "{}\n", say("warning: not settled after {:.0f} s", settled.seconds));
    }
    std::vector<plant::Signal> signals;
    for (const Pair& p : pairs) signals.push_back(plant::signal(*bench.site(), p.signal));
    plant::Recorder recorder(signals);
    const double f = plant::fundamental(bench.plant(), bench.state());
    const bool turns = f >= 1.0;  // slower than that it is a rotor running down
    const double seconds = turns ? std::min(trace::duration(pairs.front().wave) + 2.2 / f, 12.2 / f)
                                 : std::min(trace::duration(pairs.front().wave), 1.0);
    bench.advance(std::max(seconds, turns ? 3.2 / f : 0.0), &recorder);
    std::vector<trace::Trace> out;
    for (std::size_t k = 0; k < pairs.size(); ++k) out.push_back(recorder.recording.signal(k));
    return out;
}

// "+1.2", "-0.3", and "0.0" without a sign.
std::string change(double x, int decimals = 1) {
    const std::string text = text::fixed(x, decimals);
    return x > 0.0 && text.find_first_of("123456789") != std::string::npos ? "+" + text : text;
}

double degrees(const trace::Phasor& p) { return std::arg(p) * 180.0 / std::numbers::pi; }

void print(const trace::Overlay& o, const std::vector<Pair>& pairs, const CompareOptions& options) {
    fmt::print("{}\n", say("{} over {}", options.measured, options.bench.site.scenario));
    if (o.periods > 0)
        fmt::print(
            "{}\n\n",
            say("measured {}, computed {} ({} %); periods laid over one another: {}, turned to where all signals "
                "agree best",
                text::quantity(o.measured_Hz, "Hz"), text::quantity(o.computed_Hz, "Hz"),
                change(100 * (o.measured_Hz / o.computed_Hz - 1)), o.periods));
    else
        fmt::print("{}\n\n",
                   tr("no steady alternating wave of at least one period on both sides: figures of the whole recording "
                      "alone, no residual"));
    if (o.periods > 0 && std::fabs(o.measured_Hz / o.computed_Hz - 1) > 0.02)
        fmt::print(
            "{}\n\n",
            tr("the frequencies differ by more than 2 %. The drive runs at another speed than computed, so sizes "
               "and harmonics differ for that reason too"));
    fmt::print("{:<20} {:>13} {:>13} {:>8}   {:>10} {:>10}   {:>9} {:>9}\n", "", tr("measured"), tr("computed"), "",
               tr("measured"), tr("computed"), tr("residual"), tr("of the"));
    fmt::print("{:<20} {:>13} {:>13} {:>8}   {:>10} {:>10}   {:>9} {:>9}\n", tr("signal"), tr("true rms"),
               tr("true rms"), "", tr("mean"), tr("mean"), tr("rms"), tr("measured"));
    for (std::size_t k = 0; k < pairs.size(); ++k) {
        const auto& w = o.waves[k];
        const double most = std::max(w.of_measured.rms, w.of_computed.rms);
        // What the last digit of the rms does not show is rounding of the recording and the solver's tolerance.
        const auto figure = [&](double x) { return text::column(x, pairs[k].unit, most); };
        fmt::print("{:<20} {:>13} {:>13} {:>6} %   {:>10} {:>10}",
                   fmt::format("{} ({})", pairs[k].signal, pairs[k].unit), figure(w.of_measured.rms),
                   figure(w.of_computed.rms),
                   change(w.of_computed.rms > 0.0 ? 100 * (w.of_measured.rms / w.of_computed.rms - 1) : 0.0),
                   figure(w.of_measured.mean), figure(w.of_computed.mean));
        if (o.periods > 0)
            fmt::print("   {:>9} {:>7} %", figure(w.residual_rms),
                       text::fixed(w.of_measured.rms > 0.0 ? 100 * w.residual_rms / w.of_measured.rms : 0.0, 1));
        fmt::print("\n");
    }
    for (std::size_t k = 0; k < pairs.size() && o.periods > 0; ++k) {
        const auto& m = o.waves[k].harmonics_measured;
        const auto& c = o.waves[k].harmonics_computed;
        const double most = std::max(std::abs(m[0]), std::abs(c[0]));
        if (!(most > 0.02 * o.waves[k].of_measured.rms)) continue;
        fmt::print("\n{}\n{:>5} {:>11} {:>11} {:>11} {:>12}\n",
                   say("harmonics of {} ({}), rms", pairs[k].signal, pairs[k].unit), tr("order"), tr("measured"),
                   tr("computed"), tr("difference"), tr("phase"));
        for (std::size_t n = 0; n < m.size(); ++n) {
            const double a = std::abs(m[n]), b = std::abs(c[n]);
            if (n > 0 && std::max(a, b) < 5e-3 * most) continue;
            const double turn = std::min(a, b) > 1e-3 * most ? degrees(m[n] / c[n]) : NAN;
            const std::string& unit = pairs[k].unit;
            const std::string apart = text::column(a - b, unit, most);
            fmt::print("{:>5} {:>11} {:>11} {:>11} {:>12}\n", n + 1, text::column(a, unit, most),
                       text::column(b, unit, most),
                       a > b && apart.find_first_of("123456789") != std::string::npos ? "+" + apart : apart,
                       std::isnan(turn) ? "-" : say("{} deg", change(turn)));
        }
        fmt::print("      {}\n", tr("(orders below 0.5 % of the fundamental left out)"));
    }
}

nlohmann::json as_json(const trace::Overlay& o, const std::vector<Pair>& pairs) {
    using nlohmann::json;
    json waves = json::array();
    const auto list = [](const std::vector<trace::Phasor>& all) {
        json out = json::array();
        for (const trace::Phasor& p : all) out.push_back({{"rms", std::abs(p)}, {"degrees", degrees(p)}});
        return out;
    };
    for (std::size_t k = 0; k < pairs.size(); ++k) {
        const auto& w = o.waves[k];
        const auto side = [](const trace::Statistics& s) {
            return json{{"rms", s.rms}, {"mean", s.mean}, {"min", s.min}, {"max", s.max}};
        };
        json j{{"column", pairs[k].column},
               {"signal", pairs[k].signal},
               {"unit", pairs[k].unit},
               {"measured", side(w.of_measured)},
               {"computed", side(w.of_computed)}};
        j["residual_rms"] = o.periods > 0 ? json(w.residual_rms) : json(nullptr);
        if (o.periods > 0)
            j.update({{"harmonics_measured", list(w.harmonics_measured)},
                      {"harmonics_computed", list(w.harmonics_computed)}});
        waves.push_back(j);
    }
    return {{"measured_Hz", o.measured_Hz > 0 ? json(o.measured_Hz) : json(nullptr)},
            {"computed_Hz", o.computed_Hz > 0 ? json(o.computed_Hz) : json(nullptr)},
            {"periods", o.periods},
            {"turn", o.turn},
            {"signals", waves}};
}

void plot(const trace::Overlay& o, const std::vector<Pair>& pairs, const CompareOptions& options) {
    std::vector<report::Panel> panels;
    const double two = 2.0 / o.measured_Hz;
    for (std::size_t k = 0; k < pairs.size(); ++k) {
        const auto& w = o.waves[k];
        panels.push_back({pairs[k].signal,
                          pairs[k].unit,
                          {{tr("measured"), trace::slice(w.measured, 0, two)},
                           {tr("computed"), trace::slice(w.computed, 0, two)},
                           {tr("residual"), trace::slice(w.residual, 0, two)}},
                          {},
                          {}});
    }
    report::write_plot(options.out,
                       say("{} over {}", std::filesystem::path(options.measured).filename().string(),
                           std::filesystem::path(options.bench.site.scenario).stem().string()),
                       panels);
}

int compare(const CompareOptions& options) {
    if (!options.out.empty() && !report::is_plot(std::filesystem::path(options.out).extension().string()))
        throw site::BadInput(
            say("--out: {}: no such kind of file, expected a name ending in .svg, .pdf or .png", options.out));
    const report::Measured measured = report::read_measured(options.measured);
    bench::Conduct conduct(options.bench.anyway);
    bench::Bench bench = make_bench(options.bench, conduct);
    const std::vector<Pair> pairs = matched(measured, options, *bench.site());
    const std::vector<trace::Trace> waves = computed(bench, pairs);
    std::vector<trace::Trace> left;
    for (const Pair& p : pairs) left.push_back(p.wave);
    const trace::Overlay o = trace::overlay(left, waves);
    if (options.json) fmt::print("{}\n", as_json(o, pairs).dump(2));
    else print(o, pairs, options);
    if (!options.out.empty()) {
        if (o.periods == 0)
            throw site::BadInput(
                say("--out: {}: nothing to lay over one another without a common period", options.out));
        plot(o, pairs, options);
    }
    return 0;
}

}  // namespace

Run add_compare(CLI::App& app) {
    auto o = std::make_shared<CompareOptions>();
    app.add_option("measured", o->measured,
                   tr("recorded waves: .csv (time in seconds, then the signals) or COMTRADE .cfg"))
        ->type_name("MEASURED")
        ->required();
    add_bench_options(app, o->bench);
    add_repeated(app, "--as", o->as, "COLUMN=SIGNAL",
                 tr("what a column of the recording is, for example CH1=drive.u:drive.v; may be repeated"));
    add_repeated(app, "--scale", o->scale, "COLUMN=FACTOR",
                 tr("multiply a column, for example a probe that divides by 100; may be repeated"));
    app.add_option("--out", o->out, tr("plot of both and the residual: .svg, .pdf or .png"))->type_name("FILE");
    app.add_flag("--json", o->json, tr("print one JSON object"));
    app.footer(
        say("Columns named like signals are taken as such. Time zero and a small difference in frequency do not "
            "matter.") +
        "\nExample: sunshaft compare scope.csv hill-orchard --as CH1=drive.u:drive.v --scale CH1=100 --out over.png");
    return [o] { return compare(*o); };
}

}  // namespace sunshaft::cli
