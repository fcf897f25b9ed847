// The work on each site, kept as it goes on: one file a site, damaged ones put aside, whole whenever the program is
// killed.
#include "model/session_store.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <fstream>
#include <random>
#include <thread>

#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using view::Desk;
using view::SessionStore;
namespace fs = std::filesystem;

namespace {

struct Folder {
    fs::path path = fs::temp_directory_path() / ("sunshaft-sessions-" + std::to_string(getpid()));
    Folder() { fs::remove_all(path), fs::create_directories(path); }
    ~Folder() { fs::remove_all(path); }
};

std::string shipped(const std::string& name) { return site::find_scenario(name); }
Desk desk_of(const std::string& name) { return Desk(site::load_scenario(shipped(name)), false); }

std::string slurp(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("each site has a session of its own, the last one worked on comes first") {
    const Folder f;
    std::string trouble, error;
    {
        SessionStore store(f.path);
        CHECK(store.last_site(trouble).empty());
        CHECK_FALSE(store.open(shipped("bench-rig")));
        Desk desk = desk_of("bench-rig");
        desk.plant("high-resistance-splice", "v", 2.4);
        REQUIRE(store.keep(desk.session()));
    }
    CHECK(SessionStore(f.path).last_site(trouble) == "bench-rig");
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    {
        SessionStore store(f.path);
        CHECK_FALSE(store.open(shipped("hill-orchard")));
        Desk desk = desk_of("hill-orchard");
        REQUIRE(store.keep(desk.session()));
    }
    CHECK(SessionStore(f.path).last_site(trouble) == "hill-orchard");
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    SessionStore again(f.path);
    const auto kept = again.open(shipped("bench-rig"));
    REQUIRE(kept);
    Desk desk = desk_of("bench-rig");
    INFO(error);
    REQUIRE(desk.restore(*kept, error));
    CHECK(desk.edits().faults.size() == 1);
    // Opened is enough to be the last, also with nothing changed.
    REQUIRE(again.keep(desk.session()));
    CHECK(SessionStore(f.path).last_site(trouble) == "bench-rig");
    CHECK(trouble.empty());
}

TEST_CASE("two sites of one name in two folders do not share a session; one that is gone is passed over and told") {
    const Folder f;
    const auto site_in = [&](const char* folder) {
        fs::create_directories(f.path / folder);
        const fs::path file = f.path / folder / "site.toml";
        fs::copy_file(shipped("bench-rig"), file);
        return file.string();
    };
    const std::string a = site_in("a"), b = site_in("b");
    SessionStore one(f.path / "s"), two(f.path / "s");
    CHECK_FALSE(one.open(a));
    Desk first(site::load_scenario(a), false), second(site::load_scenario(b), false);
    REQUIRE(one.keep(first.session()));
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    CHECK_FALSE(two.open(b));
    REQUIRE(two.keep(second.session()));
    CHECK(one.file() != two.file());
    fs::remove(b);
    std::string trouble;
    CHECK(SessionStore(f.path / "s").last_site(trouble) == a);
    CHECK(trouble.find("is not there any more") != std::string::npos);
}

TEST_CASE("what cannot be taken up is put aside and said, every time under a name of its own") {
    const Folder f;
    std::string deep = "x";
    for (int n = 0; n < 50000; ++n) deep += ".x";
    std::string error, trouble;
    for (const std::string& text :
         {std::string("kind = \"bench ses"), std::string(), deep + " = 1\n", std::string("\0\1\2", 3),
          std::string("kind = \"bench session\"\nscenario = \"bench-rig\"\n[[fault]]\nkind = \"none-such\"\nplace = "
                      "\"u\"\n")}) {
        std::ofstream(f.path / "bench-rig.toml", std::ios::binary) << text;
        SessionStore store(f.path);
        store.last_site(trouble);
        const auto kept = store.open(shipped("bench-rig"));
        REQUIRE(kept);
        Desk desk = desk_of("bench-rig");
        REQUIRE_FALSE(desk.restore(*kept, error));
        const std::string said = store.set_aside(error);
        CHECK(said.find("is kept as") != std::string::npos);
        CHECK_FALSE(fs::exists(f.path / "bench-rig.toml"));
        REQUIRE(store.keep(desk.session()));
    }
    for (int n = 1; n <= 5; ++n) CHECK(fs::exists(f.path / ("bench-rig.toml.damaged-" + std::to_string(n))));
    CHECK(slurp(f.path / "bench-rig.toml.damaged-1") == "kind = \"bench ses");
}

TEST_CASE("a few sessions are kept, the oldest go") {
    const Folder f;
    for (int n = 0; n < 30; ++n) {
        const fs::path file = f.path / ("site-" + std::to_string(n) + ".toml");
        std::ofstream(file) << "x";
        fs::last_write_time(file, fs::file_time_type::clock::now() - std::chrono::hours(100 - n));
    }
    SessionStore store(f.path);
    store.open(shipped("bench-rig"));
    CHECK_FALSE(fs::exists(f.path / "site-9.toml"));
    CHECK(fs::exists(f.path / "site-10.toml"));
}

TEST_CASE("no folder keeps nothing and complains of nothing") {
    SessionStore store{fs::path()};
    std::string trouble;
    CHECK(store.last_site(trouble).empty());
    CHECK_FALSE(store.open(shipped("bench-rig")));
    CHECK(store.keep("x"));
}

TEST_CASE("killed at any moment, the session is one that was kept, whole") {
    const Folder f;
    Desk desk = desk_of("bench-rig");
    std::vector<std::string> steps;
    for (int n = 0; n < 8; ++n) {
        desk.plant("high-resistance-splice", "v", 0.5 + n);
        steps.push_back(desk.session());
    }
    std::mt19937 dice(5);
    const int moments = std::getenv("SUNSHAFT_MOMENTS") ? std::atoi(std::getenv("SUNSHAFT_MOMENTS")) : 25;
    for (int n = 0; n < moments; ++n) {
        const pid_t child = fork();
        REQUIRE(child >= 0);
        if (child == 0) {
            SessionStore store(f.path);
            store.open(desk.snapshot()->site->scenario.file);
            for (std::size_t k = 0;; ++k) store.keep(steps[k % steps.size()]);
        }
        // Later each time, so that a slow disk has kept something by the end, too.
        std::this_thread::sleep_for(std::chrono::microseconds(dice() % (5000U + 4000U * static_cast<unsigned>(n))));
        kill(child, SIGKILL);
        waitpid(child, nullptr, 0);
        if (!fs::exists(f.path / "bench-rig.toml")) continue;
        const std::string kept = slurp(f.path / "bench-rig.toml");
        REQUIRE(std::count(steps.begin(), steps.end(), kept) == 1);
    }
    CHECK(fs::exists(f.path / "bench-rig.toml"));
}
