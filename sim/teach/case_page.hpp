// A case on one page of A4, to be printed: cautions first, what was read, where it lies, who it may be with the first
// suspect beside each reading, what to do next and what to bring.
#pragma once

#include <string>
#include <vector>

#include "diagnose/suspects.hpp"
#include "report/paper.hpp"

namespace sunshaft::teach {

// The document, PDF. placed: what was set where.
std::string case_page(const diagnose::Case& c, const diagnose::Answer& answer,
                      std::vector<report::Paper::Placed>* placed = nullptr);

}  // namespace sunshaft::teach
