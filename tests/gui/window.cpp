#include "window.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <stdexcept>
#include <thread>
#include <utility>

namespace sunshaft::test {
namespace {

using nlohmann::json;
using Clock = std::chrono::steady_clock;

void pause() { std::this_thread::sleep_for(std::chrono::milliseconds(8)); }

// The first line a command prints.
std::string said(const std::string& command) {
    FILE* out = popen(command.c_str(), "r");
    if (!out) throw std::runtime_error("cannot run " + command);
    char line[256] = "";
    if (!fgets(line, sizeof line, out)) line[0] = 0;
    if (pclose(out) != 0 || !line[0]) throw std::runtime_error("says nothing: " + command);
    return std::string(line, std::strcspn(line, "\n"));
}

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
        setenv("XDG_CACHE_HOME", scratch.path().c_str(), 1);
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
// what it sees, not what was there a moment before. So the picture answers to all that hands did before, and either
// rests or shows it where the one before did.
Window::Pixel Window::middle(const std::string& target) const {
    const auto asked = Clock::now();
    json before;
    const auto still = [&](const json& s) {
        if (!s["targets"].contains(target)) return false;
        // A mouse moved to where it was is no news: then no picture comes.
        const bool answers = s["gathered"].get<double>() >= hands_done_ ||
                             (s["rests"] == true && Clock::now() - asked > std::chrono::milliseconds(150));
        if (!answers || s["rests"] == true) return answers;
        const bool same = before.is_object() && before["frame"] != s["frame"] && before["targets"].contains(target) &&
                          before["targets"][target] == s["targets"][target];
        if (!before.is_object() || before["frame"] != s["frame"]) before = s;
        return same;
    };
    const json s = until("a place called " + target, still);
    const auto& box = s["targets"][target];
    return {box[0].get<int>() + box[2].get<int>() / 2, box[1].get<int>() + box[3].get<int>() / 2};
}

// When this returns the display has handed on what was done.
void Window::hands(const std::string& orders) const {
    const std::string command = fmt::format("DISPLAY={} xdotool {} >/dev/null 2>&1", display_, orders);
    if (std::system(command.c_str()) != 0) throw std::runtime_error("xdotool failed: " + orders);
    hands_done_ = std::chrono::duration<double>(Clock::now().time_since_epoch()).count();
}

const std::string& Window::id() const {
    if (id_.empty()) id_ = said(fmt::format("DISPLAY={} xdotool search --name Sunshaft", display_));
    return id_;
}

// The window stands somewhere on the display: places are relative to it.
void Window::at(const Pixel& place, const std::string& orders) const {
    hands(fmt::format("mousemove --window {} {} {} {}", id(), place.x, place.y, orders));
}

void Window::click(const std::string& target, int button) const {
    at(middle(target), fmt::format("mousedown {0} mouseup {0}", button));
}

void Window::wheel_down(const std::string& target, int notches) const {
    at(middle(target), fmt::format("click --repeat {} --delay 20 5", notches));
}

void Window::rest_on(const std::string& target) const { at(middle(target), ""); }

void Window::drag(const std::string& from, const std::string& to) const {
    const Pixel a = middle(from), b = middle(to);
    at(a, fmt::format("mousedown 1 mousemove --window {0} {1} {2} mousemove --window {0} {3} {4} mouseup 1", id(),
                      (a.x + b.x) / 2, (a.y + b.y) / 2, b.x, b.y));
}

void Window::key(const std::string& chord) const { hands("key " + chord); }
void Window::type(const std::string& words) const { hands(fmt::format("type '{}'", words)); }
// The window came up in the middle of the display: the size of the display it has room for in its corner alone, and no
// hand reaches beyond.
void Window::resize(int width, int height) const {
    hands(fmt::format("windowmove {0} 0 0 windowsize {0} {1} {2}", id(), width, height));
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

Played::Played(const Display& display, const Scratch& scratch, const std::string& site, const std::string& script) {
    const auto file = scratch.path() / "script", log = scratch.path() / "log";
    std::ofstream(file) << script << "quit\n";
    const std::string command = fmt::format(
        "DISPLAY={} XDG_STATE_HOME={} XDG_CACHE_HOME={} LIBGL_ALWAYS_SOFTWARE=1 {} {} --forget --size 1600x1000 "
        "--scale 100 --script {} > {} 2>&1",
        display.name(), scratch.path().string(), scratch.path().string(), SUNSHAFT_WINDOW, site, file.string(),
        log.string());
    const int ended = std::system(command.c_str());
    status = WIFEXITED(ended) ? WEXITSTATUS(ended) : -1;
    std::ifstream in(log);
    words.assign(std::istreambuf_iterator<char>(in), {});
}

std::vector<nlohmann::json> lines_in(const std::filesystem::path& told) {
    std::vector<nlohmann::json> all;
    std::ifstream in(told);
    for (std::string line; std::getline(in, line);) all.push_back(nlohmann::json::parse(line));
    return all;
}

std::vector<json> Scripted::lines(const std::string& script) const {
    std::filesystem::remove(told);
    const Played played(display, scratch, site, first + script);
    if (played.status != 0)
        throw std::runtime_error(fmt::format("the script ended with {}: {}", played.status, played.words));
    return lines_in(told);
}

std::string Scripted::clashes() const { return clashes_in(looks); }

std::string clashes_in(const std::filesystem::path& looks) {
    std::string words;
    for (const nlohmann::json& j : lines_in(looks))
        for (const nlohmann::json& clash : j["clashes"])
            words +=
                fmt::format("{}: '{}' under '{}' at {}\n", j["label"].get<std::string>(),
                            clash["what"].get<std::string>(), clash["over"].get<std::string>(), clash["at"].dump());
    return words;
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
