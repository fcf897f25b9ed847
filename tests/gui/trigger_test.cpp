// The scope's trigger set by mouse and keyboard, whatever the size of the window, and undone.
#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

struct Screen {
    int w, h;
};

void set_at(const std::vector<Screen>& sizes) {
    const Display display({"-screen", "0", "3840x2160x24"});
    const Scratch scratch;
    Window w(display, scratch, {"bench-rig", "--size", "1280x720", "--scale", "100"});
    const auto trigger = [&](const std::string& what, const std::string& source, double level, bool rising) {
        w.until(what, [&](const json& s) {
            return s["desk"]["trigger"] == json{{"source", source}, {"level", level}, {"rising", rising}};
        });
    };
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    w.key("F7");  // there is little room: the strip is folded
    w.until("the scope", [](const json& s) { return s["targets"].contains("level handle"); });
    for (const Screen& size : sizes) {
        INFO(size.w << " x " << size.h);
        w.resize(size.w, size.h);
        const json s = w.until("the new size", [&](const json& j) {
            return j["width"] == size.w && j["height"] == size.h &&
                   (j["targets"].contains("trigger") || j["targets"].contains("more"));
        });
        // What the row has no room for stands on the card behind "More".
        if (!s["targets"].contains("trigger")) w.click("more");
        w.click("trigger");
        w.click("u");
        trigger("the current in u as source", "around.u", 0.0, true);
        w.click("trigger level");
        w.key("ctrl+a");
        w.type("2.5");
        w.key("Return");
        trigger("the level typed", "around.u", 2.5, true);
        w.click("falling");
        trigger("the falling edge", "around.u", 2.5, false);
        w.key("Escape");
        w.until("no card", [](const json& j) { return !j["targets"].contains("trigger level"); });
        w.key("ctrl+z");
        trigger("the rising edge again", "around.u", 2.5, true);
        w.key("ctrl+z");
        trigger("the level as before", "around.u", 0.0, true);
        w.key("ctrl+z");
        trigger("the first channel again", "", 0.0, true);
    }
    // By its handle at the edge of the plot; one act, however far it is pulled.
    w.drag("level handle", "cursor A");
    w.until("a level near the top", [](const json& s) { return s["desk"]["trigger"]["level"].get<double>() > 100.0; });
    w.key("ctrl+z");
    trigger("the level as before", "", 0.0, true);
    REQUIRE(w.close() == 0);
}

}  // namespace

TEST_CASE("the trigger's channel, edge and level are set by hand in a small and a large window, and undone") {
    set_at({{1280, 720}, {1920, 1080}});
}

TEST_CASE("the same at every size", "[.soak]") { set_at({{1280, 720}, {1600, 1000}, {1920, 1080}, {3840, 2160}}); }
