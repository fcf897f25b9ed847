// Whoever works on a bench, watched: what must not be done is refused, or kept as unsafe where the user insists.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "bench/hazards.hpp"
#include "text/language.hpp"

namespace sunshaft::bench {

Refused::Refused(std::string what, std::vector<Hazard> why)
    : std::runtime_error(text::say("{} is refused: {}", what, reasons(why).front())),
      act(std::move(what)),
      hazards(std::move(why)) {}

void Conduct::judge(const std::string& what, const std::vector<Hazard>& hazards) {
    hazards_ = joined(std::move(hazards_), hazards);
    if (!refused(hazards)) return;
    if (!anyway_) throw Refused(what, hazards);
    std::vector<Hazard> why;
    std::copy_if(hazards.begin(), hazards.end(), std::back_inserter(why), [](const Hazard& h) { return h.refuse; });
    unsafe_.push_back({what, std::move(why)});
}

void Conduct::before(Scene scene, const std::vector<site::Act>& acts) {
    site::Works now = *scene.works;
    scene.works = &now;
    if (!scene.dipped) scene.dipped = dipped_;
    for (const site::Act& act : acts) {
        judge(fmt::format("{}@{}", act.kind, act.place), needs(scene, act));
        site::apply(now, act);
    }
}

void Conduct::before(const Scene& scene, const Probes& probes, meter::Mode mode, const meter::Spec* meter) {
    const auto name = meter::mode_name(mode);
    judge(meter::takes_clamp(mode) ? text::say("{} on {}", name, probes.around)
                                   : text::say("{} at {} and {}", name, probes.red, probes.black),
          needs(scene, probes, mode, meter));
}

}  // namespace sunshaft::bench
