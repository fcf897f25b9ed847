// Why a direct figure, a frequency or a share of time is what it is; what the hand that holds the meter does to it.
#include "meter/explainer.hpp"

namespace sunshaft::meter {

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
        own_voltage();
    } else if (ctx_.falls_V_per_s && mean > 3.0 * r_.resolution) {
        say_.say(*ctx_.falls_V_per_s > 0.0
                     ? fmt::format("It falls by {} in a second: the link is cut off and still charged. Wait, and "
                                   "measure again.",
                                   say_("falls_in_a_second", *ctx_.falls_V_per_s, "V"))
                     : "The link is cut off and still charged, and nothing discharges it. Do not open the drive.");
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
        own_voltage();
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

}  // namespace sunshaft::meter
