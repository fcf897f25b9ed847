// A call-out on the bench: drawn or brought sealed, named by whoever measured, judged in a thread of its own.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "callout/record.hpp"
#include "model/background.hpp"

namespace sunshaft::view {

class Call {
  public:
    struct State : Asked {                                              // drawing, or judging
        std::shared_ptr<const callout::Callout> what;                   // null: not drawn yet
        std::vector<callout::Named> named;                              // one a person, in their order
        std::vector<std::optional<callout::Named>> second;              // what else it is, as many
        std::vector<std::shared_ptr<const callout::Account>> accounts;  // as many, once they are judged
        bool over() const { return !accounts.empty(); }
    };

    void bring(const callout::Callout& c);  // sealed by somebody else
    void draw(const Scenario& scenario, const callout::Wish& wish);
    // Keeps what one of them says; kept from the other until both have said it.
    void say(const callout::Named& named, const std::optional<callout::Named>& second = {});
    // Everybody's account, of what they named. notes: what all of them read and did.
    void judge(const callout::Conducted& notes);
    void wait() { background_.wait(); }
    std::shared_ptr<const State> now() const { return background_.now(); }

  private:
    Background<State> background_;
};

}  // namespace sunshaft::view
