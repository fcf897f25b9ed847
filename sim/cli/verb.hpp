// A verb of the program: one file in this folder and one line in the table of main.cpp.
#pragma once

#include <CLI/CLI.hpp>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "bench/hazards.hpp"
#include "site/scenario.hpp"

namespace sunshaft::cli {

// What a verb does once its options are read. Returns the exit status: 0 done, 1 the answer is no. Bad input
// throws site::BadInput or std::invalid_argument (one line, status 2).
using Run = std::function<int()>;

// Declares a verb's options on `app`; the options live in the returned function.
Run add_check(CLI::App& app);
Run add_keys(CLI::App& app);
Run add_read(CLI::App& app);
Run add_listen(CLI::App& app);
Run add_proof(CLI::App& app);
Run add_sheet(CLI::App& app);
Run add_lesson(CLI::App& app);
Run add_worksheet(CLI::App& app);
Run add_my_meter(CLI::App& app);
Run add_suspects(CLI::App& app);
Run add_case(CLI::App& app);
Run add_callout(CLI::App& app);
Run add_class(CLI::App& app);
Run add_tests(CLI::App& app);
Run add_run(CLI::App& app);
Run add_points(CLI::App& app);
Run add_acts(CLI::App& app);
Run add_faults(CLI::App& app);
Run add_meters(CLI::App& app);
Run add_modules(CLI::App& app);
Run add_analyse(CLI::App& app);
Run add_compare(CLI::App& app);
Run add_day(CLI::App& app);
Run add_fit(CLI::App& app);
Run add_report(CLI::App& app);

// A number from `low` to `high`; "nan" is none.
CLI::Validator within(double low, double high);

// The options of every verb that works on a site.
struct SiteOptions {
    std::string scenario;
    std::vector<std::string> set;  // "drive.carrier_Hz=8000"
};
void add_site_options(CLI::App& app, SiteOptions& options);
// The scenario's file with every --set carried out. A bare name means a shipped site.
Scenario load(const SiteOptions& options);

// The options of every verb that runs the site.
struct BenchOptions {
    SiteOptions site;
    std::vector<std::string> faults, acts;
    bool anyway = false, dipped = false;
    std::string warm = "cold";  // of the verbs that have --warm
};
void add_bench_options(CLI::App& app, BenchOptions& options);
// Every act is judged by the conduct before it is done, at its time; it must outlive the bench. say_at_once: its
// cautions go to standard error there and then, else the verb prints those of conduct.hazards() before its reading.
// Throws bench::Refused.
bench::Bench make_bench(const BenchOptions& options, bench::Conduct& conduct, bool say_at_once = true);
// --warm: how long the motor has run before, which warms it.
void add_warm(CLI::App& app, BenchOptions& options);
// Warms it so. Throws site::BadInput.
void warm_up(bench::Bench& bench, const std::string& warm);
// "motor: cold, 20 degC: a first start"
std::string warm_line(const bench::Bench& bench, const std::string& warm);
void print_cautions(const std::vector<bench::Hazard>& hazards, std::FILE* to);
// A field test carried out (`read --test`).
int read_test(const BenchOptions& options, const std::string& id, double running_s, bool as_json);
// What was done although it is unsafe: as lines, nothing where there is nothing, and for JSON.
void print_unsafe(const bench::Conduct& conduct, std::FILE* to);
nlohmann::json unsafe_json(const bench::Conduct& conduct);
nlohmann::json hazards_json(const std::vector<bench::Hazard>& hazards);

// A line of progress on standard error: kept up to date where that is a terminal, else a line every quarter of work
// that takes long.
class Progress {
  public:
    explicit Progress(const char* what);
    ~Progress();
    bool operator()(double fraction);
    void done();

  private:
    const char* what_;
    bool on_;
    int shown_ = -1;
    std::chrono::steady_clock::time_point begun_ = std::chrono::steady_clock::now();
};

// While it lives, Ctrl-C asks long work to stop instead of ending the program. One at a time.
class Interruptible {
  public:
    Interruptible();
    ~Interruptible();
    Interruptible(const Interruptible&) = delete;
    Interruptible& operator=(const Interruptible&) = delete;
    bool goes_on() const;

  private:
    void (*before_)(int);
};

// A figure in JSON: null where there is none.
inline nlohmann::json number(double x) { return std::isfinite(x) ? nlohmann::json(x) : nlohmann::json(); }

// An option that may be given several times with one value each, and does not swallow what follows.
CLI::Option* add_repeated(CLI::App& app, const std::string& name, std::vector<std::string>& values,
                          const std::string& type, const std::string& meaning);

}  // namespace sunshaft::cli
