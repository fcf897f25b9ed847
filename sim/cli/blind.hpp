// What the two maps of blind spots print alike; and the map of each fault at its usual severity (bench/blind.hpp). The
// least that is seen: least_seen.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "bench/blind.hpp"
#include "cli/verb.hpp"

namespace sunshaft::cli {

// The three kinds of work a station belongs to.
enum class Work { dead, lit, running };
Work work_of(const bench::FieldTest& test);
// Columns of tests stand in groups: a gap behind this one.
bool gap_behind(std::size_t test);
// The short names of the tests, written downwards over their columns.
void tests_over_columns(std::size_t indent);
// Each test with what is done in it.
void tests_in_words();
// What the tests want before them, dead ones and live ones.
void blind_cautions(const Scenario& scenario);

void print_blind(const std::vector<bench::Signature>& rows, const Scenario& scenario, const bench::BlindPlan& plan,
                 bool json, bool markdown);
// Computes and prints the least each test sees; out: a picture of it beside, .svg or .pdf.
int least_seen(const Scenario& scenario, const std::string& kind, bool json, const std::string& out);

}  // namespace sunshaft::cli
