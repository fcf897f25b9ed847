// sunshaft callout: a site with something wrong that nobody is told; found by measuring, then the account.
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <random>

#include "callout/seal.hpp"
#include "cli/callout_play.hpp"
#include "cli/verb.hpp"
#include "diagnose/sights.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

struct CalloutOptions {
    PlayOptions play;
    std::string site, file, out, word;
    std::uint64_t seed = 0;
    int level = 2;
};

int fresh(const CalloutOptions& o) {
    if (std::filesystem::exists(o.out))
        throw site::BadInput(text::say("{}: is there already, expected a new file (--out)", o.out));
    SiteOptions site;
    site.scenario = o.site;
    const Scenario scenario = load(site);
    const std::uint64_t seed = o.seed ? o.seed : std::random_device()();
    callout::Callout c;
    {
        Progress progress(text::tr("looking for something that shows"));
        c = callout::draw(scenario, diagnose::load_priors(diagnose::shipped_priors()), {seed, o.level},
                          [&](double f) { return progress(f); });
    }
    c.site = o.site;
    c.word = o.word;
    files::FreshFile file(o.out);
    file.write(callout::sealed(c));
    file.finish();
    fmt::print("{}\n", text::say("{}: sealed\nThe owner says: {}\nGo there: sunshaft callout play {}", o.out,
                                 callout::words(c.owner), o.out));
    return 0;
}

int open(const CalloutOptions& o) {
    const callout::Callout c = callout::read_callout(o.file);
    if (!callout::opens(c, o.word)) {
        fmt::print(stderr, "{}\n", text::say("{}: this is not the word it was sealed with", o.file));
        return 1;
    }
    fmt::print("{}\n", callout::title_of(c.truth));
    for (const site::Fault& f : c.faults)
        fmt::print("{}@{}, {}\n", f.kind, f.place, site::severity_text(*site::find_fault(f.kind), f.severity));
    return 0;
}

}  // namespace

Run add_callout(CLI::App& app) {
    auto o = std::make_shared<CalloutOptions>();
    CLI::App* begin = app.add_subcommand("new", text::tr("Draw something that is wrong with a site and seal it"));
    begin->add_option("site", o->site, text::tr("a shipped site or a scenario file"))
        ->type_name("SCENARIO")
        ->required();
    begin->add_option("--out", o->out, text::tr("the call-out's file"))->type_name("FILE")->required();
    begin->add_option("--seed", o->seed, text::tr("the same seed draws the same fault; default: any"));
    begin->add_option("--level", o->level, text::tr("1: common faults that stop the water; 2: all that shows"))
        ->check(CLI::Range(1, 2));
    begin->add_option("--word", o->word, text::tr("whoever says it may open the seal before the end"));
    begin->footer("Example: sunshaft callout new hill-orchard --out monday.toml --seed 7");
    CLI::App* go = app.add_subcommand("play", text::tr("Go there: look, measure, say what it is, then the account"));
    go->add_option("file", o->play.file, text::tr("a sealed call-out"))->type_name("FILE")->required();
    CLI::App* again =
        app.add_subcommand("resume", text::tr("Take up what is unfinished in the journal, without its file"));
    for (CLI::App* which : {go, again}) {
        which->add_option("--who", o->play.who, text::tr("who plays; two names: each says for themselves what it is"))
            ->type_name("NAME")
            ->allow_extra_args(false)
            ->expected(1, 2);
        which
            ->add_option("--journal", o->play.journal,
                         text::tr("where every act is kept; default: the usual one of these people"))
            ->type_name("FILE");
        which->add_option("--notes", o->play.notes, text::tr("keeps what is read as a case file"))->type_name("CASE");
        which->add_option("--page", o->play.page, text::tr("the account on one page, PDF"))->type_name("FILE");
    }
    go->add_flag("--exam", o->play.terms.exam,
                 text::tr("what is refused stays refused, counts, and is explained at the end"));
    go->add_option("--minutes", o->play.terms.minutes, text::tr("simulated minutes on site; 0: as long as it takes"))
        ->check(within(0, 6000));
    go->add_option("--extra", o->play.terms.extra, text::tr("times those minutes, for whoever is given extra time"))
        ->check(within(1, 10));
    go->add_flag("!--no-journal", o->play.keeps, text::tr("keeps nothing"));
    go->footer("Example: sunshaft callout play monday.toml --notes case.toml");
    again->footer("Example: sunshaft callout resume --who Ben");
    CLI::App* unseal = app.add_subcommand("open", text::tr("Tell what is wrong, to whoever has the word"));
    unseal->add_option("file", o->file, text::tr("a sealed call-out"))->type_name("FILE")->required();
    unseal->add_option("--word", o->word, text::tr("as it was sealed with"));
    unseal->footer("Example: sunshaft callout open monday.toml --word lantern");
    app.require_subcommand(1);
    app.footer(
        std::string("Example: sunshaft callout new hill-orchard --out monday.toml --seed 7 && sunshaft callout play "
                    "monday.toml\n") +
        text::tr(
            "The seal keeps honest people honest, no more: the program has to know the fault to compute the site."));
    return [o, begin, go, again] {
        if (begin->parsed()) return fresh(*o);
        if (again->parsed()) o->play.file.clear();
        return go->parsed() || again->parsed() ? play_callout(o->play) : open(*o);
    };
}

}  // namespace sunshaft::cli
