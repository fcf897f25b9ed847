// The hypotheses weighed: every cause at every severity against all that was read. Only for suspects.cpp and plan.cpp.
#pragma once

#include <Eigen/Dense>
#include <functional>
#include <memory>
#include <vector>

#include "diagnose/facts.hpp"
#include "diagnose/hypotheses.hpp"
#include "diagnose/sights.hpp"

namespace sunshaft::diagnose {

// What is uncertain about every site and every meter, whatever is at fault: one standard deviation of it as edits.
struct Nuisance {
    std::string name;
    std::vector<std::string> set;
    bool sky = false;    // of the hour, not of the site
    bool level = false;  // how deep the water stands
};
std::vector<Nuisance> nuisances(const Scenario& scenario);
inline constexpr double sun_step = 0.2;  // share of the sun its nuisance takes away

bool of_the_sky(const Fact& fact);  // sun and warmth of the modules: known without running anything

// How a deviation of each nuisance moves the facts of one site: facts by nuisances, by kind of meter; as compared.
using Slopes = std::array<Eigen::MatrixXd, 2>;

// All facts as one site shows them.
struct Profile {
    bool possible = true;
    std::shared_ptr<const Slopes> slopes = {};  // its own; none: those of the healthy site
    double vague = 0.0;                         // share of what it changes that is uncertain, beside all else
    std::vector<std::array<Shown, 2>> shown;    // by fact and kind of meter
    std::vector<Behaviour> behaviour;           // by fact
    std::vector<double> loose;                  // variance by fact, as it is compared: what stands between two points
};

struct Posterior {
    std::vector<Cause> causes;
    std::vector<std::vector<Profile>> profiles;  // by cause and point
    std::vector<double> probability;             // by cause
    std::vector<double> share;                   // by cause: of severities, the most probable
    std::vector<std::vector<double>> weight;     // by cause and point: how near the probable severities lie to it
    struct Gap {                                 // between a point and the next
        double weight = 0.0, best = 0.5;         // of the severities there; where in it the best of them lies
    };
    std::vector<std::vector<Gap>> gaps;  // by cause
    std::vector<double> slip;            // by fact
    std::vector<double> log_evidence;    // by cause: of the readings, severities integrated
    double reading = 0.0;                // health, and a reading that is wrong
    double fits = 1.0;  // tail probability of the readings under the most probable hypothesis that knows them all
    double fits_but_one = 1.0;             // ... were the one most doubted a slip, unless it was read again
    bool strained = false;                 // ... hardly at all before suspects were given slopes of their own
    std::vector<std::vector<double>> off;  // by cause and fact: standard deviations from what its best severity shows
    std::vector<Profile> best;             // by cause
    double log_total = 0.0;                // what all are divided by
};

// Two causes at once.
struct Pair {
    std::size_t one, other;  // of Posterior::causes
    Change change = {};
    double at = -1.0;    // of the range of `other`, where it has degrees and was tried at several
    double share = 1.0;  // of the severities of `other`, that this one stands for
    double probability = 0.0;
    Profile profile = {};
    std::vector<double> off = {};  // by fact
};

class Weighing {
  public:
    Weighing(Sights& sights, const Facts& facts, const Priors& priors, std::vector<Cause> causes);
    // Severities finer and finer where they matter. rough: in fewer rounds, and no slopes but the healthy site's.
    Posterior weigh(bool rough, const std::function<bool(double)>& progress);
    const Profile& healthy() const { return healthy_; }
    // Where nothing alone explains enough: the pairs that do, and all the rest scaled to what they leave. Empty: one is
    // enough, or no two are.
    std::vector<Pair> pairs(Posterior& p, const std::function<bool(double)>& progress);
    // Of readings that fit none of what is known: something else is the likelier for it.
    static void leave_room(Posterior& p, std::vector<Pair>& pairs);
    // A severity that costs no water and endangers nothing counts as health: needs the running site.
    void set_harmless_to_health(Posterior& p, const std::function<bool(double)>& progress);

  private:
    void look(const std::vector<std::pair<std::size_t, std::size_t>>& which,
              const std::function<bool(double)>& progress);
    std::vector<Look> usual_looks(const State& state) const;
    std::vector<Profile> profiles_of(const std::vector<Change>& changes, const std::function<bool(double)>& progress);
    struct Fit {
        double log = 0.0, without = 0.0, distance = 0.0;
        int figures = 0;
        std::vector<double> slip, off;
    };
    static constexpr double contradicts = 9.0;  // Fit::off of what is no figure, or was to be none
    // What one fact is held against: what a site shows there, and how often it is a slip, without and with a drive that
    // is read while it tries.
    struct Beside {
        const Shown& is;
        const Behaviour& behaves;
        double alone, own;
    };
    // Facts that are figures, by row: read less shown; its own variance; what all that is shared adds to it, nuisances
    // and then gains.
    struct Figures {
        Eigen::VectorXd residual, own;
        Eigen::MatrixXd shared;
    };
    Beside beside(const Profile& p, std::size_t fact, std::size_t kind, double least_slip) const;
    Figures figures(const Profile& p, const std::vector<std::size_t>& rows, std::size_t kind) const;
    void move_by_nuisances(const Profile& p, std::size_t fact, std::size_t kind, Eigen::Index row,
                           Eigen::MatrixXd& shared, double& v) const;
    Fit fit(const Profile& p, double least_slip) const;
    Fit fit(const Profile& p, double least_slip, std::size_t kind) const;
    Fit so_or_so(const Profile& p, double least_slip, std::size_t kind) const;
    bool like_healthy(const Profile& p) const;
    std::vector<std::size_t> halves(const Posterior& p) const;
    std::vector<Pair> pairs_of_halves(const Posterior& p) const;
    std::vector<Pair> laid_over(const Posterior& p) const;
    std::vector<Pair> between_tried(const std::vector<Pair>& all) const;
    Profile both(const Profile& a, const Profile& b) const;
    double log_prior(const Posterior& p, const Pair& x) const;
    void weigh_pairs(const Posterior& p, std::vector<Pair>& list, const std::function<bool(double)>& progress);
    Profile between(const Cause& c, const std::vector<Profile>& points, std::size_t left, double s) const;
    struct Alone {
        double log_evidence = -1e9, without = -1e9;  // severities integrated; the best of them with no slip
        double share = 0.0;
        std::vector<double> weight, off, slip;
        std::vector<Posterior::Gap> gaps;
        Profile best = {};
    };
    struct Part {
        double log;
        std::size_t point;
        double share;
        std::size_t gap;
        double within;
        Fit fit;
        Profile profile;
    };
    static constexpr std::size_t no_gap = 1000;
    // vague: as in Profile.
    std::vector<Part> parts(std::size_t cause, double vague = 0.0) const;
    Alone alone(std::size_t cause) const;
    // Where a severity between two known ones is worth its run.
    struct Between {
        double worth;
        std::size_t cause, left;
        double within;  // 0 .. 1 from the left
    };
    std::vector<Between> worth_refining(const Posterior& p) const;
    std::vector<Between> unknown_between(const Posterior& p) const;
    Slopes slopes(const Profile& base, const Profile* moved) const;
    std::vector<std::size_t> insert(std::vector<Between> chosen, const std::function<bool(double)>& progress);
    bool refine(Posterior& p, const std::function<bool(double)>& progress);
    void with_own_slopes(Posterior& p, const std::function<bool(double)>& progress);
    void set_fits(Posterior& p) const;
    void combine(Posterior& p) const;
    void weigh(Posterior& p, const std::vector<std::size_t>& anew);

    Sights& sights_;
    const Facts& facts_;
    const Priors& priors_;
    std::vector<Cause> causes_;
    std::vector<std::vector<Profile>> profiles_;
    std::vector<Alone> alone_;  // by cause
    Profile healthy_;
    std::vector<Nuisance> nuisances_;
    Slopes slope_;  // of the healthy site
    std::array<std::vector<double>, 2> width_;
    std::vector<std::string> gains_;
};

}  // namespace sunshaft::diagnose
