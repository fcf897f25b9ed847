#include <limits>
#include <utility>
#include <vector>

#include "meter/chain.hpp"

namespace sunshaft::meter {

double shipped_reading(const char* name, Mode mode, trace::View window) {
    static const std::vector<std::pair<std::string, Spec>> specs = [] {
        std::vector<std::pair<std::string, Spec>> found;
        for (const char* stem : {"average", "clamp-ac", "true-rms-drive"}) {
            try {
                found.emplace_back(stem, find_spec(stem));
            } catch (const SpecError&) {  // moved away: then it is not spoken of
            }
        }
        return found;
    }();
    for (const auto& [stem, spec] : specs)
        if (stem == name && spec.has(mode)) {
            const Function& fn = spec.function(mode);
            Filter filter;
            filter.high_pass(fn.coupling_Hz)
                .low_pass(fn.bandwidth_Hz, fn.bandwidth_order)
                .low_pass(fn.lowpass_Hz, fn.lowpass_order);
            const Response out = filter.respond(window);
            return fn.detector == Detector::average ? sine_form * out.rectified_mean : out.rms;
        }
    return std::numeric_limits<double>::quiet_NaN();
}

}  // namespace sunshaft::meter
