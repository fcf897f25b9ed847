#include "report/json.hpp"

#include <cmath>

namespace sunshaft::report {
namespace {
using nlohmann::json;
json value(const std::optional<double>& x) { return x && std::isfinite(*x) ? json(*x) : json(nullptr); }
}  // namespace

json reading_json(const meter::Reading& r) {
    json figures = json::array(), stages = json::array();
    for (const auto& f : r.figures) figures.push_back({{"name", f.name}, {"value", value(f.value)}, {"unit", f.unit}});
    for (const auto& s : r.stages)
        stages.push_back({{"name", s.name},
                          {"what", s.what},
                          {"number", value(s.number)},
                          {"number_is", s.number_is},
                          {"unit", s.unit}});
    const auto& t = r.truth;
    return {{"reading",
             {{"value", r.over_range ? json(nullptr) : value(r.value)},
              {"unit", r.unit},
              {"shown", r.shown},
              {"low", value(r.low)},
              {"high", value(r.high)},
              {"over_range", r.over_range},
              {"range", value(r.range)},
              {"beeps", r.beeps},
              {"link_ratio", value(r.link_ratio)}}},
            {"truth",
             {{"mean", value(t.mean)},
              {"rms", value(t.rms)},
              {"rms_ac", value(t.rms_ac)},
              {"rectified_mean", value(t.rectified_mean)},
              {"fundamental_rms", value(t.fundamental_rms)},
              {"fundamental_Hz", value(t.fundamental_Hz)},
              {"crest_factor", value(t.crest_factor)}}},
            {"stages", stages},
            {"figures", figures},
            {"reasons", r.reasons},
            {"warnings", r.warnings},
            {"cautions", r.cautions}};
}

json drive_json(bench::Bench& b) {
    if (b.site()->works.supply.kind == site::Supply::Kind::mains) return nullptr;
    json lamps = json::object(), events = json::array();
    const drive::ControlState& control = b.state().control;
    for (const drive::Lamp& lamp : drive::lamps(control)) lamps[lamp.name] = lamp.on;
    for (const drive::LogEntry& e : b.events())
        events.push_back({{"t_s", e.t}, {"text", drive::words(e)}, {"value", value(e.value)}});
    return {{"phase", drive::phase_words(control.phase)}, {"lamps", lamps}, {"events", events}};
}

json gauge_json(const std::string& name, const bench::Bench::Gauge& g) {
    json reading{{"value", value(g.value)}, {"unit", g.unit}, {"gauge", name}, {"how", g.how}};
    if (!g.says.empty()) reading["says"] = g.says;
    if (g.rest) reading["at_rest"] = value(g.rest);
    if (g.pumped) reading["pumped"] = value(g.pumped);
    return {{"reading", reading}};
}

}  // namespace sunshaft::report
