// A drive as a site is told it whose keys are all left out: the defaults stand with the keys.
#pragma once

#include "drive/settings.hpp"
#include "site/works.hpp"

namespace sunshaft::test {

inline drive::DriveSettings told() {
    static const drive::DriveSettings settings = site::set_up(Scenario{}).drive;
    return settings;
}

}  // namespace sunshaft::test
