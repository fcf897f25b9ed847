#include "plant/advance.hpp"

namespace sunshaft::plant {

template struct Advance<motor::PermanentMagnet>;
template struct Advance<motor::Bridged<motor::PermanentMagnet>>;

}  // namespace sunshaft::plant
