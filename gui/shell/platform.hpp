#pragma once
// The window of the operating system (SFML), Dear ImGui inside it, and the events between them.
#include <SFML/Graphics/Image.hpp>
#include <SFML/System/Clock.hpp>
#include <SFML/Window/Cursor.hpp>
#include <SFML/Window/Event.hpp>
#include <SFML/Window/Window.hpp>

#include <deque>
#include <filesystem>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "shell/input.hpp"

namespace sunshaft::shell {

class Platform {
  public:
    struct Wish {
        int width_px = 1600;
        int height_px = 1000;
        int x_px = -1;  // -1: in the middle of the desktop
        int y_px = -1;
        std::string title;
    };

    explicit Platform(const Wish& wish);
    ~Platform();
    Platform(const Platform&) = delete;
    Platform& operator=(const Platform&) = delete;

    bool open() const { return window_.isOpen() && !closing_; }
    void close() { closing_ = true; }

    /// Takes the events that wait, tells ImGui and fills `input`. True when there were any. Of a press and its
    /// release that came together the release is kept for the next call, so that a fast click is never lost.
    bool gather(Input& input, double scale);
    bool more_waiting() const { return !queue_.empty(); }
    /// An event as if it had come from the desktop (scripts).
    void post(const sf::Event& event) { queue_.push_back(event); }

    /// Throws away ImGui's font texture; call after the fonts were built anew.
    void fonts_changed();
    void begin_frame(double dt);
    /// The draw lists of the frame from the lowest to the highest, after ImGui::Render().
    static std::vector<const void*> layers();
    /// Of the last frame: where the corners of each draw list stand, x and y in turn, by the window's name.
    static std::map<std::string, std::vector<float>> corners();
    /// Draws what ImGui holds into the back buffer. Returns the corners of the longest draw list.
    int submit(unsigned clear_rgb);
    void show() { window_.display(); }

    /// The back buffer as it stands after submit().
    sf::Image pixels() const;

    /// Seconds since the window opened. By the clock, or, while a script plays, by its frames: the same on every run.
    double now() const { return before_ + (by_frames_ ? 0.0 : clock()); }
    void one_frame(double seconds) { before_ = now() + seconds, by_frames_ = true; }
    void by_clock() {
        if (std::exchange(by_frames_, false)) clock_.restart();
    }
    sf::Vector2u size() const { return window_.getSize(); }
    sf::Vector2i place() const { return window_.getPosition(); }
    void rename(const std::string& title) { window_.setTitle(sf::String::fromUtf8(title.begin(), title.end())); }
    void resize(unsigned width, unsigned height) { window_.setSize({width, height}); }

  private:
    void handle(const sf::Event& event, Input& input, double scale);
    void lose_focus(Input& input);
    void take_button(std::size_t which, bool down, Input& input);
    double clock() const { return static_cast<double>(clock_.getElapsedTime().asMicroseconds()) * 1e-6; }
    void set_cursor();

    std::map<int, sf::Cursor> cursors_;  // outlives the window, which sets its cursor once more as it closes
    sf::Window window_;
    sf::Clock clock_;
    double before_ = 0.0;  // s until the clock was started
    bool by_frames_ = false;
    std::deque<sf::Event> queue_;
    std::string clipboard_;
    int cursor_ = -2;
    bool closing_ = false;
    bool focused_ = true;
    double last_move_ = 0.0;
    double last_click_ = -1.0;
    view::Point last_click_at_;
};

/// Writes a picture as PNG, whole or not at all; makes its folder. False when it cannot be.
bool save_png(const sf::Image& image, const std::filesystem::path& file);

}  // namespace sunshaft::shell
