#include "plant/advance.hpp"

namespace sunshaft::plant {

template struct Advance<motor::DoubleCage>;
template struct Advance<motor::Bridged<motor::DoubleCage>>;

}  // namespace sunshaft::plant
