#include "plant/advance.hpp"

namespace sunshaft::plant {

template struct Advance<motor::Induction>;
template struct Advance<motor::Bridged<motor::Induction>>;

}  // namespace sunshaft::plant
