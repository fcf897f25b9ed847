// Numbers out of the CSV files in tests/data: '#' lines and the line of names skipped, empty fields as NaN.
#pragma once

#include <fstream>
#include <limits>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace sunshaft::test {

inline std::vector<std::vector<std::string>> fields(const std::string& name) {
    std::ifstream in(std::string(SUNSHAFT_TEST_DATA) + "/" + name);
    if (!in) throw std::runtime_error("cannot read " + name);
    std::vector<std::vector<std::string>> rows;
    bool names_read = false;
    for (std::string line; std::getline(in, line);) {
        if (line.empty() || line[0] == '#') continue;
        if (!names_read) {
            names_read = true;
            continue;
        }
        std::vector<std::string> row;
        std::istringstream cells(line);
        for (std::string cell; std::getline(cells, cell, ',');) row.push_back(cell);
        rows.push_back(row);
    }
    return rows;
}

inline double number(const std::vector<std::string>& row, std::size_t column) {
    if (column >= row.size() || row[column].empty()) return std::numeric_limits<double>::quiet_NaN();
    return std::stod(row[column]);
}

}  // namespace sunshaft::test
