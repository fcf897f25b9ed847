// The arrangement of the window: sheets tile it, nothing is cut off, small windows fold and scroll.
#include <vector>

#include "catch_shim.hpp"
#include "model/layout.hpp"

using namespace sunshaft;
using view::arrange;
using view::Arrangement;
using view::Box;
using view::Shown;
using view::StripWish;

namespace {

std::vector<Box> sheets(const Arrangement& a) {
    std::vector<Box> out;
    for (const Box& b : {a.top_bar, a.cautions, a.drawer, a.cutaway, a.right, a.strip})
        if (!b.empty()) out.push_back(b);
    return out;
}

double area(const Box& b) { return b.w * b.h; }

bool overlap(const Box& a, const Box& b) {
    return a.x < b.right() - 1e-9 && b.x < a.right() - 1e-9 && a.y < b.bottom() - 1e-9 && b.y < a.bottom() - 1e-9;
}

}  // namespace

TEST_CASE("sheets tile the window without gap or overlap, whatever is shown") {
    for (const view::Size window : {view::Size{960, 540}, {1280, 720}, {1600, 1000}, {1920, 1080}, {3840, 2160}}) {
        for (unsigned bits = 0; bits < 256; ++bits) {
            for (const StripWish wish : {StripWish::fit, StripWish::open, StripWish::folded}) {
                Shown s;
                s.top_bar = (bits & 1U) != 0;
                s.cautions = (bits & 2U) != 0;
                s.cutaway = (bits & 4U) != 0;
                s.meters = (bits & 8U) != 0;
                s.inside = (bits & 16U) != 0;
                s.strip = (bits & 32U) != 0;
                s.drawer = (bits & 64U) != 0;
                s.strip_split = (bits & 128U) != 0;
                s.strip_wish = wish;
                const Arrangement a = arrange(window, s);
                INFO("window " << window.w << "x" << window.h << " shown " << bits);
                const auto boxes = sheets(a);
                double covered = 0.0;
                for (std::size_t i = 0; i < boxes.size(); ++i) {
                    covered += area(boxes[i]);
                    REQUIRE(boxes[i].x >= 0.0);
                    REQUIRE(boxes[i].y >= 0.0);
                    REQUIRE(boxes[i].right() <= window.w + 1e-9);
                    REQUIRE(boxes[i].bottom() <= window.h + 1e-9);
                    for (std::size_t k = i + 1; k < boxes.size(); ++k) REQUIRE_FALSE(overlap(boxes[i], boxes[k]));
                }
                // The main row is empty ground when only the drawer stands in it beside nothing.
                if (s.cutaway) REQUIRE(covered == test::approx(window.w * window.h).epsilon(1e-12));
                REQUIRE((a.cutaway.empty() || s.cutaway));
                REQUIRE((a.drawer.empty() || s.drawer));
                REQUIRE((!s.strip || a.strip.h > 0.0));
            }
        }
    }
}

TEST_CASE("the drawing's own size, 1600 x 1000") {
    const Arrangement a = arrange({1600, 1000}, {});
    CHECK(a.top_bar == Box{0, 0, 1600, 56});
    CHECK(a.cautions == Box{0, 56, 1600, 32});
    CHECK(a.cutaway.w == 976.0);
    CHECK(a.cutaway.h == 584.0);
    CHECK(a.right == Box{976, 88, 624, 584});
    CHECK(a.strip == Box{0, 672, 1600, 328});
    CHECK_FALSE(a.strip_folded);
    CHECK(a.right_scroll_range == 0.0);
    Shown with_drawer;
    with_drawer.drawer = true;
    const Arrangement d = arrange({1600, 1000}, with_drawer);
    CHECK(d.drawer == Box{0, 88, 344, 584});
    CHECK(d.cutaway.w == 632.0);
    CHECK(d.right == a.right);  // the meters stay where they are
}

TEST_CASE("a small window folds the strip and scrolls the right column, and the user may unfold") {
    Arrangement a = arrange({1280, 720}, {});
    CHECK(a.strip_folded);
    CHECK(a.strip.h == 32.0);
    CHECK(a.strip_left.empty());
    CHECK(a.meters.h + a.inside.h >= 584.0);
    Shown open;
    open.strip_wish = StripWish::open;
    a = arrange({1280, 720}, open);
    CHECK_FALSE(a.strip_folded);
    CHECK(a.strip_left.h >= 200.0);
    CHECK(a.cutaway.h >= 240.0);
    CHECK(a.right_scroll_range > 0.0);
    CHECK(a.meters.h + a.inside.h - a.right.h == test::approx(a.right_scroll_range).epsilon(1e-12));
}

TEST_CASE("a hover text lies on nothing that is to be read or pressed, or is not there") {
    const view::Size window{1280, 720}, size{320, 90};
    const std::vector<Box> clear{{0, 56, 1280, 32}, {300, 300, 400, 200}};
    int shown = 0;
    for (double x = 5; x < window.w; x += 45)
        for (double y = 5; y < window.h; y += 35) {
            const auto box = view::beside({x, y}, size, window, clear);
            if (!box) continue;
            ++shown;
            CHECK((box->x >= 0 && box->y >= 0 && box->right() <= window.w && box->bottom() <= window.h));
            for (const Box& b : clear) CHECK_FALSE(overlap(*box, b));
            CHECK_FALSE(box->contains({x, y}));
        }
    CHECK(shown > 500);
    CHECK_FALSE(view::beside({100, 100}, {1300, 40}, {1280, 720}, std::vector<Box>{{0, 0, 1280, 720}}));
}

TEST_CASE("twice the pixels at twice the scale is the same arrangement") {
    const double scale = view::fitting_scale(2.0, 3840, 2160);
    CHECK(scale == 2.0);
    const Arrangement a = arrange({3840 / scale, 2160 / scale}, {});
    const Arrangement b = arrange({1920, 1080}, {});
    CHECK(a.cutaway == b.cutaway);
    CHECK(a.strip == b.strip);
}

TEST_CASE("a split strip has two halves") {
    Shown s;
    s.strip_split = true;
    const Arrangement a = arrange({1601, 1000}, s);
    CHECK(a.strip_left.w + a.strip_right.w == 1601.0);
    CHECK(a.strip_left.right() == a.strip_right.x);
    CHECK(a.strip_right.right() == 1601.0);
}

TEST_CASE("the scale gives way before the arrangement does") {
    CHECK(view::fitting_scale(1.0, 1600, 1000) == 1.0);
    CHECK(view::fitting_scale(3.0, 1920, 1080) == 2.0);  // 960 x 540 units are the least
    CHECK(view::fitting_scale(9.0, 1e5, 1e5) == 3.0);
    CHECK(view::fitting_scale(1.0, 320, 240) == 0.5);
    CHECK(view::next_scale(1.0, 1) == 1.1);
    CHECK(view::next_scale(1.0, -1) == 0.9);
    CHECK(view::next_scale(3.0, 1) == 3.0);
    CHECK(view::next_scale(0.5, -1) == 0.5);
    CHECK(view::next_scale(1.04, 1) == 1.1);
}

TEST_CASE("degenerate windows do no harm") {
    for (const view::Size window : {view::Size{0, 0}, {1, 1}, {100, 40}, {5000, 100}}) {
        Shown s;
        s.drawer = true;
        for (const Box& b : sheets(arrange(window, s))) {
            CHECK(b.w >= 0.0);
            CHECK(b.h >= 0.0);
        }
    }
}
