// Inside the reading: the way of the wave through both meters, from shared terminals to two displays, with what
// comes out of every stage; the wave's own figures; and the reasons in words.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/scope_view.hpp"
#include "panels/inside_links.hpp"
#include "panels/inside_reasons.hpp"
#include "panels/inside_settings.hpp"
#include "panels/inside_wave.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

constexpr double kLeastRow = 74.0, kMostRow = 190.0, kCaption = 16.0, kFigure = 17.0;

class Inside : public Panel {
  public:
    explicit Inside(const std::shared_ptr<view::SharedView>& shared) : reasons_(shared) {}
    Place place() const override { return Place::inside; }
    const char* title() const override { return text::id("Inside the reading"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const view::Palette& p = x.palette();
        const auto s = x.desk->snapshot();
        const bool leads = s->meters[0].reading || s->meters[1].reading;
        if (s->hidden) {
            panel_title(x, text::tr(title()));
            x.canvas().paragraph({x.box.x + 16, x.box.y + 36}, x.box.w - 32,
                                 text::tr("Closed: faults are hidden. The displays are what there is to go by."),
                                 {.colour = p.ink_soft});
            return;
        }
        PanelContext head = x;
        if (leads && s->clamp) {
            // Two things to open up: which one is the user's word.
            const std::string_view keys[] = {text::tr("meters"), text::tr("clamp")};
            key_row(x, "which", {x.box.right() - 16 - 128, x.box.y + 5, 128, 21}, keys, which_);
            head.box.w -= 140;
        }
        const bool of_clamp = s->clamp && (!leads || which_ == 1);
        std::vector<Path> paths;
        if (of_clamp) paths.push_back({s->clamp_name, &*s->clamp, p.signal[0], links(2, s->clamp)});
        else
            for (std::size_t n = 0; n < 2; ++n)
                if (const auto& face = s->meters[n]; face.reading)
                    paths.push_back({face.name, &*face.reading, p.signal[n], links(n, face.reading)});
        panel_title(head, text::tr(title()), subject(*s, paths, of_clamp));
        Box rest = x.box;
        rest.cut_top(32);
        rest = rest.inset(16, 0);
        // Right after a lead was put elsewhere the meters have nothing yet: what can be pressed stays where it is.
        const bool awaited = paths.empty() && chains_high_ > 0.0 && reading_comes(*s);
        if (paths.empty()) x.canvas().paragraph(rest.top_left(), rest.w, invitation(*s), {.colour = p.ink_soft});
        if (paths.empty() && !awaited) return;
        if (awaited) {
            rest.cut_top(chains_high_);
        } else {
            // Plots grow into the room the words leave.
            row_height_ =
                std::clamp((x.box.h - 32 - 46 - (x.box.w > 1000 ? 240 : 330)) / static_cast<double>(paths.size()),
                           kLeastRow, kMostRow);
            chains(x, rest, paths);
            chains_high_ = rest.y - x.box.y - 32;
        }
        {
            Box row = rest.cut_top(40);
            const std::string_view words = editing_ ? text::tr("Done") : text::tr("Edit chain");
            const double w = button_width(x.canvas(), words);
            Box key = row.cut_right(w + 10);
            key.cut_left(10);
            if (button(x, "edit chain", {key.x, key.centre().y - 13, w, 26}, words, {.chosen = editing_}))
                editing_ = !editing_;
            hint(x, key,
                 editing_
                     ? text::tr("Back to the reasons")
                     : text::tr(
                           "Change bandwidth, coupling, detector ... of this very meter and watch the reading follow"));
            if (editing_) return edit(x, row, rest, *s, paths, of_clamp);
            if (awaited) return;
            wave_row(x, row, paths, reasons_);
            rest.cut_top(6);
        }
        Child child = x.child("reasons", {rest.x, rest.y, rest.w + 10, rest.h - 4}, true);
        const double top = rest.y - child.scrolled();
        child.content_height(reasons_.draw(x, {rest.x, top, rest.w, rest.h}, paths) - top + 4);
    }

  private:
    void edit(PanelContext& x, const Box& bar, const Box& rest, const view::Snapshot& s, const std::vector<Path>& paths,
              bool of_clamp) {
        std::vector<EditedMeter> meters;
        if (of_clamp) meters.push_back({"clamp-hall", s.clamp_meter, s.clamp_mode, s.clamp_changed, paths[0].look});
        for (const auto& face : s.meters)
            if (!of_clamp && (face.reading || paths.empty()) && face.meter &&
                (meters.empty() || meters[0].stem != face.spec))
                meters.push_back({face.spec, face.meter, face.mode, face.changed,
                                  paths.empty() ? x.palette().signal[meters.size()] : paths[meters.size()].look});
        if (meters.empty()) return;
        settings_bar(x, bar, meters, edited_);
        Child child = x.child("chain settings", {rest.x, rest.y, rest.w + 10, rest.h - 4}, true);
        const double top = rest.y - child.scrolled();
        child.content_height(settings_form(x, child.canvas(), {rest.x, top, rest.w - 4, rest.h},
                                           meters[static_cast<std::size_t>(edited_)]) -
                             top + 4);
    }

    // Both leads are placed and nothing forbids to read there.
    static bool reading_comes(const view::Snapshot& s) {
        const bool placed = meter::takes_clamp(s.meters[0].mode) ? !s.probes.around.empty()
                                                                 : !s.probes.red.empty() && !s.probes.black.empty();
        return placed && std::ranges::any_of(s.meters, [](const auto& face) { return face.note.empty(); });
    }

    static std::string subject(const view::Snapshot& s, const std::vector<Path>& paths, bool of_clamp) {
        if (paths.empty()) return "";
        const std::string what = of_clamp ? text::say("current in {}", s.probes.around)
                                 : meter::takes_clamp(s.meters[0].mode)
                                     ? text::say("current in {}", s.probes.around)
                                     : text::say("{} against {}", s.probes.red, s.probes.black);
        const meter::Reading& r = *paths.front().reading;
        const bool waves = !paths.front().links.front().wave.empty();
        if (!waves) return what;
        if (r.truth.fundamental_Hz && *r.truth.fundamental_Hz > 0)
            return text::say("{}, one turn of {}", what, view::figure(1.0 / *r.truth.fundamental_Hz, "s", 3).text());
        return fmt::format("{}, {}", what,
                           view::figure(trace::duration(paths.front().links.front().wave), "s", 2).text());
    }

    static std::string invitation(const view::Snapshot& s) {
        for (const auto& face : s.meters)
            if (!face.note.empty()) return text::say("There is no reading to open up: {}.", with_symbols(face.note));
        if (s.probes.red.empty() || s.probes.black.empty())
            return text::tr(
                "Put the red and the black lead on two dots of the drawing. The way of the voltage through each "
                "meter then opens up here, from the terminals to the display.");
        return text::tr("The first figure is still to come.");
    }

    // ---- the chains

    void chains(PanelContext& x, Box& rest, const std::vector<Path>& paths) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const bool two = paths.size() == 2;
        const std::size_t shared = two ? shared_links(paths[0].links, paths[1].links) : 0;
        std::size_t columns = 0;
        for (const Path& path : paths) columns = std::max(columns, path.links.size());
        const double gap = columns > 6 ? 10.0 : 14.0;
        const double width = std::min(2.0 * row_height_,
                                      (rest.w - gap * double(columns - 1)) / double(std::max<std::size_t>(1, columns)));
        const auto column_x = [&](std::size_t n) { return rest.x + double(n) * (width + gap); };
        // Without a shared stem each row is named on a line of its own.
        const double name_line = !two || shared == 0 ? 18.0 : 0.0;
        const double row = row_height_ + name_line, all = row * double(paths.size()) + (two ? 6.0 : 0.0);
        const Box field = rest.cut_top(all + 6);
        const auto row_y = [&](std::size_t n) { return field.y + double(n) * (row + 6); };
        const double span = signed_span(paths);
        const auto middle_of = [this](double y) { return y + kCaption + (row_height_ - kCaption - kFigure) / 2; };

        const double stem_y = field.y + (all - row_height_) / 2;
        for (std::size_t n = 0; n < shared; ++n) {
            link(x, c, {column_x(n), stem_y, width, row_height_}, paths[0], Reasons::all, paths[0].links[n], span);
            if (n + 1 < shared) arrow(c, column_x(n) + width, column_x(n + 1), middle_of(stem_y), p);
        }
        if (shared > 0) {
            const double fork = column_x(shared) - gap / 2 - 1;
            c.line({column_x(shared - 1) + width, middle_of(stem_y)}, {fork, middle_of(stem_y)},
                   {.colour = p.ink_soft, .width = 1.2});
            c.rule({fork, middle_of(row_y(0))}, {fork, middle_of(row_y(1))}, p.ink_soft, 1.2);
            for (std::size_t n = 0; n < 2; ++n) {
                arrow(c, fork, column_x(shared), middle_of(row_y(n)), p);
                // The names stand in the corners the stem leaves free.
                const double room = double(shared) * (width + gap) - gap - 2;
                const paint::TextLook look{.colour = p.ink, .size = 12, .face = Face::strong};
                std::string name = short_name(paths[n].name);
                // may break there
                if (const auto hyphen = name.find('-'); hyphen != std::string::npos && c.width(name, look) > room)
                    name = fmt::format("{} {}", name.substr(0, hyphen + 1), name.substr(hyphen + 1));
                const double high = std::min(36.0, c.paragraph_height(room, name, look));
                const auto clip = c.clip({field.x, n == 0 ? field.y : field.y + all - 36, room + 4, 36});
                c.paragraph({field.x, n == 0 ? field.y : field.y + all - high}, room, name, look);
            }
        }
        for (std::size_t n = 0; n < paths.size(); ++n) {
            const Path& path = paths[n];
            if (name_line > 0)
                c.text({field.x, row_y(n) + 12}, short_name(path.name),
                       {.colour = p.ink, .size = 12, .face = Face::strong});
            const double y = row_y(n) + name_line;
            for (std::size_t k = shared; k < path.links.size(); ++k) {
                // The displays stand below each other, however long the way.
                const std::size_t column = k + 1 == path.links.size() ? columns - 1 : k;
                if (k > shared) arrow(c, column_x(k - 1) + width, column_x(column), middle_of(y), p);
                link(x, c, {column_x(column), y, width, row_height_}, path, n, path.links[k], span);
            }
        }
    }

    static void arrow(Canvas& c, double from, double to, double y, const view::Palette& p) {
        if (to - from > 4) c.arrow({from, y}, {to - 1, y}, {.colour = p.ink_soft, .width = 1.2}, 5.0);
    }

    // All plots of volts share one scale, so that what a stage takes away is seen.
    static double signed_span(const std::vector<Path>& paths) {
        double most = 0.0;
        for (const Path& path : paths)
            for (const Link& l : path.links)
                if (l.kind == Link::Kind::wave)
                    if (const auto& span = l.reach) most = std::max({most, std::abs(span->low), std::abs(span->high)});
        return most > 1e-6 ? most : 1.0;  // less is the arithmetic's own noise
    }

    void link(PanelContext& x, Canvas& c, const Box& box, const Path& path, std::size_t which, const Link& l,
              double span) {
        const view::Palette& p = x.palette();
        Box rest = box;
        const Box caption = rest.cut_top(kCaption), below = rest.cut_bottom(kFigure);
        const paint::TextLook name{.colour = p.ink, .size = 12};
        c.text({caption.x, caption.y + 11}, c.fitted(l.caption, caption.w + 4, name), name);
        std::optional<view::PlotArea> drawn;
        if (l.kind == Link::Kind::display) slate(c, rest, *path.reading, p);
        else drawn = plot(c, rest, path.look, l, span, p);
        const bool range = l.kind == Link::Kind::display;
        const view::Figure f = chain_figure(l.number, l.unit, range ? 3 : 4);
        if (!(range && l.number <= 0)) {
            const double used =
                paint::value(c, {below.right(), below.y + 13}, range ? trimmed(f.number) : f.number, f.unit,
                             {.number = p.ink, .unit = p.ink_soft, .size = 12, .face = Face::mono});
            if (used + 6 + c.width(text::tr(l.number_is.c_str()), {.colour = p.ink_soft, .size = 12}) <= below.w)
                c.text({below.x, below.y + 13}, text::tr(l.number_is.c_str()), {.colour = p.ink_soft, .size = 12});
        }
        reasons_.stage(x, box, rest, which, l);
        if (const std::string figure = reasons_.figure_of_wave(which, l); drawn && !figure.empty())
            if (const Box mark = draw_wave_mark(c, *drawn, l, *path.reading, figure, p); !mark.empty())
                x.target("lit wave " + figure, mark);
        hint(x, box,
             with_symbols(fmt::format("{}: {}. {} {}", l.caption, text::tr(l.what.c_str()),
                                      text::tr(l.number_is.c_str()), f.text())));
    }

    static std::string trimmed(std::string number) {
        if (number.find('.') == std::string::npos) return number;
        number.erase(number.find_last_not_of('0') + 1);
        if (number.ends_with('.')) number.pop_back();
        return number;
    }

    // What was drawn, as it is scaled; nothing: there is no wave.
    static std::optional<view::PlotArea> plot(Canvas& c, const Box& box, const view::SignalLook& look, const Link& l,
                                              double span, const view::Palette& p) {
        c.fill(box, p.sheet);
        c.frame(box, p.rule);
        if (l.kind == Link::Kind::number || l.wave.empty()) {
            const view::Figure f = chain_figure(l.number, l.unit);
            paint::value(c, {box.centre().x, box.centre().y + 5}, f.number, f.unit,
                         {.number = p.ink,
                          .unit = p.ink_soft,
                          .size = box.w < 90 ? 13.0 : 15.0,
                          .face = Face::strong,
                          .align = Align::centre});
            return {};
        }
        view::PlotArea area{trace::start(l.wave), trace::finish(l.wave), -1.15 * span, 1.15 * span, box.inset(1, 2)};
        const auto& reach = l.reach;
        if (!reach) return {};
        const bool above = reach->low >= -1e-3 * span;
        if (l.kind == Link::Kind::one_sided || (l.kind == Link::Kind::level && above)) {
            const double top = std::max({reach->high, l.level.value_or(0.0), 1e-12 * span});
            if (top < 1e-6) return {};
            area.y_low = -0.08 * top, area.y_high = 1.15 * top;
        }
        const auto columns = static_cast<int>(std::max(8.0, area.box.w * c.scale()));
        if (!(l.line_box == area.box) || l.line_low != area.y_low || l.line_high != area.y_high ||
            l.line_columns != columns) {
            l.line = view::trace_line(l.wave, area, columns);
            l.line_box = area.box, l.line_low = area.y_low, l.line_high = area.y_high, l.line_columns = columns;
        }
        const auto& line = l.line;
        const auto clip = c.clip(box.inset(1));
        c.rule({box.x, area.y(0)}, {box.right(), area.y(0)}, p.grid);
        if (line.size() > 1) {
            const bool ghost = l.kind == Link::Kind::level;
            if (l.kind == Link::Kind::one_sided) c.area(line, area.y(0), look.colour.faded(p.dark ? 0.22 : 0.16));
            c.polyline(line, {.colour = ghost ? p.ghost : look.colour, .width = ghost ? 1.0 : 1.5});
        }
        if (l.level)
            c.line({box.x, area.y(*l.level)}, {box.right(), area.y(*l.level)},
                   {.colour = look.colour,
                    .width = 2.0,
                    .style = l.kind == Link::Kind::one_sided ? view::LineStyle::dashed : look.style});
        return area;
    }

    static void slate(Canvas& c, const Box& box, const meter::Reading& r, const view::Palette& p) {
        c.fill(box, p.meter_display, 2.0);
        const Shown shown = taken_apart(r);
        const paint::TextLook unit{.colour = p.meter_figure, .size = 12, .align = Align::right, .sit = Sit::middle};
        const double unit_w = shown.unit.empty() ? 0.0 : c.width(shown.unit, unit) + 5;
        const double right = box.right() - 6 - unit_w;
        if (!shown.unit.empty() && (shown.segments || shown.figures.empty()))
            c.text({box.right() - 6, box.centre().y + 4}, shown.unit, unit);
        if (!shown.segments) {
            c.text({box.right() - 6, box.centre().y}, c.fitted(shown.figures, box.w - 10, unit), unit);
            return;
        }
        const auto digits = static_cast<int>(std::ranges::count_if(shown.figures, [](char ch) { return ch != '.'; })) +
                            (shown.minus ? 1 : 0);
        paint::SegmentLook look{.lit = p.meter_figure,
                                .ghost = p.meter_ghost,
                                .size = std::clamp(0.36 * box.h, 20.0, 44.0),
                                .places = std::max(shown.minus ? 5 : 4, digits)};
        const double room = right - box.x - 5;
        if (const double w = paint::segments_width(c, look); w > room) look.size *= room / w;
        paint::segments(c, {right, box.centre().y + look.size / 2}, (shown.minus ? "-" : "") + shown.figures, look);
    }

    // A reading stands for a while: its chain is made ready once.
    std::span<const Link> links(std::size_t which, const std::shared_ptr<const meter::Reading>& reading) {
        Ready& ready = ready_[which];
        if (ready.reading != reading) ready = {reading, links_of(*reading)};
        return ready.links;
    }
    struct Ready {
        std::shared_ptr<const meter::Reading> reading;
        std::vector<Link> links;
    };
    std::array<Ready, 3> ready_;
    double row_height_ = kLeastRow, chains_high_ = 0.0;  // of one chain; of all that stood there last
    bool editing_ = false;
    int edited_ = 0;
    int which_ = 0;
    Reasons reasons_;
};

}  // namespace

std::unique_ptr<shell::Panel> inside(std::shared_ptr<view::SharedView> shared) {  // NOLINT: as all panels are made
    return std::make_unique<Inside>(shared);
}

}  // namespace sunshaft::panels
