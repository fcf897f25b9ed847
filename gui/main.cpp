// sunshaft-bench: the window.
#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <utility>

#include "callout/seal.hpp"
#include "journal/journal.hpp"
#include "model/case_file.hpp"
#include "model/desk.hpp"
#include "model/desk_script.hpp"
#include "model/desk_state.hpp"
#include "model/files.hpp"
#include "model/session_store.hpp"
#include "model/sites.hpp"
#include "model/tongue.hpp"
#include "model/wall.hpp"
#include "model/window_state.hpp"
#include "panels/panels.hpp"
#include "shell/app.hpp"
#include "shell/display.hpp"
#include "shell/gallery.hpp"
#include "site/load.hpp"
#include "teach/progress.hpp"
#include "text/language.hpp"

namespace {

using namespace sunshaft;

constexpr const char* kFirstSite = "hill-orchard";

/// "1600x1000" in pixels.
bool read_size(const std::string& text, int& width, int& height) {
    const char* end = text.data() + text.size();
    const auto first = std::from_chars(text.data(), end, width);
    if (first.ec != std::errc{} || first.ptr == end || *first.ptr != 'x') return false;
    const auto second = std::from_chars(first.ptr + 1, end, height);
    return second.ec == std::errc{} && second.ptr == end && width >= 320 && height >= 240 && width <= 16384 &&
           height <= 16384;
}

shell::DeskLink link_to(view::Desk& desk) {
    shell::DeskLink link;
    link.desk = &desk;
    link.site = [&desk] { return desk.truth()->site->scenario.site.name; };
    link.changed = [&desk, seen = desk.truth()]() mutable {
        desk.keep_call();
        desk.hear_call();
        auto now = desk.truth();
        return std::exchange(seen, now) != now;
    };
    link.keys = [&desk](shell::Input& input) {
        using shell::Key;
        if (input.take(Key::Z, true)) desk.undo();
        if (input.take(Key::Z, true, true) || input.take(Key::Y, true)) desk.redo();
        if (input.take(Key::Space)) desk.running() ? desk.hold() : desk.run();
        if (input.take(Key::Period)) desk.step();
    };
    link.state = [&desk] { return view::desk_state(desk); };
    link.refusal = [&desk] { return desk.new_error(); };
    link.act = [&desk](const std::vector<std::string>& words) { view::play(desk, words); };
    return link;
}

/// What an instructor's window tells its wall, a few times a second and whole.
class Teller {
  public:
    Teller(view::Desk& desk, std::string file) : desk_(desk), file_(std::move(file)) {
        if (!file_.empty()) desk_.wall.emplace();
    }
    void keys(shell::Input& input) {
        if (!desk_.wall) return;
        if (input.take(shell::Key::F11, false, true)) desk_.wall->blank = !desk_.wall->blank, tell(true);
        if (input.take(shell::Key::F10, false, true)) desk_.wall->frozen = !desk_.wall->frozen, tell(true);
    }
    void tell(bool at_once = false) {
        const auto now = std::chrono::steady_clock::now();
        if (!desk_.wall || (!at_once && now < next_)) return;
        next_ = now + std::chrono::milliseconds(100);
        const std::string text = view::wall_text(desk_, *desk_.wall);
        if (text.empty() || text == told_ || !view::write_whole(file_, text)) return;
        told_ = text;
    }

  private:
    view::Desk& desk_;
    std::string file_, told_;
    std::chrono::steady_clock::time_point next_{};
};

/// The wall: shows what the file tells, until it is closed.
int show_wall(const std::string& file, shell::AppOptions options) {
    const auto told = [&] { return view::read_text(file).value_or(""); };
    std::string text = told();
    const std::string site = view::wall_site(text);
    if (site.empty())
        throw site::BadInput(
            text::say("{}: is not what an instructor's window writes, expected the file of its --wall", file));
    auto desk = std::make_unique<view::Desk>(site::load_scenario(site::find_scenario(site)), options.script.empty());
    view::WallState state;
    std::string why;
    bool taken = view::take_wall(*desk, text, state, why);
    if (options.script.empty()) desk->set_going();
    options.remember = false;
    options.cues = view::Cues::off;
    shell::DeskLink link;
    link.desk = desk.get();
    link.site = [&] { return desk->truth()->site->scenario.site.name; };
    link.blank = [&] { return state.blank; };
    link.state = [&] { return view::desk_state(*desk); };
    link.act = [&](const std::vector<std::string>& words) { view::play(*desk, words); };
    link.changed = [&, seen = desk->truth(), next = std::chrono::steady_clock::time_point{}]() mutable {
        bool changed = false;
        if (const auto now = std::chrono::steady_clock::now(); now >= next) {
            next = now + std::chrono::milliseconds(100);
            const std::string newer = told();
            changed = newer != text && !newer.empty();
            if (changed) text = newer;
            if (changed || !taken) {
                taken = view::take_wall(*desk, text, state, why);
                changed = changed || taken;
            }
        }
        auto now = desk->truth();
        return std::exchange(seen, now) != now || changed;
    };
    return shell::run(options, panels::make_panels(), link);
}

/// What a start is asked for.
struct Asked {
    shell::AppOptions window;
    std::string scenario, weather, size;
    double percent = 0.0;
    bool gallery = false, forget = false;
    std::vector<std::string> learners;
    std::string wall, shown, recording;
};

/// A bench being opened: takes up the work where it was left; the session is kept as work goes on.
class Opening {
  public:
    explicit Opening(const Asked& asked)
        : asked_(asked),
          options_(asked.window),
          keeps_(options_.remember && options_.script.empty() && !view::state_folder().empty()),
          store_(keeps_ ? view::state_folder() / "sessions" : std::filesystem::path()),
          call_(choose()),
          desk_(site::load_scenario(site::find_scenario(scenario_)), options_.script.empty()),
          teller_(desk_, asked.wall) {}

    int run() {
        if (keeps_) desk_.learner = teach::progress_file();
        take_up();
        if (case_) bring_case(*case_);
        if (keeps_) desk_.journals = journal::usual_folder();
        desk_.learners = asked_.learners;
        if (!asked_.weather.empty()) {
            bring_weather();
            options_.tab = "Day";
        }
        if (!asked_.recording.empty()) desk_.laid = view::lay(asked_.recording);
        if (call_) {
            desk_.bring_call(*call_);
            options_.cues = view::Cues::off;
            options_.tab = "Call-out";
        }
        return shell::run(options_, panels::make_panels(), link());
    }

  private:
    /// Which site it is to be. A sealed call-out is opened like one; nothing of it is kept in a session.
    std::optional<callout::Callout> choose() {
        const std::string before = store_.last_site(notice_);
        scenario_ = asked_.scenario.empty() ? before : asked_.scenario;
        // Cues are for the first start alone: later there is work to be taken up.
        if (!options_.script.empty() || !before.empty()) options_.cues = view::Cues::off;
        if (scenario_.empty()) scenario_ = kFirstSite;
        if (!callout::is_callout(scenario_)) {
            case_ = view::case_in(scenario_);
            if (case_) scenario_ = diagnose::site_of(*case_).file;
            return std::nullopt;
        }
        callout::Callout call = callout::read_callout(scenario_);
        scenario_ = call.site;
        return call;
    }

    void take_up() {
        const std::string file = desk_.truth()->site->scenario.file;
        std::string why_not;
        const auto session = store_.open(file);
        if (session && !desk_.restore(*session, why_not))
            notice_ = store_.set_aside(why_not), fmt::print(stderr, "{}\n", notice_);
        if (!session || !why_not.empty()) {
            desk_.hang_leads();
            if (options_.script.empty()) desk_.set_going();
        }
        if (keeps_) view::keep_in_mind(file);
    }

    /// On the bench of its site.
    void bring_case(const diagnose::Case& c) {
        const std::string said = view::bring_case(desk_, c);
        if (notice_.empty()) notice_ = said;
        options_.tab = "Notebook";
    }

    void keep() {
        if (store_.keep(desk_.session()) || std::exchange(said_, true)) return;
        fmt::print(stderr, "{}\n", text::say("{}: the session cannot be kept", store_.file().string()));
    }

    void bring_weather() {
        if (!asked_.weather.empty())
            desk_.take_weather(
                std::make_shared<const day::Weather>(day::read_weather(asked_.weather, desk_.truth()->site->scenario)));
    }

    /// What was worked out in the old language is worked out anew: the same site, taken up as it stands.
    void speak(const std::string& language) {
        view::speak_in(language);
        if (desk_.call() || desk_.lesson()) return;
        const std::string work = desk_.session(), file = desk_.truth()->site->scenario.file;
        std::string why_not;
        desk_.open(site::load_scenario(site::find_scenario(file)));
        (void)desk_.restore(work, why_not);
        bring_weather();
    }

    /// Another site, live, or a case on its own. Returns what there is to say of it.
    std::string open(const std::string& other) {
        const auto brought = view::case_in(other);
        try {
            Scenario next = brought ? diagnose::site_of(*brought) : site::load_scenario(site::find_scenario(other));
            keep();
            desk_.open(std::move(next));
        } catch (const std::exception& error) {
            return error.what();
        }
        notice_.clear();
        take_up();
        if (brought) bring_case(*brought);
        return notice_;
    }

    shell::DeskLink link() {
        shell::DeskLink link = link_to(desk_);
        link.keys = [this, keys = link.keys](shell::Input& input) {
            teller_.keys(input);
            keys(input);
        };
        link.changed = [this, changed = link.changed]() {
            teller_.tell();
            return changed();
        };
        link.notice = notice_;
        link.keep = [this] { keep(); };
        link.open = [this](const std::string& other) { return open(other); };
        link.speak = [this](const std::string& language) { speak(language); };
        return link;
    }

    const Asked& asked_;
    shell::AppOptions options_;
    bool keeps_ = false, said_ = false;
    view::SessionStore store_;
    std::string notice_, scenario_;
    std::optional<diagnose::Case> case_;
    std::optional<callout::Callout> call_;
    view::Desk desk_;
    Teller teller_;
};

/// Without a window the site's readings are of more use than nothing: prints them with the headless program where that
/// stands beside this one. Status 3 where it does not, for gui/run.sh.
int readings_instead(const std::string& why, const std::string& asked) {
    const std::string site = asked.empty() ? kFirstSite : asked;
    std::error_code error;
    const auto here = std::filesystem::read_symlink("/proc/self/exe", error).parent_path();
    for (const auto& program : {here / "sunshaft", here.parent_path() / "sim" / "sunshaft"}) {
        if (error || ::access(program.c_str(), X_OK) != 0) continue;
        if (callout::is_callout(site)) {  // it is played in plain lines
            fmt::print(stderr, "{}\n", text::say("no window: {}. The call-out in plain lines instead:", why));
            ::execl(program.c_str(), program.c_str(), "callout", "play", site.c_str(), static_cast<char*>(nullptr));
            continue;
        }
        const bool of_case = view::case_in(site).has_value();
        fmt::print(stderr, "{}\n",
                   of_case ? text::say("no window: {}. What the case's readings say instead:", why)
                           : text::say("no window: {}. The site's readings instead:", why));
        const std::string verb = of_case ? "suspects" : "sheet", path = program.string();
        ::execl(path.c_str(), path.c_str(), verb.c_str(), site.c_str(), static_cast<char*>(nullptr));
    }
    fmt::print(stderr, "{}\n", text::say("no window: {}. `sunshaft sheet {}` prints the site's readings.", why, site));
    return 3;
}

void declare(CLI::App& cli, Asked& asked) {
    shell::AppOptions& window = asked.window;
    cli.add_option("SCENARIO", asked.scenario,
                   text::tr("site to open: a TOML file or the name of a shipped one; without it the last one. Or a "
                            "case, or a sealed call-out"));
    cli.add_option("--weather", asked.weather,
                   text::tr("measured weather for the day's strip and its calendar: CSV, as `sunshaft day` takes it"));
    cli.add_option("--lay", asked.recording,
                   text::tr("a recording laid over the scope: CSV or COMTRADE (.cfg), up to 16 MB"));
    cli.add_option("--size", asked.size, text::tr("window size in pixels, as 1600x1000"));
    cli.add_option("--theme", window.theme, text::tr("light or dark"))->check(CLI::IsMember({"light", "dark"}));
    cli.add_option("--language", window.language,
                   text::tr("of all words: en, es; without it the one last chosen, else as LANG"))
        ->check(CLI::IsMember(text::languages()));
    cli.add_option(
           "--motion", window.motion,
           text::tr("full or reduced: nothing sways or flows; without it as chosen, else as the desktop has it"))
        ->check(CLI::IsMember({"full", "reduced"}));
    cli.add_option("--scale", asked.percent, text::tr("size of everything in percent, 50 to 300"))
        ->check(CLI::Range(50.0, 300.0));
    cli.add_flag("--forget", asked.forget, text::tr("neither read nor keep the remembered window and session"));
    const std::map<std::string, view::Cues> cues{
        {"off", view::Cues::off}, {"still", view::Cues::still}, {"moving", view::Cues::moving}};
    window.cues = view::Cues::moving;
    cli.add_option("--cues", window.cues,
                   text::tr("how a first start shows what can be taken hold of: moving, still or off"))
        ->transform(CLI::CheckedTransformer(cues))
        ->option_text("{off,still,moving}");
    cli.add_option("--who", asked.learners,
                   text::tr("who plays a call-out; two names: each says for themselves what it is"))
        ->type_name("NAME")
        ->allow_extra_args(false)
        ->expected(1, 2);
    cli.add_option("--wall", asked.wall,
                   text::tr("tell a wall through this file: Shift+F11 blanks it, Shift+F10 freezes it"));
    cli.add_option("--show", asked.shown,
                   text::tr("be the wall: show what another window tells through this file, obey no hand"));
    cli.add_option("--script", window.script, "play the acts in a file")->group("");
    cli.add_option("--frames", window.frames, "end after so many frames")->group("");
    cli.add_flag("--stats", window.stats, "print frame times at the end")->group("");
    cli.add_option("--state", window.state, "keep what is on show in a file, as JSON")->group("");
    cli.add_flag("--gallery", asked.gallery, "show every shape and widget")->group("");
}

int answer(int argc, char** argv) {
    Asked asked;
    view::speak_in("");  // the options' own words
    CLI::App cli{text::tr("The bench: see a solar pump site, probe it, break it."), "sunshaft-bench"};
    declare(cli, asked);
    try {
        cli.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return cli.exit(error) == 0 ? 0 : 2;
    }
    shell::AppOptions& window = asked.window;
    window.remember = !asked.forget;
    view::speak_in(window.language.empty() && window.remember && !view::state_folder().empty()
                       ? view::recall(view::state_folder() / "window").language
                       : window.language);
    window.scale = asked.percent / 100.0;
    if (!asked.size.empty() && !read_size(asked.size, window.width_px, window.height_px)) {
        fmt::print(stderr, "{}\n", text::say("--size: '{}' is not a size, expected for example 1600x1000", asked.size));
        return 2;
    }
    if (const std::string why = shell::why_no_window(); !why.empty()) return readings_instead(why, asked.scenario);
    try {
        return asked.gallery          ? shell::run_gallery(window)
               : !asked.shown.empty() ? show_wall(asked.shown, window)
                                      : Opening(asked).run();
    } catch (const site::BadInput& error) {
        fmt::print(stderr, "{}\n", error.what());
        return 2;
    } catch (const std::exception& error) {
        fmt::print(stderr, "{}\n", fmt::format("sunshaft-bench: {}", error.what()));
        return 1;
    }
}

}  // namespace

int main(int argc, char** argv) {
    try {
        return answer(argc, argv);
    } catch (...) {  // the options' own set-up: out of memory
        std::fputs("sunshaft-bench: cannot begin\n", stderr);
        return 1;
    }
}
