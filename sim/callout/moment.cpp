#include "callout/moment.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "bench/places.hpp"
#include "diagnose/typed.hpp"
#include "meter/settings.hpp"

namespace sunshaft::callout {
namespace {

constexpr double touchable_V = 50.0;  // from where volts on a circuit count as live (common practice, no source)

bool cuts_off(const site::Act& a) { return (a.kind == "open" && a.place == "isolator") || a.kind == "stop"; }

// What of a site still changes while its link discharges and its shaft runs down.
bool changes(const diagnose::Seen& seen) {
    if (seen.red.empty() && seen.around.empty())
        return seen.gauge.empty() || seen.gauge == "flow" || seen.gauge.starts_with("drive_");
    const auto on_link = [](const std::string& point) { return bench::of_dc(point) || bench::of_output(point); };
    const auto mode = meter::mode_from(seen.mode);
    return mode && !meter::takes_clamp(*mode) && !meter::drives_circuit(*mode) &&
           (on_link(seen.red) || on_link(seen.black));
}

// The last act alone has cut off a site that ran till then.
bool alone(const std::vector<site::Act>& acts) {
    std::vector<std::string> before;
    double last = 0.0;
    for (std::size_t n = 0; n + 1 < acts.size(); ++n) {
        site::stands(before, acts[n].kind, acts[n].place);
        last = acts[n].time;
    }
    return cuts_off(acts.back()) && before.empty() && acts.back().time - last >= before_s;
}

}  // namespace

bool shows_live(meter::Mode mode, std::string_view shown) {
    if (shown == "live") return true;
    if (mode == meter::Mode::diode || meter::unit_of(mode) != "V") return false;
    return std::abs(diagnose::typed(shown, "V").value) >= touchable_V;
}

void date(diagnose::Seen& seen, const Doings& done) {
    std::vector<site::Act> acts;
    std::ranges::copy_if(done.acts, std::back_inserter(acts), [&](const auto& a) { return a.time <= done.now; });
    if (seen.act.empty() || std::ranges::none_of(acts, cuts_off) || !changes(seen)) return;
    const double changed = done.changed <= done.now ? std::max(done.changed, acts.back().time) : acts.back().time;
    const auto cut = std::find_if(acts.rbegin(), acts.rend(), cuts_off);
    const auto mode = meter::mode_from(seen.mode);
    const bool live = mode && !seen.shown.empty() && shows_live(*mode, seen.shown);
    if (done.now - cut->time >= settles_s && !live) return;
    if (alone(acts) && changed <= acts.back().time) seen.after_s = done.now - acts.back().time;
    else seen.moment = "stopping";
}

}  // namespace sunshaft::callout
