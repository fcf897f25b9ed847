// Dangerous command lines: what the program says before it does anything, and what it will not do.
#include <vector>

#include "program.hpp"

using namespace sunshaft::test;

namespace {

bool says(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

}  // namespace

TEST_CASE("what would hurt someone is refused with the reason and the right order, status 1") {
    struct Case {
        const char *line, *reason, *order;
    };
    for (const Case& c : std::vector<Case>{
             {"read hill-orchard --do pull@pump --red drive.u --black drive.v", "The pump runs on these wires",
              "Wait the time on the drive's label."},
             {"read hill-orchard --do pull@u@3 --around v --at 4", "The pump runs on these wires",
              "Prove the tester, the link, the tester again."},
             {"read terrace-pwm --do open@isolator --red lead.w --black earth --mode insulation",
              "into the electronics", "Disconnect drive"},
             {"read hill-orchard --do short@array --around s1", "The isolator joins the short to the drive",
              "Cover the array."},
             {"read hill-orchard --do open@s1.m5-@3 --around s2 --at 4", "draws an arc", "it must show 0 A"},
             {"read hill-orchard --red drive.u --black drive.v --mode ohm", "These points are live",
              "Stop, isolate, lock and tag."},
             {"read hill-orchard --do open@isolator --red array+ --black array- --mode continuity",
              "These points are live", "Cover the array."},
             {"read hill-orchard --red drive.u --black drive.v --meter moving-coil-rectifier --mode acv",
              "It is rated CAT II 300 V.", "Take a meter rated"},
             {"read hill-orchard --fault low-well=20 --dipped --do jumper@dry --around u", "runs dry", "Dip the well"},
             {"read hill-orchard --do jumper@dry --around u", "Nobody has dipped the well", "Dip the well"},
             {"read hill-orchard --do pull@pump --do open@isolator --around u", "The pump runs on these wires",
              "Stop, isolate, lock and tag."},
             {"read hill-orchard --do pull@pump@3 --do open@isolator@3 --around u --at 4",
              "The pump runs on these wires", "Wait until the shaft stands still."},
             {"run hill-orchard --for 0.1 --do pull@pump", "The pump runs on these wires",
              "Wait until the shaft stands still."},
             {"sheet hill-orchard --do restore@u", "The wires are live", "Stop, isolate"},
             {"analyse hill-orchard --do open@fuse.s1", "draws an arc", "it must show 0 A"}}) {
        const Outcome o = run(c.line);
        INFO(c.line << " -> " << o.out << o.err);
        CHECK(o.status == 1);
        CHECK(says(o.err, "refused: "));
        CHECK(says(o.err, c.reason));
        CHECK(says(o.err, c.order));
        CHECK(says(o.err, "--anyway"));
        CHECK_FALSE(says(o.out, "shows"));
    }
}

TEST_CASE("the same in JSON: the reasons, the order, no reading") {
    const Outcome o = run("read hill-orchard --red drive.u --black drive.v --mode ohm --json");
    CHECK(o.status == 1);
    const json j = json::parse(o.out);
    CHECK(j["refused"]["reasons"].size() == 1);
    CHECK_FALSE(j["refused"]["order"].get<std::string>().empty());
    CHECK(j["hazards"][0]["kind"] == "ohms-on-live");
    CHECK(j["hazards"][0]["volt"].get<double>() > 380.0);
    CHECK(j["hazards"][0]["first"][0] == "isolated");
    CHECK_FALSE(j["cautions"].empty());
    CHECK_FALSE(j.contains("reading"));
}

TEST_CASE("whoever insists gets it, counted as unsafe") {
    const std::string line =
        "hill-orchard --do pull@pump --red drive.u --black drive.v --meter true-rms --mode acv --anyway";
    const json j = reading(line);
    CHECK(j["unsafe"]["count"] == 1);
    CHECK(j["unsafe"]["steps"][0]["act"] == "pull@pump");
    CHECK_FALSE(j["unsafe"]["steps"][0]["reasons"].empty());
    CHECK(says(run("read " + line).out, "unsafe steps: 1"));
    CHECK(reading("hill-orchard --red drive.u --black drive.v")["unsafe"]["count"] == 0);
}

TEST_CASE("cautions stand before the reading, the act's among them, the most severe first") {
    const Outcome o = run("read hill-orchard --dipped --do jumper@dry --red drive.u --black drive.v");
    REQUIRE(o.status == 0);
    const auto shows = o.out.find("shows"), live = o.out.find("before you touch: Live work"),
               jumper = o.out.find("A bridged dry-run guard");
    CHECK(live < jumper);
    CHECK(jumper < shows);
    CHECK(o.out.find("A bridged dry-run guard", jumper + 1) == std::string::npos);
    // Run in between: on standard error, before anything else of it.
    CHECK(says(run("run hill-orchard --for 0.01 --do open@isolator").err, "before you touch: "));
    CHECK(says(run("run hill-orchard --for 0.01 --dipped --do jumper@dry").err,
               "dip meter: water at 30 m, intake at 43 m"));
    // Given in any order, carried out by their times.
    CHECK(
        reading(
            "hill-orchard --do close@isolator@4 --do open@isolator@2 --at 5 --red drive.u --black drive.v")["drive"]
                                                                                                           ["phase"] !=
        "off");
}

TEST_CASE("the voltage warned of is at least what any of these readings shows") {
    for (const char* line :
         {"hill-orchard --do open@s1.m5-@3 --do open@s2.m5-@3 --anyway --at 5 --red s1.m5- --black s1.m6+ --mode dcv",
          "hill-orchard --do open@isolator --red array+ --black array- --mode dcv",
          "hill-orchard --fault string-reversed@s2 --do open@isolator --do open@fuse.s2 --anyway --red s2+ --black "
          "array+ --mode dcv",
          "hill-orchard --do open@isolator --red array+ --black earth --mode dcv"}) {
        const json j = reading(line);
        double warned = 0.0;
        for (const json& h : j["hazards"])
            if (h["volt"].is_number()) warned = std::max(warned, h["volt"].get<double>());
        INFO(line);
        CHECK(std::abs(j["reading"]["value"].get<double>()) <= warned);
        CHECK(warned > 380.0);
    }
}

TEST_CASE("a drive that has tripped is said with its reason") {
    const Outcome o = run("read hill-orchard --set drive.current_limit_A=12 --red drive.u --black drive.v --at 6");
    REQUIRE(o.status == 0);
    CHECK(says(o.out, "drive: tripped; at "));
    CHECK(says(run("read hill-orchard --red drive.u --black drive.v").out, "drive: running"));
}

TEST_CASE("acts, faults, meters and points are listed by groups, one kind or group by itself") {
    const Outcome acts = run("acts");
    CHECK(acts.status == 0);
    for (const char* what : {"open ", "unshort", "Unplug a connector only after", "Bridged float", "at: isolator"})
        CHECK(says(acts.out, what));
    CHECK(json::parse(run("acts bench-rig --json").out).size() > 3);
    const Outcome all = run("faults"), one = run("faults lost-phase"), group = run("faults guards");
    CHECK(std::count(all.out.begin(), all.out.end(), '\n') < 140);
    CHECK(one.out.find("caution:") < one.out.find("to do:"));
    CHECK(std::count(one.out.begin(), one.out.end(), '\n') < 12);
    CHECK(says(group.out, "float-stuck-up"));
    CHECK_FALSE(says(group.out, "lost-phase"));
    CHECK(json::parse(run("faults guards --json").out).size() > 5);
    refuses("faults lost-fase", "did you mean lost-phase?");
    CHECK_FALSE(says(run("faults wrong-range").out, "0 lowest"));
    CHECK(says(run("faults soiled-array").out, "0.95 of the light lost"));
    CHECK(says(run("meters").out, "clamps"));
    CHECK(says(run("points hill-orchard").out, "string 2, for the leads"));
}

TEST_CASE("from how much of a fault on which test sees it: cautions first, in the fault's own unit, drawn if asked") {
    const Outcome o = run("faults --blind bench-rig --least --kind high-resistance-splice");
    INFO(o.err);
    REQUIRE(o.status == 0);
    CHECK(o.out.rfind("before you touch: ", 0) == 0);
    CHECK(says(o.out, "from how much of high-resistance-splice"));
    CHECK(says(o.out, "ohm in the joint and more"));
    const json all = json::parse(run("faults --blind bench-rig --least --json --kind high-resistance-splice").out);
    CHECK(all["faults"].size() == 3);
    const json ohms = all["faults"][0]["least"]["winding-ohms"];
    CHECK(ohms["severity"].get<double>() > 0.1);
    CHECK(all["faults"][0]["least"]["bucket"].is_null());  // a brake lifts no water
    refuses("faults --least", "expected --blind SITE");
    refuses("faults --blind bench-rig --out x.svg", "expected --least");
    refuses("faults --blind bench-rig --least --out x.doc", ".svg or .pdf");
    refuses("faults --blind bench-rig --least --kind hole-in-main", "has no place on");
}

TEST_CASE("the blind-spot map has heads that can be read, its cautions first, its legend once") {
    const Outcome o = run("faults --blind bench-rig --kind high-resistance-splice");
    INFO(o.err);
    REQUIRE(o.status == 0);
    CHECK(o.out.rfind("before you touch: ", 0) == 0);
    CHECK_FALSE(says(o.out, "winding ohms"));  // no legend
    // "winding" written downwards over its column.
    std::vector<std::string> lines;
    for (std::size_t from = 0, to; (to = o.out.find('\n', from)) != std::string::npos; from = to + 1)
        lines.push_back(o.out.substr(from, to - from));
    const std::string down = "winding";
    bool found = false;
    for (std::size_t n = 0; n + down.size() <= lines.size(); ++n) {
        bool here = true;
        for (std::size_t k = 0; k < down.size(); ++k)
            here = here && lines[n + k].size() > 42 && lines[n + k][42] == down[k];
        found = found || here;
    }
    CHECK(found);
}

TEST_CASE("a name that is not there is answered with the shipped sites, an empty file with its mistake") {
    refuses("read goat --red flow", "bench-rig, hill-orchard");
    const std::string file =
        (std::filesystem::temp_directory_path() / ("sunshaft-empty-" + std::to_string(getpid()) + ".toml")).string();
    std::ofstream(file) << "# nothing\n";
    refuses("check " + file, file + ":1:1: file: holds no key");
    std::filesystem::remove(file);
}

TEST_CASE("the examples of the help texts work") {
    const auto folder = std::filesystem::temp_directory_path() / ("sunshaft-examples-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const auto before = std::filesystem::current_path();
    std::filesystem::current_path(folder);
    for (const char* verb : {"check", "analyse", "points", "faults", "meters", "modules", "keys", "acts"}) {
        const std::string help = run(std::string(verb) + " --help").out;
        for (std::size_t at = help.find("sunshaft " + std::string(verb), help.find("Example:"));
             at != std::string::npos; at = help.find("sunshaft " + std::string(verb), at + 1)) {
            const std::string line = help.substr(at + 9, help.find('\n', at) - at - 9);
            // Half a minute, and a file of the user's own.
            if (says(line, "--blind hill-orchard") || says(line, "my-")) continue;
            INFO(line);
            CHECK(run(line).status == 0);
        }
    }
    std::filesystem::current_path(before);
    std::filesystem::remove_all(folder);
}
