#include "site/points.hpp"

#include <fmt/format.h>

#include <utility>

namespace sunshaft::site {

std::string phase_point(std::string_view stem, int phase) {
    return fmt::format("{}.{}", stem, phase_letter[static_cast<std::size_t>(phase)]);
}

Part part_of(std::string_view point) {
    static constexpr std::pair<std::string_view, Part> stems[] = {
        {"array", Part::array},  {"iso.in", Part::isolator_in}, {"iso.out", Part::isolator_out},
        {"dc", Part::input},     {"link", Part::link},          {"second", Part::second},
        {"drive.", Part::drive}, {"lead.", Part::lead},         {"cable.", Part::cable},
        {"motor.", Part::motor}, {"dry.", Part::guard},         {"float.", Part::guard},
        {"frame", Part::metal},  {"casing", Part::metal},       {"earth", Part::metal},
        {"pe", Part::metal}};
    if (point.size() > 1 && point[0] == 's' && point[1] >= '0' && point[1] <= '9') return Part::string;
    for (const auto& [stem, part] : stems)
        if (point.starts_with(stem)) return part;
    return Part::none;
}

std::vector<PointInfo> points(const Works& works) {
    std::vector<PointInfo> list;
    const auto probe = [&](std::string name, std::string where, bool reachable = true) {
        list.push_back({std::move(name), std::move(where), reachable, false});
    };
    const auto clamp = [&](std::string name, std::string where) {
        list.push_back({std::move(name), std::move(where), true, true});
    };
    const bool mains = works.supply.kind == Supply::Kind::mains;
    const auto& strings = works.array.strings;

    for (std::size_t s = 0; s < strings.size(); ++s) {
        const std::string name = fmt::format("s{}", s + 1);
        for (std::size_t m = 0; m < strings[s].modules.size(); ++m)
            for (const char* pole : {"+", "-"})
                probe(fmt::format("{}.m{}{}", name, m + 1, pole),
                      fmt::format("string {}, module {}, its own {} lead", s + 1, m + 1,
                                  *pole == '+' ? "plus" : "minus"));
        probe(name + "+", fmt::format("plus end of string {}, before the string fuse", s + 1));
        probe(name + "-", fmt::format("minus end of string {}", s + 1));
    }
    if (!mains) {
        const char* supply = works.supply.kind == Supply::Kind::bench ? "bench supply" : "array";
        for (const char* pole : {"+", "-"}) {
            const char* word = *pole == '+' ? "plus" : "minus";
            probe(fmt::format("array{}", pole), fmt::format("{} end of the DC run, {}", supply, word));
            probe(fmt::format("iso.in{}", pole), fmt::format("isolator, {} side, {}", supply, word));
            probe(fmt::format("iso.out{}", pole), fmt::format("isolator, drive side, {}", word));
            probe(fmt::format("dc{}", pole), fmt::format("drive input terminal, {}", word));
            probe(fmt::format("link{}", pole), fmt::format("DC-link capacitor, {}", word));
        }
        if (works.supply.second.fitted)
            for (const char* pole : {"+", "-"})
                probe(fmt::format("second{}", pole), fmt::format("second supply, {} of its rectifier at the "
                                                                 "change-over switch",
                                                                 *pole == '+' ? "plus" : "minus"));
    }
    const auto phase_points = [&](const char* stem, const char* where, bool reachable) {
        for (int k = 0; k < 3; ++k)
            probe(phase_point(stem, k), fmt::format("{} {}", where, phase_letter[static_cast<std::size_t>(k)]),
                  reachable);
    };
    phase_points("drive", mains ? "mains terminal" : "output terminal of the drive, phase", true);
    phase_points("lead", "top end of the drop cable, core", true);
    phase_points("cable", "bottom of the drop cable, above the splice, core", false);
    phase_points("motor", "motor lead below the splice, phase", false);
    probe("motor.n", "star point inside the motor (teaching only)", false);
    const auto guard_points = [&](const Guard& guard, const std::string& name, const char* words) {
        if (guard.fitted)
            for (const char* end : {".1", ".2"})
                probe(name + end, fmt::format("{} terminal {} of the drive", words, end + 1));
    };
    guard_points(works.guards.dry, "dry", "dry-run probe");
    guard_points(works.guards.full, "float", "tank float");
    if (!mains) probe("frame", "array frame");
    probe("casing", "motor casing", false);
    probe("earth", "earth electrode");

    for (std::size_t s = 0; s < strings.size(); ++s)
        clamp(fmt::format("s{}", s + 1), fmt::format("round the plus conductor of string {}", s + 1));
    if (!mains) {
        clamp("dc+", "round the plus conductor at the drive input");
        clamp("dc-", "round the minus conductor at the drive input");
        clamp("dc", "round both DC conductors together");
    }
    for (const char* letter : phase_letter)
        clamp(letter, fmt::format("round the drop-cable core {} at the drive", letter));
    clamp("uvw", "round the three cores together: what is left goes to earth, leakage and the cable's charging");
    if (!mains) clamp("pe", "round the earth conductor of the array frame");
    return list;
}

}  // namespace sunshaft::site
