// Lines of separated fields, as recordings come in: views into the text, nothing copied, each with its place
// for a message.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::report {

inline constexpr std::size_t most_fields = 20'002;                  // on a line; more are not told apart
inline constexpr std::size_t most_values = 40'000'000;              // of a recording, held at once
inline constexpr double most_figure = 1e30;                         // whose square is still a number
inline constexpr double most_seconds = 1e12, least_seconds = 1e-9;  // of a time; of a whole recording

std::string_view trimmed(std::string_view s);  // of blanks, and of a pair of quotation marks

// A finite figure up to most_figure; nothing for words and for nothing at all.
std::optional<double> figure(std::string_view text);

class Lines {
  public:
    // `path` names the file in messages; text and separator may be changed between lines.
    Lines(std::string_view text, std::string path, char separator = ',')
        : text_(text), path_(std::move(path)), separator_(separator) {}

    bool next();                   // false at the end of the text
    void need(const char* what);   // the same, or complains that `what` is missing
    void part_at(char separator);  // this line and those to come

    std::size_t number() const { return line_; }
    std::string_view whole() const { return whole_; }
    std::size_t size() const { return fields_.size(); }
    std::string_view operator[](std::size_t k) const { return fields_[k]; }
    bool empty() const { return size() == 0 || (size() == 1 && fields_[0].empty()); }

    // Both complain in words of `what` the field should be.
    double figure(std::size_t k, std::string_view what) const;
    std::size_t count(std::size_t k, std::string_view what, double most) const;
    // Throws site::BadInput: file:line:column: ...
    [[noreturn]] void wrong(std::size_t field, std::string_view what) const;

  private:
    std::string_view text_, whole_;
    std::string path_;
    char separator_;
    std::size_t at_ = 0, line_ = 0;
    std::vector<std::string_view> fields_;
};

}  // namespace sunshaft::report
