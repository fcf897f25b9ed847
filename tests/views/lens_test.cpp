// Everything a hand can touch in the drawing has room: by itself, or in the glass that opens over it.
#include "model/lens.hpp"

#include <fmt/format.h>

#include <filesystem>

#include "catch_shim.hpp"
#include "model/layout.hpp"
#include "site/load.hpp"
#include "site/shipped.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

struct Thing {
    std::string name;
    Point at;
};

std::vector<Thing> things(const SiteDrawing& d) {
    std::vector<Thing> all;
    for (const Dot& dot : d.dots) all.push_back({dot.name, dot.at});
    for (const Ring& ring : d.rings) all.push_back({"ring " + ring.name, ring.at});
    return all;
}

double room(const std::vector<Thing>& all, const Thing& one, double zoom) {
    double nearest = 1e9;
    for (const Thing& other : all)
        if (other.name != one.name) nearest = std::min(nearest, zoom * distance(other.at, one.at));
    return nearest;
}

}  // namespace

TEST_CASE(
    "every dot and ring of every site has 24 pixels to its neighbour, by itself or in the glass that opens over it") {
    int crowded = 0, measured = 0;
    for (const std::string& file : site::shipped_sites()) {
        const auto built = *site::compile_site(site::load_scenario(file));
        for (const Size window : {Size{960, 540}, {1280, 720}, {1600, 1000}, {1920, 1080}, {1920, 1200}, {3840, 2160}})
            for (const bool drawer : {false, true}) {
                Shown shown;
                shown.drawer = drawer;
                const Box box = arrange(window, shown).cutaway;
                if (box.empty()) continue;
                for (const SheetChoice sheet : {SheetChoice::splice, SheetChoice::motor, SheetChoice::power}) {
                    const SiteDrawing d = draw_site(built, box, {20.0, 0.5}, sheet);
                    const auto all = things(d);
                    for (const Thing& one : all) {
                        INFO(file << " at " << window.w << " x " << window.h << (drawer ? ", drawer open: " : ": ")
                                  << one.name);
                        if (one.at.x < d.left) continue;  // not in sight
                        ++measured;
                        const auto lens = lens_over(d, one.at);
                        const double free = room(all, one, 1.0);
                        REQUIRE(lens.has_value() == (free < target_room));
                        if (!lens) continue;
                        ++crowded;
                        CHECK(room(all, one, lens->zoom) >= target_room);
                        // Under the hand that opened it, and inside the glass.
                        CHECK(distance(lens->on_glass(one.at), one.at) < 1e-6);
                        CHECK(lens->covers(one.at));
                        CHECK(distance(lens->in_drawing(lens->on_glass({3.0, 4.0})), {3.0, 4.0}) < 1e-9);
                    }
                }
            }
    }
    CHECK(measured > 1000);
    CHECK(crowded > 100);
}
