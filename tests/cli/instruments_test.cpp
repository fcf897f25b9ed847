// Instruments from the command line: a display watched, an in-rush caught, several conductors in one clamp, leads
// zeroed.
#include <cmath>
#include <numbers>
#include <string>

#include "program.hpp"

using namespace sunshaft::test;

TEST_CASE("a display is watched from the start, update by update") {
    const json r = reading("hill-orchard --red drive.u --black drive.v --meter true-rms --at 0 --watch 6");
    const json& updates = r["watch"]["updates"];
    REQUIRE(updates.size() == 18);  // three a second
    CHECK(updates[0]["shown"] == "----");
    CHECK(updates[0]["value"].is_null());
    CHECK(updates[0]["beside"] == "AC auto, range down");
    for (std::size_t k = 0; k < updates.size(); ++k)
        CHECK(updates[k]["t"].get<double>() == approx(static_cast<double>(k + 1) / 3).epsilon(1e-9));
    CHECK(r["watch"]["max"].get<double>() >= updates.back()["value"].get<double>() - 0.05);
    CHECK(r["reading"]["shown"] == updates.back()["shown"]);
    const json settled = reading("hill-orchard --red drive.u --black drive.v --meter true-rms");
    CHECK(updates.back()["value"].get<double>() == approx(settled["reading"]["value"].get<double>()).epsilon(5e-3));
    // Held by hand it never looks for a range.
    const json held =
        reading("hill-orchard --red drive.u --black drive.v --meter true-rms --at 0 --watch 3 --range 800");
    CHECK(held["watch"]["range_changes"] == 0);
    CHECK(held["watch"]["updates"][0]["beside"] == "AC held");
    const Outcome text = run("read hill-orchard --red drive.u --black drive.v --at 0 --watch 3");
    CHECK(text.status == 0);
    CHECK(text.out.find("range down") != std::string::npos);
    refuses("read hill-orchard --red drive.u --black drive.v --mode hz --meter true-rms --watch 3",
            "cannot be watched");
    refuses("read hill-orchard --red drive.u --black drive.v --watch 0.1", "shorter than");
}

TEST_CASE("a clamp catches the in-rush of a start") {
    const json r = reading("hill-orchard --around u --mode inrush --meter clamp-hall");
    CHECK(r["inrush"]["start_s"].get<double>() < 1.0);
    CHECK(r["inrush"]["peak"].get<double>() > r["inrush"]["value"].get<double>());
    CHECK(r["inrush"]["trigger_A"].get<double>() == approx(1.0).epsilon(1e-9));
    CHECK(r["reasons"].size() >= 2);
    const json none = reading("hill-orchard --around u --mode inrush --meter clamp-hall --trigger 500 --watch 2");
    CHECK(none["inrush"]["value"].is_null());
    CHECK(none["reading"]["shown"] == "----");
    refuses("read hill-orchard --red drive.u --black drive.v --mode inrush", "--around");
}

TEST_CASE("conductors in one clamp add with their signs") {
    const auto rms = [](const char* around) {
        return reading(std::string("hill-orchard --meter clamp-hall --mode aca --around ") + around)["truth"]["rms"]
            .get<double>();
    };
    CHECK(rms("u,-v") == approx(std::sqrt(3.0) * rms("u")).epsilon(0.02));
    CHECK(rms("u,v") == approx(rms("w")).epsilon(0.01));
    CHECK(rms("u,v,w") == approx(rms("uvw")).margin(1e-9));
    refuses("read hill-orchard --around u, --meter clamp-hall", "name is missing");
    refuses("read hill-orchard --around u,q --meter clamp-hall", "q: no such conductor");
}

TEST_CASE("leads are read in with ohms until zeroed") {
    const std::string dead =
        "hill-orchard --do open@isolator --do pull@pump --red lead.u --black lead.v --mode ohm --meter ";
    const double with = reading(dead + "true-rms-drive")["reading"]["value"].get<double>(),
                 zeroed = reading(dead + "true-rms-drive --zero")["reading"]["value"].get<double>();
    CHECK(with - zeroed == approx(0.2).epsilon(1e-6));
}

// Divider of 12 nF and 5 kohm at 50 Hz: 230 V become 4.3 V; of PWM's carrier most comes through (first-order high-pass
// at 2.7 kHz).
TEST_CASE("a ghost voltage dies in a low impedance on the mains and not under PWM") {
    const std::string mains =
        "hill-orchard --set supply.kind=mains --set supply.voltage_V=230 --red drive.u --black drive.v ";
    const std::string pwm = "terrace-pwm --red drive.u --black drive.v ",
                      low = "--mode acv-lowz --meter low-impedance ", ghost = "--coupled 12e-9";
    const auto value = [](const std::string& arguments) {
        return reading(arguments)["reading"]["value"].get<double>();
    };
    const double corner = 1 / (2 * std::numbers::pi * 5e3 * 12e-9);
    CHECK(value(mains + low + ghost) == approx(230 / std::hypot(1, corner / 50)).epsilon(0.02));
    CHECK(value(mains + "--meter true-rms " + ghost) == approx(230).epsilon(0.01));
    CHECK(value(pwm + low + ghost) > 50.0);
    refuses("read " + mains + "--mode ohm " + ghost, "expected a mode that reads a voltage");
}
