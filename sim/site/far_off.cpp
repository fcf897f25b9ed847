#include "site/far_off.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

constexpr double far = 30.0;  // times

// How many times more or less than the usual value; 1: as usual, or nothing to compare with.
double times_off(double value, double usual) {
    if (!std::isfinite(value) || !std::isfinite(usual)) return 1.0;
    if (usual == 0.0) return 1.0 + std::abs(value);
    const double ratio = std::abs(value / usual);
    return ratio > 0.0 ? std::max(ratio, 1.0 / ratio) : 1.0;
}

}  // namespace

std::string far_off(const Scenario& scenario, const std::vector<std::string_view>& sections) {
    const Key* worst = nullptr;
    double most = far;
    for (const bool anywhere : {false, true}) {
        for (const Key& key : keys()) {
            const Value value = get(scenario, key), usual = default_of(key);
            if (!std::holds_alternative<double>(value)) continue;
            if (!anywhere && std::find(sections.begin(), sections.end(), key.section()) == sections.end()) continue;
            const double off = times_off(std::get<double>(value), std::get<double>(usual));
            if (off > most) most = off, worst = &key;
        }
        if (worst) break;
    }
    if (!worst) return {};
    return text::say("; look at {}: it is {}, {} is usual", worst->path, text_of(get(scenario, *worst)),
                     text_of(default_of(*worst)));
}

}  // namespace sunshaft::site
