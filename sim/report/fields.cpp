#include "report/fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "files/text.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::report {

std::string_view trimmed(std::string_view s) {
    const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!s.empty() && blank(s.front())) s.remove_prefix(1);
    while (!s.empty() && blank(s.back())) s.remove_suffix(1);
    if (s.size() > 1 && s.front() == '"' && s.back() == '"') s = s.substr(1, s.size() - 2);
    return s;
}

std::optional<double> figure(std::string_view text) {
    if (!text.empty() && text.front() == '+') text.remove_prefix(1);
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size() || !(std::fabs(value) <= most_figure))
        return std::nullopt;
    return value;
}

bool Lines::next() {
    fields_.clear();
    whole_ = {};
    if (at_ >= text_.size()) return false;
    ++line_;
    const std::size_t end = std::min(text_.find('\n', at_), text_.size());
    whole_ = text_.substr(at_, end - at_);
    at_ = end + 1;
    part_at(separator_);
    return true;
}

void Lines::part_at(char separator) {
    separator_ = separator;
    fields_.clear();
    for (std::size_t begin = 0; begin <= whole_.size() && fields_.size() < most_fields;) {
        const std::size_t end = std::min(whole_.find(separator, begin), whole_.size());
        fields_.push_back(trimmed(whole_.substr(begin, end - begin)));
        begin = end + 1;
    }
}

void Lines::need(const char* what) {
    if (!next()) ++line_, wrong(0, text::say("the file ends, expected {}", what));
}

double Lines::figure(std::size_t k, std::string_view what) const {
    const std::string_view text = k < fields_.size() ? fields_[k] : std::string_view();
    const auto v = report::figure(text);
    if (!v)
        wrong(k, text::say("{}: \"{}\" is no number, expected one up to {:g}", files::one_line(what, 80),
                           files::one_line(text, 80), most_figure));
    return *v;
}

std::size_t Lines::count(std::size_t k, std::string_view what, double most) const {
    const double v = figure(k, what);
    if (v < 0.0 || v != std::floor(v) || v > most)
        wrong(k, text::say("{}: {:g}, expected a whole number from 0 to {:.0f}", what, v, most));
    return static_cast<std::size_t>(v);
}

void Lines::wrong(std::size_t field, std::string_view what) const {
    const std::size_t column =
        field < fields_.size() ? static_cast<std::size_t>(fields_[field].data() - whole_.data()) + 1 : 1;
    throw site::BadInput(
        fmt::format("{}:{}:{}: {}", files::one_line(path_), std::max<std::size_t>(line_, 1), column, what));
}

}  // namespace sunshaft::report
