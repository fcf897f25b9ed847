#include "model/spelled.hpp"

#include <algorithm>
#include <utility>

#include "text/heard.hpp"

namespace sunshaft::view {

std::vector<Spot> spelled(const std::vector<Spot>& spots, const std::string& typed) {
    const std::string part = text::folded(typed);
    std::vector<std::pair<int, Spot>> found;
    for (const Spot& spot : spots) {
        const std::size_t in_name = text::folded(spot.name).find(part);
        if (in_name != std::string::npos) found.emplace_back(in_name == 0 ? 0 : 1, spot);
        else if (text::folded(spot.where).find(part) != std::string::npos) found.emplace_back(2, spot);
    }
    std::ranges::stable_sort(found, {}, [](const auto& f) { return f.first; });
    std::vector<Spot> list;
    for (auto& [rank, spot] : found) list.push_back(std::move(spot));
    return list;
}

const Spot* stepped(Point from, Point way, const std::vector<Spot>& spots) {
    const Spot* to = nullptr;
    double best = not_that_way;
    for (const Spot& spot : spots)
        if (const double far = far_on(from, spot.at, way); far < best) best = far, to = &spot;
    return to;
}

}  // namespace sunshaft::view
