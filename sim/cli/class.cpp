// sunshaft class: the instructor's book of a class, merged from learners' journals, and what leaves it.
#include <fmt/format.h>

#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <functional>
#include <memory>

#include "callout/seal.hpp"
#include "classroom/matched.hpp"
#include "classroom/overview.hpp"
#include "cli/verb.hpp"
#include "diagnose/sights.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct ClassOptions {
    std::string book, csv, lessons, xapi, pdf, learner;
    std::vector<std::string> from;
    bool nameless = false;
    classroom::Overruled word;
    std::string attempt, site, out, password;
    classroom::Wanted wanted;
};

std::int64_t seconds_now() {
    return std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

std::string call_name(int number) { return fmt::format("call-{:02}.toml", number); }

// A book that is only read must be there.
std::string there(const std::string& book) {
    if (!std::filesystem::exists(book))
        throw site::BadInput(say("{}: is not there, expected a class's book (class merge)", book));
    return book;
}

int merge(const ClassOptions& o) {
    classroom::Book book(o.book);
    bool trouble = false;
    long files = 0;
    for (const std::string& from : o.from) {
        for (const classroom::Merged& m : book.merge(from)) {
            ++files;
            trouble = trouble || !m.trouble.empty();
            fmt::print("{}: ", site::on_one_line(m.file, 400));
            if (!m.trouble.empty()) {
                fmt::print("{}\n", say("not taken: {}", site::on_one_line(m.trouble, 400)));
                continue;
            }
            fmt::print("{}", say("{} new, {} known", m.taken, m.known));
            if (m.spoilt > 0) fmt::print("; {}", say("{} torn or changed and left out", m.spoilt));
            if (m.beside) fmt::print("; {}", tr("begins like a journal merged before and then differs: both are kept"));
            fmt::print("\n");
        }
    }
    if (files == 0) fmt::print("{}\n", tr("No journals there (files that end with .journal)."));
    return trouble || files == 0 ? 1 : 0;
}

// A line for each thing that is done, with what is left of it; where nobody watches, a line when it begins.
class Doing {
  public:
    explicit Doing(const Interruptible& interruptible) : interruptible_(interruptible) {}
    bool operator()(double share, const std::string& doing) {
        if (doing != doing_) {
            line_.reset();
            doing_ = doing;
            if (isatty(STDERR_FILENO)) line_ = std::make_unique<Progress>(doing_.c_str());
            else fmt::print(stderr, "{}\n", doing_);
        }
        if (line_) (*line_)(share);
        return interruptible_.goes_on();
    }

  private:
    const Interruptible& interruptible_;
    std::string doing_;
    std::unique_ptr<Progress> line_;
};

classroom::Handout matched(const ClassOptions& o, const Scenario& scenario, const Interruptible& interruptible) {
    const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    fmt::print(stderr, "{}\n",
               tr("The first time on a site its signatures are worked out: some minutes. They are kept, and the next "
                  "time is quick. Ctrl-C stops it, and nothing is written."));
    Doing doing(interruptible);
    return classroom::match(scenario, o.site, priors, diagnose::cache_folder(), o.wanted, std::ref(doing));
}

void hand_out(classroom::Handout& handout, const ClassOptions& o) {
    const std::filesystem::path folder(o.out);
    fmt::print("{}\n{:<14} {:>10} {:>7} {:>5}  {:<30} {}\n", tr("For you alone, before you hand them out:"), tr("file"),
               tr("seed"), tr("minutes"), tr("group"), tr("takes one to"), tr("what is wrong"));
    int number = 0;
    for (classroom::Handed& h : handout.calls) {
        const std::string name = call_name(++number);
        h.call.word = o.password;
        files::FreshFile file((folder / name).string());
        file.write(callout::sealed(h.call));
        file.finish();
        fmt::print("{:<14} {:>10} {:>7.0f} {:>5}  {:<30} {}\n", name, h.seed, h.path.minutes, h.path.group,
                   classroom::hazard_words(h.path), callout::title_of(h.call.truth));
    }
}

int prepare(const ClassOptions& o) {
    const std::filesystem::path folder(o.out);
    for (int n = 1; n <= o.wanted.count; ++n)
        if (std::filesystem::exists(folder / call_name(n)))
            throw site::BadInput(
                say("{}: is there already, expected an empty folder (--out)", (folder / call_name(n)).string()));
    SiteOptions site;
    site.scenario = o.site;
    const Scenario scenario = load(site);
    const Interruptible interruptible;
    classroom::Handout handout;
    try {
        handout = matched(o, scenario, interruptible);
    } catch (const diagnose::Stopped&) {
        fmt::print(stderr, "{}\n", tr("Stopped. Nothing was written."));
        return 1;
    }
    if (handout.calls.empty()) {
        fmt::print("{}\n", say("None of {} seeds can be told by measuring: try --level 1, or --most.", handout.drawn));
        return 1;
    }
    std::filesystem::create_directories(folder);
    hand_out(handout, o);  // all of them, even if somebody asks to stop now
    fmt::print("{} {}\n",
               handout.matched
                   ? say("These are matched: {} of {} seeds were weighed.", handout.weighed, handout.drawn)
                   : say("These are not matched: of {} seeds these come nearest. --most tries more.", handout.drawn),
               classroom::closeness_words(handout.calls));
    return handout.matched ? 0 : 1;
}

int show(const ClassOptions& o) {
    const classroom::Book book(there(o.book));
    const classroom::Overview all = classroom::overview(book, !o.nameless, seconds_now());
    // The Spanish heads are as long as the widest English ones.
    fmt::print("{:<24} {:>9} {:>10} {:>9} {:>6} {:>5}  {:>9} {:>8}\n", tr("learner"), tr("begun"), tr("finished"),
               tr("unsafe"), tr("last"), tr("best"), tr("lessons"), tr("got"));
    for (const classroom::Learner& l : all.learners)
        fmt::print("{:<24} {:>9} {:>10} {:>9} {:>6} {:>5}  {:>9} {:>8}\n", site::on_one_line(l.who, 24), l.attempts,
                   l.over, l.unsafe, l.over ? fmt::format("{:.0f}", l.last) : "",
                   l.over ? fmt::format("{:.0f}", l.best) : "", l.lessons, l.got);
    if (!all.misconceptions.empty()) fmt::print("\n{}\n", tr("What they took for something else:"));
    for (const classroom::Misconception& m : all.misconceptions)
        fmt::print("  {:>3} x  {} ({})\n", m.times, m.sentence, say("people: {}", m.who.size()));
    bool any = false;
    for (const classroom::Row& r : all.rows) {
        if (r.doubt.empty()) continue;
        if (!any) fmt::print("\n{}\n", tr("Clocks:"));
        any = true;
        fmt::print("  {} ({})\n", say("{}, attempt {}: {}", site::on_one_line(r.who, 40), r.attempt, r.doubt), r.at);
    }
    if (std::ranges::any_of(all.rows, &classroom::Row::over)) fmt::print("\n{}\n", tr("Lines that may be overruled:"));
    for (const classroom::Row& r : all.rows) {
        if (!r.over) continue;
        std::string rules;
        for (const callout::Marked::Line& l : r.marked.lines)
            rules += fmt::format("{}{} {}", rules.empty() ? "" : ", ", l.rule, say("{:.0f} of {:.0f}", l.points, l.of));
        for (const classroom::Overruled& x : r.overruled)
            rules += fmt::format(", {} {}", x.rule, say("now {:.0f}", x.points));
        fmt::print("  {}:{}  {}{}\n", r.journal, r.entry,
                   say("{}, attempt {}: {}", site::on_one_line(r.who, 40), r.attempt, text::fixed(r.mark(), 0)),
                   r.overruled.empty() ? "" : " " + say("(was {:.0f})", r.marked.mark));
        fmt::print("      {}\n", rules);
        if (const std::string cap = r.cap_words(); !cap.empty()) fmt::print("      {}\n", site::on_one_line(cap, 400));
    }
    return 0;
}

int send(const ClassOptions& o) {
    if (o.csv.empty() && o.lessons.empty() && o.xapi.empty() && o.pdf.empty())
        throw site::BadInput(tr("class export: nothing to write, expected --csv, --lessons, --xapi or --pdf"));
    const classroom::Book book(there(o.book));
    const classroom::Overview all = classroom::overview(book, !o.nameless, seconds_now());
    const auto put = [](const std::string& file, const std::string& text) {
        files::FreshFile out(file);
        out.write(text);
        out.finish();
        fmt::print("{}\n", file);
    };
    if (!o.csv.empty()) put(o.csv, classroom::csv(all));
    if (!o.lessons.empty()) put(o.lessons, classroom::lessons_csv(all));
    if (!o.xapi.empty()) put(o.xapi, classroom::xapi(all, seconds_now()));
    if (!o.pdf.empty()) put(o.pdf, classroom::paper(all, o.learner));
    return 0;
}

int overrule(const ClassOptions& o) {
    classroom::Book book(there(o.book));
    classroom::Overruled word = o.word;
    const std::size_t colon = o.attempt.rfind(':');
    if (colon == std::string::npos)
        throw site::BadInput(
            say("--attempt: {}: expected JOURNAL:ENTRY, as class show lists them", site::on_one_line(o.attempt, 80)));
    word.journal = o.attempt.substr(0, colon);
    word.attempt = std::strtol(o.attempt.c_str() + colon + 1, nullptr, 10);
    book.overrule(word);
    fmt::print("{}\n", tr("Kept beside the line it overrules."));
    return 0;
}

}  // namespace

Run add_class(CLI::App& app) {
    auto o = std::make_shared<ClassOptions>();
    CLI::App* take = app.add_subcommand("merge", tr("Merge learners' journals into the class's book"));
    take->add_option("journals", o->from, tr("journals, or folders with journals"))->type_name("PATH")->required();
    take->add_option("--into", o->book, tr("the book; made where it is not there"))
        ->type_name("FILE.sqlite")
        ->required();
    CLI::App* calls =
        app.add_subcommand("prepare", tr("Call-outs as hard as each other, one a pair, shown to you first"));
    calls->add_option("site", o->site, tr("a shipped site or a scenario file"))->type_name("SCENARIO")->required();
    calls->add_option("--out", o->out, tr("the folder they go to"))->type_name("FOLDER")->required();
    calls->add_option("--count", o->wanted.count, tr("how many"))->check(CLI::Range(1, 40));
    calls->add_option("--level", o->wanted.level, tr("1: common faults that stop the water; 2: all that shows"))
        ->check(CLI::Range(1, 2));
    calls->add_option("--seed", o->wanted.first, tr("the first seed tried"));
    calls->add_option("--most", o->wanted.most, tr("call-outs weighed before it gives up"))->check(CLI::Range(1, 1000));
    calls->add_option("--word", o->password, tr("whoever says it may open the seals before the end"));
    CLI::App* list = app.add_subcommand("show", tr("Who did what, and what they took for something else"));
    CLI::App* out = app.add_subcommand("export", tr("CSV, statements of the Experience API, pages to be printed"));
    CLI::App* word =
        app.add_subcommand("overrule", tr("Your word on one line of an account, with a reason; both stay"));
    for (CLI::App* which : {list, out, word})
        which->add_option("book", o->book, tr("the class's book"))->type_name("FILE.sqlite")->required();
    for (CLI::App* which : {list, out}) which->add_flag("--nameless", o->nameless, tr("numbers in place of names"));
    out->add_option("--csv", o->csv, tr("a row a person and call-out"))->type_name("FILE");
    out->add_option("--lessons", o->lessons, tr("a row a person and lesson"))->type_name("FILE");
    out->add_option("--xapi", o->xapi, tr("statements of the Experience API 1.0, one JSON array"))->type_name("FILE");
    out->add_option("--pdf", o->pdf, tr("the class, or with --learner one person"))->type_name("FILE");
    out->add_option("--learner", o->learner, tr("whose page --pdf writes"))->type_name("NAME");
    word->add_option("--attempt", o->attempt, tr("as class show lists it"))->type_name("JOURNAL:ENTRY")->required();
    word->add_option("--who", o->word.who, tr("whose account"))->type_name("NAME");
    word->add_option("--rule", o->word.rule, tr("the line: C1, E1, A1, S1"))->required();
    word->add_option("--points", o->word.points, tr("what it gives"))->required();
    word->add_option("--reason", o->word.reason, tr("why"))->required();
    word->add_option("--by", o->word.by, tr("who overrules it"));
    take->footer("Example: sunshaft class merge /media/stick --into class.sqlite");
    calls->footer("Example: sunshaft class prepare hill-orchard --out folder --count 10 --word lantern");
    list->footer("Example: sunshaft class show class.sqlite");
    out->footer("Example: sunshaft class export class.sqlite --csv class.csv --pdf class.pdf --nameless");
    word->footer(
        "Example: sunshaft class overrule class.sqlite --attempt Ben:12 --who Ben --rule E1 --points 15 --reason "
        "\"said aloud\"");
    app.require_subcommand(1);
    app.footer(
        std::string(
            "Example: sunshaft class merge /media/stick --into class.sqlite && sunshaft class show class.sqlite\n") +
        tr("Names stay on this machine unless you export them: --nameless leaves them out."));
    return [o, take, calls, list, out] {
        if (calls->parsed()) return prepare(*o);
        return take->parsed() ? merge(*o) : list->parsed() ? show(*o) : out->parsed() ? send(*o) : overrule(*o);
    };
}

}  // namespace sunshaft::cli
