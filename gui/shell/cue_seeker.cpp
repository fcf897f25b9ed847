#include "shell/cue_seeker.hpp"

#include <algorithm>
#include <cmath>

#include "model/script.hpp"

namespace sunshaft::shell {

namespace {

constexpr int kPatience = 420, kRests = 3;  // frames

std::vector<view::Box> cues(const paint::Ledger& ledger, const char* which) {
    std::vector<view::Box> found;
    for (const auto& e : ledger.entries())
        if (e.kind == paint::Ledger::Kind::cue && e.words == which && !e.seen.empty()) found.push_back(e.seen);
    return found;
}

}  // namespace

sf::Event mouse_move(int x, int y) {
    sf::Event e{};
    e.type = sf::Event::MouseMoved;
    e.mouseMove = {x, y};
    return e;
}

sf::Event mouse_button(bool down, int x, int y) {
    sf::Event e{};
    e.type = down ? sf::Event::MouseButtonPressed : sf::Event::MouseButtonReleased;
    e.mouseButton.button = sf::Mouse::Left;
    e.mouseButton.x = x;
    e.mouseButton.y = y;
    return e;
}

void CueSeeker::carry_moving() { want_ = Want::moving, way_.clear(), patience_ = kPatience; }
void CueSeeker::let_go() { steps_.push_back({Step::Kind::release, hand_}); }
void CueSeeker::press_glowing(int nth) {
    want_ = Want::glowing, nth_ = static_cast<std::size_t>(std::max(1, nth)), patience_ = kPatience;
}

void CueSeeker::look(const paint::Ledger& ledger, Platform& platform, double scale) {
    if (wait_ > 0) {
        --wait_;
        return;
    }
    using Kind = Step::Kind;
    if (!steps_.empty()) {
        const Step step = steps_.front();
        steps_.pop_front();
        const auto hands = cues(ledger, "hand");
        if (step.kind == Kind::expect_hand &&
            std::ranges::none_of(hands, [&](const view::Box& b) { return b.inset(-1.5).contains(step.at); }))
            throw view::ScriptError("no hand-shaped pointer shows over it");
        const int x = static_cast<int>(std::lround(step.at.x * scale)),
                  y = static_cast<int>(std::lround(step.at.y * scale));
        if (step.kind == Kind::move) platform.post(mouse_move(x, y));
        if (step.kind == Kind::press || step.kind == Kind::release)
            platform.post(mouse_button(step.kind == Kind::press, x, y));
        hand_ = step.at;
        wait_ = kRests;
        return;
    }
    if (want_ == Want::nothing) return;
    const auto found = cues(ledger, want_ == Want::moving ? "moving" : "glowing");
    if (want_ == Want::moving && !found.empty()) {
        way_.push_back(found.front().centre());
    } else if (want_ == Want::moving && way_.size() > 1) {
        const view::Point from = way_.front();
        const view::Point to =
            *std::ranges::max_element(way_, {}, [&](const view::Point& at) { return view::distance(at, from); });
        steps_ = {{Kind::move, from},
                  {Kind::expect_hand, from},
                  {Kind::press, from},
                  {Kind::move, view::lerp(from, to, 0.5)},
                  {Kind::move, to}};
        want_ = Want::nothing;
    } else if (want_ == Want::glowing && found.size() >= nth_) {
        const view::Point at = found[nth_ - 1].centre();
        steps_ = {{Kind::move, at}, {Kind::expect_hand, at}, {Kind::press, at}, {Kind::release, at}};
        want_ = Want::nothing;
    } else if (--patience_ < 0) {
        throw view::ScriptError(want_ == Want::moving ? "nothing moves" : "there is not so much that glows");
    }
}

}  // namespace sunshaft::shell
