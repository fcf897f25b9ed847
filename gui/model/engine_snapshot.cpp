// What the engine shows of itself: engine.hpp's snapshot().
#include <algorithm>
#include <cmath>

#include "bench/hands.hpp"
#include "bench/hazards.hpp"
#include "bench/marks.hpp"
#include "model/engine.hpp"
#include "model/seen.hpp"
#include "model/signals.hpp"
#include "model/twin.hpp"
#include "plant/surges.hpp"
#include "site/keys.hpp"

namespace sunshaft::view {

std::shared_ptr<Snapshot> Engine::snapshot(std::size_t most_spectra) {
    auto out = std::make_shared<Snapshot>();
    Snapshot& s = *out;
    s.number = ++number_;
    s.site = site_;
    s.plain_site = plain_site_ ? plain_site_ : site_;
    s.edits = present_ ? bench_.edits() : setup_.edits;
    s.acts_t = acts_t_;
    s.probes = setup_.probes;
    s.running = setup_.running && !failed() ? Running::run : Running::hold;
    s.t = bench_.time();
    s.now_t = present_ ? present_->time() : s.t;
    s.past_from = past_.from();
    s.wanted_rate = s.achieved_rate = setup_.rate;
    s.failure = failure_;
    s.faulty = !setup_.edits.faults.empty();
    s.now = bench_.plant().look(bench_.state());
    const double f = s.now.electrical_Hz > 0.5 ? s.now.electrical_Hz : 0.0;
    const double from = whole_turns(history_.start(), s.t, f);
    if (history_.rows()) s.means = history_.means(from, s.t);
    s.power = mean_power(from);
    if (f > 0.0) s.flux_path = history_.flux_path(1.0 / f, s.t);
    s.point_V = potentials();
    s.turn = last_turn(bench_, history_, setup_.probes);
    fill_healthy(s);
    fill_faces(s);
    fill_waves(s);
    analyse(f, from, s.t, most_spectra);
    fill_analyses(s, most_spectra > 0);
    if (site_->works.supply.kind != site::Supply::Kind::mains)
        s.array_current = array_current_, s.array_power = array_power_;
    fill_sheets(s);
    listen();
    s.heard = heard_;
    s.sound = sound_;
    look_at_heat();
    s.array_warmth = array_warmth_;
    while (told_.size() < setup_.asked.size()) {
        bench::Bench there = bench_;  // a gauge looks on for a while
        const std::string& gauge = setup_.asked[told_.size()];
        told_.emplace_back(gauge, there.gauge(gauge, false).shown());
    }
    s.told = told_;
    s.events = events_;
    s.unsafe_acts = static_cast<int>(setup_.unsafe.size());
    s.cautions = bench::words(hazards_of(bench::scene(*site_, s.now), s));
    return out;
}

// Of the healthy twin what is laid beside the site's own; of a site in health its own.
void Engine::fill_healthy(Snapshot& s) const {
    if (!twin_) {
        if (!s.faulty) s.healthy = s.means, s.healthy_power = s.power;
        return;
    }
    s.healthy = twin_->means();
    s.healthy_power = twin_->power();
    s.healthy_flux_path = twin_->flux_path();
    s.healthy_volt_phasor = twin_->phasors().volt, s.healthy_amp_phasor = twin_->phasors().amp;
    s.healthy_volt_path = twin_->paths().volt, s.healthy_amp_path = twin_->paths().amp;
    if (const auto twin = twin_->snapshot()) {
        s.twin = twin;
        s.healthy_array_current = twin->array_current, s.healthy_array_power = twin->array_power;
        s.healthy_pump_curve = twin->pump_curve, s.healthy_main_curve = twin->main_curve;
    }
}

// What was last analysed, the twin's spectra where they were asked for.
void Engine::fill_analyses(Snapshot& s, bool twin_spectra) const {
    for (const std::string& name : setup_.channels)
        for (const Due& d : spectra_)
            if (d.spectrum.name == name) s.spectra.push_back(d.spectrum);
    if (twin_ && twin_spectra)
        for (const Spectrum& own : s.spectra)
            if (const Spectrum* healthy = twin_->spectrum(own.name)) s.healthy_spectra.push_back(*healthy);
    s.signature = signature_;
    s.fundamental_Hz = phasors_.frequency_Hz;
    s.healthy_fundamental_Hz = twin_ ? twin_->phasors().frequency_Hz : s.fundamental_Hz;
    s.volt_phasor = phasors_.volt, s.amp_phasor = phasors_.amp;
    s.volt_path = paths_.volt, s.amp_path = paths_.amp;
    s.volt_sequence = phasors_.volt_sequence, s.amp_sequence = phasors_.amp_sequence;
}

// About once a second of wall clock; while time is held what was heard goes on.
void Engine::listen() {
    if (!setup_.ear || failed()) {
        heard_.reset(), sound_.reset();
        listen_due_ = 0.0;
        return;
    }
    const bool elsewhere = !heard_ || heard_->ear != *setup_.ear;
    if (!elsewhere && bench_.time() < listen_due_) return;
    listen_due_ = bench_.time() + setup_.rate;
    auto heard = std::make_shared<const bench::Heard>(bench::heard(bench_, *setup_.ear));
    if (heard_ && bench::alike(*heard, *heard_)) return;
    heard_ = std::move(heard);
    sound_ = std::make_shared<const std::vector<float>>(bench::samples(*heard_, 2.0, sound_rate_Hz));
}

// About once a second of wall clock, too, and at once where the site has changed.
void Engine::look_at_heat() {
    if (!setup_.camera || failed()) {
        array_warmth_.reset();
        return;
    }
    if (array_warmth_ && heat_of_ == site_ && bench_.time() < heat_due_) return;
    heat_due_ = bench_.time() + setup_.rate;
    heat_of_ = site_;
    std::vector<bench::Bench::Warm> all = bench::Bench(bench_).connectors();  // a camera looks on for a while
    const double link_V = bench_.state().x[plant::v_cap];
    for (bench::Bench::Warm& cell : bench::hot_cells(site_->works, link_V)) all.push_back(std::move(cell));
    array_warmth_ = std::make_shared<const std::vector<bench::Bench::Warm>>(std::move(all));
}

// Every point the plant knows, in one instant.
std::vector<std::pair<std::string, double>> Engine::potentials() {
    if (points_of_ != site_) {
        points_of_ = site_;
        points_.clear();
        for (const site::PointInfo& p : site::points(site_->works)) {
            if (p.clamp) continue;
            try {
                points_.push_back(plant::signal(*site_, p.name));
            } catch (const site::BadInput&) {
                continue;  // known to the still bench only
            }
        }
    }
    std::vector<std::pair<std::string, double>> out;
    const std::vector<double> volts = bench_.plant().read(bench_.state(), points_);
    for (std::size_t n = 0; n < volts.size(); ++n)
        if (std::isfinite(volts[n])) out.emplace_back(points_[n].name, volts[n]);
    return out;
}

void Engine::fill_faces(Snapshot& s) const {
    for (std::size_t n = 0; n < 2; ++n) {
        const Face& face = faces_[n];
        MeterFace& m = s.meters[n];
        m.spec = face.stem;
        m.mode = setup_.mode;
        m.reading = face.reading;
        m.expected = face.expected;
        m.note = face.note;
        m.next_update_t = face.next_update;
        m.memory = face.memory;
        m.meter = face.spec;
        m.changed = setup_.meter_changes.contains(face.stem);
        if (face.spec) {
            m.name = face.spec->name;
            m.counts_text = counts_text(*face.spec, setup_.mode);
            for (const auto& [mode, function] : face.spec->functions) m.modes.push_back(mode);
        }
        if (face.reading) m.full_scale = face.reading->range.value_or(0.0);
    }
    s.clamp = clamp_.reading;
    s.clamp_expected = clamp_.expected;
    s.inrush_armed = inrush_.armed();
    s.inrush = inrush_.caught();
    s.clamp_mode = bench::clamp_mode(setup_.probes.around);
    s.clamp_meter = clamp_.spec;
    s.clamp_changed = setup_.meter_changes.contains(clamp_.stem);
    if (clamp_.spec) s.clamp_name = clamp_.spec->name;
}

// What a channel on the motor shows of the edges that have come down the cable, and a clamp on a line of what they send
// into it: of the latest ones, as no more of them can be told apart on a screen.
trace::Trace Engine::ringing(const std::string& name, const trace::Trace& wave) const {
    constexpr std::size_t latest = 400;  // pieces of the wave
    const auto line = plant::surge_line(site_->works);
    const bool top = name == "around.u" || name == "around.v" || name == "around.w";
    if (!line || wave.empty() || !(top || plant::at_motor(name))) return wave;
    const auto first = wave.end() - static_cast<std::ptrdiff_t>(std::min(latest, wave.size()));
    const trace::View end(&*first, static_cast<std::size_t>(wave.end() - first));
    trace::Trace out(wave.begin(), first);
    const double edge = plant::edge_s(site_->works, *line);
    const trace::Trace rung =
        top ? plant::with_surges(*line, edge, end,
                                 history_.wave(std::string("drive.") + name.back(), end.front().t0, end.back().t1))
            : plant::with_surges(*line, edge, end);
    if (out.size() + rung.size() > ScopeTrack::most_segments) return wave;  // so long a sweep shows none of it
    out.insert(out.end(), rung.begin(), rung.end());
    return out;
}

void Engine::fill_waves(Snapshot& s) const {
    for (const std::string& name : setup_.channels) {
        const auto track = tracks_.find(name);
        if (track == tracks_.end()) continue;
        const SignalWords words = signal_words(name);
        Wave w{name,       words.label,
               words.unit, std::make_shared<const trace::Trace>(ringing(name, track->second.trace())),
               nullptr,    false,
               {},         {}};
        w.healthy = twin_ ? twin_->trace(name) : (s.faulty ? nullptr : w.trace);
        if (twin_ && w.healthy && plant::at_motor(name))
            w.healthy = std::make_shared<const trace::Trace>(ringing(name, *w.healthy));
        if (history_.has(name))
            w.rms = rms_of_turns(history_, name, s.now.electrical_Hz > 0.5 ? s.now.electrical_Hz : 0.0);
        w.healthy_rms = twin_ ? twin_->rms(name) : (s.faulty ? std::nullopt : w.rms);
        s.waves.push_back(std::move(w));
    }
}

plant::Energies Engine::mean_power(double from) const {
    plant::Energies p{};
    if (accounts_.size() < 2) return p;
    const Account& last = accounts_.back();
    from = std::max(from, accounts_.front().t);
    // Between two marks the energy rises in a straight line.
    auto b =
        std::upper_bound(accounts_.begin(), accounts_.end(), from, [](double t, const Account& a) { return t < a.t; });
    if (b == accounts_.end()) return p;
    if (b == accounts_.begin()) ++b;
    const Account &a0 = *(b - 1), &a1 = *b;
    const double share = a1.t > a0.t ? (from - a0.t) / (a1.t - a0.t) : 0.0, dt = last.t - from;
    if (dt <= 0.0) return p;
    for (std::size_t n = 0; n < plant::energy_size; ++n)
        p[n] = (last.energy[n] - a0.energy[n] - share * (a1.energy[n] - a0.energy[n])) / dt;
    return p;
}

// Spectra of a PWM wave take some 10 ms each: at most so many at a time, in turn.
void Engine::analyse(double f, double from, double to, std::size_t most) {
    const auto wanted = [this](const std::string& name) {
        return std::find(setup_.channels.begin(), setup_.channels.end(), name) != setup_.channels.end() &&
               history_.has(name);
    };
    if (f <= 0.0 || !history_.rows()) {
        spectra_.clear();
        phasors_ = {};
        paths_ = {};
        signature_.reset();
        return;
    }
    const double again = to + 0.33 * setup_.rate;
    if (phasors_.frequency_Hz <= 0.0 || to >= phasors_due_) {
        phasors_ = phasors(history_, f, whole_turns(from, to, f, 0.1), to);
        paths_ = space_paths(history_, to - 1.0 / f, to);
        phasors_due_ = again;
    }
    if (most > 0 && (!signature_ || to >= signature_due_)) {
        signature_ = signature(history_, stator_.trace(), bench_.plant().look(bench_.state()).slip, f,
                               whole_turns(from, to, f, 0.1), to);
        signature_due_ = to + std::max(1.0, setup_.rate);
    }
    std::erase_if(spectra_, [&](const Due& d) { return !wanted(d.spectrum.name); });
    const double carrier = bench_.context({}).carrier_Hz.value_or(0.0);
    for (const std::string& name : setup_.channels) {
        if (!wanted(name) || to - history_.from(name) < 1.0 / f) continue;
        auto old =
            std::find_if(spectra_.begin(), spectra_.end(), [&](const Due& d) { return d.spectrum.name == name; });
        if (old != spectra_.end() && to < old->due) continue;
        if (most-- == 0) break;
        if (old == spectra_.end()) old = spectra_.insert(old, Due{});
        *old = {spectrum(name, history_.wave(name, whole_turns(history_.from(name), to, f, 0.2), to), f, carrier),
                again};
    }
}

}  // namespace sunshaft::view
