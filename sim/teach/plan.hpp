// One lesson as 45 minutes in front of a class: a clock, what to cut after a late start, where to stop until next week,
// and one instructor's page. All of it is worked out from the lesson and its bench: what a wrong belief expects beside
// what is shown, what exchanged leads or another position of the switch would show.
//
//     const Plan plan = make_plan(load_lesson("half-reading"), load_beliefs(), {.late_min = 7});
//     plan.phases            // "predict", from minute 5 to minute 10, what is done then
//     page(plan)             // a PDF, one page
#pragma once

#include <string>
#include <vector>

#include "report/paper.hpp"
#include "teach/play.hpp"

namespace sunshaft::teach {

struct PlanOptions {
    std::uint64_t seed = 1;
    std::string site = {};
    int late_min = 0;   // minutes lost before it began, 0 .. 30
    int start_min = 0;  // of the day: 0: the clock starts at zero
};

struct Plan {
    struct Phase {
        std::string name;
        int from, to;  // minutes of the day, or from the start
        std::string what;
    };
    // A mark on the board's line: what is shown, or what a belief expects.
    struct Mark {
        double value;  // SI; endless: over range
        std::string words;
        bool shown;
    };
    std::string id, title, aim, site;
    std::uint64_t seed = 1;
    bool by_clock = false;
    std::vector<Phase> phases;             // without those that were cut
    std::vector<std::string> cut;          // what a late start costs
    std::string stop;                      // where to stop, and how to go on next week
    std::vector<std::string> cautions;     // before anything is touched
    std::vector<std::string> wrong;        // the usual wrong beliefs, and what refutes each
    std::vector<std::string> ask;          // what to ask, in order
    std::vector<std::string> trouble;      // what goes wrong
    std::vector<std::vector<Mark>> board;  // a line for each prediction
    std::vector<std::string> board_of;     // what each is about
    std::vector<std::string> units;        // and its unit
};

// Throws site::BadInput.
Plan make_plan(const Lesson& lesson, const Beliefs& beliefs, const PlanOptions& options = {});
std::string plan_text(const Plan& plan);
struct PlanPage {
    std::string pdf;
    int pages = 0;
    std::vector<report::Paper::Placed> placed;
};
PlanPage plan_page(const Plan& plan);

}  // namespace sunshaft::teach
