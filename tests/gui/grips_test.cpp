// Hands on the drawing: what comes apart follows the pointer, asks before it is done, does nothing by halves; the
// pointer is a hand over all of it.
#include <fmt/format.h>

#include <cmath>
#include <string>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Scripted;

namespace {

Scripted bench_of(const std::string& site = "hill-orchard") {
    return {.site = site, .first = "size 1280 720\nwait 5\nframes 3\n"};
}

struct At {
    double x, y;
};
At middle(const json& box) {
    return {box[0].get<double>() + box[2].get<double>() / 2, box[1].get<double>() + box[3].get<double>() / 2};
}
bool card(const json& line) { return line["targets"].contains("leave it"); }
bool hand(const json& line) {
    for (const auto& cue : line.value("cues", json::array()))
        if (cue == "hand") return true;
    return false;
}

}  // namespace

TEST_CASE("lever, connector, fuse, wire, guard and cover move with the pointer and ask at the point of no return") {
    const Scripted bench = bench_of();
    const json targets = bench.lines(bench.state()).at(0)["targets"];
    struct Pull {
        const char *what, *act;
        double a_little_x, a_little_y, far_x, far_y;  // from where it is taken
    };
    const json& lever = targets["lever"];
    const double wide = 190;  // of the modules there
    const std::vector<Pull> pulls{
        {"lever", "open@isolator", 4, 3, -6, 26},      {"part s1.m4-", "open@s1.m4-", 3, 4, 6, 26},
        {"part fuse.s1", "open@fuse.s1", 3, 4, 8, 24}, {"part u", "pull@u", 2, 6, 4, 30},
        {"part dry", "pull@dry", -6, 2, -30, 4},       {"cover roll", "cover@array", 0.2 * wide, 2, 0.9 * wide, 2}};
    REQUIRE(lever.is_array());
    std::string script;
    for (const Pull& pull : pulls) {
        const At at = middle(targets.at(pull.what));
        const auto way = [&](double x, double y) { return fmt::format("{:.0f} {:.0f}", at.x + x, at.y + y); };
        // There and let go of on the way; then all the way, left alone and, the second time, done.
        script += fmt::format("press \"{}\"\nmove {}\nrelease {}\n", pull.what, way(pull.a_little_x, pull.a_little_y),
                              way(pull.a_little_x, pull.a_little_y));
        script += "key esc\n" + bench.state();
        for (const char* answer : {"leave it", "do it"})
            script += fmt::format("move 640 30\npress \"{}\"\nmove {}\nmove {}\n", pull.what,
                                  way(0.5 * pull.far_x, 0.5 * pull.far_y), way(pull.far_x, pull.far_y)) +
                      bench.state() + fmt::format("release {}\nclick \"{}\"\n", way(pull.far_x, pull.far_y), answer) +
                      bench.state();
        script += "undo\nwait 0\nframes 2\n";
    }
    const std::vector<json> lines = bench.lines(script);
    REQUIRE(lines.size() == 5 * pulls.size());
    for (std::size_t n = 0; n < pulls.size(); ++n) {
        INFO(pulls[n].what);
        const json &little = lines[5 * n], &asks = lines[5 * n + 1], &left = lines[5 * n + 2],
                   &asks_again = lines[5 * n + 3], &done = lines[5 * n + 4];
        CHECK_FALSE(card(little));
        CHECK(little["desk"]["acts"].empty());
        CHECK(card(asks));
        CHECK(asks["desk"]["acts"].empty());
        CHECK_FALSE(card(left));
        CHECK(left["desk"]["acts"].empty());
        CHECK(card(asks_again));
        CHECK(done["desk"]["acts"] == json::array({pulls[n].act}));
    }
}

TEST_CASE("a second supply is started and switched over by hand, its hazards first, and under load it is refused") {
    Scripted bench = bench_of();
    bench.first += "set supply.second generator\nwait 3\nframes 3\n";
    const json targets = bench.lines(bench.state()).at(0)["targets"];
    for (const char* what : {"change-over lever", "part second", "part breaker.second", "dot second+", "dot second-"}) {
        INFO(what);
        REQUIRE(targets.contains(what));
    }
    const std::string over =
        "press \"change-over lever\"\nmove " + fmt::format("{0:.0f} {1:.0f}\nmove {0:.0f} {1:.0f}\n",
                                                           middle(targets["change-over lever"]).x + 26,
                                                           middle(targets["change-over lever"]).y);
    const auto lines = bench.lines(
        over + "release 640 40\n" + bench.state() + "click \"leave it\"\n" +                         // running
        "do stop drive\nwait 2\nframes 2\n" + over + "release 640 40\n" + bench.state() +            // stopped
        "click \"do it\"\nwait 0.2\n" + bench.state() +                                              //
        "click \"part breaker.second\"\nframes 2\nclick \"do close\"\nframes 2\n" + bench.state() +  // its card
        "click \"do it\"\nwait 3\n" + bench.state());
    REQUIRE(lines.size() == 5);
    CHECK(lines[0]["targets"].contains("do it anyway"));
    CHECK(lines[0]["desk"]["acts"].empty());
    CHECK(lines[1]["targets"].contains("do it"));
    CHECK_FALSE(lines[1]["targets"].contains("do it anyway"));
    CHECK(lines[2]["desk"]["acts"] == json::array({"stop@drive", "changeover@second"}));
    CHECK(card(lines[3]));
    CHECK(lines[4]["desk"]["acts"] == json::array({"stop@drive", "changeover@second", "close@second"}));
}

TEST_CASE("the wheel of the wellhead valve is turned by hand, the water follows, and undo turns it back") {
    const Scripted bench = bench_of();
    const At at = middle(bench.lines(bench.state()).at(0)["targets"]["wheel"]);
    const auto point = [&](double x, double y) { return fmt::format("{:.0f} {:.0f}\n", at.x + x, at.y + y); };
    // A quarter of a turn clockwise.
    const std::vector<json> lines =
        bench.lines("press " + point(9, 0) + "move " + point(6, 6) + "move " + point(0, 9) + "release " + point(0, 9) +
                    bench.state() + "wait 1\n" + bench.state() + "undo\n" + bench.state());
    REQUIRE(lines.size() == 3);
    const std::string key = "rising_main.valve_opening=";
    REQUIRE(lines[0]["desk"]["set"].size() == 1);
    const std::string set = lines[0]["desk"]["set"][0];
    REQUIRE(set.rfind(key, 0) == 0);
    CHECK(std::abs(std::stod(set.substr(key.size())) - 0.75) < 0.03);  // places are whole pixels
    CHECK(lines[1]["desk"]["flow_m3_h"].get<double>() < lines[2]["desk"]["flow_m3_h"].get<double>() + 1e-9);
    CHECK(lines[2]["desk"]["set"].empty());
}

TEST_CASE("shutting the wellhead valve by hand asks first, and on a screw pump at work it is refused") {
    // stone-fold lifts with a screw pump; hill-orchard's slows down by itself.
    for (const bool screw : {false, true}) {
        const Scripted bench = bench_of(screw ? "stone-fold" : "hill-orchard");
        const At at = middle(bench.lines(bench.state()).at(0)["targets"]["wheel"]);
        const auto point = [&](double x, double y) { return fmt::format("{:.0f} {:.0f}\n", at.x + x, at.y + y); };
        // A screw pump: a quarter of a turn is too much; the other: all the way round.
        std::string turn = "press " + point(9, 0) + "move " + point(6, 6) + "move " + point(0, 9);
        if (!screw) turn += "move " + point(-9, 0) + "move " + point(0, -9) + "move " + point(8, -2);
        const std::vector<json> lines =
            bench.lines(turn + "release " + point(0, 9) + "frames 2\n" + bench.state() + "click \"do it" +
                        (screw ? " anyway" : "") + "\"\nwait 0.2\n" + bench.state());
        REQUIRE(lines.size() == 2);
        CHECK(lines[0]["desk"]["acts"].empty());
        CHECK(lines[0]["desk"]["set"].empty());
        REQUIRE(lines[0]["targets"].contains("do it anyway") == screw);
        REQUIRE(lines[0]["targets"].contains("do it") == !screw);
        CHECK(lines[1]["desk"]["acts"] == json::array({"shut@valve"}));
    }
}

TEST_CASE("the pointer is a hand over what can be taken, and over nothing else") {
    const Scripted bench = bench_of();
    const json targets = bench.lines(bench.state()).at(0)["targets"];
    const std::vector<std::string> things{"lever",      "cover roll", "wheel",      "sun",        "part u",
                                          "part array", "jack red",   "jack black", "jack clamp", "dot drive.w"};
    std::string script;
    for (const std::string& thing : things) script += fmt::format("move \"{}\"\nframes 2\n", thing) + bench.state();
    const std::vector<json> lines =
        bench.lines(script + "move 640 600\n" + bench.state() + "move 690 300\n" + bench.state());
    REQUIRE(lines.size() == things.size() + 2);
    for (std::size_t n = 0; n < things.size(); ++n) {
        INFO(things[n]);
        CHECK(hand(lines[n]));
    }
    CHECK_FALSE(hand(lines[things.size()]));
    CHECK_FALSE(hand(lines[things.size() + 1]));
}

TEST_CASE("a cloud carried over a module shades it, over another that one, and back in the sky none; one undo each") {
    const Scripted bench = bench_of();
    const json targets = bench.lines(bench.state()).at(0)["targets"];
    REQUIRE(targets.contains("cloud"));
    const auto over = [](const char* module) {
        return fmt::format("press cloud\nmove 400 140\nmove \"module {0}\"\nrelease \"module {0}\"\n", module);
    };
    const std::vector<json> lines =
        bench.lines(over("s1.m3") + bench.state() + over("s2.m5") + bench.state() + "press cloud\nmove 400 140\n" +
                    "release 400 140\n" + bench.state() + "undo\n" + bench.state() + "undo\n" + bench.state() +
                    "undo\n" + bench.state() + "marks off\nframes 2\n" + bench.state());
    REQUIRE(lines.size() == 7);
    const auto faults = [&](std::size_t n) { return lines[n]["desk"]["faults"]; };
    CHECK(faults(0) == json::array({"shaded-module@s1.m3=0.6"}));
    CHECK(faults(1) == json::array({"shaded-module@s2.m5=0.6"}));
    CHECK(faults(2).empty());
    CHECK(faults(3) == json::array({"shaded-module@s2.m5=0.6"}));
    CHECK(faults(4) == json::array({"shaded-module@s1.m3=0.6"}));
    CHECK(faults(5).empty());
    CHECK_FALSE(lines[6]["targets"].contains("cloud"));  // in an exercise it would say what is in the shade
}

TEST_CASE("by keys the cloud goes from module to module and off them, as it does by hand") {
    const Scripted bench = bench_of();
    // C comes to the first ring; the cloud is further on.
    std::string script = "key c\n";
    for (int n = 0; n < 60; ++n) script += "key tab\n" + bench.state();
    int to_cloud = 0;
    const auto on_the_way = bench.lines(script);
    const auto on_cloud = [](const json& line) { return line["targets"].contains("keyboard at cloud"); };
    while (to_cloud < 60 && !on_cloud(on_the_way[static_cast<std::size_t>(to_cloud)])) ++to_cloud;
    REQUIRE(to_cloud < 60);
    script = "key c\n";
    for (int n = 0; n <= to_cloud; ++n) script += "key tab\n";
    // The first module hangs at the right, the second string below the first; the cloud rests right of them all.
    for (const char* key : {"left", "left", "down", "right", "right"})
        script += fmt::format("key {}\nwait 0\nframes 2\n", key) + bench.state();
    const std::vector<json> lines = bench.lines(script + "undo\n" + bench.state());
    REQUIRE(lines.size() == 6);
    const auto faults = [&](std::size_t n) { return lines[n]["desk"]["faults"]; };
    CHECK(faults(0) == json::array({"shaded-module@s1.m1=0.6"}));
    CHECK(faults(1) == json::array({"shaded-module@s1.m2=0.6"}));
    CHECK(faults(2) == json::array({"shaded-module@s2.m2=0.6"}));
    CHECK(faults(3) == json::array({"shaded-module@s2.m1=0.6"}));
    CHECK(faults(4).empty());
    CHECK(faults(5) == json::array({"shaded-module@s2.m1=0.6"}));
    for (const json& line : lines) CHECK(on_cloud(line));
}
