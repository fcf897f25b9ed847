// A sealed call-out in the window: the complaint, the way to the account, and nothing on anything at any size.
#include <fmt/format.h>

#include <cstdlib>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Played;
using sunshaft::test::Scratch;

TEST_CASE("a sealed call-out is opened, measured, named and accounted for") {
    const Display display;
    const Scratch scratch;
    const auto told = scratch.path() / "told", looks = scratch.path() / "looks",
               sealed = scratch.path() / "monday.toml";
    const std::string make =
        fmt::format("{} callout new bench-rig --seed 3 --out {} > /dev/null 2>&1", SUNSHAFT_PROGRAM, sealed.string());
    REQUIRE(std::system(make.c_str()) == 0);
    std::string script = "wait 3\nframes 3\n";
    const auto look = [&](const char* what) {
        for (const auto& [w, h] : {std::pair{1280, 720}, {1600, 1000}, {1920, 1080}})
            script +=
                fmt::format("size {} {}\nfold open\nframes 3\ncheck {} \"{} {}\"\n", w, h, looks.string(), what, w);
    };
    script += fmt::format("state {} met\n", told.string());
    look("sealed");
    script += "drawer Faults\nframes 3\nkey k\nframes 3\n";
    script += fmt::format("state {} asked\nshow drawer off\nkey k\n", told.string());
    script +=
        "probe around u\nwait 1\nframes 2\nkey n\nprobe around v\nwait 1\nframes 2\nkey n\ntab Call-out\nframes 2\n";
    script += "click \"search call\"\nframes 2\ntype \"seized\"\nframes 3\nclick \"named seized\"\nframes 2\n";
    script += "click \"that is it\"\nframes 3\nwait 0\nframes 3\n";
    script += fmt::format("state {} said\n", told.string());
    look("account");
    script += fmt::format("click \"back to the bench\"\nframes 3\nstate {} back\n", told.string());
    const Played played(display, scratch, sealed.string(), script);
    INFO(played.words);
    REQUIRE(played.status == 0);
    const std::vector<json> states = sunshaft::test::lines_in(told);
    REQUIRE(states.size() == 4);
    CHECK(states[0]["targets"].contains("search call"));
    CHECK(states[0]["desk"]["faults"].empty());
    CHECK_FALSE(states[1]["targets"].contains("where bore"));  // suspects are closed
    CHECK(states[2]["targets"].contains("back to the bench"));
    CHECK_FALSE(states[3]["targets"].contains("back to the bench"));
    CHECK(states[3]["targets"].contains("call 1"));
    const std::string clashes = sunshaft::test::clashes_in(looks);
    INFO(clashes);
    CHECK(clashes.empty());
}
