#include "teach/draw.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <cstdlib>
#include <numeric>

#include "site/keys.hpp"
#include "text/figure.hpp"

namespace sunshaft::teach {
namespace {

// Three digits, as people set things.
double rounded(double x) { return std::atof(fmt::format("{:.3g}", x).c_str()); }

// "KIND@PLACE=LOW..HIGH": at a share of the way from low to high, by ratio.
std::string fault_at(const std::string& text, double share) {
    const auto dots = text.find(".."), is = text.find('=');
    if (dots == std::string::npos || is == std::string::npos || dots < is) return text;
    double low = 0.0, high = 0.0;
    const char* begin = text.data();
    const auto a = std::from_chars(begin + is + 1, begin + dots, low);
    const auto b = std::from_chars(begin + dots + 2, begin + text.size(), high);
    if (a.ec != std::errc() || b.ec != std::errc() || b.ptr != begin + text.size() || !(low > 0.0 && high > low))
        return text;  // the fault's own reader says what is wrong
    return text.substr(0, is + 1) + text::plain(rounded(low * std::pow(high / low, share)));
}

}  // namespace

Draw::Draw(std::uint64_t seed, std::string_view name) : state_(seed * 0x9e3779b97f4a7c15ull) {
    for (const char c : name) state_ = (state_ ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
}
std::uint64_t Draw::next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ull);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    return z ^ (z >> 31);
}
double Draw::share() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }
std::size_t Draw::below(std::size_t n) { return static_cast<std::size_t>(share() * static_cast<double>(n)); }

std::vector<Asked> drawn(const Exercise& exercise, const State& base, std::uint64_t seed, std::string_view name,
                         int rounds) {
    Draw draw(seed, name);
    const auto parts = [&] {
        std::vector<int> list(static_cast<std::size_t>(rounds));
        std::iota(list.begin(), list.end(), 0);
        draw.shuffle(list);
        return list;
    };
    std::vector<Asked> asked(static_cast<std::size_t>(rounds), Asked{exercise.ask, base, exercise.given, exercise.why});
    // Not a share on the edge of a part: neighbours stay apart.
    const auto within = [&](int part) { return (part + 0.15 + 0.7 * draw.share()) / rounds; };
    for (const Vary& v : exercise.vary) {
        const auto order = parts();
        const std::size_t first = v.words.empty() ? 0 : draw.below(v.words.size());
        for (std::size_t r = 0; r < asked.size(); ++r) {
            const auto part = static_cast<std::size_t>(order[r]);
            if (!v.words.empty()) {
                if (v.key == "order") {
                    asked[r].look.order = std::atoi(v.words[(first + part) % v.words.size()].c_str());
                    continue;
                }
                asked[r].look.meter = v.words[(first + part) % v.words.size()];
                asked[r].look.what.instrument =
                    std::make_shared<const meter::Spec>(meter::find_spec(asked[r].look.meter));
                continue;
            }
            double x = rounded(v.low + (v.high - v.low) * within(order[r]));
            if (v.key == "coupled_F") {
                asked[r].look.what.set.source_F = x;
                continue;
            }
            const site::Key& key = *site::find_key(v.key);
            const site::Value usual = site::default_of(key);
            if (std::holds_alternative<int>(usual)) x = std::round(x);
            asked[r].state.set.push_back(fmt::format("{}={}", v.key, text::plain(x)));
        }
    }
    if (!exercise.fault.empty()) {
        const auto order = parts();
        const std::size_t first = draw.below(exercise.fault.size());
        for (std::size_t r = 0; r < asked.size(); ++r) {
            const auto part = static_cast<std::size_t>(order[r]);
            const std::string& fault = exercise.fault[(first + part) % exercise.fault.size()];
            if (fault != "none") asked[r].state.fault.push_back(fault_at(fault, within(order[r])));
        }
    }
    return asked;
}

}  // namespace sunshaft::teach
