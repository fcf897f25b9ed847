// A lesson being written: recorded on the bench step by step, worded, written as a file. Such a file holds where the
// leads lay and what the site's state was, and no reading: what a display shows is worked out whenever it is played.
#pragma once

#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "teach/lesson.hpp"

namespace sunshaft::teach {

// The file's text; parse_lesson() takes it back.
std::string to_toml(const Lesson& lesson);
// To be filled in with a text editor; less than 25 lines.
std::string lesson_template();

// The station that these acts have led to; what a tester on a dead circuit and a voltmeter call by two names is told
// apart by the position of the switch.
bench::Station station_of(const std::vector<site::Act>& acts, meter::Mode mode);
// What lies on the bench now as a step's look.
Look look_of(const bench::Edits& edits, const bench::Probes& probes, meter::Mode mode, const std::string& meter);
// An exercise on what was asked last, with a condition of this site that varies.
Exercise exercise_of(const Look& look, const std::vector<std::string>& why, const Scenario& scenario);
// A file's name of a title: "The half reading" is "the-half-reading".
std::string stem_of(const std::string& title);

std::string own_lessons_folder();  // the user's; empty: nowhere
// The lessons that lie there; those that cannot be read leave their line in `trouble`.
std::vector<Lesson> own_lessons(std::vector<std::string>& trouble);

}  // namespace sunshaft::teach
