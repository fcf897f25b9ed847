// Meters altered at the desk, without a thread.
#include "model/desk.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>

#include "catch_shim.hpp"
#include "desk_support.hpp"
#include "look.hpp"
#include "model/setup.hpp"
#include "model/waves_csv.hpp"
#include "site/load.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

TEST_CASE("a meter's chain changed on the spot: the reading follows, undo takes it back, the session keeps it") {
    Desk desk(site_named("bench-rig"), false);
    desk.work(1.5);
    desk.place({"drive.u", "drive.v", ""});
    desk.choose_meter(0, "true-rms");
    desk.choose_meter(1, "average");
    desk.work(1.0);
    const double as_shipped = shown(*desk.snapshot(), 0);
    const double beside = shown(*desk.snapshot(), 1);

    desk.change_meter("true-rms", "acv.bandwidth_Hz", "300");
    desk.work(1.0);
    auto s = desk.snapshot();
    CHECK(s->meters[0].changed);
    CHECK_FALSE(s->meters[1].changed);
    CHECK(s->meters[0].meter->function(meter::Mode::acv).bandwidth_Hz == 300.0);
    // The bench reads the same with that chain.
    bench::Bench bench(site_named("bench-rig"));
    bench.advance(2.0);
    meter::Spec narrow = meter::find_spec("true-rms");
    narrow.functions[meter::Mode::acv].bandwidth_Hz = 300.0;
    CHECK(shown(*s, 0) ==
          approx(*test::read(bench, narrow, meter::Mode::acv, {"drive.u", "drive.v", ""}).value).epsilon(1e-3));
    CHECK(shown(*s, 0) < 0.97 * as_shipped);
    CHECK(shown(*s, 1) == approx(beside).epsilon(1e-3));

    // An averaging detector in the true-rms meter.
    desk.change_meter("true-rms", "acv.detector", "average");
    desk.work(1.0);
    CHECK(shown(*desk.snapshot(), 0) < 0.95 * as_shipped);

    Desk other(site_named("bench-rig"), false);
    std::string error;
    REQUIRE(other.restore(desk.session(), error));
    other.work(2.5);
    CHECK(shown(*other.snapshot(), 0) == approx(shown(*desk.snapshot(), 0)).epsilon(1e-3));

    desk.undo();
    desk.undo();
    desk.work(1.0);
    CHECK_FALSE(desk.snapshot()->meters[0].changed);
    CHECK(shown(*desk.snapshot(), 0) == approx(as_shipped).epsilon(1e-3));
    desk.redo();
    desk.work(1.0);
    CHECK(desk.snapshot()->meters[0].changed);

    // Set back to what the file has, it is no change; nonsense changes nothing and says why.
    desk.change_meter("true-rms", "acv.bandwidth_Hz", "20000");
    desk.work(0.5);
    CHECK_FALSE(desk.snapshot()->meters[0].changed);
    desk.change_meter("true-rms", "acv.bandwidth_Hz", "-4");
    CHECK(desk.last_error().rfind("acv.bandwidth_Hz: ", 0) == 0);
    desk.change_meter("no-such", "acv.bandwidth_Hz", "4");
    CHECK_FALSE(desk.last_error().empty());
    desk.work(0.5);
    CHECK(shown(*desk.snapshot(), 0) == approx(as_shipped).epsilon(1e-3));
}

TEST_CASE("a changed meter kept as one's own stands among the meters and reads the same after that") {
    const auto folder = std::filesystem::temp_directory_path() / fmt::format("sunshaft-own-{}", getpid());
    setenv("XDG_DATA_HOME", folder.c_str(), 1);
    {
        Desk desk(site_named("bench-rig"), false);
        const std::size_t shipped = desk.meters_at_hand().size();
        desk.work(1.5);
        desk.place({"drive.u", "drive.v", ""});
        desk.change_meter("true-rms", "acv.bandwidth_Hz", "300");
        desk.work(1.0);
        const double changed = shown(*desk.snapshot(), 0);
        CHECK(desk.save_meter("true-rms") == "true-rms-own");
        desk.work(1.0);
        CHECK(desk.meters_at_hand().size() == shipped + 1);
        CHECK(desk.meters()[0] == "true-rms-own");
        CHECK(shown(*desk.snapshot(), 0) == approx(changed).epsilon(1e-3));
        CHECK_FALSE(desk.snapshot()->meters[0].changed);
        desk.choose_meter(1, "true-rms");
        desk.work(1.0);
        CHECK(shown(*desk.snapshot(), 1) > 1.02 * changed);
        CHECK(desk.save_meter("true-rms-own") == "true-rms-own-own");
    }
    {  // A file that cannot be read spoils nothing.
        std::ofstream(folder / "sunshaft" / "meters" / "broken.toml") << "name = 3\n";
        std::string trouble;
        CHECK(meters_at_hand(&trouble).size() > 2);
        CHECK(trouble.find("broken.toml:1:8: name") != std::string::npos);
    }
    unsetenv("XDG_DATA_HOME");
    std::filesystem::remove_all(folder);
}
