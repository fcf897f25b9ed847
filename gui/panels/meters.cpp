// Meters: two displays in one body on the same pair of leads, word keys for the modes, a clamp; the jacks where the leads end.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using meter::Mode;
using view::Box;

std::string_view mode_words(Mode m) {
    switch (m) {
        case Mode::dcv: return "volts DC";
        case Mode::acv: return "volts AC";
        case Mode::acdcv: return "AC + DC";
        case Mode::acv_lowpass: return "AC, low-pass";
        case Mode::acv_lowz: return "low impedance";
        case Mode::hz: return "hertz";
        case Mode::ohm: return "ohms";
        case Mode::continuity: return "continuity";
        case Mode::diode: return "diode";
        case Mode::insulation: return "insulation";
        case Mode::cap: return "farads";
        case Mode::aca: return "amps AC";
        case Mode::dca: return "amps DC";
    }
    return "";
}

std::string stem_of(const meter::Spec& s) {
    std::string stem = s.file.substr(s.file.find_last_of('/') + 1);
    return stem.substr(0, stem.find('.'));
}

// Number and unit as the display shows them: "237.1 V" -> {"237.1", "V"}.
std::pair<std::string, std::string> display_parts(const std::string& shown) {
    const auto space = shown.find(' ');
    return space == std::string::npos ? std::pair{shown, std::string()} : std::pair{shown.substr(0, space), shown.substr(space + 1)};
}

class Meters : public Panel {
  public:
    explicit Meters(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)), specs_(meter::load_specs(meter::shipped_meters())) {
        std::erase_if(specs_, [](const meter::Spec& s) {
            return std::ranges::all_of(s.functions, [](const auto& f) { return meter::takes_clamp(f.first); });
        });
        for (const auto& s : specs_) names_.push_back(s.name);
    }
    Place place() const override { return Place::meters; }
    const char* title() const override { return "Meters"; }
    double wanted_height(double) const override { return 224.0; }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        const bench::Probes& probes = x.desk->probes();
        panel_title(x, title(), probes.red.empty() || probes.black.empty() ? "place the red and the black lead"
                                                                           : fmt::format("both on {} and {}", probes.red, probes.black));
        Canvas c = x.canvas();
        Box body = x.box.inset(16, 0);
        body.cut_top(32);
        body.cut_bottom(8);
        paint::sheet(c, body, p.meter_body, p.meter_edge);
        Box inner = body.inset(12, 8);
        inner.cut_left(16);
        shared_->jacks = view::SharedView::Jacks{{body.x + 2, body.y + 48}, {body.x + 2, body.y + 74}, {body.x + 2, body.bottom() - 22}};
        for (const auto& [at, look] : {std::pair{shared_->jacks->red, p.lead_red}, {shared_->jacks->black, p.lead_black}, {shared_->jacks->clamp, p.lead_clamp}}) {
            c.disc(at, 7, p.meter_edge);
            c.disc(at, 4.5, look.core);
        }
        Box row = inner.cut_bottom(26);
        clamp(x, c, row, *s, p);
        inner.cut_bottom(6);
        modes(x, inner.cut_bottom(26), *s);
        inner.cut_bottom(8);
        const double half = (inner.w - 12) / 2;
        face(x, c, inner.cut_left(half), *s, 0, p);
        inner.cut_left(12);
        face(x, c, inner, *s, 1, p);
    }

  private:
    void face(PanelContext& x, Canvas& c, Box box, const view::Snapshot& s, int which, const view::Palette& p) {
        const view::MeterFace& face = s.meters[static_cast<std::size_t>(which)];
        int chosen = 0;
        const auto wanted = x.desk->meters()[static_cast<std::size_t>(which)];
        for (std::size_t n = 0; n < specs_.size(); ++n)
            if (stem_of(specs_[n]) == wanted) chosen = static_cast<int>(n);
        std::vector<std::string_view> views(names_.begin(), names_.end());
        Box head = box.cut_top(24);
        if (chooser(x, which ? "meter b" : "meter a", {head.x, head.y, std::min(head.w, 210.0), 22}, views, chosen))
            x.desk->choose_meter(which, stem_of(specs_[static_cast<std::size_t>(chosen)]));
        if (head.w > 290) c.text({head.right(), head.y + 15}, face.counts_text, {.colour = p.ink_soft, .size = 12, .align = Align::right});
        c.fill(box, p.meter_display);
        Box d = box.inset(10, 6);
        c.text({d.x, d.y + 12}, mode_words(face.mode), {.colour = p.meter_figure});
        const auto segment = paint::SegmentLook{.lit = p.meter_figure, .ghost = p.meter_ghost, .size = std::min(44.0, 0.42 * d.h), .places = 4};
        if (!face.reading) {
            const std::string words = face.note.empty() ? "place both leads on dots" : face.note;
            paint::segments(c, {d.right() - 34, d.bottom() - 20}, "----", segment);
            c.paragraph({d.x, d.y + 18}, d.w, words, {.colour = p.meter_soft, .size = 12});
            return;
        }
        const meter::Reading& r = *face.reading;
        const auto [number, unit] = display_parts(r.shown);
        if (r.low && r.high && !r.over_range) {
            const auto low = view::figure_at(*r.low, r.unit, r.resolution), high = view::figure_at(*r.high, r.unit, r.resolution);
            c.text({d.right(), d.y + 12}, fmt::format("could be {} to {}", low.number, high.number), {.colour = p.meter_soft, .size = 12, .align = Align::right});
        }
        if (r.range) {
            c.text({d.x, d.y + 36}, "range", {.colour = p.meter_soft, .size = 12});
            c.text({d.x, d.y + 52}, view::figure(*r.range, r.unit, 3).text(), {.colour = p.meter_figure, .size = 12});
        }
        paint::segments(c, {d.right() - 38, d.bottom() - 18}, number, segment);
        c.text({d.right(), d.bottom() - 20}, unit == "ohm" ? "Ω" : unit, {.colour = p.meter_figure, .size = 15, .align = Align::right});
        const double full = face.full_scale > 0 ? face.full_scale : 1.0;
        paint::meter_bar(c, {d.x, d.bottom() - 8, d.w, 8}, r.over_range ? 1.0 : std::abs(r.value.value_or(0.0)) / full, 20, p.meter_figure, p.meter_ghost);
    }

    void modes(PanelContext& x, const Box& row, const view::Snapshot& s) {
        std::vector<Mode> all;
        for (const Mode m : meter::all_modes()) {
            if (meter::takes_clamp(m)) continue;
            for (const auto& face : s.meters)
                if (std::ranges::find(face.modes, m) != face.modes.end() && std::ranges::find(all, m) == all.end()) all.push_back(m);
        }
        if (all.empty()) return;
        // In two rows when they would not fit: the row is shared evenly.
        std::vector<std::string_view> words;
        int chosen = 0;
        for (std::size_t n = 0; n < all.size(); ++n) {
            words.push_back(mode_words(all[n]));
            if (all[n] == x.desk->mode()) chosen = static_cast<int>(n);
        }
        if (!x.input.typing && x.input.take(Key::M)) x.desk->choose_mode(all[(static_cast<std::size_t>(chosen) + 1) % all.size()]);
        else if (key_row(x, "modes", row, words, chosen, KeyRowLook::meter)) x.desk->choose_mode(all[static_cast<std::size_t>(chosen)]);
    }

    void clamp(PanelContext& x, Canvas& c, Box row, const view::Snapshot& s, const view::Palette& p) {
        const std::string& around = x.desk->probes().around;
        const double w = c.text({row.x, row.y + 17}, around.empty() ? "Clamp not placed" : "Clamp round " + around, {.colour = p.ink});
        row.cut_left(w + 10);
        if (around.empty()) return;
        const Box display = row.cut_left(112);
        c.fill(display, p.meter_display);
        if (s.clamp) {
            const auto [number, unit] = display_parts(s.clamp->shown);
            paint::segments(c, {display.right() - 30, display.bottom() - 6}, number, {.lit = p.meter_figure, .ghost = p.meter_ghost, .size = 20, .places = 4});
            c.text({display.right() - 6, display.bottom() - 6}, unit, {.colour = p.meter_figure, .size = 12, .align = Align::right});
        }
        c.text({row.x + 10, row.y + 17}, fmt::format("{}, {}", s.clamp_name, mode_words(s.clamp_mode)), {.colour = p.ink_soft, .size = 12});
    }

    std::shared_ptr<view::SharedView> shared_;
    std::vector<meter::Spec> specs_;
    std::vector<std::string> names_;
};

}  // namespace

std::unique_ptr<shell::Panel> meters(std::shared_ptr<view::SharedView> shared) { return std::make_unique<Meters>(std::move(shared)); }

}  // namespace sunshaft::panels
