#include "day/side.hpp"

namespace sunshaft::day::sides {

template struct Make<motor::SynchronousReluctance>;
template struct Make<motor::Bridged<motor::SynchronousReluctance>>;

}  // namespace sunshaft::day::sides
