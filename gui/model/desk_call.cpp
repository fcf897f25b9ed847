// The desk's call-outs: drawn, met, named, left.
#include <set>

#include "model/desk_impl.hpp"
#include "model/session_store.hpp"

namespace sunshaft::view {

std::shared_ptr<const Call::State> Desk::call() const { return call_ ? call_->now() : nullptr; }

bool Desk::sealed() const {
    const auto s = call();
    return s && s->what && !s->account;
}

double Desk::minutes_on_site() const {
    static const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    return callout::minutes(notebook.as_case(impl_->scenario.file), priors);
}

void Desk::draw_call(const callout::Wish& wish) {
    if (call_) return;
    leave_lesson();
    before_call_ = session();
    call_ = std::make_unique<Call>();
    met_ = false;
    call_->draw(impl_->scenario, wish);
    if (!threaded_) call_->wait();
}

void Desk::bring_call(const callout::Callout& call) {
    before_call_ = session();
    call_ = std::make_unique<Call>();
    met_ = false;
    call_->bring(call);
    meet_call();
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
}

void Desk::say(const callout::Named& named) {
    if (!sealed()) return;
    call_->judge({notebook.as_case(impl_->scenario.file), named, impl_->setup.unsafe});
    if (!threaded_) call_->wait();
}

void Desk::leave_call() {
    if (!call_) return;
    const std::string before = before_call_;
    open(impl_->scenario);
    std::string ignored;
    (void)restore(before, ignored);
}

}  // namespace sunshaft::view
