#include "teach/worksheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>

#include "teach/draw.hpp"
#include "teach/sheet.hpp"
#include "teach/words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::teach {
namespace {

using report::Paper;

// What a person can pick out and say aloud.
std::string check_word(const std::string& answers, std::uint64_t seed) {
    constexpr const char* words[] = {text::id("gravel"), text::id("kettle"),  text::id("ladder"),  text::id("meadow"),
                                     text::id("pebble"), text::id("copper"),  text::id("harvest"), text::id("lantern"),
                                     text::id("saddle"), text::id("thistle"), text::id("barrel"),  text::id("candle"),
                                     text::id("furrow"), text::id("hammer"),  text::id("orchard"), text::id("willow")};
    Draw draw(seed, answers);
    const std::size_t n = draw.below(std::size(words));
    return fmt::format("{} {}", text::tr(words[n]), 10 + draw.below(90));
}

class WorksheetPaper {
    static constexpr double margin = 40.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 44.0;
    static constexpr double body = 10.0, small = 8.2;

  public:
    WorksheetPaper(const Lesson& lesson, const Beliefs& beliefs, const PlayOptions& options)
        : l_(lesson),
          beliefs_(beliefs),
          options_(options),
          play_(lesson, beliefs, options),
          p_(Paper::Kind::pdf, report::a4_wide, report::a4_high),
          a_(Paper::Kind::pdf, report::a4_wide, report::a4_high) {
        base_ = {options.site.empty() ? lesson.site : options.site, lesson.set, lesson.fault};
        std::string all = lesson.id + base_.site;
        for (std::size_t e = 0; e < lesson.exercises.size(); ++e)
            for (const Asked& q : play_.exercise(e)) all.append(1, '|').append(seen(q).shown);
        out_.word = check_word(all, options.seed);
    }

    Worksheet write() {
        head(p_, y_, l_.title, l_.aim);
        boxes();
        cautions();
        int number = 0;
        for (const Step& step : l_.steps) {
            if (!step.say.empty()) paragraph(step.say);
            if (step.measure) reading(base_, *step.measure);
            if (!step.predict) continue;
            question({*step.predict, base_, step.given, step.why}, ++number, text::tr("Predict"), true);
            paragraph(text::tr(
                "Your instructor tells the reading: ....................  Which reason fits it? Ring its letter."));
        }
        for (std::size_t e = 0; e < l_.exercises.size(); ++e) {
            turn();
            paragraph(text::tr("Exercise: three rounds. Every value and every reason counts."), true);
            for (const Asked& q : play_.exercise(e)) question(q, ++number, text::tr("Round"), true);
        }
        footer(p_, l_.title);
        out_.placed = p_.placed();
        out_.pages = p_.finish();
        answers();
        return std::move(out_);
    }

  private:
    const Seen& seen(const Asked& q) { return play_.answers().seen(q.state, q.look); }

    void head(Paper& p, double& y, const std::string& title, const std::string& under) {
        y = 38;
        y += p.text(margin, y, title, {.size = 17, .bold = true, .wide = inner}) + 2;
        y += p.text(margin, y, under, {.size = body, .wide = inner}) + 6;
    }
    void boxes() {
        p_.box(margin, y_, inner, 24, 0.8);
        for (const auto& [share, words] :
             {std::pair{0.0, text::tr("Names")}, {0.5, text::tr("Date")}, {0.75, text::tr("Meter")}}) {
            if (share > 0.0) p_.line(margin + share * inner, y_, margin + share * inner, y_ + 24);
            p_.text(margin + share * inner + 3, y_ + 2, words, {.size = 7.0});
        }
        y_ += 32;
    }
    void cautions() {
        std::vector<std::pair<State, Look>> looks;
        for (const Step& step : l_.steps) {
            if (step.measure) looks.emplace_back(base_, *step.measure);
            if (step.predict) looks.emplace_back(base_, *step.predict);
        }
        for (std::size_t e = 0; e < l_.exercises.size(); ++e)
            for (const Asked& q : play_.exercise(e)) looks.emplace_back(q.state, q.look);
        const std::vector<std::string> lines = play_.answers().cautions(looks);
        double high = 8;
        for (const std::string& l : lines) high += p_.measure(printed(l), {.size = small, .wide = inner - 44}).high + 1;
        p_.box(margin, y_, inner, high, 0.9);
        p_.bar(margin, y_, 5, high);
        p_.warning(margin + 12, y_ + 0.5 * (high - 18), 18);
        double y = y_ + 4;
        for (const std::string& l : lines)
            y += p_.text(margin + 38, y, printed(l), {.size = small, .wide = inner - 44}) + 1;
        y_ += high + 8;
    }
    void room(double high) {
        if (y_ + high > foot) turn();
    }
    void paragraph(const std::string& words, bool bold = false) {
        const Paper::Type type{.size = bold ? 11.0 : body, .bold = bold, .wide = inner};
        room(p_.measure(printed(words), type).high);
        y_ += p_.text(margin, y_, printed(words), type) + 5;
    }
    void reading(const State& state, const Look& look) {
        std::string words;
        for (const std::string& line : setting(play_.benches(), l_, state, look)) words += line + " ";
        paragraph(words + text::say("Known: {} shows {}.", look.where(), play_.answers().seen(state, look).shown));
    }

    // The wave at the probes, two turns of it at most, between the extremes it reaches.
    void wave(const Asked& q, double x, double y, double wide, double high) {
        Look look = q.look;
        look.what.set.keep_waves = true;
        const meter::Reading r =
            bench::observe(play_.benches().at(q.state.with(look), look.station, look.after_s), look.what);
        if (r.stages.empty() || r.stages.front().wave.empty()) return;
        const trace::Trace& t = r.stages.front().wave;
        const double turn =
            r.truth.fundamental_Hz && *r.truth.fundamental_Hz > 1.0 ? 1.0 / *r.truth.fundamental_Hz : 0.02;
        const double from = t.front().t0, until = std::min(t.back().t1, from + 2.0 * turn);
        double most = 1e-9;
        for (const auto& piece : t)
            if (piece.t0 < until) most = std::max({most, std::abs(piece.y0), std::abs(piece.y1)});
        const double mid = y + 0.5 * high, scale = 0.46 * high / most;
        p_.box(x, y, wide, high, 0.7);
        p_.line(x, mid, x + wide, mid, 0.5, true);
        std::vector<std::pair<double, double>> points;
        const auto at = [&](double time) { return x + (time - from) / (until - from) * wide; };
        for (const auto& piece : t) {
            if (piece.t0 >= until) break;
            points.emplace_back(at(piece.t0), mid - scale * piece.y0);
            points.emplace_back(at(std::min(piece.t1, until)), mid - scale * piece.y1);
        }
        p_.path(points, 1.1);
        p_.text(x, y + high + 1,
                printed(text::say("two turns, {}; highest {}", text::quantity(until - from, "s", 2),
                                  text::quantity(most, r.unit, 3))),
                {.size = 7.0});
    }
    static bool has_wave(const Look& look) {
        return look.what.gauge.empty() && look.left_s == 0.0 && look.station == bench::Station::running &&
               (look.what.mode == meter::Mode::acv || look.what.mode == meter::Mode::aca ||
                look.what.mode == meter::Mode::acv_lowpass);
    }

    void question(const Asked& q, int number, const char* kind, bool reasons) {
        std::vector<std::string> lines = conditions(play_.benches(), base_.set.size(), q);
        for (const Look& look : q.given) lines.push_back(known_words(play_.benches(), q, look));
        lines.push_back(text::say("What will it show: {}?", q.look.where()));
        const double left = inner - 168.0;
        double high = 20;
        for (const std::string& l : lines) high += p_.measure(printed(l), {.size = body, .wide = left}).high + 1;
        for (const std::string& id : q.why)
            high += p_.measure(beliefs_.at(id).says, {.size = body, .wide = left - 30}).high + 3;
        const bool drawn = has_wave(q.look);
        high = std::max(high, 62.0 + (drawn ? 86.0 : 0.0)) + 6;
        room(high);
        const double top = y_;
        p_.line(margin, top, margin + inner, top, 0.7);
        p_.badge(margin + 8, top + 12, number, 7.5);
        p_.text(margin + 22, top + 5, kind, {.size = 10, .bold = true});
        double y = top + 20;
        for (const std::string& l : lines) y += p_.text(margin, y, printed(l), {.size = body, .wide = left}) + 1;
        char letter = 'a';
        y += 2;
        for (const std::string& id : reasons ? shuffled(q) : std::vector<std::string>{}) {
            p_.box(margin + 2, y + 1.5, 8, 8, 0.8);
            p_.text(margin + 15, y, std::string(1, letter++), {.size = body, .bold = true});
            y += p_.text(margin + 28, y, beliefs_.at(id).says, {.size = body, .wide = left - 30}) + 3;
        }
        // The blank display, with what is set and its unit.
        const double x = margin + inner - 156;
        p_.box(x, top + 8, 156, 42, 1.4);
        p_.text(x + 5, top + 10, q.look.short_where(), {.size = 7.0});
        p_.text(x + 150, top + 32, printed(Answers::usual_unit(q.look)), {.size = 10, .bold = true, .align = 1.0});
        p_.line(x + 12, top + 42, x + 110, top + 42, 0.5, true);
        if (drawn) wave(q, x, top + 56, 156, 72);
        y_ = std::max(y, top + high - 6) + 6;
    }
    std::vector<std::string> shuffled(const Asked& q) const { return reasons_in_order(l_, options_.seed, q); }

    void turn() {
        footer(p_, l_.title);
        p_.next_page();
        y_ = 38;
    }
    void footer(Paper& p, const std::string& what) {
        p.line(margin, foot + 8, margin + inner, foot + 8, 0.7);
        p.text(margin, foot + 11, text::say("{}, seed {}, check word: {}", what, options_.seed, out_.word),
               {.size = small});
        p.text(margin + inner, foot + 11, text::say("page {}", p.pages()), {.size = small, .align = 1.0});
    }

    void answers() {
        double y = 0.0;
        head(
            a_, y, text::say("Answers: {}", l_.title),
            text::say("Seed {}, check word: {}. Hold it against the foot of the worksheet.", options_.seed, out_.word));
        const auto line = [&](const std::string& words, bool bold, double indent) {
            const Paper::Type type{.size = bold ? body : 8.2, .bold = bold, .wide = inner - indent};
            if (y + a_.measure(printed(words), type).high > foot) {
                footer(a_, text::say("{}, answers", l_.title));
                a_.next_page();
                y = 38;
            }
            y += a_.text(margin + indent, y, printed(words), type) + 1.5;
        };
        int number = 0;
        std::set<std::string> told;
        const auto tell = [&](const Asked& q) {
            const Seen& s = seen(q);
            const auto accepted = play_.answers().accepted(q);
            const auto fit = play_.answers().fitting(q);
            const auto order = shuffled(q);
            line(fmt::format("{}  {}: {}", ++number, q.look.where(), s.shown), true, 0);
            line(accepted.over ? text::say("Right: over range ({}).", accepted.because)
                               : text::say("Right: {} to {} ({}).", figure_of(accepted.low, s.unit),
                                           figure_of(accepted.high, s.unit), accepted.because),
                 false, 14);
            for (std::size_t n = 0; n < order.size(); ++n) {
                const Belief& b = beliefs_.at(order[n]);
                const bool fits = std::find(fit.begin(), fit.end(), b.id) != fit.end();
                std::string words = text::say_of(
                    fits ? text::id("{} fits: \"{}\" expects {}.") : text::id("{} does not fit: \"{}\" expects {}."),
                    std::string(1, static_cast<char>('a' + n)), b.says,
                    figure_of(play_.answers().expects(q, b), s.unit));
                if (!fits && !b.refuted.empty() && told.insert(b.id).second) words.append(1, ' ').append(b.refuted);
                line(words, fits, 14);
            }
            y += 4;
        };
        for (const Asked& q : play_.predictions()) tell(q);
        for (std::size_t e = 0; e < l_.exercises.size(); ++e)
            for (const Asked& q : play_.exercise(e)) tell(q);
        footer(a_, text::say("{}, answers", l_.title));
        out_.placed_answers = a_.placed();
        out_.answers = a_.finish();
    }

    const Lesson& l_;
    const Beliefs& beliefs_;
    PlayOptions options_;
    Play play_;
    Paper p_, a_;
    State base_;
    Worksheet out_;
    double y_ = 0.0;
};

}  // namespace

Worksheet worksheet(const Lesson& lesson, const Beliefs& beliefs, const PlayOptions& options) {
    return WorksheetPaper(lesson, beliefs, options).write();
}

}  // namespace sunshaft::teach
