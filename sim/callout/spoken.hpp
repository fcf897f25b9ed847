// A visit in plain lines: what somebody types, and the lines that answer. Terminal, tests and scripted learners play
// the same.
//
//     Spoken play(visit, terms, {"Ana"});
//     for (const std::string& line : play.line("read drive.u drive.v acv")) ...
//     play.over(), play.said()
#pragma once

#include <string>
#include <vector>

#include "callout/visit.hpp"
#include "diagnose/priors.hpp"

namespace sunshaft::callout {

class Spoken {
  public:
    // said_before: how often these people have changed roles already.
    Spoken(Visit& visit, const Terms& terms, std::vector<std::string> who, std::size_t turn = 0);

    // What is typed, and what is answered. Nothing is thrown: what cannot be done is said.
    std::vector<std::string> line(const std::string& text);
    // Who has the meter, who the notes; empty: one alone.
    std::string roles() const;

    struct Said {
        Named first;
        std::optional<Named> second = {};
    };
    const std::vector<Said>& said() const { return said_; }  // one a person
    bool left() const { return left_; }
    bool over() const { return left_ || said_.size() >= std::max<std::size_t>(1, who_.size()); }
    // Of one of them, for the account.
    Conducted conducted(std::size_t person) const;
    enum class Verb;  // what a line asks for

  private:
    void carry_out(std::vector<std::string> words);
    void work(Verb verb, const std::vector<std::string>& words, bool anyway);
    void between(Verb verb, const std::vector<std::string>& words);
    void measure(const bench::Probes& probes, const std::string& mode, const std::string& meter, bool anyway);
    void before(const std::vector<std::string>& cautions);
    void notes();
    void tell(std::string line) { out_.push_back(std::move(line)); }

    Visit& visit_;
    Terms terms_;
    std::vector<std::string> who_;
    std::size_t turn_;
    diagnose::Priors priors_;
    std::vector<Said> said_;
    bool left_ = false;
    std::vector<std::string> told_;  // the cautions that stand above
    std::vector<std::string> out_;
};

}  // namespace sunshaft::callout
