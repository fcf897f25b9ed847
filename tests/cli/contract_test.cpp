// The program as its user calls it: verbs, exit statuses, one line for bad input, the JSON of the contract.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "program.hpp"

using namespace sunshaft::test;

TEST_CASE("an ideal six-step bench reads what the textbook says") {
    const json r = reading("bench-rig --red drive.u --black drive.v --meter average --mode acv");
    CHECK(r["truth"]["rms"].get<double>() == approx(320 * std::sqrt(2.0 / 3)).epsilon(1e-4));
    CHECK(r["truth"]["rectified_mean"].get<double>() == approx(320 * 2.0 / 3).epsilon(1e-4));
    CHECK(r["truth"]["fundamental_Hz"].get<double>() == approx(50).epsilon(1e-6));
    CHECK(r["reading"]["value"].get<double>() == approx(320 * 0.740480).epsilon(2e-3));
    CHECK(r["reasons"].size() >= 2);
    CHECK(!r["cautions"].empty());
}

TEST_CASE("the ideal bridge on a stiff source may be set from the command line") {
    const json r = reading(
        "hill-orchard --set supply.kind=bench --set supply.voltage_V=300 --set supply.resistance_ohm=0 --set "
        "drive.control=fixed "
        "--set drive.modulation=sine-triangle --set drive.carrier_Hz=8000 --set drive.modulation_index=0.8 "
        "--set drive.on_resistance_ohm=0 --set drive.diode_drop_V=0 --set drive.dead_time_s=0 --red drive.u --black "
        "drive.v --meter true-rms");
    CHECK(r["truth"]["fundamental_rms"].get<double>() == approx(0.612372 * 0.8 * 300).epsilon(5e-3));
    CHECK(r["truth"]["rms"].get<double>() == approx(300 * std::sqrt(std::sqrt(3.0) * 0.8 / 3.14159265)).epsilon(5e-3));
}

TEST_CASE("a lost phase is where it is: stiff output, nothing to see from above but the clamps") {
    const std::string fault = "bench-rig --fault lost-phase@splice.u ";
    const double uv = reading(fault + "--red drive.u --black drive.v")["reading"]["value"];
    const double vw = reading(fault + "--red drive.v --black drive.w")["reading"]["value"];
    CHECK(uv == approx(vw).epsilon(1e-3));
    CHECK(reading(fault + "--around u")["reading"]["value"].get<double>() == approx(0).margin(1e-3));
    CHECK(reading(fault + "--around v")["reading"]["value"].get<double>() > 1.0);
    // Out of reach, below the break, the running machine makes its own voltage.
    CHECK(reading(fault + "--red motor.u --black motor.v")["truth"]["rms"].get<double>() > 100.0);
}

TEST_CASE("over range is a null, not a number") {
    const json r = reading(
        "stone-fold --do open@isolator --do pull@pump --fault lost-phase@splice.u --red lead.u --black lead.v --mode "
        "ohm");
    CHECK(r["reading"]["value"].is_null());
    CHECK(r["reading"]["over_range"].get<bool>());
}

TEST_CASE("a field test is carried out in the state it asks for, its cautions before its readings") {
    const Outcome all = run("tests hill-orchard");
    CHECK(all.status == 0);
    for (const char* id : {"winding-ohms", "short-circuit-current", "bleed-down", "dip"})
        CHECK(all.out.find(id) != std::string::npos);
    CHECK(run("tests bench-rig").out.find("short-circuit-current") == std::string::npos);  // no array there
    const Outcome o = run("read hill-orchard --test winding-ohms --fault high-resistance-splice@v=2.4");
    REQUIRE(o.status == 0);
    CHECK(o.out.find("before you touch") < o.out.find("lead.u against lead.v"));
    const json j =
        json::parse(run("read hill-orchard --test winding-ohms --fault high-resistance-splice@v=2.4 --json").out);
    REQUIRE(j["readings"].size() == 3);
    const auto ohm = [&](std::size_t n) { return j["readings"][n]["reading"]["value"].get<double>(); };
    CHECK(ohm(0) - ohm(2) == approx(2.4).epsilon(0.1));
    CHECK(ohm(1) == approx(ohm(0)).epsilon(0.05));
    CHECK(j["hazards"].size() >= 3);
    refuses("read hill-orchard --test winding-ohm", "did you mean winding-ohms");
    refuses("read bench-rig --test short-circuit-current", "nothing on this site");
    refuses("read hill-orchard --test winding-ohms --red drive.u", "--red");
}

TEST_CASE("gauges read") {
    CHECK(reading("hill-orchard --red flow")["reading"]["value"].get<double>() > 1e-4);
    CHECK(reading("hill-orchard --red sun")["reading"]["unit"] == "W/m2");
}

TEST_CASE("bad input is one line and status 2") {
    refuses("read hill-orchard --red drive.x --black drive.v", "drive.x");
    refuses("read hill-orchard --red drive.u", "--black");
    refuses("read hill-orchard --red drive.u --black drive.v --mode volts", "--mode");
    refuses("read hill-orchard --red drive.u --black drive.v --meter nosuch", "nosuch");
    refuses("read hill-orchard --red drive.u --black drive.v --fault high-resistance-splise@v=1", "did you mean");
    refuses("read hill-orchard --red drive.u --black drive.v --set drive.carier_Hz=1", "did you mean");
    refuses("read nowhere.toml --red drive.u --black drive.v", "nowhere.toml");
    refuses("run hill-orchard --for -1", "--for");
    refuses("run bench-rig --for 0.01 --signals drive.u:drive.v --out /nonexistent/folder/x.csv",
            "/nonexistent/folder/x.csv");
    refuses("dance", "dance");
}

TEST_CASE("run writes both ends of every piece and leaves no part behind") {
    const auto file = std::filesystem::temp_directory_path() / ("sunshaft-run-" + std::to_string(getpid()) + ".csv");
    const Outcome o =
        run("run bench-rig --for 0.05 --signals drive.u:drive.v,around.u,speed_rpm --out " + file.string());
    INFO(o.err);
    REQUIRE(o.status == 0);
    CHECK(o.err.find("gap") != std::string::npos);
    std::ifstream in(file);
    std::string line;
    std::getline(in, line);
    CHECK(line == "time_s,drive.u:drive.v,around.u,speed_rpm");
    int rows = 0;
    while (std::getline(in, line)) ++rows;
    CHECK(rows > 30);
    CHECK(rows % 2 == 0);
    CHECK(!std::filesystem::exists(file.string() + ".part"));
    std::filesystem::remove(file);
}

TEST_CASE("run writes COMTRADE and WAV by the file's ending") {
    const std::string stem =
        (std::filesystem::temp_directory_path() / ("sunshaft-run-" + std::to_string(getpid()))).string();
    const std::string what = "run bench-rig --for 0.05 --signals drive.u:drive.v,around.u --rate 20000 --out " + stem;
    REQUIRE(run(what + ".cfg --comtrade binary").status == 0);
    CHECK(std::filesystem::file_size(stem + ".dat") == 1000 * (8 + 2 * 2));
    REQUIRE(run(what + ".wav").status == 0);
    CHECK(std::filesystem::file_size(stem + ".wav") == 58 + 1000 * 2 * 4);
    for (const char* end : {".cfg", ".dat", ".wav"}) {
        CHECK_FALSE(std::filesystem::exists(stem + end + ".part"));
        std::filesystem::remove(stem + end);
    }
    refuses("run bench-rig --for 0.05 --signals link_V --out " + stem + ".xyz", "--out");
    refuses("run bench-rig --for 0.05 --out " + stem + ".cfg", "--signals");
}

TEST_CASE("what was recorded is laid over what is computed, and analysed") {
    const auto folder = std::filesystem::temp_directory_path() / ("sunshaft-compare-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const std::string wave = (folder / "wave.csv").string(), plot = (folder / "over.svg").string();
    REQUIRE(run("run bench-rig --for 1 --signals drive.u:drive.v,around.v --out " + wave).status == 0);
    const Outcome same = run("compare " + wave + " bench-rig --json --out " + plot);
    INFO(same.err);
    REQUIRE(same.status == 0);
    const json over = json::parse(same.out);
    CHECK(over["periods"] == 10);
    CHECK(over["signals"].size() == 2);
    for (const json& s : over["signals"])
        CHECK(s["residual_rms"].get<double>() < 0.01 * s["measured"]["rms"].get<double>());
    CHECK(std::filesystem::file_size(plot) > 5000);
    // The same recording over a site with a bad splice: the current does not fit any more.
    const json faulty =
        json::parse(run("compare " + wave + " bench-rig --fault high-resistance-splice@v=3 --json").out);
    CHECK(faulty["signals"][1]["residual_rms"].get<double>() >
          0.05 * faulty["signals"][1]["measured"]["rms"].get<double>());

    // The same columns as an oscilloscope would name them, through a probe that divides by ten.
    {
        std::ifstream in(wave);
        std::ofstream out(folder / "scope.csv");
        std::string line;
        std::getline(in, line);
        out << "s,CH1,CH2\n";
        while (std::getline(in, line)) out << line << "\n";
    }
    const std::string scope = (folder / "scope.csv").string();
    const json named =
        json::parse(run("compare " + scope + " bench-rig --as CH1=drive.u:drive.v --scale CH1=10 --json").out);
    REQUIRE(named["signals"].size() == 1);
    CHECK(named["signals"][0]["measured"]["rms"].get<double>() ==
          approx(10 * over["signals"][0]["measured"]["rms"].get<double>()).epsilon(1e-6));
    refuses("compare " + scope + " bench-rig", "CH1, CH2");
    refuses("compare " + scope + " bench-rig --as CH3=drive.u:drive.v", "CH3");
    refuses("compare " + scope + " bench-rig --as CH1=nowhere", "nowhere");
    refuses("compare " + scope + " bench-rig --as CH1=drive.u:drive.v --scale CH1=0", "factor");
    refuses("compare missing.csv bench-rig", "missing.csv");

    const json analysis = json::parse(run("analyse bench-rig --json").out);
    CHECK(analysis["waves"][0]["harmonics"][4]["rms"].get<double>() /
              analysis["waves"][0]["harmonics"][0]["rms"].get<double>() ==
          approx(0.2).epsilon(1e-3));
    CHECK(json::parse(run("analyse " + wave + " --json").out)["frequency_Hz"].get<double>() ==
          approx(50).epsilon(1e-4));
    CHECK(run("analyse bench-rig").out.find("IEC 61000-4-7") != std::string::npos);
    refuses("analyse bench-rig --out x.doc", ".svg");
    std::filesystem::remove_all(folder);
}

TEST_CASE("meters checks a user's own file and tries it on the standard waves") {
    const std::string file =
        (std::filesystem::temp_directory_path() / ("sunshaft-meter-" + std::to_string(getpid()) + ".toml")).string();
    const auto write = [&](const std::string& text) { std::ofstream(file) << text; };
    const std::string good =
        "name = \"mine\"\n[acv]\ndetector = \"average\"\nresistance_ohm = 10e6\ncoupling_Hz = 0.001\n"
        "ranges_V = [600]\naccuracy = { percent = 1.0, counts = 3 }\n";
    write(good);
    const json j = json::parse(run("meters " + file + " --json").out);
    bool seen = false;
    for (const json& wave : j["standard_waves"])
        if (wave["wave"] == "PWM 8 kHz, index 0.8") {
            seen = true;  // 0.612372 m of the link: Holmes and Lipo (2003), natural sampling
            CHECK(wave["readings"]["acv"]["reading"]["value"].get<double>() ==
                  approx(0.612372 * 0.8 * wave["peak"].get<double>()).epsilon(2e-3));
        }
    CHECK(seen);
    CHECK(j["standard_waves"].size() == 9);
    CHECK(run("meters " + file).out.find("quasi-square") != std::string::npos);
    write(good + "bandwith_Hz = 5e3\n");
    refuses("meters " + file, file + ":8:1: acv.bandwith_Hz");
    write(good + "crest_limit = -2\n");
    refuses("meters " + file, file + ":8:15: acv.crest_limit");
    std::filesystem::remove(file);
    refuses("meters " + file, file);
    CHECK(run("meters --keys").out.find("MODE.coupling_Hz") != std::string::npos);
}

TEST_CASE("the lists print, also as JSON") {
    for (const char* verb : {"keys", "faults", "meters", "modules"}) {
        INFO(verb);
        CHECK(run(verb).status == 0);
        CHECK_FALSE(json::parse(run(std::string(verb) + " --json").out).empty());
    }
    CHECK(json::parse(run("points hill-orchard --json").out).size() > 60);
    for (const char* site : {"hill-orchard", "terrace-pwm", "river-meadow", "stone-fold", "bench-rig"}) {
        INFO(site);
        CHECK(run(std::string("check ") + site).status == 0);
        const Outcome o = run(std::string("sheet ") + site);
        CHECK(o.status == 0);
        CHECK(o.out.find("not settled") == std::string::npos);
        CHECK(o.out.find("before you touch") != std::string::npos);
    }
}

// The verbs below a verb, as its help lists them; of "" all.
std::vector<std::string> verbs_below(const std::string& above) {
    const std::string help = run(above + "--help").out;
    std::vector<std::string> found;
    const std::size_t list = help.find("\nSubcommands:");
    if (list == std::string::npos) return found;
    std::istringstream lines(help.substr(list + 1));
    std::string line;
    std::getline(lines, line);
    while (std::getline(lines, line) && line.starts_with("  "))
        if (line[2] != ' ') found.push_back(above + line.substr(2, line.find(' ', 2) - 2));
    return found;
}

TEST_CASE("every verb has a help text with an example of its own") {
    std::vector<std::string> verbs = verbs_below("");
    REQUIRE(verbs.size() > 20);
    for (std::size_t k = 0; k < verbs.size(); ++k) {
        const std::string verb = verbs[k];
        const Outcome o = run(verb + " --help");
        INFO(verb);
        CHECK(o.status == 0);
        CHECK(o.out.find("Example: sunshaft " + verb) != std::string::npos);
        const auto below = verbs_below(verb + " ");
        verbs.insert(verbs.end(), below.begin(), below.end());
    }
    CHECK(std::find(verbs.begin(), verbs.end(), "case report") != verbs.end());
}
