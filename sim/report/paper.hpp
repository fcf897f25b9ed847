// Pages to be printed: pure black on white, text set by Pango, drawn by Cairo. Lengths are points (1/72 inch), from the
// page's top left corner; a place given for text is the top left of its box.
//
//     Paper paper(Paper::Kind::pdf, a4_wide, a4_high);
//     double y = 40;
//     y += paper.text(24, y, "Tests on a dead circuit", {.size = 11, .bold = true});
//     paper.box(24, y, 100, 20, 0.8);
//     files::FreshFile file("sheet.pdf");
//     file.write(paper.finish());
//     file.finish();
//
// What was put where is kept (placed()): a test can tell words that lie on each other or leave their page.
#pragma once

#include <memory>
#include <string>
#include <vector>

namespace sunshaft::report {

inline constexpr double a4_wide = 595.28, a4_high = 841.89;

class Paper {
  public:
    enum class Kind { pdf, svg };
    struct Type {
        double size = 8.0;
        bool bold = false, mono = false;
        double wide = 0.0;   // words wrap at it; 0: one line
        double align = 0.0;  // of each line in `wide`, or about x where that is 0: 0 left, 0.5 middle, 1 right
    };
    struct Size {
        double wide, high;
    };
    struct Placed {
        int page;
        double x, y, wide, high;
        std::string words;
    };

    // Throws std::runtime_error when the machine has no fonts or no memory.
    Paper(Kind kind, double wide, double high);
    ~Paper();
    Paper(const Paper&) = delete;
    Paper& operator=(const Paper&) = delete;

    Size measure(const std::string& words, const Type& type) const;
    // Returns the height of what was set.
    double text(double x, double y, const std::string& words, const Type& type);
    // The same with white behind it, to stand on lines and hatching.
    double label(double x, double y, const std::string& words, const Type& type);
    void line(double x0, double y0, double x1, double y1, double thick = 0.7, bool dashed = false);
    void path(const std::vector<std::pair<double, double>>& points, double thick = 0.7, bool dashed = false);
    void box(double x, double y, double wide, double high, double thick = 0.7, bool white = true);
    void bar(double x, double y, double wide, double high);  // filled
    void ring(double x, double y, double radius, double thick = 0.7);
    void hatch(double x, double y, double wide, double high, double step = 5.0);
    void badge(double x, double y, int number, double radius = 6.5);  // a black disc with a white number
    void warning(double x, double y, double size);                    // a triangle with a mark of exclamation
    void earth(double x, double y);  // the sign of an electrode, hanging from the point
    void next_page();
    int pages() const;
    double wide() const;
    double high() const;

    const std::vector<Placed>& placed() const;
    // The document; nothing can be drawn after it.
    std::string finish();

  private:
    struct Own;
    std::unique_ptr<Own> own_;
};

}  // namespace sunshaft::report
