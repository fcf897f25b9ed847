// A lead set down by keys: taken up, its point found by part of its name, set down by the same door as by mouse.
#include <fmt/format.h>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

bool in_hand(const json& line, const std::string& typed) { return line["targets"].contains("lead in hand: " + typed); }

}  // namespace

TEST_CASE("letters narrow where the lead in the hand can go, Enter sets it down, Escape lets go, and D opens no day") {
    const Scripted bench{.first = "size 1280 720\nwait 2\nframes 3\n"};
    const std::string state = bench.state();
    const auto lines = bench.lines("key r\n" + state + "key d\ntype \"d\"\n" + state + "type \"rive.w\"\n" + state +
                                   "key enter\n" + state +  // 3: red on drive.w
                                   "key b\ntype \"zz\"\n" + state + "key enter\n" + state + "key backspace\n" +
                                   "key backspace\ntype \"link-\"\n" + state + "key esc\n" + state +  // 7: let go
                                   "key c\ntype \"w\"\nkey enter\n" + state +
                                   // The same key again before any letter: there.
                                   "key r\nkey right\nkey r\n" + state);
    REQUIRE(lines.size() == 10);
    const auto red = [&](std::size_t n) { return lines[n]["desk"]["probes"]["red"].get<std::string>(); };
    const auto black = [&](std::size_t n) { return lines[n]["desk"]["probes"]["black"].get<std::string>(); };
    CHECK(in_hand(lines[0], ""));
    CHECK(red(0) == red(1));
    CHECK(in_hand(lines[1], "d"));
    CHECK(in_hand(lines[2], "drive.w"));
    CHECK(red(2) == "drive.u");  // it lies where it lay till it is set down
    CHECK(red(3) == "drive.w");
    CHECK_FALSE(in_hand(lines[3], "drive.w"));
    CHECK(in_hand(lines[4], "zz"));
    CHECK(in_hand(lines[5], "zz"));  // nothing is called so: nothing is touched
    CHECK(black(5) == "drive.v");
    CHECK(in_hand(lines[6], "link-"));
    CHECK_FALSE(in_hand(lines[7], "link-"));
    CHECK(black(7) == "drive.v");
    CHECK(lines[8]["desk"]["probes"]["around"] == "w");
    CHECK(red(9) != "drive.w");
}

TEST_CASE("what a hand with a mouse is asked about a touch, a lead set down by keys is asked too") {
    // Ohms where volts are: refused, and asked about.
    const Scripted bench{.first = "size 1280 720\nwait 2\nprobe red -\nmode ohm\nframes 3\n"};
    const std::string state = bench.state();
    const auto by_mouse = bench.lines("click \"dot array+\"\n" + state);
    std::filesystem::remove(bench.told);
    const auto by_keys = bench.lines("key r\ntype \"array+\"\nkey enter\n" + state);
    REQUIRE(by_mouse.size() == 1);
    REQUIRE(by_keys.size() == 1);
    CHECK(by_mouse[0]["targets"].contains("leave it"));
    CHECK(by_keys[0]["targets"].contains("leave it"));
    CHECK(by_keys[0]["desk"]["probes"] == by_mouse[0]["desk"]["probes"]);
}

TEST_CASE("what is typed and the points it may mean stand on nothing that is to be read") {
    const Scripted bench{.first = "size 1600 1000\nwait 2\nframes 3\n"};
    std::string script = "key r\nframes 2\n" + bench.look("all");
    for (const char* typed : {"dri", "array", "s1.m4"})
        script += fmt::format("key esc\nkey r\ntype \"{}\"\nframes 2\n", typed) + bench.look(typed);
    (void)bench.lines(script);
    CHECK(bench.clashes() == "");
}
