#pragma once
// A script is a text file of acts, one a line, words parted by blanks, "quoted words" kept whole, # starts a
// comment.
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::view {

struct ScriptLine {
    int number = 0;  // in the file, from 1
    std::vector<std::string> words;
};

/// Bad script: the text names the line and what is wrong.
struct ScriptError : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// Lines with at least one word. Throws ScriptError on an unclosed quote.
std::vector<ScriptLine> parse_script(std::string_view text);

}  // namespace sunshaft::view
