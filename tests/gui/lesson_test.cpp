// Lessons in the real window: every kind of step stands on nothing at every size, keys alone play a lesson, and a
// lesson is written by hand.
#include <fmt/format.h>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using namespace sunshaft::test;

TEST_CASE("a lesson is played with the keyboard, and no words lie on words in any kind of step") {
    const Display display;
    const Scratch scratch;
    const auto told = scratch.path() / "told", looks = scratch.path() / "looks";
    std::string script = "wait 1\nkey l\nframes 3\n";
    const auto look = [&](const char* what) {
        for (const auto& [w, h] : {std::pair{1280, 720}, {1920, 1080}})
            script += fmt::format("size {} {}\nframes 3\ncheck {} \"{} {}\"\n", w, h, looks.string(), what, w);
    };
    const auto tell = [&](const char* what) { script += fmt::format("state {} {}\n", told.string(), what); };
    const auto seen = [&](const char* lines, const char* what) { script += lines, look(what); };
    seen("", "list");
    seen("lesson one-wave-two-meters 7\nwait 0\nframes 3\n", "leads");
    seen("probe red dc+\nprobe black dc-\nwait 0.4\nframes 3\n", "shown");
    seen("key enter\nwait 0\nframes 3\n", "figure");
    tell("asked");
    script += "probe red drive.u\nframes 2\n";  // refused
    tell("refused");
    seen("type \"0,3k\"\nframes 2\nkey enter\nwait 0\nframes 3\nkey 2\nframes 2\n", "reason");
    script += "key enter\nwait 0\nframes 3\n";
    tell("committed");
    seen("probe red drive.u\nprobe black drive.v\nwait 0.4\nframes 3\n", "explanation");
    seen("key 1\nkey enter\nwait 0.3\nframes 3\n", "reasons");
    tell("open");
    seen("theme dark\nkey f11\nframes 3\n", "projected");
    script += "key f11\nframes 2\nclick \"leave lesson\"\nframes 3\n";
    tell("left");
    const Played played(display, scratch, "bench-rig", script);
    INFO(played.words);
    // A script's act that is refused ends it, and says why.
    CHECK(played.status == 2);
    CHECK(played.words.find("First your figure and your reason") != std::string::npos);
    // The same without what is refused.
    script.erase(script.find("probe red drive.u\nframes 2\n"), std::string("probe red drive.u\nframes 2\n").size());
    std::filesystem::remove(told);
    std::filesystem::remove(looks);
    const Played again(display, scratch, "bench-rig", script);
    INFO(again.words);
    REQUIRE(again.status == 0);
    const auto states = lines_in(told);
    REQUIRE(states.size() == 5);
    CHECK(states[0]["desk"]["lesson"]["locked"] == true);
    CHECK(states[0]["desk"]["probes"]["red"] == "");
    CHECK(states[0]["desk"]["meters"][0]["shown"].is_null());
    CHECK(states[2]["desk"]["lesson"]["locked"] == false);
    CHECK(states[2]["desk"]["lesson"]["lines"].dump().find("expects") == std::string::npos);
    CHECK(states[3]["desk"]["lesson"]["lines"].dump().find("expects") != std::string::npos);
    CHECK_FALSE(states[4]["desk"].contains("lesson"));
    const std::string clashes = clashes_in(looks);
    INFO(clashes);
    CHECK(clashes.empty());
    CHECK(lines_in(looks).size() == 16);
}

TEST_CASE("hands of a class are counted with number keys") {
    const Scripted bench{.site = "bench-rig"};
    // 9, 7 and 4 hands: six presses.
    const auto told = bench.lines(
        "wait 1\nkey l\nlesson the-star-phase 7 class\nwait 0\nframes 3\nkey enter\nwait 0\nframes 3\n"
        "key 9\nkey enter\nkey 7\nkey enter\nkey 4\nframes 2\n" +
        bench.look("hands") +
        "key enter\nwait 0\nframes 3\nprobe red motor.u\nprobe black motor.n\nwait 0.4\nframes 3\nkey 2\nkey enter\n"
        "key 1\nkey 6\nkey enter\nkey 2\nkey enter\nwait 0.4\nframes 3\nsize 1280 720\nframes 3\n" +
        bench.look("spread") + bench.state());
    CHECK(bench.clashes() == "");
    const std::string said = told.at(0)["desk"]["lesson"]["lines"].dump();
    CHECK(said.find("16 of 20, 7 before") != std::string::npos);
}

TEST_CASE("a lesson is written at the bench: a reading noted is a step, and what is wrong is named by line") {
    const Scripted bench{.site = "stone-fold"};
    const auto told = bench.lines(
        "key l\nframes 3\nclick \"write lesson\"\nframes 3\ndo open isolator\ndo pull pump\nmeter 1 average\nmode dcv\n"
        "probe red iso.in+\nprobe black iso.in-\nwait 1\nframes 3\nkey n\nplant leaky-connector s1.m2- 8e6\nwait 1\n"
        "frames 3\nkey n\nframes 3\nclick \"Predicted\"\nframes 3\n" +
        bench.look("writing") +
        "click \"lesson title\"\nframes 2\ntype \"Half of it\"\nframes 2\nclick \"say 1\"\nframes 2\n"
        "type \"The pump stopped on a bright day.\"\nframes 2\nclick \"save lesson\"\nframes 3\n" +
        bench.look("saved") + bench.state());
    CHECK(bench.clashes() == "");
    const json& writing = told.at(0)["desk"]["writing"];
    // It has no aim and no reasons yet.
    CHECK(writing["trouble"].get<std::string>().find("half-of-it.toml:") != std::string::npos);
    CHECK(writing["steps"] == 2);
}

TEST_CASE("a case of one's own in the window: a hint costs, a test is done, and it is said what it is", "[hands]") {
    const Display display;
    const Scratch scratch;
    sunshaft::test::Window w(display, scratch, {"bench-rig", "--size", "1920x1080", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    const auto has = [](const std::string& name) {
        return [name](const json& s) { return s["targets"].contains(name); };
    };
    w.key("l");
    w.until("the list of lessons", has("case 1 2"));
    w.click("case 1 2");
    w.until("the tests at hand", has("case choice 8"));
    w.click("case hint");
    w.click("case choice 1");
    w.until("one test less", [](const json& s) {
        return s["targets"].contains("case choice 7") && !s["targets"].contains("case choice 8");
    });
    w.key("7");  // say what it is
    w.until("what it can be", [](const json& s) {
        return s["targets"].contains("case choice 5") && !s["targets"].contains("case choice 6");
    });
    w.key("1");
    w.until("the end", [](const json& s) { return !s["targets"].contains("case choice 1"); });
    w.click("leave lesson");
    w.until("the list again", has("case 1 2"));
    REQUIRE(w.close() == 0);
}
