#include <array>
#include <cmath>
#include <numbers>

#include "paint/canvas.hpp"
#include "paint/ledger.hpp"
#include "text/lines.hpp"

namespace sunshaft::paint {

namespace {

/// Length in bytes of the UTF-8 letter that starts at words[i].
std::size_t letter_length(std::string_view words, std::size_t i) {
    const auto lead = static_cast<unsigned char>(words[i]);
    std::size_t n = lead < 0x80 ? 1 : lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
    return std::min(n, words.size() - i);
}

std::size_t letter_count(std::string_view words) {
    std::size_t n = 0;
    for (std::size_t i = 0; i < words.size(); i += letter_length(words, i)) ++n;
    return n;
}

}  // namespace

Canvas::Canvas(ImDrawList* list, const Fonts& fonts) : list_(list), fonts_(&fonts), scale_(fonts.scale()) {}

ImVec2 Canvas::px(Point p) const { return {static_cast<float>(p.x * scale_), static_cast<float>(p.y * scale_)}; }

Canvas::Clip::Clip(ImDrawList* list, ImVec2 low, ImVec2 high) : list_(list) { list_->PushClipRect(low, high, true); }
Canvas::Clip::~Clip() { list_->PopClipRect(); }

Canvas::Clip Canvas::clip(const Box& box) const { return {list_, px(box.top_left()), px({box.right(), box.bottom()})}; }

Box Canvas::within_clip(const Box& box) const {
    const ImVec2 low = list_->GetClipRectMin(), high = list_->GetClipRectMax();
    const double x = std::max(box.x, static_cast<double>(low.x) / scale_),
                 y = std::max(box.y, static_cast<double>(low.y) / scale_);
    return {x, y, std::max(0.0, std::min(box.right(), static_cast<double>(high.x) / scale_) - x),
            std::max(0.0, std::min(box.bottom(), static_cast<double>(high.y) / scale_) - y)};
}

void Canvas::mark(const Box& box, std::string_view what) const {
    if (Ledger* ledger = fonts_->ledger())
        ledger->put({Ledger::Kind::mark, list_, box, within_clip(box), std::string(what)});
}
void Canvas::faint(const Box& box, std::string_view what) const {
    if (Ledger* ledger = fonts_->ledger())
        ledger->put({Ledger::Kind::faint, list_, box, within_clip(box), std::string(what)});
}
void Canvas::cue(const Box& box, std::string_view which) const {
    if (Ledger* ledger = fonts_->ledger())
        ledger->put({Ledger::Kind::cue, list_, box, within_clip(box), std::string(which)});
}
void Canvas::cover(const Box& box) const {
    if (Ledger* ledger = fonts_->ledger()) ledger->put({Ledger::Kind::cover, list_, box, within_clip(box), {}});
}
void Canvas::is_popup() const {
    if (Ledger* ledger = fonts_->ledger()) ledger->popup(list_);
}

double Canvas::width(std::string_view words, const TextLook& look) const {
    if (words.empty()) return 0.0;
    const auto [font, size] = fonts_->pick(look.face, look.size);
    const ImVec2 extent = font->CalcTextSizeA(size, INFINITY, 0.0F, words.data(), words.data() + words.size(), nullptr);
    const double tracked = look.tracking * static_cast<double>(letter_count(words) - 1);
    return static_cast<double>(extent.x) / scale_ + tracked;
}

double Canvas::line_height(const TextLook& look) const { return std::round(look.size * 1.38); }

void Canvas::glyphs(Point at, std::string_view words, const TextLook& look, Colour colour) {
    if (!drawn(fonts_->ledger())) return;
    const auto [font, size] = fonts_->pick(look.face, look.size);
    ImVec2 pen = px(at);
    pen = {std::round(pen.x), std::round(pen.y)};
    if (look.tracking == 0.0) {
        list_->AddText(font, size, pen, u32(colour), words.data(), words.data() + words.size());
        return;
    }
    for (std::size_t i = 0; i < words.size();) {
        const std::size_t n = letter_length(words, i);
        const char* letter = words.data() + i;
        list_->AddText(font, size, pen, u32(colour), letter, letter + n);
        pen.x += font->CalcTextSizeA(size, INFINITY, 0.0F, letter, letter + n, nullptr).x + px(look.tracking);
        i += n;
    }
}

double Canvas::text(Point at, std::string_view words, const TextLook& look) {
    if (words.empty()) return 0.0;
    const auto [font, size] = fonts_->pick(look.face, look.size);
    const double wide = width(words, look);
    if (look.align == Align::right) at.x -= wide;
    if (look.align == Align::centre) at.x -= wide / 2.0;
    const double ratio = static_cast<double>(size / font->FontSize) / scale_;
    const double ascent = static_cast<double>(font->Ascent) * ratio;
    const double descent = -static_cast<double>(font->Descent) * ratio;
    switch (look.sit) {
        case Sit::baseline: at.y -= ascent; break;
        case Sit::top: break;
        // Capitals and figures stand about 0.72 em high: their middle is what the eye calls the middle.
        case Sit::middle: at.y += 0.36 * look.size - ascent; break;
        case Sit::bottom: at.y -= ascent + descent; break;
    }
    if (Ledger* ledger = fonts_->ledger(); ledger && look.face != Face::segment) {
        // From the top of the capitals to the tails; what is above and below is air.
        const Box ink{at.x, at.y + ascent - 0.73 * look.size, wide, 0.93 * look.size};
        ledger->put({Ledger::Kind::words, list_, ink, within_clip(ink), std::string(words)});
    }
    if (look.halo) {
        for (int i = 0; i < 8; ++i) {
            const double angle = std::numbers::pi * i / 4.0;
            glyphs(at + Point{std::cos(angle), std::sin(angle)} * 1.5, words, look, *look.halo);
        }
    }
    glyphs(at, words, look, look.colour);
    return wide;
}

namespace {

/// Calls `line(string_view)` for each line of the words broken at new lines, and at spaces where it may end, to fit
/// `width`.
template <typename Measure, typename Line>
void break_lines(std::string_view words, double width, Measure measure, Line line) {
    std::size_t start = 0;
    while (start <= words.size()) {
        std::size_t end = start;  // of what fits so far
        std::size_t probe = start;
        bool hard = false;
        while (probe < words.size()) {
            std::size_t stop = words.find_first_of(" \n", probe);
            while (stop < words.size() && words[stop] == ' ' && !text::line_may_end(words, stop))
                stop = words.find_first_of(" \n", stop + 1);
            if (stop == std::string_view::npos) stop = words.size();
            if (end != start && measure(words.substr(start, stop - start)) > width) break;
            end = stop;
            probe = stop + 1;
            if (stop < words.size() && words[stop] == '\n') {
                hard = true;
                break;
            }
        }
        line(words.substr(start, end - start));
        if (end >= words.size()) return;
        start = end + 1;
        if (hard && start == words.size()) return;
    }
}

}  // namespace

double Canvas::paragraph(Point at, double width_, std::string_view words, const TextLook& look) {
    const double step = line_height(look);
    double y = at.y;
    TextLook line_look = look;
    line_look.sit = Sit::top;
    break_lines(
        words, width_, [&](std::string_view s) { return width(s, look); },
        [&](std::string_view s) {
            text({at.x, y}, s, line_look);
            y += step;
        });
    return y - at.y;
}

std::vector<std::vector<Box>> Canvas::paragraph_parts(Point at, double width_, std::string_view words,
                                                      std::span<const Part> parts, const TextLook& look) const {
    std::vector<std::vector<Box>> boxes(parts.size());
    const double step = line_height(look);
    double y = at.y;
    break_lines(
        words, width_, [&](std::string_view s) { return width(s, look); },
        [&](std::string_view line) {
            const auto begin = static_cast<std::size_t>(line.data() - words.data());
            for (std::size_t n = 0; n < parts.size(); ++n) {
                const std::size_t from = std::max(parts[n].from, begin) - begin,
                                  to = std::min(parts[n].from + parts[n].length, begin + line.size());
                if (to <= begin + from) continue;
                boxes[n].push_back({at.x + width(line.substr(0, from), look), y,
                                    width(line.substr(from, to - begin - from), look), step});
            }
            y += step;
        });
    return boxes;
}

double Canvas::paragraph_height(double width_, std::string_view words, const TextLook& look) const {
    int lines = 0;
    break_lines(
        words, width_, [&](std::string_view s) { return width(s, look); }, [&](std::string_view) { ++lines; });
    return lines * line_height(look);
}

std::string Canvas::fitted(std::string_view words, double width_, const TextLook& look) const {
    if (width(words, look) <= width_) return std::string(words);
    const std::string dots = "\u2026";
    std::string best = dots;
    std::string part;
    for (std::size_t i = 0; i < words.size();) {
        const std::size_t n = letter_length(words, i);
        part.append(words, i, n);
        i += n;
        if (width(part + dots, look) > width_) break;
        best = part + dots;
    }
    return best;
}

}  // namespace sunshaft::paint
