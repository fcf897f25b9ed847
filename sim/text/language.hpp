// The language the program speaks. English sentences stand in the code, where they are said; they are the ids under
// which a catalogue (assets/languages/es.po, GNU gettext's format) holds them in another language.
//
//     text::tr("Cover the array.")                        whole sentences, never parts that are glued together
//     text::say("Up to {} through {}.", amps, place)      with figures; a translation may change their order: {1} {0}
//     text::tr(row.title)                                 words of a table: its rows stay plain literals
//     {"dip", text::id("dip meter")}                      those of a table nobody else sees are marked for xgettext
//
// A sentence the catalogue does not have is said in English. Which verbs a catalogue has completely it says itself
// (its header X-Complete), and only those speak its language: half a page in each helps nobody. xgettext finds the
// calls; the words of tables are told by tests/language/table_words.cpp. The test `languages` looks whether all are
// there.
//
// The catalogue is read as it is, not compiled and not through the C library: that one needs a locale of the language
// installed, which a bare machine does not have, and takes C.UTF-8 for English.
//
// speak() once, before any thread: what tr() gave stays until the next speak(). English costs one look at a pointer.
#pragma once

#include <fmt/format.h>

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace sunshaft::text {

// A catalogue as it stands in its file.
struct Catalogue {
    struct Entry {
        std::string said;    // "": not translated
        bool fuzzy = false;  // guessed by a tool, nobody has looked at it
    };
    std::string language;                       // "es"
    std::string decimal = ".";                  // header X-Decimal
    std::vector<std::string> complete;          // header X-Complete: "read sheet"
    std::unordered_map<std::string, Entry> of;  // by the English sentence
    // Contexts and plural forms are not known: sentences are chosen by what they say, never by a count. Throws
    // std::runtime_error with the line.
    static Catalogue parse(std::string_view po, const std::string& language);
    // The one that is shipped. Throws std::runtime_error where there is none.
    static Catalogue shipped(const std::string& language);
    bool has(std::string_view verb) const;
};

// Those that can be spoken: "en" and one for each catalogue.
const std::vector<std::string>& languages();
// "es" for es_MX.UTF-8: the first of LANGUAGE, LC_ALL, LC_MESSAGES, LANG that is set and known; else "en". As in
// gettext, LANGUAGE counts for nothing where the locale is "C".
std::string language_of_environment();

void speak(Catalogue catalogue);  // from here on
void speak_english();
const std::string& language();  // "en"

const char* tr(const char* english);
constexpr const char* id(const char* english) { return english; }
std::string tr(const std::string& english);
// What a TOML parser says of a mistake, in its own English words; in another language that there is one.
std::string parser_says(std::string_view english);

template <class... Figures>
std::string say(fmt::format_string<Figures...> english, Figures&&... figures) {
    const fmt::string_view whole = english;
    return fmt::vformat(tr(std::string(whole.data(), whole.size())), fmt::make_format_args(figures...));
}

// The same of a sentence chosen from a table of ids.
template <class... Figures>
std::string say_of(const char* english, Figures&&... figures) {
    return fmt::vformat(tr(english), fmt::make_format_args(figures...));
}

// What stands between whole and tenth: "." or ",".
const std::string& decimal();

}  // namespace sunshaft::text
