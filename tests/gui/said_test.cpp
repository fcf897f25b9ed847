// What the window says, and where: what must stand in sight does, and each figure says whose it is.
#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::lines_in;
using sunshaft::test::Scripted;

namespace {

// How often these words stand in a picture, or a mark of that name.
long count(const json& look, const std::string& words, const char* what = "texts") {
    const json list = look.value(what, json::array());
    return std::count(list.begin(), list.end(), words);
}
bool begins(const json& look, const std::string& words) {
    const json list = look.value("texts", json::array());
    return std::any_of(list.begin(), list.end(), [&](const json& t) { return t.get<std::string>().find(words) == 0; });
}

}  // namespace

TEST_CASE("what is refused is told at the foot; the caution stands, with one voltage, whatever is refused") {
    Scripted bench{.first = "wait 5\nframes 3\n"};
    (void)bench.lines("probe red -\nprobe black -\nwait 0.5\n" + bench.look("before") + "key n\nframes 3\n" +
                      bench.look("told"));
    const auto looks = lines_in(bench.looks);
    REQUIRE(looks.size() == 2);
    for (const json& look : looks) {
        CHECK(count(look, "Before you touch:") == 1);
        CHECK(begins(look, "Outputs and link are live, up to 419 V."));
    }
    CHECK(count(looks[0], "No display shows anything to note.") == 0);
    CHECK(count(looks[1], "No display shows anything to note.") == 1);
}

TEST_CASE("a touch that is refused asks with a card; nothing is measured before it is allowed, and then it counts") {
    const Scripted bench{.first = "probe red drive.u\nprobe black drive.v\nwait 5\nframes 3\n"};
    const auto lines =
        bench.lines("mode ohm\nframes 3\n" + bench.state() + "click \"leave it\"\nwait 0.5\nframes 3\n" +
                    bench.state() + "mode ohm\nframes 3\nclick \"do it anyway\"\nwait 0.5\nframes 3\n" + bench.state());
    // By keys one gets past it: the question goes on to the next mode, and is gone where nothing is refused.
    const auto keys = bench.lines("mode acdcv\nwait 0.1\nframes 2\nkey m\nframes 3\n" + bench.state() +
                                  "key m\nframes 3\nkey m\nframes 3\nkey m\nwait 0.5\nframes 3\n" + bench.state());
    CHECK(keys.at(0)["targets"].contains("do it anyway"));
    CHECK_FALSE(keys.at(1)["targets"].contains("leave it"));
    CHECK(keys.at(1)["desk"]["meters"][0]["unit"] == "Hz");
    CHECK(keys.at(1)["desk"]["unsafe"] == 0);
    REQUIRE(lines.size() == 3);
    CHECK(lines[0]["targets"].contains("do it anyway"));
    CHECK(lines[0]["desk"]["meters"][0]["unit"] == "V");
    CHECK_FALSE(lines[1]["targets"].contains("leave it"));
    CHECK(lines[1]["desk"]["unsafe"] == 0);
    CHECK(lines[1]["desk"]["meters"][0]["unit"] == "V");
    CHECK_FALSE(lines[2]["targets"].contains("leave it"));
    CHECK(lines[2]["desk"]["unsafe"] == 1);
    CHECK(lines[2]["desk"]["meters"][0]["unit"] == "ohm");
}

TEST_CASE("names of the leads' points lean away from each other, and the ladder's display keeps its minus") {
    Scripted bench{.first = "probe red -\nprobe black -\nmode dcv\nwait 5\ntab Ladder\nfold open\nframes 3\n"};
    std::string script;
    for (const auto& [red, black] : {std::pair{"s1.m3+", "s1.m3-"}, {"s1.m3-", "s1.m3+"}, {"s1.m4-", "s1.m3-"}})
        script += fmt::format("probe red {}\nprobe black {}\nwait 2\nframes 3\n", red, black) +
                  bench.look(fmt::format("{} {}", red, black));
    (void)bench.lines(script);
    CHECK(bench.clashes().empty());
    const auto looks = lines_in(bench.looks);
    REQUIRE(looks.size() == 3);
    for (const json& look : looks) CHECK(count(look, "none") == 2);  // what does not alternate has no frequency
    CHECK(count(looks[0], "minus", "marks") == 0);
    CHECK(count(looks[1], "minus", "marks") == 1);
    CHECK(count(looks[2], "minus", "marks") == 1);
}

TEST_CASE("while the wipe is on, each picture says whose it is, and so does each table beside it") {
    Scripted bench{.first =
                       "probe red drive.u\nprobe black drive.v\nwait 5\nplant lost-phase splice.v 1\nwait 8\n"
                       "hold\nwait 0\nfold open\nkey f10\nframes 3\n"};
    std::string script;
    for (const char* tab : {"Phasors", "Spectrum", "Space vector"})
        script += fmt::format("tab \"{}\"\nframes 4\n", tab) + bench.look(tab);
    script += "key esc\ntab \"Space vector\"\nframes 3\n" + bench.look("off");
    (void)bench.lines(script);
    const auto looks = lines_in(bench.looks);
    REQUIRE(looks.size() == 4);
    CHECK(count(looks[0], "healthy twin") == 2);  // and over one of the circles
    CHECK(count(looks[2], "healthy twin") == 2);  // over one of the squares
    for (const json& look : looks) {
        for (const json& clash : look["clashes"]) {
            INFO(clash.dump());
            CHECK(clash["at"][1] < 660);  // the pairs' sheet lies on the cutaway, but nothing on anything in the strip
        }
        INFO(look["label"].get<std::string>());
        const bool off = look["label"] == "off";
        CHECK(count(look, "grey: healthy") == (off ? 2 : 0));
        CHECK((count(look, "this site") > 1) == !off);  // once on the cutaway's own rule
    }
}

TEST_CASE("an open fuse, a jumper and a shorted array are told by a word beside them, which lies on nothing") {
    for (const char* site : {"hill-orchard", "terrace-pwm", "river-meadow", "stone-fold"}) {
        Scripted bench{.site = site, .first = "wait 3\nhold\n"};
        std::string script;
        for (const char* size : {"1280 720", "1600 1000", "1920 1080"}) {
            script += fmt::format("size {0}\nframes 3\n{1}", size, bench.look(fmt::format("{} {} none", site, size)));
            for (const char* act : {"open fuse.s1", "jumper dry", "short array"})
                script += fmt::format("do {}\nwait 0\nframes 3\n{}", act,
                                      bench.look(fmt::format("{} {} {}", site, size, act)));
            script += "undo\nundo\nundo\nwait 0\n";
        }
        (void)bench.lines(script);
        CHECK(bench.clashes() == "");
        const auto looks = lines_in(bench.looks);
        REQUIRE(looks.size() == 12);
        for (std::size_t n = 0; n < looks.size(); ++n) {
            INFO(looks[n]["label"].get<std::string>());
            CHECK(count(looks[n], "probe: jumper") == (n % 4 >= 2 ? 1 : 0));
            CHECK(count(looks[n], "array: shorted") == (n % 4 >= 3 ? 1 : 0));
            if (n % 4 >= 1) CHECK(count(looks[n], "open") == count(looks[n - n % 4], "open") + 1);
        }
    }
}

TEST_CASE("the phasors name the voltages between lines beside those of the phases") {
    Scripted bench{.first = "wait 5\nhold\nwait 0\nfold open\ntab Phasors\n"};
    std::string script;
    for (const char* size : {"1280 720", "1600 1000"})
        script += fmt::format("size {}\nframes 3\n{}", size, bench.look(size));
    (void)bench.lines(script);
    CHECK(bench.clashes().empty());
    for (const json& look : lines_in(bench.looks))
        for (const char* pair : {"u-v", "v-w", "w-u"}) {
            INFO(look["label"].get<std::string>());
            CHECK(count(look, pair) == 1);
        }
}

TEST_CASE("each site to choose from is drawn small, with the depth of its pump") {
    Scripted bench{.first = "wait 1\n"};
    std::string script;
    for (const char* size : {"1280 720", "1600 1000"})
        script += fmt::format("size {}\nframes 3\nclick \"choose site\"\nframes 4\n{}{}key esc\n", size,
                              bench.look(size), bench.state());
    const auto lines = bench.lines(script);
    for (const json& line : lines) {
        int drawings = 0, sites = 0;
        for (const auto& [name, box] : line["targets"].items())
            drawings += name.rfind("drawing of ", 0) == 0,
                sites += name.rfind("site ", 0) == 0 && name.rfind("site file", 0) != 0;
        CHECK(drawings > 3);
        CHECK(drawings == sites);
    }
    for (const json& look : lines_in(bench.looks)) CHECK(count(look, "pump at 54 m") >= 1);
}

TEST_CASE("the clamp's healthy band stands beside its figure, as the voltmeters' does") {
    Scripted bench{.first = "probe red -\nprobe black -\nprobe around u\nwait 5\nkey e\nwait 2\nframes 3\n"};
    (void)bench.lines(bench.look("healthy"));
    const auto looks = lines_in(bench.looks);
    REQUIRE(looks.size() == 1);
    const json texts = looks[0].value("texts", json::array());
    CHECK(std::any_of(texts.begin(), texts.end(), [](const json& t) {
        const auto words = t.get<std::string>();
        return words.find(" to ") != std::string::npos && words.size() > 2 && words.rfind(" A") == words.size() - 2;
    }));
    CHECK(bench.clashes().empty());
}
