// sunshaft: the headless program. Reads the command line, runs one verb, turns what was thrown into one line.
#include <fmt/args.h>
#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <exception>
#include <iostream>
#include <regex>
#include <stdexcept>
#include <string_view>
#include <system_error>

#include "cli/verb.hpp"
#include "files/said.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::cli {
namespace {

struct Verb {
    const char* name;
    const char* summary;
    Run (*add)(CLI::App&);
};

// Another verb is another line.
constexpr Verb verbs[] = {
    {"check", text::id("Check a scenario for mistakes"), add_check},
    {"read", text::id("What a meter shows at two points, and why"), add_read},
    {"listen", text::id("What an ear hears of a site, and as a WAV file"), add_listen},
    {"sheet", text::id("What a site should read, to print and take along"), add_sheet},
    {"lesson", text::id("Play a lesson in the terminal, list them, check one you write"), add_lesson},
    {"worksheet", text::id("Print a lesson, a page for each exercise, and a sheet of answers"), add_worksheet},
    {"tests", text::id("Field tests: how each is done, in what state of the site, how long it takes"), add_tests},
    {"suspects", text::id("From a case's readings to what is wrong, and what to measure next"), add_suspects},
    {"case", text::id("Keep a case: begin it, add a reading, take one back, report"), add_case},
    {"callout", text::id("A sealed fault: found by measuring, then the account"), add_callout},
    {"class", text::id("The instructor's book: merge learners' journals, marks, exports"), add_class},
    {"run", text::id("Run the plant and write signals: CSV, JSON, COMTRADE, WAV, plots"), add_run},
    {"day", text::id("A day or a year at the well: water, energy, starts, and what faults cost"), add_day},
    {"report", text::id("Two to four pages on a site: drawing, water month by month, margins, expected readings"),
     add_report},
    {"fit", text::id("Does it fit together: margins with rule and source, and the change that helps most"), add_fit},
    {"analyse", text::id("Harmonics, sequence components and signatures of a site or a recording"), add_analyse},
    {"compare", text::id("Lay a recorded waveform over the computed one"), add_compare},
    {"points", text::id("List the test points of a site"), add_points},
    {"acts", text::id("List what can be done on a site, with its cautions"), add_acts},
    {"faults", text::id("List the fault catalogue"), add_faults},
    {"meters", text::id("List the meters, or check one and try it on standard waves"), add_meters},
    {"my-meter", text::id("What kind of meter you own, from waves through a headphone socket"), add_my_meter},
    {"modules", text::id("List the module table"), add_modules},
    {"proof", text::id("Compare with published figures"), add_proof},
    {"keys", text::id("List every scenario key with unit, default, domain and meaning"), add_keys},
};

bool is_verb(std::string_view word) {
    return std::ranges::any_of(verbs, [&](const Verb& verb) { return verb.name == word; });
}

int bad_input(const std::string& line) {
    fmt::print(stderr, "{}\n", site::on_one_line(line, 2000));
    return 2;
}

// The answer is no: the reason, the right order, and how to insist.
int refused(const bench::Refused& why, bool json) {
    const std::string order = bench::order(why.hazards);
    if (json)
        fmt::print(
            "{}\n",
            nlohmann::json{{"refused", {{"act", why.act}, {"reasons", bench::reasons(why.hazards)}, {"order", order}}},
                           {"hazards", hazards_json(why.hazards)},
                           {"cautions", bench::words(why.hazards)}}
                .dump(2));
    fmt::print(stderr, "{}\n", text::say("refused: {}", why.act));
    for (const std::string& reason : bench::reasons(why.hazards)) fmt::print(stderr, "  {}\n", reason);
    fmt::print(stderr, "  {}\n", text::say("In this order: {}", order));
    if (std::any_of(why.hazards.begin(), why.hazards.end(),
                    [](const bench::Hazard& h) { return h.kind == bench::Danger::undipped; }))
        fmt::print(stderr, "  {}\n", text::tr("--dipped dips the well first."));
    fmt::print(stderr, "  {}\n", text::tr("--anyway carries it out here and counts it as unsafe."));
    return 1;
}

std::string unknown_verb(std::string_view word) {
    std::vector<std::string_view> names;
    std::string list;
    for (const Verb& verb : verbs) {
        names.emplace_back(verb.name);
        list += (list.empty() ? "" : ", ") + std::string(verb.name);
    }
    if (word.empty()) return text::say("sunshaft: no verb given, expected one of {} (see sunshaft --help)", list);
    const auto hit = site::nearest(word, names);
    return text::say("sunshaft: {}: is not a verb, expected one of {}{}", site::on_one_line(word), list,
                     hit ? text::say(" (did you mean {}?)", *hit) : "");
}

// What was printed has to arrive: a full disk shows when the last of it is handed over, if not before.
int delivered(int status, const std::string& who) {
    if (std::cout.flush() && std::fflush(stdout) == 0 && !std::ferror(stdout)) return status;
    fmt::print(stderr, "{}\n",
               text::say("{}: standard output: writing failed ({})", who, files::reason(errno ? errno : EIO)));
    return 1;
}

// The language of what is said: as asked for, else as the environment has it. English for a verb that the catalogue
// does not have completely. The options' own words want it before the options are read. Returns what is wrong.
std::string choose_language(std::string_view verb, int argc, char** argv) {
    std::string wanted;
    constexpr std::string_view option = "--language";
    for (int n = 1; n < argc; ++n) {
        const std::string_view word = argv[n];
        if (word == option && n + 1 < argc) wanted = argv[n + 1];
        if (word.starts_with(option) && word.substr(option.size()).starts_with('='))
            wanted = word.substr(option.size() + 1);
    }
    const bool asked = !wanted.empty();
    const auto& known = text::languages();
    if (asked && std::find(known.begin(), known.end(), wanted) == known.end())
        return fmt::format("--language: {}: expected one of {}", site::on_one_line(wanted), text::spaced(known));
    if (!asked) wanted = text::language_of_environment();
    // JSON is for programs: the same in every language.
    if (wanted == "en" || std::find(argv, argv + argc, std::string_view("--json")) != argv + argc) return "";
    try {
        text::Catalogue catalogue = text::Catalogue::shipped(wanted);
        // Where no verb is known there is but the list of them, or what is wrong.
        if (catalogue.has(verb) || !is_verb(verb)) text::speak(std::move(catalogue));
        else if (asked) fmt::print(stderr, "sunshaft {}: not translated yet, in English\n", verb);
    } catch (const std::runtime_error& error) {
        return fmt::format("--language: {}", error.what());
    }
    return "";
}

// What the option reader says is wrong, in the language spoken: its sentences are known by what they hold.
std::string told(const std::string& wrong) {
    static constexpr const char* sentences[] = {text::id("A subcommand is required"),
                                                text::id("{} is required"),
                                                text::id("The following argument was not expected: {}"),
                                                text::id("The following arguments were not expected: {}"),
                                                text::id("Could not convert: {} = {}"),
                                                text::id("{}: {} required {} missing"),
                                                text::id("{}: Value {} not in range {} to {}"),
                                                text::id("{}: {} not in {}"),
                                                text::id("Value {} could not be converted"),
                                                text::id("{} requires {}"),
                                                text::id("{} excludes {}")};
    for (const char* sentence : sentences) {
        std::string form;
        for (std::string_view rest = sentence; !rest.empty();) {
            const bool hole = rest.starts_with("{}");
            form += hole ? "(.*)" : std::string(1, rest.front());
            rest.remove_prefix(hole ? 2 : 1);
        }
        std::smatch found;
        if (!std::regex_match(wrong, found, std::regex(form))) continue;
        fmt::dynamic_format_arg_store<fmt::format_context> holes;
        for (std::size_t n = 1; n < found.size(); ++n) holes.push_back(found[n].str());
        return fmt::vformat(text::tr(sentence), holes);
    }
    return wrong;
}

// The words the option reader puts round ours. Before verbs are added, which take them over.
void speak_help(CLI::App& app) {
    using text::tr;
    const std::pair<const char*, const char*> words[] = {{"Usage", tr("Usage")},
                                                         {"OPTIONS", tr("OPTIONS")},
                                                         {"Positionals", tr("Positionals")},
                                                         {"REQUIRED", tr("REQUIRED")},
                                                         {"SUBCOMMAND", tr("SUBCOMMAND")}};
    for (const auto& [name, said] : words) app.get_formatter()->label(name, said);
    app.option_defaults()->group(tr("Options"));
    app.set_help_flag("-h,--help", tr("Print this help message and exit"));
}

int answer(int argc, char** argv) {
    const std::string_view first = argc > 1 ? argv[1] : "";
    if (const std::string wrong = choose_language(first, argc, argv); !wrong.empty()) return bad_input(wrong);
    CLI::App app{text::tr("Sunshaft: a bench in software for solar-driven three-phase pump systems."), "sunshaft"};
    app.footer(fmt::format("{} sunshaft check hill-orchard\n{}", text::tr("Example:"),
                           text::tr("Every verb has its own --help with an example.")));
    app.require_subcommand(0, 1);
    speak_help(app);
    std::vector<std::pair<CLI::App*, Run>> runs;
    // A verb that is named needs its own options only: those of all take a millisecond.
    const bool known = is_verb(first);
    const std::string which = text::tr("of what is said: en, es; without it as LANGUAGE and LANG have it");
    for (const Verb& verb : verbs) {
        if (known && verb.name != first) continue;
        CLI::App* sub = app.add_subcommand(verb.name, text::tr(verb.summary))->group(text::tr("Subcommands"));
        runs.emplace_back(sub, verb.add(*sub));
        if (std::string footer = sub->get_footer(); footer.find("Example:") != std::string::npos)
            sub->footer(footer.replace(footer.find("Example:"), 8, text::tr("Example:")));
        sub->add_option("--language", which)->type_name("WORD");
        sub->get_help_ptr()->group(text::tr("Options"));
        for (CLI::App* inner : sub->get_subcommands({})) {
            inner->group(text::tr("Subcommands"))->fallthrough();  // behind the second word as well
            inner->get_help_ptr()->group(text::tr("Options"));
        }
    }
    app.add_option("--language", which)->type_name("WORD");
    if (!known && !first.starts_with('-')) return bad_input(unknown_verb(first));
    const std::string who = known ? fmt::format("sunshaft {}", first) : "sunshaft";
    try {
        app.parse(argc, argv);
        for (const auto& [sub, run] : runs)
            if (sub->parsed()) return delivered(run(), who);
        return bad_input(unknown_verb(""));
    } catch (const CLI::Success& wanted_help) {
        return delivered(app.exit(wanted_help), who);
    } catch (const CLI::ParseError& error) {
        return bad_input(text::say("{}: {} (see {} --help)", who, told(error.what()), who));
    } catch (const bench::Refused& error) {
        return refused(error, std::find(argv, argv + argc, std::string_view("--json")) != argv + argc);
    } catch (const site::BadInput& error) {
        return bad_input(error.what());
    } catch (const meter::SpecError& error) {
        return bad_input(error.what());
    } catch (const std::invalid_argument& error) {
        return bad_input(fmt::format("{}: {}", who, error.what()));
    } catch (const std::system_error&) {
        return delivered(1, who);  // standard output was refused in the middle of it
    } catch (const std::exception& error) {
        fmt::print(stderr, "{}: {}\n", who, site::on_one_line(error.what(), 2000));
        return 1;
    }
}

}  // namespace
}  // namespace sunshaft::cli

int main(int argc, char** argv) {
    try {
        return sunshaft::cli::answer(argc, argv);
    } catch (...) {  // the options' own set-up: out of memory
        std::fputs("sunshaft: cannot begin\n", stderr);
        return 1;
    }
}
