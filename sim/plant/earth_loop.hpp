// What flows to earth and back: the charging of the drop cable's cores, leaks of windings and cable, and the way home
// through the array's own leaks and capacitance.
//
// Milliamperes beside the amperes of the plant, so worked out from the plant's voltages afterwards and not fed back: an
// earth fault stiff enough to bend those voltages is not followed here. Each core charges its capacitance C through R,
// about the surge impedance of a drop cable (50 to 100 ohm; no source), so that an edge of the output gives a pulse
// of charge C dV that dies away in RC. With e the earth's potential against link-, n cores that hang on the output, s
// the sum of their potentials and U that of their charges:
//   I = (s - n e - U) / R        R C dU/dt = s - n e - U
//   C_a de/dt = J - G e + I      G: all leaks to earth, J: the same times the potentials they start from
// C_a: the array's capacitance to earth, and 1 nF that any enclosure has (no source). Solved in closed form on
// straight pieces.
//
// Clamps: uvw = what leaves the three cores; dc (both poles, array side of the arrester) = uvw and what the arrester
// passes, less what capacitors fitted at the drive's input bring straight back; pe (frame to earth) = the same back
// again.
#pragma once

#include <array>
#include <vector>

#include "motor/clarke.hpp"
#include "site/site.hpp"

namespace sunshaft::plant {

class EarthLoop {
  public:
    static constexpr double core_ohm = 80.0, stray_F = 1e-9, insulation_S = 1e-9;

    explicit EarthLoop(const site::Site& site);

    // Potentials against link-, V; NaN: hangs on nothing.
    struct Input {
        motor::Vec3 lead{}, motor{};
        double link = 0.0;
    };
    struct Currents {
        double uvw = 0.0, dc = 0.0, pe = 0.0;  // A
    };
    // What each winding leaks to earth at rest, its leaks alone; and what an earth monitor finds from both poles
    // together to earth, itself left out, with the windings where they hang on the output, ohm.
    motor::Vec3 leaking(const Input& in) const;
    double insulation_ohm(bool output_on) const;
    // Shares (0 .. 1, rising, ending with 1) of the piece that begins with a and lasts dt seconds at which the currents
    // should be drawn as straight lines: close together after an edge.
    std::vector<double> cuts(const Input& a, double dt) const;
    // Advances over the piece; the currents at its beginning (after the edge there) and at each cut.
    std::vector<Currents> piece(const Input& a, const Input& b, double dt, const std::vector<double>& cuts);

  private:
    struct Forcing {
        double n = 0.0, s = 0.0, J = 0.0, G = 0.0, arrester_J = 0.0, arrester_G = 0.0, leak_J = 0.0, leak_G = 0.0;
    };
    Forcing forcing(const Input& in) const;
    Currents currents(const Forcing& f, double e, double U) const;
    void begin(const Forcing& f, double link);
    bool edge(const Input& a) const;  // the piece that begins with a begins with an edge

    struct Leak {
        int column;  // of the source's nodes; -1: link+, -2: link-
        double siemens;
    };
    double potential(const Leak& leak, double link) const;
    const site::Site& site_;
    std::vector<Leak> frame_, arrester_;
    motor::Vec3 winding_S_{};
    double monitor_S_ = 0.0;
    double core_F_ = 0.0, array_F_ = 0.0, fitted_F_ = 0.0;
    bool begun_ = false;
    double e_ = 0.0, U_ = 0.0, since_edge_ = 0.0;
    Input last_{};
};

}  // namespace sunshaft::plant
