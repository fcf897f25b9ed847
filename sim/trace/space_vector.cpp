#include "trace/space_vector.hpp"

#include <numbers>

namespace sunshaft::trace {

SpaceVector space_vector(View a, View b, View c) {
    // Weights of nought put all three on the same break points.
    const Trace all_a = sum(sum(a, b, 0.0), c, 0.0), all_b = sum(sum(b, c, 0.0), a, 0.0),
                all_c = sum(sum(c, a, 0.0), b, 0.0);
    SpaceVector v;
    for (std::size_t k = 0; k < all_a.size(); ++k) {
        const Segment &sa = all_a[k], &sb = all_b[k], &sc = all_c[k];
        const auto add = [&](Trace& out, double wa, double wb, double wc) {
            out.push_back({sa.t0, sa.t1, wa * sa.y0 + wb * sb.y0 + wc * sc.y0, wa * sa.y1 + wb * sb.y1 + wc * sc.y1});
        };
        add(v.alpha, 2.0 / 3.0, -1.0 / 3.0, -1.0 / 3.0);
        add(v.beta, 0.0, std::numbers::inv_sqrt3, -std::numbers::inv_sqrt3);
        add(v.zero, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0);
    }
    return v;
}

}  // namespace sunshaft::trace
