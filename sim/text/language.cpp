#include "text/language.hpp"

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <filesystem>
#include <list>
#include <mutex>
#include <sstream>
#include <stdexcept>

#include "files/input.hpp"
#include "files/said.hpp"
#include "files/shipped.hpp"

namespace sunshaft::text {
namespace {

std::atomic<const Catalogue*> spoken = nullptr;  // none: English

// Never given back: what tr() told of one stands in windows and lists while another is spoken.
const Catalogue* kept(Catalogue catalogue) {
    static std::mutex door;
    static std::list<Catalogue> all;
    const std::lock_guard lock(door);
    all.push_back(std::move(catalogue));
    return &all.back();
}

constexpr std::size_t most_bytes = 8 << 20;

// One line of a catalogue, without its quotes and what they escape.
std::string unquoted(std::string_view line, const std::string& where) {
    const auto wrong = [&] { return std::runtime_error(where + ": expected a string in quotes"); };
    const std::size_t from = line.find('"'), to = line.rfind('"');
    if (from == std::string_view::npos || to == from) throw wrong();
    std::string out;
    for (std::size_t n = from + 1; n < to; ++n) {
        if (line[n] != '\\') {
            out += line[n];
            continue;
        }
        if (++n >= to) throw wrong();
        out += line[n] == 'n' ? '\n' : line[n] == 't' ? '\t' : line[n];
    }
    return out;
}

std::vector<std::string> words_of(const std::string& line) {
    std::istringstream in(line);
    std::vector<std::string> list;
    for (std::string word; in >> word;) list.push_back(word);
    return list;
}

void read_head(Catalogue& catalogue, const std::string& head) {
    std::istringstream lines(head);
    for (std::string line; std::getline(lines, line);) {
        const auto is = [&](std::string_view key) { return line.starts_with(key); };
        const auto rest = [&] { return line.substr(line.find(':') + 1); };
        if (is("X-Complete:")) catalogue.complete = words_of(rest());
        else if (is("X-Decimal:") && !words_of(rest()).empty()) catalogue.decimal = words_of(rest()).front();
    }
}

std::string folder() { return files::shipped_data() + "/assets/languages"; }

// "es" of "es_MX.UTF-8", where it is spoken; "" where it is not.
std::string known(const std::string& locale) {
    const std::string two = locale.substr(0, locale.find_first_of("_.@"));
    if (two == "C" || two == "POSIX") return "en";
    const auto& all = languages();
    return std::find(all.begin(), all.end(), two) == all.end() ? "" : two;
}

}  // namespace

Catalogue Catalogue::parse(std::string_view po, const std::string& language) {
    Catalogue out;
    out.language = language;
    std::string id;
    Entry entry;
    std::string* open = nullptr;  // what a line that is only a string goes on with
    bool any = false, fuzzy = false;
    const auto close = [&] {
        if (any && id.empty()) read_head(out, entry.said);
        else if (any) out.of.insert_or_assign(id, entry);
        id.clear(), entry = {}, open = nullptr, any = false;
    };
    std::size_t number = 0;
    while (!po.empty()) {
        const std::size_t end = std::min(po.find('\n'), po.size());
        const std::string_view line = po.substr(0, end);
        po.remove_prefix(std::min(end + 1, po.size()));
        const std::string where = language + ".po:" + std::to_string(++number);
        if (line.starts_with("#,")) fuzzy = line.find("fuzzy") != std::string_view::npos;
        if (line.empty() || line.front() == '#' || line == "\r") continue;
        if (line.starts_with("msgid ")) {
            close();
            any = true, entry.fuzzy = fuzzy, fuzzy = false, open = &id;
        } else if (line.starts_with("msgstr ")) {
            open = &entry.said;
        } else if (line.front() != '"' || !open) {
            throw std::runtime_error(where + ": expected msgid, msgstr, a string or a comment");
        }
        open->append(unquoted(line, where));
    }
    close();
    return out;
}

Catalogue Catalogue::shipped(const std::string& language) {
    return parse(files::read_whole(folder() + "/" + language + ".po", most_bytes), language);
}

bool Catalogue::has(std::string_view verb) const {
    return std::find(complete.begin(), complete.end(), verb) != complete.end();
}

const std::vector<std::string>& languages() {
    static const std::vector<std::string> all = [] {
        std::vector<std::string> list = {"en"};
        std::error_code none;
        for (const auto& file : std::filesystem::directory_iterator(folder(), none))
            if (file.path().extension() == ".po") list.push_back(file.path().stem().string());
        std::sort(list.begin() + 1, list.end());
        return list;
    }();
    return all;
}

std::string language_of_environment() {
    const auto set = [](const char* name) {
        const char* value = std::getenv(name);
        return std::string(value ? value : "");
    };
    std::string locale;
    for (const char* name : {"LC_ALL", "LC_MESSAGES", "LANG"})
        if (locale.empty()) locale = set(name);
    if (locale == "C" || locale == "POSIX") return "en";
    std::istringstream wishes(set("LANGUAGE"));
    for (std::string wish; std::getline(wishes, wish, ':');)
        if (const std::string found = known(wish); !found.empty()) return found;
    const std::string found = known(locale);
    return found.empty() ? "en" : found;
}

void speak(Catalogue catalogue) {
    spoken = kept(std::move(catalogue));
    files::speak_by([](const char* english) { return tr(english); });
}
void speak_english() {
    spoken = nullptr;
    files::speak_by(nullptr);
}
const std::string& language() {
    static const std::string english = "en";
    const Catalogue* in = spoken;
    return in ? in->language : english;
}

const char* tr(const char* english) {
    const Catalogue* in = spoken;
    if (!in) return english;
    const auto found = in->of.find(english);
    return found == in->of.end() || found->second.said.empty() || found->second.fuzzy ? english
                                                                                      : found->second.said.c_str();
}
std::string parser_says(std::string_view english) {
    return language() == "en" ? std::string(english) : std::string(tr("cannot be read as TOML here"));
}

std::string tr(const std::string& english) { return spoken.load() ? tr(english.c_str()) : english; }

const std::string& decimal() {
    static const std::string point = ".";
    const Catalogue* in = spoken;
    return in ? in->decimal : point;
}

}  // namespace sunshaft::text
