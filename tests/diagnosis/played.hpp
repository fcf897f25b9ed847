// One case from the complaint on, visit by visit, until acting pays more than another look: by what the suspects
// propose, in a textbook's fixed order, or at random. All by the same arithmetic; only what is looked at next differs.
#pragma once

#include "apart.hpp"
#include "drawn.hpp"

namespace sunshaft::evaluation {

enum class Way { proposed, textbook, random };

struct Played {
    int found_at =
        0;  // visits after which the true fault, or one that cannot be told from it, led to the end; 0: never
    int visits = 0;
    double minutes = 0.0;  // of looking, and of repairs that were not the one
    std::string path, leads, advice, doubted;
    double fits = 1.0;
    bool wrong_lift = false, called_healthy = false;
    double said = 0.0;           // probability of the leading group at the stop
    double said_of_truth = 0.0;  // ... of the true kind
    std::vector<std::string> dangers;
    diagnose::Case notes;  // all that was read
};

class Player {
  public:
    Player(const std::string& name, const Scenario& written, const diagnose::Priors& priors);
    Played play(const Drawn& site, Way way, std::mt19937_64& dice);
    bool like_healthy(const Drawn& site);
    // Whether what is wrong costs no water now, and endangers nothing: it counts as health.
    bool harmless(const Drawn& site) const;

  private:
    bool mended(const diagnose::Suspect& top, const std::string& advice, Drawn& site);
    bool right(const diagnose::Answer& a, const Drawn& site);
    std::vector<std::string> next_visit(const diagnose::Case& c, const diagnose::Answer& a, Way way,
                                        std::mt19937_64& dice) const;
    std::string name_;
    const Scenario& written_;
    site::Works works_;
    const diagnose::Priors& priors_;
    Apart apart_;
};

}  // namespace sunshaft::evaluation
