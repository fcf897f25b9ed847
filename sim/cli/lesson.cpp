// sunshaft lesson: plays a lesson on standard input and output, lists them, checks them.
#include <fmt/format.h>
#include <unistd.h>

#include <iostream>
#include <memory>

#include "callout/record.hpp"
#include "classroom/lesson_record.hpp"
#include "cli/verb.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "teach/draft.hpp"
#include "teach/guided.hpp"
#include "teach/plan.hpp"
#include "teach/progress.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

struct LessonOptions {
    std::string what = "list", site;
    std::vector<std::string> files;
    std::uint64_t seed = 1;
    bool of_class = false, in_pair = false;
    teach::Level level = teach::Level::worked;
    std::string progress, out, journal;
    std::vector<std::string> who;
    std::size_t from = 1;
    int late = 0;
    std::string start;
};

int list() {
    int block = 0;
    for (const teach::Lesson& l : teach::shipped_lessons()) {
        if (l.block != block)
            fmt::print("{}{}\n", block ? "\n" : "", text::say("block {}: {}", l.block, teach::block_name(l.block)));
        block = l.block;
        fmt::print("  {:<28} {:>3.0f} min  {}\n", l.id, l.minutes, l.title);
    }
    fmt::print("\n{}\n", text::tr("Play one: sunshaft lesson one-wave-two-meters --seed 7"));
    return 0;
}

int check(const std::vector<std::string>& files) {
    const teach::Beliefs beliefs = teach::load_beliefs();
    std::vector<teach::Lesson> lessons;
    for (const std::string& file : files) lessons.push_back(teach::load_lesson(file));
    if (files.empty()) lessons = teach::shipped_lessons();
    for (const teach::Lesson& l : lessons) {
        teach::check(l, beliefs);
        fmt::print("{}: ok\n", l.id);
        std::fflush(stdout);
    }
    return 0;
}

std::string prompt(const teach::Turn& turn) {
    switch (turn.asks) {
        case teach::Turn::Asks::choice: return text::tr("your choice");
        case teach::Turn::Asks::hands: return text::tr("hands for each, such as 9 7 4");
        case teach::Turn::Asks::value: return text::say("your figure, {}", turn.unit);
        default: return text::tr("Enter");
    }
}

// A lesson taken up in the middle, or held with a class, is no session of a learner.
bool keeps(const LessonOptions& o) {
    return o.progress != "none" && !o.progress.empty() && !o.of_class && !o.in_pair && o.from == 1;
}

int minutes_of_day(const std::string& text) {
    int hours = 0, minutes = 0;
    char rest = 0;
    if (text.empty()) return 0;
    if (std::sscanf(text.c_str(), "%2d:%2d%c", &hours, &minutes, &rest) != 2 || hours < 0 || hours > 23 ||
        minutes < 0 || minutes > 59)
        throw site::BadInput(text::say("--start: {}: expected a time such as 9:10", site::on_one_line(text)));
    return 60 * hours + minutes;
}

int plan(const LessonOptions& o) {
    if (o.files.size() != 1)
        throw site::BadInput(
            text::tr("sunshaft lesson plan: expected one lesson, for example: sunshaft lesson plan half-reading"));
    teach::PlanOptions options;
    options.seed = o.seed;
    options.site = o.site;
    options.late_min = o.late;
    options.start_min = minutes_of_day(o.start);
    const teach::Plan made = teach::make_plan(teach::load_lesson(o.files.front()), teach::load_beliefs(), options);
    if (o.out.empty()) {
        fmt::print("{}", teach::plan_text(made));
        return 0;
    }
    if (!o.out.ends_with(".pdf"))
        throw site::BadInput(text::say("--out: {}: expected a name that ends in .pdf", site::on_one_line(o.out)));
    files::FreshFile file(o.out);
    file.write(teach::plan_page(made).pdf);
    file.finish();
    fmt::print("{}\n", o.out);
    return 0;
}

int guided(const LessonOptions& o) {
    int block = 0;
    if (o.files.size() == 1) block = std::atoi(o.files.front().c_str());
    if (block < 1 || block > 5)
        throw site::BadInput(
            text::tr("sunshaft lesson case: expected a block, 1 to 5, for example: sunshaft lesson case 2"));
    const auto rows = teach::load_cases();
    const auto row = std::find_if(rows.begin(), rows.end(), [&](const auto& r) { return r.block == block; });
    if (row == rows.end()) throw site::BadInput(text::say("cases.toml: block {} has no case", block));
    const teach::CaseTable table(*row);
    teach::Guided game(table, o.level, o.seed);
    for (;;) {
        for (const std::string& line : game.lines()) fmt::print("{}\n", line);
        if (game.over()) return game.found() ? 0 : 1;
        for (std::size_t n = 0; n < game.choices().size(); ++n) fmt::print("  {} {}\n", n + 1, game.choices()[n]);
        fmt::print("{}: ", text::tr("your choice"));
        std::fflush(stdout);
        std::string said;
        if (!std::getline(std::cin, said)) {
            fmt::print("\n{}\n", text::say("Stopped before the end. Seed {} has the same case again.", o.seed));
            return 1;
        }
        game.answer(said);
        fmt::print("\n");
    }
}

int play(const LessonOptions& o) {
    const teach::Lesson lesson = teach::load_lesson(o.what);
    const teach::Beliefs beliefs = teach::load_beliefs();
    teach::PlayOptions options;
    options.seed = o.seed;
    options.site = o.site;
    options.of_class = o.of_class;
    options.in_pair = o.in_pair;
    options.from_step = o.from - 1;
    if (o.in_pair) options.who = o.who;
    teach::Progress progress;
    if (keeps(o)) {
        progress = teach::read_progress(o.progress);
        options.recall = teach::recall(progress, teach::shipped_lessons(), beliefs);
    }
    if (!o.who.empty() && o.who.size() != (o.in_pair ? 2U : 1U))
        throw site::BadInput(text::say("--who: {} names, expected {}", o.who.size(), o.in_pair ? "two" : "one"));
    teach::Play play(lesson, beliefs, options);
    for (int answered = -1;;) {
        const teach::Turn& turn = play.turn();
        // What one of two has said is kept from the other.
        if (turn.person >= 0 && answered >= 0 && turn.person != answered && isatty(STDOUT_FILENO))
            fmt::print("\033[2J\033[3J\033[H");
        if (turn.person >= 0) answered = turn.person;
        for (const teach::Line& line : turn.lines) fmt::print("{}\n", line.plain());
        if (play.over()) break;
        for (std::size_t n = 0; n < turn.choices.size(); ++n) fmt::print("  {} {}\n", n + 1, turn.choices[n]);
        fmt::print("{}: ", prompt(turn));
        std::fflush(stdout);
        std::string said;
        if (!std::getline(std::cin, said)) {
            fmt::print("\n{}\n", text::say("Stopped before the end. Seed {} has the same values again.", o.seed));
            return 1;
        }
        play.answer(said);
        if (play.turn().lines.empty() && !play.over()) continue;
        fmt::print("\n");
    }
    const auto& got = play.outcome().got;
    if (o.of_class) return 0;
    if (keeps(o)) {
        progress.sessions.push_back(teach::session_of(lesson, play.outcome()));
        teach::write_progress(o.progress, progress);
    }
    const std::string journal = o.journal.empty() && !o.who.empty() ? callout::usual_journal(o.who) : o.journal;
    if (!journal.empty()) classroom::keep_lesson(journal, o.who, lesson, o.site, play.outcome(), beliefs);
    const bool all = std::all_of(got.begin(), got.end(), [](bool g) { return g; });
    const auto& other = play.outcome().got_other;
    if (o.in_pair)
        fmt::print("{}\n", text::say("{}: {}, {}: {} of {} exercises: got it. Seed {}.", o.who.empty() ? "A" : o.who[0],
                                     std::count(got.begin(), got.end(), true), o.who.empty() ? "B" : o.who[1],
                                     std::count(other.begin(), other.end(), true), got.size(), o.seed));
    else
        fmt::print("{}\n", text::say("{} of {} exercises: got it. Seed {}.", std::count(got.begin(), got.end(), true),
                                     got.size(), o.seed));
    return all ? 0 : 1;
}

}  // namespace

Run add_lesson(CLI::App& app) {
    auto o = std::make_shared<LessonOptions>();
    app.add_option(
           "what", o->what,
           text::tr(
               "a lesson's name or file; list: which there are; check: looks for mistakes in lessons. plan: 45 minutes "
               "in front of a class"))
        ->type_name("NAME|list|check|plan|case|template")
        ->capture_default_str();
    app.add_option(
           "files", o->files,
           text::tr("of check: lessons to look at, default all shipped ones; of plan: the lesson; of case: the block"))
        ->type_name("FILE");
    app.add_option("--seed", o->seed, text::tr("the values of the exercises: the same seed, the same values"))
        ->capture_default_str();
    app.add_option("--site", o->site, text::tr("play it on another site"))->type_name("SCENARIO");
    app.add_flag("--class", o->of_class, text::tr("with a class: figures on paper, a show of hands for each reason"));
    app.add_flag("--pair", o->in_pair, text::tr("two at one machine: each commits while the other looks away"))
        ->excludes("--class");
    o->progress = teach::progress_file();
    app.add_option(
           "--progress", o->progress,
           text::tr("the learner's file: each lesson opens with questions out of earlier ones; none: keeps nothing"))
        ->type_name("FILE|none");
    app.add_option("--who", o->who, text::tr("who plays; what they got goes into their journal. Twice with --pair"))
        ->type_name("NAME")
        ->allow_extra_args(false)
        ->expected(1, 2);
    app.add_option("--journal", o->journal, text::tr("of --who; default: the usual one of these people"))
        ->type_name("FILE");
    app.add_option("--from", o->from, text::tr("takes it up at this part, after a stop"))->check(CLI::Range(1, 99));
    const std::map<std::string, teach::Level> levels{
        {"worked", teach::Level::worked}, {"half", teach::Level::half}, {"own", teach::Level::own}};
    app.add_option("--level", o->level,
                   text::tr("of case: an expert's way, half of it, or your own with hints at a price"))
        ->transform(CLI::CheckedTransformer(levels))
        ->option_text("{worked,half,own}");
    app.add_option("--late", o->late, text::tr("of plan: minutes lost before it began"))->check(CLI::Range(0, 30));
    app.add_option("--start", o->start, text::tr("of plan: when the lesson should begin, such as 9:10"))
        ->type_name("TIME");
    app.add_option("--out", o->out, text::tr("of plan: one page to print; a .pdf"))->type_name("FILE");
    app.footer("Example: sunshaft lesson one-wave-two-meters --seed 7");
    return [o] {
        if (o->what == "list") return list();
        if (o->what == "check") return check(o->files);
        if (o->what == "plan") return plan(*o);
        if (o->what == "case") return guided(*o);
        if (o->what == "template") {
            fmt::print("{}", teach::lesson_template());
            return 0;
        }
        if (!o->files.empty())
            throw site::BadInput(text::say("sunshaft lesson: {}: is one name too many, expected one lesson",
                                           site::on_one_line(o->files.front())));
        return play(*o);
    };
}

}  // namespace sunshaft::cli
