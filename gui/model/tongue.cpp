#include "model/tongue.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <stdexcept>

#include "text/language.hpp"

namespace sunshaft::view {
namespace {

// Those that have the window completely; read once.
const std::map<std::string, text::Catalogue>& whole() {
    static const std::map<std::string, text::Catalogue> all = [] {
        std::map<std::string, text::Catalogue> list;
        for (const std::string& language : text::languages()) try {
                if (language == "en") continue;
                text::Catalogue catalogue = text::Catalogue::shipped(language);
                if (catalogue.has("bench")) list.emplace(language, std::move(catalogue));
            } catch (const std::runtime_error&) {  // a damaged one: English
            }
        return list;
    }();
    return all;
}

}  // namespace

void speak_in(const std::string& language) {
    const auto found = whole().find(language.empty() ? text::language_of_environment() : language);
    if (found == whole().end()) return text::speak_english();
    if (text::language() != found->first) text::speak(found->second);
}

std::string next_language() {
    const auto after = text::language() == "en" ? whole().begin() : whole().upper_bound(text::language());
    return after == whole().end() ? "en" : after->first;
}

}  // namespace sunshaft::view
