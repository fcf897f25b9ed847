#include "model/call.hpp"

#include "diagnose/sights.hpp"

namespace sunshaft::view {

void Call::bring(const callout::Callout& c) {
    background_.ask([&](State& s) { s.what = std::make_shared<const callout::Callout>(c); });
}

void Call::draw(const Scenario& scenario, const callout::Wish& wish) {
    background_.ask([](State&) {},
                    [scenario, wish](const auto& job) {
                        const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
                        const auto drawn = std::make_shared<const callout::Callout>(
                            callout::draw(scenario, priors, wish, [&](double f) { return job.told(f); }));
                        job.publish([&](State& s) { s.what = drawn; });
                    });
}

void Call::say(const callout::Named& named, const std::optional<callout::Named>& second) {
    background_.ask([&](State& s) { s.named.push_back(named), s.second.push_back(second); });
}

void Call::judge(const callout::Conducted& notes) {
    const auto asked = now();
    background_.ask([](State&) {},
                    [notes, asked](const auto& job) {
                        const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
                        std::vector<std::shared_ptr<const callout::Account>> accounts;
                        for (std::size_t n = 0; n < asked->named.size(); ++n) {
                            callout::Conducted one = notes;
                            one.named = asked->named[n];
                            one.second = asked->second[n];
                            const auto part = static_cast<double>(accounts.size());
                            const auto all = static_cast<double>(asked->named.size());
                            accounts.push_back(std::make_shared<const callout::Account>(
                                callout::judge(*asked->what, one, priors, diagnose::cache_folder(),
                                               [&](double f) { return job.told((part + f) / all); })));
                        }
                        job.publish([&](State& s) { s.accounts = accounts; });
                    });
}

}  // namespace sunshaft::view
