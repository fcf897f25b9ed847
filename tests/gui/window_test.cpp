// As a person would: the window on a real display, a real mouse and keyboard, and the figures compared with the
// headless program's.
#include "window.hpp"

#include <cmath>
#include <map>

#include "catch_shim.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

// Asked once: the program starts the site for every answer.
double figure_said(const std::string& arguments) {
    static std::map<std::string, double> said;
    const auto [at, is_new] = said.try_emplace(arguments);
    if (is_new) at->second = program_says("read hill-orchard " + arguments)["reading"]["value"].get<double>();
    return at->second;
}

// A figure that stands on a face and is within `share` of what the program says (`floor`: or within that much).
auto reads(const json::json_pointer& where, double wanted, double share, double floor = 0.0) {
    return [=](const json& s) {
        const json& value = s.at(where);
        return value.is_number() && std::abs(value.get<double>() - wanted) <= std::max(floor, share * std::abs(wanted));
    };
}
const json::json_pointer meter_1("/desk/meters/0/value"), meter_2("/desk/meters/1/value"), clamp("/desk/clamp/value");

void place_leads(const Window& w, const std::string& around) {
    w.drag("jack red", "dot drive.u");
    w.drag("jack black", "dot drive.v");
    w.drag("jack clamp", "ring " + around);
    w.until("the leads on u and v, the clamp round " + around, [&](const json& s) {
        const json& p = s["desk"]["probes"];
        return p["red"] == "drive.u" && p["black"] == "drive.v" && p["around"] == around;
    });
}

// Opens the drawer, searches, plants by mouse; returns "kind@place=severity".
std::string plant_it(const Window& w, const std::string& search, const std::string& kind, const std::string& place) {
    if (!w.state()["targets"].contains("search")) w.click("Faults");
    w.click("search");
    w.key("ctrl+a");
    w.type(search);
    w.until("the words in the field", [&](const json& s) { return s["targets"].contains("search: " + search); });
    // The first press plants; where there are several places the next one moves it.
    w.click("row " + kind);
    const json planted = w.until(kind + " planted", [](const json& j) { return j["desk"]["faults"].size() == 1; });
    // The new card has pushed the row down: press where its keys have come to rest.
    w.until("the rows at rest", [&](const json& j) { return j["frame"].get<int>() > planted["frame"].get<int>() + 2; });
    if (!place.empty()) w.click(kind + " at " + place);
    const auto there = [&](const json& j) {
        const json& faults = j["desk"]["faults"];
        return faults.size() == 1 && faults[0].get<std::string>().rfind(kind + "@" + place, 0) == 0;
    };
    return w.until(kind + " at " + place, there)["desk"]["faults"][0].get<std::string>();
}

void heal(const Window& w) {
    w.click("heal all");
    w.until("no fault", [](const json& j) { return j["desk"]["faults"].empty(); });
}

}  // namespace

TEST_CASE("leads put on by hand and each first fault planted by mouse read what the headless program reads",
          "[hands]") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"hill-orchard", "--size", "1600x1000", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2 && s["desk"]["t"] > 0.0; });

    place_leads(w, "v");
    w.until("the true-rms figure",
            reads(meter_1, figure_said("--red drive.u --black drive.v --meter true-rms"), 0.005));
    w.until("the average figure", reads(meter_2, figure_said("--red drive.u --black drive.v --meter average"), 0.01));
    w.until("the clamp's figure", reads(clamp, figure_said("--around v"), 0.01));

    // The meter's chain opened and changed on the spot: half a kilohertz of bandwidth costs the square wave its
    // corners.
    const double plain = figure_said("--red drive.u --black drive.v --meter true-rms");
    w.click("edit chain");
    w.click("true-rmsacv.bandwidth_Hz");
    w.key("ctrl+a");
    w.type("0.4");
    w.key("Return");
    w.until("a lower figure",
            [&](const json& s) { return s.at(meter_1).is_number() && s.at(meter_1).get<double>() < 0.98 * plain; });
    w.click("true-rms restore");
    w.until("the true-rms figure again", reads(meter_1, plain, 0.005));
    w.click("edit chain");

    // A bad joint: volts at the drive stay, the clamp tells.
    std::string fault = plant_it(w, "splice", "high-resistance-splice", "v");
    w.until("the clamp with " + fault, reads(clamp, figure_said("--around v --fault " + fault), 0.01));
    w.until("the meter with " + fault,
            reads(meter_1, figure_said("--red drive.u --black drive.v --meter true-rms --fault " + fault), 0.01));
    heal(w);
    w.until("the clamp as before", reads(clamp, figure_said("--around v"), 0.01));

    // A phase lost: nothing flows in it.
    fault = plant_it(w, "lost phase", "lost-phase", "splice.v");
    w.until("no current in v with " + fault, reads(clamp, 0.0, 0.0, 0.02));
    heal(w);
    w.until("current in v again", reads(clamp, figure_said("--around v"), 0.02));

    // Half of the array gone: the drive turns slower, and the tracking keeps it moving by a percent or two.
    fault = plant_it(w, "whole string", "open-string", "s1");
    w.until("the meter with " + fault,
            reads(meter_1, figure_said("--red drive.u --black drive.v --meter true-rms --fault " + fault), 0.02));
    REQUIRE(w.close() == 0);
}

TEST_CASE("resized, in the other theme, undone and redone, closed and taken up again", "[hands]") {
    const Display display;
    const Scratch scratch;
    std::string fault;
    {
        Window w(display, scratch, {"bench-rig", "--size", "1280x720", "--scale", "100"});
        w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
        w.resize(1800, 1100);
        w.until("the new size", [](const json& s) { return s["width"] == 1800 && s["height"] == 1100; });
        REQUIRE_FALSE(w.state()["dark"].get<bool>());
        w.key("F9");
        w.until("the dark theme", [](const json& s) { return s["dark"] == true; });

        place_leads(w, "u");
        fault = plant_it(w, "splice", "high-resistance-splice", "w");
        w.key("Escape");  // leaves the search field
        w.key("Escape");  // closes the drawer
        w.until("no drawer", [](const json& s) { return !s["targets"].contains("search"); });
        // Two steps: planted at the first place, then moved.
        w.key("ctrl+z");
        w.until("moved back", [&](const json& s) {
            return s["desk"]["faults"].size() == 1 && s["desk"]["faults"] != json::array({fault});
        });
        w.key("ctrl+z");
        w.until("undone", [](const json& s) { return s["desk"]["faults"].empty() && s["desk"]["can_redo"] == true; });
        w.key("ctrl+y");
        w.until("planted again", [](const json& s) { return s["desk"]["faults"].size() == 1; });
        w.key("ctrl+y");
        w.until("redone", [&](const json& s) { return s["desk"]["faults"] == json::array({fault}); });
        w.key("space");
        w.until("held", [](const json& s) { return s["desk"]["running"] == false; });
        REQUIRE(w.close() == 0);
    }
    Window w(display, scratch, {"bench-rig"});
    const json s = w.until("the session as it was left", [&](const json& j) {
        return j["desk"]["faults"] == json::array({fault}) && j["frame"] > 2;
    });
    CHECK(s["width"] == 1800);
    CHECK(s["height"] == 1100);
    CHECK(s["dark"] == true);
    CHECK(s["desk"]["running"] == false);
    CHECK(s["desk"]["probes"]["red"] == "drive.u");
    CHECK(s["desk"]["probes"]["around"] == "u");
    REQUIRE(w.close() == 0);
}

TEST_CASE("leads set down by keys alone; a module shaded; an act done with its caution first", "[hands]") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"river-meadow", "--size", "1280x720", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    // R takes up the red lead, R again sets it down at the first test point; the arrow goes on, B and B the black one.
    const auto keyboard_at = [&](const std::string& what) {
        w.until("the keyboard at " + what, [&](const json& s) {
            for (const auto& [name, box] : s["targets"].items())
                if (name.rfind("keyboard at " + what, 0) == 0) return true;
            return false;
        });
    };
    // They hang ready on two terminals of the drive.
    w.until("leads that hang ready", [](const json& s) {
        return s["desk"]["probes"]["red"] == "drive.u" && s["desk"]["probes"]["black"] == "drive.v";
    });
    w.key("r");
    keyboard_at("s1");
    w.key("r");
    const std::string first = w.until("the red lead moved", [](const json& s) {
        return s["desk"]["probes"]["red"] != "drive.u";
    })["desk"]["probes"]["red"];
    w.key("Right");
    w.until("the keyboard elsewhere", [&](const json& s) { return !s["targets"].contains("keyboard at " + first); });
    w.key("b");
    w.until("the black lead in the hand", [](const json& s) { return s["targets"].contains("lead in hand: "); });
    w.key("b");
    const std::string second = w.until("the black lead moved", [](const json& s) {
        return s["desk"]["probes"]["black"] != "drive.v";
    })["desk"]["probes"]["black"];
    CHECK(first != second);
    w.key("c");
    keyboard_at("ring");
    w.key("c");
    w.until("a clamp", [](const json& s) { return s["desk"]["probes"]["around"] != ""; });

    // By mouse: shade on a module is one press, an act two, its caution between them.
    w.key("shift+F2");
    w.click("shade s1.m2");
    w.until("shade", [](const json& s) { return s["desk"]["faults"] == json::array({"shaded-module@s1.m2=0.6"}); });
    w.click("shade s1.m2");
    w.until("light", [](const json& s) { return s["desk"]["faults"].empty(); });
    w.click("part array");
    w.click("do coverarray");
    w.click("do it");
    w.until("the array covered", [](const json& s) { return s["desk"]["acts"] == json::array({"cover@array"}); });
    w.until("no sun for the drive", [](const json& s) { return s["desk"]["lamps"]["running"] == false; });
    REQUIRE(w.close() == 0);
}
