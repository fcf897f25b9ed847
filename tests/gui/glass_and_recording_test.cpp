// The glass that slows time, and a recording laid over the scope, by the hands' own events.
#include <fmt/format.h>

#include <cstdlib>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Scripted;

TEST_CASE("T takes up the glass that shows heat, then the one that slows time, then none") {
    const Scripted bench{.first = "size 1280 720\nwait 6\nframes 3\nmove \"dot drive.v\"\nframes 2\n"};
    const auto lines = bench.lines(bench.state() + "key t\nframes 2\n" + bench.state() + "key t\nframes 2\n" +
                                   bench.state() + bench.look("slowed") + "key t\nframes 2\n" + bench.state());
    REQUIRE(lines.size() == 4);
    const auto held = [&](std::size_t n, const char* glass) { return lines[n]["targets"].contains(glass); };
    for (const auto& [n, heat, time] :
         {std::tuple{0u, false, false}, {1u, true, false}, {2u, false, true}, {3u, false, false}}) {
        INFO(n);
        CHECK(held(n, "heat glass") == heat);
        CHECK(held(n, "time glass") == time);
    }
    // The bench itself runs on at its own pace.
    CHECK(lines[2]["desk"]["rate"] == lines[0]["desk"]["rate"]);
}

TEST_CASE("a recording is laid over the scope by its path, what is none says why, and it is taken away again") {
    const Scripted bench{.site = "bench-rig",
                         .first = "size 1920 1080\nfold open\ntab Scope\nwait 3\nhold\nwait 0\nframes 3\n"};
    const std::string file = (bench.scratch.path() / "field.cfg").string();
    const std::string command =
        fmt::format("{} run bench-rig --for 2 --signals drive.u:drive.v,around.u --rate 20000 --out {} > {} 2>&1",
                    SUNSHAFT_PROGRAM, file, (bench.scratch.path() / "log").string());
    REQUIRE(std::system(command.c_str()) == 0);
    const json first = bench.lines(bench.state()).at(0);
    CHECK(first["desk"]["recording"] == "");
    const std::string open = (first["targets"].contains("recording") ? "" : "click \"more\"\nframes 2\n") +
                             std::string("click \"recording\"\nframes 2\nclick \"recording file\"\nframes 2\n");
    const auto lines = bench.lines(open + "type \"/nowhere/field.csv\"\nframes 2\nkey enter\nframes 2\n" +
                                   bench.state() + "click \"recording file\"\nframes 2\nkey ctrl+a\nframes 2\ntype \"" +
                                   file + "\"\nframes 2\nkey enter\nframes 3\n" + bench.state() + bench.look("laid") +
                                   "click \"take recording away\"\nframes 3\n" + bench.state());
    REQUIRE(lines.size() == 3);
    CHECK(lines[0]["desk"]["recording"] == "");
    CHECK(lines[1]["desk"]["recording"] == "field.cfg");
    CHECK(lines[2]["desk"]["recording"] == "");
    CHECK(bench.clashes() == "");
}
