// A pen on Cairo, and a page to draw on: what all drawn files share.
#pragma once

#include <cairo.h>

#include <array>
#include <functional>
#include <string>
#include <vector>

namespace sunshaft::report {

struct Colour {
    double r, g, b;
};
inline constexpr Colour ink{0.13, 0.15, 0.18}, faint{0.87, 0.89, 0.91}, soft{0.42, 0.46, 0.5};
inline constexpr std::array<Colour, 6> series{{{0.0, 0.447, 0.698},
                                               {0.835, 0.369, 0.0},
                                               {0.0, 0.62, 0.451},
                                               {0.8, 0.475, 0.655},
                                               {0.35, 0.35, 0.35},
                                               {0.902, 0.624, 0.0}}};
inline const std::array<std::vector<double>, 6> dashes{{{}, {7, 3}, {2, 2.5}, {9, 3, 2, 3}, {4, 4}, {12, 3}}};

struct Box {
    double x, y, w, h;
};
struct Scale {
    double low, high, from, to;  // values -> points
    double operator()(double v) const { return from + (v - low) / (high - low) * (to - from); }
};

class Pen {
  public:
    explicit Pen(cairo_t* c) : c_(c) {
        cairo_set_line_join(c_, CAIRO_LINE_JOIN_ROUND);
        cairo_select_font_face(c_, "Inter", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    }
    void colour(const Colour& k, double alpha = 1.0) { cairo_set_source_rgba(c_, k.r, k.g, k.b, alpha); }
    double width(const std::string& text, double size) {
        cairo_text_extents_t e;
        cairo_set_font_size(c_, size);
        cairo_text_extents(c_, text.c_str(), &e);
        return e.x_advance;
    }
    // align: 0 left, 0.5 middle, 1 right of x; y is the base line.
    void text(double x, double y, const std::string& words, double size, double align = 0.0) {
        const double w = width(words, size);
        cairo_move_to(c_, x - align * w, y);
        cairo_show_text(c_, words.c_str());
    }
    void line(double x0, double y0, double x1, double y1, double thick) {
        cairo_set_line_width(c_, thick);
        cairo_move_to(c_, x0, y0);
        cairo_line_to(c_, x1, y1);
        cairo_stroke(c_);
    }
    void dash(std::size_t n) {
        const auto& d = dashes[n % dashes.size()];
        cairo_set_dash(c_, d.data(), static_cast<int>(d.size()), 0.0);
    }
    void no_dash() { cairo_set_dash(c_, nullptr, 0, 0.0); }
    cairo_t* raw() { return c_; }

  private:
    cairo_t* c_;
};

// Draws on a white page of so many points and puts the file in place whole; its kind by the ending, .svg, .pdf or .png
// (twice the points). Throws std::invalid_argument in one line for another ending or a file that cannot be made.
void write_page(const std::string& path, double wide, double high, const std::function<void(Pen&)>& draw);

}  // namespace sunshaft::report
