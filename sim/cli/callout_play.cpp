// Playing a call-out in the terminal: plain lines in, plain lines out, every act kept in a journal.
#include "cli/callout_play.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <iostream>

#include "callout/seal.hpp"
#include "callout/spoken.hpp"
#include "classroom/account_page.hpp"
#include "cli/verb.hpp"
#include "diagnose/sights.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

Scenario scenario_of(const std::string& site) {
    SiteOptions options;
    options.scenario = site;
    return load(options);
}

void listen(callout::Spoken& play, const callout::Visit& visit, const std::string& notes) {
    const bool asks = isatty(STDIN_FILENO);
    for (std::string text; !play.over();) {
        if (asks) fmt::print("> ");
        std::fflush(stdout);
        if (!std::getline(std::cin, text)) break;
        const std::size_t said = play.said().size();
        const std::vector<std::string> answer = play.line(text);
        if (!asks && text.find_first_not_of(" \t\r") != std::string::npos && text[0] != '#')
            fmt::print("> {}\n", site::on_one_line(text));
        // What one of two has said is kept from the other.
        if (play.said().size() > said && !play.over() && isatty(STDOUT_FILENO)) fmt::print("\033[2J\033[H");
        for (const std::string& line : answer) fmt::print("{}\n", line);
        if (!notes.empty() && !visit.notes().seen.empty()) diagnose::write_case(visit.notes(), notes);
    }
}

// What is played, by whom and on what terms: of a sealed file, or where the journal was left.
struct Begun {
    callout::Callout callout;
    std::vector<std::string> who;
    callout::Terms terms;
};
Begun begun(const PlayOptions& o, const std::string& journal) {
    if (!o.file.empty()) return {callout::read_callout(o.file), o.who, o.terms};
    const auto open = callout::unfinished(journal);
    if (!open) throw site::BadInput(text::say("{}: nothing there is unfinished, expected a call-out begun", journal));
    callout::Callout c = callout::unsealed(open->sealed, journal);
    c.site = open->site;
    return {std::move(c), open->who, open->terms};
}

// What is told before the first line is typed.
void open_with(const Scenario& scenario, const Begun& b, const callout::Record* record, const callout::Visit& visit,
               const callout::Spoken& play) {
    fmt::print("{}\n\"{}\"\n{} {}\n", scenario.site.name, callout::words(b.callout.owner),
               text::tr("For trained and authorised people only. Your local code and licensed practice come first."),
               text::tr("help lists what can be done."));
    if (record && record->now().starts > 1)
        fmt::print("{}\n", text::say("Taken up where it was left, start {}. {} readings so far (notes).",
                                     record->now().starts, visit.notes().seen.size()));
    if (b.terms.exam)
        fmt::print("{}\n", text::tr("An exam: what is unsafe is stopped, counts, and is explained at the end."));
    if (const std::string roles = play.roles(); !roles.empty()) fmt::print("{}\n", roles);
}

// The account of the n-th person as a PDF, under a name of their own from the second on.
void write_page(const std::string& wanted, std::size_t n, const callout::Account& account, const std::string& title) {
    const std::filesystem::path to(wanted);
    std::string name = wanted;
    if (n > 0) name = to.parent_path() / fmt::format("{}-{}{}", to.stem().string(), n + 1, to.extension().string());
    files::FreshFile page(name);
    page.write(classroom::account_page(account, title));
    page.finish();
    fmt::print("{}\n", name);
}

// What each of them said it is, judged: told, written into the journal, put on paper.
void tell_accounts(const PlayOptions& o, const Begun& b, const std::string& site, const callout::Spoken& play,
                   callout::Record* record) {
    const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    fmt::print(
        stderr, "{}\n",
        text::tr("Now each of your readings is weighed against every fault this site can have. The first time on "
                 "a site that takes some minutes."));
    for (std::size_t n = 0; n < std::max<std::size_t>(1, b.who.size()); ++n) {
        const std::string who = b.who.empty() ? "" : b.who[n];
        callout::Account account;
        {
            Progress progress(text::tr("weighing what was read"));
            account = callout::judge(b.callout, play.conducted(n), priors, diagnose::cache_folder(),
                                     [&](double f) { return progress(f); });
        }
        if (record) record->marked(who, b.callout, play.said()[n].first, account);
        fmt::print("\n{}", who.empty() ? "" : who + "\n");
        for (const std::string& line : callout::words(account)) fmt::print("{}\n", line);
        if (!o.page.empty())
            write_page(
                o.page, n, account,
                fmt::format("{}. \"{}\"{}", site, callout::words(b.callout.owner), who.empty() ? "" : " " + who + "."));
    }
}

}  // namespace

int play_callout(const PlayOptions& o) {
    const std::string file = o.journal.empty() ? callout::usual_journal(o.who) : o.journal;
    Begun b = begun(o, file);
    const Scenario scenario = scenario_of(b.callout.site);
    callout::Visit visit(scenario, b.callout);
    std::unique_ptr<callout::Record> record;
    if (o.keeps && !file.empty()) {
        record = std::make_unique<callout::Record>(file);
        b.terms = record->begin(b.callout, b.who, b.terms).terms;
        visit.keep_in(*record);
    }
    visit.exam(b.terms.exam);
    callout::Spoken play(visit, b.terms, b.who, record ? static_cast<std::size_t>(record->now().n) : 0);
    open_with(scenario, b, record.get(), visit, play);
    listen(play, visit, o.notes);
    if (!play.over() || play.left()) {
        if (record && play.left()) record->leave();
        fmt::print("{}\n", play.left() ? text::tr("Left without a word: there is no account, and nothing is told.")
                                       : text::tr("Not finished. `sunshaft callout resume` takes it up again."));
        return 1;
    }
    tell_accounts(o, b, scenario.site.name, play, record.get());
    return 0;
}

}  // namespace sunshaft::cli
