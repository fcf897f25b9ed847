// Finding a fault with help that fades: one case a block of lessons, at three levels before a sealed call-out.
//
//     worked   an expert's case replayed, each choice explained
//     half     the expert does the first half, you the rest
//     own      you choose every test; a hint can be asked for and costs points
//
// A hint first says which half of the site to look at, then which test; neither names what is wrong. What a test shows
// under each of the things it could be is read on benches of their own, and the expert goes by that alone: of the tests
// that are left, the one that rules most out in a minute.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"
#include "teach/asked.hpp"

namespace sunshaft::teach {

enum class Level { worked, half, own };

// What a level gives: how much of the expert's way is shown, and whether hints may be asked for.
struct Aids {
    double shown;  // share of the expert's steps
    bool hints;
};
constexpr Aids aids(Level level) {
    return level == Level::worked ? Aids{1.0, false} : level == Level::half ? Aids{0.5, false} : Aids{0.0, true};
}
inline constexpr int half_costs = 5, test_costs = 15;  // points of 100

struct CaseRow {
    int block = 1;
    std::string site, said;
    std::vector<std::string> set, suspects, tests;  // suspects as of --fault, or "none"
    Mark mark;
};
std::vector<CaseRow> load_cases();  // scenarios/lessons/cases.toml; throws site::BadInput

// What each test shows under each suspect; computed once, good for every level and seed.
class CaseTable {
  public:
    explicit CaseTable(const CaseRow& row);
    const CaseRow& row() const { return row_; }
    std::size_t suspects() const { return row_.suspects.size(); }
    std::size_t tests() const { return row_.tests.size(); }
    std::string name(std::size_t suspect) const;  // "lost phase ..., at splice.v"
    const bench::FieldTest& test(std::size_t n) const { return *bench::find_test(row_.tests[n]); }
    std::vector<std::string> shown(std::size_t test, std::size_t suspect) const;
    std::vector<std::string> cautions(std::size_t test) const;
    bool alike(std::size_t test, std::size_t a, std::size_t b) const;  // the test does not tell them apart
    // Of those left: how many a test rules out on average, whichever of them is so.
    double rules_out(std::size_t test, const std::vector<std::size_t>& left) const;
    // The expert's choice among tests not done yet; tests(): none of them parts what is left.
    std::size_t best(const std::vector<std::size_t>& left, const std::vector<std::size_t>& done) const;
    std::vector<std::size_t> left_after(std::size_t test, std::size_t truth,
                                        const std::vector<std::size_t>& left) const;

  private:
    struct One {
        std::string where, shown;
        std::optional<double> value;  // none: over range, nothing, or words
        double open = 0.0;            // half of its band
    };
    CaseRow row_;
    std::vector<std::vector<std::vector<One>>> read_;  // test, suspect, observation
    std::vector<std::vector<std::string>> cautions_;
};

// A case being solved. answer(): a number of the choices, or "hint".
class Guided {
  public:
    Guided(const CaseTable& table, Level level, std::uint64_t seed);
    const std::vector<std::string>& lines() const { return lines_; }      // to be read out
    const std::vector<std::string>& choices() const { return choices_; }  // tests, then "Say what it is"; or suspects
    bool over() const { return over_; }
    void answer(const std::string& said);
    int points() const { return points_; }
    bool found() const { return found_; }
    std::size_t truth() const { return truth_; }

  private:
    void do_test(std::size_t test, bool expert);
    void hint();
    void offer();
    void end(std::size_t named);
    const CaseTable& table_;
    Level level_;
    std::size_t truth_;
    std::vector<std::size_t> left_, done_, offered_;
    bool naming_ = false, over_ = false, found_ = false;
    int points_ = 100, hints_here_ = 0;
    std::vector<std::string> lines_, choices_;
};

}  // namespace sunshaft::teach
