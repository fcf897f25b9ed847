// A fault is hidden when the picture with it is the picture without it: every fault of the catalogue, every panel,
// pixel by pixel.
#include "picture.hpp"

#include <fmt/format.h>

#include <cmath>

#include "catch_shim.hpp"
#include "site/faults.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using nlohmann::json;
using sunshaft::test::Display;
using sunshaft::test::Scratch;
using sunshaft::test::Window;

namespace {

// Every `step`-th fault of the catalogue.
void compare(std::size_t step) {
    const Display display;
    const Scratch scratch;
    const auto shot = [&](const std::string& name) { return (scratch.path() / (name + ".png")).string(); };
    const site::Works works = site::set_up(site::load_scenario(site::find_scenario("hill-orchard")));
    const char* const tabs[] = {"Scope", "Spectrum",         "Phasors", "Curves", "Day",
                                "Drive", "Inside the drive", "Ladder",  "Edits"};
    // Something to undo there is before; time stands from then on.
    std::string script =
        "wait 8\nset sun.irradiance_W_m2 815\nprobe red drive.u\nprobe black drive.v\nprobe around v\nwait "
        "2\nhold\nwait 0\nmarks off\nfold open\ndrawer Faults\n";
    for (const char* tab : tabs)
        script += fmt::format("tab \"{}\"\nframes 4\nsnapshot \"{}\"\n", tab, shot(fmt::format("plain {}", tab)));
    std::vector<std::string> kinds;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto places = row.places(works);
        if (places.empty() || static_cast<std::size_t>(&row - site::fault_catalogue().data()) % step != 0) continue;
        kinds.push_back(row.kind);
        const double severity = std::isfinite(row.usual) ? row.usual : row.least;
        script += fmt::format("plant {} {} {}\nwait 0\n", row.kind, places.front(), severity);
        const bool every = kinds.size() % 12 == 1;  // all panels for some, one in turn for the others
        for (std::size_t n = 0; n < std::size(tabs); ++n)
            if (every || n == kinds.size() % std::size(tabs))
                script += fmt::format("tab \"{}\"\nsnapshot \"{}\"\n", tabs[n],
                                      shot(fmt::format("{} {}", row.kind, tabs[n])));
        script += fmt::format("heal {} {}\nwait 0\n", row.kind, places.front());
    }
    script += "quit\n";
    test::play(display, scratch, "hill-orchard --size 1280x720 --scale 100", script);
    int compared = 0;
    for (const char* tab : tabs) {
        const test::Grey plain = test::grey(shot(fmt::format("plain {}", tab)));
        for (const std::string& kind : kinds) {
            if (!std::filesystem::exists(shot(fmt::format("{} {}", kind, tab)))) continue;
            INFO(kind << " seen in " << tab);
            CHECK(test::differing(plain, test::grey(shot(fmt::format("{} {}", kind, tab)))) == 0);
            ++compared;
        }
    }
    CHECK(compared > static_cast<int>(100 / step));
}

}  // namespace

TEST_CASE(
    "with time held and faults hidden no planted fault changes a pixel of any panel: every sixth of the catalogue") {
    compare(6);
}
TEST_CASE("the same of every fault of the catalogue", "[.soak]") { compare(1); }

TEST_CASE("by mouse: a fault planted, hidden from every panel, still read by the clamp, and shown again") {
    const Display display;
    const Scratch scratch;
    Window w(display, scratch, {"hill-orchard", "--size", "1280x720", "--scale", "100"});
    w.until("a first picture", [](const json& s) { return s["frame"] > 2; });
    const auto with = [](const char* start) {
        return [=](const json& s) {
            for (const auto& [name, box] : s["targets"].items())
                if (name.rfind(start, 0) == 0) return true;
            return false;
        };
    };
    w.click("Faults");
    w.click("search");
    w.type("bad splice");
    w.until("the words in the field", [](const json& s) { return s["targets"].contains("search: bad splice"); });
    // The first press plants it.
    w.click("row high-resistance-splice");
    w.until("a fault", [](const json& s) { return s["desk"]["faults"].size() == 1; });
    w.until("its mark", with("mark high"));
    w.until("its card", with("heal high"));
    w.click("marks");
    w.until("no mark",
            [&](const json& s) { return !with("mark ")(s) && !with("heal high")(s) && !with("severity ")(s); });
    const json hidden = w.until("no fault told", [](const json& s) { return s["desk"]["faults"].empty(); });
    for (const auto& line : hidden["desk"]["log"]) CHECK(line.get<std::string>().find("planted") == std::string::npos);
    w.click("marks");
    w.until("its mark again", with("mark high"));
    w.until("told again", [](const json& s) { return s["desk"]["faults"].size() == 1; });
    REQUIRE(w.close() == 0);
}
