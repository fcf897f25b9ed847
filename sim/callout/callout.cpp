#include "callout/callout.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "bench/senses.hpp"
#include "diagnose/hypotheses.hpp"
#include "diagnose/sights.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::callout {
namespace {

constexpr double watched_s = 12.0;   // of running, long enough for a trip and what comes after it
constexpr double less_water = 0.85;  // of the healthy flow, from where an owner complains
constexpr double weak_light = 90.0;  // W/m2
constexpr double watched_late_s = 60.0;
constexpr double healthy_share = 0.1, weak_share = 0.1, two_share = 0.1, late_share = 0.1;  // of all calls
// What can wait until it is warm, or has had its time; whether it does is watched.
constexpr std::array<std::string_view, 6> late_kinds{"splice-opens-when-warm", "heat-sink-blocked",
                                                     "motor-cooling-lost",     "low-well",
                                                     "jumper-left-in",         "encrusted-screen"};
constexpr double common = 2.0;  // weight in priors.toml from which a fault is common
constexpr int tries = 60, late_tries = 6;

// The same numbers on every machine: the library's distributions are not.
class Dice {
  public:
    explicit Dice(std::uint64_t seed) : engine_(seed * 0x9e3779b97f4a7c15ULL + 1) {}
    double roll() { return static_cast<double>(engine_() >> 11) / 9007199254740992.0; }
    std::size_t below(std::size_t n) { return static_cast<std::size_t>(roll() * static_cast<double>(n)); }
    std::size_t among(const std::vector<double>& weights) {
        double sum = 0.0;
        for (const double w : weights) sum += w;
        double left = roll() * sum;
        for (std::size_t n = 0; n < weights.size(); ++n)
            if ((left -= weights[n]) < 0.0) return n;
        return weights.size() - 1;
    }

  private:
    std::mt19937_64 engine_;
};

// As the site is written: a broken coupling leaves no pump on the shaft.
bool pumps(const bench::Bench& bench) { return site::set_up(bench.scenario()).water.pump.index() != 0; }
double output(bench::Bench& bench) {
    return pumps(bench) ? bench.gauge("flow").value : std::abs(bench.state().x[plant::speed]);
}

}  // namespace

double healthy_output(const Scenario& scenario) {
    bench::Bench bench(scenario);
    bench.advance(watched_s);
    return output(bench);
}

Signs signs(const Scenario& scenario, const bench::Edits& edits, double healthy, bool late) {
    bench::Bench bench(scenario, edits);
    const auto look = [&] {
        Signs s;
        s.pumps = pumps(bench);
        const double flow = output(bench);
        s.water = flow <= 0.02 * healthy        ? Signs::Water::none
                  : flow < less_water * healthy ? Signs::Water::little
                                                : Signs::Water::usual;
        s.lamps = static_cast<unsigned>(bench.gauge("lamps").value);
        s.gives_up = bench.state().control.trips > 0;
        return s;
    };
    bench.advance(watched_s);
    Signs s = look();
    if (!late || s.water != Signs::Water::usual || s.gives_up) return s;
    bench.advance(watched_late_s - watched_s);
    Signs then = look();
    then.late = then.water != Signs::Water::usual || then.gives_up;
    return then.late ? then : s;
}

Complaint complaint(const Signs& s, std::uint64_t seed) {
    return {s, static_cast<unsigned>(Dice(seed).below(complaint_days)), ""};
}

std::string words(const Complaint& c) {
    if (!c.own.empty()) return c.own;
    constexpr std::array<const char*, complaint_days> since{text::id("Since Tuesday"), text::id("Since the weekend"),
                                                            text::id("Since yesterday"), text::id("For some days")};
    const Signs& s = c.signs;
    const char* what = "";
    switch (s.water) {
        case Signs::Water::none:
            what = s.pumps ? text::tr("no water comes.") : text::tr("the motor does not turn.");
            break;
        case Signs::Water::little:
            what = s.pumps ? text::tr("less water comes than it used to.")
                           : text::tr("the motor is slower than it used to be.");
            break;
        case Signs::Water::usual:
            what = s.pumps ? text::tr("the tank is not full by evening, though water comes.")
                           : text::tr("something is not as it was.");
            break;
    }
    return text::sentences({fmt::format("{} {}", text::tr(since[c.since]), what),
                            s.late ? text::tr("At first all is well, for a minute or so.") : "",
                            s.gives_up ? text::tr("The box tries, gives up, and tries again.") : "",
                            s.lamps == 0 ? text::tr("Nothing is lit on the box.")
                                         : text::say("Lit on the box: {}.", bench::sense_words("lamps", s.lamps))});
}

bench::Edits edits(const Callout& c) {
    bench::Edits e;
    e.set = c.set;
    e.faults = c.faults;
    return e;
}

namespace {

// Another fault in another part of the site, that changes nothing of what shows: whoever stops at the first misses it.
template <class Fault>
void add_second(const Scenario& scenario, const std::vector<diagnose::Cause>& causes, const std::string& where,
                double usual, std::uint64_t seed, const Fault& fault, Dice& dice, Callout& c) {
    std::vector<double> weights;
    for (const diagnose::Cause& cause : causes) weights.push_back(cause.where == where ? 0.0 : cause.prior);
    for (int n = 0; n < tries; ++n) {
        const diagnose::Cause& cause = causes[dice.among(weights)];
        if (cause.where == where) continue;
        Callout both = c;
        both.faults.push_back(fault(cause));
        both.second = Named{cause.fault, both.faults.back().place};
        try {
            both.owner = complaint(signs(scenario, edits(both), usual), seed);
        } catch (const std::exception&) {
            continue;
        }
        c = std::move(both);
        return;
    }
}

}  // namespace

Callout draw(const Scenario& scenario, const diagnose::Priors& priors, const Wish& wish,
             const std::function<bool(double)>& progress) {
    Dice dice(wish.seed);
    Callout c;
    c.site = scenario.file;
    const double usual = wish.usual > 0.0 ? wish.usual : healthy_output(scenario);
    const bool array = site::set_up(scenario).supply.kind == site::Supply::Kind::array;
    const double first = dice.roll();
    if (first < healthy_share + weak_share) {
        const bool weak = array && first >= healthy_share;
        c.truth.fault = weak ? "low-sun" : "health";
        if (weak) c.set.push_back(fmt::format("sun.irradiance_W_m2={:.0f}", weak_light * (0.4 + 0.6 * dice.roll())));
        c.owner = complaint(signs(scenario, edits(c), usual), wish.seed);
        return c;
    }
    const diagnose::Case nothing_read;
    std::vector<diagnose::Cause> causes = diagnose::causes(scenario, nothing_read, priors, false);
    std::erase_if(causes, [&](const diagnose::Cause& cause) {
        const auto weight = priors.fault.find(cause.fault);
        return !site::find_fault(cause.fault) || cause.where == "data" ||
               (wish.level == 1 && (weight == priors.fault.end() || weight->second < common));
    });
    const bool two = first < healthy_share + weak_share + two_share;
    const bool late = !two && first < healthy_share + weak_share + two_share + late_share;
    const auto fault = [&](const diagnose::Cause& cause) {
        const site::FaultRow& row = *site::find_fault(cause.fault);
        const std::string& place = cause.places[dice.below(cause.places.size())];
        return site::Fault{cause.fault, place, site::severity_at(row, 0.4 + 0.6 * dice.roll()), 0.0};
    };
    // What is to show late comes first; where none does on this site, any other.
    std::vector<diagnose::Cause> waiting = causes;
    std::erase_if(waiting,
                  [](const diagnose::Cause& x) { return std::ranges::find(late_kinds, x.fault) == late_kinds.end(); });
    for (const bool wait : {true, false}) {
        const std::vector<diagnose::Cause>& among = wait ? waiting : causes;
        if (among.empty() || (wait && !late)) continue;
        std::vector<double> weights;
        for (const diagnose::Cause& cause : among) weights.push_back(cause.prior);
        for (int n = 0; n < (wait ? late_tries : tries); ++n) {
            if (progress && !progress(static_cast<double>(n) / tries)) throw diagnose::Stopped();
            const diagnose::Cause& cause = among[dice.among(weights)];
            c.faults = {fault(cause)};
            c.truth = {cause.fault, c.faults[0].place};
            c.second.reset();
            try {
                const Signs alone = signs(scenario, edits(c), usual, wait);
                const bool shows = alone.water != Signs::Water::usual || alone.gives_up;
                if (!shows || alone.late != wait || (wish.level == 1 && alone.water != Signs::Water::none)) continue;
                c.owner = complaint(alone, wish.seed);
                if (two) add_second(scenario, causes, cause.where, usual, wish.seed, fault, dice, c);
                return c;
            } catch (const std::exception&) {
                continue;  // such a site cannot be
            }
        }
    }
    throw site::BadInput(text::say("{}: no fault shows there, expected a site whose water can stop",
                                   site::on_one_line(scenario.site.name)));
}

}  // namespace sunshaft::callout
