// The wipe: left of the rule the twin, right of it the site, and when it is gone everything as before.
#include <cmath>

#include "catch_shim.hpp"
#include "picture.hpp"

using sunshaft::test::Display;
using sunshaft::test::Grey;
using sunshaft::test::Part;
using sunshaft::test::Scratch;

namespace {

int differing(const Grey& a, const Grey& b, const Part& part) {
    int count = 0;
    for (int y = part.y; y < part.y + part.h; ++y)
        for (int x = part.x; x < part.x + part.w; ++x) count += std::abs(a(x, y) - b(x, y)) > 0.02;
    return count;
}

}  // namespace

TEST_CASE("the wipe draws the twin left of its rule, leaves the rest alone, is moved by hand, and ends cleanly") {
    const Display display;
    const Scratch scratch;
    const auto shot = [&](const char* name) { return (scratch.path() / (std::string(name) + ".png")).string(); };
    std::string script =
        "wait 8\nprobe red drive.u\nprobe black drive.v\nwait 1\nhold\nwait 0\nmove 1250 28\nframes 3\nsnapshot " +
        shot("healthy") + "\nkey f10\nframes 3\nsnapshot \"" + shot("nothing to compare") +
        "\"\nrun\nplant lost-phase splice.v 1\nwait 8\nhold\nwait 0\nfold open\nmove 1250 28\nframes 3\nsnapshot " +
        shot("plain") + "\nkey f10\nframes 3\nsnapshot " + shot("on") +
        "\npress \"wipe rule\"\nmove 820 560\nrelease 820 560\nmove 1250 28\nframes 3\nsnapshot " + shot("moved") +
        "\nkey esc\nframes 3\nsnapshot " + shot("off") + "\nquit\n";
    sunshaft::test::play(display, scratch, "hill-orchard --size 1600x1000 --scale 100", script);
    const Grey plain = sunshaft::test::grey(shot("plain")), on = sunshaft::test::grey(shot("on")),
               moved = sunshaft::test::grey(shot("moved")), off = sunshaft::test::grey(shot("off"));
    // The cutaway is 976 wide under two rows on top, 88 high; the rule comes up on the bore's axis with a sheet about
    // it. Left of the bore stand what the pump lifts and how fast the motor turns.
    const Part left{0, 540, 180, 130}, right{700, 260, 270, 410}, meters{980, 90, 620, 580}, scope{60, 710, 400, 250};
    CHECK(differing(plain, on, left) > 60);
    CHECK(differing(plain, on, right) == 0);
    CHECK(differing(plain, on, meters) == 0);
    CHECK(differing(plain, on, scope) > 300);
    CHECK(differing(on, moved, left) == 0);    // twin before, twin now
    CHECK(differing(on, moved, right) > 100);  // what was the site's is the twin's
    CHECK(sunshaft::test::differing(plain, off) == 0);
    // Where nothing is planted there is nothing to compare: the key does nothing.
    CHECK(sunshaft::test::differing(sunshaft::test::grey(shot("healthy")),
                                    sunshaft::test::grey(shot("nothing to compare"))) == 0);
}
