// Whether two hypotheses can be told apart at all: noise-free readings of the site as written, in every test that can
// be done there, within one combined standard deviation. Fixed before anything is played.
#pragma once

#include <map>

#include "diagnose/suspects.hpp"
#include "diagnose/trials.hpp"
#include "drawn.hpp"

namespace sunshaft::evaluation {

class Apart {
  public:
    Apart(const Scenario& written, const diagnose::Priors& priors);
    bool same(const diagnose::Change& a, const diagnose::Change& b);
    // ... at the suspect's own severity, or at any near it: its readings were fitted to noise.
    bool same(const diagnose::Suspect& s, const diagnose::Change& truth);

  private:
    // A fault as it would stand on the site; nothing: it is none, or there are two.
    std::optional<diagnose::Change> change(const diagnose::Suspect& s) const;
    std::vector<diagnose::Sight> seen(const diagnose::Change& c);  // by test
    site::Works works_;
    diagnose::Sights sights_;
    std::vector<diagnose::Candidate> tests_;
    std::vector<diagnose::Cause> causes_;
    std::map<std::string, std::vector<diagnose::Sight>> known_;
};

}  // namespace sunshaft::evaluation
