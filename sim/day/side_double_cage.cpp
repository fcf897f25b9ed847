#include "day/side.hpp"

namespace sunshaft::day::sides {

template struct Make<motor::DoubleCage>;
template struct Make<motor::Bridged<motor::DoubleCage>>;

}  // namespace sunshaft::day::sides
