// Reduced motion: of a site that runs steadily two frames apart in time are the same draw lists.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

// How many corners of the drawing and of what lies over it stand elsewhere, by more than `px`, right and down to there.
int moved(const json& a, const json& b, double px, double right, double bottom) {
    int count = 0, lists = 0;
    for (const auto& [name, corners] : a["lists"].items()) {
        if (name.rfind("##cutaway", 0) != 0 && name != "##over") continue;
        ++lists;
        REQUIRE(b["lists"].contains(name));
        const json& others = b["lists"][name];
        std::vector<std::pair<double, double>> here, there;
        for (const auto& [from, to] : {std::pair{&corners, &here}, {&others, &there}})
            for (std::size_t n = 0; n + 1 < from->size(); n += 2)
                if ((*from)[n] < right && (*from)[n + 1] < bottom) to->emplace_back((*from)[n], (*from)[n + 1]);
        if (here.size() != there.size()) count += 1000;
        else
            for (std::size_t n = 0; n < here.size(); ++n)
                count += std::hypot(here[n].first - there[n].first, here[n].second - there[n].second) > px;
    }
    REQUIRE(lists > 2);
    return count;
}

}  // namespace

TEST_CASE("with reduced motion the drawing of a site that runs steadily is the same at any time; without it moves") {
    struct Part {
        const char* site;
        double right, bottom;
    };
    // The whole of the rig. On the hill the well is still being drawn down: what flows out above ground.
    for (const auto& [site, right, bottom] : {Part{"bench-rig", 1e4, 1e4}, {"hill-orchard", 300.0, 330.0}}) {
        INFO(site);
        const Scripted bench{.site = site, .first = "size 1600 1000\nwait 30\nframes 3\n"};
        std::string script;
        for (const char* which : {"full", "reduced"}) {
            if (std::string(which) == "reduced") script += "key shift+f9\nframes 3\n";
            for (int n = 0; n < 3; ++n)
                script += fmt::format("wait 0.137\nframes 2\ncorners {} {}\n", bench.told, which);
        }
        const auto lines = bench.lines(script);
        REQUIRE(lines.size() == 6);
        CHECK(moved(lines[0], lines[1], 1.5, right, bottom) > 0);
        CHECK(moved(lines[3], lines[4], 1.5, right, bottom) == 0);
        CHECK(moved(lines[4], lines[5], 1.5, right, bottom) == 0);
    }
}

TEST_CASE("with reduced motion the first minute's lead does not sway: rings stand where it would go") {
    const Scripted bench{.first = "size 1600 1000\nwait 1\nkey shift+f9\nframes 2\ncues moving\n"};
    const auto lines = bench.lines("frames 400\nstate " + bench.told + " x\n");
    REQUIRE(lines.size() == 1);
    const json cues = lines[0].value("cues", json::array());
    CHECK(std::find(cues.begin(), cues.end(), "glowing") != cues.end());
    CHECK(std::find(cues.begin(), cues.end(), "moving") == cues.end());
}
