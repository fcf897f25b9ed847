#include "text/heard.hpp"

#include <algorithm>
#include <iterator>
#include <stdexcept>
#include <utility>

#include "text/language.hpp"

namespace sunshaft::text {
namespace {

// One that cannot be read is told of by the verb that speaks it.
const std::vector<Catalogue>& catalogues() {
    static const std::vector<Catalogue> all = [] {
        std::vector<Catalogue> list;
        for (const std::string& language : languages()) try {
                if (language != "en") list.push_back(Catalogue::shipped(language));
            } catch (const std::runtime_error&) {
            }
        return list;
    }();
    return all;
}

// The English first, then what stands under an id, parted where it says several ways.
std::vector<std::string> in_all(const std::string& english, const std::string& id) {
    std::vector<std::string> list = {folded(english)};
    for (const Catalogue& c : catalogues()) {
        const auto at = c.of.find(id);
        if (at == c.of.end() || at->second.fuzzy) continue;
        const std::string& ways = at->second.said;
        for (std::size_t from = 0; from < ways.size();) {
            const std::size_t to = std::min(ways.find('|', from), ways.size());
            if (to > from) list.push_back(folded(std::string_view(ways).substr(from, to - from)));
            from = to + 1;
        }
    }
    return list;
}

std::vector<std::string>& registry() {
    static std::vector<std::string> list;
    return list;
}

bool letter(char c) { return (c >= 'a' && c <= 'z') || (c & 0x80); }

}  // namespace

std::string folded(std::string_view words) {
    // Latin-1's letters from U+00C0 on, in UTF-8 behind the byte C3; '-': none of the alphabet, stays.
    constexpr std::string_view plain = "aaaaaaaceeeeiiiidnooooo-ouuuuy--aaaaaaaceeeeiiiidnooooo-ouuuuy-y";
    std::string out;
    for (std::size_t n = 0; n < words.size(); ++n) {
        const char c = words[n];
        if (c >= 'A' && c <= 'Z') {
            out += static_cast<char>(c + 32);
        } else if (static_cast<unsigned char>(c) == 0xC3 && n + 1 < words.size() &&
                   plain[static_cast<unsigned char>(words[n + 1]) & 0x3FU] != '-') {
            out += plain[static_cast<unsigned char>(words[++n]) & 0x3FU];
        } else {
            out += c;
        }
    }
    return out;
}

bool word_in(const std::string& text, std::string_view word) {
    const auto part = [](char c) { return letter(c) || c == '.' || (c >= '0' && c <= '9'); };
    for (std::size_t at = 0; (at = text.find(word, at)) != std::string::npos; ++at) {
        const std::size_t end = at + word.size();
        if ((at == 0 || !(letter(word.front()) ? letter(text[at - 1]) : part(text[at - 1]))) &&
            (end == text.size() || !letter(text[end]) || !letter(word.back())))
            return true;
    }
    return false;
}

std::vector<std::string> ways(const std::string& english) { return in_all(english, "heard: " + english); }
std::vector<std::string> said(const std::string& english) { return in_all(english, english); }

Heard::Heard(std::initializer_list<const char*> english) : english_(english) {
    registry().insert(registry().end(), english.begin(), english.end());
}

const std::vector<std::string>& Heard::all() const {
    std::call_once(once_, [this] {
        for (const char* phrase : english_) {
            auto list = ways(phrase);
            ways_.insert(ways_.end(), std::make_move_iterator(list.begin()), std::make_move_iterator(list.end()));
        }
    });
    return ways_;
}

bool Heard::in(const std::string& text) const {
    return std::ranges::any_of(all(), [&](const std::string& w) { return text.find(w) != std::string::npos; });
}
bool Heard::as_word_in(const std::string& text) const {
    return std::ranges::any_of(all(), [&](const std::string& w) { return word_in(text, w); });
}
bool Heard::is(const std::string& text) const { return std::ranges::find(all(), text) != all().end(); }

const std::vector<std::string>& Heard::phrases() { return registry(); }

}  // namespace sunshaft::text
