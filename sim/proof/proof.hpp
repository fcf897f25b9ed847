// Proof: what the program computes against what has been published. One row a figure; `sunshaft proof` prints them,
// tests/published runs them. To add a check, add a row to the file of its field.
#pragma once

#include <functional>
#include <string>
#include <vector>

namespace sunshaft::proof {

struct Row {
    std::string field;   // "inverter", "induction machine" ...
    std::string what;    // "u-v true rms over V_dc"
    std::string source;  // author, title, place; "closed form"; "common practice, no source"
    double expected;
    double tolerance;  // relative to expected
    std::function<double()> compute;
};

struct Result {
    double computed, error;  // error relative to expected
    bool holds;
};

// All rows, in the order of the chain.
std::vector<Row> rows();
Result check(const Row& row);

// The fields' own lists.
std::vector<Row> sun_rows();
std::vector<Row> solar_rows();
std::vector<Row> inverter_rows();
std::vector<Row> motor_rows();
std::vector<Row> fault_rows();
std::vector<Row> turn_rows();
std::vector<Row> iron_rows();
std::vector<Row> cage_rows();
std::vector<Row> water_rows();
std::vector<Row> trade_rows();
std::vector<Row> field_rows();
std::vector<Row> meter_rows();
std::vector<Row> measured_rows();
std::vector<Row> edge_rows();

}  // namespace sunshaft::proof
