// Acts change the wiring and their counterparts undo them.
#include <cmath>
#include <map>

#include "catch_shim.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/wiring.hpp"

using namespace sunshaft;
using namespace sunshaft::site;

TEST_CASE("every act changes something and can be undone") {
    const std::map<std::string, std::string> undone_by = {
        {"open", "close"}, {"pull", "restore"},      {"cover", "uncover"}, {"jumper", "unjumper"},
        {"stop", "start"}, {"exchange", "exchange"}, {"shut", "reopen"},   {"lift", "lower"}};
    for (const char* name : {"stone-fold", "hill-orchard", "bench-rig"}) {
        const Works healthy = set_up(load_scenario(find_scenario(name)));
        for (const ActRow& row : act_catalogue()) {
            const auto counter = undone_by.find(row.kind);
            if (counter == undone_by.end()) continue;
            for (const std::string& place : row.places(healthy)) {
                INFO(name << ": " << row.kind << "@" << place);
                Works w = healthy;
                apply(w, Act{row.kind, place, 0.0});
                CHECK_FALSE(w == healthy);
                apply(w, Act{counter->second, place, 0.0});
                CHECK((w == healthy));
            }
        }
    }
}

TEST_CASE("a connector between two modules answers to both leads") {
    const Works healthy = set_up(load_scenario(find_scenario("river-meadow")));
    Works a = healthy, b = healthy;
    apply(a, parse_act("open@s1.m2-", healthy));
    apply(b, parse_act("open@s1.m3+@5", healthy));
    CHECK((a == b));
    CHECK(parse_act("open@s1.m3+@5", healthy).time == 5.0);
    CHECK(parse_act("cover", healthy).place == "array");
}

TEST_CASE("a fuse that has blown is mended by a new one, not by putting it back") {
    const Works healthy = set_up(load_scenario(find_scenario("hill-orchard")));
    Works w = healthy;
    apply(w, Fault{"string-fuse-blown", "s2", 1.0, 0.0});
    apply(w, Act{"open", "fuse.s2", 0.0});
    apply(w, Act{"close", "fuse.s2", 0.0});
    CHECK(std::isinf(w.array.strings[1].through_fuse()));
    apply(w, Act{"renew", "s2", 0.0});
    CHECK((w == healthy));
}

TEST_CASE("one string under a cover lies in the dark, the others in the light") {
    Works w = set_up(load_scenario(find_scenario("hill-orchard")));
    apply(w, Act{"cover", "s1", 0.0});
    const auto amps = [&](std::size_t string) {
        return sub_string(w.array, w.array.strings[string].modules[4], 1).cells.IL;
    };
    CHECK(amps(0) == 0.0);
    CHECK(amps(1) > 1.0);
    CHECK(w.array.sunlight() > 0.0);
}

TEST_CASE("a hand on the tank's float opens it, and frees it where it hangs") {
    Works w = set_up(load_scenario(find_scenario("hill-orchard")));
    REQUIRE_FALSE(w.guards.says_full());
    apply(w, Act{"lift", "float", 0.0});
    CHECK(w.guards.says_full());
    apply(w, Act{"lower", "float", 0.0});
    CHECK_FALSE(w.guards.says_full());
    apply(w, Fault{"float-stuck-up", "float", 1.0, 0.0});
    apply(w, Act{"lower", "float", 0.0});  // it still hangs
    CHECK(w.guards.says_full());
    apply(w, Act{"free", "float", 0.0});
    CHECK_FALSE(w.guards.says_full());
    // A welded contact stays closed whoever lifts it.
    apply(w, Fault{"float-stuck-down", "float", 0.2, 0.0});
    apply(w, Act{"lift", "float", 0.0});
    CHECK_FALSE(w.guards.says_full());
}

TEST_CASE("what cannot be done is refused in one line") {
    const Works w = set_up(load_scenario(find_scenario("river-meadow")));
    const auto message = [&](const std::string& text) -> std::string {
        try {
            parse_act(text, w);
        } catch (const BadInput& e) {
            return e.what();
        }
        return "";
    };
    CHECK(message("opn@isolator").find("--do: \"opn\" is unknown, expected an act") == 0);
    CHECK(message("opn@isolator").find("did you mean open?") != std::string::npos);
    CHECK(message("open@isolater").find("did you mean isolator?") != std::string::npos);
    CHECK(message("open@s1.m9-").find("is not on this site") != std::string::npos);
    CHECK(message("open@isolator=3").find("takes no value") != std::string::npos);
    CHECK(message("open").find("is not on this site") != std::string::npos);
}
