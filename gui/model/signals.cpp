#include "model/signals.hpp"

#include <algorithm>

#include "plant/probe.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

// Terminal letters alone where they say it all: the drive's output is what a probe is on unless another place
// is named.
std::string short_point(const std::string& point) {
    return site::part_of(point) == site::Part::drive ? point.substr(point.find('.') + 1) : point;
}

}  // namespace

SignalWords signal_words(const std::string& name) {
    if (const plant::NamedSignal* named = plant::named_signal(name))
        return {named->label ? text::tr(named->label) : name, named->unit};
    if (const std::string conductor(plant::clamped(name)); !conductor.empty()) return {conductor, "A"};
    const auto colon = name.find(':');
    if (colon == std::string::npos) return {short_point(name), "V"};
    const std::string red = short_point(name.substr(0, colon)), black = short_point(name.substr(colon + 1));
    const auto part = red.find('.');
    if (part != std::string::npos && black.compare(0, part + 1, red, 0, part + 1) == 0)  // said once
        return {red + "-" + black.substr(part + 1), "V"};
    return {red + "-" + black, "V"};
}

std::vector<std::string> channel_choices(const site::Site& site, const std::vector<std::string>& also) {
    std::vector<std::string> list = {"drive.u:drive.v", "drive.v:drive.w", "drive.w:drive.u"};
    for (const site::PointInfo& p : site::points(site.works))
        if (p.clamp) list.push_back("around." + p.name);
    if (site.works.supply.kind != site::Supply::Kind::mains) list.push_back("link_V");
    list.insert(list.end(), {"torque_N_m", "speed_rpm"});
    if (!std::holds_alternative<std::monostate>(site.works.water.pump))
        list.insert(list.end(), {"flow_m3_h", "head_m"});
    list.push_back("power_W");
    for (auto one = also.rbegin(); one != also.rend(); ++one)
        if (std::ranges::find(list, *one) == list.end()) list.insert(list.begin(), *one);
    return list;
}

}  // namespace sunshaft::view
