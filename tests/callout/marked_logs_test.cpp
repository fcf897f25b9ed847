// Twenty visits marked by hand (data/marked_logs.toml): the program agrees within five points.

#include <fmt/format.h>
#include <toml++/toml.h>
#include <unistd.h>

#include <filesystem>
#include <set>

#include "callout/spoken.hpp"
#include "catch_shim.hpp"
#include "site/load.hpp"
#include "site/order.hpp"

using namespace sunshaft;
using namespace sunshaft::callout;

TEST_CASE("twenty visits marked by hand are marked alike within five points") {
    const auto kept = std::filesystem::temp_directory_path() / fmt::format("sunshaft-logs-{}", getpid());
    diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    const std::set<std::string> kinds{"high-resistance-splice", "lost-phase", "winding-partly-shorted",
                                      "output-terminal-loose", "seized"};
    for (const site::FaultRow& row : site::fault_catalogue())
        if (!kinds.contains(row.kind)) priors.fault[row.kind] = 0.0;
    priors.cause["site-data"] = 0.0;
    const Scenario rig = site::load_scenario(site::find_scenario("bench-rig"));
    const toml::table all = toml::parse_file(SUNSHAFT_TEST_DATA "/marked_logs.toml");
    int seen = 0, agreed_at_once = 0;
    for (const auto& node : *all["log"].as_array()) {
        const toml::table& log = *node.as_table();
        const std::string name = log["name"].value_or(""), fault = log["fault"].value_or("");
        Callout c;
        c.site = "bench-rig";
        c.truth = {"health", ""};
        if (fault != "health") {
            const site::Order order = site::parse_order(fault);
            c.faults = {{order.kind, order.place, order.value.value_or(1.0), 0.0}};
            c.truth = {order.kind, order.place};
        }
        Visit visit(rig, c);
        Spoken play(visit, {}, {});
        std::string answers;
        for (const auto& line : *log["does"].as_array())
            for (const std::string& said : play.line(line.value_or(std::string()))) answers += said + "\n";
        CHECK(answers.find("expected") == std::string::npos);  // every line was understood
        (void)play.line(fmt::format("say {}", log["says"].value_or("")));
        REQUIRE(play.over());
        const Account account = judge(c, play.conducted(0), priors, kept.string());
        const double first = log["mark"].value_or(-1.0), by_hand = log["second"].value_or(first);
        agreed_at_once += std::abs(account.mark - first) <= 5.0 ? 1 : 0;
        std::string table = answers;
        for (const std::string& line : words(account)) table += line + "\n";
        INFO(name << "\nby hand " << by_hand << ", because " << log["because"].value_or("") << "\n" << table);
        CHECK(std::abs(account.mark - by_hand) <= 5.0);
        ++seen;
    }
    CHECK(seen == 20);
    CHECK(agreed_at_once >= 15);
    std::filesystem::remove_all(kept);
}
