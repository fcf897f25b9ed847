// What must hold of whatever comes out of a loader, shared by the mutation tests and the fuzzers.
#pragma once

#include <algorithm>
#include <string>

#include "files/text.hpp"
#include "site/load.hpp"

namespace sunshaft::test {

inline bool one_clean_line(const std::string& line) {
    return files::is_plain(line) && !line.empty() && line.size() < 2500;
}

// Every value in its domain, and the scenario written out reads back to itself.
inline bool in_order(const Scenario& scenario) {
    using namespace site;
    for (const Key& key : keys()) {
        const Value value = get(scenario, key);
        const bool left_out = may_be_left_out(key) && text_of(value) == "nan";
        if (!left_out && !fault_in(key, value).empty()) return false;
    }
    return !conflict(scenario) && to_toml(parse_scenario(to_toml(scenario), "")) == to_toml(scenario);
}

}  // namespace sunshaft::test
