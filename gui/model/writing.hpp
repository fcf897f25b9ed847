// A lesson written at the bench: while it is, each reading that is noted becomes a step with an empty sentence. The
// lesson is kept as a file of the user's own, and read back from it each time it is saved.
#pragma once

#include <optional>
#include <string>

#include "model/snapshot.hpp"
#include "teach/draft.hpp"

namespace sunshaft::view {

class Writing {
  public:
    bool on() const { return lesson_.has_value(); }
    teach::Lesson& lesson() { return *lesson_; }
    const teach::Lesson& lesson() const { return *lesson_; }
    const std::string& trouble() const { return trouble_; }  // one line: file, line, column, what is wrong
    const std::string& file() const { return file_; }        // empty: not saved yet
    std::size_t at = 0;                                      // the step that is edited

    void begin(const std::string& site);
    void open(const std::string& file);  // one of the user's own
    void stop();
    // What the first meter, or the clamp, is set to and lies on. False: nothing lies there.
    bool take(const bench::Edits& edits, const bench::Probes& probes, meter::Mode mode, const std::string& meter);
    void predict(std::size_t step, bool on);  // asked before it is measured, or only measured
    void remove(std::size_t step);
    // Written, and read back as it stands there. False: trouble() says where and why.
    bool save(const Scenario& scenario);
    bool read_again();  // after it was changed elsewhere

  private:
    std::optional<teach::Lesson> lesson_;
    std::string file_, trouble_;
    bool made_ = false;  // its exercise follows the last question; else it was written by hand
};

}  // namespace sunshaft::view
