// What every printed page is held to.
#pragma once

#include <algorithm>
#include <cctype>
#include <string>
#include <vector>

#include "catch_shim.hpp"
#include "report/paper.hpp"

namespace sunshaft::test {

// No words on other words, none off the page.
inline void check_page(const std::vector<report::Paper::Placed>& placed) {
    for (std::size_t a = 0; a < placed.size(); ++a) {
        const auto& p = placed[a];
        INFO(p.words);
        CHECK(p.x >= 20.0);
        CHECK(p.x + p.wide <= report::a4_wide - 20.0);
        CHECK(p.y + p.high <= report::a4_high - 14.0);
        for (std::size_t b = a + 1; b < placed.size(); ++b) {
            const auto& q = placed[b];
            if (p.page != q.page) continue;
            const double across = std::min(p.x + p.wide, q.x + q.wide) - std::max(p.x, q.x),
                         down = std::min(p.y + p.high, q.y + q.high) - std::max(p.y, q.y);
            INFO(q.words);
            CHECK((across <= 0.5 || down <= 2.0));
        }
    }
}

// No word an English sentence can hardly do without, and none of which Spanish has any use.
inline void check_spanish(const std::vector<report::Paper::Placed>& placed) {
    for (const auto& p : placed) {
        INFO(p.words);
        std::string word;
        for (const char c : p.words + " ")
            if (std::isalpha(static_cast<unsigned char>(c))) {
                word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
            } else {
                for (const char* english : {"the", "and", "with", "of", "from", "to", "at", "is", "volts", "page"})
                    CHECK(word != english);
                word.clear();
            }
    }
}

}  // namespace sunshaft::test
