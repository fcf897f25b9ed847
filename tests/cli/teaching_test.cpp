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

TEST_CASE("a lesson's plan: the clock on plain lines, and one page to print") {
    const Scratch folder;
    const Outcome o = run("lesson plan half-reading --start 9:10 --late 8");
    CHECK(o.status == 0);
    CHECK(o.out.find("09:18 to 09:23  recall") != std::string::npos);
    CHECK(o.out.find("No spare.") != std::string::npos);
    CHECK(before(o.out, "Before you touch", "What to ask"));
    CHECK(run("lesson plan half-reading --out " + (folder / "p.pdf")).status == 0);
    CHECK(slurp(folder / "p.pdf").starts_with("%PDF"));
    refuses("lesson plan half-reading --start 25:10", "expected a time such as 9:10");
    refuses("lesson plan", "expected one lesson");
    refuses("lesson plan half-reading --out " + (folder / "p.txt"), "expected a name that ends in .pdf");
    CHECK(folder.count() == 1);
}

TEST_CASE("a case with an expert's help, and none that a pipe could wait for") {
    const Outcome o = run("lesson case 2 --seed 4");
    CHECK(o.status == 0);
    CHECK(before(o.out, "The owner says", "The expert takes"));
    CHECK(before(o.out, "The expert takes", "left"));
    const Outcome own = run("lesson case 2 --seed 4 --level own < /dev/null");
    CHECK(own.status == 1);  // stopped before its end
    CHECK(own.out.find("The expert") == std::string::npos);
    refuses("lesson case 7", "expected a block, 1 to 5");
}

TEST_CASE("a learner's file is kept by a lesson played to its end, and asks again the next time") {
    const Scratch folder;
    const std::string file = folder / "p.toml";
    std::ofstream(folder / "said") << "1\n1\n1\n1\n1\n1\n1\n1\n1\n";
    // Figures of 1 and the first reason each time: not yet, and the beliefs it gave away are kept.
    const Outcome first = run("lesson isolator-open --progress " + file + " < " + (folder / "said"));
    CHECK(first.out.find("Not yet") != std::string::npos);
    CHECK(first.out.find("Recall") == std::string::npos);
    CHECK(slurp(file).find("lesson = \"isolator-open\"") != std::string::npos);
    const Outcome second = run("lesson half-reading --progress " + file + " < /dev/null");
    CHECK(second.out.find("Recall 1 of 1, from \"What an open isolator leaves alive\"") != std::string::npos);
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
