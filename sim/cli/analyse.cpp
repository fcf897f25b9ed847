// sunshaft analyse: harmonics, sequence components, space vector and signatures of a running site or of a recording.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>

#include "cli/verb.hpp"
#include "plant/run.hpp"
#include "report/analysis.hpp"
#include "report/measured.hpp"
#include "report/plot.hpp"
#include "report/waves.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

using report::Analysis;

struct AnalyseOptions {
    BenchOptions bench;
    double seconds = 0.0, frequency_Hz = 0.0;
    std::string out;
    bool json = false;
};

constexpr std::size_t most_rows = 500'000;

bool is_recording(const std::string& name) {
    std::string kind = std::filesystem::path(name).extension().string();
    std::ranges::transform(kind, kind.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return kind == ".csv" || kind == ".txt" || kind == ".cfg";
}

// Of a motor that slips; 0: of none.
int slipping_pole_pairs(const site::Works& works) {
    return site::has_cage(works.motor) ? site::pole_pairs(works.motor) : 0;
}

// Settles, then records: long enough for the sidebands of the slip, unless the user says how long.
Analysis of_site(const AnalyseOptions& o) {
    bench::Conduct conduct(o.bench.anyway);
    bench::Bench bench = make_bench(o.bench, conduct);
    {
        Progress progress(tr("settling"));
        const auto settled = bench.settle(60.0, [&](double f) { return progress(f); });
        progress.done();
        if (!settled.settled) fmt::print(stderr, "{}\n", say("warning: not settled after {:.0f} s", settled.seconds));
    }
    if (bench.still())
        throw site::BadInput(
            say("{}: nothing switches and nothing turns here, expected a running site", o.bench.site.scenario));
    const double f = plant::fundamental(bench.plant(), bench.state());
    const plant::Instant now = bench.plant().look(bench.state());
    const int pairs = slipping_pole_pairs(bench.site()->works);
    double seconds = o.seconds;
    if (seconds <= 0.0) {
        seconds = f >= 1.0 ? 13.0 / f : 0.25;  // slower than that it is a rotor running down
        if (pairs > 0 && std::isfinite(now.slip))
            seconds = std::max(seconds, std::min(4.0, 1.3 * trace::sidebands_need_s(f, now.slip)));
    }
    std::vector<plant::Signal> signals;
    std::vector<std::string> units;
    for (const char* name :
         {"drive.u:drive.v", "drive.v:drive.w", "drive.w:drive.u", "around.u", "around.v", "around.w",
          "motor.u:motor.v", "motor.v:motor.w", "motor.w:motor.u", "link_V", "torque_N_m", "speed_rpm", "power_W"}) {
        signals.push_back(plant::signal(*bench.site(), name));
        units.push_back(report::signal_unit(name));
    }
    plant::Recorder recorder(signals);
    Progress progress(tr("recording"));
    for (double done = 0.0; done < seconds;) {
        const double piece = std::min(0.02, seconds - done);
        bench.advance(piece, &recorder);
        done += piece;
        if (recorder.recording.rows() > most_rows) {
            if (o.seconds > 0.0) throw site::BadInput(tr("--for: longer than can be held, expected fewer seconds"));
            break;
        }
        progress(done / seconds);
    }
    progress.done();
    // A motor that commutates itself turns at what the recording says, not at what was asked.
    return report::analyse(recorder.recording, units, pairs > 0 ? f : 0.0, pairs);
}

// A wave that swings about zero with a fundamental of its own; the rest is steady with a ripple.
bool alternates(const Analysis::Wave& w) {
    return !w.harmonics.empty() && w.statistics.rms_ac > 0.3 * std::fabs(w.statistics.mean) &&
           std::abs(w.harmonics[0]) > 0.1 * w.statistics.rms_ac;
}

std::string share(double x) { return text::fixed(100 * x, x < 0.9995e-3 ? 2 : 1) + " %"; }

// One voltage and one current carry a class through; the rest is in --json.
void print_harmonics(const Analysis& a) {
    std::vector<const Analysis::Wave*> shown;
    for (const Analysis::Wave& w : a.waves)
        if (alternates(w) && std::ranges::none_of(shown, [&](const auto* s) { return s->unit == w.unit; }))
            shown.push_back(&w);
    if (shown.empty()) return;
    fmt::print("\n{}\n{:>5}", say("harmonics, rms; group: IEC 61000-4-7 harmonic group over {} periods", a.periods),
               tr("order"));
    for (const auto* w : shown)
        fmt::print("  {:>16} {:>8} {:>10}", fmt::format("{} ({})", w->name, w->unit), tr("share"), tr("group"));
    fmt::print("\n");
    for (std::size_t n = 0; n < 50; ++n) {
        if (n > 0 && std::ranges::none_of(shown, [&](const auto* w) {
                return std::abs(w->harmonics[n]) > 5e-3 * std::abs(w->harmonics[0]);
            }))
            continue;
        fmt::print("{:>5}", n + 1);
        for (const auto* w : shown)
            fmt::print("  {:>16} {:>8} {:>10}",
                       text::column(std::abs(w->harmonics[n]), w->unit, std::abs(w->harmonics[0])),
                       share(std::abs(w->harmonics[n]) / std::abs(w->harmonics[0])),
                       n < w->groups.harmonic_group.size()
                           ? text::column(w->groups.harmonic_group[n], w->unit, std::abs(w->harmonics[0]))
                           : "-");
        fmt::print("\n");
    }
    fmt::print("      {}\n", tr("(orders below 0.5 % in every column left out)"));
}

void print(const Analysis& a, const std::string& what) {
    if (a.periods == 0) {
        fmt::print("{}\n\n", say("{}: no fundamental found, statistics alone", what));
    } else {
        fmt::print("{}\n\n", say("{}: {}, the last {} periods", what, text::quantity(a.frequency_Hz, "Hz"), a.periods));
    }
    fmt::print("{:<18} {:>12} {:>12} {:>12} {:>9} {:>9} {:>7} {:>7}\n", tr("wave"), tr("mean"), tr("true rms"),
               tr("fundamental"), tr("THD to 40"), tr("total"), tr("crest"), tr("form"));
    for (const Analysis::Wave& w : a.waves) {
        const double rms = w.statistics.rms;
        fmt::print("{:<18} {:>12} {:>12}", fmt::format("{} ({})", w.name, w.unit),
                   text::column(w.statistics.mean, w.unit, rms), text::column(rms, w.unit, rms));
        if (alternates(w))
            fmt::print(" {:>12} {:>9} {:>9} {:>7} {:>7}", text::column(std::abs(w.harmonics[0]), w.unit, rms),
                       share(w.thd), share(w.total), text::fixed(w.statistics.crest_ac, 3),
                       text::fixed(w.statistics.form, 4));
        fmt::print("\n");
    }
    if (a.periods == 0) return;
    if (!a.three.empty())
        fmt::print("\n{}\n{:<38} {:>10} {:>10} {:>10} {:>15} {:>10}\n",
                   tr("symmetrical components (rms of the fundamental)"), "", tr("positive"), tr("negative"),
                   tr("zero"), tr("neg./positive"), "NEMA MG 1");
    for (const Analysis::ThreePhase& t : a.three) {
        const double positive = std::abs(t.sequence.positive), negative = std::abs(t.sequence.negative);
        const double most = std::max(positive, negative);
        fmt::print("{:<38} {:>10} {:>10} {:>10} {:>15} {:>10}\n", fmt::format("{} ({})", tr(t.name), t.unit),
                   text::column(positive, t.unit, most), text::column(negative, t.unit, most),
                   text::column(std::abs(t.sequence.zero), t.unit, most), share(t.factor), share(t.deviation));
    }
    if (!a.three.empty()) fmt::print("\n{}\n", tr("space vector (amplitudes)"));
    for (const Analysis::ThreePhase& t : a.three)
        fmt::print(
            "{:<38} {}\n", fmt::format("{} ({})", tr(t.name), t.unit),
            say("radius {} to {}, zero component {} rms", text::column(t.radius_low, t.unit, t.radius_high),
                text::column(t.radius_high, t.unit, t.radius_high), text::column(t.zero_rms, t.unit, t.radius_high)));

    print_harmonics(a);
    if (!a.ripples.empty())
        fmt::print("\n{}\n", tr("ripple: amplitude over mean at the fundamental, twice and six times it"));
    for (const Analysis::Ripple& r : a.ripples)
        fmt::print(
            "{:<18} {}\n", r.name,
            say("mean {:>10} {:<4} {:>9} {:>9} {:>9}   peak to peak {}", text::column(r.mean, r.unit, r.mean), r.unit,
                share(r.share[0]), share(r.share[1]), share(r.share[2]), text::quantity(r.peak_to_peak, r.unit, 3)));
    if (a.slip) {
        fmt::print("\n{}; ", say("motor current signature: slip {} %", text::fixed(100 * *a.slip, 2)));
        if (a.sidebands)
            fmt::print("{}\n", say("sidebands {} Hz {} dB, {} Hz {} dB against the fundamental (floor about -92 dB)",
                                   text::fixed(a.sidebands->lower_Hz, 2), text::fixed(a.sidebands->lower_dB, 0),
                                   text::fixed(a.sidebands->upper_Hz, 2), text::fixed(a.sidebands->upper_dB, 0)));
        else
            fmt::print("{}\n", say("the sidebands want a recording of {} or more (--for)",
                                   text::quantity(a.sidebands_need_s, "s", 2)));
    }
}

// Up to three waves of one unit, for a panel.
std::vector<const Analysis::Wave*> alike(const Analysis& a, const std::string& unit) {
    std::vector<const Analysis::Wave*> out;
    for (const Analysis::Wave& w : a.waves)
        if (w.unit == unit && out.size() < 3 && alternates(w)) out.push_back(&w);
    return out;
}

void plot(const Analysis& a, const std::string& path, const std::string& title) {
    std::vector<report::Panel> panels;
    for (const char* unit : {"V", "A"}) {
        report::Panel p{unit[0] == 'V' ? tr("Voltages, two periods") : tr("Currents, two periods"), unit, {}, {}, {}};
        for (const auto* w : alike(a, unit)) p.waves.push_back({w->name, w->two_periods});
        if (!p.waves.empty()) panels.push_back(std::move(p));
    }
    for (const char* unit : {"V", "A"}) {
        report::Panel p{unit[0] == 'V' ? tr("Harmonics of the voltages, rms") : tr("Harmonics of the currents, rms"),
                        unit,
                        {},
                        {},
                        {}};
        for (const auto* w : alike(a, unit)) {
            report::Bars b{w->name, {}};
            for (const trace::Phasor& h : w->harmonics) b.heights.push_back(std::abs(h));
            p.bars.push_back(std::move(b));
        }
        if (!p.bars.empty()) panels.push_back(std::move(p));
    }
    for (const Analysis::ThreePhase& t : a.three)
        if (t.name != "line voltages at the motor")
            panels.push_back(
                {say("Space vector, one period: {}", tr(t.name)), t.unit, {}, {}, {{tr(t.name), t.alpha, t.beta}}});
    report::write_plot(path, title, panels, 2);
}

int analyse(const AnalyseOptions& o) {
    if (!o.out.empty() && !report::is_plot(std::filesystem::path(o.out).extension().string()))
        throw site::BadInput(
            say("--out: {}: no such kind of file, expected a name ending in .svg, .pdf or .png", o.out));
    const std::string& name = o.bench.site.scenario;
    Analysis a;
    if (is_recording(name)) {
        if (!o.bench.faults.empty() || !o.bench.acts.empty() || !o.bench.site.set.empty())
            throw site::BadInput(tr("--fault, --do, --set: a recording takes none"));
        const report::Measured m = report::read_measured(name);
        std::vector<std::string> units = m.units;
        for (std::size_t k = 0; k < units.size(); ++k)
            if (units[k].empty()) units[k] = plant::unit_of(m.recording.names[k]);
        a = report::analyse(m.recording, units, o.frequency_Hz, 0);
    } else {
        a = of_site(o);
    }
    if (o.json) fmt::print("{}\n", report::analysis_json(a).dump(2));
    else print(a, name);
    if (!o.out.empty()) plot(a, o.out, fmt::format("{}, {}", name, text::quantity(a.frequency_Hz, "Hz")));
    return 0;
}

}  // namespace

Run add_analyse(CLI::App& app) {
    auto o = std::make_shared<AnalyseOptions>();
    add_bench_options(app, o->bench);
    app.add_option("--for", o->seconds,
                   tr("simulated seconds recorded after settling; default: what the analysis wants"))
        ->type_name("SECONDS")
        ->check(within(1e-3, 600.0));
    app.add_option("--frequency", o->frequency_Hz, tr("fundamental of a recording; default: found in it"))
        ->type_name("HZ")
        ->check(within(1e-3, 1e6));
    app.add_option("--out", o->out, tr("plot of spectra and space vectors: .svg, .pdf or .png"))->type_name("FILE");
    app.add_flag("--json", o->json, tr("print one JSON object"));
    app.footer(say("The site may also be a recording: a .csv (time in seconds, then the signals) or a COMTRADE .cfg.") +
               "\nExample: sunshaft analyse hill-orchard --fault broken-bars@motor=0.2 --out spectra.svg");
    return [o] { return analyse(*o); };
}

}  // namespace sunshaft::cli
