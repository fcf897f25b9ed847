#include "meter/watch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "meter/chain.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::meter {

namespace {

Filter whole_filter(const Function& fn) {
    Filter f;
    f.high_pass(fn.coupling_Hz).low_pass(fn.bandwidth_Hz, fn.bandwidth_order).low_pass(fn.lowpass_Hz, fn.lowpass_order);
    return f;
}

std::string letters(const Function& fn, const Context& context) {
    const char* coupling = fn.detector == Detector::mean ? "DC" : fn.coupling_Hz > 0.0 ? "AC" : "AC+DC";
    return fmt::format("{} {}", coupling, context.manual_range ? text::tr("held") : text::tr("auto"));
}

Truth truth_of(trace::View wave) {
    const trace::Statistics s = trace::statistics(wave);
    Truth t;
    t.mean = s.mean;
    t.rms = s.rms;
    t.rms_ac = s.rms_ac;
    t.rectified_mean = s.rectified_mean;
    if (s.rms > 0.0) t.crest_factor = s.crest;
    return t;
}

// How the display came to its last value, in words. 2 to 5 sentences. `peak`: during the last update.
void explain_course(const Spec& spec, double seconds, const Function& fn, bool held, double peak, Watch& w) {
    Reading& r = w.reading;
    Words words(r);
    const Update& last = w.updates.back();
    const std::string all = words("seconds", seconds, "s"),
                      updates = words("updates", static_cast<double>(w.updates.size()), ""),
                      every = words("update_interval", 1.0 / spec.update_per_s, "s"),
                      changes = w.range_changes > 1 ? words("range_changes", w.range_changes, "") : "",
                      last_shown =
                          last.value ? words.shown(r.resolution * std::round(*last.value / r.resolution)) : last.shown;
    if (w.range_changes == 0)
        words.say("In {} the display is renewed {} times, every {}. The range never changes; at last it shows {}.", all,
                  updates, every, last_shown);
    else if (w.range_changes == 1)
        words.say("In {} the display is renewed {} times, every {}. The range changes once; at last it shows {}.", all,
                  updates, every, last_shown);
    else
        words.say("In {} the display is renewed {} times, every {}. The range changes {} times; at last it shows {}.",
                  all, updates, every, changes, last_shown);
    const std::size_t half = w.updates.size() / 2;
    const auto ranging = [](const Update& u) { return u.shown == "----"; };
    const auto late = std::count_if(w.updates.begin() + static_cast<std::ptrdiff_t>(half), w.updates.end(), ranging);
    if (late >= 2) {
        double low = last.range, high = last.range;
        for (std::size_t k = half; k < w.updates.size(); ++k) {
            low = std::min(low, w.updates[k].range);
            high = std::max(high, w.updates[k].range);
        }
        words.say("It is hunting between its ranges of {} and {}, {} changes in the second half alone. Set {} by hand.",
                  words("low_range", low, r.unit), words("high_range", high, r.unit),
                  words("late_changes", static_cast<double>(late), ""), words("high_range", high, r.unit));
    } else if (w.settled_s && *w.settled_s < 0.999 * seconds && seconds - *w.settled_s > 1.5 / spec.update_per_s) {
        words.say("From {} after the start it stays where it is: only then is it to be read.",
                  words("settled_s", *w.settled_s, "s"));
    } else if (last.value) {
        words.say(
            "It has not come to rest by the end. What it shows is on its way, or the wave itself keeps changing.");
    } else {
        words.said(!last.over_range ? text::tr("At the end it is still looking for its range.")
                   : held           ? text::tr("The range set by hand is too small.")
                                    : text::tr("Its largest range is too small."));
    }
    if (w.min && w.max)
        words.say("A min/max memory keeps {} and {}: the smallest and the largest of what was shown.",
                  words("min", *w.min, r.unit), words("max", *w.max, r.unit));
    if (w.peak_low && w.peak_high)
        words.say(
            "A peak memory keeps {} and {}, of the wave behind the meter's filters and whatever the "
            "display shows meanwhile.",
            words("peak_low", *w.peak_low, r.unit), words("peak_high", *w.peak_high, r.unit));
    if (fn.detector == Detector::rms && fn.crest_limit > 0.0 && !last.over_range && peak > fn.crest_limit * last.range)
        words.warn(
            "at the end the wave's peak of {} is above the {} the range takes. The display really stands "
            "lower than it is given here",
            words("peak", peak, r.unit), words("peak_limit", fn.crest_limit * last.range, r.unit));
}

// What reaches the detector in each interval of the display; a mean of the last whole periods of the mains in it.
std::vector<Response> intervals(const Function& fn, const Context& context, trace::View wave, double interval) {
    const double t0 = trace::start(wave);
    const auto count = static_cast<std::size_t>(std::floor(trace::duration(wave) / interval * (1.0 + 1e-9)));
    if (count < 1)
        throw std::invalid_argument(
            text::say("watching a meter: {} is shorter than the {} of one update of its display",
                      quantity(trace::duration(wave), "s"), quantity(interval, "s")));
    // Integrated over whole periods of 50 and of 60 Hz at the end of each interval, where it is long enough.
    constexpr double both_mains_s = 0.1;
    const double gate =
        interval < both_mains_s ? interval : both_mains_s * std::floor(interval / both_mains_s * (1.0 + 1e-9));
    const bool gap = interval - gate > 1e-9;
    std::vector<double> edges{t0};
    for (std::size_t k = 1; k <= count; ++k) {
        const double end = t0 + static_cast<double>(k) * interval;
        if (gap) edges.push_back(end - gate);
        edges.push_back(end);
    }
    const std::vector<Response> windows = whole_filter(fn).respond_from_rest(wave, edges);
    std::vector<Response> seen;
    for (std::size_t k = 0; k < count; ++k) {
        Response now = windows[gap ? 2 * k + 1 : k];
        if (gap) {
            now.min = std::min(now.min, windows[2 * k].min);
            now.max = std::max(now.max, windows[2 * k].max);
        }
        seen.push_back(now.times(context.reaches / context.reference));  // the display's own, all the way
    }
    return seen;
}

// The display's figure follows what it sees; of a step so much is left after each update: 1 % after the settling time.
class Follows {
  public:
    Follows(const Spec& spec, Detector detector)
        : detector_(detector),
          stays_(spec.settling_s > 0.0 ? std::pow(0.01, 1.0 / spec.update_per_s / spec.settling_s) : 0.0) {}
    double operator()(const Response& now) {
        const double quantity = detector_ == Detector::mean      ? now.mean
                                : detector_ == Detector::average ? now.rectified_mean
                                                                 : now.rms * now.rms;
        smooth_ = stays_ * smooth_ + (1.0 - stays_) * quantity;
        return detector_ == Detector::mean      ? smooth_
               : detector_ == Detector::average ? sine_form * smooth_
                                                : std::sqrt(std::max(0.0, smooth_));
    }

  private:
    Detector detector_;
    double stays_, smooth_ = 0.0;
};

// Automatic range: one step an update, up when the range is too small, down when a tenth of the smaller one is in hand.
class Ranging {
  public:
    Ranging(const Spec& spec, Mode mode, const Context& context)
        : fn_(spec.function(mode)), held_(context.manual_range.has_value()), now_(fn_.ranges.size() - 1) {
        if (!held_) return;
        const Display held = display(spec, mode, 0.0, context.manual_range);
        now_ =
            static_cast<std::size_t>(std::find(fn_.ranges.begin(), fn_.ranges.end(), held.range) - fn_.ranges.begin());
    }
    double range() const { return fn_.ranges[now_]; }
    // +1, -1: it changes now.
    int step(double value, const Response& now) {
        // On DC automatic range gives way to peaks too, as in read().
        const bool heeds_peaks = fn_.detector == Detector::mean && fn_.crest_limit > 0.0;
        const double wants = std::max(
            std::fabs(value), heeds_peaks ? std::max(std::fabs(now.min), std::fabs(now.max)) / fn_.crest_limit : 0.0);
        if (held_) return 0;
        if (wants > range() && now_ + 1 < fn_.ranges.size()) return ++now_, 1;
        if (now_ > 0 && wants < 0.9 * fn_.ranges[now_ - 1]) return --now_, -1;
        return 0;
    }

  private:
    const Function& fn_;
    bool held_;
    std::size_t now_;
};

// From when on the last figure stays where it is.
void find_settled(const Spec& spec, double t0, Watch& w) {
    const Update& last = w.updates.back();
    if (!last.value) return;
    const double near = 3.0 * resolution(spec, last.range) + 0.005 * std::fabs(*last.value);
    for (auto it = w.updates.rbegin();
         it != w.updates.rend() && it->value && std::fabs(*it->value - *last.value) <= near; ++it)
        w.settled_s = it->t - t0;
}

}  // namespace

void check_watchable(Mode mode) {
    if (drives_circuit(mode) || times_crossings(mode))
        throw std::invalid_argument(text::say("mode {} cannot be watched over a wave", mode_name(mode)));
}

Watch watch(const Spec& spec, Mode mode, trace::View wave, const Context& context) {
    check_watchable(mode);
    const Function& fn = spec.function(mode);
    trace::check(wave);
    const double interval = 1.0 / spec.update_per_s, t0 = trace::start(wave);
    const std::vector<Response> seen = intervals(fn, context, wave, interval);
    Watch w;
    const std::string beside = letters(fn, context);
    Follows follows(spec, fn.detector);
    Ranging ranging(spec, mode, context);
    double value = 0.0, sum = 0.0;
    std::size_t shown = 0;
    for (std::size_t k = 0; k < seen.size(); ++k) {
        const Response& now = seen[k];
        const double end = t0 + static_cast<double>(k + 1) * interval;
        value = follows(now);
        w.peak_low = std::min(w.peak_low.value_or(now.min), now.min);
        w.peak_high = std::max(w.peak_high.value_or(now.max), now.max);
        if (const int step = ranging.step(value, now)) {
            ++w.range_changes;
            w.updates.push_back({end, std::nullopt, "----", ranging.range(), false,
                                 beside + (step > 0 ? text::tr(", range up") : text::tr(", range down"))});
            continue;
        }
        const Display d = display(spec, mode, value, ranging.range());
        w.updates.push_back({end, d.over ? std::nullopt : std::optional(value), d.text, d.range, d.over,
                             d.over ? beside + text::tr(", over range") : beside});
        if (d.over) continue;
        w.min = std::min(w.min.value_or(d.rounded), d.rounded);
        w.max = std::max(w.max.value_or(d.rounded), d.rounded);
        sum += d.rounded;
        ++shown;
    }
    if (shown > 0) w.average = sum / static_cast<double>(shown);
    find_settled(spec, t0, w);
    const Update& last = w.updates.back();
    set_display(spec, mode, value, display(spec, mode, value, last.range), w.reading);
    if (!last.value) {
        w.reading.value = w.reading.low = w.reading.high = std::nullopt;
        w.reading.shown = last.shown;
    }
    w.reading.truth = truth_of(wave);
    const double peak = std::max(std::fabs(seen.back().min), std::fabs(seen.back().max));
    explain_course(spec, trace::duration(wave), fn, context.manual_range.has_value(), peak, w);
    if (context.reaches != 1.0 || context.reference != 1.0) {
        if (w.reading.reasons.size() == 5) {
            w.reading.reasons.pop_back();
            std::erase_if(w.reading.named, [](const NamedAt& n) { return !n.warning && n.sentence == 4; });
        }
        Words words(w.reading);
        explain_hand(context, words);
    }
    return w;
}

double surge_trigger(const Function& function, const Context& context) {
    return 0.02 * context.manual_range.value_or(function.ranges.front());
}

namespace {

// When a current first exceeds the trigger, either way.
std::optional<double> triggered(trace::View current, double trigger_A) {
    for (const trace::Segment& s : current) {
        if (std::fabs(s.y0) > trigger_A) return s.t0;
        if (std::fabs(s.y1) > trigger_A)
            return s.t0 + (s.t1 - s.t0) * ((s.y1 > 0.0 ? trigger_A : -trigger_A) - s.y0) / (s.y1 - s.y0);
    }
    return std::nullopt;
}

// A clamp that waits for a surge, and what it tells of the stretch it keeps.
struct Catch {
    const Spec& spec;
    Mode mode;
    trace::View current;
    const Context& context;
    Surge& out;
    const Function& fn = spec.function(mode);
    const bool average = fn.detector == Detector::average;
    const double finish = trace::finish(current);
    Words words{out.reading};
    const std::string trigger = words("trigger_A", out.trigger_A, "A"),
                      seconds = words("seconds", trace::duration(current), "s");
    double at = 0.0, end = 0.0;
    Response seen{};

    void nothing() {
        const trace::Statistics whole = trace::statistics(current);
        out.reading.shown = "----";
        words.say("The display waits: in {} no current above the trigger of {} came.", seconds, trigger);
        words.say("The largest was {}.", words("largest", std::max(std::fabs(whole.min), std::fabs(whole.max)), "A"));
    }

    void keep(double from) {
        at = from, end = std::min(from + out.window_s, finish);
        seen = whole_filter(fn).respond_from_rest(current, {at, end}).front().times(1.0 / context.reference);
        out.start_s = at;
        out.value = average ? sine_form * seen.rectified_mean : seen.rms;
        out.peak = std::max(std::fabs(seen.min), std::fabs(seen.max));
        const Display d = display(spec, mode, *out.value, context.manual_range);
        set_display(spec, mode, *out.value, d, out.reading);
        out.reading.truth = truth_of(trace::slice(current, at, end));
        say_kept(d);
        say_limits();
        say_after();
        say_plain();
    }

  private:
    void say_kept(const Display& d) {
        const std::string waited = words("waited", at - trace::start(current), "s"),
                          kept = words("window_s", end - at, "s"), display = d.over ? d.text : words.shown(d.rounded);
        if (average)
            words.say(
                "The clamp is triggered {} after it began to wait, when the current first exceeds {}. It keeps the "
                "rectified mean, times what a sine wants, of the next {}: {}.",
                waited, trigger, kept, display);
        else
            words.say(
                "The clamp is triggered {} after it began to wait, when the current first exceeds {}. It keeps the "
                "true rms of the next {}: {}.",
                waited, trigger, kept, display);
        words.say("The highest peak it sees meanwhile is {}.", words("peak", *out.peak, "A"));
        explain_hand(context, words);
    }

    // What its own limits take of a current that hardly alternates, or has edges.
    void say_limits() {
        const double off = *out.value * context.reference / out.reading.truth.rms.value_or(0.0) - 1.0;
        if (std::fabs(off) < 0.005) return;
        // The same clamp without its lower limit: what is left between the two is that limit's.
        Function open = fn;
        open.coupling_Hz = 0.0;
        const Response all = whole_filter(open).respond_from_rest(current, {at, end}).front();
        const double lower = average ? seen.rectified_mean / all.rectified_mean - 1.0 : seen.rms / all.rms - 1.0;
        const std::string limit =
            fn.coupling_Hz > 0.0 && std::fabs(lower) > 0.5 * std::fabs(off)
                ? text::say("Its lower limit of {} alone loses {}: a start begins with current that hardly alternates.",
                            words("coupling_Hz", fn.coupling_Hz, "Hz"), words("coupling_loss", std::fabs(lower), "%"))
                : std::string();
        const std::string rms = words("true_rms", *out.reading.truth.rms, "A"),
                          by = words("reading_off", std::fabs(off), "%");
        words.said(
            text::sentences({off < 0.0 ? text::say("The true rms of that stretch, direct part and all, is {}: the "
                                                   "clamp's own limits make it {} less.",
                                                   rms, by)
                                       : text::say("The true rms of that stretch, direct part and all, is {}: the "
                                                   "clamp's own limits make it {} more.",
                                                   rms, by),
                             limit}));
    }

    // What is left once the surge is over.
    void say_after() {
        if (finish - end > out.window_s) {
            const double after = trace::statistics(trace::slice(current, finish - out.window_s, finish)).rms;
            if (after > 0.0)
                words.say("In the last {} of the {} watched the current is {} rms: the start took {} times as much.",
                          words("window_s", end - at, "s"), seconds, words("after_rms", after, "A"),
                          words("surge_ratio", *out.reading.truth.rms / after, ""));
        } else if (end < at + out.window_s * (1.0 - 1e-9)) {
            words.warn("the watching ended before the clamp's window did");
        }
    }

    // What the display would have shown of it without that memory.
    void say_plain() {
        if (spec.update_per_s * trace::duration(current) < 1.0 || out.reading.reasons.size() >= 5) return;
        const Watch plain = watch(spec, mode, current, context);
        if (plain.max)
            words.say("Without this memory the display, at {} between updates, would have shown no more than {}.",
                      words("update_interval", 1.0 / spec.update_per_s, "s"), words("largest_shown", *plain.max, "A"));
    }
};

}  // namespace

Surge surge(const Spec& spec, Mode mode, trace::View current, const Context& context, double trigger_A,
            double window_s) {
    if (!takes_clamp(mode))
        throw std::invalid_argument(text::say("mode {} takes no clamp and catches no surge", mode_name(mode)));
    Surge out;
    out.trigger_A = trigger_A == 0.0 ? surge_trigger(spec.function(mode), context) : trigger_A;
    out.window_s = window_s;
    if (!(out.trigger_A > 0.0 && window_s > 0.0))
        throw std::invalid_argument(text::tr("surge: trigger and window must be positive"));
    trace::check(current);
    out.reading.unit = unit_of(mode);
    out.reading.truth = truth_of(current);
    Catch clamp{spec, mode, current, context, out};
    const std::optional<double> at = triggered(current, out.trigger_A);
    if (at && clamp.finish - *at > 0.0) clamp.keep(*at);
    else clamp.nothing();
    return out;
}

}  // namespace sunshaft::meter
