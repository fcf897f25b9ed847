// Nothing leaks: while a call-out is sealed the window is given the same whatever is wrong, as long as the outward
// signs and the readings taken are the same.
#include <fmt/format.h>

#include <map>
#include <set>

#include "desk_support.hpp"
#include "model/desk_state.hpp"
#include "model/drive_card.hpp"
#include "model/point_words.hpp"
#include "site/faults.hpp"
#include "site/shipped.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

// What panels can draw or write of a snapshot; doubles as they are.
std::string print_of(const Desk& desk) {
    const auto s = desk.snapshot();
    std::string out = desk_state(desk);
    const auto add = [&](const char* name, const auto&... values) {
        out += fmt::format("\n{}", name);
        ((out += fmt::format(" {}", values)), ...);
    };
    add("hidden", s->hidden, s->sealed, s->faulty, s->unsafe_acts, s->failure, s->keeps_up, s->achieved_rate);
    add("t", s->t, s->now_t);
    add("water", s->flow_m3_h, s->head_m, s->water_level_m, s->static_head_m, s->tank_fill);
    add("warmth", s->winding_degC, s->pump_degC, s->heat_sink_degC, s->pump_damage);
    add("array", s->array_V, s->array_A, s->best_V, s->best_W, s->string_amps.size(), s->array_current.x.size());
    add("now", s->now.speed, s->now.nodes.link, s->now.electrical_Hz, s->now.flow, s->now.water_level);
    add("means", s->means.seconds, s->means.link, s->means.speed, s->means.flow, s->means.torque);
    add("heat", bool(s->array_warmth));
    add("paths", s->volt_path.size(), s->amp_path.size(), s->flux_path.size(), s->point_V.size(), bool(s->turn));
    add("twin", bool(s->twin), bool(s->signature), s->fundamental_Hz);
    for (const SheetRow& row : s->splice) add("joint", row.amps, row.ohms, row.watts, row.kelvin);
    for (const Wave& w : s->waves) add("wave", w.name);
    for (const Spectrum& w : s->spectra) add("spectrum", w.name);
    for (const Lamp& lamp : s->lamps) add("lamp", lamp.name, lamp.on);
    add("display", s->drive_display.dark, s->drive_display.link_V, s->drive_display.amperes);
    for (const Event& e : s->events) add("event", e.t, e.text);
    for (const std::string& c : s->cautions) add("caution", c);
    for (const auto& card : {drive_card(*s), warmth_card(*s)})
        for (const CardLine& line : card) add("card", line.name, line.value);
    const site::Works& w = s->site->works;
    for (const auto& point : site::points(w)) add("point", volts_at(*s, point.name), amps_around(*s, point.name));
    for (const auto& string : w.array.strings) add("string", string.fuse.open, string.modules.size());
    add("case", desk.case_text(), desk.session(), desk.minutes_on_site(), desk.can_undo());
    return out;
}

// What anybody on site sees and hears.
std::string outward(const Desk& desk) {
    const auto s = desk.snapshot();
    std::string signs = fmt::format("{} {}", s->flow_m3_h, s->tank_fill);
    for (const Lamp& lamp : s->lamps) signs += lamp.on ? " " + lamp.name : "";
    return signs;
}

using Act = void (*)(Desk&);
const std::pair<const char*, Act> acts[] = {{"leads on the input",
                                             [](Desk& d) {
                                                 d.place({"link.plus", "link.minus", ""});
                                             }},
                                            {"clamp on u",
                                             [](Desk& d) {
                                                 d.place({"", "", "u"});
                                             }},
                                            {"clamp on w",
                                             [](Desk& d) {
                                                 d.place({"", "", "w"});
                                             }},
                                            {"leads on the output",
                                             [](Desk& d) {
                                                 d.place({"drive.u", "drive.v", ""});
                                             }},
                                            {"other output pair",
                                             [](Desk& d) {
                                                 d.place({"drive.v", "drive.w", ""});
                                             }},
                                            {"isolator", [](Desk& d) { d.act("open", "isolator"); }},
                                            {"undone", [](Desk& d) { d.undo(); }},
                                            {"stop", [](Desk& d) { d.act("stop", "drive"); }},
                                            {"wires off", [](Desk& d) { d.act_anyway("pull", "pump"); }},
                                            {"ohms", [](Desk& d) {
                                                 d.measure({"lead.u", "lead.v", ""}, meter::Mode::ohm);
                                             }}};

// One fault on a desk of its own, with what is known of it so far.
struct Sealed {
    const site::FaultRow* row;
    std::unique_ptr<Desk> desk;
    std::string known;
};

callout::Callout call_of(const char* site_name, const site::FaultRow& row, const site::Works& works) {
    const std::string place = row.places(works).front();
    callout::Callout c;
    c.site = site_name;
    c.owner.own = "Since Tuesday something is not as it was.";
    c.faults = {{row.kind, place, std::isfinite(row.usual) ? row.usual : row.least, 0.0}};
    c.truth = {row.kind, place};
    return c;
}

// What shows from outside, by the bench alone: a desk for each is dear, and only those alike need one.
std::map<std::string, std::vector<const site::FaultRow*>> by_signs(const Scenario& scenario, const char* site_name,
                                                                   std::size_t step) {
    std::map<std::string, std::vector<const site::FaultRow*>> groups;
    const site::Works works = site::set_up(scenario);
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto number = static_cast<std::size_t>(&row - site::fault_catalogue().data());
        if (row.places(works).empty() || number % step != 0 || row.group == std::string_view("operator and meter"))
            continue;
        try {
            bench::Bench there(scenario, callout::edits(call_of(site_name, row, works)));
            there.advance(8.0);
            groups[there.gauge("outlet").says + "|" + there.gauge("lamps").says].push_back(&row);
        } catch (const std::exception&) {
            // such a site cannot be
        }
    }
    return groups;
}

// Those whose signs and readings are the same are given the same; who is alone is done with.
int alike(const char* site_name, const std::string& what, std::vector<Sealed>& all) {
    std::map<std::string, std::pair<std::string, std::string>> first;  // by what is known: a fault, and its print
    std::map<std::string, int> crowd;
    int compared = 0;
    for (const Sealed& one : all) ++crowd[one.known];
    std::erase_if(all, [&](const Sealed& one) { return crowd[one.known] < 2; });
    for (const Sealed& one : all) {
        if (!one.desk->snapshot()->waves.empty()) continue;  // a scope on the leads is a reading, too
        const std::string print = print_of(*one.desk);
        const auto [at, fresh] = first.try_emplace(one.known, one.row->kind, print);
        if (fresh) continue;
        INFO(site_name << ": " << one.row->kind << " beside " << at->second.first << ", " << what << "\n" << one.known);
        CHECK(at->second.second == print);
        ++compared;
    }
    return compared;
}

// Every `step`-th fault of the catalogue on one site, side by side. How many pairs were compared.
int compare(const char* site_name, std::size_t step) {
    const Scenario scenario = site_named(site_name);
    const site::Works works = site::set_up(scenario);
    int compared = 0;
    for (const auto& [signs, rows] : by_signs(scenario, site_name, step)) {
        if (rows.size() < 2) continue;
        std::vector<Sealed> all;
        for (const site::FaultRow* row : rows) {
            Sealed one{row, std::make_unique<Desk>(scenario, false), {}};
            one.desk->bring_call(call_of(site_name, *row, works));
            one.desk->work(8.0);
            one.known = outward(*one.desk);
            all.push_back(std::move(one));
        }
        compared += alike(site_name, "nothing measured", all);
        // Readings stand beside what is known, as they are taken.
        for (const auto& [what, act] : acts) {
            if (what == std::string_view("isolator") && works.supply.kind != site::Supply::Kind::array) continue;
            for (Sealed& one : all) {
                act(*one.desk);
                one.desk->work(0.7);
                one.known += fmt::format("|{}|{}", what, outward(*one.desk));
                const auto s = one.desk->snapshot();
                for (const MeterFace& face : s->meters) one.known += " " + (face.reading ? face.reading->shown : "-");
                one.known += " " + (s->clamp ? s->clamp->shown : "-");
            }
            compared += alike(site_name, what, all);
        }
    }
    return compared;
}

}  // namespace

TEST_CASE("what is wrong shows in nothing but signs and readings: some of the catalogue on two sites") {
    CHECK(compare("hill-orchard", 7) >= 3);
    CHECK(compare("bench-rig", 9) >= 1);
}

TEST_CASE("the same of the whole catalogue on every site", "[.soak]") {
    int compared = 0;
    for (const std::string& file : site::shipped_sites())
        compared += compare(std::filesystem::path(file).stem().c_str(), 1);
    CHECK(compared > 200);
}

TEST_CASE("a gauge that is asked tells, is noted, and nothing else does") {
    callout::Callout c;
    c.site = "hill-orchard";
    c.owner.own = "No water.";
    c.faults = {{"lost-phase", "splice.v", 1.0, 0.0}};
    c.truth = {"lost-phase", "splice.v"};
    Desk desk(site_named("hill-orchard"), false);
    desk.bring_call(c);
    desk.work(8.0);
    CHECK(desk.notebook.notes().empty());
    for (const char* gauge : {"sound", "outlet", "flow", "drive_stop"}) desk.look(gauge);
    desk.work(0.1);
    desk.keep_call();
    REQUIRE(desk.notebook.notes().size() == 4);
    CHECK(desk.notebook.notes()[0].shown.find("hum") != std::string::npos);
    CHECK(desk.notebook.notes()[1].shown == "no water");
    desk.keep_call();
    CHECK(desk.notebook.notes().size() == 4);  // told once
}
