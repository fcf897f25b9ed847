// A site from five answers, for a case on the telephone: what is asked is taken as told, all else is guessed from the
// shipped site that is most like it, scaled to the array's volts and power and to the well's depth.
#pragma once

#include <string>

#include "site/scenario.hpp"

namespace sunshaft::diagnose {

struct Answers {
    std::string modules = "10x2";      // in series x strings
    std::string label = "60";          // cells, or "I_sc V_oc I_mp V_mp"
    std::string pump = "centrifugal";  // or screw
    std::string cable = "55x2.5";      // metres x mm2
    std::string depth = "43";          // of the pump, m
};
// Throws site::BadInput that names the answer.
Scenario new_site(const Answers& answers);

}  // namespace sunshaft::diagnose
