// The verbs day and fit as their user meets them.
#include "program.hpp"

using namespace sunshaft::test;

namespace {
bool holds_no_number(const std::string& text) {
    return text.find("nan") != std::string::npos || text.find(" inf") != std::string::npos;
}
}  // namespace

TEST_CASE("a day is told in words, figures and pictures") {
    const Outcome words = run("day hill-orchard --date 2026-06-21");
    INFO(words.err);
    REQUIRE(words.status == 0);
    CHECK(words.out.find("cloudless sky, 2026-06-21") != std::string::npos);
    CHECK(words.out.find("water into the tank") != std::string::npos);
    CHECK_FALSE(holds_no_number(words.out));
    const json day = json::parse(run("day hill-orchard --date 2026-06-21 --json").out);
    CHECK(day["water_m3"].get<double>() > 50);
    CHECK(day["offered_kWh"].get<double>() >= day["taken_kWh"].get<double>());
    CHECK(std::abs(day["energy_gap"].get<double>()) < 1e-3);
    CHECK(day["starts"].get<long>() > 0);
    CHECK(day["hours_in"]["running"].get<double>() > 1);
    CHECK(day["need_m3_day"].is_null());  // nobody told it
    CHECK(day["days"].size() == 1);
    // A fault is there all day, and what averages cannot show of it is said.
    const json dried = json::parse(run("day hill-orchard --fault capacitor-dried-out --json").out);
    CHECK(dried["not_shown"].size() == 1);
    CHECK(json::parse(run("day hill-orchard --fault drive-dead --json").out)["water_m3"] == 0.0);
    const auto folder = std::filesystem::temp_directory_path() / ("sunshaft-day-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    for (const char* name : {"day.csv", "day.svg", "day.png", "day.pdf"}) {
        REQUIRE(run("day hill-orchard --out " + (folder / name).string()).status == 0);
        CHECK(std::filesystem::file_size(folder / name) > 10000);
    }
    std::ifstream csv(folder / "day.csv");
    std::string head;
    std::getline(csv, head);
    CHECK(head.rfind("time_utc,sun_W_m2,dc_W", 0) == 0);
    std::filesystem::remove_all(folder);
}

TEST_CASE("in Spanish a day has its words and its comma, and the same figures") {
    const Outcome english = run("day hill-orchard"), spanish = run("day hill-orchard --language es");
    INFO(spanish.out);
    REQUIRE(spanish.status == 0);
    for (const char* words : {"cielo despejado, 2026-03-21", "agua al tanque", "sol no aprovechado", "esperando sol"})
        CHECK(spanish.out.find(words) != std::string::npos);
    // Line by line, all digits alike.
    const auto digits = [](const std::string& text) {
        std::string all;
        for (const char c : text)
            if ((c >= '0' && c <= '9') || c == '\n') all += c;
        return all;
    };
    CHECK(digits(spanish.out) == digits(english.out));
    CHECK(spanish.out.find(',') != std::string::npos);
    // Bad input is one line in any language, a file that is not there too, and the option reader's own words.
    refuses("day hill-orchard --date tomorrow --language es", "--date: tomorrow: no es una fecha");
    refuses("day hill-orchard --weather /nowhere.csv --language es", "/nowhere.csv:0: file: no está");
    refuses("day hill-orchard --set sun.irradiance_W_m2=-1 --language es", "es -1, se espera un número de 0 a 2000");
    refuses("run hill-orchard --language es", "falta --for (vea sunshaft run --help)");
    refuses("day hill-orchard nonsense --language es", "no se esperaba este argumento: nonsense");
    refuses("nonsense --language es", "no es un verbo");
}

TEST_CASE("what faults cost is ranked, the dangerous one on top") {
    const json cost = json::parse(
        run("day hill-orchard --compare soiled-array=0.6 --compare string-earth-fault@s1.m3-=0 --json").out);
    REQUIRE(cost["faults"].size() == 2);
    CHECK(cost["faults"][0]["fault"] == "string-earth-fault");
    CHECK(cost["faults"][0]["dangerous"] == true);
    CHECK(cost["faults"][0]["lost_m3"] == 0.0);
    CHECK(cost["faults"][1]["lost_m3"].get<double>() > 1);
    CHECK(cost["faults"][1]["year_lost_m3"].get<double>() > cost["faults"][1]["lost_m3"].get<double>());
}

TEST_CASE("each field test has its hours") {
    const json when = json::parse(run("day hill-orchard --tests --json").out);
    bool ohms = false, clamps = false;
    for (const json& t : when["tests"]) {
        if (t["test"] == "winding-ohms") ohms = t["always"] == true;
        // Clamps open later than the sun and close before it.
        if (t["test"] == "line-clamps") clamps = !t["open"].empty() && t["open"][0]["from"] > "2026-03-21 06:05";
    }
    CHECK(ohms);
    CHECK(clamps);
}

TEST_CASE("what no day can be made of is one line") {
    refuses("day bench-rig", "supply.kind");
    refuses("day hill-orchard --date tomorrow", "--date: tomorrow: is no date");
    refuses("day hill-orchard --date 2026-02-30", "--date");
    refuses("day hill-orchard --weather /nowhere.csv", "/nowhere.csv:0: file: is not there");
    refuses("day hill-orchard --weather /dev/null", "expected weather as CSV");
    refuses("day hill-orchard --cost some", "--cost: is some, expected all");
    refuses("day hill-orchard --out day.doc", "--out: day.doc: expected .csv");
    refuses("day hill-orchard --compare soiled-aray", "soiled-aray");
    refuses("day hill-orchard --set array.horizon=hills", "array.horizon");
    refuses("day hill-orchard --set tank.use_hours=always", "tank.use_hours");
    refuses("fit bench-rig", "supply.kind");
    // What would go unheard, or fail once all is computed.
    refuses("day hill-orchard --compare soiled-array --fault drive-dead", "--fault: faults are compared");
    refuses("day hill-orchard --compare soiled-array --cost all", "expected one of the two");
    refuses("day hill-orchard --compare soiled-array --tests", "--tests: expected neither");
    refuses("day hill-orchard --compare soiled-array --out x.csv", "--out: x.csv: expected .svg");
    refuses("day hill-orchard --tests --out x.png", "--out: the hours of tests are not drawn");
    refuses("day hill-orchard --weather /nowhere.csv --sky overcast", "--sky: the weather has its own sky");
}

TEST_CASE("what stands in a comparison says of which day it is, and at rest is no part of another state") {
    const Outcome cost = run("day hill-orchard --compare soiled-array --date 2026-06-21");
    CHECK(cost.out.find("on 2026-06-21, ") != std::string::npos);
    CHECK(json::parse(run("day hill-orchard --compare soiled-array --date 2026-06-21 --json").out)["date"] ==
          "2026-06-21");
    const Outcome day = run("day hill-orchard");
    CHECK(day.out.find("output on, shaft at rest") != std::string::npos);
    CHECK(day.out.find("of it, shaft at rest") == std::string::npos);
}

TEST_CASE("a year is drawn by its days") {
    const auto file = std::filesystem::temp_directory_path() / ("sunshaft-year-" + std::to_string(getpid()) + ".svg");
    REQUIRE(run("day hill-orchard --year --out " + file.string()).status == 0);
    // Six curves of 365 points and no more.
    CHECK(std::filesystem::file_size(file) < 400000);
    std::filesystem::remove(file);
}

TEST_CASE("no site is called sound while a figure is missing") {
    const Outcome bare = run("fit hill-orchard");
    CHECK(bare.status == 1);
    CHECK(bare.out.find("Not called sound") != std::string::npos);
    CHECK(bare.out.find("drive.highest_input_V") != std::string::npos);
    CHECK_FALSE(holds_no_number(bare.out));
    const std::string told =
        " --set drive.highest_input_V=450 --set site.lowest_module_temperature_degC=-8 --set dc_run.rated_A=40 --set "
        "tank.need_m3_day=15 --set array.module_fuse_A=15";
    const json fit = json::parse(run("fit hill-orchard --json" + told).out);
    CHECK(fit["sound"] == true);
    CHECK(run("fit hill-orchard" + told).status == 0);
    const json cold = json::parse(run("fit hill-orchard --suggest --json --set array.modules_in_series=12" + told).out);
    CHECK(cold["sound"] == false);
    CHECK(cold["suggestion"]["change"] == "array.modules_in_series=11");
}

TEST_CASE("skies, mounts and the hour of a visit are taken as they are said, and refused in words") {
    const auto water = [](const std::string& more) {
        return json::parse(run("day hill-orchard --date 2026-06-21 --json " + more).out)["sun_kWh_m2"].get<double>();
    };
    const double clear = water("");
    CHECK(water("--sky hazy") < clear);
    CHECK(water("--sky changing") < clear);
    CHECK(water("--mount single-axis") > 1.2 * clear);
    CHECK(water("--mount '4:10 10:50'") != clear);
    refuses("day hill-orchard --sky purple", "expected one of clear");
    refuses("day hill-orchard --mount turning", "expected fixed, single-axis");
    refuses("sheet hill-orchard --at 25:00", "expected a time as 15:00");
    refuses("sheet bench-rig --at 12:00", "a day needs a sun");
    refuses("sheet hill-orchard --at 12:00 --light-by eye", "not with --at");
    refuses("report hill-orchard --out report.txt", "ends in .pdf or .html");
}

TEST_CASE("a report is written whole, as a web page") {
    const auto folder = std::filesystem::temp_directory_path() / ("sunshaft-report-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const Outcome o = run("report hill-orchard --out " + (folder / "r.html").string());
    INFO(o.err);
    REQUIRE(o.status == 0);
    std::ifstream html(folder / "r.html");
    const std::string text(std::istreambuf_iterator<char>(html), {});
    CHECK_FALSE(holds_no_number(text));
    for (const char* words : {"What it is", "Water into the tank", "Does it fit together", "Expected readings"})
        CHECK(text.find(words) != std::string::npos);
    std::filesystem::remove_all(folder);
}
