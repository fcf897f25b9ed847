// The language that is spoken, and catalogues as a translator's tools write them.
#include "text/language.hpp"

#include <cstdlib>
#include <stdexcept>

#include "catch_shim.hpp"
#include "text/figure.hpp"
#include "text/words.hpp"

using namespace sunshaft;

namespace {

constexpr const char* sample = R"(# a translator's note
msgid ""
msgstr ""
"Language: es\n"
"X-Decimal: ,\n"
"X-Complete: read sheet\n"

#. before the act
#: sim/bench/hazard_words.cpp:10
msgid "Cover the array."
msgstr "Cubra el campo FV."

msgid ""
"In {} of {} "
"rows"
msgstr "De {1} filas, en {0}"

#, fuzzy
msgid "Open"
msgstr "Cerrado"

msgid "a \"word\"\n"
msgstr "una \"palabra\"\n"

msgid "nobody has said it yet"
msgstr ""

#~ msgid "gone"
#~ msgstr "ido"
)";

// As the environment has it, for a moment.
struct Set {
    explicit Set(const char* language, const char* all, const char* lang) {
        put("LANGUAGE", language);
        put("LC_ALL", all);
        put("LC_MESSAGES", "");
        put("LANG", lang);
    }
    ~Set() {
        for (const char* name : {"LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"}) unsetenv(name);
    }
    static void put(const char* name, const char* value) { setenv(name, value, 1); }
};

}  // namespace

TEST_CASE("a catalogue says what it has, in any order of its figures, and English for the rest") {
    text::speak(text::Catalogue::parse(sample, "es"));
    CHECK(text::language() == "es");
    CHECK(std::string(text::tr("Cover the array.")) == "Cubra el campo FV.");
    CHECK(text::say("In {} of {} rows", 2, 9) == "De 9 filas, en 2");
    CHECK(text::say_of(text::id("In {} of {} rows"), 2, 9) == "De 9 filas, en 2");
    CHECK(std::string(text::tr("a \"word\"\n")) == "una \"palabra\"\n");
    // Guessed by a tool, empty, gone, never there.
    for (const char* english : {"Open", "nobody has said it yet", "gone", "something else"})
        CHECK(std::string(text::tr(english)) == english);
    CHECK(text::quantity(237.134, "V") == "237,1 V");
    CHECK(text::figure(4700, "ohm", 3).text() == "4,70 kohm");
    CHECK(text::percent(0.0931) == "9,3 %");
    CHECK(text::range(4700, 15300, "ohm") == "4,7 to 15,3 kohm");
    CHECK(text::fixed(-0.001, 2) == "0,00");
    CHECK(text::column(0.4, "V", 250.1) == "0,4");
    CHECK(text::plain(1.5) == "1.5");                                                      // typed into a command
    CHECK(text::parser_says("Error while parsing key") == "cannot be read as TOML here");  // nobody has said it yet
    text::speak_english();
    CHECK(text::parser_says("Error while parsing key") == "Error while parsing key");
    CHECK(text::language() == "en");
    CHECK(text::say("In {} of {} rows", 2, 9) == "In 2 of 9 rows");
    CHECK(text::quantity(237.134, "V") == "237.1 V");
}

TEST_CASE("a catalogue names the verbs it has completely") {
    const text::Catalogue c = text::Catalogue::parse(sample, "es");
    CHECK(c.has("read"));
    CHECK(c.has("sheet"));
    CHECK_FALSE(c.has("rea"));
    CHECK_FALSE(c.has(""));
    CHECK(c.of.at("Open").fuzzy);
    CHECK_FALSE(c.of.at("Cover the array.").fuzzy);
}

TEST_CASE("what is wrong in a catalogue is told with its line") {
    const auto thrown = [](const char* po) -> std::string {
        try {
            (void)text::Catalogue::parse(po, "xx");
        } catch (const std::runtime_error& e) {
            return e.what();
        }
        return "";
    };
    CHECK(thrown("msgid \"a\"\nmsgstr \"b\nmsgid \"c\"\n") == "xx.po:2: expected a string in quotes");
    CHECK(thrown("msgid \"a\"\nmsgstr \"b\\\"\n") == "xx.po:2: expected a string in quotes");
    CHECK(thrown("msgid \"a\"\nmsgctxt \"b\"\n").starts_with("xx.po:2: "));
    CHECK(thrown("\"floating\"\n").starts_with("xx.po:1: "));
    CHECK(thrown("").empty());
}

TEST_CASE("the environment chooses as gettext lets it, without a locale installed") {
    const auto chosen = [](const char* language, const char* all, const char* lang) {
        const Set set(language, all, lang);
        return text::language_of_environment();
    };
    CHECK(chosen("", "", "es_MX.UTF-8") == "es");
    CHECK(chosen("", "", "en_GB.UTF-8") == "en");
    CHECK(chosen("", "es_ES@euro", "en_GB.UTF-8") == "es");
    CHECK(chosen("es", "", "") == "es");  // a bare machine has no locale at all
    CHECK(chosen("xx:es:en", "", "de_DE.UTF-8") == "es");
    CHECK(chosen("en:es", "", "es_AR.UTF-8") == "en");
    CHECK(chosen("es", "C", "es_ES.UTF-8") == "en");
    CHECK(chosen("", "", "C.UTF-8") == "en");
    CHECK(chosen("", "", "") == "en");
    CHECK(chosen("", "", "xx_XX") == "en");
}

TEST_CASE("letters are counted, not bytes, and sentences stand in a row") {
    CHECK(text::letters("señalice") == 8);
    CHECK(text::letters("") == 0);
    CHECK(text::sentences({"One.", "", "Two."}) == "One. Two.");
    CHECK(text::sentences({"", ""}).empty());
}
