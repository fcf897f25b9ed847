// The DC side over a day: current against link voltage at any light and warmth of the modules.
//
// Where no current goes by earth each string is summed from its sub-strings (site::sub_string, the live run's own
// objects) by Kirchhoff's laws, strings are put in parallel, and the run takes its part: some microseconds a curve.
// Where two places tie the array to metal, or a meter loads it, site::source_curve solves the whole network instead:
// some milliseconds a curve. Either is done at nodes of light and warmth as they are first asked for. Through the nine
// about a point go parabolas: of a curve's shape i / I_sc against v / V_oc in the root of the light and in warmth, of
// V_oc and I_sc / light in the logarithm of the light and in warmth. Found by comparing: the largest power then is
// right within 0.1 %.
#pragma once

#include <array>
#include <map>
#include <memory>
#include <vector>

#include "site/works.hpp"

namespace sunshaft::day {

// Current into the drive's input against the voltage there, at one light and warmth. Falls from i(0) to 0 at open_V.
class Curve {
  public:
    static constexpr std::size_t count = 241;  // even steps from 0 V to open_V
    double open_V = 0.0, short_A = 0.0;
    std::array<double, count> share{};  // i / short_A
    std::array<double, count> lost{};   // W in run, fuses and joints, over open_V short_A

    double current(double v) const;
    double power(double v) const { return v * current(v); }
    double run_loss(double v) const;
    // The top of the hill a tracker reaches from `from` on, going to where there is more, kept within low..high (V).
    double climb(double from, double low, double high) const;
    double most_V() const { return climb(0.8 * open_V, 0.0, open_V); }

  private:
    double at(const std::array<double, count>& y, double v) const;
};

class ArraySide {
  public:
    explicit ArraySide(const site::Works& works);
    // W/m2 in the plane, degC of the cells.
    Curve at(double irradiance, double cell_degC);
    bool whole_network() const { return network_; }  // solved so, curve by curve

  private:
    Curve node(double irradiance, double cell_degC) const;
    Curve summed(const site::Works& works) const;
    const Curve& kept(int light, int warmth);

    site::Works works_;
    bool network_ = false;
    double ratio_ = 1.6;  // of the light from node to node
    std::map<std::pair<int, int>, Curve> nodes_;
};

}  // namespace sunshaft::day
