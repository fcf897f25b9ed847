// The last turn of the field, instant by instant: what the bridge does in it, and the ladder of voltages.
#include "model/turn.hpp"

#include <array>
#include <cmath>
#include <numbers>

#include "desk_support.hpp"
#include "model/ladder.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using drive::Leg;
using test::approx;

namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;

// The middle of a step of the last turn.
Moment in_step(const Snapshot& s, int step) {
    const auto kind = s.site->works.drive.modulation;
    return moment_at(*s.turn, s.turn->when(first_step(kind) + (step - 0.5) * two_pi / 6.0));
}
bool high(Leg leg) { return leg == Leg::upper || leg == Leg::diode_up; }

}  // namespace

TEST_CASE("six steps of a 180 degree drive: the legs stand as the textbook says, and the voltages with them") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(8.0);
    const auto s = desk.snapshot();
    REQUIRE(s->turn);
    REQUIRE(s->turn->driven);
    CHECK(s->turn->to() == s->t);
    CHECK(s->turn->to() - s->turn->from() == approx(1.0 / s->now.electrical_Hz).epsilon(0.01));
    // N. Mohan, T. M. Undeland, W. P. Robbins, "Power Electronics", 3rd ed. 2003, sec. 8-4-1-3: square-wave operation;
    // from the vector along phase u: 100, 110, 010, 011, 001, 101.
    constexpr std::array<std::array<bool, 3>, 6> table = {{{true, false, false},
                                                           {true, true, false},
                                                           {false, true, false},
                                                           {false, true, true},
                                                           {false, false, true},
                                                           {true, false, true}}};
    for (int step = 1; step <= 6; ++step) {
        const Moment m = in_step(*s, step);
        INFO("step " << step);
        CHECK(step_of(s->site->works.drive.modulation, s->turn->angle_at(m.t)) == step);
        const double link = m.volts("link+").value();
        for (std::size_t k = 0; k < 3; ++k) {
            CHECK(high(m.legs[k]) == table[static_cast<std::size_t>(step - 1)][k]);
            const double v = m.volts(site::phase_point("drive", static_cast<int>(k))).value();
            CHECK(v == approx(high(m.legs[k]) ? link : 0.0).margin(0.02 * link));
        }
        // Nothing leaks here: what the legs send comes back.
        CHECK(m.amps[0] + m.amps[1] + m.amps[2] == approx(0.0).margin(1e-6));
        // The star point of a balanced machine stands at the mean of its three ends.
        const double mean = (m.volts("motor.u").value() + m.volts("motor.v").value() + m.volts("motor.w").value()) / 3;
        CHECK(m.volts("motor.n").value() == approx(mean).margin(1.0));
    }
    // Faraday: in each step the flux goes along the vector of that step, from the middle of one side to the next.
    for (int step = 1; step <= 6; ++step) {
        const motor::Vec2 a = in_step(*s, step).flux, b = in_step(*s, step % 6 + 1).flux;
        const double way = std::atan2(b[1] - a[1], b[0] - a[0]), wanted = (step - 0.5) * two_pi / 6.0;
        CHECK(std::abs(std::remainder(way - wanted, two_pi)) < 0.15);
    }
}

TEST_CASE("120 degree conduction: in the middle of each step one output floats, and the ladder says which") {
    Desk desk(site_named("river-meadow"), false);
    desk.work(8.0);
    const auto s = desk.snapshot();
    REQUIRE(s->turn);
    REQUIRE(s->turn->driven);
    int floating = 0;
    for (int step = 1; step <= 6; ++step) {
        const Moment m = in_step(*s, step);
        // From u to w, v to w, v to u, w to u, w to v, u to v: the third one is free but for its diode.
        constexpr std::array<std::size_t, 6> free_leg = {1, 0, 2, 1, 0, 2};
        const std::size_t k = free_leg[static_cast<std::size_t>(step - 1)];
        INFO("step " << step);
        CHECK(m.legs[k] != Leg::upper);
        CHECK(m.legs[k] != Leg::lower);
        if (m.legs[k] != Leg::blocked) continue;
        ++floating;
        CHECK(m.amps[k] == approx(0.0).margin(1e-9));
        int named = 0;
        for (const Rung& r : ladder(*s->site, m, {}))
            if (r.point.starts_with("drive.")) {
                CHECK(r.floats == (r.point == site::phase_point("drive", static_cast<int>(k))));
                ++named;
            }
        CHECK(named == 3);
    }
    CHECK(floating >= 3);
}

TEST_CASE("the gap between two rungs is the wave a scope draws, at every instant of the turn") {
    Desk desk(site_named("hill-orchard"), false);
    desk.place({"drive.u", "motor.n", ""});
    desk.teaching_points = true;
    desk.place({"drive.u", "motor.n", ""});
    desk.choose_channels({"drive.u:motor.n"});
    desk.work(6.0);
    const auto s = desk.snapshot();
    REQUIRE(s->waves.size() == 1);
    for (int n = 0; n < 50; ++n) {
        const double t = s->turn->from() + (s->turn->to() - s->turn->from()) * (n + 0.37) / 50.0;
        const auto between = gap(ladder(*s->site, moment_at(*s->turn, t), s->probes));
        REQUIRE(between);
        CHECK(*between == approx(trace::value_at(*s->waves[0].trace, t)).margin(0.2));
    }
}

TEST_CASE("a lost phase: its switch closes and carries nothing; pulled wires; a drive that stands is all open") {
    Desk desk(site_named("hill-orchard"), false);
    auto s = lost_phase(desk, 6.0, 3.0);
    const Moment m = in_step(*s, 1);
    CHECK(m.legs[1] == Leg::lower);
    CHECK(std::abs(m.amps[1]) < least_amps(*s->turn));
    CHECK(m.amps[0] > 1.0);
    CHECK(way_words(m, least_amps(*s->turn)).find("None flows in v") != std::string::npos);
    for (const Rung& r : ladder(*s->site, m, {})) CHECK(r.floats == (r.point == "motor.v"));

    desk.act("open", "isolator");
    desk.act("pull", "pump");
    desk.work(120.0);
    s = desk.snapshot();
    CHECK(s->turn->omega == 0.0);
    const Moment still = moment_at(*s->turn, s->t);
    for (const Leg leg : still.legs) CHECK(leg == Leg::blocked);
    CHECK(way_words(still, least_amps(*s->turn)) == "All six switches are open. No current flows.");
    // The array behind an open isolator stands on nothing of the link's.
    const auto rungs = ladder(*s->site, moment_at(*s->turn, s->t), {"iso.in+", "link-", ""});
    CHECK_FALSE(gap(rungs));
    CHECK(ladder_words(rungs, 0.0).find("iso.in+ floats") == 0);
}

TEST_CASE("a drive that stands is live as long as its link is charged; an array has no height above earth") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(6.0);
    desk.act("open", "isolator");
    desk.work(1.0);
    auto s = desk.snapshot();
    const double link = s->now.nodes.link;
    REQUIRE(link > 100.0);
    for (const Leg leg : moment_at(*s->turn, s->t).legs) REQUIRE(leg == Leg::blocked);
    const std::string words =
        ladder_words(ladder(*s->site, moment_at(*s->turn, s->t), {"drive.v", "drive.w", ""}), link);
    CHECK(words.find("live") != std::string::npos);
    CHECK(words.find("nothing about the drive") == std::string::npos);
    for (const char* act : {"open", "close"}) {
        desk.act(act, "isolator");
        desk.place({"array+", "earth", ""});
        desk.work(0.5);
        s = desk.snapshot();
        const std::string of_earth =
            ladder_words(ladder(*s->site, moment_at(*s->turn, s->t), s->probes), s->now.nodes.link);
        CHECK(of_earth.find("array+ has no tie to earth unless a fault makes one.") == 0);
    }
}

TEST_CASE("a switch that never conducts never closes; one that is shorted never opens; diodes carry in between") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(6.0);
    const auto modes = [&](std::size_t leg) {
        const auto s = desk.snapshot();
        std::array<bool, drive::leg_modes> seen{};
        const auto& r = s->turn->rows;
        const auto n = std::find(r.names.begin(), r.names.end(), site::phase_point("leg", static_cast<int>(leg)));
        for (const double mode : r.y0.at(static_cast<std::size_t>(n - r.names.begin())))
            seen[static_cast<std::size_t>(mode)] = true;
        return seen;
    };
    CHECK(modes(0) == std::array{true, true, false, false, false});
    desk.plant("device-open", "u.upper", 1.0);
    desk.work(2.0);
    const auto dead = modes(0);
    CHECK_FALSE(dead[static_cast<std::size_t>(Leg::upper)]);
    CHECK(dead[static_cast<std::size_t>(Leg::lower)]);
    // What the winding still drives goes on through a diode.
    CHECK((dead[static_cast<std::size_t>(Leg::diode_down)] || dead[static_cast<std::size_t>(Leg::diode_up)]));
}

TEST_CASE("each mode of a leg is told by its own law, with devices that drop volts and with ideal ones") {
    const auto legs = [](double ohm, double drop) {
        drive::Bridge b;
        b.on_resistance = ohm, b.diode_drop = drop;
        return b;
    };
    for (const auto& b : {legs(0.03, 0.9), legs(0.0, 0.0)}) {
        const double r = b.on_resistance, d = b.diode_drop;
        CHECK(leg_of(b, 0, {300.0, 300.0 - 8 * r, 8.0}) == Leg::upper);
        CHECK(leg_of(b, 0, {300.0, 300.0 + 8 * r, -8.0}) == Leg::upper);  // a switch carries both ways
        CHECK(leg_of(b, 0, {300.0, -8 * r, 8.0}) == Leg::lower);
        CHECK(leg_of(b, 0, {300.0, 0.0, 0.0}) == Leg::lower);  // closed without current
        CHECK(leg_of(b, 0, {300.0, 141.0, 0.0}) == Leg::blocked);
        CHECK(leg_of(b, 0, {300.0, std::nan(""), 0.0}) == Leg::blocked);
        // The drive is off: no good switch is closed, so diodes carry what flows, and a terminal at rest stands open.
        CHECK(leg_of(b, 0, {300.0, 300.0 + d, -8.0, 1e-6, false}) == Leg::diode_up);
        CHECK(leg_of(b, 0, {300.0, -d, 8.0, 1e-6, false}) == Leg::diode_down);
        CHECK(leg_of(b, 0, {300.0, 0.0, 0.0, 1e-6, false}) == Leg::blocked);
        drive::Bridge shorted = b;
        shorted.legs[0].upper = drive::Device::shorted;
        CHECK(leg_of(shorted, 0, {300.0, 300.0 - 8 * r, 8.0, 1e-6, false}) == Leg::upper);
        drive::Bridge dead = b;
        dead.legs[0].upper = drive::Device::open;
        CHECK(leg_of(dead, 0, {300.0, 300.0 + d, -8.0}) == Leg::diode_up);
    }
    CHECK(leg_of(legs(0.03, 0.9), 0, {300.0, 300.9, -8.0}) == Leg::diode_up);  // in dead time
    CHECK(leg_of(legs(0.03, 0.9), 0, {300.0, -0.9, 8.0}) == Leg::diode_down);
}

TEST_CASE("the legs of every row are those the solver had: run to any instant, the last row is its own state") {
    for (const char* site : {"hill-orchard", "river-meadow", "terrace-pwm"}) {
        Desk desk(site_named(site), false);
        desk.work(6.0);
        int told = 0, alike = 0;
        for (int n = 0; n < 60; ++n) {
            desk.work(3.7e-4);
            const auto s = desk.snapshot();
            const auto& r = s->turn->rows;
            // The row before the present instant ends there; an edge or an event may lie between the two.
            for (std::size_t c = 0; c < r.names.size(); ++c)
                if (r.names[c].starts_with("leg.")) {
                    ++told;
                    alike += r.y0[c][r.rows() - 2] == r.y0[c].back();
                }
        }
        INFO(site);
        CHECK(told == 180);
        CHECK(alike >= 174);
    }
}

TEST_CASE("the record of a turn stays bounded, however many edges there are and however slowly it turns") {
    Desk desk(site_named("terrace-pwm"), false);
    desk.work(4.0);
    auto s = desk.snapshot();
    REQUIRE(s->turn);
    CHECK(s->turn->rows.rows() > 500);  // no edge left out at full speed
    CHECK(s->turn->to() - s->turn->from() == approx(1.0 / s->now.electrical_Hz).epsilon(0.02));
    Desk crawling(site_named("terrace-pwm"), false);
    std::size_t most = 0;
    for (int n = 0; n < 12; ++n) {  // it comes up its ramp from a few hertz
        crawling.work(0.1);
        s = crawling.snapshot();
        most = std::max(most, s->turn->rows.rows());
        CHECK(s->turn->rows.rows() <= Turn::most_rows + 1);
    }
    CHECK(most == Turn::most_rows + 1);
}
