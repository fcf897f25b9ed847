// Mutation fuzz of the scenario loader: the shipped sites, damaged in a repeatable way. Whatever comes in, the
// loader either returns a scenario whose every value is in its domain, or throws BadInput with one clean line.
// SUNSHAFT_FUZZ_ROUNDS sets how many (default 6000).
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <regex>

#include "catch_shim.hpp"
#include "order.hpp"
#include "site/load.hpp"
#include "site/shipped.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using sunshaft::test::in_order;
using sunshaft::test::one_clean_line;
namespace fs = std::filesystem;

namespace {

// The engine is the same everywhere, the standard's distributions are not.
class Dice {
  public:
    explicit Dice(std::uint64_t seed) : engine_(seed) {}
    std::size_t below(std::size_t n) { return n ? std::size_t(engine_() % n) : 0; }
    template <class List>
    const auto& pick(const List& list) {
        return list[below(std::size(list))];
    }

  private:
    std::mt19937_64 engine_;
};

const std::vector<std::string> nasty{"nan",
                                     "inf",
                                     "-inf",
                                     "+inf",
                                     "-nan",
                                     "1e999",
                                     "-0",
                                     "-0.0",
                                     "5e-324",
                                     "0x10",
                                     "0b1",
                                     "1_000",
                                     "99999999999999999999",
                                     "9223372036854775807",
                                     "-9223372036854775808",
                                     "true",
                                     "''",
                                     "\"\"",
                                     "\"\\u0000\"",
                                     "\"\\n\"",
                                     "\"\\uD7FF\"",
                                     "'''\n'''",
                                     "[]",
                                     "[[1]]",
                                     "{}",
                                     "{a = 1}",
                                     "{a.b = 1}",
                                     "1979-05-27T07:32:00Z",
                                     "07:32:00",
                                     "[fault]",
                                     "[[fault]]\n",
                                     "[[fault]]\nkind='a'\nplace='b'\nseverity=inf\nat_s=1e9\n",
                                     "[drive]",
                                     "[[drive]]",
                                     "drive.carrier_Hz = 1\n",
                                     "[drive.carrier_Hz]\n",
                                     "=",
                                     "#",
                                     "\n",
                                     "\r\n",
                                     "\r",
                                     "\t",
                                     "\xEF\xBB\xBF",
                                     "\xFF",
                                     "\xC3",
                                     "\xC3\xA9",
                                     "\xF0\x9F\x92\xA7",
                                     std::string(1, '\0'),
                                     std::string(300, '['),
                                     std::string(300, '{'),
                                     std::string(5000, 'k'),
                                     "\"" + std::string(2000, 'v') + "\"",
                                     "a." + std::string(200, 'a') + " = 1\n",
                                     "'six-step-180'",
                                     "'fixed'",
                                     "'mppt'",
                                     "'12:00'",
                                     "'24:00'",
                                     "'v-f'",
                                     "0",
                                     "1",
                                     "-1",
                                     "50",
                                     "1e4"};

// Start of a random line, and the value on it.
void replace_value(std::string& text, Dice& dice) {
    const std::size_t sign = text.find('=', dice.below(text.size()));
    if (sign == std::string::npos) return;
    const std::size_t end = std::min(text.find('\n', sign), text.size());
    text.replace(sign + 1, end - sign - 1, dice.pick(nasty));
}

void mutate(std::string& text, const std::vector<std::string>& corpus, Dice& dice) {
    const std::size_t at = dice.below(text.size() + 1);
    const std::size_t length = std::min(dice.below(40), text.size() - at);
    switch (dice.below(9)) {
        case 0:
            if (at < text.size()) text[at] = char(text[at] ^ (1 << dice.below(8)));
            break;
        case 1: text.erase(at, length); break;
        case 2: text.insert(at, text.substr(at, length)); break;
        case 3: text.insert(at, dice.pick(nasty)); break;
        case 4: text.insert(at, 1, char(dice.below(256))); break;
        case 5: {
            const std::string& other = dice.pick(corpus);
            const std::size_t from = dice.below(other.size());
            text.insert(at, other.substr(from, dice.below(200)));
            break;
        }
        case 6: text.resize(at); break;
        default: replace_value(text, dice);
    }
}

std::vector<std::string> shipped_texts() {
    std::vector<std::string> texts;
    for (const std::string& file : shipped_sites()) {
        std::ifstream in(file, std::ios::binary);
        texts.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
    }
    return texts;
}

int rounds() {
    const char* wanted = std::getenv("SUNSHAFT_FUZZ_ROUNDS");
    return wanted ? std::atoi(wanted) : 6000;
}

}  // namespace

TEST_CASE("a damaged scenario loads in order or says in one line what is wrong") {
    const std::vector<std::string> corpus = shipped_texts();
    REQUIRE(corpus.size() >= 5);
    const std::regex shape("fuzz\\.toml:[0-9]+:[0-9]+: .+: .+, expected .+");
    Dice dice(20240611);
    int loaded = 0, refused = 0;
    for (int round = 0; round < rounds(); ++round) {
        std::string text = dice.pick(corpus);
        for (std::size_t n = 1 + dice.below(4); n > 0; --n) mutate(text, corpus, dice);
        INFO("round " << round << "\n" << text);
        try {
            const Scenario scenario = parse_scenario(text, "fuzz.toml");
            ++loaded;
            if (!in_order(scenario)) FAIL("a scenario out of order was loaded");
        } catch (const BadInput& wrong) {
            const std::string line = wrong.what();
            ++refused;
            if (!one_clean_line(line) || !std::regex_match(line, shape)) FAIL("not one clean line: " << line);
        }
    }
    // The mutations reach both outcomes, or this test tests nothing.
    CHECK(loaded > rounds() / 50);
    CHECK(refused > rounds() / 5);
}

TEST_CASE("a damaged --set sets a value in its domain or says in one line what is wrong") {
    const std::vector<std::string> corpus{"drive.carrier_Hz=8000", "splice.u_ohm=inf", "tank.float_switch=false",
                                          "site.name=\"A\""};
    Dice dice(77);
    int done = 0, refused = 0;
    for (int round = 0; round < 5 * rounds(); ++round) {
        std::string text = dice.pick(corpus);
        if (dice.below(2)) text = std::string(dice.pick(keys()).path) + '=' + dice.pick(nasty);
        for (std::size_t n = dice.below(3); n > 0; --n) mutate(text, corpus, dice);
        Scenario scenario;
        try {
            set_key(scenario, text);
            ++done;
            if (!in_order(scenario)) FAIL("out of order after --set " << text);
        } catch (const BadInput& wrong) {
            const std::string line = wrong.what();
            ++refused;
            if (!one_clean_line(line) || !line.starts_with("--set: ")) FAIL("not one clean line: " << line);
        }
    }
    CHECK(done > rounds() / 50);
    CHECK(refused > rounds() / 2);
}
