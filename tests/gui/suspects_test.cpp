// The suspects beside the meters: what is noted is weighed, bars and cards follow, the next test lights its points, an
// outcome under the mouse shows what it would leave; nothing stands on anything at any size.
#include <fmt/format.h>

#include <set>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

TEST_CASE("readings noted in the window make suspects, and the fault that is planted is not told") {
    const Scripted bench{.site = "bench-rig"};  // a catalogue that is quick to try
    std::string script = "wait 1\nplant high-resistance-splice v 4\nwait 2\n";
    for (const char* line : {"u", "v", "w"}) script += fmt::format("probe around {}\nwait 1\nframes 2\nkey n\n", line);
    script += "frames 2\nkey k\ntab \"Next test\"\nframes 2\nwait 0\nframes 3\n";
    script += fmt::format("state {} weighed\n", bench.told);
    script += "move \"outcome 1\"\nframes 4\n";
    script += fmt::format("state {} outcome\nclick \"where bore\"\nframes 3\nstate {} bore\n", bench.told, bench.told);
    script += "click \"where waiting\"\nframes 3\nclick \"where waiting\"\nframes 2\n";
    for (const auto& [w, h] : {std::pair{1280, 720}, {1600, 1000}, {1920, 1080}}) {
        script += fmt::format("size {} {}\nfold open\n", w, h);
        for (const char* tab : {"Next test", "Notebook", "Scope"})
            script += fmt::format("tab \"{}\"\nframes 3\ncheck {} \"{} {}\"\n", tab, bench.looks, tab, w);
    }
    // Typed as people say it: one reading more is weighed.
    script += "tab Notebook\nframes 2\nclick \"typed reading\"\nframes 2\ntype \"about 9\"\nkey enter\nframes 3\n";
    script +=
        fmt::format("wait 0\nframes 2\nstate {} typed\nkey k\nframes 2\nstate {} closed\n", bench.told, bench.told);
    const auto states = bench.lines(script);
    REQUIRE(states.size() == 5);
    const json first = states[0]["desk"]["suspects"];
    REQUIRE_FALSE(first.empty());
    double sum = 0.0, in_v = 0.0;
    for (const json& who : first) {
        sum += who["probability"].get<double>();
        const std::string place = who["place"];
        if (!place.empty() && place.back() == 'v') in_v += who["probability"].get<double>();
    }
    CHECK(std::abs(sum - 1.0) < 1e-9);
    CHECK(in_v > 0.6);  // line v, wherever in it
    CHECK(states[0]["targets"].contains("where bore"));
    CHECK(states[0]["targets"].contains("outcome 1"));
    CHECK_FALSE(states[4]["targets"].contains("where bore"));
    CHECK(states[3]["desk"]["suspects"] != first);
    CHECK(bench.clashes() == "");
}
