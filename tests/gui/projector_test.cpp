// The projector's picture from the back row: reduced to a quarter, its displays are still read, by a reader that knows
// nothing of how they were drawn.
#include "picture.hpp"

#include <fmt/format.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "catch_shim.hpp"

using nlohmann::json;
using namespace sunshaft::test;

namespace {

// "-250.7 V" is "-250.7"; letters as segments show them.
std::string figures(const std::string& shown) {
    std::string out = shown.substr(0, shown.find(' '));
    for (char& c : out) c = c == 'O' ? '0' : c;
    return out;
}

std::vector<std::string> lines_after(const std::string& said, const std::string& start) {
    std::vector<std::string> out;
    for (std::size_t at = said.find(start); at != std::string::npos; at = said.find(start, at + 1)) {
        const std::size_t from = at + start.size();
        out.push_back(said.substr(from, said.find('\n', from) - from));
    }
    return out;
}

}  // namespace

TEST_CASE("reduced to 320 x 180 every display of the projector is recognised, in both themes") {
    const Display display;
    const Scratch scratch;
    const auto state = scratch.path() / "state.json";
    struct Look {
        std::string site, probes, mode;
    };
    const std::vector<Look> looks{{"hill-orchard", "probe red drive.u\nprobe black drive.v\n", "acv"},
                                  {"hill-orchard", "probe red link-\nprobe black link+\n", "dcv"},
                                  {"hill-orchard", "probe red drive.u\nprobe black drive.v\n", "hz"},
                                  {"bench-rig", "probe red drive.u\nprobe black drive.w\n", "acv"}};
    int recognised = 0;
    for (const Look& look : looks) {
        std::string script =
            fmt::format("wait 8\n{}mode {}\nwait 2.5\nhold\nkey f11\nframes 3\n", look.probes, look.mode);
        for (const char* theme : {"light", "dark"})
            script += fmt::format("theme {}\nframes 3\nsnapshot {}\n", theme,
                                  (scratch.path() / (std::string(theme) + ".png")).string());
        const auto words = scratch.path() / "words";
        std::filesystem::remove(words);
        script += fmt::format("check {} projector\ntell\nframes 12\nquit\n", words.string());
        const std::string said =
            play(display, scratch, fmt::format("{} --size 1280x720 --scale 100 --state {}", look.site, state.string()),
                 script);
        const std::vector<std::string> shown{lines_after(said, "meter 1: ").at(0),
                                             lines_after(said, "meter 2: ").at(0)};
        std::ifstream counted(words);
        std::string line;
        REQUIRE(std::getline(counted, line));
        INFO(line);
        CHECK(json::parse(line).at("said").get<int>() <= 40);
        CHECK(json::parse(line).at("said").get<int>() >= 5);
        CHECK(json::parse(line).at("clashes").empty());
        json told;
        std::ifstream(state) >> told;
        for (const char* theme : {"light", "dark"}) {
            const Grey full = grey(scratch.path() / (std::string(theme) + ".png"));
            REQUIRE(full.width == 1280);
            REQUIRE(full.height == 720);
            const Grey small = reduced(full, 320, 180);
            for (std::size_t n = 0; n < 2; ++n) {
                if (shown[n] == "-") continue;
                const auto& box = told["targets"].at(fmt::format("projector display {}", n + 1));
                const Part part{box[0].get<int>(), box[1].get<int>(), box[2].get<int>(), box[3].get<int>()};
                INFO(look.site << ", " << look.mode << ", " << theme << ", display " << n + 1 << " shows " << shown[n]);
                const Figures far = read_segments(small, {part.x / 4, part.y / 4, part.w / 4, part.h / 4});
                CHECK(far.shown == figures(shown[n]));
                recognised += far.shown == figures(shown[n]);
                CHECK(read_segments(full, part).digit_height >= 120);
            }
        }
    }
    CHECK(recognised >= 14);
}

TEST_CASE("the reader of segments is not told what to read: another figure, a segment less, and it says so") {
    // A display drawn here: ground 0.1, unlit 0.15, lit 0.9; one cell of 12 x 24 with bars 3 thick.
    const auto drawn = [](unsigned mask) {
        Grey g{40, 40, std::vector<double>(1600, 0.1)};
        const int bars[7][4] = {{14, 8, 12, 3},  {23, 8, 3, 12}, {23, 20, 3, 12}, {14, 29, 12, 3},
                                {14, 20, 3, 12}, {14, 8, 3, 12}, {14, 18, 12, 3}};
        for (int pass = 0; pass < 2; ++pass)
            for (int k = 0; k < 7; ++k)
                for (int y = 0; y < bars[k][3]; ++y)
                    for (int x = 0; x < bars[k][2]; ++x)
                        if (pass == 0 || (mask >> k & 1U))
                            g.at[static_cast<std::size_t>((bars[k][1] + y) * 40 + bars[k][0] + x)] = pass ? 0.9 : 0.15;
        return g;
    };
    CHECK(read_segments(drawn(0x7F), {0, 0, 40, 40}).shown == "8");
    CHECK(read_segments(drawn(0x5B), {0, 0, 40, 40}).shown == "2");
    CHECK(read_segments(drawn(0x06), {0, 0, 40, 40}).shown == "1");
    CHECK(read_segments(drawn(0x12), {0, 0, 40, 40}).shown == "?");
    CHECK(read_segments(drawn(0x00), {0, 0, 40, 40}).shown.empty());
}

TEST_CASE(
    "by keyboard: F11 brings the projector, F3, F4 and F5 take displays, chain and site off and on, Escape leads "
    "back") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"bench-rig", "--size", "1280x720", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    const auto shows = [&](const char* part, bool there) {
        w.until(fmt::format("{} {}", part, there ? "on show" : "off"),
                [&](const json& s) { return s["targets"].contains(part) == there; });
    };
    w.key("F11");
    shows("projector chain", true);
    shows("projector site", true);
    shows("projector display 1", true);
    shows("jack red", false);
    w.key("F4");
    shows("projector chain", false);
    w.key("F4");
    shows("projector chain", true);
    w.key("F5");
    shows("projector site", false);
    w.key("F5");
    shows("projector site", true);
    w.key("F3");
    shows("projector display 1", false);
    w.key("F3");
    shows("projector display 1", true);
    // The leads move from terminal to terminal there too, and the mode follows its key.
    w.click("projector drive.w");
    w.until("the red lead on w", [](const json& s) { return s["desk"]["probes"]["red"] == "drive.w"; });
    w.key("Escape");
    shows("projector chain", false);
    shows("jack red", true);
    REQUIRE(w.close() == 0);
}
