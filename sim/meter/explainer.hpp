// One wave being explained: reasons.cpp has the alternating figures, reasons_direct.cpp the rest. Only for these two.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "meter/chain.hpp"

namespace sunshaft::meter {

using text::say, text::tr;

// Less than the solver's tolerances leave of a wave is nothing, and said as nothing.
inline double nil(double x, double scale) { return std::fabs(x) < 1e-5 * std::fabs(scale) ? 0.0 : x; }

inline constexpr double matters = 0.005;  // a difference below half a percent is not worth a word

inline std::string listed(const std::vector<std::string>& items) {
    std::string out;
    for (std::size_t k = 0; k < items.size(); ++k)
        out += (k == 0 ? "" : k + 1 == items.size() ? text::tr(" and ") : ", ") + items[k];
    return out;
}

// One wave being explained: the numbers, and the words for them.
class Explainer {
  public:
    Explainer(const Spec& spec, Mode mode, const Context& context, const Chain& chain, Reading& reading)
        : fn_(spec.function(mode)),
          mode_(mode),
          ctx_(context),
          c_(chain),
          r_(reading),
          say_(reading),
          unit_(unit_of(mode)) {}

    void frequency();
    void duty();
    void direct();
    void alternating();

  private:
    std::string n(std::string name, double value) { return say_(std::move(name), value, unit_); }
    std::string share(std::string name, double fraction) { return say_(std::move(name), std::fabs(fraction), "%"); }
    std::string hz(std::string name, double value) { return say_(std::move(name), value, "Hz"); }
    std::string shown() { return say_.shown(r_.resolution * std::round(c_.value / r_.resolution)); }
    bool current() const { return takes_clamp(mode_); }  // is read, else a voltage
    std::string where() const {
        if (current()) return ctx_.red.empty() ? tr("in the jaws") : say("in {}", ctx_.red);
        return between(ctx_);
    }
    std::string at_f() { return c_.f ? say(" at {}", hz("fundamental_Hz", *c_.f)) : ""; }
    double ideal() const { return c_.dc_blocked ? c_.wave.rms_ac : c_.wave.rms; }
    std::string ideal_text() { return n(c_.dc_blocked ? "true_rms_ac" : "true_rms", ideal()); }

    // Of the rectified mean: what the wave's form, the coupling, the bandwidth and the low-pass each make of it.
    double form_effect() const {
        return sine_form * (c_.dc_blocked ? c_.wave.rectified_mean_ac : c_.wave.rectified_mean) / ideal() - 1.0;
    }
    double coupling_effect() const {
        return c_.coupled.rectified_mean / ctx_.reaches /
                   (c_.dc_blocked ? c_.wave.rectified_mean_ac : c_.wave.rectified_mean) -
               1.0;
    }
    void own_voltage();
    bool errors_cancel() const;
    const char* cause(bool low) const;
    std::string beside_true_rms(double off);
    bool over_range();
    bool nothing_arrives();
    bool nothing_or_hidden_dc();
    void why_average();
    void why_rms();
    void why_low_pass();
    void coupling();
    void loading();
    void other_meters();
    void what_to_do();

    const Function& fn_;
    Mode mode_;
    const Context& ctx_;
    const Chain& c_;
    Reading& r_;
    Words say_;
    std::string unit_;
};

}  // namespace sunshaft::meter
