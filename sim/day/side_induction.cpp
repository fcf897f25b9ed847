#include "day/side.hpp"

namespace sunshaft::day::sides {

template struct Make<motor::Induction>;
template struct Make<motor::Bridged<motor::Induction>>;

}  // namespace sunshaft::day::sides
