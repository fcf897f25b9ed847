// Nothing stands on anything: in every site, at every size, with drawer and without, in every view of the strip no
// words lie on words, on a test point, a ring, a fault's mark, the sun or the tank's float, none are hidden, cut off or
// cut short, and a card with a caution is covered by nothing.
#include <fmt/format.h>

#include <cstdlib>
#include <fstream>
#include <vector>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Scratch;
using sunshaft::test::Scripted;

namespace {

struct Size {
    int w, h, percent;
};
const std::vector<Size> few_sizes{{1280, 720, 100}, {1600, 1000, 100}};
const std::vector<Size> all_sizes{{1280, 720, 100}, {1600, 1000, 100}, {1920, 1080, 100}, {3840, 2160, 200}};

std::string look_everywhere(const std::string& file, const std::string& state, const std::vector<Size>& sizes) {
    std::string script;
    for (const Size& size : sizes) {
        const auto check = [&](const std::string& what) {
            script += fmt::format("check {} \"{} {}x{} {}\"\n", file, state, size.w, size.h, what);
        };
        script += fmt::format("scale {}\nsize {} {}\nfold open\nshow split off\n", size.percent, size.w, size.h);
        for (const char* drawer : {"", "Faults", "Weather and controls"}) {
            script += *drawer ? fmt::format("drawer \"{}\"\n", drawer) : "show drawer off\n";
            for (const char* tab : {"Scope", "Spectrum", "Phasors", "Space vector", "Curves", "Day", "Drive",
                                    "Inside the drive", "Ladder"}) {
                if (*drawer && std::string(tab) != "Scope") break;  // the strip stands under the drawer, not beside it
                script += fmt::format("tab \"{}\"\n", tab);
                check(fmt::format("{} {}", tab, drawer));
            }
        }
        // Each where there is half the room; the strip's other half keeps the last chosen.
        for (const auto& [lines, name] : {std::pair{"show drawer off\ntab Scope\nshow split on\n", "split"},
                                          {"tab Ladder\n", "ladder in half"},
                                          {"tab \"Inside the drive\"\n", "inside the drive in half"},
                                          {"tab Day\n", "day in half"},
                                          {"show split off\nfold fit\n", "fit"}}) {
            script += lines;
            check(name);
        }
    }
    return script;
}

struct Looked {
    int states = 0, words = 0;
    std::string clashes;
};
Looked play(const std::string& site, const std::string& script, const Scratch& scratch, const Display& display,
            const std::filesystem::path& told) {
    const sunshaft::test::Played played(display, scratch, site, script);
    INFO(played.words);
    REQUIRE(played.status == 0);
    Looked looked;
    std::ifstream in(told);
    for (std::string line; std::getline(in, line);) {
        const json j = json::parse(line);
        ++looked.states;
        looked.words += j["words"].get<int>();
        for (const json& clash : j["clashes"])
            looked.clashes +=
                fmt::format("{} {}: '{}' under '{}' at {}\n", site, j["label"].get<std::string>(),
                            clash["what"].get<std::string>(), clash["over"].get<std::string>(), clash["at"].dump());
    }
    return looked;
}

// Plays it: as many looks as wanted, and nothing on anything in any of them.
void play_clean(const std::string& site, const std::string& script, const Scratch& scratch, const Display& display,
                const std::filesystem::path& told, int states, int words_each = 0) {
    const Looked looked = play(site, script, scratch, display, told);
    CHECK(looked.states == states);
    CHECK(looked.words >= words_each * looked.states);
    INFO(looked.clashes);
    CHECK(looked.clashes.empty());
}

void no_words_on_words(const std::vector<std::string>& sites, const std::vector<Size>& sizes) {
    const Display display;
    for (const std::string& site : sites) {
        const Scratch scratch;
        const auto told = scratch.path() / "told";
        const auto look = [&](const char* state) { return look_everywhere(told.string(), state, sizes); };
        std::string script =
            "wait 3\nprobe red drive.u\nprobe black drive.v\nprobe around v\n"
            "channels drive.u:drive.v around.u around.v around.w\nwait 1\n" +
            look("healthy");
        if (site != "bench-rig") script += "plant open-string s1 1\n";
        script += "plant high-resistance-splice v 2.4\nmeter 1 moving-iron\nwait 1\n" + look("faulty");
        script += "do open isolator\ndo pull pump\nwait 1\ntheme dark\n" + look("disconnected");
        play_clean(site, script, scratch, display, told, 3 * static_cast<int>(sizes.size()) * 16, 100);
    }
}

}  // namespace

TEST_CASE("the sheet of keys is as wide as its words, in both languages") {
    const Display display;
    const Scratch scratch;
    const auto told = scratch.path() / "told";
    std::string script = "wait 1\nkey f1\nframes 3\n";
    for (const char* language : {"en", "es"})
        for (const Size& size : few_sizes)
            script += fmt::format("language {}\nsize {} {}\nframes 3\ncheck {} \"{} {}\"\n", language, size.w, size.h,
                                  told.string(), language, size.w);
    const Looked looked = play("hill-orchard", script, scratch, display, told);
    CHECK(looked.states == 4);
    std::string cut;
    for (std::size_t from = 0, end = 0; (end = looked.clashes.find('\n', from)) != std::string::npos; from = end + 1)
        if (const std::string line = looked.clashes.substr(from, end - from); line.find("cut off") != std::string::npos)
            cut += line + "\n";
    INFO(cut);
    CHECK(cut.empty());
}

TEST_CASE("no words on words or marks, none hidden or cut off, in the first site's every view") {
    no_words_on_words({"hill-orchard"}, few_sizes);
}

TEST_CASE("the same in Spanish") {
    setenv("LANGUAGE", "es", 1);
    no_words_on_words({"hill-orchard"}, {{1280, 720, 100}});
    unsetenv("LANGUAGE");
}

TEST_CASE("the same of a small site and of a long string in a large window: nothing on the sun, nothing on the float") {
    // In the small one the sun stands close to the window's keys, and to the strings' figures.
    no_words_on_words({"river-meadow", "terrace-pwm"}, {{1920, 1080, 100}, {1280, 720, 100}});
}

TEST_CASE("no words on words or marks, none hidden or cut off, in every site, view and size", "[.soak]") {
    no_words_on_words({"hill-orchard", "terrace-pwm", "stone-fold", "river-meadow", "bench-rig"}, all_sizes);
}

TEST_CASE("a day's strip and the year's calendar: nothing on anything with a fault, by the clock, under clouds") {
    const Scripted bench;
    std::string script = "wait 1\ntab Day\nfold open\nshow cutaway off\nplant high-resistance-splice v 4\nwait 0\n";
    int states = 0;
    for (const Size& size : few_sizes) {
        script += fmt::format("size {} {}\nday 2026-06-21 changing\nhour 6\nwait 0\nframes 2\n", size.w, size.h);
        for (const char* hour : {"6", "10.5", "13.25", "18"}) {
            script += fmt::format("hour {}\nwait 0\ncheck {} \"{} {}\"\n", hour, bench.told, size.w, hour);
            ++states;
        }
        script += fmt::format(
            "set sun.irradiance_W_m2 333\nwait 0\ncheck {0} \"{1} by hand\"\nclick \"year\"\n"
            "frames 2\ncheck {0} \"{1} year\"\nheal all\nframes 2\ncheck {0} \"{1} year, "
            "healthy\"\nclick \"year\"\nplant high-resistance-splice v 4\nwait 0\n",
            bench.told, size.w);
        states += 3;
    }
    play_clean("hill-orchard", script, bench.scratch, bench.display, bench.told, states);
}

TEST_CASE("a card with a caution lies over leads, clamp and all else, and no hover text on it") {
    const Scripted bench;
    std::string script = "wait 1\nprobe red drive.u\nprobe black drive.v\nprobe around v\nwait 1\nframes 3\n";
    int cards = 0;
    for (const char* part : {"part isolator", "part u", "part dry", "part array", "part s1.m4-"}) {
        // The mouse rests on its first key: long enough for a hover text, were there one to be shown there.
        script +=
            fmt::format("click \"{}\"\ncheck {} \"{}\"\nmove \"do\"\nframes 60\ncheck {} \"{}, hovered\"\nkey esc\n",
                        part, bench.told, part, bench.told, part);
        cards += 2;
    }
    play_clean("hill-orchard", script, bench.scratch, bench.display, bench.told, cards);
}

TEST_CASE("a fault's hover text leaves the keys to be pressed next, and the cautions, in sight") {
    const Display display;
    const Scratch scratch;
    sunshaft::test::Window w(display, scratch, {"hill-orchard", "--size", "1600x1000", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    w.click("Faults");
    w.click("search");
    w.type("lost phase");
    w.until("the words in the field", [](const json& s) { return s["targets"].contains("search: lost phase"); });
    // The first press plants it, and its card pushes the row down: the mouse follows.
    w.click("row lost-phase");
    w.until("the fault's card", [](const json& j) {
        for (const auto& [name, box] : j["targets"].items())
            if (name.rfind("heal lost-phase", 0) == 0) return true;
        return false;
    });
    w.rest_on("row lost-phase");
    const json s = w.until("its places and its hover text", [](const json& j) {
        return j["targets"].contains("hint") && j["targets"].contains("lost-phase at splice.v");
    });
    const auto box = [&](const std::string& name) { return s["targets"][name].get<std::vector<int>>(); };
    const auto hint = box("hint");
    for (const auto& [name, at] : s["targets"].items()) {
        if (name.rfind("lost-phase at ", 0) != 0 && name != "cautions") continue;
        const auto key = at.get<std::vector<int>>();
        INFO(name);
        CHECK_FALSE((hint[0] < key[0] + key[2] && key[0] < hint[0] + hint[2] && hint[1] < key[1] + key[3] &&
                     key[1] < hint[1] + hint[3]));
    }
    REQUIRE(w.close() == 0);
}
