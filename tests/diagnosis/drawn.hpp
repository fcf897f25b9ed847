// Sites as they really stand, drawn apart from the arithmetic that ranks: tolerances wider and heavier-tailed than the
// weighing assumes (Student t with 4 degrees of freedom), severities evenly over the range and off every grid, readings
// by the live solver, written down as people do with a meter that has an error of its own.
#pragma once

#include <map>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"
#include "diagnose/case.hpp"
#include "diagnose/priors.hpp"

namespace sunshaft::evaluation {

struct Truth {
    std::string kind = "health", place;
    double severity = 1.0;
    std::string where = "waiting";
};

struct Drawn {
    std::vector<Truth> truths;           // none: healthy
    std::string part;                    // how it was drawn
    std::vector<std::string> misstated;  // one wrong statement about the site: keys as they really are
    Scenario real;
    bool pump_passes = true;  // an acceptance test by the data that are written: ISO 9906:2012, grade 3B
    std::vector<site::Fault> faults() const;
};

enum class Part { by_priors, evenly, healthy, pairs, of_kinds };

class Lottery {
  public:
    Lottery(const Scenario& written, const diagnose::Priors& priors, unsigned long seed);
    // kinds: for of_kinds alone.
    Drawn draw(Part part, const std::vector<std::string>& kinds = {});
    std::mt19937_64& dice() { return dice_; }

  private:
    Truth fault(bool by_priors, const std::vector<std::string>& kinds);
    std::vector<Truth> pair();
    Scenario real();
    const Scenario& written_;
    site::Works works_;
    const diagnose::Priors& priors_;
    std::vector<const site::FaultRow*> rows_;
    std::vector<double> weights_;
    std::mt19937_64 dice_;
};

// Student t with 4 degrees of freedom.
double heavy(std::mt19937_64& dice);

// A test carried out on the real site, put into the case. act: what is done first. gains: one a mode, drawn when first
// used. False: nothing of it could be read.
bool carry_out(diagnose::Case& c, const Drawn& site, const std::string& test, const std::vector<std::string>& act,
               std::map<std::string, double>& gains, std::mt19937_64& dice);
// What leads to the station of a test, as a case has it.
std::vector<std::string> acts_to(const bench::FieldTest& test, const site::Works& works);

}  // namespace sunshaft::evaluation
