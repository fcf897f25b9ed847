// The desk's leads: where they lie and on what, judged before they touch.
#include <algorithm>

#include "meter/meter.hpp"
#include "model/desk_impl.hpp"
#include "model/site_offers.hpp"

namespace sunshaft::view {
namespace {

// Two leads that lie, or the jaw of a clamp: less than that is no touch.
bool touches(const Touch& t) {
    return meter::takes_clamp(t.mode) ? !t.probes.around.empty() : !t.probes.red.empty() && !t.probes.black.empty();
}

// Where this meter lies on the same, set in the same way, nobody touches anew.
bool as_before(const Touch& to, const Touch& before, std::size_t which) {
    const bool lies = meter::takes_clamp(to.mode)
                          ? to.probes.around == before.probes.around
                          : to.probes.red == before.probes.red && to.probes.black == before.probes.black;
    return lies && to.mode == before.mode && to.meters[which] == before.meters[which] && to.changes == before.changes;
}

std::optional<meter::Spec> spec_of(const std::string& stem, const MeterChanges& changes) {
    try {
        return with_changes(find_meter(stem), changes);
    } catch (const std::exception&) {
        return {};  // a meter that is gone touches nothing
    }
}

diagnose::Seen seen_of(const Touch& t) {
    diagnose::Seen seen;
    if (meter::takes_clamp(t.mode)) seen.around = t.probes.around;
    else seen.red = t.probes.red, seen.black = t.probes.black;
    seen.mode = meter::mode_name(t.mode);
    return seen;
}

}  // namespace

std::vector<bench::Hazard> Desk::hazards_of(const bench::Scene& scene, const Touch& to) const {
    std::vector<bench::Hazard> list;
    if (!touches(to)) return list;
    const auto s = lesson();  // what a lesson is about is its own affair: its cautions stand in its turn
    if (s && s->turn.look && s->turn.look->what.mode == to.mode && lies_right(to.probes, s->turn.look->what.probes))
        return list;
    for (std::size_t n = 0; n < to.meters.size(); ++n) {
        if (as_before(to, impl_->lying(), n)) continue;
        const auto spec = spec_of(to.meters[n], to.changes);
        if (spec && spec->has(to.mode)) list = joined(std::move(list), bench::needs(scene, to.probes, to.mode, &*spec));
    }
    return list;
}

void Desk::touch(const Touch& to, std::function<void()> lay) {
    impl_->question.reset();
    Question asked{to, std::move(lay)};
    if (bench::refused(hazards_of(known().scene, to))) impl_->question = std::move(asked);
    else carry_out(asked);
}

// As an act in a call-out: what only the site itself forbids is done, and counts. Nobody had proved it dead.
void Desk::carry_out(const Question& asked) {
    const auto s = truth();
    const bench::Scene true_one = bench::scene(*s->site, s->now);
    const bool unsafe =
        bench::refused(hazards_of(known().scene, asked.touch)) || bench::refused(hazards_of(true_one, asked.touch));
    if (unsafe && !asked.counted) count(asked.touch, false);
    asked.lay();
}

void Desk::count(const Touch& touch, bool stopped) {
    keep_call();
    callout::Deed deed{callout::Deed::Kind::touch, truth()->t};
    deed.seen = seen_of(touch);
    deed.unsafe = !stopped;
    deed.stopped = stopped;
    impl_->setup.unsafe.push_back(deed.seen.what());
    impl_->send();
    keep(deed);
}

std::optional<std::pair<bench::Probes, meter::Mode>> Desk::asked_touch() const {
    if (!impl_->question) return {};
    return std::pair(impl_->question->touch.probes, impl_->question->touch.mode);
}

meter::Mode Desk::mode_meant() const { return impl_->question ? impl_->question->touch.mode : mode(); }

Caution Desk::touch_caution() const {
    if (!impl_->question) return {};
    const Known now = known();
    return caution_of(told_of(hazards_of(now.scene, impl_->question->touch), now.scene));
}

void Desk::touch_anyway() {
    if (const auto asked = std::exchange(impl_->question, std::nullopt)) carry_out(*asked);
}

void Desk::touch_stopped() {
    if (!impl_->question || std::exchange(impl_->question->counted, true)) return;
    count(impl_->question->touch, true);
}

void Desk::leave_touch() { impl_->question.reset(); }

// ---- where they lie, and what they are set to

std::string Desk::why_not(const bench::Probes& probes) const {
    std::string why;
    for (const std::string* name : {&probes.red, &probes.black, &probes.around})
        if (why.empty()) why = why_not(*name, name == &probes.around);
    return why;
}

void Desk::place(const bench::Probes& probes) { measure(probes, mode()); }

void Desk::measure(const bench::Probes& probes, meter::Mode mode, const std::string& meter) {
    impl_->hear();
    if (refuses_locked()) return;
    const bool carried = impl_->carried.has_value();
    impl_->put_back();
    impl_->error = why_not(probes);
    Touch to = impl_->lying();
    to.probes = probes;
    to.mode = mode;
    if (std::ranges::find(to.meters, meter) == to.meters.end() && spec_of(meter, {})) to.meters[0] = meter;
    if (impl_->error.empty() && to != impl_->lying())
        touch(to, [this, to] {
            if (to.probes != impl_->setup.probes) {
                impl_->remember();
                impl_->lay(to.probes);
            }
            impl_->setup.mode = to.mode;
            impl_->setup.meters = to.meters;
            impl_->send();
        });
    if (carried) impl_->send();
}

void Desk::carry(bench::Probes probes) {
    if (refuses_locked()) return;
    for (std::string* name : {&probes.red, &probes.black, &probes.around})
        if (!why_not(*name, name == &probes.around).empty()) name->clear();
    if (probes == impl_->setup.probes) return;
    const Standing from = impl_->carried ? *impl_->carried : impl_->standing();
    impl_->put_back();
    // Where it must not lie it hangs in the air, too: place() asks.
    Touch to = impl_->lying();
    const bench::Probes before = std::exchange(to.probes, probes);
    if (bench::refused(hazards_of(known().scene, to))) {
        if (probes.red != before.red) probes.red.clear();
        if (probes.black != before.black) probes.black.clear();
    }
    impl_->lay(probes);
    impl_->carried = from;
    impl_->send();
}

void Desk::choose_mode(meter::Mode mode) {
    Touch to = impl_->lying();
    to.mode = mode;
    touch(to, [this, mode] {
        impl_->setup.mode = mode;
        impl_->send();
    });
}

void Desk::choose_meter(int which, const std::string& spec) {
    if (which < 0 || which > 1) return;
    try {
        find_meter(spec);
    } catch (const std::exception& e) {
        impl_->error = e.what();
        return;
    }
    impl_->error.clear();
    Touch to = impl_->lying();
    to.meters[static_cast<std::size_t>(which)] = spec;
    touch(to, [this, meters = to.meters] {
        impl_->setup.meters = meters;
        impl_->send();
    });
}

// Leads and chains as they were can be a touch, too.
void Desk::walk_edits_by(std::vector<Standing>& from, std::vector<Standing>& to) {
    if (refuses_locked()) return;
    impl_->hear();
    if (from.empty()) return;
    Touch back = impl_->lying();
    back.probes = from.back().probes;
    back.changes = from.back().meters;
    touch(back, [this, &from, &to] {
        impl_->turn_back(from, to, marks_hidden || sealed());
        keep_call();
    });
}

}  // namespace sunshaft::view
