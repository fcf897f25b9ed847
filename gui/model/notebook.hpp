// The notebook: readings taken on the bench, as they were shown. Entries are added and struck out, never changed or
// taken away; undo does not touch them. Written out it is a case (diagnose/case.hpp), which `sunshaft suspects` reads.
#pragma once

#include <array>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "diagnose/case.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

struct Note {
    double t = 0.0;                 // simulated s, when it was read
    std::vector<std::string> acts;  // what had been done by then: "open@isolator"
    bench::Probes probes;           // the two leads, or the clamp
    std::string gauge = {};         // in place of them: what was looked at or listened to (Bench::gauges())
    bool typed = false;             // by hand, as somebody said it
    meter::Mode mode = meter::Mode::dcv;
    std::string meter;    // stem of its file
    std::string shown;    // as the display had it
    std::string healthy;  // what a healthy site would have shown, where that was asked for: "226 to 230 V"
    double irradiance = 0.0, module_degC = 0.0;  // W/m2, degC
    bool struck = false;
    std::optional<double> after_s = {};  // s since the site was cut off, while it still ran down
    std::string moment = {};             // "stopping": on the way, and nobody can say how far
    friend bool operator==(const Note&, const Note&) = default;
};

// What a case that was brought here says of the sky it was read under.
struct SkyThen {
    std::string source, at;                                        // as diagnose::Case has them
    double irradiance = std::nan(""), module_degC = std::nan("");  // W/m2, degC; NaN: not read
};

class Notebook {
  public:
    // Every display that shows something now, in the order they lie: meters, clamp. How many there were.
    std::size_t take(const Snapshot& seen);
    // What somebody read elsewhere and says: with the leads as they lie (gauge empty), in the clamp, or at a gauge.
    // False: nothing lies there, or there are no words.
    bool type(const Snapshot& seen, const std::string& gauge, bool clamp, const std::string& shown);
    // As it is; one that stands there already, taken whenever, is not added again. False: the book is full.
    bool add(Note note);
    void strike(std::size_t entry);  // struck out; once more: it counts again
    const std::vector<Note>& notes() const { return notes_; }
    void restore(std::vector<Note> notes) { notes_ = std::move(notes); }
    void under(SkyThen sky) { sky_ = std::move(sky); }
    // Those that count, as a case of this site, in this order; under the sky that was brought along, else under that of
    // the first one.
    diagnose::Case as_case(const std::string& scenario_file) const;

  private:
    std::vector<Note> notes_;
    std::optional<SkyThen> sky_;
};

// As a case has it.
diagnose::Seen seen_of(const Note& note);
// "red on lead.u, black on lead.v", "clamp on u".
std::string place_words(const Note& note);
// "isolator open, pump wires off": what had been done, in few words; empty: as it stands.
std::string state_words(const Note& note);
// What the clamp last showed round u, v and w, of the notes that count; empty: none.
std::array<std::string, 3> noted_line_amps(const Notebook& notebook);
// The band of a healthy display: "226 to 230 V"; empty: none.
std::string band_text(const meter::Reading& reading);

}  // namespace sunshaft::view
