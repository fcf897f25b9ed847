// The case file: its contract, its mistakes, and that what is written reads back as the same.
#include <filesystem>
#include <fstream>
#include <random>

#include "catch_shim.hpp"
#include "diagnose/case.hpp"
#include "site/keys.hpp"

using namespace sunshaft;
using diagnose::Case;

namespace {

const char* const contract = R"(site = "hill-orchard"
sky = { irradiance_W_m2 = 640, module_temperature_degC = 48, source = "in-plane meter" }
to_hand = ["multimeter", "clamp-ac"]
alone = true
who = "authorised"
intake = ["stops at noon", "electrician was here"]
[[seen]]
do = ["open@isolator", "pull@pump"]
red = "lead.u"
black = "lead.v"
mode = "ohm"
meter = "average"
shown = "3.6"
[[seen]]
around = "u"
mode = "aca"
shown = "8.4 A"
[[seen]]
gauge = "flow"
shown = "no water"
)";

std::string refusal(const std::string& text) {
    try {
        diagnose::site_of(diagnose::parse_case(text, "my.toml"));
    } catch (const site::BadInput& why) {
        return why.what();
    }
    return "";
}

}  // namespace

TEST_CASE("a case as the contract has it") {
    const Case c = diagnose::parse_case(contract, "my.toml");
    CHECK(c.site == "hill-orchard");
    CHECK(c.irradiance == 640.0);
    CHECK(c.module_degC == 48.0);
    CHECK(c.sky_source == "in-plane meter");
    CHECK(c.to_hand == std::vector<std::string>{"multimeter", "clamp-ac"});
    CHECK(c.who == "authorised");
    CHECK(c.alone);
    CHECK(c.intake.size() == 2);
    REQUIRE(c.seen.size() == 3);
    CHECK(c.seen[0].act == std::vector<std::string>{"open@isolator", "pull@pump"});
    CHECK(c.seen[0].what() == "lead.u - lead.v");
    CHECK(c.seen[1].what() == "clamp on u");
    CHECK(c.seen[2].shown == "no water");
    CHECK(c.aside.empty());
    CHECK(diagnose::site_of(c).site.name == "Hill Orchard");
}

TEST_CASE("broken TOML, no site and unknown points are told with their place; all else is put aside") {
    CHECK(refusal("site = \n").starts_with("my.toml:1:"));
    CHECK(refusal("[[seen]]\nshown = 3\n").find("site: is missing") != std::string::npos);
    CHECK(refusal("site = \"no-such-site\"\n").find("no-such-site") != std::string::npos);
    const std::string point = refusal("site = \"hill-orchard\"\n[[seen]]\nred = \"led.u\"\nblack = \"lead.v\"\n");
    CHECK(point.starts_with("my.toml:3:7: seen.red: led.u"));
    CHECK(point.find("did you mean lead.u?") != std::string::npos);
    CHECK(refusal("site = \"hill-orchard\"\n[[seen]]\naround = \"lead.u\"\n").starts_with("my.toml:3:10: seen.around"));
    CHECK(refusal("site = \"stone-fold\"\n[[seen]]\naround = \"s2\"\n").find("s2") != std::string::npos);
    CHECK(refusal("site = \"hill-orchard\"\n[[seen]]\naround = \"u,-v\"\n").empty());
    const Case c = diagnose::parse_case(
        "site = \"hill-orchard\"\ncolour = 3\nsky = { irradiance_W_m2 = \"much\" }\nintake = \"one\"\n[[seen]]\n"
        "shown = 3.6\nred = \"lead.u\"\nblack = \"lead.v\"\nat = 2026-11-28T12:36:00\nsmell = \"burnt\"\n",
        "my.toml");
    CHECK(c.aside.size() == 3);
    CHECK(c.aside[0].starts_with("my.toml:2:1: colour"));
    CHECK(c.intake == std::vector<std::string>{"one"});
    CHECK(c.seen[0].shown == "3.6");
    CHECK(c.seen[0].at.starts_with("2026-11-28"));
}

TEST_CASE("a case that is written reads back as it was") {
    std::mt19937_64 dice(22);
    const auto word = [&]() -> std::string {
        static const char* const words[] = {"", "u", "lead.v", "say \"OL\"", "back\\slash", "3,6 k\xce\xa9", "a\tb"};
        return words[dice() % std::size(words)];
    };
    for (int n = 0; n < 200; ++n) {
        Case c = diagnose::parse_case(contract, "my.toml");
        c.who = word();
        c.sky_at = word() + "x";
        c.tried = {{"string-fuse-blown", word(), "no change " + word(), word(), dice() % 4}};
        c.intake = {word() + "x", word() + "y"};
        for (auto& s : c.seen) {
            s.sound = word();
            s.message = word();
            s.at = word();
            s.zeroed = dice() % 2;
            if (dice() % 2) s.after_s = static_cast<double>(dice() % 100);
        }
        const Case once = diagnose::parse_case(diagnose::to_toml(c), "my.toml");
        const Case twice = diagnose::parse_case(diagnose::to_toml(once), "my.toml");
        CHECK(once.aside.empty());
        CHECK(once.seen == twice.seen);
        CHECK(once.tried == twice.tried);
        CHECK(once.tried.front().what() == diagnose::Tried::What::no_change);
        CHECK(once.intake == twice.intake);
        CHECK(once.who == twice.who);
        CHECK(once.seen.size() == c.seen.size());
        CHECK(once.irradiance == c.irradiance);
        CHECK(once.sky_at == diagnose::parse_case(diagnose::to_toml(once), "my.toml").sky_at);
        CHECK_FALSE(once.sky_at.empty());
        CHECK(once.seen[0].act == c.seen[0].act);
    }
    const auto file = std::filesystem::temp_directory_path() / "sunshaft-case-test.toml";
    const Case c = diagnose::parse_case(contract, "my.toml");
    diagnose::write_case(c, file.string());
    CHECK(diagnose::read_case(file.string()).seen == c.seen);
    std::filesystem::remove(file);
    CHECK_THROWS_AS(diagnose::read_case(file.string()), site::BadInput);
}
