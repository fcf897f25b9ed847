// The real window under a display of its own, moved by a real mouse and keyboard (xdotool), watched through the file it
// keeps with --state. Nothing sleeps for a fixed time: every wait polls until a thing is so, or gives up in words.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace sunshaft::test {

// Xvfb on a free display for as long as it lives.
class Display {
  public:
    // `more`: further arguments of Xvfb.
    explicit Display(const std::vector<std::string>& more = {});
    ~Display();
    void close();  // as when the desktop goes away
    Display(const Display&) = delete;
    Display& operator=(const Display&) = delete;
    const std::string& name() const { return name_; }

  private:
    pid_t pid_ = -1;
    std::string name_;
};

// A folder that is gone afterwards; the window's XDG folders.
class Scratch {
  public:
    Scratch();
    ~Scratch();
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

class Window {
  public:
    Window(const Display& display, const Scratch& scratch, const std::vector<std::string>& arguments);
    ~Window();
    Window(const Window&) = delete;
    Window& operator=(const Window&) = delete;

    // As last told; null before the first time.
    nlohmann::json state() const;
    // The first state for which `so` holds. Throws std::runtime_error naming `what` after `patience` seconds, or when
    // the program ended.
    nlohmann::json until(const std::string& what, const std::function<bool(const nlohmann::json&)>& so,
                         double patience = 60.0) const;

    void click(const std::string& target, int button = 1) const;
    // Turns the wheel down over it.
    void wheel_down(const std::string& target, int notches) const;
    // The mouse there and no button; it rests until something else moves it.
    void rest_on(const std::string& target) const;
    // Holds the left button from one place to another.
    void drag(const std::string& from, const std::string& to) const;
    void key(const std::string& chord) const;
    void type(const std::string& words) const;
    void resize(int width, int height) const;
    // Ctrl+Q, and its exit status.
    int close();
    // The signal sent (0: none), and the exit status; minus the signal that ended it, if one did.
    int ended_by(int signal);

  private:
    struct Pixel {
        int x, y;
    };
    Pixel middle(const std::string& target) const;
    void hands(const std::string& orders) const;
    const std::string& id() const;
    void at(const Pixel& place, const std::string& orders) const;
    bool ended() const;
    std::string display_;
    std::filesystem::path file_;
    mutable pid_t pid_ = -1;
    mutable int status_ = -1;
    mutable std::string id_;           // the window's, for xdotool
    mutable double hands_done_ = 0.0;  // s of the wall clock
};

// A script played in the window: how the program ended, and what it said.
struct Played {
    Played(const Display& display, const Scratch& scratch, const std::string& site, const std::string& script);
    int status = -1;
    std::string words;
};

// A bench on which scripts are played one after the other, each in a window of its own.
struct Scripted {
    std::string site = "hill-orchard", first = "";  // what every script begins with
    Display display{};
    Scratch scratch{};
    std::string told = (scratch.path() / "told").string(), looks = (scratch.path() / "looks").string();

    // What it told. Throws std::runtime_error when the program does not end well.
    std::vector<nlohmann::json> lines(const std::string& script) const;
    // Lines of a script: tell how things stand now; look for what lies on what, which clashes() tells afterwards.
    std::string state() const { return "wait 0\nstate " + told + " x\n"; }
    std::string look(const std::string& label) const { return "check " + looks + " \"" + label + "\"\n"; }
    std::string clashes() const;
};

// What a script told: a JSON object a line.
std::vector<nlohmann::json> lines_in(const std::filesystem::path& told);
// What lies on what where a script checked, in words, a line each; empty: nothing.
std::string clashes_in(const std::filesystem::path& looks);

// The headless program's answer to `arguments --json`.
nlohmann::json program_says(const std::string& arguments);

}  // namespace sunshaft::test
