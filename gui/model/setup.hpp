// Setup: all that the user has set up, as plain data. The window's side edits it, the physics side carries it
// out.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "bench/bench.hpp"
#include "bench/sound.hpp"
#include "model/day_wish.hpp"
#include "model/meters_at_hand.hpp"
#include "model/notebook.hpp"
#include "model/scope_view.hpp"

namespace sunshaft::view {

struct Setup {
    bench::Edits edits;
    bench::Probes probes;
    std::array<std::string, 2> meters{"true-rms", "average"};  // stems of scenarios/meters
    bool alone = false;                                        // the second meter is off and hangs nowhere
    std::optional<double> source_F = {};  // F: the red lead touches a wire that this alone couples to its point
    MeterChanges meter_changes;
    meter::Mode mode = meter::Mode::acv;
    std::vector<std::string> channels{"drive.u:drive.v", "around.u"};
    double scope_seconds = 0.1;           // kept by the scope, 10 us .. 100 s
    bool memory = false, inrush = false;  // the meters keep min, max and peak; the clamp waits for an in-rush
    bool expected = false;                // the displays' healthy figures are wanted too
    std::optional<bench::Ear> ear = {};   // somebody listens there; nothing: nobody
    bool camera = false;                  // somebody looks at the array's heat
    std::vector<std::string> asked = {};  // gauges read on site, in order: Snapshot::told has as many answers
    bool running = true;
    std::optional<double> walked_to = {};  // s: an instant of the last minute looked at, time held; nothing: now
    double rate = 1.0;                     // simulated s per s of wall clock
    std::vector<std::string> unsafe;  // acts carried out although they were refused, in order; undone or not they count
};

inline constexpr double least_rate = 1e-3, most_rate = 100.0;
inline constexpr double least_scope_s = 1e-5, most_scope_s = 100.0;

bool same(const bench::Edits& a, const bench::Edits& b);

// What a session's text holds.
struct Session {
    std::string scenario;  // its file
    Setup setup;
    ScopeSettings scope;
    bool marks_hidden = false, teaching_points = false;
    std::vector<Note> notes = {};
    DayWish day = {};
};
std::string to_toml(const Session& session);
// Throws site::BadInput in one line: "session:line:column: what is wrong".
Session session_from(std::string_view text);

}  // namespace sunshaft::view
