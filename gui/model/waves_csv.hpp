// What the strip shows as tables of text.
#pragma once

#include <string>
#include <vector>

#include "model/snapshot.hpp"

namespace sunshaft::view {

// Comma separated, first line the names with units: "t [s],u-v [V],u [A]". A row at every break point of any
// wave; where one jumps there are two rows of the same time, before and after. A wave that is not recorded
// there leaves its field empty.
std::string waves_to_csv(const std::vector<Wave>& waves);
// Columns side by side, the shorter ones ending in empty fields: "head [m]" and its figures.
struct Column {
    std::string head;
    std::vector<double> figures;
};
std::string columns_to_csv(const std::vector<Column>& columns);

}  // namespace sunshaft::view
