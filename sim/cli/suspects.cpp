// sunshaft suspects: from a case to what is wrong, and what to do next.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "cli/verb.hpp"
#include "diagnose/answer_words.hpp"
#include "diagnose/suspects.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using nlohmann::json;
using text::tr;

struct SuspectsOptions {
    std::string file;
    bool json = false, no_cache = false, first = false;
};

json look_json(const bench::Observation& o) {
    return {{"red", o.probes.red},
            {"black", o.probes.black},
            {"around", o.probes.around},
            {"gauge", o.gauge},
            {"mode", o.gauge.empty() ? json(std::string(meter::mode_name(o.mode))) : json(nullptr)}};
}

json proposal_json(const diagnose::Proposal& x) {
    json one = look_json(x.what);
    one["test"] = x.test;
    one["do"] = x.act;
    one["undo"] = x.undo;
    one["meter"] = x.meter;
    one["minutes"] = x.minutes;
    one["gain_bits"] = x.gain_bits;
    one["visit"] = x.visit;
    one["hazards"] = hazards_json(x.hazards);
    one["outcomes"] = json::array();
    for (const auto& o : x.outcomes)
        one["outcomes"].push_back({{"shown", o.shown}, {"means", o.means}, {"probability", o.probability}});
    one["also"] = json::array();
    for (const auto& look : x.also) one["also"].push_back(look_json(look));
    if (!x.lacks.empty()) one["bring"] = x.lacks;
    one["now"] = x.now;
    one["from"] = std::isfinite(x.from_h) ? json(diagnose::clock_of(x.from_h)) : json(nullptr);
    one["weak_light"] = x.weak_light;
    return one;
}

json today_json(const std::optional<diagnose::Today>& today) {
    if (!today) return nullptr;
    const auto clock = [](double h) { return std::isfinite(h) ? json(diagnose::clock_of(h)) : json(nullptr); };
    json openings = json::array();
    for (const diagnose::Opening& o : today->openings)
        openings.push_back({{"what", o.what},
                            {"tests", o.tests},
                            {"now", o.now},
                            {"from", clock(o.from_h)},
                            {"to", clock(o.to_h)},
                            {"from_W_m2", number(o.from_W_m2)}});
    return {{"date", today->date},
            {"hour", clock(today->hour)},
            {"sun_W_m2", today->sun_W_m2},
            {"sky", today->sky},
            {"openings", openings}};
}

json answer_json(const diagnose::Answer& a) {
    json where, suspects = json::array(), doubtful = json::array(), next = json::array(), bring = json::array();
    for (std::size_t n = 0; n < a.where.size(); ++n) where[diagnose::wheres[n]] = a.where[n];
    for (const auto& s : a.suspects) {
        suspects.push_back({{"fault", s.fault},
                            {"place", s.place},
                            {"severity", number(s.severity)},
                            {"probability", s.probability},
                            {"group", s.group},
                            {"with", json::array()}});
        for (const auto& x : s.with)
            suspects.back()["with"].push_back({{"fault", x.fault}, {"place", x.place}, {"severity", x.severity}});
        if (s.split)
            suspects.back()["split"] = {
                {"test", s.split->test}, {"minutes", s.split->minutes}, {"hazards", hazards_json(s.split->hazards)}};
    }
    for (const auto& d : a.doubtful)
        doubtful.push_back({{"seen", d.seen}, {"why", d.why}, {"probability", d.probability}});
    for (const auto& x : a.next) next.push_back(proposal_json(x));
    for (const auto& x : a.bring) bring.push_back(proposal_json(x));
    json put_down = json::array();
    for (const auto& x : a.put_down)
        put_down.push_back({{"first", x.first - 1}, {"last", x.last - 1}, {"repaired", x.repaired}});
    json back = json::array();
    for (const std::string& text : a.read_back) back.push_back(text);
    return {{"where", where},
            {"suspects", suspects},
            {"doubtful", doubtful},
            {"next", next},
            {"bring", bring},
            {"read_back", back},
            {"fits", a.fits},
            {"put_down", put_down},
            {"notes", a.notes},
            {"today", today_json(a.today)},
            {"stop",
             {{"advice", a.stop.advice},
              {"minutes", a.stop.minutes},
              {"text", a.stop.text},
              {"tests", a.stop.tests},
              {"hazards", hazards_json(a.stop.hazards)}}}};
}

int suspects(const SuspectsOptions& o) {
    const diagnose::Case c = diagnose::read_case(o.file);
    diagnose::Diagnosis diagnosis(c, diagnose::load_priors(diagnose::shipped_priors()),
                                  o.no_cache ? "" : diagnose::cache_folder());
    diagnose::Answer answer;
    {
        Progress progress(tr("looking for suspects"));
        const auto told = [&](double f) { return progress(f); };
        answer = o.first ? diagnosis.first(told) : diagnosis.answer(told);
    }
    if (o.json) fmt::print("{}\n", answer_json(answer).dump(2));
    else
        for (const std::string& line : diagnose::words(answer, c)) fmt::print("{}\n", line);
    return 0;
}

}  // namespace

Run add_suspects(CLI::App& app) {
    auto o = std::make_shared<SuspectsOptions>();
    app.add_option("case", o->file, tr("a case file (see `sunshaft case`)"))->type_name("CASE")->required();
    app.add_flag("--json", o->json, tr("print one JSON object"));
    app.add_flag("--first", o->first, tr("a rough answer in a fraction of the time, without what to do next"));
    app.add_flag("--no-cache", o->no_cache, tr("compute everything again, and keep nothing"));
    app.footer(std::string("Example: sunshaft suspects my-case.toml\n") +
               tr("Ctrl-C stops it; how often what is at fault stands in scenarios/priors.toml."));
    return [o] { return suspects(*o); };
}

}  // namespace sunshaft::cli
