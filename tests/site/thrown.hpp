// What the site's tests of bad input share.
#pragma once

#include <string>

#include "site/keys.hpp"

namespace sunshaft::test {

// The one line a call throws; "" when it throws nothing.
template <class Call>
std::string thrown(Call call) {
    try {
        call();
    } catch (const site::BadInput& wrong) {
        return wrong.what();
    }
    return "";
}

}  // namespace sunshaft::test
