#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "meter/chain.hpp"

namespace sunshaft::meter {

namespace {

// Less than the solver's tolerances leave of a wave is nothing, and said as nothing.
double nil(double x, double scale) { return std::fabs(x) < 1e-5 * std::fabs(scale) ? 0.0 : x; }

constexpr double matters = 0.005;  // a difference below half a percent is not worth a word

std::string listed(const std::vector<std::string>& items) {
    std::string out;
    for (std::size_t k = 0; k < items.size(); ++k)
        out += (k == 0 ? "" : k + 1 == items.size() ? " and " : ", ") + items[k];
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
    const char* noun() const { return takes_clamp(mode_) ? "current" : "voltage"; }
    std::string where() const {
        if (takes_clamp(mode_)) return ctx_.red.empty() ? "in the jaws" : "in " + ctx_.red;
        return ctx_.red.empty() || ctx_.black.empty() ? "between the probes"
                                                      : "between " + ctx_.red + " and " + ctx_.black;
    }
    std::string at_f() { return c_.f ? " at " + hz("fundamental_Hz", *c_.f) : ""; }
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
    bool errors_cancel() const;
    std::string cause() const;
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

bool Explainer::over_range() {
    if (!r_.over_range) return false;
    const char* which = ctx_.manual_range ? "the range chosen" : "its largest range";
    say_.say(fmt::format("The display shows {}: the true figure, {}, is above {} of {}.", r_.shown,
                         n("reading", c_.value), which, n("range", *r_.range)));
    say_.say(ctx_.manual_range ? "Turn to a higher range, or to automatic range."
                               : fmt::format("Take the probes off and use a meter made for more than {}.",
                                             n("peak", std::max(c_.wave.max, -c_.wave.min))));
    return true;
}

bool Explainer::nothing_arrives() {
    if (ctx_.reaches > 0.0 || c_.wave.rms <= 3.0 * r_.resolution) return false;
    say_.say(fmt::format("The display shows {}, but {} rms is present {}. Nothing of it reaches the meter's input.",
                         shown(), n("true_rms", c_.wave.rms), where()));
    explain_hand(ctx_, say_);
    say_.say("One reading proves nothing dead. Prove the tester, this point, then the tester again.");
    return true;
}

// The dangerous readings: a display at nothing while something stands there.
bool Explainer::nothing_or_hidden_dc() {
    const double least = 3.0 * r_.resolution, mean = std::fabs(c_.wave.mean);
    if (c_.dc_blocked && mean > least && mean > c_.wave.rms_ac && mean > 20.0 * std::max(c_.value, r_.resolution)) {
        say_.say(fmt::format("The display shows {}, but {} of DC {} is present {}.", shown(), n("mean", c_.wave.mean),
                             noun(), where()));
        say_.say(takes_clamp(mode_)
                     ? fmt::format("This clamp sees alternating current only. It shows the ripple, {} rms.",
                                   n("true_rms_ac", c_.wave.rms_ac))
                     : fmt::format("This position blocks DC with a capacitor. It shows the ripple, {} rms.",
                                   n("true_rms_ac", c_.wave.rms_ac)));
        say_.say(takes_clamp(mode_) ? "Take a clamp that measures DC."
                                    : "Turn the switch to DC before you call this point dead.");
        return true;
    }
    if (c_.value <= least && ideal() <= least) {
        say_.say(fmt::format("The display shows {}: practically no {} {}. Its true rms is {}.", shown(), noun(),
                             where(), ideal_text()));
        if (c_.dc_blocked)
            say_.say(fmt::format("The DC part, which this position does not show, is {}.", n("mean", c_.wave.mean)));
        else say_.say("This position would show DC and AC alike.");
        if (!takes_clamp(mode_))
            say_.say("One reading proves nothing dead. Prove the tester, this point, then the tester again.");
        return true;
    }
    return false;
}

void Explainer::why_average() {
    const double rectified = c_.dc_blocked ? c_.wave.rectified_mean_ac : c_.wave.rectified_mean;
    const double form = ideal() / rectified;
    const std::string how =
        fmt::format("It rectifies the wave, averages it to {} and multiplies by {}, which is right for a sine",
                    n("rectified_mean_seen", c_.out.rectified_mean), say_("sine_form_factor", sine_form, ""));
    const std::string text = say_("form_factor", form, "");
    if (std::fabs(sine_form / form - 1.0) < matters)
        say_.say(fmt::format("{}. This wave's rms is {} times its rectified mean, so averaging does no harm here.", how,
                             text));
    else
        say_.say(
            fmt::format("{}. This wave's rms is {} times its rectified mean, {} than a sine's. That alone "
                        "makes it read {} {}.",
                        how, text, form > sine_form ? "more" : "less", share("form_error", sine_form / form - 1.0),
                        form > sine_form ? "low" : "high"));
    if (ctx_.carrier_Hz && c_.fundamental > 0.0 && std::fabs(c_.value / c_.fundamental - 1.0) < 0.02)
        say_.say(fmt::format(
            "It comes within {} of the fundamental, {}{}, because the pulses average to the sine they make.",
            share("fundamental_off", c_.value / c_.fundamental - 1.0), n("fundamental_rms", c_.fundamental), at_f()));
    const double band = c_.out.rectified_mean / c_.coupled.rectified_mean - 1.0;
    if (fn_.bandwidth_Hz > 0.0 && std::fabs(band) >= matters)
        say_.say(fmt::format("Its bandwidth of {} changes the mean by {} {}.", hz("bandwidth_Hz", fn_.bandwidth_Hz),
                             share("bandwidth_effect", band), band < 0.0 ? "down" : "up"));
}

void Explainer::why_rms() {
    if (fn_.bandwidth_Hz <= 0.0) {
        say_.say("It measures true rms, so the shape of the wave does not matter.");
        return;
    }
    const double loss = c_.banded.rms / c_.coupled.rms - 1.0;
    if (std::fabs(loss) < matters)
        say_.say(
            fmt::format("It measures true rms, so the shape of the wave does not matter. Its bandwidth of {} "
                        "costs this wave {}.",
                        hz("bandwidth_Hz", fn_.bandwidth_Hz), share("bandwidth_loss", loss)));
    else
        say_.say(
            fmt::format("It measures true rms, but only of what its bandwidth of {} lets through. The fastest parts "
                        "of this wave are lost, and {} of the rms with them.",
                        hz("bandwidth_Hz", fn_.bandwidth_Hz), share("bandwidth_loss", loss)));
}

void Explainer::why_low_pass() {
    const bool average = fn_.detector == Detector::average;
    const double before = average ? sine_form * c_.banded.rectified_mean : c_.banded.rms,
                 behind = average ? sine_form * c_.out.rectified_mean : c_.out.rms;
    std::string text = fmt::format("Its low-pass at {} leaves {} of {}", hz("lowpass_Hz", fn_.lowpass_Hz),
                                   n("behind_low_pass", behind), n("before_low_pass", before));
    if (c_.f && c_.fundamental > 0.0) {
        const double off = behind / ctx_.reaches / c_.fundamental - 1.0;
        text += fmt::format(". The fundamental is {}{}", n("fundamental_rms", c_.fundamental), at_f());
        text += std::fabs(off) < 2.0 * matters
                    ? ": that is what it shows"
                    : fmt::format(", {} {} than what is left", share("low_pass_off", off), off > 0.0 ? "less" : "more");
    }
    say_.say(text + ".");
}

void Explainer::coupling() {
    if (fn_.coupling_Hz <= 0.0 || !c_.f || c_.wave.rms_ac <= 0.0) return;
    const bool average = fn_.detector == Detector::average;
    const double change = average ? coupling_effect() : c_.coupled.rms / ctx_.reaches / c_.wave.rms_ac - 1.0;
    if (std::fabs(change) < matters) return;
    const std::string passes = fmt::format(
        "{} {}: at {} it passes {}", takes_clamp(mode_) ? "Its core weakens below" : "Its AC coupling weakens below",
        hz("coupling_Hz", fn_.coupling_Hz), hz("fundamental_Hz", *c_.f),
        share("coupling_gain", std::abs(Filter{}.high_pass(fn_.coupling_Hz).gain(*c_.f))));
    if (!average) say_.say(fmt::format("{}. Of this wave {} is lost.", passes, share("coupling_loss", change)));
    else if (change < 0.0)
        say_.say(fmt::format("{}. Of the rectified mean {} is lost.", passes, share("coupling_effect", change)));
    else if (c_.at_nothing > 0.1)
        // Where the wave itself is at nothing, what the high-pass took away stands there with the opposite sign, and
        // the rectifier counts it.
        say_.say(
            fmt::format("{}. The part it holds back fills the gaps of the wave, and the rectified mean rises by {}.",
                        passes, share("coupling_effect", change)));
    else
        say_.say(fmt::format("{}. It shifts the fundamental against the rest, and the rectified mean rises by {}.",
                             passes, share("coupling_effect", change)));
}

void Explainer::loading() {
    if (takes_clamp(mode_) || fn_.resistance_ohm <= 0.0) return;
    const std::string own = say_("meter_ohm", fn_.resistance_ohm, "ohm");
    if (ctx_.source_F && *ctx_.source_F > 0.0) {
        const auto passes = [&](double f) {
            return std::abs(
                Filter{}.high_pass(1.0 / (2.0 * std::numbers::pi * fn_.resistance_ohm * *ctx_.source_F)).gain(f));
        };
        std::string text = fmt::format("This is a ghost voltage: the wire is not connected, it only couples through {}",
                                       say_("source_F", *ctx_.source_F, "F"));
        if (!c_.f) return say_.say(text + ".");
        const double share_left = passes(*c_.f);
        text += fmt::format(". Against the meter's {} that passes {} at {}", own, share("ghost_share", share_left),
                            hz("fundamental_Hz", *c_.f));
        if (ctx_.carrier_Hz && passes(*ctx_.carrier_Hz) > 3.0 * share_left)
            text +=
                fmt::format(", but {} at the carrier's {}: it does not vanish",
                            share("ghost_share_carrier", passes(*ctx_.carrier_Hz)), hz("carrier_Hz", *ctx_.carrier_Hz));
        else if (share_left < 0.1) text += ": it has collapsed";
        else text += ". A low-impedance meter lets it collapse";
        say_.say(text + ".");
        return;
    }
    if (!ctx_.source_ohm) return;
    if (std::isinf(*ctx_.source_ohm)) {
        say_.say(fmt::format(
            "Only the meter's own {} joins these two points. The reading says nothing about the circuit.", own));
        return;
    }
    const double share_left = fn_.resistance_ohm / (fn_.resistance_ohm + *ctx_.source_ohm);
    if (share_left < 1.0 - matters)
        say_.say(fmt::format(
            "The meter's {} loads these points, which have {} behind them. Without the meter {} times as much is "
            "present.",
            own, say_("source_ohm", *ctx_.source_ohm, "ohm"), say_("unloaded_ratio", 1.0 / share_left, "")));
}

void Explainer::other_meters() {
    if (!c_.dc_blocked && std::fabs(c_.wave.mean) > 0.05 * c_.wave.rms) {
        say_.say(fmt::format("The DC position would show {}, a true-rms one that blocks DC {}.",
                             n("mean", c_.wave.mean), n("true_rms_ac", c_.wave.rms_ac)));
        return;
    }
    const auto differs = [&](double x) { return std::fabs(x / c_.value - 1.0) >= matters; };
    std::vector<std::string> others;
    if (differs(c_.wave.rms_ac))
        others.push_back(fmt::format("an ideal true-rms one {}", n("true_rms_ac", c_.wave.rms_ac)));
    // Each by the chain of the shipped meter of its kind, not by what it ideally would.
    const auto shipped = [&](const char* name, Mode mode, const char* figure, const char* words) {
        const double shows = shipped_reading(name, mode, c_.window);
        if (std::isfinite(shows) && differs(shows))
            others.push_back(fmt::format(fmt::runtime(words), n(figure, shows)));
    };
    if (fn_.detector != Detector::average)
        shipped(takes_clamp(mode_) ? "clamp-ac" : "average", takes_clamp(mode_) ? Mode::aca : Mode::acv,
                "average_reading", "an averaging one {}");
    if (fn_.lowpass_Hz <= 0.0 && !takes_clamp(mode_))
        shipped("true-rms-drive", Mode::acv_lowpass, "low_pass_reading", "one with a low-pass for drives {}");
    if (!others.empty())
        say_.say(fmt::format("On the same wave other meters show something else: {}.", listed(others)));
    else say_.say("On this wave averaging, true-rms and low-pass meters agree.");
}

void Explainer::what_to_do() {
    std::string text;
    if (ctx_.red == "uvw") {
        text = "All three cores are in the jaws: the rest is leakage and the charging of the cable";
        if (ctx_.carrier_Hz) text += fmt::format(" by the carrier of {}", hz("carrier_Hz", *ctx_.carrier_Hz));
        say_.say(text + ". Only a change against the healthy site means something.");
        return;
    }
    if (takes_clamp(mode_)) {
        if (ctx_.output) say_.say("Clamp the three lines one after the other with this meter and compare them.");
        return;
    }
    if (ctx_.output && c_.fundamental > 0.0)
        text = fmt::format(
            "The fundamental drives the motor: {}{}. To compare the three pairs, use the same meter on all three",
            n("fundamental_rms", c_.fundamental), at_f());
    if (r_.link_ratio) {
        const std::string ratio = fmt::format("{} of the link's {}", say_("link_ratio", *r_.link_ratio, ""),
                                              say_("link_V", *ctx_.link_V, "V"));
        text += (text.empty() ? "This display is " : ". This display is ") + ratio;
        if (ctx_.ideal_six_step) text += ". That ratio hardly moves with the sun; the volts do";
    }
    if (!text.empty()) say_.say(text + ".");
}

// It reads right although its stages do not leave the wave alone.
bool Explainer::errors_cancel() const {
    if (fn_.detector != Detector::average) return false;
    return std::fabs(form_effect()) >= matters || std::fabs(coupling_effect()) >= matters ||
           std::fabs(c_.out.rectified_mean / c_.coupled.rectified_mean - 1.0) >= matters;
}

// What moves the reading most away from the true rms.
std::string Explainer::cause() const {
    const bool average = fn_.detector == Detector::average;
    const auto number = [average](const Response& at) { return average ? at.rectified_mean : at.rms; };
    const std::pair<double, const char*> causes[] = {
        {average ? std::fabs(form_effect()) : 0.0, "because of the wave's shape; the meter is not faulty"},
        {std::fabs(number(c_.banded) / number(c_.coupled) - 1.0),
         "because of its limited bandwidth; the meter is not faulty"},
        {std::fabs(number(c_.out) / number(c_.banded) - 1.0), "because of its low-pass, as intended"},
        {std::fabs(average ? coupling_effect() : c_.coupled.rms / ctx_.reaches / ideal() - 1.0),
         "because of its lower frequency limit; the meter is not faulty"},
        {1.0 - ctx_.reaches, "because the rest is lost in its leads"},
        {1.0 / ctx_.reference - 1.0, "because its battery is low"},
        {c_.clipped ? 1.0 : 0.0, "because the peaks are cut off"},
    };
    return std::max_element(std::begin(causes), std::end(causes),
                            [](const auto& x, const auto& y) { return x.first < y.first; })
        ->second;
}

void Explainer::alternating() {
    if (nothing_arrives() || over_range() || nothing_or_hidden_dc()) return;
    const double off = c_.value / ideal() - 1.0;
    const std::string give = n("tolerance", c_.tolerance);
    if (!c_.dc_blocked && std::fabs(c_.wave.mean) > 0.05 * c_.wave.rms) {
        say_.say(fmt::format("The display shows {}, give or take {}. DC {} counts here too: {} of it beside {} rms AC.",
                             shown(), give, noun(), n("mean", c_.wave.mean), n("true_rms_ac", c_.wave.rms_ac)));
        if (std::fabs(off) >= matters)
            say_.say(fmt::format("The true rms of both together is {}: it reads {} {}.", ideal_text(),
                                 share("reading_off", off), off < 0.0 ? "low" : "high"));
    } else if (std::fabs(off) < matters) {
        say_.say(fmt::format("The display shows {}, give or take {}. The wave's true rms is {}, so it reads right{}.",
                             shown(), give, ideal_text(),
                             errors_cancel() ? ", but only because its errors cancel" : ""));
    } else {
        const bool beyond = std::fabs(c_.value - ideal()) > c_.tolerance;
        say_.say(fmt::format("The display shows {}, give or take {}. The wave's true rms is {}, so it reads {} {}, {}.",
                             shown(), give, ideal_text(), share("reading_off", off), off < 0.0 ? "low" : "high",
                             beyond                            ? cause()
                             : c_.value <= 3.0 * r_.resolution ? "too small for this range to show"
                                                               : "within the meter's tolerance"));
    }
    explain_hand(ctx_, say_);
    if (ctx_.source_F) loading();
    if (fn_.detector == Detector::average) why_average();
    else if (fn_.lowpass_Hz <= 0.0) why_rms();
    if (fn_.lowpass_Hz > 0.0) why_low_pass();
    coupling();
    if (c_.dc_blocked && std::fabs(c_.wave.mean) > 0.05 * c_.wave.rms_ac && r_.reasons.size() < 4)
        say_.say(fmt::format("Its capacitor blocks a DC part of {}.", n("mean", c_.wave.mean)));
    if (!ctx_.source_F) loading();
    if (r_.reasons.size() < 4) other_meters();
    if (r_.reasons.size() < 5) what_to_do();
}

void Explainer::direct() {
    if (nothing_arrives() || over_range()) return;
    const double mean = std::fabs(c_.wave.mean), ac = c_.wave.rms_ac;
    say_.say(fmt::format("The display shows {}, give or take {}: the mean of the {} {}.", shown(),
                         n("tolerance", c_.tolerance), noun(), where()));
    if (ctx_.reaches != 1.0 || ctx_.reference != 1.0) {
        say_.say(fmt::format("In truth that mean is {}.", n("mean", c_.wave.mean)));
        explain_hand(ctx_, say_);
    }
    if (ac > 3.0 * r_.resolution && mean < 0.1 * ac) {
        say_.say(fmt::format("{}: {} rms AC{} is present, and AC has next to no mean.",
                             takes_clamp(mode_) ? "That is not all" : "That does not make it dead",
                             n("true_rms_ac", ac), at_f()));
        say_.say(takes_clamp(mode_) ? "Turn the switch to AC to see it."
                                    : "Treat this point as live. Turn the switch to AC and measure again.");
    } else if (ac > 0.05 * mean && ac > 3.0 * r_.resolution) {
        say_.say(fmt::format("Beside the mean there is {} rms{} of AC {}, which this position does not show.",
                             n("true_rms_ac", ac), at_f(), noun()));
    } else if (mean <= 3.0 * r_.resolution) {
        say_.say(fmt::format("Practically no {}, neither DC nor AC: its true rms is {}.", noun(),
                             n("true_rms", c_.wave.rms)));
        if (!takes_clamp(mode_))
            say_.say("One reading proves nothing dead. Prove the tester, this point, then the tester again.");
    } else if (ac > 1e-6 * mean) {
        say_.say(fmt::format("Its ripple is {} rms, {} of the mean, and does not disturb the reading.",
                             n("true_rms_ac", ac), share("ripple", ac / mean)));
    } else if (ctx_.discharging) {
        say_.say("Falling: the link is still discharging. Wait, and measure again.");
    } else {
        say_.say(fmt::format("It is steady: no AC is present {}.", where()));
    }
    loading();
    if (c_.wave.mean < -3.0 * r_.resolution)
        say_.say(takes_clamp(mode_) ? "The minus sign: the current flows against the arrow on the clamp."
                                    : "The minus sign: the black probe is positive against the red one.");
    if (mode_ == Mode::dca && fn_.zero_drift_A > 0.0 && !ctx_.relative) {
        const std::string drift = n("zero_drift", fn_.zero_drift_A),
                          remedy = "close the empty jaws, set zero, and read again";
        if (mean < fn_.zero_drift_A)
            say_.say(fmt::format("Its zero drifts by up to {}, more than it shows: {}.", drift, remedy));
        else if (mean < 10.0 * fn_.zero_drift_A)
            say_.say(fmt::format("Its zero drifts by up to {}, {} of this reading: {}.", drift,
                                 share("drift_share", fn_.zero_drift_A / mean), remedy));
        else say_.say(fmt::format("Its zero drifts by up to {}, which matters little at this current.", drift));
    }
}

void Explainer::frequency() {
    if (nothing_arrives() || over_range()) return;
    if (c_.value == 0.0 || !c_.f) {
        say_.say(fmt::format("The display shows {}: the {} {} does not cross its trigger level.", shown(), "voltage",
                             where()));
        say_.say(fmt::format("The wave stays between {} and {}.", say_("lowest", c_.wave.min, "V"),
                             say_("highest", c_.wave.max, "V")));
        return;
    }
    const double ratio = c_.value / *c_.f;
    say_.say(fmt::format("The display shows {}: the wave crosses the trigger level upwards that many times a second.",
                         shown()));
    if (std::fabs(ratio - 1.0) < matters) {
        say_.say(fmt::format("It is the fundamental, {}{}.", hz("fundamental_Hz", *c_.f),
                             ctx_.carrier_Hz && fn_.lowpass_Hz > 0.0
                                 ? ": its low-pass takes the carrier's pulses away before it counts"
                                 : ""));
        return;
    }
    std::string text = fmt::format("The fundamental is {}, but the meter counts {} crossings in each period",
                                   hz("fundamental_Hz", *c_.f), say_("crossings_per_period", ratio, ""));
    if (ctx_.carrier_Hz)
        text += fmt::format(", because the pulses at the carrier of {} cross too", hz("carrier_Hz", *ctx_.carrier_Hz));
    say_.say(text + ".");
    say_.say("So this figure is no motor frequency. A meter that counts behind a low-pass for drives shows that.");
}

void Explainer::duty() {
    if (c_.value == 0.0) {
        frequency();
        return;
    }
    const double middle = nil(0.5 * (c_.out.min + c_.out.max), c_.out.max - c_.out.min),
                 mean = nil(c_.wave.mean, c_.wave.rms);
    say_.say(fmt::format(
        "The display shows {}: the wave is above {} for that share of the time. That level is half-way between its "
        "lowest and its highest, {} and {}.",
        shown(), say_("trigger_level", middle, "V"), say_("lowest_seen", c_.out.min, "V"),
        say_("highest_seen", c_.out.max, "V")));
    if (ctx_.carrier_Hz)
        say_.say(fmt::format(
            "The pulses come at the carrier of {} and their width keeps changing. Use the mean, {}, not this share.",
            hz("carrier_Hz", *ctx_.carrier_Hz), say_("mean", mean, "V")));
    else say_.say(fmt::format("The mean of the wave is {}{}.", say_("mean", mean, "V"), at_f()));
}

}  // namespace

void explain_hand(const Context& ctx, Words& say) {
    std::vector<std::string> parts;
    if (ctx.reaches == 0.0) parts.push_back("broken, or plugged into the wrong socket");
    else if (ctx.reaches < 1.0)
        parts.push_back(fmt::format("only {} of what is present reaches its input, the rest is lost in the test leads",
                                    say("reaches", ctx.reaches, "%")));
    if (ctx.reference < 1.0)
        parts.push_back(fmt::format("its battery is low and its reference has sunk to {}, so it shows {} too much",
                                    say("reference", ctx.reference, "%"),
                                    say("reference_off", 1.0 / ctx.reference - 1.0, "%")));
    if (!parts.empty())
        say.say(fmt::format("{}: {}. Stop measuring.", ctx.reaches < 1.0 ? "Fault in the leads" : "Fault in the meter",
                            listed(parts)));
}

void explain_wave(const Spec& spec, Mode mode, const Context& context, const Chain& chain, Reading& reading) {
    Explainer e(spec, mode, context, chain, reading);
    if (mode == Mode::hz) e.frequency();
    else if (mode == Mode::duty) e.duty();
    else if (spec.function(mode).detector == Detector::mean) e.direct();
    else e.alternating();
}

}  // namespace sunshaft::meter
