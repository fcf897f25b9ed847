// A case: what was done and read on one site, in the order it was, as a file. Contract: TOML,
//
//     site = "hill-orchard"            # a shipped site, or a scenario file relative to this one
//     sky = { irradiance_W_m2 = 640, module_temperature_degC = 48, source = "in-plane meter",
//             at = "2026-11-28 12:30" }     # when it was so, by the clock of the site; without a light, one is worked
//                                           # out of the hour and a sky named as source: "haze by eye"
//     to_hand = ["multimeter", "clamp-ac"]
//     who = "authorised"
//     alone = true
//     intake = ["stops at noon", "electrician was here"]
//     [[seen]]
//     do = ["open@isolator", "pull@pump"]      # state when read; none: as it stands, running
//     red = "lead.u"
//     black = "lead.v"
//     mode = "ohm"
//     shown = "3.6"                            # as the display or a person says it
//     at = "2026-11-28 12:36"                  # whatever date or clock
//     [[tried]]                                # a repair that was made
//     fault = "string-fuse-blown"              # as `sunshaft faults` has it
//     place = "fuse.s1"                        # none: wherever it may lie
//     outcome = "no change"                    # or "well again", "back after an hour"
//     after = 8                                # so many of the readings were taken before it; none: all
//
// One look has red and black, or around, or gauge, lamp, sound, look, message; with meter, mode, after_s, moment, when
// ("well": read when all was well), zeroed, leads_ohm. What is not understood is kept in `aside` and read back, never
// an error: only broken TOML, no site, and a point the site does not have are.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "site/scenario.hpp"

namespace sunshaft::diagnose {

struct Seen {
    std::vector<std::string> act;  // "open@isolator", as `sunshaft acts` has them
    std::string red, black, around, mode, meter, shown, gauge, lamp, sound, look, message, moment, at, when;
    double after_s = not_given, leads_ohm = not_given;
    bool zeroed = false;
    std::map<std::string, std::string> where = {};  // "file:line:column" of its keys, for messages
    std::string what() const;                       // "lead.u - lead.v", "clamp on u", "flow"
    friend bool operator==(const Seen& a, const Seen& b) {
        return a.act == b.act && a.red == b.red && a.black == b.black && a.around == b.around && a.mode == b.mode &&
               a.meter == b.meter && a.shown == b.shown && a.gauge == b.gauge && a.lamp == b.lamp &&
               a.sound == b.sound && a.look == b.look && a.message == b.message && a.moment == b.moment &&
               a.at == b.at && a.when == b.when && same(a.after_s, b.after_s) && same(a.leads_ohm, b.leads_ohm) &&
               a.zeroed == b.zeroed;
    }
    static bool same(double a, double b) { return a == b || (a != a && b != b); }
};

// A repair that was made for a suspect, and what came of it.
struct Tried {
    std::string fault, place, outcome, at;
    std::size_t after = all_readings;  // of Case::seen so many were taken before it
    static constexpr std::size_t all_readings = static_cast<std::size_t>(-1);
    enum class What { unknown, no_change, came_back, well };
    What what() const;  // of the outcome's words
    friend bool operator==(const Tried&, const Tried&) = default;
};

struct Case {
    std::string file;
    std::string site;
    double irradiance = not_given, module_degC = not_given;  // W/m2, degC: as measured
    std::string sky_source, sky_at;
    std::vector<std::string> to_hand;
    bool to_hand_said = false;  // else whatever there is
    std::string who;
    bool alone = false;
    std::vector<std::string> intake;
    std::vector<Seen> seen;
    std::vector<Tried> tried;
    std::vector<std::string> mended =
        {};                          // kinds that are known to have been there, before all of `seen`; not in the file
    std::vector<std::string> aside;  // "file:line:column: key: not understood ..."
};

// Throws site::BadInput, what() one line `file:line:column: key: what is wrong, what was expected`.
Case read_case(const std::string& file);
Case parse_case(std::string_view text, const std::string& file);
// The scenario it is about. Throws site::BadInput, also for a point the site does not have.
Scenario site_of(const Case& c);

std::string to_toml(const Case& c);
// Whole or not at all. Throws std::invalid_argument or std::runtime_error in one line.
void write_case(const Case& c, const std::string& file);

}  // namespace sunshaft::diagnose
