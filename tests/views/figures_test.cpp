// Sheets and spectra of a snapshot against closed forms and handbooks.
#include "model/figures.hpp"

#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "desk_support.hpp"
#include "model/desk.hpp"
#include "model/twin.hpp"
#include "site/load.hpp"
#include "water/operating_point.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

TEST_CASE("spectrum and phasors of six steps are those of the handbook") {
    // N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed., ch. 8: line-line fundamental sqrt(6)/pi of
    // the link, harmonics 6k +- 1 at 1/h of it, no others.
    Desk desk(site_named("bench-rig"), false);
    desk.work(2.0);
    const auto s = desk.snapshot();
    REQUIRE(s->spectra.size() == 2);
    const Spectrum& line = s->spectra[0];
    const double first = std::sqrt(6.0) / std::numbers::pi * 320.0;
    REQUIRE(line.fundamental_Hz == approx(50.0).epsilon(1e-9));
    REQUIRE(line.rms == approx(std::sqrt(2.0 / 3.0) * 320.0).epsilon(1e-6));
    REQUIRE(line.lines.at(0).rms == approx(first).epsilon(1e-6));
    double squares = 0.0;
    for (const Harmonic& h : line.lines) {
        const bool there = h.order % 6 == 1 || h.order % 6 == 5;
        REQUIRE(h.rms == approx(there ? first / h.order : 0.0).margin(1e-3));
        if (there && h.order > 1) squares += 1.0 / (h.order * h.order);
    }
    REQUIRE(line.thd == approx(std::sqrt(squares)).epsilon(1e-4));
    REQUIRE(s->volt_sequence[1] == approx(first / std::sqrt(3.0)).epsilon(1e-4));
    REQUIRE(s->volt_sequence[2] == approx(0.0).margin(1e-3 * first));
    REQUIRE(s->fundamental_Hz == approx(50.0).epsilon(1e-9));
    // v follows u by 120 degrees.
    REQUIRE(std::arg(s->volt_phasor[0] / s->volt_phasor[1]) == approx(2 * std::numbers::pi / 3).margin(1e-3));
    // Between lines sqrt(3) times as much, a twelfth of a turn ahead of the phase that is named first.
    const auto between = between_lines(s->volt_phasor);
    for (std::size_t k = 0; k < 3; ++k) {
        CHECK(std::abs(between[k]) == approx(first).epsilon(1e-4));
        CHECK(std::arg(between[k] / s->volt_phasor[k]) == approx(std::numbers::pi / 6).margin(1e-3));
    }
}

TEST_CASE("array and water curves carry the operating points") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(8.0);
    const auto s = desk.snapshot();
    REQUIRE(s->array_current.x.size() > 20);
    REQUIRE(s->array_A == approx(s->power[plant::from_supply] / s->array_V).epsilon(0.05));
    double best = 0.0;
    for (const double p : s->array_power.y) best = std::max(best, p);
    REQUIRE(best == approx(s->best_W).epsilon(2e-3));
    const auto& w = s->site->works.water;
    const auto point =
        water::operating_point(std::get<water::Centrifugal>(w.pump), s->means.speed, s->static_head_m, w.main);
    REQUIRE(s->flow_m3_h == approx(point.flow * 3600).epsilon(5e-3));
    // The curves cross there.
    double cross = -1.0;
    for (std::size_t n = 1; n < std::min(s->pump_curve.x.size(), s->main_curve.x.size()); ++n) {
        const double a = s->pump_curve.y[n - 1] - s->main_curve.y[n - 1], b = s->pump_curve.y[n] - s->main_curve.y[n];
        if (a > 0.0 && b <= 0.0)
            cross = s->pump_curve.x[n - 1] + a / (a - b) * (s->pump_curve.x[n] - s->pump_curve.x[n - 1]);
    }
    REQUIRE(cross == approx(point.flow * 3600).epsilon(0.01));
    // What comes in goes somewhere: losses and lifted water add up to the supply's power.
    double sum = 0.0;
    for (std::size_t n = 0; n < plant::energy_size; ++n)
        if (n != plant::from_supply && n != plant::in_splice) sum += s->power[n];
    REQUIRE(sum == approx(s->power[plant::from_supply]).epsilon(0.01));
}

TEST_CASE("lamps follow control and link") {
    const auto site = site::compile_site(site_named("hill-orchard"));
    drive::ControlState control;
    control.phase = drive::Phase::running;
    const auto on = [](const std::vector<Lamp>& list) {
        std::string names;
        for (const Lamp& l : list)
            if (l.on) names += l.name + ",";
        return names;
    };
    REQUIRE(on(lamps(*site, control)) == "supply,running,");
    control.phase = drive::Phase::waiting_for_sun;
    REQUIRE(on(lamps(*site, control)) == "supply,waiting for sun,");
    control.phase = drive::Phase::tripped;
    REQUIRE(on(lamps(*site, control)) == "supply,tripped,");
    control.phase = drive::Phase::off;
    REQUIRE(on(lamps(*site, control)).empty());
}

TEST_CASE("whole turns end now and are whole") {
    REQUIRE(1.0 - whole_turns(0.0, 1.0, 50.0) == approx(0.2).margin(1e-12));
    REQUIRE(1.0 - whole_turns(0.0, 1.0, 7.0) == approx(2.0 / 7.0).margin(1e-12));
    REQUIRE(1.0 - whole_turns(0.95, 1.0, 50.0) == approx(0.04).margin(1e-12));
    REQUIRE(1.0 - whole_turns(0.9, 1.0, 0.0) == approx(0.1).margin(1e-12));
    REQUIRE(1.0 - whole_turns(0.9, 1.0, 2.0) == approx(0.1).margin(1e-12));  // not one turn: all there is
}

TEST_CASE("edits become sentences") {
    bench::Edits a, b;
    b.faults.push_back({"high-resistance-splice", "v", 3.3, 0.0});
    b.acts.push_back({"open", "isolator", 0.0});
    b.set.push_back("sun.irradiance_W_m2=600");
    const auto there = changes(a, b), back = changes(b, a);
    REQUIRE(there.size() == 3);
    REQUIRE(there[0].text.find("planted: ") == 0);
    REQUIRE(there[0].text.find("at v, 3.3") != std::string::npos);
    REQUIRE(there[0].kind == Event::Kind::fault);
    REQUIRE(there[1].text == "isolator: opened");
    REQUIRE(there[1].kind == Event::Kind::hands);
    // No key, no underscore: words, figure, unit.
    REQUIRE(there[2].text == "set: sun, in the plane of the array: 600 W/m2");
    for (const auto& line : back) REQUIRE(line.text.find('_') == std::string::npos);
    REQUIRE(back.size() == 3);
    REQUIRE(back[0].text.find("healed: ") == 0);
    REQUIRE(back[0].kind == Event::Kind::fault);
    bench::Edits c = b;
    c.faults[0].severity = 5.0;
    REQUIRE(changes(b, c).size() == 1);
    REQUIRE(changes(b, c)[0].text.find("changed: ") == 0);
    // What was done before is done again, and that is taken back.
    bench::Edits once, again;
    once.acts = {{"open", "isolator", 10.0}, {"close", "isolator", 30.0}};
    again.acts = {{"close", "isolator", 30.0}, {"open", "isolator", 50.0}};
    REQUIRE(changes(once, again).size() == 1);
    REQUIRE(changes(once, again)[0].text == "isolator: opened");
    REQUIRE(changes(again, once).size() == 1);
    REQUIRE(changes(again, once)[0].text == "undone: isolator: opened");
}
