// The clock of the day in a hand: dragged, the live run takes the sun of that hour and one undo brings it back; the
// same by keys; a day pressed in the calendar opens; the play key lets the day pass.
#include <fmt/format.h>

#include <cmath>
#include <string>
#include <vector>

#include "catch_shim.hpp"
#include "window.hpp"

using nlohmann::json;
using sunshaft::test::Scripted;

namespace {

Scripted day_strip() { return {.first = "size 1280 720\nfold open\ntab Day\nframes 4\n"}; }

double hours(const json& line) {
    const std::string clock = line["desk"]["day"]["clock"];
    return std::stod(clock.substr(0, 2)) + std::stod(clock.substr(3)) / 60;
}
double sun(const json& line) {
    for (const auto& one : line["desk"]["set"])
        if (const std::string s = one; s.rfind("sun.irradiance_W_m2=", 0) == 0) return std::stod(s.substr(20));
    return -1.0;
}

}  // namespace

TEST_CASE("the clock goes through the day in a hand and by keys, the live run follows, one undo brings it back") {
    const Scripted bench = day_strip();
    const json first = bench.lines(bench.state()).at(0);
    REQUIRE(first["targets"].contains("clock"));
    const auto plot = first["targets"]["clock"].get<std::vector<double>>();
    const double y = plot[1] + plot[3] / 2;
    const auto x = [&](double share) { return plot[0] + share * plot[2]; };
    const auto lines = bench.lines(bench.state() +
                                   fmt::format("press {:.0f} {:.0f}\nmove {:.0f} {:.0f}\nframes 12\nmove {:.0f} "
                                               "{:.0f}\nframes 12\nrelease {:.0f} {:.0f}\n",
                                               x(0.5), y, x(0.35), y, x(0.2), y, x(0.2), y) +
                                   bench.state() + "key tab\nkey shift+tab\nkey right\n" + bench.state() +
                                   "key shift+right\n" + bench.state() + "key ctrl+z\nkey ctrl+z\nkey ctrl+z\n" +
                                   bench.state() + "key pagedown\n" + bench.state());
    REQUIRE(lines.size() == 6);
    // From dawn at 5 h to dusk at 19 h or so.
    CHECK(hours(lines[1]) < hours(lines[0]) - 1.0);
    CHECK(sun(lines[1]) > 0.0);
    CHECK(hours(lines[2]) - hours(lines[1]) == sunshaft::test::approx(1.0 / 12).margin(1e-6));
    CHECK(sun(lines[2]) > sun(lines[1]));  // the morning
    CHECK(hours(lines[3]) - hours(lines[2]) == sunshaft::test::approx(1.0).margin(1e-6));
    CHECK(hours(lines[4]) == hours(lines[0]));
    CHECK(sun(lines[4]) < 0.0);
    CHECK(lines[4]["desk"]["can_undo"] == false);  // the whole way of the hand was one entry
    CHECK(lines[5]["desk"]["day"]["date"] == "2026-06-22");
}

TEST_CASE("a day pressed in the calendar opens, and the play key lets it pass") {
    const Scripted bench = day_strip();
    const auto lines = bench.lines("click \"year\"\nframes 3\nclick \"days of the year\"\n" + bench.state() +
                                   "click \"play\"\nframes 240\n" + bench.state() + "click \"play\"\n" + bench.state() +
                                   "frames 60\n" + bench.state());
    REQUIRE(lines.size() == 4);
    CHECK(lines[0]["desk"]["day"]["date"] != "2026-06-21");
    CHECK(lines[0]["targets"].contains("clock"));
    CHECK(hours(lines[1]) > hours(lines[0]));
    CHECK(hours(lines[3]) == hours(lines[2]));
}
