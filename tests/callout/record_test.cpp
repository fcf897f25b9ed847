// What a call-out leaves in its journal: every deed, the truth not before the account; taken up again it stands as it
// was left.

#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>

#include "../files/scratch.hpp"
#include "callout/seal.hpp"
#include "callout/spoken.hpp"
#include "catch_shim.hpp"
#include "files/input.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::callout;

namespace {

Scenario rig() { return site::load_scenario(site::find_scenario("bench-rig")); }
Callout bad_splice() {
    Callout c;
    c.site = "bench-rig";
    c.owner.own = "Since Tuesday it runs rough.";
    c.faults = {{"high-resistance-splice", "v", 4.0, 0.0}};
    c.truth = {"high-resistance-splice", "v"};
    c.sealed = sealed(c);
    return c;
}

const std::vector<std::string> day = {
    "look",    "clamp u",  "clamp v",        "read drive.u drive.v acv", "do stop@drive", "do open@isolator",
    "wait 60", "strike 2", "do pull@pump !", "read lead.u lead.v ohm",   "swap",          "read lead.v lead.w ohm"};

}  // namespace

TEST_CASE("left at any line and taken up again, a call-out stands as it was, and every start is counted") {
    const Callout c = bad_splice();
    std::vector<std::string> whole;
    {
        Visit visit(rig(), c);
        Spoken play(visit, {}, {"Ana", "Ben"});
        for (const std::string& line : day) (void)play.line(line);
        for (const auto& s : visit.notes().seen) whole.push_back(s.what() + " " + says(s));
    }
    REQUIRE(whole.size() >= 8);
    const test::Scratch f;
    for (std::size_t n = 0; n < day.size(); ++n) {
        // A new program for every line.
        Record record(f / "ana.journal");
        const Attempt& a = record.begin(c, {"Ana", "Ben"}, {});
        CHECK(a.starts == static_cast<int>(n + 1));
        Visit visit(rig(), c);
        visit.keep_in(record);
        Spoken play(visit, a.terms, a.who);
        (void)play.line(day[n]);
    }
    const std::vector<Attempt> all = attempts(journal::read(f / "ana.journal"));
    REQUIRE(all.size() == 1);
    CHECK(all[0].starts == static_cast<int>(day.size()));
    CHECK(all[0].unsafe() == std::vector<std::string>{"pull@pump"});
    std::vector<std::string> kept;
    for (const auto& s : all[0].notes().seen) kept.push_back(s.what() + " " + says(s));
    CHECK(kept == whole);
    CHECK_FALSE(all[0].over());
    REQUIRE(unfinished(f / "ana.journal"));
    CHECK(unfinished(f / "ana.journal")->call == id_of(c.sealed));
    CHECK(unsealed(unfinished(f / "ana.journal")->sealed, "journal").truth == c.truth);
}

TEST_CASE("nothing in a journal tells what is wrong before the account does") {
    const test::Scratch f;
    const Callout c = bad_splice();
    Record record(f / "ana.journal");
    record.begin(c, {"Ana"}, {});
    Visit visit(rig(), c);
    visit.keep_in(record);
    Spoken play(visit, {}, {"Ana"});
    for (const std::string& line : day) (void)play.line(line);
    const auto text = [&] { return files::read_whole(f / "ana.journal", 1 << 20); };
    CHECK(text().find("splice") == std::string::npos);
    CHECK(text().find("resistance") == std::string::npos);
    Account account;
    account.truth = title_of(c.truth);
    record.marked("Ana", c, {"seized", "motor"}, account);
    CHECK(text().find("high-resistance-splice") != std::string::npos);
    CHECK(record.now().over());
    CHECK_FALSE(unfinished(f / "ana.journal"));
    // Another go at the same call-out is another attempt.
    CHECK(record.begin(c, {"Ana"}, {}).starts == 1);
    CHECK(attempts(journal::read(f / "ana.journal")).size() == 2);
}

TEST_CASE("what is struck out or undone stays in the journal, with what took it back") {
    const test::Scratch f;
    Record record(f / "ana.journal");
    record.begin(bad_splice(), {}, {});
    Deed read{Deed::Kind::read};
    read.seen.gauge = "flow", read.seen.shown = "3 m3/h";
    record.deed(read);
    record.deed({Deed::Kind::act, 1.0, "open@isolator"});
    record.deed({Deed::Kind::undo, 2.0, "open@isolator"});
    Deed strike{Deed::Kind::strike};
    record.deed(strike);
    const Attempt a = attempts(journal::read(f / "ana.journal")).at(0);
    CHECK(a.deeds.size() == 4);
    CHECK(a.notes().seen.empty());
    record.deed(strike);
    CHECK(attempts(journal::read(f / "ana.journal")).at(0).notes().seen.size() == 1);
}

TEST_CASE("an exam stops what is unsafe, counts it, and tells no figure") {
    const test::Scratch f;
    Record record(f / "ana.journal");
    record.begin(bad_splice(), {"Ana"}, {true, 90.0, 1.0});
    Visit visit(rig(), bad_splice());
    visit.keep_in(record);
    visit.exam(true);
    Spoken play(visit, record.now().terms, {"Ana"});
    std::vector<std::string> said = play.line("do pull@pump !");
    REQUIRE_FALSE(said.empty());
    CHECK(said.back() == "  stopped: Disconnect the pump wires. It is unsafe now, and it counts.");
    said = play.line("read lead.u lead.v ohm !");
    CHECK(said.back().find("stopped") != std::string::npos);
    CHECK(visit.notes().seen.empty());
    CHECK(visit.conducted({}).unsafe.size() == 2);
    // It was not done: the site runs on.
    CHECK(visit.gauge("sound") != "silent");
    // Taken up again it is still an exam, and still counts.
    CHECK(attempts(journal::read(f / "ana.journal")).at(0).terms.exam);
    CHECK(attempts(journal::read(f / "ana.journal")).at(0).unsafe().size() == 2);
}

TEST_CASE("the time of an exam ends it, and extra time is a setting") {
    Visit visit(rig(), bad_splice());
    visit.exam(true);
    const auto readings = [&](const Terms& terms) {
        Spoken play(visit, terms, {});
        int taken = 0;
        for (int n = 0; n < 12; ++n) taken += play.line("clamp u").back().find("time is up") == std::string::npos;
        return taken;
    };
    CHECK(readings({true, 8.0, 1.0}) == 4);   // two minutes each
    CHECK(readings({true, 8.0, 1.5}) == 2);   // so many more
    CHECK(readings({true, 0.0, 1.0}) == 12);  // as long as it takes
}

TEST_CASE("what is typed amiss in a call-out is said in its own words") {
    Visit visit(rig(), bad_splice());
    Spoken play(visit, {}, {});
    const auto says = [&](const char* line) { return play.line(line).back(); };
    CHECK(says("say lost-phase").find("lost-phase: where?") != std::string::npos);
    CHECK_FALSE(play.over());
    CHECK(says("read lead.u lead.v ohm!").find("is no mode") == std::string::npos);
    CHECK(visit.conducted({}).unsafe.size() == 1);
    CHECK(says("wait x") == "  wait: x: expected seconds, 0 to 3600");
    CHECK(says("wait 5") == "  done");
    for (const char* line : {"do open@nowhere", "do fly@moon", "do !", "read drive.u drive.v acv nonesuch"}) {
        const std::string answer = says(line);
        INFO(answer);
        CHECK(answer.find("--") == std::string::npos);
        CHECK(answer.find(".toml") == std::string::npos);
        CHECK(answer.find('/') == std::string::npos);
        CHECK(answer.find("expected") != std::string::npos);
    }
    CHECK_FALSE(play.over());
}

TEST_CASE("two at one laptop change roles and each says for himself what it is") {
    Visit visit(rig(), bad_splice());
    Spoken play(visit, {}, {"Ana", "Ben"});
    CHECK(play.roles() == "Ana has the meter, Ben the notes.");
    CHECK(play.line("swap") == std::vector<std::string>{"Ben has the meter, Ana the notes."});
    CHECK(play.line("say seized@motor") == std::vector<std::string>{"Kept. Now Ben says what it is."});
    CHECK_FALSE(play.over());
    CHECK(play.line("say nonsense").back().find("is no fault") != std::string::npos);
    (void)play.line("say high-resistance-splice@v lost-phase@u");
    REQUIRE(play.over());
    CHECK(play.conducted(0).named.fault == "seized");
    CHECK(play.conducted(1).named.fault == "high-resistance-splice");
    REQUIRE(play.conducted(1).second);
    CHECK(play.conducted(1).second->place == "u");
}

TEST_CASE("killed at any moment, a visit loses at most the act it was at") {
    const test::Scratch f;
    const Callout c = bad_splice();
    const char* many = std::getenv("SUNSHAFT_MOMENTS");
    const int moments = many ? std::atoi(many) : 6;
    for (int n = 0; n < moments; ++n) {
        std::filesystem::remove(f / "ana.journal");
        int pipe[2];
        REQUIRE(::pipe(pipe) == 0);
        const pid_t child = fork();
        if (child == 0) {
            try {
                Record record(f / "ana.journal");
                record.begin(c, {"Ana"}, {});
                Visit visit(rig(), c);
                visit.keep_in(record);
                for (;;) {
                    visit.gauge("sound");
                    if (::write(pipe[1], "x", 1) != 1) _exit(1);
                }
            } catch (...) {
                _exit(2);
            }
        }
        ::close(pipe[1]);
        // From before the journal is there to well into the visit.
        ::usleep(static_cast<useconds_t>(2000 + 700 * (n * 7919 % 997)));
        ::kill(child, SIGKILL);
        int status = 0;
        ::waitpid(child, &status, 0);
        CHECK(WIFSIGNALED(status));
        std::size_t told = 0;
        for (char x; ::read(pipe[0], &x, 1) == 1;) ++told;
        ::close(pipe[0]);
        std::size_t kept = 0;
        if (std::filesystem::exists(f / "ana.journal"))
            for (const Attempt& a : attempts(journal::read(f / "ana.journal"))) kept += a.deeds.size();
        INFO(n);
        CHECK(kept >= told);
        CHECK(kept <= told + 1);
    }
}
