// Places of faults and acts, and the parts they mean.
#include <fmt/format.h>

#include <charconv>

#include "site/fault_groups.hpp"
#include "site/keys.hpp"
#include "site/points.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

// "s2.m13-": string 1, module 12 (from 0), pole '-'; "s2.m13.3": its last sub-string.
struct Where {
    std::size_t string = 0, module = 0;
    char pole = 0;
};

BadInput nowhere(const std::string& place) { return BadInput(text::say("{}: is no such place", on_one_line(place))); }

Where parse(const Works& works, const std::string& place) {
    Where w;
    const char *at = place.data(), *end = at + place.size();
    const auto number = [&](char letter, std::size_t& value) {
        if (at == end || *at != letter) return false;
        const auto [next, error] = std::from_chars(at + 1, end, value);
        if (error != std::errc{} || value == 0) return false;
        at = next;
        --value;
        return true;
    };
    const auto& strings = works.array.strings;
    if (!number('s', w.string) || w.string >= strings.size()) throw nowhere(place);
    if (at == end) return w;
    if (*at++ != '.' || !number('m', w.module) || w.module >= strings[w.string].modules.size()) throw nowhere(place);
    if (end - at == 2 && at[0] == '.' && at[1] >= '1' && at[1] <= '3') return w;
    if (at != end) w.pole = *at++;
    if (at != end || (w.pole && w.pole != '+' && w.pole != '-')) throw nowhere(place);
    return w;
}

}  // namespace

Places string_places(const Works& works) {
    Places list;
    for (std::size_t s = 1; s <= works.array.strings.size(); ++s) list.push_back(fmt::format("s{}", s));
    return list;
}

Places module_places(const Works& works) {
    Places list;
    for (std::size_t s = 0; s < works.array.strings.size(); ++s)
        for (std::size_t m = 1; m <= works.array.strings[s].modules.size(); ++m)
            list.push_back(fmt::format("s{}.m{}", s + 1, m));
    return list;
}

Places part_places(const Works& works) {
    Places list;
    for (const std::string& module : module_places(works))
        for (const char* part : {".1", ".2", ".3"}) list.push_back(module + part);
    return list;
}

Places connector_places(const Works& works) {
    Places list;
    for (std::size_t s = 0; s < works.array.strings.size(); ++s) {
        list.push_back(fmt::format("s{}.m1+", s + 1));
        for (std::size_t m = 1; m <= works.array.strings[s].modules.size(); ++m)
            list.push_back(fmt::format("s{}.m{}-", s + 1, m));
    }
    return list;
}

Places phase_places(const Works&) { return {phase_letter.begin(), phase_letter.end()}; }

Places pair_places(const Works&) { return {"u-v", "v-w", "w-u"}; }
Places array_place(const Works& works) { return works.array.strings.empty() ? Places{} : Places{"array"}; }
Places drive_place(const Works& works) { return works.supply.kind == Supply::Kind::mains ? Places{} : Places{"drive"}; }
Places motor_place(const Works&) { return {"motor"}; }
Places pump_place(const Works& works) {
    return std::holds_alternative<std::monostate>(works.water.pump) ? Places{} : Places{"pump"};
}

String& string_at(Works& works, const std::string& place) { return works.array.strings[parse(works, place).string]; }

Module& module_at(Works& works, const std::string& place) {
    const Where w = parse(works, place);
    return works.array.strings[w.string].modules[w.module];
}

Joint& connector_at(Works& works, const std::string& place) {
    const Where w = parse(works, place);
    return works.array.strings[w.string].joints[w.module + (w.pole == '-' ? 1 : 0)];
}

std::size_t part_at(const std::string& place) { return static_cast<std::size_t>(place.back() - '1'); }

double& earth_at(Works& works, const std::string& connector) {
    const Where w = parse(works, connector);
    return works.array.strings[w.string].earth_ohm[w.module + (w.pole == '-' ? 1 : 0)];
}

Phase& phase_at(Works& works, const std::string& place) {
    for (std::size_t k = 0; k < 3; ++k)
        if (!place.empty() && place.back() == *phase_letter[k]) return works.phases[k];
    throw nowhere(place);
}

Phase& pair_at(Works& works, const std::string& place) { return phase_at(works, place.substr(0, place.find('-'))); }

void in_parallel(double& ohm, double more) { ohm = 1 / (1 / ohm + 1 / more); }

}  // namespace sunshaft::site
