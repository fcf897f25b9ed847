#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <stdexcept>

#include "report/cairo_file.hpp"
#include "report/fonts.hpp"
#include "report/pen.hpp"
#include "report/plot.hpp"
#include "text/language.hpp"

namespace sunshaft::report {

void write_page(const std::string& path, double wide, double high, const std::function<void(Pen&)>& draw) {
    const std::string ending = std::filesystem::path(path).extension().string();
    if (!is_plot(ending))
        throw std::invalid_argument(text::say("{}: no such kind of plot, expected .svg, .pdf or .png", path));
    take_own_fonts();
    files::FreshFile file(path);
    using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
    const double zoom = ending == ".png" ? 2.0 : 1.0;
    Surface surface(ending == ".svg"   ? cairo_svg_surface_create_for_stream(put, &file, wide, high)
                    : ending == ".pdf" ? cairo_pdf_surface_create_for_stream(put, &file, wide, high)
                                       : cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(zoom * wide),
                                                                    static_cast<int>(zoom * high)),
                    &cairo_surface_destroy);
    const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> context(cairo_create(surface.get()), &cairo_destroy);
    cairo_scale(context.get(), zoom, zoom);
    Pen pen(context.get());
    cairo_set_source_rgb(context.get(), 1, 1, 1);
    cairo_paint(context.get());
    pen.colour(ink);
    draw(pen);
    cairo_show_page(context.get());
    cairo_status_t status = cairo_status(context.get());
    if (ending == ".png" && status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface.get(), put, &file);
    cairo_surface_finish(surface.get());
    if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface.get());
    if (status != CAIRO_STATUS_SUCCESS)
        throw std::runtime_error(fmt::format("{}: {}", path, cairo_status_to_string(status)));
    file.finish();
}

}  // namespace sunshaft::report
