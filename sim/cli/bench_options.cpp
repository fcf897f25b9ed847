#include <unistd.h>

#include <cstdio>

#include "bench/bench.hpp"
#include "cli/verb.hpp"
#include "site/faults.hpp"

namespace sunshaft::cli {

void add_bench_options(CLI::App& app, BenchOptions& options) {
    add_site_options(app, options.site);
    add_repeated(app, "--fault", options.faults, "KIND@PLACE=SEVERITY[@SECONDS]", "plant a fault; may be repeated");
    add_repeated(app, "--do", options.acts, "ACT@PLACE[@SECONDS]", "carry out an act; may be repeated");
}

bench::Bench make_bench(const BenchOptions& options) {
    const Scenario scenario = load(options.site);
    const site::Works works = site::set_up(scenario);
    bench::Edits edits;
    for (const std::string& text : options.faults) edits.faults.push_back(site::parse_fault(text, works));
    for (const std::string& text : options.acts) edits.acts.push_back(site::parse_act(text, works));
    return bench::Bench(scenario, edits);
}

Progress::Progress(const char* what) : what_(what), on_(isatty(STDERR_FILENO) != 0) {}
Progress::~Progress() { done(); }

bool Progress::operator()(double fraction) {
    const int percent = static_cast<int>(100 * fraction);
    if (on_ && percent != shown_) {
        std::fprintf(stderr, "\r%s %3d %%", what_, percent);
        std::fflush(stderr);
        shown_ = percent;
    }
    return true;
}

void Progress::done() {
    if (on_ && shown_ >= 0) std::fprintf(stderr, "\r%*s\r", 24, "");
    shown_ = -1;
}

}  // namespace sunshaft::cli
