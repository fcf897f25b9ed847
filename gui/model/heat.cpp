#include "model/heat.hpp"
#include "text/language.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace sunshaft::view {
namespace {

// Connectors where they hang, and the thirds of modules that have a cell warmer than the others.
void add_array(const std::vector<bench::Bench::Warm>& warm, const SiteDrawing& d, double module_degC,
               std::vector<Warm>& list) {
    constexpr double reach = 5.0, tells_K = 1.0;
    for (const bench::Bench::Warm& w : warm)
        for (std::size_t k = 0; k < d.strings.size(); ++k) {
            for (const JointDrawing& joint : d.strings[k].joints) {
                if (w.place != joint.place) continue;
                const Box round{std::min(joint.a.x, joint.b.x) - reach, std::min(joint.a.y, joint.b.y) - reach,
                                std::abs(joint.b.x - joint.a.x) + 2 * reach,
                                std::abs(joint.b.y - joint.a.y) + joint.droop + 2 * reach};
                list.push_back({text::say("connector {}", w.place), round, w.degC, true});
            }
            for (std::size_t m = 0; m < d.strings[k].modules.size() && w.degC > module_degC + tells_K; ++m)
                for (int part = 0; part < 3; ++part) {
                    if (w.place != fmt::format("s{}.m{}.{}", k + 1, m + 1, part + 1)) continue;
                    Box third = d.strings[k].modules[m].box;
                    third.w /= 3, third.x += part * third.w;
                    list.push_back({text::say("hottest cell of {}", w.place), third, w.degC, true});
                }
        }
}

}  // namespace

std::vector<Warm> warm_things(const Snapshot& s, const SiteDrawing& d) {
    std::vector<Warm> list;
    const auto add = [&](std::string name, const Box& box, double degC, bool by_camera) {
        if (!box.empty() && std::isfinite(degC)) list.push_back({std::move(name), box, degC, by_camera});
    };
    for (std::size_t k = 0; k < d.strings.size(); ++k)
        for (std::size_t m = 0; m < d.strings[k].modules.size(); ++m)
            add(text::say("module s{}.m{}", k + 1, m + 1), d.strings[k].modules[m].box, s.site->works.array.module_degC,
                true);
    if (s.array_warmth) add_array(*s.array_warmth, d, s.site->works.array.module_degC, list);
    add(text::tr("heat sink of the drive"), d.drive, s.heat_sink_degC, true);
    if (d.bore) {
        add(text::tr("pump"), d.bore->pump, s.pump_degC, false);
        add(text::tr("windings"), d.bore->motor, s.winding_degC, false);
        if (!s.hidden)  // a joint that is warm tells what is wrong with it
            for (std::size_t k = 0; k < 3; ++k)
                add(text::say("splice {}", site::phase_letter[k]), {d.bore->core_x[k] - 3, d.bore->splice_y - 7, 6, 14},
                    s.now.slow.splice_degC[k], false);
    }
    if (d.bench_motor) add(text::tr("windings"), d.bench_motor->body, s.winding_degC, false);
    return list;
}

const Warm* warm_at(const std::vector<Warm>& things, Point at) {
    const Warm* found = nullptr;
    for (const Warm& w : things)
        if (w.box.contains(at) && (!found || w.box.w * w.box.h < found->box.w * found->box.h)) found = &w;
    return found;
}

Colour heat_colour(double degC) {
    constexpr std::array<Colour, 5> scale{rgb(0x101848), rgb(0x4b1a7a), rgb(0xb5304a), rgb(0xef8a2b), rgb(0xfff3c0)};
    constexpr double step = 30.0;  // K from one to the next
    const double at = std::clamp(degC / step, 0.0, static_cast<double>(scale.size() - 1));
    const auto low = std::min(static_cast<std::size_t>(at), scale.size() - 2);
    const double share = at - static_cast<double>(low);
    const auto mix = [&](std::uint8_t a, std::uint8_t b) {
        return static_cast<std::uint8_t>(std::lround(a + (b - a) * share));
    };
    const Colour &a = scale[low], &b = scale[low + 1];
    return {mix(a.r, b.r), mix(a.g, b.g), mix(a.b, b.b)};
}

}  // namespace sunshaft::view
