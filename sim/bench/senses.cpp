// What is seen, heard, felt and smelt without a meter: the drive's lamps, water at the outlet and what settles from it,
// the sound of the motor and its trembling, the warmth of the box, contacts, a smell. Words, each with a number of its
// own, so that two of them can be told apart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>
#include <span>

#include "bench/senses.hpp"

#include "bench/bench.hpp"
#include "bench/marks.hpp"
#include "bench/sound.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"
#include "text/words.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

using text::say, text::tr;

constexpr double litre_per_minute = 1e-3 / 60.0;
constexpr auto stop_count = static_cast<unsigned>(drive::Cause::rotor_found) + 1;

// A number by what stands where in it. Of a sound: what the motor does, and sound_words.size() times what is heard in
// the pipe with it.
enum Sound : unsigned { silent, by_itself, standing, evenly, humming, swelling };
constexpr const char* outlet_words[] = {text::id("no water"), text::id("a trickle"), text::id("water flows")};
constexpr const char* settles_words[] = {text::id("no water"), text::id("clear, nothing settles"),
                                         text::id("a pinch of grit settles"), text::id("a layer of sand settles")};
constexpr std::array<const char*, 6> sound_words = {
    text::id("silent"),      text::id("a drone, no hum"), text::id("steady hum, no pump heard"),
    text::id("runs evenly"), text::id("runs with a hum"), text::id("runs, swells and fades")};
constexpr const char* hum_alone_at = text::id("steady hum at {}, no pump heard");
constexpr std::array<std::string_view, 4> rush_names = {"", "gurgle", "crackle", "grinding"};
constexpr std::array<const char*, 4> rush_words = {"", text::id("{}, a gurgle of air"),
                                                   text::id("{}, a crackle as of gravel"), text::id("{}, a grinding")};
constexpr const char* vibration_words[] = {text::id("still"), text::id("steady"), text::id("trembles"),
                                           text::id("knocks")};
constexpr const char* box_words[] = {text::id("cold"), text::id("hand-warm"), text::id("too hot to hold")};
constexpr const char* lug_words[] = {text::id("clean"), text::id("discoloured"), text::id("scorched")};
constexpr const char* module_words[] = {text::id("clean and lit"), text::id("dirty"), text::id("a shadow"),
                                        text::id("browned or cracked")};
constexpr const char* smell_words[] = {text::id("nothing"), text::id("warm dust or varnish"), text::id("burnt")};

// Of one word each.
struct Plain {
    std::string_view gauge;
    std::span<const char* const> words;
};
constexpr Plain plain_senses[] = {{"outlet", outlet_words}, {"settles", settles_words}, {"vibration", vibration_words},
                                  {"box", box_words},       {"lug", lug_words},         {"smell", smell_words},
                                  {"modules", module_words}};
std::string_view stem(std::string_view gauge) { return gauge.substr(0, gauge.find('.')); }  // lug.isolator
const Plain* plain_of(std::string_view gauge) {
    const auto* at = std::find_if(std::begin(plain_senses), std::end(plain_senses),
                                  [&](const Plain& p) { return p.gauge == stem(gauge); });
    return at == std::end(plain_senses) ? nullptr : at;
}

std::string with_it(std::size_t rush, const std::string& motor) {
    return rush == 0 ? motor : text::say_of(rush_words[rush], motor);
}

Bench::Gauge told(const char* gauge, unsigned number, std::string how) {
    return {static_cast<double>(number), "", std::move(how), sense_words(gauge, number)};
}

Bench::Gauge lamps_seen(const Bench& bench) {
    unsigned number = 0, bit = 1;
    for (const drive::Lamp& lamp : drive::lamps(bench.state().control)) {
        if (lamp.on) number |= bit;
        bit <<= 1U;
    }
    return told("lamps", number, tr("looking at the drive's front"));
}

// The drive's own display: what its sensors believe.
Bench::Gauge drive_shows(Bench& bench, const std::string& name) {
    const char* const where = tr("on the drive's own display");
    const plant::State& state = bench.state();
    const drive::Display d = drive::display(state.control);
    if (d.dark) return {0.0, "", where, std::string(tr("dark"))};
    if (name == "drive_V") return {d.link_V, std::string(gauge_unit(name)), where};
    if (name == "drive_A") return {d.amperes, std::string(gauge_unit(name)), where};
    if (name == "drive_stop") return told("drive_stop", static_cast<unsigned>(d.last_stop), where);
    return {state.command.running ? plant::fundamental(bench.plant(), state) : 0.0, std::string(gauge_unit(name)),
            where};
}

// By eye; where a trickle ends is common practice, no source.
Bench::Gauge outlet_seen(Bench& bench) {
    const double flow = bench.gauge("flow").value;
    return told("outlet",
                flow < litre_per_minute         ? 0U
                : flow < 5.0 * litre_per_minute ? 1U
                                                : 2U,
                tr("looking at the outlet"));
}

// What lies at the bottom of a bucket of ten litres a while later; how much is seen is common practice, no source.
Bench::Gauge settled_seen(Bench& bench) {
    constexpr double pinch = 0.01, layer = 0.1;  // kg/m3
    const double sand = bench.site()->works.water.sand;
    const unsigned number = bench.gauge("flow").value < litre_per_minute ? 0U
                            : sand < pinch                               ? 1U
                            : sand < layer                               ? 2U
                                                                         : 3U;
    return told("settles", number, tr("a bucket of water, left to settle"));
}

trace::Trace without_mean(trace::Trace of) {
    const double mean = trace::statistics(of).mean;
    for (trace::Segment& s : of) s.y0 -= mean, s.y1 -= mean;
    return of;
}

// Shares of the motor's rated current and torque from which a current, and a torque that swings twice a turn of the
// field, are heard (common practice, no source); the ear's lower end, and its upper one for the whine of a carrier.
constexpr double heard_current = 0.1, heard_torque = 0.1, heard_swell = 0.02;
constexpr double lowest_heard_Hz = 16.0;
// Noise that is plain with the ear on the pipe (sound.cpp).
constexpr double plain = 0.005;

// A rotor that is not the same all round swells and fades at twice the slip: one field of its currents turns with it,
// one against it. Slower nobody waits for, faster is a hum.
bool swells(Bench& bench, double rated_torque) {
    const site::Site& site = *bench.site();
    const bool whole = std::visit(
        [](const auto& m) {
            if constexpr (requires { m.cage_asymmetry; }) return m.cage_asymmetry == 0.0;
            else return true;
        },
        site.works.motor);
    if (whole) return false;  // nothing that beats with the slip
    const double slip_Hz =
        plant::fundamental(bench.plant(), bench.state()) -
        site::pole_pairs(site.works.motor) * std::abs(bench.state().x[plant::speed]) / (2.0 * std::numbers::pi);
    if (slip_Hz < 0.5 || slip_Hz > 10.0) return false;
    plant::Recorder recorder({plant::signal(site, "torque_N_m")});
    bench.plant().advance_turns(bench.state(), 1.0, recorder);
    constexpr double step_Hz = 0.5;
    constexpr std::size_t first = 3, last = 40;  // 2 to 20 Hz: above, it is a hum (common practice, no source)
    const auto all = trace::harmonics(without_mean(recorder.recording.signal(0)), step_Hz, static_cast<int>(last));
    return std::any_of(all.begin() + first, all.end(),
                       [&](const trace::Phasor& p) { return std::abs(p) > heard_swell * rated_torque; });
}

// Twice the field's frequency in the torque is what an unbalanced line makes: its two counter-rotating fields pass each
// other so often.
struct Motor {
    Sound sound = silent;
    bool fed = false;
    double twice_Hz = 0.0;
};
Motor motor_heard(Bench& bench, double seconds) {
    const site::Site& site = *bench.site();
    const plant::X rated = plant::reference(site);
    plant::Recorder recorder({plant::signal(site, "torque_N_m"), plant::signal(site, "around.u"),
                              plant::signal(site, "around.v"), plant::signal(site, "around.w")});
    bench.plant().advance_turns(bench.state(), seconds, recorder);
    double ampere = 0.0;
    for (std::size_t k = 1; k < 4; ++k) ampere = std::max(ampere, trace::statistics(recorder.recording.signal(k)).rms);
    const double speed = bench.state().x[plant::speed];
    Motor m{silent, ampere > heard_current * rated[plant::i_alpha] / std::numbers::sqrt2,
            2.0 * plant::fundamental(bench.plant(), bench.state())};
    if (!m.fed) m.sound = std::abs(speed) > 1.0 ? by_itself : silent;
    else if (std::abs(speed) < 0.02 * rated[plant::speed]) m.sound = standing;
    else {
        const double torque = plant::reference_torque(rated);
        const double swing = std::abs(trace::phasor(recorder.recording.signal(0), m.twice_Hz));
        m.sound = swing > heard_torque * torque ? humming : swells(bench, torque) ? swelling : evenly;
    }
    return m;
}

Bench::Gauge sound_heard(Bench& bench) {
    const Motor m = motor_heard(bench, 0.2);
    const Rush* rush = nullptr;
    const auto rushes = pump_noise(bench, Ear::pipe);
    for (const Rush& r : rushes)
        if (r.level > plain && (!rush || r.level > rush->level)) rush = &r;
    const auto also = rush ? std::find(rush_names.begin(), rush_names.end(), rush->what) : rush_names.begin();
    const auto number =
        static_cast<unsigned>(m.sound + sound_words.size() * static_cast<std::size_t>(also - rush_names.begin()));
    Bench::Gauge g = told("sound", number, tr("listening at the wellhead, ear on the pipe"));
    const auto at_twice = [&] { return text::quantity(m.twice_Hz, "Hz", 3); };
    if (m.sound == humming) g.says = with_it(number / sound_words.size(), say("runs with a hum at {}", at_twice()));
    if (m.sound == standing && m.twice_Hz > lowest_heard_Hz) g.says = text::say_of(hum_alone_at, at_twice());
    if (const auto carrier = bench.context({}).carrier_Hz; m.fed && carrier && *carrier < audible_Hz)
        g.says = say("{}, a whine at {}", g.says, text::quantity(*carrier, "Hz", 2));
    return g;
}

// A hand feels less than an ear hears: what swings in the torque trembles, what comes in bursts knocks (levels: common
// practice, no source).
Bench::Gauge vibration_felt(Bench& bench) {
    const Motor m = motor_heard(bench, 0.04);  // a turn or two, as often as it is asked for
    constexpr double felt = 0.02;
    const auto rushes = pump_noise(bench, Ear::pipe);
    const bool knocks =
        std::any_of(rushes.begin(), rushes.end(), [](const Rush& r) { return r.bursts_per_s > 0.0 && r.level > felt; });
    const bool trembles = m.sound == standing || m.sound == humming || m.sound == swelling;
    return told("vibration",
                knocks              ? 3U
                : trembles          ? 2U
                : m.sound == silent ? 0U
                                    : 1U,
                tr("a hand on the pipe at the wellhead"));
}

// ISO 13732-1 (from memory) has the threshold of a burn at 58 to 64 degC for bare metal held for four seconds. What a
// hand near it tells from the air: common practice, no source.
Bench::Gauge box_felt(const Bench& bench) {
    constexpr double hot_degC = 60.0, warmer_K = 8.0;
    const double degC = box_degC(bench);
    const std::string shows = text::quantity(degC, "degC", 2);
    return told(
        "box",
        degC > hot_degC                                               ? 2U
        : degC > bench.scenario().sun.air_temperature_degC + warmer_K ? 1U
                                                                      : 0U,
        bench.state().command.running
            ? say("a hand near the drive's box, once it has run for long; an infrared thermometer shows {}", shows)
            : say("a hand near the drive's box; an infrared thermometer shows {}", shows));
}

// The worst of all, or of those asked for.
Bench::Gauge lugs_seen(const Bench& bench, const std::string& name) {
    const std::string_view where = name == "lug" ? std::string_view{} : std::string_view(name).substr(4);
    const Lug* worst = nullptr;
    const auto all = lugs(bench);
    for (const Lug& l : all)
        if (l.place.starts_with(where) || (where == "connector" && l.place.front() == 's'))
            if (!worst || l.mark() > worst->mark()) worst = &l;
    if (!worst)
        throw site::BadInput(
            say("{}: no such contact on this site, expected lug, lug.isolator, lug.drive.u, "
                "lug.connector and the like",
                site::on_one_line(name)));
    const auto mark = static_cast<unsigned>(worst->mark());
    return {static_cast<double>(mark), "",
            mark == 0 ? tr("looking at terminals and contacts, isolated and proved dead")
                      : say("looking at terminals and contacts, isolated and proved dead; the worst: {}", worst->place),
            sense_words("lug", mark)};
}

// What an eye sees of a module. Shares from which: common practice, no source. Of several the plainest.
enum Glass : unsigned { lit, dirty, shady, worn };
Glass glass_of(const site::Module& m) {
    return m.shadow > 0.1 ? shady : m.worn > 0.15 ? worn : m.dirt > 0.08 ? dirty : lit;
}
Bench::Gauge modules_seen(const Bench& bench, const std::string& name) {
    const std::string one = name == "modules" ? "" : name.substr(std::string_view("modules.").size());
    constexpr std::array<int, 4> plainness = {0, 1, 3, 2};
    const site::Array& array = bench.site()->works.array;
    const auto& strings = array.strings;
    Glass seen = lit;
    std::string at;
    bool any = false, all_covered = true;
    const char* const how = tr("looking at the modules from beside them");
    if (strings.empty() && one.empty()) return {0.0, "", how, tr("there are no modules here")};
    for (std::size_t n = 0; n < strings.size(); ++n) {
        const std::string string = fmt::format("s{}", n + 1);
        if (!one.empty() && one != string) continue;
        any = true;
        if (array.covered || strings[n].modules.front().covered) continue;
        all_covered = false;
        for (std::size_t m = 0; m < strings[n].modules.size(); ++m)
            if (const Glass g = glass_of(strings[n].modules[m]); plainness[g] > plainness[seen])
                seen = g, at = fmt::format("{}.m{}", string, m + 1);
    }
    if (!any)
        throw site::BadInput(say("{}: no such modules on this site, expected modules, modules.s1 and the like",
                                 site::on_one_line(name)));
    if (all_covered) return {0.0, "", how, tr("covered")};
    return told("modules", seen,
                seen == lit || seen == dirty ? how : say("looking at the modules from beside them; seen on {}", at));
}

}  // namespace

bool told_in_words(const std::string& gauge) {
    return gauge == "lamps" || gauge == "sound" || gauge == "drive_stop" || plain_of(gauge);
}

std::string sense_words(const std::string& gauge, unsigned number) {
    if (const Plain* p = plain_of(gauge)) return tr(p->words[std::min<std::size_t>(number, p->words.size() - 1)]);
    if (gauge == "sound") {
        return with_it(number / sound_words.size(), tr(sound_words[number % sound_words.size()]));
    }
    if (gauge == "drive_stop") return tr(drive::stop_words(static_cast<drive::Cause>(number)));
    std::string lit;
    for (const drive::Lamp& lamp : drive::lamps({})) {
        if (number & 1U) lit.append(lit.empty() ? "" : ", ").append(tr(lamp.name));
        number >>= 1U;
    }
    return lit.empty() ? std::string(tr("all dark")) : lit;
}

std::vector<SensePart> sense_parts(const std::string& gauge) {
    if (const Plain* p = plain_of(gauge)) return {{std::string(p->gauge), {p->words.begin(), p->words.end()}}};
    if (gauge == "sound")
        return {{"sound", {sound_words.begin(), sound_words.end()}},
                {"pipe noise", {"nothing", "gurgle", "crackle", "grinding"}}};
    if (gauge == "lamps") return std::vector<SensePart>(drive::lamps({}).size(), {"lamps", {"dark", "lit"}});
    std::vector<std::string> stops;
    for (unsigned n = 0; n < stop_count; ++n) stops.emplace_back(drive::stop_words(static_cast<drive::Cause>(n)));
    return {{"drive_stop", std::move(stops)}};
}

namespace {

bool says(const std::string& told, const std::string& english) {
    const auto all = text::said(english);
    return std::find(all.begin(), all.end(), told) != all.end();
}

// As people say it, the word looked for first in front: "sand in the bucket", "not warm", "smells of nothing".
struct Way {
    std::string_view gauge;
    unsigned number;
    text::Heard words;
};
const Way ways[] = {{"settles", 3, {"sand", "mud"}},
                    {"settles", 2, {"grit"}},
                    {"settles", 1, {"clear", "clean"}},
                    {"vibration", 1, {"not knock", "not tremble", "no vibration"}},
                    {"vibration", 3, {"knock", "hammers"}},
                    {"vibration", 2, {"trembl", "shakes", "vibrates"}},
                    {"vibration", 1, {"steady", "smooth"}},
                    {"vibration", 0, {"does not move", "nothing"}},
                    {"box", 0, {"cold", "cool", "not warm", "not hot"}},
                    {"box", 2, {"too hot", "hot"}},
                    {"box", 1, {"warm"}},
                    {"lug", 0, {"not burnt", "not discoloured", "no marks"}},
                    {"lug", 2, {"scorch", "burnt", "charred", "melted"}},
                    {"lug", 1, {"discolour", "discolor", "browned"}},
                    {"lug", 0, {"clean"}},
                    {"modules", 0, {"no shadow", "no shade", "no dirt", "not dirty", "not shaded"}},
                    {"modules", 2, {"shadow", "shade", "leaf", "leaves", "dropping"}},
                    {"modules", 3, {"brown", "crack", "broken"}},
                    {"modules", 1, {"dirt", "dust"}},
                    {"modules", 0, {"clean", "nothing"}},
                    {"smell", 0, {"nothing", "no smell", "not smell", "no burnt", "not burnt"}},
                    {"smell", 2, {"burnt", "burning", "scorch", "smoke"}},
                    {"smell", 1, {"varnish", "dust", "warm", "smell"}}};
std::optional<unsigned> plain_told(const Plain& sense, const std::string& told) {
    for (unsigned n = 0; n < sense.words.size(); ++n)
        if (says(told, sense.words[n])) return n;
    for (const Way& way : ways)
        if (way.gauge == sense.gauge && way.words.in(told)) return way.number;
    return std::nullopt;
}
// Of what is told without being asked: which of the senses is meant.
struct Named {
    const char* gauge;
    text::Heard words;
};
const Named named[] = {{"smell", {"smell", "odour"}},
                       {"box", {"box is", "box feels", "box gets", "warm box", "hot box", "cold box"}},
                       {"lug.isolator", {"isolator"}},
                       {"lug.drive", {"terminal"}},
                       {"lug.connector", {"connector"}},
                       {"lug", {"lug", "contact"}},
                       {"vibration", {"pipe", "wellhead", "vibration"}},
                       {"modules", {"module", "panel", "glass"}}};

// Said of a sound before, when it told what the motor does; notes and journals keep it.
struct Formerly {
    Sound sound;
    text::Heard words;
};
const Formerly formerly[] = {{standing, {"hums and does not turn"}}, {by_itself, {"turns on by itself, no hum"}}};

// How it begins, with any figure where a figure stands.
bool begins(const std::string& told, const std::string& way) {
    const auto gap = way.find("{}");
    return told.starts_with(way.substr(0, gap)) &&
           (gap == std::string::npos || told.find(way.substr(gap + 2), gap) != std::string::npos);
}

// What is heard of the motor; what is heard in the pipe with it may stand alone: "a grinding".
std::optional<unsigned> sound_told(const std::string& told) {
    constexpr auto motors = static_cast<unsigned>(sound_words.size());
    std::optional<unsigned> motor;
    for (unsigned n = 0; n < motors; ++n)
        for (const std::string& way : text::said(sound_words[n]))
            if (begins(told, way)) motor = n;
    for (const std::string& way : text::said(hum_alone_at))
        if (begins(told, way)) motor = standing;
    for (const Formerly& f : formerly)
        for (const std::string& way : f.words.all())
            if (begins(told, way)) motor = f.sound;
    for (unsigned rush = 1; rush < rush_names.size(); ++rush)
        for (const std::string& way : text::said(rush_words[rush]))
            if (told.find(way.substr(way.find_first_not_of("{}, "))) != std::string::npos)
                return motor.value_or(evenly) + motors * rush;
    return motor;
}

std::optional<unsigned> lamps_told(const std::string& told) {
    if (says(told, "all dark")) return 0U;
    unsigned number = 0;
    for (std::size_t from = 0; from <= told.size();) {
        const std::size_t to = std::min(told.find(',', from), told.size());
        const std::size_t begin = std::min(told.find_first_not_of(' ', from), to);
        const std::string one = told.substr(begin, to - begin);
        unsigned bit = 1, found = 0;
        for (const drive::Lamp& lamp : drive::lamps({})) {
            if (says(one, lamp.name)) found = bit;
            bit <<= 1U;
        }
        if (!found || (number & found)) return std::nullopt;
        number |= found;
        from = to + 1;
    }
    return number;
}

}  // namespace

std::optional<unsigned> sense_told(const std::string& gauge, const std::string& said) {
    const std::string told = text::folded(said);
    if (gauge == "lamps") return lamps_told(told);
    if (gauge == "sound") return sound_told(told);
    if (const Plain* p = plain_of(gauge)) return plain_told(*p, told);
    for (unsigned n = 0; n < stop_count; ++n)
        if (says(told, drive::stop_words(static_cast<drive::Cause>(n)))) return n;
    return std::nullopt;
}

std::optional<Sensed> sensed_in(const std::string& said) {
    const std::string told = text::folded(said);
    for (const Named& n : named) {
        if (!n.words.in(told)) continue;
        if (const auto number = plain_told(*plain_of(n.gauge), told)) return Sensed{n.gauge, *number};
    }
    return std::nullopt;
}

Bench::Gauge Bench::sense(const std::string& name) {
    if (name == "lamps") return lamps_seen(*this);
    if (name == "outlet") return outlet_seen(*this);
    if (name == "settles") return settled_seen(*this);
    if (name == "vibration") return vibration_felt(*this);
    if (name == "box") return box_felt(*this);
    if (stem(name) == "lug") return lugs_seen(*this, name);
    if (stem(name) == "modules") return modules_seen(*this, name);
    if (name == "smell")
        return told("smell", smells(*this), tr("a nose at the drive's box, the isolator and along the array"));
    if (name.starts_with("drive_")) return drive_shows(*this, name);
    return sound_heard(*this);
}

}  // namespace sunshaft::bench
