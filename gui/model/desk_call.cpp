// The desk's call-outs: drawn, met, kept in a journal, named, left.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "bench/field_tests.hpp"
#include "callout/moment.hpp"
#include "callout/seal.hpp"
#include "callout/written.hpp"
#include "diagnose/typed.hpp"
#include "model/desk_impl.hpp"
#include "model/session_store.hpp"
#include "model/site_offers.hpp"

namespace sunshaft::view {

namespace {

std::string words(const site::Act& act) { return act.kind + "@" + act.place; }

// A reading of a journal as an entry of the notebook.
Note note_of(const callout::Deed& d, const Snapshot& now) {
    Note n;
    n.t = d.t;
    n.acts = d.seen.act;
    n.probes = {d.seen.red, d.seen.black, d.seen.around};
    n.mode = meter::mode_from(d.seen.mode).value_or(meter::Mode::dcv);
    n.meter = d.seen.meter;
    n.shown = callout::says(d.seen);
    n.gauge = !d.seen.gauge.empty()     ? d.seen.gauge
              : !d.seen.lamp.empty()    ? "lamps"
              : !d.seen.sound.empty()   ? "sound"
              : !d.seen.look.empty()    ? "outlet"
              : !d.seen.message.empty() ? "drive_stop"
                                        : "";
    n.typed = !n.gauge.empty();
    if (std::isfinite(d.seen.after_s)) n.after_s = d.seen.after_s;
    n.moment = d.seen.moment;
    n.irradiance = now.site->works.array.sunlight();
    n.module_degC = now.site->works.array.module_degC;
    return n;
}

}  // namespace

// What stands in the journal of what the desk shows.
struct Desk::Kept {
    std::unique_ptr<callout::Record> record;
    std::vector<site::Act> acts;
    std::vector<bool> struck;  // by note
    std::size_t unsafe = 0;
    std::unique_ptr<callout::Written> written;
    std::vector<std::string> stands;  // there
};

std::shared_ptr<const Call::State> Desk::call() const { return call_ ? call_->now() : nullptr; }

bool Desk::sealed() const {
    const auto s = call();
    return s && s->what && !s->over();
}

double Desk::minutes_on_site() const {
    static const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    return callout::minutes(notebook.as_case(impl_->scenario.file), priors);
}

std::string Desk::journal_file() const {
    if (journals.empty()) return {};
    return (std::filesystem::path(journals) / std::filesystem::path(callout::usual_journal(learners)).filename())
        .string();
}

void Desk::begin_call() {
    before_call_ = session();
    call_ = std::make_shared<Call>();
    kept_.reset();
    met_ = false;
}

void Desk::draw_call(const callout::Wish& wish) {
    if (call_) return;
    leave_lesson();
    begin_call();
    call_->draw(impl_->scenario, wish);
    if (!threaded_) call_->wait();
}

void Desk::bring_call(const callout::Callout& call) {
    begin_call();
    call_->bring(call);
    meet_call();
}

std::optional<callout::Attempt> Desk::unfinished_call() const {
    try {
        return callout::unfinished(journal_file());
    } catch (const std::exception&) {
        return std::nullopt;
    }
}

void Desk::meet_call() {
    const auto s = call();
    if (!s || !s->what || met_) return;
    auto call = std::move(call_);
    const std::string before = before_call_;
    open(impl_->scenario);
    call_ = std::move(call);
    before_call_ = before;
    met_ = true;
    marks_hidden = true;
    impl_->put(callout::edits(*s->what));
    impl_->undo.clear();  // nobody did that
    if (threaded_) set_going();
    kept_ = std::make_shared<Kept>();
    kept_->written = std::make_unique<callout::Written>(impl_->scenario, callout::edits(*s->what));
    const std::string file = journal_file();
    if (file.empty()) return;
    try {
        kept_->record = std::make_unique<callout::Record>(file);
        take_up(kept_->record->begin(*s->what, learners, terms));
    } catch (const std::exception& e) {
        kept_->record.reset();
        impl_->error = e.what();
    }
}

// As it was left: what had been done stands, what had been read is noted. The site has run since.
void Desk::take_up(const callout::Attempt& a) {
    terms = a.terms;
    bench::Edits e = edits();
    const double now = truth()->now_t;
    std::vector<Note> notes;
    for (const callout::Deed& d : a.deeds) {
        const std::size_t at = d.act.find('@');
        if (d.stopped) continue;
        if (d.kind == callout::Deed::Kind::act || d.kind == callout::Deed::Kind::undo)
            std::erase_if(e.acts, [&](const site::Act& x) { return words(x) == d.act; });
        if (d.kind == callout::Deed::Kind::act) e.acts.push_back({d.act.substr(0, at), d.act.substr(at + 1), now});
        if (d.kind == callout::Deed::Kind::read) notes.push_back(note_of(d, *truth()));
        if (d.kind == callout::Deed::Kind::strike && d.entry < notes.size())
            notes[d.entry].struck = !notes[d.entry].struck;
    }
    impl_->put(e);
    impl_->undo.clear();
    impl_->setup.unsafe = a.unsafe();
    impl_->send();
    notebook.restore(std::move(notes));
    kept_->acts = e.acts;
    for (const Note& n : notebook.notes()) kept_->struck.push_back(n.struck);
    kept_->unsafe = impl_->setup.unsafe.size();
}

// As written, through what was done till now.
bench::Scene Desk::written() const {
    callout::Written& w = *kept_->written;
    const double now = truth()->t;
    const bench::Edits done = edits();
    std::vector<std::string> stands;
    double last = 0.0;
    for (const site::Act& act : done.acts) stands.push_back(words(act)), last = std::max(last, act.time);
    if (stands != kept_->stands) {
        w.run_to(std::min(last, now));
        w.put(done);
        kept_->stands = std::move(stands);
    }
    w.run_to(now);
    return w.scene();
}

Known Desk::known() const {
    const auto s = truth();
    Known known{s, bench::scene(*s->site, s->now)};
    known.scene.dipped = s->water_level_m;  // the ruler along the bore shows the level all the time
    if (!sealed() || !kept_ || !kept_->written) return known;
    bool live = std::ranges::any_of(s->meters, [](const MeterFace& face) {
        return face.reading && callout::shows_live(face.mode, face.reading->shown);
    });
    bench::Scene scene = written();
    for (const Note& n : notebook.notes()) {
        if (n.gauge == "water") scene.dipped = diagnose::typed(n.shown, "m").value;
        live = live || (n.gauge.empty() && n.t >= s->acts_t && callout::shows_live(n.mode, n.shown));
    }
    if (!live) return {s, scene};
    known.scene.dipped = scene.dipped;
    return known;
}

Caution Desk::caution(const std::string& kind, const std::string& place) const {
    const Known now = known();
    return caution_of(told_of(bench::needs(now.scene, site::Act{kind, place, 0.0}), now.scene));
}

// In a call-out a card tells the highest volts there can be: those of this moment are for a meter to show.
std::vector<bench::Hazard> Desk::told_of(std::vector<bench::Hazard> list, const bench::Scene& scene) const {
    return sealed() ? bench::at_most(std::move(list), *scene.works) : list;
}

std::vector<std::string> Desk::cautions_of(const std::string& gauge) const {
    bench::Observation look;
    look.gauge = gauge;
    if (!kept_ || !kept_->written) return {};
    (void)written();
    return bench::words(bench::at_most(bench::hazards({look}, bench::Station::running, kept_->written->bench()),
                                       kept_->written->works()));
}

void Desk::keep_call() {
    hear();
    if (!kept_ || !kept_->record || !sealed()) return;
    const double t = truth()->t;
    try {
        const std::vector<site::Act> now = edits().acts;
        std::vector<std::string> unsafe(impl_->setup.unsafe.begin() + static_cast<std::ptrdiff_t>(kept_->unsafe),
                                        impl_->setup.unsafe.end());
        const auto is = [](const site::Act& act) {
            return [&](const site::Act& other) { return words(act) == words(other) && act.time == other.time; };
        };
        for (const site::Act& act : kept_->acts)
            if (std::ranges::none_of(now, [&](const site::Act& a) { return words(a) == words(act); }))
                kept_->record->deed({callout::Deed::Kind::undo, t, words(act)});
        for (const site::Act& act : now) {
            const bool anyway = std::erase(unsafe, words(act)) > 0;
            if (std::ranges::any_of(kept_->acts, is(act)) && !anyway) continue;
            callout::Deed d{callout::Deed::Kind::act, t, words(act)};
            d.unsafe = anyway;
            kept_->record->deed(d);
        }
        for (const std::string& act : unsafe) {  // and not done
            callout::Deed d{callout::Deed::Kind::act, t, act};
            d.stopped = true;
            kept_->record->deed(d);
        }
        kept_->acts = now;
        kept_->unsafe = impl_->setup.unsafe.size();
        const std::vector<Note>& notes = notebook.notes();
        for (std::size_t n = 0; n < notes.size(); ++n) {
            if (n == kept_->struck.size()) {
                callout::Deed d{callout::Deed::Kind::read, notes[n].t};
                d.seen = seen_of(notes[n]);
                kept_->record->deed(d);
                kept_->struck.push_back(false);
            }
            if (notes[n].struck != kept_->struck[n]) {
                callout::Deed d{callout::Deed::Kind::strike, t};
                d.entry = n;
                kept_->record->deed(d);
                kept_->struck[n] = notes[n].struck;
            }
        }
    } catch (const std::exception& e) {
        kept_->record.reset();  // said once
        impl_->error = e.what();
    }
}

// One deed that keep_call() does not find by itself.
void Desk::keep(const callout::Deed& deed) {
    if (!kept_ || !kept_->record || !sealed()) return;
    kept_->unsafe = impl_->setup.unsafe.size();
    try {
        kept_->record->deed(deed);
    } catch (const std::exception& e) {
        kept_->record.reset();  // said once
        impl_->error = e.what();
    }
}

void Desk::stopped(const std::string& kind, const std::string& place) {
    impl_->setup.unsafe.push_back(kind + "@" + place);
    impl_->send();
    keep_call();
}

void Desk::say(const callout::Named& named, const std::optional<callout::Named>& second) {
    if (!sealed()) return;
    keep_call();
    call_->say(named, second);
    if (call_->now()->named.size() < std::max<std::size_t>(1, learners.size())) return;
    call_->judge({notebook.as_case(impl_->scenario.file), {}, impl_->setup.unsafe});
    if (!threaded_) call_->wait();
    hear_call();
}

// The accounts are kept once they are there.
void Desk::hear_call() {
    const auto s = call();
    if (!s || !s->over() || !kept_ || !kept_->record) return;
    try {
        for (std::size_t n = 0; n < s->accounts.size(); ++n)
            kept_->record->marked(n < learners.size() ? learners[n] : "", *s->what, s->named[n], *s->accounts[n]);
    } catch (const std::exception& e) {
        impl_->error = e.what();
    }
    kept_->record.reset();
}

void Desk::leave_call() {
    if (!call_) return;
    if (sealed() && kept_ && kept_->record) try {
            kept_->record->leave();
        } catch (const std::exception& e) {
            impl_->error = e.what();
        }
    const std::string before = before_call_;
    open(impl_->scenario);
    std::string ignored;
    (void)restore(before, ignored);
}

}  // namespace sunshaft::view
