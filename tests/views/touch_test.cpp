// Before leads touch: what the terminal refuses the window asks about, and counts in the same way.
#include <unistd.h>

#include <filesystem>

#include "bad_splice.hpp"
#include "callout/seal.hpp"
#include "desk_support.hpp"
#include "model/site_offers.hpp"
#include "site/shipped.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

// A pump that runs, the leads on u and v in volts AC.
struct Pumping {
    Desk desk{site_named("hill-orchard"), false};
    Pumping() {
        desk.hang_leads();
        desk.work(8.0);
    }
    std::string unit() {
        desk.work(1.0);
        const auto s = desk.snapshot();
        return s->meters[0].reading ? s->meters[0].reading->unit : "";
    }
};

}  // namespace

TEST_CASE("on no site does the first minute ask anything: leads on u and v, in volts, with the usual meters") {
    for (const std::string& file : site::shipped_sites()) {
        INFO(file);
        Desk desk(site::load_scenario(file), false);
        desk.hang_leads();
        CHECK_FALSE(desk.asked_touch());
        desk.work(2.0);
        CHECK(desk.snapshot()->unsafe_acts == 0);
        Desk again(site::load_scenario(file), false);
        again.work(2.0);
        again.place({"drive.u", "drive.v", ""});
        CHECK_FALSE(again.asked_touch());
    }
}

TEST_CASE("ohms on live terminals are asked about: nothing is shown until it is allowed, and then it counts") {
    Pumping r;
    Desk& desk = r.desk;
    desk.choose_mode(meter::Mode::ohm);
    REQUIRE(desk.asked_touch());
    const Caution caution = desk.touch_caution();
    REQUIRE_FALSE(caution.refused.empty());
    CHECK(caution.refused[0].find("These points are live") != std::string::npos);
    CHECK_FALSE(caution.order.empty());
    CHECK(desk.mode() == meter::Mode::acv);
    CHECK(r.unit() == "V");
    desk.leave_touch();
    CHECK(r.unit() == "V");
    CHECK(desk.snapshot()->unsafe_acts == 0);

    desk.choose_mode(meter::Mode::ohm);
    desk.touch_anyway();
    CHECK_FALSE(desk.asked_touch());
    CHECK(desk.mode() == meter::Mode::ohm);
    CHECK(r.unit() == "ohm");
    CHECK(desk.snapshot()->unsafe_acts == 1);
    // What lies is not asked about again, another pair is.
    desk.place({"drive.u", "drive.v", "u"});
    CHECK_FALSE(desk.asked_touch());
    desk.place({"drive.u", "drive.w", "u"});
    CHECK(desk.asked_touch());
    CHECK(desk.probes().black == "drive.v");
}

TEST_CASE("a meter that is not rated for what can stand there is asked about, whichever of the two it is") {
    Pumping r;
    Desk& desk = r.desk;
    for (const int which : {0, 1}) {
        desk.choose_meter(which, "moving-coil-rectifier");
        REQUIRE(desk.asked_touch());
        CHECK(desk.touch_caution().refused.at(0).find("CAT II 300 V") != std::string::npos);
        CHECK(desk.meters()[static_cast<std::size_t>(which)] != "moving-coil-rectifier");
    }
    desk.touch_anyway();
    CHECK(desk.meters()[1] == "moving-coil-rectifier");
    desk.work(0.5);
    CHECK(desk.snapshot()->unsafe_acts == 1);
    bool said = false;
    for (const std::string& line : desk.snapshot()->cautions)
        said = said || line.find("CAT II 300 V") != std::string::npos;
    CHECK(said);
    // With one lead in the air nothing touches.
    desk.place({"drive.u", "", ""});
    CHECK_FALSE(desk.asked_touch());
    desk.choose_meter(0, "moving-coil-rectifier");
    CHECK_FALSE(desk.asked_touch());
}

TEST_CASE("a lead that is carried hangs in the air where it must not lie, and undoing is a touch, too") {
    Pumping r;
    Desk& desk = r.desk;
    desk.place({});
    desk.choose_mode(meter::Mode::ohm);
    REQUIRE_FALSE(desk.asked_touch());
    desk.place({"drive.u", "", ""});
    desk.carry({"drive.u", "drive.v", ""});
    CHECK(desk.probes().black.empty());
    desk.place({"drive.u", "drive.v", ""});
    REQUIRE(desk.asked_touch());
    desk.leave_touch();
    CHECK(desk.probes().black.empty());
    desk.undo();  // back to u alone, then to none
    desk.undo();
    REQUIRE(desk.asked_touch());  // as they hung on u and v
    CHECK(desk.probes().red.empty());
    desk.touch_anyway();
    CHECK(desk.probes().black == "drive.v");
    desk.work(0.1);
    CHECK(desk.snapshot()->unsafe_acts == 1);
}

TEST_CASE("dead wires may be measured in ohms without a question") {
    Pumping r;
    Desk& desk = r.desk;
    desk.act("open", "isolator");
    desk.act_anyway("pull", "pump");
    desk.work(1.0);
    desk.measure({"lead.u", "lead.v", ""}, meter::Mode::ohm);
    CHECK_FALSE(desk.asked_touch());
    CHECK(r.unit() == "ohm");
    CHECK(desk.snapshot()->unsafe_acts == 1);  // the wires
}

TEST_CASE("in a call-out an unsafe touch stands in the journal, once, and is taken up; in an exam it is not done") {
    const auto folder = std::filesystem::temp_directory_path() / fmt::format("sunshaft-touch-{}", getpid());
    const callout::Callout c = sealed_bad_splice();
    {
        Desk desk(site_named("bench-rig"), false);
        desk.journals = folder.string();
        desk.learners = {"Ana"};
        desk.bring_call(c);
        desk.work(2.0);
        desk.measure({"drive.u", "drive.v", ""}, meter::Mode::ohm);
        REQUIRE(desk.asked_touch());
        desk.touch_stopped();
        desk.touch_stopped();
        desk.leave_touch();
        CHECK(desk.probes().red.empty());
        desk.measure({"drive.u", "drive.w", ""}, meter::Mode::ohm);
        desk.touch_anyway();
        CHECK(desk.probes().red == "drive.u");
        desk.keep_call();
    }
    Desk desk(site_named("bench-rig"), false);
    desk.journals = folder.string();
    desk.learners = {"Ana"};
    const auto open = desk.unfinished_call();
    REQUIRE(open);
    CHECK(open->unsafe() == std::vector<std::string>{"drive.u - drive.v", "drive.u - drive.w"});
    CHECK(open->deeds.size() == 2);
    CHECK(open->notes().seen.empty());
    desk.bring_call(c);
    desk.work(0.5);
    CHECK(desk.snapshot()->unsafe_acts == 2);
    CHECK(desk.notebook.notes().empty());
    std::filesystem::remove_all(folder);
}

TEST_CASE("the cards of a call-out tell the highest volts there can be, not those of the moment") {
    Desk desk(site_named("hill-orchard"), false);
    callout::Callout c = bad_splice();
    c.site = "hill-orchard";
    desk.bring_call(c);
    desk.work(4.0);
    desk.act("open", "isolator");
    desk.work(0.5);
    int figures = 0;
    for (const auto& [kind, place] : {std::pair{"pull", "pump"}, {"short", "array"}, {"close", "isolator"}}) {
        const Caution card = desk.caution(kind, place);
        for (const auto& list : {card.words, card.refused})
            for (const std::string& line : list)
                for (std::size_t at = line.find(" V"); at != std::string::npos; at = line.find(" V", at + 2)) {
                    const std::size_t from = line.find_last_not_of("0123456789.", at - 1) + 1;
                    if (from >= at) continue;
                    INFO(line);
                    CHECK(std::stod(line.substr(from, at - from)) >= 400.0);  // two strings of ten in the cold
                    ++figures;
                }
    }
    CHECK(figures > 0);
}

TEST_CASE("the valve of a screw pump is not closed by a slider either: its act asks, by one rule") {
    Desk desk(site_named("stone-fold"), false);
    desk.work(6.0);
    const char* key = "rising_main.valve_opening";
    desk.set(key, "0.13");
    CHECK(desk.edits().set.empty());
    const auto asked = desk.take_asked_act();
    REQUIRE(asked);
    CHECK(asked->kind == "shut");
    CHECK_FALSE(desk.caution(asked->kind, asked->place).refused.empty());
    CHECK_FALSE(desk.take_asked_act());
    desk.act_anyway(asked->kind, asked->place);
    desk.work(0.1);
    CHECK(desk.snapshot()->unsafe_acts == 1);
    desk.set(key, "0.6");
    CHECK(desk.take_asked_act()->kind == "reopen");

    Desk centrifugal(site_named("hill-orchard"), false);
    centrifugal.set(key, "0.13");
    CHECK_FALSE(centrifugal.take_asked_act());
    CHECK(centrifugal.edits().set == std::vector<std::string>{"rising_main.valve_opening=0.13"});
    centrifugal.set(key, "0");
    CHECK(centrifugal.take_asked_act()->kind == "shut");
}

TEST_CASE("what was refused is told once each time, and stays to be looked up") {
    Desk desk(site_named("bench-rig"), false);
    for (int n = 0; n < 2; ++n) {
        desk.note();
        CHECK(desk.new_error() == "No display shows anything to note.");
        CHECK(desk.new_error().empty());
        CHECK_FALSE(desk.last_error().empty());
    }
    desk.set("supply.voltage_V", "300");
    CHECK(desk.new_error().empty());
    CHECK(desk.last_error().empty());
}
