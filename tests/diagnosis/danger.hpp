// What a proposed step does to whoever carries it out to the letter on the site as it really is: judged by the live
// solver there, never by the table of hazards. Limits fixed beforehand.
#pragma once

#include <string>

#include "diagnose/suspects.hpp"
#include "drawn.hpp"

namespace sunshaft::evaluation {

// Empty: nothing that the step's own cautions did not tell. Else in words, with the figure.
std::string danger(const Drawn& site, const diagnose::Proposal& step);

}  // namespace sunshaft::evaluation
