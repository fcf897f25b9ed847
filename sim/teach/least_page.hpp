// From how much of each fault on which field test sees it, as one picture: faults down, tests across.
#pragma once

#include <string>
#include <vector>

#include "diagnose/least_seen.hpp"
#include "report/paper.hpp"

namespace sunshaft::teach {

// The document, SVG or PDF. A cell is the fuller the less of the fault is enough. placed: what was set where.
std::string least_page(const Scenario& scenario, const std::vector<diagnose::LeastSeen>& rows, bool pdf,
                       std::vector<report::Paper::Placed>* placed = nullptr);

}  // namespace sunshaft::teach
