// sunshaft callout: a site with something wrong that nobody is told; found by measuring, then the account.
#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <iostream>
#include <memory>
#include <random>
#include <sstream>

#include "bench/hands.hpp"
#include "callout/seal.hpp"
#include "callout/visit.hpp"
#include "cli/verb.hpp"
#include "diagnose/sights.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::cli {
namespace {

struct Options {
    std::string site, file, out, word, notes;
    std::uint64_t seed = 0;
    int level = 2;
};

Scenario scenario_of(const std::string& site, const std::vector<std::string>& set) {
    SiteOptions options;
    options.scenario = site;
    options.set = set;
    return load(options);
}

int fresh(const Options& o) {
    if (std::filesystem::exists(o.out))
        throw site::BadInput(fmt::format("{}: is there already, expected a new file (--out)", o.out));
    const Scenario scenario = scenario_of(o.site, {});
    const std::uint64_t seed = o.seed ? o.seed : std::random_device()();
    callout::Callout c;
    {
        Progress progress("looking for something that shows");
        c = callout::draw(scenario, diagnose::load_priors(diagnose::shipped_priors()), {seed, o.level},
                          [&](double f) { return progress(f); });
    }
    c.site = o.site;
    c.word = o.word;
    files::FreshFile file(o.out);
    file.write(callout::sealed(c));
    file.finish();
    fmt::print("{}: sealed\nThe owner says: {}\nGo there: sunshaft callout play {}\n", o.out, c.said, o.out);
    return 0;
}

constexpr const char* help =
    "  look                          lamps, the drive's display, the outlet, the sound\n"
    "  read RED BLACK MODE [METER]   a meter on two points: read drive.u drive.v acv\n"
    "  clamp CONDUCTOR [aca|dca]     a clamp: clamp u\n"
    "  gauge NAME                    flow, head, water, tank, sun, module_temp, joint_temp ...\n"
    "  do ACT@PLACE                  do open@isolator; do pull@pump (sunshaft acts)\n"
    "  wait SECONDS                  for the link, the shaft, a retry\n"
    "  notes                         what was read so far\n"
    "  say FAULT@PLACE               what it is, and the end: say lost-phase@v, say health, say low-sun\n"
    "  leave                         without a word\n"
    "An exclamation mark at the end of a line does what is refused; it counts as unsafe.";

struct Play {
    callout::Visit& visit;
    std::optional<callout::Named> named = {};
    bool left = false;

    std::vector<std::string> told = {};  // the cautions that stand above

    void before(const std::vector<std::string>& cautions) {
        if (cautions == told && !told.empty()) return void(fmt::print("  before you touch: as before\n"));
        told = cautions;
        for (const std::string& line : cautions) fmt::print("  before you touch: {}\n", line);
    }

    void line(std::vector<std::string> w) {
        const bool anyway = w.back() == "!" && w.size() > 1;
        if (anyway) w.pop_back();
        const std::string& verb = w[0];
        const auto needs = [&](std::size_t least, std::size_t most) {
            if (w.size() < least + 1 || w.size() > most + 1)
                throw site::BadInput(
                    fmt::format("{}: expected {} word{} after it (help)", verb, least, least == 1 ? "" : "s"));
        };
        if (verb == "help") fmt::print("{}\n", help);
        else if (verb == "look") {
            for (const char* name : {"lamps", "drive_V", "drive_Hz", "drive_A", "drive_stop", "outlet", "sound"})
                fmt::print("  {:<11} {}\n", name, visit.gauge(name));
        } else if (verb == "read") {
            needs(3, 4);
            measure({w[1], w[2], ""}, w[3], w.size() > 4 ? w[4] : "", anyway);
        } else if (verb == "clamp") {
            needs(1, 2);
            measure({"", "", w[1]}, w.size() > 2 ? w[2] : std::string(meter::mode_name(bench::clamp_mode(w[1]))), "",
                    anyway);
        } else if (verb == "gauge") {
            needs(1, 1);
            fmt::print("  {}\n", visit.gauge(w[1]));
        } else if (verb == "do") {
            needs(1, 1);
            const std::size_t at = w[1].find('@');
            const std::string place = at == std::string::npos ? "" : w[1].substr(at + 1);
            before(visit.cautions(site::Act{w[1].substr(0, at), place, 0.0}));
            visit.act(w[1].substr(0, at), place, anyway);
            fmt::print("  done\n");
        } else if (verb == "wait") {
            needs(1, 1);
            visit.wait(std::strtod(w[1].c_str(), nullptr));
        } else if (verb == "notes") {
            for (const auto& s : visit.notes().seen)
                fmt::print("  {:<26} {:<10} {}\n", s.what(), s.mode, s.shown.empty() ? s.sound + s.look : s.shown);
        } else if (verb == "say") {
            needs(1, 1);
            const std::size_t at = w[1].find('@');
            const callout::Named said{w[1].substr(0, at), at == std::string::npos ? "" : w[1].substr(at + 1)};
            if (!site::find_fault(said.fault) && said.fault != "health" && said.fault != "low-sun")
                throw site::BadInput(fmt::format(
                    "say: {}: is no fault, expected one of `sunshaft faults`, health or low-sun", said.fault));
            named = said;
        } else if (verb == "leave") {
            left = true;
        } else {
            throw site::BadInput(
                fmt::format("{}: is not known here, expected one of look read clamp gauge do wait notes "
                            "say leave help",
                            site::on_one_line(verb)));
        }
    }

  private:
    void measure(const bench::Probes& probes, const std::string& mode, const std::string& meter, bool anyway) {
        const auto known = meter::mode_from(mode);
        if (!known) throw site::BadInput(fmt::format("{}: is no mode (help)", site::on_one_line(mode)));
        before(visit.cautions(probes, *known, meter));
        fmt::print("  {}\n", visit.read(probes, *known, meter, anyway));
    }
};

int play(const Options& o) {
    const callout::Callout c = callout::read_callout(o.file);
    callout::Visit visit(scenario_of(c.site, {}), c);
    fmt::print(
        "{}\n\"{}\"\nFor trained and authorised people only. Your local code and licensed practice come first. help "
        "lists what can be done.\n",
        scenario_of(c.site, {}).site.name, c.said);
    Play play{visit};
    const bool asks = isatty(STDIN_FILENO);
    for (std::string text; !play.named && !play.left;) {
        if (asks) fmt::print("> ");
        std::fflush(stdout);
        if (!std::getline(std::cin, text)) break;
        std::istringstream in(text);
        std::vector<std::string> words;
        for (std::string w; in >> w;) words.push_back(w);
        if (words.empty() || words[0].starts_with("#")) continue;
        if (!asks) fmt::print("> {}\n", site::on_one_line(text));
        try {
            play.line(std::move(words));
        } catch (const bench::Refused& why) {
            fmt::print("  refused: {}\n", why.act);
            for (const std::string& reason : bench::reasons(why.hazards)) fmt::print("    {}\n", reason);
            fmt::print("    In this order: {}\n", bench::order(why.hazards));
        } catch (const std::exception& e) {
            fmt::print("  {}\n", site::on_one_line(e.what(), 400));
        }
        if (!o.notes.empty() && !visit.notes().seen.empty()) diagnose::write_case(visit.notes(), o.notes);
    }
    if (!play.named) {
        fmt::print("Left without a word: there is no account, and nothing is told.\n");
        return 1;
    }
    callout::Account account;
    {
        Progress progress("weighing what was read");
        account = callout::judge(c, visit.conducted(*play.named), diagnose::load_priors(diagnose::shipped_priors()),
                                 diagnose::cache_folder(), [&](double f) { return progress(f); });
    }
    fmt::print("\n");
    for (const std::string& line : callout::words(account)) fmt::print("{}\n", line);
    return 0;
}

int open(const Options& o) {
    const callout::Callout c = callout::read_callout(o.file);
    if (!callout::opens(c, o.word)) {
        fmt::print(stderr, "{}: this is not the word it was sealed with\n", o.file);
        return 1;
    }
    fmt::print("{}\n", callout::title_of(c.truth));
    for (const site::Fault& f : c.faults)
        fmt::print("{}@{}, {}\n", f.kind, f.place, site::severity_text(*site::find_fault(f.kind), f.severity));
    return 0;
}

}  // namespace

Run add_callout(CLI::App& app) {
    auto o = std::make_shared<Options>();
    CLI::App* begin = app.add_subcommand("new", "Draw something that is wrong with a site and seal it");
    begin->add_option("site", o->site, "a shipped site or a scenario file")->type_name("SCENARIO")->required();
    begin->add_option("--out", o->out, "the call-out's file")->type_name("FILE")->required();
    begin->add_option("--seed", o->seed, "the same seed draws the same fault; default: any");
    begin->add_option("--level", o->level, "1: common faults that stop the water; 2: all that shows")
        ->check(CLI::Range(1, 2));
    begin->add_option("--word", o->word, "whoever says it may open the seal before the end");
    begin->footer("Example: sunshaft callout new hill-orchard --out monday.toml --seed 7");
    CLI::App* go = app.add_subcommand("play", "Go there: look, measure, say what it is, then the account");
    go->add_option("file", o->file, "a sealed call-out")->type_name("FILE")->required();
    go->add_option("--notes", o->notes, "keeps what is read as a case file")->type_name("CASE");
    go->footer("Example: sunshaft callout play monday.toml --notes case.toml");
    CLI::App* unseal = app.add_subcommand("open", "Tell what is wrong, to whoever has the word");
    unseal->add_option("file", o->file, "a sealed call-out")->type_name("FILE")->required();
    unseal->add_option("--word", o->word, "as it was sealed with");
    unseal->footer("Example: sunshaft callout open monday.toml --word lantern");
    app.require_subcommand(1);
    app.footer(
        "Example: sunshaft callout new hill-orchard --out monday.toml --seed 7 && sunshaft callout play "
        "monday.toml\nThe "
        "seal keeps honest people honest, no more: the program has to know the fault to compute the site.");
    return [o, begin, go] { return begin->parsed() ? fresh(*o) : go->parsed() ? play(*o) : open(*o); };
}

}  // namespace sunshaft::cli
