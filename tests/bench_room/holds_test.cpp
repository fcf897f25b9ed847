// Holds, trips, restart and water over time, measured on the bench as a technician would.
#include <cmath>

#include "bench/bench.hpp"
#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using sunshaft::test::approx;
using drive::Phase;

namespace {

bench::Bench at(const char* name, const bench::Edits& edits = {}) { return bench::Bench(site::load_scenario(site::find_scenario(name)), edits); }
double volts(bench::Bench& b, const char* red, const char* black) {
    return b.read(meter::find_spec("true-rms"), meter::Mode::dcv, {red, black, ""}).value.value_or(std::nan(""));
}
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

TEST_CASE("tank hold: 5 V at the float terminals, nothing at the output, its lamp; a jumper or a low-ohm meter fools it") {
    bench::Edits full;
    full.set = {"tank.volume_m3=1", "tank.fill=0.949", "drive.tank_delay_s=0.5"};
    bench::Bench b = at("hill-orchard", full);
    b.advance(3.0);
    CHECK(volts(b, "float.1", "float.2") < 0.01);  // contact and wires: some ohm against 10 kohm
    b.advance(3.0);
    REQUIRE(b.state().control.phase == Phase::tank_hold);
    CHECK(logged(b, drive::Cause::tank_full));
    CHECK(lit(b, "tank full"));
    CHECK_FALSE(lit(b, "running"));
    b.advance(2.0);
    // 10 Mohm meter on 5 V behind 10 kohm: divider.
    CHECK(volts(b, "float.1", "float.2") == approx(5.0 * 1e7 / (1e7 + 1e4)).epsilon(3e-3));
    CHECK(volts(b, "dry.1", "dry.2") == approx(5.0 * 8002 / 18002.0).epsilon(5e-3));  // wet probe, 8 kohm and 2 ohm of wire
    CHECK(std::abs(volts(b, "drive.u", "drive.v")) < 0.5);
    CHECK(volts(b, "dc+", "dc-") > 300.0);
    bench::Edits jumper = full;
    jumper.acts = {{"jumper", "float", b.time()}};
    b.edit(jumper);
    b.advance(15.0);
    CHECK(drive::turning(b.state().control.phase));
}

TEST_CASE("the guard the drive believes in is the one the still bench measures") {
    for (const auto& [kind, place, open] : {std::tuple{"guard-cable-cut", "dry", true}, {"dry-probe-open", "dry", true},
                                            {"clean-water", "dry", true}, {"dry-probe-high", "dry", true},
                                            {"guard-cable-shorted", "dry", false}, {"dry-probe-fouled", "dry", false},
                                            {"float-stuck-up", "float", true}, {"float-stuck-down", "float", false}}) {
        INFO(kind);
        bench::Edits bad;
        bad.faults = {{kind, place, site::find_fault(kind)->usual, 0.0}};
        bench::Bench b = at("hill-orchard", bad);
        b.advance(3.0);
        const Phase held = std::string(place) == "dry" ? Phase::dry_hold : Phase::tank_hold;
        CHECK((b.state().control.phase == held) == open);
        const std::string one = std::string(place) + ".1", two = std::string(place) + ".2";
        const double live = std::string(place) == "dry" ? b.state().slow.dry_V : b.state().slow.float_V;
        CHECK(b.still_voltage(one, two, 0.0) == approx(live).margin(1e-6));
    }
}

TEST_CASE("restart frees a hung control; hung hard it needs the array covered as well") {
    bench::Edits soft;
    soft.faults = {{"control-hangs", "drive", 1, 1.0}};
    soft.acts = {{"restart", "drive", 2.0}};
    bench::Bench b = at("hill-orchard", soft);
    b.advance(1.5);
    CHECK(b.state().control.phase == Phase::hung);
    b.advance(30.0);
    CHECK(drive::turning(b.state().control.phase));

    bench::Edits hard;
    hard.faults = {{"control-hangs-hard", "drive", 3e5, 1.0}};
    hard.acts = {{"open", "isolator", 2.0}};
    bench::Bench c = at("hill-orchard", hard);
    c.advance(400.0);
    CHECK(c.state().control.phase == Phase::off);
    // Isolator off, lamps dark: what leaks past it stands across the bleed resistor; closed form of the divider.
    const double open = at("hill-orchard").site()->source.open_V;
    const double left = volts(c, "link+", "link-");
    CHECK(left == approx(open * 47e3 / (47e3 + 3e5)).epsilon(0.03));
    CHECK(c.state().control.hung == drive::Lock::power_down);
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
    bench::Edits later;
    later.acts = {{"open", "isolator", 0.5}, {"close", "isolator", 140.0}};
    later.set = {"link.precharge_ohm=470", "drive.electronics_W=0.5"};
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

TEST_CASE("draw-down and recovery follow their closed form; the tank fills in its time") {
    bench::Edits e;
    e.set = {"well.drawdown_m_per_m3_h=0.5", "well.recovery_s=40", "tank.volume_m3=1", "tank.fill=0.5", "tank.float_switch=false"};
    bench::Bench b = at("hill-orchard", e);
    b.advance(8.0);  // past the soft start
    const double y0 = b.state().water_level, t0 = b.time(), fill0 = b.state().slow.tank_fill, q0 = b.plant().look(b.state()).flow;
    b.advance(40.0);
    const double q1 = b.plant().look(b.state()).flow, q = 0.5 * (q0 + q1);
    // The bore of 150 mm alone would take 32 s.
    // y = y_static + s Q (1 - exp(-t / tau)), from the level where it began (first-order well, water/well.hpp).
    const double target = 30 + 0.5 * 3600 * q1;
    CHECK(b.state().water_level == approx(target + (y0 - target) * std::exp(-(b.time() - t0) / 40)).epsilon(3e-3));
    CHECK(b.state().slow.tank_fill == approx(fill0 + q * (b.time() - t0)).epsilon(0.01));  // 1 m3
    e.acts = {{"open", "isolator", b.time()}};
    b.edit(e);
    b.advance(5.0);
    const double y1 = b.state().water_level;
    b.advance(20.0);
    CHECK(b.state().water_level - 30 == approx((y1 - 30) * std::exp(-0.5)).epsilon(0.01));
}

TEST_CASE("running dry heats and wears the pump, and the wear stays") {
    bench::Edits e;
    e.set = {"pump.dry_life_s=5", "drive.tank_delay_s=1"};
    e.faults = {{"low-well", "well", 14, 0.0}};  // water at 44 m, pump at 43 m
    e.acts = {{"jumper", "dry", 0.0}};
    bench::Bench b = at("hill-orchard", e);
    b.advance(25.0);
    CHECK(b.state().slow.covered == 0.0);
    CHECK(b.gauge("flow").value == 0.0);
    CHECK(b.state().slow.pump_degC > 90.0);
    const double damage = b.state().slow.damage;
    CHECK(damage > 0.1);
    e.faults.clear();
    b.edit(e);
    b.state().water_level = 30.0;  // the well has come back
    b.advance(60.0);
    CHECK(b.state().slow.damage >= damage);
    bench::Bench healthy = at("hill-orchard");
    healthy.advance(60.0);
    CHECK(b.plant().look(b.state()).flow < 0.95 * healthy.plant().look(healthy.state()).flow);
}

TEST_CASE("protected by its probe the same well does the pump no harm") {
    bench::Edits e;
    e.set = {"pump.dry_life_s=5"};
    e.faults = {{"low-well", "well", 14, 0.0}};
    bench::Bench b = at("hill-orchard", e);
    b.advance(25.0);
    CHECK(b.state().control.phase == Phase::dry_hold);
    CHECK(b.state().slow.damage == 0.0);
}

TEST_CASE("water runs back through a stuck check valve until the main is empty") {
    bench::Edits e;
    e.faults = {{"check-valve-open", "pump", 1, 0.0}};
    e.acts = {{"open", "isolator", 8.0}};
    bench::Bench b = at("hill-orchard", e);
    b.advance(8.0);
    CHECK(b.plant().look(b.state()).flow > 1e-3);
    b.advance(8.0);
    const plant::Instant back = b.plant().look(b.state());
    CHECK(back.flow < 0.0);   // third quadrant: driven backwards
    CHECK(back.speed < 0.0);
    b.advance(200.0);
    const auto& main = b.site()->works.water.main;
    CHECK(b.state().slow.missing > 0.9 * main.area() * main.length);
    CHECK(std::abs(b.state().x[plant::flow]) < 2e-4);
}

TEST_CASE("a hole in the main: full flow at the pump, less in the bucket; its jet is Torricelli's") {
    bench::Edits e;
    e.faults = {{"hole-in-main", "main", 8, 0.0}};
    bench::Bench b = at("hill-orchard", e);
    b.advance(15.0);
    const plant::Slow& s = b.state().slow;
    const double above = 0.5 * (b.state().water_level + 9.0);
    CHECK(s.leak == approx(0.62 * 3.14159265 / 4 * 64e-6 * std::sqrt(2 * 9.80665 * above)).epsilon(0.01));
    CHECK(b.gauge("flow").value == approx(b.plant().look(b.state()).flow - s.leak).epsilon(1e-9));
}

TEST_CASE("a lost phase trips with detection on and hums with it off; a blocked heat sink stops the drive") {
    bench::Edits e;
    e.set = {"drive.phase_loss_detection=true"};
    e.faults = {{"lost-phase", "splice.v", 1, 6.0}};
    bench::Bench b = at("hill-orchard", e);
    b.advance(9.0);
    CHECK(logged(b, drive::Cause::phase_loss));
    e.set = {};
    bench::Bench hums = at("hill-orchard", e);
    hums.advance(9.0);
    CHECK(drive::turning(hums.state().control.phase));
    bench::Edits hot;
    hot.set = {"drive.heat_sink_J_per_K=5"};
    hot.faults = {{"heat-sink-blocked", "drive", 200, 0.0}};
    bench::Bench h = at("hill-orchard", hot);
    h.advance(120.0);
    CHECK(logged(h, drive::Cause::heat_sink));
}
