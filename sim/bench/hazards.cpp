#include "bench/hazards.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "bench/places.hpp"
#include "plant/surges.hpp"
#include "site/wiring.hpp"

namespace sunshaft::bench {
namespace {

using site::Works;

// above it nothing live is touched (IEC 61140 takes 50 V AC, 120 V DC as the upper bound)
constexpr double touch_V = 50.0;
constexpr double dead_V = 5.0;      // a link below it counts as discharged
constexpr double clamp_A = 0.1;     // a clamp that shows less shows nothing
constexpr double turning = 0.5;     // rad/s
constexpr double light_W_m2 = 1.0;  // less is night

bool isolated(const Works& w) { return w.array.plus.contact.open && w.array.minus.contact.open; }
bool lit(const Works& w) { return array(w) && w.array.sunlight() > light_W_m2; }
// The supply reaches the drive's input.
bool fed(const Works& w) {
    if (mains(w) || w.supply.second.feeds()) return true;
    return !isolated(w) && (!array(w) || (lit(w) && w.supply.second.lets_array()));
}
bool wires_on(const Works& w) {
    return std::any_of(w.phases.begin(), w.phases.end(), [](const site::Phase& p) { return !p.terminal.open; });
}

// Line to line peak that a turning magnet rotor makes; a cage makes none once the drive is off.
double spin_V(const Scene& s) {
    return std::visit([&](const auto& m) { return m.spin_V(s.shaft); }, s.works->motor);
}

bool drive_live(const Scene& s) { return fed(*s.works) || s.running || s.link_V > dead_V; }
bool charged(const Scene& s) { return !mains(*s.works) && !fed(*s.works) && s.link_V > dead_V; }

// Something with energy in it stands behind this point now.
bool live(const Scene& s, const std::string& p) {
    const Works& w = *s.works;
    const site::SecondSupply& second = w.supply.second;
    if (of_array(p))
        return array(w) ? lit(w) || (!isolated(w) && second.lets_array() && (second.feeds() || s.link_V > dead_V))
                        : !mains(w);
    if (of_second(p)) return second.on() || (second.chosen && drive_live(s));
    if (of_dc(p)) return drive_live(s);
    if (of_output(p)) return ((of_drive(p) || wires_on(w)) && drive_live(s)) || spin_V(s) > dead_V;
    return false;
}

// An insulation tester there would send its volts into the drive, a guard's input or an arrester.
bool electronics(const Works& w, const std::string& p) {
    if (of_guard(p)) return true;
    if (mains(w)) return false;
    if (of_dc(p) || of_drive(p) || of_second(p)) return true;
    if (of_output(p)) return wires_on(w);
    return of_array(p) && (!array(w) || !isolated(w));
}

double short_circuit_A(const Works& w, double irradiance) {
    double sum = 0.0;
    for (const site::String& s : w.array.strings)
        if (!s.modules.empty()) sum += s.modules.front().data.stc.IL * irradiance / bright_W_m2;
    return sum;
}

// The current in what is to be opened: found in the wiring, with the drive at work where it is about to be.
double string_current(const Scene& s, const std::string& place) {
    const std::string name = site::string_of(place);
    if (name.empty() || !lit(*s.works)) return 0.0;
    double link = std::nan("");
    if (!isolated(*s.works)) link = s.fresh ? 0.8 * highest_V(*s.works) : s.link_V;
    // the electronics' own draw
    if (!isolated(*s.works) && (!s.works->drive.on || (!s.fresh && !s.running))) return 0.0;
    const auto amps = string_currents(*s.works, link);
    const auto n = static_cast<std::size_t>(std::stoul(name.substr(1)) - 1);
    return n < amps.size() ? std::abs(amps[n]) : 0.0;
}

// Open-circuit voltage of a string as it is lit and wired now; asked only whether two are the same.
double open_V_now(const Works& w, const site::String& string) {
    double sum = 0.0;
    for (const site::Module& m : string.modules) {
        double own = 0.0;
        for (int part = 0; part < 3; ++part) own += solar::voltage(site::sub_string(w.array, m, part), 0.0);
        sum += m.reversed ? -own : own;
    }
    if (string.parallel) sum /= static_cast<double>(string.modules.size());
    return string.reversed ? -sum : sum;
}

// Strings push into one another only where they differ, or where a link joins them.
bool may_circulate(const Works& w) {
    if (!lit(w) || !isolated(w)) return false;
    const auto& strings = w.array.strings;
    if (w.array.shorted) return true;
    if (strings.size() < 2) return false;
    const double first = open_V_now(w, strings.front());
    return std::any_of(strings.begin() + 1, strings.end(), [&](const site::String& s) {
        return std::abs(open_V_now(w, s) - first) > 1e-6 * std::abs(first);
    });
}

std::vector<Hazard> circulating(const Scene& s) {
    const Works& w = *s.works;
    if (!may_circulate(w)) return {};
    const auto amps = string_currents(w, std::nan(""));
    std::size_t most = 0;
    for (std::size_t n = 1; n < amps.size(); ++n)
        if (std::abs(amps[n]) > std::abs(amps[most])) most = n;
    if (amps.empty() || std::abs(amps[most]) < clamp_A) return {};
    double sum = 0.0;
    for (const double i : amps) sum += i;
    const bool shorted = w.array.shorted;
    return {{.kind = Danger::circulating,
             .where = shorted ? "shorting link" : fmt::format("s{}", most + 1),
             .amps = std::abs(shorted ? sum : amps[most]),
             .first = {First::covered, First::no_current}}};
}

const std::vector<First> dead_order = {First::isolated, First::covered, First::waited, First::proved_dead};

std::vector<First> with(std::vector<First> list, First one) {
    list.push_back(one);
    return list;
}

void add_earth_capacitors(const Works& w, double volts, std::vector<Hazard>& list) {
    if (w.link.earth_F > 0.0 && !mains(w))
        list.push_back({.kind = Danger::earth_capacitors, .where = "dc", .volts = volts, .first = dead_order});
}

void add_second(const Works& w, std::vector<Hazard>& list) {
    const site::SecondSupply& second = w.supply.second;
    if (second.fitted) list.push_back({.kind = Danger::two_sources, .where = "second", .volts = second.highest_V()});
}

void add_stored(const Scene& s, std::vector<Hazard>& list) {
    if (!charged(s)) return;
    const double joules = 0.5 * s.works->link.farad * s.link_V * s.link_V;
    list.push_back(
        {.kind = Danger::stored_charge, .where = "link", .volts = s.link_V, .joules = joules, .first = dead_order});
    if (std::isinf(s.works->link.bleed_ohm))
        list.push_back({.kind = Danger::never_discharges, .where = "link", .volts = s.link_V, .joules = joules});
}

void add_spin(const Scene& s, std::vector<Hazard>& list) {
    list.push_back({.kind = Danger::back_spin,
                    .where = "shaft",
                    .volts = s.running ? 0.0 : spin_V(s),
                    .first = {First::standing_still}});
}

// What this site has not got is not spoken of.
std::vector<Hazard> fitted(const Works& w, std::vector<Hazard> list) {
    if (w.water.pump.index() == 0)
        std::erase_if(list, [](const Hazard& h) { return h.kind == Danger::back_spin || h.kind == Danger::reversal; });
    if (!array(w))
        for (Hazard& h : list) std::erase(h.first, First::covered);
    return list;
}

// Wires at the drive's output taken off, or put back.
void wires(const Scene& s, bool off, std::vector<Hazard>& list) {
    const Works& w = *s.works;
    const double volts = std::max(highest_V(w), s.link_V);
    const auto order = with(dead_order, First::standing_still);
    if (off && (s.running || (s.fresh && fed(w))))
        list.push_back({.kind = Danger::pump_running,
                        .where = "drive.u drive.v drive.w",
                        .volts = volts,
                        .first = order,
                        .refuse = true});
    else if (fed(w) || s.link_V > touch_V)
        list.push_back({.kind = Danger::live_wires,
                        .where = "drive.u drive.v drive.w",
                        .volts = fed(w) ? volts : s.link_V,
                        .first = order,
                        .refuse = true});
    add_stored(s, list);
    add_spin(s, list);
    if (list.back().volts > touch_V) list.back().refuse = true;
    list.push_back({.kind = Danger::disconnecting, .first = order});
}

}  // namespace

Scene scene(const Works& works) { return {.works = &works}; }

Scene scene(const site::Site& site, const plant::Instant& now) {
    return {.works = &site.works,
            .fresh = now.t <= 0.0,
            .running = now.command.running,
            .link_V = mains(site.works) || now.t <= 0.0 ? 0.0 : now.nodes.link,
            .shaft = now.speed};
}

std::vector<Hazard> needs(const std::string& kind, const std::string& place, const Works* works) {
    const bool all = place.empty(), guard = place == "dry" || place == "float", isolator = place == "isolator";
    const auto order = with(dead_order, First::standing_still);
    std::vector<Hazard> list;
    const auto add = [&](Hazard h) { list.push_back(std::move(h)); };
    const bool second = place == "second";
    if (kind == "open" && !isolator && !second) {
        add({.kind = Danger::live_in_light});
        add({.kind = Danger::unplugging,
             .where = all ? "" : place,
             .first = {First::isolated, First::covered, First::no_current}});
    }
    if (kind == "open" && (all || isolator)) add({.kind = Danger::isolator});
    if (second) add({.kind = Danger::two_sources});
    if (kind == "changeover" || kind == "changeback") add({.kind = Danger::starts_alone});
    if (kind == "close") {
        if (!second) add({.kind = Danger::joining});
        if (all || isolator || second) add({.kind = Danger::starts_alone});
    }
    if (kind == "shut") add({.kind = Danger::against_valve, .first = {First::watched}});
    if (kind == "stop") add({.kind = Danger::stopped});
    if (kind == "start") add({.kind = Danger::starts_alone});
    if (kind == "pull" || kind == "restore" || kind == "exchange") {
        if (!guard) add({.kind = Danger::back_spin, .first = {First::standing_still}});
        add({.kind = Danger::disconnecting, .first = guard ? dead_order : order});
        if (kind != "pull" && !guard) add({.kind = Danger::reversal});
    }
    if (kind == "jumper" && place != "float")
        add({.kind = Danger::dry_run, .first = {First::water_measured, First::watched}});
    if (kind == "jumper" && place != "dry") add({.kind = Danger::overflow});
    if (kind == "unjumper") add({.kind = Danger::written_down});
    if (kind == "restart") {
        add({.kind = Danger::isolator});
        add({.kind = Danger::starts_alone});
        add({.kind = Danger::dark_lamps});
    }
    if (kind == "short" || kind == "unshort")
        add({.kind = Danger::shorting_link, .first = {First::isolated, First::covered}});
    if (kind == "renew") {
        add({.kind = Danger::live_in_light});
        add({.kind = Danger::unplugging,
             .where = all ? "" : site::fuse_of(place),
             .first = {First::isolated, First::covered, First::no_current}});
    }
    if (kind == "lower" || kind == "free") add({.kind = Danger::starts_alone});
    if (kind == "free" || kind == "lift") add({.kind = Danger::tank});
    if (kind == "cover") add({.kind = Danger::cover});
    if (kind == "uncover") add({.kind = Danger::full_voltage});
    add({.kind = Danger::authorised});
    return works ? fitted(*works, joined(std::move(list), {})) : joined(std::move(list), {});
}

std::vector<Hazard> needs(const Scene& s, const site::Act& act) {
    const Works& w = *s.works;
    const double volts = highest_V(w);
    const bool guard = act.place == "dry" || act.place == "float";
    std::vector<Hazard> list;
    const bool second = act.place == "second";
    if ((act.kind == "changeover" || act.kind == "changeback") && s.running)
        list.push_back({.kind = Danger::changed_live, .where = "second", .volts = volts, .refuse = true});
    if ((act.kind == "open" || act.kind == "close" || act.kind == "renew") && act.place != "isolator" && !second) {
        const std::string place = act.kind == "renew" ? site::fuse_of(act.place) : act.place;
        if (const double amps = act.kind == "close" ? 0.0 : string_current(s, place); amps > clamp_A)
            list.push_back({.kind = Danger::arc,
                            .where = place,
                            .volts = volts,
                            .amps = amps,
                            .first = {First::isolated, First::covered, First::no_current},
                            .refuse = true});
        list = joined(std::move(list), circulating(s));
    }
    // A short across what is connected, whichever of the two is done last.
    if ((act.kind == "close" && act.place == "isolator" && w.array.shorted) ||
        (act.kind == "short" && !isolated(w) && drive_live(s)))
        list.push_back({.kind = Danger::shorted_live,
                        .where = "array",
                        .volts = volts,
                        .amps = short_circuit_A(w, bright_W_m2),
                        .first = {First::isolated, First::covered},
                        .refuse = true});
    if ((act.kind == "pull" || act.kind == "restore" || act.kind == "exchange") && !guard)
        wires(s, act.kind != "restore", list);
    if (act.kind == "shut" && std::holds_alternative<water::ProgressiveCavity>(w.water.pump) && s.running)
        list.push_back({.kind = Danger::shut_valve, .where = "valve", .refuse = true});
    // What the well really holds nobody at the drive knows: only what the dip meter showed counts.
    if (act.kind == "jumper" && act.place == "dry" && (!s.dipped || *s.dipped >= w.water.pump_depth))
        list.push_back({.kind = s.dipped ? Danger::dry_pump : Danger::undipped,
                        .where = "well",
                        .metres = s.dipped.value_or(0.0),
                        .first = {First::water_measured, First::watched},
                        .refuse = true});
    if (act.kind == "unshort" && w.array.shorted && lit(w))
        list.push_back({.kind = Danger::arc,
                        .where = "shorting link",
                        .volts = volts,
                        .amps = short_circuit_A(w, w.array.sunlight()),
                        .first = {First::covered, First::no_current},
                        .refuse = true});
    // What the act brings on any site, with this site's figures.
    std::vector<Hazard> general = needs(act.kind, act.place);
    for (Hazard& h : general) {
        if (h.kind == Danger::live_in_light || h.kind == Danger::shorting_link || h.kind == Danger::full_voltage)
            h.volts = volts;
        if (h.kind == Danger::shorting_link) h.amps = short_circuit_A(w, bright_W_m2);
        if (h.kind == Danger::dry_run) h.metres = w.water.pump_depth;
    }
    add_second(w, list);
    if (act.kind == "open" && act.place == "isolator") add_earth_capacitors(w, volts, list);
    return fitted(w, joined(std::move(list), general));
}

namespace {

// Where the leads lie, and the volts that can be present there.
struct Touch {
    const Scene& s;
    meter::Mode mode;
    std::vector<std::string> points;
    std::string where;
    bool clamp, dead;  // jaws; a source of the meter's own, which belongs on a dead circuit
    bool on_array = false, on_output = false, on_dc = false, on_guard = false, on_metal = false;
    double open = 0.0;  // V, with nothing drawn
    // A meter's category is one of working volts: spikes of microseconds are what its impulse rating is for. Braking:
    // what a motor that brakes lifts them to; 0: not above them.
    double working = 0.0, working_braking = 0.0;
    double volts = 0.0, braking = 0.0;  // with what edges become at the end of the cable

    template <class Is>
    bool any(Is is) const {
        return std::any_of(points.begin(), points.end(), is);
    }
    template <class Is>
    bool all(Is is) const {
        return std::all_of(points.begin(), points.end(), is);
    }
};

Touch touch(const Scene& s, const Probes& probes, meter::Mode mode) {
    const Works& w = *s.works;
    const bool clamp = meter::takes_clamp(mode);
    Touch t{s,     mode,
            {},    clamp ? probes.around : fmt::format("{} - {}", probes.red, probes.black),
            clamp, meter::drives_circuit(mode)};
    if (clamp) t.points = {probes.around};
    else
        for (const std::string* p : {&probes.red, &probes.black})
            if (!p->empty()) t.points.push_back(*p);
    t.on_array = t.any(of_array), t.on_output = t.any(of_output), t.on_metal = t.any(of_metal);
    t.on_dc = t.any(of_dc) || t.any(of_second);
    t.on_guard = !t.points.empty() && t.all(of_guard);
    t.open = clamp ? highest_V(w) : highest_V(w, probes.red, probes.black);
    // At the end of the cable edges come back: the output's steps get that much higher.
    const auto line =
        !clamp && t.any([](const std::string& p) { return plant::at_motor(p); }) ? plant::surge_line(w) : std::nullopt;
    const double reflected = line ? line->peak(plant::edge_s(w, *line)) / line->settled() : 1.0;
    t.working = t.on_guard ? site::Guards::feed_V : std::max({t.open, s.link_V, t.on_output ? spin_V(s) : 0.0});
    t.working_braking = (t.on_dc || t.on_output) && w.link.overvoltage_V > t.working ? w.link.overvoltage_V : 0.0;
    t.volts = t.on_guard ? t.working : std::max(t.working, reflected * std::max(t.open, s.link_V));
    t.braking = reflected * w.link.overvoltage_V > t.volts ? reflected * t.working_braking : 0.0;
    return t;
}

// What must not be touched so: with this meter, or with any in this mode.
void add_refused(const Touch& t, const meter::Spec* spec, std::vector<Hazard>& list) {
    const auto above = [&](double rated) { return std::max(t.working, t.working_braking) > rated; };
    if (spec && !t.dead && !t.clamp && above(spec->category ? spec->category_V : touch_V)) {
        constexpr const char* roman[] = {"", "", "II", "III", "IV"};
        const std::string rating =
            spec->category ? fmt::format("CAT {} {:.0f} V", roman[spec->category], spec->category_V) : "";
        list.push_back({.kind = Danger::meter_not_rated,
                        .where = t.where,
                        .volts = t.working,
                        .braking_V = t.working_braking,
                        .meter_rating = rating,
                        .refuse = true});
    }
    if (t.mode == meter::Mode::insulation && t.any([&](const std::string& p) { return electronics(*t.s.works, p); }))
        list.push_back({.kind = Danger::test_into_electronics,
                        .where = t.where,
                        .first = with(dead_order, First::disconnected),
                        .refuse = true});
    if (t.dead && t.any([&](const std::string& p) { return live(t.s, p); }))
        list.push_back({.kind = Danger::ohms_on_live,
                        .where = t.where,
                        .volts = t.volts,
                        .braking_V = t.braking,
                        .first = dead_order,
                        .refuse = true});
}

// What is dangerous there whatever the meter is.
void add_present(const Touch& t, std::vector<Hazard>& list) {
    const Scene& s = t.s;
    const Works& w = *s.works;
    const auto add = [&](Hazard h) { list.push_back(std::move(h)); };
    if (t.on_dc || t.on_output || (t.on_array && !isolated(w))) add_stored(s, list);
    // Between a pole and metal, and where a clamp is closed round what leads to earth.
    if (t.on_dc || (t.on_metal && !t.on_output) || (t.clamp && t.all(of_metal)))
        add_earth_capacitors(w, std::max(t.open, s.link_V), list);
    if (t.on_array || (t.clamp && t.on_dc)) list = joined(std::move(list), circulating(s));
    if (t.on_output && !mains(w) && (t.dead || (!s.running && std::abs(s.shaft) > turning))) add_spin(s, list);
    if (!t.dead && (t.volts > touch_V || (t.clamp && !t.on_guard)))
        add({.kind = Danger::live_pole, .where = t.where, .volts = t.volts, .braking_V = t.braking});
    if (t.on_array || t.on_dc || t.on_output) add_second(w, list);
    if (t.on_array && array(w)) add({.kind = Danger::live_in_light, .where = t.where, .volts = t.volts});
    if (!t.dead && !mains(w) && t.on_metal && !t.on_output)
        add({.kind = Danger::frame_live, .where = t.where, .volts = t.volts});
    if (!t.dead && !t.clamp && (t.on_output || t.on_guard) && drive_live(s))
        add({.kind = Danger::switched_output, .where = t.where, .volts = t.volts});
    if (t.mode == meter::Mode::insulation) add({.kind = Danger::insulation_test, .where = t.where});
    if (t.dead) add({.kind = Danger::dead_test, .where = t.where, .first = dead_order});
    add({.kind = Danger::authorised});
}

}  // namespace

std::vector<Hazard> needs(const Scene& s, const Probes& probes, meter::Mode mode, const meter::Spec* spec) {
    const Touch t = touch(s, probes, mode);
    std::vector<Hazard> list;
    add_refused(t, spec, list);
    add_present(t, list);
    return fitted(*s.works, joined(std::move(list), {}));
}

std::vector<Hazard> standing(const Scene& s, bool link_known) {
    const Works& w = *s.works;
    std::vector<Hazard> list;
    if (mains(w)) {
        list.push_back({.kind = Danger::live_cable, .where = "lead", .volts = w.supply.voltage});
    } else if (!link_known) {
        list.push_back({.kind = Danger::not_proved, .where = "link", .first = dead_order});
    } else if (charged(s) && !s.running) {
        add_stored(s, list);
    } else if (s.running || s.link_V > dead_V) {
        // As before a touch: what stands there now changes while one reads it.
        list.push_back({.kind = Danger::live_link,
                        .where = s.running ? "outputs" : "link",
                        .volts = std::max(highest_V(w), s.link_V),
                        .first = dead_order});
    } else if (lit(w)) {
        list.push_back({.kind = Danger::live_modules, .where = "array", .first = {First::covered}});
        list.push_back({.kind = Danger::unplugging});
    } else {
        list.push_back({.kind = Danger::dark_lamps, .first = {First::proved_dead}});
    }
    list.push_back({.kind = Danger::authorised});
    if (w.array.covered)
        for (Hazard& h : list) std::erase(h.first, First::covered);
    return fitted(w, std::move(list));
}

bool refused(const std::vector<Hazard>& hazards) {
    return std::any_of(hazards.begin(), hazards.end(), [](const Hazard& h) { return h.refuse; });
}

std::vector<Hazard> joined(std::vector<Hazard> a, const std::vector<Hazard>& b) {
    a.insert(a.end(), b.begin(), b.end());
    std::stable_sort(a.begin(), a.end(), [](const Hazard& x, const Hazard& y) {
        return x.refuse != y.refuse ? x.refuse : x.kind < y.kind;
    });
    std::vector<Hazard> out;
    for (Hazard& h : a) {
        // The same danger twice is said once, with the larger figure; a refused one keeps its place.
        const auto same = std::find_if(out.begin(), out.end(), [&](const Hazard& o) {
            return o.kind == h.kind && (o.where == h.where || !h.refuse);
        });
        if (same == out.end()) {
            out.push_back(std::move(h));
            continue;
        }
        same->volts = std::max(same->volts, h.volts), same->joules = std::max(same->joules, h.joules);
        same->amps = std::max(same->amps, h.amps), same->metres = std::max(same->metres, h.metres);
        same->braking_V = std::max(same->braking_V, h.braking_V);
        for (const First f : h.first)
            if (std::find(same->first.begin(), same->first.end(), f) == same->first.end()) same->first.push_back(f);
        std::sort(same->first.begin(), same->first.end());
    }
    return out;
}

}  // namespace sunshaft::bench
