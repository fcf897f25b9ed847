// The modes that put a source of the meter's own on the circuit: ohm, continuity, diode, insulation,
// capacitance.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "meter/chain.hpp"
#include "roots/roots.hpp"
#include "text/language.hpp"

namespace sunshaft::meter {

namespace {

// The meter's source: constant current up to nine tenths of its open voltage, then falling in a straight line
// to nothing; driven beyond that from outside, its protection takes over.
struct Source {
    double ampere, open_V;
    static constexpr double protection_ohm = 2e3;
    double current(double v) const {
        if (v > open_V) return (open_V - v) / std::max(protection_ohm, 0.1 * open_V / ampere);
        return std::min(ampere, (open_V - v) * ampere / (0.1 * open_V));
    }
};

struct Point {
    double volt, ampere;  // at the meter's sockets; ampere out of the red one
};

// Sought as the voltage at the probes' tips, which the circuit's law is given for; the leads lie between tips and
// sockets.
Point meet(const Source& s, const Passive& circuit, double leads_ohm) {
    const auto surplus = [&](double tips) {
        const double i = circuit.current(tips);
        return i - s.current(tips + leads_ohm * i);
    };
    // Beyond the source's own span only if something else drives the circuit.
    double lo = 0.0, hi = s.open_V;
    for (double reach = 10.0; surplus(lo) > 0.0 && reach < 1e5; reach *= 10.0) lo = -reach;
    for (double reach = 10.0 * s.open_V; surplus(hi) < 0.0 && reach < 1e6; reach *= 10.0) hi = reach;
    double v = roots::root(surplus, lo, hi);
    v += leads_ohm * circuit.current(v);
    if (std::fabs(v) < 1e-9) v = 0.0;  // below what the root is good for
    return {v, s.current(v)};
}

double standing_voltage(const Passive& circuit) {
    const double i0 = circuit.current(0.0);
    if (std::fabs(i0) < 1e-12) return 0.0;
    return roots::root(circuit.current, i0 > 0.0 ? -1e4 : 0.0, i0 > 0.0 ? 0.0 : 1e4);
}

void fill(Reading& r, const Spec& spec, Mode mode, double value, std::optional<double> range) {
    const double most = std::numeric_limits<double>::max();
    set_display(spec, mode, value, display(spec, mode, std::isfinite(value) ? value : most, range), r);
}

struct Bench {
    const Spec& spec;
    Mode mode;
    const Passive& circuit;
    const Context& ctx;
    Reading& r;
    Words words;
    double standing;

    const Function& fn() const { return spec.function(mode); }
    std::string shown() { return r.value ? words.shown(r.resolution * std::round(*r.value / r.resolution)) : r.shown; }
    double source_A(std::size_t k) const { return fn().source_A.size() > 1 ? fn().source_A[k] : fn().source_A[0]; }
    double leads() const { return spec.leads_ohm + ctx.lead_ohm; }
    bool live() const { return std::fabs(standing) > 0.01 || circuit.ac_rms > 0.01; }

    void say_live() {
        if (!live()) return;
        const std::string dc = std::fabs(standing) > 0.01 ? words("standing_V", standing, "V") : "",
                          ac = circuit.ac_rms > 0.01 ? words("standing_ac_V", circuit.ac_rms, "V") : "";
        if (ac.empty()) words.warn("This circuit is live: {} DC is present, and the reading is nonsense.", dc);
        else if (dc.empty()) words.warn("This circuit is live: {} AC is present, and the reading is nonsense.", ac);
        else words.warn("This circuit is live: {} DC and {} AC is present, and the reading is nonsense.", dc, ac);
    }

    // The leads' part of a reading in ohms, where it makes a difference; true when said.
    bool say_leads() {
        if (leads() <= 0.0) return false;
        const std::string own = words("leads_ohm", leads(), "ohm");
        if (ctx.relative) {
            words.say(
                "The {} of the test leads are subtracted: they were touched together and the display set to zero.",
                own);
            return true;
        }
        if (leads() < std::max(r.resolution, 0.005 * *r.value)) return false;
        words.say("{} of it are the test leads: without them it is {}. Touch them together and set zero first.", own,
                  words("without_leads", *r.value - leads(), "ohm"));
        return true;
    }

    // Where the meter's source and the circuit meet, in the range that holds it.
    struct Found {
        Point at{0.0, 0.0};
        double ohm = std::numeric_limits<double>::infinity(), range = 0.0;
    };
    Found sought() const {
        Found f;
        const auto& ranges = fn().ranges;
        for (std::size_t k = 0; k < ranges.size(); ++k) {
            if (ctx.manual_range && std::fabs(ranges[k] - *ctx.manual_range) > 1e-9 * ranges[k]) continue;
            f.range = ranges[k];
            f.at = meet({source_A(k), fn().open_V}, circuit, leads());
            f.ohm =
                f.at.ampere > 1e-6 * source_A(k) ? f.at.volt / f.at.ampere : std::numeric_limits<double>::infinity();
            if (ctx.relative) f.ohm -= leads();
            if (std::fabs(f.ohm) <= f.range) break;
        }
        return f;
    }

    void stage(const char* name, std::string what, double number, const char* is, const char* unit) {
        r.stages.push_back({name, std::move(what), {}, number, is, unit});
    }
    void stages_of(const Found& f) {
        stage(text::id("source"), text::say("{} up to {}", quantity(f.at.ampere, "A"), quantity(fn().open_V, "V")),
              f.at.ampere, text::id("current"), "A");
        if (live()) {
            stage(text::id("probes"), text::id("what is present there by itself: no resistance can be found"),
                  std::max(std::fabs(standing), circuit.ac_rms), text::id("voltage"), "V");
            return;
        }
        stage(text::id("probes"), text::id("the voltage it finds"), f.at.volt, text::id("voltage"), "V");
        stage(text::id("detector"), text::id("voltage over current"), std::isfinite(f.ohm) ? f.ohm : 0.0,
              std::isfinite(f.ohm) ? text::id("resistance") : text::id("open"), "ohm");
    }

    void say_no_ohms(const Found& f) {
        if (live())
            words.say(
                "The display shows {}: the meter's source of {} cannot work against "
                "the voltage {}.",
                r.shown, words("open_V", fn().open_V, "V"), between(ctx));
        else
            words.say(
                "The display shows {}: with {} at its open probes the meter drives no more than {} "
                "through.",
                r.shown, words("open_V", fn().open_V, "V"), words("current", std::max(f.at.ampere, 0.0), "A"));
        if (live()) words.say("Take the probes off. Isolate, prove dead, then measure ohms.");
        else
            words.say(
                "Between these points there is more than {}: an open wire, a disconnected lead or good "
                "insulation.",
                words("range", *r.range, "ohm"));
    }
    void say_live_ohms(const Found& f) {
        const double own = f.at.volt - standing;
        words.say(
            "Only {} of that is its own. The rest is present by itself, so this "
            "number is no resistance.",
            words("own_voltage", own, "V"));
        words.say("Isolate, prove dead, and measure again.");
    }
    void say_continuity() {
        say_leads();
        const std::string below = words("beeps_below", fn().beeps_below_ohm, "ohm");
        if (r.beeps)
            words.say(
                "It sounds, as it does for anything below {}. That is far from proof of a good joint: read the "
                "number too.",
                below);
        else words.say("It stays silent above {}: a current passes nevertheless.", below);
    }
    // How sure the figure is, and what is in it.
    void say_resistance() {
        const bool said = say_leads();
        if (*r.value < 10.0 * (*r.high - *r.value)) {
            const std::string share =
                words("tolerance_share", (*r.high - *r.value) / std::max(*r.value, r.resolution), "%");
            if (said || ctx.relative) words.say("At so few counts the tolerance is {} of the reading.", share);
            else
                words.say(
                    "At so few counts the tolerance is {} of the reading. Touch the probes together first and "
                    "subtract what the leads show.",
                    share);
        } else if (!said) {
            words.say("It sees every path between the two points at once, through windings and other meters too.");
        }
    }

    void ohms() {
        const Found f = sought();
        // An alternating voltage swamps the few millivolts the meter looks for.
        const bool swamped = circuit.ac_rms > 2.0 * fn().open_V;
        fill(r, spec, mode, swamped ? std::numeric_limits<double>::infinity() : f.ohm,
             f.range > 0.0 ? std::optional(f.range) : ctx.manual_range);
        const bool continuity = mode == Mode::continuity;
        if (continuity) r.beeps = r.value && *r.value < fn().beeps_below_ohm;
        stages_of(f);
        say_live();
        if (r.over_range) return say_no_ohms(f);
        words.say("The display shows {}, give or take {}: the meter sends {} out of the red probe and finds {}.",
                  shown(), words("tolerance", *r.high - *r.value, "ohm"), words("current", f.at.ampere, "A"),
                  words("voltage", f.at.volt, "V"));
        if (live()) say_live_ohms(f);
        else if (continuity) say_continuity();
        else say_resistance();
    }

    void diode() {
        const Point p = meet({source_A(0), fn().open_V}, circuit, leads());
        const bool conducts = p.volt < 0.9 * fn().open_V;
        fill(r, spec, mode, conducts ? p.volt : std::numeric_limits<double>::infinity(), ctx.manual_range);
        stage(text::id("source"), text::id("current forced from red to black"), p.ampere, text::id("current"), "A");
        stage(text::id("probes"), text::id("the voltage it takes"), p.volt, text::id("voltage"), "V");
        say_live();
        if (r.over_range) {
            words.say("The display shows {}: {} does not get {} through from red to black.", r.shown,
                      words("open_V", fn().open_V, "V"), words("source_A", source_A(0), "A"));
            words.say(
                "A diode the wrong way round does that, and so does an open path: exchange the probes and "
                "compare.");
            return;
        }
        words.say("The display shows {}: the voltage needed to send {} from red to black.", shown(),
                  words("current", p.ampere, "A"));
        if (p.volt < 0.1) words.say("That is no diode: a short, or a winding across it.");
        else if (p.volt < 1.0)
            words.say("One diode, forward, takes about that much. Exchange the probes: it must block.");
        else words.say("That is more than one diode takes: two or more are in series.");
    }

    // As it was set, or the lowest from 500 V on.
    double test_V() const {
        const auto& choices = fn().test_V;
        if (ctx.test_V > 0.0) {
            const auto at = std::find(choices.begin(), choices.end(), ctx.test_V);
            if (at == choices.end())
                throw std::invalid_argument(
                    text::say("the meter '{}' has no test voltage of {}", spec.name, quantity(ctx.test_V, "V")));
            return *at;
        }
        const auto at = std::find_if(choices.begin(), choices.end(), [](double v) { return v >= 500.0; });
        return at != choices.end() ? *at : choices.back();
    }
    void refuse() {
        r.range = fn().ranges.back();
        r.resolution = resolution(spec, *r.range);
        r.shown = text::tr("live");
        say_live();
        words.say("The tester refuses: it finds {} {} and puts no test voltage on a live circuit.",
                  words("found_V", std::max(std::fabs(standing), circuit.ac_rms), "V"), between(ctx));
        words.say("Isolate, cover the modules, discharge and prove dead. Then begin again.");
    }
    // Regulated, so the knee is sharp: a source of ten times the compliance rounded off would lower the voltage it
    // states.
    Point regulated(double test) const {
        const double limit = fn().source_A[0];
        const auto source = [&](double v) { return std::min(limit, (test - v) * limit / (0.001 * test)); };
        const double tips = roots::root(
            [&](double x) {
                const double at = circuit.current(x);
                return at - source(x + leads() * at);
            },
            0.0, test);
        const double i = circuit.current(tips);
        return {tips + leads() * i, i};
    }
    // IEEE 43-2013: thermoplastic insulation halves for every 10 K, referred to 40 degC; 5
    // Mohm is the least for random-wound windings below 1 kV.
    void say_corrected(double ohm) {
        const double corrected = ohm * std::pow(0.5, (40.0 - ctx.temperature_degC) / 10.0);
        constexpr double least = 5e6;
        const std::string from = words("temperature_degC", ctx.temperature_degC, ""),
                          to = words("reference_degC", 40.0, ""), halving = words("halving_K", 10.0, ""),
                          then = words("at_40_degC", corrected, "ohm"), asked = words("least_ohm", least, "ohm");
        if (corrected >= least)
            words.say(
                "Brought from {} degC to {} degC, halving for every {} K, it is {}. That is not below the {} that "
                "IEEE 43 asks of a low-voltage winding.",
                from, to, halving, then, asked);
        else
            words.say(
                "Brought from {} degC to {} degC, halving for every {} K, it is {}. That is below the {} that IEEE "
                "43 asks of a low-voltage winding.",
                from, to, halving, then, asked);
        if (corrected < least) words.say("Test cable, splice and motor apart before you condemn one of them.");
    }

    void insulation() {
        const double test = test_V(), limit = fn().source_A[0];
        constexpr double refuses_V = 25.0;
        if (std::fabs(standing) > refuses_V || circuit.ac_rms > refuses_V) return refuse();
        const auto [v, i] = regulated(test);
        const double ohm = i > 0.0 ? v / i : std::numeric_limits<double>::infinity();
        fill(r, spec, mode, ohm, ctx.manual_range);
        stage(text::id("source"), text::say("{}, at most {}", quantity(test, "V"), quantity(limit, "A")), v,
              text::id("voltage"), "V");
        stage(text::id("detector"), text::id("the current that leaks"), i, text::id("current"), "A");
        if (r.over_range) {
            words.say("The display shows {}: at {} less than {} leaks, too little to tell.", r.shown,
                      words("test_V", test, "V"), words("least_A", test / *r.range, "A"));
            words.say("That is the best this tester can show.");
            return;
        }
        const bool held = v > 0.95 * test;
        words.say("The display shows {}: {} drives {} through the insulation {}.", shown(), words("voltage", v, "V"),
                  words("current", i, "A"), between(ctx));
        if (!held)
            words.warn("the tester can give {} at most and its voltage broke down to {}", words("limit_A", limit, "A"),
                       words("voltage", v, "V"));
        if (ohm < r.resolution) words.say("That is a dead short between these points.");
        else say_corrected(ohm);
    }

    void capacitance() {
        // Charged with a constant current to one volt, and timed: a leak takes its share of the current
        // meanwhile.
        constexpr double to_V = 1.0;
        const double leak_A = circuit.current(to_V) - circuit.current(0.0);
        const double C = circuit.capacitance_F;
        double shown_F = std::numeric_limits<double>::infinity(), charge_A = 0.0;
        const auto& ranges = fn().ranges;
        for (std::size_t k = 0; k < ranges.size(); ++k) {
            if (ctx.manual_range && std::fabs(ranges[k] - *ctx.manual_range) > 1e-9 * ranges[k]) continue;
            charge_A = source_A(k);
            const double share = leak_A / charge_A;
            shown_F = share < 1e-9  ? C
                      : share < 1.0 ? -C * std::log1p(-share) / share
                                    : std::numeric_limits<double>::infinity();
            if (shown_F <= ranges[k]) break;
        }
        fill(r, spec, mode, live() ? std::numeric_limits<double>::infinity() : shown_F, ctx.manual_range);
        stage(text::id("source"), text::id("charging current"), charge_A, text::id("current"), "A");
        say_live();
        if (r.over_range) {
            if (live())
                words.say("The display shows {}: a charge that is not the meter's own is present {}.", r.shown,
                          between(ctx));
            else
                words.say("The display shows {}: {} leaks away at one volt while the meter charges with {}.", r.shown,
                          words("leak_A", leak_A, "A"), words("charge_A", charge_A, "A"));
            words.say("Discharge and disconnect both ends, then measure again.");
            return;
        }
        words.say("The display shows {}, give or take {}: found from the time {} needs to charge it to one volt.",
                  shown(), words("tolerance", *r.high - *r.value, "F"), words("charge_A", charge_A, "A"));
        if (C > 0.0 && shown_F / C - 1.0 > 0.005)
            words.say("A leak takes {} of that current, so it reads {} high: there are {}.",
                      words("leak_share", leak_A / charge_A, "%"), words("reading_off", shown_F / C - 1.0, "%"),
                      words("capacitance_F", C, "F"));
        else words.say("No leak disturbs it.");
        words.say(
            "Between the cores of a cable it grows with the length. A broken core shows less, in "
            "proportion to where it is broken.");
    }
};

}  // namespace

Passive resistance(double ohm, double standing_V, double capacitance_F) {
    Passive p;
    if (std::isinf(ohm)) p.current = [](double) { return 0.0; };
    else p.current = [ohm, standing_V](double v) { return (v - standing_V) / std::max(ohm, 1e-9); };
    p.capacitance_F = capacitance_F;
    return p;
}

Reading read(const Spec& spec, Mode mode, const Passive& circuit, const Context& ctx) {
    if (!drives_circuit(mode))
        throw std::invalid_argument(
            text::say("mode {} is read from a wave, it has no source of its own", mode_name(mode)));
    (void)spec.function(mode);
    if (!circuit.current) throw std::invalid_argument(text::tr("reading: the circuit has no current law"));
    Reading r;
    r.unit = unit_of(mode);
    if (ctx.manual_range) (void)display(spec, mode, 0.0, ctx.manual_range);
    Bench bench{spec, mode, circuit, ctx, r, Words(r), standing_voltage(circuit)};
    if (bench.live()) r.truth.mean = bench.standing;
    if (mode == Mode::diode) bench.diode();
    else if (mode == Mode::insulation) bench.insulation();
    else if (mode == Mode::cap) bench.capacitance();
    else bench.ohms();
    return r;
}

}  // namespace sunshaft::meter
