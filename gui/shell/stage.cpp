#include "shell/stage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <limits>
#include <utility>

#include "model/script.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::shell {

namespace {

constexpr double kBesideTabs = 240.0;  // for split, fold and the settings of what is on show
constexpr double kNotice = 6.0;        // s a line at the foot of the window stays

/// ImGui window that is nothing but a place to draw. Windows `in_row` never change their order, and the first
/// made lies above those that follow; `in_front` lies above them all.
enum class Stand { in_row, scrolls, untouchable, in_front };
class Bare {
  public:
    Bare(const char* id, const Box& box, double scale, Stand kind = Stand::in_row) { begin(id, box, scale, kind); }
    static void begin(const char* id, const Box& box, double scale, Stand kind) {
        const auto px = [scale](double v) { return static_cast<float>(std::round(v * scale)); };
        ImGui::SetNextWindowPos({px(box.x), px(box.y)});
        ImGui::SetNextWindowSize(
            {std::max(1.0F, px(box.right()) - px(box.x)), std::max(1.0F, px(box.bottom()) - px(box.y))});
        ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
        ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0.0F);
        ImGui::PushStyleVar(ImGuiStyleVar_WindowMinSize, {1, 1});
        ImGuiWindowFlags flags = ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove |
                                 ImGuiWindowFlags_NoCollapse | ImGuiWindowFlags_NoSavedSettings |
                                 ImGuiWindowFlags_NoBackground;
        if (kind != Stand::in_front) flags |= ImGuiWindowFlags_NoBringToFrontOnFocus;
        if (kind != Stand::scrolls) flags |= ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse;
        if (kind == Stand::untouchable) flags |= ImGuiWindowFlags_NoInputs;
        ImGui::Begin(id, nullptr, flags);
        ImGui::PopStyleVar(3);
    }
    ~Bare() { ImGui::End(); }
    Bare(const Bare&) = delete;
    Bare& operator=(const Bare&) = delete;
};

}  // namespace

Popup::Popup(const PanelContext& x, const char* id, const Box& box) {
    Bare::begin(id, box, x.theme.fonts.scale(), Stand::in_front);
    x.keep_clear(box);
    x.canvas().is_popup();
}
Popup::~Popup() { ImGui::End(); }

std::vector<Panel*> Stage::at(Place place) const {
    std::vector<Panel*> found;
    for (const auto& p : panels_)
        if (p->place() == place) found.push_back(p.get());
    return found;
}

PanelContext Stage::context(const Box& box) {
    return {box,   theme_,      input_, ring_, window_, desk_, over_, ask_, collects_ ? &targets_ : nullptr,
            wake_, drawer_keys_};
}

void Stage::choose_tab(const std::string& kind, const std::string& name) {
    const auto candidates = at(kind == "strip" ? Place::strip : Place::drawer);
    for (std::size_t i = 0; i < candidates.size(); ++i) {
        if (text::lower(candidates[i]->title()) != text::lower(name)) continue;
        if (kind == "strip") {
            window_.strip_left = static_cast<int>(i);
            window_.shown.strip = true;
        } else {
            window_.drawer = static_cast<int>(i);
            window_.shown.drawer = true;
        }
        return;
    }
    throw view::ScriptError(fmt::format("there is no {} called '{}'", kind, name));
}

std::string Stage::csv() const {
    if (!desk_) return {};
    const auto strips = at(Place::strip);
    std::string out;
    for (const int which : {window_.strip_left, window_.strip_right}) {
        if (which < 0 || which >= static_cast<int>(strips.size()) ||
            (which == window_.strip_right && !window_.shown.strip_split))
            continue;
        const std::string one = strips[static_cast<std::size_t>(which)]->csv(*desk_);
        out += (out.empty() || one.empty() ? "" : "\n") + one;
    }
    return out;
}

void Stage::draw_panel(Panel& panel, const Box& box) {
    PanelContext x = context(box);
    ring_.panel(&panel);
    ImGui::PushID(&panel);
    panel.draw(x);
    ImGui::PopID();
}

void Stage::draw_tabs(const std::vector<Panel*>& strips, bool split) {
    std::vector<std::string_view> names;
    for (const Panel* p : strips) names.emplace_back(text::tr(p->title()));
    Bare window("##tabs", arrangement_.strip_tabs, theme_.fonts.scale());
    ring_.panel(&arrangement_);
    Box row = arrangement_.strip_tabs.inset(16.0, 0.0);
    PanelContext x = context(row);
    int chosen = window_.strip_left;
    TabsResult result;
    if (tabs_width(x.canvas(), names) <= row.w - kBesideTabs) {
        result = tabs(x, "tabs", row, names, chosen, split ? window_.strip_right : -1);
    } else {
        // No room for all of them side by side: one list.
        const Box list{row.x, row.y + 4.0, 190.0, row.h - 8.0};
        result = {list.right() + 24.0, chooser(x, "tabs", list, names, chosen)};
    }
    if (result.changed) {
        // When split, a tab goes to the half that was not chosen last: the other moves over.
        if (split && chosen != window_.strip_left && chosen != window_.strip_right) window_.strip_right = chosen;
        else window_.strip_left = chosen;
        if (arrangement_.strip_folded) window_.shown.strip_wish = view::StripWish::open;
    }
    Canvas c = x.canvas();
    double left = result.right;
    c.rule({left - 8.0, row.y + 6.0}, {left - 8.0, row.bottom() - 6.0}, x.palette().rule);
    const auto word = [&](const char* id, std::string_view words, std::string_view why) {
        const double width = button_width(c, words, {.plain = true});
        const Box box{left, row.y + 3.0, width, row.h - 6.0};
        const bool pressed = button(x, id, box, words, {.plain = true});
        hint(x, box, why);
        left += width + 8.0;
        return pressed;
    };
    if (!arrangement_.strip_folded && !arrangement_.strip_narrow &&
        word("split", split ? text::tr("Join to one") : text::tr("Split in two"),
             split ? text::tr("One view across the strip (F6)") : text::tr("Two views side by side (F6)")))
        window_.shown.strip_split = !window_.shown.strip_split;
    if (word("fold", arrangement_.strip_folded ? text::tr("Open") : text::tr("Fold"),
             text::tr("Open or fold the strip (F7)")))
        window_.shown.strip_wish = arrangement_.strip_folded ? view::StripWish::open : view::StripWish::folded;
    if (!arrangement_.strip_folded) {
        const auto settings = [&](const char* id, int which, double from, double to) {
            PanelContext part = context({from, row.y, std::max(0.0, to - from), row.h});
            ImGui::PushID(id);
            strips[static_cast<std::size_t>(which)]->draw_tab_row(part);
            ImGui::PopID();
        };
        const double middle = arrangement_.strip_right.x;
        settings("left", window_.strip_left, left, split ? middle - 16.0 : row.right());
        if (split) settings("right", window_.strip_right, std::max(left, middle + 16.0), row.right());
    }
}

void Stage::draw_strip() {
    const auto strips = at(Place::strip);
    if (strips.empty() || arrangement_.strip.empty()) return;
    const int last = static_cast<int>(strips.size()) - 1;
    window_.strip_left = std::clamp(window_.strip_left, 0, last);
    window_.strip_right = std::clamp(window_.strip_right, 0, last);
    if (window_.strip_left == window_.strip_right) window_.strip_right = window_.strip_left == last ? 0 : last;
    const bool split = window_.shown.strip_split && !arrangement_.strip_folded && !arrangement_.strip_narrow;
    draw_tabs(strips, split);
    if (arrangement_.strip_folded) return;
    {
        Bare window("##strip_left", arrangement_.strip_left, theme_.fonts.scale());
        draw_panel(*strips[static_cast<std::size_t>(window_.strip_left)], arrangement_.strip_left);
    }
    if (split) {
        Bare window("##strip_right", arrangement_.strip_right, theme_.fonts.scale());
        draw_panel(*strips[static_cast<std::size_t>(window_.strip_right)], arrangement_.strip_right);
    }
}

void Stage::draw_right() {
    const view::Arrangement& a = arrangement_;
    if (a.right.empty()) return;
    const bool scrolls = a.right_scroll_range > 0.5;
    Bare window("##right", a.right, theme_.fonts.scale(), scrolls ? Stand::scrolls : Stand::in_row);
    const double scrolled = scrolls ? static_cast<double>(ImGui::GetScrollY()) / theme_.fonts.scale() : 0.0;
    const double bar = scrolls ? 10.0 : 0.0;
    const auto sheet = [&](Box box, Place place, const char* id) {
        if (box.empty()) return;
        box.y -= scrolled;
        box.w -= bar;
        const auto here = at(place);
        const std::size_t which = place != Place::inside || here.size() < 3 ? 0
                                  : window_.shown.lesson                    ? 2
                                  : window_.shown.suspects                  ? 1
                                                                            : 0;
        if (here.empty()) return;
        Child child(id, box, theme_.fonts, false);
        draw_panel(*here[which], box);
    };
    sheet(a.meters, Place::meters, "meters");
    sheet(a.inside, Place::inside, "inside");
    if (!a.meters.empty() && !a.inside.empty()) {
        const double y = a.inside.y - scrolled;
        Canvas{ImGui::GetWindowDrawList(), theme_.fonts}.rule({a.right.x, y}, {a.right.right(), y},
                                                              theme_.palette.rule);
    }
    if (scrolls) {
        ImGui::SetCursorPos({0, static_cast<float>((a.right.h + a.right_scroll_range - 1.0) * theme_.fonts.scale())});
        ImGui::Dummy({1, static_cast<float>(theme_.fonts.scale())});
    }
}

void Stage::draw_rules() {
    // Thin rules between the sheets, under everything.
    const view::Arrangement& a = arrangement_;
    Canvas c{ImGui::GetBackgroundDrawList(), theme_.fonts};
    const view::Palette& p = theme_.palette;
    c.fill(Box{0, 0, a.window.w, a.window.h}, p.ground);
    c.fill(a.top_bar, p.sheet);
    c.fill(a.cautions, p.band);
    c.fill(a.drawer, p.sheet);
    Canvas over{over_, theme_.fonts};
    const auto below = [&](const Box& b) {
        if (!b.empty()) over.rule({b.x, b.bottom()}, {b.right(), b.bottom()}, p.rule);
    };
    const auto above = [&](const Box& b) {
        if (!b.empty()) over.rule({b.x, b.y}, {b.right(), b.y}, p.rule);
    };
    const auto left_of = [&](const Box& b) {
        if (!b.empty() && b.x > 0.0) over.rule({b.x, b.y}, {b.x, b.bottom()}, p.rule);
    };
    below(a.top_bar);
    below(a.cautions);
    above(a.strip);
    left_of(a.right);
    left_of(a.strip_right);
    if (!a.strip_folded) below(a.strip_tabs);
    if (!a.drawer.empty()) over.rule({a.drawer.right(), a.drawer.y}, {a.drawer.right(), a.drawer.bottom()}, p.rule);
}

void Stage::draw_drawer_keys() {
    // Words at the cutaway's upper right corner open a drawer; a second press closes it.
    const auto drawers = at(Place::drawer);
    const Box& sheet = arrangement_.cutaway;
    drawer_keys_ = {};
    if (drawers.empty() || sheet.w < 240.0) return;
    Canvas measure{over_, theme_.fonts};
    const ButtonLook look{};
    double width = 0.0;
    for (const Panel* p : drawers) width += button_width(measure, text::tr(p->title()), look) + 4.0;
    const std::string_view lessons = text::tr("Lessons");
    width += button_width(measure, lessons, look) + 4.0;
    Box row{sheet.right() - 12.0 - width, sheet.y + 6.0, width, 24.0};
    drawer_keys_ = row;
    Bare window("##drawer_keys", row.inset(-3.0), theme_.fonts.scale(), Stand::in_front);
    ring_.panel(&window_);
    PanelContext x = context(row);
    for (std::size_t i = 0; i < drawers.size(); ++i) {
        Box key = row.cut_left(button_width(measure, text::tr(drawers[i]->title()), look) + 4.0);
        key.cut_right(4.0);
        const bool open = window_.shown.drawer && window_.drawer == static_cast<int>(i);
        if (button(x, drawers[i]->title(), key, text::tr(drawers[i]->title()), {.chosen = open})) {
            window_.shown.drawer = !open;
            window_.drawer = static_cast<int>(i);
        }
        if (i < 2) hint(x, key, i == 0 ? text::tr("Open or close (F2)") : text::tr("Open or close (Shift+F2)"));
    }
    Box key = row.cut_left(button_width(measure, lessons, look));
    if (button(x, "lessons", key, lessons, {.chosen = window_.shown.lesson})) window_.shown.toggle_lesson();
    hint(x, key, text::tr("Open or close (L)"));
}

void Stage::draw_way_back() {
    // In the projector's picture everything else is hidden; a hand that moves the mouse must find back without knowing
    // a key. Left alone it goes: a class looks at displays and waves.
    constexpr double stays = 3.0;  // s
    if (input_.still_for > stays) return;
    wake_ = std::min(wake_, input_.now + stays - input_.still_for + 0.05);
    const Box box{arrangement_.window.w - 152.0, arrangement_.window.h - 36.0, 140.0, 26.0};
    Bare window("##way_back", box.inset(-3.0), theme_.fonts.scale(), Stand::in_front);
    PanelContext x = context(box);
    ring_.panel(&window_);
    if (button(x, "back", box, text::tr("Whole bench  F11"))) window_.projector = false;
}

void Stage::draw_notice() {
    if (!ask_.notice.empty()) {
        notice_ = std::exchange(ask_.notice, {});
        notice_until_ = input_.now + kNotice;
    }
    if (input_.now >= notice_until_) return;
    wake_ = std::min(wake_, notice_until_);
    Canvas measure{over_, theme_.fonts};
    const paint::TextLook look{.colour = theme_.palette.ink};
    const double most = std::max(120.0, arrangement_.window.w - 80.0);
    const double wide = std::min(measure.width(notice_, look) + 1.0, most);
    const double high = measure.paragraph_height(wide, notice_, look);
    const Box box{16.0, arrangement_.window.h - high - 32.0, wide + 28.0, high + 16.0};
    Bare window("##notice", box, theme_.fonts.scale(), Stand::in_front);
    Canvas c{ImGui::GetWindowDrawList(), theme_.fonts};
    c.is_popup();
    ask_.clear.push_back(box);
    paint::sheet(c, box, theme_.palette.sheet, theme_.palette.accent);
    c.paragraph({box.x + 14.0, box.y + 8.0}, wide, notice_, look);
}

// The one hover text of the frame, near the mouse, on nothing that has to be read or pressed.
void Stage::draw_hint() {
    if (!ask_.hint) return;
    const Requests::Hint asked = *std::exchange(ask_.hint, std::nullopt);
    const std::string& words = asked.words;
    const view::Point at = asked.by_keyboard ? view::Point{asked.of.x, asked.of.bottom()} : input_.mouse;
    const Canvas measure{over_, theme_.fonts};
    const paint::TextLook look{.colour = theme_.palette.ink};
    const double wide = std::min(320.0, measure.width(words, look) + 1.0),
                 high = measure.paragraph_height(wide, words, look);
    const view::Size size{wide + 22.0, high + 16.0};
    const auto box = view::beside(at, size, arrangement_.window, ask_.clear);
    if (!box) return;
    const auto px = [&](double v) { return measure.px(v); };
    ImGui::SetNextWindowPos({px(box->x), px(box->y)});
    ImGui::SetNextWindowSize({px(box->w), px(box->h)});
    ImGui::BeginTooltip();
    Canvas c{ImGui::GetWindowDrawList(), theme_.fonts};
    c.is_popup();
    if (collects_) targets_["hint"] = *box;
    c.fill(*box, theme_.palette.sheet);
    c.frame(*box, theme_.palette.rule_strong);
    c.paragraph({box->x + 11.0, box->y + 8.0}, wide, words, look);
    ImGui::EndTooltip();
}

namespace {

struct HelpRow {
    const char *keys, *what;
};
std::vector<HelpRow> help_rows() {
    return {
        {text::tr("Space"), text::tr("run or hold")},
        {text::tr("Full stop"), text::tr("to the next switching instant")},
        {text::tr("Comma, Shift+Comma"), text::tr("back a tenth of a second, a second, of the last minute")},
        {text::tr("Ctrl+Z, Ctrl+Y"), text::tr("undo, redo")},
        {text::tr("Tab, arrows"), text::tr("from test point to test point")},
        {"R, B, C", text::tr("take up the red lead, the black one, the clamp; again: set it down")},
        {text::tr("Letters, Enter, Esc"), text::tr("with one in the hand: part of a point's name; set down; let go")},
        {text::tr("Left, right"), text::tr("on the sun or the valve: earlier, later; shut, open")},
        {text::tr("Arrows"), text::tr("on the cloud: from module to module, and off them")},
        {text::tr("Enter"), text::tr("press, or place the lead that is missing")},
        {"M", text::tr("the meters' next mode")},
        {"N, E", text::tr("note the readings; what a healthy site would show")},
        {"K", text::tr("who is suspected, by the readings noted")},
        {text::tr("T, T again"), text::tr("a glass that shows heat; one that slows time")},
        {"D", text::tr("the day: sun and water by the hour, its clock to be dragged")},
        {"L", text::tr("lessons; there Enter goes on, 1 to 4 choose")},
        {text::tr("Ctrl+Tab"), text::tr("to the next sheet")},
        {text::tr("F2, Shift+F2"), text::tr("faults; weather and controls")},
        {"F3, F4, F5", text::tr("meters, inside the reading, strip")},
        {"F6, F7", text::tr("split the strip, fold it")},
        {"F8", text::tr("top bar")},
        {"F9", text::tr("light or dark theme")},
        {text::tr("Shift+F9"), text::tr("reduced motion: nothing sways or flows")},
        {"F10", text::tr("compare: the healthy twin left of a rule, this site right")},
        {"F11", text::tr("projector, for the back row (there F3, F4, F5: displays, chain, site)")},
        {text::tr("Shift+F10, Shift+F11"), text::tr("a second screen: freeze it, blank it")},
        {text::tr("F12, Shift+F12"), text::tr("picture as PNG, waves as CSV")},
        {text::tr("Ctrl + - 0"), text::tr("larger, smaller, 100 %")},
        {text::tr("Ctrl+Q"), text::tr("close; the session is kept")},
    };
}

}  // namespace

void Stage::draw_help() {
    const auto rows = help_rows();
    // Cautions stay in sight: in a low window the rows stand closer.
    const double top = arrangement_.cautions.bottom() + 8.0, room = arrangement_.window.h - top - 8.0;
    constexpr double edge = 20.0, between = 24.0, head = 60.0;
    const double pitch = std::min(22.0, (room - head) / static_cast<double>(rows.size()));
    double left = 0.0, right = 0.0;
    const Canvas measure = context({}).overlay();
    for (const HelpRow& row : rows) {
        left = std::max(left, measure.width(row.keys, {.colour = {}, .face = Face::strong}));
        right = std::max(right, measure.width(row.what, {.colour = {}}));
    }
    const double wide = std::min(arrangement_.window.w - 16.0, left + right + between + 2.0 * edge);
    const double high = head + pitch * static_cast<double>(rows.size());
    const Box box{std::round((arrangement_.window.w - wide) / 2.0),
                  std::max(top, std::round((arrangement_.window.h - high) / 2.0)), wide, high};
    Bare window("##help", box, theme_.fonts.scale(), Stand::in_front);
    ring_.panel(&help_);
    PanelContext x = context(box);
    Canvas c = x.canvas();
    c.is_popup();
    ask_.clear.push_back(box);
    paint::sheet(c, box, theme_.palette.sheet, theme_.palette.accent);
    paint::title(c, {box.x + 20.0, box.y + 27.0}, text::tr("Keys"), theme_.palette.ink_soft);
    if (button(x, "close help", {box.right() - 72.0, box.y + 10.0, 60.0, 24.0}, text::tr("Close"), {.plain = true}))
        help_ = false;
    const std::string_view motion = text::tr("Reduced motion");
    const double across = button_width(c, motion, {});
    if (button(x, "reduced motion", {box.right() - 84.0 - across, box.y + 10.0, across, 24.0}, motion,
               {.chosen = window_.is_calm()}))
        window_.calm = !window_.is_calm();
    double y = box.y + 56.0;
    for (const HelpRow& row : rows) {
        c.text({box.x + edge, y}, row.keys, {.colour = theme_.palette.ink, .face = Face::strong});
        c.text({box.x + edge + left + between, y}, row.what, {.colour = theme_.palette.ink});
        y += pitch;
    }
}

void Stage::draw(const view::Arrangement& arrangement) {
    arrangement_ = arrangement;
    targets_.clear();
    ask_.hint.reset();
    ask_.clear = {arrangement.cautions};
    if (collects_ && !arrangement.cautions.empty()) targets_["cautions"] = arrangement.cautions;
    wake_ = std::numeric_limits<double>::infinity();
    const double scale = theme_.fonts.scale();
    const Box whole{0, 0, arrangement_.window.w, arrangement_.window.h};
    {
        // The first window made lies above those that follow (they stay behind on purpose): the layer for
        // leads.
        Bare window("##over", whole, scale, Stand::untouchable);
        over_ = ImGui::GetWindowDrawList();
    }
    if (window_.projector) {
        draw_way_back();
        for (Panel* panel : at(Place::projector)) {
            Bare window("##projector", whole, scale);
            draw_panel(*panel, whole);
        }
        for (Panel* panel : at(Place::popup)) {
            PanelContext x = context(whole);
            panel->draw_over(x);
        }
        draw_notice();
        if (help_) draw_help();
        return;
    }
    draw_rules();
    draw_drawer_keys();
    const auto single = [&](Place place, const Box& box, const char* id) {
        const auto here = at(place);
        if (here.empty() || box.empty()) return;
        std::size_t which = 0;
        if (place == Place::drawer) {
            window_.drawer = std::clamp(window_.drawer, 0, static_cast<int>(here.size()) - 1);
            which = static_cast<std::size_t>(window_.drawer);
        }
        Bare window(id, box, scale);
        draw_panel(*here[which], box);
    };
    single(Place::top_bar, arrangement_.top_bar, "##top_bar");
    single(Place::cautions, arrangement_.cautions, "##cautions");
    single(Place::drawer, arrangement_.drawer, "##drawer");
    single(Place::cutaway, arrangement_.cutaway, "##cutaway");
    draw_right();
    draw_strip();
    for (const auto& panel : panels_) {
        PanelContext x = context(whole);
        panel->draw_over(x);
    }
    draw_notice();
    if (help_) draw_help();
    draw_hint();
}

}  // namespace sunshaft::shell
