// The energy account across acts: what an act itself brings or takes away is not of the run.
#include "support.hpp"

using namespace sunshaft;

TEST_CASE("an isolator opened under a running site makes no energy") {
    for (const char* name : {"bench-rig", "hill-orchard"})
        for (const double when : {0.482, 1.8}) {
            for (const bool pulled : {false, true}) {
                bench::Edits edits;
                edits.acts = {{"open", "isolator", when}};
                if (pulled) edits.acts.push_back({"pull", "pump", 0.0});
                bench::Bench b(site::load_scenario(site::find_scenario(name)), edits);
                b.advance(3.0);
                const plant::State& s = b.state();
                double out = b.plant().stored(s) - s.stored_at_start, turned_over = std::abs(out);
                for (std::size_t n = 0; n < plant::energy_size; ++n) {
                    if (n != plant::in_splice) turned_over = std::max(turned_over, std::abs(s.energy[n]));
                    if (n != plant::from_supply && n != plant::in_splice) out += s.energy[n];
                }
                INFO(name << " opened at " << when << " s, wires off: " << pulled << ", " << turned_over
                          << " J turned over");
                // The currents an act cuts off are not in it: some millijoule of the motor's leakage inductance.
                CHECK(std::abs(s.energy[plant::from_supply] - out) < 1e-3 * turned_over);
                CHECK(std::abs(b.plant().energy_gap(s)) < 1e-3);
            }
        }
}

TEST_CASE("a gap is a share of what was turned over, also of nothing") {
    bench::Edits edits;
    edits.acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}};
    bench::Bench b(site::load_scenario(site::find_scenario("bench-rig")), edits);
    b.advance(0.5);
    CHECK(std::abs(b.plant().energy_gap(b.state())) < 1e-3);
}

// Every pulse of a chopped block lifts the speed of a light rotor and lets it sink again: what pump and bearings take
// is booked at the mean of that.
TEST_CASE("the account closes where blocks are chopped, at the solver's default accuracy") {
    for (const char* name : {"river-meadow", "stone-fold"})
        for (const double irradiance : {60.0, 200.0, 400.0}) {
            INFO(name << " at " << irradiance << " W/m2");
            Scenario s = site::load_scenario(site::find_scenario(name));
            s.sun.irradiance_W_m2 = irradiance;
            plant::Plant p(site::compile_site(s));
            plant::State state = p.start();
            p.advance(state, 6.0);
            p.open_account(state);
            p.advance(state, 8.0);
            CHECK(std::abs(p.energy_gap(state)) < 1e-4);
        }
}
