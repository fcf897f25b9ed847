#include "plant/probe.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <map>

#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::plant {
namespace {

using K = Signal::Kind;

struct Place {
    K kind;
    int index;
};

bool find_point(const site::Site& site, const std::string& name, Place& place) {
    if (name == "link-") return place = {K::link_minus, 0}, true;
    if (name == "link+") return place = {K::link_plus, 0}, true;
    if (name == "motor.n") return place = {K::star, 0}, true;
    static const std::map<std::string, int> stems = {{"drive", site::PhaseNode::drive},
                                                     {"lead", site::PhaseNode::lead},
                                                     {"cable", site::PhaseNode::cable},
                                                     {"motor", site::PhaseNode::motor}};
    const auto dot = name.find('.');
    if (dot != std::string::npos && dot + 2 == name.size()) {
        const auto stem = stems.find(name.substr(0, dot));
        const auto phase = std::string("uvw").find(name.back());
        if (stem != stems.end() && phase != std::string::npos)
            return place = {K::phase_node, stem->second + static_cast<int>(phase)}, true;
    }
    // The guard circuits hang on the drive's own small supply: their second terminals are its zero, and read against
    // nothing else.
    for (int n = 0; n < 2; ++n) {
        const auto& guard = n == 0 ? site.works.guards.dry : site.works.guards.full;
        const std::string stem = n == 0 ? "dry" : "float";
        if (!guard.fitted || site.works.supply.kind == site::Supply::Kind::mains) continue;
        if (name == stem + ".1") return place = {K::guard, n}, true;
        if (name == stem + ".2") return place = {K::link_minus, 0}, true;
    }
    const int column = site.source.column(name);
    if (column >= 0) return place = {K::dc_node, column}, true;
    // A stiff source has no wiring of its own: its poles are the link's.
    if (site.source.stiff && name.size() > 1 && (name.back() == '+' || name.back() == '-'))
        for (const char* stem : {"dc", "iso.in", "iso.out", "array"})
            if (name.substr(0, name.size() - 1) == stem)
                return place = {name.back() == '+' ? K::link_plus : K::link_minus, 0}, true;
    return false;
}

Place point(const site::Site& site, const std::string& name) {
    Place place{};
    if (!find_point(site, name, place))
        throw site::BadInput(
            fmt::format("{}: no such test point on this site, expected one that `sunshaft points` lists", name));
    return place;
}

constexpr NamedSignal named_signals[] = {{"speed_rpm", "rpm", text::id("speed"), K::speed},
                                         {"torque_N_m", "N m", text::id("torque"), K::torque},
                                         {"load_N_m", "N m", text::id("load torque"), K::load},
                                         {"flow_m3_h", "m3/h", text::id("flow"), K::flow},
                                         {"head_m", "m", text::id("pump head"), K::head},
                                         {"link_V", "V", text::id("link"), K::link},
                                         {"link_capacitor_V", "V", text::id("capacitor"), K::capacitor},
                                         {"power_W", "W", text::id("power in"), K::power},
                                         {"star_V", "V", text::id("star point"), K::star},
                                         {"turns_A", "A", nullptr, K::turns},
                                         {"flux_alpha_Wb", "Wb", nullptr, K::flux, 0},
                                         {"flux_beta_Wb", "Wb", nullptr, K::flux, 1}};
constexpr std::string_view clamp_prefix = "around.";

}  // namespace

const NamedSignal* named_signal(std::string_view name) {
    const auto* at = std::find_if(std::begin(named_signals), std::end(named_signals),
                                  [&](const NamedSignal& n) { return n.name == name; });
    return at == std::end(named_signals) ? nullptr : at;
}

std::string_view clamped(std::string_view name) {
    return name.starts_with(clamp_prefix) ? name.substr(clamp_prefix.size()) : std::string_view{};
}

std::string_view unit_of(std::string_view name) {
    if (const NamedSignal* named = named_signal(name)) return named->unit;
    return !clamped(name).empty() ? "A" : name.find(':') != std::string_view::npos ? "V" : "";
}

Signal signal(const site::Site& site, const std::string& name) {
    Signal s;
    s.name = name;
    if (const NamedSignal* named = named_signal(name)) {
        s.kind = named->kind;
        s.index = named->index;
        return s;
    }
    if (const std::string where(clamped(name)); !where.empty()) {
        const auto phase = std::string("uvw").find(where);
        if (where.size() == 1 && phase != std::string::npos) {
            s.kind = K::leg_current;
            s.index = static_cast<int>(phase);
        } else if (where == "uvw" || where == "dc" || where == "pe") {
            s.kind = K::earth_current;
            s.index = where == "uvw" ? 0 : where == "dc" ? 1 : 2;
        } else if (where == "dc+" || where == "dc-") {
            s.kind = K::dc_current;
            s.sign = where == "dc+" ? 1.0 : -1.0;
        } else if (std::isfinite(site.source.branch_current(where, 0.0))) {
            s.kind = K::string_current;
            s.label = where;
        } else {
            throw site::BadInput(text::say(
                "{}: no such conductor on this site, expected a clamp point that `sunshaft points` lists", where));
        }
        return s;
    }
    const auto colon = name.find(':');
    const Place a = point(site, name.substr(0, colon));
    s.kind = a.kind;
    s.index = a.index;
    if (colon != std::string::npos) {
        const Place b = point(site, name.substr(colon + 1));
        s.minus = b.kind;
        s.minus_index = b.index;
    }
    return s;
}

Recorder::Recorder(std::vector<Signal> signals) : signals_(std::move(signals)) {
    for (const Signal& s : signals_) recording.names.push_back(s.name);
    by_earth_ = std::any_of(signals_.begin(), signals_.end(),
                            [](const Signal& s) { return s.kind == Signal::Kind::earth_current; });
    curved_ = std::any_of(signals_.begin(), signals_.end(), [](const Signal& s) {
        using K = Signal::Kind;
        return s.kind == K::torque || s.kind == K::load || s.kind == K::head || s.kind == K::power || s.kind == K::flux;
    });
    recording.y0.resize(signals_.size());
    recording.y1.resize(signals_.size());
}

void Recorder::rebind(const site::Site& site) {
    for (Signal& s : signals_) s = signal(site, s.name);
    compiled_.reset();
}

void Recorder::clear() {
    recording.t0.clear();
    recording.t1.clear();
    for (auto& c : recording.y0) c.clear();
    for (auto& c : recording.y1) c.clear();
}

}  // namespace sunshaft::plant
