#include "diagnose/senses.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "bench/bench.hpp"
#include "bench/senses.hpp"
#include "drive/control.hpp"
#include "files/input.hpp"
#include "files/shipped.hpp"
#include "files/text.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using site::BadInput;
using Matrix = std::vector<std::vector<double>>;

constexpr double least = 1e-4;  // nothing is never told

class SensesReader {
  public:
    SensesReader(const toml::table& all, std::string file) : all_(all), file_(std::move(file)) {}

    Senses read() {
        Senses s;
        std::set<std::string> known = {"words"};
        for (const std::string& gauge : bench::Bench::gauges()) {
            if (!bench::told_in_words(gauge)) continue;
            Senses::Sense& sense = s.of[gauge];
            for (const bench::SensePart& part : bench::sense_parts(gauge)) {
                sense.parts.push_back(matrix(part));
                known.insert(part.name);
            }
        }
        for (const auto& [key, node] : all_)
            if (!known.contains(std::string(key.str())))
                wrong(key.source().begin, key.str(),
                      "is no sense, expected one of " + fmt::format("{}", fmt::join(known, ", ")));
        for (auto& [gauge, sense] : s.of) sense.elsewhere = elsewhere(s, gauge);
        const toml::table& words = section("words");
        s.words_wrong = share(words, "wrong");
        s.lamp_wrong = share(words, "lamp");
        s.wrong_while_it_tries = share(words, "while_it_tries");
        return s;
    }

  private:
    [[noreturn]] void wrong(toml::source_position at, std::string_view key, const std::string& words) const {
        throw BadInput(fmt::format("{}:{}:{}: {}: {}", file_, at.line, at.column, site::on_one_line(key), words));
    }
    const toml::table& section(const std::string& name) const {
        const toml::node* node = all_.get(name);
        if (!node) wrong(all_.source().begin, name, "is missing, expected a section of what is told");
        if (!node->is_table()) wrong(node->source().begin, name, "expected a section of what is told");
        return *node->as_table();
    }
    double share(const toml::table& table, const std::string& key) const {
        const toml::node* node = table.get(key);
        const auto value = node ? node->value<double>() : std::nullopt;
        if (!value || !(*value >= 0.0 && *value <= 0.5))
            wrong((node ? node->source() : table.source()).begin, key, "expected a share from 0 to 0.5");
        return *value;
    }
    Matrix matrix(const bench::SensePart& part) const {
        const toml::table& table = section(part.name);
        const std::size_t size = part.words.size();
        const auto number = [&](std::string_view word) {
            return static_cast<std::size_t>(std::find(part.words.begin(), part.words.end(), word) - part.words.begin());
        };
        const double others = table.contains("wrong") ? share(table, "wrong") / static_cast<double>(size - 1) : 0.0;
        Matrix m(size, std::vector<double>(size, std::max(others, least)));
        for (const auto& [key, node] : table) {
            if (key.str() == "wrong") continue;
            const std::size_t there = number(key.str());
            if (there == size)
                wrong(key.source().begin, key.str(),
                      "is not told so, expected one of " + fmt::format("{}", fmt::join(part.words, ", ")));
            if (!node.is_table()) wrong(node.source().begin, key.str(), "expected { \"what is told\" = share }");
            for (const auto& [word, unused] : *node.as_table()) {
                const std::size_t told = number(word.str());
                if (told == size || told == there)
                    wrong(
                        word.source().begin, word.str(),
                        "is not told in its place, expected one of " + fmt::format("{}", fmt::join(part.words, ", ")));
                m[there][told] = std::max(share(*node.as_table(), std::string(word.str())), least);
            }
        }
        for (std::size_t there = 0; there < size; ++there) {
            double sum = 0.0;
            for (std::size_t told = 0; told < size; ++told) sum += told == there ? 0.0 : m[there][told];
            if (!(sum < 0.9))
                wrong(table.source().begin, part.words[there], "is told as it is by less than a tenth, expected more");
            m[there][there] = 1.0 - sum;
        }
        return m;
    }
    // Any of the words alike; lamps as the drive's phases have them, a sound without noise in the pipe.
    static std::vector<double> elsewhere(const Senses& s, const std::string& gauge) {
        const auto& parts = s.of.at(gauge).parts;
        std::size_t all = 1;
        for (const Matrix& m : parts) all *= m.size();
        std::set<unsigned> states;
        if (gauge == "lamps") {
            for (int phase = 0; phase <= static_cast<int>(drive::Phase::latched); ++phase) {
                drive::ControlState control;
                control.phase = static_cast<drive::Phase>(phase);
                unsigned number = 0, bit = 1;
                for (const drive::Lamp& l : drive::lamps(control)) number |= l.on ? bit : 0U, bit <<= 1U;
                states.insert(number);
            }
        } else {
            for (unsigned n = 0; n < parts.front().size(); ++n) states.insert(n);
        }
        std::vector<double> out(all, 0.0);
        for (const unsigned there : states)
            for (unsigned told = 0; told < all; ++told)
                out[told] += s.told(gauge, told, there) / static_cast<double>(states.size());
        return out;
    }

    const toml::table& all_;
    std::string file_;
};

}  // namespace

double Senses::told(const std::string& gauge, unsigned told, unsigned there, double doubt) const {
    const auto at = of.find(std::string_view(gauge).substr(0, gauge.find('.')));
    if (at == of.end()) return 0.0;
    double p = 1.0;
    unsigned t = told, is = there;
    for (const Matrix& m : at->second.parts) {
        const auto size = static_cast<unsigned>(m.size());
        p *= m[is % size][t % size];
        t /= size, is /= size;
    }
    if (t > 0) return 0.0;  // no such word
    return doubt > 0.0 ? (1.0 - doubt) * p + doubt * at->second.elsewhere[told] : p;
}

double Senses::apart2(const std::string& gauge, unsigned one, unsigned other) const {
    const auto at = of.find(std::string_view(gauge).substr(0, gauge.find('.')));
    if (one == other || at == of.end()) return 0.0;
    double common = 1.0;
    for (const Matrix& m : at->second.parts) {
        const auto size = static_cast<unsigned>(m.size());
        double sum = 0.0;
        for (unsigned t = 0; t < size; ++t) sum += std::sqrt(m[one % size][t] * m[other % size][t]);
        common *= sum;
        one /= size, other /= size;
    }
    return std::max(0.0, -4.0 * std::log(common));
}

Senses parse_senses(const std::string& text, const std::string& file) {
    const std::string name = site::on_one_line(file, 400);
    if (const auto trouble = files::toml_trouble(text))
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}", name, trouble->line, trouble->column, trouble->words));
    try {
        const toml::table all = toml::parse(text);
        return SensesReader(all, name).read();
    } catch (const toml::parse_error& error) {
        const auto at = error.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}, expected TOML", name, at.line, at.column,
                                   site::on_one_line(text::parser_says(error.description()), 200)));
    }
}

const Senses& shipped_senses() {
    static const Senses all = [] {
        const std::string file = files::shipped_data() + "/scenarios/senses.toml";
        try {
            return parse_senses(files::read_whole(file, files::most_settings), file);
        } catch (const files::Unreadable& why) {
            throw BadInput(
                fmt::format("{}:0:0: senses: {}, expected a table of senses", files::one_line(file), why.what()));
        }
    }();
    return all;
}

}  // namespace sunshaft::diagnose
