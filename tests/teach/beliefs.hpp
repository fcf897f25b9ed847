// The shipped beliefs, loaded once.
#pragma once

#include "teach/lesson.hpp"

namespace sunshaft::test {

inline const teach::Beliefs& beliefs() {
    static const teach::Beliefs all = teach::load_beliefs();
    return all;
}

}  // namespace sunshaft::test
