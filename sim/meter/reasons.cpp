// Why an alternating figure is what it is; what all figures have in common.
#include "meter/explainer.hpp"
#include "text/words.hpp"

namespace sunshaft::meter {

std::string between(const Context& ctx) {
    return ctx.red.empty() || ctx.black.empty() ? tr("between the probes")
                                                : say("between {} and {}", ctx.red, ctx.black);
}

bool Explainer::over_range() {
    if (!r_.over_range) return false;
    const std::string real = n("reading", c_.value), range = n("range", *r_.range);
    if (ctx_.manual_range) {
        say_.say("The display shows {}: the true figure, {}, is above the range chosen of {}.", r_.shown, real, range);
        say_.say("Turn to a higher range, or to automatic range.");
    } else {
        say_.say("The display shows {}: the true figure, {}, is above its largest range of {}.", r_.shown, real, range);
        say_.say("Take the probes off and use a meter made for more than {}.",
                 n("peak", std::max(c_.wave.max, -c_.wave.min)));
    }
    return true;
}

bool Explainer::nothing_arrives() {
    if (ctx_.reaches > 0.0 || c_.wave.rms <= 3.0 * r_.resolution) return false;
    say_.say("The display shows {}, but {} rms is present {}. Nothing of it reaches the meter's input.", shown(),
             n("true_rms", c_.wave.rms), where());
    explain_hand(ctx_, say_);
    say_.say("One reading proves nothing dead. Prove the tester, this point, then the tester again.");
    return true;
}

// The dangerous readings: a display at nothing while something stands there.
bool Explainer::nothing_or_hidden_dc() {
    const double least = 3.0 * r_.resolution, mean = std::fabs(c_.wave.mean);
    if (c_.dc_blocked && mean > least && mean > c_.wave.rms_ac && mean > 20.0 * std::max(c_.value, r_.resolution)) {
        const std::string display = shown(), dc = n("mean", c_.wave.mean);
        if (current()) {
            say_.say("The display shows {}, but {} of DC current is present {}.", display, dc, where());
            say_.say("This clamp sees alternating current only. It shows the ripple, {} rms.",
                     n("true_rms_ac", c_.wave.rms_ac));
            say_.say("Take a clamp that measures DC.");
        } else {
            say_.say("The display shows {}, but {} of DC voltage is present {}.", display, dc, where());
            say_.say("This position blocks DC with a capacitor. It shows the ripple, {} rms.",
                     n("true_rms_ac", c_.wave.rms_ac));
            say_.say("Turn the switch to DC before you call this point dead.");
        }
        return true;
    }
    if (c_.value <= least && ideal() <= least) {
        const std::string display = shown();
        if (current())
            say_.say("The display shows {}: practically no current {}. Its true rms is {}.", display, where(),
                     ideal_text());
        else
            say_.say("The display shows {}: practically no voltage {}. Its true rms is {}.", display, where(),
                     ideal_text());
        if (c_.dc_blocked) say_.say("The DC part, which this position does not show, is {}.", n("mean", c_.wave.mean));
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
    if (ctx_.spin == Context::Spin::by_water)
        say_.say(
            "The drive is off: the motor's magnets make this voltage while the shaft turns. Water falling back in the "
            "pipe turns it. Touch no wire until it stands still.");
    else
        say_.say(
            "The drive is off: the motor's magnets make this voltage while the shaft turns. It is still running down. "
            "Touch no wire until it stands still.");
}

void Explainer::why_average() {
    const double rectified = c_.dc_blocked ? c_.wave.rectified_mean_ac : c_.wave.rectified_mean;
    const double form = ideal() / rectified;
    const std::string how =
        say("It rectifies the wave, averages it to {} and multiplies by {}, which is right for a sine.",
            n("rectified_mean_seen", c_.out.rectified_mean), say_("sine_form_factor", sine_form, ""));
    const std::string factor = say_("form_factor", form, "");
    std::string harm;
    if (std::fabs(sine_form / form - 1.0) < matters)
        harm = say("This wave's rms is {} times its rectified mean, so averaging does no harm here.", factor);
    else if (form > sine_form)
        harm =
            say("This wave's rms is {} times its rectified mean, more than a sine's. That alone makes it read {} low.",
                factor, share("form_error", sine_form / form - 1.0));
    else
        harm =
            say("This wave's rms is {} times its rectified mean, less than a sine's. That alone makes it read {} high.",
                factor, share("form_error", sine_form / form - 1.0));
    say_.said(text::sentences({how, harm}));
    if (ctx_.carrier_Hz && c_.fundamental > 0.0 && std::fabs(c_.value / c_.fundamental - 1.0) < 0.02)
        say_.say("It comes within {} of the fundamental, {}{}, because the pulses average to the sine they make.",
                 share("fundamental_off", c_.value / c_.fundamental - 1.0), n("fundamental_rms", c_.fundamental),
                 at_f());
    const double band = c_.out.rectified_mean / c_.coupled.rectified_mean - 1.0;
    if (fn_.bandwidth_Hz > 0.0 && std::fabs(band) >= matters)
        say_.said(band < 0.0 ? say("Its bandwidth of {} changes the mean by {} down.",
                                   hz("bandwidth_Hz", fn_.bandwidth_Hz), share("bandwidth_effect", band))
                             : say("Its bandwidth of {} changes the mean by {} up.",
                                   hz("bandwidth_Hz", fn_.bandwidth_Hz), share("bandwidth_effect", band)));
}

void Explainer::why_rms() {
    if (fn_.bandwidth_Hz <= 0.0) {
        say_.say("It measures true rms, so the shape of the wave does not matter.");
        return;
    }
    const double loss = c_.banded.rms / c_.coupled.rms - 1.0;
    if (std::fabs(loss) < matters)
        say_.say(
            "It measures true rms, so the shape of the wave does not matter. Its bandwidth of {} "
            "costs this wave {}.",
            hz("bandwidth_Hz", fn_.bandwidth_Hz), share("bandwidth_loss", loss));
    else
        say_.say(
            "It measures true rms, but only of what its bandwidth of {} lets through. The fastest parts "
            "of this wave are lost, and {} of the rms with them.",
            hz("bandwidth_Hz", fn_.bandwidth_Hz), share("bandwidth_loss", loss));
}

void Explainer::why_low_pass() {
    const bool average = fn_.detector == Detector::average;
    const double before = average ? sine_form * c_.banded.rectified_mean : c_.banded.rms,
                 behind = average ? sine_form * c_.out.rectified_mean : c_.out.rms;
    const std::string leaves = say("Its low-pass at {} leaves {} of {}.", hz("lowpass_Hz", fn_.lowpass_Hz),
                                   n("behind_low_pass", behind), n("before_low_pass", before));
    if (!c_.f || c_.fundamental <= 0.0) return say_.said(leaves);
    const double off = behind / ctx_.reaches / c_.fundamental - 1.0;
    const std::string fundamental = n("fundamental_rms", c_.fundamental), at = at_f();
    std::string compared;
    if (std::fabs(off) < 2.0 * matters)
        compared = say("The fundamental is {}{}: that is what it shows.", fundamental, at);
    else if (off > 0.0)
        compared =
            say("The fundamental is {}{}, {} less than what is left.", fundamental, at, share("low_pass_off", off));
    else
        compared =
            say("The fundamental is {}{}, {} more than what is left.", fundamental, at, share("low_pass_off", off));
    say_.said(text::sentences({leaves, compared}));
}

void Explainer::coupling() {
    if (fn_.coupling_Hz <= 0.0 || !c_.f || c_.wave.rms_ac <= 0.0) return;
    const bool average = fn_.detector == Detector::average;
    const double change = average ? coupling_effect() : c_.coupled.rms / ctx_.reaches / c_.wave.rms_ac - 1.0;
    if (std::fabs(change) < matters) return;
    const std::string corner = hz("coupling_Hz", fn_.coupling_Hz), f = hz("fundamental_Hz", *c_.f),
                      gain = share("coupling_gain", std::abs(Filter{}.high_pass(fn_.coupling_Hz).gain(*c_.f)));
    const std::string passes = current()
                                   ? say("Its core weakens below {}: at {} it passes {}.", corner, f, gain)
                                   : say("Its AC coupling weakens below {}: at {} it passes {}.", corner, f, gain);
    std::string so;
    if (!average) so = say("Of this wave {} is lost.", share("coupling_loss", change));
    else if (change < 0.0) so = say("Of the rectified mean {} is lost.", share("coupling_effect", change));
    else if (c_.at_nothing > 0.1)
        // Where the wave itself is at nothing, what the high-pass took away stands there with the opposite sign, and
        // the rectifier counts it.
        so = say("The part it holds back fills the gaps of the wave, and the rectified mean rises by {}.",
                 share("coupling_effect", change));
    else
        so = say("It shifts the fundamental against the rest, and the rectified mean rises by {}.",
                 share("coupling_effect", change));
    say_.said(text::sentences({passes, so}));
}

void Explainer::loading() {
    if (takes_clamp(mode_) || fn_.resistance_ohm <= 0.0) return;
    const std::string own = say_("meter_ohm", fn_.resistance_ohm, "ohm");
    if (ctx_.source_F && *ctx_.source_F > 0.0) {
        const auto passes = [&](double f) {
            return std::abs(
                Filter{}.high_pass(1.0 / (2.0 * std::numbers::pi * fn_.resistance_ohm * *ctx_.source_F)).gain(f));
        };
        const std::string ghost = say("This is a ghost voltage: the wire is not connected, it only couples through {}.",
                                      say_("source_F", *ctx_.source_F, "F"));
        if (!c_.f) return say_.said(ghost);
        const double share_left = passes(*c_.f);
        const std::string left = share("ghost_share", share_left), f = hz("fundamental_Hz", *c_.f);
        std::string so;
        if (ctx_.carrier_Hz && passes(*ctx_.carrier_Hz) > 3.0 * share_left)
            so = say("Against the meter's {} that passes {} at {}, but {} at the carrier's {}: it does not vanish.",
                     own, left, f, share("ghost_share_carrier", passes(*ctx_.carrier_Hz)),
                     hz("carrier_Hz", *ctx_.carrier_Hz));
        else if (share_left < 0.1)
            so = say("Against the meter's {} that passes {} at {}: it has collapsed.", own, left, f);
        else
            so = say("Against the meter's {} that passes {} at {}. A low-impedance meter lets it collapse.", own, left,
                     f);
        return say_.said(text::sentences({ghost, so}));
    }
    if (!ctx_.source_ohm) return;
    if (std::isinf(*ctx_.source_ohm)) {
        say_.say("Only the meter's own {} joins these two points. The reading says nothing about the circuit.", own);
        return;
    }
    const double share_left = fn_.resistance_ohm / (fn_.resistance_ohm + *ctx_.source_ohm);
    if (share_left < 1.0 - matters)
        say_.say(
            "The meter's {} loads these points, which have {} behind them. Without the meter {} times as much is "
            "present.",
            own, say_("source_ohm", *ctx_.source_ohm, "ohm"), say_("unloaded_ratio", 1.0 / share_left, ""));
}

void Explainer::other_meters() {
    if (!c_.dc_blocked && std::fabs(c_.wave.mean) > 0.05 * c_.wave.rms) {
        say_.say("The DC position would show {}, a true-rms one that blocks DC {}.", n("mean", c_.wave.mean),
                 n("true_rms_ac", c_.wave.rms_ac));
        return;
    }
    const auto differs = [&](double x) { return std::fabs(x / c_.value - 1.0) >= matters; };
    std::vector<std::string> others;
    if (differs(c_.wave.rms_ac)) others.push_back(say("an ideal true-rms one {}", n("true_rms_ac", c_.wave.rms_ac)));
    // Each by the chain of the shipped meter of its kind, not by what it ideally would.
    const auto shipped = [&](const char* name, Mode mode, const char* figure, const char* words) {
        const double shows = shipped_reading(name, mode, c_.window);
        if (std::isfinite(shows) && differs(shows)) others.push_back(text::say_of(words, n(figure, shows)));
    };
    if (fn_.detector != Detector::average)
        shipped(takes_clamp(mode_) ? "clamp-ac" : "average", takes_clamp(mode_) ? Mode::aca : Mode::acv,
                "average_reading", text::id("an averaging one {}"));
    if (fn_.lowpass_Hz <= 0.0 && !takes_clamp(mode_))
        shipped("true-rms-drive", Mode::acv_lowpass, "low_pass_reading", text::id("one with a low-pass for drives {}"));
    if (!others.empty()) say_.say("On the same wave other meters show something else: {}.", listed(others));
    else say_.say("On this wave averaging, true-rms and low-pass meters agree.");
}

void Explainer::what_to_do() {
    if (ctx_.red == "uvw") {
        say_.said(text::sentences(
            {ctx_.carrier_Hz
                 ? say("All three cores are in the jaws. The rest is leakage and the charging of the cable by the "
                       "carrier of {}.",
                       hz("carrier_Hz", *ctx_.carrier_Hz))
                 : say("All three cores are in the jaws. The rest is leakage and the charging of the cable."),
             tr("Only a change against the healthy site means something.")}));
        return;
    }
    if (current()) {
        if (ctx_.output) say_.say("Clamp the three lines one after the other with this meter and compare them.");
        return;
    }
    if (ctx_.spin != Context::Spin::none) return;
    std::string drives, ratio, hardly;
    if (ctx_.output && c_.fundamental > 0.0)
        drives =
            say("The fundamental drives the motor: {}{}. To compare the three pairs, use the same meter on all "
                "three.",
                n("fundamental_rms", c_.fundamental), at_f());
    if (r_.link_ratio) {
        ratio = say("This display is {} of the link's {}.", say_("link_ratio", *r_.link_ratio, ""),
                    say_("link_V", *ctx_.link_V, "V"));
        if (ctx_.ideal_six_step) hardly = tr("That ratio hardly moves with the sun; the volts do.");
    }
    if (const std::string all = text::sentences({drives, ratio, hardly}); !all.empty()) say_.said(all);
}

// It reads right although its stages do not leave the wave alone.
bool Explainer::errors_cancel() const {
    if (fn_.detector != Detector::average) return false;
    return std::fabs(form_effect()) >= matters || std::fabs(coupling_effect()) >= matters ||
           std::fabs(c_.out.rectified_mean / c_.coupled.rectified_mean - 1.0) >= matters;
}

// What moves the reading most away from the true rms: the whole sentence about it.
const char* Explainer::cause(bool low) const {
    const bool average = fn_.detector == Detector::average;
    const auto number = [average](const Response& at) { return average ? at.rectified_mean : at.rms; };
    struct Cause {
        double moves;
        const char *low, *high;
    };
    const Cause causes[] = {
        {average ? std::fabs(form_effect()) : 0.0,
         text::id("The true rms is {}, so it reads {} low, because of the wave's shape; the meter is not faulty."),
         text::id("The true rms is {}, so it reads {} high, because of the wave's shape; the meter is not "
                  "faulty.")},
        {std::fabs(number(c_.banded) / number(c_.coupled) - 1.0),
         text::id("The true rms is {}, so it reads {} low, because of its limited bandwidth; the meter is not "
                  "faulty."),
         text::id("The true rms is {}, so it reads {} high, because of its limited bandwidth; the meter is not "
                  "faulty.")},
        {std::fabs(number(c_.out) / number(c_.banded) - 1.0),
         text::id("The true rms is {}, so it reads {} low, because of its low-pass, as intended."),
         text::id("The true rms is {}, so it reads {} high, because of its low-pass, as intended.")},
        {std::fabs(average ? coupling_effect() : c_.coupled.rms / ctx_.reaches / ideal() - 1.0),
         text::id("The true rms is {}, so it reads {} low, because of its low-frequency limit; the meter is "
                  "not faulty."),
         text::id("The true rms is {}, so it reads {} high, because of its low-frequency limit; the meter is "
                  "not faulty.")},
        {1.0 - ctx_.reaches, text::id("The true rms is {}, so it reads {} low, because the rest is lost in its leads."),
         text::id("The true rms is {}, so it reads {} high, because the rest is lost in its leads.")},
        {1.0 / ctx_.reference - 1.0, text::id("The true rms is {}, so it reads {} low, because its battery is low."),
         text::id("The true rms is {}, so it reads {} high, because its battery is low.")},
        {c_.clipped ? 1.0 : 0.0, text::id("The true rms is {}, so it reads {} low, because the peaks are cut off."),
         text::id("The true rms is {}, so it reads {} high, because the peaks are cut off.")},
    };
    const Cause& most = *std::max_element(std::begin(causes), std::end(causes),
                                          [](const Cause& x, const Cause& y) { return x.moves < y.moves; });
    return low ? most.low : most.high;
}

std::string Explainer::beside_true_rms(double off) {
    if (std::fabs(off) < matters)
        return errors_cancel()
                   ? say("The wave's true rms is {}, so it reads right, but only because its errors cancel.",
                         ideal_text())
                   : say("The wave's true rms is {}, so it reads right.", ideal_text());
    const std::string rms = ideal_text(), by = share("reading_off", off);
    if (std::fabs(c_.value - ideal()) > c_.tolerance) return text::say_of(cause(off < 0.0), rms, by);
    if (c_.value <= 3.0 * r_.resolution)
        return off < 0.0
                   ? say("The wave's true rms is {}, so it reads {} low, too small for this range to show.", rms, by)
                   : say("The wave's true rms is {}, so it reads {} high, too small for this range to show.", rms, by);
    return off < 0.0 ? say("The wave's true rms is {}, so it reads {} low, within the meter's tolerance.", rms, by)
                     : say("The wave's true rms is {}, so it reads {} high, within the meter's tolerance.", rms, by);
}

void Explainer::alternating() {
    if (nothing_arrives() || over_range() || nothing_or_hidden_dc()) return;
    const double off = c_.value / ideal() - 1.0;
    const std::string give = n("tolerance", c_.tolerance);
    if (!c_.dc_blocked && std::fabs(c_.wave.mean) > 0.05 * c_.wave.rms) {
        const std::string display = shown(), dc = n("mean", c_.wave.mean), ac = n("true_rms_ac", c_.wave.rms_ac);
        if (current())
            say_.say("The display shows {}, give or take {}. DC current counts here too: {} of it beside {} rms AC.",
                     display, give, dc, ac);
        else
            say_.say("The display shows {}, give or take {}. DC voltage counts here too: {} of it beside {} rms AC.",
                     display, give, dc, ac);
        if (std::fabs(off) >= matters)
            say_.said(off < 0.0 ? say("The true rms of both together is {}: it reads {} low.", ideal_text(),
                                      share("reading_off", off))
                                : say("The true rms of both together is {}: it reads {} high.", ideal_text(),
                                      share("reading_off", off)));
    } else {
        const std::string display = say("The display shows {}, give or take {}.", shown(), give);
        say_.said(text::sentences({display, beside_true_rms(off)}));
    }
    explain_hand(ctx_, say_);
    own_voltage();
    if (ctx_.source_F) loading();
    if (fn_.detector == Detector::average) why_average();
    else if (fn_.lowpass_Hz <= 0.0) why_rms();
    if (fn_.lowpass_Hz > 0.0) why_low_pass();
    coupling();
    if (c_.dc_blocked && std::fabs(c_.wave.mean) > 0.05 * c_.wave.rms_ac && r_.reasons.size() < 4)
        say_.say("Its capacitor blocks a DC part of {}.", n("mean", c_.wave.mean));
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
