#include "plant/advance.hpp"

namespace sunshaft::plant {

template struct Advance<motor::SynchronousReluctance>;
template struct Advance<motor::Bridged<motor::SynchronousReluctance>>;

}  // namespace sunshaft::plant
