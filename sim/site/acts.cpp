// What a person does to the wiring. Each act is an edit of Works that its counterpart undoes.
#include <fmt/format.h>

#include <algorithm>

#include "site/fault_groups.hpp"
#include "site/keys.hpp"
#include "site/order.hpp"

namespace sunshaft::site {
namespace {

Places parting_places(const Works& works) {
    Places list = {"isolator"};
    for (const std::string& s : string_places(works)) list.push_back("fuse." + s);
    const Places connectors = connector_places(works);
    list.insert(list.end(), connectors.begin(), connectors.end());
    return list;
}

void part(Works& works, const std::string& place, bool open) {
    if (place == "isolator") works.array.plus.contact.open = works.array.minus.contact.open = open;
    else if (place.rfind("fuse.", 0) == 0) string_at(works, place.substr(5)).fuse.open = open;
    else connector_at(works, place).open = open;
}

Places guard_places(const Works& works) {
    Places list;
    if (works.guards.dry.fitted) list.push_back("dry");
    if (works.guards.full.fitted) list.push_back("float");
    return list;
}
Guard* guard_at(Works& works, const std::string& place) {
    return place == "dry" ? &works.guards.dry : place == "float" ? &works.guards.full : nullptr;
}

Places wire_places(const Works& works) {
    Places list = {"pump", "u", "v", "w"};
    for (const std::string& guard : guard_places(works)) list.push_back(guard);
    return list;
}

void pull(Works& works, const std::string& place, bool open) {
    if (Guard* guard = guard_at(works, place)) guard->pulled = open;
    else if (place == "pump")
        for (Phase& phase : works.phases) phase.terminal.open = open;
    else phase_at(works, place).terminal.open = open;
}

void exchange(Works& works, const std::string& place) {
    std::swap(works.core_at[static_cast<std::size_t>(place[0] - 'u')],
              works.core_at[static_cast<std::size_t>(place[2] - 'u')]);
}

}  // namespace

const std::vector<ActRow>& act_catalogue() {
    static const std::vector<ActRow> rows = {
        {"open", "open the isolator, take out a fuse, unplug a connector", parting_places,
         [](Works& w, const std::string& place) { part(w, place, true); }},
        {"close", "close the isolator, put a fuse back, plug a connector together", parting_places,
         [](Works& w, const std::string& place) { part(w, place, false); }},
        {"pull", "disconnect the pump wires (all three or one) or a guard's wires at the drive", wire_places,
         [](Works& w, const std::string& place) { pull(w, place, true); }},
        {"restore", "put disconnected wires back", wire_places,
         [](Works& w, const std::string& place) { pull(w, place, false); }},
        {"jumper", "bridge a guard at the drive's terminals", guard_places,
         [](Works& w, const std::string& place) { guard_at(w, place)->jumper = true; }},
        {"unjumper", "take the jumper out", guard_places,
         [](Works& w, const std::string& place) { guard_at(w, place)->jumper = false; }},
        {"restart", "isolator off, wait until the drive's electronics are dark, isolator on again", drive_place,
         [](Works& w, const std::string&) { part(w, "isolator", true); }},
        {"stop", "switch the drive off at its run switch", drive_place,
         [](Works& w, const std::string&) { w.drive.enabled = false; }},
        {"start", "switch the drive on at its run switch", drive_place,
         [](Works& w, const std::string&) { w.drive.enabled = true; }},
        {"exchange", "exchange two pump wires at the drive's terminals; once more puts them back", pair_places,
         exchange},
        {"short", "short the array at the isolator, to clamp its short-circuit current", array_place,
         [](Works& w, const std::string&) { w.array.shorted = true; }},
        {"unshort", "take the shorting link off", array_place,
         [](Works& w, const std::string&) { w.array.shorted = false; }},
        {"cover", "cover the modules against light", array_place,
         [](Works& w, const std::string&) { w.array.covered = true; }},
        {"uncover", "take the cover off", array_place, [](Works& w, const std::string&) { w.array.covered = false; }},
    };
    return rows;
}

namespace {

const ActRow& checked(Act& act, const Works& works) {
    std::vector<std::string_view> kinds;
    for (const ActRow& row : act_catalogue()) {
        kinds.push_back(row.kind);
        if (act.kind != row.kind) continue;
        const Places places = row.places(works);
        if (act.place.empty() && places.size() == 1) act.place = places.front();
        // A connector between two modules has two names.
        std::string place = act.place;
        if (place.size() > 2 && place[0] == 's' && place.back() == '+') {
            const Places modules = module_places(works);
            const auto here = std::find(modules.begin(), modules.end(), place.substr(0, place.size() - 1));
            if (here != modules.end() && here != modules.begin() && place.substr(place.find('.')) != ".m1+")
                place = *(here - 1) + '-';
        }
        if (std::find(places.begin(), places.end(), place) == places.end())
            throw BadInput(fmt::format("{}: {}", row.kind, unknown_place(act.place, places)));
        return row;
    }
    throw BadInput(unknown_word(
        act.kind,
        "an act (open close pull restore jumper unjumper restart stop start exchange short unshort cover uncover)",
        kinds));
}

}  // namespace

Act parse_act(const std::string& text, const Works& works) {
    try {
        const Order order = parse_order(text);
        if (order.value) throw BadInput(fmt::format("{}: takes no value, expected ACT@PLACE@SECONDS", order.kind));
        Act act{order.kind, order.place, order.time};
        checked(act, works);
        return act;
    } catch (const BadInput& e) {
        throw BadInput(fmt::format("--do: {}", e.what()));
    }
}

void apply(Works& works, const Act& act) {
    Act settled = act;
    const ActRow& row = checked(settled, works);
    row.apply(works, settled.place);
}

}  // namespace sunshaft::site
