#include <cmath>
#include <limits>

#include "catch_shim.hpp"
#include "meter/reading.hpp"

using namespace sunshaft::meter;
using sunshaft::test::approx;
using sunshaft::test::Contains;

namespace {
constexpr double open = std::numeric_limits<double>::infinity();
}

TEST_CASE("Ohms of star and delta windings") {
    // Balanced star: 2 R line to line; balanced delta: 2 R / 3; one star phase open: open to both others; one
    // delta winding open: 2 R there and R on the other two. By series and parallel resistance.
    const Spec m = find_spec("true-rms");
    const double R = 3.2;
    for (double ohm : {2 * R, 2 * R / 3, R, 4.7e3, 1e6, 3.3e6, 0.0}) {
        const Reading r = read(m, Mode::ohm, resistance(ohm));
        CHECK(r.value.value() == approx(ohm).epsilon(1e-9).margin(1e-6));
        CHECK(r.low.value() <= ohm);
        CHECK(r.high.value() >= ohm);
        CHECK(r.reasons.size() >= 2);
    }
    const Reading r = read(m, Mode::ohm, resistance(open));
    CHECK(r.shown == "OL");
    CHECK(r.over_range);
    CHECK_FALSE(r.value);
}

TEST_CASE("Ranges of an ohmmeter step up and can be held") {
    const Spec m = find_spec("true-rms");
    CHECK(read(m, Mode::ohm, resistance(4700)).range.value() == 8e3);
    Context c;
    c.manual_range = 800;
    CHECK(read(m, Mode::ohm, resistance(4700), c).over_range);
    c.manual_range = 800e3;
    CHECK(read(m, Mode::ohm, resistance(4700), c).shown == "4.7 kohm");
}

TEST_CASE("A live circuit makes nonsense of ohms, and says so") {
    const Spec m = find_spec("true-rms");
    // 0.3 V standing behind 100 ohm, 1 mA: the meter finds 0.4 V and shows 400 ohm.
    const Reading r = read(m, Mode::ohm, resistance(100, 0.3));
    CHECK(r.value.value() == approx(400).epsilon(1e-9));
    REQUIRE_FALSE(r.warnings.empty());
    CHECK_THAT(r.warnings.front(), Contains("nonsense"));
    CHECK(r.truth.mean.value() == approx(0.3).epsilon(1e-9));
    CHECK(read(m, Mode::ohm, resistance(100, 40)).over_range);
    CHECK(read(m, Mode::ohm, resistance(100, -0.3)).value.value() == approx(-200).epsilon(1e-9));
    Passive humming = resistance(10);
    humming.ac_rms = 230;
    CHECK(read(m, Mode::ohm, humming).over_range);
}

TEST_CASE("Continuity sounds far above nothing") {
    const Spec m = find_spec("true-rms");
    CHECK(read(m, Mode::continuity, resistance(0.2)).beeps);
    CHECK(read(m, Mode::continuity, resistance(20)).beeps);
    CHECK_FALSE(read(m, Mode::continuity, resistance(30)).beeps);
    CHECK_FALSE(read(m, Mode::continuity, resistance(open)).beeps);
}

TEST_CASE("The diode position shows a junction one way and nothing the other") {
    const Spec m = find_spec("true-rms");
    Passive junction;
    junction.current = [](double v) { return 1e-9 * std::expm1(std::min(v, 1.0) / 0.045); };
    const Reading r = read(m, Mode::diode, junction);
    CHECK(r.value.value() == approx(0.045 * std::log(1e-3 / 1e-9 + 1)).epsilon(1e-6));
    Passive reversed;
    reversed.current = [](double v) { return -1e-9 * std::expm1(std::min(-v, 1.0) / 0.045); };
    CHECK(read(m, Mode::diode, reversed).over_range);
    CHECK(read(m, Mode::diode, resistance(5)).value.value() == approx(5e-3).epsilon(1e-9));
}

TEST_CASE("Insulation: test voltage, temperature, refusal on a live circuit") {
    const Spec m = find_spec("insulation");
    Context c;
    c.temperature_degC = 20;
    const Reading r = read(m, Mode::insulation, resistance(200e6), c);
    CHECK(r.value.value() == approx(200e6).epsilon(1e-9));
    // IEEE 43-2013 (from memory): 200 Mohm at 20 degC is 50 Mohm at 40 degC; 12 Mohm at 65 degC is 67.882251
    // Mohm.
    const auto at_40 = [](const Reading& reading) {
        for (const Figure& f : reading.figures)
            if (f.name == "at_40_degC") return f.value;
        return -1.0;
    };
    CHECK(at_40(r) == approx(50e6).epsilon(1e-9));
    c.temperature_degC = 65;
    CHECK(at_40(read(m, Mode::insulation, resistance(12e6), c)) == approx(67.882251e6).epsilon(1e-7));
    CHECK(read(m, Mode::insulation, resistance(open)).over_range);
    // One milliampere is all it has: 10 kohm pull it down to 10 V.
    const Reading weak = read(m, Mode::insulation, resistance(10e3));
    CHECK(weak.value.value() == approx(10e3).epsilon(1e-9));
    REQUIRE_FALSE(weak.warnings.empty());
    CHECK_THAT(weak.warnings.front(), Contains("broke down to 10 V"));
    const Reading live = read(m, Mode::insulation, resistance(1e4, 300));
    CHECK(live.shown == "live");
    CHECK_FALSE(live.value);
    c.test_V = 1000;
    CHECK(read(m, Mode::insulation, resistance(200e6), c).stages.front().number == approx(1000).epsilon(1e-5));
    c.test_V = 123;
    CHECK_THROWS_AS(read(m, Mode::insulation, resistance(1e6), c), std::invalid_argument);
}

TEST_CASE("Capacitance, and a leak beside it") {
    const Spec m = find_spec("true-rms");
    CHECK(read(m, Mode::cap, resistance(open, 0, 12e-9)).value.value() == approx(12e-9).epsilon(1e-9));
    // Charged with 10 uA beside 200 kohm to 1 V: t = -RC ln(1 - V/IR), shown I t / V.
    const double shown = -10e-6 * 200e3 * 12e-9 * std::log(1 - 1 / (10e-6 * 200e3));
    CHECK(read(m, Mode::cap, resistance(200e3, 0, 12e-9)).value.value() == approx(shown).epsilon(1e-9));
    CHECK(read(m, Mode::cap, resistance(50e3, 0, 12e-9)).over_range);
}

TEST_CASE("Test leads are read in with ohms, and taken off by setting zero") {
    Spec m = find_spec("true-rms");
    m.leads_ohm = 0.3;
    const auto figure = [](const Reading& r, const std::string& name) {
        for (const Figure& f : r.figures)
            if (f.name == name) return f.value;
        return -1.0;
    };
    const Reading plain = read(m, Mode::ohm, resistance(3.2));
    CHECK(plain.value.value() == approx(3.5).epsilon(1e-9));
    CHECK(figure(plain, "leads_ohm") == 0.3);
    CHECK(figure(plain, "without_leads") == approx(3.2).epsilon(1e-9));
    Context zeroed;
    zeroed.relative = true;
    CHECK(read(m, Mode::ohm, resistance(3.2), zeroed).value.value() == approx(3.2).epsilon(1e-9));
    CHECK(read(m, Mode::ohm, resistance(0.0), zeroed).shown == "0.0 ohm");
    // A lead with a bad plug is zeroed away as well; without zeroing it adds to the good ones.
    Context worn;
    worn.lead_ohm = 2.0;
    CHECK(read(m, Mode::ohm, resistance(3.2), worn).value.value() == approx(5.5).epsilon(1e-9));
    zeroed.lead_ohm = 2.0;
    CHECK(read(m, Mode::ohm, resistance(3.2), zeroed).value.value() == approx(3.2).epsilon(1e-9));
    // Continuity falls silent for the leads alone, and sounds once they are taken off.
    m.leads_ohm = 30;
    CHECK_FALSE(read(m, Mode::continuity, resistance(1.0)).beeps);
    zeroed.lead_ohm = 0.0;
    CHECK(read(m, Mode::continuity, resistance(1.0), zeroed).beeps);
    // Too little to matter: not a word.
    m.leads_ohm = 0.2;
    CHECK(figure(read(m, Mode::ohm, resistance(470)), "without_leads") == -1.0);
    // A diode takes their drop too: 1 mA through 100 ohm.
    m.leads_ohm = 100;
    Passive half_volt = resistance(1e-3, 0.5);
    CHECK(read(m, Mode::diode, half_volt).value.value() == approx(0.6).epsilon(1e-4));
    CHECK_THROWS_AS(parse_spec("name = \"x\"\nleads_ohm = -1\n[ohm]\nsource_A = 1e-3\nopen_V = 2\nranges_ohm = "
                               "200\naccuracy = { percent = 1 }\n",
                               "x"),
                    SpecError);
}
