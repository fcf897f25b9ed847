#include "solar/sky.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>
#include <sstream>
#include <stdexcept>

#include "text/language.hpp"

namespace sunshaft::solar {
namespace {

double cosine(double deg) { return std::cos(deg * degree); }

// The beam's share on the plane over that on the ground; near the horizon the latter is taken as no less than of 89
// degrees, as the sources do.
double beam_ratio(double incidence_deg, double zenith_deg) {
    return std::max(cosine(incidence_deg), 0.0) / std::max(cosine(zenith_deg), 0.01745);
}

// F11 F12 F13 F21 F22 F23 of the eight bins of clearness, and where each begins.
constexpr std::array<std::array<double, 6>, 8> bins = {{{-0.008, 0.588, -0.062, -0.060, 0.072, -0.022},
                                                        {0.130, 0.683, -0.151, -0.019, 0.066, -0.029},
                                                        {0.330, 0.487, -0.221, 0.055, -0.064, -0.026},
                                                        {0.568, 0.187, -0.295, 0.109, -0.152, -0.014},
                                                        {0.873, -0.392, -0.362, 0.226, -0.462, 0.001},
                                                        {1.132, -1.237, -0.412, 0.288, -0.823, 0.056},
                                                        {1.060, -1.600, -0.359, 0.264, -1.127, 0.131},
                                                        {0.678, -0.327, -0.250, 0.156, -1.377, 0.251}}};
constexpr std::array<double, 8> begins = {1.0, 1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2};

double number(const std::string& text) {
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
        throw std::invalid_argument(text::say("\"{}\" is no number", text));
    return value;
}

}  // namespace

double air_mass(double zenith_deg) {
    const double z = std::clamp(zenith_deg, 0.0, 90.0);
    return 1 / (cosine(z) + 0.50572 * std::pow(96.07995 - z, -1.6364));
}

PlaneIrradiance hay_davies(const Irradiance& arriving, const SunPosition& sun, double extraterrestrial,
                           const Plane& plane, double ground_albedo) {
    PlaneIrradiance on = plane_of_array(arriving, sun, plane, ground_albedo);
    const double round_sun = std::clamp(arriving.direct_normal / extraterrestrial, 0.0, 1.0);
    on.sky = on.sky * (1 - round_sun) +
             arriving.diffuse_horizontal * round_sun * beam_ratio(on.incidence_deg, sun.zenith_deg);
    return on;
}

PerezSky perez_sky(const Irradiance& arriving, const SunPosition& sun, double extraterrestrial, const Plane& plane) {
    const double dhi = arriving.diffuse_horizontal;
    if (!(dhi > 0.0)) return {0.0, 0.0, 0.0};
    constexpr double kappa = 1.041;
    const double z = sun.zenith_deg * degree, z3 = kappa * z * z * z;
    const double clearness = ((dhi + arriving.direct_normal) / dhi + z3) / (1 + z3);
    const double brightness = dhi * air_mass(sun.zenith_deg) / extraterrestrial;
    const auto bin = static_cast<std::size_t>(
        std::max<std::ptrdiff_t>(0, std::upper_bound(begins.begin(), begins.end(), clearness) - begins.begin() - 1));
    const auto& f = bins[bin];
    const double f1 = std::max(0.0, f[0] + f[1] * brightness + f[2] * z), f2 = f[3] + f[4] * brightness + f[5] * z;
    const double incidence = plane_of_array({}, sun, plane).incidence_deg;
    const double a = std::max(0.0, cosine(incidence)), b = std::max(cosine(85.0), std::cos(z));
    return {dhi * 0.5 * (1 - f1) * (1 + cosine(plane.tilt_deg)), dhi * f1 * a / b,
            dhi * f2 * std::sin(plane.tilt_deg * degree)};
}

PlaneIrradiance perez(const Irradiance& arriving, const SunPosition& sun, double extraterrestrial, const Plane& plane,
                      double ground_albedo) {
    PlaneIrradiance on = plane_of_array(arriving, sun, plane, ground_albedo);
    const PerezSky sky = perez_sky(arriving, sun, extraterrestrial, plane);
    on.sky = std::max(0.0, sky.isotropic + sky.circumsolar + sky.horizon);
    return on;
}

Transposition parse_transposition(const std::string& text) {
    if (text == "isotropic") return Transposition::isotropic;
    if (text == "hay-davies") return Transposition::hay_davies;
    if (text == "perez") return Transposition::perez;
    throw std::invalid_argument(text::say("is {}, expected isotropic, hay-davies or perez", text));
}

PlaneIrradiance transposed(Transposition model, const Irradiance& arriving, const SunPosition& sun,
                           double extraterrestrial, const Plane& plane, double ground_albedo) {
    switch (model) {
        case Transposition::isotropic: return plane_of_array(arriving, sun, plane, ground_albedo);
        case Transposition::hay_davies: return hay_davies(arriving, sun, extraterrestrial, plane, ground_albedo);
        case Transposition::perez: break;
    }
    return perez(arriving, sun, extraterrestrial, plane, ground_albedo);
}

double incidence_modifier(double incidence_deg, double a) {
    const double c = std::max(0.0, cosine(incidence_deg));
    return std::expm1(-c / a) / std::expm1(-1 / a);
}

Horizon::Horizon(const std::string& text) {
    std::istringstream words(text);
    for (std::string word; words >> word;) {
        const std::size_t colon = word.find(':');
        if (colon == std::string::npos) throw std::invalid_argument(text::say("\"{}\" is no azimuth:height", word));
        const Point p{number(word.substr(0, colon)), number(word.substr(colon + 1))};
        if (!(p.azimuth >= 0 && p.azimuth <= 360 && p.height >= 0 && p.height <= 90))
            throw std::invalid_argument(text::say("\"{}\" lies outside 0 to 360 : 0 to 90", word));
        points_.push_back(p);
    }
    std::sort(points_.begin(), points_.end(), [](const Point& a, const Point& b) { return a.azimuth < b.azimuth; });
}

double Horizon::height_deg(double azimuth_deg) const {
    if (points_.empty()) return 0.0;
    const auto after =
        std::find_if(points_.begin(), points_.end(), [azimuth_deg](const Point& p) { return p.azimuth > azimuth_deg; });
    Point b = after == points_.end() ? points_.front() : *after;
    Point a = after == points_.begin() ? points_.back() : *(after - 1);
    if (after == points_.end()) b.azimuth += 360;
    if (after == points_.begin()) a.azimuth -= 360;
    const double width = b.azimuth - a.azimuth;
    return width > 0 ? a.height + (b.height - a.height) * (azimuth_deg - a.azimuth) / width : b.height;
}

}  // namespace sunshaft::solar
