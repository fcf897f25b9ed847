#include "model/suspecting.hpp"

#include <algorithm>

namespace sunshaft::view {

namespace {

// Who it is comes first; what to do next takes longer.
void answer(const diagnose::Case& c, const Background<Suspicion>::Job& job) {
    try {
        diagnose::Diagnosis diagnosis(c, diagnose::load_priors(diagnose::shipped_priors()), diagnose::cache_folder());
        const auto of = std::make_shared<const diagnose::Case>(c);
        for (const bool tests : {false, true}) {
            const double from = tests ? 0.6 : 0.0, to = tests ? 1.0 : 0.6;
            const auto told = [&](double done) { return job.told(from + done * (to - from)); };
            const auto found = std::make_shared<const diagnose::Answer>(diagnosis.answer(told, tests));
            job.publish([&](Suspicion& s) {
                s.answer = found;
                s.answered = of;
                s.with_tests = tests;
                s.progress = to;
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
    const std::string text = c.seen.empty() ? "" : diagnose::to_toml(c);
    if (text == asked_) return;
    asked_ = text;
    if (text.empty())
        return background_.ask([&](Suspicion& s) {
            s = {};
            s.of = c;
        });
    background_.ask([&](Suspicion& s) { s.of = c; }, [c](const auto& job) { answer(c, job); });
}

}  // namespace sunshaft::view
