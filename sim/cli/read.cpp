// sunshaft read: what a meter shows at two points, and why.
#include <fmt/format.h>

#include <cmath>

#include <memory>
#include <nlohmann/json.hpp>

#include "bench/bench.hpp"
#include "cli/verb.hpp"
#include "report/json.hpp"
#include "site/keys.hpp"

namespace sunshaft::cli {
namespace {

struct Options {
    BenchOptions bench;
    std::string red, black, around, meter, mode;
    double at = -1.0, placed = 0.0, range = 0.0;
    bool json = false;
};

constexpr const char* gauges[] = {"flow", "head", "water", "tank", "sun", "module_temp"};

bool is_gauge(const std::string& name) {
    for (const char* g : gauges)
        if (name == g) return true;
    return false;
}

bool of_output(const std::string& point) {
    return point.rfind("drive.", 0) == 0 || point.rfind("lead.", 0) == 0 || point.rfind("cable.", 0) == 0 || point.rfind("motor.", 0) == 0;
}

meter::Mode wanted_mode(const Options& o) {
    if (!o.mode.empty()) {
        if (const auto m = meter::mode_from(o.mode)) return *m;
        std::string list;
        for (const meter::Mode m : meter::all_modes()) list += fmt::format("{}{}", list.empty() ? "" : " ", meter::mode_name(m));
        throw site::BadInput(fmt::format("--mode: {}: no such mode, expected one of {}", o.mode, list));
    }
    if (!o.around.empty()) return o.around[0] == 'd' || o.around[0] == 's' ? meter::Mode::dca : meter::Mode::aca;
    return of_output(o.red) && of_output(o.black) ? meter::Mode::acv : meter::Mode::dcv;
}

meter::Spec wanted_meter(const Options& o, meter::Mode mode) {
    if (!o.meter.empty()) return meter::find_spec(o.meter);
    // The plainest meter that has the mode.
    for (const char* name : {"average", "true-rms", "clamp-hall"}) {
        try {
            meter::Spec s = meter::find_spec(name);
            if (s.has(mode)) return s;
        } catch (const meter::SpecError&) {
        }
    }
    for (meter::Spec& s : meter::load_specs(meter::shipped_meters()))
        if (s.has(mode)) return s;
    throw site::BadInput(fmt::format("--mode: no shipped meter has {}", meter::mode_name(mode)));
}

void print(const meter::Reading& r, const meter::Spec& spec, meter::Mode mode, const Options& o, const plant::Settled& settled, bool timed) {
    for (const auto& c : r.cautions) fmt::print("before you touch: {}\n", c);
    const std::string where = o.around.empty() ? fmt::format("{} against {}", o.red, o.black) : fmt::format("round {}", o.around);
    fmt::print("\n{}, {}, {}\n", where, spec.name, meter::mode_name(mode));
    fmt::print("  shows       {}\n", r.shown);
    if (r.low && r.high) fmt::print("  could be    {:.4g} to {:.4g} {}\n", *r.low, *r.high, r.unit);
    const auto& t = r.truth;
    if (t.rms) {
        const double mean = std::abs(*t.mean) < 1e-5 * *t.rms ? 0.0 : *t.mean;  // less is the solver's tolerance, not the wave
        fmt::print("  in truth    mean {:.5g}, true rms {:.5g}", mean, *t.rms);
        if (t.fundamental_rms) fmt::print(", fundamental {:.5g} at {:.4g} Hz", *t.fundamental_rms, *t.fundamental_Hz);
        if (t.crest_factor) fmt::print(", crest factor {:.3g}", *t.crest_factor);
        fmt::print("\n");
    }
    if (r.link_ratio) fmt::print("  of the link {:.4f}\n", *r.link_ratio);
    fmt::print("\n");
    for (const auto& reason : r.reasons) fmt::print("  {}\n", reason);
    for (const auto& w : r.warnings) fmt::print("  warning: {}\n", w);
    if (!timed && !settled.settled) fmt::print("  warning: not settled after {:.0f} s\n", settled.seconds);
}

// The leads of a voltmeter lie on the points while time passes: a floating circuit takes its time to follow them.
void place_leads(bench::Bench& bench, const Options& o) {
    if (o.red.empty() || o.black.empty() || !o.around.empty()) return;
    const meter::Mode mode = wanted_mode(o);
    if (!meter::drives_circuit(mode)) bench.connect({o.red, o.black, ""}, meter::input_resistance(wanted_meter(o, mode), mode));
}

int read(const Options& o) {
    bench::Bench bench = make_bench(o.bench);
    plant::Settled settled;
    const bool timed = o.at >= 0.0;
    {
        Progress progress("settling");
        if (timed) {
            if (o.placed > 0.0) bench.advance(std::min(o.placed, o.at));
            place_leads(bench, o);
            bench.advance(o.at - bench.time());
        } else settled = bench.settle(60.0, [&](double f) { return progress(f); });
    }
    if (is_gauge(o.red)) {
        const auto g = bench.gauge(o.red);
        if (o.json) {
            nlohmann::json j = report::gauge_json(o.red, g);
            j["drive"] = report::drive_json(bench);
            fmt::print("{}\n", j.dump(2));
        }
        else fmt::print("{}: {:.6g} {} ({})\n", o.red, g.value, g.unit, g.how);
        return 0;
    }
    const bench::Probes probes{o.red, o.black, o.around};
    if (o.around.empty() && (o.red.empty() || o.black.empty()))
        throw site::BadInput("--red, --black: two points are wanted, or --around for a clamp, or --red with a gauge (flow head water tank sun module_temp)");
    const meter::Mode mode = wanted_mode(o);
    if (meter::takes_clamp(mode) != !o.around.empty())
        throw site::BadInput(fmt::format("--mode: {} {}", meter::mode_name(mode), o.around.empty() ? "takes a clamp, expected --around POINT" : "takes probes, expected --red and --black"));
    const meter::Spec spec = wanted_meter(o, mode);
    meter::Context extra;
    if (o.range > 0.0) extra.manual_range = o.range;
    meter::Reading r = bench.read(spec, mode, probes, extra);
    if (o.json) {
        if (!timed && !settled.settled) r.warnings.push_back("not settled");
        nlohmann::json j = report::reading_json(r);
        j["drive"] = report::drive_json(bench);
        fmt::print("{}\n", j.dump(2));
    } else {
        print(r, spec, mode, o, settled, timed);
    }
    return 0;
}

}  // namespace

Run add_read(CLI::App& app) {
    auto o = std::make_shared<Options>();
    add_bench_options(app, o->bench);
    app.add_option("--red", o->red, "test point of the red lead, or a gauge: flow head water tank sun module_temp")->type_name("POINT");
    app.add_option("--black", o->black, "test point of the black lead")->type_name("POINT");
    app.add_option("--around", o->around, "conductor a clamp is closed round")->type_name("POINT");
    app.add_option("--meter", o->meter, "meter by name or file; default: the plainest that has the mode")->type_name("NAME");
    app.add_option("--mode", o->mode, "dcv acv acdcv acv-lowpass acv-lowz ohm continuity diode hz insulation cap aca dca")->type_name("MODE");
    app.add_option("--at", o->at, "read so many simulated seconds after switching on; default: when settled")->type_name("SECONDS")->check(CLI::Range(0.0, 86400.0));
    app.add_option("--placed", o->placed, "with --at: when the leads are placed; default: from the start")->type_name("SECONDS")->check(CLI::Range(0.0, 86400.0));
    app.add_option("--range", o->range, "manual range, full scale in SI units")->type_name("VALUE");
    app.add_flag("--json", o->json, "print one JSON object");
    app.footer("Example: sunshaft read hill-orchard --red drive.u --black drive.v --meter true-rms --fault high-resistance-splice@v=2.4");
    return [o] { return read(*o); };
}

}  // namespace sunshaft::cli
