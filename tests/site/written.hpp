// A site as it is without a file, but for these keys.
#pragma once

#include <string>
#include <vector>

#include "site/keys.hpp"

namespace sunshaft::test {

inline Scenario written(const std::vector<std::string>& keys) {
    Scenario s;
    site::set_keys(s, keys);
    return s;
}

}  // namespace sunshaft::test
