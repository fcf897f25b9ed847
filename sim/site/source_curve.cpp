#include "site/source_curve.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "circuit/fold.hpp"
#include "roots/roots.hpp"
#include "site/memo.hpp"
#include "site/wiring.hpp"

namespace sunshaft::site {
namespace {

constexpr std::size_t table_size = 1024;   // nodes of the table against w
constexpr double coarse_steps = 160;       // of the first sweep
constexpr std::size_t most_samples = 600;  // after refinement
// A stretch of the sweep is halved while its curvature leaves more than this (relative to the short-circuit
// current) between chord and curve.
constexpr double chord_error = 1e-3;

// A cubic piece stays monotone while its end slopes, in units of its chord's, lie in a circle of radius 3
// (F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980)
// 238-246). Returns what to multiply both slopes with; 1 for a piece that does not fall throughout.
double monotone(double chord, double slope0, double slope1) {
    if (!(chord < 0.0) || slope0 > 0.0 || slope1 > 0.0) return 1.0;
    return std::min(1.0, 3 * -chord / std::hypot(slope0, slope1));
}

// Cubic Hermite on [0, 1]: value and slope at f.
CurrentSlope hermite(double y0, double y1, double m0, double m1, double f) {
    const double c2 = 3 * (y1 - y0) - 2 * m0 - m1, c3 = 2 * (y0 - y1) + m0 + m1;
    return {y0 + f * (m0 + f * (c2 + f * c3)), m0 + f * (2 * c2 + 3 * f * c3)};
}

bool no_resistance(const Works& works) {
    const Array& a = works.array;
    double ohm = works.supply.ohm;
    for (const Joint* j : {&a.plus.run, &a.plus.contact, &a.dc_plus, &a.minus.run, &a.minus.contact, &a.dc_minus})
        ohm += j->through();
    return ohm == 0.0;
}

// What the strings could give at most, in full sun, whatever covers them now: the scale of the sweep.
struct Scale {
    double volt = 1.0, ampere = 1.0;
};
Scale scale(const Works& works) {
    if (works.supply.kind != Supply::Kind::array) return {std::max(std::abs(works.supply.voltage), 1.0), 1.0};
    Array sunny = works.array;
    sunny.covered = false;
    sunny.irradiance = std::max(sunny.irradiance, 1000.0);
    Scale s{1.0, 0.0};
    for (const String& string : sunny.strings) {
        double volt = 0.0, ampere = 0.0;
        for (const Module& module : string.modules) {
            const solar::SubString part = sub_string(sunny, module, 0);
            volt += 3 * std::max(solar::voltage(part, 0.0), 0.2 * module.data.Voc / 3);
            ampere = std::max(ampere, module.data.Isc);
        }
        s.volt = std::max(s.volt, volt);
        s.ampere += ampere;
    }
    s.volt = std::max(s.volt, works.supply.second.highest_V());
    return s;
}

bool is_linear(const circuit::Circuit& c) {
    for (circuit::Branch b = 0; b < c.branches(); ++b)
        if (c.info(b).kind == circuit::Circuit::Kind::nonlinear) return false;
    return true;
}

}  // namespace

CurrentSlope electronics_current(const Link& link, double v, bool dark) {
    if (link.electronics_W <= 0.0) return {0.0, 0.0};
    const double dropout = std::max(link.dropout_V, 5.0);  // below 5 V nothing works
    const double from = dark ? drive::wake_over_dropout * dropout : dropout, whole = 1.04 * from;
    if (v <= from) return {0.0, 0.0};
    const double i = link.electronics_W / v;
    if (v >= whole) return {i, -i / v};
    const double x = (v - from) / (whole - from), on = x * x * (3 - 2 * x);
    return {i * on, -i / v * on + i * 6 * x * (1 - x) / (whole - from)};
}

struct SourceCurve::Sample {
    double v, i, slope;
    double loss;
    std::vector<double> nodes, branches;
};

namespace {

// The dc part with a source across the link, swept.
class Sweep {
  public:
    Sweep(circuit::Circuit circuit, double series_ohm)
        : circuit_(std::move(circuit)),
          plus_(*circuit_.find("link+")),
          minus_(*circuit_.find("link-")),
          ohm_(series_ohm),
          link_(circuit_.voltage_source(plus_, minus_, 0.0, series_ohm)),
          folded_(circuit_, {plus_, minus_}),
          solver_(folded_.circuit()) {
        for (circuit::Branch b = 0; b < circuit_.branches(); ++b) {
            if (!circuit_.info(b).label.empty()) labelled_.push_back(b);
            const auto& what = circuit_.info(b);
            const bool cells = what.kind == circuit::Circuit::Kind::nonlinear && !what.label.empty();
            if (cells || what.label == "supply" || what.label == "second") sources_.push_back(b);
        }
    }
    const circuit::Circuit& circuit() const { return circuit_; }
    const std::vector<circuit::Branch>& labelled() const { return labelled_; }
    const std::vector<int>& islands() const { return islands_; }

    // The point that stands at v if the current there is as expected; else somewhat beside it, for sure to the
    // right of any other point of a smaller v - ohm * expected_i.
    template <class Sample>
    Sample at(double v, double expected_i) {
        const circuit::Solution s = folded_.unfold(solver_.solve_with(folded_.branch(link_), v - ohm_ * expected_i));
        Sample out;
        out.v = s.voltage(plus_, minus_);
        out.i = s.current(link_);
        out.slope = 0.0;
        if (ohm_ > 0.0)
            out.slope =
                std::min(0.0, 1 / ohm_ - 1 / solver_.resistance_between(folded_.node(plus_), folded_.node(minus_)));
        double supplied = 0.0;
        for (const circuit::Branch b : sources_) {
            const auto& what = circuit_.info(b);
            const double across = s.voltage(what.a, what.b);
            supplied -= s.current(b) * (what.kind == circuit::Circuit::Kind::voltage_source ? what.value : across);
        }
        out.loss = supplied - out.v * out.i;
        const int home = s.island[static_cast<std::size_t>(minus_)];
        for (circuit::Node n = 0; n < circuit_.nodes(); ++n)
            out.nodes.push_back(s.voltage(n) -
                                (s.island[static_cast<std::size_t>(n)] == home ? s.voltage(minus_) : 0.0));
        for (const circuit::Branch b : labelled_) out.branches.push_back(s.current(b));
        if (islands_.empty())
            for (const int island : s.island) islands_.push_back(island == home ? 0 : island + 1);
        return out;
    }

  private:
    circuit::Circuit circuit_;
    circuit::Node plus_, minus_;
    double ohm_;
    circuit::Branch link_;
    circuit::Folded folded_;
    circuit::Solver solver_;  // of what is folded
    std::vector<circuit::Branch> labelled_, sources_;
    std::vector<int> islands_;
};

}  // namespace

void SourceCurve::store(const std::vector<Sample>& samples) {
    const auto count = static_cast<Eigen::Index>(samples.size());
    nodes_.resize(count, static_cast<Eigen::Index>(samples.front().nodes.size()));
    branches_.resize(count, static_cast<Eigen::Index>(samples.front().branches.size()));
    for (Eigen::Index k = 0; k < count; ++k) {
        const Sample& s = samples[static_cast<std::size_t>(k)];
        v_.push_back(s.v);
        i_src_.push_back(s.i);
        slope_src_.push_back(s.slope);
        loss_.push_back(s.loss);
        nodes_.row(k) = Eigen::Map<const Eigen::RowVectorXd>(s.nodes.data(), nodes_.cols());
        branches_.row(k) = Eigen::Map<const Eigen::RowVectorXd>(s.branches.data(), branches_.cols());
    }
}

std::size_t SourceCurve::interval(double v) const {
    assert(v_.size() > 1);
    const auto above = std::upper_bound(v_.begin() + 1, v_.end() - 1, v);
    return static_cast<std::size_t>(above - v_.begin()) - 1;
}

CurrentSlope SourceCurve::source(double v) const {
    if (v <= v_.front()) return {i_src_.front() + slope_src_.front() * (v - v_.front()), slope_src_.front()};
    if (v >= v_.back()) return {i_src_.back() + slope_src_.back() * (v - v_.back()), slope_src_.back()};
    const std::size_t k = interval(v);
    const double h = v_[k + 1] - v_[k];
    const CurrentSlope y = hermite(i_src_[k], i_src_[k + 1], slope_src_[k] * h, slope_src_[k + 1] * h, (v - v_[k]) / h);
    return {y.i, y.slope / h};
}

// Cubic through the interval's ends with the slopes of the parabolas through their neighbours.
double SourceCurve::interpolate(const double* y, double v) const {
    const std::size_t n = v_.size();
    if (n == 1) return y[0];
    const std::size_t k = interval(v);
    const auto chord = [&](std::size_t j) { return (y[j + 1] - y[j]) / (v_[j + 1] - v_[j]); };
    const double h = v_[k + 1] - v_[k], x = (v - v_[k]) / h;
    if (x <= 0.0 || x >= 1.0) return y[k] + chord(k) * (v - v_[k]);
    const auto slope = [&](std::size_t j) {
        if (n == 2) return chord(0);
        const std::size_t middle = std::clamp<std::size_t>(j, 1, n - 2);
        const double a = v_[middle] - v_[middle - 1], b = v_[middle + 1] - v_[middle];
        const double there = (b * chord(middle - 1) + a * chord(middle)) / (a + b);
        return j == 0 ? 2 * chord(0) - there : j == n - 1 ? 2 * chord(n - 2) - there : there;
    };
    return hermite(y[k], y[k + 1], slope(k) * h, slope(k + 1) * h, x).i;
}

double SourceCurve::source_current(double v) const {
    return stiff ? std::numeric_limits<double>::quiet_NaN() : source(v).i;
}
double SourceCurve::run_loss(double v) const { return stiff ? 0.0 : interpolate(loss_.data(), v); }
double SourceCurve::supply_power(double v) const { return run_loss(v) + v * source_current(v); }

double SourceCurve::node_voltage(int column, double v) const {
    if (column >= nodes_.cols()) return apart_[static_cast<std::size_t>(column - nodes_.cols())];
    return interpolate(nodes_.col(column).data(), v);
}
int SourceCurve::column(const std::string& node) const {
    const auto found = columns_.find(node);
    return found == columns_.end() ? -1 : found->second;
}
double SourceCurve::branch_current(const std::string& label, double v) const {
    const auto found = branch_columns_.find(label);
    if (found == branch_columns_.end() || stiff) return std::numeric_limits<double>::quiet_NaN();
    return interpolate(branches_.col(found->second).data(), v);
}

// The table against w: at each node the link voltage that belongs to it, by Newton kept between bounds.
void SourceCurve::tabulate(const Works& works, double bottom, double top, bool dark) {
    dark_ = dark;
    const Link& link = works.link;
    // Polarity confused: two free-wheel diodes in each of three legs keep the link from going far below zero.
    const double drop = 2 * std::max(works.bridge.diode_drop, 0.1);
    if (works.supply.kind == Supply::Kind::array) backward_ = circuit::diode(drop, 10.0, 2e-3, 2 * 0.0385);
    const auto net = [&](double v) {
        CurrentSlope y = source(v);
        const CurrentSlope draw = electronics_current(link, v, dark);
        y.i -= v / link.bleed_ohm + draw.i;
        y.slope -= 1 / link.bleed_ohm + draw.slope;
        if (v < 0.0 && backward_) {
            const circuit::CurrentAndSlope leg = (*backward_)(-v);
            y.i += 3 * leg.i;
            y.slope -= 3 * leg.di_dv;
        }
        return y;
    };
    link_ = link;
    bleed_S_ = 1 / link.bleed_ohm;
    w0_ = bottom;
    last_ = static_cast<double>(table_size - 1);
    const double width = (top - bottom) / last_;
    inv_step_ = 1 / width;
    std::vector<double> i, m;  // current, and slope a step
    double v = bottom;
    loss_w_.clear();
    for (std::size_t k = 0; k < table_size; ++k) {
        const double w = bottom + width * static_cast<double>(k);
        if (esr == 0.0) v = w;
        for (int n = 0; n < 60 && esr > 0.0; ++n) {
            const CurrentSlope y = net(v);
            const double miss = v - esr * y.i - w, change = miss / std::max(1 - esr * y.slope, 0.1);
            v -= change;
            if (std::abs(change) <= 1e-14 * std::max(1.0, std::abs(v))) break;
        }
        const CurrentSlope y = net(v);
        i.push_back(y.i);
        m.push_back(width * y.slope / (1 - esr * y.slope));
        loss_w_.push_back(run_loss(v));
    }
    for (std::size_t k = 0; k + 1 < table_size; ++k) {
        const double less = monotone(i[k + 1] - i[k], m[k], m[k + 1]);
        m[k] *= less;
        m[k + 1] *= less;
    }
    cells_.clear();
    cells_.push_back({i.front() - m.front(), m.front()});
    for (std::size_t k = 0; k + 1 < table_size; ++k) {
        const double rise = i[k + 1] - i[k];
        cells_.push_back({i[k], m[k], 3 * rise - 2 * m[k] - m[k + 1], m[k] + m[k + 1] - 2 * rise});
    }
    cells_.push_back({i.back(), m.back()});
}

void SourceCurve::find_landmarks() {
    const std::size_t n = v_.size();
    for (std::size_t k = 0; k + 1 < n; ++k) {
        if (i_src_[k] > 0.0 && i_src_[k + 1] <= 0.0)
            open_V = roots::root([&](double v) { return source(v).i; }, v_[k], v_[k + 1], i_src_[k], i_src_[k + 1]);
    }
    const auto rise = [&](double v) {  // of the power
        const auto y = source(v);
        return y.i + v * y.slope;
    };
    for (std::size_t k = 0; k + 1 < n; ++k) {
        const double low = rise(v_[k]), high = rise(v_[k + 1]);
        if (!(low > 0.0 && high <= 0.0)) continue;
        const double top = roots::root(rise, v_[k], v_[k + 1], low, high);
        if (const double watt = top * source(top).i; watt > max_power_W) max_power_W = watt, max_power_V = top;
    }
}

namespace {

// The DC side without what the live plant follows by itself: the graph of the sweep, and the guards' circuits, which
// hang on the drive's own small supply and on nothing else unless a meter ties them to something.
struct DcCircuits {
    circuit::Circuit dc, guards;
    bool apart = true;
    std::vector<MeterLoad> loads;  // on the dc circuit

    explicit DcCircuits(const Works& works) {
        wire_guards(works, guards);
        apart = works.supply.kind != Supply::Kind::mains &&
                std::all_of(works.loads.begin(), works.loads.end(), [&](const MeterLoad& load) {
                    return guards.find(load.red).has_value() == guards.find(load.black).has_value();
                });
        wire_dc(works, dc);
        if (apart) wire_loads(works, guards);
        else wire_guards(works, dc);
        dc.resistor(dc.node("casing"), dc.node("earth"), works.bonds.casing.through());
        wire_loads(works, dc);
        for (const MeterLoad& load : works.loads)
            if (dc.find(load.red) && dc.find(load.black)) loads.push_back(load);
    }
};

// All that the sweep is made of.
struct DcParts {
    Supply supply;
    Array array;
    Link link;
    Bonds bonds;
    double diode_drop;
    std::vector<MeterLoad> loads;
    bool operator==(const DcParts&) const = default;
};
constexpr std::size_t most_sweeps = 48;  // a megabyte each at most

}  // namespace

// A circuit that nothing ties to the swept one.
void SourceCurve::add_apart(const circuit::Circuit& circuit) {
    if (circuit.nodes() == 0) return;
    const circuit::Solution at_rest = circuit::solve(circuit);
    const int behind = 1 + (islands_.empty() ? 0 : *std::max_element(islands_.begin(), islands_.end()));
    for (circuit::Node n = 0; n < circuit.nodes(); ++n) {
        columns_[circuit.name(n)] = static_cast<int>(nodes_.cols()) + n;
        apart_.push_back(at_rest.voltage(n));
        islands_.push_back(behind + at_rest.island[static_cast<std::size_t>(n)]);
    }
}

SourceCurve source_curve(const Works& works) {
    DcCircuits circuits(works);
    SourceCurve curve = SourceCurve::swept(works, std::move(circuits.dc));
    if (circuits.apart) curve.add_apart(circuits.guards);
    return curve;
}

SourceCurves::SourceCurves(const Works& works) {
    struct Both {
        SourceCurve source, charging;
    };
    static Memo<DcParts, Both> known(most_sweeps);
    DcCircuits circuits(works);
    const auto sweep = [&] {
        Both b{SourceCurve::swept(works, std::move(circuits.dc)), {}};
        b.charging = charging_curve(b.source, works);
        return b;
    };
    if (!circuits.apart) {
        Both b = sweep();
        source = std::move(b.source), charging = std::move(b.charging);
        return;
    }
    const auto both =
        known({works.supply, works.array, works.link, works.bonds, works.bridge.diode_drop, std::move(circuits.loads)},
              sweep);
    source = both->source, charging = both->charging;
    source.add_apart(circuits.guards), charging.add_apart(circuits.guards);
}

SourceCurve SourceCurve::swept(const Works& works, circuit::Circuit circuit) {
    SourceCurve curve;
    curve.esr = works.link.esr_ohm;
    curve.farad = works.link.farad;
    if (works.supply.kind == Supply::Kind::mains) {  // no dc side: guards and metal are all there is, at no voltage
        curve.stiff = true;
        curve.v_ = {0.0};
        curve.nodes_ = Eigen::MatrixXd::Zero(1, circuit.nodes());
        const circuit::Solution at_rest = circuit::solve(circuit);
        for (circuit::Node n = 0; n < circuit.nodes(); ++n) {
            curve.columns_[circuit.name(n)] = n;
            curve.islands_.push_back(1 + at_rest.island[static_cast<std::size_t>(n)]);
        }
        return curve;
    }
    const Scale full = scale(works);
    const bool linear = is_linear(circuit), bench = works.supply.kind == Supply::Kind::bench;
    const double bottom = bench ? -0.5 * full.volt : -4.0 - 0.01 * full.volt, top = (bench ? 2.0 : 1.2) * full.volt;
    std::vector<Sample> samples;

    curve.stiff = bench && no_resistance(works);
    Sweep sweep(std::move(circuit), linear ? 0.0 : 0.1 * full.volt / full.ampere);
    if (curve.stiff) {
        curve.stiff_V = curve.open_V = works.supply.voltage;
        samples.push_back(sweep.at<Sample>(curve.stiff_V, 0.0));
    } else if (linear) {
        // Two points say it all; a third in the middle makes the loss, a parabola, exact as well.
        for (const double v : {bottom, 0.5 * (bottom + top), top}) samples.push_back(sweep.at<Sample>(v, 0.0));
        const double slope = (samples.back().i - samples.front().i) / (top - bottom);
        for (Sample& s : samples) s.slope = std::min(slope, 0.0);
    } else {
        const double step = (top - bottom) / coarse_steps;
        samples.push_back(sweep.at<Sample>(bottom, full.ampere));
        while (samples.back().v < top) {
            const Sample& last = samples.back();
            // Where the curve flattens the slope here promises too much: believe it less.
            double reach = step * last.slope;
            Sample next = sweep.at<Sample>(last.v + step, last.i + reach);
            while (next.v > last.v + 1.5 * step) next = sweep.at<Sample>(last.v + step, last.i + (reach *= 0.5));
            samples.push_back(std::move(next));
        }
        // Pass after pass, so that what runs out of samples runs out everywhere alike.
        for (bool more = true; more && samples.size() < most_samples;) {
            more = false;
            std::vector<Sample> finer;
            for (std::size_t k = 0; k + 1 < samples.size(); ++k) {
                const Sample &a = samples[k], &b = samples[k + 1];
                const double h = b.v - a.v;
                const bool straight = std::abs(b.slope - a.slope) * h / 8 <= chord_error * full.ampere &&
                                      monotone((b.i - a.i) / h, a.slope, b.slope) == 1.0;
                finer.push_back(a);
                if (straight || h < 0.02 * step) continue;
                finer.push_back(sweep.at<Sample>(0.5 * (a.v + b.v), 0.5 * (a.i + b.i)));
                more = true;
            }
            finer.push_back(samples.back());
            samples = std::move(finer);
        }
    }
    for (std::size_t k = 0; k + 1 < samples.size(); ++k) {
        Sample &a = samples[k], &b = samples[k + 1];
        const double less = monotone((b.i - a.i) / (b.v - a.v), a.slope, b.slope);
        a.slope *= less;
        b.slope *= less;
    }
    curve.store(samples);
    for (circuit::Node n = 0; n < sweep.circuit().nodes(); ++n) curve.columns_[sweep.circuit().name(n)] = n;
    curve.islands_ = sweep.islands();
    int column = 0;
    for (const circuit::Branch b : sweep.labelled()) curve.branch_columns_[sweep.circuit().info(b).label] = column++;
    if (curve.stiff) return curve;
    curve.tabulate(works, bottom, top, false);
    curve.find_landmarks();
    return curve;
}

SourceCurve charging_curve(const SourceCurve& source, const Works& works) {
    SourceCurve curve = source;
    if (source.stiff) return curve;
    const double ohm = std::isinf(works.link.precharge_ohm) ? 0.0 : works.link.precharge_ohm;
    const int link = curve.column("link+");
    for (std::size_t k = 0; k < curve.v_.size(); ++k) {
        const double i = curve.i_src_[k];
        curve.v_[k] -= ohm * i;
        curve.slope_src_[k] /= 1 - ohm * curve.slope_src_[k];
        curve.loss_[k] += ohm * i * i;
        if (link >= 0) curve.nodes_(static_cast<Eigen::Index>(k), link) -= ohm * i;
    }
    curve.tabulate(works, source.w0_, source.w0_ + source.last_ / source.inv_step_, true);
    return curve;
}

}  // namespace sunshaft::site
