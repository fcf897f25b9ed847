// However the window ends, the work is there the next time; where none can be opened, that is said and the readings are
// printed.
#include "window.hpp"

#include <csignal>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <random>
#include <thread>

#include "catch_shim.hpp"
#include "site/load.hpp"

using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Scratch;
using sunshaft::test::Window;
namespace fs = std::filesystem;

namespace {

const std::vector<std::string> rig{"bench-rig", "--size", "1280x720", "--scale", "100"};

void drawn(const Window& w) {
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
}

std::string slurp(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

// The window program alone, its words and exit status.
struct Said {
    int status;
    std::string words;
};
Said say(const Scratch& scratch, const std::string& environment, const std::string& arguments) {
    const fs::path file = scratch.path() / "said";
    const int raw = std::system(("env " + environment + " XDG_STATE_HOME=" + scratch.path().string() + " timeout 60 " +
                                 SUNSHAFT_WINDOW + " " + arguments + " >" + file.string() + " 2>&1")
                                    .c_str());
    return {WIFEXITED(raw) ? WEXITSTATUS(raw) : -1, slurp(file)};
}

}  // namespace

TEST_CASE("asked to end by a signal, the window keeps its work and says by which") {
    const Display display;
    for (const int number : {SIGTERM, SIGINT, SIGHUP}) {
        const Scratch scratch;
        {
            Window w(display, scratch, rig);
            drawn(w);
            w.drag("jack red", "dot drive.w");
            w.until("the red lead", [](const json& s) { return s["desk"]["probes"]["red"] == "drive.w"; });
            REQUIRE(w.ended_by(number) == 128 + number);
        }
        Window w(display, scratch, {"bench-rig"});
        w.until("the red lead again", [](const json& s) { return s["desk"]["probes"]["red"] == "drive.w"; });
        REQUIRE(w.close() == 0);
    }
}

TEST_CASE("killed or its display gone, the window's work up to a moment before is there") {
    const Scratch scratch;
    {
        Display display;
        Window w(display, scratch, rig);
        drawn(w);
        w.drag("jack red", "dot drive.w");
        w.until("the red lead", [](const json& s) { return s["desk"]["probes"]["red"] == "drive.w"; });
        std::this_thread::sleep_for(std::chrono::seconds(1));
        CHECK(w.ended_by(SIGKILL) == -SIGKILL);
    }
    {
        Display display;
        Window w(display, scratch, {});  // the last site, without being named
        w.until("the red lead again", [](const json& s) { return s["desk"]["probes"]["red"] == "drive.w"; });
        w.drag("jack black", "dot drive.u");
        w.until("the black lead", [](const json& s) { return s["desk"]["probes"]["black"] == "drive.u"; });
        std::this_thread::sleep_for(std::chrono::seconds(1));
        display.close();
        CHECK(w.ended_by(0) != 0);
    }
    const Display display;
    // Another site does not take the first one's place, and a scenario that was deleted does not stop the start.
    {
        Window w(display, scratch, {"stone-fold"});
        drawn(w);
        REQUIRE(w.close() == 0);
    }
    const fs::path own = scratch.path() / "own.toml";
    fs::copy_file(sunshaft::site::find_scenario("bench-rig"), own);
    {
        Window w(display, scratch, {own.string()});
        drawn(w);
        CHECK(w.state()["desk"]["probes"]["red"] == "drive.u");  // as leads hang on a site not opened before
        REQUIRE(w.close() == 0);
    }
    fs::remove(own);
    {
        Window w(display, scratch, {});
        drawn(w);
        REQUIRE(w.close() == 0);
    }
    Window w(display, scratch, {"bench-rig"});
    w.until("both leads", [](const json& s) {
        return s["desk"]["probes"]["red"] == "drive.w" && s["desk"]["probes"]["black"] == "drive.u";
    });
    REQUIRE(w.close() == 0);
}

TEST_CASE("a damaged session is put aside and the window opens all the same") {
    const Display display;
    const Scratch scratch;
    fs::create_directories(scratch.path() / "sunshaft" / "sessions");
    std::string deep = "x";
    for (int n = 0; n < 50000; ++n) deep += ".x";
    std::ofstream(scratch.path() / "sunshaft" / "sessions" / "bench-rig.toml") << deep << "=1\n";
    Window w(display, scratch, rig);
    drawn(w);
    REQUIRE(w.close() == 0);
    CHECK(slurp(scratch.path() / "sunshaft" / "sessions" / "bench-rig.toml.damaged-1") == deep + "=1\n");
}

TEST_CASE("where no window can be opened that is said, and the readings are printed") {
    const Scratch scratch;
    const Said stale = say(scratch, "DISPLAY=:4711", "bench-rig");
    INFO(stale.words);
    CHECK(stale.status == 0);
    CHECK(stale.words.find("no window: the display :4711 cannot be reached. The site's readings instead:") == 0);
    CHECK(stale.words.find("before you touch") != std::string::npos);
    const Said none = say(scratch, "-u DISPLAY", "bench-rig");
    CHECK(none.status == 0);
    CHECK(none.words.find("no window: there is no display.") == 0);
    const Display plain({"-extension", "GLX"});
    const Said without = say(scratch, "DISPLAY=" + plain.name(), "bench-rig");
    INFO(without.words);
    CHECK(without.status == 0);
    CHECK(without.words.find("has no OpenGL (GLX). The site's readings instead:") != std::string::npos);
}
