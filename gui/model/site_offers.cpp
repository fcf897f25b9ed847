#include "model/site_offers.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "bench/hazards.hpp"
#include "site/faults.hpp"
#include "site/points.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

namespace {

std::string upper(const std::string& letter) {
    return letter.size() == 1 ? std::string(1, static_cast<char>(letter[0] - 32)) : letter;
}

}  // namespace

std::string part_title(const Part& part) {
    switch (part.kind) {
        case Part::Kind::connector: return text::say("Connector at {}", part.place);
        case Part::Kind::fuse:
            return text::say(
                "Fuse of string {}",
                part.place.substr(part.place.find('s') == std::string::npos ? 0 : part.place.rfind('s') + 1));
        case Part::Kind::isolator: return text::tr("Isolator");
        case Part::Kind::wire: return text::say("Pump wire {}", upper(part.place));
        case Part::Kind::array: return text::tr("Modules");
        case Part::Kind::guard: return part.place == "dry" ? text::tr("Dry-run guard") : text::tr("Tank guard");
        case Part::Kind::changeover:
            return part.apart ? text::tr("Change-over switch, on the second supply")
                              : text::tr("Change-over switch, on the array");
        case Part::Kind::breaker:
            return part.apart ? text::tr("Second supply, its breaker open")
                              : text::tr("Second supply, its breaker closed");
    }
    return part.place;
}

namespace {

void offer(std::vector<Offer>& list, const site::Site& site, const std::string& kind, const std::string& place) {
    const site::ActRow& row = *site::find_act(kind);
    const auto places = row.places(site.works);
    if (std::find(places.begin(), places.end(), place) != places.end() && row.applies(site.works, place))
        list.push_back({kind, place, row.says(place)});
}

// Stopping the drive comes before its isolator and its wires, so it is offered with them.
void run_switch(std::vector<Offer>& list, const site::Site& site) {
    for (const char* kind : {"stop", "start"}) offer(list, site, kind, "drive");
}

}  // namespace

std::vector<Offer> offers(const site::Site& site, const Part& part) {
    std::vector<Offer> list;
    const std::string& at = part.place;
    switch (part.kind) {
        case Part::Kind::connector: offer(list, site, part.apart ? "close" : "open", at); break;
        case Part::Kind::fuse:
            for (const char* kind : {"close", "open"}) offer(list, site, kind, at);
            for (const char* kind : {"renew", "uncover", "cover"}) offer(list, site, kind, site::fused_string(at));
            break;
        case Part::Kind::isolator:
            for (const char* kind : {"close", "open"}) offer(list, site, kind, at);
            if (part.kind == Part::Kind::isolator) run_switch(list, site);
            break;
        case Part::Kind::wire:
            for (const std::string& place : {at, std::string("pump")})
                for (const char* kind : {"restore", "pull"}) offer(list, site, kind, place);
            for (const char* pair : {"u-v", "v-w", "w-u"})
                if (std::string_view(pair).find(at) != std::string_view::npos) offer(list, site, "exchange", pair);
            run_switch(list, site);
            break;
        case Part::Kind::array:
            for (const char* kind : {"uncover", "cover", "unshort", "short"}) offer(list, site, kind, at);
            break;
        case Part::Kind::guard:
            for (const char* kind : {"restore", "pull", "unjumper", "jumper", "lower", "lift", "free"})
                offer(list, site, kind, at);
            break;
        case Part::Kind::changeover:
            for (const char* kind : {"changeback", "changeover"}) offer(list, site, kind, at);
            run_switch(list, site);
            break;
        case Part::Kind::breaker:
            for (const char* kind : {"close", "open"}) offer(list, site, kind, at);
            break;
    }
    return list;
}

std::vector<Offer> offers(const site::Site& site) {
    std::vector<Offer> list;
    for (const site::ActRow& row : site::act_catalogue())
        for (const std::string& place : row.places(site.works))
            if (place.find(".m") == std::string::npos && place != "u" && place != "v" && place != "w")
                offer(list, site, row.kind, place);
    return list;
}

namespace {

// The sentences that `said` has not.
std::string without(const std::string& line, const std::string& said) {
    std::string left;
    for (std::size_t at = 0; at < line.size();) {
        const std::size_t stop = line.find(". ", at);
        const std::size_t end = stop == std::string::npos ? line.size() : stop + 1;
        const std::string sentence = line.substr(at, end - at);
        if (said.find(sentence) == std::string::npos) left += (left.empty() ? "" : " ") + sentence;
        at = end + 1;
    }
    return left;
}

}  // namespace

std::string valve_act(const site::Works& w, double opening) {
    constexpr double shut = 0.1;  // less is as good as shut
    if (w.water.valve_shut) return opening > shut ? "reopen" : "";
    const bool screw = std::holds_alternative<water::ProgressiveCavity>(w.water.pump);
    return opening < w.water.valve_opening && (screw || opening < shut) ? "shut" : "";
}

Caution caution_of(const Snapshot& truth, const std::string& kind, const std::string& place) {
    bench::Scene scene = bench::scene(*truth.site, truth.now);
    scene.dipped = truth.water_level_m;  // the ruler along the bore shows the level all the time
    return caution_of(bench::needs(scene, site::Act{kind, place, 0.0}));
}

Caution caution_of(const std::vector<bench::Hazard>& hazards) {
    Caution caution;
    std::vector<bench::Hazard> others;
    for (const bench::Hazard& h : hazards)
        if (!h.refuse) others.push_back(h);
    caution.words = bench::words(others);
    if (!bench::refused(hazards)) return caution;
    caution.refused = bench::reasons(hazards);
    caution.order = bench::order(hazards);
    for (std::string& line : caution.words) line = without(line, caution.order);
    std::erase(caution.words, "");
    return caution;
}

}  // namespace sunshaft::view
