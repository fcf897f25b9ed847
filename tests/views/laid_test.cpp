// A recording laid over the scope: what goes with which channel, and that the trigger puts it where the site's own
// waves are.
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>

#include "desk_support.hpp"
#include "model/laid.hpp"
#include "model/signals.hpp"
#include "site/keys.hpp"
#include "site/site.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

namespace {

struct File {
    std::filesystem::path path =
        std::filesystem::temp_directory_path() / fmt::format("sunshaft-laid-{}.csv", static_cast<int>(::getpid()));
    explicit File(const std::string& text) { std::ofstream(path) << text; }
    ~File() { std::filesystem::remove(path); }
};

Wave wave(const char* name, const char* unit) {
    return {.name = name, .label = name, .unit = unit, .trace = std::make_shared<trace::Trace>(), .healthy = nullptr};
}

Laid of(std::vector<std::pair<std::string, std::string>> signals) {
    Laid laid;
    for (auto& [name, unit] : signals) laid.signals.push_back({.name = name, .unit = unit, .wave = {}, .span = {}});
    return laid;
}

std::string beside(const Laid& laid, const std::vector<Wave>& waves, std::size_t which) {
    const LaidSignal* s = laid.beside(waves, which);
    return s ? s->name : "";
}

}  // namespace

TEST_CASE("a recorded signal goes to its namesake, or to the first channel of its unit that has none") {
    const std::vector<Wave> waves{wave("drive.u:drive.v", "V"), wave("around.u", "A"), wave("around.v", "A")};
    const Laid named = of({{"I2", "A"}, {"around.u", "A"}, {"U12", "V"}});
    CHECK(beside(named, waves, 0) == "U12");
    CHECK(beside(named, waves, 1) == "around.u");
    CHECK(beside(named, waves, 2) == "I2");
    const Laid short_of_one = of({{"I1", "A"}});
    CHECK(beside(short_of_one, waves, 0).empty());
    CHECK(beside(short_of_one, waves, 1) == "I1");
    CHECK(beside(short_of_one, waves, 2).empty());
    // Nobody said which unit: in the order of the file.
    const Laid bare = of({{"a", ""}, {"b", ""}});
    CHECK(beside(bare, waves, 0) == "a");
    CHECK(beside(bare, waves, 1) == "b");
    CHECK(beside(bare, waves, 2).empty());
}

TEST_CASE(
    "a recording's frequency and rms are those of its steady end, and the trigger puts it over the site's waves") {
    // 3.1 s of 47 Hz, ten times as much in its first turn; 230 V.
    std::string text = "t,U (V)\n";
    constexpr double f = 47.0, top = 230.0 * std::numbers::sqrt2;
    for (int k = 0; k <= 31000; ++k) {
        const double t = 1e-4 * k;
        text += fmt::format("{:.4f},{:.6f}\n", t,
                            (t < 1 / f ? 10 : 1) * top * std::sin(2 * std::numbers::pi * f * t + 0.7));
    }
    const File file(text);
    const auto laid = lay(file.path.string());
    REQUIRE(laid->signals.size() == 1);
    CHECK(laid->name == file.path.filename().string());
    CHECK(laid->signals[0].frequency_Hz == approx(f).epsilon(1e-3));
    CHECK(laid->signals[0].rms == approx(230.0).epsilon(1e-3));
    CHECK(laid->signals[0].span.high > 9 * top);
    // A site's wave of 50 Hz, a quarter of a turn on at the left edge of the screen: so is the recording there.
    Wave own = wave("drive.u:drive.v", "V");
    own.trace = std::make_shared<trace::Trace>(trace::sine(100, 50, 10, 0, 0, 4000));
    const auto under = laid->stretch({own}, 0, Trigger{}, {0.105, 0.145, {}}, 50.0);
    REQUIRE(under);
    CHECK(under->to - under->from == approx(0.04).epsilon(1e-9));
    CHECK(under->to <= trace::finish(laid->signals[0].wave));
    const auto at = [&](double turns) { return trace::value_at(laid->signals[0].wave, under->from + turns / f); };
    const double left = trace::value_at(*own.trace, 0.105), later = trace::value_at(*own.trace, 0.105 + 0.25 / 50);
    CHECK(at(0.0) / top == approx(left / 100).margin(2e-3));
    CHECK(at(0.25) / top == approx(later / 100).margin(2e-3));
    // Nothing turns on the site: the trigger catches it by itself.
    const auto caught = laid->stretch({own}, 0, Trigger{}, {0.105, 0.145, {}}, 0.0);
    REQUIRE(caught);
    REQUIRE(caught->trigger_t);
    CHECK(trace::value_at(laid->signals[0].wave, *caught->trigger_t) == approx(0.0).margin(0.5));
}

TEST_CASE("what is no recording is said in one line, and nothing is laid") {
    const File empty("");
    CHECK_THROWS_AS(lay(empty.path.string()), site::BadInput);
    CHECK_THROWS_AS(lay("/nowhere/at-all.csv"), site::BadInput);
    const File gaps("t,U\n0,1\n1,\n2,3\n");
    CHECK_THROWS_WITH(lay(gaps.path.string()), test::Contains("no signal with values throughout"));
}

TEST_CASE("any two points can be a channel: those the leads are on are offered, and those that are on the scope") {
    const auto site = site::compile_site(site_named("bench-rig"));
    const auto list = channel_choices(*site, {"motor.u:motor.v", "around.u", "motor.u:motor.v"});
    CHECK(list.front() == "motor.u:motor.v");
    CHECK(std::ranges::count(list, "motor.u:motor.v") == 1);
    CHECK(std::ranges::count(list, "around.u") == 1);
    CHECK(list.size() == channel_choices(*site, {}).size() + 1);
}
