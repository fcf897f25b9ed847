#include "shell/app.hpp"

#include <fmt/format.h>
#include <SFML/System/Sleep.hpp>

#include <algorithm>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <limits>
#include <stdexcept>

#include "shell/script_player.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::shell {

namespace {

using view::Arrangement;
using view::WindowState;

constexpr double kFrame = 1.0 / 60.0;
constexpr double kNap = 0.008;      // between looks at the event queue while nothing moves
constexpr double kLongNap = 0.025;  // and after a second of that
constexpr int kSettle = 3;          // frames ImGui needs after an event until its picture rests

double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

struct Stats {
    std::vector<double> build;   // s, from the first widget to the finished draw lists
    std::vector<double> submit;  // s, handing them to OpenGL
    std::vector<double> show;    // s, waiting for the picture: the rasteriser's time when that is software
    int longest_list = 0;
    double first_frame = 0.0;

    void print() const {
        std::vector<double> both(build.size());
        for (std::size_t i = 0; i < build.size(); ++i) both[i] = build[i] + submit[i];
        const double worst = both.empty() ? 0.0 : *std::max_element(both.begin(), both.end());
        fmt::print(
            "frames {}  first shown after {:.0f} ms  medians: build {:.2f} ms, submit {:.2f} ms, both {:.2f} "
            "ms, "
            "show {:.2f} ms  worst of both {:.1f} ms  longest draw list {} corners\n",
            build.size(), first_frame * 1e3, median(build) * 1e3, median(submit) * 1e3, median(both) * 1e3,
            median(show) * 1e3, worst * 1e3, longest_list);
    }
};

/// ImGui window that is nothing but a place to draw. Windows `in_row` never change their order, and the first
/// made lies above those that follow; `in_front` lies above them all.
enum class Stand { in_row, scrolls, untouchable, in_front };
class Bare {
  public:
    Bare(const char* id, const Box& box, double scale, Stand kind = Stand::in_row) {
        const auto px = [scale](double v) { return static_cast<float>(std::round(v * scale)); };
        ImGui::SetNextWindowPos({px(box.x), px(box.y)});
        ImGui::SetNextWindowSize(
            {std::max(1.0F, px(box.right()) - px(box.x)), std::max(1.0F, px(box.bottom()) - px(box.y))});
        ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
        ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0.0F);
        ImGui::PushStyleVar(ImGuiStyleVar_WindowMinSize, {1, 1});
        ImGuiWindowFlags flags = ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize |
                                 ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoCollapse |
                                 ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBackground;
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

class App {
  public:
    App(const AppOptions& options, Panels panels, DeskLink link);
    int loop();

  private:
    void frame(double dt);
    void draw_panels();
    void draw_panel(Panel& panel, const Box& box);
    void draw_strip();
    void draw_right();
    void draw_rules();
    void draw_way_back();
    void global_keys();
    void bring_theme();
    std::vector<Panel*> at(Place place) const;
    PanelContext context(const Box& box);
    void choose_tab(const std::string& kind, const std::string& name);

    AppOptions options_;
    Panels panels_;
    DeskLink link_;
    std::filesystem::path memory_;
    WindowState window_;
    Platform platform_;
    Theme theme_;
    Input input_;
    FocusRing ring_;
    ScriptPlayer script_;
    Arrangement arrangement_;
    Stats stats_;
    view::Shown before_projector_;
    ImDrawList* over_ = nullptr;
    double wake_ = 0.0;
    double rested_since_ = 0.0;
    int settle_ = kSettle;
    bool styled_dark_ = false;
    int frames_ = 0;
};

WindowState first_state(const AppOptions& options, const std::filesystem::path& memory) {
    WindowState s = memory.empty() || !options.remember ? WindowState{} : view::recall(memory);
    if (options.width_px > 0) s.width_px = options.width_px;
    if (options.height_px > 0) s.height_px = options.height_px;
    if (!options.theme.empty()) s.dark = options.theme == "night";
    if (options.scale > 0.0) s.scale = options.scale;
    if (options.fixed_view) s.shown = options.shown;
    const sf::VideoMode desktop = sf::VideoMode::getDesktopMode();
    if (s.scale <= 0.0) s.scale = desktop.height >= 2000 ? 2.0 : desktop.height >= 1400 ? 1.25 : 1.0;
    const auto most = [](unsigned screen, int wanted) {
        return screen > 0 ? std::min(static_cast<int>(screen), wanted) : wanted;
    };
    if (options.width_px == 0) s.width_px = most(desktop.width, s.width_px);
    if (options.height_px == 0) s.height_px = most(desktop.height, s.height_px);
    return s;
}

std::string window_title(const DeskLink& link) {
    return link.site.empty() ? std::string("Sunshaft") : fmt::format("Sunshaft: {}", link.site);
}

std::filesystem::path memory_file() {
    const auto folder = view::state_folder();
    return folder.empty() ? folder : folder / "window";
}

App::App(const AppOptions& options, Panels panels, DeskLink link)
    : options_(options),
      panels_(std::move(panels)),
      link_(std::move(link)),
      memory_(memory_file()),
      window_(first_state(options, memory_)),
      platform_({window_.width_px, window_.height_px, window_.x_px, window_.y_px, window_title(link_)}) {
    if (!options.script.empty()) {
        std::ifstream in(options.script);
        if (!in) throw view::ScriptError("the script cannot be read");
        script_ = ScriptPlayer(view::parse_script(std::string(std::istreambuf_iterator<char>(in), {})));
    }
    before_projector_ = window_.shown;
}

std::vector<Panel*> App::at(Place place) const {
    std::vector<Panel*> found;
    for (const auto& p : panels_)
        if (p->place() == place) found.push_back(p.get());
    return found;
}

PanelContext App::context(const Box& box) {
    return {box, theme_, input_, ring_, window_, link_.desk, over_, wake_};
}

void App::choose_tab(const std::string& kind, const std::string& name) {
    const auto lower = [](std::string s) {
        for (char& c : s) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
        return s;
    };
    const auto candidates = at(kind == "strip" ? Place::strip : Place::drawer);
    for (std::size_t i = 0; i < candidates.size(); ++i) {
        if (lower(candidates[i]->title()) != lower(name)) continue;
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

void App::bring_theme() {
    const auto size = platform_.size();
    const double scale = view::fitting_scale(window_.scale, size.x, size.y);
    const bool new_fonts = theme_.fonts.scale() != scale || frames_ == 0;
    if (new_fonts) {
        theme_.fonts.build(scale);
        platform_.fonts_changed();
    }
    if (new_fonts || styled_dark_ != window_.dark) {
        styled_dark_ = window_.dark;
        theme_.palette = window_.dark ? view::night_shift() : view::paper();
        apply_style(theme_);
        settle_ = kSettle;
    }
}

void App::global_keys() {
    view::Shown& shown = window_.shown;
    if (input_.take(Key::Equal, true) || input_.take(Key::Add, true) || input_.take(Key::Equal, true, true))
        window_.scale = view::next_scale(window_.scale, +1);
    if (input_.take(Key::Hyphen, true) || input_.take(Key::Subtract, true))
        window_.scale = view::next_scale(window_.scale, -1);
    if (input_.take(Key::Num0, true)) window_.scale = 1.0;
    if (input_.take(Key::Q, true)) platform_.close();
    if (input_.take(Key::F2)) shown.drawer = !shown.drawer;
    if (input_.take(Key::F3)) shown.meters = !shown.meters;
    if (input_.take(Key::F4)) shown.inside = !shown.inside;
    if (input_.take(Key::F5)) shown.strip = !shown.strip;
    if (input_.take(Key::F6)) shown.strip_split = !shown.strip_split;
    if (input_.take(Key::F7))
        shown.strip_wish = arrangement_.strip_folded ? view::StripWish::open : view::StripWish::folded;
    if (input_.take(Key::F8)) shown.top_bar = !shown.top_bar;
    if (input_.take(Key::F9)) window_.dark = !window_.dark;
    if (input_.take(Key::F11)) window_.projector = !window_.projector;
    if (shown.drawer && input_.take(Key::Escape)) shown.drawer = false;
}

void App::draw_panel(Panel& panel, const Box& box) {
    PanelContext x = context(box);
    ring_.panel(&panel);
    ImGui::PushID(&panel);
    panel.draw(x);
    ImGui::PopID();
}

void App::draw_strip() {
    const auto strips = at(Place::strip);
    if (strips.empty() || arrangement_.strip.empty()) return;
    const int last = static_cast<int>(strips.size()) - 1;
    window_.strip_left = std::clamp(window_.strip_left, 0, last);
    window_.strip_right = std::clamp(window_.strip_right, 0, last);
    const bool split = window_.shown.strip_split && !arrangement_.strip_folded;
    std::vector<std::string_view> names;
    for (const Panel* p : strips) names.emplace_back(p->title());

    {
        Bare window("##tabs", arrangement_.strip_tabs, theme_.fonts.scale());
        ring_.panel(&arrangement_);
        Box row = arrangement_.strip_tabs.inset(16.0, 0.0);
        PanelContext x = context(row);
        int chosen = window_.strip_left;
        const auto result = tabs(x, "tabs", row, names, chosen, split ? window_.strip_right : -1);
        if (result.changed) {
            // When split, a tab goes to the half that was not chosen last: the other moves over.
            if (split && chosen != window_.strip_left && chosen != window_.strip_right)
                window_.strip_right = chosen;
            else
                window_.strip_left = chosen;
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
        if (!arrangement_.strip_folded &&
            word("split", split ? "Join to one" : "Split in two",
                 split ? "One view across the strip (F6)" : "Two views side by side (F6)"))
            window_.shown.strip_split = !window_.shown.strip_split;
        if (word("fold", arrangement_.strip_folded ? "Open" : "Fold", "Open or fold the strip (F7)"))
            window_.shown.strip_wish =
                arrangement_.strip_folded ? view::StripWish::open : view::StripWish::folded;
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

void App::draw_right() {
    const Arrangement& a = arrangement_;
    if (a.right.empty()) return;
    const bool scrolls = a.right_scroll_range > 0.5;
    Bare window("##right", a.right, theme_.fonts.scale(), scrolls ? Stand::scrolls : Stand::in_row);
    const double scrolled = scrolls ? static_cast<double>(ImGui::GetScrollY()) / theme_.fonts.scale() : 0.0;
    const double bar = scrolls ? 10.0 : 0.0;
    const auto sheet = [&](Box box, Place place, const char* id) {
        if (box.empty()) return;
        box.y -= scrolled;
        box.w -= bar;
        for (Panel* p : at(place)) {
            Child child(id, box, theme_.fonts, false);
            draw_panel(*p, box);
        }
    };
    sheet(a.meters, Place::meters, "meters");
    sheet(a.inside, Place::inside, "inside");
    if (!a.meters.empty() && !a.inside.empty()) {
        const double y = a.inside.y - scrolled;
        Canvas{ImGui::GetWindowDrawList(), theme_.fonts}.rule({a.right.x, y}, {a.right.right(), y},
                                                              theme_.palette.rule);
    }
    if (scrolls) {
        ImGui::SetCursorPos(
            {0, static_cast<float>((a.right.h + a.right_scroll_range - 1.0) * theme_.fonts.scale())});
        ImGui::Dummy({1, static_cast<float>(theme_.fonts.scale())});
    }
}

void App::draw_rules() {
    // Thin rules between the sheets, under everything.
    const Arrangement& a = arrangement_;
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
    if (!a.drawer.empty())
        over.rule({a.drawer.right(), a.drawer.y}, {a.drawer.right(), a.drawer.bottom()}, p.rule);
}

void App::draw_way_back() {
    // In the projector's view everything else is hidden; the hand must find back without knowing a key.
    const Box& sheet = arrangement_.cutaway.empty() ? arrangement_.right : arrangement_.cutaway;
    const Box box{sheet.right() - 152.0, sheet.y + 10.0, 140.0, 26.0};
    if (sheet.w < 200.0) return;
    Bare window("##way_back", box.inset(-3.0), theme_.fonts.scale(), Stand::in_front);
    PanelContext x = context(box);
    ring_.panel(&window_);
    if (button(x, "back", box, "Whole bench  F11")) window_.projector = false;
}

void App::draw_panels() {
    const double scale = theme_.fonts.scale();
    const Box whole{0, 0, arrangement_.window.w, arrangement_.window.h};
    {
        // The first window made lies above those that follow (they stay behind on purpose): the layer for
        // leads.
        Bare window("##over", whole, scale, Stand::untouchable);
        over_ = ImGui::GetWindowDrawList();
    }
    draw_rules();
    if (window_.projector) draw_way_back();
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
}

void App::frame(double dt) {
    bring_theme();
    const double scale = theme_.fonts.scale();
    const auto size = platform_.size();
    view::Shown shown = window_.shown;
    if (window_.projector) {
        const view::Shown wide = view::projector_view();
        shown.top_bar = wide.top_bar;
        shown.inside = wide.inside;
        shown.strip = wide.strip;
    }
    arrangement_ = view::arrange({size.x / scale, size.y / scale}, shown);
    wake_ = std::numeric_limits<double>::infinity();
    input_.dt = dt;

    const double start = platform_.now();
    platform_.begin_frame(dt);
    ring_.begin_frame(input_);
    draw_panels();
    global_keys();  // after the panels: what they used up is gone
    ImGui::EndFrame();
    ++frames_;
    const double built = platform_.now();
    // More hands' work waits: answer it first, a picture nobody would see is not worth its time.
    if (platform_.more_waiting() && !script_.wants_snapshot()) return;
    const view::Colour ground = theme_.palette.ground;
    const int longest = platform_.submit((static_cast<unsigned>(ground.r) << 16) |
                                         (static_cast<unsigned>(ground.g) << 8) | ground.b);
    const double submitted = platform_.now();
    if (options_.stats || options_.frames > 0) {
        stats_.build.push_back(built - start);
        stats_.submit.push_back(submitted - built);
    }
    stats_.longest_list = std::max(stats_.longest_list, longest);
    if (const std::string file = script_.take_snapshot(); !file.empty()) save_png(platform_.pixels(), file);
    platform_.show();
    if (options_.stats) stats_.show.push_back(platform_.now() - submitted);
    if (stats_.first_frame == 0.0) stats_.first_frame = platform_.now();
}

int App::loop() {
    double last = platform_.now();
    bool playing = !options_.script.empty();
    while (platform_.open()) {
        const double begin = platform_.now();
        const bool touched = platform_.gather(input_, theme_.fonts.scale());
        if (touched) settle_ = kSettle;
        if (playing) {
            ScriptPlayer::Hands hands{
                platform_, window_, theme_.fonts.scale(),
                [this](const std::string& kind, const std::string& name) { choose_tab(kind, name); },
                link_.act};
            script_.advance(hands);
            playing = !script_.done();
            settle_ = kSettle;
        }
        const bool live = link_.live && link_.live();
        const bool changed = link_.changed && link_.changed();
        if (changed) settle_ = std::max(settle_, 1);
        if (live || settle_ > 0 || options_.frames > 0 || platform_.now() >= wake_) {
            const double dt = playing ? kFrame : std::min(begin - last, 0.25);
            last = begin;
            if (link_.tick) link_.tick(dt);
            settle_ = std::max(0, settle_ - 1);
            frame(dt);
            if (options_.frames > 0 && frames_ >= options_.frames) platform_.close();
        }
        if (platform_.more_waiting()) continue;
        const double spent = platform_.now() - begin;
        const bool busy = live || settle_ > 0;
        // When drawing is slow (software rasteriser) leave the physics at least as much time as was drawn.
        const double pause = std::max(kFrame - spent, std::min(spent, 0.05));
        if (busy) rested_since_ = platform_.now();
        const double nap = platform_.now() - rested_since_ < 1.0 ? kNap : kLongNap;
        const double rest = playing ? 0.0 : busy ? pause : nap;
        if (rest > 0.0 && options_.frames == 0) sf::sleep(sf::microseconds(static_cast<sf::Int64>(rest * 1e6)));
    }
    if (options_.stats) stats_.print();
    if (options_.remember && !options_.fixed_view && !memory_.empty()) {
        window_.width_px = static_cast<int>(platform_.size().x);
        window_.height_px = static_cast<int>(platform_.size().y);
        window_.x_px = platform_.place().x;
        window_.y_px = platform_.place().y;
        view::remember(memory_, window_);
    }
    return 0;
}

}  // namespace

int run(const AppOptions& options, Panels panels, DeskLink link) {
    // SFML ends the program with abort() when it cannot reach a display: end with its words only.
    const auto before = std::signal(SIGABRT, [](int) { std::_Exit(1); });
    try {
        App app(options, std::move(panels), std::move(link));
        std::signal(SIGABRT, before);
        return app.loop();
    } catch (const view::ScriptError& error) {
        fmt::print(stderr, "{}: {}\n", options.script.string(), error.what());
        return 2;
    }
}

}  // namespace sunshaft::shell
