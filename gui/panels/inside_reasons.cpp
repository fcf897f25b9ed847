#include "panels/inside_reasons.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "meter/sources.hpp"
#include "panels/meters_words.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

// As it is shown: with the signs of units, and where its figures are by then.
struct Reasons::Sentence {
    std::string words;
    std::vector<Canvas::Part> parts;
    std::vector<const meter::Figure*> figures;

    Sentence(const meter::Reading& r, bool warning, std::size_t n) {
        std::string said = warning ? text::sentence_begins(r.warnings[n]) : r.reasons[n];
        if (warning && !said.ends_with('.')) said += '.';
        std::size_t done = 0;
        for (const meter::NamedAt& at : r.named) {
            if (at.warning != warning || at.sentence != n || at.at + at.length > said.size()) continue;
            words += with_symbols(said.substr(done, at.at - done));
            const std::string figure = with_symbols(said.substr(at.at, at.length));
            parts.push_back({words.size(), figure.size()});
            figures.push_back(&r.figures[at.figure]);
            words += figure;
            done = at.at + at.length;
        }
        words += with_symbols(said.substr(done));
    }
};

namespace {

bool of_clamp(const meter::Reading& r) { return !r.stages.empty() && r.stages.front().name == "conductor"; }

const char* words_of(meter::Part part) {
    switch (part) {
        case meter::Part::leads: return text::tr("In the drawing: where the leads lie");
        case meter::Part::link: return text::tr("In the drawing: the drive's link");
        case meter::Part::drive: return text::tr("In the drawing: the drive");
        case meter::Part::none: break;
    }
    return "";
}

// Where the figure comes from, a line each.
std::string told(const meter::Source& source, const Path& path) {
    std::vector<std::string> lines;
    const std::string_view stage = meter::stage_of(source, *path.reading);
    if (const auto link = std::ranges::find(path.links, stage, &Link::stage); link != path.links.end())
        lines.push_back(fmt::format("{}: {}", link->caption, with_symbols(text::tr(link->what))));
    if (source.part == meter::Part::leads && of_clamp(*path.reading))
        lines.emplace_back(text::tr("In the drawing: where the clamp is closed"));
    else if (source.part != meter::Part::none) lines.emplace_back(words_of(source.part));
    if (!source.meter_key.empty()) lines.push_back(text::say("Key of the meter: {}", source.meter_key));
    if (!source.site_key.empty()) lines.push_back(text::say("Key of the site: {}", source.site_key));
    if (!source.standard.empty()) lines.push_back(text::say("From the standard {}", source.standard));
    std::string all;
    for (const std::string& line : lines) all += (all.empty() ? "" : "\n") + line;
    return all;
}

}  // namespace

bool Reasons::lights(std::size_t path, const meter::Reading& reading, std::string_view figure) const {
    if (!of(path)) return false;
    if (!now_->figure.empty()) return now_->figure == figure;
    const meter::Source* source = meter::source_of(figure);
    return source && meter::stage_of(*source, reading) == now_->stage;
}

void Reasons::stage(PanelContext& x, const Box& box, const Box& plot, std::size_t path, const Link& link) {
    const view::Palette& p = x.palette();
    const Touch t =
        touch(x, fmt::format("stage {} {}", path == all ? "both" : fmt::format("{}", path), link.caption), box);
    if (t.hovered || t.focused) next_ = Pointed{path, link.stage, {}};
    if (of(path) && now_->stage == link.stage) {
        Canvas c = x.canvas();
        c.fill(plot, p.accent.faded(p.dark ? 0.2 : 0.12));
        c.frame(plot, p.accent, 2.0);
        x.target(fmt::format("lit stage {}", link.stage), plot);
    }
    if (t.focused) focus_mark(x, box);
}

void Reasons::point(PanelContext& x, const std::string& id, const Box& box, std::string_view name,
                    std::string_view said, const Path& path, std::size_t n) {
    const meter::Source* source = meter::source_of(name);
    if (!source) return;
    const Touch t = touch(x, id, box);
    const std::string from = told(*source, path);
    const std::string words = said.empty() ? from : fmt::format("{}\n{}", said, from);
    hint(x, t, words);
    if (t.focused) {
        focus_mark(x, box);
        x.ask.hint = Requests::Hint{words, box, true};
    }
    if (!t.hovered && !t.focused) return;
    next_ = Pointed{n, std::string(meter::stage_of(*source, *path.reading)), std::string(name)};
    shared_->lit = source->part;
    shared_->lit_by_clamp = of_clamp(*path.reading);
}

void Reasons::wave_figure(PanelContext& x, const Box& box, std::string_view name, std::string_view hint,
                          std::span<const Path> paths) {
    if (lights(all, *paths.front().reading, name)) {
        x.canvas().fill(box, x.palette().accent_tint);
        x.target(fmt::format("lit wave figure {}", name), box);
    }
    point(x, fmt::format("wave figure {}", name), box, name, hint, paths.front(), all);
}

std::string Reasons::figure_of_wave(std::size_t path, const Link& link) const {
    return of(path) && now_->stage == link.stage ? now_->figure : "";
}

double Reasons::sentence(PanelContext& x, Canvas& c, const Box& box, const Sentence& s, const Path& path, std::size_t n,
                         Colour colour) {
    const view::Palette& p = x.palette();
    const paint::TextLook look{.colour = colour};
    const auto boxes = c.paragraph_parts(box.top_left(), box.w, s.words, s.parts, look);
    const double high = c.paragraph_height(box.w, s.words, look);
    const auto lit = [&](const meter::Figure* figure) { return lights(n, *path.reading, figure->name); };
    if (std::ranges::any_of(s.figures, lit)) {
        const Box whole{box.x - 4, box.y - 1, box.w + 8, high + 1};
        c.fill(whole, p.band);
        x.target(fmt::format("lit sentence {}", box.y), whole);
        x.keep_clear(whole);
        if (std::exchange(seeks_, false)) {
            const float top = c.px(whole.y) - ImGui::GetWindowPos().y, bottom = top + c.px(whole.h);
            if (top < 0.0F || bottom > ImGui::GetWindowHeight()) ImGui::SetScrollFromPosY(0.5F * (top + bottom));
        }
    }
    for (std::size_t k = 0; k < boxes.size(); ++k)
        for (const Box& part : boxes[k]) {
            if (lit(s.figures[k])) {
                c.fill({part.x - 2, part.y, part.w + 4, part.h}, p.accent_tint);
                x.target("lit figure " + s.figures[k]->name, part);
            }
            const double under = part.bottom() - 1.5;
            c.line({part.x, under}, {part.right(), under},
                   {.colour = lit(s.figures[k]) ? p.accent : p.rule_strong, .style = view::LineStyle::dotted});
        }
    c.paragraph(box.top_left(), box.w, s.words, look);
    for (std::size_t k = 0; k < boxes.size(); ++k)
        if (!boxes[k].empty())
            point(x, fmt::format("figure {} {}", s.figures[k]->name, ++touched_), boxes[k].front(), s.figures[k]->name,
                  {}, path, n);
    return high;
}

double Reasons::draw(PanelContext& x, const Box& column, std::span<const Path> paths) {
    Canvas c = x.canvas();
    touched_ = 0;
    double y = column.y + 2;
    const bool same = paths.size() == 2 && paths[0].reading->reasons == paths[1].reading->reasons &&
                      paths[0].reading->warnings == paths[1].reading->warnings;
    std::vector<std::string> said;
    for (std::size_t n = 0; n < (same ? 1 : paths.size()); ++n)
        y = reasons(x, c, column, y, paths, n, paths.size() == 2 && !same, said);
    if (now_ != next_) x.wake_in(0.0);  // what is drawn before it lights up in the next frame
    seeks_ = now_ != next_ && next_ && next_->figure.empty();
    now_ = std::exchange(next_, std::nullopt);
    return y;
}

double Reasons::reasons(PanelContext& x, Canvas& c, const Box& column, double y, std::span<const Path> paths,
                        std::size_t n, bool named, std::vector<std::string>& said) {
    const view::Palette& p = x.palette();
    const Path& path = paths[n];
    constexpr double indent = 52;
    if (named) {
        paint::signal_key(c, {column.x, y + 8}, path.look, 24);
        c.text({column.x + 32, y + 12}, short_name(path.name), {.colour = p.ink, .size = 12, .face = Face::strong});
        y += 20;
    }
    const auto line = [&](const char* label, const Sentence& words, Colour colour, Colour label_colour) {
        c.text({column.x, y + 12}, label, {.colour = label_colour, .face = Face::strong});
        y += sentence(x, c, {column.x + indent, y, column.w - indent, 0}, words, path, n, colour) + 3;
    };
    const meter::Reading& r = *path.reading;
    for (std::size_t k = 0; k < r.warnings.size(); ++k)
        line(text::tr("Mind"), Sentence(r, true, k), p.accent, p.accent);
    bool why = false;
    for (std::size_t k = 0; k < r.reasons.size(); ++k) {
        if (std::ranges::find(said, r.reasons[k]) != said.end()) continue;
        said.push_back(r.reasons[k]);
        const bool first = k == 0, last = k > 1 && k + 1 == r.reasons.size();
        line(first  ? text::tr("Seen")
             : last ? text::tr("Next")
             : why  ? ""
                    : text::tr("Why"),
             Sentence(r, false, k), p.ink, last ? p.accent : p.ink_soft);
        why = why || (!first && !last);
    }
    return y + (named ? 6 : 0);
}

}  // namespace sunshaft::panels
