#include "site/load.hpp"
#include "site/shipped.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>

#include "catch_shim.hpp"
#include "thrown.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
namespace fs = std::filesystem;

using test::thrown;

namespace {

std::string wrong(const std::string& text) {
    return thrown([&] { parse_scenario(text, "a.toml"); });
}

bool same(const Scenario& a, const Scenario& b) {
    for (const Key& key : keys())
        if (text_of(get(a, key)) != text_of(get(b, key))) return false;  // as text: NaN is like NaN
    auto equal = [](const PlantedFault& x, const PlantedFault& y) {
        return x.kind == y.kind && x.place == y.place && x.at_s == y.at_s &&
               (x.severity == y.severity || (std::isnan(x.severity) && std::isnan(y.severity)));
    };
    return std::ranges::equal(a.faults, b.faults, equal);
}

std::vector<fs::path> shipped() {
    const auto sites = shipped_sites();
    return {sites.begin(), sites.end()};
}

}  // namespace

TEST_CASE("an empty file is a site of defaults") {
    CHECK(same(parse_scenario("", "a.toml"), Scenario{}));
    CHECK(parse_scenario("", "a.toml").file == "a.toml");
}

TEST_CASE("values land in their members; whole numbers are numbers") {
    const Scenario s = parse_scenario(
        "drive.carrier_Hz = 8000\n[array]\nmodules_in_series = 10\nstrings=2\n[splice]\nu_ohm = inf\nv_ohm = "
        "0\n"
        "[tank]\nfloat_switch = false\n[site]\nname = 'Hill'\n[sun]\nmodule_temperature_degC = 51.5\n",
        "a.toml");
    CHECK(s.drive.carrier_Hz == 8000.0);
    CHECK(s.array.modules_in_series == 10);
    CHECK(std::isinf(s.splice.u_ohm));
    CHECK(s.splice.v_ohm == 0.0);
    CHECK_FALSE(s.tank.float_switch);
    CHECK(s.site.name == "Hill");
    CHECK(s.sun.module_temperature_degC == 51.5);
}

TEST_CASE("a mistake is named with its place in the file") {
    CHECK(wrong("[drive]\ncarier_Hz = 8000\n") ==
          "a.toml:2:1: drive.carier_Hz: is not a key, expected one that `sunshaft keys` lists (did you mean "
          "drive.carrier_Hz?)");
    CHECK(wrong("[drive]\n  carrier_Hz = 8e6\n") ==
          "a.toml:2:16: drive.carrier_Hz: is 8000000, expected a number from 200 to 50000 Hz");
    CHECK(wrong("[drive]\ncarrier_Hz = '8000'\n") ==
          "a.toml:2:14: drive.carrier_Hz: is \"8000\", expected a number from 200 to 50000 Hz");
    CHECK(wrong("[drive]\ncarrier_Hz = true\n") ==
          "a.toml:2:14: drive.carrier_Hz: is true, expected a number from 200 to 50000 Hz");
    CHECK(wrong("[drive]\ncarrier_Hz = [8000]\n") ==
          "a.toml:2:14: drive.carrier_Hz: is a list, expected a number from 200 to 50000 Hz");
    CHECK(wrong("[drive]\ncarrier_Hz = nan\n") ==
          "a.toml:2:14: drive.carrier_Hz: is nan, expected a number from 200 to 50000 Hz");
    CHECK(wrong("[drive.carrier_Hz]\n") ==
          "a.toml:1:1: drive.carrier_Hz: is a table, expected a number from 200 to 50000 Hz");
    CHECK(wrong("[drive]\nmodulation = 180\n")
              .starts_with("a.toml:2:14: drive.modulation: is 180, expected one of six-step-180, "));
    CHECK(wrong("[sun]\ntime_of_day = 12:00:00\n")
              .starts_with("a.toml:2:15: sun.time_of_day: is a date or time, expected "));
    CHECK(wrong("[array]\nstrings = 2.0\n") ==
          "a.toml:2:11: array.strings: is 2, expected a whole number from 1 to 50");
    CHECK(wrong("[array]\nstrings = 9999999999\n").starts_with("a.toml:2:11: array.strings: is 9999999999"));
    CHECK(wrong("\n[dirve]\ncarrier_Hz = 8000\n")
              .starts_with("a.toml:2:2: dirve: is not a section, expected one of fault, site, "));
    CHECK(wrong("[dirve]\ncarrier_Hz = 8000\n").ends_with("(did you mean drive.carrier_Hz?)"));
    CHECK(wrong("drive = 3\n") == "a.toml:1:9: drive: is 3, expected a table [drive]");
    CHECK(wrong("[[drive]]\ncarrier_Hz = 1\n").ends_with("drive: is a list of tables, expected a table [drive]"));
    CHECK(wrong("carrier_Hz = 8000\n").ends_with("(did you mean drive.carrier_Hz?)"));
}

TEST_CASE("of several mistakes the first in the file is named") {
    CHECK(wrong("[well]\nbore = 1\n[array]\nstrings = 0\n").starts_with("a.toml:2:1: well.bore: "));
    CHECK(wrong("[array]\nstrings = 0\n[well]\nbore = 1\n").starts_with("a.toml:2:11: array.strings: "));
}

TEST_CASE("what is not TOML is one line with its place") {
    for (const char* text : {"[drive\n", "drive.carrier_Hz = \n", "a = \"\n\"",
                             "[drive]\ncarrier_Hz = 1\ncarrier_Hz = 2\n", "\xff\xfe", "= 1"}) {
        const std::string line = wrong(text);
        INFO(line);
        CHECK(line.starts_with("a.toml:"));
        CHECK(line.find(": syntax: ") != std::string::npos);
        CHECK(line.find('\n') == std::string::npos);
    }
}

TEST_CASE("contradicting keys are pointed at where they stand") {
    CHECK(wrong("[well]\npump_depth_m = 70\n") ==
          "a.toml:2:16: well.pump_depth_m: is 70, expected at most well.bore_depth_m (60 m)");
    CHECK(wrong("[well]\nbore_depth_m = 40\n").starts_with("a.toml:2:16: well.pump_depth_m: is 45"));
}

TEST_CASE("planted faults are read") {
    const Scenario s = parse_scenario(
        "[[fault]]\nkind = 'open-string'\nplace = "
        "'s1'\n[[fault]]\nkind='high-resistance-splice'\nplace='v'\nseverity=inf\nat_s=3\n",
        "a.toml");
    REQUIRE(s.faults.size() == 2);
    CHECK(s.faults[0].kind == "open-string");
    CHECK(s.faults[0].place == "s1");
    CHECK(std::isnan(s.faults[0].severity));
    CHECK(s.faults[0].at_s == 0);
    CHECK(s.faults[0].where == "a.toml:1:1");
    CHECK(std::isinf(s.faults[1].severity));
    CHECK(s.faults[1].at_s == 3);

    CHECK(wrong("[fault]\nkind='a'\n") == "a.toml:1:1: fault: is a table, expected tables under [[fault]]");
    CHECK(wrong("fault = [1]\n") == "a.toml:1:9: fault: is a list, expected tables under [[fault]]");
    CHECK(wrong("[[fault]]\nkind='a'\n") == "a.toml:1:1: fault.place: is missing, expected in every [[fault]]");
    CHECK(wrong("[[fault]]\nkind='a'\nplace=1\n") == "a.toml:3:7: fault.place: is 1, expected a place in quotes");
    CHECK(wrong("[[fault]]\nkind='a'\nplace='b'\nat_s=-1\n") ==
          "a.toml:4:6: fault.at_s: is -1, expected a number from 0 to 86400, in s");
    CHECK(wrong("[[fault]]\nkind='a'\nplace='b'\nseverity=nan\n") ==
          "a.toml:4:10: fault.severity: is nan, expected a number, or inf");
    CHECK(wrong("[[fault]]\nkind='a'\nplace='b'\nseverty=1\n").ends_with("(did you mean fault.severity?)"));
    CHECK(parse_scenario("fault = []\n", "a.toml").faults.empty());
}

TEST_CASE("a file that cannot be read is one line") {
    const std::string near = shipped_scenarios() + "/hil-orchard.toml";
    const std::string gone = thrown([&] { load_scenario(near); });
    CHECK(gone.starts_with(near + ":0:0: file: is not there, expected a scenario file (did you mean "));
    CHECK(gone.ends_with("hill-orchard.toml?)"));
    CHECK(thrown([] {
              load_scenario(shipped_scenarios());
          }).find(":0:0: file: is a folder, expected a scenario file") != std::string::npos);
    CHECK(thrown([] { load_scenario(""); }).starts_with(":0:0: file: is not there"));

    const fs::path big = fs::temp_directory_path() / "sunshaft_load_test_big.toml";
    std::ofstream(big) << std::string((1 << 20) + 1, '#');
    CHECK(thrown([&] { load_scenario(big.string()); }).find("is larger than 1 MB") != std::string::npos);
    fs::remove(big);
}

TEST_CASE("a shipped site is found by its name") {
    CHECK(find_scenario("hill-orchard") == shipped_scenarios() + "/hill-orchard.toml");
    CHECK(find_scenario("hill-orchard.toml") == shipped_scenarios() + "/hill-orchard.toml");
    CHECK(find_scenario("meters") == "meters");  // a folder is no site
    CHECK(find_scenario("nowhere") == "nowhere");
    CHECK(find_scenario("") == "");
}

TEST_CASE("a mistake found later is pointed at its key") {
    Scenario s = load_scenario(shipped_scenarios() + "/hill-orchard.toml");
    const std::string line = bad_key(s, "array.strings", "is odd, expected even").what();
    CHECK(line.starts_with(s.file + ":"));
    CHECK(line.find(":0:0:") == std::string::npos);
    CHECK(line.ends_with(": array.strings: is odd, expected even"));
    set_key(s, "array.strings=3");
    CHECK(std::string(bad_key(s, "array.strings", "is odd").what()) == "--set: array.strings: is odd");
    CHECK(std::string(bad_key(Scenario{}, "array.strings", "is odd").what()) == "array.strings: is odd");
}

TEST_CASE("a scenario written as TOML reads back the same") {
    Scenario s;
    s.site.name = "Quote \" and back\\slash";
    s.drive.carrier_Hz = 1.0 / 3.0 * 10000;
    s.array.leakage_plus_ohm = std::numeric_limits<double>::infinity();
    s.splice.depth_m = 44.5;
    s.tank.float_switch = false;
    s.faults.push_back({"open-string", "s1", not_given, 0.0});
    s.faults.push_back({"high-resistance-splice", "v", std::numeric_limits<double>::infinity(), 2.5});
    for (Write what : {Write::changed, Write::all}) {
        const std::string text = to_toml(s, what);
        INFO(text);
        CHECK(same(parse_scenario(text, "a.toml"), s));
    }
    CHECK(to_toml(Scenario{}) == "");
    CHECK(to_toml(parse_scenario("[drive]\ncarrier_Hz = 8000", "")) == "[drive]\ncarrier_Hz = 8000\n");
}

TEST_CASE("every shipped site loads, says what it is and survives a round trip") {
    CHECK(shipped().size() >= 5);
    for (const fs::path& file : shipped()) {
        INFO(file);
        const Scenario s = load_scenario(file.string());
        CHECK(s.site.name != Scenario{}.site.name);
        CHECK_FALSE(s.site.description.empty());
        CHECK(same(parse_scenario(to_toml(s), ""), s));
        CHECK(same(parse_scenario(to_toml(s, Write::all), ""), s));
    }
}
