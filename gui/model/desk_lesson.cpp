// The desk's lessons: the bench as each turn has it, the instruments set, the leads waited for.
#include <algorithm>

#include "classroom/lesson_record.hpp"
#include "model/desk_impl.hpp"
#include "model/session_store.hpp"
#include "site/load.hpp"
#include "site/points.hpp"
#include "teach/progress.hpp"

namespace sunshaft::view {

std::shared_ptr<const Teaching::State> Desk::lesson() const { return lesson_ ? lesson_->now() : nullptr; }

bool Desk::leads_locked() const {
    const auto s = lesson();
    return s && (s->turns == 0 || s->turn.sealed);
}

bool Desk::reasons_closed() const {
    const auto s = lesson();
    return s && (s->turns == 0 || s->turn.closed);
}

void Desk::begin_lesson(const std::string& name_or_file, const teach::PlayOptions& options) {
    if (call_) return;
    std::unique_ptr<Teaching> next;
    try {
        next = std::make_unique<Teaching>(name_or_file, options);
    } catch (const std::exception& e) {
        impl_->error = e.what();
        return;
    }
    if (!learner.empty() && !options.of_class && !options.in_pair && options.from_step == 0 && !writing.on()) {
        try {
            auto with_recall = options;
            with_recall.recall =
                teach::recall(teach::read_progress(learner), teach::shipped_lessons(), teach::load_beliefs());
            next = std::make_unique<Teaching>(name_or_file, with_recall);
        } catch (const std::exception& e) {
            impl_->error = e.what();  // the lesson goes on without
        }
    }
    if (!lesson_) before_lesson_ = {impl_->scenario.file, session()};
    lesson_ = std::move(next);
    lesson_met_ = 0;
    stood_.clear();
    if (!threaded_) lesson_->wait();
}

void Desk::answer_lesson(const std::string& said) {
    if (!lesson_) return;
    lesson_->answer(said);
    if (!threaded_) lesson_->wait();
}

void Desk::stand(const teach::Turn& turn) {
    const std::string file = turn.bench->scenario().file;
    impl_ = std::make_unique<Impl>(site::load_scenario(file), threaded_, scope, turn.bench.get());
    marks_hidden = follows_;
    teaching_points = true;  // a demonstration may be about a point nobody can reach
    scope = {};
    impl_->setup.channels.clear();
    impl_->setup.alone = true;  // a second meter would load what the lesson's own reads
    impl_->send();
    stood_ = turn.bench_key;
}

void Desk::set_up_for(const teach::Look& look) {
    if (look.meter.empty()) return;
    impl_->setup.meters[0] = look.meter;
    impl_->setup.source_F = look.what.set.source_F;
    impl_->setup.mode = look.what.mode;
    impl_->send();
}

void Desk::meet_lesson() {
    const auto s = lesson();
    if (!s || s->working || s->turns == 0) return;
    const teach::Turn& turn = s->turn;
    if (s->turns != lesson_met_) {
        lesson_met_ = s->turns;
        if (turn.bench && turn.bench_key != stood_) stand(turn);
        if (!turn.show.empty()) choose_channels(turn.show);
        if (turn.look) set_up_for(*turn.look);
        const bool by_hand = turn.asks == teach::Turn::Asks::leads && can_be_laid(*turn.look);
        if (turn.sealed) impl_->lay({}), impl_->send();
        else if (turn.look && !by_hand && turn.look->on_display()) {
            impl_->lay(turn.look->what.probes);
            impl_->send();
        }
        // What is said before a reading is read first, also where the leads lie right already.
        lies_already_ = turn.asks == teach::Turn::Asks::leads && lies_right(probes(), turn.look->what.probes);
        impl_->undo.clear();  // nobody did that
        if (s->over && !follows_) keep_progress(*s);
    }
    if (follows_) return;
    if (turn.asks != teach::Turn::Asks::leads || impl_->carried) return;
    const bool right = lies_right(probes(), turn.look->what.probes);
    lies_already_ = lies_already_ && right;
    if (right && !lies_already_) answer_lesson("");
}

bool Desk::follow_lesson(const std::string& file, std::uint64_t seed, const std::vector<std::string>& said) {
    const auto as_told = [&](const Teaching::State& s) {
        return s.lesson->file == file && s.seed == seed && s.said.size() <= said.size() &&
               std::equal(s.said.begin(), s.said.end(), said.begin());
    };
    if (lesson_ && !as_told(*lesson())) leave_lesson();
    if (!lesson_) {
        follows_ = true;
        begin_lesson(file, {.seed = seed, .of_class = true});
    }
    meet_lesson();
    const auto s = lesson();
    if (!s || s->working || !s->trouble.empty()) return false;
    if (s->said.size() == said.size()) return true;
    answer_lesson(said[s->said.size()]);
    meet_lesson();
    return lesson()->said.size() == said.size() && !lesson()->working;
}

// In the journal of who sits here, for the class's book.
void Desk::keep_lesson(const Teaching::State& s) const {
    const std::string file = journal_file();
    if (file.empty() || learners.empty() || learners.size() != (s.in_pair ? 2U : 1U)) return;
    try {
        classroom::keep_lesson(file, learners, *s.lesson, s.lesson->site, s.outcome, teach::load_beliefs());
    } catch (const std::exception& e) {
        impl_->error = e.what();
    }
}

// A session of this learner, once it is at its end.
void Desk::keep_progress(const Teaching::State& s) const {
    if (s.of_class || s.partial || writing.on()) return;
    keep_lesson(s);
    if (learner.empty() || s.in_pair) return;
    try {
        teach::Progress progress = teach::read_progress(learner);
        progress.sessions.push_back(teach::session_of(*s.lesson, s.outcome));
        teach::write_progress(learner, progress);
    } catch (const std::exception& e) {
        impl_->error = e.what();
    }
}

void Desk::record_lesson() { writing.begin(session_site(impl_->scenario.file)); }
bool Desk::save_lesson() { return writing.on() && writing.save(impl_->scenario); }
void Desk::try_lesson(bool from_step) {
    if (!save_lesson()) return;
    teach::PlayOptions options;
    options.from_step = from_step ? writing.at : 0;
    begin_lesson(writing.file(), options);
}

// By a hand on this drawing: of several conductors at once the clamp is closed by the program.
bool Desk::can_be_laid(const teach::Look& look) const {
    const bench::Probes& p = look.what.probes;
    if (p.around.empty()) return true;
    const auto points = site::points(snapshot()->site->works);
    return std::ranges::any_of(points, [&](const auto& i) { return i.clamp && i.name == p.around; });
}

void Desk::leave_lesson() {
    if (!lesson_) return;
    const auto [file, session] = before_lesson_;
    lesson_.reset();
    follows_ = false;
    std::string ignored;
    try {
        open(site::load_scenario(file));
        (void)restore(session, ignored);
    } catch (const std::exception& e) {
        impl_->error = e.what();
    }
}

}  // namespace sunshaft::view
