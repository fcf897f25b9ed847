#include "bench/hazards.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "bench/places.hpp"
#include "circuit/circuit.hpp"
#include "plant/surges.hpp"
#include "site/wiring.hpp"
#include "text/language.hpp"

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

std::vector<double> string_currents(const Works& w, double link_V) {
    if (!array(w)) return {};
    Works wired = w;
    wired.array.plus.contact.open = wired.array.minus.contact.open = std::isnan(link_V);
    if (std::isnan(link_V)) wired.array.plus.contact.leak_ohm = wired.array.minus.contact.leak_ohm = site::open_circuit;
    circuit::Circuit c;
    site::wire_dc(wired, c);
    if (!std::isnan(link_V)) c.voltage_source(c.node("link+"), c.node("link-"), link_V, 1e-3);
    const circuit::Solution found = circuit::solve(c);
    std::vector<double> amps;
    for (std::size_t n = 1; n <= w.array.strings.size(); ++n) {
        const auto branch = c.find_branch(fmt::format("s{}", n));
        const double i = branch ? found.current(*branch) : 0.0;
        amps.push_back(std::isfinite(i) ? i : 0.0);
    }
    return amps;
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

std::vector<Hazard> needs(const Scene& s, const Probes& probes, meter::Mode mode, const meter::Spec* spec) {
    const Works& w = *s.works;
    std::vector<std::string> points;
    const bool clamp = meter::takes_clamp(mode), dead = meter::drives_circuit(mode);
    if (clamp) points = {probes.around};
    else
        for (const std::string* p : {&probes.red, &probes.black})
            if (!p->empty()) points.push_back(*p);
    const auto any = [&](auto is) { return std::any_of(points.begin(), points.end(), is); };
    const auto all = [&](auto is) { return std::all_of(points.begin(), points.end(), is); };
    const std::string where = clamp ? probes.around : fmt::format("{} - {}", probes.red, probes.black);
    const bool on_array = any(of_array), on_output = any(of_output), on_dc = any(of_dc) || any(of_second),
               on_guard = !points.empty() && all(of_guard);
    const double open = clamp ? highest_V(w) : highest_V(w, probes.red, probes.black);
    // At the end of the cable edges come back: the output's steps get that much higher.
    const auto line =
        !clamp && any([](const std::string& p) { return plant::at_motor(p); }) ? plant::surge_line(w) : std::nullopt;
    const double reflected = line ? line->peak(plant::edge_s(w, *line)) / line->settled() : 1.0;
    // A meter's category is one of working volts: spikes of microseconds are what its impulse rating is for.
    const double working = on_guard ? site::Guards::feed_V : std::max({open, s.link_V, on_output ? spin_V(s) : 0.0});
    const double working_braking = (on_dc || on_output) && w.link.overvoltage_V > working ? w.link.overvoltage_V : 0.0;
    const double volts = on_guard ? working : std::max(working, reflected * std::max(open, s.link_V));
    const double braking = reflected * w.link.overvoltage_V > volts ? reflected * working_braking : 0.0;
    std::vector<Hazard> list;
    const auto add = [&](Hazard h) { list.push_back(std::move(h)); };
    if (spec && !dead && !clamp && std::max(working, working_braking) > (spec->category ? spec->category_V : touch_V)) {
        constexpr const char* roman[] = {"", "", "II", "III", "IV"};
        const std::string rating =
            spec->category ? fmt::format("CAT {} {:.0f} V", roman[spec->category], spec->category_V) : "";
        add({.kind = Danger::meter_not_rated,
             .where = where,
             .volts = working,
             .braking_V = working_braking,
             .meter_rating = rating,
             .refuse = true});
    }
    if (mode == meter::Mode::insulation && any([&](const std::string& p) { return electronics(w, p); }))
        add({.kind = Danger::test_into_electronics,
             .where = where,
             .first = with(dead_order, First::disconnected),
             .refuse = true});
    if (dead && any([&](const std::string& p) { return live(s, p); }))
        add({.kind = Danger::ohms_on_live,
             .where = where,
             .volts = volts,
             .braking_V = braking,
             .first = dead_order,
             .refuse = true});
    if (on_dc || on_output || (on_array && !isolated(w))) add_stored(s, list);
    // Between a pole and metal, and where a clamp is closed round what leads to earth.
    if (on_dc || (any(of_metal) && !on_output) || (clamp && all(of_metal)))
        add_earth_capacitors(w, std::max(open, s.link_V), list);
    if (on_array || (clamp && on_dc)) list = joined(std::move(list), circulating(s));
    if (on_output && !mains(w) && (dead || (!s.running && std::abs(s.shaft) > turning))) add_spin(s, list);
    if (!dead && (volts > touch_V || (clamp && !on_guard)))
        add({.kind = Danger::live_pole, .where = where, .volts = volts, .braking_V = braking});
    if (on_array || on_dc || on_output) add_second(w, list);
    if (on_array && array(w)) add({.kind = Danger::live_in_light, .where = where, .volts = volts});
    if (!dead && !mains(w) && any(of_metal) && !on_output)
        add({.kind = Danger::frame_live, .where = where, .volts = volts});
    if (!dead && !clamp && (on_output || on_guard) && drive_live(s))
        add({.kind = Danger::switched_output, .where = where, .volts = volts});
    if (mode == meter::Mode::insulation) add({.kind = Danger::insulation_test, .where = where});
    if (dead) add({.kind = Danger::dead_test, .where = where, .first = dead_order});
    add({.kind = Danger::authorised});
    return fitted(w, joined(std::move(list), {}));
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

// ---- whoever works, watched

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
    Works now = *scene.works;
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
