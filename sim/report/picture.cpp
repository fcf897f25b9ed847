#include "report/picture.hpp"

#include <fmt/format.h>

#include <memory>
#include <stdexcept>
#include <vector>

#include "report/cairo_file.hpp"
#include "text/language.hpp"

namespace sunshaft::report {

void write_png(const std::string& path, int width, int height, std::span<const std::uint8_t> rgba) {
    const int stride = cairo_format_stride_for_width(CAIRO_FORMAT_RGB24, width);
    if (width <= 0 || height <= 0 || stride <= 0 ||
        rgba.size() != std::size_t{4} * std::size_t(width) * std::size_t(height))
        throw std::invalid_argument(text::say("{}: a picture of no size", path));
    // Cairo's pixel is a number, 0xXXRRGGBB in the machine's own order.
    std::vector<std::uint32_t> pixels(std::size_t(stride) / 4 * std::size_t(height));
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            const std::uint8_t* p = &rgba[4 * (std::size_t(y) * std::size_t(width) + std::size_t(x))];
            pixels[std::size_t(y) * std::size_t(stride) / 4 + std::size_t(x)] =
                std::uint32_t(p[0]) << 16 | std::uint32_t(p[1]) << 8 | p[2];
        }
    files::FreshFile file(path);
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_image_surface_create_for_data(reinterpret_cast<unsigned char*>(pixels.data()), CAIRO_FORMAT_RGB24, width,
                                            height, stride),
        &cairo_surface_destroy);
    if (const cairo_status_t status = cairo_surface_write_to_png_stream(surface.get(), put, &file);
        status != CAIRO_STATUS_SUCCESS)
        throw std::runtime_error(fmt::format("{}: {}", path, cairo_status_to_string(status)));
    file.finish();
}

}  // namespace sunshaft::report
