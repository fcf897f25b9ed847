// The meters: one body with two displays on the same pair of leads, one row of mode keys, and the clamp.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>

#include "model/desk.hpp"
#include "model/meters_at_hand.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using meter::Mode;

constexpr double kTitle = 28.0, kMeterBody = 188.0, kRail = 30.0;

// Ring and hole; the ring of a lead in use is filled with the lead's colour.
void socket(Canvas& c, Point at, Colour lead, bool used, const view::Palette& p) {
    c.disc(at, 9.0, view::mix(p.meter_body, p.meter_edge, 0.5));
    c.circle(at, 9.0, {.colour = p.meter_edge, .width = 1.2});
    c.circle(at, 6.2, {.colour = lead, .width = used ? 2.4 : 1.6});
    c.disc(at, 3.4, p.meter_display);
}

class Meters : public Panel {
  public:
    explicit Meters(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::meters; }
    const char* title() const override { return text::id("Meters"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const view::Palette& p = x.palette();
        const auto s = x.desk->snapshot();
        const bench::Probes& probes = x.desk->probes();
        panel_title(x, text::tr(title()), where(probes));
        switches(x, probes);
        const Box body{x.box.x + 16, x.box.y + kTitle, x.box.w - 32, kMeterBody};
        Canvas c = x.canvas();
        c.fill(body, p.meter_body, 5.0);
        c.outline(body.inset(0.5), {.colour = p.meter_edge, .width = 1.2}, 5.0);

        Box rest = body.inset(10, 6);
        rest.cut_left(kRail - 10);
        const Box names = rest.cut_top(22);
        rest.cut_top(4);
        const Box displays = rest.cut_top(88);
        rest.cut_top(6);
        const Box keys = rest.cut_top(24);
        rest.cut_top(5);
        for (std::size_t n = 0; n < 2; ++n) {
            const double width = (displays.w - 12) / 2, left = displays.x + static_cast<double>(n) * (width + 12);
            header(x, n, s->meters[n], {left, names.y, width, names.h});
            display(x, s->meters[n], probes, {left, displays.y, width, displays.h});
        }
        mode_row(x, s->meters, keys);
        const Box low{rest.x, rest.y, rest.w, 24};
        clamp(x, *s, probes, low);
        jacks(x, probes, body, displays, low);
    }

    void draw_over(PanelContext&) override {
        if (!drawn_) shared_->jacks.reset();
        drawn_ = false;
    }

  private:
    // What is to stand beside the figures, as far as there is room on the title's line.
    static void switches(PanelContext& x, const bench::Probes& probes) {
        Canvas c = x.canvas();
        const double end = x.box.right() - 16 - c.width(where(probes), {.colour = x.palette().ink_soft}) - 24;
        Point at{x.box.x + std::max(100.0, 16 + paint::title_width(c, text::tr("Meters")) + 18), x.box.y + 15};
        const auto one = [&](std::string_view words, bool now, auto put, std::string_view told) {
            const double wide = checkbox_width(c, words);
            if (at.x + wide >= end) return;
            bool on = now;
            if (checkbox(x, words, at, words, on)) put(on);
            hint(x, Box{at.x, at.y - 10, wide, 20}, told);
            at.x += wide + 14;
        };
        one(
            text::tr("min, max"), x.desk->keeps_extremes(), [&](bool on) { x.desk->keep_extremes(on); },
            text::tr("From now on keep the smallest and the largest figure shown, and the peaks of the wave. Off and "
                     "on: start "
                     "again"));
        if (x.desk->marks_hidden) return;  // what a healthy site would show would tell that this one is not
        one(
            text::tr("healthy"), x.desk->expects(), [&](bool on) { x.desk->expect(on); },
            text::tr("Beside each figure: what these meters would show here on a healthy site in the same sun. Key E"));
        if (!x.input.typing && x.input.take(Key::E)) x.desk->expect(!x.desk->expects());
    }

    static std::string where(const bench::Probes& probes) {
        if (probes.red.empty() && probes.black.empty()) return text::tr("leads not placed");
        if (probes.black.empty()) return text::say("red on {}, black not placed", probes.red);
        if (probes.red.empty()) return text::say("black on {}, red not placed", probes.black);
        return text::say("red on {}, black on {}", probes.red, probes.black);
    }

    // Name of the meter, which opens the list of meters; what its display is made of.
    void header(PanelContext& x, std::size_t which, const view::MeterFace& face, const Box& row) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const paint::TextLook quiet{.colour = p.ink_soft, .size = 12, .align = Align::right, .sit = Sit::middle};
        std::vector<std::string> own, stems;
        for (const auto& spec : x.desk->meters_at_hand())
            own.push_back(short_name(spec.name)), stems.push_back(view::stem_of(spec));
        const std::vector<std::string_view> names(own.begin(), own.end());
        const std::string wanted = x.desk->meters()[which];
        const auto at = std::ranges::find(stems, wanted);
        int chosen = at == stems.end() ? -1 : static_cast<int>(at - stems.begin());
        const std::string_view name = chosen < 0 ? std::string_view(wanted) : names[static_cast<std::size_t>(chosen)];
        const double name_w = std::min(c.width(name, {.colour = p.ink}) + 38, row.w);
        std::string counts = with_symbols(face.changed ? text::say("changed, {}", face.counts_text) : face.counts_text);
        if (name_w + 8 + c.width(counts, quiet) > row.w) counts.erase(std::min(counts.find(','), counts.size()));
        if (name_w + 8 + c.width(counts, quiet) <= row.w) c.text({row.right(), row.centre().y}, counts, quiet);
        const Box box{row.x, row.y, name_w, row.h};
        if (chooser(x, which == 0 ? "meter 1" : "meter 2", box, names, chosen))
            x.desk->choose_meter(static_cast<int>(which), stems[static_cast<std::size_t>(chosen)]);
        hint(x, box,
             face.meter ? text::sentences({text::say("Meter {}: {}. {}", which + 1, text::tr(face.meter->name),
                                                     text::tr(face.meter->description)),
                                           face.changed ? text::tr("Its chain has been changed.") : ""})
                        : face.note);
    }

    void display(PanelContext& x, const view::MeterFace& face, const bench::Probes& probes, const Box& box) const {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        c.fill(box, p.meter_display, 2.0);
        const auto clip = c.clip(box);
        const Box in = box.inset(10, 0);
        const paint::TextLook mode_look{.colour = p.meter_figure, .size = 12},
            soft{.colour = p.meter_soft, .size = 12, .align = Align::right};
        std::string mode(mode_words(face.mode));
        if (face.reading && face.reading->beeps) mode = text::say("{}, beeping", mode);
        const double mode_w = c.text({in.x, in.y + 17}, c.fitted(mode, in.w, mode_look), mode_look);
        const auto beside = [&](std::string_view words) {
            const bool fits = mode_w + 10 + c.width(words, soft) <= in.w;
            if (fits) c.text({in.right(), in.y + 17}, words, soft);
            return fits;
        };
        const bool clamp_mode = meter::takes_clamp(face.mode);
        const bool placed = clamp_mode ? !probes.around.empty() : !probes.red.empty() && !probes.black.empty();
        const meter::Spec* spec = face.meter.get();
        if (!face.reading) {
            std::string note = face.note;
            if (spec && !spec->has(face.mode)) note = text::say("this meter has no {}", mode_words(face.mode));
            if (note.empty())
                note = clamp_mode
                           ? (placed ? text::tr("first figure to come") : text::tr("close the clamp on a conductor"))
                           : (placed ? text::tr("first figure to come") : text::tr("place both leads on dots"));
            if (placed && !face.note.empty()) {
                c.paragraph({in.x, in.y + 28}, in.w, with_symbols(note), {.colour = p.meter_soft, .size = 12});
                return;
            }
            figures(c, spec, Shown{}, in, p);
            if (!beside(note)) c.text({in.x, in.bottom() - 6}, note, {.colour = p.meter_soft, .size = 12});
            return;
        }
        const meter::Reading& r = *face.reading;
        if (face.expected) {
            const std::string band = with_symbols(view::band_text(*face.expected));
            if (!band.empty() && !beside(text::say("healthy {}", band))) beside(band);
        } else if (face.memory) {
            if (const std::string kept = kept_words(*face.memory, r, false); !beside(kept))
                beside(kept_words(*face.memory, r, true));
        } else if (const std::string band = band_words(r, false); !band.empty() && !beside(band))
            beside(band_words(r, true));
        if (face.full_scale > 0) {
            c.text({in.x, in.y + 48}, text::tr("range"), {.colour = p.meter_soft, .size = 12});
            c.text({in.x, in.y + 65}, with_symbols(range_words(r)), {.colour = p.meter_figure, .size = 12});
        }
        const Shown shown = taken_apart(r);
        if (spec && spec->pointer) {
            pointer(c, r, in, p);
            return;
        }
        figures(c, spec, shown, in, p);
        const double share = r.over_range                     ? 1.0
                             : r.value && face.full_scale > 0 ? std::abs(*r.value) / face.full_scale
                                                              : 0.0;
        paint::meter_bar(c, {in.x, in.bottom() - 13, in.w, 7}, share, 20, p.meter_figure, p.meter_soft.faded(0.6));
    }

    // Full scale as printed beside a range switch: "600 V", "6 kΩ".
    static std::string range_words(const meter::Reading& r) {
        const double v = r.range.value_or(0.0);
        const auto shown = [&](double factor, const char* prefix) {
            return fmt::format("{} {}{}", text::quantity(v / factor, ""), prefix, r.unit);
        };
        if (v >= 1e9) return shown(1e9, "G");
        if (v >= 1e6) return shown(1e6, "M");
        if (v >= 1e3 && r.unit != "V") return shown(1e3, "k");
        if (v >= 0.999 || r.unit.empty()) return shown(1.0, "");
        if (v >= 0.999e-3) return shown(1e-3, "m");
        if (v >= 0.999e-6) return shown(1e-6, "u");
        return shown(1e-9, "n");
    }

    static void figures(Canvas& c, const meter::Spec* spec, const Shown& shown, const Box& in, const view::Palette& p) {
        const double baseline = in.y + 69, unit_right = in.right(), range_room = 50, minus_room = 18;
        const double unit_w = std::max(20.0, c.width(shown.unit, {.colour = p.meter_figure, .size = 20}));
        const double right = unit_right - unit_w - 8;
        if (!shown.figures.empty() && !shown.segments) {
            c.text({right + 8 + unit_w, baseline - 8}, shown.figures,
                   {.colour = p.meter_figure, .size = 20, .face = Face::strong, .align = Align::right});
            return;
        }
        int places = 4;
        if (spec && !spec->pointer)
            places = std::max(3, static_cast<int>(std::ceil(std::log10(std::max(10.0, spec->counts)) - 1e-9)));
        const auto digits = static_cast<int>(std::ranges::count_if(shown.figures, [](char ch) { return ch != '.'; }));
        paint::SegmentLook look{
            .lit = p.meter_figure, .ghost = p.meter_ghost, .size = 44, .places = std::max(places, digits)};
        const double room = right - in.x - range_room - minus_room;
        if (const double w = paint::segments_width(c, look); w > room) look.size *= room / w;
        const double w = paint::segments(c, {right, baseline}, shown.figures, look);
        if (shown.minus) c.fill(Box{right - w - 14, baseline - look.size / 2 - 2.2, 12, 4.4}, p.meter_figure);
        c.text({unit_right, baseline}, shown.unit, {.colour = p.meter_figure, .size = 20, .align = Align::right});
    }

    // A moving pointer over an arc: read by eye, as on the real thing.
    static void pointer(Canvas& c, const meter::Reading& r, const Box& in, const view::Palette& p) {
        const double full = r.range.value_or(0.0);
        if (full <= 0) return;
        // Flat enough for both ends to be seen: so wide, so high.
        const double half_width = 0.43 * (in.w - 50), rise = 26,
                     radius = (half_width * half_width + rise * rise) / (2 * rise);
        const Point pivot{in.x + 50 + (in.w - 50) / 2, in.y + 48 + radius};
        const double half = std::asin(half_width / radius);
        const auto at = [&](double share, double reach) {
            const double angle = (share * 2 - 1) * half;
            return pivot + Point{std::sin(angle) * reach, -std::cos(angle) * reach};
        };
        // Labels at fifths or sixths, whichever divides the scale into round figures.
        double unit = 1.0;
        while (full / unit >= 1000) unit *= 10;
        const int parts = std::fmod(std::round(full / unit * 1000), 6000.0) < 1e-6 ? 6 : 5;
        c.arc(pivot, radius, -std::numbers::pi / 2 - half, -std::numbers::pi / 2 + half,
              {.colour = p.meter_soft, .width = 1.2});
        for (int i = 0; i <= parts * 5; ++i) {
            const double share = i / (parts * 5.0);
            c.line(at(share, radius), at(share, radius + (i % 5 == 0 ? 8.0 : 4.5)),
                   {.colour = p.meter_soft, .width = i % 5 == 0 ? 1.6 : 1.0});
            if (i % 5 == 0)
                c.text(at(share, radius + 12), text::quantity(full * share, ""),
                       {.colour = p.meter_figure, .size = 12, .align = Align::centre, .sit = Sit::bottom});
        }
        const double share = r.over_range ? 1.03 : std::clamp(r.value.value_or(0.0) / full, -0.03, 1.03);
        c.line(at(share, radius - 30), at(share, radius + 6), {.colour = p.meter_figure, .width = 2.0});
        c.text({in.right(), in.bottom() - 8},
               r.over_range ? text::tr("off the scale") : std::string(with_symbols(r.unit)),
               {.colour = p.meter_figure, .size = 13, .align = Align::right});
    }

    void mode_row(PanelContext& x, const std::array<view::MeterFace, 2>& faces, const Box& box) {
        const std::vector<Mode> modes = mode_keys(faces);
        if (modes.empty()) return;
        std::vector<std::string_view> keys, hints;
        for (const Mode mode : modes) keys.push_back(mode_words(mode)), hints.push_back(mode_hint(mode));
        double wide = 0.0;
        constexpr double around_words = 13.0;
        for (const std::string_view words : keys) wide += x.canvas().width(words, {}) + around_words;
        for (std::size_t n = 0; n < keys.size() && wide > box.w; ++n)
            if (modes[n] == Mode::dcv) keys[n] = text::tr("V DC");
            else if (modes[n] == Mode::acv) keys[n] = text::tr("V AC");
        const auto at = std::ranges::find(modes, key_of(x.desk->mode()));
        int chosen = at == modes.end() ? -1 : static_cast<int>(at - modes.begin());
        const auto count = static_cast<int>(modes.size());
        bool changed = key_row(x, "modes", box, keys, chosen, KeyRowLook::meter, hints);
        if (!x.input.typing) {
            const auto meant = std::ranges::find(modes, key_of(x.desk->mode_meant()));
            const int from = meant == modes.end() ? -1 : static_cast<int>(meant - modes.begin());
            if (x.input.take(Key::M)) chosen = (from + 1) % count, changed = true;
            if (x.input.take(Key::M, false, true)) chosen = (std::max(from, 0) + count - 1) % count, changed = true;
        }
        if (changed) x.desk->choose_mode(modes[static_cast<std::size_t>(chosen)]);
    }

    void clamp(PanelContext& x, const view::Snapshot& s, const bench::Probes& probes, const Box& row) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const double middle = row.centre().y;
        // The switches stand at the right end, and only what a chosen meter has can be switched.
        double right = row.right();
        for (const auto& [mode, words] : {std::pair{Mode::acv_loaded, text::tr("low impedance")},
                                          std::pair{Mode::acv_lowpass, text::tr("low-pass")}}) {
            const bool has = either_has(s.meters, mode);
            bool on = x.desk->mode() == mode;
            right -= checkbox_width(c, words);
            if (checkbox(x, words, {right, middle}, words, on, !has)) x.desk->choose_mode(on ? mode : Mode::acv);
            hint(x, Box{right, row.y, checkbox_width(c, words), row.h},
                 has ? mode_hint(mode) : text::tr("Neither of the two meters has it"));
            right -= 14;
        }
        {
            bool on = x.desk->awaits_inrush();
            right -= checkbox_width(c, text::tr("in-rush"));
            if (checkbox(x, "in-rush", {right, middle}, text::tr("in-rush"), on)) x.desk->await_inrush(on);
            std::string told = text::tr(
                "The clamp waits for the current to pass its trigger and keeps the first 80 ms. Arm it, then start the "
                "drive");
            if (s.inrush)
                for (const auto& reason : s.inrush->reading.reasons)
                    told += (&reason == &s.inrush->reading.reasons.front() ? ". " : " ") + reason;
            hint(x, Box{right, row.y, checkbox_width(c, text::tr("in-rush")), row.h}, told);
            right -= 14;
        }
        const std::string words =
            probes.around.empty() ? text::tr("Clamp open") : text::say("Clamp on {}", probes.around);
        const std::string healthy =
            s.clamp_expected && !s.inrush_armed ? with_symbols(view::band_text(*s.clamp_expected)) : "";
        const paint::TextLook beside{.colour = p.ink_soft, .size = 12, .sit = Sit::middle};
        const double band_w = healthy.empty() ? 0.0 : c.width(healthy, beside) + 16;
        const double slate_w = 104, word_room = right - row.x - slate_w - 8 - band_w;
        const paint::TextLook look{.colour = p.ink, .sit = Sit::middle};
        const std::string brief = probes.around.empty() ? text::tr("Clamp") : text::say("On {}", probes.around),
                          least = probes.around;
        const std::string fits = c.width(words, look) <= word_room   ? words
                                 : c.width(brief, look) <= word_room ? brief
                                 : c.width(least, look) <= word_room ? least
                                                                     : std::string();
        const Box slate{row.x + c.text({row.x, middle}, fits, look) + 10, row.y, slate_w, row.h};
        c.fill(slate, p.meter_display, 2.0);
        const meter::Reading* figure = s.inrush_armed ? (s.inrush ? &s.inrush->reading : nullptr) : s.clamp.get();
        Shown shown = figure ? taken_apart(*figure) : Shown{};
        if (s.inrush_armed && !s.inrush) shown = {false, "----", "A", true};
        const double figure_right = slate.right() - 34;
        const bool words_shown = !shown.figures.empty() && !shown.segments;
        if (words_shown) {
            c.text({slate.right() - 8, middle}, shown.figures,
                   {.colour = p.meter_figure, .align = Align::right, .sit = Sit::middle});
        } else {
            paint::SegmentLook segments{.lit = p.meter_figure, .ghost = p.meter_ghost, .size = 20, .places = 4};
            if (const double w = paint::segments_width(c, segments); w > slate_w - 48)
                segments.size *= (slate_w - 48) / w;
            const double w = paint::segments(c, {figure_right, middle + segments.size / 2}, shown.figures, segments);
            if (shown.minus) c.fill(Box{figure_right - w - 8, middle - 1, 6, 2}, p.meter_figure);
            c.text({slate.right() - 8, middle}, shown.unit.empty() ? "A" : shown.unit,
                   {.colour = p.meter_figure, .align = Align::right, .sit = Sit::middle});
        }
        const char* kind = s.clamp_mode == Mode::dca ? text::tr("DC") : text::tr("AC");
        std::vector<std::string> there{kind};
        if (!healthy.empty()) there = {text::say("healthy {}", healthy), healthy, kind};
        const auto one = std::ranges::find_if(
            there, [&](const auto& t) { return c.width(t, beside) + 16 <= right - slate.right(); });
        if (one != there.end()) c.text({slate.right() + 8, middle}, *one, beside);
        std::string more =
            fmt::format("{}, {}.", s.clamp_name.empty() ? text::tr("Clamp") : text::tr(s.clamp_name.c_str()),
                        mode_words(s.clamp_mode));
        if (s.clamp)
            if (const std::string band = band_words(*s.clamp, false); !band.empty())
                more += " " + text::say("The figure {}.", band + " " + with_symbols(s.clamp->unit));
        if (!healthy.empty()) more += " " + text::say("A healthy site would show {}.", healthy);
        if (probes.around.empty()) more += std::string(" ") + text::tr("Drag its jaw onto a conductor.");
        hint(x, Box{row.x, row.y, slate.right() - row.x, row.h}, more);
    }

    void jacks(PanelContext& x, const bench::Probes& probes, const Box& body, const Box& displays, const Box& low) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const double left = body.x + 15;
        const view::SharedView::Jacks at{{left, displays.y + 24}, {left, displays.y + 54}, {left, low.centre().y}};
        socket(c, at.red, p.lead_red.core, !probes.red.empty(), p);
        socket(c, at.black, p.lead_black.casing.a ? p.lead_black.casing : p.lead_black.core, !probes.black.empty(), p);
        socket(c, at.clamp, p.lead_clamp.core, !probes.around.empty(), p);
        const auto named = [&](Point where, std::string_view words) {
            hint(x, Box{where.x - 10, where.y - 10, 20, 20}, words);
        };
        for (const auto& [name, where] :
             {std::pair{"jack red", at.red}, {"jack black", at.black}, {"jack clamp", at.clamp}})
            x.target(name, {where.x - 6, where.y - 6, 12, 12});
        named(at.red, text::tr("Red lead"));
        named(at.black, text::tr("Black lead"));
        named(at.clamp, text::tr("Clamp"));
        // Scrolled out of the column there is nothing to hang a lead from.
        const ImVec2 low_px = c.list()->GetClipRectMin(), high_px = c.list()->GetClipRectMax();
        const auto seen = [&](Point where) {
            const ImVec2 q = c.px(where);
            return q.y >= low_px.y && q.y <= high_px.y;
        };
        drawn_ = seen(at.red) && seen(at.clamp);
        if (drawn_) shared_->jacks = at;
    }

    std::shared_ptr<view::SharedView> shared_;
    bool drawn_ = false;
};

}  // namespace

std::unique_ptr<shell::Panel> meters(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<Meters>(std::move(shared));
}

}  // namespace sunshaft::panels
