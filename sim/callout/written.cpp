#include "callout/written.hpp"

#include <algorithm>

#include "callout/moment.hpp"

namespace sunshaft::callout {
namespace {

bench::Edits without_faults(bench::Edits edits) {
    edits.faults.clear();
    return edits;
}

}  // namespace

Written::Written(const Scenario& scenario, const bench::Edits& today) : bench_(scenario, without_faults(today)) {}

void Written::put(const bench::Edits& edits) {
    bench::Edits now = without_faults(edits);
    // Its own clock: what was done there is done here by now.
    for (site::Act& act : now.acts) act.time = std::min(act.time, bench_.time());
    bench_.edit(now);
}

void Written::run_to(double t) {
    if (t > bench_.time()) bench_.advance(std::min(t - bench_.time(), settles_s));
}

bench::Scene Written::scene() const { return bench::scene(*bench_.site(), bench_.plant().look(bench_.state())); }

}  // namespace sunshaft::callout
