#include "report/analysis.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "text/language.hpp"
#include "trace/period.hpp"
#include "trace/space_vector.hpp"

namespace sunshaft::report {
namespace {

using trace::Trace;

bool exists(const Trace& t) {
    return !t.empty() &&
           std::ranges::all_of(t, [](const trace::Segment& s) { return std::isfinite(s.y0) && std::isfinite(s.y1); });
}

Trace whole_turns(const Trace& t, double f, int periods) { return f > 0.0 ? trace::last_periods(t, f, periods) : t; }

const Trace* find(const std::vector<std::pair<std::string, Trace>>& all, std::string_view name) {
    for (const auto& [own, t] : all)
        if (own == name) return &t;
    return nullptr;
}

struct Triple {
    const char* name;
    const char* unit;
    std::array<const char*, 3> signals;
};
constexpr Triple triples[] = {
    {text::id("line voltages at the drive"), "V", {"drive.u:drive.v", "drive.v:drive.w", "drive.w:drive.u"}},
    {text::id("line voltages at the motor"), "V", {"motor.u:motor.v", "motor.v:motor.w", "motor.w:motor.u"}},
    {text::id("line currents"), "A", {"around.u", "around.v", "around.w"}}};

Analysis::ThreePhase of_three(const Triple& what, const std::array<Trace, 3>& t, double f) {
    Analysis::ThreePhase p;
    p.name = what.name;
    p.unit = what.unit;
    p.sequence = trace::sequence(trace::phasor(t[0], f), trace::phasor(t[1], f), trace::phasor(t[2], f));
    p.factor = p.sequence.ratio();
    p.deviation =
        trace::unbalance(trace::statistics(t[0]).rms, trace::statistics(t[1]).rms, trace::statistics(t[2]).rms);
    const trace::SpaceVector v = trace::space_vector(t[0], t[1], t[2]);
    p.zero_rms = trace::statistics(v.zero).rms;
    const double last = trace::finish(v.alpha);
    p.alpha = trace::slice(v.alpha, last - 1.0 / f, last);
    p.beta = trace::slice(v.beta, last - 1.0 / f, last);
    double low = 1e300, high = 0.0;
    for (std::size_t k = 0; k < p.alpha.size(); ++k) {
        // Nearest the origin on a straight stretch: at an end or at the foot of the perpendicular.
        const double ax = p.alpha[k].y0, ay = p.beta[k].y0, dx = p.alpha[k].y1 - ax, dy = p.beta[k].y1 - ay,
                     d2 = dx * dx + dy * dy;
        const double s = d2 > 0.0 ? std::clamp(-(ax * dx + ay * dy) / d2, 0.0, 1.0) : 0.0;
        low = std::min(low, std::hypot(ax + s * dx, ay + s * dy));
        high = std::max({high, std::hypot(ax, ay), std::hypot(ax + dx, ay + dy)});
    }
    p.radius_low = std::min(low, high);
    p.radius_high = high;
    return p;
}

}  // namespace

namespace {

// The signals with values throughout; where no frequency is given, that of the first steady end, and how long it is, s.
std::vector<std::size_t> look_through(const trace::Recording& r, double& frequency_Hz, double& steady) {
    std::vector<std::size_t> there;
    for (std::size_t k = 0; k < r.names.size(); ++k) {
        const Trace t = r.signal(k);
        if (!exists(t)) continue;
        there.push_back(k);
        if (there.size() == 1) steady = trace::duration(t);
        if (frequency_Hz > 0.0) continue;
        if (const auto end = trace::steady_end(t)) {
            frequency_Hz = end->frequency_Hz;
            steady = trace::duration(end->tail);
        }
    }
    return there;
}

// One wave's whole turns; without a frequency (0) its statistics alone.
void analyse(const Trace& part, double f, Analysis::Wave& w) {
    w.statistics = trace::statistics(part);
    if (!(f > 0.0)) return;
    w.harmonics = trace::harmonics(part, f, 50);
    w.thd = trace::thd(w.harmonics);
    w.total = trace::total_distortion(w.statistics.rms_ac, std::abs(w.harmonics[0]));
    w.groups = trace::iec_groups(part, f);
    w.two_periods = trace::last_periods(part, f, 2);
}

}  // namespace

Analysis analyse(const trace::Recording& r, const std::vector<std::string>& units, double frequency_Hz,
                 int pole_pairs) {
    Analysis a;
    a.frequency_Hz = frequency_Hz;
    double steady = 0.0;
    const std::vector<std::size_t> there = look_through(r, a.frequency_Hz, steady);
    if (there.empty()) throw std::invalid_argument(text::tr("no signal with values that exist throughout"));
    const double f = a.frequency_Hz;
    const int most = f < 55.0 ? 10 : 12;  // IEC 61000-4-7: about 200 ms
    const int window = a.periods = f > 0.0 ? std::min(most, static_cast<int>(steady * f + 1e-6)) : 0;
    if (a.periods == 0) a.frequency_Hz = 0.0;

    // Of a long recording only the last turns are held as traces, one signal after the other.
    std::vector<std::pair<std::string, Trace>> all;
    for (const std::size_t k : there) {
        Analysis::Wave w;
        w.name = r.names[k];
        w.unit = k < units.size() ? units[k] : "";
        analyse(all.emplace_back(w.name, whole_turns(r.signal(k), a.frequency_Hz, window)).second, a.frequency_Hz, w);
        a.waves.push_back(std::move(w));
    }
    if (a.periods == 0) return a;
    for (const Triple& t : triples) {
        std::array<Trace, 3> parts;
        bool complete = true;
        for (std::size_t k = 0; k < 3; ++k) {
            const Trace* found = find(all, t.signals[k]);
            complete = complete && found;
            if (found) parts[k] = *found;
        }
        if (complete) a.three.push_back(of_three(t, parts, f));
    }
    for (const auto& [name, unit] :
         {std::pair{"link_V", "V"}, {"torque_N_m", "N m"}, {"speed_rpm", "rpm"}, {"power_W", "W"}})
        if (const Trace* found = find(all, name)) {
            const trace::Statistics s = trace::statistics(*found);
            Analysis::Ripple ripple{name, unit, s.mean, {}, s.max - s.min};
            for (std::size_t k = 0; k < 3; ++k) ripple.share[k] = trace::ripple(*found, f, k == 0 ? 1 : k == 1 ? 2 : 6);
            a.ripples.push_back(ripple);
        }
    const auto whole = [&](std::string_view name) {
        const auto at = std::ranges::find_if(there, [&](std::size_t k) { return r.names[k] == name; });
        return at == there.end() ? Trace{} : r.signal(*at);
    };
    if (const Trace speed = whole("speed_rpm"); !speed.empty() && pole_pairs > 0) {
        a.slip = 1.0 - pole_pairs * trace::statistics(speed).mean / 60.0 / f;
        a.sidebands_need_s = trace::sidebands_need_s(f, *a.slip);
        if (const Trace current = whole("around.u"); !current.empty())
            a.sidebands = trace::sidebands(trace::last_periods(current, f), f, *a.slip);
    }
    return a;
}

nlohmann::json analysis_json(const Analysis& a) {
    using nlohmann::json;
    const auto number = [](double x) { return std::isfinite(x) ? json(x) : json(nullptr); };
    const auto phasor = [](const trace::Phasor& p) {
        return json{{"rms", std::abs(p)}, {"degrees", std::arg(p) * 180.0 / std::numbers::pi}};
    };
    json waves = json::array(), three = json::array(), ripples = json::array();
    for (const Analysis::Wave& w : a.waves) {
        json j{{"name", w.name},
               {"unit", w.unit},
               {"mean", w.statistics.mean},
               {"rms", w.statistics.rms},
               {"rms_ac", w.statistics.rms_ac},
               {"rectified_mean_ac", w.statistics.rectified_mean_ac},
               {"min", w.statistics.min},
               {"max", w.statistics.max},
               {"crest_factor", w.statistics.crest_ac},
               {"form_factor", w.statistics.form}};
        if (a.periods > 0) {
            json orders = json::array();
            for (const trace::Phasor& p : w.harmonics) orders.push_back(phasor(p));
            j.update({{"thd_40", w.thd},
                      {"total_distortion", w.total},
                      {"harmonics", orders},
                      {"iec_61000_4_7",
                       {{"periods", w.groups.periods},
                        {"group_rms", w.groups.harmonic_group},
                        {"subgroup_rms", w.groups.harmonic_subgroup},
                        {"interharmonic_rms", w.groups.interharmonic}}}});
        }
        waves.push_back(j);
    }
    for (const Analysis::ThreePhase& t : a.three)
        three.push_back({{"name", t.name},
                         {"unit", t.unit},
                         {"positive", phasor(t.sequence.positive)},
                         {"negative", phasor(t.sequence.negative)},
                         {"zero", phasor(t.sequence.zero)},
                         {"unbalance_factor", t.factor},
                         {"nema_mg1_deviation", t.deviation},
                         {"space_vector",
                          {{"radius_low", t.radius_low}, {"radius_high", t.radius_high}, {"zero_rms", t.zero_rms}}}});
    for (const Analysis::Ripple& r : a.ripples)
        ripples.push_back(
            {{"name", r.name},
             {"unit", r.unit},
             {"mean", r.mean},
             {"peak_to_peak", r.peak_to_peak},
             {"amplitude_over_mean", {{"order_1", r.share[0]}, {"order_2", r.share[1]}, {"order_6", r.share[2]}}}});
    json out{{"frequency_Hz", a.periods > 0 ? json(a.frequency_Hz) : json(nullptr)},
             {"periods", a.periods},
             {"waves", waves},
             {"three_phase", three},
             {"ripple", ripples}};
    if (a.slip) {
        json signature{{"slip", *a.slip}, {"needed_s", number(a.sidebands_need_s)}};
        if (a.sidebands)
            signature.update({{"lower_Hz", a.sidebands->lower_Hz},
                              {"lower_dB", a.sidebands->lower_dB},
                              {"upper_Hz", a.sidebands->upper_Hz},
                              {"upper_dB", a.sidebands->upper_dB}});
        out["motor_current_signature"] = signature;
    }
    return out;
}

}  // namespace sunshaft::report
