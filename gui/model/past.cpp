#include "model/past.hpp"

#include <algorithm>

namespace sunshaft::view {

void Past::keep(const bench::Bench& bench) {
    const double t = bench.time();
    if (!kept_.empty() && t < kept_.back().time() + every_seconds) return;
    kept_.push_back(bench);
    while (kept_.size() > 1 && kept_[1].time() < t - kept_seconds) kept_.pop_front();
}

const bench::Bench* Past::before(double t) const {
    if (kept_.empty()) return nullptr;
    const auto later = std::find_if(kept_.begin(), kept_.end(), [&](const bench::Bench& b) { return b.time() > t; });
    return later == kept_.begin() ? &kept_.front() : &*(later - 1);
}

double Past::from() const { return kept_.empty() ? 0.0 : kept_.front().time(); }

}  // namespace sunshaft::view
