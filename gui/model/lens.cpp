#include "model/lens.hpp"

#include <algorithm>
#include <vector>

namespace sunshaft::view {
namespace {

constexpr double radius = 124.0, rim = 5.0, roomy = 30.0, least_zoom = 2.5, most_zoom = 16.0;

std::vector<Point> things(const SiteDrawing& d) {
    std::vector<Point> all;
    for (const Dot& dot : d.dots) all.push_back(dot.at);
    for (const Ring& ring : d.rings) all.push_back(ring.at);
    return all;
}

double to_nearest_other(const std::vector<Point>& all, std::size_t one) {
    double nearest = 1e9;
    for (std::size_t n = 0; n < all.size(); ++n)
        if (n != one) nearest = std::min(nearest, distance(all[n], all[one]));
    return nearest;
}

}  // namespace

std::optional<Lens> lens_over(const SiteDrawing& d, Point hand) {
    const std::vector<Point> all = things(d);
    double closest = 1e9;
    for (std::size_t n = 0; n < all.size(); ++n)
        if (distance(all[n], hand) < 0.5 * target_room) closest = std::min(closest, to_nearest_other(all, n));
    if (closest >= target_room) return std::nullopt;
    Lens lens;
    lens.radius = std::min({radius, 0.5 * d.box.w, 0.5 * d.box.h});
    lens.zoom = std::clamp(roomy / std::max(closest, 1e-3), least_zoom, most_zoom);
    // It lies inside the drawing, and what the hand points at does not move away from it.
    const double out = lens.radius + rim, left = std::max(d.left, d.box.x) + out, right = d.box.right() - out;
    const double top = d.box.y + out, bottom = d.box.bottom() - out;
    lens.centre = {std::clamp(hand.x, std::min(left, right), right), std::clamp(hand.y, std::min(top, bottom), bottom)};
    // In a corner it stands out of the drawing rather than leave the hand.
    if (const double away = distance(hand, lens.centre), most = 0.7 * lens.radius; away > most)
        lens.centre = hand + (lens.centre - hand) * (most / away);
    lens.at = hand - (hand - lens.centre) * (1.0 / lens.zoom);
    return lens;
}

}  // namespace sunshaft::view
