// Every point a site has belongs to one part of the chain, by its name.
#include <map>

#include "catch_shim.hpp"
#include "site/load.hpp"
#include "site/points.hpp"
#include "site/works.hpp"

using namespace sunshaft;
using site::Part;

TEST_CASE("every point of every shipped site has its part, and each part has points somewhere") {
    std::map<Part, int> count;
    for (const char* name : {"bench-rig", "hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"}) {
        Scenario scenario = site::load_scenario(site::find_scenario(name));
        if (std::string(name) == "hill-orchard") scenario.supply.second = "generator";
        for (const site::PointInfo& p : site::points(site::set_up(scenario))) {
            const Part part = site::part_of(p.name);
            INFO(name << ": " << p.name << ", " << p.where);
            ++count[part];
            if (p.clamp) continue;
            CHECK(part != Part::none);
            // What the words say of it.
            const auto says = [&](const char* words) { return p.where.find(words) != std::string::npos; };
            CHECK(site::on_output(part) ==
                  (says("drop cable") || says("output terminal") || says("motor lead") || says("star point")));
            CHECK((part == Part::string) == says("string"));
            CHECK((part == Part::link) == says("DC-link"));
            CHECK((part == Part::second) == says("second supply"));
            CHECK((part == Part::guard) == (says("dry-run") || says("float")));
            CHECK((part == Part::metal) == (says("frame") || says("casing") || says("earth")));
            CHECK((site::on_array_side(part) + site::on_link_side(part) + site::on_output(part) +
                   (part == Part::guard || part == Part::metal || part == Part::second)) == 1);
        }
    }
    for (int k = 0; k < static_cast<int>(Part::none); ++k) CHECK(count[static_cast<Part>(k)] > 0);
    CHECK(site::part_of("star_V") == Part::none);
    CHECK(site::part_of("") == Part::none);
}
