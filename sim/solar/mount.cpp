#include "solar/mount.hpp"
#include "text/language.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <sstream>
#include <stdexcept>

namespace sunshaft::solar {
namespace {

[[noreturn]] void unclear() {
    throw std::invalid_argument(text::tr(
        "expected fixed, single-axis, single-axis 45 (5 to 90 deg to either side), or month:tilt pairs as 4:10 10:45"));
}

double number(const std::string& text, double low, double high) {
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !(value >= low && value <= high)) unclear();
    return value;
}

}  // namespace

Plane Mount::plane(const Plane& fixed, const SunPosition& sun, int month) const {
    if (tracks) return tracked(axis, sun);
    Plane now = fixed;
    if (seasons.empty()) return now;
    now.tilt_deg = seasons.back().tilt_deg;
    for (const Season& s : seasons)
        if (month >= s.month) now.tilt_deg = s.tilt_deg;
    return now;
}

Mount parse_mount(const std::string& text) {
    Mount m;
    std::istringstream in(text);
    std::string word;
    if (!(in >> word)) unclear();
    if (word == "fixed" || word == "single-axis") {
        m.tracks = word == "single-axis";
        if (m.tracks && in >> word) m.axis.most_deg = number(word, 5.0, 90.0);
        if (in >> word) unclear();
        return m;
    }
    do {
        const std::size_t colon = word.find(':');
        if (colon == std::string::npos) unclear();
        const double month = number(word.substr(0, colon), 1, 12);
        if (month != std::floor(month) || (!m.seasons.empty() && month <= m.seasons.back().month)) unclear();
        m.seasons.push_back({static_cast<int>(month), number(word.substr(colon + 1), 0, 90)});
    } while (in >> word);
    return m;
}

std::string words_of(const Mount& m) {
    if (m.tracks)
        return text::say("turned about a level axis from north to south, {:g} deg to either side", m.axis.most_deg);
    std::string all;
    for (const Mount::Season& s : m.seasons)
        all += all.empty() ? text::say("tilted {:g} deg from month {}", s.tilt_deg, s.month)
                           : text::say(", {:g} deg from month {}", s.tilt_deg, s.month);
    return all;
}

}  // namespace sunshaft::solar
