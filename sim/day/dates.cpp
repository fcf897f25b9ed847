// Dates as they are written: 2026-06-21.
#include <fmt/format.h>

#include <charconv>
#include <chrono>
#include <stdexcept>

#include "day/weather.hpp"
#include "files/text.hpp"
#include "text/language.hpp"

namespace sunshaft::day {

Date parse_date(const std::string& text) {
    const auto number = [&](std::size_t from, std::size_t size) {
        int value = -1;
        const char *begin = text.data() + from, *end = begin + size;
        return std::from_chars(begin, end, value).ptr == end ? value : -1;
    };
    if (text.size() == 10 && text[4] == '-' && text[7] == '-') {
        const Date d{number(0, 4), number(5, 2), number(8, 2)};
        const std::chrono::year_month_day day{std::chrono::year(d.year),
                                              std::chrono::month(static_cast<unsigned>(d.month)),
                                              std::chrono::day(static_cast<unsigned>(d.day))};
        if (d.year >= 0 && d.month > 0 && d.day > 0 && day.ok()) return d;
    }
    throw std::invalid_argument(text::say("{}: is no date, expected one as 2026-06-21", files::one_line(text, 40)));
}

std::string text_of(const Date& d) { return fmt::format("{:04d}-{:02d}-{:02d}", d.year, d.month, d.day); }

const char* month_word(int month) {
    using text::id;
    static constexpr const char* words[] = {id("Jan"), id("Feb"), id("Mar"), id("Apr"), id("May"), id("Jun"),
                                            id("Jul"), id("Aug"), id("Sep"), id("Oct"), id("Nov"), id("Dec")};
    return words[(month + 11) % 12];
}

}  // namespace sunshaft::day
