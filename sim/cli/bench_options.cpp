#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstring>

#include "bench/bench.hpp"
#include "cli/verb.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {

using text::say, text::tr;

void add_bench_options(CLI::App& app, BenchOptions& options) {
    add_site_options(app, options.site);
    add_repeated(app, "--fault", options.faults, "KIND@PLACE=SEVERITY[@SECONDS]", tr("plant a fault; may be repeated"));
    add_repeated(app, "--do", options.acts, "ACT@PLACE[@SECONDS]",
                 tr("carry out an act of `sunshaft acts`; may be repeated"));
    app.add_flag("--dipped", options.dipped,
                 tr("dip the well before the dry-run guard is bridged, and say what it shows"));
    app.add_flag("--anyway", options.anyway, tr("carry out what is refused as unsafe; it is counted"));
}

bench::Bench make_bench(const BenchOptions& options, bench::Conduct& conduct, bool say_at_once) {
    const Scenario scenario = load(options.site);
    site::Works works = site::set_up(scenario);
    bench::Edits edits;
    for (const std::string& text : options.faults) edits.faults.push_back(site::parse_fault(text, works));
    for (const std::string& text : options.acts) edits.acts.push_back(site::parse_act(text, works));
    // By their times; those of one moment as they are given.
    std::stable_sort(edits.acts.begin(), edits.acts.end(),
                     [](const site::Act& a, const site::Act& b) { return a.time < b.time; });
    bench::Bench bench(scenario, edits);
    const auto judge = [&conduct, say_at_once, dips = options.dipped](
                           const bench::Scene& now, const std::vector<site::Act>& acts, double water_m) {
        const bool bridges = std::any_of(acts.begin(), acts.end(),
                                         [](const site::Act& a) { return a.kind == "jumper" && a.place == "dry"; });
        if (dips && bridges) {
            fmt::print(stderr, "{}\n",
                       say("dip meter: water at {}, intake at {}", text::quantity(water_m, "m", 3),
                           text::quantity(now.works->water.pump_depth, "m", 3)));
            conduct.dipped(water_m);
        }
        const auto said = bench::words(conduct.hazards());
        conduct.before(now, acts);
        for (const std::string& line : bench::words(conduct.hazards()))
            if (say_at_once && std::find(said.begin(), said.end(), line) == said.end())
                fmt::print(stderr, "{}\n", say("before you touch: {}", line));
    };
    // The site as it stood before the first of them.
    std::vector<site::Act> first;
    for (const site::Fault& f : bench.edits().faults)
        if (f.start <= 0.0) site::apply(works, f);
    for (const site::Act& a : edits.acts)
        if (a.time <= 0.0) first.push_back(a);
    judge(bench::scene(works), first, works.water.static_level);
    bench.ask([judge](bench::Bench& b, const std::vector<site::Act>& acts) {
        judge(bench::scene(*b.site(), b.plant().look(b.state())), acts, b.state().water_level);
    });
    return bench;
}

void add_warm(CLI::App& app, BenchOptions& options) {
    app.add_option(
           "--warm", options.warm,
           tr("how long the motor has run before: cold, hour, or seconds. Windings, cage and magnets are then as "
              "warm as that makes them"))
        ->type_name("cold|hour|SECONDS")
        ->capture_default_str();
}

void warm_up(bench::Bench& bench, const std::string& warm) {
    if (warm == "cold") return;
    double seconds = 3600.0;
    if (warm != "hour") {
        const auto [end, error] = std::from_chars(warm.data(), warm.data() + warm.size(), seconds);
        if (error != std::errc() || end != warm.data() + warm.size() || !(seconds >= 0.0 && seconds <= 1e6))
            throw site::BadInput(
                say("--warm: {}: expected cold, hour or seconds from 0 to 1e6", site::on_one_line(warm)));
    }
    bench.warm(bench.warm_degC(seconds));
}

std::string warm_line(const bench::Bench& bench, const std::string& warm) {
    const std::string degC = text::quantity(bench.state().slow.winding_degC, "degC", 3);
    if (warm == "cold") return say("motor: cold, {}: what a first start reads", degC);
    if (warm == "hour") return say("motor: warm, {}, as after an hour's running", degC);
    return say("motor: warm, {}, as after {} s of running", degC, warm);
}

void print_cautions(const std::vector<bench::Hazard>& hazards, std::FILE* to) {
    for (const std::string& line : bench::words(hazards)) fmt::print(to, "{}\n", say("before you touch: {}", line));
}

void print_unsafe(const bench::Conduct& conduct, std::FILE* to) {
    for (const auto& step : conduct.unsafe())
        for (const std::string& why : bench::reasons(step.hazards))
            fmt::print(to, "{}\n", say("unsafe: {}: {}", step.act, why));
    if (const std::size_t n = conduct.unsafe().size(); n > 0) fmt::print(to, "{}\n", say("unsafe steps: {}", n));
}

nlohmann::json hazards_json(const std::vector<bench::Hazard>& hazards) {
    nlohmann::json list = nlohmann::json::array();
    const auto figure = [](double x) { return x > 0.0 ? number(x) : nlohmann::json(); };
    for (const bench::Hazard& h : hazards) {
        nlohmann::json first = nlohmann::json::array();
        for (const bench::First f : h.first) first.push_back(bench::name(f));
        list.push_back({{"kind", bench::name(h.kind)},
                        {"where", h.where},
                        {"volt", figure(h.volts)},
                        {"joule", figure(h.joules)},
                        {"ampere", figure(h.amps)},
                        {"metre", figure(h.metres)},
                        {"braking_volt", figure(h.braking_V)},
                        {"first", first},
                        {"refused", h.refuse},
                        {"words", bench::words(h)}});
    }
    return list;
}

nlohmann::json unsafe_json(const bench::Conduct& conduct) {
    nlohmann::json steps = nlohmann::json::array();
    for (const auto& step : conduct.unsafe())
        steps.push_back({{"act", step.act}, {"reasons", bench::reasons(step.hazards)}});
    return {{"count", conduct.unsafe().size()}, {"steps", steps}};
}

namespace {
volatile std::sig_atomic_t interrupted = 0;
}
Interruptible::Interruptible() {
    interrupted = 0;
    before_ = std::signal(SIGINT, [](int) { interrupted = 1; });
}
Interruptible::~Interruptible() { std::signal(SIGINT, before_); }
bool Interruptible::goes_on() const { return interrupted == 0; }

Progress::Progress(const char* what) : what_(what), on_(isatty(STDERR_FILENO) != 0) {}
Progress::~Progress() { done(); }

bool Progress::operator()(double fraction) {
    const int percent = static_cast<int>(100 * fraction);
    // What is left, by what it took so far; not before that means something.
    const double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun_).count();
    constexpr double tells_s = 3.0, tells_share = 0.05;
    const int left = static_cast<int>(took * (1.0 - fraction) / std::max(fraction, tells_share));
    const bool tells = took > tells_s && fraction >= tells_share;
    const std::string rest = tells ? ", " + say("about {}:{:02d} left", left / 60, left % 60) : "";
    if (on_ && percent != shown_) {
        std::fprintf(stderr, "\r%s %3d %%%s  ", what_, percent, rest.c_str());
        std::fflush(stderr);
        shown_ = percent;
    }
    // To a file or a pipe, in steps one reads.
    if (!on_ && percent / 10 > std::max(shown_, 0) / 10 && percent < 100 && tells) {
        std::fprintf(stderr, "%s %d %%%s\n", what_, percent, rest.c_str());
        shown_ = percent;
    }
    return true;
}

void Progress::done() {
    if (on_ && shown_ >= 0) std::fprintf(stderr, "\r%*s\r", static_cast<int>(std::strlen(what_)) + 30, "");
    shown_ = -1;
}

}  // namespace sunshaft::cli
