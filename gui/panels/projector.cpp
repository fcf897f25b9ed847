// The projector's sheet, for the back row: two displays, the way of the wave through both meters, and the site as a
// strip. No keys, no captions that can be done without; nothing thinner than 3 or smaller than 28 on a picture of 1280
// x 720, to which it is laid out and from which it grows with the window.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/scope_view.hpp"
#include "model/verdict.hpp"
#include "panels/inside_links.hpp"
#include "panels/lesson_card.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "panels/projector_site.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

constexpr double kWords = 28.0, kLine = 3.0, kProjectorMargin = 24.0, kProjectorHead = 52.0;

// "True-rms multimeter for switched drives" is "True-rms", "Average-responding ..." is "Averaging".
std::string brief(const std::string& name) {
    std::string words = name.substr(0, name.find(" multimeter"));
    if (const auto at = words.find(" for "); at != std::string::npos) words.erase(at);
    if (const auto at = words.find(','); at != std::string::npos) words.erase(at);
    return text::sentence_begins(words == "average-responding"   ? text::tr("averaging")
                                 : words == "true-rms"           ? text::tr("true-rms")
                                 : words == "wide-band true-rms" ? text::tr("wide-band true-rms")
                                                                 : text::tr(words.c_str()));
}

// Thousands apart, by a blank that does not break.
std::string grouped(double value) {
    std::string digits = text::fixed(value, 0);
    for (auto at = static_cast<std::ptrdiff_t>(digits.size()) - 3; at > (value < 0 ? 1 : 0); at -= 3)
        digits.insert(static_cast<std::size_t>(at), "\u00a0");
    return digits;
}

class Projector : public Panel {
  public:
    explicit Projector(std::shared_ptr<LessonCard> card) : card_(std::move(card)) {}
    Place place() const override { return Place::projector; }
    const char* title() const override { return text::id("Projector"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        unit_ = std::min(x.box.w / 1280.0, x.box.h / 720.0);
        Canvas c = x.canvas();
        c.fill(x.box, p.ground);
        Box rest = x.box;
        head(c, rest.cut_top(kProjectorHead * unit_), *s, x.desk->probes(), p);
        view::Projected shown = x.window.projected;
        const auto lesson = x.desk->lesson();                 // in place of the chain
        shown.chain = (shown.chain && !s->hidden) || lesson;  // closed with the reading
        if (shown.site) {
            const double high = shown.chain || shown.displays ? 116.0 * unit_ : rest.h;
            const Box strip = rest.cut_bottom(high);
            const auto touched = projector_site(x, strip, *s, x.desk->probes(), unit_);
            if (touched) x.desk->place(*touched);
            x.target("projector site", strip);
        }
        rest = rest.inset(kProjectorMargin * unit_, 12.0 * unit_);
        if (shown.displays) {
            const bool stacked = !shown.chain;
            displays(x, c, stacked ? rest : rest.cut_top(222.0 * unit_), stacked, *s, p);
            if (!stacked) rest.cut_top(16.0 * unit_);
        }
        if (lesson) {
            x.desk->meet_lesson();
            if (lesson->working) x.wake_in(0.05);
            card_->draw(x, rest, *lesson, kWords / 15.0 * unit_);
        } else if (shown.chain) {
            x.target("projector chain", rest);
            chain(c, rest, *s, p);
        }
        keys(x, *s);
        if (s->running == view::Running::run && s->now.speed != 0) x.wake_in(0.033);
    }

  private:
    paint::TextLook words(Colour colour, Face face = Face::words, Align align = Align::left) const {
        return {.colour = colour, .size = kWords * unit_, .face = face, .align = align};
    }
    double px(double v) const { return v * unit_; }

    // ---- what is measured, where

    void head(Canvas& c, const Box& row, const view::Snapshot& s, const bench::Probes& probes,
              const view::Palette& p) const {
        c.fill(row, p.sheet);
        c.rule({row.x, row.bottom()}, {row.right(), row.bottom()}, p.rule);
        const double base = row.y + px(36), middle = row.centre().y;
        double left = row.x + px(kProjectorMargin);
        left += c.text({left, base}, s.site->scenario.site.name, words(p.ink, Face::strong)) + px(48);
        const bool around = meter::takes_clamp(s.meters[0].mode);
        const auto lead = [&](const std::string& name, const view::ConductorLook& look) {
            if (look.casing.a) c.disc({left + px(10), middle}, px(12.5), look.casing);
            c.disc({left + px(10), middle}, px(10), look.core);
            c.disc({left + px(10), middle}, px(4), p.sheet);
            left += px(32);
            left +=
                c.text({left, base}, name.empty() ? text::tr("nowhere") : name.c_str(), words(p.ink, Face::strong)) +
                px(40);
        };
        if (around) lead(probes.around, p.lead_clamp);
        else lead(probes.red, p.lead_red), lead(probes.black, p.lead_black);
        if (s.hidden || s.site->works.supply.kind == site::Supply::Kind::mains) return;
        const auto link = view::figure(s.means.seconds > 0 ? s.means.link : s.now.nodes.link, "V", 3);
        const double right = row.right() - px(kProjectorMargin);
        const double wide = c.width(link.text(), words(p.ink, Face::strong));
        const double name = c.width(std::string(text::tr("link")) + " ", words(p.ink_soft));
        if (right - wide - name < left) return;
        c.text({right, base}, link.text(), words(p.ink, Face::strong, Align::right));
        c.text({right - wide, base}, std::string(text::tr("link")) + " ", words(p.ink_soft, Face::words, Align::right));
    }

    // ---- the displays

    void displays(PanelContext& x, Canvas& c, Box rest, bool stacked, const view::Snapshot& s,
                  const view::Palette& p) const {
        const double gap = px(16);
        for (std::size_t n = 0; n < 2; ++n) {
            const Box body =
                stacked ? Box{rest.x, rest.y + static_cast<double>(n) * (rest.h + gap) / 2, rest.w, (rest.h - gap) / 2}
                        : Box{rest.x + static_cast<double>(n) * (rest.w + gap) / 2, rest.y, (rest.w - gap) / 2, rest.h};
            display(x, c, body, n, s.meters[n], p);
        }
    }

    void display(PanelContext& x, Canvas& c, const Box& body, std::size_t n, const view::MeterFace& face,
                 const view::Palette& p) const {
        c.fill(body, p.meter_body, px(4));
        c.outline(body.inset(0.5), {.colour = p.meter_edge, .width = px(kLine)}, px(4));
        const Box slate = body.inset(px(12));
        c.fill(slate, p.meter_display, 2.0);
        x.target(fmt::format("projector display {}", n + 1), slate);
        const view::SignalLook look = view::dark_palette().signal[n];  // on the dark display in either theme
        const double name_y = slate.y + px(28);
        c.line({slate.x + px(20), name_y}, {slate.x + px(84), name_y},
               {.colour = look.colour, .width = px(5), .style = look.style});
        c.text({slate.x + px(100), name_y + px(10)}, brief(face.name), words(p.meter_figure));
        Shown shown = face.reading ? taken_apart(*face.reading) : Shown{};
        const double base = slate.bottom() - px(14), right = slate.right() - px(16);
        if (!shown.figures.empty() && !shown.segments) {
            c.text({right, base - px(30)}, shown.figures, words(p.meter_figure, Face::strong, Align::right));
            return;
        }
        const double unit_size = px(shown.unit.size() > 2 ? 36 : 44);
        const double unit_wide =
            shown.unit.empty() ? 0.0 : c.width(shown.unit, {.colour = p.meter_figure, .size = unit_size}) + px(14);
        const auto digits = static_cast<int>(std::ranges::count_if(shown.figures, [](char ch) { return ch != '.'; }));
        paint::SegmentLook segments{.lit = p.meter_figure,
                                    .ghost = p.meter_ghost,
                                    .size = base - (slate.y + px(56)),
                                    .places = std::max(4, digits),
                                    .drawn = true};
        const double minus = px(30), room = right - unit_wide - slate.x - px(8) - (shown.minus ? minus : 0.0);
        if (const double wide = paint::segments_width(c, segments); wide > room) segments.size *= room / wide;
        c.text({right, base}, shown.unit, {.colour = p.meter_figure, .size = unit_size, .align = Align::right});
        const double wide = paint::segments(c, {right - unit_wide, base}, shown.figures, segments);
        if (shown.minus)
            c.fill(Box{right - unit_wide - wide - minus, base - segments.size / 2 - px(5), minus - px(8), px(10)},
                   p.meter_figure);
    }

    // ---- the way of the wave

    struct Path {
        std::string name;
        const meter::Reading* reading = nullptr;
        view::SignalLook look;
        const std::vector<Link>* links = nullptr;
    };

    void chain(Canvas& c, const Box& field, const view::Snapshot& s, const view::Palette& p) {
        std::vector<Path> paths;
        for (std::size_t n = 0; n < 2; ++n) {
            const auto& face = s.meters[n];
            if (!face.reading) continue;
            if (ready_[n].reading != face.reading) ready_[n] = {face.reading, links_of(*face.reading)};
            paths.push_back({brief(face.name), &*face.reading, p.signal[n], &ready_[n].links});
        }
        if (paths.empty()) {
            c.text({field.x, field.y + px(40)}, text::tr("Place the leads"), words(p.ink_soft));
            return;
        }
        const double foot = px(36);
        const Box rows{field.x, field.y, field.w, field.h - foot};
        const double stem_wide = px(224), first = field.x + px(282), box_wide = px(216),
                     result_x = field.right() - px(378), gap = px(70);
        const double row_high = rows.h / 2, box_high = std::max(px(60), row_high - px(46));
        const Link* terminals = wave_of(*paths.front().links, 0);
        const double stem_high = std::min(px(160), rows.h - px(90));
        const Box stem{field.x, rows.centre().y - stem_high / 2, stem_wide, stem_high};
        const double fork = stem.right() + px(28);
        if (terminals) {
            if (paths.size() == 2) c.text({stem.x, stem.y - px(14)}, text::tr("Same wave"), words(p.ink, Face::strong));
            c.text({stem.x, stem.bottom() + px(32)}, terminals->caption, words(p.ink_soft));
            plot(c, stem, {.colour = p.ink}, *terminals, std::nullopt, p);
            c.line({stem.right(), stem.centre().y}, {fork, stem.centre().y}, {.colour = p.ink, .width = px(kLine)});
        }
        std::array<double, 2> middle{};
        for (std::size_t n = 0; n < paths.size(); ++n) {
            const Path& path = paths[n];
            const Box row{field.x, rows.y + (paths.size() == 2 ? row_high * static_cast<double>(n) : row_high / 2),
                          field.w, row_high};
            const double y = row.y + box_high / 2;
            middle[n] = y;
            double from = fork;
            const auto step = [&](double left, const Link& l, const std::string& caption, std::optional<double> level) {
                const Box box{left, row.y, box_wide, box_high};
                c.arrow({from, y}, {left - 2, y}, {.colour = p.ink, .width = px(kLine)}, px(13));
                plot(c, box, path.look, l, level, p);
                c.text({box.centre().x, box.bottom() + px(32)}, caption, words(p.ink, Face::words, Align::centre));
                from = box.right();
            };
            const Link* rectified = of_kind(*path.links, Link::Kind::one_sided);
            const Link* level = of_kind(*path.links, Link::Kind::level);
            const Link* into = rectified ? rectified : wave_of(*path.links, path.links->size());
            if (into && level && terminals) {
                if (rectified || into->caption != terminals->caption) step(first, *into, into->caption, std::nullopt);
                const double mean = rectified ? rectified->level.value_or(rectified->number) : level->number;
                const std::string unit = rectified ? rectified->unit : level->unit;
                const std::string figure = unit.ends_with("\u00b2") && std::abs(mean) >= 100.0
                                               ? grouped(mean) + "\u00a0" + unit
                                               : view::figure(mean, unit, 3).text();
                step(first + box_wide + gap, *into, text::say("Mean {}", figure), mean);
            }
            if (terminals) c.arrow({from, y}, {result_x - 2, y}, {.colour = p.ink, .width = px(kLine)}, px(13));
            result(c, {result_x, row.y, px(378), box_high}, path, level, p);
        }
        if (terminals && paths.size() == 2)
            c.line({fork, middle[0]}, {fork, middle[1]}, {.colour = p.ink, .width = px(kLine)});
        else if (terminals) c.line({fork, stem.centre().y}, {fork, middle[0]}, {.colour = p.ink, .width = px(kLine)});
        if (paths.size() == 2)
            c.text(
                {field.x, field.bottom() - px(6)},
                view::verdict({paths[0].name, paths[0].reading}, {paths[1].name, paths[1].reading}, s.meters[0].mode),
                words(p.ink, Face::strong));
    }

    static const Link* of_kind(const std::vector<Link>& links, Link::Kind kind) {
        const auto it = std::ranges::find(links, kind, &Link::kind);
        return it == links.end() ? nullptr : &*it;
    }
    // The first wave, or the last before a place in the chain.
    static const Link* wave_of(const std::vector<Link>& links, std::size_t before) {
        const Link* found = nullptr;
        for (std::size_t n = 0; n < links.size() && (before == 0 ? !found : n < before); ++n)
            if (links[n].kind == Link::Kind::wave) found = &links[n];
        return found;
    }

    // A wave, or the level that its mean is, as deep as it lies.
    void plot(Canvas& c, const Box& box, const view::SignalLook& look, const Link& l, std::optional<double> mean,
              const view::Palette& p) const {
        c.fill(box, p.sheet);
        const auto clip = c.clip(box);
        const Box in = box.inset(px(5));
        const bool above = l.kind == Link::Kind::one_sided;
        if (l.reach && !l.wave.empty()) {
            const double top = std::max({std::abs(l.reach->high), above ? 0.0 : std::abs(l.reach->low), 1e-9});
            const view::PlotArea area{trace::start(l.wave), trace::finish(l.wave), above ? -0.05 * top : -1.1 * top,
                                      1.12 * top, in};
            if (!above) c.line({in.x, area.y(0)}, {in.right(), area.y(0)}, {.colour = p.rule, .width = px(kLine)});
            if (!mean) {
                const auto path = view::trace_line(l.wave, area, static_cast<int>(std::max(8.0, in.w * c.scale())));
                if (above) c.area(path, area.y(0), look.colour.faded(p.dark ? 0.25 : 0.16));
                c.polyline(path, {.colour = look.colour, .width = px(kLine)});
                if (l.level)
                    c.line({in.x, area.y(*l.level)}, {in.right(), area.y(*l.level)},
                           {.colour = p.ink, .width = px(kLine), .style = view::LineStyle::dashed});
            } else {
                const double y = area.y(*mean), zero = area.y(0);
                c.fill(Box{in.x, std::min(y, zero), in.w, std::abs(zero - y)}, look.colour.faded(p.dark ? 0.25 : 0.16));
                c.line({in.x, y}, {in.right(), y}, {.colour = look.colour, .width = px(kLine), .style = look.style});
            }
        }
        c.frame(box, p.meter_edge, px(kLine));
    }

    void result(Canvas& c, const Box& box, const Path& path, const Link* level, const view::Palette& p) const {
        c.fill(box, p.sheet);
        c.frame(box, p.meter_edge, px(kLine));
        c.fill(Box{box.x, box.y, px(9), box.h}, path.look.colour);
        const Shown shown = taken_apart(*path.reading);
        const double base = box.centre().y + px(12), right = box.right() - px(18);
        const double unit = c.width(shown.unit, {.colour = p.ink_soft, .size = px(40)});
        c.text({right, base}, shown.unit, {.colour = p.ink_soft, .size = px(40), .align = Align::right});
        const std::string number = (shown.minus ? "\u2212" : "") + shown.figures;
        const double wide = c.width(number, {.colour = p.ink, .size = px(40), .face = Face::strong});
        c.text({right - unit - px(10), base}, number,
               {.colour = p.ink, .size = px(40), .face = Face::strong, .align = Align::right});
        const std::string caption = level ? level->caption : "";
        if (box.x + px(28) + c.width(caption, words(p.ink)) < right - unit - px(20) - wide)
            c.text({box.x + px(28), base - px(2)}, caption, words(p.ink));
    }

    // ---- hands: the keys of the sheets that are not on show

    static void keys(PanelContext& x, const view::Snapshot& s) {
        if (x.input.typing) return;
        const std::vector<meter::Mode> modes = mode_keys(s.meters);
        if (modes.empty()) return;
        const auto at = std::ranges::find(modes, key_of(x.desk->mode_meant()));
        const auto count = static_cast<int>(modes.size());
        const int now = at == modes.end() ? -1 : static_cast<int>(at - modes.begin());
        if (x.input.take(Key::M)) x.desk->choose_mode(modes[static_cast<std::size_t>((now + 1) % count)]);
        if (x.input.take(Key::M, false, true))
            x.desk->choose_mode(modes[static_cast<std::size_t>((std::max(now, 0) + count - 1) % count)]);
    }

    struct Ready {
        std::shared_ptr<const meter::Reading> reading;
        std::vector<Link> links;
    };
    std::array<Ready, 2> ready_;
    std::shared_ptr<LessonCard> card_;
    double unit_ = 1.0;  // of the layout, in design units
};

}  // namespace

std::unique_ptr<shell::Panel> projector(std::shared_ptr<LessonCard> card) {
    return std::make_unique<Projector>(std::move(card));
}

}  // namespace sunshaft::panels
