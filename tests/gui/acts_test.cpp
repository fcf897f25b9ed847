// Disconnecting is an act: parts of the drawing taken apart by mouse, the weather and the controls set by hand, the
// physics following, and every act undone again.
#include "window.hpp"

#include <cmath>
#include <functional>

#include "catch_shim.hpp"

using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Scratch;
using sunshaft::test::Window;

namespace {

using So = std::function<bool(const json&)>;

So shows(const char* where, double low, double high) {
    return [=](const json& s) {
        const json& v = s.at(json::json_pointer(where));
        return v.is_number() && v.get<double>() >= low && v.get<double>() <= high;
    };
}
So lamp(const char* name, bool on) {
    return [=](const json& s) { return s["desk"]["lamps"][name] == on; };
}
So list(const char* name, const json& wanted) {
    return [=](const json& s) { return s["desk"][name] == wanted; };
}

void undo(const Window& w, const char* what) {
    w.key("ctrl+z");
    w.until(std::string("undone: ") + what, list(what, json::array()));
}

// On the card that stands before every act; what is refused there is done all the same.
void press_card(const Window& w) {
    const json s = w.until("the card before the act", [](const json& j) {
        return j["targets"].contains("do it") || j["targets"].contains("do it anyway");
    });
    w.click(s["targets"].contains("do it") ? "do it" : "do it anyway");
}

// The demo site with its pump running and the clamp round a conductor.
struct Orchard {
    Display display{};
    Scratch scratch{};
    Window w;
    explicit Orchard(const std::string& around)
        : w(display, scratch, {"hill-orchard", "--size", "1600x1000", "--scale", "100"}) {
        w.until("the pump running", lamp("running", true));
        w.drag("jack clamp", "ring " + around);
    }
};
const char* const amps = "/desk/clamp/value";

void type_into(const Window& w, const std::string& field, const std::string& words) {
    w.click(field);
    w.key("ctrl+a");
    w.type(words);
    w.key("Return");
}

}  // namespace

namespace {

// `all`: every kind of part, else one of each group of acts.
void take_apart(bool all) {
    Orchard orchard("s1");
    Window& w = orchard.w;
    w.until("current in string 1", shows(amps, 4.0, 6.0));
    const auto act = [&](const std::string& part, const std::string& kind, const std::string& at) {
        w.click("part " + part);
        w.click("do " + kind + at);
        press_card(w);
        w.until(kind + " " + at, list("acts", json::array({kind + "@" + at})));
    };

    act("s1.m4-", "open", "s1.m4-");
    w.until("no current in string 1", shows(amps, -0.1, 0.1));
    undo(w, "acts");
    w.until("current in string 1 again", shows(amps, 3.5, 6.5));

    if (all) {
        // The other string carries all of it, as far as it can: 820 W/m2 of its 7.85 A at the point of most power is
        // 6.4 A, of its 8.45 A in short circuit 6.9 A and half a per cent for the heat.
        act("fuse.s2", "open", "fuse.s2");
        w.until("more in string 1", shows(amps, 6.2, 7.1));
        undo(w, "acts");
        w.until("the half again", shows(amps, 3.5, 6.4));
    }

    // A wire off: its line carries nothing.
    w.drag("jack clamp", "ring u");
    w.until("current in u", shows(amps, 7.0, 10.0));
    act("u", "pull", "u");
    w.until("no current in u", shows(amps, 0.0, 0.1));
    undo(w, "acts");

    if (all) {
        // The dry-run circuit pulled off reads as dry; bridged, the drive believes it is wet.
        act("dry", "pull", "dry");
        w.until("the lamp of the dry well", lamp("dry-run hold", true));
        undo(w, "acts");
        act("dry", "jumper", "dry");
        undo(w, "acts");
    }

    act("isolator", "open", "isolator");
    w.until("nothing running", lamp("running", false));
    undo(w, "acts");
    CHECK(w.state()["desk"]["error"] == "");
    REQUIRE(w.close() == 0);
}

}  // namespace

TEST_CASE("parts are taken apart by mouse, the physics follows, and undo puts them back", "[hands]") {
    take_apart(false);
}
TEST_CASE("the same with fuses and guards", "[.soak]") { take_apart(true); }

TEST_CASE(
    "by mouse: pump wires off a running drive are refused on a card; the second press does it and it counts as "
    "unsafe",
    "[hands]") {
    Orchard orchard("u");
    Window& w = orchard.w;
    w.until("current in u", shows(amps, 7.0, 10.0));
    w.click("part u");
    w.click("do pullpump");
    const json s = w.until("the card", [](const json& j) { return j["targets"].contains("do it anyway"); });
    CHECK_FALSE(s["targets"].contains("do it"));
    CHECK(s["desk"]["acts"].empty());
    w.click("leave it");
    w.until("no card", [](const json& j) { return !j["targets"].contains("leave it"); });
    CHECK(w.state()["desk"]["unsafe"] == 0);
    w.click("part u");
    w.click("do pullpump");
    w.click("do it anyway");
    w.until("done and counted",
            [](const json& j) { return j["desk"]["unsafe"] == 1 && j["desk"]["acts"] == json::array({"pull@pump"}); });
    REQUIRE(w.close() == 0);
}

TEST_CASE("sun, heat, ceiling, valve and water are typed, the pump follows, and undo sets them back", "[hands]") {
    Orchard orchard("u");
    Window& w = orchard.w;
    w.until("current in u", shows(amps, 7.5, 9.5));
    w.key("shift+F2");

    type_into(w, "drive.frequency_Hz", "35");
    w.until("the ceiling", list("set", json::array({"drive.frequency_Hz=35"})));
    w.until("less current at 35 Hz", shows(amps, 2.0, 7.0));
    undo(w, "set");

    type_into(w, "rising_main.valve_opening", "0");
    press_card(w);  // as by the wheel
    w.until("the valve", list("acts", json::array({"shut@valve"})));
    undo(w, "acts");
    type_into(w, "rising_main.valve_opening", "0.5");
    w.until("the valve", list("set", json::array({"rising_main.valve_opening=0.5"})));
    undo(w, "set");

    type_into(w, "sun.irradiance_W_m2", "150");
    w.until("the sun", list("set", json::array({"sun.irradiance_W_m2=150"})));
    w.until("hardly any current", shows(amps, 0.0, 6.5));
    undo(w, "set");

    type_into(w, "sun.air_temperature_degC", "41");
    w.until("the heat", list("set", json::array({"sun.air_temperature_degC=41"})));
    undo(w, "set");
    REQUIRE(w.close() == 0);
}

TEST_CASE("a meter's setting changed by hand is undone by a key, and what the drive did stands in its log", "[hands]") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"bench-rig", "--size", "1600x1000", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    const char* figure = "/desk/meters/0/value";
    w.until("a figure", shows(figure, 255.0, 265.0));
    w.until("the other meter's", shows("/desk/meters/1/value", 200.0, 265.0));
    // The press comes right behind the drop, when the meters have nothing to show yet: the key stands where it stood.
    w.drag("jack red", "dot drive.w");
    w.click("edit chain");
    type_into(w, "true-rmsacv.bandwidth_Hz", "0.3");
    w.until("a lower figure", shows(figure, 100.0, 253.0));
    w.key("Escape");
    w.key("ctrl+z");
    w.until("the figure as before", shows(figure, 255.0, 265.0));
    CHECK(w.state()["desk"]["probes"]["red"] == "drive.w");
    w.click("Drive");
    w.until("what the drive did in the log", [](const json& s) {
        for (const auto& line : s["desk"]["log"])
            if (line.get<std::string>().find("running") != std::string::npos) return true;
        return false;
    });
    REQUIRE(w.close() == 0);
}

TEST_CASE("a shortcut pressed right behind the Return of a text field is a shortcut, not typing", "[hands]") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"bench-rig", "--size", "1600x1000", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    w.key("shift+F2");
    w.click("drive.frequency_Hz");
    w.key("ctrl+a");
    w.type("35");
    w.key("--delay 0 Return ctrl+z");  // both wait before the next frame
    w.until("set and undone", [](const json& s) { return s["desk"]["can_redo"] == true && s["desk"]["set"].empty(); });
    // Inside the field the same keys are the field's.
    w.click("drive.frequency_Hz");
    w.type("40");
    w.key("ctrl+z");
    w.key("Escape");
    w.key("Escape");
    w.until("no drawer", [](const json& s) { return !s["targets"].contains("drive.frequency_Hz"); });
    CHECK(w.state()["desk"]["can_redo"] == true);
    REQUIRE(w.close() == 0);
}
