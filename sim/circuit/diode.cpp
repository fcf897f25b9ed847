#include <cmath>
#include <stdexcept>

#include "circuit/circuit.hpp"

namespace sunshaft::circuit {
namespace {

// w > 0 with w + ln w = y: Lambert's W of exp(y), which itself would overflow. Each pass takes the error to its
// fourth power (F. Fritsch, R. Shafer, W. Crowley, "Solution of the transcendental equation w e^w = x",
// Communications of the ACM 16 (1973) 123-124).
double lambert_of_exp(double y) {
    if (y < -36.0) return std::exp(y);  // w itself is lost beside ln w
    double w = y > 1.0 ? y - std::log(y) : 1.0 / (1.0 + std::exp(-y));
    for (int pass = 0; pass < 4; ++pass) {
        const double off = y - w - std::log(w);
        const double q = 2.0 * (1.0 + w) * (1.0 + w + 2.0 / 3.0 * off);
        const double change = off / (1.0 + w) * (q - off) / (q - 2.0 * off);
        w *= 1.0 + change;
        if (std::fabs(change) < 1e-4) break;
    }
    return w;
}

class Diode final : public CurrentLaw {
  public:
    Diode(double saturation_A, double series_ohm, double nVt)
        : is_(saturation_A), rs_(series_ohm), nVt_(nVt), log_scale_(std::log(saturation_A * series_ohm / nVt)) {}

    // With w = Rs (i + Is) / nVt the law reads w + ln w = ln(Is Rs / nVt) + (v + Is Rs) / nVt.
    CurrentAndSlope operator()(double v) const override {
        const double w = lambert_of_exp(log_scale_ + (v + is_ * rs_) / nVt_);
        return {w * nVt_ / rs_ - is_ + v / diode_leak_ohm, w / (1.0 + w) / rs_ + 1.0 / diode_leak_ohm};
    }

  private:
    double is_, rs_, nVt_, log_scale_;
};

}  // namespace

std::shared_ptr<const CurrentLaw> diode(double drop_V, double at_A, double series_ohm, double nVt_V) {
    if (!(at_A > 0.0) || !(series_ohm > 0.0) || !(nVt_V > 0.0) || !(drop_V > at_A * series_ohm))
        throw std::invalid_argument("a diode needs a drop above its series resistance times current, all above zero");
    const double saturation = at_A / std::expm1((drop_V - at_A * series_ohm) / nVt_V);
    if (!(saturation > 0.0) || !std::isfinite(drop_V) || !std::isfinite(at_A))
        throw std::invalid_argument("a diode with this drop would have no saturation current");
    return std::make_shared<Diode>(saturation, series_ohm, nVt_V);
}

}  // namespace sunshaft::circuit
