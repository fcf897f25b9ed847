#include "picture.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <stdexcept>

namespace sunshaft::test {

Grey grey(const std::filesystem::path& png) {
    cairo_surface_t* surface = cairo_image_surface_create_from_png(png.c_str());
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) throw std::runtime_error("no picture " + png.string());
    Grey out{cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface), {}};
    const int stride = cairo_image_surface_get_stride(surface);
    const unsigned char* data = cairo_image_surface_get_data(surface);
    for (int y = 0; y < out.height; ++y)
        for (int x = 0; x < out.width; ++x) {
            const unsigned char* p = data + y * stride + 4 * x;
            out.at.push_back((0.114 * p[0] + 0.587 * p[1] + 0.299 * p[2]) / 255.0);
        }
    cairo_surface_destroy(surface);
    return out;
}

Grey reduced(const Grey& from, int width, int height) {
    Grey out{width, height, {}};
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            double sum = 0.0;
            int count = 0;
            for (int v = y * from.height / height; v < (y + 1) * from.height / height; ++v)
                for (int u = x * from.width / width; u < (x + 1) * from.width / width; ++u) sum += from(u, v), ++count;
            out.at.push_back(sum / std::max(1, count));
        }
    return out;
}

int differing(const Grey& a, const Grey& b, double by) {
    if (a.width != b.width || a.height != b.height) return a.width * a.height;
    int count = 0;
    for (std::size_t n = 0; n < a.at.size(); ++n) count += std::abs(a.at[n] - b.at[n]) > by;
    return count;
}

namespace {

struct Run {
    int from, to;
};  // to: one past the end

// Stretches in which `there` holds.
std::vector<Run> runs(int from, int to, auto&& there) {
    std::vector<Run> out;
    for (int n = from; n < to; ++n) {
        if (!there(n)) continue;
        if (!out.empty() && out.back().to == n) ++out.back().to;
        else out.push_back({n, n + 1});
    }
    return out;
}

}  // namespace

Figures read_segments(const Grey& g, const Part& part) {
    // The ground is what most of the display is; unlit segments stand out from it a little, lit ones by far.
    std::vector<double> sorted;
    for (int y = part.y; y < part.y + part.h; ++y)
        for (int x = part.x; x < part.x + part.w; ++x) sorted.push_back(g(x, y));
    std::ranges::sort(sorted);
    if (sorted.empty()) return {};
    const double ground = sorted[sorted.size() / 4], lit = sorted[sorted.size() * 99 / 100];
    // a display with nothing lit reads as nothing
    const double a_trace = ground + 0.012, half = ground + 0.5 * std::max(lit - ground, 0.3);
    const int bottom = part.y + part.h;
    // Cells: columns with a trace of a segment in the middle height of the digits, where no point stands between them.
    const int high = part.h * 6 / 10;
    const auto column = [&](int x) {
        for (int y = bottom - high; y < bottom - high / 3; ++y)
            if (g(x, y) > a_trace) return true;
        return false;
    };
    struct Cell {
        Run across, down;
    };
    std::vector<Cell> cells;
    int tallest = 0;
    for (const Run& across : runs(part.x + 1, part.x + part.w - 1, column)) {
        const auto row = [&](int y) {
            for (int x = across.from; x < across.to; ++x)
                if (g(x, y) > a_trace) return true;
            return false;
        };
        const auto down = runs(part.y + 1, bottom - 1, row);
        if (down.empty()) continue;
        const Run longest = *std::ranges::max_element(down, {}, [](const Run& r) { return r.to - r.from; });
        cells.push_back({across, longest});
        tallest = std::max(tallest, longest.to - longest.from);
    }
    Figures out;
    out.digit_height = tallest;
    static const std::map<unsigned, char> letters{{0x3F, '0'}, {0x06, '1'}, {0x5B, '2'}, {0x4F, '3'}, {0x66, '4'},
                                                  {0x6D, '5'}, {0x7D, '6'}, {0x07, '7'}, {0x27, '7'}, {0x7F, '8'},
                                                  {0x6F, '9'}, {0x38, 'L'}, {0x40, '-'}, {0x00, ' '}};
    for (std::size_t n = 0; n < cells.size(); ++n) {
        const auto& [across, down] = cells[n];
        const int w = across.to - across.from, h = down.to - down.from;
        if (h < 0.8 * tallest || w < h / 4) continue;  // the unit, the label, a minus
        const auto bright = [&](double fx, double fy) {
            const int x = across.from + static_cast<int>(fx * (w - 1) + 0.5),
                      y = down.from + static_cast<int>(fy * (h - 1) + 0.5);
            double most = 0.0;
            for (int dy = -1; dy <= 1; ++dy)
                for (int dx = -1; dx <= 1; ++dx) most = std::max(most, g(x + dx, y + dy));
            return most > half;
        };
        constexpr std::array<std::array<double, 2>, 7> middle{
            {{0.5, 0.04}, {0.94, 0.27}, {0.94, 0.73}, {0.5, 0.96}, {0.06, 0.73}, {0.06, 0.27}, {0.5, 0.5}}};
        unsigned mask = 0;
        for (std::size_t k = 0; k < middle.size(); ++k) mask |= bright(middle[k][0], middle[k][1]) ? 1U << k : 0U;
        const auto letter = letters.find(mask);
        if (letter == letters.end() || letter->second != ' ') {
            // A minus stands before the first digit, by itself, at half height.
            if (out.shown.empty()) {
                const int y = down.from + h / 2;
                for (int x = part.x + 1; x < across.from - 1; ++x)
                    if (g(x, y) > half && !std::ranges::any_of(cells, [&](const Cell& c) {
                            return c.down.to - c.down.from >= 0.8 * tallest && x >= c.across.from && x < c.across.to;
                        })) {
                        out.shown.push_back('-');
                        break;
                    }
            }
            out.shown += letter == letters.end() ? '?' : letter->second;
        }
        // A point at the foot, between this digit and the next.
        const int next = n + 1 < cells.size() ? cells[n + 1].across.from : across.to;
        const bool digit_follows =
            n + 1 < cells.size() && cells[n + 1].down.to - cells[n + 1].down.from >= 0.8 * tallest;
        if (digit_follows)
            for (int x = across.to; x < next; ++x)
                if (g(x, down.to - std::max(2, h / 16)) > half) {
                    out.shown += '.';
                    break;
                }
    }
    return out;
}

std::string play(const Display& display, const Scratch& scratch, const std::string& arguments,
                 const std::string& script) {
    const auto folder = scratch.path();
    std::ofstream(folder / "script") << script;
    const std::string command = fmt::format(
        "DISPLAY={} XDG_STATE_HOME={} LIBGL_ALWAYS_SOFTWARE=1 {} {} --forget --script {} > {} 2>&1", display.name(),
        folder.string(), SUNSHAFT_WINDOW, arguments, (folder / "script").string(), (folder / "log").string());
    const int status = std::system(command.c_str());
    std::ifstream log(folder / "log");
    std::string said(std::istreambuf_iterator<char>(log), {});
    if (status != 0) throw std::runtime_error(said);
    return said;
}

}  // namespace sunshaft::test
