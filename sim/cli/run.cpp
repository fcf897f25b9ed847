// sunshaft run: the plant over time, signals to CSV, JSON, COMTRADE, WAV or a plot.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <numbers>

#include "bench/bench.hpp"
#include "cli/verb.hpp"
#include "report/csv.hpp"
#include "report/plot.hpp"
#include "report/waves.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct RunOptions {
    BenchOptions bench;
    double seconds = 1.0;
    std::string signals, out, comtrade = "float32";
    double rate_Hz = 50e3;
    bool events = false;
};

std::vector<std::string> split(const std::string& text) {
    std::vector<std::string> list;
    std::string word;
    for (const char c : text + ",") {
        if (c != ',') word += c;
        else if (!word.empty()) list.push_back(std::exchange(word, ""));
    }
    return list;
}

void summary(bench::Bench& bench) {
    plant::Plant& p = bench.plant();
    plant::State& s = bench.state();
    const plant::Means m = p.average(s, 0.2);
    const auto most = [](const motor::Vec3& three) { return std::max({three[0], three[1], three[2]}); };
    const auto volt = [&](std::size_t k) { return text::column(m.line_rms[k], "V", most(m.line_rms)); };
    const auto amp = [&](std::size_t k) { return text::column(m.current_rms[k], "A", most(m.current_rms)); };
    fmt::print(
        stderr, "{}\n",
        say("after {}: link {}, u-v {} V v-w {} V w-u {} V true rms, {} {} {} A, {}, {}", text::quantity(s.t, "s"),
            text::quantity(m.link, "V"), volt(0), volt(1), volt(2), amp(0), amp(1), amp(2),
            text::quantity(m.speed * 30 / std::numbers::pi, "rpm"), text::quantity(m.flow * 3600, "m3/h")));
    const double stored = p.stored(s) - s.stored_at_start;
    double largest = std::fabs(stored);
    for (std::size_t n = 0; n < plant::energy_size; ++n) largest = std::max(largest, std::fabs(s.energy[n]));
    std::string shares;
    for (std::size_t n = 0; n < plant::energy_size; ++n)
        shares += fmt::format("{}{} {}", n > 0 ? ", " : "", tr(plant::energy_name[n]),
                              text::column(s.energy[n], "J", largest, 5));
    fmt::print(stderr, "{}\n",
               say("energy since the start (J): {}; stored {}; gap {} of what was turned over", shares,
                   text::column(stored, "J", largest, 5), text::percent(p.energy_gap(s))));
}

void finish(const RunOptions& o, bench::Bench& bench) {
    // Signals without a file have standard output to themselves.
    std::FILE* to = o.signals.empty() || !o.out.empty() ? stdout : stderr;
    if (o.events)
        for (const drive::LogEntry& e : bench.events())
            fmt::print(to, "{:>10} s  {}\n", text::fixed(e.t, 3), drive::words(e));
    summary(bench);
}

// One panel a unit, in the order of the signals.
void plot(const RunOptions& o, const trace::Recording& r) {
    std::vector<report::Panel> panels;
    for (std::size_t k = 0; k < r.names.size(); ++k) {
        const std::string unit = report::signal_unit(r.names[k]);
        auto panel = std::ranges::find_if(panels, [&](const report::Panel& p) { return p.y_unit == unit; });
        if (panel == panels.end()) panel = panels.insert(panels.end(), {unit, unit, {}, {}, {}});
        panel->title = panel->waves.empty() ? r.names[k] : panel->title + ", " + r.names[k];
        panel->waves.push_back({r.names[k], r.signal(k)});
    }
    report::write_plot(o.out, std::filesystem::path(o.bench.site.scenario).stem().string(), panels);
}

// The whole run in memory first: COMTRADE and WAV state their length, JSON and plots are written in one piece.
int run_held(const RunOptions& o, bench::Bench& bench, const std::vector<plant::Signal>& signals,
             const std::string& kind) {
    constexpr std::size_t most = 40'000'000;  // values held at once
    const double samples = o.rate_Hz * o.seconds * static_cast<double>(signals.size());
    if ((kind == ".wav" || kind == ".cfg") && samples > static_cast<double>(most))
        throw std::invalid_argument(
            say("--rate: {} for {} are too many samples for {}, expected {} at most", text::quantity(o.rate_Hz, "Hz"),
                text::quantity(o.seconds, "s"), o.out,
                text::quantity(std::floor(o.rate_Hz * static_cast<double>(most) / samples), "Hz")));
    plant::Recorder recorder(signals);
    Progress progress(tr("running"));
    const double begin = bench.time(), end = o.seconds;
    while (bench.time() < end) {
        bench.advance(std::min(0.02, end - bench.time()), &recorder);
        if (recorder.recording.rows() * signals.size() > most)
            throw std::invalid_argument(
                say("--for: {} is too long to be held for {}, expected a shorter run or a .csv file",
                    text::quantity(o.seconds, "s"), o.out));
        if (!progress((bench.time() - begin) / end)) return 1;
    }
    progress.done();
    if (kind == ".wav") report::write_wav(o.out, recorder.recording, o.rate_Hz);
    else if (kind == ".json") report::write_json(o.out, recorder.recording);
    else if (report::is_plot(kind)) plot(o, recorder.recording);
    else
        report::write_comtrade(o.out, recorder.recording, o.rate_Hz,
                               o.comtrade == "ascii"    ? report::Comtrade::ascii
                               : o.comtrade == "binary" ? report::Comtrade::binary
                                                        : report::Comtrade::float32,
                               plant::fundamental(bench.plant(), bench.state()));
    finish(o, bench);
    return 0;
}

int run(const RunOptions& o) {
    const std::string kind = std::filesystem::path(o.out).extension().string();
    const bool held = kind == ".cfg" || kind == ".wav" || kind == ".json" || report::is_plot(kind);
    if (!held && !kind.empty() && kind != ".csv")
        throw site::BadInput(
            say("--out: {}: no such kind of file, expected .csv, .json, .cfg (COMTRADE), .wav, .svg, .pdf or .png at "
                "its end",
                o.out));
    if (!o.out.empty() && o.signals.empty())
        throw site::BadInput(tr("--signals: missing, expected what is to be written"));
    bench::Conduct conduct(o.bench.anyway);
    bench::Bench bench = make_bench(o.bench, conduct);
    warm_up(bench, o.bench.warm);
    std::vector<plant::Signal> signals;
    for (const std::string& name : split(o.signals)) signals.push_back(plant::signal(*bench.site(), name));
    if (held) {
        const int status = run_held(o, bench, signals, kind);
        print_unsafe(conduct, stderr);
        return status;
    }
    Progress progress(tr("running"));
    if (signals.empty()) {
        const double end = o.seconds;
        while (bench.time() < end) {
            bench.advance(std::min(0.1, end - bench.time()));
            if (!progress(bench.time() / end)) return 1;
        }
    } else {
        plant::Recorder recorder(signals);
        report::CsvWriter csv(o.out, recorder.recording.names);
        const double end = o.seconds;
        while (bench.time() < end) {
            recorder.clear();
            bench.advance(std::min(0.02, end - bench.time()), &recorder);
            csv.write(recorder.recording);
            if (!progress(bench.time() / end)) return 1;
        }
        csv.finish();
    }
    progress.done();
    finish(o, bench);
    print_unsafe(conduct, stderr);
    return 0;
}

}  // namespace

Run add_run(CLI::App& app) {
    auto o = std::make_shared<RunOptions>();
    add_bench_options(app, o->bench);
    add_warm(app, o->bench);
    app.add_option("--for", o->seconds, tr("simulated seconds"))
        ->type_name("SECONDS")
        ->required()
        ->check(within(1e-6, 1e6));
    app.add_option("--signals", o->signals,
                   tr("comma-separated: a point, two points as drive.u:drive.v, around.u, speed_rpm, torque_N_m, "
                      "flow_m3_h, head_m, link_V, power_W ..."))
        ->type_name("LIST");
    app.add_flag("--events", o->events, tr("print what the drive did, when and why"));
    app.add_option("--out", o->out,
                   tr("file, its kind by its ending: .csv, .json, .cfg (COMTRADE, with its .dat), .wav, .svg, .pdf, "
                      ".png. Without it: CSV on standard output"))
        ->type_name("FILE");
    app.add_option("--rate", o->rate_Hz, tr("samples a second of COMTRADE and WAV"))
        ->type_name("HZ")
        ->check(within(1.0, 1e8))
        ->capture_default_str();
    app.add_option("--comtrade", o->comtrade, tr("data of COMTRADE: ascii, binary (16 bit), float32"))
        ->check(CLI::IsMember({"ascii", "binary", "float32"}))
        ->capture_default_str();
    app.footer(
        std::string(tr("CSV and JSON hold both ends of every straight piece (time_s twice where the wave jumps).\n"
                       "COMTRADE and WAV hold even samples, each the mean over its interval, in the signal's own "
                       "unit.")) +
        "\nExample: sunshaft run bench-rig --for 0.1 --signals drive.u:drive.v,around.u,speed_rpm --out start.csv");
    return [o] { return run(*o); };
}

}  // namespace sunshaft::cli
