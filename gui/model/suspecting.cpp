#include "model/suspecting.hpp"

#include <algorithm>

namespace sunshaft::view {

namespace {

// When it can be tested comes first, since it takes least; then who it is, roughly; who it is; what to do next.
void answer(const diagnose::Case& c, const Background<Suspicion>::Job& job) {
    try {
        const auto today = c.sky_at.empty() ? std::nullopt : diagnose::today_of(c, diagnose::site_of(c));
        job.publish([&](Suspicion& s) { s.today = today; });
        if (c.seen.empty()) return;
        diagnose::Diagnosis diagnosis(c, diagnose::load_priors(diagnose::shipped_priors()), diagnose::cache_folder());
        const auto of = std::make_shared<const diagnose::Case>(c);
        struct Stage {
            double from, to;
            bool rough, tests;
        };
        for (const Stage& now : {Stage{0.0, 0.3, true, false}, {0.3, 0.6, false, false}, {0.6, 1.0, false, true}}) {
            const auto told = [&](double done) { return job.told(now.from + done * (now.to - now.from)); };
            const auto found = std::make_shared<const diagnose::Answer>(now.rough ? diagnosis.first(told)
                                                                                  : diagnosis.answer(told, now.tests));
            job.publish([&](Suspicion& s) {
                s.answer = found;
                s.answered = of;
                s.with_tests = now.tests;
                s.progress = now.to;
            });
        }
    } catch (const diagnose::Stopped&) {
        throw;
    } catch (const std::exception&) {
        job.publish([](Suspicion& s) { s.answer = nullptr; });
        throw;
    }
}

}  // namespace

void Suspecting::ask(const diagnose::Case& c) {
    const std::string text = c.seen.empty() && c.sky_at.empty() ? "" : diagnose::to_toml(c);
    if (text == asked_) return;
    asked_ = text;
    if (text.empty())
        return background_.ask([&](Suspicion& s) {
            s = {};
            s.of = c;
        });
    background_.ask(
        [&](Suspicion& s) {
            s.of = c;
            if (c.seen.empty()) s.answer = nullptr, s.answered = nullptr, s.with_tests = false;
        },
        [c](const auto& job) { answer(c, job); });
}

}  // namespace sunshaft::view
