// What a person does to the wiring. Each act is an edit of Works that its counterpart undoes.
#include <fmt/format.h>

#include <algorithm>

#include "site/fault_groups.hpp"
#include "site/keys.hpp"
#include "site/order.hpp"
#include "site/points.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::site {
namespace {

using text::say, text::tr;

Places parting_places(const Works& works) {
    Places list = {"isolator"};
    if (works.supply.second.fitted) list.push_back("second");
    for (const std::string& s : string_places(works)) list.push_back(fuse_of(s));
    const Places connectors = connector_places(works);
    list.insert(list.end(), connectors.begin(), connectors.end());
    return list;
}

void part(Works& works, const std::string& place, bool open) {
    if (place == "isolator") works.array.plus.contact.open = works.array.minus.contact.open = open;
    else if (place == "second") works.supply.second.breaker.open = open;
    else if (const std::string fused = fused_string(place); !fused.empty()) string_at(works, fused).fuse.open = open;
    else connector_at(works, place).open = open;
}

Places wire_places(const Works& works) {
    Places list = {"pump", "u", "v", "w"};
    for (const std::string& guard : guard_places(works)) list.push_back(guard);
    return list;
}

void pull(Works& works, const std::string& place, bool open) {
    if (place == "dry" || place == "float") guard_at(works, place).pulled = open;
    else if (place == "pump")
        for (Phase& phase : works.phases) phase.terminal.open = open;
    else phase_at(works, place).terminal.open = open;
}

void exchange(Works& works, const std::string& place) {
    std::swap(works.core_at[static_cast<std::size_t>(place[0] - 'u')],
              works.core_at[static_cast<std::size_t>(place[2] - 'u')]);
}

// ---- what is left to do

bool apart(const Works& works, const std::string& place) {
    Works w = works;  // the places' own lookup is for those who edit
    if (place == "isolator") return w.array.plus.contact.open && w.array.minus.contact.open;
    if (place == "second") return w.supply.second.breaker.open;
    if (const std::string fused = fused_string(place); !fused.empty()) return string_at(w, fused).fuse.open;
    return connector_at(w, place).open;
}
bool pulled(const Works& w, const std::string& place) {
    if (place == "dry") return w.guards.dry.pulled;
    if (place == "float") return w.guards.full.pulled;
    const auto off = [](const Phase& p) { return p.terminal.open; };
    if (place == "pump") return std::all_of(w.phases.begin(), w.phases.end(), off);
    return off(w.phases[static_cast<std::size_t>(place[0] - 'u')]);
}
bool jumpered(const Works& w, const std::string& place) {
    return (place == "dry" ? w.guards.dry : w.guards.full).jumper;
}

// ---- words

std::string capital(std::string letters) {
    for (char& c : letters) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    return letters;
}
std::string open_says(const std::string& place) {
    if (place == "second") return tr("Open the second supply's breaker");
    if (place == "isolator") return tr("Open the isolator");
    if (const std::string fused = fused_string(place); !fused.empty())
        return say("Take out the fuse of string {}", fused.substr(1));
    return say("Unplug connector {}", place);
}
std::string close_says(const std::string& place) {
    if (place == "second") return tr("Close the second supply's breaker");
    if (place == "isolator") return tr("Close the isolator");
    if (const std::string fused = fused_string(place); !fused.empty())
        return say("Put back the fuse of string {}", fused.substr(1));
    return say("Plug in connector {}", place);
}
std::string pull_says(const std::string& place) {
    if (place == "pump") return tr("Disconnect the pump wires");
    if (place == "dry") return tr("Disconnect the dry-run guard");
    if (place == "float") return tr("Disconnect the tank guard");
    return say("Disconnect pump wire {}", capital(place));
}
std::string restore_says(const std::string& place) {
    if (place == "pump") return tr("Connect the pump wires again");
    if (place == "dry") return tr("Connect the dry-run guard again");
    if (place == "float") return tr("Connect the tank guard again");
    return say("Connect pump wire {} again", capital(place));
}
std::string jumper_says(const std::string& place) {
    return place == "dry" ? tr("Bridge the dry-run guard with a jumper") : tr("Bridge the tank guard with a jumper");
}
std::string unjumper_says(const std::string& place) {
    return place == "dry" ? tr("Take the jumper off the dry-run guard") : tr("Take the jumper off the tank guard");
}
std::string exchange_says(const std::string& place) {
    return say("Exchange pump wires {} and {}", capital(place.substr(0, 1)), capital(place.substr(2)));
}

Places cover_places(const Works& works) {
    Places list = array_place(works);
    if (works.array.strings.size() > 1)
        for (const std::string& s : string_places(works)) list.push_back(s);
    return list;
}
void cover(Works& works, const std::string& place, bool on) {
    if (place == "array") works.array.covered = on;
    else
        for (Module& m : string_at(works, place).modules) m.covered = on;
}
bool covered(Works works, const std::string& place) {
    return place == "array" ? works.array.covered : string_at(works, place).modules.front().covered;
}
std::string cover_says(const std::string& place) {
    return place == "array" ? tr("Cover the modules") : say("Cover the modules of string {}", place.substr(1));
}
std::string uncover_says(const std::string& place) {
    return place == "array" ? tr("Uncover the modules") : say("Uncover the modules of string {}", place.substr(1));
}

Places fuse_places(const Works& works) {
    return works.supply.kind == Supply::Kind::array ? string_places(works) : Places{};
}
Places tank_place(const Works& works) { return works.guards.full.fitted ? Places{"float"} : Places{}; }

Places second_place(const Works& works) { return works.supply.second.fitted ? Places{"second"} : Places{}; }

// A broken coupling leaves no pump on the shaft; that there is a well its guard tells.
Places valve_place(const Works& works) {
    return works.water.pump.index() == 0 && !works.guards.dry.fitted ? Places{} : Places{"valve"};
}

using Name = const std::string&;

}  // namespace

const std::vector<ActRow>& act_catalogue() {
    static const std::vector<ActRow> rows = {
        {"open", "open the isolator, take out a fuse, unplug a connector", parting_places,
         [](Works& w, Name place) { part(w, place, true); }, open_says, "opened",
         [](const Works& w, Name place) { return !apart(w, place); }},
        {"close", "close the isolator, put a fuse back, plug a connector together", parting_places,
         [](Works& w, Name place) { part(w, place, false); }, close_says, "closed", apart, "open"},
        {"pull", "disconnect the pump wires (all three or one) or a guard's wires at the drive", wire_places,
         [](Works& w, Name place) { pull(w, place, true); }, pull_says, "disconnected",
         [](const Works& w, Name place) { return !pulled(w, place); }},
        {"restore", "put disconnected wires back", wire_places, [](Works& w, Name place) { pull(w, place, false); },
         restore_says, "connected again",
         [](const Works& w, Name place) {
             const auto off = [](const Phase& p) { return p.terminal.open; };
             return place == "pump" ? std::any_of(w.phases.begin(), w.phases.end(), off) : pulled(w, place);
         },
         "pull"},
        {"jumper", "bridge a guard at the drive's terminals", guard_places,
         [](Works& w, Name place) { guard_at(w, place).jumper = true; }, jumper_says, "bridged with a jumper",
         [](const Works& w, Name place) { return !jumpered(w, place); }},
        {"unjumper", "take the jumper out", guard_places,
         [](Works& w, Name place) { guard_at(w, place).jumper = false; }, unjumper_says, "jumper out", jumpered,
         "jumper"},
        {"restart", "isolator off, wait until the drive's electronics are dark, isolator on again", drive_place,
         [](Works& w, Name) { part(w, "isolator", true); }, [](Name) -> std::string { return tr("Restart the drive"); },
         "restarted", [](const Works&, Name) { return true; }},
        {"stop", "switch the drive off at its run switch", drive_place, [](Works& w, Name) { w.drive.enabled = false; },
         [](Name) -> std::string { return tr("Stop the drive at its run switch"); }, "stopped",
         [](const Works& w, Name) { return w.drive.enabled; }},
        {"start", "switch the drive on at its run switch", drive_place, [](Works& w, Name) { w.drive.enabled = true; },
         [](Name) -> std::string { return tr("Start the drive at its run switch"); }, "started",
         [](const Works& w, Name) { return !w.drive.enabled; }, "stop"},
        {"changeover", "turn the change-over switch from the array to the second supply", second_place,
         [](Works& w, Name) { w.supply.second.chosen = true; },
         [](Name) -> std::string { return tr("Turn the change-over switch to the second supply"); },
         "turned to the second supply", [](const Works& w, Name) { return !w.supply.second.chosen; }},
        {"changeback", "turn the change-over switch back to the array", second_place,
         [](Works& w, Name) { w.supply.second.chosen = false; },
         [](Name) -> std::string { return tr("Turn the change-over switch back to the array"); }, "turned to the array",
         [](const Works& w, Name) { return w.supply.second.chosen; }, "changeover"},
        {"exchange", "exchange two pump wires at the drive's terminals; once more puts them back", pair_places,
         exchange, exchange_says, "exchanged", [](const Works&, Name) { return true; }},
        {"short", "short the array at the isolator, to clamp its short-circuit current", array_place,
         [](Works& w, Name) { w.array.shorted = true; },
         [](Name) -> std::string { return tr("Short the array at the open isolator, for a clamp"); }, "shorted",
         [](const Works& w, Name) { return !w.array.shorted && apart(w, "isolator"); }},
        {"unshort", "take the shorting link off", array_place, [](Works& w, Name) { w.array.shorted = false; },
         [](Name) -> std::string { return tr("Take the shorting link off"); }, "shorting link off",
         [](const Works& w, Name) { return w.array.shorted; }, "short"},
        {"cover", "cover the modules against light, all or those of one string", cover_places,
         [](Works& w, Name place) { cover(w, place, true); }, cover_says, "covered",
         [](const Works& w, Name place) { return !covered(w, place); }},
        {"uncover", "take the cover off", cover_places, [](Works& w, Name place) { cover(w, place, false); },
         uncover_says, "cover taken off", [](const Works& w, Name place) { return covered(w, place); }, "cover"},
        {"renew", "put a new string fuse of the same rating into its holder, once", fuse_places,
         [](Works& w, Name place) {
             String& string = string_at(w, place);
             string.fuse.open = string.fuse_blown = false;
         },
         [](Name place) { return say("Put a new fuse into string {}", place.substr(1)); }, "fuse renewed",
         // Whether the old one has blown nobody sees.
         [](const Works&, Name) { return true; }},
        {"lift", "lift the tank's float by hand, and hold it", tank_place,
         [](Works& w, Name) { w.guards.float_lifted = true; },
         [](Name) -> std::string { return tr("Lift the tank's float by hand and hold it"); }, "lifted",
         [](const Works& w, Name) { return !w.guards.float_lifted; }},
        {"lower", "let the tank's float go again", tank_place, [](Works& w, Name) { w.guards.float_lifted = false; },
         [](Name) -> std::string { return tr("Let the tank's float go"); }, "let go",
         [](const Works& w, Name) { return w.guards.float_lifted; }, "lift"},
        {"free", "move the tank's float by hand until nothing holds it, and let it hang", tank_place,
         [](Works& w, Name) { w.guards.float_stuck_up = w.guards.float_lifted = false; },
         [](Name) -> std::string { return tr("Move the tank's float by hand until it hangs free"); }, "moved and freed",
         [](const Works&, Name) { return true; }},
        {"shut", "shut the valve at the wellhead, for seconds", valve_place,
         [](Works& w, Name) { w.water.valve_shut = true; },
         [](Name) -> std::string { return tr("Shut the valve at the wellhead"); }, "shut",
         [](const Works& w, Name) { return !w.water.valve_shut; }},
        {"reopen", "open that valve again", valve_place, [](Works& w, Name) { w.water.valve_shut = false; },
         [](Name) -> std::string { return tr("Open the valve at the wellhead again"); }, "opened again",
         [](const Works& w, Name) { return w.water.valve_shut; }, "shut"},
    };
    return rows;
}

const ActRow* find_act(const std::string& kind) {
    const auto& rows = act_catalogue();
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const ActRow& r) { return kind == r.kind; });
    return found == rows.end() ? nullptr : &*found;
}

void stands(std::vector<std::string>& standing, const std::string& kind, const std::string& place) {
    const ActRow* row = find_act(kind);
    const std::string act = kind + "@" + place;
    if (row && *row->undoes) std::erase(standing, fmt::format("{}@{}", row->undoes, place));
    else if (std::find(standing.begin(), standing.end(), act) == standing.end()) standing.push_back(act);
}

namespace {

const ActRow& checked(Act& act, const Works& works) {
    std::vector<std::string_view> kinds;
    for (const ActRow& row : act_catalogue()) {
        kinds.push_back(row.kind);
        if (act.kind != row.kind) continue;
        const Places places = row.places(works);
        if (act.place.empty() && (places.size() == 1 || (!places.empty() && places.front() == "array")))
            act.place = places.front();
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
    throw BadInput(unknown_word(act.kind, say("an act ({})", text::spaced(kinds)), kinds));
}

}  // namespace

Act parse_act(const std::string& text, const Works& works) {
    try {
        const Order order = parse_order(text);
        if (order.value) throw BadInput(say("{}: takes no value, expected ACT@PLACE@SECONDS", order.kind));
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
