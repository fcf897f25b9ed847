// What nobody means to give: files that are none, nesting without end, numbers that are none, a disk that is full.
#include <sys/stat.h>

#include "program.hpp"

using namespace sunshaft::test;
namespace fs = std::filesystem;

namespace {

struct Hostile {
    fs::path path = fs::temp_directory_path() / ("sunshaft-hostile-" + std::to_string(getpid()));
    Hostile() { fs::create_directories(path); }
    ~Hostile() { fs::remove_all(path); }
    std::string put(const std::string& name, const std::string& text) const {
        std::ofstream(path / name, std::ios::binary) << text;
        return (path / name).string();
    }
};

}  // namespace

TEST_CASE("a full disk on standard output is said by every verb") {
    const Hostile f;
    const std::string wave = f.put("w.csv", "time,a\n0,1\n0.01,-1\n0.02,1\n0.03,-1\n0.04,1\n");
    for (const std::string& arguments :
         {std::string("check bench-rig"), std::string("read bench-rig --red drive.u --black drive.v"),
          std::string("read bench-rig --red drive.u --black drive.v --json"), std::string("sheet bench-rig"),
          std::string("run bench-rig --for 0.1 --events"), std::string("run bench-rig --for 0.001 --signals link_V"),
          "analyse " + wave, std::string("points bench-rig"), std::string("faults"), std::string("meters"),
          std::string("meters average"), std::string("modules"), std::string("keys"), std::string("--help"),
          std::string("read --help")}) {
        INFO(arguments);
        const Outcome o = run(arguments + " >/dev/full");
        CHECK(o.status == 1);
        CHECK(o.err.find("standard output: writing failed (No space left on device)") != std::string::npos);
    }
    CHECK(run("check bench-rig >/dev/null").status == 0);
}

TEST_CASE("dotted keys without end are a mistake at a place, in scenarios and meters") {
    const Hostile f;
    std::string deep = "x";
    for (int n = 0; n < 50000; ++n) deep += ".x";
    for (const std::string& text : {deep + "=1\n", "[" + deep + "]\n", "a = " + std::string(50000, '[')}) {
        const std::string file = f.put("deep.toml", text);
        refuses("check " + file, "deep.toml:1:");
        refuses("meters " + file, "deep.toml:1:");
    }
}

TEST_CASE("pipes, devices, folders and huge files are refused at once") {
    const Hostile f;
    const std::string pipe = (f.path / "pipe.toml").string(), wave = (f.path / "pipe.csv").string();
    REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
    REQUIRE(mkfifo(wave.c_str(), 0600) == 0);
    fs::create_symlink("/dev/zero", f.path / "zero.toml");
    fs::create_symlink("/dev/zero", f.path / "zero.csv");
    const std::string big = f.put("big.toml", std::string((1 << 20) + 1, '#'));
    for (const char* verb : {"check ", "meters "}) {
        refuses(verb + pipe, "is a pipe");
        refuses(verb + (f.path / "zero.toml").string(), "is a device");
        refuses(verb + big, "is larger than 1 MB");
        refuses(verb + (f.path / "none.toml").string(), "is not there");
    }
    refuses("analyse " + wave, "is a pipe");
    refuses("analyse " + (f.path / "zero.csv").string(), "is a device");
    const std::string cfg = f.put(
        "z.cfg",
        "a,b,1999\n1,1A,0D\n1,a,,,V,1,0,0,-1,1,1,1,P\n50\n1\n1000,4\n01/01/2000,0:0:0\n01/01/2000,0:0:0\nBINARY\n1\n");
    fs::create_symlink("/dev/zero", f.path / "z.dat");
    refuses("analyse " + cfg, "is a device");
}

TEST_CASE("a number that is none is no number, wherever one is asked for") {
    for (const char* text : {"nan", "-nan", "inf", "NAN(1)", "1e999"})
        for (const std::string& arguments :
             {std::string("read bench-rig --red drive.u --black drive.v --at "),
              std::string("read bench-rig --red drive.u --black drive.v --watch "),
              std::string("read bench-rig --red drive.u --black drive.v --coupled "),
              std::string("read bench-rig --red drive.u --black drive.v --range "), std::string("run bench-rig --for "),
              std::string("run bench-rig --for 0.01 --rate "), std::string("analyse bench-rig --frequency "),
              std::string("faults --blind bench-rig --for ")})
            refuses(arguments + "'" + text + "'", "expected a number from");
}

TEST_CASE("names from elsewhere do not steer the terminal and keep JSON valid") {
    const Hostile f;
    std::string rows = "time,Str\xF6mung,\x1B[31mred,\xE2\x80\xAEgnp\n";
    for (int n = 0; n <= 400; ++n)
        rows += std::to_string(n * 1e-3) + "," + std::to_string(std::sin(0.314159 * n)) + ",1,2\n";
    const std::string wave = f.put("w.csv", rows);
    const Outcome o = run("analyse " + wave + " --json");
    INFO(o.err);
    REQUIRE(o.status == 0);
    CHECK(json::accept(o.out));
    CHECK(o.out.find("Str\xC3\xB6mung") != std::string::npos);
    const Outcome plain = run("analyse " + wave);
    CHECK(plain.out.find('\x1B') == std::string::npos);
    CHECK(plain.out.find("\xE2\x80\xAE") == std::string::npos);
    refuses("meters " + f.put("m.toml", "name = \"\\u001b[31mx\"\n"), "m.toml:1:8: name: has control");
    refuses("check " + f.put("s.toml", "[site]\nname = \"a\\u202eb\"\n"), "s.toml:2:8: site.name");
}

TEST_CASE("an output that cannot be written as asked is refused before the run, and nothing is replaced but files") {
    const Hostile f;
    refuses("run bench-rig --for 1e6 --out x.csv", "--signals");
    fs::create_symlink(f.path / "target", f.path / "link.csv");
    refuses("run bench-rig --for 0.01 --signals link_V --out " + (f.path / "link.csv").string(), "is a symbolic link");
    CHECK_FALSE(fs::exists(f.path / "target"));
    refuses("run bench-rig --for 0.01 --signals link_V --out /dev/null", "is a device");
    const std::string own = f.put("own.csv", "");
    REQUIRE(chmod(own.c_str(), 0600) == 0);
    REQUIRE(run("run bench-rig --for 0.01 --signals link_V --out " + own).status == 0);
    CHECK((fs::status(own).permissions() & fs::perms::all) == (fs::perms::owner_read | fs::perms::owner_write));
    refuses("check bench-rig --set drive=1", "is a section, expected a key in it such as drive.");
}
