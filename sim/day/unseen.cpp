// What of a fault the day's averages cannot show. Said beside the figures, so that "no water lost" is not taken for
// "no fault".
#include <algorithm>
#include <array>
#include <string_view>

#include "day/cost.hpp"
#include "text/language.hpp"

namespace sunshaft::day {
namespace {

using text::id, text::say, text::tr;

struct Blind {
    std::string_view kind;
    const char* why;
};
constexpr std::array<Blind, 10> blind = {{
    {"capacitor-dried-out", id("acts on the ripple of the link, which is averaged out: the day shows no loss by it")},
    {"bleed-open", id("acts after switch-off only")},
    {"isolator-leaks", id("acts with the isolator off only")},
    {"arrester-open", id("acts in a thunderstorm only")},
    {"changeover-welded", id("acts with the change-over switch on the second supply only")},
    {"blocking-diode-shorted", id("acts beside another fault only")},
    {"uneven-dead-time", id("of a six-step output nothing is left of it in the mean of a turn")},
    {"commutation-offset", id("acts on the mean; how the motor runs rough is not followed")},
    {"check-valve-open", id("back-spin and water hammer at a stop are not followed; the water lost is")},
    {"phases-swapped", id("the pipe a pump that turns backwards may unscrew is not followed")},
}};

// A motor that leads draws its torque from lines that are unequal: it comes and goes within a turn. Where the shaft
// crawls, its inertia does not carry it over, and it has no one speed.
bool trembles(const site::Works& w) {
    constexpr double unequal = 1.5;
    double least = site::open_circuit, most = 0.0;
    for (const site::Phase& p : w.phases) least = std::min(least, p.through()), most = std::max(most, p.through());
    return site::self_commutated(w.motor) && most > unequal * least;
}

}  // namespace

std::vector<std::string> unseen(const Scenario& scenario, const std::vector<site::Fault>& faults) {
    std::vector<std::string> list;
    const bool six_step = scenario.drive.modulation.rfind("six-step", 0) == 0;
    if (scenario.drive.current_sensing != "ideal")
        list.push_back(tr("drive.current_sensing: the day's trips go by the true currents"));
    if (scenario.drive.rotor_sensing != "ideal")
        list.push_back(
            tr("drive.rotor_sensing: every start of the day finds its rotor; rocking and misses are not followed"));
    for (const site::Fault& f : faults) {
        const site::FaultRow* row = site::find_fault(f.kind);
        if (row && std::string_view(row->group) == "operator and meter")
            list.push_back(say("{}: is in the meter or the hand that holds it; no water hangs on it", f.kind));
        if (f.start > 0.0) list.push_back(say("{}: its start is not followed; it is there all day", f.kind));
        for (const Blind& b : blind)
            if (b.kind == f.kind && (six_step || b.kind != "uneven-dead-time"))
                list.push_back(f.kind + ": " + tr(b.why));
    }
    return list;
}

std::vector<std::string> coarse(const Scenario& scenario, const std::vector<site::Fault>& faults) {
    if (!trembles(site::stand(scenario, faults))) return {};
    return {tr(
        "phases unequal: a shaft that crawls trembles within each turn. The current shown there is up to a fifth too "
        "high.")};
}

}  // namespace sunshaft::day
