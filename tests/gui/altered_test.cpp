// No panel fakes: each field of the snapshot altered by itself changes the picture in the part of the window that shows
// it.
#include <cairo.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <map>
#include <memory>

#include "catch_shim.hpp"
#include "model/desk_alter.hpp"
#include "window.hpp"

using sunshaft::test::Display;
using sunshaft::test::Scratch;

namespace {

using Picture = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;

Picture read(const std::filesystem::path& file) {
    Picture p(cairo_image_surface_create_from_png(file.c_str()), &cairo_surface_destroy);
    INFO(file.string());
    REQUIRE(cairo_surface_status(p.get()) == CAIRO_STATUS_SUCCESS);
    return p;
}

struct Region {
    int left, top, right, bottom;
};
struct Difference {
    int inside = 0, outside = 0;  // pixels that differ plainly
};
Difference differ(const Picture& a, const Picture& b, const Region& r) {
    const int w = cairo_image_surface_get_width(a.get()), h = cairo_image_surface_get_height(a.get()),
              stride = cairo_image_surface_get_stride(a.get());
    REQUIRE(cairo_image_surface_get_width(b.get()) == w);
    REQUIRE(cairo_image_surface_get_height(b.get()) == h);
    Difference d;
    const unsigned char *pa = cairo_image_surface_get_data(a.get()), *pb = cairo_image_surface_get_data(b.get());
    for (int y = 0; y < h; ++y)
        for (int x = 0; x < w; ++x) {
            int far = 0;
            for (int c = 0; c < 3; ++c)
                far = std::max(far, std::abs(pa[y * stride + 4 * x + c] - pb[y * stride + 4 * x + c]));
            if (far < 24) continue;
            const bool in = x >= r.left && x < r.right && y >= r.top && y < r.bottom;
            ++(in ? d.inside : d.outside);
        }
    return d;
}

}  // namespace

TEST_CASE("the picture follows the snapshot, field by field, where the field is shown") {
    const Display display;
    const Scratch scratch;
    const std::filesystem::path folder = scratch.path();
    std::string script =
        "wait 8\nprobe red drive.u\nprobe black drive.v\nprobe around v\nwait 2\nrate 0.01\nwait 0\nhold\nfold "
        "open\nframes 3\n";
    std::string tab = "Scope";
    const auto shot = [&](std::string name) {
        for (char& c : name)
            if (c == ' ' || c == '\'') c = '-';
        return (folder / (name + ".png")).string();
    };
    const auto& all = sunshaft::view::alterations();
    script += fmt::format("snapshot {}\n", shot("plain-Scope"));
    for (const auto& a : all) {
        if (a.where.rfind("strip ", 0) == 0 && a.where.substr(6) != tab) {
            tab = a.where.substr(6);
            script += fmt::format("tab \"{}\"\nframes 3\nsnapshot {}\n", tab, shot("plain-" + tab));
        }
        script += fmt::format("alter \"{}\"\nframes 2\nsnapshot {}\nalter back\n", a.field, shot(a.field));
    }
    script += fmt::format("frames 2\nsnapshot {}\nquit\n", shot("back"));
    std::ofstream(folder / "script") << script;
    const std::string command = fmt::format(
        "DISPLAY={} XDG_STATE_HOME={} LIBGL_ALWAYS_SOFTWARE=1 {} hill-orchard --forget --size 800x500 --scale 50 "
        "--script {} > {} 2>&1",
        display.name(), folder.string(), SUNSHAFT_WINDOW, (folder / "script").string(), (folder / "log").string());
    if (std::system(command.c_str()) != 0) {
        std::ifstream log(folder / "log");
        FAIL(std::string(std::istreambuf_iterator<char>(log), {}));
    }
    // Of 1600 x 1000 the right column is 624 wide, the strip 328 high, the meters 225, the two rows on top 88. Drawn at
    // half its size: a picture a field has to be painted, written and read.
    const int column = (1600 - 624) / 2, strip = (1000 - 328) / 2, top = 88 / 2, meters = 313 / 2;
    const std::map<std::string, Region> regions = {{"meters", {column, top, 800, meters}},
                                                   {"inside", {column, meters, 800, strip}},
                                                   {"cutaway", {0, top, column, strip}},
                                                   {"strip", {0, strip, 800, 500}},
                                                   {"top", {0, 0, 800, top}}};
    tab = "Scope";
    Picture plain = read(shot("plain-Scope"));
    int followed = 0;
    for (const auto& a : all) {
        if (a.where.rfind("strip ", 0) == 0 && a.where.substr(6) != tab)
            plain = read(shot("plain-" + (tab = a.where.substr(6))));
        const Region& region = regions.at(a.where.substr(0, a.where.find(' ')));
        const Difference d = differ(plain, read(shot(a.field)), region);
        INFO(a.field << " in " << a.where << ": " << d.inside << " pixels inside, " << d.outside << " outside");
        CHECK(d.inside > 6);  // as many as 24 at the whole size
        followed += d.inside > 6;
        if (std::getenv("SUNSHAFT_TELL")) fmt::print("{:18} {:14} {:7} {:7}\n", a.field, a.where, d.inside, d.outside);
    }
    CHECK(followed == static_cast<int>(all.size()));
    CHECK(differ(plain, read(shot("back")), {0, 0, 800, 500}).inside == 0);
}
