// Scenario files: TOML in, TOML out.
//
// A file is a set of sections and keys from the table in keys.hpp, and any number of [[fault]] tables (kind,
// place, severity, at_s). Whole numbers are accepted where a number is expected; nothing else is converted.
#pragma once

#include <string>
#include <string_view>

#include "site/keys.hpp"
#include "site/scenario.hpp"

namespace sunshaft::site {

// Throws BadInput whose what() is one line `file:line:column: key: what is wrong, what was expected`; of
// several mistakes the first in the file. A file that cannot be read has position 0:0.
Scenario load_scenario(const std::string& file);
// The same from text; `file` is only used in messages and in Scenario::file.
Scenario parse_scenario(std::string_view text, const std::string& file);

// The path of a scenario: what the user wrote if there is such a file, else the shipped site of that name (with
// or without ".toml"), else what the user wrote.
std::string find_scenario(const std::string& name);
std::string shipped_scenarios();  // the folder of the shipped sites

// A mistake found later (by set_up, the fault catalogue, the module table), pointed at the key's place in the
// scenario's file; without a file or the key in it the message starts with the file alone.
BadInput bad_key(const Scenario& scenario, std::string_view key, std::string_view text);

// The scenario as TOML that reads back to the same values. `changed` writes only what differs from the
// defaults.
enum class Write { changed, all };
std::string to_toml(const Scenario& scenario, Write what = Write::changed);

}  // namespace sunshaft::site
