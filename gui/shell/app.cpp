#include "shell/app.hpp"

#include <fmt/format.h>
#include <SFML/System/Sleep.hpp>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <iterator>
#include <sstream>
#include <stdexcept>
#include <utility>

#include <nlohmann/json.hpp>

#include "model/desktop.hpp"
#include "paint/ledger.hpp"
#include "shell/script_player.hpp"
#include "shell/stage.hpp"
#include "text/language.hpp"

namespace sunshaft::shell {

namespace {

using view::Arrangement;
using view::WindowState;

constexpr double kFrame = 1.0 / 60.0;
constexpr double kNap = 0.008;      // between looks at the event queue while nothing moves
constexpr double kLongNap = 0.025;  // and after a second of that
constexpr double kKeepEvery = 0.2;  // s, at most so much of the work is lost when the program is killed
constexpr int kSettle = 3;          // frames ImGui needs after an event until its picture rests

// The number of the signal that asks for the end; a handler may do no more than note it.
volatile std::sig_atomic_t asked_to_end = 0;

double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

double wall_seconds() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

// Processor time of this thread: what it would take with a processor of its own.
double thread_seconds() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

struct Stats {
    std::vector<double> build;   // s, from the first widget to the finished draw lists
    std::vector<double> submit;  // s, handing them to OpenGL
    std::vector<double> own;     // s, this thread's processor time for both
    std::vector<double> show;    // s, waiting for the picture: the rasteriser's time when that is software
    int longest_list = 0;
    double first_frame = 0.0;

    void print() const {
        std::vector<double> both(build.size());
        for (std::size_t i = 0; i < build.size(); ++i) both[i] = build[i] + submit[i];
        const double worst = both.empty() ? 0.0 : *std::max_element(both.begin(), both.end());
        fmt::print(
            "frames {}  first shown after {:.0f} ms  medians: build {:.2f} ms, submit {:.2f} ms, both {:.2f} "
            "ms (of its own processor time {:.2f} ms), "
            "show {:.2f} ms  worst of both {:.1f} ms  longest draw list {} corners\n",
            build.size(), first_frame * 1e3, median(build) * 1e3, median(submit) * 1e3, median(both) * 1e3,
            median(own) * 1e3, median(show) * 1e3, worst * 1e3, longest_list);
    }
};

class App {
  public:
    App(const AppOptions& options, Panels panels, DeskLink link);
    int loop();

  private:
    void frame(double dt, bool unseen);
    void obey_no_hand();
    bool advance_script();
    // `drawn`: the frame just built; a picture waits for one that is.
    void carry_out(bool drawn);
    void global_keys();
    void bring_language();
    void bring_theme();
    void tell_state();
    void keep_work();
    void check();

    AppOptions options_;
    DeskLink link_;
    std::filesystem::path memory_;
    WindowState window_;
    Platform platform_;
    Theme theme_;
    Input input_;
    FocusRing ring_;
    Requests ask_;
    Stage stage_;
    ScriptPlayer script_;
    paint::Ledger ledger_;  // written while a script checks
    Arrangement arrangement_;
    Stats stats_;
    double begun_ = wall_seconds(), rested_since_ = 0.0;
    int settle_ = kSettle;
    bool styled_dark_ = false;
    std::string spoken_;  // WindowState::language, as the bench has been told
    int frames_ = 0;
    double told_at_ = -1.0;
    double gathered_ = 0.0, drawn_of_ = 0.0;  // s by the wall clock: what hands had done by then is drawn
    double kept_at_ = 0.0;
    bool kept_ = true;  // nothing has been drawn since the work was last kept
    bool told_ = true;  // nothing has been drawn since the state was last told
};

WindowState first_state(const AppOptions& options, const std::filesystem::path& memory) {
    const bool known = options.remember && !memory.empty() && std::filesystem::exists(memory);
    WindowState s = known ? view::recall(memory) : WindowState{};
    if (options.width_px > 0) s.width_px = options.width_px;
    if (options.height_px > 0) s.height_px = options.height_px;
    if (!options.theme.empty()) s.dark = options.theme == "dark";
    s.desktop_is_calm = options.remember && view::wants_no_animations(view::settings_folder());
    if (!options.motion.empty()) s.calm = options.motion == "reduced";
    if (!options.language.empty()) s.language = options.language;
    if (options.scale > 0.0) s.scale = options.scale;
    if (options.fixed_view) s.shown = options.shown;
    const sf::VideoMode desktop = sf::VideoMode::getDesktopMode();
    if (s.scale <= 0.0) s.scale = desktop.height >= 2000 ? 2.0 : desktop.height >= 1400 ? 1.25 : 1.0;
    if (!known && options.width_px == 0) {  // the first time as large as drawn, at this scale
        s.width_px = static_cast<int>(s.width_px * s.scale);
        s.height_px = static_cast<int>(s.height_px * s.scale);
    }
    const auto most = [](unsigned screen, int wanted) {
        return screen > 0 ? std::min(static_cast<int>(screen), wanted) : wanted;
    };
    if (options.width_px == 0) s.width_px = most(desktop.width, s.width_px);
    if (options.height_px == 0) s.height_px = most(desktop.height, s.height_px);
    return s;
}

std::string window_title(const DeskLink& link) {
    const std::string site = link.site ? link.site() : "";
    return site.empty() ? std::string("Sunshaft") : text::say("Sunshaft: {}", site);
}

std::filesystem::path memory_file() {
    const auto folder = view::state_folder();
    return folder.empty() ? folder : folder / "window";
}

App::App(const AppOptions& options, Panels panels, DeskLink link)
    : options_(options),
      link_(std::move(link)),
      memory_(memory_file()),
      window_(first_state(options, memory_)),
      platform_({window_.width_px, window_.height_px, window_.x_px, window_.y_px, window_title(link_)}),
      stage_(std::move(panels), theme_, input_, ring_, window_, link_.desk, ask_) {
    window_.cues = options.cues;
    spoken_ = window_.language;
    if (link_.blank) {
        window_.projector = window_.projected.site = true;
        ImGui::GetIO().ConfigFlags |= ImGuiConfigFlags_NoMouse;
    }
    if (!options.state.empty() || !options.script.empty()) stage_.targets();
    if (!options.tab.empty()) {  // what somebody asked for is open, however small the window
        stage_.choose_tab("strip", options.tab);
        window_.shown.strip_wish = view::StripWish::open;
    }
    if (!options.script.empty()) {
        std::ifstream in(options.script);
        if (!in) throw view::ScriptError("the script cannot be read");
        script_ = ScriptPlayer(view::parse_script(std::string(std::istreambuf_iterator<char>(in), {})));
    }
}

void App::bring_language() {
    if (spoken_ == window_.language) return;
    spoken_ = window_.language;
    if (link_.speak) link_.speak(spoken_);
    platform_.rename(window_title(link_));
    settle_ = kSettle;
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
        theme_.palette = window_.dark ? view::dark_palette() : view::light_palette();
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
    const auto drawer = [&](int which) {
        shown.drawer = !(shown.drawer && window_.drawer == which);
        window_.drawer = which;
    };
    if (window_.projector) {
        view::Projected& on = window_.projected;
        if (input_.take(Key::F3)) on.displays = !on.displays;
        if (input_.take(Key::F4)) on.chain = !on.chain;
        if (input_.take(Key::F5)) on.site = !on.site;
        if (!stage_.helping() && input_.take(Key::Escape)) window_.projector = false;
        // of sheets that are not on show
        for (const Key other : {Key::F2, Key::F6, Key::F7, Key::F8}) input_.take(other);
    }
    if (input_.take(Key::F1) || (stage_.helping() && input_.take(Key::Escape))) stage_.toggle_help();
    if (input_.take(Key::F2)) drawer(0);
    if (input_.take(Key::F2, false, true)) drawer(1);
    if (input_.take(Key::F3)) shown.meters = !shown.meters;
    if (input_.take(Key::F4)) shown.inside = !shown.inside;
    if (input_.take(Key::F5)) shown.strip = !shown.strip;
    if (input_.take(Key::F6)) shown.strip_split = !shown.strip_split;
    if (input_.take(Key::F7))
        shown.strip_wish = arrangement_.strip_folded ? view::StripWish::open : view::StripWish::folded;
    if (input_.take(Key::F8)) shown.top_bar = !shown.top_bar;
    if (input_.take(Key::F9, false, true)) window_.calm = !window_.is_calm();
    if (input_.take(Key::F9)) window_.dark = !window_.dark;
    if (input_.take(Key::F11)) window_.projector = !window_.projector;
    if (!input_.typing && input_.take(Key::D)) {
        stage_.choose_tab("strip", "Day");
        if (arrangement_.strip_folded) shown.strip_wish = view::StripWish::open;
    }
    if (!input_.typing && input_.take(Key::K)) {
        shown.suspects = !shown.suspects || shown.lesson;
        shown.lesson = false;
        shown.inside = shown.meters = true;
    }
    if (!input_.typing && input_.take(Key::L)) shown.toggle_lesson();
    if (shown.drawer && input_.take(Key::Escape)) shown.drawer = false;
    if (input_.take(Key::F12)) ask_.picture = true;
    if (input_.take(Key::F12, false, true)) ask_.csv = true;
    if (!input_.typing && link_.keys) link_.keys(input_);
}

void App::carry_out(bool drawn) {
    const auto done = [this](const std::filesystem::path& file, bool good) {
        ask_.notice =
            good ? text::say("Written: {}", file.string()) : text::say("Cannot be written: {}", file.string());
        settle_ = kSettle;
    };
    if (drawn && std::exchange(ask_.picture, false)) {
        const auto file = view::fresh_name(".png");
        done(file, save_png(platform_.pixels(), file));
    }
    if (std::exchange(ask_.csv, false)) {
        const std::string table = stage_.csv();
        const auto file = view::fresh_name(".csv");
        if (table.empty()) ask_.notice = text::tr("Nothing to write: the strip shows no figures.");
        else done(file, view::write_whole(file, table));
        settle_ = kSettle;
    }
    if (const std::string text = std::exchange(ask_.write_case, {}); !text.empty()) {
        const auto file = view::fresh_name("-case.toml");
        done(file, view::write_whole(file, text));
    }
    if (const std::string site = std::exchange(ask_.open_site, {}); !site.empty() && link_.open) {
        if (const std::string refused = link_.open(site); !refused.empty()) ask_.notice = refused;
        platform_.rename(window_title(link_));
        settle_ = kSettle;
    }
    if (ask_.quit) platform_.close();
}

// `unseen`: nobody looks at it unless a picture is taken, so it need not be drawn.
void App::frame(double dt, bool unseen) {
    bring_language();
    bring_theme();
    const double scale = theme_.fonts.scale();
    const auto size = platform_.size();
    arrangement_ = view::arrange({size.x / scale, size.y / scale}, window_.shown);
    input_.dt = dt;

    const bool drawn = !unseen || script_.looks() || ask_.picture, told = script_.checks() || script_.seeks();
    ledger_.begin(drawn, told);
    theme_.fonts.watch(told || !drawn ? &ledger_ : nullptr);
    const double start = wall_seconds(), own = thread_seconds();
    platform_.begin_frame(dt);
    input_.typing = std::exchange(window_.spelling, false) || input_.typing;
    ring_.begin_frame(input_);
    if (link_.refusal) {
        if (std::string refusal = link_.refusal(); !refusal.empty()) ask_.notice = std::move(refusal);
    }
    stage_.draw(arrangement_);
    if (link_.blank && link_.blank())
        ImGui::GetForegroundDrawList()->AddRectFilled({0, 0}, {static_cast<float>(size.x), static_cast<float>(size.y)},
                                                      IM_COL32_BLACK);
    told_ = kept_ = false;
    drawn_of_ = gathered_;
    global_keys();  // after the panels: what they used up is gone
    ImGui::EndFrame();
    ++frames_;
    const double built = wall_seconds();
    if (script_.seeks()) script_.look(ledger_, platform_, scale);
    // More hands' work waits: answer it first, a picture nobody would see is not worth its time.
    if (platform_.more_waiting() && !script_.wants_snapshot()) return;
    if (script_.checking()) return check();
    if (!drawn) return carry_out(false);
    const view::Colour ground = theme_.palette.ground;
    const int longest =
        platform_.submit((static_cast<unsigned>(ground.r) << 16) | (static_cast<unsigned>(ground.g) << 8) | ground.b);
    const double submitted = wall_seconds();
    if (options_.stats || options_.frames > 0) {
        stats_.build.push_back(built - start);
        stats_.submit.push_back(submitted - built);
        stats_.own.push_back(thread_seconds() - own);
    }
    stats_.longest_list = std::max(stats_.longest_list, longest);
    if (const std::string file = script_.take_snapshot(); !file.empty() && !save_png(platform_.pixels(), file))
        throw view::ScriptError(fmt::format("{}: the picture cannot be written", file));
    carry_out(true);
    platform_.show();
    if (options_.stats) stats_.show.push_back(wall_seconds() - submitted);
    if (stats_.first_frame == 0.0) stats_.first_frame = wall_seconds() - begun_;
}

void App::check() {
    ImGui::Render();
    const ScriptPlayer::Check asked = script_.take_check();
    if (asked.file.empty()) return;
    std::ofstream out(asked.file, std::ios::app);
    nlohmann::json line{{"label", asked.label}};
    for (const auto& [name, box] : stage_.targets())
        line["targets"][name] = {std::lround(box.x), std::lround(box.y), std::lround(box.w), std::lround(box.h)};
    if (link_.state) line["desk"] = nlohmann::json::parse(link_.state());
    for (const auto& e : ledger_.entries())
        if (e.kind == paint::Ledger::Kind::cue && !e.seen.empty()) line["cues"].push_back(e.words);
    if (asked.corners) line["lists"] = Platform::corners();
    if (asked.clashes) {
        int lines = 0, said = 0;  // said: words in the common sense, as a reader counts them
        for (const auto& e : ledger_.entries()) {
            if (e.seen.empty()) continue;
            if (e.kind == paint::Ledger::Kind::mark) line["marks"].push_back(e.words);
            if (e.kind != paint::Ledger::Kind::words) continue;
            line["texts"].push_back(e.words);
            ++lines;
            std::istringstream words(e.words);
            for (std::string word; words >> word;) ++said;
        }
        line["words"] = lines;
        line["said"] = said;
        line["clashes"] = nlohmann::json::array();
        for (const auto& clash : ledger_.clashes(Platform::layers()))
            line["clashes"].push_back({{"what", clash.what},
                                       {"over", clash.over},
                                       {"at",
                                        {std::lround(clash.where.x), std::lround(clash.where.y),
                                         std::lround(clash.where.w), std::lround(clash.where.h)}}});
    }
    out << line.dump() << '\n';
    if (!out) throw view::ScriptError(fmt::format("{}: the check cannot be written", asked.file));
}

// The desk's state, the window's, and where things stand in pixels.
void App::tell_state() {
    constexpr double every = 0.03;  // s
    if (options_.state.empty() || told_ || platform_.now() < told_at_ + every) return;
    told_ = true;
    told_at_ = platform_.now();
    const auto px = [scale = theme_.fonts.scale()](double v) { return std::lround(v * scale); };
    std::string places;
    for (const auto& [name, box] : stage_.targets())
        places += fmt::format("{}\"{}\":[{},{},{},{}]", places.empty() ? "" : ",", name, px(box.x), px(box.y),
                              px(box.w), px(box.h));
    const auto size = platform_.size();
    const std::string text = fmt::format(
        "{{\"frame\":{},\"gathered\":{:.6f},\"rests\":{},\"width\":{},\"height\":{},\"dark\":{},\"scale\":{},"
        "\"targets\":{{{}}},\"desk\":{}}}\n",
        frames_, drawn_of_, settle_ == 0, size.x, size.y, window_.dark, theme_.fonts.scale(), places,
        link_.state ? link_.state() : "null");
    // In place at once, for whoever reads along; it need not outlive the machine.
    const std::filesystem::path part = options_.state.string() + ".part";
    std::ofstream(part) << text;
    std::error_code unread;
    std::filesystem::rename(part, options_.state, unread);
}

void App::keep_work() {
    if (kept_ || !link_.keep || platform_.now() < kept_at_ + kKeepEvery) return;
    link_.keep();
    kept_ = true;
    kept_at_ = platform_.now();
}

// A wall obeys no hand but for the whole bench, the theme, and its end.
void App::obey_no_hand() {
    std::erase_if(input_.keys, [](const KeyPress& k) { return k.key != Key::F11 && k.key != Key::F9; });
    input_.mouse = {-1e6, -1e6};
    input_.pressed = input_.released = input_.down = {};
}

// Whether there is more of it.
bool App::advance_script() {
    ScriptPlayer::Hands hands{
        platform_,
        window_,
        theme_.fonts.scale(),
        [this](const std::string& kind, const std::string& name) { stage_.choose_tab(kind, name); },
        link_.act,
        [this](const std::string& name) {
            const auto& all = stage_.targets();
            const auto at = all.lower_bound(name);
            if (at == all.end() || at->first.rfind(name, 0) != 0)
                throw view::ScriptError(fmt::format("there is nothing called '{}' in sight", name));
            return at->second.centre();
        }};
    script_.advance(hands);
    settle_ = kSettle;
    if (script_.done()) platform_.by_clock();
    return !script_.done();
}

int App::loop() {
    double last = platform_.now();
    bool playing = !options_.script.empty();
    ask_.notice = link_.notice;
    while (platform_.open() && asked_to_end == 0) {
        const double begin = platform_.now();
        if (playing) platform_.one_frame(kFrame);  // before the script's first act: that may take a while by the clock
        gathered_ = wall_seconds();
        if (platform_.gather(input_, theme_.fonts.scale())) settle_ = kSettle;
        if (link_.blank) obey_no_hand();
        if (playing) playing = advance_script();
        if (link_.changed && link_.changed()) settle_ = std::max(settle_, 1);
        const bool draw = settle_ > 0 || options_.frames > 0 || platform_.now() >= stage_.wake();
        if (draw) {
            const double dt = playing ? kFrame : std::min(begin - last, 0.25);
            last = begin;
            settle_ = std::max(0, settle_ - 1);
            frame(dt, playing && !options_.stats && options_.frames == 0);
            if (options_.frames > 0 && frames_ >= options_.frames) platform_.close();
            rested_since_ = platform_.now();
        }
        tell_state();
        keep_work();
        if (platform_.more_waiting() || playing || options_.frames > 0) continue;
        // When drawing is slow (software rasteriser) leave the physics at least as much time as was drawn.
        const double spent = platform_.now() - begin;
        const double pause = std::max(kFrame - spent, std::min(spent, 0.05));
        const double nap = platform_.now() - rested_since_ < 1.0 ? kNap : kLongNap;
        sf::sleep(sf::microseconds(static_cast<sf::Int64>((draw ? pause : nap) * 1e6)));
    }
    if (link_.keep) link_.keep();
    if (options_.stats) stats_.print();
    if (options_.remember && !options_.fixed_view && !memory_.empty()) {
        window_.width_px = static_cast<int>(platform_.size().x);
        window_.height_px = static_cast<int>(platform_.size().y);
        window_.x_px = platform_.place().x;
        window_.y_px = platform_.place().y;
        view::remember(memory_, window_);
    }
    return asked_to_end == 0 ? 0 : 128 + asked_to_end;
}

}  // namespace

int run(const AppOptions& options, Panels panels, DeskLink link) {
    // SFML ends the program with abort() when it cannot reach a display: end with its words only.
    for (const int number : {SIGTERM, SIGINT, SIGHUP}) std::signal(number, [](int n) { asked_to_end = n; });
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
