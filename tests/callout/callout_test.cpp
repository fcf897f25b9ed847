// Call-outs: the seal tells nothing, the complaint follows from what shows, the visit notes what was read, and the
// account judges by what the learner's own readings bear.

#include <fmt/format.h>

#include <filesystem>
#include <numeric>
#include <set>

#include "../diagnose/asked.hpp"
#include "../files/scratch.hpp"
#include "../site_named.hpp"
#include "callout/seal.hpp"
#include "callout/spoken.hpp"
#include "callout/visit.hpp"
#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

using namespace sunshaft;
using namespace sunshaft::callout;
using sunshaft::test::site_named;
using test::approx;

namespace {

Callout planted(const std::string& site, const std::string& kind, const std::string& place, double severity) {
    Callout c;
    c.site = site;
    c.owner.own = "Since Tuesday no water comes.";
    c.faults = {{kind, place, severity, 0.0}};
    c.truth = {kind, place};
    return c;
}

}  // namespace

TEST_CASE("a sealed call-out tells nothing, whatever is in it, and comes back whole") {
    std::size_t length = 0;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        Callout c = planted("hill-orchard", row.kind, "somewhere", row.usual);
        const std::string text = sealed(c), again = sealed(c);
        INFO(row.kind);
        CHECK(text.find(row.kind) == std::string::npos);
        CHECK(text != again);  // equal faults do not look equal
        if (length == 0) length = text.size();
        CHECK(text.size() == length);
        const Callout back = unsealed(text, "x.toml");
        CHECK(back.truth == c.truth);
        REQUIRE(back.faults.size() == 1);
        CHECK(back.faults[0].severity == row.usual);
        CHECK(words(back.owner) == words(c.owner));
    }
}

TEST_CASE("only the word it was sealed with opens it, and a broken seal is said so") {
    Callout c = planted("hill-orchard", "lost-phase", "splice.v", 1.0);
    c.word = "kestrel";
    const std::string text = sealed(c);
    CHECK(text.find("kestrel") == std::string::npos);
    const Callout back = unsealed(text, "x.toml");
    CHECK(opens(back, "kestrel"));
    CHECK_FALSE(opens(back, "Kestrel"));
    CHECK_FALSE(opens(back, ""));
    c.word.clear();
    CHECK(opens(unsealed(sealed(c), "x.toml"), ""));

    std::string broken = text;
    const std::size_t at = broken.find("sealed") + 40;
    broken[at] = broken[at] == 'A' ? 'B' : 'A';
    CHECK_THROWS_WITH(unsealed(broken, "x.toml"),
                      sunshaft::test::Contains("x.toml:") && sunshaft::test::Contains("the seal is broken"));
    CHECK_THROWS_AS(unsealed("kind = 'something else'\n", "x.toml"), site::BadInput);
    CHECK_THROWS_AS(unsealed("kind = [", "x.toml"), site::BadInput);
    CHECK_THROWS_AS(unsealed("", "x.toml"), site::BadInput);
}

TEST_CASE("the complaint follows from what shows and from the seed alone") {
    Signs s;
    s.water = Signs::Water::none;
    s.lamps = 3;
    const std::string first = words(complaint(s, 3));
    CHECK(first.ends_with("no water comes. Lit on the box: supply, running."));
    CHECK(words(complaint(s, 3)) == first);
    s.gives_up = true;
    CHECK(words(complaint(s, 3)) != first);
    // Two causes that stop the water under a lit drive are complained of in the same words.
    const Scenario orchard = site_named("hill-orchard");
    const double usual = healthy_output(orchard);
    bench::Edits coupling, well;
    coupling.faults = {{"broken-coupling", "pump", 1.0, 0.0}};
    well.faults = {{"tank-valve-shut", "main", 1.0, 0.0}};
    const Signs a = signs(orchard, coupling, usual), b = signs(orchard, well, usual);
    CHECK(a.water == b.water);
    CHECK(a.lamps == b.lamps);
    REQUIRE(a == b);
    CHECK(words(complaint(a, 8)) == words(complaint(b, 8)));
}

TEST_CASE("the owner's words are made where they are heard, in the language there") {
    Callout c = planted("hill-orchard", "lost-phase", "splice.v", 1.0);
    c.owner = complaint({.water = Signs::Water::none, .lamps = 0b100001, .gives_up = true}, 3);
    c.owner.since = 0;
    const std::string english = words(c.owner), text = sealed(c);
    CHECK(text.find(english) == std::string::npos);
    const Callout back = unsealed(text, "x.toml");
    CHECK(back.owner.signs == c.owner.signs);
    CHECK(words(back.owner) == english);
    CHECK(english.ends_with("The box tries, gives up, and tries again. Lit on the box: supply, tripped."));
    text::speak(text::Catalogue::shipped("es"));
    const std::string spanish = words(back.owner);
    text::speak_english();
    CHECK(spanish.starts_with("Desde el martes no sale agua. "));
    CHECK(spanish.find("supply") == std::string::npos);

    const auto mistaken = [&](const std::string& right, const std::string& wrong, const std::string& words) {
        std::string spoilt = text;
        const std::size_t at = spoilt.find(right);
        REQUIRE(at != std::string::npos);
        CHECK_THROWS_WITH(unsealed(spoilt.replace(at, right.size(), wrong), "x.toml"), sunshaft::test::Contains(words));
    };
    mistaken("'tripped'", "'trapped'", "owner.lamps: expected names of lamps");
    mistaken("'none'", "'some'", "owner.water: expected none, little, usual");
    mistaken("since", "when", "owner.since: expected 0 to 3");
}

TEST_CASE("seeds repeat what they draw, level 1 stops the water, and some calls are about nothing") {
    const Scenario orchard = site_named("hill-orchard");
    const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    const double usual = healthy_output(orchard);
    int nothing = 0;
    std::set<std::string> kinds;
    for (std::uint64_t seed = 1; seed <= 24; ++seed) {
        const Callout c = draw(orchard, priors, {seed, 1});
        if (seed <= 6) CHECK(draw(orchard, priors, {seed, 1}).truth == c.truth);
        kinds.insert(c.truth.fault);
        if (c.faults.empty()) {
            ++nothing;
            CHECK((c.truth.fault == "health" || c.truth.fault == "low-sun"));
            continue;
        }
        CHECK(priors.fault.at(c.truth.fault) >= 2.0);
        CHECK(signs(orchard, edits(c), usual).water == Signs::Water::none);
    }
    CHECK(nothing >= 1);  // one in five: none of 24 would be one run in 200
    CHECK(nothing <= 12);
    CHECK(kinds.size() >= 5);
}

TEST_CASE("a visit refuses what is unsafe, counts what is done all the same, and notes what was read in its state") {
    Visit visit(site_named("hill-orchard"), planted("hill-orchard", "lost-phase", "splice.v", 1.0));
    CHECK_FALSE(visit.cautions({"lead.u", "lead.v", ""}, meter::Mode::ohm, "").empty());
    CHECK_THROWS_AS(visit.read({"lead.u", "lead.v", ""}, meter::Mode::ohm, "", false), bench::Refused);
    CHECK(visit.notes().seen.empty());
    CHECK(visit.conducted({}).unsafe.empty());
    CHECK_THROWS_AS(visit.act("pull", "pump", false), bench::Refused);
    visit.act("open", "isolator", false);
    visit.wait(120.0);
    visit.act("pull", "pump", false);
    CHECK(visit.read({"lead.w", "lead.u", ""}, meter::Mode::ohm, "", false).find("ohm") != std::string::npos);
    CHECK(visit.read({"lead.u", "lead.v", ""}, meter::Mode::ohm, "", false) == "OL");
    visit.act("restore", "pump", false);
    CHECK(visit.gauge("outlet") == "no water");
    const auto& seen = visit.notes().seen;
    REQUIRE(seen.size() == 3);
    CHECK(seen[0].act == std::vector<std::string>{"open@isolator", "pull@pump"});
    CHECK(seen[2].act == std::vector<std::string>{"open@isolator"});
    CHECK(seen[2].gauge == "flow");  // a figure, by eye
    CHECK(seen[2].shown == "no water");
    CHECK_THROWS_AS(visit.wait(-1.0), site::BadInput);
    CHECK_THROWS_AS(visit.act("open", "nowhere", false), site::BadInput);

    // By hand: isolate 15, wires off 5, two readings of 2; refit 10 and looking 2.
    CHECK(minutes(visit.notes(), diagnose::load_priors(diagnose::shipped_priors())) == approx(36.0));

    Visit rash(site_named("hill-orchard"), planted("hill-orchard", "lost-phase", "splice.v", 1.0));
    rash.act("pull", "pump", true);
    CHECK(rash.conducted({}).unsafe.size() == 1);
}

TEST_CASE("what is typed is understood in every language, and help names the words of the one spoken") {
    Visit visit(site_named("hill-orchard"), planted("hill-orchard", "lost-phase", "splice.v", 1.0));
    Spoken play(visit, {}, {});
    const auto joined = [](const std::vector<std::string>& lines) {
        std::string all;
        for (const std::string& line : lines) all += line + "\n";
        return all;
    };
    using sunshaft::test::Contains;
    text::speak(text::Catalogue::shipped("es"));
    const std::string help = joined(play.line("ayuda"));
    for (const char* verb : {"mirar", "leer", "pinza", "medir", "hacer", "esperar", "notas", "tachar", "cambiar",
                             "decir", "salir", "ayuda"})
        CHECK_THAT(help, Contains(std::string("  ") + verb + " "));
    CHECK(joined(play.line("help")) == help);
    CHECK_THAT(joined(play.line("saltar")), Contains("mirar"));  // what is not known
    (void)play.line("Mirar");
    const std::size_t looked = visit.notes().seen.size();
    CHECK(looked > 3);
    text::speak_english();
    (void)play.line("leer drive.u drive.v acv !");
    CHECK(visit.notes().seen.size() == looked + 1);
    CHECK_THAT(joined(play.line("notas")), Contains("drive.u"));
    CHECK(joined(play.line("notes")) == joined(play.line("notas")));
    (void)play.line("decir lost-phase@splice.v");
    REQUIRE(play.over());
    CHECK(play.said().front().first.fault == "lost-phase");
}

TEST_CASE("a refusal tells what is written or what somebody has read, never what is wrong") {
    const Scenario orchard = site_named("hill-orchard");
    // With a bleed resistor that is open the link stays charged, and nobody can know it yet.
    const auto isolated = [&](const Callout& c) {
        auto visit = std::make_unique<Visit>(orchard, c);
        visit->act("open", "isolator", false);
        return visit;
    };
    const auto charged = isolated(planted("hill-orchard", "bleed-open", "link", 1.0));
    const auto other = isolated(planted("hill-orchard", "lost-phase", "splice.v", 1.0));
    const site::Act pull{"pull", "pump", 0.0};
    for (int n = 0; n < 2; ++n) {
        CHECK(charged->cautions(pull) == other->cautions(pull));
        CHECK(charged->cautions({"link+", "link-", ""}, meter::Mode::dcv, "") ==
              other->cautions({"link+", "link-", ""}, meter::Mode::dcv, ""));
        // At once the site as written is charged as well: both are refused.
        if (n == 0) CHECK_THROWS_AS(charged->act("pull", "pump", false), bench::Refused);
        if (n == 0) CHECK_THROWS_AS(other->act("pull", "pump", false), bench::Refused);
        if (n == 0) charged->wait(130.0), other->wait(130.0);
    }
    // Who did not prove it dead does it, and it counts; who read volts is told.
    const auto proved = isolated(planted("hill-orchard", "bleed-open", "link", 1.0));
    proved->wait(130.0);
    proved->read({"link+", "link-", ""}, meter::Mode::dcv, "", false);
    CHECK_THROWS_AS(proved->act("pull", "pump", false), bench::Refused);
    CHECK(proved->conducted({}).unsafe.empty());
    CHECK_NOTHROW(charged->act("pull", "pump", false));
    CHECK(charged->conducted({}).unsafe.size() == 1);
    CHECK_NOTHROW(other->act("pull", "pump", false));
    CHECK(other->conducted({}).unsafe.empty());
}

TEST_CASE("a caution tells the highest volts of the site, never this moment's") {
    const Scenario orchard = site_named("hill-orchard");
    Visit visit(orchard, planted("hill-orchard", "bleed-open", "link", 1.0));
    const site::Act pull{"pull", "pump", 0.0};
    const double highest = bench::highest_V(visit.works());
    CHECK(highest > 400.0);
    const auto tells = [&](const std::vector<std::string>& lines) {
        std::string all;
        for (const std::string& line : lines) all += line + "\n";
        INFO(all);
        CHECK(all.find(fmt::format("{:.0f} V", highest)) != std::string::npos);
        for (std::size_t at = 0; (at = all.find(" V", at)) != std::string::npos; ++at) {
            const std::size_t from = all.find_last_not_of("0123456789.", at - 1) + 1;
            if (from < at) CHECK(std::stod(all.substr(from)) >= std::round(highest));
        }
        CHECK(all.find(" J") == std::string::npos);
    };
    tells(visit.cautions("sound"));
    tells(visit.cautions(pull));
    visit.act("open", "isolator", false);
    for (const double wait : {0.0, 30.0}) {
        if (wait > 0.0) visit.wait(wait);
        tells(visit.cautions(pull));
        tells(visit.cautions({"link+", "link-", ""}, meter::Mode::dcv, ""));
        visit.read({"link+", "link-", ""}, meter::Mode::dcv, "", false);
        try {
            visit.act("pull", "pump", false);
            FAIL("not refused");
        } catch (const bench::Refused& why) {
            tells(bench::reasons(why.hazards));
        }
    }
}

TEST_CASE("what hangs in the bore is no point of a call-out") {
    Visit visit(site_named("hill-orchard"), planted("hill-orchard", "lost-phase", "splice.v", 1.0));
    for (const auto& [a, b] : {std::pair{"motor.u", "motor.n"}, {"cable.u", "cable.v"}})
        CHECK_THROWS_WITH(visit.read({a, b, ""}, meter::Mode::acv, "", false),
                          sunshaft::test::Contains("out of reach"));
    CHECK_THROWS_WITH(visit.gauge("joint_temp"), sunshaft::test::Contains("out of reach"));
    CHECK(visit.notes().seen.empty());
}

TEST_CASE("who proves the link dead while it discharges loses nothing by it") {
    const test::Scratch kept;
    const diagnose::Priors priors =
        test::priors_of({"lost-phase", "seized", "drive-dead", "isolator-leaks", "bleed-open"});
    const Callout c = planted("hill-orchard", "drive-dead", "drive", 1.0);
    const auto visit = [&](double wait_s) {
        Visit v(site_named("hill-orchard"), c);
        const auto link = [&] { v.read({"link+", "link-", ""}, meter::Mode::dcv, "", false); };
        for (const char* name : {"lamps", "drive_stop", "outlet", "sound"}) v.gauge(name);
        link();
        v.act("open", "isolator", false);
        if (wait_s > 0.0) v.wait(wait_s);
        link();
        return judge(c, v.conducted({"drive-dead", "drive"}), priors, kept.path());
    };
    const Account patient = visit(300.0), at_once = visit(0.0), soon = visit(5.0);
    INFO(fmt::format("{} {} {}", patient.mark, at_once.mark, soon.mark));
    CHECK(patient.borne);
    CHECK(patient.steps.back().free);  // for safety: no test that had to promise anything
    for (const Account* a : {&at_once, &soon}) {
        CHECK(a->borne);
        CHECK(a->mark >= patient.mark - 5.0);
    }
}

TEST_CASE("what a look alone leaves open is not borne, though it is true") {
    const test::Scratch kept;
    diagnose::Priors priors = test::priors_of({"high-resistance-splice", "winding-partly-shorted", "broken-bars"});
    priors.cause["health"] *= 3.0;
    Callout c;
    c.site = "bench-rig";
    c.truth = {"health", ""};
    Visit visit(site_named("bench-rig"), c);
    for (const char* name : {"lamps", "drive_V", "drive_Hz", "drive_A", "drive_stop", "sound"}) visit.gauge(name);
    const Account a = judge(c, visit.conducted({"health", ""}), priors, kept.path());
    INFO(fmt::format("{} {}", a.mark, a.steps.back().truth));
    REQUIRE(a.right);
    REQUIRE(a.suffices < 0);
    REQUIRE(a.steps.back().truth > 0.3);
    CHECK_FALSE(a.borne);
    CHECK(a.points[0].points == 0.0);
    CHECK(a.mark < 50.0);
}

TEST_CASE("before an ear goes to the pipe, what can be live is said") {
    const Visit visit(site_named("hill-orchard"), planted("hill-orchard", "seized", "motor", 1.0));
    CHECK_FALSE(visit.cautions("sound").empty());
    CHECK(visit.cautions("outlet").empty());
}

TEST_CASE("the account: what the readings bear counts, a lucky guess earns nothing, an unsafe act caps the mark") {
    const test::Scratch kept;
    const diagnose::Priors priors = test::priors_of(
        {"high-resistance-splice", "lost-phase", "winding-partly-shorted", "output-terminal-loose", "seized"});
    const Callout c = planted("bench-rig", "high-resistance-splice", "v", 4.0);
    Visit visit(site_named("bench-rig"), c);
    visit.gauge("sound");
    for (const char* line : {"u", "v", "w"}) visit.read({"", "", line}, meter::Mode::aca, "", false);
    visit.act("stop", "drive", false);
    visit.act("open", "isolator", false);
    visit.wait(120.0);
    visit.act("pull", "pump", false);
    for (const auto& [a, b] : {std::pair{"u", "v"}, {"v", "w"}, {"w", "u"}})
        visit.read({fmt::format("lead.{}", a), fmt::format("lead.{}", b), ""}, meter::Mode::ohm, "", false);
    const Account good = judge(c, visit.conducted({"high-resistance-splice", "v"}), priors, kept.path());
    INFO(fmt::format("{}", words(good).front()));
    CHECK(good.right);
    CHECK(good.borne);
    CHECK(good.suffices >= 0);
    CHECK(good.mark >= 80.0);
    CHECK(std::accumulate(good.points.begin(), good.points.end(), 0.0,
                          [](double sum, const Point& p) { return sum + p.of; }) == 100.0);
    CHECK(good.steps.back().truth > 0.75);

    // The same name without a reading: true, and worth nothing.
    Conducted guess;
    guess.notes.site = "bench-rig";
    guess.named = {"high-resistance-splice", "v"};
    const Account lucky = judge(c, guess, priors, kept.path());
    CHECK(lucky.right);
    CHECK(lucky.points[0].points == 0.0);
    CHECK(lucky.mark <= 30.0);

    // The same readings and another name.
    const Account wrong = judge(c, visit.conducted({"seized", "motor"}), priors, kept.path());
    CHECK_FALSE(wrong.right);
    CHECK(wrong.points[0].points == 0.0);

    Conducted rash = visit.conducted({"high-resistance-splice", "v"});
    rash.unsafe = {"pull@pump"};
    CHECK(judge(c, rash, priors, kept.path()).mark <= 40.0);
    const std::vector<std::string> lines = words(good);
    for (const std::string& line : lines) CHECK(line.size() <= 110);
    // Both ways stand beside each other.
    CHECK(std::ranges::any_of(lines, [](const std::string& line) {
        return line.find("your way") != std::string::npos && line.find("a short way") != std::string::npos;
    }));
}
