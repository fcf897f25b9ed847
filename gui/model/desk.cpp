#include "model/desk_impl.hpp"
#include "model/site_offers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <tuple>

#include "meter/settings.hpp"
#include "model/seen.hpp"
#include "model/session_store.hpp"
#include "model/setup.hpp"
#include "model/worker.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

constexpr double going_s = 6.0;  // the slowest soft start of the shipped sites takes 4.6

std::string key_of(const std::string& assignment) { return assignment.substr(0, assignment.find('=')); }

// As whoever begins there finds it: what was done is done, what is to come comes as long after.
bench::Edits from(bench::Edits edits, double now) {
    for (site::Act& a : edits.acts) a.time = std::max(0.0, a.time - now);
    for (site::Fault& f : edits.faults) f.start = std::max(0.0, f.start - now);
    return edits;
}

}  // namespace

Desk::Desk(Scenario scenario, bool threaded)
    : impl_(std::make_unique<Impl>(std::move(scenario), threaded, scope)), threaded_(threaded) {}

Desk::~Desk() = default;

void Desk::open(Scenario scenario) {
    impl_ = std::make_unique<Impl>(std::move(scenario), threaded_, scope);
    marks_hidden = teaching_points = false;
    scope = {};
    notebook = {};
    suspecting_.ask({});
    day = {};
    weather_.reset();
    call_.reset();
    kept_.reset();
    heard_ = 0;
    met_ = false;
    before_call_.clear();
    lesson_.reset();
    before_lesson_ = {};
}

void Desk::hang_leads() {
    const auto points = site::points(snapshot()->site->works);
    const auto there = [&](const char* name) {
        return std::ranges::any_of(points, [&](const auto& p) { return p.name == name; });
    };
    if (there("drive.u") && there("drive.v")) place({"drive.u", "drive.v", ""});
    leave_touch();
    impl_->undo.clear();  // nobody did that
}
void Desk::set_going() { impl_->worker->run_ahead(going_s, 1.0); }

std::shared_ptr<const Snapshot> Desk::truth() const {
    return impl_->instead ? impl_->instead : impl_->worker->snapshot();
}
std::shared_ptr<const Snapshot> Desk::snapshot() const {
    auto all = truth();
    const bool locked = leads_locked();
    if (!marks_hidden && !sealed() && !reasons_closed()) return all;
    if (impl_->all != all || impl_->unread != locked) {
        impl_->without_faults = std::make_shared<const Snapshot>(sealed() ? outside(*all)
                                                                 : locked ? unread(seen(*all))
                                                                          : seen(*all));
        impl_->unread = locked;
        impl_->all = std::move(all);
    }
    return impl_->without_faults;
}
void Desk::show_instead(std::shared_ptr<const Snapshot> altered) { impl_->instead = std::move(altered); }
void Desk::work(double seconds) {
    impl_->worker->work(seconds);
    suspecting_.wait();
}

// ---- acts

std::string Desk::why_not(const std::string& name, bool clamp) const {
    if (name.empty()) return {};
    const std::vector<site::PointInfo> points = site::points(snapshot()->site->works);
    const auto p = std::find_if(points.begin(), points.end(),
                                [&](const site::PointInfo& i) { return i.name == name && i.clamp == clamp; });
    if (p == points.end())
        return text::say("{}: no such {} on this site", name,
                         clamp ? text::tr("conductor for a clamp") : text::tr("test point"));
    if (!p->reachable && !teaching_points)
        return text::say("Nobody can reach {} in the field. For teaching, allow it under Weather and controls.", name);
    return {};
}

bool Desk::refuses_sealed() {
    if (sealed())
        impl_->error = text::tr("Something is wrong with this site, or nothing is: measure, and say what it is.");
    else if (lesson_) impl_->error = text::tr("The lesson's site stays as it is. Leave the lesson to change it.");
    return sealed() || lesson_;
}

bool Desk::refuses_locked() {
    if (!leads_locked()) return false;
    impl_->error = text::tr("First your figure and your reason. Then the leads.");
    return true;
}

void Desk::plant(const std::string& kind, const std::string& place, double severity) {
    if (refuses_sealed()) return;
    bench::Edits e = edits();
    std::erase_if(e.faults, [&](const site::Fault& f) { return f.kind == kind && f.place == place; });
    e.faults.push_back({kind, place, severity, comes_in_s > 0.0 ? truth()->now_t + comes_in_s : 0.0});
    impl_->put(e);
}

void Desk::move_fault(const std::string& kind, const std::string& from, const std::string& to) {
    if (refuses_sealed()) return;
    bench::Edits e = edits();
    std::erase_if(e.faults, [&](const site::Fault& f) { return f.kind == kind && f.place == to; });
    for (site::Fault& f : e.faults)
        if (f.kind == kind && f.place == from) f.place = to;
    impl_->put(e);
}

void Desk::heal(const std::string& kind, const std::string& place) {
    if (refuses_sealed()) return;
    bench::Edits e = edits();
    std::erase_if(e.faults, [&](const site::Fault& f) { return f.kind == kind && f.place == place; });
    impl_->put(e);
}

void Desk::heal_all() {
    if (refuses_sealed()) return;
    bench::Edits e = edits();
    e.faults.clear();
    impl_->put(e);
}

void Desk::act(const std::string& kind, const std::string& place) {
    if (lesson_ && refuses_sealed()) return;
    // What only the site itself forbids is done, and counts: nobody had proved it dead.
    if (sealed() && !caution_of(*truth(), kind, place).refused.empty()) return act_anyway(kind, place);
    carry_out(kind, place);
    keep_call();
}

void Desk::carry_out(const std::string& kind, const std::string& place) {
    bench::Edits e = edits();
    // Done again it moves to the end: the last word on a place is what stands.
    std::erase_if(e.acts, [&](const site::Act& a) { return a.kind == kind && a.place == place; });
    e.acts.push_back({kind, place, truth()->now_t});
    impl_->put(e);
}

void Desk::act_anyway(const std::string& kind, const std::string& place) {
    carry_out(kind, place);
    if (!impl_->error.empty()) return;
    impl_->setup.unsafe.push_back(fmt::format("{}@{}", kind, place));
    impl_->send();
    keep_call();
}

void Desk::set(const std::string& key, const std::string& value) { set({{key, value}}); }

void Desk::set(const std::vector<std::pair<std::string, std::string>>& keys) {
    const auto by_hand = [](const auto& key) { return key.first == "rising_main.valve_opening"; };
    if (!std::ranges::all_of(keys, by_hand) && refuses_sealed()) return;
    if (const auto valve = std::ranges::find_if(keys, by_hand); valve != keys.end())
        if (const std::string act = valve_act(truth()->site->works, std::atof(valve->second.c_str())); !act.empty()) {
            impl_->asked_act = site::Act{act, "valve", 0.0};
            return;
        }
    bench::Edits e = edits();
    for (const auto& [key, value] : keys) {
        const std::string assignment = fmt::format("{}={}", key, value);
        const auto old =
            std::find_if(e.set.begin(), e.set.end(), [&name = key](const std::string& s) { return key_of(s) == name; });
        if (old != e.set.end()) *old = assignment;
        else e.set.push_back(assignment);
    }
    impl_->put(e);
}

std::optional<site::Act> Desk::take_asked_act() { return std::exchange(impl_->asked_act, std::nullopt); }

void Desk::undo() { walk_edits_by(impl_->undo, impl_->redo); }
void Desk::redo() { walk_edits_by(impl_->redo, impl_->undo); }
bool Desk::can_undo() const { return !impl_->undo.empty(); }
bool Desk::can_redo() const { return !impl_->redo.empty(); }

std::vector<Done> Desk::done() const {
    const auto& [undo, redo] = std::tie(impl_->undo, impl_->redo);
    const Standing here = impl_->standing();
    // As they followed each other; the step to the next one is dated in the earlier of two that stand, in the later of
    // two that were undone.
    std::vector<const Standing*> all;
    all.reserve(undo.size() + redo.size() + 1);
    for (const Standing& s : undo) all.push_back(&s);
    all.push_back(&here);
    for (auto s = redo.rbegin(); s != redo.rend(); ++s) all.push_back(&*s);
    std::vector<Done> list;
    list.reserve(all.size());
    for (std::size_t n = 0; n + 1 < all.size(); ++n) {
        const bool undone = n >= undo.size();
        const Standing& dated = undone ? *all[n + 1] : *all[n];
        const auto bearing = [](const Standing& s) { return Bearing{s.edits, s.meters, s.probes}; };
        std::string words = change_words(bearing(*all[n]), bearing(*all[n + 1]), marks_hidden || sealed());
        if (words.empty()) continue;
        std::tm local{};
        localtime_r(&dated.clock, &local);
        list.push_back({dated.t, fmt::format("{:02}:{:02}:{:02}", local.tm_hour, local.tm_min, local.tm_sec),
                        std::move(words), n + 1, undone});
    }
    return list;
}

void Desk::walk_edits(std::size_t depth) {
    while (impl_->undo.size() > depth && !asked_touch()) undo();
    while (impl_->undo.size() < depth && can_redo() && !asked_touch()) redo();
}

const bench::Edits& Desk::edits() const {
    impl_->hear();
    return impl_->setup.edits;
}

std::string Desk::last_error() const {
    impl_->hear();
    return impl_->error.why;
}

std::string Desk::new_error() {
    impl_->hear();
    return std::exchange(impl_->error.fresh, false) ? impl_->error.why : std::string();
}

// ---- time

void Desk::run() {
    impl_->setup.running = true;
    impl_->setup.walked_to.reset();
    impl_->send();
}

void Desk::hold() {
    impl_->setup.running = false;
    impl_->send();
}

void Desk::walk_to(double t) {
    const auto s = impl_->worker->snapshot();
    impl_->setup.running = false;
    if (t < s->now_t - 1e-9) impl_->setup.walked_to = std::max(t, s->past_from);
    else impl_->setup.walked_to.reset();
    impl_->send();
}

void Desk::walk_by(double seconds) {
    walk_to(impl_->setup.walked_to.value_or(impl_->worker->snapshot()->now_t) + seconds);
}

void Desk::step() {
    if (impl_->setup.running) hold();
    impl_->worker->step();
}
void Desk::want_spectra() { impl_->worker->want_spectra(); }

void Desk::rate(double simulated_per_wall) {
    if (!(simulated_per_wall > 0.0)) return;
    impl_->setup.rate = std::clamp(simulated_per_wall, least_rate, most_rate);
    impl_->send();
}

double Desk::rate() const { return impl_->setup.rate; }
bool Desk::running() const { return impl_->setup.running; }

// ---- notebook

void Desk::note() {
    if (writing.on() && !lesson_ && !sealed()) {
        const bool clamp = meter::takes_clamp(mode()) || probes().red.empty() || probes().black.empty();
        const auto read_as =
            clamp ? std::pair{snapshot()->clamp_mode, std::string("clamp-hall")} : std::pair{mode(), meters()[0]};
        writing.take(edits(), probes(), read_as.first, read_as.second);
    }
    impl_->error = notebook.take(*snapshot()) > 0 ? "" : text::tr("No display shows anything to note.");
    keep_call();
}

void Desk::note_typed(const std::string& gauge, bool clamp, const std::string& shown) {
    impl_->error =
        notebook.type(*snapshot(), gauge, clamp, shown) ? "" : text::tr("Place the leads first, or choose a gauge.");
    keep_call();
}

void Desk::look(const std::string& gauge) {
    impl_->setup.asked.push_back(gauge);
    impl_->send();
}

void Desk::hear() {
    const auto s = truth();
    for (; heard_ < s->told.size(); ++heard_)
        (void)notebook.type(*s, s->told[heard_].first, false, s->told[heard_].second);
}

void Desk::suspect() {
    if (!sealed() && !reasons_closed()) suspecting_.ask(notebook.as_case(impl_->scenario.file));
}

void Desk::look_again(const Note& note) {
    if (!note.gauge.empty()) return;
    bench::Probes probes = impl_->setup.probes;
    if (note.probes.around.empty()) probes.red = note.probes.red, probes.black = note.probes.black;
    else probes.around = note.probes.around;
    if (meter::takes_clamp(note.mode)) place(probes);
    else measure(probes, note.mode, note.meter);
}

std::string Desk::case_text() const {
    const diagnose::Case c = notebook.as_case(impl_->scenario.file);
    return c.seen.empty() ? std::string() : diagnose::to_toml(c);
}

// ---- session

std::string Desk::session() const {
    if (lesson_) return before_lesson_.second;
    if (call_) return before_call_;  // what is sealed is in no file but its own
    return standing();
}

std::string Desk::standing() const {
    impl_->hear();
    Setup setup = impl_->setup;
    setup.edits = from(setup.edits, truth()->now_t);
    return to_toml({session_site(impl_->scenario.file), std::move(setup), scope, marks_hidden, teaching_points,
                    notebook.notes(), day});
}

bool Desk::restore(const std::string& text, std::string& error) {
    try {
        const Session s = session_from(text);
        if (session_site(site::find_scenario(s.scenario)) != session_site(impl_->scenario.file))
            throw site::BadInput(
                fmt::format("session: is of the site in {}, this is {}", s.scenario, impl_->scenario.file));
        (void)bench::checked(impl_->scenario, s.setup.edits);
        impl_->hear();
        if (!same(s.setup.edits, impl_->setup.edits)) {
            impl_->remember();
        }
        const bool alone = impl_->setup.alone;  // the lesson's
        impl_->setup = s.setup;
        impl_->setup.alone = alone;
        scope = s.scope;
        marks_hidden = s.marks_hidden;
        teaching_points = s.teaching_points;
        notebook.restore(s.notes);
        day = s.day;
        impl_->error.clear();
        impl_->send();
        error.clear();
        return true;
    } catch (const std::exception& e) {
        error = e.what();
        return false;
    }
}

std::string Desk::scenario_of(const std::string& text) {
    try {
        return session_from(text).scenario;
    } catch (const std::exception&) {
        return {};
    }
}

}  // namespace sunshaft::view
