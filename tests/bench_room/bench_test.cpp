// The bench as hands use it: edits while it runs, probes on and off, readings in any order.
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

double shown(bench::Bench& b, const char* meter, meter::Mode mode, const bench::Probes& probes) {
    return test::read(b, meter::find_spec(meter), mode, probes).value.value_or(std::nan(""));
}

}  // namespace

TEST_CASE("an edit in the middle of a window does not jolt the output") {
    for (const char* name : {"bench-rig", "hill-orchard", "terrace-pwm", "river-meadow", "stone-fold"}) {
        INFO(name);
        bench::Bench b = at(name);
        b.settle();
        const double before = b.plant().average_turns(b.state(), 0.1).current_rms[0];
        double worst = 0.0;
        plant::Recorder recorder({plant::signal(*b.site(), "around.u")});
        for (int n = 0; n < 7; ++n) {
            b.advance(0.0137);  // anywhere in a window
            b.edit(b.edits());
            recorder.clear();
            b.advance(0.05, &recorder);
            for (const auto& s : recorder.recording.signal(0)) worst = std::max(worst, std::abs(s.y1));
        }
        plant::Recorder calm({plant::signal(*b.site(), "around.u")});
        b.settle();
        b.advance(0.2, &calm);
        double peak = 0.0;
        for (const auto& s : calm.recording.signal(0)) peak = std::max(peak, std::abs(s.y1));
        CHECK(worst == approx(peak).epsilon(0.03));
        CHECK(b.plant().average_turns(b.state(), 0.1).current_rms[0] == approx(before).epsilon(2e-3));
    }
}

TEST_CASE("the order in which readings are taken does not matter") {
    const bench::Probes volts{"drive.u", "drive.v", ""}, clamp{"", "", "u"};
    bench::Bench first = at("bench-rig"), second = at("bench-rig");
    first.settle();
    second.settle();
    const double amps = shown(first, "clamp-ac", meter::Mode::aca, clamp);
    shown(second, "average", meter::Mode::acv, volts);
    shown(second, "true-rms", meter::Mode::acv, volts);
    CHECK(shown(second, "clamp-ac", meter::Mode::aca, clamp) == approx(amps).epsilon(2e-3));
}

TEST_CASE("a fault changes readings and its healing brings them back") {
    bench::Bench b = at("hill-orchard");
    b.settle();
    const bench::Probes clamp{"", "", "w"};
    const double healthy = shown(b, "clamp-ac", meter::Mode::aca, clamp);
    bench::Edits bad = b.edits();
    bad.faults.push_back({"high-resistance-splice", "v", 2.4, 0.0});
    b.edit(bad);
    b.settle();
    const double faulty = shown(b, "clamp-ac", meter::Mode::aca, clamp);
    CHECK(std::abs(faulty / healthy - 1) > 0.03);
    b.edit({});
    b.settle();
    CHECK(shown(b, "clamp-ac", meter::Mode::aca, clamp) == approx(healthy).epsilon(3e-3));
}

TEST_CASE("a refused edit changes nothing") {
    bench::Bench b = at("bench-rig");
    b.advance(0.1);
    const auto before = b.site();
    bench::Edits bad;
    bad.faults.push_back({"no-such-fault", "v", 1.0, 0.0});
    CHECK_THROWS_AS(b.edit(bad), site::BadInput);
    CHECK(b.site() == before);
    CHECK(b.edits().faults.empty());
}

TEST_CASE("a timed fault sets in at its time") {
    bench::Edits later;
    later.faults.push_back({"lost-phase", "splice.u", 1.0, 0.5});
    bench::Bench b = at("bench-rig", later);
    plant::Recorder recorder({plant::signal(*b.site(), "around.u")});
    b.advance(0.4995);
    b.advance(0.3, &recorder);
    double after = 0.0;
    for (const auto& s : recorder.recording.signal(0))
        if (s.t0 > 0.51) after = std::max(after, std::abs(s.y1));
    CHECK(after < 1e-9);
    CHECK(b.site()->faults.size() == 1);
}

TEST_CASE("ohms on pulled wires read the winding through the cable") {
    const bench::Edits dead{.acts = {{"open", "isolator", 0.0}, {"pull", "pump", 0.0}}};
    bench::Bench b = at("stone-fold", dead);
    b.settle();
    const auto& phase = b.site()->works.phases;
    const double expected = 2 * (phase[0].cable.ohm + phase[0].splice.ohm + phase[0].winding.ohm);
    CHECK(shown(b, "true-rms", meter::Mode::ohm, {"lead.u", "lead.v", ""}) == approx(expected).epsilon(0.01));
    CHECK(expected > 1.0);  // common practice, no source: 1 to 3 ohm line to line through the drop cable
    CHECK(expected < 3.0);
}
