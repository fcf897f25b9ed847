// Every dot can be hit: the demo in a small window with the drawer open, a real mouse on each dot in turn.
#include "window.hpp"

#include <fmt/format.h>

#include <cmath>

#include "catch_shim.hpp"

using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Scratch;
using sunshaft::test::Window;

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

}  // namespace

TEST_CASE(
    "at 1280 x 720 with the drawer open the red lead is put on every dot of the demo, by itself or through the glass") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"hill-orchard", "--size", "1280x720", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    w.key("space");
    w.until("held", [](const json& s) { return s["desk"]["running"] == false; });
    // Points nobody can reach say why not, until the setting allows them.
    w.click("dot motor.n");
    w.until("why not",
            [](const json& s) { return s["desk"]["error"].get<std::string>().find("motor.n") != std::string::npos; });
    w.key("shift+F2");
    w.until("the drawer", [](const json& s) { return s["targets"].contains("drive.frequency_Hz"); });
    w.wheel_down("drive.frequency_Hz", 40);
    w.until("the setting in sight", [](const json& s) { return s["targets"].contains("teaching points"); });
    w.click("teaching points");
    const json all = w.until("dots", [](const json& s) { return s["targets"].contains("dot drive.u"); });
    std::vector<std::string> dots;
    for (const auto& [name, box] : all["targets"].items())
        if (name.rfind("dot ", 0) == 0) dots.push_back(name.substr(4));
    REQUIRE(dots.size() > 60);
    int through_glass = 0;
    for (const std::string& dot : dots) {
        INFO(dot);
        // Away, so that an open glass goes.
        w.rest_on("teaching points");
        json s = w.until("no glass", [&](const json& j) {
            return !j["targets"].contains("glass open") && j["targets"].contains("dot " + dot);
        });
        if (s["desk"]["probes"]["black"] == dot) {
            w.click(dot == "drive.w" ? "dot drive.u" : "dot drive.w", 3);
            w.until("the black lead out of the way",
                    [&](const json& j) { return j["desk"]["probes"]["black"] != dot; });
            w.rest_on("teaching points");
            w.until("no glass", [](const json& j) { return !j["targets"].contains("glass open"); });
        }
        std::string target = "dot " + dot;
        if (to_nearest(s["targets"], target, {"dot ", "ring "}) < room) {
            w.rest_on(target);
            target = "glass dot " + dot;
            s = w.until(
                "a glass over " + dot, [&](const json& j) { return j["targets"].contains(target); }, 20.0);
            CHECK(to_nearest(s["targets"], target, {"glass dot ", "glass ring "}) >= room);
            ++through_glass;
        }
        w.click(target);
        w.until(
            "the red lead on " + dot, [&](const json& j) { return j["desk"]["probes"]["red"] == dot; }, 20.0);
    }
    CHECK(through_glass > 20);
    REQUIRE(w.close() == 0);
}
