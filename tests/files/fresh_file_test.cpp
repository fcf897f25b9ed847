// Files written whole: what stands in the way is refused, the mode is kept, nothing is left behind, and a program
// killed at any moment leaves what was there or what was to be there.
#include "files/fresh_file.hpp"

#include <fmt/format.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <random>
#include <thread>

#include "catch_shim.hpp"
#include "scratch.hpp"

using sunshaft::files::FreshFile;
using sunshaft::test::Scratch;
using sunshaft::test::slurp;
namespace fs = std::filesystem;

namespace {

void write(const std::string& path, std::string_view text) {
    FreshFile file(path);
    file.write(text);
    file.finish();
}

std::string write_refused(const std::string& path) {
    try {
        FreshFile file(path);
    } catch (const std::invalid_argument& wrong) {
        return wrong.what();
    }
    return "";
}

mode_t mode(const std::string& path) {
    struct stat there {};
    REQUIRE(lstat(path.c_str(), &there) == 0);
    return there.st_mode & 07777;
}

// Runs `act` over and over in a process of its own and kills that after a moment.
template <class Act>
void killed_after(std::chrono::microseconds moment, Act act) {
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        for (int n = 0;; ++n) act(n);
    }
    std::this_thread::sleep_for(moment);
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
}

}  // namespace

TEST_CASE("a new file has the mode the user's mask allows, one written anew keeps its own") {
    const Scratch f;
    const mode_t mask = umask(027);
    write(f / "new", "a");
    umask(mask);
    CHECK(mode(f / "new") == 0640);
    for (const mode_t own : {0600, 0644, 0755, 0664}) {
        REQUIRE(chmod((f / "new").c_str(), own) == 0);
        write(f / "new", "b");
        CHECK(mode(f / "new") == own);
    }
    CHECK(slurp(f / "new") == "b");
    CHECK(f.count() == 1);
}

TEST_CASE("only plain files are replaced") {
    const Scratch f;
    write(f / "plain", "kept");
    fs::create_symlink(f / "plain", f / "link");
    fs::create_symlink(f / "nowhere", f / "dangling");
    REQUIRE(mkfifo((f / "pipe").c_str(), 0600) == 0);
    fs::create_directory(f / "folder");
    CHECK(write_refused(f / "link").find("is a symbolic link, expected a plain file") != std::string::npos);
    CHECK(write_refused(f / "dangling").find("is a symbolic link") != std::string::npos);
    CHECK(write_refused(f / "pipe").find("is a pipe") != std::string::npos);
    CHECK(write_refused(f / "folder").find("is a folder") != std::string::npos);
    CHECK(write_refused((f / "folder") + "/").find("is a folder") != std::string::npos);
    CHECK(write_refused("/dev/full").find("is a device") != std::string::npos);
    CHECK(write_refused(f / "missing/x").find("No such file") != std::string::npos);
    if (geteuid() != 0) {
        REQUIRE(chmod((f / "plain").c_str(), 0444) == 0);
        CHECK(write_refused(f / "plain").find("is write-protected") != std::string::npos);
    }
    CHECK(slurp(f / "plain") == "kept");
    CHECK_FALSE(fs::exists(f / "nowhere"));
    // What came in the way while it was written.
    FreshFile file(f / "late");
    fs::create_symlink(f / "plain", f / "late");
    file.write("x");
    CHECK_THROWS_AS(file.finish(), std::runtime_error);
    CHECK(slurp(f / "plain") == "kept");
}

TEST_CASE("a file whose name looks like a leftover of ours is not touched") {
    const Scratch f;
    write(f / "a.csv.part", "somebody's");
    fs::create_symlink(f / "a.csv.part", f / "b.csv.part");
    write(f / "a.csv", "1");
    write(f / "b.csv", "2");
    CHECK(slurp(f / "a.csv.part") == "somebody's");
    CHECK(f.count() == 4);
}

TEST_CASE("two that write one file at once do not mix: the last to finish stands whole") {
    const Scratch f;
    FreshFile one(f / "x"), two(f / "x");
    for (int n = 0; n < 1000; ++n) one.write("1111111111"), two.write("2222222222");
    two.finish();
    CHECK(slurp(f / "x") == std::string(10000, '2'));
    one.finish();
    CHECK(slurp(f / "x") == std::string(10000, '1'));
    CHECK(f.count() == 1);
}

TEST_CASE("not finished, nothing is left and what was there stands") {
    const Scratch f;
    write(f / "x", "old");
    {
        FreshFile file(f / "x");
        file.write("half");
    }
    CHECK(slurp(f / "x") == "old");
    CHECK(f.count() == 1);
}

TEST_CASE("killed at any moment: the old file or the new one, whole") {
    const Scratch f;
    write(f / "x", std::string(1000, 'a') + "\n");
    std::mt19937 dice(7);
    for (int n = 0; n < 30; ++n) {
        killed_after(std::chrono::microseconds(dice() % 4000),
                     [&](int k) { write(f / "x", std::string(1000 + 100 * k, char('a' + k % 26)) + "\n"); });
        const std::string text = slurp(f / "x");
        REQUIRE(text.size() >= 1001);
        REQUIRE(text.find_first_not_of(text[0]) == text.size() - 1);
        REQUIRE(text.back() == '\n');
    }
    CHECK(f.count() <= 31);  // at most one without its name each time
}

TEST_CASE("killed at any moment, a pair fits or has no head") {
    const Scratch f;
    std::mt19937 dice(11);
    int whole = 0, headless = 0;
    for (int n = 0; n < 60; ++n) {
        const auto pair = [&](int k) {
            FreshFile body(f / "p.dat"), head(f / "p.cfg");
            body.write(fmt::format("{} {}", n, k));
            head.write(fmt::format("{} {}", n, k));
            FreshFile::finish_pair(body, head);
        };
        pair(-1);  // one stands there, however slow the disk is
        killed_after(std::chrono::microseconds(dice() % 6000), pair);
        if (fs::exists(f / "p.cfg")) {
            REQUIRE(slurp(f / "p.cfg") == slurp(f / "p.dat"));
            ++whole;
        } else {
            ++headless;
        }
    }
    CHECK(whole > 0);
    INFO(whole << " whole, " << headless << " without a head");
}

TEST_CASE("two that write one pair at once leave a pair that fits") {
    const Scratch f;
    const auto many = [&](char letter) {
        for (int k = 0; k < 40; ++k) {
            FreshFile body(f / "p.dat"), head(f / "p.cfg");
            body.write(std::string(1, letter));
            head.write(std::string(1, letter));
            FreshFile::finish_pair(body, head);
        }
    };
    std::thread one(many, '1'), two(many, '2');
    one.join();
    two.join();
    CHECK(slurp(f / "p.cfg") == slurp(f / "p.dat"));
    CHECK(f.count() == 2);
}
