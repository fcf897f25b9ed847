// The notebook keeps what was shown, whatever is undone; a case made of it is what the suspects read. Beside a display
// stands what the healthy site would show.
#include "model/notebook.hpp"

#include "desk_support.hpp"
#include "look.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

TEST_CASE("what the displays show is noted, and neither undo nor another reading changes it") {
    Desk desk(site_named("hill-orchard"), false);
    desk.note();
    CHECK_FALSE(desk.last_error().empty());  // no leads, no figure
    desk.place({"drive.u", "drive.v", "u"});
    desk.work(8.0);
    desk.note();
    REQUIRE(desk.notebook.notes().size() == 3);
    const Note first = desk.notebook.notes()[0], clamp = desk.notebook.notes()[2];
    CHECK(first.shown == desk.snapshot()->meters[0].reading->shown);
    CHECK(first.meter == "true-rms");
    CHECK(clamp.shown == desk.snapshot()->clamp->shown);
    CHECK(clamp.probes == bench::Probes{"", "", "u"});
    CHECK(first.irradiance == site_named("hill-orchard").sun.irradiance_W_m2);
    desk.place({"drive.v", "drive.w", "u"});
    desk.undo();
    desk.undo();
    desk.undo();
    CHECK(desk.notebook.notes()[0] == first);
    CHECK(desk.notebook.notes().size() == 3);
    desk.look_again(first);
    CHECK(desk.probes().red == "drive.u");
    CHECK(desk.probes().black == "drive.v");
}

TEST_CASE("a notebook goes through a session and becomes a case") {
    Desk desk(site_named("hill-orchard"), false);
    desk.place({"drive.u", "drive.v", ""});
    desk.work(8.0);
    desk.note();
    desk.act("open", "isolator");
    desk.act("pull", "pump");
    desk.work(0.5);
    desk.measure({"lead.u", "lead.v", ""}, meter::Mode::ohm);
    desk.work(60.0);
    desk.note();
    REQUIRE(desk.notebook.notes().size() == 4);
    CHECK(state_words(desk.notebook.notes()[2]) == "isolator opened, pump disconnected");
    desk.notebook.strike(1);

    Desk again(site_named("hill-orchard"), false);
    std::string error;
    REQUIRE(again.restore(desk.session(), error));
    CHECK(again.notebook.notes() == desk.notebook.notes());

    const diagnose::Case c = diagnose::parse_case(again.case_text(), "notes.toml");
    CHECK(c.aside.empty());
    REQUIRE(c.seen.size() == 3);  // one is struck out
    CHECK(c.seen[0].shown == desk.notebook.notes()[0].shown);
    CHECK(c.seen[0].act.empty());
    CHECK(c.seen[1].act == std::vector<std::string>{"open@isolator", "pull@pump"});
    CHECK(c.seen[1].mode == "ohm");
    CHECK(c.seen[1].red == "lead.u");
    CHECK(c.irradiance == site_named("hill-orchard").sun.irradiance_W_m2);
    CHECK(diagnose::site_of(c).site.name == site_named("hill-orchard").site.name);
}

TEST_CASE("beside a display stands what the healthy site would show, unless faults are hidden") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("high-resistance-splice", "v", 5.0);
    desk.place({"drive.u", "drive.v", "v"});
    desk.work(10.0);
    CHECK_FALSE(desk.snapshot()->meters[0].expected);
    desk.expect(true);
    desk.work(5.0);
    bench::Bench healthy(site_named("hill-orchard"));
    healthy.settle();
    const auto clamp = test::read(healthy, meter::find_spec("clamp-hall"), meter::Mode::aca, {"", "", "v"});
    const auto s = desk.snapshot();
    REQUIRE(s->clamp_expected);
    CHECK(*s->clamp_expected->value == approx(*clamp.value).epsilon(0.03));
    CHECK(*s->clamp->value < 0.97 * *s->clamp_expected->value);
    REQUIRE(s->meters[0].expected);
    CHECK_FALSE(band_text(*s->meters[0].expected).empty());
    desk.marks_hidden = true;
    CHECK_FALSE(desk.snapshot()->meters[0].expected);
    CHECK_FALSE(desk.snapshot()->clamp_expected);
}

TEST_CASE("the amps beside a hidden splice are the clamp's own last figures, none typed and none struck out") {
    Desk desk(site_named("hill-orchard"), false);
    desk.place({"drive.u", "drive.v", "v"});
    desk.work(4.0);
    CHECK(noted_line_amps(desk.notebook) == std::array<std::string, 3>{});
    desk.note();
    const std::string shown = desk.snapshot()->clamp->shown;
    CHECK(noted_line_amps(desk.notebook) == std::array<std::string, 3>{"", shown.substr(0, shown.find(' ')), ""});
    REQUIRE(desk.notebook.type(*desk.snapshot(), "", true, "about 3 A"));
    CHECK(noted_line_amps(desk.notebook)[1] == shown.substr(0, shown.find(' ')));
    for (std::size_t n = 0; n < desk.notebook.notes().size(); ++n) desk.notebook.strike(n);
    CHECK(noted_line_amps(desk.notebook) == std::array<std::string, 3>{});
}

TEST_CASE("what was read elsewhere is typed as people say it, and goes into the case beside what was shown") {
    Desk desk(site_named("hill-orchard"), false);
    desk.note_typed("", false, "about 230 V");
    CHECK_FALSE(desk.last_error().empty());  // the leads lie nowhere
    desk.note_typed("flow", false, "no water");
    desk.note_typed("sound", false, "it hums");
    desk.place({"drive.u", "drive.v", "w"});
    desk.work(0.1);
    desk.note_typed("", false, "about 230 V");
    desk.note_typed("", true, "3,1");
    CHECK(desk.last_error().empty());
    const auto& notes = desk.notebook.notes();
    REQUIRE(notes.size() == 4);
    CHECK(notes[3].probes == bench::Probes{"", "", "w"});
    CHECK(meter::takes_clamp(notes[3].mode));

    Desk again(site_named("hill-orchard"), false);
    std::string error;
    REQUIRE(again.restore(desk.session(), error));
    CHECK(again.notebook.notes() == notes);
    const diagnose::Case c = diagnose::parse_case(again.case_text(), "notes.toml");
    REQUIRE(c.seen.size() == 4);
    CHECK(c.seen[0].gauge == "flow");
    CHECK(c.seen[1].sound == "it hums");
    CHECK(c.seen[2].meter.empty());  // nobody said which
    CHECK(c.seen[2].shown == "about 230 V");
    CHECK(c.seen[3].around == "w");
}
