#include "report/measured.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <optional>

#include "site/keys.hpp"

namespace sunshaft::report {
namespace {

constexpr std::size_t most_values = 40'000'000;  // held at once
constexpr double missing = std::numeric_limits<double>::quiet_NaN();

std::string_view trimmed(std::string_view s) {
    while (!s.empty() && (s.front() == ' ' || s.front() == '\t')) s.remove_prefix(1);
    while (!s.empty() && (s.back() == ' ' || s.back() == '\t' || s.back() == '\r')) s.remove_suffix(1);
    if (s.size() > 1 && s.front() == '"' && s.back() == '"') s = s.substr(1, s.size() - 2);
    return s;
}

struct Field {
    std::string_view text;
    std::size_t column;  // from 1
};
std::vector<Field> split(std::string_view line, char at) {
    std::vector<Field> out;
    std::size_t begin = 0;
    for (std::size_t k = 0; k <= line.size(); ++k)
        if (k == line.size() || line[k] == at) {
            out.push_back({trimmed(line.substr(begin, k - begin)), begin + 1});
            begin = k + 1;
        }
    return out;
}

// An empty field is a missing value; words are none.
std::optional<double> number(std::string_view text, bool decimal_comma) {
    if (text.empty()) return missing;
    std::string own(text);
    if (decimal_comma) std::replace(own.begin(), own.end(), ',', '.');
    const char* begin = own.c_str() + (own[0] == '+' ? 1 : 0);
    double value = 0.0;
    const auto [end, error] = std::from_chars(begin, own.c_str() + own.size(), value);
    if (error != std::errc{} || end != own.c_str() + own.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

[[noreturn]] void wrong(const std::string& path, std::size_t line, std::size_t column, const std::string& what) {
    throw site::BadInput(fmt::format("{}:{}:{}: {}", path, line, column, what));
}

std::ifstream open(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    if (!in || std::filesystem::is_directory(path)) throw site::BadInput(fmt::format("{}: cannot be read, expected a file with recorded waves", path));
    return in;
}

// Rows of samples become straight pieces: between two times a line, at the same time twice a jump.
class Pieces {
  public:
    explicit Pieces(trace::Recording& r) : r_(r) {}
    void row(double t, const std::vector<double>& y) {
        if (have_ && t > t_) {
            r_.t0.push_back(t_);
            r_.t1.push_back(t);
            for (std::size_t c = 0; c < y.size(); ++c) r_.y0[c].push_back(y_[c]), r_.y1[c].push_back(y[c]);
        }
        have_ = true;
        t_ = t;
        y_ = y;
    }
    double last() const { return have_ ? t_ : -std::numeric_limits<double>::infinity(); }

  private:
    trace::Recording& r_;
    std::vector<double> y_;
    double t_ = 0.0;
    bool have_ = false;
};

bool all_numbers(const std::vector<Field>& fields, bool decimal_comma) {
    if (fields.size() < 2 || fields[0].text.empty()) return false;
    return std::ranges::all_of(fields, [&](const Field& f) { return number(f.text, decimal_comma).has_value(); });
}

}  // namespace

Measured read_csv(const std::string& path) {
    std::ifstream in = open(path);
    std::vector<std::string> preamble;
    std::string line;
    std::size_t at = 0;
    char part = ',';
    bool found = false;
    while (!found && std::getline(in, line)) {
        ++at;
        if (at == 1 && line.starts_with("\xEF\xBB\xBF")) line.erase(0, 3);
        for (const char c : {';', '\t', ','})
            if (line.find(c) != std::string::npos && all_numbers(split(line, c), c != ',')) {
                part = c;
                found = true;
                break;
            }
        if (found) break;
        preamble.push_back(line);
        if (preamble.size() > 64) break;
    }
    if (!found) wrong(path, std::max<std::size_t>(at, 1), 1, "no line of figures found, expected columns of numbers: time in seconds, then the signals");
    const bool decimal_comma = part != ',';
    const std::size_t columns = split(line, part).size();
    Measured m;
    for (const std::string& words : preamble)
        if (const auto fields = split(words, part); fields.size() == columns && m.recording.names.empty())
            for (std::size_t c = 1; c < columns; ++c) m.recording.names.emplace_back(fields[c].text);
    for (std::size_t c = m.recording.names.size() + 1; c < columns; ++c) m.recording.names.push_back(fmt::format("column {}", c + 1));
    m.units.resize(columns - 1);
    m.recording.y0.resize(columns - 1);
    m.recording.y1.resize(columns - 1);
    Pieces pieces(m.recording);
    std::vector<double> y(columns - 1);
    do {
        if (trimmed(line).empty()) continue;
        const auto fields = split(line, part);
        if (fields.size() != columns) wrong(path, at, 1, fmt::format("{} fields, expected {}", fields.size(), columns));
        const auto t = number(fields[0].text, decimal_comma);
        if (!t || std::isnan(*t)) wrong(path, at, fields[0].column, fmt::format("{}: is no time, expected seconds", site::on_one_line(fields[0].text)));
        if (*t < pieces.last()) wrong(path, at, fields[0].column, fmt::format("the time falls from {:g} to {:g} s, expected it to rise", pieces.last(), *t));
        for (std::size_t c = 1; c < columns; ++c) {
            const auto v = number(fields[c].text, decimal_comma);
            if (!v) wrong(path, at, fields[c].column, fmt::format("{}: {}: is no number, expected a finite figure", m.recording.names[c - 1], site::on_one_line(fields[c].text)));
            y[c - 1] = *v;
        }
        pieces.row(*t, y);
        if (m.recording.rows() * columns > most_values) wrong(path, at, 1, "longer than can be held, expected at most 40 million figures");
    } while (++at, std::getline(in, line));
    if (m.recording.rows() < 2) wrong(path, at, 1, "hardly any figures, expected at least three rows");
    return m;
}

Measured read_measured(const std::string& path) {
    std::string kind = std::filesystem::path(path).extension().string();
    std::ranges::transform(kind, kind.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (kind == ".csv" || kind == ".txt") return read_csv(path);
    if (kind == ".cfg") return read_comtrade(path);
    throw site::BadInput(fmt::format("{}: no such kind of recording, expected a name ending in .csv or .cfg (COMTRADE)", path));
}

}  // namespace sunshaft::report
