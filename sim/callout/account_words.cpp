#include <fmt/format.h>

#include <algorithm>

#include "callout/account.hpp"
#include "diagnose/answer_words.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::callout {

using text::say, text::tr;

namespace {

std::string cut(const std::string& text, std::size_t most) {
    if (text::letters(text) <= most) return text;
    std::size_t end = 0;
    for (std::size_t n = 0; n < most - 3; ++n) end = text::next_letter(text, end);
    return text.substr(0, end) + "...";
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
    row(fmt::format("{:>2} {:>4} {:<18} {:<15} {:>4} {:>14}", "", "min", tr("your way"), tr("shown"), tr("left"),
                    tr("truth then")),
        fmt::format("{:>2} {:>4} {:<18} {:<12} {}", "", "min", tr("a short way"), tr("would show"), tr("left")));
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
    row(say("   {:>4.0f} on site in all", a.minutes),
        text::say_of(a.best.suffices ? text::id("   {:>4.0f} on site in all")
                                     : text::id("   {:>4.0f} on site in all; not enough either"),
                     a.best.minutes));
    if (const auto list = steps_that(a, [](const Step& s) { return s.needless && !s.free; }); !list.empty())
        out.push_back(text::say("Needless: step {}.", list));
    if (const auto list = steps_that(a, [](const Step& s) { return s.misled; }); !list.empty())
        out.push_back(text::say("It misled you, because it does not see what was wrong: step {}.", list));
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
    if (n.fault == "health") return text::tr("nothing: the site is healthy");
    if (n.fault == "low-sun") return text::tr("nothing: too little sun");
    const site::FaultRow* row = site::find_fault(n.fault);
    const std::string title = row ? tr(row->title) : n.fault;
    return n.place.empty() ? title : say("{}, at {}", title, n.place);
}

std::vector<std::string> words(const Account& a) {
    std::vector<std::string> out;
    out.push_back(text::say("{:.0f} of 100", a.mark));
    out.push_back(text::say("The owner said: {}", a.said));
    out.push_back(text::say("What was wrong: {}.", a.truth));
    out.push_back(text::say("You said:       {}.", a.named));
    if (a.suffices < 0) {
        out.push_back(text::tr("Your readings never sufficed."));
    } else {
        const Step& s = a.steps[static_cast<std::size_t>(a.suffices)];
        out.push_back(text::say("Your readings sufficed after minute {:.0f}, step {}: {}.", s.from + s.minutes,
                                a.suffices + 1, s.what));
    }
    out.push_back("");
    both_ways(a, out);
    if (!a.missing.empty()) {
        std::string list;
        for (const std::string& m : a.missing) list += (list.empty() ? "" : ", ") + m;
        out.push_back(cut(say("Not done: {}.", list), 110));
    }
    for (const std::string& act : a.unsafe) out.push_back(cut(text::say("Unsafe: {}.", act), 110));
    out.push_back("");
    for (const Point& p : a.points)
        out.push_back(say("  {} {:>3.0f} of {:<3.0f} {}", p.rule, p.points, p.of,
                          p.step >= 0 ? say("{} Step {}.", p.why, p.step + 1) : p.why));
    if (!a.unsafe.empty()) out.push_back(text::tr("  S2 an unsafe act caps the mark at 40."));
    out.push_back("");
    out.push_back(text::say("Done well: {}", a.well));
    out.push_back(text::say("Change next time: {}", a.change));
    if (!a.lesson.empty()) out.push_back(text::say("It is trained by: sunshaft lesson {}", a.lesson));
    return out;
}

}  // namespace sunshaft::callout
