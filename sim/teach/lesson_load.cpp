#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <regex>

#include "files/input.hpp"
#include "files/shipped.hpp"
#include "files/text.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "teach/lesson.hpp"
#include "teach/words.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using site::BadInput;
using Names = std::vector<std::string_view>;

// Keys that would hold an answer.
constexpr std::string_view answers[] = {"value", "expect", "expected", "answer", "answers", "shown",  "shows",
                                        "low",   "high",   "band",     "right",  "wrong",   "reading"};

class Reader {
  public:
    explicit Reader(std::string file) : file_(std::move(file)) {}

    [[noreturn]] void wrong(const toml::node& node, std::string_view key, const std::string& words) const {
        const auto at = node.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: {}: {}", site::on_one_line(file_, 400), at.line, at.column,
                                   site::on_one_line(key), words));
    }
    Mark mark(const toml::node& node) const {
        const auto at = node.source().begin;
        return {file_, at.line, at.column};
    }
    // Only these keys, and none that would be an answer.
    void only(const toml::table& t, const Names& keys) const {
        for (const auto& [key, node] : t) {
            const std::string_view name = key.str();
            if (std::find(keys.begin(), keys.end(), name) != keys.end()) continue;
            if (std::find(std::begin(answers), std::end(answers), name) != std::end(answers))
                wrong(node, name,
                      text::tr("would be an answer, expected none: a lesson holds no reading, the bench computes it"));
            const auto near = site::nearest(name, keys);
            std::string list;
            for (const auto& k : keys) list += (list.empty() ? "" : ", ") + std::string(k);
            wrong(node, name,
                  text::say("is not a key here, expected one of {}{}", list,
                            near ? text::say(" (did you mean {}?)", *near) : ""));
        }
    }
    std::string text(const toml::table& t, std::string_view key, bool needed, std::size_t longest = 600) const {
        const toml::node* node = t.get(key);
        if (!node) {
            if (needed) wrong(t, key, text::tr("is missing, expected text"));
            return "";
        }
        const auto* words = node->as_string();
        if (!words || words->get().empty() || words->get().size() > longest || !files::is_plain(words->get()))
            wrong(*node, key, text::say("expected one line of text, at most {} bytes", longest));
        return words->get();
    }
    double number(const toml::table& t, std::string_view key, double low, double high, double usual) const {
        const toml::node* node = t.get(key);
        if (!node) return usual;
        const auto value = node->value<double>();
        if (!value || !(*value >= low && *value <= high))
            wrong(*node, key, text::say("expected a number from {} to {}", low, high));
        return *value;
    }
    std::vector<std::string> texts(const toml::table& t, std::string_view key) const {
        std::vector<std::string> list;
        const toml::node* node = t.get(key);
        if (!node) return list;
        const toml::array* many = node->as_array();
        if (!many) wrong(*node, key, text::tr("expected a list of texts in square brackets"));
        for (const toml::node& one : *many) {
            const auto* words = one.as_string();
            if (!words || words->get().empty() || words->get().size() > 200 || !files::is_plain(words->get()))
                wrong(one, key, text::tr("expected a list of texts in square brackets"));
            list.push_back(words->get());
        }
        return list;
    }

    bench::Station station(const toml::table& t) const {
        const std::string state = text(t, "state", false);
        if (state.empty()) return Look{}.station;
        std::vector<std::string_view> keys;
        for (const bench::StationRow& row : bench::stations()) {
            if (state == row.key) return row.station;
            keys.push_back(row.key);
        }
        wrong(*t.get("state"), "state", text::say("expected one of {}", text::spaced(keys)));
    }
    Look look(const toml::node& node, std::string_view key) const {
        const toml::table* t = node.as_table();
        if (!t)
            wrong(node, key,
                  text::tr("expected a look such as { meter = \"average\", mode = \"acv\", red = \"drive.u\", black = "
                           "\"drive.v\" }"));
        only(*t, {"meter", "mode", "red", "black", "around", "gauge", "state", "healthy", "fault", "set", "coupled_F",
                  "after_s", "order", "ear", "left_s"});
        Look l;
        l.mark = mark(node);
        l.station = station(*t);
        if (const toml::node* healthy = t->get("healthy")) {
            if (!healthy->is_boolean()) wrong(*healthy, "healthy", text::tr("expected true or false"));
            l.healthy = healthy->as_boolean()->get();
        }
        l.fault = texts(*t, "fault");
        l.set = texts(*t, "set");
        l.after_s = number(*t, "after_s", 1, 600, Look::usual_after_s);
        if (const std::string ear = text(*t, "ear", false); !ear.empty()) {
            l.ear = bench::ear_from(ear);
            if (!l.ear) wrong(*t->get("ear"), "ear", text::tr("expected one of pipe, wellhead, drive"));
            l.what.gauge = "sound";  // one listens
            return l;
        }
        l.what.gauge = text(*t, "gauge", false);
        if (!l.what.gauge.empty()) {
            if (!bench::Bench::is_gauge(l.what.gauge))
                wrong(*t->get("gauge"), "gauge", text::say("expected one of {}", text::spaced(bench::Bench::gauges())));
            return l;
        }
        l.meter = text(*t, "meter", true);
        try {
            l.what.instrument = std::make_shared<const meter::Spec>(meter::find_spec(l.meter));
        } catch (const meter::SpecError&) {
            wrong(*t->get("meter"), "meter", text::tr("is no meter, expected a name of `sunshaft meters`"));
        }
        const std::string mode = text(*t, "mode", true);
        const auto known = meter::mode_from(mode);
        if (!known || !l.what.instrument->has(*known)) {
            std::string list;
            for (const auto& [m, f] : l.what.instrument->functions)
                list += (list.empty() ? "" : ", ") + std::string(meter::mode_name(m));
            wrong(*t->get("mode"), "mode", text::say("is no mode of {}, expected one of {}", l.meter, list));
        }
        l.what.mode = *known;
        const bool clamp = meter::takes_clamp(*known);
        l.what.probes = {text(*t, "red", !clamp), text(*t, "black", !clamp), text(*t, "around", clamp)};
        l.order = static_cast<int>(number(*t, "order", 1, 40, 0));
        if (l.order && *known != meter::Mode::acv && *known != meter::Mode::aca)
            wrong(*t->get("order"), "order", text::tr("is a line of a spectrum, expected mode acv or aca"));
        l.left_s = number(*t, "left_s", 1, 600, 0.0);
        if (l.left_s > 0.0 && *known != meter::Mode::insulation)
            wrong(*t->get("left_s"), "left_s", text::tr("is of what an insulation test leaves, expected that mode"));
        if (const double farad = number(*t, "coupled_F", 1e-12, 1e-3, 0.0); farad > 0.0) l.what.set.source_F = farad;
        return l;
    }
    std::vector<Look> looks(const toml::table& t, std::string_view key) const {
        std::vector<Look> list;
        const toml::node* node = t.get(key);
        if (!node) return list;
        const toml::array* many = node->as_array();
        if (!many) wrong(*node, key, text::tr("expected a list of looks in square brackets"));
        for (const toml::node& one : *many) list.push_back(look(one, key));
        return list;
    }
    std::vector<std::string> why(const toml::table& t) const {
        auto list = texts(t, "why");
        if (list.size() < 2 || list.size() > 4)
            wrong(t.get("why") ? *t.get("why") : t, "why", text::tr("expected two to four ids of beliefs.toml"));
        return list;
    }
    // A figure with a unit in a sentence is one that the bench computes.
    std::string sentence(const toml::table& t) const {
        if (t["say"].value_or<std::string>("x").empty()) return "";  // still to be worded
        const std::string words = text(t, "say", false);
        static const std::regex figure(
            R"([0-9][0-9.,]* ?(V|mV|A|mA|ohm|kohm|Mohm|Hz|kHz|W|uF|nF|m3/h|volts?|amps?|ohms|hertz)\b)");
        if (std::smatch hit; std::regex_search(words, hit, figure))
            wrong(*t.get("say"), "say",
                  text::say("holds the figure {}, expected words: what is read the bench computes", hit.str()));
        return text::tr(words);
    }

    Step step(const toml::node& node) const {
        const toml::table& t = *node.as_table();
        only(t, {"say", "show", "measure", "predict", "test", "given", "why"});
        Step s;
        s.mark = mark(node);
        s.say = sentence(t);
        s.show = texts(t, "show");
        if (s.show.size() > 4 || std::any_of(s.show.begin(), s.show.end(), [](const std::string& signal) {
                return signal.find(':') == std::string::npos;
            }))
            wrong(*t.get("show"), "show", text::tr("expected up to four pairs of points such as \"drive.u:drive.v\""));
        if (const toml::node* m = t.get("measure")) s.measure = look(*m, "measure");
        if (const toml::node* p = t.get("predict")) s.predict = look(*p, "predict");
        s.test = text(t, "test", false);
        if (!s.test.empty() && !bench::find_test(s.test))
            wrong(*t.get("test"), "test", text::tr("is no field test, expected an id that `sunshaft tests` lists"));
        if ((s.measure ? 1 : 0) + (s.predict ? 1 : 0) + (s.test.empty() ? 0 : 1) > 1)
            wrong(t, "step", text::tr("does several things, expected one of measure, predict, test"));
        s.given = looks(t, "given");
        if (s.predict) s.why = why(t);
        else if (t.get("why")) wrong(*t.get("why"), "why", text::tr("belongs to predict, expected it there"));
        if (s.say.empty() && s.show.empty() && !s.measure && !s.predict && s.test.empty())
            wrong(t, "step", text::tr("is empty, expected say, show, measure, test or predict"));
        return s;
    }
    Vary vary(std::string_view key, const toml::node& node) const {
        Vary v;
        v.key = key;
        v.mark = mark(node);
        const toml::array* many = node.as_array();
        if (!many || many->size() < 2)
            wrong(node, key, text::tr("expected a list: [low, high] of a key, or several meters"));
        if (key == "meter" || key == "order") {
            for (const toml::node& one : *many) {
                v.words.push_back(one.value_or<std::string>(""));
                if (const int order = std::atoi(v.words.back().c_str()); key == "order") {
                    if (order < 1 || order > 40)
                        wrong(one, key, text::tr("expected lines of a spectrum such as \"5\""));
                    continue;
                }
                try {
                    (void)meter::find_spec(v.words.back());
                } catch (const meter::SpecError&) {
                    wrong(one, key, text::tr("is no meter, expected a name of `sunshaft meters`"));
                }
            }
            return v;
        }
        if (key != "coupled_F" && !site::find_key(key))
            wrong(node, key,
                  text::tr("is not a key that can vary, expected a scenario key, coupled_F, meter or order"));
        const auto low = many->get(0)->value<double>(), high = many->get(1)->value<double>();
        if (many->size() != 2 || !low || !high || !(*low < *high))
            wrong(node, key, text::tr("expected [low, high], two numbers that rise"));
        v.low = *low;
        v.high = *high;
        return v;
    }
    Exercise exercise(const toml::node& node) const {
        const toml::table& t = *node.as_table();
        only(t, {"ask", "given", "why", "vary", "fault"});
        Exercise e;
        e.mark = mark(node);
        if (!t.get("ask")) wrong(t, "ask", text::tr("is missing, expected a look"));
        e.ask = look(*t.get("ask"), "ask");
        e.given = looks(t, "given");
        e.why = why(t);
        e.fault = texts(t, "fault");
        if (const toml::node* all = t.get("vary")) {
            if (!all->is_table()) wrong(*all, "vary", text::tr("expected a table of keys"));
            for (const auto& [key, one] : *all->as_table()) e.vary.push_back(vary(key.str(), one));
        }
        if (e.vary.empty() && e.fault.size() < 2)
            wrong(t, "vary", text::tr("is missing, expected something that changes from seed to seed"));
        return e;
    }

    Lesson lesson(const toml::table& t) const {
        only(t, {"title", "aim", "site", "also", "block", "minutes", "believes", "set", "fault", "step", "exercise"});
        Lesson l;
        l.file = file_;
        l.id = std::filesystem::path(file_).stem().string();
        l.mark = {file_, 1, 1};
        l.title = text::tr(text(t, "title", true, 80));
        l.aim = text::tr(text(t, "aim", true, 200));
        l.site = text(t, "site", true, 200);
        l.also = text(t, "also", false, 200);
        l.block = static_cast<int>(number(t, "block", 1, 5, 1));
        l.minutes = number(t, "minutes", 5, 90, 45);
        l.believes = texts(t, "believes");
        if (l.believes.empty()) wrong(t, "believes", text::tr("is missing, expected ids of beliefs.toml"));
        l.set = texts(t, "set");
        l.fault = texts(t, "fault");
        for (const auto& [key, take] : {std::pair{"step", 0}, {"exercise", 1}}) {
            const toml::node* node = t.get(key);
            const toml::array* rows = node ? node->as_array() : nullptr;
            if (!rows || rows->empty())
                wrong(node ? *node : static_cast<const toml::node&>(t), key,
                      text::say("expected at least one [[{}]]", key));
            for (const toml::node& row : *rows) {
                if (!row.is_table()) wrong(row, key, text::say("expected a table, [[{}]]", key));
                if (take == 0) l.steps.push_back(step(row));
                else l.exercises.push_back(exercise(row));
            }
        }
        return l;
    }

    Beliefs beliefs(const toml::table& t) const {
        only(t, {"belief"});
        Beliefs all;
        const toml::array* rows = t["belief"].as_array();
        if (!rows) wrong(t, "belief", text::tr("expected rows, [[belief]]"));
        for (const toml::node& row : *rows) {
            const toml::table* b = row.as_table();
            if (!b) wrong(row, "belief", text::tr("expected a table, [[belief]]"));
            only(*b, {"id", "says", "predicts", "refuted", "lesson"});
            Belief one;
            one.mark = mark(row);
            one.id = text(*b, "id", true, 60);
            one.says = text::tr(text(*b, "says", true, 200));
            one.refuted = text::tr(text(*b, "refuted", false, 300));
            one.lesson = text(*b, "lesson", false, 60);
            const std::string formula = text(*b, "predicts", true, 200);
            try {
                one.predicts = Formula(formula);
            } catch (const std::invalid_argument& e) {
                wrong(*b->get("predicts"), "predicts", e.what());
            }
            if (one.predicts.names().empty() && formula != "0" && formula != "over")
                wrong(*b->get("predicts"), "predicts",
                      text::tr("is a typed-in figure, expected a formula over what is so on the site"));
            if (!all.emplace(one.id, one).second)
                wrong(*b->get("id"), "id", text::tr("is there twice, expected an id of its own"));
        }
        return all;
    }

  private:
    std::string file_;
};

template <class Take>
auto read(std::string_view text, const std::string& file, const Take& take) {
    const std::string name = site::on_one_line(file, 400);
    if (const auto trouble = files::toml_trouble(text))
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}", name, trouble->line, trouble->column, trouble->words));
    try {
        return take(Reader(file), toml::parse(text));
    } catch (const toml::parse_error& error) {
        const auto at = error.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}, expected TOML", name, at.line, at.column,
                                   site::on_one_line(text::parser_says(error.description()), 200)));
    }
}
std::string whole(const std::string& file) {
    try {
        return files::read_whole(file, files::most_settings);
    } catch (const files::Unreadable& why) {
        throw BadInput(
            text::say("{}:0:0: lesson: {}, expected a lesson's file or a name that `sunshaft lesson list` "
                      "shows",
                      site::on_one_line(file, 400), why.what()));
    }
}

}  // namespace

namespace {
// What a person looks at; of the others their name says it.
std::string gauge_words(const std::string& gauge) {
    constexpr std::pair<const char*, const char*> known[] = {{"head", text::id("gauge at the wellhead")},
                                                             {"flow", text::id("water at the outlet, by bucket")},
                                                             {"sun", text::id("irradiance meter")},
                                                             {"water", text::id("dip meter")},
                                                             {"tank", text::id("depth of the tank")},
                                                             {"drive_V", text::id("volts on the drive's display")},
                                                             {"drive_Hz", text::id("hertz on the drive's display")},
                                                             {"drive_A", text::id("amps on the drive's display")}};
    for (const auto& [name, words] : known)
        if (gauge == name) return text::tr(words);
    return gauge;
}
}  // namespace

std::string Mark::at() const { return fmt::format("{}:{}:{}", site::on_one_line(file, 400), line, column); }

std::string Look::where() const {
    if (ear)
        return text::say("hum, ear on the {}", text::tr(std::string(bench::ear_names[static_cast<std::size_t>(*ear)])));
    if (!what.gauge.empty()) return gauge_words(what.gauge);
    if (order) return text::say("line {} of the spectrum, {}", order, what.where());
    if (left_s > 0.0) return text::say("volts DC {:.0f} s after the insulation test, {}", left_s, what.where());
    return text::say("{}, {} on {}", what.where(), text::tr(what.instrument->name), mode_words(what.mode));
}

std::string Look::short_where() const {
    if (ear) return text::tr("hum");
    if (!what.gauge.empty()) return what.gauge;
    if (order) return text::say("line {} of the spectrum", order);
    if (left_s > 0.0) return text::tr("volts DC");
    return std::string(mode_words(what.mode));
}

Lesson parse_lesson(std::string_view text, const std::string& file) {
    return read(text, file, [](const Reader& r, const toml::table& t) { return r.lesson(t); });
}
Beliefs parse_beliefs(std::string_view text, const std::string& file) {
    return read(text, file, [](const Reader& r, const toml::table& t) { return r.beliefs(t); });
}

const char* block_name(int block) {
    constexpr const char* names[] = {text::id("volts and zeros"), text::id("dead tests"), text::id("waves and meters"),
                                     text::id("site and water"), text::id("hard cases")};
    return text::tr(names[std::clamp(block, 1, 5) - 1]);
}

std::string shipped_lessons_folder() { return site::shipped_scenarios() + "/lessons"; }

Lesson load_lesson(const std::string& name) {
    std::string file = name;
    if (std::error_code error; !std::filesystem::exists(file, error)) {
        const std::string shipped = shipped_lessons_folder() + "/" + name + (name.ends_with(".toml") ? "" : ".toml");
        if (std::filesystem::exists(shipped, error)) file = shipped;
    }
    return parse_lesson(whole(file), file);
}

std::vector<Lesson> shipped_lessons() {
    std::vector<std::string> files;
    for (const auto& entry : std::filesystem::directory_iterator(shipped_lessons_folder()))
        if (entry.path().extension() == ".toml" && entry.path().stem() != "beliefs" && entry.path().stem() != "cases")
            files.push_back(entry.path().string());
    std::sort(files.begin(), files.end());
    std::vector<Lesson> list;
    for (const std::string& file : files) list.push_back(load_lesson(file));
    std::stable_sort(list.begin(), list.end(), [](const Lesson& a, const Lesson& b) { return a.block < b.block; });
    return list;
}

Beliefs load_beliefs() {
    const std::string file = shipped_lessons_folder() + "/beliefs.toml";
    return parse_beliefs(whole(file), file);
}

}  // namespace sunshaft::teach
