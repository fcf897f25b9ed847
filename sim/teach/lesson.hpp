// Lessons as data. A lesson's file holds what is said, where the leads go and what varies; it holds no answer: what a
// display shows, its band, what a wrong belief would expect and why it is wrong are computed (asked.hpp).
//
// The keys, with `scenarios/lessons/one-wave-two-meters.toml` to copy:
//
//   title aim site            text; also: a second site the lesson is played on
//   block minutes             1..5; 5..90
//   believes = ["id"]         rows of beliefs.toml that it refutes
//   set fault                 lists as of --set and --fault: the site state of the whole lesson
//   [[step]]                  say = "..." and one of: measure = LOOK, test = "field test", or
//                             predict = LOOK with why = ["id" ...] and given = [LOOK ...];
//                             show = ["drive.u:drive.v"]: voltages on the scope, of the running site
//   [[exercise]]              ask = LOOK, why, given;
//                             vary = { "key" = [low, high], coupled_F = [low, high], meter = ["a", "b"],
//                             order = ["3", "5"] };
//                             fault = ["KIND@PLACE=LOW..HIGH" ...], one of them each round
//   LOOK = { meter, mode, red, black } or { meter, mode, around } or { gauge }, with state = "dead" "covered" "lit"
//          "shorted" "running" and so on (bench/stations.hpp; running), healthy = true, fault, set, coupled_F; and
//          after_s = 60: the drive switched on so long before (8); order = 5: that line of the wave's spectrum, of the
//          leads or the clamp; ear = "pipe" in place of a meter: at how many hertz it hums there; left_s = 20 with
//          mode = "insulation": the volts so long after that test
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "bench/field_tests.hpp"
#include "bench/sound.hpp"
#include "teach/formula.hpp"

namespace sunshaft::teach {

struct Mark {  // where it stands in its file
    std::string file;
    std::size_t line = 0, column = 0;
    std::string at() const;  // "file:line:column"
};

// What people believe, right or wrong, one row each.
struct Belief {
    std::string id, says;  // a whole sentence, as a learner would say it
    Formula predicts;      // the reading it expects, SI
    std::string refuted;   // what shows that it does not hold here; empty for what holds
    std::string lesson;    // where it is treated
    Mark mark;
};
using Beliefs = std::map<std::string, Belief>;

struct Look {
    bench::Observation what;
    bench::Station station = bench::Station::running;
    std::string meter;     // its file's stem
    bool healthy = false;  // on the site without the lesson's faults
    std::vector<std::string> set, fault;
    double after_s = usual_after_s;
    int order = 0;  // 0: what the display shows
    std::optional<bench::Ear> ear;
    double left_s = 0.0;
    static constexpr double usual_after_s = 8.0;
    std::string where() const;        // "drive.u against drive.v, true-rms multimeter on acv"
    std::string short_where() const;  // for a small box: "volts AC", "flow", "line 5 of the spectrum"
    // A meter's own display, with the leads where they lie: what a hand can lay and read.
    bool on_display() const { return what.gauge.empty() && !order && left_s == 0.0; }
    Mark mark;
};

struct Step {
    std::string say;
    std::vector<std::string> show;
    std::optional<Look> measure, predict;
    std::string test;
    std::vector<Look> given;
    std::vector<std::string> why;
    Mark mark;
};
struct Vary {
    std::string key;  // a scenario key, coupled_F, meter or order
    double low = 0.0, high = 0.0;
    std::vector<std::string> words;
    Mark mark;
};
struct Exercise {
    Look ask;
    std::vector<Look> given;
    std::vector<std::string> why;
    std::vector<Vary> vary;
    std::vector<std::string> fault;
    Mark mark;
};

struct Lesson {
    std::string id, file, title, aim, site, also;
    int block = 1;
    double minutes = 45.0;
    std::vector<std::string> believes, set, fault;
    std::vector<Step> steps;
    std::vector<Exercise> exercises;
    Mark mark;
};

// All throw site::BadInput in one line, `file:line:column: key: what is wrong, what was expected`.
Lesson parse_lesson(std::string_view text, const std::string& file);
Lesson load_lesson(const std::string& name_or_file);  // a shipped lesson's id, or a path
std::vector<Lesson> shipped_lessons();                // by block, then file name
Beliefs parse_beliefs(std::string_view text, const std::string& file);
Beliefs load_beliefs();  // scenarios/lessons/beliefs.toml
std::string shipped_lessons_folder();
const char* block_name(int block);  // 1 .. 5: "volts and zeros"

}  // namespace sunshaft::teach
