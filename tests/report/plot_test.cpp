#include "report/plot.hpp"

#include <cairo.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>

#include "catch_shim.hpp"
#include "report/picture.hpp"
#include "temporary.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {

// Rows (points from the top) in which pixels of the first series' blue stand, lowest and highest.
std::pair<double, double> blue_rows(const std::string& png) {
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> s(
        cairo_image_surface_create_from_png(png.c_str()), &cairo_surface_destroy);
    REQUIRE(cairo_surface_status(s.get()) == CAIRO_STATUS_SUCCESS);
    const int w = cairo_image_surface_get_width(s.get()), h = cairo_image_surface_get_height(s.get()),
              stride = cairo_image_surface_get_stride(s.get());
    const unsigned char* data = cairo_image_surface_get_data(s.get());
    double first = 1e9, last = -1;
    for (int y = 0; y < h; ++y)
        for (int x = 0; x < w; ++x) {
            const unsigned char* p = data + y * stride + 4 * x;  // B G R X
            if (p[0] > 150 && p[2] < 40) first = std::min(first, 0.5 * y), last = std::max(last, 0.5 * y);
        }
    return {first, last};
}

report::Panel level(double a, double b) { return {"level", "V", {{"one", {{0, 1, a, a}, {1, 2, b, b}}}}, {}, {}}; }

}  // namespace

TEST_CASE("A plot's line stands where its values are") {
    const std::string path = test::temporary("-plot.png");
    // Two panels of one height: 250 points, values 48 below its top, 158 high, 6 % of margin below and above the span.
    report::write_plot(path, "levels", {level(0, 100)});
    const auto [top, bottom] = blue_rows(path);
    const double high = 250 - 92, y0 = 40 + 48;
    CHECK(bottom == approx(y0 + high * (1 - 0.06 / 1.12)).margin(1.5));
    CHECK(top == approx(y0 + high * 0.06 / 1.12).margin(1.5));
    report::write_plot(path, "levels", {level(40, 40)});
    const auto [t, b] = blue_rows(path);
    CHECK(b - t < 3);  // one straight line
    std::filesystem::remove(path);
}

TEST_CASE("Every kind of file begins as it must") {
    for (const auto& [ending, magic] :
         {std::pair<const char*, const char*>{".svg", "<?xml"}, {".pdf", "%PDF"}, {".png", "\x89PNG"}}) {
        const std::string path = test::temporary(ending);
        report::write_plot(path, "t",
                           {level(1, 2),
                            {"bars", "A", {}, {{"x", {3, 0, 1}}}, {}},
                            {"path", "V", {}, {}, {{"p", {{0, 1, 0, 1}}, {{0, 1, 1, 0}}}}}},
                           2);
        std::ifstream in(path, std::ios::binary);
        std::string head(5, ' ');
        in.read(head.data(), 5);
        CHECK(head.rfind(magic, 0) == 0);
        CHECK(std::filesystem::file_size(path) > 1000);
        std::filesystem::remove(path);
    }
}

TEST_CASE("Thinning keeps every column's extremes, ends and time") {
    trace::Trace wave;
    for (int k = 0; k < 50; ++k)
        for (const trace::Segment& s : trace::CarrierPwm(320, 50, 0.8, 4000).line_to_line(0, 1, 1))
            wave.push_back({s.t0 + 0.02 * k, s.t1 + 0.02 * k, s.y0, s.y1});
    const trace::Trace thin = report::thinned(wave, 300);
    CHECK(thin.size() <= 900);
    CHECK(trace::finish(thin) == trace::finish(wave));
    const auto a = trace::statistics(wave), b = trace::statistics(thin);
    CHECK(b.min == a.min);
    CHECK(b.max == a.max);
    for (std::size_t k = 1; k < thin.size(); ++k) CHECK(thin[k].t0 == approx(thin[k - 1].t1).margin(1e-9));
    const trace::Trace few = report::thinned(trace::View(wave).first(40), 300);
    CHECK(few.size() == 40);
}

TEST_CASE("Tick marks are round and inside") {
    CHECK(report::tick_marks(0, 10, 5) == std::vector<double>{0, 2, 4, 6, 8, 10});
    CHECK(report::tick_marks(-326.4, 326.4, 6) == std::vector<double>{-200, 0, 200});
    CHECK(report::tick_marks(1, 1, 5).empty());
}

TEST_CASE("What cannot be drawn is refused and leaves no file") {
    const std::string path = test::temporary("-no.svg");
    CHECK_THROWS_AS(report::write_plot(path, "t", {}), std::invalid_argument);
    CHECK_THROWS_AS(report::write_plot(path, "t", {level(NAN, 1)}), std::invalid_argument);
    CHECK_THROWS_AS(report::write_plot(test::temporary(".gif"), "t", {level(0, 1)}), std::invalid_argument);
    CHECK_THROWS_AS(report::write_plot("/nonexistent/x.svg", "t", {level(0, 1)}), std::invalid_argument);
    CHECK_FALSE(std::filesystem::exists(path));
}

TEST_CASE("a picture comes back from its file pixel by pixel, and replaces nothing but files") {
    const auto folder = std::filesystem::temp_directory_path() / ("sunshaft-picture-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const std::string path = (folder / "p.png").string();
    std::vector<std::uint8_t> rgba;
    for (int n = 0; n < 3 * 2; ++n)
        for (const int byte : {10 * n, 200 - 10 * n, 7 * n, 255}) rgba.push_back(static_cast<std::uint8_t>(byte));
    report::write_png(path, 3, 2, rgba);
    cairo_surface_t* back = cairo_image_surface_create_from_png(path.c_str());
    REQUIRE(cairo_image_surface_get_width(back) == 3);
    REQUIRE(cairo_image_surface_get_height(back) == 2);
    for (int n = 0; n < 6; ++n) {
        std::uint32_t pixel = 0;
        std::memcpy(&pixel,
                    cairo_image_surface_get_data(back) + n / 3 * cairo_image_surface_get_stride(back) + 4 * (n % 3), 4);
        CHECK((pixel & 0xFFFFFFu) ==
              (std::uint32_t(10 * n) << 16 | std::uint32_t(200 - 10 * n) << 8 | std::uint32_t(7 * n)));
    }
    cairo_surface_destroy(back);
    std::filesystem::create_symlink(path, folder / "link.png");
    CHECK_THROWS_AS(report::write_png((folder / "link.png").string(), 3, 2, rgba), std::invalid_argument);
    CHECK_THROWS_AS(report::write_png(path, 3, 3, rgba), std::invalid_argument);
    std::filesystem::remove_all(folder);
}
