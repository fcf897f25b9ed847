// Inside the reading: each meter's chain as stages with the wave there and the number that comes out, then the reasons.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/scope_view.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

class Inside : public Panel {
  public:
    Place place() const override { return Place::inside; }
    const char* title() const override { return "Inside the reading"; }
    double wanted_height(double width) const override { return width > 0 && height_ > 0 ? height_ : 0.0; }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const double turn = s->fundamental_Hz > 0 ? 1.0 / s->fundamental_Hz : 0.02;
        const auto& probes = x.desk->probes();
        const bool any = s->meters[0].reading || s->meters[1].reading;
        panel_title(x, title(), any && !probes.red.empty() ? fmt::format("{} against {}, one turn of {}", probes.red, probes.black, view::figure(turn, "s", 3).text()) : "");
        Box rest = x.box.inset(16, 0);
        rest.cut_top(36);
        if (!any) {
            c.paragraph({rest.x, rest.y}, rest.w, "Drag the red and the black lead from the meter onto two dots of the drawing. What happens to the wave inside each meter is shown here, stage by stage.",
                        {.colour = p.ink_soft});
            height_ = 120;
            return;
        }
        double y = rest.y;
        int number = 0;
        for (const auto& face : s->meters) {
            if (face.reading && !face.reading->stages.empty()) y = chain(c, {rest.x, y, rest.w, 0}, face, p, p.signal[static_cast<std::size_t>(number)], turn);
            ++number;
        }
        const auto& first = s->meters[0].reading ? *s->meters[0].reading : *s->meters[1].reading;
        y = truths(c, rest, y + 2, first, p);
        number = 0;
        std::vector<std::string> said;
        for (const auto& face : s->meters) {
            ++number;
            if (!face.reading) continue;
            y += 6;
            c.text({rest.x, y + 13}, face.name, {.colour = p.signal[static_cast<std::size_t>(number - 1)].colour, .size = 12, .face = Face::strong});
            y += 20;
            for (const std::string& reason : face.reading->reasons) {
                if (std::ranges::find(said, reason) != said.end()) continue;
                said.push_back(reason);
                y += c.paragraph({rest.x, y}, rest.w, reason, {.colour = p.ink}) + 4;
            }
            for (const std::string& warning : face.reading->warnings) y += c.paragraph({rest.x, y}, rest.w, warning, {.colour = p.accent}) + 4;
        }
        height_ = y - x.box.y + 12;
        x.wake_in(0.2);
    }

  private:
    // One meter's stages in a row: name, plot, number.
    static double chain(Canvas& c, const Box& at, const view::MeterFace& face, const view::Palette& p, const view::SignalLook& look, double turn) {
        std::vector<const meter::Stage*> stages;
        for (const auto& stage : face.reading->stages) stages.push_back(&stage);
        if (stages.size() > 6) stages.resize(6);
        const double gap = 16, w = (at.w - gap * static_cast<double>(stages.size() - 1)) / static_cast<double>(stages.size());
        c.text({at.x, at.y + 12}, face.name, {.colour = p.ink, .face = Face::strong});
        double x = at.x;
        const double top = at.y + 22;
        for (std::size_t n = 0; n < stages.size(); ++n) {
            const meter::Stage& stage = *stages[n];
            c.text({x, top + 10}, c.fitted(stage.name, w, {.colour = p.ink, .size = 12}), {.colour = p.ink, .size = 12});
            const Box plot{x, top + 16, w, 40};
            c.fill(plot, p.sheet);
            c.frame(plot, p.rule);
            if (!stage.wave.empty()) wave(c, plot, stage.wave, p, look, turn);
            const auto f = view::figure(stage.number, stage.unit == "ohm" ? "Ω" : stage.unit, 4);
            paint::value(c, {x + w, top + 72}, f.number, f.unit, {.number = p.ink, .unit = p.ink_soft, .size = 12});
            if (w > 84) c.text({x + w, top + 86}, c.fitted(stage.number_is, w, {.colour = p.ink_soft, .size = 12}), {.colour = p.ink_soft, .size = 12, .align = Align::right});
            if (n + 1 < stages.size()) c.arrow({x + w + 2, plot.y + 20}, {x + w + gap - 2, plot.y + 20}, {.colour = p.ink_soft, .width = 1.2}, 5);
            x += w + gap;
        }
        return top + 98;
    }
    static void wave(Canvas& c, const Box& plot, const trace::Trace& wave, const view::Palette& p, const view::SignalLook& look, double turn) {
        const double to = trace::start(wave) + trace::duration(wave), from = std::max(trace::start(wave), to - 1.5 * turn);
        auto span = view::span_of(wave, from, to);
        if (!span) return;
        const double middle = std::min(0.0, span->low), top = std::max(0.0, span->high), room = 0.1 * std::max(top - middle, 1e-12);
        const view::PlotArea area{from, to, middle - room, top + room, plot.inset(1)};
        c.rule({plot.x, area.y(0)}, {plot.right(), area.y(0)}, p.grid);
        const auto line = view::trace_line(wave, area, static_cast<int>(plot.w * c.scale()));
        const auto clip = c.clip(plot);
        if (line.size() > 1) c.polyline(line, {.colour = look.colour, .width = 1.6, .style = look.style});
    }
    static double truths(Canvas& c, const Box& rest, double y, const meter::Reading& r, const view::Palette& p) {
        c.fill(Box{rest.x, y, rest.w, 40}, p.band);
        struct Item { const char* words; std::optional<double> value; const char* unit; };
        const std::string unit = r.unit == "A" ? "A" : "V";
        const Item items[] = {{"true rms", r.truth.rms, unit.c_str()}, {"fundamental", r.truth.fundamental_rms, unit.c_str()}, {"rectified mean", r.truth.rectified_mean, unit.c_str()},
                              {"crest factor", r.truth.crest_factor, ""}, {"frequency", r.truth.fundamental_Hz, "Hz"}};
        const double each = rest.w / 5;
        double x = rest.x + 8;
        for (const Item& item : items) {
            c.text({x, y + 15}, item.words, {.colour = p.ink_soft, .size = 12});
            if (item.value) {
                const auto f = view::figure(*item.value, item.unit, 4);
                paint::value(c, {x, y + 33}, f.number, f.unit, {.number = p.ink, .unit = p.ink_soft, .size = 15, .align = Align::left});
            } else {
                c.text({x, y + 33}, "none", {.colour = p.ink_soft});
            }
            x += each;
        }
        return y + 48;
    }

    double height_ = 0.0;
};

}  // namespace

std::unique_ptr<shell::Panel> inside() { return std::make_unique<Inside>(); }

}  // namespace sunshaft::panels
