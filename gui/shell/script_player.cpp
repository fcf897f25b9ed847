#include "shell/script_player.hpp"

#include <fmt/format.h>

#include <charconv>
#include <map>

namespace sunshaft::shell {

namespace {

using view::ScriptError;

double number(const std::string& word) {
    double v = 0.0;
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), v);
    if (error != std::errc{} || end != word.data() + word.size() || !(std::abs(v) < 1e6))
        throw ScriptError(fmt::format("'{}' is not a number", word));
    return v;
}

sf::Keyboard::Key key_named(const std::string& name) {
    static const std::map<std::string, sf::Keyboard::Key> names{{"esc", sf::Keyboard::Escape},
                                                                {"space", sf::Keyboard::Space},
                                                                {"enter", sf::Keyboard::Enter},
                                                                {"tab", sf::Keyboard::Tab},
                                                                {"left", sf::Keyboard::Left},
                                                                {"right", sf::Keyboard::Right},
                                                                {"up", sf::Keyboard::Up},
                                                                {"down", sf::Keyboard::Down},
                                                                {"backspace", sf::Keyboard::BackSpace},
                                                                {"delete", sf::Keyboard::Delete},
                                                                {"home", sf::Keyboard::Home},
                                                                {"end", sf::Keyboard::End},
                                                                {"plus", sf::Keyboard::Equal},
                                                                {"minus", sf::Keyboard::Hyphen},
                                                                {"pageup", sf::Keyboard::PageUp},
                                                                {"pagedown", sf::Keyboard::PageDown},
                                                                {"comma", sf::Keyboard::Comma},
                                                                {"period", sf::Keyboard::Period}};
    if (name.size() == 1 && name[0] >= 'a' && name[0] <= 'z')
        return static_cast<sf::Keyboard::Key>(sf::Keyboard::A + (name[0] - 'a'));
    if (name.size() == 1 && name[0] >= '0' && name[0] <= '9')
        return static_cast<sf::Keyboard::Key>(sf::Keyboard::Num0 + (name[0] - '0'));
    if (name.size() >= 2 && name[0] == 'f' && name[1] >= '1' && name[1] <= '9')
        return static_cast<sf::Keyboard::Key>(sf::Keyboard::F1 + static_cast<int>(number(name.substr(1))) - 1);
    if (const auto it = names.find(name); it != names.end()) return it->second;
    throw ScriptError(fmt::format("there is no key '{}'", name));
}

void post_key(Platform& platform, std::string chord) {
    sf::Event e{};
    e.type = sf::Event::KeyPressed;
    for (const auto& [prefix, flag] : {std::pair{std::string("ctrl+"), &sf::Event::KeyEvent::control},
                                       std::pair{std::string("shift+"), &sf::Event::KeyEvent::shift},
                                       std::pair{std::string("alt+"), &sf::Event::KeyEvent::alt}}) {
        if (chord.rfind(prefix, 0) != 0) continue;
        e.key.*flag = true;
        chord.erase(0, prefix.size());
    }
    e.key.code = key_named(chord);
    platform.post(e);
    e.type = sf::Event::KeyReleased;
    e.key.control = e.key.shift = e.key.alt = false;
    platform.post(e);
}

constexpr int kAnswer = 3;  // frames ImGui needs to answer to hands and sizes

bool* shown_named(view::Shown& shown, const std::string& name) {
    const std::map<std::string, bool*> names{{"top_bar", &shown.top_bar},   {"cautions", &shown.cautions},
                                             {"cutaway", &shown.cutaway},   {"meters", &shown.meters},
                                             {"inside", &shown.inside},     {"strip", &shown.strip},
                                             {"drawer", &shown.drawer},     {"split", &shown.strip_split},
                                             {"suspects", &shown.suspects}, {"lesson", &shown.lesson}};
    const auto it = names.find(name);
    return it == names.end() ? nullptr : it->second;
}

}  // namespace

std::string ScriptPlayer::take_snapshot() {
    std::string file;
    if (wait_ == 0) std::swap(file, snapshot_);
    return file;
}

ScriptPlayer::Check ScriptPlayer::take_check() {
    Check check;
    if (wait_ == 0) std::swap(check, check_);
    return check;
}

void ScriptPlayer::advance(Hands& hands) {
    if (wait_ > 0) {
        --wait_;
        return;
    }
    if (seeks()) return;
    while (next_ < lines_.size() && wait_ == 0 && snapshot_.empty() && !checking() && !seeks()) {
        const view::ScriptLine& line = lines_[next_];
        try {
            play(line, hands);
        } catch (const ScriptError& error) {
            throw ScriptError(fmt::format("line {}: {}", line.number, error.what()));
        }
        ++next_;
    }
}

void ScriptPlayer::look(const paint::Ledger& ledger, Platform& platform, double scale) {
    try {
        seeker_.look(ledger, platform, scale);
    } catch (const ScriptError& error) {
        throw ScriptError(fmt::format("line {}: {}", lines_[next_ - 1].number, error.what()));
    }
}

/// One line being played: its words as numbers, places and targets.
struct ScriptPlayer::Line {
    const std::vector<std::string>& w;
    Hands& hands;

    const std::string& act() const { return w[0]; }
    void need(std::size_t n) const {
        if (w.size() != n + 1)
            throw ScriptError(fmt::format("'{}' takes {} words after it, not {}", act(), n, w.size() - 1));
    }
    int px(std::size_t i) const { return static_cast<int>(std::lround(number(w[i]) * hands.scale)); }
    /// Two numbers, or a target's name.
    view::Point place() const {
        if (w.size() == 2 && hands.target) return hands.target(w[1]) * hands.scale;
        need(2);
        return {number(w[1]) * hands.scale, number(w[2]) * hands.scale};
    }
};

void ScriptPlayer::play(const view::ScriptLine& line, Hands& hands) {
    const Line l{line.words, hands};
    if (play_frame(l) || play_window(l) || play_hand(l) || play_cue(l)) return;
    if (!hands.other) throw ScriptError(fmt::format("unknown act '{}'", l.act()));
    hands.other(l.w);
}

// What waits for a frame or is made of one.
bool ScriptPlayer::play_frame(const Line& l) {
    const std::string& act = l.act();
    if (act == "frames") {
        l.need(1);
        wait_ = std::max(0, static_cast<int>(number(l.w[1])));
    } else if (act == "snapshot") {
        l.need(1);
        snapshot_ = l.w[1];
        wait_ = kAnswer;
    } else if (act == "check" || act == "state" || act == "corners") {
        l.need(2);
        check_ = {l.w[1], l.w[2], act == "check", act == "corners"};
        wait_ = kAnswer;
    } else if (act == "quit") {
        l.hands.platform.close();
    } else {
        return false;
    }
    return true;
}

// What the window is like.
bool ScriptPlayer::play_window(const Line& l) {
    const std::string& act = l.act();
    const auto& w = l.w;
    Hands& hands = l.hands;
    if (act == "theme") {
        l.need(1);
        if (w[1] != "light" && w[1] != "dark") throw ScriptError("theme is light or dark");
        hands.window.dark = w[1] == "dark";
    } else if (act == "language") {
        l.need(1);
        hands.window.language = w[1];
        wait_ = kAnswer;
    } else if (act == "scale") {
        l.need(1);
        hands.window.scale = std::clamp(number(w[1]) / 100.0, 0.5, 3.0);
        wait_ = kAnswer;
    } else if (act == "size") {
        l.need(2);
        hands.platform.resize(static_cast<unsigned>(std::clamp(number(w[1]), 320.0, 8192.0)),
                              static_cast<unsigned>(std::clamp(number(w[2]), 240.0, 8192.0)));
        wait_ = kAnswer;
    } else if (act == "show") {
        l.need(2);
        bool* which = shown_named(hands.window.shown, w[1]);
        if (which == nullptr) throw ScriptError(fmt::format("there is nothing called '{}' to show", w[1]));
        *which = w[2] == "on";
    } else if (act == "fold") {
        l.need(1);
        hands.window.shown.strip_wish = w[1] == "open"     ? view::StripWish::open
                                        : w[1] == "folded" ? view::StripWish::folded
                                                           : view::StripWish::fit;
    } else if (act == "tab" || act == "drawer") {
        l.need(1);
        hands.choose_tab(act == "tab" ? "strip" : "drawer", w[1]);
    } else {
        return false;
    }
    return true;
}

// Mouse and keyboard.
bool ScriptPlayer::play_hand(const Line& l) {
    const std::string& act = l.act();
    Platform& platform = l.hands.platform;
    if (act == "press" && l.w.size() == 3 && l.w[1] == "glowing") return false;
    if (act == "move" || act == "click" || act == "press" || act == "release") {
        const view::Point at = l.place();
        const int x = static_cast<int>(std::lround(at.x)), y = static_cast<int>(std::lround(at.y));
        platform.post(mouse_move(x, y));
        if (act == "click" || act == "press") platform.post(mouse_button(true, x, y));
        if (act == "click" || act == "release") platform.post(mouse_button(false, x, y));
    } else if (act == "wheel") {
        l.need(3);
        sf::Event e{};
        e.type = sf::Event::MouseWheelScrolled;
        e.mouseWheelScroll = {sf::Mouse::VerticalWheel, static_cast<float>(number(l.w[3])), l.px(1), l.px(2)};
        platform.post(e);
    } else if (act == "key") {
        l.need(1);
        post_key(platform, l.w[1]);
    } else if (act == "type") {
        l.need(1);
        for (const sf::Uint32 letter : sf::String::fromUtf8(l.w[1].begin(), l.w[1].end())) {
            sf::Event e{};
            e.type = sf::Event::TextEntered;
            e.text.unicode = letter;
            platform.post(e);
        }
    } else {
        return false;
    }
    wait_ = kAnswer;
    return true;
}

// What goes by the cues alone.
bool ScriptPlayer::play_cue(const Line& l) {
    const std::string& act = l.act();
    if (act == "press") {  // play_hand left it
        seeker_.press_glowing(static_cast<int>(number(l.w[2])));
    } else if (act == "cues") {
        l.need(1);
        l.hands.window.cues = l.w[1] == "moving"  ? view::Cues::moving
                              : l.w[1] == "still" ? view::Cues::still
                                                  : view::Cues::off;
    } else if (act == "carry") {
        l.need(1);
        seeker_.carry_moving();
    } else if (act == "let") {
        l.need(1);
        seeker_.let_go();
    } else {
        return false;
    }
    return true;
}

}  // namespace sunshaft::shell
