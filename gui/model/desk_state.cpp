#include "model/desk_state.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace sunshaft::view {
namespace {

using nlohmann::json;

json number(const std::optional<double>& v) { return v ? json(*v) : json(); }

json figure_json(const std::shared_ptr<const meter::Reading>& r) {
    json j{{"shown", json()}, {"value", json()}, {"unit", json()}};
    if (!r) return j;
    j["shown"] = r->shown;
    j["value"] = number(r->value);
    j["unit"] = r->unit;
    return j;
}

}  // namespace

std::string desk_state(const Desk& desk) {
    const auto s = desk.snapshot();
    json j;
    j["site"] = s->site->scenario.site.name;
    j["t"] = s->t;
    j["running"] = s->running == Running::run;
    j["rate"] = s->wanted_rate;
    j["achieved_rate"] = s->achieved_rate;
    j["probes"] = {{"red", s->probes.red}, {"black", s->probes.black}, {"around", s->probes.around}};
    j["meters"] = json::array();
    for (const MeterFace& face : s->meters) {
        json m = figure_json(face.reading);
        m["spec"] = face.spec;
        j["meters"].push_back(std::move(m));
    }
    j["clamp"] = figure_json(s->clamp);
    j["flow_m3_h"] = s->flow_m3_h;
    j["rms"] = json::object();
    for (const Wave& wave : s->waves) j["rms"][wave.name] = number(wave.rms);
    const Trigger& trigger = desk.scope.trigger;
    j["trigger"] = {{"source", trigger.source}, {"level", trigger.level}, {"rising", trigger.slope == Slope::rising}};
    j["recording"] = desk.laid ? desk.laid->name : "";
    j["faults"] = j["acts"] = j["set"] = json::array();
    for (const auto& f : s->edits.faults) j["faults"].push_back(fmt::format("{}@{}={}", f.kind, f.place, f.severity));
    for (const auto& a : s->edits.acts) j["acts"].push_back(fmt::format("{}@{}", a.kind, a.place));
    for (const auto& line : s->edits.set) j["set"].push_back(line);
    j["can_undo"] = desk.can_undo();
    j["can_redo"] = desk.can_redo();
    j["error"] = s->failure.empty() ? desk.last_error() : s->failure;
    j["unsafe"] = s->unsafe_acts;
    j["log"] = json::array();
    for (const Event& e : s->events) j["log"].push_back(e.text);
    j["lamps"] = json::object();
    for (const Lamp& lamp : s->lamps) j["lamps"][lamp.name] = lamp.on;
    const auto day = desk.the_day();
    j["day"] = {{"date", day::text_of(desk.day.date)},
                {"sky", desk.day.sky},
                {"clock", s->site->scenario.sun.time_of_day},
                {"open", day->open},
                {"site_m3", day->site ? json(day->site->dusk_m3) : json()},
                {"healthy_m3", day->healthy ? json(day->healthy->dusk_m3) : json()}};
    j["suspects"] = json::array();
    if (const auto known = desk.suspicion(); known->answer)
        for (const auto& who : known->answer->suspects)
            j["suspects"].push_back({{"fault", who.fault}, {"place", who.place}, {"probability", who.probability}});
    if (const auto lesson = desk.lesson()) {
        j["lesson"] = {
            {"id", lesson->lesson->id}, {"turns", lesson->turns},     {"asks", static_cast<int>(lesson->turn.asks)},
            {"over", lesson->over},     {"working", lesson->working}, {"locked", desk.leads_locked()}};
        for (const teach::Line& line : lesson->turn.lines) j["lesson"]["lines"].push_back(line.plain());
    }
    if (desk.writing.on())
        j["writing"] = {{"steps", desk.writing.lesson().steps.size()}, {"trouble", desk.writing.trouble()}};
    return j.dump();
}

}  // namespace sunshaft::view
