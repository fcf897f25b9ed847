#include "plant/probe.hpp"

#include <fmt/format.h>

#include <algorithm>
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

}  // namespace

Signal signal(const site::Site& site, const std::string& name) {
    static const std::map<std::string, K> plain = {{"speed_rpm", K::speed},
                                                   {"torque_N_m", K::torque},
                                                   {"load_N_m", K::load},
                                                   {"flow_m3_h", K::flow},
                                                   {"head_m", K::head},
                                                   {"link_V", K::link},
                                                   {"link_capacitor_V", K::capacitor},
                                                   {"power_W", K::power},
                                                   {"star_V", K::star},
                                                   {"turns_A", K::turns}};
    Signal s;
    s.name = name;
    if (const auto p = plain.find(name); p != plain.end()) {
        s.kind = p->second;
        return s;
    }
    if (name == "flux_alpha_Wb" || name == "flux_beta_Wb") {
        s.kind = K::flux;
        s.index = name == "flux_beta_Wb" ? 1 : 0;
        return s;
    }
    if (name.rfind("around.", 0) == 0) {
        const std::string where = name.substr(7);
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
