// The DC side as the live plant sees it: one curve.
//
// The link voltage v stands across capacitor and ESR; the capacitor's own voltage v_c is the state. With
//   w = v_c - ESR * i_bridge        v = w + ESR * i_net(v)
// the net current of source, bleed resistor and electronics is tabulated against w (a uniform grid, cubic Hermite with
// exact end slopes), so that run resistance and ESR cost nothing at run time. The source-side inductance is taken
// as quasi-static. A supply with no resistance at all gives the link voltage itself ("stiff").
#pragma once

#include <Eigen/Core>
#include <algorithm>
#include <memory>
#include <string>
#include <unordered_map>
#include <vector>

#include "circuit/circuit.hpp"
#include "site/works.hpp"

namespace sunshaft::site {

struct CurrentSlope {
    double i, slope;  // A, S
};

// What the drive's own electronics draw: nothing up to the drop-out voltage (once dark: up to the one they wake at, see
// drive::wake_over_dropout), constant power from 4 % above it on, a smooth rise between.
CurrentSlope electronics_current(const Link& link, double v, bool dark = false);

class SourceCurve {
  public:
    bool stiff = false;
    double stiff_V = 0.0;
    double esr = 0.0;
    double farad = 1e-3;
    double open_V = 0.0;  // where the source current is zero
    double max_power_V = 0.0, max_power_W = 0.0;

    // Net current into capacitor and bridge at w, and its slope: falling, but for the electronics' constant power
    // (P/v^2, some mS), which may outweigh a flat stretch of the array's curve.
    CurrentSlope net(double w) const {
        const double x = (w - w0_) * inv_step_;
        const int k = x > 0.0 ? static_cast<int>(std::min(x, last_)) + 1 : 0;  // NaN stays NaN
        const Cell& c = cells_[static_cast<std::size_t>(k)];
        const double f = x - static_cast<double>(k - 1);
        return {(c.i + f * c.c1) + f * f * (c.c2 + f * c.c3), (c.c1 + f * (2 * c.c2 + 3 * f * c.c3)) * inv_step_};
    }
    double net_current(double w) const { return net(w).i; }
    double net_slope(double w) const { return net(w).slope; }
    double link_voltage(double w) const { return w + esr * net_current(w); }
    // The same split for the energy account, cheap enough for every piece: source current (A) and loss between cells
    // and link (W, straight between the table's nodes).
    double source_current_at(double v, double i_net) const {
        const double backward = v < 0.0 && backward_ ? 3 * (*backward_)(-v).i : 0.0;
        return i_net + v * bleed_S_ + electronics_current(link_, v, dark_).i - backward;
    }
    double run_loss_at(double w) const {
        const double last = static_cast<double>(loss_w_.size() - 1);
        const double x = std::clamp((w - w0_) * inv_step_, 0.0, last - 1e-9);
        const auto k = static_cast<std::size_t>(x);
        return loss_w_[k] + (x - static_cast<double>(k)) * (loss_w_[k + 1] - loss_w_[k]);
    }
    // Source current alone (what a clamp round dc+ sees) at a link voltage, W lost between modules and link, and the
    // voltage at any node of the dc part against link-.
    double source_current(double v) const;
    double run_loss(double v) const;                  // W, in run, joints, contacts and leakages
    double supply_power(double v) const;              // W delivered by cells (or the bench source)
    double node_voltage(int column, double v) const;  // V against its island's reference (link- in its own island)
    int column(const std::string& node) const;        // -1: no such node
    // 0: joined to link-. Others (behind an open isolator): only voltages within one island have a meaning.
    int island(int column) const { return islands_[static_cast<std::size_t>(column)]; }
    double branch_current(const std::string& label, double v) const;  // "s1" ...; NaN unknown
    const std::vector<double>& grid() const { return v_; }
    const std::vector<double>& currents() const { return i_src_; }

    friend struct SourceCurves;
    friend SourceCurve source_curve(const Works& works);
    friend SourceCurve charging_curve(const SourceCurve& source, const Works& works);

  private:
    struct Sample;
    static SourceCurve swept(const Works& works, circuit::Circuit circuit);
    void add_apart(const circuit::Circuit& circuit);
    void store(const std::vector<Sample>& samples);
    void tabulate(const Works& works, double bottom, double top, bool dark);
    void find_landmarks();
    CurrentSlope source(double v) const;  // Hermite over the sweep
    double interpolate(const double* values, double v) const;
    std::size_t interval(double v) const;
    // One stretch of the table as a cubic of the distance from its start in steps; the first and the last go straight
    // on.
    struct Cell {
        double i = 0, c1 = 0, c2 = 0, c3 = 0;
    };
    double w0_ = 0.0, inv_step_ = 1.0, last_ = 0.0;
    std::vector<Cell> cells_{2};  // nothing while stiff
    std::vector<double> loss_w_{0.0, 0.0};
    Link link_{};
    bool dark_ = false;
    double bleed_S_ = 0.0;
    std::shared_ptr<const circuit::CurrentLaw> backward_;  // one leg's free-wheel diodes below 0 V
    // the sweep itself, by link voltage
    std::vector<double> v_, i_src_, slope_src_, loss_;
    Eigen::MatrixXd nodes_, branches_;  // [grid][node or branch]
    std::vector<double> apart_;         // V of the columns behind: circuits of their own, whatever the link does
    std::unordered_map<std::string, int> columns_, branch_columns_;
    std::vector<int> islands_;
};

SourceCurve source_curve(const Works& works);
// The same with the charging resistor between dc+ and link+: its contact is open, and the electronics are yet to wake.
// A stiff source stays as it is.
SourceCurve charging_curve(const SourceCurve& source, const Works& works);

// Both of a site, bit for bit as above; the sweep is done again only where a part of the DC side differs from those of
// the last edits. Safe to be asked by several threads.
struct SourceCurves {
    SourceCurve source, charging;
    explicit SourceCurves(const Works& works);
};

}  // namespace sunshaft::site
