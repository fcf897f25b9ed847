#include "shell/widgets.hpp"

#include <imgui_stdlib.h>

#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "shell/imgui_shim.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::shell {

namespace {

constexpr double kHintAfter = 0.35;  // s the mouse rests before a hover text

ImGuiID id_of(std::string_view id) { return ImGui::GetID(id.data(), id.data() + id.size()); }

void show_hint(PanelContext& x, const Box& of, std::string_view words) {
    if (x.input.still_for < kHintAfter + 0.2) x.wake_in(0.05);  // ImGui shows a new window one frame late
    if (x.input.still_for < kHintAfter) return;
    if (x.ask.hint && x.ask.hint->of.w * x.ask.hint->of.h <= of.w * of.h) return;
    x.ask.hint = Requests::Hint{std::string(words), of};
}

}  // namespace

void focus_mark(const PanelContext& x, const Box& box) {
    x.canvas().outline(box.inset(-2.5), {.colour = x.palette().accent, .width = 1.4});
    x.canvas().cue(box, "focus");
}

Touch touch(PanelContext& x, std::string_view id, const Box& box) {
    Touch t{.box = box};
    if (box.empty()) return t;
    const double scale = x.theme.fonts.scale();
    const auto px = [scale](double v) { return static_cast<float>(v * scale); };
    ImGui::SetCursorScreenPos({px(box.x), px(box.y)});
    ImGui::PushID(static_cast<int>(id_of(id)));
    t.clicked = ImGui::InvisibleButton("touch", {px(box.w), px(box.h)});
    t.id = ImGui::GetID("touch");
    ImGui::PopID();
    t.hovered = ImGui::IsItemHovered();
    t.held = ImGui::IsItemActive();
    t.pressed = ImGui::IsItemActivated();
    t.focused = x.ring.add(t.id);
    if (t.pressed) x.ring.put(t.id);
    if (x.targets) x.target(std::string(id), box);
    if (x.ring.pressed(t.id)) t.clicked = true;
    if (x.ring.arrived(t.id)) {
        if (!ImGui::IsItemVisible()) ImGui::SetScrollHereY();
        if (ImGui::GetIO().WantTextInput) ImGui::SetWindowFocus(nullptr);  // out of the text field
    }
    return t;
}

double button_width(const Canvas& c, std::string_view words, const ButtonLook& look) {
    const double text = c.width(words, {.colour = {}, .size = look.size, .face = look.face});
    const double mark = look.icon ? 20.0 : 0.0;
    return std::round(text + mark + (look.plain ? 8.0 : 24.0));
}

bool button(PanelContext& x, std::string_view id, const Box& box, std::string_view words, const ButtonLook& look) {
    const view::Palette& p = x.palette();
    const Touch t = look.off ? Touch{} : touch(x, id, box);
    Canvas c = x.canvas();
    if (!look.plain) {
        Colour ground = look.chosen ? p.accent_tint : p.sheet;
        if (t.held) ground = p.accent_tint;
        else if (t.hovered && !look.chosen) ground = p.band;
        c.fill(box, ground);
        // what cannot be pressed has a faint edge
        c.frame(box, look.off ? p.rule : look.chosen ? p.accent : p.rule_strong);
    }
    Colour ink = look.colour.value_or(look.chosen ? p.accent : p.ink);
    if (look.off) ink = p.ink_off;
    const paint::TextLook text{.colour = ink, .size = look.size, .face = look.chosen ? Face::strong : look.face};
    double left = box.x + (box.w - c.width(words, text) - (look.icon ? 20.0 : 0.0)) / 2.0;
    if (look.icon) {
        const Point middle{words.empty() ? box.centre().x : left + 6.0, box.centre().y};
        paint::icon(c, *look.icon, middle, 13.0, ink);
        left += 20.0;
    }
    paint::TextLook placed = text;
    placed.sit = Sit::middle;
    c.text({left, box.centre().y}, words, placed);
    if (look.plain && (t.hovered || t.held))
        c.rule({left, box.centre().y + 9.0}, {left + c.width(words, text), box.centre().y + 9.0}, ink);
    if (t.focused) focus_mark(x, box);
    return t.clicked;
}

bool key_row(PanelContext& x, std::string_view id, const Box& box, std::span<const std::string_view> keys, int& chosen,
             KeyRowLook look, std::span<const std::string_view> hints, std::span<const bool> off) {
    const view::Palette& p = x.palette();
    const bool meter = look == KeyRowLook::meter;
    Canvas c = x.canvas();
    // Each key gets its words' width and an equal share of what is left over.
    double size = 13.0;
    double pad = 0.0;
    const auto measure = [&](std::string_view key) {
        return c.width(key, {.colour = p.ink, .size = size, .face = Face::strong});
    };
    for (const double smaller : {13.0, 12.0}) {
        size = smaller;
        double words = 0.0;
        for (const auto key : keys) words += measure(key);
        pad = (box.w - words) / static_cast<double>(std::max<std::size_t>(1, keys.size()));
        if (pad >= 12.0) break;
    }
    ImGui::PushID(static_cast<int>(id_of(id)));
    bool changed = false;
    double left = box.x;
    const Colour edge = meter ? p.meter_edge : p.rule_strong;
    c.fill(box, meter ? p.meter_body : p.sheet);
    c.frame(box, edge);
    for (std::size_t i = 0; i < keys.size(); ++i) {
        const double width = measure(keys[i]) + pad;
        const Box key{left, box.y, i + 1 == keys.size() ? box.right() - left : width, box.h};
        const bool dead = i < off.size() && off[i];
        const Touch t = dead ? Touch{} : touch(x, keys[i], key);
        const bool on = static_cast<int>(i) == chosen;
        if (on) {
            c.fill(key, meter ? p.meter_display : p.accent_tint);
            if (!meter) c.frame(key, p.accent);
        } else {
            if (t.hovered || t.held)
                c.fill(key.inset(1.0), meter ? view::mix(p.meter_body, p.meter_edge, 0.35) : p.band);
            if (i > 0 && static_cast<int>(i) - 1 != chosen) c.rule({key.x, key.y}, {key.x, key.bottom()}, edge);
        }
        Colour ink = dead ? p.ink_off : p.ink;
        if (on) ink = meter ? p.meter_figure : p.accent;
        c.text(key.centre(), keys[i],
               {.colour = ink,
                .size = size,
                .face = on ? Face::strong : Face::words,
                .align = Align::centre,
                .sit = Sit::middle});
        if (t.focused) focus_mark(x, key);
        if (i < hints.size()) hint(x, t, hints[i]);
        if (t.clicked && !on) {
            chosen = static_cast<int>(i);
            changed = true;
        }
        left += width;
    }
    ImGui::PopID();
    return changed;
}

namespace {

constexpr double kTabGap = 24.0;

paint::TextLook tab_look(Colour colour) {
    return {.colour = colour, .size = 12.0, .face = Face::strong, .sit = Sit::middle, .tracking = 0.9};
}

}  // namespace

double tabs_width(const Canvas& c, std::span<const std::string_view> names) {
    double wide = 0.0;
    for (const auto name : names) wide += c.width(paint::capitals(name), tab_look({})) + kTabGap;
    return wide;
}

TabsResult tabs(PanelContext& x, std::string_view id, const Box& row, std::span<const std::string_view> names,
                int& chosen, int also_chosen) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    TabsResult result{row.x, false};
    ImGui::PushID(static_cast<int>(id_of(id)));
    double left = row.x;
    for (std::size_t i = 0; i < names.size(); ++i) {
        const bool on = static_cast<int>(i) == chosen || static_cast<int>(i) == also_chosen;
        const std::string capitals = paint::capitals(names[i]);
        paint::TextLook look = tab_look(on ? p.ink : p.ink_soft);
        const double width = c.width(capitals, look);
        const Box tab{left - 12.0, row.y, width + 24.0, row.h};
        const Touch t = touch(x, names[i], tab);
        if (t.hovered && !on) look.colour = p.ink;
        c.text({left, row.centre().y}, capitals, look);
        if (on) c.fill(Box{left, row.bottom() - 3.0, width, 3.0}, p.accent);
        if (t.focused) focus_mark(x, tab.inset(4.0));
        if (t.clicked) {
            result.changed = true;
            chosen = static_cast<int>(i);
        }
        left += width + kTabGap;
    }
    ImGui::PopID();
    result.right = left;
    return result;
}

double slider_share(double value, const SliderLook& look) {
    if (!std::isfinite(value)) return 0.0;
    double share = 0.0;
    if (look.logarithmic && look.low > 0.0)
        share = std::log(std::max(value, look.low) / look.low) / std::log(look.high / look.low);
    else share = (value - look.low) / (look.high - look.low);
    return std::clamp(share, 0.0, 1.0);
}

double slider_value(double share, const SliderLook& look) {
    share = std::clamp(share, 0.0, 1.0);
    if (look.logarithmic && look.low > 0.0) {
        if (share == 1.0) return look.high;
        return look.low * std::pow(look.high / look.low, share);
    }
    double value = look.low + (look.high - look.low) * share;
    if (look.step > 0.0) value = look.low + std::round((value - look.low) / look.step) * look.step;
    return std::clamp(value, look.low, look.high);
}

bool slider(PanelContext& x, std::string_view id, const Box& box, double& value, const SliderLook& look) {
    const view::Palette& p = x.palette();
    const Touch t = look.off ? Touch{} : touch(x, id, box.inset(-6.0, 0.0));
    bool changed = false;
    const auto set = [&](double share) {
        const double v = slider_value(share, look);
        changed = changed || v != value;
        value = v;
    };
    if (t.held && x.input.down[left_button]) set((x.input.mouse.x - box.x) / std::max(1.0, box.w));
    const double nudge = look.step > 0.0 ? look.step / (look.high - look.low) : 0.02;
    if (t.hovered && x.input.wheel != 0.0) set(slider_share(value, look) + nudge * x.input.wheel);
    if (t.focused) {
        if (x.input.take(Key::Right) || x.input.take(Key::Up)) set(slider_share(value, look) + nudge);
        if (x.input.take(Key::Left) || x.input.take(Key::Down)) set(slider_share(value, look) - nudge);
    }

    Canvas c = x.canvas();
    const double y = std::round(box.centre().y);
    c.rule({box.x, y}, {box.right(), y}, p.rule_strong, 2.0);
    const auto tick = [&](double share) {
        const double at = box.x + box.w * std::clamp(share, 0.0, 1.0);
        c.rule({at, y - 4.0}, {at, y + 4.0}, p.rule_strong);
    };
    if (look.ticks > 0) {
        for (int i = 0; i <= look.ticks; ++i) tick(static_cast<double>(i) / look.ticks);
    } else if (look.logarithmic && look.low > 0.0) {
        const int first = static_cast<int>(std::ceil(std::log10(look.low) - 1e-9));
        const int last = static_cast<int>(std::floor(std::log10(look.high) + 1e-9));
        for (int decade = first; decade <= last; ++decade) tick(slider_share(std::pow(10.0, decade), look));
    }
    const double knob = box.x + box.w * slider_share(value, look);
    const Colour accent = look.off ? p.ink_off : p.accent;
    if (look.filled) c.rule({box.x, y}, {knob, y}, accent, 2.0);
    const double grown = t.hovered || t.held ? 1.0 : 0.0;
    c.fill(Box{knob - 4.0 - grown, y - 7.0 - grown, 8.0 + 2.0 * grown, 14.0 + 2.0 * grown}, accent);
    if (t.focused) focus_mark(x, Box{knob - 4.0, y - 7.0, 8.0, 14.0});
    return changed;
}

double checkbox_width(const Canvas& c, std::string_view words) { return 18.0 + c.width(words, {.colour = {}}) + 2.0; }

bool checkbox(PanelContext& x, std::string_view id, Point at, std::string_view words, bool& checked, bool off) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    const Touch t = off ? Touch{} : touch(x, id, {at.x - 3.0, at.y - 11.0, checkbox_width(c, words) + 6.0, 22.0});
    const Box box{at.x, at.y - 5.5, 11.0, 11.0};
    if (t.hovered) c.fill(box, p.band);
    c.frame(box, off ? p.ink_off : p.ink_soft, 1.2);
    if (checked) c.fill(box.inset(2.5), off ? p.ink_off : p.accent);
    c.text({at.x + 18.0, at.y}, words, {.colour = off ? p.ink_off : p.ink, .sit = Sit::middle});
    if (t.focused) focus_mark(x, box);
    if (t.clicked) checked = !checked;
    return t.clicked;
}

namespace {

/// ImGui's text field in our sheet; `left` leaves room for an icon.
bool text_field(PanelContext& x, const char* id, const Box& box, std::string& text, const char* hint_words, double left,
                ImGuiInputTextFlags flags, bool& escaped, bool at_once = false) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    paint::sheet(c, box, p.sheet, p.rule_strong);
    const auto [font, px] = x.theme.fonts.pick(Face::words, 13.0);
    const auto pad_y = std::max(0.0F, std::floor((c.px(box.h) - px) * 0.5F));
    ImGui::PushFont(font);
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {c.px(6.0), pad_y});
    ImGui::PushStyleVar(ImGuiStyleVar_FrameBorderSize, 0.0F);
    ImGui::PushStyleColor(ImGuiCol_FrameBg, ImVec4{0, 0, 0, 0});
    ImGui::SetCursorScreenPos(c.px(Point{box.x + left, box.y}));
    ImGui::SetNextItemWidth(c.px(box.w - left));
    ImGui::PushID(id);
    const ImGuiID ring_id = ImGui::GetID("##text");  // two hashes: ImGui writes no label
    const bool focused = x.ring.add(ring_id);
    if (x.ring.arrived(ring_id) || at_once) shim::give_keyboard(ring_id);
    const bool changed = ImGui::InputTextWithHint("##text", hint_words, &text, flags);
    ImGui::PopID();
    const bool active = ImGui::IsItemActive();
    if (ImGui::IsItemActivated()) x.ring.put(ring_id);
    if (active || ImGui::IsItemDeactivated()) escaped = x.input.take(Key::Escape);  // leaves the field, nothing else
    ImGui::PopStyleColor();
    ImGui::PopStyleVar(2);
    ImGui::PopFont();
    if (active) c.frame(box, p.accent);
    if (focused) focus_mark(x, box);
    return changed;
}

}  // namespace

bool search_field(PanelContext& x, const char* id, const Box& box, std::string& text, const char* hint_words) {
    bool escaped = false;
    if (x.targets) x.target(id, box);
    const bool changed = text_field(x, id, box, text, hint_words, 28.0, 0, escaped);
    if (x.targets) x.target(fmt::format("{}: {}", id, text), box);
    Canvas c = x.canvas();
    paint::icon(c, paint::Icon::magnifier, {box.x + 18.0, box.centre().y}, 14.0, x.palette().ink_soft);
    return changed;
}

bool entry_field(PanelContext& x, const char* id, const Box& box, std::string& text, const char* hint_words,
                 bool at_once) {
    bool escaped = false;
    if (x.targets) x.target(id, box);
    const bool entered =
        text_field(x, id, box, text, hint_words, 0.0, ImGuiInputTextFlags_EnterReturnsTrue, escaped, at_once);
    return entered && !escaped && !text.empty();
}

bool number_field(PanelContext& x, const char* id, const Box& box, double& value, double low, double high, int decimals,
                  std::string_view unit) {
    std::string text = text::fixed(value, decimals);
    Canvas c = x.canvas();
    const double unit_width = unit.empty() ? 0.0 : c.width(unit, {.colour = {}}) + 10.0;
    if (x.targets) x.target(id, {box.x, box.y, box.w - unit_width, box.h});
    bool escaped = false;
    const bool edited = text_field(x, id, {box.x, box.y, box.w - unit_width, box.h}, text, "", 0.0,
                                   ImGuiInputTextFlags_CharsDecimal | ImGuiInputTextFlags_AutoSelectAll, escaped);
    c.text({box.right(), box.centre().y}, unit,
           {.colour = x.palette().ink_soft, .align = Align::right, .sit = Sit::middle});
    // ImGui forgets the text in the frame the field is left, so the last figure typed waits in the panel's
    // storage.
    ImGuiStorage* kept = ImGui::GetStateStorage();
    const ImGuiID key = ImGui::GetID(id) + 1;
    if (ImGui::IsItemActivated()) kept->SetFloat(key, NAN);
    if (ImGui::IsItemActive() || edited) {
        double typed = 0.0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), typed);
        const bool good = error == std::errc{} && end == text.data() + text.size() && typed >= low && typed <= high;
        kept->SetFloat(key, good ? static_cast<float>(typed) : NAN);
        if (!good) c.frame(box, x.palette().heat);
    }
    if (escaped || !ImGui::IsItemDeactivatedAfterEdit()) return false;
    const auto typed = static_cast<double>(kept->GetFloat(key, NAN));
    if (!std::isfinite(typed)) return false;
    const double digits = std::pow(10.0, decimals);
    value = std::clamp(std::round(typed * digits) / digits, low, high);
    return true;
}

bool chooser(PanelContext& x, const char* id, const Box& box, std::span<const std::string_view> items, int& chosen) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    const Touch t = touch(x, id, box);
    c.fill(box, t.hovered ? p.band : p.sheet);
    c.frame(box, p.rule_strong);
    const bool known = chosen >= 0 && chosen < static_cast<int>(items.size());
    if (known)
        c.text({box.x + 10.0, box.centre().y},
               c.fitted(items[static_cast<std::size_t>(chosen)], box.w - 32.0, {.colour = p.ink}),
               {.colour = p.ink, .sit = Sit::middle});
    paint::icon(c, paint::Icon::chevron_down, {box.right() - 13.0, box.centre().y}, 8.0, p.ink_soft);
    if (t.focused) focus_mark(x, box);
    if (t.clicked) ImGui::OpenPopup(id);
    bool changed = false;
    const double row = 24.0;
    double width = box.w;
    for (const auto item : items) width = std::max(width, c.width(item, {.colour = p.ink}) + 28.0);
    const double height = row * static_cast<double>(std::min<std::size_t>(items.size(), 14)) + 8.0;
    const double floor = static_cast<double>(ImGui::GetIO().DisplaySize.y) / c.scale();
    const double top = box.bottom() + 2.0 + height > floor ? std::max(0.0, box.y - 2.0 - height) : box.bottom() + 2.0;
    // Long words reach to the left before they leave the window.
    const double edge = static_cast<double>(ImGui::GetIO().DisplaySize.x) / c.scale();
    const double from = std::max(0.0, std::min(box.x, edge - width - 2.0));
    ImGui::SetNextWindowPos(c.px(Point{from, top}));
    ImGui::SetNextWindowSize({c.px(width), c.px(height)});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, c.px(4.0)});
    if (ImGui::BeginPopup(id)) {
        x.keep_clear({from, top, width, height});
        x.canvas().is_popup();
        x.ring.enter_list();
        for (std::size_t i = 0; i < items.size(); ++i) {
            const double scrolled = static_cast<double>(ImGui::GetScrollY()) / c.scale();
            const Box line{from, top + 4.0 + row * static_cast<double>(i) - scrolled, width, row};
            Canvas list = x.canvas();
            const Touch l = touch(x, items[i], line);
            const bool on = static_cast<int>(i) == chosen;
            if (on || l.hovered || l.focused) list.fill(line.inset(1.0, 0.0), on ? p.accent_tint : p.band);
            list.text({line.x + 10.0, line.centre().y}, items[i],
                      {.colour = on ? p.accent : p.ink, .face = on ? Face::strong : Face::words, .sit = Sit::middle});
            if (l.clicked) {
                changed = chosen != static_cast<int>(i);
                chosen = static_cast<int>(i);
                ImGui::CloseCurrentPopup();
            }
        }
        if (x.input.take(Key::Escape)) ImGui::CloseCurrentPopup();
        x.ring.leave_list();
        ImGui::EndPopup();
    }
    ImGui::PopStyleVar();
    return changed;
}

double setting_width(const Canvas& c, std::string_view name, std::string_view words) {
    return c.width(name, {.colour = {}}) + 8.0 + c.width(words, {.colour = {}, .face = Face::strong});
}

bool setting(PanelContext& x, std::string_view id, Point right, std::string_view name, std::string_view words,
             double& taken) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    const paint::TextLook quiet{.colour = p.ink_soft};
    const paint::TextLook strong{.colour = p.ink, .face = Face::strong};
    const double name_width = c.width(name, quiet);
    const double words_width = c.width(words, strong);
    taken = name_width + 8.0 + words_width;
    const Box box{right.x - taken - 4.0, right.y - 15.0, taken + 8.0, 22.0};
    const Touch t = touch(x, id, box);
    c.text({right.x - taken, right.y}, name, quiet);
    c.text({right.x - words_width, right.y}, words, {.colour = t.hovered ? p.accent : p.ink, .face = Face::strong});
    if (t.focused) focus_mark(x, box);
    return t.clicked;
}

void panel_title(PanelContext& x, std::string_view words, std::string_view right) {
    Canvas c = x.canvas();
    const double y = x.box.y + 20.0;
    const double taken = paint::title(c, {x.box.x + 16.0, y}, words, x.palette().ink_soft);
    if (right.empty()) return;
    const paint::TextLook quiet{.colour = x.palette().ink_soft, .align = Align::right};
    const double room = x.box.w - taken - 48.0;
    // Clauses that have no room are left out before a word is cut.
    while (c.width(right, quiet) > room && right.rfind(", ") != std::string_view::npos)
        right = right.substr(0, right.rfind(", "));
    c.text({x.box.right() - 16.0, y}, c.fitted(right, room, quiet), quiet);
}

void nothing_yet(Canvas& c, const Box& list, std::string_view words, const view::Palette& p) {
    c.paragraph({list.x, list.y + 18}, std::min(560.0, list.w), words, {.colour = p.ink_soft});
}

void drawer_title(PanelContext& x, std::string_view words, std::string_view right) {
    const Box whole = x.box;
    x.box.w -= 58.0;
    panel_title(x, words, right);
    x.box = whole;
    const Box key{whole.right() - 66.0, whole.y + 3.0, 56.0, 24.0};
    if (button(x, "close", key, text::tr("Close"), {.plain = true})) x.window.shown.drawer = false;
    hint(x, key, text::tr("Close (Esc)"));
}

void hint(PanelContext& x, const Touch& t, std::string_view words) {
    if ((t.hovered && !t.held) && !words.empty()) show_hint(x, t.box, words);
}

void hint(PanelContext& x, const Box& part, std::string_view words) {
    if (!words.empty() && x.hovers(part)) show_hint(x, part, words);
}

}  // namespace sunshaft::shell
