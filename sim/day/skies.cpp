#include "day/skies.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "files/input.hpp"
#include "files/shipped.hpp"
#include "files/text.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::day {
namespace {

using site::BadInput;

class Row {
  public:
    Row(const toml::table& table, std::string file) : table_(table), file_(std::move(file)) {}
    [[noreturn]] void wrong(const char* key, const std::string& words) const {
        const toml::node* node = table_.get(key);
        const auto at = node ? node->source().begin : table_.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: {}: {}", file_, at.line, at.column, key, words));
    }
    std::string text(const char* key) const {
        const toml::node* node = table_.get(key);
        if (!node) return {};
        if (!node->is_string()) wrong(key, text::tr("expected text"));
        return node->value_or(std::string());
    }
    double number(const char* key, double otherwise, double most) const {
        const toml::node* node = table_.get(key);
        if (!node) return otherwise;
        const auto value = node->value<double>();
        if (!value || !(*value >= 0.0 && *value <= most)) wrong(key, text::say("expected a number from 0 to {}", most));
        return *value;
    }
    std::vector<std::string> texts(const char* key) const {
        std::vector<std::string> list;
        const toml::node* node = table_.get(key);
        if (!node) return list;
        const toml::array* many = node->as_array();
        if (!many) wrong(key, text::tr("expected a list of texts"));
        for (const toml::node& one : *many) {
            if (!one.is_string()) wrong(key, text::tr("expected a list of texts"));
            list.push_back(text::lower(one.value_or(std::string())));
        }
        return list;
    }

  private:
    const toml::table& table_;
    std::string file_;
};

void each(const toml::table& t, const char* name, const std::string& file, const auto& take) {
    const toml::array* rows = t[name].as_array();
    if (!rows || rows->empty()) throw BadInput(text::say("{}:1:1: {}: expected tables under [[{}]]", file, name, name));
    for (const toml::node& row : *rows) {
        const toml::table* table = row.as_table();
        if (!table) throw BadInput(text::say("{}:1:1: {}: expected tables", file, name));
        take(Row(*table, file));
    }
}

}  // namespace

const NamedSky& Skies::sky(const std::string& id) const {
    std::string all;
    for (const NamedSky& s : skies) {
        if (s.id == id) return s;
        all += (all.empty() ? "" : ", ") + s.id;
    }
    throw BadInput(text::say("sky: is {}, expected one of {}", site::on_one_line(id, 40), all));
}

const SunSource& Skies::source(const std::string& words) const {
    const std::string said = text::lower(words);
    for (const SunSource& s : sources)
        if (std::ranges::any_of(s.says, [&](const std::string& w) { return said.find(w) != std::string::npos; }))
            return s;
    return sources.back();
}

Skies parse_skies(const std::string& text, const std::string& file) {
    if (const auto trouble = files::toml_trouble(text))
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}", file, trouble->line, trouble->column, trouble->words));
    toml::table table;
    try {
        table = toml::parse(text);
    } catch (const toml::parse_error& error) {
        const auto at = error.source().begin;
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}", file, at.line, at.column,
                                   site::on_one_line(text::parser_says(error.description()), 200)));
    }
    Skies all;
    each(table, "sky", file, [&](const Row& r) {
        NamedSky s;
        s.id = r.text("id"), s.title = r.text("title");
        if (s.id.empty()) r.wrong("id", text::tr("expected a name"));
        s.beam = r.number("beam", 1.0, 1.0), s.scattered = r.number("scattered", 0.0, 1.0);
        s.band = r.number("band", 0.0, 1.0), s.swing = r.number("swing", 0.0, 1.0);
        s.gap_s = 60 * r.number("gap_min", 0.0, 600.0), s.cloud_s = 60 * r.number("cloud_min", 0.0, 600.0);
        if ((s.gap_s > 0.0) != (s.cloud_s > 0.0))
            r.wrong("gap_min", text::tr("goes with cloud_min: expected both above 0"));
        all.skies.push_back(std::move(s));
    });
    each(table, "source", file, [&](const Row& r) {
        SunSource s;
        s.id = r.text("id"), s.says = r.texts("says"), s.sky = r.text("sky"), s.caution = r.text("caution");
        s.blind = r.texts("blind");
        double band = 0.0, swing = 0.03;
        if (!s.sky.empty()) band = all.sky(s.sky).band, swing = all.sky(s.sky).swing;
        s.band = r.number("band", band, 1.0), s.swing = r.number("swing", swing, 1.0);
        s.module_K = r.number("module_K", 6.0, 40.0);
        if (!(s.band > 0.0)) r.wrong("band", text::tr("expected a number above 0, or a sky"));
        all.sources.push_back(std::move(s));
    });
    return all;
}

const Skies& shipped_skies() {
    static const Skies all = [] {
        const std::string file = files::shipped_data() + "/scenarios/skies.toml";
        try {
            return parse_skies(files::read_whole(file, files::most_settings), files::one_line(file));
        } catch (const files::Unreadable& why) {
            throw BadInput(
                text::say("{}:0:0: skies: {}, expected a table of skies", files::one_line(file), why.what()));
        }
    }();
    return all;
}

namespace {

void veil(Sky& row, const NamedSky& sky, double shade) {
    const double through = 1.0 - shade * (1.0 - sky.beam);
    const double beam_down = std::max(0.0, row.ghi - row.dhi);  // on the ground
    row.dni *= through;
    row.dhi += sky.scattered * (1.0 - through) * beam_down;
    row.ghi = row.dhi + through * beam_down;
}

}  // namespace

Weather under(const NamedSky& sky, Weather w, unsigned seed) {
    if (sky.beam < 1.0 && w.days > 0) w.source = computed_words(text::lower(text::tr(sky.title)), w.from, w.days);
    if (!sky.passes()) {
        for (Sky& row : w.rows) veil(row, sky, 1.0);
        return w;
    }
    // Gaps and clouds in turn, their lengths spread as waiting times are. By arithmetic of our own: distributions
    // differ from one standard library to the next.
    std::mt19937 draw(seed);
    const auto length = [&](double mean) {
        const double u = (static_cast<double>(draw()) + 0.5) / 4294967296.0;
        return std::max(20.0, -mean * std::log(u));
    };
    if (w.rows.empty()) return w;
    double from = w.rows.front().begin;
    bool cloud = false;
    double to = from + length(sky.gap_s);
    for (Sky& row : w.rows) {
        double shaded = 0.0, at = row.begin;
        while (at < row.end) {
            while (to <= at) from = to, cloud = !cloud, to = from + length(cloud ? sky.cloud_s : sky.gap_s);
            const double until = std::min(to, row.end);
            if (cloud) shaded += until - at;
            at = until;
        }
        veil(row, sky, shaded / (row.end - row.begin));
    }
    return w;
}

Moment moment_at(const Scenario& scenario, const Date& date, double hour, const NamedSky& sky, bool cloud) {
    const Weather day = clear_sky(scenario, date, 1, 60.0);
    const auto n = static_cast<std::size_t>(std::clamp(hour, 0.0, 23.99) * 60.0);
    Sky row = day.rows.at(n);
    veil(row, sky, sky.passes() && !cloud ? 0.0 : 1.0);
    return Array(scenario).moment(row);
}

}  // namespace sunshaft::day
