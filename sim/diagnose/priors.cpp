#include "diagnose/priors.hpp"

#include <fmt/format.h>

#include <toml++/toml.h>
#include <algorithm>

#include "files/input.hpp"
#include "files/shipped.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using site::BadInput;

std::string lower(std::string text) {
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return text;
}
// Part of a word is enough, but short ones stand in too many: "rat" in the Spanish for "a while". They stand for
// themselves and for several.
bool says(const std::vector<std::string>& words, const std::string& text) {
    return std::any_of(words.begin(), words.end(), [&](const std::string& w) {
        return w.size() > 3 ? text.find(w) != std::string::npos
                            : text::word_in(text, w) || text::word_in(text, w + "s");
    });
}

class PriorsReader {
  public:
    explicit PriorsReader(std::string file) : file_(std::move(file)) {}

    Priors read(const toml::table& t) {
        Priors p;
        figures(t, "causes", p.cause, 0.0);
        figures(t, "faults", p.fault, 0.0);
        for (const auto& [kind, weight] : p.fault)
            if (!site::find_fault(kind)) wrong(*t["faults"].as_table(), kind, text::tr("is no fault of the catalogue"));
        std::map<std::string, double> slip;
        figures(t, "slip", slip, 1e-6);
        p.slip = std::min(0.5, slip.contains("reading") ? slip["reading"] : p.slip);
        p.slip_again = std::min(1.0, slip.contains("again") ? slip["again"] : p.slip_again);
        p.unknown_slip = std::min(0.9, slip.contains("unknown") ? slip["unknown"] : p.unknown_slip);
        std::map<std::string, double> tried;
        figures(t, "tried", tried, 0.0);
        if (tried.contains("fails")) p.repair_fails = std::clamp(tried["fails"], 0.001, 1.0);
        if (tried.contains("by_restart")) p.well_by_restart = std::clamp(tried["by_restart"], 0.001, 1.0);
        std::map<std::string, double> together;
        figures(t, "together", together, 0.0);
        if (together.contains("share")) p.two_at_once = std::min(0.5, together["share"]);
        each(t, "common", [&](const toml::table& row) { p.common.push_back(common(row)); });
        figures(t, "minutes", p.minutes, 0.0);
        figures(t, "repair", p.repair, 0.0);
        if (const toml::table* where = t["where"].as_table())
            for (const auto& [key, node] : *where) {
                const auto* text = node.as_string();
                static constexpr std::string_view known[] = {"waiting", "array", "box", "above-ground", "bore", "data"};
                if (!text || std::find(std::begin(known), std::end(known), text->get()) == std::end(known))
                    wrong(*where, std::string(key.str()),
                          text::tr("expected one of waiting, array, box, above-ground, bore, data"));
                p.where[std::string(key.str())] = text->get();
            }
        if (const toml::table* harmless = t["harmless"].as_table()) {
            p.harmless_water = harmless->get("water") ? harmless->get("water")->value_or(0.03) : 0.03;
            p.harmless_leak = harmless->get("insulation") ? harmless->get("insulation")->value_or(1e6) : 1e6;
            p.never_harmless = texts(harmless->get("never"));
        }
        each(t, "intake", [&](const toml::table& row) {
            p.intake.push_back({heard(row.get("says")), row["times"].value_or(1.0), texts(row.get("of"))});
        });
        each(t, "told", [&](const toml::table& row) {
            p.told.push_back({heard(row.get("says")), texts(row.get("means"))});
        });
        return p;
    }

  private:
    [[noreturn]] void wrong(const toml::table& table, const std::string& key, const std::string& words) const {
        const toml::node* node = table.get(key);
        const auto at = node ? node->source().begin : table.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: {}: {}", site::on_one_line(file_, 400), at.line, at.column,
                                   site::on_one_line(key), words));
    }
    Priors::Common common(const toml::table& row) const {
        const auto share = row["share"].value<double>();
        if (!share || !(*share >= 0.0 && *share <= 0.9))
            wrong(row, "share", text::say("expected a number from {} to {}", 0.0, 0.9));
        Priors::Common c{*share, texts(row.get("of"))};
        for (const std::string& kind : c.of)
            if (!site::find_fault(kind)) wrong(row, "of", text::say("{} is no fault of the catalogue", kind));
        return c;
    }
    void figures(const toml::table& t, const char* section, std::map<std::string, double>& to, double least) const {
        const toml::table* table = t[section].as_table();
        if (!table) return;
        for (const auto& [key, node] : *table) {
            const auto value = node.value<double>();
            if (!value || !(*value >= least && *value < 1e6))
                wrong(*table, std::string(key.str()), text::say("expected a number from {} to 1e6", least));
            to[std::string(key.str())] = *value;
        }
    }
    static std::vector<std::string> texts(const toml::node* node) {
        std::vector<std::string> list;
        if (const toml::array* many = node ? node->as_array() : nullptr)
            for (const toml::node& one : *many)
                if (const auto* text = one.as_string()) list.push_back(lower(text->get()));
        return list;
    }
    // In every language there is a catalogue of.
    static std::vector<std::string> heard(const toml::node* node) {
        std::vector<std::string> list;
        for (const std::string& phrase : texts(node)) {
            for (std::string& way : text::ways(phrase)) list.push_back(std::move(way));
        }
        return list;
    }
    template <class Take>
    static void each(const toml::table& t, const char* section, const Take& take) {
        if (const toml::array* rows = t[section].as_array())
            for (const toml::node& row : *rows)
                if (const toml::table* table = row.as_table()) take(*table);
    }
    std::string file_;
};

}  // namespace

std::string Priors::place_of(const std::string& kind, const std::string& group, const std::string& place) const {
    std::string found = "box";
    if (const auto at = where.find(group); at != where.end()) found = at->second;
    if (const auto at = where.find(kind); at != where.end()) found = at->second;
    for (const auto& [key, value] : where) {
        const std::size_t cut = key.find('@');
        if (cut != std::string::npos && key.compare(0, cut, kind) == 0 && place.starts_with(key.substr(cut + 1)))
            found = value;
    }
    return found;
}

double Priors::minutes_to_repair(const std::string& kind, const std::string& lies) const {
    if (const auto at = repair.find(kind); at != repair.end()) return at->second;
    const auto at = repair.find(lies);
    return at == repair.end() ? 60.0 : at->second;
}

double Priors::minute(const std::string& name) const {
    const auto at = minutes.find(name);
    return at == minutes.end() ? 5.0 : at->second;
}

bool Priors::harmless(const std::string& kind, double severity) const {
    const site::FaultRow* row = site::find_fault(kind);
    if (row)
        for (const char* leaks : {"ohm left to earth", "ohm left to the frame", "ohm left to the casing"})
            if (row->unit == std::string_view(leaks)) return severity >= harmless_leak;
    return std::find(never_harmless.begin(), never_harmless.end(), kind) == never_harmless.end();
}

double Priors::times(const std::string& what, const std::vector<std::string>& said) const {
    double all = 1.0;
    for (const Said& row : intake) {
        if (std::find(row.of.begin(), row.of.end(), what) == row.of.end()) continue;
        if (std::any_of(said.begin(), said.end(),
                        [&](const std::string& s) { return says(row.says, text::folded(s)); }))
            all *= row.times;
    }
    return all;
}

bool Priors::understood(const std::string& said) const {
    return std::any_of(intake.begin(), intake.end(),
                       [&](const Said& row) { return says(row.says, text::folded(said)); });
}

namespace {

// "does not turn", "no gira": a phrase right behind a word of denial says the opposite.
const text::Heard denials{"not", "no", "without", "neither", "never", "doesn't"};

bool affirmed(const std::vector<std::string>& phrases, const std::string& said) {
    return std::any_of(phrases.begin(), phrases.end(), [&](const std::string& phrase) {
        for (std::size_t at = 0; (at = said.find(phrase, at)) != std::string::npos; ++at) {
            if (phrase.size() <= 3 && !says({phrase}, said.substr(at > 0 ? at - 1 : 0, phrase.size() + 3))) continue;
            std::string before = said.substr(0, at);
            while (!before.empty() && before.back() == ' ') before.pop_back();
            const std::string last = before.substr(before.find_last_of(' ') + 1);
            if (!denials.is(last)) return true;
        }
        return false;
    });
}

}  // namespace

std::vector<std::string> Priors::means(const std::string& words) const {
    const std::string said = text::folded(words);
    for (auto row = told.rbegin(); row != told.rend(); ++row)  // the particular ones stand last
        if (affirmed(row->says, said)) return row->means;
    return {};
}

bool shows(const Behaviour& b, const std::string& meaning) {
    using drive::Cause;
    using drive::Phase;
    const bool tripped = b.phase == Phase::tripped || b.phase == Phase::locked || b.trips > 0;
    const auto by = [&](Cause cause) { return tripped && (b.trip == cause || b.or_trip == cause); };
    if (meaning == "off") return !b.driven && !b.turns;
    if (meaning == "turns") return b.turns;
    if (meaning == "stands") return b.driven && !b.turns;
    if (meaning == "runs") return b.driven;
    if (meaning == "trips") return tripped;
    if (meaning == "over-current") return by(Cause::over_current);
    if (meaning == "stall") return by(Cause::stall);
    if (meaning == "phase-loss") return by(Cause::phase_loss);
    if (meaning == "over-voltage") return by(Cause::over_voltage);
    if (meaning == "overload") return by(Cause::motor_overload);
    if (meaning == "heat-sink") return by(Cause::heat_sink);
    if (meaning == "dry-hold") return b.phase == Phase::dry_hold;
    if (meaning == "tank-hold") return b.phase == Phase::tank_hold;
    if (meaning == "waits-for-sun") return b.phase == Phase::waiting_for_sun;
    return false;
}

Priors load_priors(const std::string& file) {
    const std::string name = site::on_one_line(file, 400);
    try {
        const std::string text = files::read_whole(file, files::most_settings);
        if (const auto trouble = files::toml_trouble(text))
            throw BadInput(fmt::format("{}:{}:{}: syntax: {}", name, trouble->line, trouble->column, trouble->words));
        return PriorsReader(file).read(toml::parse(text));
    } catch (const files::Unreadable& why) {
        throw BadInput(text::say("{}:0:0: priors: {}, expected a table of priors", name, why.what()));
    } catch (const toml::parse_error& error) {
        const auto at = error.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}, expected TOML", name, at.line, at.column,
                                   site::on_one_line(text::parser_says(error.description()), 200)));
    }
}

std::vector<std::string> listened_for(const std::string& file) {
    std::vector<std::string> list;
    const toml::table all = toml::parse(files::read_whole(file, files::most_settings));
    for (const char* section : {"intake", "told"})
        for (const toml::node& row : *all[section].as_array())
            for (const toml::node& phrase : *row.as_table()->get("says")->as_array())
                list.push_back(lower(phrase.value_or<std::string>("")));
    return list;
}

std::string shipped_priors() { return files::shipped_data() + "/scenarios/priors.toml"; }

}  // namespace sunshaft::diagnose
