// What a caller may choose of the solver, and what it throws: for all who run a plant without seeing the driver.
#pragma once

#include <stdexcept>
#include <string>

#include "plant/state.hpp"
#include "site/site.hpp"

namespace sunshaft::plant {

enum class Method { automatic, dopri5, ra34pw2, ros2w };

// Both in units of the reference magnitudes of the states.
struct Options {
    double relative = 4e-4;  // local error of a step
    double piece = 1.2e-2;   // bend of the curve over a piece; of its statistics about the square of this is lost
    Method method = Method::automatic;
};

// As accurate as the site's key solver.tolerance says.
Options options_for(const site::Site& site);

// "; look at motor.inertia_kg_m2: it is 1e-06, 0.002 is usual": the key that lies farthest off of those on which a
// state (State::x) hangs most, where one lies far off at all.
std::string advice(const site::Site& site, std::size_t component);

// What stopped the solver when it could not go on; says where and which component.
struct SolverError : std::runtime_error {
    using std::runtime_error::runtime_error;
};

// Reference magnitudes of the states on this site: scale of the tolerances.
X reference(const site::Site& site);
// The torque that goes with them: about the rated one, N m.
inline double reference_torque(const X& reference) { return reference[v_cap] * reference[i_alpha] / reference[speed]; }

}  // namespace sunshaft::plant
