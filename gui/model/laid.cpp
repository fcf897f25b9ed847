#include "model/laid.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "report/measured.hpp"
#include "site/keys.hpp"
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
                                     double width) const {
    const LaidSignal* caught = beside(waves, source);
    for (std::size_t n = 0; n < waves.size() && !caught; ++n) caught = beside(waves, n);
    if (!caught) return std::nullopt;
    trigger.sweep = Sweep::automatic;
    trigger.fundamental_Hz = trigger.fundamental_Hz > 0.0 ? caught->frequency_Hz : 0.0;
    return find_sweep(caught->wave, trigger, width);
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
