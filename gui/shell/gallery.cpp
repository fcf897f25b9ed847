#include "shell/gallery.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "bench/hazards.hpp"
#include "model/shapes.hpp"
#include "shell/widgets.hpp"
#include "text/figure.hpp"

namespace sunshaft::shell {

namespace {

using paint::Icon;
using view::LineStyle;
constexpr double kPi = std::numbers::pi;

class TopBar : public Panel {
  public:
    Place place() const override { return Place::top_bar; }
    const char* title() const override { return "Top bar"; }
    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        c.text({16, 28}, "Sunshaft", {.colour = p.ink, .size = 20, .face = Face::strong, .sit = Sit::middle});
        c.rule({122, 14}, {122, 42}, p.rule);
        c.text({138, 26}, "Gallery of shapes", {.colour = p.ink, .size = 15});
        c.text({138, 44}, "every line, mark and key, to look at", {.colour = p.ink_soft, .size = 12});
        const std::array icons{Icon::play, Icon::hold, Icon::step};
        const std::array words{"Run", "Hold", "Step"};
        double left = 392;
        for (int i = 0; i < 3; ++i) {
            const auto k = static_cast<std::size_t>(i);
            const ButtonLook look{.chosen = i == running_, .icon = icons[k]};
            const double width = button_width(c, words[k], {.icon = icons[k], .face = Face::strong});
            const Box box{left, 12, width, 32};
            if (button(x, words[k], box, words[k], look)) running_ = i;
            left += width + 4;
        }
        c.text({left + 16, 24}, "Slow motion", {.colour = p.ink_soft});
        c.text({left + 176, 24}, fmt::format("1 : {:.0f}", 1.0 / speed_),
               {.colour = p.ink, .face = Face::strong, .align = Align::right});
        slider(x, "speed", {left + 16, 28, 160, 16}, speed_,
               {.low = 0.001, .high = 1.0, .logarithmic = true, .filled = false});
        paint::icon(c, Icon::sun, {left + 210, 28}, 30, p.sun);
        paint::value(c, {left + 234, 26}, "740", "W/m²",
                     {.number = p.ink, .unit = p.ink_soft, .face = Face::strong, .align = Align::left});
        c.text({left + 234, 44}, "on the array", {.colour = p.ink_soft, .size = 12});

        const std::array<std::string_view, 2> themes{"Light", "Dark"};
        int theme = x.window.dark ? 1 : 0;
        if (key_row(x, "theme", {x.box.right() - 176, 12, 160, 32}, themes, theme)) x.window.dark = theme == 1;
        const Box projector{x.box.right() - 176 - 112, 12, 104, 32};
        if (button(x, "projector", projector, "Projector", {.chosen = x.window.projector, .icon = Icon::projector}))
            x.window.projector = !x.window.projector;
        hint(x, projector,
             "Only the cutaway and the meters, large enough for a classroom wall. F11 brings everything back.");
    }

  private:
    int running_ = 0;
    double speed_ = 1.0 / 200.0;
};

class Cautions : public Panel {
  public:
    Place place() const override { return Place::cautions; }
    const char* title() const override { return "Before you touch"; }
    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const double y = x.box.centre().y;
        c.fill(Box{x.box.x, x.box.y, 4, x.box.h}, p.accent);
        paint::icon(c, Icon::warning, {32, y}, 17, p.accent);
        const double taken =
            c.text({52, y}, "Before you touch:", {.colour = p.accent, .face = Face::strong, .sit = Sit::middle});
        const bench::Hazard live{.kind = bench::Danger::live_link,
                                 .where = "outputs",
                                 .volts = 320.0,
                                 .first = {bench::First::isolated, bench::First::covered, bench::First::waited}};
        c.text({60 + taken, y}, bench::words(live), {.colour = p.ink, .sit = Sit::middle});
    }
};

class Shapes : public Panel {
  public:
    Place place() const override { return Place::cutaway; }
    const char* title() const override { return "Cutaway"; }

    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const Box b = x.box;
        auto clip = c.clip(b);
        const auto sky = view::sky(p, 40);
        c.gradient({b.x, b.y, b.w, 190}, sky.high, sky.low);
        ground(c, b, p);
        panel_title(x, "Cutaway, every shape");
        lines(c, {b.x + 16, b.y + 44}, p);
        icons(c, {b.x + 290, b.y + 52}, p);
        conductors(c, {b.x + 290, b.y + 96}, p);
        hatches(c, {b.x + 540, b.y + 48}, p);
        writing(c, {b.x + 16, b.y + 350}, p);
        pipe(c, {b.x + 560, b.y + 330}, p);
        dots(x, c, {b.x + 300, b.y + 380});
        colours(c, {b.x + 16, b.y + 500}, p);
    }

    void draw_over(PanelContext& x) override {
        // A lead across the sheets, dragged by its end.
        const view::Palette& p = x.palette();
        Canvas c = x.overlay();
        if (x.input.pressed[left_button] && view::distance(x.input.mouse, tip_) < 14.0) dragged_ = true;
        if (!x.input.down[left_button]) dragged_ = false;
        if (dragged_) tip_ = x.input.mouse;
        const Point socket{x.window.shown.meters ? 1010.0 : 760.0, 172.0};
        c.lead(tip_, socket, 70, p.lead_red, p.sheet);
        c.lead({tip_.x + 6, tip_.y + 60}, {socket.x, socket.y + 26}, 60, p.lead_black, p.sheet);
        c.disc(tip_, 5, p.lead_red.core);
    }

  private:
    static void ground(Canvas& c, const Box& b, const view::Palette& p) {
        for (int layer = 0; layer < 3; ++layer) {
            const double top = b.y + 190 + 110 * layer;
            std::vector<Point> edge;
            for (int i = 0; i <= 60; ++i)
                edge.push_back({b.x + b.w * i / 60.0,
                                top + 8 * std::sin(i * 0.25 + layer) + (layer == 0 && i < 12 ? -40 + i * 3.4 : 0)});
            std::vector<Point> shape = edge;
            shape.push_back({b.right(), b.bottom()});
            shape.push_back({b.x, b.bottom()});
            c.fill(shape, p.strata[static_cast<std::size_t>(layer)]);
            c.hatch(shape, p.hatch, 5.0 + layer, layer % 2 == 0);
            c.polyline(edge, {.colour = layer == 0 ? p.ink : p.rule_strong, .width = layer == 0 ? 1.8 : 1.2});
        }
    }

    static void lines(Canvas& c, Point at, const view::Palette& p) {
        for (std::size_t i = 0; i < 5; ++i) {
            const double y = at.y + 20.0 * static_cast<double>(i);
            const auto& s = p.signal[i];
            c.line({at.x, y}, {at.x + 90, y}, {.colour = s.colour, .width = 2, .style = s.style});
            c.line({at.x + 100, y + 8}, {at.x + 180, y - 8}, {.colour = s.colour, .width = 2, .style = s.style});
            c.line({at.x + 190, y + 8}, {at.x + 260, y - 6},
                   {.colour = p.ink, .width = 0.5 + 1.2 * static_cast<double>(i), .cap = paint::Cap::round});
        }
        std::vector<Point> spike;
        for (int i = 0; i < 24; ++i)
            spike.push_back({at.x + 4.0 * i, at.y + 112.0 + (i % 2 == 0 ? 0.0 : 16.0 * std::sin(i * 0.4))});
        c.polyline(spike, {.colour = p.signal[0].colour, .width = 2});
        const std::array corner{Point{at.x + 120, at.y + 124}, Point{at.x + 120, at.y + 104},
                                Point{at.x + 150, at.y + 104}, Point{at.x + 150, at.y + 124},
                                Point{at.x + 180, at.y + 124}, Point{at.x + 165, at.y + 106},
                                Point{at.x + 200, at.y + 122}, Point{at.x + 170, at.y + 122}};
        c.polyline(corner, {.colour = p.signal[1].colour, .width = 5, .cap = paint::Cap::round});
        c.arrow({at.x + 215, at.y + 124}, {at.x + 255, at.y + 104}, {.colour = p.ink, .width = 1.4});
    }

    static void icons(Canvas& c, Point at, const view::Palette& p) {
        int i = 0;
        for (const Icon which : {Icon::play, Icon::hold, Icon::step, Icon::sun, Icon::warning, Icon::magnifier,
                                 Icon::projector, Icon::cross, Icon::chevron_right, Icon::chevron_down, Icon::undo,
                                 Icon::redo, Icon::heal, Icon::camera, Icon::ground_water, Icon::section}) {
            const int column = i % 8, row = i / 8;
            paint::icon(c, which, {at.x + 28.0 * column, at.y + 26.0 * row}, 16, p.ink);
            ++i;
        }
        paint::fault_mark(c, {at.x + 224, at.y}, 1, 20, p);
        paint::fault_mark(c, {at.x + 224, at.y + 26}, 12, 24, p);
    }

    static void conductors(Canvas& c, Point at, const view::Palette& p) {
        const std::array looks{p.l1, p.l2, p.l3, p.earth, p.dc_plus, p.dc_minus};
        const std::array names{"L1", "L2", "L3", "PE", "DC+", "DC−"};
        for (std::size_t i = 0; i < looks.size(); ++i) {
            const double y = at.y + 13.0 * static_cast<double>(i);
            const std::array path{Point{at.x, y}, Point{at.x + 120 + 7.0 * static_cast<double>(i), y},
                                  Point{at.x + 120 + 7.0 * static_cast<double>(i), y + 60}};
            c.conductor(path, looks[i], i == 3 ? 3.0 : 2.4);
            c.text({at.x + 64 + (i % 2 == 0 ? 0.0 : 24.0), y}, names[i],
                   {.colour = p.ink, .size = 12, .face = Face::strong, .sit = Sit::middle, .halo = p.sky_day_low});
        }
    }

    static void hatches(Canvas& c, Point at, const view::Palette& p) {
        const std::array concave{Point{at.x, at.y},           Point{at.x + 90, at.y},      Point{at.x + 90, at.y + 80},
                                 Point{at.x + 60, at.y + 80}, Point{at.x + 60, at.y + 30}, Point{at.x + 30, at.y + 30},
                                 Point{at.x + 30, at.y + 80}, Point{at.x, at.y + 80}};
        c.fill(concave, p.steel);
        c.hatch(concave, p.ink.faded(0.5), 6, false);
        c.polyline(concave, {.colour = p.ink, .width = 1.8}, true);
        std::vector<Point> star;
        for (int i = 0; i < 10; ++i) {
            const double r = i % 2 == 0 ? 44.0 : 18.0;
            star.push_back({at.x + 150 + r * std::sin(kPi * i / 5.0), at.y + 42 - r * std::cos(kPi * i / 5.0)});
        }
        c.fill(star, p.water, p.water_deep, at.y, at.y + 84);
        c.polyline(star, {.colour = p.ink, .width = 1.2}, true);
        c.disc({at.x + 232, at.y + 42}, 34, p.steel);
        c.circle({at.x + 232, at.y + 42}, 34, {.colour = p.ink, .width = 1.8});
        c.circle({at.x + 232, at.y + 42}, 26, {.colour = p.ink, .width = 1, .style = LineStyle::dashed});
        c.arc({at.x + 232, at.y + 42}, 18, -kPi / 2, kPi * 0.8,
              {.colour = p.accent, .width = 3, .cap = paint::Cap::round});
        c.outline({at.x + 290, at.y + 6, 60, 34}, {.colour = p.ink, .width = 1.8}, 8);
        c.fill(Box{at.x + 290, at.y + 48, 60, 34}, p.heat, 6);
    }

    static void writing(Canvas& c, Point at, const view::Palette& p) {
        double y = at.y;
        for (const double size : {12.0, 13.0, 15.0, 20.0}) {
            const std::string signs = fmt::format("{:.0f} level now Ωµ°²³–−±×·→≈≤≥", size);
            c.text({at.x, y}, signs, {.colour = p.ink, .size = size});
            y += size * 1.5;
        }
        c.text({at.x, y}, "with a halo over the hatch", {.colour = p.ink, .face = Face::strong, .halo = p.strata[2]});
        paint::value(c, {at.x + 200, y + 24}, "34.2", "m", {.number = p.ink, .unit = p.ink_soft, .face = Face::strong});
        paint::value(c, {at.x + 200, y + 42}, "−12 345.6", "mΩ",
                     {.number = p.ink, .unit = p.ink_soft, .unit_room = 24});
        paint::value(c, {at.x + 200, y + 60}, "7.42", "A", {.number = p.accent, .unit = p.ink_soft, .unit_room = 24});
    }

    static void pipe(Canvas& c, Point at, const view::Palette& p) {
        const auto curve = view::cubic(at, {at.x + 60, at.y}, {at.x + 30, at.y + 90}, {at.x + 120, at.y + 90}, 40);
        c.polyline(curve, {.colour = p.ink, .width = 11});
        c.polyline(curve, {.colour = p.water_deep, .width = 8});
        c.polyline(curve, {.colour = p.sheet.faded(0.8), .width = 1.6, .style = LineStyle::dashed});
        c.cubic({at.x + 150, at.y}, {at.x + 150, at.y + 120}, {at.x + 280, at.y - 40}, {at.x + 280, at.y + 90},
                {.colour = p.accent, .width = 2, .style = LineStyle::dash_dot});
    }

    void dots(PanelContext& x, Canvas& c, Point at) {
        const std::array names{"drive.u", "drive.v", "motor.n (teaching only)"};
        for (std::size_t i = 0; i < names.size(); ++i) {
            const Point dot{at.x + 30.0 * static_cast<double>(i), at.y};
            const Touch t = touch(x, names[i], {dot.x - 10, dot.y - 10, 20, 20});
            paint::test_point(c, dot, i != 2, t.hovered || t.focused, x.palette());
            hint(x, t, names[i]);
        }
    }

    static void colours(Canvas& c, Point at, const view::Palette& p) {
        for (int i = 0; i < 10; ++i) c.fill(Box{at.x + 24.0 * i, at.y, 24, 16}, view::heat_tint(p, p.steel, i / 9.0));
    }

    Point tip_{700, 380};
    bool dragged_ = false;
};

class Meters : public Panel {
  public:
    Place place() const override { return Place::meters; }
    const char* title() const override { return "Meters"; }
    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        panel_title(x, "Meters", "both on drive.u and drive.v, moved together");
        const Box body = Box{x.box.x + 16, x.box.y + 30, x.box.w - 32, x.box.h - 38};
        c.fill(body, p.meter_body, 4);
        c.outline(body, {.colour = p.meter_edge}, 4);
        const double half = (body.w - 28 - 24) / 2;
        const std::array shown{"261.3", "0L"};
        const std::array names{"True-rms", "Average-responding"};
        for (std::size_t i = 0; i < 2; ++i) {
            const double left = body.x + 28 + (half + 12) * static_cast<double>(i);
            c.text({left, body.y + 18}, names[i], {.colour = p.ink, .size = 15, .face = Face::strong});
            const Box d{left, body.y + 26, half, 92};
            c.fill(d, p.meter_display, 2);
            c.text({d.x + 12, d.y + 16}, "volts AC", {.colour = p.meter_figure});
            c.text({d.right() - 12, d.y + 16}, "could be 258.4 to 264.2",
                   {.colour = p.meter_soft, .align = Align::right});
            paint::segments(c, {d.right() - 44, d.y + 70}, shown[i], {.lit = p.meter_figure, .ghost = p.meter_ghost});
            c.text({d.right() - 14, d.y + 70}, "V", {.colour = p.meter_figure, .size = 20, .align = Align::right});
            c.text({d.x + 12, d.y + 54}, "range", {.colour = p.meter_soft});
            c.text({d.x + 12, d.y + 70}, "600 V", {.colour = p.meter_figure});
            paint::meter_bar(c, {d.x + 12, d.bottom() - 16, d.w - 24, 8}, i == 0 ? 0.436 : 1.3, 20, p.meter_figure,
                             p.meter_soft);
        }
        const std::array<std::string_view, 9> keys{"volts DC", "volts AC", "AC + DC",    "ohms", "continuity",
                                                   "diode",    "hertz",    "insulation", "amps"};
        const std::array<std::string_view, 2> hints{
            "Mean of the voltage", "What is left when the mean is taken away, as the meter's detector sees it"};
        const std::array off{false, false, false, false, false, false, false, true, false};
        key_row(x, "mode", {body.x + 28, body.y + 126, body.w - 40, 24}, keys, mode_, KeyRowLook::meter, hints, off);
        double left = body.x + 28;
        for (std::size_t i = 0; i < 3; ++i) {
            const std::array words{"low-pass", "low impedance", "hold"};
            checkbox(x, words[i], {left, body.bottom() - 18}, words[i], boxes_[i], i == 2);
            left += checkbox_width(c, words[i]) + 20;
        }
    }

  private:
    int mode_ = 1;
    std::array<bool, 3> boxes_{true, false, false};
};

class Inside : public Panel {
  public:
    Place place() const override { return Place::inside; }
    const char* title() const override { return "Inside the reading"; }
    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        panel_title(x, title(), "drive.u against drive.v, one turn of 20 ms");
        const Point at{x.box.x + 16, x.box.y + 40};
        const std::array stages{"At the terminals", "Rectified", "Averaged"};
        for (std::size_t i = 0; i < 3; ++i) {
            const Box s{at.x + 130.0 * static_cast<double>(i), at.y + 20, 106, 44};
            c.text({s.x, s.y - 6}, stages[i], {.colour = p.ink});
            paint::sheet(c, s, p.sheet, p.rule);
            std::vector<Point> wave;
            for (int k = 0; k <= 80; ++k) {
                double v = std::sin(k * 4 * kPi / 80.0);
                if (i == 1) v = std::abs(v);
                if (i == 2) v = 0.637;
                wave.push_back({s.x + 4 + (s.w - 8) * k / 80.0, s.centre().y - v * 17});
            }
            if (i > 0) c.area(wave, s.centre().y, p.signal[i].colour.faded(0.15));
            c.polyline(
                wave,
                {.colour = p.signal[i].colour, .width = 2, .style = i == 2 ? p.signal[i].style : LineStyle::solid});
            if (i < 2)
                c.arrow({s.right() + 3, s.centre().y}, {s.right() + 21, s.centre().y},
                        {.colour = p.ink_soft, .width = 1.2}, 6);
        }
        double y = at.y + 84;
        const double width = x.box.w - 32 - 56;
        c.text({at.x, y}, "Why", {.colour = p.ink_soft, .face = Face::strong, .sit = Sit::top});
        y += c.paragraph({at.x + 56, y}, width,
                         "The mean, 213.3 V, times 1.1107 is the rms of a sine only. This wave is flatter, so the "
                         "average-responding meter reads 9.3 % low. Neither meter is faulty.",
                         {.colour = p.ink}) +
             6;
        c.text({at.x, y}, "Next", {.colour = p.accent, .face = Face::strong, .sit = Sit::top});
        y += c.paragraph({at.x + 56, y}, width, "Read v–w and w–u with the same meter, then clamp u, v and w.",
                         {.colour = p.ink}) +
             12;
        slider(x, "linear", {at.x + 8, y, 220, 16}, linear_, {.low = 0, .high = 1200, .step = 10, .ticks = 6});
        number_field(x, "##irradiance", {at.x + 250, y - 6, 120, 26}, linear_, 0, 1200, 0, "W/m²");
        y += 30;
        slider(x, "log", {at.x + 8, y, 220, 16}, log_, {.low = 0.01, .high = 1000, .logarithmic = true});
        paint::value(c, {at.x + 330, y + 12}, text::figure(log_, "ohm", 3).number, "Ω",
                     {.number = p.ink, .unit = p.ink_soft, .size = 15});
        y += 32;
        const std::array<std::string_view, 4> items{"pocket meter, average-responding", "bench meter, true-rms",
                                                    "old analogue", "a name of some length that will not fit in here"};
        chooser(x, "meter", {at.x, y, 200, 26}, items, item_);
        if (button(x, "heal", {at.x + 212, y, 60, 26}, "Heal")) linear_ = 740;
        button(x, "off", {at.x + 280, y, 100, 26}, "Start later", {.off = true});
        button(x, "plain", {at.x + 392, y, 70, 26}, "Heal all",
               {.plain = true, .face = Face::strong, .colour = p.accent});
    }

  private:
    double linear_ = 740;
    double log_ = 2.4;
    int item_ = 1;
};

class Drawer : public Panel {
  public:
    Place place() const override { return Place::drawer; }
    const char* title() const override { return "Faults"; }
    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        panel_title(x, "Faults", "Close  Esc");
        Box rest = x.box.inset(16, 0);
        rest.cut_top(30);
        search_field(x, "##search", rest.cut_top(32), search_, "Search, for example: hot, open, dry");
        rest.cut_top(12);
        Child child = x.child("list", rest, true);
        Canvas list = child.canvas();
        const double top = rest.y - child.scrolled();
        for (int i = 0; i < 40; ++i) {
            const double y = top + 26 * i;
            list.rule({rest.x, y}, {rest.right() - 12, y}, p.rule);
            paint::icon(list, i % 3 == 0 ? Icon::chevron_down : Icon::chevron_right, {rest.x + 6, y + 13}, 8, p.ink);
            list.text({rest.x + 20, y + 13}, fmt::format("Fault of kind {} with {}", i + 1, search_),
                      {.colour = p.ink, .face = Face::strong, .sit = Sit::middle});
        }
        child.content_height(26 * 40);
    }

  private:
    std::string search_;
};

class Scope : public Panel {
  public:
    explicit Scope(const char* name, int traces) : name_(name), traces_(traces) {}
    Place place() const override { return Place::strip; }
    const char* title() const override { return name_; }
    void draw_tab_row(PanelContext& x) override {
        double right = x.box.right();
        double taken = 0;
        const double y = x.box.centre().y + 5;
        if (setting(x, "ghost", {right, y}, "healthy ghost", ghost_ ? "shown" : "hidden", taken)) ghost_ = !ghost_;
        right -= taken + 28;
        setting(x, "base", {right, y}, "time base", "5 ms per division", taken);
    }
    void draw(PanelContext& x) override {
        const view::Palette& p = x.palette();
        const Box plot = {x.box.x + 72, x.box.y + 24, x.box.w - 130, x.box.h - 56};
        traces(x, plot);
        Canvas over = x.canvas();
        for (int i = 0; i <= 4; ++i)
            over.text(
                {plot.x - 8, plot.y + plot.h * i / 4}, fmt::format("{:+d}", 10 - 5 * i),
                {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right, .sit = Sit::middle});
        for (int i = 0; i <= 10; i += 2)
            over.text({plot.x + plot.w * i / 10, plot.bottom() + 16}, fmt::format("{}", 5 * i - 5),
                      {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::centre});
        paint::signal_key(over, {plot.right() + 6, plot.centre().y}, p.signal[1]);
        over.text({plot.right() + 30, plot.centre().y}, "u",
                  {.colour = p.ink, .face = Face::strong, .sit = Sit::middle});
    }

  private:
    void traces(PanelContext& x, const Box& plot) const {
        const view::Palette& p = x.palette();
        Child child = x.child("plot", plot);
        Canvas c = child.canvas();
        paint::sheet(c, plot, p.sheet, p.rule);
        for (int i = 1; i < 10; ++i)
            c.rule({plot.x + plot.w * i / 10, plot.y}, {plot.x + plot.w * i / 10, plot.bottom()}, p.grid);
        for (int i = 1; i < 4; ++i)
            c.rule({plot.x, plot.y + plot.h * i / 4}, {plot.right(), plot.y + plot.h * i / 4}, p.grid);
        for (int k = -1; k < traces_; ++k) {
            std::vector<Point> line;
            const double points = plot.w * c.scale();
            for (double i = 0; i <= points; ++i) {
                const double v = 0.8 * std::sin(i * 12 / points + k) + (k == 2 ? 0.12 * std::sin(i * 2.9) : 0.0);
                line.push_back({plot.x + plot.w * i / points, plot.centre().y - v * plot.h * 0.48});
            }
            if (k < 0) {
                if (ghost_) c.polyline(line, {.colour = p.ghost, .width = 1});
            } else {
                const auto& s = p.signal[static_cast<std::size_t>(k)];
                c.polyline(line, {.colour = s.colour, .width = 2, .style = s.style});
            }
        }
    }

    const char* name_;
    int traces_;
    bool ghost_ = true;
};

}  // namespace

int run_gallery(AppOptions options) {
    options.fixed_view = true;
    Panels panels;
    panels.push_back(std::make_unique<TopBar>());
    panels.push_back(std::make_unique<Cautions>());
    panels.push_back(std::make_unique<Shapes>());
    panels.push_back(std::make_unique<Meters>());
    panels.push_back(std::make_unique<Inside>());
    panels.push_back(std::make_unique<Drawer>());
    panels.push_back(std::make_unique<Scope>("Scope", 4));
    panels.push_back(std::make_unique<Scope>("Spectrum", 2));
    panels.push_back(std::make_unique<Scope>("Phasors", 1));
    DeskLink link;
    link.site = [] { return std::string("gallery"); };
    return run(options, std::move(panels), link);
}

}  // namespace sunshaft::shell
