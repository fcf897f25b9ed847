#include "report/measured.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <optional>

#include "files/input.hpp"
#include "files/text.hpp"
#include "report/fields.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::report {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

// An empty field is a missing value; words are none.
std::optional<double> number(std::string_view text, bool decimal_comma) {
    if (text.empty()) return missing;
    if (!decimal_comma || text.find(',') == std::string_view::npos) return figure(text);
    std::string own(text);
    std::replace(own.begin(), own.end(), ',', '.');
    return figure(own);
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

bool all_numbers(const Lines& line, bool decimal_comma) {
    if (line.size() < 2 || line.size() >= most_fields || line[0].empty()) return false;
    for (std::size_t k = 0; k < line.size(); ++k)
        if (!number(line[k], decimal_comma)) return false;
    return true;
}

// Goes to the first line of figures and parts it; the lines before it that could name the columns, in their
// order.
std::vector<std::string_view> find_figures(Lines& in, char& part) {
    std::vector<std::string_view> preamble;
    while (preamble.size() <= 64 && in.next()) {
        for (const char c : {';', '\t', ','}) {
            if (in.whole().find(c) == std::string_view::npos) continue;
            in.part_at(c);
            part = c;
            if (all_numbers(in, c != ',')) return preamble;
        }
        preamble.push_back(in.whole());
    }
    in.wrong(0, text::tr("no line of figures found, expected columns of numbers: time in seconds, then the signals"));
}

}  // namespace

Measured parse_csv(std::string_view text, const std::string& path) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    Lines in(text, path);
    char part = ',';
    const std::vector<std::string_view> preamble = find_figures(in, part);
    const bool decimal_comma = part != ',';
    const std::size_t columns = in.size();
    Measured m;
    for (const std::string_view words : preamble) {
        Lines heading(words, path, part);
        if (!heading.next() || heading.size() != columns || !m.recording.names.empty()) continue;
        for (std::size_t c = 1; c < columns; ++c) m.recording.names.push_back(files::one_line(heading[c], 120));
    }
    for (std::size_t c = m.recording.names.size() + 1; c < columns; ++c)
        m.recording.names.push_back(fmt::format("column {}", c + 1));
    m.units.resize(columns - 1);
    m.recording.y0.resize(columns - 1);
    m.recording.y1.resize(columns - 1);
    Pieces pieces(m.recording);
    std::vector<double> y(columns - 1);
    do {
        if (in.empty()) continue;
        if (in.size() != columns) in.wrong(0, fmt::format("{} fields, expected {}", in.size(), columns));
        const auto t = number(in[0], decimal_comma);
        if (!t || !(std::fabs(*t) <= most_seconds))
            in.wrong(0, text::say("{}: is no time, expected seconds", files::one_line(in[0], 80)));
        if (*t < pieces.last())
            in.wrong(0, text::say("the time falls from {:g} to {:g} s, expected it to rise", pieces.last(), *t));
        for (std::size_t c = 1; c < columns; ++c) {
            const auto v = number(in[c], decimal_comma);
            if (!v)
                in.wrong(c, text::say("{}: {}: is no number, expected one up to {:g}", m.recording.names[c - 1],
                                      files::one_line(in[c], 80), most_figure));
            y[c - 1] = *v;
        }
        pieces.row(*t, y);
        if (m.recording.rows() * columns > most_values)
            in.wrong(0, text::tr("longer than can be held, expected at most 40 million figures"));
    } while (in.next());
    if (m.recording.rows() < 2) in.wrong(0, text::tr("hardly any figures, expected at least three rows"));
    if (m.recording.t1.back() - m.recording.t0.front() < least_seconds)
        in.wrong(0, text::tr("all of it within a nanosecond, expected times in seconds"));
    return m;
}

Measured read_csv(const std::string& path) {
    try {
        return parse_csv(files::read_whole(path, files::most_waves), path);
    } catch (const files::Unreadable& what) {
        throw site::BadInput(
            text::say("{}: {}, expected a file with recorded waves", files::one_line(path), what.what()));
    }
}

Measured read_measured(const std::string& path) {
    std::string kind = std::filesystem::path(path).extension().string();
    std::ranges::transform(kind, kind.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (kind == ".csv" || kind == ".txt") return read_csv(path);
    if (kind == ".cfg") return read_comtrade(path);
    throw site::BadInput(text::say("{}: no such kind of recording, expected a name ending in .csv or .cfg (COMTRADE)",
                                   files::one_line(path)));
}

}  // namespace sunshaft::report
