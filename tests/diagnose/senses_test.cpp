// P(told | there): a proper distribution, as the file has it, and what it makes of a case.
#include "diagnose/senses.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "asked.hpp"
#include "bench/senses.hpp"
#include "catch_shim.hpp"
#include "diagnose/facts.hpp"
#include "diagnose/suspects.hpp"
#include "diagnose/trials.hpp"
#include "files/input.hpp"
#include "files/shipped.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using diagnose::Answer;
using namespace sunshaft::test;

namespace {

unsigned count(const std::string& gauge) {
    unsigned all = 1;
    for (const auto& part : bench::sense_parts(gauge)) all *= static_cast<unsigned>(part.words.size());
    return all;
}
unsigned number(const char* gauge, const char* words) { return bench::sense_told(gauge, words).value(); }

Answer ask(const std::string& text) {
    const auto p = priors_of({"isolator-contact", "output-terminal-loose", "worn-pump", "drive-dead"});
    diagnose::Diagnosis d(diagnose::parse_case("site = \"hill-orchard\"\n" + text, "my.toml"), p, kept().path());
    return d.answer({}, false);
}
std::string told(const char* gauge, const char* shown, const char* first = "") {
    return std::string("[[seen]]\n") + first + "gauge = \"" + gauge + "\"\nshown = \"" + shown + "\"\n";
}

}  // namespace

TEST_CASE("what is told of anything there sums to one, whatever the doubt") {
    const diagnose::Senses& senses = diagnose::shipped_senses();
    for (const char* gauge : {"lamps", "drive_stop", "outlet", "settles", "sound", "vibration", "box", "lug", "smell",
                              "modules", "lug.isolator", "modules.s1"}) {
        REQUIRE(bench::told_in_words(gauge));
        for (const double doubt : {0.0, 0.02, 0.5, 1.0})
            for (unsigned there = 0; there < count(gauge); ++there) {
                double sum = 0.0, most = 0.0;
                for (unsigned said = 0; said < count(gauge); ++said) {
                    const double p = senses.told(gauge, said, there, doubt);
                    CHECK(p > 0.0);
                    sum += p, most = std::max(most, p);
                }
                INFO(gauge << " " << there << " " << doubt);
                CHECK(sum == approx(1.0).epsilon(1e-12));
                if (doubt < 0.1) CHECK(senses.told(gauge, there, there, doubt) == approx(most));
            }
    }
    CHECK(senses.told("smell", 3, 0) == 0.0);  // no such word
}

TEST_CASE("each share is what the file says") {
    const diagnose::Senses& senses = diagnose::shipped_senses();
    CHECK(senses.told("smell", 0, 2) == approx(0.35));
    CHECK(senses.told("smell", 2, 0) == approx(0.015));
    CHECK(senses.told("smell", 2, 2) == approx(1 - 0.35 - 0.15));
    CHECK(senses.told("lamps", 0b0000011, 0b0000011) == approx(std::pow(0.99, 7)));
    CHECK(senses.told("lamps", 0b0000001, 0b0000011) == approx(0.01 * std::pow(0.99, 6)));
    const unsigned evenly = number("sound", "runs evenly"), grinds = number("sound", "runs evenly, a grinding");
    CHECK(senses.told("sound", evenly, grinds) == approx(0.3 * senses.told("sound", evenly, evenly) / 0.96));
    CHECK(senses.told("sound", grinds, evenly) < 0.03);
    for (const char* gauge : {"sound", "smell", "lug"})
        for (unsigned a = 0; a < count(gauge); ++a)
            for (unsigned b = 0; b < count(gauge); ++b) {
                CHECK(senses.apart2(gauge, a, b) == approx(senses.apart2(gauge, b, a)).margin(1e-9));
                CHECK((senses.apart2(gauge, a, b) == 0.0) == (a == b));
            }
}

TEST_CASE("a table of senses that is wrong is refused in one line with its place") {
    const std::string good = files::read_whole(files::shipped_data() + "/scenarios/senses.toml", files::most_settings);
    const auto why = [&](const std::string& from, const std::string& to) {
        std::string text = good;
        text.replace(text.find(from), from.size(), to);
        try {
            (void)diagnose::parse_senses(text, "my.toml");
        } catch (const site::BadInput& e) {
            return std::string(e.what());
        }
        return std::string();
    };
    CHECK(why("[smell]", "[smelt]").starts_with("my.toml:"));
    CHECK(why("\"burnt\" = 0.015", "\"burnt\" = 1.5").find(": burnt: expected a share") != std::string::npos);
    CHECK(why("\"burnt\" = 0.015", "\"toast\" = 0.1").find(": toast: is not told in its place") != std::string::npos);
    CHECK(why("\"cold\" = {", "\"frozen\" = {").find(": frozen: is not told so") != std::string::npos);
    CHECK(
        why("\"nothing\" = 0.35, \"warm dust or varnish\" = 0.15", "\"nothing\" = 0.5, \"warm dust or varnish\" = 0.45")
            .find(": burnt: is told as it is by less than a tenth") != std::string::npos);
    CHECK(why("\"nothing\" = 0.4,", "\"nothing\" = 0.4, \"warm\" = ").starts_with("my.toml:"));
    CHECK(why("wrong = 0.06", "rong = 0.06").find(": wrong: expected a share") != std::string::npos);
}

TEST_CASE("nothing smelt, marked or shaking speaks for health; one false report alone makes no fault") {
    const std::string dead = "do = [\"open@isolator\", \"pull@pump\"]\n";
    const std::string runs = told("outlet", "water flows") + told("lamps", "supply, running");
    const std::string clean = told("smell", "nothing") + told("box", "hand-warm") + told("vibration", "steady") +
                              told("lug.isolator", "clean", dead.c_str()) + told("lug.drive", "clean", dead.c_str()) +
                              told("lug.connector", "clean", dead.c_str());
    const Answer before = ask(runs), all = ask(runs + clean),
                 smells = ask(runs + clean + told("lug", "clean") + told("smell", "burnt"));
    CHECK(all.notes.empty());
    CHECK(share(all, "health") > 1.3 * share(before, "health"));
    CHECK(share(all, "isolator-contact") < 0.3 * share(before, "isolator-contact"));
    CHECK(share(all, "output-terminal-loose") < 0.3 * share(before, "output-terminal-loose"));
    // A burnt smell and nothing else to it.
    const Answer alone = ask(runs + told("smell", "burnt"));
    const auto faults = [](const Answer& a) {
        double most = 0.0;
        for (const auto& s : a.suspects)
            if (site::find_fault(s.fault)) most = std::max(most, s.probability);
        return most;
    };
    INFO(faults(before) << " " << faults(alone) << " " << faults(smells));
    CHECK(share(alone, "isolator-contact") + share(alone, "output-terminal-loose") >
          share(before, "isolator-contact") + share(before, "output-terminal-loose"));
    CHECK(faults(alone) < 0.8);
    CHECK(faults(smells) < 0.5);
    CHECK(share(smells, "health") > share(before, "health"));
}

TEST_CASE("who has looked at all lugs is not sent to look at some of them") {
    const diagnose::Priors p = diagnose::load_priors(diagnose::shipped_priors());
    const site::Works works = site::set_up(site::load_scenario(site::find_scenario("hill-orchard")));
    const auto proposes = [&](const std::string& seen) {
        const auto c = diagnose::parse_case("site = \"hill-orchard\"\n" + seen, "my.toml");
        const auto left = diagnose::left_to_do(works, c, p);
        return std::count_if(left.begin(), left.end(),
                             [](const diagnose::Candidate& x) { return std::string_view(x.test->id) == "lugs"; });
    };
    const char* dead = "do = [\"open@isolator\", \"pull@pump\"]\n";
    CHECK(proposes("") == 1);
    CHECK(proposes(told("lug.isolator", "clean", dead)) == 1);
    CHECK(proposes(told("lug", "clean", dead)) == 0);
    CHECK(ask(told("box", "blue")).notes.size() == 1);
}

TEST_CASE("a smell told at the telephone is a reading, in either language, and no talk of what happened before") {
    const Answer before = ask("");
    for (const char* said : {"smells burnt", "huele a quemado"}) {
        const Answer a = ask(std::string("intake = [\"") + said + "\"]\n");
        INFO(said);
        CHECK(a.notes.empty());
        CHECK(share(a, "isolator-contact") > 1.5 * share(before, "isolator-contact"));
        CHECK(share(a, "worn-pump") < share(before, "worn-pump"));
    }
    const diagnose::Priors p = diagnose::load_priors(diagnose::shipped_priors());
    CHECK(p.times("isolator-contact", {"smell"}) == approx(1.0));
    CHECK(p.times("isolator-contact", {"a scorched plug years ago"}) == approx(3.0));
    CHECK(diagnose::sensed_in_passing("warm box"));
    CHECK_FALSE(diagnose::sensed_in_passing("new isolator, old one burnt"));
}
