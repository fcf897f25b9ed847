#include "diagnose/places.hpp"

#include <algorithm>

namespace sunshaft::diagnose {
namespace {

std::string wire(const std::string& p) {
    if (p.size() > 2 && p[1] == '.' && p[0] >= 'u' && p[0] <= 'w') return p.substr(0, 1);  // a device of its leg
    const char last = p.empty() ? ' ' : p.back();
    const bool alone = p.size() == 1 || (p.size() > 2 && p[p.size() - 2] == '.');
    return alone && last >= 'u' && last <= 'w' ? std::string(1, last) : std::string();
}

std::string string(const std::string& place) {
    const std::string p = place.starts_with("fuse.") ? place.substr(5) : place;
    return p.size() > 1 && p[0] == 's' && p[1] >= '0' && p[1] <= '9' ? p.substr(0, p.find('.')) : std::string();
}

}  // namespace

std::string common_place(const std::vector<std::string>& places) {
    if (places.size() == 1) return places.front();
    for (const auto& part : {wire, string}) {
        const std::string first = places.empty() ? std::string() : part(places.front());
        if (!first.empty() && std::ranges::all_of(places, [&](const std::string& p) { return part(p) == first; }))
            return first;
    }
    return "";
}

bool one_place(const std::string& a, const std::string& b) {
    if (a == b || a.empty() || b.empty()) return true;
    const std::string both = common_place({a, b});
    return !both.empty() && (both == a || both == b);
}

}  // namespace sunshaft::diagnose
