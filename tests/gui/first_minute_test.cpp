// Who has never seen the window finds his way by what he sees: a player that knows no names, only what moves, what
// glows and where the pointer is a hand (gui/shell/cue_seeker.hpp).
#include <fmt/format.h>

#include <cmath>
#include <fstream>
#include <map>
#include <vector>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

struct Look {
    int w, h, percent;
    const char* theme;
};

// Takes what moves, lets go of it; presses three times twice what glows. A second of the site's time after each.
std::string first_minute(const std::string& told, const Look& look, const std::string& how) {
    const std::string at = fmt::format("{}x{} {}", look.w, look.h, look.theme);
    std::string script = fmt::format(
        "theme {}\nscale {}\nsize {} {}\nprobe black drive.v\nwait 1\ncues off\nframes 3\ncues {}\n"
        "check {} \"{} before\"\ncarry moving\nframes 2\nwait 1\ncheck {} \"{} carried\"\nlet go\nframes 4\nwait 1\n"
        "check {} \"{} released\"\n",
        look.theme, look.percent, look.w, look.h, how, told, at, told, at, told, at);
    for (int n = 1; n <= 3; ++n)
        for (const char* what : {"broken", "whole"})
            script += fmt::format("press glowing {}\nframes 2\nwait 1\ncheck {} \"{} {} {}\"\n", n, told, at, what, n);
    return script;
}

struct Told {
    double volts, flow, volts_rms, amps_rms;
};
Told told_by(const json& line) {
    const json& d = line["desk"];
    const json& rms = d["rms"];
    REQUIRE(d["meters"][0]["value"].is_number());
    REQUIRE(rms.contains("drive.u:drive.w"));
    return {d["meters"][0]["value"].get<double>(), d["flow_m3_h"].get<double>(), rms["drive.u:drive.w"].get<double>(),
            rms["around.u"].get<double>()};
}
double apart(double a, double b) { return std::abs(a - b) / std::abs(b); }

void by_cues_alone(const std::vector<Look>& looks) {
    const Display display;
    const Scratch scratch;
    const std::string told = (scratch.path() / "told").string();
    std::string script = "wait 6\n";
    for (const Look& look : looks) script += first_minute(told, look, "moving");
    const Played played(display, scratch, "hill-orchard", script);
    INFO(played.words);
    REQUIRE(played.status == 0);
    std::map<std::string, json> lines;
    std::ifstream in(told);
    for (std::string line; std::getline(in, line);) {
        json j = json::parse(line);
        INFO(j["label"] << " " << j["clashes"].dump());
        const std::string label = j["label"];
        // Under the hand stands the point's name.
        if (label.find("carried") == std::string::npos && label.find("released") == std::string::npos)
            CHECK(j["clashes"].empty());
        lines[label] = std::move(j);
    }
    REQUIRE(lines.size() == 9 * looks.size());
    for (const Look& look : looks) {
        const auto at = [&](const std::string& what) -> const json& {
            return lines.at(fmt::format("{}x{} {} {}", look.w, look.h, look.theme, what));
        };
        INFO(look.w << " " << look.theme);
        // Water runs and two displays disagree before anybody has touched anything.
        const json& before = at("before")["desk"];
        CHECK(before["flow_m3_h"].get<double>() > 5.0);
        CHECK(before["probes"]["black"] == "drive.v");
        CHECK(apart(before["meters"][0]["value"], before["meters"][1]["value"]) > 0.05);
        // The reading follows before the hand lets go.
        CHECK(at("carried")["desk"]["probes"]["black"] == "drive.w");
        CHECK(at("carried")["desk"]["meters"][0]["value"].is_number());
        CHECK(at("released")["desk"]["probes"]["black"] == "drive.w");
        const Told healthy = told_by(at("released"));
        for (int n = 1; n <= 3; ++n) {
            INFO("part " << n);
            const json& broken = at(fmt::format("broken {}", n));
            const json& whole = at(fmt::format("whole {}", n));
            CHECK(broken["desk"]["faults"].size() == 1);
            const Told hurt = told_by(broken), well = told_by(whole);
            // A display of three and a half digits moves by much more than its last one.
            CHECK(apart(hurt.volts, healthy.volts) > 0.015);
            CHECK(apart(hurt.flow, healthy.flow) > 0.015);
            CHECK(apart(hurt.volts_rms, healthy.volts_rms) > 0.01);
            CHECK(apart(hurt.amps_rms, healthy.amps_rms) > 0.01);
            CHECK(whole["desk"]["faults"].empty());
            CHECK(apart(well.volts, healthy.volts) < 0.5 * apart(hurt.volts, healthy.volts));
            CHECK(apart(well.flow, healthy.flow) < 0.5 * apart(hurt.flow, healthy.flow));
        }
    }
}

}  // namespace

TEST_CASE("by its cues alone the bench is read, broken and made whole, in a small window and a large one") {
    by_cues_alone({{1280, 720, 100, "light"}, {1920, 1080, 100, "dark"}});
}

TEST_CASE("by its cues alone the bench is read, broken and made whole, at every size and in both themes", "[.soak]") {
    std::vector<Look> looks;
    for (const char* theme : {"light", "dark"})
        for (const auto& [w, h, percent] :
             {std::tuple{1280, 720, 100}, {1600, 1000, 100}, {1920, 1080, 100}, {3840, 2160, 200}})
            looks.push_back({w, h, percent, theme});
    by_cues_alone(looks);
}

TEST_CASE("without its cues nothing is found, and where nothing may move they stand still") {
    const Display display;
    const Scratch scratch;
    const Played off(display, scratch, "hill-orchard", "wait 0.5\ncues off\ncarry moving\n");
    CHECK(off.status == 2);
    CHECK(off.words.find("nothing moves") != std::string::npos);
    const Played dark(display, scratch, "hill-orchard", "wait 0.5\ncues off\npress glowing 1\n");
    CHECK(dark.status == 2);
    CHECK(dark.words.find("glows") != std::string::npos);
    const Played still(display, scratch, "hill-orchard", "wait 0.5\ncues still\npress glowing 2\ncarry moving\n");
    CHECK(still.status == 2);
    CHECK(still.words.find("line 4: nothing moves") != std::string::npos);
    // In an exercise nothing may be given away by what can be broken.
    const Played hidden(display, scratch, "hill-orchard",
                        "wait 0.5\ncues moving\nmarks off\nprobe black drive.w\nframes 3\npress glowing 1\n");
    CHECK(hidden.status == 2);
}
