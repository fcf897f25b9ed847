#include "model/script.hpp"

#include <fmt/format.h>

namespace sunshaft::view {

std::vector<ScriptLine> parse_script(std::string_view text) {
    std::vector<ScriptLine> lines;
    int number = 0;
    while (!text.empty()) {
        const auto end = text.find('\n');
        const std::string_view line = text.substr(0, end);
        text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
        ScriptLine parsed{++number, {}};
        bool quoted = false;
        bool in_word = false;
        for (const char ch : line) {
            if (!quoted && ch == '#') break;
            if (ch == '"') {
                if (!in_word) parsed.words.emplace_back();
                in_word = true;
                quoted = !quoted;
            } else if (!quoted && (ch == ' ' || ch == '\t' || ch == '\r')) {
                in_word = false;
            } else {
                if (!in_word) parsed.words.emplace_back();
                in_word = true;
                parsed.words.back().push_back(ch);
            }
        }
        if (quoted) throw ScriptError(fmt::format("line {}: a quote is opened and not closed", number));
        if (!parsed.words.empty()) lines.push_back(std::move(parsed));
    }
    return lines;
}

}  // namespace sunshaft::view
