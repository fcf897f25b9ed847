// Lessons and paper from the command line: what a learner reads, what stands on the disk, what is refused.
#include <filesystem>
#include <string>

#include "../files/scratch.hpp"
#include "program.hpp"

using namespace sunshaft::test;

namespace {
bool before(const std::string& text, const char* first, const char* then) {
    return text.find(first) != std::string::npos && text.find(first) < text.find(then);
}
}  // namespace

TEST_CASE("a lesson is played on plain lines, cautions before the reading") {
    const Outcome o = run("lesson a-joint-in-two-pairs --seed 2 --progress none < /dev/null");
    CHECK(o.status == 1);  // stopped before its end
    CHECK(before(o.out, "before you touch: ", "Known: "));
    CHECK(before(o.out, "Known: ", "What will it show: "));
    CHECK(o.out.find("expects") == std::string::npos);
    CHECK(o.out == run("lesson a-joint-in-two-pairs --seed 2 --progress none < /dev/null").out);
    CHECK(run("lesson list").out.find("one-wave-two-meters") != std::string::npos);
    CHECK(run("lesson check half-reading").out == "half-reading: ok\n");
    refuses("lesson no-such-lesson", "no-such-lesson:0:0: lesson: is not there");
}

TEST_CASE("a worksheet and its answers stand there both or not at all") {
    const Scratch folder;
    const Outcome o = run("worksheet the-star-phase --seed 9 --out " + (folder / "w.pdf"));
    CHECK(o.status == 0);
    CHECK(slurp(folder / "w.pdf").starts_with("%PDF"));
    CHECK(slurp(folder / "w-answers.pdf").starts_with("%PDF"));
    CHECK(o.out.find("check word: ") != std::string::npos);
    refuses("worksheet the-star-phase --site no-such-site --out " + (folder / "x.pdf"), "no-such-site");
    refuses("worksheet the-star-phase --out " + (folder / "x.txt"), "expected a name that ends in .pdf");
    CHECK(folder.count() == 2);
}

TEST_CASE("the sheet on paper: for the healthy site only, and never half a file") {
    const Scratch folder;
    CHECK(run("sheet bench-rig --meter average --out " + (folder / "s.pdf")).status == 0);
    CHECK(slurp(folder / "s.pdf").starts_with("%PDF"));
    CHECK(run("sheet bench-rig --out " + (folder / "s.html")).status == 0);
    CHECK(before(slurp(folder / "s.html"), "Live work", "Live tests after"));
    refuses("sheet bench-rig --fault lost-phase@splice.u --out " + (folder / "x.pdf"), "healthy site");
    refuses("sheet bench-rig --meter no-such-meter --out " + (folder / "x.pdf"), "no-such-meter");
    CHECK(folder.count() == 2);
}

TEST_CASE("a meter's form: one clear line where it is wrong") {
    const Scratch folder;
    std::ofstream(folder / "seen.csv") << "counts, 2000\nsine-55, 0.3\n";
    refuses("my-meter --seen " + (folder / "seen.csv"), "seen.csv:2:1: sine-55: is no wave");
    refuses("my-meter", "expected one of --waves FOLDER");
}
