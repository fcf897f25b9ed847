// Times the instruments and measures their error against closed forms: what is asked, what is got.
//
//   sunshaft-bench-instruments [--json]
// Processor time of this thread, the best of several rounds; traces are recorded beforehand. Exit status 1 when a
// figure is not met.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <functional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "proof/proof.hpp"
#include "site/load.hpp"
#include "trace/harmonics.hpp"
#include "trace/waves.hpp"

namespace sunshaft {
namespace {

double seconds() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

double best_ms(const std::function<double()>& work) {
    double best = 1e9;
    volatile double sink = 0.0;
    for (const double from = seconds(); seconds() - from < 0.3;) {
        const double start = seconds();
        sink = sink + work();
        best = std::min(best, seconds() - start);
    }
    return 1e3 * best;
}

struct Line {
    std::string what;
    double asked, got;
    std::string unit, remark;
};

// A settled run of a shipped site, u against v, as the bench records it for a reading.
struct Run {
    trace::Trace wave;
    meter::Context context;
};
Run settled(const char* site, const std::vector<std::string>& set) {
    bench::Edits edits;
    edits.set = set;
    bench::Bench b(site::load_scenario(site::find_scenario(site)), edits);
    b.settle();
    plant::Recorder recorder({plant::signal(*b.site(), "drive.u:drive.v")});
    b.plant().advance_turns(b.state(), 0.2, recorder);
    return {recorder.recording.signal(0), b.context({"drive.u", "drive.v", ""})};
}

// The slowest of all shipped meters in all their modes that read a voltage.
Line slowest(const std::string& what, double asked, const Run& run) {
    Line line{what, asked, 0.0, "ms", ""};
    for (const meter::Spec& m : meter::load_specs(meter::shipped_meters()))
        for (const auto& [mode, function] : m.functions) {
            if (meter::drives_circuit(mode) || meter::takes_clamp(mode)) continue;
            const double ms = best_ms([&] { return meter::read(m, mode, run.wave, run.context).value.value_or(0.0); });
            if (ms > line.got)
                line.got = ms,
                line.remark = fmt::format("{}, {}; {} segments", m.name, meter::mode_name(mode), run.wave.size());
        }
    return line;
}

// The largest error of the proof rows whose name begins so.
Line error(const std::string& what, const std::string& begins) {
    Line line{what, 0.01, 0.0, "%", ""};
    for (const proof::Row& row : proof::meter_rows()) {
        if (!row.what.starts_with(begins)) continue;
        const double percent = 100.0 * std::fabs(proof::check(row).error);
        if (percent >= line.got) line.got = percent, line.remark = row.what;
    }
    return line;
}

int main(int argc, char** argv) {
    const bool json = argc > 1 && std::strcmp(argv[1], "--json") == 0;
    std::vector<Line> lines;
    lines.push_back(slowest("one value, settled six-step run", 1.0, settled("hill-orchard", {})));
    lines.push_back(slowest("one value, 8 kHz PWM run", 10.0, settled("terrace-pwm", {"drive.carrier_Hz=8000"})));
    const trace::Trace pwm = trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1, 10);
    lines.push_back({"harmonics 1-50 of ten PWM periods", 20.0,
                     best_ms([&] { return std::abs(trace::harmonics(pwm, 50, 50)[0]); }), "ms",
                     fmt::format("{} segments", pwm.size())});
    lines.push_back(error("error, averaging meter on standard waves", "averaging"));
    lines.push_back(error("error, true rms on PWM behind its bandwidth", "PWM 8 kHz, true rms"));
    lines.push_back(error("error, low-passes", "low-pass"));
    bool met = true;
    for (const Line& l : lines) {
        met = met && l.got < l.asked;
        if (json)
            fmt::print("{}{{\"what\": \"{}\", \"asked_below\": {}, \"got\": {:.6g}, \"unit\": \"{}\"}}{}",
                       &l == &lines.front() ? "[" : " ", l.what, l.asked, l.got, l.unit,
                       &l == &lines.back() ? "]\n" : ",\n");
        else
            fmt::print("{:<46} asked < {:<5g} {:<2}  got {:>9.3g} {:<2}  {:<6} ({})\n", l.what, l.asked, l.unit, l.got,
                       l.unit, l.got < l.asked ? "met" : "MISSED", l.remark);
    }
    return met ? 0 : 1;
}

}  // namespace
}  // namespace sunshaft

int main(int argc, char** argv) { return sunshaft::main(argc, argv); }
