// The space vector of three phase quantities: the path one point takes where three waves go up and down.
#pragma once

#include "trace/trace.hpp"

namespace sunshaft::trace {

// E. Clarke, "Circuit Analysis of A-C Power Systems", 1943, in the form that keeps amplitudes:
//   alpha = (2 a - b - c)/3,  beta = (b - c)/sqrt 3,  zero = (a + b + c)/3.
// All three on the break points of a, b and c together; row k of each spans the same time, so (alpha[k],
// beta[k]) is one straight stretch of the path.
struct SpaceVector {
    Trace alpha, beta, zero;
};
SpaceVector space_vector(View a, View b, View c);

}  // namespace sunshaft::trace
