#include "model/window_state.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

namespace sunshaft::view {

namespace {

std::string_view trimmed(std::string_view s) {
    const auto first = s.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return s.substr(first, s.find_last_not_of(" \t\r") - first + 1);
}

void read(std::string_view value, int low, int high, int& out) {
    int v = 0;
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), v);
    if (error == std::errc{} && end == value.data() + value.size() && v >= low && v <= high) out = v;
}

void read(std::string_view value, bool& out) {
    if (value == "yes") out = true;
    if (value == "no") out = false;
}

// "es": small letters, as the catalogues' files are called.
void read(std::string_view value, std::string& out) {
    const auto letter = [](char c) { return c >= 'a' && c <= 'z'; };
    if (value.size() <= 8 && std::all_of(value.begin(), value.end(), letter)) out = value;
}

void read_scale(std::string_view value, double& out) {
    int percent = 0;
    read(value, 0, 300, percent);
    if (percent >= 50) out = percent / 100.0;
}

}  // namespace

std::string to_text(const WindowState& s) {
    const auto word = [](bool b) { return b ? "yes" : "no"; };
    std::string out;
    const auto line = [&out](std::string_view key, const auto& value) { out += fmt::format("{} = {}\n", key, value); };
    line("width", s.width_px);
    line("height", s.height_px);
    line("x", s.x_px);
    line("y", s.y_px);
    line("dark", word(s.dark));
    if (!s.language.empty()) line("language", s.language);
    if (s.calm) line("motion", *s.calm ? "reduced" : "full");
    line("scale_percent", static_cast<int>(std::lround(s.scale * 100.0)));
    line("projector", word(s.projector));
    line("top_bar", word(s.shown.top_bar));
    line("cutaway", word(s.shown.cutaway));
    line("meters", word(s.shown.meters));
    line("inside", word(s.shown.inside));
    line("strip", word(s.shown.strip));
    line("strip_split", word(s.shown.strip_split));
    line("strip_wish", static_cast<int>(s.shown.strip_wish));
    line("drawer_open", word(s.shown.drawer));
    line("suspects", word(s.shown.suspects));
    line("strip_left", s.strip_left);
    line("strip_right", s.strip_right);
    line("drawer", s.drawer);
    return out;
}

WindowState window_state_from(std::string_view text) {
    WindowState s;
    while (!text.empty()) {
        const auto end = text.find('\n');
        const std::string_view line = text.substr(0, end);
        text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
        const auto equals = line.find('=');
        if (equals == std::string_view::npos) continue;
        const std::string_view key = trimmed(line.substr(0, equals));
        const std::string_view value = trimmed(line.substr(equals + 1));
        int wish = static_cast<int>(s.shown.strip_wish);
        if (key == "width") read(value, 320, 16384, s.width_px);
        else if (key == "height") read(value, 240, 16384, s.height_px);
        else if (key == "x") read(value, -1, 32767, s.x_px);
        else if (key == "y") read(value, -1, 32767, s.y_px);
        else if (key == "dark") read(value, s.dark);
        else if (key == "language") read(value, s.language);
        else if (key == "motion" && (value == "reduced" || value == "full")) s.calm = value == "reduced";
        else if (key == "scale_percent") read_scale(value, s.scale);
        else if (key == "projector") read(value, s.projector);
        else if (key == "top_bar") read(value, s.shown.top_bar);
        else if (key == "cutaway") read(value, s.shown.cutaway);
        else if (key == "meters") read(value, s.shown.meters);
        else if (key == "inside") read(value, s.shown.inside);
        else if (key == "strip") read(value, s.shown.strip);
        else if (key == "strip_split") read(value, s.shown.strip_split);
        else if (key == "strip_wish") read(value, 0, 2, wish);
        else if (key == "suspects") read(value, s.shown.suspects);
        else if (key == "drawer_open") read(value, s.shown.drawer);
        else if (key == "strip_left") read(value, 0, 31, s.strip_left);
        else if (key == "strip_right") read(value, 0, 31, s.strip_right);
        else if (key == "drawer") read(value, 0, 31, s.drawer);
        s.shown.strip_wish = static_cast<StripWish>(wish);
    }
    return s;
}

WindowState recall(const std::filesystem::path& file) { return window_state_from(read_text(file).value_or("")); }

bool remember(const std::filesystem::path& file, const WindowState& state) { return write_whole(file, to_text(state)); }

}  // namespace sunshaft::view
