#include "diagnose/places.hpp"

#include <algorithm>

#include "site/points.hpp"

namespace sunshaft::diagnose {
namespace {

std::string wire(const std::string& p) {
    if (p.size() > 2 && p[1] == '.' && p[0] >= 'u' && p[0] <= 'w') return p.substr(0, 1);  // a device of its leg
    const char last = p.empty() ? ' ' : p.back();
    const bool alone = p.size() == 1 || (p.size() > 2 && p[p.size() - 2] == '.');
    return alone && last >= 'u' && last <= 'w' ? std::string(1, last) : std::string();
}

}  // namespace

std::string common_place(const std::vector<std::string>& places) {
    if (places.size() == 1) return places.front();
    for (const auto& part : {wire, site::string_of}) {
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
