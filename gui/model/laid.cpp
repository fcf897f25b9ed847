#include "model/laid.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <filesystem>
#include <numbers>

#include "report/measured.hpp"
#include "site/keys.hpp"
#include "trace/harmonics.hpp"
#include "trace/period.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::view {
namespace {

constexpr std::uintmax_t most_bytes = 16u << 20;

bool throughout(const trace::Trace& wave) {
    return !wave.empty() && std::ranges::all_of(wave, [](const trace::Segment& s) {
        return std::isfinite(s.y0) && std::isfinite(s.y1);
    });
}

LaidSignal signal_of(std::string name, std::string unit, trace::Trace wave) {
    LaidSignal s{std::move(name), std::move(unit), std::move(wave), {}};
    s.span = span_of(s.wave, trace::start(s.wave), trace::finish(s.wave)).value_or(Span{});
    s.rms = trace::statistics(s.wave).rms;
    if (const auto end = trace::steady_end(s.wave)) {
        s.frequency_Hz = end->frequency_Hz;
        if (const int turns = trace::whole_periods(end->tail, s.frequency_Hz); turns > 0)
            s.rms = trace::statistics(trace::last_periods(end->tail, s.frequency_Hz, turns)).rms;
    }
    return s;
}

// Of the last turns, ten at most: which way its phasor points when.
struct Fundamental {
    double at = 0.0, angle = 0.0, omega = 0.0;
    double angle_at(double t) const { return angle + omega * (t - at); }
};
std::optional<Fundamental> fundamental_of(const trace::Trace& wave, double Hz) {
    if (!(Hz > 0.0) || wave.empty()) return std::nullopt;
    const double turns = std::min(10.0, std::floor(trace::duration(wave) * Hz + 1e-6));
    if (turns < 1.0) return std::nullopt;
    const trace::Trace part = trace::slice(wave, trace::finish(wave) - turns / Hz, trace::finish(wave));
    return Fundamental{trace::start(part), std::arg(trace::phasor(part, Hz)), 2 * std::numbers::pi * Hz};
}

}  // namespace

const LaidSignal* Laid::beside(const std::vector<Wave>& waves, std::size_t which) const {
    const auto namesake = [&](const std::string& wanted) {
        const auto at = std::ranges::find(signals, wanted, &LaidSignal::name);
        return at == signals.end() ? nullptr : &*at;
    };
    const bool units = std::ranges::any_of(signals, [](const LaidSignal& s) { return !s.unit.empty(); });
    std::vector<const LaidSignal*> taken;
    for (const Wave& w : waves)
        if (const auto* own = namesake(w.name)) taken.push_back(own);
    for (std::size_t n = 0; n <= which && n < waves.size(); ++n) {
        const LaidSignal* found = namesake(waves[n].name);
        for (const LaidSignal& s : signals) {
            if (found || std::ranges::find(taken, &s) != taken.end() || (units && s.unit != waves[n].unit)) continue;
            found = &s;
            taken.push_back(found);
        }
        if (n == which) return found;
    }
    return nullptr;
}

std::optional<Stretch> Laid::stretch(const std::vector<Wave>& waves, std::size_t source, Trigger trigger,
                                     const Stretch& shown, double Hz) const {
    const LaidSignal* caught = beside(waves, source);
    for (std::size_t n = 0; n < waves.size() && !caught; ++n)
        if ((caught = beside(waves, n))) source = n;
    if (!caught) return std::nullopt;
    const auto own = fundamental_of(*waves[source].trace, Hz),
               laid = fundamental_of(caught->wave, caught->frequency_Hz);
    if (!own || !laid) {
        trigger.sweep = Sweep::automatic;
        return find_sweep(caught->wave, trigger, shown.to - shown.from);
    }
    // The latest instant of the recording that is in step with the beginning of what is shown.
    const double turn = 1.0 / caught->frequency_Hz, last = trace::finish(caught->wave) - (shown.to - shown.from);
    const double share = (own->angle_at(shown.from) - laid->angle_at(last)) / (2 * std::numbers::pi);
    const double from = last - (1.0 - (share - std::floor(share))) * turn;
    return Stretch{from, from + shown.to - shown.from, std::nullopt};
}

std::shared_ptr<const Laid> lay(const std::string& path) {
    std::error_code error;
    if (const auto size = std::filesystem::file_size(path, error); !error && size > most_bytes)
        throw site::BadInput(
            fmt::format("{}: larger than 16 MB, expected less (`sunshaft analyse` reads it)", site::on_one_line(path)));
    const report::Measured read = report::read_measured(path);
    auto laid = std::make_shared<Laid>();
    laid->name = std::filesystem::path(path).filename().string();
    for (std::size_t n = 0; n < read.recording.names.size(); ++n) {
        trace::Trace wave = read.recording.signal(n);
        if (throughout(wave))
            laid->signals.push_back(
                signal_of(read.recording.names[n], n < read.units.size() ? read.units[n] : "", std::move(wave)));
    }
    if (laid->signals.empty())
        throw site::BadInput(fmt::format("{}: no signal with values throughout", site::on_one_line(path)));
    return laid;
}

}  // namespace sunshaft::view
