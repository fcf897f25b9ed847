#include "report/paper.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <fmt/format.h>
#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "report/fonts.hpp"
#include "text/language.hpp"

namespace sunshaft::report {
namespace {

cairo_status_t append(void* text, const unsigned char* data, unsigned int bytes) {
    static_cast<std::string*>(text)->append(reinterpret_cast<const char*>(data), bytes);
    return CAIRO_STATUS_SUCCESS;
}

template <class T>
using Owned = std::unique_ptr<T, void (*)(T*)>;

}  // namespace

struct Paper::Own {
    std::string out;
    double wide, high;
    Owned<cairo_surface_t> surface;
    Owned<cairo_t> c;
    int pages = 1;
    std::vector<Placed> placed;

    Own(Kind kind, double w, double h)
        : wide(w),
          high(h),
          surface(kind == Kind::pdf ? cairo_pdf_surface_create_for_stream(append, &out, w, h)
                                    : cairo_svg_surface_create_for_stream(append, &out, w, h),
                  cairo_surface_destroy),
          c(cairo_create(surface.get()), cairo_destroy) {
        cairo_set_source_rgb(c.get(), 0, 0, 0);
        cairo_set_line_join(c.get(), CAIRO_LINE_JOIN_MITER);
    }
    // A layout over its baseline grid, unhinted: what is measured is what is printed.
    struct Layout {
        PangoLayout* l;
        Layout(cairo_t* c, const std::string& words, const Type& t) : l(pango_cairo_create_layout(c)) {
            const Owned<PangoFontDescription> font(pango_font_description_new(), pango_font_description_free);
            pango_font_description_set_family(font.get(), t.mono ? "JetBrains Mono, monospace" : "Inter, sans-serif");
            pango_font_description_set_weight(font.get(), t.bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
            pango_font_description_set_absolute_size(font.get(), t.size * PANGO_SCALE);
            pango_layout_set_font_description(l, font.get());
            const Owned<cairo_font_options_t> options(cairo_font_options_create(), cairo_font_options_destroy);
            cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
            pango_cairo_context_set_font_options(pango_layout_get_context(l), options.get());
            pango_layout_context_changed(l);
            if (t.wide > 0.0) {
                pango_layout_set_width(l, static_cast<int>(t.wide * PANGO_SCALE));
                pango_layout_set_wrap(l, PANGO_WRAP_WORD_CHAR);
                pango_layout_set_alignment(l, t.align > 0.75   ? PANGO_ALIGN_RIGHT
                                              : t.align > 0.25 ? PANGO_ALIGN_CENTER
                                                               : PANGO_ALIGN_LEFT);
            }
            pango_layout_set_text(l, words.c_str(), static_cast<int>(words.size()));
        }
        ~Layout() { g_object_unref(l); }
        Layout(const Layout&) = delete;
        Layout& operator=(const Layout&) = delete;
        Size size() const {
            PangoRectangle r;
            pango_layout_get_extents(l, nullptr, &r);
            return {static_cast<double>(r.width) / PANGO_SCALE, static_cast<double>(r.height) / PANGO_SCALE};
        }
        double left() const {
            PangoRectangle r;
            pango_layout_get_extents(l, nullptr, &r);
            return static_cast<double>(r.x) / PANGO_SCALE;
        }
    };
    void stroke(double thick, bool dashed) {
        const double dash[] = {3.0, 2.0};
        cairo_set_dash(c.get(), dash, dashed ? 2 : 0, 0.0);
        cairo_set_line_width(c.get(), thick);
        cairo_stroke(c.get());
    }
    void white() { cairo_set_source_rgb(c.get(), 1, 1, 1); }
    void black() { cairo_set_source_rgb(c.get(), 0, 0, 0); }
};

Paper::Paper(Kind kind, double wide, double high) {
    take_own_fonts();
    own_ = std::make_unique<Own>(kind, wide, high);
    if (measure("0", {}).wide <= 0.0) throw std::runtime_error(text::tr("no font to set text with is installed"));
}
Paper::~Paper() = default;

Paper::Size Paper::measure(const std::string& words, const Type& type) const {
    return Own::Layout(own_->c.get(), words, type).size();
}

double Paper::text(double x, double y, const std::string& words, const Type& type) {
    if (words.empty()) return 0.0;
    const Own::Layout layout(own_->c.get(), words, type);
    const Size size = layout.size();
    const double at = type.wide > 0.0 ? x : x - type.align * size.wide;
    cairo_move_to(own_->c.get(), at, y);
    pango_cairo_show_layout(own_->c.get(), layout.l);
    own_->placed.push_back({own_->pages, at + layout.left(), y, size.wide, size.high, words});
    return size.high;
}

double Paper::label(double x, double y, const std::string& words, const Type& type) {
    const Own::Layout layout(own_->c.get(), words, type);
    const Size size = layout.size();
    const double at = (type.wide > 0.0 ? x : x - type.align * size.wide) + layout.left();
    own_->white();
    cairo_rectangle(own_->c.get(), at - 1.5, y, size.wide + 3.0, size.high);
    cairo_fill(own_->c.get());
    own_->black();
    return text(x, y, words, type);
}

void Paper::line(double x0, double y0, double x1, double y1, double thick, bool dashed) {
    cairo_move_to(own_->c.get(), x0, y0);
    cairo_line_to(own_->c.get(), x1, y1);
    own_->stroke(thick, dashed);
}

void Paper::path(const std::vector<std::pair<double, double>>& points, double thick, bool dashed) {
    cairo_new_path(own_->c.get());
    for (const auto& [x, y] : points) cairo_line_to(own_->c.get(), x, y);
    own_->stroke(thick, dashed);
}

void Paper::box(double x, double y, double wide, double high, double thick, bool white) {
    cairo_rectangle(own_->c.get(), x, y, wide, high);
    if (white) {
        own_->white();
        cairo_fill_preserve(own_->c.get());
        own_->black();
    }
    own_->stroke(thick, false);
}

void Paper::bar(double x, double y, double wide, double high) {
    cairo_rectangle(own_->c.get(), x, y, wide, high);
    cairo_fill(own_->c.get());
}

void Paper::ring(double x, double y, double radius, double thick) {
    cairo_new_sub_path(own_->c.get());
    cairo_arc(own_->c.get(), x, y, radius, 0.0, 2.0 * std::numbers::pi);
    own_->white();
    cairo_fill_preserve(own_->c.get());
    own_->black();
    own_->stroke(thick, false);
}

void Paper::hatch(double x, double y, double wide, double high, double step) {
    cairo_t* c = own_->c.get();
    cairo_save(c);
    cairo_rectangle(c, x, y, wide, high);
    cairo_clip(c);
    for (double at = -high; at < wide; at += step) {
        cairo_move_to(c, x + at, y + high);
        cairo_line_to(c, x + at + high, y);
    }
    own_->stroke(0.35, false);
    cairo_restore(c);
}

void Paper::badge(double x, double y, int number, double radius) {
    cairo_t* c = own_->c.get();
    own_->white();
    cairo_new_sub_path(c);
    cairo_arc(c, x, y, radius + 1.0, 0.0, 2.0 * std::numbers::pi);
    cairo_fill(c);
    own_->black();
    cairo_new_sub_path(c);
    cairo_arc(c, x, y, radius, 0.0, 2.0 * std::numbers::pi);
    cairo_fill(c);
    const Type type{.size = 1.25 * radius, .bold = true, .align = 0.5};
    const std::string words = fmt::format("{}", number);
    own_->white();
    text(x, y - 0.5 * measure(words, type).high, words, type);
    own_->black();
}

void Paper::warning(double x, double y, double size) {
    const double high = size * 0.87;
    path({{x, y + high}, {x + 0.5 * size, y}, {x + size, y + high}, {x, y + high}, {x + 0.5 * size, y}}, size / 14.0);
    line(x + 0.5 * size, y + 0.36 * high, x + 0.5 * size, y + 0.66 * high, size / 11.0);
    line(x + 0.5 * size, y + 0.76 * high, x + 0.5 * size, y + 0.86 * high, size / 11.0);
}

void Paper::earth(double x, double y) {
    line(x, y, x, y + 6);
    for (int k = 0; k < 3; ++k) line(x - 6 + 2 * k, y + 6 + 2 * k, x + 6 - 2 * k, y + 6 + 2 * k);
}

void Paper::next_page() {
    cairo_show_page(own_->c.get());
    ++own_->pages;
}

int Paper::pages() const { return own_->pages; }
double Paper::wide() const { return own_->wide; }
double Paper::high() const { return own_->high; }
const std::vector<Paper::Placed>& Paper::placed() const { return own_->placed; }

std::string Paper::finish() {
    cairo_show_page(own_->c.get());
    cairo_surface_finish(own_->surface.get());
    const cairo_status_t status = std::max(cairo_status(own_->c.get()), cairo_surface_status(own_->surface.get()));
    if (status != CAIRO_STATUS_SUCCESS && status != CAIRO_STATUS_SURFACE_FINISHED)
        throw std::runtime_error(fmt::format("page: {}", cairo_status_to_string(status)));
    return std::move(own_->out);
}

}  // namespace sunshaft::report
