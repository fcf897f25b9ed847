#include <fmt/format.h>

#include <algorithm>

#include "callout/account.hpp"
#include "diagnose/answer_words.hpp"
#include "site/faults.hpp"

namespace sunshaft::callout {
namespace {

std::string cut(const std::string& text, std::size_t most) {
    return text.size() <= most ? text : text.substr(0, most - 3) + "...";
}

}  // namespace

namespace {

// "3, 4 and 7": steps of one's own way.
std::string steps_that(const Account& a, bool (*is)(const Step&)) {
    std::string list;
    for (std::size_t n = 0; n < a.steps.size(); ++n)
        if (is(a.steps[n])) list += (list.empty() ? "" : ", ") + std::to_string(n + 1);
    return list;
}

// Both ways beside each other, step by step, and what the learner's own told of the truth.
void both_ways(const Account& a, std::vector<std::string>& out) {
    const auto row = [&](const std::string& mine, const std::string& other) {
        out.push_back(fmt::format(" {:<62} | {}", mine, other));
    };
    row(fmt::format("{:>2} {:>4} {:<18} {:<15} {:>4} {:>14}", "", "min", "your way", "shown", "left", "truth then"),
        fmt::format("{:>2} {:>4} {:<18} {:<12} {}", "", "min", "a short way", "would show", "left"));
    for (std::size_t n = 0; n < std::max(a.steps.size(), a.best.legs.size()); ++n) {
        std::string mine, other;
        if (n < a.steps.size()) {
            const Step& s = a.steps[n];
            mine = fmt::format("{:>2} {:>4.0f} {:<18} {:<15} {:>4} {:>14}", n + 1, s.from, cut(s.what, 18),
                               cut(s.shown, 15), s.left, diagnose::chance(s.truth));
        }
        if (n < a.best.legs.size()) {
            const Leg& l = a.best.legs[n];
            other = fmt::format("{:>2} {:>4.0f} {:<18} {:<12} {:>3}", n + 1, l.from, cut(l.name, 18), cut(l.shown, 12),
                                l.left);
        }
        row(mine, other);
    }
    row(fmt::format("   {:>4.0f} on site in all", a.minutes),
        fmt::format("   {:>4.0f} on site in all{}", a.best.minutes, a.best.suffices ? "" : "; not enough either"));
    if (const auto list = steps_that(a, [](const Step& s) { return s.needless && !s.free; }); !list.empty())
        out.push_back(fmt::format("Needless: step {}.", list));
    if (const auto list = steps_that(a, [](const Step& s) { return s.misled; }); !list.empty())
        out.push_back(fmt::format("It misled you, because it does not see what was wrong: step {}.", list));
}

}  // namespace

std::string act_words(const std::string& act) {
    const std::size_t at = act.find('@');
    const site::ActRow* row = at == std::string::npos ? nullptr : site::find_act(act.substr(0, at));
    return row ? row->says(act.substr(at + 1)) : act;
}

std::string says(const diagnose::Seen& seen) {
    for (const std::string* words : {&seen.sound, &seen.look, &seen.message})
        if (!words->empty()) return *words;
    return seen.lamp.empty() ? seen.shown : fmt::format("{} {}", seen.lamp, seen.shown);
}

std::string title_of(const Named& n) {
    if (n.fault == "health") return "nothing: the site is healthy";
    if (n.fault == "low-sun") return "nothing: too little sun";
    const site::FaultRow* row = site::find_fault(n.fault);
    return n.place.empty() ? row ? row->title : n.fault : fmt::format("{}, at {}", row ? row->title : n.fault, n.place);
}

std::vector<std::string> words(const Account& a) {
    std::vector<std::string> out;
    out.push_back(fmt::format("{:.0f} of 100", a.mark));
    out.push_back(fmt::format("The owner said: {}", a.said));
    out.push_back(fmt::format("What was wrong: {}.", a.truth));
    out.push_back(fmt::format("You said:       {}.", a.named));
    if (a.suffices < 0) {
        out.push_back("Your readings never sufficed.");
    } else {
        const Step& s = a.steps[static_cast<std::size_t>(a.suffices)];
        out.push_back(fmt::format("Your readings sufficed after minute {:.0f}, step {}: {}.", s.from + s.minutes,
                                  a.suffices + 1, s.what));
    }
    out.push_back("");
    both_ways(a, out);
    if (!a.missing.empty()) {
        std::string list;
        for (const std::string& m : a.missing) list += (list.empty() ? "" : ", ") + m;
        out.push_back(cut("Not done: " + list + ".", 110));
    }
    for (const std::string& act : a.unsafe) out.push_back(cut(fmt::format("Unsafe: {}.", act), 110));
    out.push_back("");
    for (const Point& p : a.points)
        out.push_back(fmt::format("  {} {:>3.0f} of {:<3.0f} {}{}", p.rule, p.points, p.of, p.why,
                                  p.step >= 0 ? fmt::format(" Step {}.", p.step + 1) : ""));
    if (!a.unsafe.empty()) out.push_back("  S2 an unsafe act caps the mark at 40.");
    out.push_back("");
    out.push_back(fmt::format("Done well: {}", a.well));
    out.push_back(fmt::format("Change next time: {}", a.change));
    if (!a.lesson.empty()) out.push_back(fmt::format("It is trained by: sunshaft lesson {}", a.lesson));
    return out;
}

}  // namespace sunshaft::callout
