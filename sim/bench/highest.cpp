// The highest voltage that can stand at a site: open-circuit sources on the coldest bright morning, along any path that
// joints left closed could make.
#include <algorithm>
#include <cmath>
#include <utility>

#include "bench/hazards.hpp"
#include "bench/places.hpp"

namespace sunshaft::bench {
namespace {

using site::Works;

double module_open_V(const solar::ModuleData& data, double degC) {
    return solar::voltage(solar::translate_cec(data, bright_W_m2, degC), 0.0);
}

// Sums of open-circuit voltages from a string's minus end upwards; rise and fall: the largest and the least from any
// point to one above it. Modules wired plus to plus are strings of one.
struct Along {
    std::size_t string;
    double end = 0.0, low = 0.0, high = 0.0, rise = 0.0, fall = 0.0;
    void add(double volt) {
        end += volt;
        rise = std::max(rise, end - low), fall = std::min(fall, end - high);
        low = std::min(low, end), high = std::max(high, end);
    }
};

std::vector<Along> alongs(const Works& w) {
    std::vector<Along> list;
    const solar::ModuleData* last = nullptr;
    double open = 0.0;
    for (std::size_t k = 0; k < w.array.strings.size(); ++k) {
        const site::String& s = w.array.strings[k];
        Along along{k};
        // m1 is next to the plus end, in a reversed string to the minus end
        for (std::size_t n = 0; n < s.modules.size(); ++n) {
            const site::Module* m = &s.modules[s.reversed ? n : s.modules.size() - 1 - n];
            if (!last || m->data.stc.IL != last->stc.IL || m->data.stc.I0 != last->stc.I0 ||
                m->data.stc.a != last->stc.a)
                open = module_open_V(m->data, w.array.coldest_degC);
            last = &m->data;
            along.add(m->reversed != s.reversed ? -open : open);
            if (s.parallel) list.push_back(std::exchange(along, Along{k}));
        }
        if (!s.parallel) list.push_back(along);
    }
    return list;
}

double larger(double most, double low, double high) { return std::max({most, std::abs(low), std::abs(high)}); }

// What ties array+ to array- beside a string: the other strings, or the drive's input and the leakages, which hold no
// voltage.
std::vector<double> ties(const std::vector<Along>& strings, const Along& s, const Along* t = nullptr) {
    std::vector<double> volts{0.0};
    for (const Along& k : strings)
        if (&k != &s && &k != t) volts.push_back(k.end);
    return volts;
}

// Any path that meets no point twice can be the only one, with all other joints open: along the string, to either end
// of the array, and round a break in it.
double highest_in(const std::vector<Along>& strings, const Along& s) {
    double most = larger(larger(larger(std::abs(s.end), s.fall, s.rise), s.low, s.high), s.low - s.end, s.high - s.end);
    for (const double tie : ties(strings, s)) {
        most = larger(most, tie - s.end + s.fall, tie - s.end + s.rise);
        most = larger(larger(most, tie - s.end + s.low, tie - s.end + s.high), s.low - tie, s.high - tie);
    }
    return most;
}

// From a point of one string to a point of another: by way of array-, of array+, or of one and then the other.
double highest_across(const std::vector<Along>& strings, const Along& s, const Along& t) {
    double most = larger(larger(0.0, s.low - t.high, s.high - t.low), s.low - s.end - t.high + t.end,
                         s.high - s.end - t.low + t.end);
    for (const double tie : ties(strings, s, &t)) {
        most = larger(most, tie - t.end + t.low - s.high, tie - t.end + t.high - s.low);
        most = larger(most, tie - s.end + s.low - t.high, tie - s.end + s.high - t.low);
    }
    return most;
}

// The strings a point may belong to: its own, or those an earth fault ties to the metal.
std::vector<std::size_t> strings_at(const Works& w, const std::string& point) {
    if (of_string(point)) return {static_cast<std::size_t>(std::stoul(point.substr(1)) - 1)};
    std::vector<std::size_t> list;
    if (of_metal(point))
        for (std::size_t k = 0; k < w.array.strings.size(); ++k)
            if (const auto& leaks = w.array.strings[k].earth_ohm;
                std::any_of(leaks.begin(), leaks.end(), [](double ohm) { return std::isfinite(ohm); }))
                list.push_back(k);
    return list;
}

}  // namespace

double highest_V(const Works& w) {
    if (!array(w)) return w.supply.voltage;
    const auto strings = alongs(w);
    double most = w.supply.second.highest_V();
    for (const Along& s : strings) most = std::max(most, highest_in(strings, s));
    return most;
}

double highest_V(const Works& w, const std::string& a, const std::string& b) {
    const double one = highest_V(w);
    if (!array(w)) return one;
    // Two breaks leave one string hanging by its minus end and another by its plus end, and what loads the array ties
    // these together.
    const auto strings = alongs(w);
    double most = one;
    for (const std::size_t s : strings_at(w, a))
        for (const std::size_t t : strings_at(w, b))
            for (const Along& x : strings)
                for (const Along& y : strings)
                    if (s != t && x.string == s && y.string == t) most = std::max(most, highest_across(strings, x, y));
    return most;
}

std::vector<Hazard> at_most(std::vector<Hazard> hazards, const Works& works) {
    const double highest = highest_V(works);
    for (Hazard& h : hazards) {
        h.at_most = true;
        h.joules = 0.0;
        switch (h.kind) {
            case Danger::stored_charge:
            case Danger::never_discharges:
            case Danger::live_link:
            case Danger::live_wires:
            case Danger::pump_running: h.volts = std::max(h.volts, highest); break;
            case Danger::back_spin: h.volts = 0.0; break;  // said without a figure
            default: break;                                // the highest already
        }
    }
    return hazards;
}

}  // namespace sunshaft::bench
