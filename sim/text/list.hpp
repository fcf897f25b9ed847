// Words in a row.
#pragma once

#include <string>

namespace sunshaft::text {

// "flow head water"
template <class Words>
std::string spaced(const Words& words) {
    std::string row;
    for (const auto& word : words) row.append(row.empty() ? "" : " ").append(word);
    return row;
}

}  // namespace sunshaft::text
