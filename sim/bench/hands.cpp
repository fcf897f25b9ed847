#include "bench/hands.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::bench {
namespace {

meter::Mode turned(site::Hands::Turn turn, meter::Mode mode) {
    using enum meter::Mode;
    const bool volts =
        mode == dcv || mode == acv || mode == acdcv || mode == acv_lowpass || mode == acv_loaded || mode == dcv_loaded;
    switch (turn) {
        case site::Hands::Turn::ac_on_dc: return mode == dcv ? acv : mode == dca ? aca : mode;
        case site::Hands::Turn::dc_on_ac: return volts ? dcv : mode == aca ? dca : mode;
        case site::Hands::Turn::ohms_live: return volts ? ohm : mode;
        case site::Hands::Turn::right: break;
    }
    return mode;
}

}  // namespace

void mishandle(const site::Hands& hands, meter::Spec& spec, meter::Mode& mode, Probes& probes, meter::Context& extra) {
    if (const meter::Mode now = turned(hands.turn, mode); spec.has(now)) mode = now;
    if (hands.swapped) std::swap(probes.red, probes.black);
    if (!spec.has(mode)) return;
    meter::Function& function = spec.functions.at(mode);
    if (std::isfinite(hands.range_at) && function.ranges.size() > 1) {
        const double last = static_cast<double>(function.ranges.size() - 1);
        extra.manual_range = function.ranges[static_cast<std::size_t>(std::lround(hands.range_at * last))];
    }
    if (hands.battery_low > 0.0) {
        const double left = 1.0 - hands.battery_low;
        for (double& a : function.source_A) a *= left;
        function.open_V *= left;
        for (double& v : function.test_V) v *= left;
        extra.test_V *= left;
        // With no test voltage chosen the tester would look for 500 V, which it no longer has.
        if (mode == meter::Mode::insulation && extra.test_V == 0.0 && !function.test_V.empty()) {
            const auto at = std::find_if(function.test_V.begin(), function.test_V.end(),
                                         [&](double v) { return v >= 500.0 * left * (1 - 1e-9); });
            extra.test_V = at == function.test_V.end() ? function.test_V.back() : *at;
        }
    }
}

LeadLoss through_leads(const site::Hands& hands, double input_ohm) {
    if (std::isinf(hands.lead_ohm)) return {0.0, 0.0};
    if (!(input_ohm > 0.0) || std::isinf(input_ohm)) return {1.0, input_ohm};
    return {input_ohm / (input_ohm + hands.lead_ohm), input_ohm + hands.lead_ohm};
}

std::vector<Strand> strands(const std::string& around) {
    std::vector<Strand> list;
    for (std::size_t from = 0; from <= around.size();) {
        const std::size_t comma = std::min(around.find(',', from), around.size());
        std::string name = around.substr(from, comma - from);
        from = comma + 1;
        const bool other_way = !name.empty() && name[0] == '-';
        if (other_way) name.erase(0, 1);
        if (name.empty())
            throw site::BadInput(
                text::say("{}: a conductor's name is missing, expected names with commas between them, such as u,-v. "
                          "A minus is for one that passes the jaws the other way",
                          around));
        list.push_back({name, other_way ? -1.0 : 1.0});
    }
    return list;
}

meter::Mode clamp_mode(const std::string& around) {
    const auto name = around.find_first_not_of('-');
    return name != std::string::npos && (around[name] == 'd' || around[name] == 's') ? meter::Mode::dca
                                                                                     : meter::Mode::aca;
}

std::string neighbour(const site::Works& works, const std::string& around) {
    if (around == "u") return "v";
    if (around == "v") return "w";
    if (around == "w") return "u";
    if (around == "dc+") return "dc-";
    if (around == "dc-") return "dc+";
    if (around.size() > 1 && around[0] == 's' && works.array.strings.size() > 1) return around == "s1" ? "s2" : "s1";
    return "";
}

}  // namespace sunshaft::bench
