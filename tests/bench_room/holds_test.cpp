// Holds, trips, restart and the link's charge, measured on the bench as a technician would.
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
using drive::Phase;

namespace {

bool lit(bench::Bench& b, const std::string& name) {
    for (const drive::Lamp& lamp : drive::lamps(b.state().control))
        if (lamp.name == name) return lamp.on;
    return false;
}
bool logged(const bench::Bench& b, drive::Cause cause) {
    for (const auto& e : b.events())
        if (e.cause == cause) return true;
    return false;
}

}  // namespace

TEST_CASE(
    "tank hold: 5 V at the float terminals, nothing at the output, its lamp; a jumper or a low-ohm meter fools it") {
    const bench::Edits full{
        .set = {"tank.volume_m3=1", "tank.fill=0.949", "tank.use_m3_h=0", "drive.tank_delay_s=0.5"}};
    bench::Bench b = at("hill-orchard", full);
    b.advance(3.0);
    CHECK(volts(b, "float.1", "float.2") < 0.01);  // contact and wires: some ohm against 10 kohm
    b.advance(3.0);
    REQUIRE(b.state().control.phase == Phase::tank_hold);
    CHECK(logged(b, drive::Cause::tank_full));
    CHECK(lit(b, "tank hold"));
    CHECK_FALSE(lit(b, "running"));
    b.advance(2.0);
    // 10 Mohm meter on 5 V behind 10 kohm: divider.
    CHECK(volts(b, "float.1", "float.2") == approx(5.0 * 1e7 / (1e7 + 1e4)).epsilon(3e-3));
    // wet probe, 8 kohm and 2 ohm of wire
    CHECK(volts(b, "dry.1", "dry.2") == approx(5.0 * 8002 / 18002.0).epsilon(5e-3));
    CHECK(std::abs(volts(b, "drive.u", "drive.v")) < 0.5);
    CHECK(volts(b, "dc+", "dc-") > 300.0);
    bench::Edits jumper = full;
    jumper.acts = {{"jumper", "float", b.time()}};
    b.edit(jumper);
    b.advance(15.0);
    CHECK(drive::turning(b.state().control.phase));
}

TEST_CASE("the guard the drive believes in is the one the still bench measures") {
    for (const auto& [kind, place, open] : {std::tuple{"guard-cable-cut", "dry", true},
                                            {"dry-probe-open", "dry", true},
                                            {"clean-water", "dry", true},
                                            {"dry-probe-high", "dry", true},
                                            {"guard-cable-shorted", "dry", false},
                                            {"dry-probe-fouled", "dry", false},
                                            {"float-stuck-up", "float", true},
                                            {"float-stuck-down", "float", false}}) {
        INFO(kind);
        const bench::Edits bad{.faults = {{kind, place, site::find_fault(kind)->usual, 0.0}}};
        bench::Bench b = at("hill-orchard", bad);
        b.advance(3.0);
        const Phase held = std::string(place) == "dry" ? Phase::dry_hold : Phase::tank_hold;
        CHECK((b.state().control.phase == held) == open);
        const std::string one = std::string(place) + ".1", two = std::string(place) + ".2";
        const double live = std::string(place) == "dry" ? b.state().slow.dry_V : b.state().slow.float_V;
        CHECK(b.still_voltage(one, two, 0.0) == approx(live).margin(1e-6));
    }
}

TEST_CASE(
    "restart frees a latched control; one that needs an empty link also the array covered, where the isolator leaks") {
    const bench::Edits soft{.faults = {{"control-latched", "drive", 1, 1.0}}, .acts = {{"restart", "drive", 2.0}}};
    bench::Bench b = at("hill-orchard", soft);
    b.advance(1.5);
    CHECK(b.state().control.phase == Phase::latched);
    b.advance(30.0);
    CHECK(drive::turning(b.state().control.phase));

    bench::Edits hard{.faults = {{"control-latched", "drive", 0.02, 1.0}, {"isolator-leaks", "isolator", 3e5, 0.0}},
                      .acts = {{"open", "isolator", 2.0}}};
    bench::Bench c = at("hill-orchard", hard);
    c.advance(400.0);
    CHECK(c.state().control.phase == Phase::off);
    // Isolator off, lamps dark: what leaks past it stands across the bleed resistor; closed form of the divider.
    const double open = at("hill-orchard").site()->source.open_V;
    const double left = volts(c, "link+", "link-");
    CHECK(left == approx(open * 47e3 / (47e3 + 3e5)).epsilon(0.03));
    CHECK(c.state().control.latched_V == approx(0.02 * 60.0));
    hard.acts.push_back({"cover", "array", 400.0});
    c.edit(hard);
    c.advance(300.0);
    CHECK(volts(c, "link+", "link-") < 1.0);
    hard.acts.push_back({"uncover", "array", 700.0});
    hard.acts.push_back({"close", "isolator", 701.0});
    c.edit(hard);
    c.advance(10.0);
    CHECK(drive::turning(c.state().control.phase));
}

TEST_CASE("while the link charges the resistor stands between input and link") {
    const bench::Edits later{.set = {"link.precharge_ohm=470", "drive.electronics_W=0.5"},
                             .acts = {{"open", "isolator", 0.5}, {"close", "isolator", 140.0}}};
    bench::Bench b = at("hill-orchard", later);
    b.advance(140.0);
    plant::Recorder r({plant::signal(*b.site(), "dc+:link+"), plant::signal(*b.site(), "link+:link-")});
    b.advance(0.2, &r);
    // First-order charging through 470 ohm: tau = 0.47 s; the array is nearly its open voltage behind that.
    const double open = at("hill-orchard").site()->source.open_V;
    const auto across = r.recording.signal(0), link = r.recording.signal(1);
    REQUIRE_FALSE(link.empty());
    const double v0 = link.front().y0;
    CHECK(link.back().y1 == approx(open - (open - v0) * std::exp(-0.2 / 0.47)).epsilon(0.03));
    CHECK(across.back().y1 == approx(open - link.back().y1).epsilon(0.03));
    b.advance(6.0);
    CHECK(drive::turning(b.state().control.phase));
}

// C dv/dt = -v / R - P / v, of which v^2 is the closed form: v^2 + P R falls as exp(-2 t / (R C)) while the electronics
// work; below their dropout the bleed resistor alone is left, and the lamps say nothing of what still stands there.
TEST_CASE("a link bleeds down through its resistor and its electronics, and goes on when the lamps are dark") {
    bench::Bench b =
        at("hill-orchard", {.faults = {{"lost-phase", "splice.u", 1, 0.0}, {"lost-phase", "splice.v", 1, 0.0}}});
    b.advance(3.0);
    b.edit({.faults = b.edits().faults, .acts = {{"open", "isolator", b.time()}, {"pull", "pump", b.time()}}});
    b.advance(1.0);
    const double C = 1e-3, R = 47e3, P = 6.0, v0 = b.plant().look(b.state()).nodes.link, t0 = b.time();
    REQUIRE(v0 > 250.0);
    b.advance(3.0);
    const double v = std::sqrt((v0 * v0 + P * R) * std::exp(-2 * (b.time() - t0) / (R * C)) - P * R);
    CHECK(b.plant().look(b.state()).nodes.link == approx(v).epsilon(1e-3));
    const auto dark = [&] {
        for (const drive::Lamp& lamp : drive::lamps(b.state().control))
            if (lamp.on) return false;
        return true;
    };
    CHECK_FALSE(dark());
    b.advance(12.0);
    CHECK(dark());
    CHECK(volts(b, "link+", "link-") > 30.0);
    const double left = b.plant().look(b.state()).nodes.link, at_dark = b.time();
    CHECK(left < 60.0);  // electronics_dropout_V
    b.advance(20.0);
    CHECK(b.plant().look(b.state()).nodes.link ==
          approx(left * std::exp(-(b.time() - at_dark) / (R * C))).epsilon(1e-3));
}

TEST_CASE("a lost phase trips with detection on and hums with it off; a blocked heat sink stops the drive") {
    // Lost before the start: the motor stands and takes its current through two wires.
    bench::Edits e{.set = {"drive.phase_loss_detection=true"}, .faults = {{"lost-phase", "splice.v", 1, 0.0}}};
    bench::Bench b = at("hill-orchard", e);
    b.advance(9.0);
    CHECK(logged(b, drive::Cause::phase_loss));
    e.set = {};
    bench::Bench hums = at("hill-orchard", e);
    hums.advance(2.5);
    CHECK(drive::turning(hums.state().control.phase));
    CHECK_FALSE(logged(hums, drive::Cause::phase_loss));
    CHECK(hums.state().x[plant::speed] == 0.0);
    CHECK(std::hypot(hums.state().x[plant::i_alpha], hums.state().x[plant::i_beta]) > 5.0);
    // Lost at the speed ceiling: it runs on, slower, on two wires, and on a link that holds; the overload image fills.
    bench::Bench on = at("hill-orchard", {.faults = {{"lost-phase", "splice.v", 1, 10.0}}});
    on.advance(20.0);
    CHECK(drive::turning(on.state().control.phase));
    CHECK(on.state().x[plant::speed] > 200.0);
    CHECK(on.plant().look(on.state()).nodes.link > 230.0);
    on.advance(120.0);
    CHECK(logged(on, drive::Cause::motor_overload));
    CHECK_FALSE(logged(on, drive::Cause::low_sun));
    const bench::Edits hot{.set = {"drive.heat_sink_J_per_K=5"}, .faults = {{"heat-sink-blocked", "drive", 200, 0.0}}};
    bench::Bench h = at("hill-orchard", hot);
    h.advance(120.0);
    CHECK(logged(h, drive::Cause::heat_sink));
}
