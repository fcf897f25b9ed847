// Every dot can be hit: the demo in a small window with the drawer open, the mouse on each dot in turn. A script moves
// it, by the same events a hand makes; a few of them are hit by a real mouse as well.
#include <fmt/format.h>

#include <cmath>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

constexpr double room = 24.0;  // WCAG 2.2, 2.5.8

double to_nearest(const json& targets, const std::string& name, const std::vector<std::string>& kinds) {
    const auto middle = [](const json& b) {
        return std::pair{b[0].get<double>() + b[2].get<double>() / 2, b[1].get<double>() + b[3].get<double>() / 2};
    };
    const auto [x, y] = middle(targets.at(name));
    double nearest = 1e9;
    for (const auto& [other, box] : targets.items()) {
        if (other == name) continue;
        for (const std::string& kind : kinds)
            if (other.rfind(kind, 0) == 0)
                nearest = std::min(nearest, std::hypot(middle(box).first - x, middle(box).second - y));
    }
    return nearest;
}
bool crowded(const json& targets, const std::string& dot) {
    return to_nearest(targets, "dot " + dot, {"dot ", "ring "}) < room;
}

}  // namespace

TEST_CASE(
    "at 1280 x 720 with the drawer open the red lead is put on every dot of the demo, by itself or through the glass") {
    const Scripted bench{.first =
                             "size 1280 720\nhold\ndrawer \"Weather and controls\"\nteaching on\nwait 0\nframes 3\n"};
    const json all = bench.lines(bench.state()).at(0)["targets"];
    std::vector<std::string> dots;
    for (const auto& [name, box] : all.items())
        if (name.rfind("dot ", 0) == 0) dots.push_back(name.substr(4));
    REQUIRE(dots.size() > 60);
    std::string script;
    for (const std::string& dot : dots) {
        if (dot == "drive.v") script += "probe black drive.w\n";  // where the black one hangs there is no room
        if (dot == "drive.w") script += "probe black drive.v\n";
        // Away first, so that an open glass goes.
        script += fmt::format(
            "move 640 30\nframes 3\nstate {1} away\nmove \"dot {0}\"\nframes 12\nstate {1} over\n"
            "click \"{2}dot {0}\"\nwait 0\nstate {1} on\n",
            dot, bench.told, crowded(all, dot) ? "glass " : "");
    }
    const std::vector<json> lines = bench.lines(script);
    REQUIRE(lines.size() == 3 * dots.size());
    int through_glass = 0;
    for (std::size_t n = 0; n < dots.size(); ++n) {
        INFO(dots[n]);
        const json &away = lines[3 * n]["targets"], &over = lines[3 * n + 1]["targets"];
        CHECK_FALSE(away.contains("glass open"));
        const bool glass = crowded(all, dots[n]);
        CHECK(over.contains("glass open") == glass);
        if (glass) {
            CHECK(to_nearest(over, "glass dot " + dots[n], {"glass dot ", "glass ring "}) >= room);
            ++through_glass;
        }
        CHECK(lines[3 * n + 2]["desk"]["probes"]["red"] == dots[n]);
    }
    CHECK(through_glass > 20);
}

TEST_CASE(
    "by a real mouse: a point nobody can reach says why not, and is reached once that is allowed, as others are") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"hill-orchard", "--size", "1280x720", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    w.key("space");
    w.until("held", [](const json& s) { return s["desk"]["running"] == false; });
    w.click("dot motor.n");
    w.until("why not",
            [](const json& s) { return s["desk"]["error"].get<std::string>().find("motor.n") != std::string::npos; });
    w.key("shift+F2");
    w.until("the drawer", [](const json& s) { return s["targets"].contains("drive.frequency_Hz"); });
    w.wheel_down("drive.frequency_Hz", 40);
    w.until("the setting in sight", [](const json& s) { return s["targets"].contains("teaching points"); });
    w.click("teaching points");
    int through_glass = 0;
    for (const std::string dot : {"motor.n", "s1.m5+", "drive.w", "link-"}) {
        INFO(dot);
        w.rest_on("teaching points");
        const json s = w.until("no glass", [&](const json& j) {
            return !j["targets"].contains("glass open") && j["targets"].contains("dot " + dot);
        });
        std::string target = "dot " + dot;
        if (crowded(s["targets"], dot)) {
            w.rest_on(target);
            target = "glass dot " + dot;
            w.until("a glass over " + dot, [&](const json& j) { return j["targets"].contains(target); });
            ++through_glass;
        }
        w.click(target);
        w.until("the red lead on " + dot, [&](const json& j) { return j["desk"]["probes"]["red"] == dot; });
    }
    CHECK(through_glass > 0);
    REQUIRE(w.close() == 0);
}
