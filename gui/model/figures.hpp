// What stands on the sheets of a snapshot, worked out from a site and its history. Pure.
#pragma once

#include <array>
#include <complex>
#include <string>
#include <vector>

#include "model/history.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

// Orders 1 .. 40, and past the carrier where there is one (200 at most). `wave` spans whole turns.
Spectrum spectrum(const std::string& name, trace::View wave, double fundamental_Hz, double carrier_Hz);

Signature signature(const History& history, trace::View current_u, double slip, double fundamental_Hz, double from,
                    double to);

struct Phasors {
    double frequency_Hz = 0.0;
    std::array<std::complex<double>, 3> volt{}, amp{};  // u v w; volts to the star point
    motor::Vec3 volt_sequence{}, amp_sequence{};        // zero, positive, negative
};
Phasors phasors(const History& history, double fundamental_Hz, double from, double to);
// Of voltages of u, v, w to any one point: those of u against v, v against w, w against u.
std::array<std::complex<double>, 3> between_lines(const std::array<std::complex<double>, 3>& volt);
// Where the tips of two space vectors went between two times: of the drive's terminals and of the line currents; both
// ends of every straight stretch, so that a jump stays one.
struct SpacePaths {
    std::vector<motor::Vec2> volt, amp;
};
SpacePaths space_paths(const History& history, double from, double to);

// The last turn of the field up to the present instant.
std::shared_ptr<const Turn> last_turn(const bench::Bench& bench, const History& history, const bench::Probes& probes);
// All that follows from the snapshot's site, its instant and its means: sheets, array, water, warmth, lamps.
void fill_sheets(Snapshot& s);

// "6000 counts, 10 Mohm"
std::string counts_text(const meter::Spec& spec, meter::Mode mode);
// One for each thing that differs, its time left open: "planted: high-resistance splice at v, 3.3 ohm".
std::vector<Event> changes(const bench::Edits& before, const bench::Edits& after);

void array_curves(const site::Site& site, Curve& current, Curve& power);
// Head against m3/h, from no flow to the most this pump gives at its rated speed with no head.
void water_curves(const site::Site& site, double speed, double static_head, Curve& pump, Curve& main);
std::array<SheetRow, 3> splice_sheet(const site::Site& site, const motor::Vec3& amps);
// Lamps are dark when the electronics have nothing to live on; that proves nothing about the link.
std::vector<Lamp> lamps(const site::Site& site, const drive::ControlState& control);
// Where not all have room: the first ones, but a lit one further down takes the place of the last dark one.
std::vector<Lamp> lamps_that_fit(const std::vector<Lamp>& all, std::size_t room);

}  // namespace sunshaft::view
