// A case on one page: what was read and what it means, who is suspected, what to do and what to bring.
#pragma once

#include <string>

#include "diagnose/suspects.hpp"

namespace sunshaft::diagnose {

std::string report_text(const Case& c, const Answer& answer);
// One page by itself: no script, nothing fetched.
std::string report_html(const Case& c, const Answer& answer);

}  // namespace sunshaft::diagnose
