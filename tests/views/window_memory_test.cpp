// What the window remembers, and the scripts it plays.
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>

#include "catch_shim.hpp"
#include "model/desktop.hpp"
#include "model/script.hpp"
#include "model/window_state.hpp"

using namespace sunshaft;
using view::WindowState;

TEST_CASE("what is remembered comes back") {
    WindowState s;
    s.width_px = 1280;
    s.height_px = 720;
    s.x_px = 40;
    s.dark = true;
    s.scale = 1.25;
    s.projector = true;
    s.shown.inside = false;
    s.shown.drawer = true;
    s.shown.strip_split = true;
    s.shown.strip_wish = view::StripWish::folded;
    s.strip_left = 3;
    s.drawer = 1;
    const WindowState back = view::window_state_from(view::to_text(s));
    CHECK(view::to_text(back) == view::to_text(s));
    CHECK(back.shown == s.shown);
    CHECK(back.scale == 1.25);
}

TEST_CASE("reduced motion is remembered where it was chosen, and is the desktop's wish where it was not") {
    WindowState s;
    CHECK_FALSE(s.is_calm());
    s.desktop_is_calm = true;
    CHECK(s.is_calm());
    CHECK_FALSE(view::window_state_from(view::to_text(s)).is_calm());  // the wish is asked for anew
    s.calm = false;
    CHECK_FALSE(s.is_calm());
    CHECK(view::window_state_from(view::to_text(s)).calm == false);
    s.calm = true;
    CHECK(view::window_state_from(view::to_text(s)).calm == true);
    CHECK_FALSE(view::window_state_from("motion = perhaps").calm);

    const auto folder = std::filesystem::temp_directory_path() / "sunshaft-desktop-test";
    std::filesystem::remove_all(folder);
    CHECK_FALSE(view::wants_no_animations(folder));
    CHECK(view::write_whole(folder / "kdeglobals", "[KDE]\nAnimationDurationFactor=0\n"));
    CHECK(view::wants_no_animations(folder));
    CHECK(view::write_whole(folder / "kdeglobals", "[KDE]\nAnimationDurationFactor=0.5\n"));
    CHECK_FALSE(view::wants_no_animations(folder));
    CHECK(view::write_whole(folder / "gtk-3.0/settings.ini", "[Settings]\ngtk-enable-animations = 0\n"));
    CHECK(view::wants_no_animations(folder));
    CHECK(view::write_whole(folder / "gtk-4.0/settings.ini", "[Settings]\ngtk-enable-animations=true\n"));
    CHECK_FALSE(view::wants_no_animations(folder));
    std::filesystem::remove_all(folder);
}

TEST_CASE("a damaged memory costs its bad lines only") {
    const WindowState usual;
    const WindowState s = view::window_state_from(
        "width = 99999999999999999999\nheight = -4\ndark = yes\nscale_percent = 7000\nstrip_wish = 9\nx = "
        "12x\n= =\n\nnoise");
    CHECK(s.width_px == usual.width_px);
    CHECK(s.height_px == usual.height_px);
    CHECK(s.dark);
    CHECK(s.scale == usual.scale);
    CHECK(s.x_px == usual.x_px);
    CHECK(s.shown == usual.shown);

    std::mt19937 random(3);
    std::uniform_int_distribution<int> byte(0, 255);
    for (int round = 0; round < 200; ++round) {
        std::string text = view::to_text(usual);
        for (int k = 0; k < 20; ++k)
            text[static_cast<std::size_t>(byte(random)) % text.size()] = static_cast<char>(byte(random));
        const WindowState any = view::window_state_from(text);
        CHECK(any.width_px >= 320);
        CHECK(any.height_px >= 240);
        CHECK((any.scale == 0.0 || (any.scale >= 0.5 && any.scale <= 3.0)));
    }
}

TEST_CASE("memory goes to the state folder and survives a missing one") {
    const auto folder = std::filesystem::temp_directory_path() / "sunshaft-window-test";
    std::filesystem::remove_all(folder);
    ::setenv("XDG_STATE_HOME", folder.c_str(), 1);
    CHECK(view::state_folder() == folder / "sunshaft");
    const auto file = view::state_folder() / "window";
    CHECK(view::recall(file).width_px == WindowState{}.width_px);
    WindowState s;
    s.width_px = 1111;
    CHECK(view::remember(file, s));
    CHECK(view::recall(file).width_px == 1111);
    ::setenv("XDG_STATE_HOME", "not/absolute", 1);
    CHECK(view::state_folder() != std::filesystem::path("not/absolute/sunshaft"));
    ::unsetenv("XDG_STATE_HOME");
    CHECK_FALSE(view::remember("/proc/no/such/place/window", s));
    std::filesystem::remove_all(folder);
}

TEST_CASE("scripts are words on lines") {
    const auto lines = view::parse_script(
        "# a comment\n\nprobe red drive.u   # after an act\n  plant \"high resistance\" \"\" 2.4\r\n");
    REQUIRE(lines.size() == 2);
    CHECK(lines[0].number == 3);
    CHECK(lines[0].words == std::vector<std::string>{"probe", "red", "drive.u"});
    CHECK(lines[1].words == std::vector<std::string>{"plant", "high resistance", "", "2.4"});
    CHECK_THROWS_AS(view::parse_script("a\nb \"c"), view::ScriptError);
    try {
        view::parse_script("a\nb \"c");
    } catch (const view::ScriptError& error) {
        CHECK(std::string(error.what()).find("line 2") == 0);
    }
    CHECK(view::parse_script("").empty());
}

TEST_CASE("files are written whole and fresh names are free") {
    const auto folder = std::filesystem::temp_directory_path() / "sunshaft-files-test";
    std::filesystem::remove_all(folder);
    CHECK_FALSE(view::read_text(folder / "a"));
    CHECK(view::write_whole(folder / "a", "one"));
    CHECK(view::write_whole(folder / "a", "two\n"));
    CHECK(view::read_text(folder / "a") == "two\n");
    CHECK(std::distance(std::filesystem::directory_iterator(folder), {}) == 1);  // nothing half-written is left
    CHECK_FALSE(view::write_whole("/proc/no/such/place", "x"));

    const auto before = std::filesystem::current_path();
    std::filesystem::current_path(folder);
    const auto first = view::fresh_name(".png");
    CHECK(view::write_whole(first, ""));
    CHECK(view::fresh_name(".png") != first);
    CHECK(first.extension() == ".png");
    std::filesystem::current_path(before);
    std::filesystem::remove_all(folder);
}
