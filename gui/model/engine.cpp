#include "model/engine.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "bench/hands.hpp"
#include "model/twin.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

constexpr double longest_chunk = 0.02;    // simulated s
constexpr std::size_t most_events = 200;  // of a kind

bool has_pair(const bench::Probes& p) { return !p.red.empty() && !p.black.empty(); }
std::string pair_name(const bench::Probes& p) { return p.red + ":" + p.black; }

// Points whose voltage a meter's input resistance changes: the array's side, metal parts, and whatever hangs
// loose.
bool yields(const std::string& point, const plant::Nodes& nodes) {
    const site::Part part = site::part_of(point);
    if (site::on_array_side(part) || part == site::Part::isolator_out || part == site::Part::metal) return true;
    return std::any_of(nodes.v.begin(), nodes.v.end(), [](double v) { return std::isnan(v); });
}

}  // namespace

Engine::Engine(const Scenario& scenario, const Setup& setup, const bench::Bench* start)
    : scenario_(scenario), bench_(start ? bench::Bench(*start) : bench::Bench(scenario)) {
    setup_ = setup;
    setup_.edits = bench_.edits();
    choose(clamp_, "clamp-hall");
    for (std::size_t n = 0; n < 2; ++n) choose(faces_[n], setup.meters[n]);
    site_ = bench_.site();
    array_curves(*site_, array_current_, array_power_);
    logged_ = bench_.state().control.logged;
    choose_signals();
    accounts_.push_back({bench_.time(), bench_.state().energy});
    if (start && !setup_.edits.faults.empty()) {
        bench::Edits healthy = setup_.edits;
        healthy.faults.clear();
        twin_ = std::make_unique<Twin>(scenario_, healthy, std::nullopt);
        plain_site_ = twin_->kept_site();
    }
    if (!same(setup.edits, setup_.edits)) take(setup);
}

Engine::~Engine() = default;

// Each kind makes room for its own: else what somebody may not see would push out what they may.
void Engine::say(Event event) {
    const auto alike = [kind = event.kind](const Event& e) { return e.kind == kind; };
    events_.push_back(std::move(event));
    if (static_cast<std::size_t>(std::ranges::count_if(events_, alike)) <= most_events) return;
    std::size_t old = most_events / 4;
    std::erase_if(events_, [&](const Event& e) { return old > 0 && alike(e) && old-- > 0; });
}

// Faults, acts and keys; what the bench refuses stays as it was, and why comes back.
std::optional<site::BadInput> Engine::take_edits(const bench::Edits& wanted) {
    const bench::Edits before = setup_.edits;
    const std::optional<plant::State> seed = before.faults.empty() ? std::optional(bench_.state()) : std::nullopt;
    try {
        bench_.edit(wanted);
        setup_.edits = wanted;
        failure_.clear();
        if (!same({{}, {}, before.acts}, {{}, {}, wanted.acts})) acts_t_ = bench_.time();
        for (Event& e : changes(before, setup_.edits)) {
            e.t = bench_.time();
            say(std::move(e));
        }
        bench::Edits healthy = setup_.edits;
        healthy.faults.clear();
        if (setup_.edits.faults.empty()) twin_.reset();
        else if (!twin_) twin_ = std::make_unique<Twin>(scenario_, healthy, seed);
        else if (bench::Edits old = before; old.faults.clear(), !same(old, healthy)) twin_->edit(healthy);
        plain_site_ = twin_ ? twin_->kept_site() : nullptr;
        site_changed();
    } catch (const site::BadInput& e) {
        return e;
    } catch (const std::exception& e) {
        return site::BadInput(e.what());
    }
    return {};
}

// Which meters, how they are set and where they lie; true: what the leads are on, or what that is, has changed.
bool Engine::take_meters(const Setup& before) {
    bool again = false;
    const double now = bench_.time();
    for (std::size_t n = 0; n < 2; ++n)
        if (setup_.meters[n] != faces_[n].stem) {
            choose(faces_[n], setup_.meters[n]);
            again = true;
        }
    if (setup_.meter_changes != before.meter_changes) {
        // A changed chain reads anew at once; until then the display keeps what it shows.
        for (Face* f : {&faces_[0], &faces_[1], &clamp_}) {
            const auto was = f->reading;
            choose(*f, std::string(f->stem));
            f->reading = was;
        }
        again = true;
    }
    if (setup_.alone != before.alone || setup_.source_F != before.source_F || setup_.mode != before.mode ||
        setup_.probes.red != before.probes.red || setup_.probes.black != before.probes.black) {
        for (Face& f : faces_) f.reading.reset(), f.memory.reset(), f.next_update = now;
        again = true;
    }
    if (setup_.memory != before.memory)
        for (Face& f : faces_) f.memory.reset();
    if (setup_.inrush != before.inrush || setup_.probes.around != before.probes.around) {
        if (setup_.inrush) inrush_.arm(now);
        else inrush_.disarm();
    }
    if (setup_.probes.around != before.probes.around) {
        clamp_.reading.reset(), clamp_.next_update = now;
        for (Face& f : faces_)
            if (meter::takes_clamp(setup_.mode)) f.reading.reset(), f.next_update = now;
        again = true;
    }
    return again;
}

// An earlier instant as it was: run again from a mark before it, so that the meters and the scope have what they need.
// What was logged then is not logged again, and the way back is to the very state that was left.
void Engine::walk(std::optional<double> to) {
    const double now = present_ ? present_->time() : bench_.time();
    const double t = std::clamp(to.value_or(now), past_.from(), now);
    const bench::Bench* mark = past_.before(t - History::kept_seconds);
    if (!mark || (!to && !present_)) return;
    if (!present_) present_ = bench_;
    replay(*mark, t);
    if (to) return;
    bench_ = *std::move(present_);
    present_.reset();
    site_changed();
}

void Engine::replay(const bench::Bench& from, double to) {
    bench_ = bench::Bench(from);
    site_changed();
    history_ = History();
    tracks_.clear();
    accounts_.clear();
    accounts_.push_back({bench_.time(), bench_.state().energy});
    stator_.clear();
    signature_due_ = 0.0;
    choose_signals();
    for (Face* f : {&faces_[0], &faces_[1], &clamp_}) f->next_update = to;
    advance(to - bench_.time());
}

void Engine::take(const Setup& wanted) {
    std::optional<site::BadInput> refused;
    bool again = false;
    // Who goes on, or changes the site, does so now.
    const bool stays = wanted.walked_to && !wanted.running && same(wanted.edits, setup_.edits);
    if (present_ && !stays) walk({});
    if (!same(wanted.edits, setup_.edits)) {
        refused = take_edits(wanted.edits);
        again = !refused;
    }
    for (std::size_t n = setup_.unsafe.size(); n < wanted.unsafe.size(); ++n) {
        std::string act = wanted.unsafe[n];
        std::replace(act.begin(), act.end(), '@', ' ');
        say({bench_.time(), fmt::format("unsafe: {} in spite of the caution", act), Event::Kind::hands});
    }
    const Setup before = setup_;
    const bench::Edits edits = setup_.edits;
    setup_ = wanted;
    setup_.edits = edits;
    if (setup_.running && !before.running) failure_.clear();
    again = take_meters(before) || again;
    if (again) connect();
    if (again || setup_.channels != before.channels || setup_.scope_seconds != before.scope_seconds) choose_signals();
    if (!setup_.running || setup_.rate < 0.2) prime();
    if (setup_.rate != before.rate || setup_.running != before.running)
        for (Face* f : {&faces_[0], &faces_[1], &clamp_})
            f->next_update = std::min(f->next_update, bench_.time() + setup_.rate);
    if (stays && setup_.walked_to != before.walked_to) walk(setup_.walked_to);
    if (setup_.expected != before.expected)
        for (Face* f : {&faces_[0], &faces_[1], &clamp_}) f->next_update = bench_.time();
    update_faces();
    if (refused) throw *refused;
}

void Engine::site_changed() {
    if (site_ == bench_.site()) return;
    site_ = bench_.site();
    array_curves(*site_, array_current_, array_power_);
    stator_.clear();
    signature_due_ = 0.0;
    choose_signals();
}

// What the probes, the clamp and the scope look at; the tracks of channels that are gone go too.
void Engine::choose_signals() {
    std::vector<std::string> names = setup_.channels;
    if (has_pair(setup_.probes)) names.push_back(pair_name(setup_.probes));
    for (const std::string* probe : {&setup_.probes.red, &setup_.probes.black})
        if (!probe->empty()) names.push_back(*probe);
    if (!setup_.probes.around.empty()) names.push_back("around." + setup_.probes.around);
    for (const Face* f : {&faces_[0], &faces_[1], &clamp_})
        for (const auto& [name, sign] :
             held(*f, f == &clamp_ ? bench::clamp_mode(setup_.probes.around) : setup_.mode).signals)
            names.push_back(name);
    history_.choose(*site_, names);
    std::erase_if(tracks_, [this](const auto& t) {
        return std::find(setup_.channels.begin(), setup_.channels.end(), t.first) == setup_.channels.end() ||
               !history_.has(t.first);
    });
    for (const std::string& name : setup_.channels) {
        if (!history_.has(name)) continue;
        ScopeTrack& track = tracks_[name];
        track.keep(setup_.scope_seconds);
        if (track.trace().empty()) track.append(history_.wave(name, history_.from(name), history_.finish()));
    }
    stator_.keep(sideband_seconds);
    if (twin_) twin_->want(setup_.channels, setup_.scope_seconds);
    for (Due& d : spectra_) d.due = 0.0;
    phasors_due_ = 0.0;
}

bool Engine::off(const Face& face) const { return setup_.alone && &face == &faces_[1]; }

bench::Observation Engine::look_of(const Face& face, meter::Mode mode) const {
    bench::Observation what{setup_.probes, mode, "", face.spec};
    if (!meter::takes_clamp(mode) && !meter::drives_circuit(mode)) what.set.source_F = setup_.source_F;
    return what;
}

// How a meter is held, which may be wrong; nothing where it cannot be read there.
bench::Grip Engine::held(const Face& face, meter::Mode mode) {
    const bench::Probes& p = setup_.probes;
    if (!face.spec || !face.spec->has(mode) || (meter::takes_clamp(mode) ? p.around.empty() : !has_pair(p))) return {};
    if (off(face)) return {};
    try {
        return bench::grip(bench_, look_of(face, mode));
    } catch (const std::exception&) {
        return {};  // said when it is read
    }
}

// Of both meters together, on the same points; inf where neither loads them.
double Engine::load_ohm() {
    double siemens = 0.0;
    if (!meter::takes_clamp(setup_.mode))
        for (const Face& f : faces_)
            if (const auto grip = held(f, setup_.mode); !grip.signals.empty() && grip.load_ohm > 0.0)
                siemens += 1.0 / grip.load_ohm;
    return 1.0 / siemens;
}

// The meters' input resistances stand in the wiring where it is not stiff. Compiling takes some 10 ms.
void Engine::connect() {
    const bench::Probes& p = setup_.probes;
    const double ohm = load_ohm();
    bool loaded = false;
    if (has_pair(p) && std::isfinite(ohm)) {
        const plant::Nodes nodes = bench_.plant().look(bench_.state()).nodes;
        loaded = yields(p.red, nodes) || yields(p.black, nodes);
    }
    connected_ = false;
    try {
        bench_.connect(loaded ? bench::Probes{p.red, p.black, ""} : bench::Probes{}, loaded ? ohm : 0.0);
        connected_ = loaded;
    } catch (const std::exception&) {
        bench_.connect({}, 0.0);  // a point that only the still bench knows: loaded when read
    }
    site_changed();
}

// While time stands or crawls a probe put elsewhere would show nothing for minutes. The plant is run ahead for
// the turns a meter needs, that is taken as what was, and the state is put back.
void Engine::prime() {
    if (failed() || !history_.rows() || bench_.still()) return;
    const double now = bench_.time();
    const double f = plant::fundamental(bench_.plant(), bench_.state());
    const double span = f > 0.5 ? std::min(History::kept_seconds, std::max(1.0, std::ceil(0.2 * f)) / f) : 0.2;
    // From rest there is no "what was" to take; and only what has been chosen just now is missing.
    if (now - history_.start() < span) return;
    bool missing = false;
    std::vector<std::string> names = setup_.channels;
    if (has_pair(setup_.probes)) names.push_back(pair_name(setup_.probes));
    if (!setup_.probes.around.empty()) names.push_back("around." + setup_.probes.around);
    for (const std::string& name : names)
        missing = missing || (history_.has(name) && now - history_.from(name) < 0.9 * span);
    if (!missing) return;
    const plant::State saved = bench_.state();
    plant::Recorder ahead(history_.pen().signals());
    try {
        bench_.plant().advance(bench_.state(), now + span, ahead);
    } catch (const std::exception&) {
        bench_.state() = saved;
        return;
    }
    bench_.state() = saved;
    history_.take_as_past(ahead.recording, span);
    for (auto& [name, track] : tracks_)
        if (track.trace().empty()) track.append(history_.wave(name, history_.start(), history_.finish()));
}

double Engine::next_change() const {
    double t = std::numeric_limits<double>::infinity();
    for (const auto& f : setup_.edits.faults)
        if (f.start > bench_.time()) t = std::min(t, f.start);
    for (const auto& a : setup_.edits.acts)
        if (a.time > bench_.time()) t = std::min(t, a.time);
    return t;
}

void Engine::advance(double seconds) {
    if (present_ && bench_.time() + seconds > present_->time() + 1e-9) walk({});
    const double until = bench_.time() + seconds;
    while (!failed() && bench_.time() < until - 1e-12) {
        const double stop = std::min({until, next_change(), bench_.time() + longest_chunk});
        chunk(stop - bench_.time());
    }
}

void Engine::chunk(double seconds) {
    const std::size_t row = history_.rows();
    try {
        bench_.advance(seconds, &history_.pen());
    } catch (const std::exception& e) {
        failure_ = e.what();
        setup_.running = false;
        say({bench_.time(), fmt::format("the computation stopped: {}", e.what()), Event::Kind::trouble});
    }
    after_chunk(row);
}

void Engine::step() {
    if (failed()) return;
    const std::size_t row = history_.rows();
    try {
        bench_.plant().step(bench_.state(), 5e-3, history_.pen());
    } catch (const std::exception& e) {
        failure_ = e.what();
        say({bench_.time(), fmt::format("the computation stopped: {}", e.what()), Event::Kind::trouble});
    }
    after_chunk(row);
    if (present_ && bench_.time() >= present_->time()) walk({});  // stepped up to the present
}

void Engine::after_chunk(std::size_t row) {
    for (auto& [name, track] : tracks_) track.append(history_.rows_since(name, row));
    stator_.append(history_.rows_since("around.u", row));
    if (inrush_.armed() && !inrush_.caught())
        if (const auto grip = held(clamp_, bench::clamp_mode(setup_.probes.around)); !grip.signals.empty())
            inrush_.look(history_, grip.signals, *clamp_.spec, bench::clamp_mode(setup_.probes.around), bench_.time());
    history_.trim();
    accounts_.push_back({bench_.time(), bench_.state().energy});
    while (accounts_.size() > 2 && accounts_[1].t < bench_.time() - History::kept_seconds) accounts_.pop_front();
    site_changed();
    if (present_) return update_faces();
    past_.keep(bench_);
    const drive::ControlState& control = bench_.state().control;
    for (const drive::LogEntry& e : drive::log_since(control, logged_))
        say({e.t, "drive: " + drive::words(e), Event::Kind::drive});
    logged_ = control.logged;
    update_faces();
}

bool Engine::twin_busy() const { return twin_ && twin_->busy(); }

void Engine::advance_twin(double seconds) {
    if (!twin_busy()) return;
    try {
        twin_->advance(seconds);
    } catch (const std::exception&) {
        twin_.reset();  // no ghost then
    }
}

// ---- instruments

void Engine::choose(Face& face, const std::string& stem) const {
    face = {stem, nullptr, {}, {}, {}, bench_.time()};
    try {
        face.spec = std::make_shared<const meter::Spec>(with_changes(find_meter(stem), setup_.meter_changes));
    } catch (const std::exception& e) {
        face.note = e.what();
    }
}

void Engine::update_faces() {
    const double now = bench_.time();
    const auto due = [&](const Face& f) { return now >= f.next_update - 1e-9; };
    for (Face& f : faces_)
        if (due(f)) update(f, setup_.mode);
    if (due(clamp_)) update(clamp_, bench::clamp_mode(setup_.probes.around));
}

void Engine::expect(Face& face, const bench::Observation& what) const {
    face.expected.reset();
    if (!setup_.expected || !face.reading) return;
    face.expected = twin_ ? std::make_shared<const meter::Reading>(
                                bench::observe(twin_->bench(), {what.probes, what.mode, "", what.instrument}))
                          : face.reading;
}

void Engine::update(Face& face, meter::Mode mode) {
    const bench::Probes& p = setup_.probes;
    const bool clamp = meter::takes_clamp(mode);
    face.note.clear();
    if (!face.spec) return;
    if (off(face)) {
        face.reading.reset();
        face.note = text::tr("off: this lesson has one meter");
        return;
    }
    if (!face.spec->has(mode)) {
        face.reading.reset();
        face.note = text::say("this meter has no {}", meter::mode_name(mode));
        return;
    }
    if (clamp ? p.around.empty() : !has_pair(p)) {
        face.reading.reset();
        return;
    }
    const double now = bench_.time();
    try {
        bench::Observation what = look_of(face, mode);
        what.set.keep_waves = true;
        const bench::Grip grip = bench::grip(bench_, what);
        if (grip.signals.empty()) {
            face.reading = std::make_shared<const meter::Reading>(bench::observe(bench_, what));
        } else {
            trace::Trace wave;
            if (bench_.still() && !clamp) {
                const double v =
                    bench_.still_voltage(grip.probes.red, grip.probes.black, connected_ ? 0.0 : load_ohm());
                wave = {{0.0, 1.0, v, v}};
            } else {
                const double f = bench_.context(grip.probes).fundamental_Hz.value_or(0.0);
                const double wanted = f > 0.5 ? std::max(1.0, std::ceil(0.2 * f)) / f : 0.2;
                double from = 0.0;
                for (const auto& [name, sign] : grip.signals) {
                    if (!history_.has(name)) plant::signal(*site_, name);  // says in words what is wrong
                    from = std::max(from, history_.from(name));
                }
                const double there = now - from;
                // Too little yet: the display waits. A turn longer than what is kept is read in part.
                if (there < std::min(wanted, History::kept_seconds) - 1e-6) return;
                wave = history_.wave(grip.signals, whole_turns(from, now, f), now);
                if (wave.empty()) return;
            }
            face.reading = std::make_shared<const meter::Reading>(bench::observe(bench_, what, std::move(wave)));
        }
        expect(face, what);
    } catch (const std::exception& e) {
        face.reading.reset();
        face.note = e.what();
    }
    if (setup_.memory && face.reading) keep(face.memory, *face.reading);
    face.next_update = now + setup_.rate / std::max(0.1, face.spec->update_per_s);
}

}  // namespace sunshaft::view
