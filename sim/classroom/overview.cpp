#include "classroom/overview.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "callout/account.hpp"
#include "files/text.hpp"
#include "text/language.hpp"

namespace sunshaft::classroom {
namespace {

using text::say, text::tr;

constexpr std::int64_t a_day = 86400;

std::string doubt_of(const std::string& at, const std::string& before, std::int64_t now) {
    const auto t = journal::time_from(at);
    if (!t) return tr("no clock");
    if (*t > now + a_day) return tr("the laptop's clock was ahead");
    if (*t < 1735689600)
        return tr("the laptop's clock was years behind");  // the first day of 2025, before this form was
    if (!before.empty() && at < before) return tr("the laptop's clock went back");
    return "";
}

std::string thing(const std::string& kind) { return callout::title_of({kind, ""}); }

// An overview as it grows.
class Gathering {
  public:
    Gathering(const Book& book, bool names, std::int64_t now)
        : book_(book), names_(names), now_(now), overruled_(book.overruled()) {}

    void add(const callout::Attempt& a) {
        const std::string doubt = doubt_of(a.at, last_at_[a.journal], now_);
        last_at_[a.journal] = a.at;
        std::vector<std::string> who = a.who;
        if (who.empty()) who.emplace_back();
        for (const std::string& w : who) {
            Row r = row_of(a, w, who);
            r.doubt = doubt;
            if (r.over) count(r, learners_[w]);
            all_.rows.push_back(std::move(r));
        }
    }
    void add(LessonDone d) {
        const std::string shown_as = name_of(d.who);
        Learner& learner = learners_[d.who];
        ++learner.lessons;
        learner.got += d.of > 0 && d.got == d.of ? 1 : 0;
        for (const std::string& says : d.missed) misled(say("Believes: {}", files::one_line(says, 200)), shown_as);
        d.who = shown_as;
        d.doubt = doubt_of(d.at, "", now_);
        all_.lessons.push_back(std::move(d));
    }
    Overview whole() {
        for (auto& [who, learner] : learners_) all_.learners.push_back(std::move(learner));
        std::ranges::sort(all_.learners, {}, &Learner::number);
        for (auto& [sentence, m] : wrong_) all_.misconceptions.push_back(std::move(m));
        std::ranges::stable_sort(all_.misconceptions, std::greater<>{}, &Misconception::times);
        return std::move(all_);
    }

  private:
    const std::string& name_of(const std::string& who) {
        std::string& s = shown_[who];
        if (!s.empty()) return s;
        const long number = book_.number_of(who);
        learners_[who].number = number;
        s = names_ && !who.empty() ? who : who.empty() ? tr("unnamed") : say("learner {}", number);
        learners_[who].who = s;
        return s;
    }
    void misled(const std::string& sentence, const std::string& who) {
        Misconception& m = wrong_[sentence];
        m.sentence = sentence;
        ++m.times;
        if (std::ranges::find(m.who, who) == m.who.end()) m.who.push_back(who);
    }

    // One learner's line of a visit, as it was marked and overruled.
    Row row_of(const callout::Attempt& a, const std::string& w, const std::vector<std::string>& who) {
        Row r;
        r.who = name_of(w);
        Learner& learner = learners_[w];
        r.number = learner.number;
        r.attempt = ++learner.attempts;
        r.at = a.at;
        r.site = files::one_line(a.site.substr(a.site.find_last_of('/') + 1), 80);
        r.journal = a.journal;
        r.entry = a.n;
        r.exam = a.terms.exam;
        r.starts = a.starts;
        for (const std::string& other : who)
            if (other != w) r.with.push_back(name_of(other));
        for (const callout::Marked& m : a.marked) {
            if (m.who != w) continue;
            r.marked = m;
            r.over = true;
        }
        r.marked.who = r.who;
        for (const Overruled& o : overruled_)
            if (o.journal == a.journal && o.attempt == a.n && o.who == w) {
                r.overruled.push_back(o);
                r.overruled.back().who = r.who;
            }
        return r;
    }
    // What a visit that is over says of its learner, and of what misled them.
    void count(const Row& r, Learner& learner) {
        ++learner.over;
        learner.unsafe += static_cast<long>(r.marked.unsafe.size());
        learner.last = r.mark();
        learner.best = std::max(learner.best, learner.last);
        if (!r.marked.right && r.marked.kind != r.marked.fault)
            misled(say("Said \"{}\" where it was \"{}\".", thing(r.marked.kind), thing(r.marked.fault)), r.who);
        if (r.marked.right && !r.marked.borne)
            misled(tr("Named the right fault without readings that bear it."), r.who);
        for (const std::string& test : r.marked.misled)
            misled(say("Believed {}, which does not see {}.", test, thing(r.marked.fault)), r.who);
        for (const std::string& act : r.marked.unsafe)
            misled(say("Thought it safe: {}.", files::one_line(act, 60)), r.who);
    }

    const Book& book_;
    bool names_;
    std::int64_t now_;
    std::vector<Overruled> overruled_;
    Overview all_;
    std::map<std::string, std::string> shown_, last_at_;
    std::map<std::string, Learner> learners_;
    std::map<std::string, Misconception> wrong_;
};

}  // namespace

const Overruled* Row::cap_lifted() const {
    const Overruled* last = nullptr;
    for (const Overruled& o : overruled)
        if (o.rule == "S1") last = &o;
    return last && last->points > 0.0 ? last : nullptr;
}

double Row::mark() const {
    if (overruled.empty()) return marked.mark;
    std::map<std::string, double> points;
    for (const callout::Marked::Line& l : marked.lines) points[l.rule] = l.points;
    for (const Overruled& o : overruled) points[o.rule] = o.points;
    double sum = 0.0;
    for (const auto& [rule, p] : points) sum += p;
    return marked.unsafe.empty() || cap_lifted() ? sum : std::min(sum, callout::deadly_cap);
}

std::string Row::cap_words() const {
    if (marked.unsafe.empty()) return "";
    const Overruled* word = cap_lifted();
    return !word              ? tr("An unsafe act caps the mark at 40.")
           : word->by.empty() ? say("The cap of 40 was lifted: {}", word->reason)
                              : say("The cap of 40 was lifted by {}: {}", word->by, word->reason);
}

Overview overview(const Book& book, bool names, std::int64_t now) {
    Gathering all(book, names, now);
    for (const callout::Attempt& a : book.attempts()) all.add(a);
    for (const LessonDone& d : book.lessons()) all.add(d);
    return all.whole();
}

namespace {

// RFC 4180; and no cell that a spreadsheet would take for a formula.
std::string cell(const std::string& said) {
    std::string text;
    if (!said.empty() && std::string_view("=+-@\t\r").find(said[0]) != std::string_view::npos) text += '\'';
    for (const char c : said) {
        if (c == '"') text += c;
        text += c;
    }
    if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
    return fmt::format("\"{}\"", text);
}

}  // namespace

std::string csv(const Overview& o) {
    std::string out =
        "learner,attempt,at,clock,site,exam,starts,with,over,what was wrong,named,right,borne,minutes,best minutes,"
        "unsafe,mark,mark as counted,overruled,cap\r\n";
    const auto yes = [](bool b) { return b ? "yes" : "no"; };
    for (const Row& r : o.rows) {
        std::string with, overruled;
        for (const std::string& w : r.with) with += (with.empty() ? "" : "; ") + w;
        for (const Overruled& x : r.overruled)
            overruled += fmt::format("{}{} {:g}: {}", overruled.empty() ? "" : "; ", x.rule, x.points, x.reason);
        const callout::Marked& m = r.marked;
        out += fmt::format("{},{},{},{},{},{},{},{},{},", cell(r.who), r.attempt, r.at, cell(r.doubt), cell(r.site),
                           yes(r.exam), r.starts, cell(with), yes(r.over));
        if (r.over)
            out +=
                fmt::format("{},{},{},{},{:.0f},{:.0f},{},{:.0f},{:.0f},", cell(m.truth), cell(m.named), yes(m.right),
                            yes(m.borne), m.minutes, m.best_minutes, m.unsafe.size(), m.mark, r.mark());
        else out += ",,,,,,,,,";
        out += cell(overruled) + "," + cell(files::one_line(r.cap_words(), 400)) + "\r\n";
    }
    return out;
}

std::string lessons_csv(const Overview& o) {
    std::string out = "learner,at,lesson,title,site,exercises got,exercises,recall,beliefs held\r\n";
    for (const LessonDone& d : o.lessons) {
        std::string missed;
        for (const std::string& m : d.missed) missed += (missed.empty() ? "" : "; ") + m;
        out += fmt::format("{},{},{},{},{},{},{},{},{}\r\n", cell(d.who), d.at, cell(d.lesson), cell(d.title),
                           cell(d.site), d.got, d.of, d.recalled ? "yes" : "no", cell(missed));
    }
    return out;
}

}  // namespace sunshaft::classroom
