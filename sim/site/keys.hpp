// The one table of all scenario keys, and what is done with it: check a value, set it, describe it.
//
// A row holds a key's path, unit, domain, meaning and the way to its member in Scenario; its type follows from
// the member and its default is the member's value in a default-constructed Scenario, so neither is written
// twice. The TOML loader (load.hpp), `sunshaft keys`, `--set` and the window's inspector all read this table:
// to add a key, add a member to scenario.hpp and a row to keys_table.cpp.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "site/scenario.hpp"

namespace sunshaft::site {

// What a user got wrong. what() is exactly one line of words: `place: key: what is wrong, what was expected`,
// where place is file:line:column for a scenario file and the option's name for the command line.
struct BadInput : std::runtime_error {
    using std::runtime_error::runtime_error;
};

// Domains. A number lies in a Range; inf is in it only where `high` is inf and closed, NaN never is.
struct Range {
    double low, high;
    bool low_open = false, high_open = false;
};
struct Words {
    std::vector<std::string_view> list;
};  // one of these
struct Text {
    std::size_t longest;
};                // one line of UTF-8, at most so many bytes, no control characters
struct Clock {};  // "HH:MM", 00:00 .. 23:59
struct YesNo {};
using Domain = std::variant<Range, Words, Text, Clock, YesNo>;

using Value = std::variant<double, int, bool, std::string>;
using Member =
    std::variant<double& (*)(Scenario&), int& (*)(Scenario&), bool& (*)(Scenario&), std::string& (*)(Scenario&)>;

struct Key {
    std::string_view path;  // "drive.carrier_Hz"
    Member member;
    std::string_view unit;  // "Hz", "W/m2", "N m"; empty: a pure number or a word
    Domain domain;
    std::string_view meaning;  // one line
    std::string_view section() const { return path.substr(0, path.find('.')); }
    std::string_view name() const { return path.substr(path.find('.') + 1); }
};

std::span<const Key> keys();                 // in the order of scenario.hpp, section after section
const Key* find_key(std::string_view path);  // null when there is none

Value get(const Scenario& scenario, const Key& key);
Value default_of(const Key& key);
// A number whose default is NaN: left out of a file, the site works it out.
bool may_be_left_out(const Key& key);

// What is wrong with a value for this key: "is 7, expected a number from 0 to 1"; empty when nothing is.
std::string fault_in(const Key& key, const Value& value);
// Sets a checked value. Throws BadInput with fault_in()'s words; the scenario is then unchanged.
void put(Scenario& scenario, const Key& key, const Value& value);

// Words for listings and messages.
std::string type_text(const Key& key);      // "number" "whole number" "true or false" "text"
std::string default_text(const Key& key);   // "4000", "six-step-180", "(left out)"
std::string domain_text(const Key& key);    // "[0, 1500]", "(0, inf]", "fixed | v-f | mppt"
std::string expected_text(const Key& key);  // "a number from 0 to 1500 V"
std::string text_of(const Value& value);    // shortest text that reads back as the same value
std::string on_one_line(std::string_view text,
                        std::size_t longest = 60);  // control characters out, length bounded

// The words about an unknown key: "is not a key, expected one of ... (did you mean drive.carrier_Hz?)".
std::string unknown_key_text(std::string_view path);
// The candidate nearest to a word, by edit distance without case; none when nothing is near.
std::optional<std::string> nearest(std::string_view word, std::span<const std::string_view> candidates);

// Keys that contradict each other. `key` is the one to point at, `other` the one it disagrees with.
struct Conflict {
    std::string_view key, other;
    std::string text;
};
std::optional<Conflict> conflict(const Scenario& scenario);

// `--set drive.carrier_Hz=8000`: all are set, then conflicts are looked for. Throws BadInput, message prefix
// `--set: key: `; the scenario is then unchanged. Text may stand in quotes; inf is written inf.
void set_keys(Scenario& scenario, std::span<const std::string> assignments);
void set_key(Scenario& scenario, const std::string& assignment);

}  // namespace sunshaft::site
