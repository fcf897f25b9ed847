// Help that fades: what each level gives, hints that never name what is wrong, and the mark of one's own case.
#include "teach/guided.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "catch_shim.hpp"

using namespace sunshaft;
using teach::Guided;
using teach::Level;

namespace {

const std::vector<teach::CaseTable>& tables() {
    static const std::vector<teach::CaseTable> all = [] {
        std::vector<teach::CaseTable> list;
        for (const auto& row : teach::load_cases()) list.emplace_back(row);
        return list;
    }();
    return all;
}

std::string printed(const Guided& g) {
    std::string all;
    for (const auto& line : g.lines()) all.append(line).append(1, '\n');
    return all;
}
long count(const std::string& in, const std::string& what) {
    long n = 0;
    for (auto at = in.find(what); at != std::string::npos; at = in.find(what, at + 1)) ++n;
    return n;
}
// The number of a choice.
std::string number(const Guided& g, const std::string& words) {
    for (std::size_t n = 0; n < g.choices().size(); ++n)
        if (g.choices()[n].rfind(words, 0) == 0) return std::to_string(n + 1);
    return "0";
}
// By what is shown alone: the suspects whose table shows the same, test after test as the expert would choose them.
std::string found_by_reading(Guided& g, const teach::CaseTable& table, bool takes_hints) {
    std::vector<std::size_t> left(table.suspects()), done;
    for (std::size_t s = 0; s < left.size(); ++s) left[s] = s;
    std::vector<std::size_t> exact = left;  // that would have shown every figure as it stood there
    for (std::size_t t = table.best(left, done); t < table.tests(); t = table.best(left, done)) {
        if (takes_hints) g.answer("hint");
        g.answer(number(g, table.test(t).name));
        done.push_back(t);
        // What stands on the display, against what each suspect would show.
        const std::string said = printed(g);
        std::vector<std::size_t> fits;
        for (const std::size_t s : left) {
            bool all = true;
            for (const auto& line : table.shown(t, s)) all = all && said.find("  " + line) != std::string::npos;
            if (all) fits.push_back(s);
        }
        REQUIRE_FALSE(fits.empty());
        std::erase_if(exact, [&](std::size_t s) { return std::find(fits.begin(), fits.end(), s) == fits.end(); });
        std::erase_if(left, [&](std::size_t s) {
            return std::none_of(fits.begin(), fits.end(), [&](std::size_t f) { return table.alike(t, f, s); });
        });
    }
    g.answer(std::to_string(g.choices().size()));
    REQUIRE_FALSE(exact.empty());
    g.answer(std::to_string(exact.front() + 1));
    return table.name(exact.front());
}

}  // namespace

TEST_CASE("the aids of each level: the whole way, half of it, hints at a price") {
    CHECK(teach::aids(Level::worked).shown == 1.0);
    CHECK_FALSE(teach::aids(Level::worked).hints);
    CHECK(teach::aids(Level::half).shown == 0.5);
    CHECK_FALSE(teach::aids(Level::half).hints);
    CHECK(teach::aids(Level::own).shown == 0.0);
    CHECK(teach::aids(Level::own).hints);

    std::set<int> blocks;
    for (const auto& table : tables()) {
        INFO("block " << table.row().block);
        blocks.insert(table.row().block);
        int longest = 0;
        for (std::uint64_t seed = 1; seed <= 6; ++seed) {
            INFO("seed " << seed);
            const Guided worked(table, Level::worked, seed);
            CHECK(worked.over());
            const auto steps = count(printed(worked), "The expert takes");
            longest = std::max(longest, static_cast<int>(steps));
            CHECK(steps >= 1);
            // Each choice is explained, its cautions stand before what it shows.
            CHECK(count(printed(worked), "rules out") == steps);
            for (std::size_t t = 0; t < table.tests(); ++t) {
                const auto begins = printed(worked).find(fmt::format("The expert takes: {}.", table.test(t).name));
                if (begins == std::string::npos || table.cautions(t).empty()) continue;
                const auto reads = printed(worked).find("  " + table.shown(t, worked.truth()).front(), begins);
                CHECK(printed(worked).find("before you touch: ", begins) < reads);
            }
            CHECK(printed(worked).find(table.name(worked.truth())) != std::string::npos);

            Guided half(table, Level::half, seed);
            CHECK_FALSE(half.over());
            CHECK(count(printed(half), "The expert takes") >= 1);
            half.answer("hint");
            CHECK(printed(half).find("no hints") != std::string::npos);

            Guided own(table, Level::own, seed);
            CHECK(count(printed(own), "The expert takes") == 0);
            CHECK(own.points() == 100);
        }
        CHECK(longest >= 2);  // a way, not a single test
    }
    CHECK(blocks == std::set<int>{1, 2, 3, 4, 5});
}

TEST_CASE("a hint says first which half, then which test, costs points, and never what is wrong") {
    for (const auto& table : tables()) {
        INFO("block " << table.row().block);
        Guided g(table, Level::own, 2);
        g.answer("hint");
        const std::string half = printed(g);
        CHECK(half.find("look at the half that") != std::string::npos);
        CHECK(g.points() == 100 - teach::half_costs);
        g.answer("hint");
        const std::string test = printed(g);
        CHECK(g.points() == 100 - teach::half_costs - teach::test_costs);
        bool names = false;
        for (std::size_t t = 0; t < table.tests(); ++t)
            names = names || test.find(table.test(t).name) != std::string::npos;
        CHECK(names);
        for (std::size_t s = 0; s < table.suspects(); ++s) {
            CHECK(half.find(table.name(s)) == std::string::npos);
            CHECK(test.find(table.name(s)) == std::string::npos);
        }
        // Other truths, the same hints: what is said before anything is measured tells nothing.
        for (std::uint64_t seed = 3; seed < 9; ++seed) {
            Guided other(table, Level::own, seed);
            other.answer("hint");
            CHECK(printed(other) == half);
        }
    }
}

TEST_CASE("who goes by what is shown finds it; a guess earns nothing, even a true one; a needless test costs") {
    for (const auto& table : tables())
        for (std::uint64_t seed = 1; seed <= 4; ++seed) {
            INFO("block " << table.row().block << ", seed " << seed);
            Guided right(table, Level::own, seed);
            (void)found_by_reading(right, table, false);
            CHECK(right.over());
            CHECK(right.found());
            CHECK(right.points() >= 90);
            Guided dear(table, Level::own, seed);
            (void)found_by_reading(dear, table, true);
            CHECK(dear.found());
            CHECK(dear.points() < 100);

            Guided guess(table, Level::own, seed);
            guess.answer(std::to_string(guess.choices().size()));
            guess.answer(std::to_string(guess.truth() + 1));
            CHECK_FALSE(guess.found());
            CHECK(guess.points() == 0);
        }
    const auto& table = tables().front();
    Guided twice(table, Level::own, 1);
    std::vector<std::size_t> left;
    while (!twice.over() && twice.choices().size() > 1) twice.answer("1");  // every test there is
    CHECK(twice.points() < 100);
}
