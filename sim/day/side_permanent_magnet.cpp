#include "day/side.hpp"

namespace sunshaft::day::sides {

template struct Make<motor::PermanentMagnet>;
template struct Make<motor::Bridged<motor::PermanentMagnet>>;

}  // namespace sunshaft::day::sides
