#include "teach/draft.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "files/folders.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"

namespace sunshaft::teach {
namespace {

std::string in_quotes(std::string_view words) {
    std::string out = "\"";
    for (const char c : words) {
        if (c == '"' || c == '\\') out += '\\';
        out += c;
    }
    return out + "\"";
}

std::string list_of(const std::vector<std::string>& words) {
    std::string out = "[";
    for (const std::string& one : words) {
        if (out.size() > 1) out.append(", ");
        out.append(in_quotes(one));
    }
    return out + "]";
}

std::string look_text(const Look& look) {
    std::string out = "{ ";
    const auto add = [&](std::string_view key, const std::string& value) {
        if (out.size() > 2) out.append(", ");
        out.append(key).append(" = ").append(value);
    };
    if (look.ear) {
        add("ear", in_quotes(bench::ear_names[static_cast<std::size_t>(*look.ear)]));
    } else if (!look.what.gauge.empty()) {
        add("gauge", in_quotes(look.what.gauge));
    } else {
        add("meter", in_quotes(look.meter));
        add("mode", in_quotes(meter::mode_name(look.what.mode)));
        if (!look.what.probes.around.empty()) add("around", in_quotes(look.what.probes.around));
        else add("red", in_quotes(look.what.probes.red)), add("black", in_quotes(look.what.probes.black));
        if (look.what.set.source_F) add("coupled_F", text::plain(*look.what.set.source_F));
    }
    if (look.order) add("order", std::to_string(look.order));
    if (look.left_s > 0.0) add("left_s", text::plain(look.left_s));
    if (look.after_s != Look::usual_after_s) add("after_s", text::plain(look.after_s));
    if (look.station != bench::Station::running) add("state", in_quotes(bench::row_of(look.station).key));
    if (look.healthy) add("healthy", "true");
    if (!look.fault.empty()) add("fault", list_of(look.fault));
    if (!look.set.empty()) add("set", list_of(look.set));
    return out + " }";
}

std::string looks_text(const std::vector<Look>& looks) {
    std::string out = "[";
    for (const Look& look : looks) {
        if (out.size() > 1) out.append(", ");
        out.append(look_text(look));
    }
    return out + "]";
}

}  // namespace

std::string to_toml(const Lesson& lesson) {
    std::string out;
    const auto line = [&](std::string_view key, const std::string& value) {
        out.append(key).append(" = ").append(value).append(1, '\n');
    };
    line("title", in_quotes(lesson.title));
    line("aim", in_quotes(lesson.aim));
    line("site", in_quotes(lesson.site));
    if (!lesson.also.empty()) line("also", in_quotes(lesson.also));
    line("block", std::to_string(lesson.block));
    line("minutes", text::plain(lesson.minutes));
    line("believes", list_of(lesson.believes));
    if (!lesson.set.empty()) line("set", list_of(lesson.set));
    if (!lesson.fault.empty()) line("fault", list_of(lesson.fault));
    for (const Step& step : lesson.steps) {
        out.append("[[step]]\n");
        line("say", in_quotes(step.say));
        if (!step.show.empty()) line("show", list_of(step.show));
        if (!step.given.empty()) line("given", looks_text(step.given));
        if (step.measure) line("measure", look_text(*step.measure));
        if (step.predict) line("predict", look_text(*step.predict));
        if (!step.why.empty()) line("why", list_of(step.why));
        if (!step.test.empty()) line("test", in_quotes(step.test));
    }
    for (const Exercise& e : lesson.exercises) {
        out.append("[[exercise]]\n");
        if (!e.fault.empty()) line("fault", list_of(e.fault));
        std::string vary;
        for (const Vary& v : e.vary) {
            if (!vary.empty()) vary.append(", ");
            vary.append(v.key == "meter" || v.key == "order" ? v.key : in_quotes(v.key)).append(" = ");
            vary.append(v.words.empty() ? fmt::format("[{}, {}]", text::plain(v.low), text::plain(v.high))
                                        : list_of(v.words));
        }
        if (!vary.empty()) line("vary", fmt::format("{{ {} }}", vary));
        if (!e.given.empty()) line("given", looks_text(e.given));
        line("ask", look_text(e.ask));
        line("why", list_of(e.why));
    }
    return out;
}

std::string lesson_template() {
    return R"(# A lesson: sentences, where the leads go, what varies. No reading: the bench works it out.
# Check it: sunshaft lesson check FILE. Play it: sunshaft lesson FILE. Beliefs: scenarios/lessons/beliefs.toml
title = ""
aim = ""
site = "hill-orchard"
block = 1
minutes = 45
believes = ["isolator-kills-modules", "parallel-thinking"]
[[step]]
say = ""
measure = { meter = "average", mode = "dcv", red = "s1.m1+", black = "s1.m1-", state = "lit" }
[[step]]
say = ""
given = [{ meter = "average", mode = "dcv", red = "s1.m1+", black = "s1.m1-", state = "lit" }]
predict = { meter = "average", mode = "dcv", red = "iso.in+", black = "iso.in-", state = "lit" }
why = ["isolator-kills-modules", "modules-add-up", "parallel-thinking"]
[[exercise]]
vary = { "array.modules_in_series" = [3, 9], "sun.module_temperature_degC" = [15, 60] }
given = [{ meter = "average", mode = "dcv", red = "s1.m1+", black = "s1.m1-", state = "lit" }]
ask = { meter = "average", mode = "dcv", red = "iso.in+", black = "iso.in-", state = "lit" }
why = ["isolator-kills-modules", "modules-add-up", "parallel-thinking"]
)";
}

bench::Station station_of(const std::vector<site::Act>& acts, meter::Mode mode) {
    using bench::Station;
    const auto stands = [&](std::string_view kind, std::string_view place) {
        return std::any_of(acts.begin(), acts.end(),
                           [&](const site::Act& a) { return a.kind == kind && a.place == place; });
    };
    if (stands("short", "array")) return Station::shorted;
    if (stands("cover", "array")) return Station::covered;
    if (stands("pull", "pump")) return meter::drives_circuit(mode) ? Station::dead : Station::lit;
    if (stands("open", "isolator") || stands("stop", "drive")) return Station::bled;
    if (stands("shut", "valve")) return Station::shut;
    return Station::running;
}

Look look_of(const bench::Edits& edits, const bench::Probes& probes, meter::Mode mode, const std::string& meter) {
    Look look;
    look.meter = meter;
    look.what.instrument = std::make_shared<const meter::Spec>(meter::find_spec(meter));
    look.what.mode = mode;
    look.what.probes = probes;
    if (meter::takes_clamp(mode)) look.what.probes.red.clear(), look.what.probes.black.clear();
    else look.what.probes.around.clear();
    look.station = station_of(edits.acts, mode);
    look.set = edits.set;
    for (const site::Fault& f : edits.faults) {
        const site::FaultRow* row = site::find_fault(f.kind);
        look.fault.push_back(row && row->least < row->most
                                 ? fmt::format("{}@{}={}", f.kind, f.place, text::plain(f.severity))
                                 : fmt::format("{}@{}", f.kind, f.place));
    }
    return look;
}

Exercise exercise_of(const Look& look, const std::vector<std::string>& why, const Scenario& scenario) {
    Exercise e;
    e.ask = look;
    e.why = why;
    // A fault of some ohms takes others in the rounds; else the sky or the source does.
    for (std::string& fault : e.ask.fault) {
        const auto at = fault.find('=');
        if (at == std::string::npos) continue;
        const double x = std::atof(fault.c_str() + at + 1);
        e.fault = {fmt::format("{}{}..{}", fault.substr(0, at + 1), text::plain(0.5 * x), text::plain(2.5 * x)),
                   fmt::format("{}{}..{}", fault.substr(0, at + 1), text::plain(0.4 * x), text::plain(3.0 * x))};
        std::erase(e.ask.fault, std::string(fault));
        break;
    }
    const bool bench = site::set_up(scenario).supply.kind == site::Supply::Kind::bench;
    Vary v;
    v.key = bench ? "supply.voltage_V" : "sun.module_temperature_degC";
    v.low = bench ? 180 : 10;
    v.high = bench ? 330 : 60;
    std::erase_if(e.ask.set, [&](const std::string& s) { return s.rfind(v.key + "=", 0) == 0; });
    e.vary.push_back(v);
    return e;
}

std::string stem_of(const std::string& title) {
    std::string stem;
    for (const char c : title) {
        if (std::isalnum(static_cast<unsigned char>(c)))
            stem += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        else if (!stem.empty() && stem.back() != '-') stem += '-';
    }
    while (!stem.empty() && stem.back() == '-') stem.pop_back();
    if (stem.size() > 60) stem.resize(60);
    return stem;
}

std::string own_lessons_folder() {
    const auto data = files::data_folder();
    return data.empty() ? std::string() : (data / "lessons").string();
}

std::vector<Lesson> own_lessons(std::vector<std::string>& trouble) {
    std::vector<Lesson> list;
    std::vector<std::string> names;
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(own_lessons_folder(), error))
        if (entry.path().extension() == ".toml") names.push_back(entry.path().string());
    std::sort(names.begin(), names.end());
    for (const std::string& file : names) {
        try {
            list.push_back(load_lesson(file));
        } catch (const site::BadInput& e) {
            trouble.emplace_back(e.what());
        }
    }
    return list;
}

}  // namespace sunshaft::teach
