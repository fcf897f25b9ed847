// Journals: an entry is on the disk when append() returns; what is torn or changed by hand does not count; the next
// start goes on behind it.

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <random>

#include "catch_shim.hpp"
#include "files/input.hpp"
#include "journal/journal.hpp"

using namespace sunshaft;
using journal::Journal;

namespace {

struct Folder {
    std::filesystem::path path = std::filesystem::temp_directory_path() / fmt::format("sunshaft-journal-{}", getpid());
    Folder() { std::filesystem::create_directories(path); }
    ~Folder() { std::filesystem::remove_all(path); }
    std::string file(const char* name) const { return (path / name).string(); }
};

std::string text_of(const std::string& file) { return files::read_whole(file, 1 << 24); }
void write(const std::string& file, const std::string& text) {
    std::ofstream(file, std::ios::binary | std::ios::trunc) << text;
}

}  // namespace

TEST_CASE("entries come back in their order, and the next start goes on behind them") {
    const Folder f;
    const std::string file = f.file("a.journal");
    std::string id;
    {
        Journal j(file, [] { return 1782034200; });
        id = j.contents().id;
        CHECK(id.size() == 32);
        j.append("read", {{"red", "drive.u"}, {"shown", "OL \xff"}});
        CHECK_THROWS_WITH(Journal(file), sunshaft::test::Contains("another program is writing it"));
    }
    Journal again(file);
    CHECK(again.contents().id == id);
    again.append("leave", {});
    const journal::Contents c = journal::read(file);
    CHECK(c.id == id);
    REQUIRE(c.entries.size() == 3);
    CHECK(c.entries[1].kind == "read");
    CHECK(c.entries[1].what["red"] == "drive.u");
    CHECK(c.entries[1].at == "2026-06-21T09:30:00Z");
    CHECK(c.entries[2].n == 3);
    CHECK(c.spoilt == 0);
    CHECK(journal::time_from("2026-06-21T09:30:00Z") == 1782034200);
    CHECK_FALSE(journal::time_from("yesterday"));
}

TEST_CASE("two journals have two ids; what is none is refused and left alone") {
    const Folder f;
    CHECK(Journal(f.file("a")).contents().id != Journal(f.file("b")).contents().id);
    write(f.file("c"), "dear diary\n");
    CHECK_THROWS_WITH(Journal(f.file("c")), sunshaft::test::Contains("is no journal"));
    CHECK(text_of(f.file("c")) == "dear diary\n");
    CHECK_THROWS_AS(journal::read(f.file("nowhere")), std::invalid_argument);
    CHECK_THROWS_AS(Journal("/proc/nowhere/x.journal"), std::invalid_argument);
}

TEST_CASE("cut anywhere, a journal holds every entry that is whole, and grows again") {
    const Folder f;
    {
        Journal j(f.file("whole"));
        for (int n = 0; n < 6; ++n) j.append("wait", {{"s", n}});
    }
    const std::string whole = text_of(f.file("whole"));
    for (std::size_t cut = 0; cut <= whole.size(); cut += 5) {
        const std::string part = whole.substr(0, cut), file = f.file("cut");
        const bool all_but_its_end = cut < whole.size() && whole[cut] == '\n';
        for (const std::string& tail : {std::string(), std::string(40, '\0')}) {
            write(file, part + tail);
            INFO(cut);
            auto lines = static_cast<std::size_t>(std::count(part.begin(), part.end(), '\n'));
            if (all_but_its_end && tail.empty()) ++lines;
            CHECK(journal::read(file).entries.size() == lines);
            {
                Journal j(file);
                j.append("again", {});
            }
            const journal::Contents c = journal::read(file);
            CHECK(c.entries.size() == std::max<std::size_t>(lines, 1) + 1);
            CHECK(c.entries.back().kind == "again");
            CHECK(text_of(file).starts_with(part));  // nothing is taken away
        }
    }
}

TEST_CASE("an entry changed by hand does not count, nor what follows it") {
    const Folder f;
    {
        Journal j(f.file("a"));
        for (int n = 0; n < 4; ++n) j.append("mark", {{"points", 40}});
    }
    std::string text = text_of(f.file("a"));
    std::size_t at = text.find("40");
    at = text.find("\"points\":40", at);
    text.replace(text.find("\"points\":40"), 11, "\"points\":90");
    write(f.file("a"), text);
    const journal::Contents c = journal::read(f.file("a"));
    CHECK(c.entries.size() == 1);
    CHECK(c.spoilt == 4);
    // A line left out is a change, too.
    text = text_of(f.file("a"));
    Journal b(f.file("b"));
    for (int n = 0; n < 4; ++n) b.append("x", {{"n2", n}});
    std::string lines = text_of(f.file("b"));
    const std::size_t second = lines.find('\n') + 1, third = lines.find('\n', second) + 1;
    write(f.file("c"), lines.substr(0, second) + lines.substr(third));
    CHECK(journal::read(f.file("c")).entries.size() == 1);
}

TEST_CASE("killed at any moment, a writer loses at most the act it was at") {
    const Folder f;
    std::mt19937 random(11);
    const char* many = std::getenv("SUNSHAFT_MOMENTS");
    const int moments = many ? std::atoi(many) : 40;
    for (int n = 0; n < moments; ++n) {
        const std::string file = f.file("k.journal");
        std::size_t before = 0;
        if (std::filesystem::exists(file)) before = journal::read(file).entries.size();
        int pipe[2];
        REQUIRE(::pipe(pipe) == 0);
        const pid_t child = fork();
        if (child == 0) {
            try {
                Journal j(file);
                for (char done = 1;; done = 1) {
                    j.append("read", {{"shown", std::string(random() % 4000, 'x')}});
                    if (::write(pipe[1], &done, 1) != 1) _exit(1);  // told only once it is kept
                }
            } catch (...) {
                _exit(2);
            }
        }
        ::close(pipe[1]);
        ::usleep(1000 + static_cast<useconds_t>(random() % 20000));
        ::kill(child, SIGKILL);
        int status = 0;
        ::waitpid(child, &status, 0);
        CHECK(WIFSIGNALED(status));
        std::size_t told = 0;
        for (char c; ::read(pipe[0], &c, 1) == 1;) ++told;
        ::close(pipe[0]);
        const std::size_t now = std::filesystem::exists(file) ? journal::read(file).entries.size() : 0;
        const std::size_t begun = before == 0 && now > 0 ? 1 : 0;  // the entry that begins a journal
        INFO(n << " before " << before << " told " << told << " now " << now);
        CHECK(now >= before + begun + told);
        CHECK(now <= before + begun + told + 1);
    }
    CHECK(journal::read(f.file("k.journal")).entries.size() > 20);
}

TEST_CASE("a journal whose line ends a mailer changed is read whole, and grows again") {
    const Folder f;
    {
        Journal j(f.file("a"));
        for (int n = 0; n < 3; ++n) j.append("wait", {{"s", n}});
    }
    std::string mailed;
    for (const char c : text_of(f.file("a"))) mailed += c == '\n' ? std::string("\r\n") : std::string(1, c);
    write(f.file("b"), mailed);
    CHECK(journal::read(f.file("b")).entries.size() == 4);
    CHECK(journal::read(f.file("b")).spoilt == 0);
    { Journal(f.file("b")).append("again", {}); }
    CHECK(journal::read(f.file("b")).entries.back().kind == "again");
}
