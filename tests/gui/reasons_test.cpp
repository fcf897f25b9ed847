// Every figure in a reason is live: where the mouse or the keyboard is on it, its source lights up, and where they are
// on a stage of the meter, the sentences do that have a figure from there.
#include <fmt/format.h>

#include <algorithm>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Scripted;

namespace {

const char* const kPlaced =
    "wait 3\nprobe red drive.u\nprobe black drive.v\nmeter 1 average\nmeter 2 true-rms-drive\nmode acv\nwait "
    "1\nhold\nwait 0\n";

std::vector<std::string> beginning(const json& line, const std::string& with) {
    std::vector<std::string> names;
    for (const auto& [name, box] : line["targets"].items())
        if (name.rfind(with, 0) == 0) names.push_back(name);
    return names;
}
std::vector<std::string> lit(const json& line, const std::string& what) { return beginning(line, "lit " + what); }

}  // namespace

TEST_CASE("the mouse on a figure lights up where it comes from, on a stage the sentences that speak of it") {
    const Scripted bench{.site = "terrace-pwm", .first = fmt::format("size 1600 1000\n{}frames 3\n", kPlaced)};
    const json start = bench.lines(bench.state()).at(0);
    CHECK(lit(start, "").empty());
    const auto figures = beginning(start, "figure ");
    REQUIRE(figures.size() > 4);
    std::string script;
    for (const std::string& name : figures) script += fmt::format("move \"{}\"\nframes 3\n{}", name, bench.state());
    const auto stages = beginning(start, "stage ");
    REQUIRE(stages.size() > 4);
    for (const std::string& name : stages) script += fmt::format("move \"{}\"\nframes 3\n{}", name, bench.state());
    const auto lines = bench.lines(script);
    REQUIRE(lines.size() == figures.size() + stages.size());
    for (std::size_t n = 0; n < figures.size(); ++n) {
        INFO(figures[n]);
        const std::string name = figures[n].substr(7, figures[n].find(' ', 7) - 7);
        const auto own = lit(lines[n], "figure");
        CHECK(own == std::vector<std::string>{"lit figure " + name});
        CHECK(lit(lines[n], "stage").size() + lit(lines[n], "part").size() > 0);
        if (name == "carrier_Hz") CHECK(lit(lines[n], "part").size() == 1);
        if (name == "sine_form_factor") CHECK(lit(lines[n], "stage").front() == "lit stage detector");
        if (name == "lowpass_Hz") CHECK(lit(lines[n], "stage").front() == "lit stage low-pass");
    }
    std::size_t told = 0;
    for (std::size_t n = 0; n < stages.size(); ++n) {
        INFO(stages[n]);
        const json& line = lines[figures.size() + n];
        CHECK(lit(line, "stage").size() == 1);
        CHECK(lit(line, "sentence").empty() == lit(line, "figure").empty());
        told += lit(line, "sentence").size();
    }
    CHECK(told > 2);
}

TEST_CASE("the mouse on a figure of the wave lights up what it tells of, on the wave its figures") {
    const Scripted bench{.site = "terrace-pwm", .first = fmt::format("size 1600 1000\n{}frames 3\n", kPlaced)};
    const json start = bench.lines(bench.state()).at(0);
    const auto figures = beginning(start, "wave figure ");
    REQUIRE(figures.size() == 5);
    std::string script;
    for (const std::string& name : figures) script += fmt::format("move \"{}\"\nframes 3\n{}", name, bench.state());
    const auto stages = beginning(start, "stage ");
    const auto first = std::ranges::find_if(stages, [](const std::string& s) { return s.ends_with(" Terminals"); });
    REQUIRE(first != stages.end());
    script += fmt::format("move \"{}\"\nframes 3\n{}", *first, bench.state());
    const auto lines = bench.lines(script);
    REQUIRE(lines.size() == figures.size() + 1);
    for (std::size_t n = 0; n < figures.size(); ++n) {
        INFO(figures[n]);
        const std::string name = figures[n].substr(std::string("wave figure ").size());
        CHECK(lit(lines[n], "wave figure") == std::vector<std::string>{"lit wave figure " + name});
        CHECK(lit(lines[n], "stage") == std::vector<std::string>{"lit stage probes"});
        CHECK(lit(lines[n], "part").size() == 1);
        CHECK(lines[n]["targets"].contains("lit wave " + name));
    }
    CHECK(lit(lines.back(), "wave figure").size() == figures.size());
    CHECK(lit(lines.back(), "stage") == std::vector<std::string>{"lit stage probes"});
}

TEST_CASE("the keyboard on a figure lights up the same") {
    const Scripted bench{.site = "hill-orchard",
                         .first = fmt::format("size 1600 1000\n{}move 800 20\nframes 3\n", kPlaced)};
    std::string script;
    constexpr int stops = 200;
    for (int n = 0; n < stops; ++n) script += "key tab\nframes 2\n" + bench.state();
    int figures = 0, stages = 0;
    for (const json& line : bench.lines(script)) {
        const auto own = lit(line, "figure");
        if (own.size() == 1 && line["targets"].contains("hint")) ++figures;
        else if (!lit(line, "stage").empty()) ++stages;
    }
    CHECK(figures > 4);
    CHECK(stages > 4);
}
