#include "model/twin.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "trace/statistics.hpp"

namespace sunshaft::view {
namespace {

Scenario without_faults(Scenario scenario) {
    scenario.faults.clear();
    return scenario;
}

bool near(double a, double b, double slack, double least) {
    return std::abs(a - b) <= slack * std::max({std::abs(a), std::abs(b), least});
}

}  // namespace

double whole_turns(double from, double to, double f, double wanted) {
    const double there = to - from;
    if (f < 0.5) return to - std::min(there, wanted);
    const double turns = std::min(std::max(1.0, std::ceil(wanted * f)), std::floor(there * f + 1e-6));
    return turns >= 1.0 ? std::max(from, to - turns / f) : from;
}

std::optional<double> rms_of_turns(const History& history, const std::string& name, double f) {
    const double from = history.from(name), to = history.finish(), turn = f > 0.5 ? 1.0 / f : 0.02;
    if (to - from < turn) return {};
    return trace::statistics(history.wave(name, whole_turns(from, to, f), to)).rms;
}

Twin::Twin(Scenario scenario, const bench::Edits& healthy, const std::optional<plant::State>& seed)
    : bench_(without_faults(std::move(scenario)), healthy) {
    if (seed) {
        bench_.state() = *seed;
        bench_.plant().adopt(bench_.state());
    }
    mark_ = bench_.state();
    left_ = longest;
    next_look_ = bench_.time() + 0.4;
}

void Twin::edit(const bench::Edits& healthy) {
    bench_.edit(healthy);
    history_.choose(*bench_.site(), names_);
    left_ = longest;
    before_ = {};
    next_look_ = bench_.time() + 0.4;
}

void Twin::want(const std::vector<std::string>& names, double seconds) {
    const double kept = std::min(seconds, 1.0);
    if (names == names_ && kept == kept_ && history_.has("link_V")) return;
    names_ = names;
    kept_ = kept;
    history_.choose(*bench_.site(), names);
    std::erase_if(tracks_,
                  [&](const auto& t) { return std::find(names.begin(), names.end(), t.first) == names.end(); });
    for (const std::string& name : names) tracks_[name].keep(kept_);
    left_ = std::max(left_, 2.0 * kept_ + 0.25);
}

void Twin::advance(double seconds) {
    if (!busy()) return;
    const std::size_t row = history_.rows();
    bench_.advance(seconds, &history_.pen());
    for (auto& [name, track] : tracks_)
        if (history_.has(name)) track.append(history_.rows_since(name, row));
    history_.trim();
    left_ -= seconds;
    if (bench_.time() >= next_look_ || !busy()) judge();
}

// Figures of the last turns; steady when they repeat from one look to the next.
void Twin::judge() {
    const plant::State& now = bench_.state();
    const double f = plant::fundamental(bench_.plant(), now);
    means_ = history_.means(whole_turns(history_.start(), now.t, f), now.t);
    flux_path_ = f > 0.5 ? history_.flux_path(1.0 / f, now.t) : std::vector<motor::Vec2>{};
    const double dt = now.t - mark_.t;
    if (dt > 0.0)
        for (std::size_t n = 0; n < plant::energy_size; ++n) power_[n] = (now.energy[n] - mark_.energy[n]) / dt;
    mark_ = now;
    published_.clear();
    spectra_.clear();
    rms_.clear();
    if (f > 0.5 && now.t - history_.start() > 1.0 / f) {
        phasors_ = view::phasors(history_, f, whole_turns(history_.start(), now.t, f, 0.1), now.t);
        paths_ = space_paths(history_, now.t - 1.0 / f, now.t);
    } else {
        phasors_ = {};
        paths_ = {};
    }
    look();

    const site::Works& w = bench_.site()->works;
    const bool hunting = w.drive.control == site::Control::mppt;
    const double slack = hunting ? 0.01 : 1e-3;
    const plant::X reference = plant::reference(*bench_.site());
    bool same = before_.seconds > 0.0;
    for (std::size_t k = 0; k < 3 && same; ++k)
        same = near(means_.line_rms[k], before_.line_rms[k], slack, 0.1 * reference[plant::v_cap]) &&
               near(means_.current_rms[k], before_.current_rms[k], slack, reference[plant::i_alpha]);
    same = same && near(means_.speed, before_.speed, slack, 0.1 * reference[plant::speed]) &&
           near(means_.flow, before_.flow, slack, reference[plant::flow]) &&
           near(means_.link, before_.link, slack, 0.1 * reference[plant::v_cap]);
    before_ = means_;
    // Enough of every wanted signal must be there as well.
    double missing = 0.0;
    for (const auto& [name, track] : tracks_)
        if (history_.has(name)) missing = std::max(missing, 2.0 * kept_ - trace::duration(track.trace()));
    if (same) left_ = std::min(left_, std::max(0.0, missing));
    next_look_ = now.t + (hunting ? 4.0 * w.drive.tracker_period : 0.25);
}

void Twin::look() {
    if (curves_of_ != bench_.site()) {
        curves_of_ = bench_.site();
        array_curves(*curves_of_, array_current_, array_power_);
    }
    auto out = std::make_shared<Snapshot>();
    Snapshot& s = *out;
    s.site = s.plain_site = bench_.site();
    s.edits = bench_.edits();
    s.t = bench_.time();
    s.now = bench_.plant().look(bench_.state());
    s.means = s.healthy = means_;
    s.power = s.healthy_power = power_;
    s.flux_path = flux_path_;
    s.turn = last_turn(bench_, history_, {});
    s.fundamental_Hz = s.healthy_fundamental_Hz = phasors_.frequency_Hz;
    s.volt_phasor = phasors_.volt, s.amp_phasor = phasors_.amp;
    s.volt_sequence = phasors_.volt_sequence, s.amp_sequence = phasors_.amp_sequence;
    s.volt_path = paths_.volt, s.amp_path = paths_.amp;
    if (s.site->works.supply.kind != site::Supply::Kind::mains)
        s.array_current = array_current_, s.array_power = array_power_;
    fill_sheets(s);
    snapshot_ = std::move(out);
}

Snapshot twin_at(const Snapshot& twin, double t) {
    Snapshot s = twin;
    s.t = t;
    if (!twin.turn || twin.turn->omega == 0.0) return s;
    const Turn& turn = *twin.turn;
    const double period = 2.0 * std::numbers::pi / std::abs(turn.omega), since = std::fmod(t - turn.to(), period);
    const Moment m = moment_at(turn, turn.to() - (since > 0.0 ? period - since : -since));
    s.now.nodes.leg_i = m.amps;
    for (std::size_t k = 0; k < 3; ++k)
        s.now.nodes.i[static_cast<std::size_t>(twin.site->works.core_at[k])] = m.amps[k];
    s.now.current = motor::clarke(s.now.nodes.i);
    // What turns in the machine goes round with it.
    const double on = turn.omega * (m.t - turn.to()), c = std::cos(on), d = std::sin(on);
    s.now.flux = {c * twin.now.flux[0] - d * twin.now.flux[1], d * twin.now.flux[0] + c * twin.now.flux[1]};
    return s;
}

namespace {

// A path that goes once round, by points at fixed angles: where its samples lie goes with the instant. Any other stays.
void at_fixed_angles(std::vector<motor::Vec2>& path) {
    constexpr int points = 120;
    constexpr double turn = 2.0 * std::numbers::pi;
    const std::size_t n = path.size();
    if (n < 12) return;
    const auto angle = [](const motor::Vec2& q) { return std::atan2(q[1], q[0]); };
    const auto step = [&](std::size_t k) { return std::remainder(angle(path[(k + 1) % n]) - angle(path[k]), turn); };
    double round = 0.0;
    for (std::size_t k = 0; k < n; ++k) round += step(k);
    const double way = round < 0.0 ? -1.0 : 1.0;
    if (std::abs(std::abs(round) - turn) > 0.1) return;
    std::vector<motor::Vec2> fixed;
    for (int p = 0; p < points; ++p)
        for (std::size_t k = 0; k < n; ++k) {
            const double along = way * step(k), from = way * std::remainder(turn * p / points - angle(path[k]), turn);
            if (along <= 0.0 || from < 0.0 || from >= along) continue;
            const motor::Vec2 &a = path[k], &b = path[(k + 1) % n];
            const double share = from / along;
            fixed.push_back({a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])});
            break;
        }
    if (fixed.size() == points) path = std::move(fixed);
}

}  // namespace

Snapshot stilled(const Snapshot& s) {
    Snapshot still = s;
    if (s.turn && s.turn->omega != 0.0) {
        const Moment m = moment_at(*s.turn, s.turn->when(0.0));
        still = twin_at(s, m.t);
        for (auto& [point, volts] : still.point_V) volts = m.volts(point).value_or(volts);
    } else {
        still.now.flux = {std::hypot(s.now.flux[0], s.now.flux[1]), 0.0};
        still.now.current = {std::hypot(s.now.current[0], s.now.current[1]), 0.0};
        still.now.nodes.i = motor::phases(still.now.current);
    }
    // What swings within a turn by its mean.
    if (s.means.seconds > 0.0) {
        still.now.speed = s.means.speed;
        still.now.torque = s.means.torque;
    }
    for (auto* path : {&still.flux_path, &still.healthy_flux_path}) at_fixed_angles(*path);
    still.t = 0.0;
    return still;
}

const Spectrum* Twin::spectrum(const std::string& name) {
    const double f = plant::fundamental(bench_.plant(), bench_.state()), to = history_.finish();
    if (f <= 0.5 || !history_.has(name) || to - history_.from(name) < 1.0 / f) return nullptr;
    const auto known = spectra_.find(name);
    if (known != spectra_.end()) return &known->second;
    const double carrier = bench_.context({}).carrier_Hz.value_or(0.0);
    return &(spectra_[name] = view::spectrum(
                 name, history_.wave(name, whole_turns(history_.from(name), to, f, 0.2), to), f, carrier));
}

std::optional<double> Twin::rms(const std::string& name) {
    if (const auto known = rms_.find(name); known != rms_.end()) return known->second;
    if (!history_.has(name)) return {};
    const double f = plant::fundamental(bench_.plant(), bench_.state());
    const auto v = rms_of_turns(history_, name, f);
    if (v) rms_[name] = *v;
    return v;
}

std::shared_ptr<const trace::Trace> Twin::trace(const std::string& name) {
    const auto track = tracks_.find(name);
    if (track == tracks_.end() || track->second.trace().empty()) return nullptr;
    auto& copy = published_[name];
    if (!copy) copy = std::make_shared<const trace::Trace>(track->second.trace());
    return copy;
}

}  // namespace sunshaft::view
