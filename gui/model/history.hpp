// History: what some signals of a running plant did lately, jump-true, and the means over a stretch of it.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "model/snapshot.hpp"

namespace sunshaft::view {

class History {
  public:
    static constexpr double kept_seconds = 0.6;       // at least this much, at most half again as much
    static constexpr std::size_t most_rows = 400000;  // the older half goes when there are more

    // Which signals from now on, those always needed included. Names that exist on both sites keep what was
    // recorded. A name unknown on this site is left out.
    void choose(const site::Site& site, const std::vector<std::string>& names);
    bool has(const std::string& name) const;

    plant::Recorder& pen() { return *pen_; }
    // After the pen wrote: drops what is old.
    void trim();
    std::size_t rows() const { return pen_ ? pen_->recording.rows() : 0; }

    double from(const std::string& name) const;  // since when it is recorded
    double start() const;
    double finish() const;
    // Between two times, to be drawn: NaN as 0.
    trace::Trace wave(const std::string& name, double from, double to) const;
    // Several, added with their signs, for a meter: NaN where they hang on nothing, which Bench::read() makes something
    // of.
    using Signed = std::vector<std::pair<std::string, double>>;
    trace::Trace wave(const Signed& signals, double from, double to) const;
    // The latest rows of some signals since then, as they were written, `most` of them at most; what was not recorded
    // that early is NaN. Names that are not recorded are left out.
    trace::Recording rows_of(const std::vector<std::string>& names, double from, std::size_t most) const;
    trace::Trace rows_since(const std::string& name, std::size_t row) const;
    plant::Means means(double from, double to) const;
    // Where the flux linked by the stator went in the last turn before `to`, latest first, Wb; empty: less than a turn
    // is recorded, or this machine has none that is computed.
    std::vector<motor::Vec2> flux_path(double turn, double to, std::size_t points = 96) const;
    // A recording of the same signals that ran `span` seconds ahead of now, taken as the past instead of what
    // was.
    void take_as_past(trace::Recording recording, double span);

  private:
    std::size_t column(const std::string& name) const;
    std::size_t row_at(double t) const;
    trace::Trace cut(const std::string& name, double from, double to) const;
    std::unique_ptr<plant::Recorder> pen_;
    std::map<std::string, std::size_t> columns_;
    std::vector<double> valid_from_;
};

// The signals every history holds: terminals, currents, link, shaft, water.
const std::vector<std::string>& standing_signals();

// The long memory of one scope channel: bounded, extremes kept.
class ScopeTrack {
  public:
    static constexpr std::size_t most_segments = 100000;
    void append(trace::View more);  // continues the trace; one that starts elsewhere begins anew
    void keep(double seconds) { seconds_ = seconds; }
    const trace::Trace& trace() const { return trace_; }
    void clear();

  private:
    void add(const trace::Segment& s);
    trace::Trace trace_;
    double seconds_ = 0.1, largest_ = 0.0;
    double slope_low_ = 0.0, slope_high_ = 0.0;  // of the door: slopes the last piece may still have
};

// Pieces merged in buckets of time, each into at most three with its first, extreme and last values.
trace::Trace thinned(trace::View trace, double bucket);

}  // namespace sunshaft::view
