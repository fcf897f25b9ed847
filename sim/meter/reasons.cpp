// Why an alternating figure is what it is; what all figures have in common.
#include "meter/explainer.hpp"

namespace sunshaft::meter {

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

// A drive that is off switches nothing: the machine makes what is read.
void Explainer::own_voltage() {
    if (ctx_.spin == Context::Spin::none || takes_clamp(mode_)) return;
    say_.say(
        fmt::format("The drive is off: the motor's magnets make this voltage while the shaft turns. {} Touch no wire "
                    "until it stands still.",
                    ctx_.spin == Context::Spin::by_water ? "Water falling back in the pipe turns it."
                                                         : "It is still running down."));
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
    if (ctx_.spin != Context::Spin::none) return;
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
    own_voltage();
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

void explain_wave(const Spec& spec, Mode mode, const Context& context, const Chain& chain, Reading& reading) {
    Explainer e(spec, mode, context, chain, reading);
    if (mode == Mode::hz) e.frequency();
    else if (mode == Mode::duty) e.duty();
    else if (spec.function(mode).detector == Detector::mean) e.direct();
    else e.alternating();
}

}  // namespace sunshaft::meter
