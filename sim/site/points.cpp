#include "site/points.hpp"

#include <fmt/format.h>

#include <utility>

#include "text/language.hpp"

namespace sunshaft::site {

using text::say, text::tr;

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

constexpr std::string_view fuse_stem = "fuse.";
std::string fuse_of(std::string_view string) { return std::string(fuse_stem).append(string); }
std::string fused_string(const std::string& place) {
    return place.starts_with(fuse_stem) ? place.substr(fuse_stem.size()) : std::string();
}
std::string string_of(const std::string& place) {
    const std::string fused = fused_string(place), &own = fused.empty() ? place : fused;
    return part_of(own) == Part::string ? own.substr(0, own.find('.')) : std::string();
}

namespace {

// From sun to motor, in order.
struct List {
    const Works& works;
    std::vector<PointInfo> rows = {};
    bool mains = works.supply.kind == Supply::Kind::mains;

    void probe(std::string name, std::string where, bool reachable = true) {
        rows.push_back({std::move(name), std::move(where), reachable, false});
    }
    void clamp(std::string name, std::string where) { rows.push_back({std::move(name), std::move(where), true, true}); }

    void strings() {
        const auto& list = works.array.strings;
        for (std::size_t s = 0; s < list.size(); ++s) {
            const std::string name = fmt::format("s{}", s + 1);
            for (std::size_t m = 0; m < list[s].modules.size(); ++m) {
                probe(fmt::format("{}.m{}+", name, m + 1),
                      say("string {}, module {}, its own plus lead", s + 1, m + 1));
                probe(fmt::format("{}.m{}-", name, m + 1),
                      say("string {}, module {}, its own minus lead", s + 1, m + 1));
            }
            probe(name + "+", say("plus end of string {}, before the string fuse", s + 1));
            probe(name + "-", say("minus end of string {}", s + 1));
        }
    }
    void dc_side() {
        if (mains) return;
        const bool bench = works.supply.kind == Supply::Kind::bench;
        probe("array+", bench ? tr("bench supply end of the DC run, plus") : tr("array end of the DC run, plus"));
        probe("iso.in+", bench ? tr("isolator, bench supply side, plus") : tr("isolator, array side, plus"));
        probe("iso.out+", tr("isolator, drive side, plus"));
        probe("dc+", tr("drive input terminal, plus"));
        probe("link+", tr("DC-link capacitor, plus"));
        probe("array-", bench ? tr("bench supply end of the DC run, minus") : tr("array end of the DC run, minus"));
        probe("iso.in-", bench ? tr("isolator, bench supply side, minus") : tr("isolator, array side, minus"));
        probe("iso.out-", tr("isolator, drive side, minus"));
        probe("dc-", tr("drive input terminal, minus"));
        probe("link-", tr("DC-link capacitor, minus"));
        if (!works.supply.second.fitted) return;
        probe("second+", tr("second supply, plus of its rectifier at the change-over switch"));
        probe("second-", tr("second supply, minus of its rectifier at the change-over switch"));
    }
    void output() {
        for (int k = 0; k < 3; ++k) {
            const char* letter = phase_letter[static_cast<std::size_t>(k)];
            probe(phase_point("drive", k),
                  mains ? say("mains terminal {}", letter) : say("output terminal of the drive, phase {}", letter));
        }
        for (int k = 0; k < 3; ++k)
            probe(phase_point("lead", k),
                  say("top end of the drop cable, core {}", phase_letter[static_cast<std::size_t>(k)]));
        for (int k = 0; k < 3; ++k)
            probe(phase_point("cable", k),
                  say("bottom of the drop cable, above the splice, core {}", phase_letter[static_cast<std::size_t>(k)]),
                  false);
        for (int k = 0; k < 3; ++k)
            probe(phase_point("motor", k),
                  say("motor lead below the splice, phase {}", phase_letter[static_cast<std::size_t>(k)]), false);
        probe("motor.n", tr("star point inside the motor (teaching only)"), false);
    }
    void guards() {
        for (const char* end : {"1", "2"})
            if (works.guards.dry.fitted)
                probe(fmt::format("dry.{}", end), say("dry-run probe terminal {} of the drive", end));
        for (const char* end : {"1", "2"})
            if (works.guards.full.fitted)
                probe(fmt::format("float.{}", end), say("tank float terminal {} of the drive", end));
        if (!mains) probe("frame", tr("array frame"));
        probe("casing", tr("motor casing"), false);
        probe("earth", tr("earth electrode"));
    }
    void clamps() {
        for (std::size_t s = 0; s < works.array.strings.size(); ++s)
            clamp(fmt::format("s{}", s + 1), say("round the plus conductor of string {}", s + 1));
        if (!mains) {
            clamp("dc+", tr("round the plus conductor at the drive input"));
            clamp("dc-", tr("round the minus conductor at the drive input"));
            clamp("dc", tr("round both DC conductors together"));
        }
        for (const char* letter : phase_letter) clamp(letter, say("round the drop-cable core {} at the drive", letter));
        clamp("uvw",
              tr("round the three cores together: what is left goes to earth, leakage and the cable's charging"));
        if (!mains) clamp("pe", tr("round the earth conductor of the array frame"));
    }
};

}  // namespace

std::vector<PointInfo> points(const Works& works) {
    List list{works};
    list.strings();
    list.dc_side();
    list.output();
    list.guards();
    list.clamps();
    return std::move(list.rows);
}

}  // namespace sunshaft::site
