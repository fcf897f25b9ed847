// Hidden faults: what a panel is given tells a person no more than the site itself would.
#include "model/seen.hpp"

#include <fmt/format.h>

#include <cmath>

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "model/drive_card.hpp"
#include "model/point_words.hpp"
#include "site/faults.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::orchard;

namespace {

// Every word of a snapshot that a panel could write.
std::string all_words(const Snapshot& s) {
    std::string text;
    for (const Event& e : s.events) text += e.text + "\n";
    const auto reading = [&](const std::shared_ptr<const meter::Reading>& r) {
        if (!r) return;
        for (const auto* list : {&r->reasons, &r->warnings})
            for (const auto& line : *list) text += line + "\n";
        for (const auto& stage : r->stages) text += stage.name + " " + stage.what + "\n";
    };
    for (const MeterFace& face : s.meters) reading(face.reading), text += face.note;
    reading(s.clamp);
    for (const site::Fault& f : s.edits.faults) text += f.kind;
    return text;
}

}  // namespace

TEST_CASE(
    "with faults hidden nothing in the snapshot names a planted fault or shows its inner figures; shown again all is "
    "back") {
    Desk desk(orchard(), false);
    desk.place({"drive.u", "drive.v", "v"});
    desk.work(2.0);
    desk.plant("high-resistance-splice", "v", 2.4);
    desk.plant("open-string", "s1", 1.0);
    desk.act("cover", "array");
    desk.act("uncover", "array");
    desk.work(2.0);
    const auto open = desk.snapshot();
    REQUIRE(open->faulty);
    REQUIRE(open->splice[1].ohms > 2.0);
    REQUIRE_FALSE(volts_at(*open, "drive.u").empty());
    REQUIRE(all_words(*open).find("splice") != std::string::npos);

    desk.marks_hidden = true;
    const auto s = desk.snapshot();
    CHECK(s->hidden);
    CHECK_FALSE(s->faulty);
    CHECK(s->edits.faults.empty());
    CHECK(s->splice[1].ohms == s->splice[0].ohms);
    CHECK(s->splice[1].kelvin == s->splice[0].kelvin);
    for (const double watts : s->power) CHECK(watts == 0.0);
    CHECK(s->string_amps.empty());
    CHECK(open->turn);
    CHECK_FALSE(s->turn);
    CHECK(s->flux_path.empty());
    CHECK(s->healthy_flux_path.empty());
    CHECK_FALSE(s->signature);
    CHECK(s->array_current.x.empty());
    for (const Wave& w : s->waves) CHECK_FALSE(w.healthy);
    CHECK(std::isnan(s->winding_degC));
    // No voltage at a dot and no current in a conductor without a meter.
    for (const auto& point : site::points(s->site->works)) {
        CHECK(volts_at(*s, point.name).empty());
        CHECK(amps_around(*s, point.name).empty());
    }
    // The drawing's site has no fault, its acts stand.
    CHECK_FALSE(s->site->works.array.strings[0].fuse.open);
    CHECK(all_words(*s).find("planted") == std::string::npos);
    CHECK(all_words(*s).find("splice") == std::string::npos);
    CHECK(all_words(*s).find("cover") != std::string::npos);
    for (const CardLine& line : warmth_card(*s)) CHECK(line.name != "winding");
    // What the meters show stays: that is what there is to find it by.
    REQUIRE(s->meters[0].reading);
    CHECK(s->meters[0].reading->shown == open->meters[0].reading->shown);
    REQUIRE(s->clamp);
    CHECK(s->clamp->shown == open->clamp->shown);

    // Undo takes back what else was done, never a fault that nobody is to know of.
    desk.set("sun.irradiance_W_m2", "700");
    for (int n = 0; n < 10; ++n) desk.undo();
    CHECK(desk.edits().set.empty());
    CHECK(desk.edits().faults.size() == 2);

    desk.marks_hidden = false;
    desk.work(0.1);
    CHECK(desk.snapshot()->edits.faults.size() == 2);
    CHECK(desk.snapshot()->splice[1].ohms > 2.0);
}

TEST_CASE("with faults hidden the reasons of a reading do not give a fault of hand or meter away, whichever it is") {
    int planted = 0;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        if (std::string_view(row.group) != "operator and meter") continue;
        Desk desk(orchard(), false);
        desk.place({"drive.u", "drive.v", "v"});
        desk.work(0.5);
        desk.plant(row.kind, row.places(desk.snapshot()->site->works).front(), row.usual);
        desk.work(0.6);
        REQUIRE(desk.edits().faults.size() == 1);
        desk.marks_hidden = true;
        const auto s = desk.snapshot();
        INFO(row.kind);
        for (const MeterFace& face : s->meters) {
            if (!face.reading) continue;
            CHECK(face.reading->warnings.empty());
            CHECK(face.reading->reasons.empty());
            CHECK(face.reading->stages.empty());
        }
        ++planted;
    }
    CHECK(planted >= 5);
}

TEST_CASE("however many faults were planted and healed, none of it pushes a line out of what is shown") {
    Desk desk(orchard(), false);
    desk.set("sun.irradiance_W_m2", "815");
    desk.work(0.2);
    desk.marks_hidden = true;
    const std::string before = all_words(*desk.snapshot());
    REQUIRE_FALSE(before.empty());
    for (int n = 0; n < 110; ++n) {
        desk.plant("clamp-round-two", "meter", 1.0);
        desk.work(0.001);
        desk.heal_all();
        desk.work(0.001);
    }
    CHECK(all_words(*desk.snapshot()).starts_with(before));
    desk.marks_hidden = false;
    CHECK(desk.snapshot()->events.size() < 300);  // nor does the list grow for ever
}

TEST_CASE("another site takes the place of the first, and its leads hang ready") {
    Desk desk(orchard(), false);
    desk.hang_leads();
    CHECK(desk.probes() == bench::Probes{"drive.u", "drive.v", ""});
    CHECK_FALSE(desk.can_undo());
    desk.plant("high-resistance-splice", "v", 2.4);
    desk.work(0.5);
    desk.open(site::load_scenario(site::find_scenario("bench-rig")));
    desk.hang_leads();
    CHECK(desk.snapshot()->site->scenario.site.name == "Bench Rig");
    CHECK(desk.edits().faults.empty());
    CHECK_FALSE(desk.can_undo());
    CHECK(desk.probes().red == "drive.u");
    desk.work(1.0);
    CHECK(desk.snapshot()->meters[0].reading);
}

TEST_CASE("a fault moved elsewhere is one act") {
    Desk desk(orchard(), false);
    desk.plant("high-resistance-splice", "u", 2.4);
    desk.move_fault("high-resistance-splice", "u", "w");
    REQUIRE(desk.edits().faults.size() == 1);
    CHECK(desk.edits().faults[0].place == "w");
    CHECK(desk.edits().faults[0].severity == 2.4);
    desk.undo();
    CHECK(desk.edits().faults[0].place == "u");
}

TEST_CASE("a point out of reach says why no lead goes there, and a setting lets it") {
    Desk desk(orchard(), false);
    desk.place({"motor.n", "drive.v", ""});
    CHECK(desk.last_error().find("motor.n") != std::string::npos);
    CHECK(desk.last_error().find("Weather and controls") != std::string::npos);
    desk.teaching_points = true;
    desk.place({"motor.n", "drive.v", ""});
    CHECK(desk.last_error().empty());
    CHECK(desk.probes().red == "motor.n");
}
