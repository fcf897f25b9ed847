#include <filesystem>
#include <fstream>
#include <string>

#include "catch_shim.hpp"
#include "meter/meter.hpp"

using namespace sunshaft::meter;
using sunshaft::test::approx;
using sunshaft::test::Contains;

namespace {
const std::string good = R"(name = "own meter"
counts = 4000
category = "III"
category_V = 600
[acv]
detector = "average"
resistance_ohm = 10e6
bandwidth_Hz = 1000
ranges_V = [4, 40, 400, 600]
accuracy = [{ percent = 1.0, counts = 3 }]
)";
std::string error_of(const std::string& text) {
    try {
        parse_spec(text, "own.toml");
    } catch (const SpecError& e) {
        return e.what();
    }
    return "no error";
}
std::string with(std::string text, const std::string& from, const std::string& to) {
    const auto at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}
}  // namespace

TEST_CASE("The shipped meters load, have their category and cover the generic types") {
    const auto meters = load_specs(shipped_meters());
    CHECK(meters.size() >= 9);
    std::size_t average = 0, rms = 0, low_pass = 0, low_z = 0, pointer = 0, ac_clamp = 0, hall = 0, insulation = 0;
    for (const Spec& m : meters) {
        INFO(m.file);
        CHECK_FALSE(m.description.empty());
        CHECK(m.category >= 2);
        for (const auto& [mode, f] : m.functions) CHECK(input_resistance(m, mode) == f.resistance_ohm);
        if (m.has(Mode::acv)) (m.function(Mode::acv).detector == Detector::average ? average : rms) += 1;
        low_pass += m.has(Mode::acv_lowpass);
        low_z += m.has(Mode::acv_loaded);
        pointer += m.pointer;
        ac_clamp += m.has(Mode::aca) && !m.has(Mode::dca);
        hall += m.has(Mode::dca);
        insulation += m.has(Mode::insulation);
    }
    for (std::size_t n : {average, rms, low_pass, low_z, pointer, ac_clamp, hall, insulation}) CHECK(n >= 1);
    CHECK(find_spec("true-rms").name == "true-rms multimeter");
    CHECK(find_spec("true-rms multimeter").has(Mode::acdcv));
    CHECK_THROWS_WITH(find_spec("no-such"), Contains("expected one of average"));
}

TEST_CASE("A user's own file is read") {
    const Spec s = parse_spec(good, "own.toml");
    CHECK(s.function(Mode::acv).detector == Detector::average);
    CHECK(s.function(Mode::acv).ranges.size() == 4);
    CHECK(s.counts == 4000);
    CHECK(input_resistance(s, Mode::acv) == 10e6);
    CHECK_THROWS_AS(s.function(Mode::hz), std::invalid_argument);
    CHECK_THROWS_WITH(s.function(Mode::hz), Contains("has no mode hz, it has acv"));
    const auto path = std::filesystem::temp_directory_path() / "sunshaft_own_meter.toml";
    std::ofstream(path) << good;
    CHECK(load_spec(path.string()).name == "own meter");
    std::filesystem::remove(path);
    CHECK_THROWS_WITH(load_spec(path.string()), Contains(":1:1: is not there"));
    CHECK(spec_keys().size() > 20);
}

TEST_CASE("Mistakes are named with their place") {
    CHECK(error_of(good) == "no error");
    CHECK_THAT(error_of(with(good, "bandwidth_Hz", "bandwith_Hz")),
               Contains("own.toml:8:1: acv.bandwith_Hz: unknown key") && Contains("did you mean bandwidth_Hz?"));
    CHECK_THAT(error_of(with(good, "[acv]", "[acw]")),
               Contains("own.toml:5:2: acw: unknown key") && Contains("did you mean acv?"));
    CHECK_THAT(error_of(with(good, "10e6", "\"much\"")),
               Contains("own.toml:7:18: acv.resistance_ohm: wrong type, expected a number"));
    CHECK_THAT(error_of(with(good, "10e6", "inf")), Contains("acv.resistance_ohm: not a finite number"));
    CHECK_THAT(error_of(with(good, "bandwidth_Hz = 1000", "bandwidth_Hz = nan")),
               Contains("acv.bandwidth_Hz: not a finite number"));
    CHECK_THAT(error_of(with(good, "10e6", "-1.0")), Contains("acv.resistance_ohm: -1 is out of range"));
    CHECK_THAT(error_of(with(good, "\"average\"", "\"peak\"")),
               Contains("own.toml:6:12: acv.detector: \"peak\" is no detector"));
    CHECK_THAT(error_of(with(good, "[4, 40", "[40, 4")), Contains("acv.ranges_V: not rising"));
    CHECK_THAT(error_of(with(good, "ranges_V = [4, 40, 400, 600]\n", "")), Contains("acv.ranges_V: missing"));
    CHECK_THAT(error_of(with(good, "resistance_ohm = 10e6\n", "")), Contains("acv.resistance_ohm: missing"));
    CHECK_THAT(error_of(with(good, "percent = 1.0", "per_cent = 1.0")), Contains("acv.accuracy.per_cent: unknown key"));
    CHECK_THAT(error_of(with(good, "counts = 3 }", "counts = 3, range = 5 }")),
               Contains("acv.accuracy.range: 5 is none of the ranges"));
    CHECK_THAT(error_of(with(good, "\"III\"", "\"V\"")), Contains("own.toml:3:12: category"));
    CHECK_THAT(error_of(with(good, "category_V = 600\n", "")), Contains("category_V: missing"));
    CHECK_THAT(error_of(with(good, "name = \"own meter\"", "name = own")), Contains("own.toml:1:"));
    CHECK_THAT(error_of(with(good, "bandwidth_Hz = 1000", "bandwidth_Hz = 1000\nbandwidth_order = 2.5")),
               Contains("acv.bandwidth_order: wrong type, expected a whole number from 1 to 4"));
    CHECK_THAT(error_of(good + "source_A = 1\n"), Contains("acv.source_A: unknown key"));
    CHECK_THAT(error_of("name = \"x\"\n"), Contains("no mode at all"));
    CHECK_THAT(error_of("acv = 3\n"), Contains("acv: wrong type, expected a table"));
    CHECK_THAT(
        error_of(good + "[ohm]\nopen_V = 3\nsource_A = [1e-3, 1e-4]\nranges_ohm = [400]\naccuracy = {percent=1}\n"),
        Contains("2 currents for 1 ranges"));
    CHECK_THAT(error_of(good + "[insulation]\nsource_A = 1e-3\nranges_ohm = [4e6]\naccuracy = {percent=1}\n"),
               Contains("insulation.test_V: missing"));
}
