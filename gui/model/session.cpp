#include <fmt/format.h>
#include <toml++/toml.h>

#include <cmath>
#include <sstream>

#include "files/input.hpp"
#include "model/setup.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

bool same(const bench::Edits& a, const bench::Edits& b) {
    const auto fault = [](const site::Fault& x, const site::Fault& y) {
        return x.kind == y.kind && x.place == y.place && x.severity == y.severity && x.start == y.start;
    };
    const auto act = [](const site::Act& x, const site::Act& y) {
        return x.kind == y.kind && x.place == y.place && x.time == y.time;
    };
    return a.set == b.set && std::equal(a.faults.begin(), a.faults.end(), b.faults.begin(), b.faults.end(), fault) &&
           std::equal(a.acts.begin(), a.acts.end(), b.acts.begin(), b.acts.end(), act);
}

namespace {

template <class List>
toml::array words(const List& list) {
    toml::array out;
    for (const std::string& s : list) out.push_back(s);
    return out;
}

// Reads one table and complains in words about what is not there as it should be.
class Reader {
  public:
    explicit Reader(const toml::table& table) : table_(table) {}

    std::string text(const char* key, const std::string& otherwise) const {
        const toml::node* n = table_.get(key);
        if (!n) return otherwise;
        if (!n->is_string()) bad(*n, key, "expected text");
        return n->value_or(otherwise);
    }
    bool has(const char* key) const { return table_.contains(key); }
    double number(const char* key, double otherwise, double least, double most) const {
        const toml::node* n = table_.get(key);
        if (!n) return otherwise;
        const auto v = n->value<double>();
        if (!n->is_number() || !v || !(*v >= least && *v <= most))
            bad(*n, key, fmt::format("expected a number from {:g} to {:g}", least, most));
        return *v;
    }
    bool yes(const char* key, bool otherwise) const {
        const toml::node* n = table_.get(key);
        if (!n) return otherwise;
        if (!n->is_boolean()) bad(*n, key, "expected true or false");
        return n->value_or(otherwise);
    }
    std::vector<std::string> list(const char* key, std::vector<std::string> otherwise) const {
        const toml::node* n = table_.get(key);
        if (!n) return otherwise;
        if (!n->is_array()) bad(*n, key, "expected a list of texts");
        std::vector<std::string> out;
        for (const toml::node& item : *n->as_array()) {
            if (!item.is_string()) bad(item, key, "expected a list of texts");
            out.push_back(item.value_or(std::string()));
        }
        return out;
    }
    template <class Each>
    void tables(const char* key, Each each) const {
        const toml::node* n = table_.get(key);
        if (!n) return;
        if (!n->is_array()) bad(*n, key, "expected tables");
        for (const toml::node& item : *n->as_array()) {
            if (!item.is_table()) bad(item, key, "expected tables");
            each(Reader(*item.as_table()));
        }
    }
    Reader table(const char* key) const {
        static const toml::table none;
        const toml::node* n = table_.get(key);
        if (!n) return Reader(none);
        if (!n->is_table()) bad(*n, key, "expected a table");
        return Reader(*n->as_table());
    }
    [[noreturn]] static void bad(const toml::node& node, const std::string& key, const std::string& words) {
        throw site::BadInput(
            fmt::format("session:{}:{}: {}: {}", node.source().begin.line, node.source().begin.column, key, words));
    }
    [[noreturn]] void bad(const char* key, const std::string& words) const { bad(*table_.get(key), key, words); }

  private:
    const toml::table& table_;
};

constexpr const char* slopes[] = {"rising", "falling"};
constexpr const char* sweeps[] = {"automatic", "normal", "single"};

template <std::size_t N>
std::size_t one_of(const Reader& r, const char* key, const char* const (&list)[N], std::size_t otherwise) {
    const std::string text = r.text(key, list[otherwise]);
    for (std::size_t n = 0; n < N; ++n)
        if (text == list[n]) return n;
    std::string all;
    for (const char* word : list) all += std::string(" ") + word;
    r.bad(key, "is '" + site::on_one_line(text) + "', expected one of" + all);
}

}  // namespace

std::string to_toml(const Session& s) {
    toml::table t;
    t.insert("kind", "bench session");
    t.insert("scenario", s.scenario);
    t.insert("set", words(s.setup.edits.set));
    toml::array faults, acts;
    for (const site::Fault& f : s.setup.edits.faults)
        faults.push_back(
            toml::table{{"kind", f.kind}, {"place", f.place}, {"severity", f.severity}, {"at_s", f.start}});
    for (const site::Act& a : s.setup.edits.acts)
        acts.push_back(toml::table{{"kind", a.kind}, {"place", a.place}, {"at_s", a.time}});
    t.insert("fault", std::move(faults));
    t.insert("act", std::move(acts));
    t.insert(
        "probes",
        toml::table{{"red", s.setup.probes.red}, {"black", s.setup.probes.black}, {"around", s.setup.probes.around}});
    t.insert("meters", words(s.setup.meters));
    toml::array changes;
    for (const auto& [stem, list] : s.setup.meter_changes)
        for (const auto& [key, value] : list)
            changes.push_back(toml::table{{"meter", stem}, {"key", key}, {"value", value}});
    t.insert("meter_change", std::move(changes));
    t.insert("mode", std::string(meter::mode_name(s.setup.mode)));
    t.insert("time", toml::table{{"running", s.setup.running}, {"rate", s.setup.rate}});
    t.insert("scope", toml::table{{"channels", words(s.setup.channels)},
                                  {"kept_s", s.setup.scope_seconds},
                                  {"per_division_s", s.scope.seconds_per_division},
                                  {"ghost", s.scope.ghost},
                                  {"bandwidth_Hz", s.scope.bandwidth_Hz},
                                  {"persists", s.scope.persists},
                                  {"follows", s.scope.follows}});
    const Trigger& g = s.scope.trigger;
    t.insert("trigger", toml::table{{"source", g.source},
                                    {"level", g.level},
                                    {"slope", slopes[static_cast<std::size_t>(g.slope)]},
                                    {"sweep", sweeps[static_cast<std::size_t>(g.sweep)]},
                                    {"position", g.position},
                                    {"lowpass_Hz", g.lowpass_Hz}});
    t.insert("teaching", toml::table{{"marks_hidden", s.marks_hidden}, {"points", s.teaching_points}});
    t.insert("day", toml::table{{"date", day::text_of(s.day.date)}, {"sky", s.day.sky}});
    toml::array notes;
    for (const Note& n : s.notes) {
        toml::table note{{"at_s", n.t},
                         {"acts", words(n.acts)},
                         {"red", n.probes.red},
                         {"black", n.probes.black},
                         {"around", n.probes.around},
                         {"gauge", n.gauge},
                         {"typed", n.typed},
                         {"mode", std::string(meter::mode_name(n.mode))},
                         {"meter", n.meter},
                         {"shown", n.shown},
                         {"healthy", n.healthy},
                         {"irradiance_W_m2", n.irradiance},
                         {"module_degC", n.module_degC},
                         {"struck", n.struck},
                         {"moment", n.moment}};
        if (n.after_s) note.insert("after_s", *n.after_s);
        notes.push_back(std::move(note));
    }
    t.insert("note", std::move(notes));
    std::ostringstream out;
    out << t << '\n';
    return out.str();
}

Session session_from(std::string_view text) {
    toml::table t;
    if (const auto trouble = files::toml_trouble(text))
        throw site::BadInput(fmt::format("session:{}:{}: {}", trouble->line, trouble->column, trouble->words));
    try {
        t = toml::parse(text);
    } catch (const toml::parse_error& e) {
        throw site::BadInput(fmt::format("session:{}:{}: {}", e.source().begin.line, e.source().begin.column,
                                         site::on_one_line(text::parser_says(e.description()), 120)));
    }
    const Reader r(t);
    if (r.text("kind", "") != "bench session")
        throw site::BadInput("session:1:1: kind: is not that of a session of the bench");
    constexpr double most = std::numeric_limits<double>::infinity();
    Session s;
    s.scenario = r.text("scenario", "");
    s.setup.edits.set = r.list("set", {});
    r.tables("fault", [&](const Reader& f) {
        s.setup.edits.faults.push_back({f.text("kind", ""), f.text("place", ""), f.number("severity", 1.0, -most, most),
                                        f.number("at_s", 0.0, 0.0, most)});
    });
    r.tables("act", [&](const Reader& a) {
        s.setup.edits.acts.push_back({a.text("kind", ""), a.text("place", ""), a.number("at_s", 0.0, 0.0, most)});
    });
    const Reader probes = r.table("probes");
    s.setup.probes = {probes.text("red", ""), probes.text("black", ""), probes.text("around", "")};
    const std::vector<std::string> meters = r.list("meters", {s.setup.meters[0], s.setup.meters[1]});
    if (meters.size() != 2) r.bad("meters", "expected two");
    s.setup.meters = {meters[0], meters[1]};
    r.tables("meter_change", [&](const Reader& c) {
        s.setup.meter_changes[c.text("meter", "")].emplace_back(c.text("key", ""), c.text("value", ""));
    });
    const std::string mode = r.text("mode", std::string(meter::mode_name(s.setup.mode)));
    if (const auto m = meter::mode_from(mode)) s.setup.mode = *m;
    else r.bad("mode", fmt::format("'{}' is none a meter has", site::on_one_line(mode)));
    r.tables("note", [&](const Reader& n) {
        Note note;
        note.t = n.number("at_s", 0.0, 0.0, most);
        note.acts = n.list("acts", {});
        note.probes = {n.text("red", ""), n.text("black", ""), n.text("around", "")};
        note.gauge = n.text("gauge", "");
        note.typed = n.yes("typed", false);
        const std::string name = n.text("mode", "dcv");
        if (const auto m = meter::mode_from(name)) note.mode = *m;
        else n.bad("mode", fmt::format("'{}' is none a meter has", site::on_one_line(name)));
        note.meter = n.text("meter", "");
        note.shown = n.text("shown", "");
        note.healthy = n.text("healthy", "");
        note.irradiance = n.number("irradiance_W_m2", 0.0, 0.0, most);
        note.module_degC = n.number("module_degC", 25.0, -most, most);
        note.struck = n.yes("struck", false);
        note.moment = n.text("moment", "");
        if (n.has("after_s")) note.after_s = n.number("after_s", 0.0, 0.0, most);
        s.notes.push_back(std::move(note));
    });
    const Reader day = r.table("day");
    try {
        s.day.date = day::parse_date(day.text("date", day::text_of(s.day.date)));
    } catch (const std::invalid_argument& e) {
        day.bad("date", e.what());
    }
    s.day.sky = day.text("sky", s.day.sky);
    const Reader time = r.table("time");
    s.setup.running = time.yes("running", true);
    s.setup.rate = time.number("rate", 1.0, least_rate, most_rate);
    const Reader scope = r.table("scope");
    s.setup.channels = scope.list("channels", s.setup.channels);
    s.setup.scope_seconds = scope.number("kept_s", s.setup.scope_seconds, least_scope_s, most_scope_s);
    s.scope.seconds_per_division =
        scope.number("per_division_s", s.scope.seconds_per_division, 1e-6, most_scope_s / ScopeSettings::divisions);
    s.scope.ghost = scope.yes("ghost", true);
    s.scope.bandwidth_Hz = scope.number("bandwidth_Hz", 0.0, 0.0, 1e9);
    s.scope.persists = scope.yes("persists", false);
    s.scope.follows = scope.yes("follows", true);
    const Reader g = r.table("trigger");
    Trigger& trigger = s.scope.trigger;
    trigger.source = g.text("source", "");
    trigger.level = g.number("level", 0.0, -1e9, 1e9);
    trigger.slope = static_cast<Slope>(one_of(g, "slope", slopes, 0));
    trigger.sweep = static_cast<Sweep>(one_of(g, "sweep", sweeps, 0));
    trigger.position = g.number("position", trigger.position, 0.0, 1.0);
    trigger.lowpass_Hz = g.number("lowpass_Hz", 0.0, 0.0, 1e9);
    const Reader teaching = r.table("teaching");
    s.marks_hidden = teaching.yes("marks_hidden", false);
    s.teaching_points = teaching.yes("points", false);
    return s;
}

}  // namespace sunshaft::view
