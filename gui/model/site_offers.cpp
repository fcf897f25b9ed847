#include "model/site_offers.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "bench/hazards.hpp"

namespace sunshaft::view {

namespace {

std::string upper(const std::string& letter) {
    return letter.size() == 1 ? std::string(1, static_cast<char>(letter[0] - 32)) : letter;
}

void offer(std::vector<Offer>& list, const site::Site& site, const char* kind, const std::string& place, std::string words) {
    for (const site::ActRow& row : site::act_catalogue()) {
        if (std::string(row.kind) != kind) continue;
        const auto places = row.places(site.works);
        if (std::find(places.begin(), places.end(), place) == places.end()) continue;
        std::string caution;
        for (const std::string& line : bench::words(bench::needs(kind, place))) caution += (caution.empty() ? "" : " ") + line;
        list.push_back({kind, place, std::move(words), std::move(caution)});
        return;
    }
}

}  // namespace

std::string part_title(const Part& part) {
    switch (part.kind) {
        case Part::Kind::connector: return "Connector at " + part.place;
        case Part::Kind::fuse: return "Fuse of string " + part.place.substr(part.place.find('s') == std::string::npos ? 0 : part.place.rfind('s') + 1);
        case Part::Kind::isolator: return "Isolator";
        case Part::Kind::wire: return "Pump wire " + upper(part.place);
        case Part::Kind::array: return "Modules";
        case Part::Kind::guard: return part.place == "dry" ? "Dry-run guard" : "Tank guard";
    }
    return part.place;
}

std::vector<Offer> offers(const site::Site& site, const Part& part) {
    std::vector<Offer> list;
    const std::string& at = part.place;
    switch (part.kind) {
        case Part::Kind::connector:
            if (part.apart) offer(list, site, "close", at, "Join this connector");
            else offer(list, site, "open", at, "Part this connector");
            break;
        case Part::Kind::fuse:
            if (part.apart) offer(list, site, "close", at, "Put the fuse back");
            else offer(list, site, "open", at, "Take the fuse out");
            break;
        case Part::Kind::isolator:
            if (part.apart) offer(list, site, "close", at, "Close the isolator");
            else offer(list, site, "open", at, "Open the isolator");
            break;
        case Part::Kind::wire: {
            const auto& phases = site.works.phases;
            const auto open = [](const site::Phase& p) { return p.terminal.open; };
            if (part.apart) offer(list, site, "restore", at, fmt::format("Put wire {} back", upper(at)));
            else offer(list, site, "pull", at, fmt::format("Pull wire {} off", upper(at)));
            if (!std::all_of(phases.begin(), phases.end(), open)) offer(list, site, "pull", "pump", "Pull all three wires off");
            if (std::any_of(phases.begin(), phases.end(), open)) offer(list, site, "restore", "pump", "Put all three wires back");
            break;
        }
        case Part::Kind::array:
            if (part.apart) offer(list, site, "uncover", at, "Take the cover off");
            else offer(list, site, "cover", at, "Cover all modules");
            if (site.works.array.shorted) offer(list, site, "unshort", at, "Take the shorting lead off");
            else if (site.works.array.plus.contact.open && site.works.array.minus.contact.open)
                offer(list, site, "short", at, "Short the array at the open isolator, for a clamp");
            break;
        case Part::Kind::guard: {
            const site::Guard& guard = at == "dry" ? site.works.guards.dry : site.works.guards.full;
            if (guard.pulled) offer(list, site, "restore", at, "Put its wires back");
            else offer(list, site, "pull", at, "Pull its wires off");
            if (guard.jumper) offer(list, site, "unjumper", at, "Take the jumper out");
            else offer(list, site, "jumper", at, "Bridge it with a jumper");
            break;
        }
    }
    return list;
}

}  // namespace sunshaft::view
