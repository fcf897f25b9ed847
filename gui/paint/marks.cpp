#include "paint/marks.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace sunshaft::paint {

namespace {

struct ValueParts {
    TextLook number, unit;
    double number_width, gap, unit_width;
    double all() const { return number_width + gap + unit_width; }
};
ValueParts parts(const Canvas& c, std::string_view number, std::string_view unit, const ValueLook& look) {
    ValueParts v{{.colour = look.number, .size = look.size, .face = look.face},
                 {.colour = look.unit, .size = look.size, .face = Face::words},
                 0.0,
                 0.0,
                 0.0};
    v.number_width = c.width(number, v.number);
    v.gap = unit.empty() ? 0.0 : std::round(look.size * 0.28);
    v.unit_width = std::max(c.width(unit, v.unit), look.unit_room);
    return v;
}

}  // namespace

double value_width(const Canvas& c, std::string_view number, std::string_view unit, const ValueLook& look) {
    return parts(c, number, unit, look).all();
}

double value(Canvas& c, Point at, std::string_view number, std::string_view unit, const ValueLook& look) {
    const ValueParts v = parts(c, number, unit, look);
    double x = at.x;
    if (look.align == Align::right) x -= v.all();
    if (look.align == Align::centre) x -= v.all() / 2.0;
    c.text({x, at.y}, number, v.number);
    c.text({x + v.number_width + v.gap, at.y}, unit, v.unit);
    return v.all();
}

void meter_bar(Canvas& c, const Box& box, double share, int ticks, Colour lit, Colour dim) {
    const double base = box.bottom();
    share = std::isfinite(share) ? std::clamp(share, 0.0, 1.0) : 0.0;
    c.rule({box.x, base}, {box.right(), base}, dim, 1.0);
    for (int i = 0; i <= ticks; ++i) {
        const double x = box.x + box.w * i / ticks;
        const double tall = i % 5 == 0 ? box.h : box.h * 0.55;
        c.rule({x, base - tall}, {x, base}, dim, 1.0);
    }
    c.fill({box.x, base - box.h * 0.75, box.w * share, box.h * 0.5}, lit);
    if (share > 0.0) c.rule({box.x + box.w * share, base - box.h}, {box.x + box.w * share, base}, lit, 1.6);
}

void test_point(Canvas& c, Point at, bool reachable, bool hovered, const view::Palette& p, double radius) {
    c.mark({at.x - radius, at.y - radius, 2 * radius, 2 * radius}, "test point");
    if (hovered) c.circle(at, radius + 3.5, {.colour = p.accent, .width = 1.6});
    c.disc(at, radius, p.sheet);
    c.circle(at, radius - 0.6, {.colour = p.ink, .width = radius > 4.0 ? 1.2 : 1.0});
    if (reachable) c.disc(at, 0.53 * radius, p.ink);
    else c.circle(at, 0.42 * radius, {.colour = p.ink_soft, .width = 1.2});
}

void signal_key(Canvas& c, Point left, const view::SignalLook& look, double length) {
    c.line(left, {left.x + length, left.y}, {.colour = look.colour, .width = 2.0, .style = look.style});
}

void sheet(Canvas& c, const Box& box, Colour ground, Colour rule) {
    c.fill(box, ground);
    c.frame(box, rule);
}

std::string capitals(std::string_view words) {
    std::string out;
    out.reserve(words.size());
    for (std::size_t i = 0; i < words.size(); ++i) {
        const auto byte = static_cast<unsigned char>(words[i]);
        if (byte >= 'a' && byte <= 'z') {
            out.push_back(static_cast<char>(byte - 32));
        } else if (byte == 0xC3 && i + 1 < words.size()) {
            const auto next = static_cast<unsigned char>(words[++i]);
            const bool lower = next >= 0xA0 && next <= 0xBE && next != 0xB7;  // U+00E0..U+00FE but the division sign
            out.push_back(static_cast<char>(byte));
            out.push_back(static_cast<char>(lower ? next - 0x20 : next));
        } else {
            out.push_back(static_cast<char>(byte));
        }
    }
    return out;
}

double title_width(const Canvas& c, std::string_view words) {
    return c.width(capitals(words), {.colour = {}, .size = 12.0, .face = Face::strong, .tracking = 0.9});
}

double title(Canvas& c, Point at, std::string_view words, Colour colour) {
    return c.text(at, capitals(words), {.colour = colour, .size = 12.0, .face = Face::strong, .tracking = 0.9});
}

}  // namespace sunshaft::paint
