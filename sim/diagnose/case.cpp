#include "diagnose/case.hpp"

#include <fmt/format.h>

#include <toml++/toml.h>
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <sstream>

#include "bench/hands.hpp"
#include "files/fresh_file.hpp"
#include "files/input.hpp"
#include "files/text.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/points.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

namespace fs = std::filesystem;
using site::BadInput;
using site::on_one_line;

class CaseReader {
  public:
    explicit CaseReader(const std::string& file) { case_.file = file; }

    Case read(const toml::table& document) {
        for (const auto& [key, node] : in_order(document)) {
            const std::string name(key->str());
            if (name == "site") text(*node, name, case_.site);
            else if (name == "sky") sky(*node);
            else if (name == "to_hand") case_.to_hand_said = true, list(*node, name, case_.to_hand);
            else if (name == "who") text(*node, name, case_.who);
            else if (name == "alone") yes(*node, name, case_.alone);
            else if (name == "intake") list(*node, name, case_.intake);
            else if (name == "seen") seen(*node);
            else if (name == "tried") tried(*node);
            else aside(key->source().begin, name, text::tr("not a key of a case"));
        }
        if (case_.site.empty())
            throw BadInput(text::say("{}:1:1: site: is missing, expected a shipped site or a scenario file",
                                     on_one_line(case_.file, 400)));
        return std::move(case_);
    }

  private:
    // As they stand in the file.
    static std::vector<std::pair<const toml::key*, const toml::node*>> in_order(const toml::table& table) {
        std::vector<std::pair<const toml::key*, const toml::node*>> all;
        for (const auto& [key, node] : table) all.emplace_back(&key, &node);
        std::sort(all.begin(), all.end(), [](const auto& a, const auto& b) {
            const auto &x = a.first->source().begin, &y = b.first->source().begin;
            return x.line != y.line ? x.line < y.line : x.column < y.column;
        });
        return all;
    }
    std::string at(toml::source_position p) const {
        return fmt::format("{}:{}:{}", on_one_line(case_.file, 400), p.line, p.column);
    }
    void aside(toml::source_position p, std::string_view key, std::string_view words) {
        case_.aside.push_back(fmt::format("{}: {}: {}", at(p), on_one_line(key), words));
    }

    void text(const toml::node& node, const std::string& key, std::string& to) {
        if (const auto* s = node.as_string()) to = files::one_line(s->get());
        else if (const auto* whole = node.as_integer()) to = fmt::format("{}", whole->get());
        else if (const auto* real = node.as_floating_point()) to = fmt::format("{}", real->get());
        else if (node.is_date() || node.is_time() || node.is_date_time()) {
            std::ostringstream words;
            if (const auto* d = node.as_date()) words << d->get();
            if (const auto* c = node.as_time()) words << c->get();
            if (const auto* both = node.as_date_time()) words << both->get();
            to = words.str();
        } else aside(node.source().begin, key, text::tr("not text, left out"));
    }
    void yes(const toml::node& node, const std::string& key, bool& to) {
        if (const auto* b = node.as_boolean()) to = b->get();
        else aside(node.source().begin, key, text::tr("neither true nor false, left out"));
    }
    void figure(const toml::node& node, const std::string& key, double low, double high, double& to) {
        double x = not_given;
        if (const auto* whole = node.as_integer()) x = static_cast<double>(whole->get());
        if (const auto* real = node.as_floating_point()) x = real->get();
        if (x >= low && x <= high) to = x;
        else aside(node.source().begin, key, text::say("not a number from {} to {}, left out", low, high));
    }
    void list(const toml::node& node, const std::string& key, std::vector<std::string>& to) {
        const auto* many = node.as_array();
        if (!many) {
            std::string one;
            text(node, key, one);
            if (!one.empty()) to.push_back(one);
            return;
        }
        for (const toml::node& entry : *many) {
            std::string one;
            text(entry, key, one);
            if (!one.empty()) to.push_back(one);
        }
    }

    void sky(const toml::node& node) {
        const auto* table = node.as_table();
        if (!table) return aside(node.source().begin, "sky", text::tr("not a table, left out"));
        for (const auto& [key, value] : in_order(*table)) {
            const std::string name(key->str()), path = "sky." + name;
            if (name == "irradiance_W_m2") figure(*value, path, 0, 1500, case_.irradiance);
            else if (name == "module_temperature_degC") figure(*value, path, -50, 120, case_.module_degC);
            else if (name == "source") text(*value, path, case_.sky_source);
            else if (name == "at") text(*value, path, case_.sky_at);
            else aside(key->source().begin, path, text::tr("not a key of the sky"));
        }
    }

    void seen(const toml::node& node) {
        const auto* many = node.as_array();
        if (!many) return aside(node.source().begin, "seen", text::tr("expected tables under [[seen]], left out"));
        for (const toml::node& entry : *many) {
            case_.seen.emplace_back();  // also one that is no table: the next keep their numbers
            if (const auto* table = entry.as_table()) one(*table, case_.seen.back());
            else aside(entry.source().begin, "seen", text::tr("not a table, left out"));
        }
    }

    void tried(const toml::node& node) {
        const auto* many = node.as_array();
        if (!many) return aside(node.source().begin, "tried", text::tr("expected tables under [[tried]], left out"));
        for (const toml::node& entry : *many) {
            const auto* table = entry.as_table();
            if (!table) {
                aside(entry.source().begin, "tried", text::tr("not a table, left out"));
                continue;
            }
            Tried t;
            for (const auto& [key, value] : in_order(*table)) {
                const std::string name(key->str()), path = "tried." + name;
                if (name == "fault") text(*value, path, t.fault);
                else if (name == "place") text(*value, path, t.place);
                else if (name == "outcome") text(*value, path, t.outcome);
                else if (name == "at") text(*value, path, t.at);
                else if (const auto n = value->value<std::int64_t>(); name == "after" && n && *n >= 0)
                    t.after = static_cast<std::size_t>(*n);
                else if (name == "after")
                    aside(value->source().begin, path, text::tr("expected a number of readings, left out"));
                else aside(key->source().begin, path, text::tr("not a key of a repair"));
            }
            if (!site::find_fault(t.fault))
                aside(table->source().begin, "tried.fault",
                      text::say("\"{}\" is no fault that `sunshaft faults` "
                                "lists, not weighed",
                                on_one_line(t.fault)));
            else if (t.what() == Tried::What::unknown)
                aside(table->source().begin, "tried.outcome",
                      text::say("\"{}\" is not understood, not weighed; expected \"no change\", \"well again\" or "
                                "\"back after ...\"",
                                on_one_line(t.outcome)));
            case_.tried.push_back(std::move(t));
        }
    }

    void one(const toml::table& table, Seen& s) {
        static constexpr std::pair<std::string_view, std::string Seen::*> texts[] = {
            {"red", &Seen::red},     {"black", &Seen::black}, {"around", &Seen::around},   {"mode", &Seen::mode},
            {"meter", &Seen::meter}, {"shown", &Seen::shown}, {"gauge", &Seen::gauge},     {"lamp", &Seen::lamp},
            {"sound", &Seen::sound}, {"look", &Seen::look},   {"message", &Seen::message}, {"moment", &Seen::moment},
            {"at", &Seen::at},       {"when", &Seen::when}};
        s.where["seen"] = at(table.source().begin);
        for (const auto& [key, value] : in_order(table)) {
            const std::string name(key->str()), path = "seen." + name;
            s.where[name] = at(value->source().begin);
            const auto* found =
                std::find_if(std::begin(texts), std::end(texts), [&](const auto& t) { return t.first == name; });
            if (found != std::end(texts)) text(*value, path, s.*found->second);
            else if (name == "do") list(*value, path, s.act);
            else if (name == "after_s") figure(*value, path, 0, 86400, s.after_s);
            else if (name == "leads_ohm") figure(*value, path, 0, 1000, s.leads_ohm);
            else if (name == "zeroed") yes(*value, path, s.zeroed);
            else aside(key->source().begin, path, text::tr("not a key of a look"));
        }
    }

    Case case_;
};

// A quoted TOML string.
std::string quoted(const std::string& text) {
    std::string out = "\"";
    for (const char c : files::plain_text(text)) {
        if (c == '"' || c == '\\') out += '\\';
        out += c;
    }
    return out + "\"";
}
std::string quoted(const std::vector<std::string>& list) {
    std::string out = "[";
    for (const std::string& text : list) out += (out.size() > 1 ? ", " : "") + quoted(text);
    return out + "]";
}

}  // namespace

std::string Seen::what() const {
    using text::say, text::tr;
    if (!around.empty()) return say("clamp on {}", around);
    if (!gauge.empty()) return gauge;
    if (!lamp.empty()) return say("lamp \"{}\"", lamp);
    if (!sound.empty()) return tr("sound");
    if (!look.empty()) return tr("look");
    if (!message.empty()) return tr("message");
    if (!red.empty() || !black.empty()) return fmt::format("{} - {}", red, black);
    return act.empty() ? tr("nothing") : tr("done");
}

namespace {
const text::Heard still_so{"no change", "still", "same as", "not pumping", "did not help", "no better"},
    came_back{"back after", "came back", "comes back", "returned", "for a while"},
    well_again{"well again", "pumps", "works", "cured", "good again"};
}

Tried::What Tried::what() const {
    const std::string said = text::folded(outcome);
    if (still_so.in(said)) return What::no_change;
    if (came_back.in(said)) return What::came_back;
    return well_again.in(said) ? What::well : What::unknown;
}

Case parse_case(std::string_view text, const std::string& file) {
    const std::string name = on_one_line(file, 400);
    if (const auto trouble = files::toml_trouble(text))
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}", name, trouble->line, trouble->column, trouble->words));
    try {
        return CaseReader(file).read(toml::parse(text));
    } catch (const toml::parse_error& error) {
        const auto begin = error.source().begin;
        throw BadInput(text::say("{}:{}:{}: syntax: {}, expected TOML", name, begin.line, begin.column,
                                 on_one_line(text::parser_says(error.description()), 200)));
    }
}

Case read_case(const std::string& file) {
    try {
        return parse_case(files::read_whole(file, files::most_settings), file);
    } catch (const files::Unreadable& why) {
        throw BadInput(text::say("{}:0:0: case: {}, expected a case file", on_one_line(file, 400), why.what()));
    }
}

Scenario site_of(const Case& c) {
    const fs::path beside = fs::path(c.file).parent_path() / c.site;
    std::error_code none;
    const bool near = !c.file.empty() && fs::is_regular_file(beside, none);
    const std::string with_ending = beside.string() + ".toml";
    Scenario scenario = site::load_scenario(near                                     ? beside.string()
                                            : fs::is_regular_file(with_ending, none) ? with_ending
                                                                                     : site::find_scenario(c.site));
    const auto known = site::points(site::set_up(scenario));
    const auto check = [&](const Seen& s, const char* key, const std::string& name, bool clamp) {
        if (name.empty()) return;
        std::vector<std::string_view> names;
        for (const site::PointInfo& p : known)
            if (p.clamp == clamp) names.push_back(p.name);
        if (std::find(names.begin(), names.end(), name) != names.end()) return;
        const auto near_one = site::nearest(name, names);
        const auto at = s.where.find(key);
        throw BadInput(
            text::say_of(clamp ? text::id("{}: seen.{}: {} is no conductor of this site, expected one that `sunshaft "
                                          "points {}` lists{}")
                               : text::id("{}: seen.{}: {} is no test point of this site, expected one that `sunshaft "
                                          "points {}` lists{}"),
                         at == s.where.end() ? on_one_line(c.file, 400) + ":0:0" : at->second, key, on_one_line(name),
                         on_one_line(c.site), near_one ? text::say(" (did you mean {}?)", *near_one) : ""));
    };
    for (const Seen& s : c.seen) {
        check(s, "red", s.red, false);
        check(s, "black", s.black, false);
        if (s.around.empty()) continue;
        try {
            for (const bench::Strand& strand : bench::strands(s.around)) check(s, "around", strand.name, true);
        } catch (const BadInput&) {
            check(s, "around", s.around, true);
        }
    }
    return scenario;
}

std::string to_toml(const Case& c) {
    std::string out = fmt::format("site = {}\n", quoted(c.site));
    std::string sky;
    const auto with = [&](const std::string& entry) { sky += (sky.empty() ? "" : ", ") + entry; };
    if (std::isfinite(c.irradiance)) with(fmt::format("irradiance_W_m2 = {}", c.irradiance));
    if (std::isfinite(c.module_degC)) with(fmt::format("module_temperature_degC = {}", c.module_degC));
    if (!c.sky_source.empty()) with("source = " + quoted(c.sky_source));
    if (!c.sky_at.empty()) with("at = " + quoted(c.sky_at));
    if (!sky.empty()) out += fmt::format("sky = {{ {} }}\n", sky);
    if (c.to_hand_said) out += fmt::format("to_hand = {}\n", quoted(c.to_hand));
    if (!c.who.empty()) out += fmt::format("who = {}\n", quoted(c.who));
    if (c.alone) out += "alone = true\n";
    if (!c.intake.empty()) out += fmt::format("intake = {}\n", quoted(c.intake));
    for (const Seen& s : c.seen) {
        out += "\n[[seen]]\n";
        const auto line = [&](const char* key, const std::string& text) {
            if (!text.empty()) out += fmt::format("{} = {}\n", key, quoted(text));
        };
        line("at", s.at);
        if (!s.act.empty()) out += fmt::format("do = {}\n", quoted(s.act));
        if (std::isfinite(s.after_s)) out += fmt::format("after_s = {}\n", s.after_s);
        line("moment", s.moment);
        const std::pair<const char*, const std::string&> texts[] = {
            {"when", s.when},       {"red", s.red},   {"black", s.black}, {"around", s.around},
            {"gauge", s.gauge},     {"lamp", s.lamp}, {"sound", s.sound}, {"look", s.look},
            {"message", s.message}, {"mode", s.mode}, {"meter", s.meter}};
        for (const auto& [key, text] : texts) line(key, text);
        if (s.zeroed) out += "zeroed = true\n";
        if (std::isfinite(s.leads_ohm)) out += fmt::format("leads_ohm = {}\n", s.leads_ohm);
        line("shown", s.shown);
    }
    for (const Tried& t : c.tried) {
        out += "\n[[tried]]\n";
        if (!t.at.empty()) out += fmt::format("at = {}\n", quoted(t.at));
        out += fmt::format("fault = {}\n", quoted(t.fault));
        if (!t.place.empty()) out += fmt::format("place = {}\n", quoted(t.place));
        out += fmt::format("outcome = {}\n", quoted(t.outcome));
        if (t.after != Tried::all_readings) out += fmt::format("after = {}\n", t.after);
    }
    return out;
}

void write_case(const Case& c, const std::string& file) {
    files::FreshFile fresh(file);
    fresh.write(to_toml(c));
    fresh.finish();
}

}  // namespace sunshaft::diagnose
