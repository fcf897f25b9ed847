// Letters of UTF-8: more than A to Z (words.hpp) where a language has them.
#pragma once

#include <string>
#include <string_view>

#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::text {

// Where the letter after the one at `at` begins.
inline std::size_t next_letter(std::string_view words, std::size_t at) {
    if (at < words.size()) ++at;
    while (at < words.size() && (static_cast<unsigned char>(words[at]) & 0xC0U) == 0x80U) ++at;
    return at;
}

// As a sentence begins, with Latin-1's letters, too: their small ones are C3 A0 to C3 BE, 32 above the capitals.
inline std::string sentence_begins(std::string_view words) {
    std::string out = capital(words);
    if (out.size() > 1 && out[0] == '\xC3' && out[1] >= '\xA0' && out[1] <= '\xBE' && out[1] != '\xB7')
        out[1] = static_cast<char>(out[1] - 32);
    return out;
}

// Was this said of that id? Up to its first figure.
inline bool begins_as(std::string_view words, const char* id) {
    const std::string_view said = tr(id);
    return words.starts_with(said.substr(0, said.find('{')));
}

}  // namespace sunshaft::text
