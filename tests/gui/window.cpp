#include "window.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <stdexcept>
#include <thread>
#include <utility>

namespace sunshaft::test {
namespace {

using nlohmann::json;
using Clock = std::chrono::steady_clock;

void pause() { std::this_thread::sleep_for(std::chrono::milliseconds(30)); }

std::vector<char*> words_of(std::vector<std::string>& words) {
    std::vector<char*> out;
    for (std::string& w : words) out.push_back(w.data());
    out.push_back(nullptr);
    return out;
}

void end(pid_t pid) {
    if (pid <= 0) return;
    kill(pid, SIGTERM);
    waitpid(pid, nullptr, 0);
}

}  // namespace

Display::Display(const std::vector<std::string>& more) {
    int ends[2];
    if (pipe(ends) != 0) throw std::runtime_error("no pipe");
    pid_ = fork();
    if (pid_ == 0) {
        ::close(ends[0]);
        const int null = open("/dev/null", O_WRONLY);
        dup2(null, 1);
        dup2(null, 2);
        // stays up between two windows
        std::vector<std::string> words{"Xvfb",      "-displayfd", std::to_string(ends[1]),
                                       "-screen",   "0",          "1920x1200x24",
                                       "-nolisten", "tcp",        "-noreset"};
        words.insert(words.end(), more.begin(), more.end());
        execvp("Xvfb", words_of(words).data());
        _exit(127);
    }
    ::close(ends[1]);
    std::string number;
    for (char ch = 0; read(ends[0], &ch, 1) == 1 && ch != '\n';) number.push_back(ch);
    ::close(ends[0]);
    if (number.empty()) throw std::runtime_error("Xvfb did not start: is it installed?");
    name_ = fmt::format(":{}", number);
}

Display::~Display() { close(); }

void Display::close() { end(std::exchange(pid_, -1)); }

Scratch::Scratch() {
    std::string name = (std::filesystem::temp_directory_path() / "sunshaft-window-XXXXXX").string();
    if (!mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
    path_ = name;
}

Scratch::~Scratch() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

Window::Window(const Display& display, const Scratch& scratch, const std::vector<std::string>& arguments)
    : display_(display.name()), file_(scratch.path() / "state.json") {
    std::filesystem::remove(file_);
    pid_ = fork();
    if (pid_ == 0) {
        setenv("DISPLAY", display_.c_str(), 1);
        setenv("XDG_STATE_HOME", scratch.path().c_str(), 1);
        setenv("XDG_CONFIG_HOME", scratch.path().c_str(), 1);
        setenv("LIBGL_ALWAYS_SOFTWARE", "1", 1);
        setenv("ASAN_OPTIONS", "detect_leaks=0", 0);  // the graphics driver keeps what it has
        std::vector<std::string> words{SUNSHAFT_WINDOW, "--state", file_.string()};
        words.insert(words.end(), arguments.begin(), arguments.end());
        execv(words[0].c_str(), words_of(words).data());
        _exit(127);
    }
}

Window::~Window() {
    if (!ended()) end(pid_);
}

bool Window::ended() const {
    if (pid_ > 0 && waitpid(pid_, &status_, WNOHANG) == pid_) pid_ = -1;
    return pid_ <= 0;
}

json Window::state() const {
    std::ifstream in(file_);
    if (!in) return {};
    return json::parse(in, nullptr, false);
}

json Window::until(const std::string& what, const std::function<bool(const json&)>& so, double patience) const {
    const auto start = Clock::now();
    json last;
    while (std::chrono::duration<double>(Clock::now() - start).count() < patience) {
        last = state();
        if (last.is_object() && so(last)) return last;
        if (ended())
            throw std::runtime_error(fmt::format("the window ended with {} while waiting for {}", status_, what));
        pause();
    }
    if (last.is_object()) last.erase("targets");
    throw std::runtime_error(fmt::format("waited {} s in vain for {}; it says {}", patience, what, last.dump()));
}

// Where it stands still: a card or a key that has just come may move once more in the next picture, and a hand presses
// what it sees, not what was there a moment before. A window that rests paints no next picture.
Window::Pixel Window::middle(const std::string& target) const {
    const std::string what = "a place called " + target;
    const auto there = [&](const json& j) { return j["targets"].contains(target); };
    json s = until(what, there);
    for (const auto start = Clock::now(); Clock::now() - start < std::chrono::seconds(20);) {
        const auto seen = Clock::now();
        json next = until(what, there);
        while (next["frame"] == s["frame"] && Clock::now() - seen < std::chrono::milliseconds(150)) {
            pause();
            next = until(what, there);
        }
        const bool still = next["targets"][target] == s["targets"][target];
        s = std::move(next);
        if (still) break;
    }
    const auto& box = s["targets"][target];
    return {box[0].get<int>() + box[2].get<int>() / 2, box[1].get<int>() + box[3].get<int>() / 2};
}

// The window stands somewhere on the display: places are relative to it.
void Window::hands(const std::string& orders) const {
    const std::string command = fmt::format("DISPLAY={} xdotool {} >/dev/null 2>&1", display_, orders);
    if (std::system(command.c_str()) != 0) throw std::runtime_error("xdotool failed: " + orders);
}

void Window::click(const std::string& target, int button) const {
    const Pixel at = middle(target);
    hands(fmt::format("search --name Sunshaft mousemove --window %1 {} {} click {}", at.x, at.y, button));
}

void Window::wheel_down(const std::string& target, int notches) const {
    const Pixel at = middle(target);
    hands(fmt::format("search --name Sunshaft mousemove --window %1 {} {} click --repeat {} --delay 20 5", at.x, at.y,
                      notches));
}

void Window::rest_on(const std::string& target) const {
    const Pixel at = middle(target);
    hands(fmt::format("search --name Sunshaft mousemove --window %1 {} {}", at.x, at.y));
}

void Window::drag(const std::string& from, const std::string& to) const {
    const Pixel a = middle(from), b = middle(to);
    hands(
        fmt::format("search --name Sunshaft mousemove --window %1 {} {} mousedown 1 mousemove --window %1 {} {} "
                    "mousemove --window %1 {} {} mouseup 1",
                    a.x, a.y, (a.x + b.x) / 2, (a.y + b.y) / 2, b.x, b.y));
}

void Window::key(const std::string& chord) const { hands("key " + chord); }
void Window::type(const std::string& words) const { hands(fmt::format("type '{}'", words)); }
void Window::resize(int width, int height) const {
    hands(fmt::format("search --name Sunshaft windowsize {} {}", width, height));
}

int Window::close() {
    key("ctrl+q");
    return ended_by(0);
}

int Window::ended_by(int signal) {
    if (signal != 0 && pid_ > 0) kill(pid_, signal);
    const auto start = Clock::now();
    while (!ended() && Clock::now() - start < std::chrono::seconds(30)) pause();
    if (pid_ > 0) throw std::runtime_error("the window does not close");
    return WIFEXITED(status_) ? WEXITSTATUS(status_) : -WTERMSIG(status_);
}

json program_says(const std::string& arguments) {
    const std::string command = fmt::format("{} {} --json", SUNSHAFT_PROGRAM, arguments);
    FILE* out = popen(command.c_str(), "r");
    if (!out) throw std::runtime_error("cannot run " + command);
    std::string text;
    char part[4096];
    for (std::size_t n = 0; (n = fread(part, 1, sizeof part, out)) > 0;) text.append(part, n);
    if (pclose(out) != 0) throw std::runtime_error("failed: " + command);
    return json::parse(text);
}

}  // namespace sunshaft::test
