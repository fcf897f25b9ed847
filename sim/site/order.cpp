#include "site/order.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

using text::say, text::tr;

double number(const std::string& text, std::string_view what, std::string_view expected) {
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size() || std::isnan(value))
        throw BadInput(say("{} is \"{}\", expected {}", what, on_one_line(text), expected));
    return value;
}

std::string did_you_mean(std::string_view word, const std::vector<std::string_view>& known) {
    const auto near = nearest(word, known);
    return near ? say(" (did you mean {}?)", *near) : "";
}

}  // namespace

Order parse_order(const std::string& text) {
    Order order;
    std::string rest = text;
    const auto cut = [&rest](std::size_t at) {
        const std::string tail = at == std::string::npos ? "" : rest.substr(at + 1);
        rest = rest.substr(0, at);
        return tail;
    };
    const std::string where = cut(rest.find('@'));
    order.kind = rest;
    if (order.kind.empty()) throw BadInput(say("\"{}\", expected KIND@PLACE", on_one_line(text)));
    rest = where;
    const std::size_t later = rest.find('@');
    if (later != std::string::npos) {
        order.time = number(cut(later), tr("time"), tr("seconds"));
        if (!(order.time >= 0.0 && order.time <= latest_s))
            throw BadInput(say("time is {} s, expected 0 to {} s", order.time, latest_s));
    }
    // A severity may also follow the kind where the place is left out: KIND=VALUE.
    std::string& holder = rest.find('=') != std::string::npos ? rest : order.kind;
    const std::size_t equals = holder.find('=');
    if (equals != std::string::npos) {
        order.value = number(holder.substr(equals + 1), tr("severity"), tr("a number"));
        holder.resize(equals);
    }
    order.place = rest;
    return order;
}

std::string unknown_word(const std::string& word, std::string_view expected,
                         const std::vector<std::string_view>& known) {
    return say("\"{}\" is unknown, expected {}{}", on_one_line(word), expected, did_you_mean(word, known));
}

std::string unknown_place(const std::string& place, const std::vector<std::string>& known) {
    std::string list;
    for (std::size_t n = 0; n < known.size() && n < 8; ++n) list += (n ? " " : "") + known[n];
    if (known.size() > 8) list += fmt::format(" ... {}", known.back());
    const std::vector<std::string_view> views(known.begin(), known.end());
    return say("place \"{}\" is not on this site, expected one of {}{}", on_one_line(place), list,
               did_you_mean(place, views));
}

}  // namespace sunshaft::site
