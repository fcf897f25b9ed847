// A class without a network: a call-out played in lines, left, taken up from its journal, and merged into the book.
#include "program.hpp"

using namespace sunshaft::test;

namespace {

struct Folder {
    std::filesystem::path path =
        std::filesystem::temp_directory_path() / ("sunshaft-classes-" + std::to_string(getpid()));
    Folder() { std::filesystem::create_directories(path); }
    ~Folder() { std::filesystem::remove_all(path); }
    std::string file(const char* name) const { return (path / name).string(); }
    std::string lines(const std::string& text) const {
        std::ofstream(path / "lines") << text;
        return " < " + file("lines");
    }
};

}  // namespace

TEST_CASE("a call-out is left, taken up from the journal alone, and stands in the instructor's book") {
    const Folder f;
    REQUIRE(run("callout new bench-rig --seed 3 --out " + f.file("a.toml")).status == 0);
    const std::string who = " --who Ana --who Ben --journal " + f.file("stick.journal");
    Outcome o = run("callout play " + f.file("a.toml") + who + f.lines("look\nclamp u\n"));
    CHECK(o.status == 1);
    CHECK(o.out.find("Not finished") != std::string::npos);
    std::filesystem::remove(f.file("a.toml"));  // the journal has it
    o = run("callout resume" + who + f.lines("notes\nclamp v\nleave\n"));
    CHECK(o.status == 1);
    CHECK(o.out.find("start 2") != std::string::npos);
    CHECK(o.out.find("clamp on u") != std::string::npos);
    CHECK(o.out.find("Left without a word") != std::string::npos);
    refuses("callout resume" + who, "nothing there is unfinished");

    const std::string book = f.file("class.sqlite");
    o = run("class merge " + f.path.string() + " --into " + book);
    CHECK(o.status == 0);
    CHECK(o.out.find(" 0 known") != std::string::npos);
    o = run("class merge " + f.path.string() + " --into " + book);
    CHECK(o.out.find(": 0 new") != std::string::npos);
    o = run("class show " + book);
    CHECK(o.status == 0);
    CHECK(o.out.find("Ana") != std::string::npos);
    o = run("class show " + book + " --nameless");
    CHECK(o.out.find("Ana") == std::string::npos);
    CHECK(o.out.find("learner 2") != std::string::npos);
    o = run("class export " + book + " --csv " + f.file("c.csv") + " --xapi " + f.file("c.json") + " --pdf " +
            f.file("c.pdf"));
    CHECK(o.status == 0);
    std::ifstream in(f.file("c.json"));
    CHECK(json::parse(in).empty());  // nothing is finished
    refuses("class show " + f.file("nowhere.sqlite"), "is not there");
    refuses("class export " + book, "nothing to write");
    CHECK(run("class merge " + f.file("nowhere") + " --into " + book).status == 1);
}
