#include "model/verdict.hpp"

#include "text/figure.hpp"
#include "text/language.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace sunshaft::view {
namespace {

bool has_rectifier(const meter::Reading& r) {
    return std::ranges::any_of(r.stages, [](const meter::Stage& s) { return s.name == "rectifier"; });
}

// The stage between terminals and detector that takes away most of the wave's rms, where that is a tenth of a percent
// or more.
std::optional<std::pair<std::string, double>> costliest(const meter::Reading& r) {
    std::optional<std::pair<std::string, double>> found;
    std::optional<double> before;
    for (const meter::Stage& s : r.stages) {
        if (s.name == "detector" || s.name == "rectifier" || s.name == "display") break;
        if (before && *before > 0.0 && s.number_is == "rms") {
            const double lost = 1.0 - s.number / *before;
            if (lost > 1e-3 && (!found || lost > found->second)) found = {s.name, lost};
        }
        if (s.number_is == "rms") before = s.number;
    }
    return found;
}

}  // namespace

std::optional<double> wanted(const meter::Reading& r, meter::Mode mode) {
    using enum meter::Mode;
    switch (mode) {
        case dcv:
        case dcv_loaded:
        case dca: return r.truth.mean;
        case acdcv: return r.truth.rms;
        case acv:
        case aca:
            // A rectifying meter is marked in rms of a sine: pi / (2 sqrt 2) times the rectified mean.
            if (has_rectifier(r) && r.truth.rectified_mean)
                return *r.truth.rectified_mean * std::numbers::pi / (2.0 * std::numbers::sqrt2);
            return r.truth.rms_ac;
        case acv_lowpass:
        case acv_loaded: return r.truth.rms_ac;
        case hz: return r.truth.fundamental_Hz;
        default: return std::nullopt;
    }
}

bool in_own_band(const meter::Reading& r, meter::Mode mode) {
    const auto should = wanted(r, mode);
    if (!should || !r.value || !r.low || !r.high || r.over_range) return false;
    // Half a count is the display's own.
    const double count = 0.5 * r.resolution;
    return *should >= *r.low - count && *should <= *r.high + count;
}

std::string verdict(const Judged& first, const Judged& second, meter::Mode mode) {
    if (!first.reading || !second.reading || first.reading->unit != second.reading->unit) return "";
    for (const Judged* one : {&first, &second}) {
        const meter::Reading& r = *one->reading;
        if (r.over_range) return text::say("{} is over its range", one->name);
        if (!wanted(r, mode) || !r.value || !r.low || !r.high) return "";
        if (in_own_band(r, mode)) continue;
        if (const auto stage = costliest(r))
            return text::say("{}: its {} takes {}", one->name, text::tr(stage->first), text::percent(stage->second));
        return text::say("{} is off: check its leads, range and battery", one->name);
    }
    const bool apart = *first.reading->high < *second.reading->low || *second.reading->high < *first.reading->low;
    return apart ? text::tr("Neither is faulty") : text::tr("Both agree");
}

}  // namespace sunshaft::view
