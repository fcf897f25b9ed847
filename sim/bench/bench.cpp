#include "bench/bench.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "bench/places.hpp"
#include "circuit/circuit.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

// The drive's log holds its last 32 entries; at this pace none is lost.
constexpr double longest_chunk = 0.25;  // s
constexpr std::size_t most_events = 10000;
constexpr double latest_settled_s = 300.0;  // later ones are run to with a time in hand

bool restarted(const site::Act& act, const drive::ControlState& control) { return control.dark_at >= act.time; }

}  // namespace

site::Now Bench::now() const {
    const plant::Slow& s = state_.slow;
    // In steps: the copper's resistance follows its warmth by some 1.5 %, not at every touch of the wiring.
    const bool same = plant_ && std::abs(s.winding_degC - compiled_for_.winding_degC) <= 4.0;
    return {s.probe_wet,
            s.float_up,
            state_.control.phase != drive::Phase::off,
            same ? compiled_for_.winding_degC : s.winding_degC,
            s.splice_open,
            s.turns_burn >= 1.0,
            s.turns_parted};
}

void Bench::refresh() {
    if (!(now() == compiled_for_)) compile();
}

bool Bench::restarting() const {
    if (site_->works.supply.kind == site::Supply::Kind::mains) return false;
    return std::any_of(site_->acts.begin(), site_->acts.end(), [](const site::Act& a) { return a.kind == "restart"; });
}

void Bench::collect() {
    for (const drive::LogEntry& e : drive::log_since(state_.control, collected_)) events_.push_back(e);
    collected_ = state_.control.logged;
    if (events_.size() > most_events)
        events_.erase(events_.begin(), events_.end() - static_cast<std::ptrdiff_t>(most_events));
}

Scenario checked(Scenario scenario, const Edits& edits) {
    site::set_keys(scenario, edits.set);
    // One after the other as they will be carried out, those still to come as well.
    site::Works works = site::set_up(scenario);
    for (const site::Fault& f : edits.faults) site::apply(works, f);
    for (const site::Act& a : edits.acts) site::apply(works, a);
    return scenario;
}

Bench::Bench(const Bench& o)
    : base_(o.base_),
      scenario_(o.scenario_),
      edits_(o.edits_),
      probes_(o.probes_),
      meter_ohm_(o.meter_ohm_),
      left_(o.left_),
      site_(o.site_),
      plant_(std::make_unique<plant::Plant>(*o.plant_)),
      state_(o.state_),
      charges_(o.charges_),
      charges_at_(o.charges_at_),
      charges_moving_(o.charges_moving_),  // and settles from these charges anew, when it is asked
      compiled_for_(o.compiled_for_),
      events_(o.events_),
      collected_(o.collected_) {}

Bench::Bench(Scenario scenario, const Edits& edits) : base_(std::move(scenario)) {
    Edits all = edits;
    Scenario keyed = base_;
    site::set_keys(keyed, edits.set);
    const auto planted = site::planted_faults(base_, site::set_up(keyed));
    all.faults.insert(all.faults.begin(), planted.begin(), planted.end());
    scenario_ = checked(base_, all);
    edits_ = all;
    compile();
    state_ = plant_->start();
    plant_->open_account(state_);
    compile();
}

void Bench::compile() {
    std::vector<site::Fault> faults;
    for (const auto& f : edits_.faults)
        if (f.start <= state_.t) faults.push_back(f);
    std::vector<site::Act> acts;
    for (const auto& a : edits_.acts)
        if (a.time <= state_.t) {
            acts.push_back(a);
            // A restart ends by itself: the isolator goes on again once the electronics have been dark.
            if (a.kind == "restart" && (!plant_ || restarted(a, state_.control)))
                acts.back() = {"close", "isolator", a.time};
        }
    std::vector<site::MeterLoad> loads = left_;
    if (meter_ohm_ > 0.0 && !probes_.red.empty() && !probes_.black.empty())
        loads.push_back({probes_.red, probes_.black, meter_ohm_});
    site::Now moved = now();
    if (!plant_) moved.winding_degC = scenario_.motor.winding_temperature_degC;
    auto site = site::compile_site(scenario_, faults, acts, loads, plant_ ? &moved : nullptr);
    compiled_for_ = moved;
    auto plant = std::make_unique<plant::Plant>(site);
    if (plant_) keep_charges();
    site_ = std::move(site);
    const bool running = plant_ != nullptr;
    const double stored = running ? plant_->stored(state_) : 0.0;
    plant_ = std::move(plant);
    if (!running) return;
    plant_->adopt(state_);
    // what the change itself brought or took away is not of the run
    state_.stored_at_start += plant_->stored(state_) - stored;
}

void Bench::edit(const Edits& edits) {
    Scenario scenario = checked(base_, edits);
    const Edits before = edits_;
    edits_ = edits;
    std::swap(scenario_, scenario);
    try {
        compile();
    } catch (...) {
        edits_ = before;
        std::swap(scenario_, scenario);
        throw;
    }
}

void Bench::take(const plant::State& state) {
    state_ = state;
    if (now() == compiled_for_) plant_->adopt(state_);
    else compile();
    charges_moving_ = false;
    collected_ = state_.control.logged;
}

void Bench::connect(const Probes& probes, double meter_ohm) {
    if (probes == probes_ && meter_ohm == meter_ohm_) return;
    const Probes before = probes_;
    const double ohm = meter_ohm_;
    probes_ = probes;
    meter_ohm_ = meter_ohm;
    try {
        for (const std::string* name : {&probes.red, &probes.black})
            if (!name->empty()) plant::signal(*site_, *name);
        compile();
    } catch (...) {
        probes_ = before;
        meter_ohm_ = ohm;
        throw;
    }
}

void Bench::leave(std::vector<site::MeterLoad> meters) {
    for (const site::MeterLoad& m : meters)
        for (const std::string* name : {&m.red, &m.black}) (void)node_at(site_->wiring, *name);
    left_ = std::move(meters);
    compile();
}

double Bench::next_change() const {
    double t = std::numeric_limits<double>::infinity();
    for (const auto& f : edits_.faults)
        if (f.start > state_.t) t = std::min(t, f.start);
    for (const auto& a : edits_.acts)
        if (a.time > state_.t) t = std::min(t, a.time);
    return t;
}

void Bench::advance(double seconds, plant::Recorder* recorder) {
    const double until = state_.t + seconds;
    for (auto site = site_; state_.t < until;) {
        if (recorder && site != site_) recorder->rebind(*site_);
        site = site_;
        const double change = next_change(), stop = std::min({until, change, state_.t + longest_chunk});
        if (recorder) plant_->advance(state_, stop, *recorder);
        else plant_->advance(state_, stop);
        state_.t = stop;
        collect();
        if (stop == change && before_acts_) {
            std::vector<site::Act> due;
            std::copy_if(edits_.acts.begin(), edits_.acts.end(), std::back_inserter(due),
                         [&](const site::Act& a) { return a.time == change; });
            if (!due.empty()) before_acts_(*this, due);
        }
        if (stop == change || (restarting() && now().powered != compiled_for_.powered)) compile();
        else refresh();
    }
}

plant::Settled Bench::settle(double longest, const std::function<bool(double)>& progress) {
    double last = state_.t;
    for (const auto& f : edits_.faults) last = std::max(last, f.start);
    for (const auto& a : edits_.acts) last = std::max(last, a.time);
    if (last > latest_settled_s)
        throw site::BadInput(text::say(
            "--fault, --do: the last comes at {:g} s, expected {:g} s at most where a settled state is wanted", last,
            latest_settled_s));
    for (double t = next_change(); std::isfinite(t); t = next_change()) advance(t - state_.t);
    for (const double from = state_.t; restarting() && state_.t < from + longest;) advance(longest_chunk);
    const plant::Settled settled = plant::settle(*plant_, state_, longest, progress);
    charges_moving_ = false;  // leads that lie there have lain long enough
    collect();
    refresh();
    return settled;
}

bool Bench::still() const {
    if (site_->works.supply.kind == site::Supply::Kind::mains || state_.command.running) return false;
    const double least = 1e-4 * plant::reference(*site_)[plant::i_alpha];
    return std::abs(state_.x[plant::speed]) < 0.5 && std::abs(state_.x[plant::i_alpha]) < least &&
           std::abs(state_.x[plant::i_beta]) < least;
}

bool Bench::still_at(const Probes& probes) const {
    if (still()) return true;
    // Wires taken off the drive hang on their own leakages, whatever the drive does, unless a turning magnet makes
    // voltage in them.
    const auto& phases = site_->works.phases;
    const bool off = std::all_of(phases.begin(), phases.end(), [](const site::Phase& p) { return p.terminal.open; });
    if (off && std::abs(state_.x[plant::speed]) < 0.5 && site_->works.supply.kind != site::Supply::Kind::mains &&
        (of_output(probes.red) || of_output(probes.black)) && !of_drive(probes.red) && !of_drive(probes.black))
        return true;
    return site_->works.supply.kind != site::Supply::Kind::mains && !state_.command.running && !of_output(probes.red) &&
           !of_output(probes.black);
}

meter::Context Bench::context(const Probes& probes) const {
    meter::Context c;
    const site::Works& w = site_->works;
    c.red = probes.red;  // of a clamp: said by who reads it
    c.black = probes.black;
    const double f = plant::fundamental(*plant_, state_);
    if (f > 0.5 && !still()) c.fundamental_Hz = f;
    const bool switching = state_.command.running;
    const auto m = w.drive.modulation;
    const bool six_step = m == site::Modulation::six_step_180 || m == site::Modulation::six_step_120;
    const bool chopped = six_step ? state_.command.amplitude < 1.0 : m != site::Modulation::ideal_sine;
    if (switching && chopped) c.carrier_Hz = w.drive.carrier;
    if (w.supply.kind != site::Supply::Kind::mains) c.link_V = plant_->look(state_).nodes.link;
    c.output = of_output(probes.red) || of_output(probes.black);
    const auto stiff = [](const std::string& p) { return of_drive(p) || site::part_of(p) == site::Part::lead; };
    c.ideal_six_step = m == site::Modulation::six_step_180 && !chopped && stiff(probes.red) && stiff(probes.black);
    if (!switching && of_dc(probes.red) && of_dc(probes.black)) c.falls_V_per_s = falling();
    const bool taken_off =
        std::all_of(w.phases.begin(), w.phases.end(), [](const site::Phase& p) { return p.terminal.open; });
    if (!switching && c.output && site::has_magnets(w.motor) && std::abs(state_.x[plant::speed]) > 0.5 &&
        !(taken_off && of_drive(probes.red) && of_drive(probes.black))) {
        c.spin = state_.x[plant::flow] < 0.0 ? meter::Context::Spin::by_water : meter::Context::Spin::running_down;
        c.link_V.reset();  // no ratio: the link does not make it
    }
    return c;
}

// How fast a link that nothing feeds falls, found by letting a copy of the plant go on for a moment.
std::optional<double> Bench::falling() const {
    const double volt = state_.x[plant::v_cap];
    if (site_->works.supply.kind == site::Supply::Kind::mains || site_->source.stiff || volt < 1.0) return {};
    if (std::abs(plant_->look(state_).nodes.source_i) > 1e-3 * plant::reference(*site_)[plant::i_alpha]) return {};
    constexpr double moment_s = 0.05, least = 1e-3;  // of its volts in a second; less is standing still
    plant::State later = state_;
    plant_->advance(later, state_.t + moment_s);
    const double rate = (volt - later.x[plant::v_cap]) / moment_s;
    return rate > least * volt ? rate : 0.0;
}

}  // namespace sunshaft::bench
