// The class's book: what ten laptops wrote is in it once, whatever came late, twice, torn or with a wrong clock.

#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <thread>

#include "callout/seal.hpp"
#include "catch_shim.hpp"
#include "classroom/overview.hpp"
#include "files/input.hpp"

using namespace sunshaft;
using namespace sunshaft::classroom;
using test::approx;

namespace {

namespace fs = std::filesystem;
constexpr std::int64_t morning = 1795939200;  // 2026-11-29, 08:00 UTC

struct Folder {
    // In memory where that is possible: what is tested is what is written, not the disk.
    fs::path path = (fs::exists("/dev/shm") ? fs::path("/dev/shm") : fs::temp_directory_path()) /
                    fmt::format("sunshaft-class-{}", getpid());
    Folder() { fs::remove_all(path), fs::create_directories(path / "stick"); }
    ~Folder() { fs::remove_all(path); }
    std::string stick(const std::string& name) const { return (path / "stick" / (name + ".journal")).string(); }
    std::string book() const { return (path / "class.sqlite").string(); }
    std::string sticks() const { return (path / "stick").string(); }
};

callout::Callout call() {
    callout::Callout c;
    c.site = "hill-orchard";
    c.owner.own = "Since Tuesday no water comes.";
    c.faults = {{"lost-phase", "splice.v", 1.0, 0.0}};
    c.truth = {"lost-phase", "splice.v"};
    c.sealed = callout::sealed(c);
    return c;
}

callout::Account account(double mark, bool right) {
    callout::Account a;
    a.truth = "lost phase, at splice.v";
    a.named = right ? a.truth : "seized pump, at pump";
    a.right = a.borne = right;
    a.minutes = 42.0;
    a.points = {{"C1", "Right fault, right place.", right ? 45.0 : 0.0, 45.0},
                {"S1", "No unsafe act.", mark - (right ? 45.0 : 0.0), 55.0}};
    a.mark = mark;
    a.well = "No unsafe act.";
    a.change = "Halve first.";
    return a;
}

// One call-out from beginning to end, with some readings.
void attempt(callout::Record& r, const std::vector<std::string>& who, const callout::Callout& c, double mark,
             bool right = true, int readings = 5) {
    r.begin(c, who, {});
    for (int n = 0; n < readings; ++n) {
        callout::Deed d{callout::Deed::Kind::read};
        d.seen.red = "lead.u", d.seen.black = "lead.v", d.seen.mode = "ohm", d.seen.shown = "OL";
        r.deed(d);
    }
    for (const std::string& w : who) r.marked(w, c, {right ? "lost-phase" : "seized", ""}, account(mark, right));
}
void play(
    const std::string& file, const std::vector<std::string>& who, const callout::Callout& c, double mark,
    bool right = true, int readings = 5, journal::Journal::Clock clock = [] { return morning; }) {
    callout::Record r(file, std::move(clock));
    attempt(r, who, c, mark, right, readings);
}

void copy(const std::string& from, const std::string& to, std::size_t bytes = std::string::npos) {
    const std::string text = files::read_whole(from, 1 << 26).substr(0, bytes);
    std::ofstream(to, std::ios::binary | std::ios::trunc) << text;
}

long taken(const std::vector<Merged>& all) {
    long n = 0;
    for (const Merged& m : all) n += m.taken;
    return n;
}
std::string all_of(const Book& book) { return csv(overview(book, true, morning)); }

}  // namespace

TEST_CASE("ten writers at work while the instructor merges again and again: everything is in the book once") {
    const Folder f;
    const callout::Callout c = call();
    std::vector<pid_t> children;
    for (int n = 0; n < 10; ++n) {
        const pid_t child = fork();
        if (child == 0) {
            try {
                for (int k = 0; k < 3; ++k)
                    play(f.stick(fmt::format("laptop-{}", n)), {fmt::format("Learner {}", n)}, c, 60 + 10 * k);
            } catch (...) {
                _exit(1);
            }
            _exit(0);
        }
        children.push_back(child);
    }
    Book book(f.book());
    for (int n = 0; n < 6; ++n) (void)book.merge(f.sticks());
    for (const pid_t child : children) {
        int status = 0;
        ::waitpid(child, &status, 0);
        CHECK(status == 0);
    }
    (void)book.merge(f.sticks());
    const std::string once = all_of(book);
    const std::vector<Merged> again = book.merge(f.sticks());
    CHECK(again.size() == 10);
    CHECK(taken(again) == 0);
    CHECK(all_of(book) == once);
    const Overview o = overview(book, true, morning);
    CHECK(o.rows.size() == 30);
    REQUIRE(o.learners.size() == 10);
    for (const Learner& l : o.learners) {
        CHECK(l.over == 3);
        CHECK(l.last == 80.0);
        CHECK(l.best == 80.0);
    }
    // A second program that merges at the same time waits its turn.
    std::thread other([&] { (void)Book(f.book()).merge(f.sticks()); });
    (void)book.merge(f.sticks());
    other.join();
    CHECK(all_of(book) == once);
}

TEST_CASE("late, twice, torn: the order files come in and what a pulled stick left do not matter") {
    const Folder f;
    const callout::Callout c = call();
    play(f.stick("ana"), {"Ana"}, c, 70);
    const std::string ana = f.stick("ana"), kept = (f.path / "ana.whole").string();
    play(ana, {"Ana"}, c, 90);
    copy(ana, kept);
    const auto whole = fs::file_size(kept);
    Book book(f.book());
    // The stick was pulled in the middle of the second attempt.
    copy(kept, ana, whole - 1200);
    std::vector<Merged> m = book.merge(f.sticks());
    REQUIRE(m.size() == 1);
    CHECK(m[0].spoilt == 1);
    CHECK(m[0].taken > 5);
    CHECK(overview(book, true, morning).learners[0].over == 1);
    // Zeros behind it, as a disk may leave them.
    copy(kept, ana, whole - 1200);
    std::ofstream(ana, std::ios::app | std::ios::binary) << std::string(500, '\0');
    CHECK(taken(book.merge(f.sticks())) == 0);
    // The whole file, late and under two names.
    copy(kept, ana);
    copy(kept, f.stick("copy of ana"));
    m = book.merge(f.sticks());
    CHECK(taken(m) > 0);
    const Overview o = overview(book, true, morning);
    REQUIRE(o.rows.size() == 2);
    CHECK(o.learners[0].last == 90.0);
    const std::string all = all_of(book);
    // An older copy once more.
    copy(kept, ana, whole / 2);
    CHECK(taken(book.merge(f.sticks())) == 0);
    CHECK(all_of(book) == all);
    // What is no journal is named, and stops nothing.
    std::ofstream(f.stick("notes")) << "dear diary";
    std::ofstream(f.stick("empty"));
    m = book.merge(f.sticks());
    CHECK(std::count_if(m.begin(), m.end(), [](const Merged& x) { return !x.trouble.empty(); }) == 2);
    CHECK(all_of(book) == all);
}

TEST_CASE("a laptop that was copied: what both did before is told once, what each did after stands") {
    const Folder f;
    const callout::Callout c = call();
    play(f.stick("image"), {"Ana"}, c, 50);
    copy(f.stick("image"), f.stick("second"));
    play(f.stick("image"), {"Ana"}, c, 60);
    play(f.stick("second"), {"Ben"}, c, 80);
    Book book(f.book());
    const auto m = book.merge(f.sticks());
    CHECK(std::count_if(m.begin(), m.end(), [](const Merged& x) { return x.beside; }) == 1);
    CHECK(taken(book.merge(f.sticks())) == 0);
    const Overview o = overview(book, true, morning);
    CHECK(o.rows.size() == 3);
    REQUIRE(o.learners.size() == 2);
    CHECK(o.learners[0].over + o.learners[1].over == 3);
}

TEST_CASE("wrong clocks change no order, and are said") {
    const Folder f;
    const callout::Callout c = call();
    std::int64_t t = morning;
    for (const auto& [mark, at] :
         {std::pair{40.0, morning}, {60.0, morning - 90000}, {80.0, morning + 900000}, {90.0, std::int64_t{0}}})
        play(f.stick("ana"), {"Ana"}, c, mark, true, 2, [&t, at = at] { return t = at; });
    Book book(f.book());
    (void)book.merge(f.sticks());
    const Overview o = overview(book, true, morning);
    REQUIRE(o.rows.size() == 4);
    CHECK(o.rows[0].doubt.empty());
    CHECK(o.rows[1].doubt == "the laptop's clock went back");
    CHECK(o.rows[2].doubt == "the laptop's clock was ahead");
    CHECK(o.rows[3].doubt == "the laptop's clock was years behind");
    CHECK(o.learners[0].last == 90.0);  // as it was done
    const nlohmann::json statements = nlohmann::json::parse(xapi(o, morning));
    REQUIRE(statements.size() == 4);
    CHECK(statements[0].contains("timestamp"));
    CHECK_FALSE(statements[2].contains("timestamp"));
}

TEST_CASE("the instructor overrules a line with a reason, and both stay") {
    const Folder f;
    const callout::Callout c = call();
    play(f.stick("ana"), {"Ana", "Ben"}, c, 45, false);
    Book book(f.book());
    (void)book.merge(f.sticks());
    const Row row = overview(book, true, morning).rows[0];
    CHECK(row.with == std::vector<std::string>{"Ben"});
    Overruled word{row.journal, row.entry, "Ana", "C1", "", "the instructor", "", 30.0};
    CHECK_THROWS_WITH(book.overrule(word), sunshaft::test::Contains("no reason"));
    word.reason = "named the wire, which was the lesson";
    word.points = 46.0;
    CHECK_THROWS_AS(book.overrule(word), std::invalid_argument);
    word.points = 30.0;
    book.overrule(word);
    word.rule = "Z9";
    CHECK_THROWS_AS(book.overrule(word), std::invalid_argument);
    const Overview o = overview(book, true, morning);
    CHECK(o.rows[0].mark() == 75.0);
    CHECK(o.rows[0].marked.mark == 45.0);
    CHECK(o.rows[1].mark() == 45.0);                                            // Ben's own
    CHECK(csv(o).find(",45,75,\"C1 30: named the wire") != std::string::npos);  // as marked, as counted
    // Merging the journal again takes nothing back.
    (void)book.merge(f.sticks());
    CHECK(overview(book, true, morning).rows[0].mark() == 75.0);
}

TEST_CASE("who overrules an unsafe act lifts its cap, and every page says who did and why") {
    const Folder f;
    const callout::Callout c = call();
    callout::Account unsafe = account(40, true);
    unsafe.points = {{"C1", "Right fault, right place.", 45.0, 45.0},
                     {"E1", "Little left.", 10.0, 20.0},
                     {"S1", "Unsafe acts: 1.", 0.0, 20.0}};
    {
        callout::Record r(f.stick("ana"), [] { return morning; });
        r.begin(c, {"Ana"}, {});
        callout::Deed pulled{callout::Deed::Kind::act};
        pulled.act = "pull@pump";
        pulled.unsafe = true;
        r.deed(pulled);
        r.marked("Ana", c, {"lost-phase", ""}, unsafe);
    }
    Book book(f.book());
    (void)book.merge(f.sticks());
    const auto row = [&] { return overview(book, true, morning).rows.at(0); };
    const auto say = [&](const char* rule, double points, const char* reason) {
        book.overrule({row().journal, row().entry, "Ana", rule, reason, "Mercedes", "", points});
    };
    CHECK(row().mark() == 40.0);
    CHECK(row().cap_words().find("caps the mark at 40") != std::string::npos);
    say("E1", 20, "told aloud");  // of another line: the cap stands
    CHECK(row().mark() == 40.0);
    say("S1", 20, "it was proved dead aloud");
    CHECK(row().mark() == 85.0);       // 45, 20 and 20
    CHECK(row().marked.mark == 40.0);  // both stay
    CHECK(row().cap_words() == "The cap of 40 was lifted by Mercedes: it was proved dead aloud");
    const Overview o = overview(book, true, morning);
    CHECK(csv(o).find("The cap of 40 was lifted by Mercedes: it was proved dead aloud") != std::string::npos);
    CHECK(xapi(o, morning).find("The cap of 40 was lifted by Mercedes") != std::string::npos);
    say("S1", 0, "it was not");  // the last word stands
    CHECK(row().mark() == 40.0);
    CHECK(row().cap_words() == "An unsafe act caps the mark at 40.");
}

TEST_CASE("what a lesson leaves in a journal is in the book once, beside the call-outs") {
    const Folder folder;
    const teach::Lesson lesson = teach::load_lesson("half-reading");
    const teach::Beliefs beliefs = teach::load_beliefs();
    teach::Outcome outcome;
    outcome.got = {true};
    outcome.got_other = {false};
    outcome.committed.resize(1);
    teach::Committed& c = outcome.committed.front();
    c.exercise = true;
    c.person = 1;
    c.reason = "broken-means-zero";
    keep_lesson(folder.stick("ana"), {"Ana", "Ben"}, lesson, "", outcome, beliefs);
    {
        callout::Record record(folder.stick("ana"));  // the same journal holds call-outs
        record.begin(call(), {"Ana", "Ben"}, {});
    }
    Book book(folder.book());
    (void)book.merge(folder.sticks());
    (void)book.merge(folder.sticks());
    const auto lessons = book.lessons();
    REQUIRE(lessons.size() == 2);
    CHECK(lessons[0].who == "Ana");
    CHECK(lessons[0].got == 1);
    CHECK(lessons[0].missed.empty());
    CHECK(lessons[1].got == 0);
    CHECK(lessons[1].missed == std::vector{beliefs.at("broken-means-zero").says});
    CHECK(book.attempts().size() == 1);
    const Overview all = overview(book, false, morning);
    REQUIRE(all.learners.size() == 2);
    CHECK(all.learners[0].lessons == 1);
    CHECK(all.learners[0].got == 1);
    REQUIRE(all.misconceptions.size() == 1);
    CHECK(all.misconceptions[0].sentence.find(beliefs.at("broken-means-zero").says) != std::string::npos);
    const std::string table = lessons_csv(all);
    CHECK(table.find("half-reading") != std::string::npos);
    CHECK(table.find("Ana") == std::string::npos);  // without names
    // Statements of both; a lesson is got or not yet, and has no score.
    const auto statements = nlohmann::json::parse(xapi(all, morning));
    REQUIRE(statements.size() == 2);
    for (std::size_t n = 0; n < 2; ++n) {
        const auto& s = statements[n];
        CHECK(why_rejected(s.dump()) == "");
        CHECK(s["object"]["id"].get<std::string>().ends_with("/lessons/half-reading"));
        CHECK(s["actor"]["account"]["name"] == fmt::format("learner {}", n + 1));
        CHECK(s["result"]["success"] == (n == 0));
        CHECK_FALSE(s["result"].contains("score"));
    }
    CHECK(statements[0]["id"] != statements[1]["id"]);
    CHECK(nlohmann::json::parse(xapi(all, morning)) == statements);  // the same ids whenever they are sent
}

TEST_CASE("without names none leaves the book, in no form") {
    const Folder f;
    play(f.stick("x"), {"Ana Quispe", "Ben"}, call(), 45, false);
    Book book(f.book());
    (void)book.merge(f.sticks());
    const Overview o = overview(book, false, morning);
    const std::string all = csv(o) + xapi(o, morning);
    for (const char* name : {"Ana", "Quispe", "Ben"}) CHECK(all.find(name) == std::string::npos);
    CHECK(all.find("learner 1") != std::string::npos);
    CHECK(o.misconceptions.size() == 1);
    CHECK(o.misconceptions[0].who == std::vector<std::string>{"learner 1", "learner 2"});
    CHECK(csv(overview(book, true, morning)).find("Ana Quispe") != std::string::npos);
    CHECK(paper(o, "learner 2").starts_with("%PDF"));
    CHECK_THROWS_AS(paper(o, "Ben"), std::invalid_argument);
}

TEST_CASE("statements are what the specification asks for, and what it rejects is rejected") {
    const std::string good = R"({"actor":{"account":{"homePage":"https://bench.example.org","name":"learner-0417"}},)"
                             R"("verb":{"id":"http://adlnet.gov/expapi/verbs/answered"},)"
                             R"("object":{"id":"https://bench.example.org/activities/open-splice-b/predict-1"}})";
    CHECK(why_rejected(good) == "");
    const auto with = [&](const char* path, const nlohmann::json& value) {
        nlohmann::json s = nlohmann::json::parse(good);
        s[nlohmann::json::json_pointer(path)] = value;
        return s.dump();
    };
    const auto without = [&](const char* key) {
        nlohmann::json s = nlohmann::json::parse(good);
        s.erase(key);
        return s.dump();
    };
    CHECK(why_rejected(with("/timestamp", "2026-11-28T13:30:00.000Z")) == "");
    CHECK(why_rejected(with("/version", "1.0.3")) == "");
    // Experience API 1.0.x, Part Two (adlnet/xAPI-Spec, xAPI-Data.md): what a store must reject.
    for (const std::string& bad :
         {without("verb"), without("actor"), without("object"), with("/result", {{"success", "false"}}),
          with("/actor", {{"name", "Ana"}}), with("/actor/mbox", "mailto:a@example.org"),
          with("/object", {{"id", "open-splice"}}), with("/result", nullptr), with("/version", "2.0.0"),
          with("/Verb", "x"), with("/result", {{"score", {{"scaled", 1.5}}}}),
          with("/result", {{"score", {{"raw", 5}, {"min", 6}, {"max", 9}}}}), with("/result", {{"duration", "42 s"}}),
          with("/result", {{"extensions", {{"confidence", 1}}}}), with("/timestamp", "yesterday"), with("/id", "7"),
          std::string("{"), R"({"verb":{},)" + good.substr(1)}) {
        INFO(bad);
        CHECK(why_rejected(bad) != "");
    }
}

TEST_CASE("a class of thirty with forty call-outs each is added up and printed in under five seconds") {
    const Folder f;
    const callout::Callout c = call();
    for (int n = 0; n < 30; ++n) {
        callout::Record r(f.stick(fmt::format("l{:02}", n)));
        for (int k = 0; k < 40; ++k) attempt(r, {fmt::format("Learner {}", n)}, c, 50 + k, k % 3 != 0, 3);
    }
    Book book(f.book());
    (void)book.merge(f.sticks());
    const auto begun = std::chrono::steady_clock::now();
    const Overview o = overview(book, true, morning);
    CHECK(o.rows.size() == 1200);
    CHECK(csv(o).size() > 100000);
    CHECK(xapi(o, morning).size() > 100000);
    CHECK(paper(o).starts_with("%PDF"));
    CHECK(paper(o, "Learner 7").starts_with("%PDF"));
    CHECK(std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count() < 5.0);
}

TEST_CASE("a book that is none, and one that cannot be there, are said so without the library's own words") {
    const Folder f;
    std::ofstream(f.book()) << std::string(4096, 'x');
    CHECK_THROWS_WITH(Book(f.book()), sunshaft::test::Contains("it is damaged, or no book"));
    CHECK_THROWS_WITH(Book(f.book() + "-none/there.db"), sunshaft::test::Contains("nothing can be written there"));
}
