#include "day/mount.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <sstream>
#include <stdexcept>

#include "site/keys.hpp"

namespace sunshaft::day {
namespace {

constexpr double epoch_jd = 2440587.5;  // Julian day of 1970 begins
constexpr const char* expected = "expected fixed, single-axis, single-axis 45, or month:tilt pairs as 4:10 10:45";

double number(const std::string& text, double low, double high) {
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !(value >= low && value <= high))
        throw std::invalid_argument(
            fmt::format("{} is no number from {:g} to {:g}, {}", site::on_one_line(text, 40), low, high, expected));
    return value;
}

double tilt_of(const Mount& m, int month) {
    // Before the first of the year that of the last holds on.
    double tilt = m.seasons.back().tilt_deg;
    for (const Mount::Season& s : m.seasons)
        if (month >= s.month) tilt = s.tilt_deg;
    return tilt;
}

}  // namespace

Mount parse_mount(const std::string& text) {
    Mount m;
    std::istringstream in(text);
    std::string word;
    if (!(in >> word)) throw std::invalid_argument(fmt::format("nothing is said, {}", expected));
    if (word == "fixed" || word == "single-axis") {
        m.tracks = word == "single-axis";
        if (m.tracks && in >> word) m.axis.most_deg = number(word, 5.0, 90.0);
        if (in >> word)
            throw std::invalid_argument(fmt::format("{} is too much, {}", site::on_one_line(word, 40), expected));
        return m;
    }
    do {
        const std::size_t colon = word.find(':');
        if (colon == std::string::npos)
            throw std::invalid_argument(fmt::format("{} is no mount, {}", site::on_one_line(word, 40), expected));
        const double month = number(word.substr(0, colon), 1, 12);
        if (month != std::floor(month) || (!m.seasons.empty() && month <= m.seasons.back().month))
            throw std::invalid_argument(fmt::format("{}: months rise, and are whole, {}", word, expected));
        m.seasons.push_back({static_cast<int>(month), number(word.substr(colon + 1), 0, 90)});
    } while (in >> word);
    return m;
}

std::string words_of(const Mount& m) {
    if (m.tracks)
        return fmt::format("turned about a level axis from north to south, {:g} deg to either side", m.axis.most_deg);
    std::string all;
    for (const Mount::Season& s : m.seasons)
        all += fmt::format("{}{:g} deg from month {}", all.empty() ? "tilted " : ", ", s.tilt_deg, s.month);
    return all;
}

std::vector<Moment> moments(const Weather& weather, const Scenario& scenario, const Mount& mount, double longest) {
    const Array still(scenario);
    std::vector<Moment> list = moments(weather, still, longest);
    if (mount.still()) return list;
    const double offset_s = 3600 * utc_offset_h(scenario);
    Scenario turned = scenario;
    std::size_t n = 0;
    for (const Sky& row : weather.rows) {
        for (; n < list.size() && list[n].end <= row.end + 1e-6; ++n) {
            Moment& m = list[n];
            if (m.gap || !std::isnan(row.poa) || !(row.ghi > 0.0 || row.dhi > 0.0)) continue;
            Sky part = row;
            part.begin = m.begin, part.end = m.end;
            const double middle = 0.5 * (m.begin + m.end);
            if (mount.tracks) {
                // What air bends the sun by is nothing to an axis.
                const solar::Plane plane = solar::tracked(
                    mount.axis, solar::sun_position(middle / 86400 + epoch_jd, scenario.site.latitude_deg,
                                                    scenario.site.longitude_deg));
                turned.array.tilt_deg = plane.tilt_deg, turned.array.azimuth_deg = plane.azimuth_deg;
            } else {
                turned.array.tilt_deg = tilt_of(mount, date_of(middle + offset_s).month);
            }
            m = Array(turned).moment(part);
        }
    }
    return list;
}

}  // namespace sunshaft::day
