// Words: in a row, in small letters, as a sentence begins, and as a web page holds them.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>

namespace sunshaft::text {

// "flow head water"
template <class Words>
std::string spaced(const Words& words) {
    std::string row;
    for (const auto& word : words) row.append(row.empty() ? "" : " ").append(word);
    return row;
}

// Whole sentences one after the other; what is empty is left out.
inline std::string sentences(std::initializer_list<std::string> list) {
    std::string row;
    for (const std::string& one : list)
        if (!one.empty()) row.append(row.empty() ? "" : " ").append(one);
    return row;
}

// How many letters these bytes of UTF-8 are.
inline std::size_t letters(std::string_view words) {
    std::size_t n = 0;
    for (const char c : words) n += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    return n;
}

// Of A to Z alone: other letters stay as they are.
inline std::string lower(std::string_view words) {
    std::string out(words);
    for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    return out;
}
inline std::string capital(std::string_view words) {
    std::string out(words);
    if (!out.empty() && out[0] >= 'a' && out[0] <= 'z') out[0] = static_cast<char>(out[0] - 32);
    return out;
}

inline std::string html(std::string_view words) {
    std::string out;
    for (const char c : words) {
        if (c == '&') out += "&amp;";
        else if (c == '<') out += "&lt;";
        else if (c == '>') out += "&gt;";
        else if (c == '"') out += "&quot;";
        else out += c;
    }
    return out;
}

}  // namespace sunshaft::text
