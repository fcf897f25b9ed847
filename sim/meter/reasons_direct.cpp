// Why a direct figure, a frequency or a share of time is what it is; what the hand that holds the meter does to it.
#include "meter/explainer.hpp"

namespace sunshaft::meter {

void Explainer::direct() {
    if (nothing_arrives() || over_range()) return;
    const double mean = std::fabs(c_.wave.mean), ac = c_.wave.rms_ac;
    const std::string display = shown(), give = n("tolerance", c_.tolerance);
    if (current())
        say_.say("The display shows {}, give or take {}: the mean of the current {}.", display, give, where());
    else say_.say("The display shows {}, give or take {}: the mean of the voltage {}.", display, give, where());
    if (ctx_.reaches != 1.0 || ctx_.reference != 1.0) {
        say_.say("In truth that mean is {}.", n("mean", c_.wave.mean));
        explain_hand(ctx_, say_);
    }
    if (ac > 3.0 * r_.resolution && mean < 0.1 * ac) {
        if (current()) {
            say_.say("That is not all: {} rms AC{} is present, and AC has next to no mean.", n("true_rms_ac", ac),
                     at_f());
            say_.say("Turn the switch to AC to see it.");
        } else {
            say_.say("That does not make it dead: {} rms AC{} is present, and AC has next to no mean.",
                     n("true_rms_ac", ac), at_f());
            say_.say("Treat this point as live. Turn the switch to AC and measure again.");
        }
        own_voltage();
    } else if (ctx_.falls_V_per_s && mean > 3.0 * r_.resolution) {
        if (*ctx_.falls_V_per_s > 0.0)
            say_.say("It falls by {} in a second: the link is cut off and still charged. Wait, and measure again.",
                     say_("falls_in_a_second", *ctx_.falls_V_per_s, "V"));
        else say_.say("The link is cut off and still charged, and nothing discharges it. Do not open the drive.");
    } else if (ac > 0.05 * mean && ac > 3.0 * r_.resolution) {
        const std::string beside = n("true_rms_ac", ac), at = at_f();
        if (current())
            say_.say("Beside the mean there is {} rms{} of AC current, which this position does not show.", beside, at);
        else
            say_.say("Beside the mean there is {} rms{} of AC voltage, which this position does not show.", beside, at);
    } else if (mean <= 3.0 * r_.resolution) {
        if (current())
            say_.say("Practically no current, neither DC nor AC: its true rms is {}.", n("true_rms", c_.wave.rms));
        else say_.say("Practically no voltage, neither DC nor AC: its true rms is {}.", n("true_rms", c_.wave.rms));
        if (!takes_clamp(mode_))
            say_.say("One reading proves nothing dead. Prove the tester, this point, then the tester again.");
    } else if (ac > 1e-6 * mean) {
        say_.say("Its ripple is {} rms, {} of the mean, and does not disturb the reading.", n("true_rms_ac", ac),
                 share("ripple", ac / mean));
    } else {
        say_.say("It is steady: no AC is present {}.", where());
    }
    loading();
    if (c_.wave.mean < -3.0 * r_.resolution)
        say_.said(current() ? tr("The minus sign: the current flows against the arrow on the clamp.")
                            : tr("The minus sign: the black probe is positive against the red one."));
    if (mode_ == Mode::dca && fn_.zero_drift_A > 0.0 && !ctx_.relative) {
        const std::string drift = n("zero_drift", fn_.zero_drift_A);
        if (mean < fn_.zero_drift_A)
            say_.say("Its zero drifts by up to {}, more than it shows: close the empty jaws, set zero, and read again.",
                     drift);
        else if (mean < 10.0 * fn_.zero_drift_A)
            say_.say("Its zero drifts by up to {}, {} of this reading: close the empty jaws, set zero, and read again.",
                     drift, share("drift_share", fn_.zero_drift_A / mean));
        else say_.say("Its zero drifts by up to {}, which matters little at this current.", drift);
    }
}

void Explainer::frequency() {
    if (nothing_arrives() || over_range()) return;
    if (c_.value == 0.0 || !c_.f) {
        say_.say("The display shows {}: the voltage {} does not cross its trigger level.", shown(), where());
        say_.say("The wave stays between {} and {}.", say_("lowest", c_.wave.min, "V"),
                 say_("highest", c_.wave.max, "V"));
        return;
    }
    const double ratio = c_.value / *c_.f;
    say_.say("The display shows {}: the wave crosses the trigger level upwards that many times a second.", shown());
    if (std::fabs(ratio - 1.0) < matters) {
        if (ctx_.carrier_Hz && fn_.lowpass_Hz > 0.0)
            say_.say("It is the fundamental, {}: its low-pass takes the carrier's pulses away before it counts.",
                     hz("fundamental_Hz", *c_.f));
        else say_.say("It is the fundamental, {}.", hz("fundamental_Hz", *c_.f));
        own_voltage();
        return;
    }
    const std::string f = hz("fundamental_Hz", *c_.f), crossings = say_("crossings_per_period", ratio, "");
    if (ctx_.carrier_Hz)
        say_.say(
            "The fundamental is {}, but the meter counts {} crossings in each period. The pulses at the carrier of {} "
            "cross too.",
            f, crossings, hz("carrier_Hz", *ctx_.carrier_Hz));
    else say_.say("The fundamental is {}, but the meter counts {} crossings in each period.", f, crossings);
    say_.say("So this figure is no motor frequency. A meter that counts behind a low-pass for drives shows that.");
}

void Explainer::duty() {
    if (c_.value == 0.0) {
        frequency();
        return;
    }
    const double middle = nil(0.5 * (c_.out.min + c_.out.max), c_.out.max - c_.out.min),
                 mean = nil(c_.wave.mean, c_.wave.rms);
    say_.say(
        "The display shows {}: the wave is above {} for that share of the time. That level is half-way between its "
        "lowest and its highest, {} and {}.",
        shown(), say_("trigger_level", middle, "V"), say_("lowest_seen", c_.out.min, "V"),
        say_("highest_seen", c_.out.max, "V"));
    if (ctx_.carrier_Hz)
        say_.say(
            "The pulses come at the carrier of {} and their width keeps changing. Use the mean, {}, not this share.",
            hz("carrier_Hz", *ctx_.carrier_Hz), say_("mean", mean, "V"));
    else say_.say("The mean of the wave is {}{}.", say_("mean", mean, "V"), at_f());
}

void explain_hand(const Context& ctx, Words& words) {
    std::vector<std::string> parts;
    if (ctx.reaches == 0.0) parts.push_back(tr("broken, or plugged into the wrong socket"));
    else if (ctx.reaches < 1.0)
        parts.push_back(say("only {} of what is present reaches its input, the rest is lost in the test leads",
                            words("reaches", ctx.reaches, "%")));
    if (ctx.reference < 1.0)
        parts.push_back(say("its battery is low and its reference has sunk to {}, so it shows {} too much",
                            words("reference", ctx.reference, "%"),
                            words("reference_off", 1.0 / ctx.reference - 1.0, "%")));
    if (parts.empty()) return;
    if (ctx.reaches < 1.0) words.say("Fault in the leads: {}. Stop measuring.", listed(parts));
    else words.say("Fault in the meter: {}. Stop measuring.", listed(parts));
}

}  // namespace sunshaft::meter
