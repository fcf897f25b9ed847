// A call-out on the bench: nothing of it shows while it is sealed, nothing is kept of it, and the bench as it stood
// comes back.
#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <csignal>
#include <cstdlib>

#include <filesystem>

#include "bad_splice.hpp"
#include "callout/moment.hpp"
#include "callout/seal.hpp"
#include "callout/spoken.hpp"
#include "callout/visit.hpp"
#include "desk_support.hpp"
#include "diagnose/sights.hpp"
#include "diagnose/typed.hpp"
#include "look.hpp"
#include "text/words.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

TEST_CASE("a sealed call-out hides its fault, refuses to be changed, and is judged by the notebook") {
    Desk desk(site_named("bench-rig"), false);
    desk.place({"drive.u", "drive.v", ""});
    desk.set("supply.voltage_V", "300");
    desk.work(1.0);
    const std::string before = desk.session();
    desk.bring_call(bad_splice());
    REQUIRE(desk.sealed());
    desk.work(2.0);
    CHECK(desk.snapshot()->hidden);
    CHECK(desk.snapshot()->edits.faults.empty());
    CHECK(desk.session() == before);  // what a kill leaves behind
    CHECK(desk.notebook.notes().empty());
    CHECK_FALSE(desk.can_undo());
    desk.marks_hidden = false;
    CHECK(desk.snapshot()->hidden);

    desk.plant("lost-phase", "splice.u", 1.0);
    CHECK_FALSE(desk.last_error().empty());
    desk.heal_all();
    desk.set("supply.voltage_V", "200");
    desk.undo();
    REQUIRE(desk.edits().faults.size() == 1);
    CHECK(desk.edits().faults[0].kind == "high-resistance-splice");
    desk.suspect();
    CHECK_FALSE(desk.suspicion()->open);

    for (const char* line : {"u", "v", "w"}) {
        desk.place({"", "", line});
        desk.work(1.0);
        desk.note();
    }
    CHECK(desk.notebook.notes().size() == 3);
    CHECK(desk.minutes_on_site() == 6.0);
    desk.say({"high-resistance-splice", "v"});
    const auto s = desk.call();
    REQUIRE(s);
    CHECK(s->trouble.empty());
    REQUIRE(s->accounts.size() == 1);
    CHECK(s->accounts[0]->right);
    CHECK(s->accounts[0]->steps.size() == 1);  // the three lines are one test
    CHECK_FALSE(desk.sealed());
    desk.marks_hidden = false;
    CHECK_FALSE(desk.snapshot()->hidden);  // now it may be looked at

    desk.leave_call();
    CHECK_FALSE(desk.call());
    CHECK(desk.edits().faults.empty());
    CHECK(desk.edits().set == std::vector<std::string>{"supply.voltage_V=300"});
    CHECK(desk.session() == before);
}

TEST_CASE("a call-out is drawn on the bench's own site and met there") {
    Desk desk(site_named("hill-orchard"), false);
    desk.draw_call({5, 1});
    REQUIRE(desk.call());
    REQUIRE(desk.call()->what);
    desk.meet_call();
    CHECK(desk.sealed());
    CHECK_FALSE(callout::words(desk.call()->what->owner).empty());
    desk.leave_call();
    CHECK_FALSE(desk.sealed());
}

TEST_CASE("every act, undoing, note and striking out stands in the journal, and another window takes it up") {
    const auto folder = std::filesystem::temp_directory_path() / fmt::format("sunshaft-desk-{}", getpid());
    const callout::Callout c = sealed_bad_splice();
    {
        Desk desk(site_named("bench-rig"), false);
        desk.journals = folder.string();
        desk.learners = {"Ana"};
        desk.bring_call(c);
        desk.work(1.0);
        desk.place({"", "", "v"});
        desk.work(0.6);
        desk.note();
        desk.act("stop", "drive");
        desk.undo();
        desk.act_anyway("pull", "pump");
        desk.notebook.strike(0);
        desk.note_typed("sound", false, "silent");
        desk.work(0.2);
        CHECK(desk.unfinished_call());
    }
    Desk desk(site_named("bench-rig"), false);
    desk.journals = folder.string();
    desk.learners = {"Ana"};
    const auto open = desk.unfinished_call();
    REQUIRE(open);
    std::vector<std::string> kinds;
    for (const callout::Deed& d : open->deeds)
        kinds.push_back(fmt::format("{}{}{}", static_cast<int>(d.kind), d.act, d.unsafe ? "!" : ""));
    const auto kind = [](callout::Deed::Kind k) { return std::to_string(static_cast<int>(k)); };
    using Kind = callout::Deed::Kind;
    CHECK(kinds == std::vector<std::string>{kind(Kind::read), kind(Kind::act) + "stop@drive",
                                            kind(Kind::undo) + "stop@drive", kind(Kind::act) + "pull@pump!",
                                            kind(Kind::strike), kind(Kind::read)});
    desk.bring_call(c);
    CHECK(desk.sealed());
    REQUIRE(desk.notebook.notes().size() == 2);
    CHECK(desk.notebook.notes()[0].struck);
    CHECK(desk.notebook.notes()[1].shown == "silent");
    REQUIRE(desk.edits().acts.size() == 1);
    CHECK(desk.edits().acts[0].kind == "pull");
    desk.work(1.0);
    CHECK(desk.snapshot()->unsafe_acts == 1);
    // What the first window kept is not kept again.
    const std::string file = (folder / "Ana.journal").string();
    const auto entries = journal::read(file).entries.size();
    desk.keep_call();
    CHECK(journal::read(file).entries.size() == entries);
    desk.say({"seized", "motor"});
    REQUIRE(desk.call()->over());
    const auto all = callout::attempts(journal::read(file));
    REQUIRE(all.size() == 1);
    CHECK(all[0].starts == 2);
    REQUIRE(all[0].marked.size() == 1);
    CHECK(all[0].marked[0].who == "Ana");
    CHECK(all[0].marked[0].mark <= 40.0);
    CHECK_FALSE(desk.unfinished_call());
    std::filesystem::remove_all(folder);
}

TEST_CASE("what is read while a link discharges says so, in the window as in a terminal") {
    callout::Callout c = sealed_bad_splice();
    c.site = "hill-orchard";
    c.faults = {{"drive-dead", "drive", 1.0, 0.0}};
    const bench::Probes link{"link+", "link-", ""};
    callout::Visit visit(site_named("hill-orchard"), c);
    visit.act("open", "isolator", false);
    visit.read(link, meter::Mode::dcv, "", false);
    const diagnose::Seen told = visit.notes().seen.back();
    REQUIRE(std::isfinite(told.after_s));

    Desk desk(site_named("hill-orchard"), false);
    desk.bring_call(c);
    desk.work(callout::before_s + 1.0);
    desk.act("open", "isolator");
    desk.measure(link, meter::Mode::dcv, desk.meters()[0]);
    desk.work(told.after_s);
    desk.note();
    REQUIRE(desk.notebook.notes().size() >= 1);
    const Note first = desk.notebook.notes().front();
    REQUIRE(first.after_s);
    CHECK(*first.after_s == test::approx(told.after_s).margin(0.05));
    const auto volts = [](const std::string& shown) { return diagnose::typed(shown, "V").value; };
    CHECK(volts(first.shown) == test::approx(volts(told.shown)).epsilon(0.02));
    CHECK(first.moment.empty());

    // Once more is done on the way, nobody can say how far it has come; what was taken back is no act.
    desk.act_anyway("pull", "pump");
    desk.work(1.0);
    desk.note();
    CHECK(desk.notebook.notes().back().moment == "stopping");
    desk.undo();
    desk.work(1.0);
    desk.note();
    CHECK(desk.notebook.notes().back().moment == "stopping");
    CHECK_FALSE(desk.notebook.notes().back().after_s);
    // What does not change on the way is a reading like any other.
    desk.look("tank");
    desk.work(0.5);
    desk.note_typed("water", false, "12 m");
    CHECK(desk.notebook.notes().back().moment.empty());
    const diagnose::Case written = desk.notebook.as_case("hill-orchard");
    CHECK(written.seen.front().after_s == *first.after_s);
    CHECK(std::ranges::count(written.seen, "stopping", &diagnose::Seen::moment) == 4);  // two displays, twice
}

TEST_CASE("the same visit in the window and in a terminal has the same account, a reading on the way down among it") {
    const callout::Callout c = sealed_bad_splice();
    callout::Visit visit(site_named("bench-rig"), c);
    callout::Spoken terminal(visit, {}, {});
    for (const char* line : {"clamp u", "clamp v", "clamp w", "do open@isolator", "read link+ link- dcv true-rms",
                             "say high-resistance-splice@v"}) {
        INFO(line);
        for (const std::string& answer : terminal.line(line)) CHECK(answer.find("refused") == std::string::npos);
    }
    REQUIRE(terminal.over());
    REQUIRE(visit.notes().seen.size() == 4);
    const double after_s = visit.notes().seen.back().after_s;
    REQUIRE(std::isfinite(after_s));
    const callout::Account there = callout::judge(
        c, terminal.conducted(0), diagnose::load_priors(diagnose::shipped_priors()), diagnose::cache_folder());

    Desk desk(site_named("bench-rig"), false);
    desk.bring_call(c);
    desk.work(callout::before_s);
    for (const char* line : {"u", "v", "w"}) {
        desk.place({"", "", line});
        desk.work(1.0);
        desk.note();
    }
    desk.act("open", "isolator");
    desk.measure({"link+", "link-", ""}, meter::Mode::dcv, desk.meters()[0]);
    desk.work(after_s);
    desk.note();
    // Both displays were noted, the visit in the terminal had one meter.
    for (std::size_t n = 0; n < desk.notebook.notes().size(); ++n)
        if (desk.notebook.notes()[n].meter == desk.meters()[1]) desk.notebook.strike(n);
    desk.say({"high-resistance-splice", "v"});
    REQUIRE(desk.call()->accounts.size() == 1);
    const callout::Account& here = *desk.call()->accounts[0];
    INFO(fmt::format("{}\n{}", text::spaced(callout::words(here)), text::spaced(callout::words(there))));
    CHECK(here.right);
    CHECK(here.minutes == there.minutes);
    REQUIRE(here.steps.size() == there.steps.size());
    for (std::size_t n = 0; n < here.steps.size(); ++n) {
        CHECK(here.steps[n].test == there.steps[n].test);
        CHECK(here.steps[n].free == there.steps[n].free);
    }
    REQUIRE(here.points.size() == there.points.size());
    for (std::size_t n = 0; n < here.points.size(); ++n) {
        CHECK(std::string(here.points[n].rule) == there.points[n].rule);
        CHECK(here.points[n].points == test::approx(there.points[n].points).margin(0.5));
    }
    CHECK(std::lround(here.mark) == std::lround(there.mark));
}

TEST_CASE("killed at any moment, a call-out in the window loses at most the act it was at") {
    const auto folder = std::filesystem::temp_directory_path() / fmt::format("sunshaft-killed-{}", getpid());
    const callout::Callout c = sealed_bad_splice();
    const char* many = std::getenv("SUNSHAFT_MOMENTS");
    const int moments = many ? std::atoi(many) : 3;
    for (int n = 0; n < moments; ++n) {
        std::filesystem::remove_all(folder);
        int pipe[2];
        REQUIRE(::pipe(pipe) == 0);
        const pid_t child = fork();
        REQUIRE(child >= 0);
        if (child == 0) {
            Desk desk(site_named("bench-rig"), false);
            desk.journals = folder.string();
            desk.learners = {"Ana"};
            desk.bring_call(c);
            for (;;) {
                desk.note_typed("sound", false, "silent");
                desk.keep_call();
                if (::write(pipe[1], "x", 1) != 1) _exit(1);
            }
        }
        ::close(pipe[1]);
        std::size_t told = 0;
        char x = 0;
        if (::read(pipe[0], &x, 1) == 1) ++told;  // it is at work
        ::usleep(static_cast<useconds_t>(300 * (n * 7919 % 97)));
        ::kill(child, SIGKILL);
        ::waitpid(child, nullptr, 0);
        while (::read(pipe[0], &x, 1) == 1) ++told;
        ::close(pipe[0]);
        std::size_t kept = 0;
        for (const auto& a : callout::attempts(journal::read((folder / "Ana.journal").string())))
            kept += a.deeds.size();
        INFO(n);
        CHECK(told > 0);
        CHECK(kept >= told);
        CHECK(kept <= told + 1);
    }
    std::filesystem::remove_all(folder);
}

TEST_CASE("two at one window say for themselves what it is, each with an account of his own") {
    Desk desk(site_named("bench-rig"), false);
    desk.learners = {"Ana", "Ben"};
    desk.bring_call(bad_splice());
    desk.work(1.0);
    desk.say({"seized", "motor"});
    CHECK(desk.sealed());
    CHECK(desk.call()->named.size() == 1);
    desk.say({"high-resistance-splice", "v"});
    REQUIRE(desk.call()->accounts.size() == 2);
    CHECK(desk.call()->accounts[0]->named != desk.call()->accounts[1]->named);
    CHECK_FALSE(desk.call()->accounts[0]->right);
    CHECK(desk.call()->accounts[1]->right);
    CHECK_FALSE(desk.call()->accounts[1]->borne);  // nothing was read
}
