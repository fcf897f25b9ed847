// Where the keyboard is always shows: from stop to stop, into the card that opens, and back to where it was.
#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Played;
using sunshaft::test::Scratch;

namespace {

std::vector<json> lines_of(const std::string& told, const std::string& script, const Scratch& scratch) {
    const Display display;
    const Played played(display, scratch, "hill-orchard", script);
    INFO(played.words);
    REQUIRE(played.status == 0);
    return sunshaft::test::lines_in(told);
}
bool shows(const json& line) {
    const json cues = line.value("cues", json::array());
    return std::find(cues.begin(), cues.end(), "focus") != cues.end();
}

}  // namespace

TEST_CASE("from stop to stop round the window, with a drawer and without, the keyboard's mark is in sight") {
    const Scratch scratch;
    const std::string told = (scratch.path() / "told").string();
    std::string script = "wait 1\nsize 1280 720\nframes 3\n";
    // A whole round; then as far as a drawer's first rows.
    constexpr int round = 200, begin = 45;
    for (const auto& [drawer, stops] : {std::pair{"show drawer off", round}, {"drawer Faults", begin}}) {
        script += fmt::format("{}\nframes 3\n", drawer);
        for (int n = 0; n < stops; ++n) script += fmt::format("key tab\nstate {} \"{} {}\"\n", told, drawer, n);
    }
    const auto lines = lines_of(told, script, scratch);
    REQUIRE(lines.size() == round + begin);
    for (const json& line : lines) {
        INFO(line["label"]);
        CHECK(shows(line));
    }
}

TEST_CASE("by keys alone: a part's card opens with the keyboard in it, the act's card after it, and then back") {
    const Scratch scratch;
    const std::string told = (scratch.path() / "told").string();
    // C comes to the first ring; the parts follow the rings.
    std::string script = "wait 1\nsize 1280 720\nframes 3\nkey c\n";
    const std::string state = fmt::format("wait 0\nstate {} x\n", told);
    for (int n = 0; n < 40; ++n) script += "key tab\n" + state;
    const auto on_the_way = lines_of(told, script, scratch);
    int to_part = 0;
    const auto on_part = [](const json& line) { return line["targets"].contains("keyboard at part isolator"); };
    while (to_part < 40 && !on_part(on_the_way[static_cast<std::size_t>(to_part)])) ++to_part;
    REQUIRE(to_part < 40);
    std::filesystem::remove(told);
    script = "wait 1\nsize 1280 720\nframes 3\nkey c\n";
    for (int n = 0; n <= to_part; ++n) script += "key tab\n";
    const auto lines =
        lines_of(told, script + "key enter\n" + state + "key enter\n" + state + "key esc\n" + state, scratch);
    REQUIRE(lines.size() == 3);
    CHECK(lines[0]["targets"].contains("do openisolator"));
    CHECK(lines[1]["targets"].contains("leave it"));
    CHECK(lines[1]["desk"]["acts"].empty());
    CHECK_FALSE(lines[2]["targets"].contains("leave it"));
    for (const json& line : lines) CHECK(shows(line));
    CHECK(on_part(lines[2]));
}
