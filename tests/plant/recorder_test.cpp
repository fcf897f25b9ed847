// What is recorded by rows is what the nodes are.
#include "site/keys.hpp"
#include "site/load.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::plant;

namespace {

// Passes every piece to a recorder and compares what it wrote with all nodes at both ends.
struct Compare {
    Recorder recorder;
    double worst = 0.0, scale;
    std::string where = {};
    long pieces = 0, straight = 0;
    template <class Machine>
    void piece(const Chain<Machine>& chain, const Point& a, const Point& b) {
        recorder.clear();
        recorder.piece(chain, a, b);
        ++pieces;
        if (!chain.linear()) return;
        ++straight;
        X middle;
        for (std::size_t n = 0; n < state_size; ++n) middle[n] = 0.5 * (a.x[n] + b.x[n]);
        const Eyes<Machine> from(chain, a.x, a.t), to(chain, b.x, b.t), half(chain, middle, 0.5 * (a.t + b.t));
        for (std::size_t n = 0; n < recorder.signals().size(); ++n) {
            const Signal& s = recorder.signals()[n];
            double y0 = from(s), y1 = to(s);
            if (chain.bends()) {
                const double shift = (half(s) - 0.5 * (y0 + y1)) * (2.0 / 3);
                y0 += shift, y1 += shift;
            }
            look(s, recorder.recording.y0[n][0], y0);
            look(s, recorder.recording.y1[n][0], y1);
        }
    }
    void look(const Signal& s, double got, double expected) {
        if (std::isnan(expected)) {
            if (!std::isnan(got)) worst = 1.0, where = s.name;
            return;
        }
        const double off = std::abs(got - expected) / std::max(scale, std::abs(expected));
        if (!(off <= worst)) worst = std::isnan(off) ? 1.0 : off, where = s.name;
    }
};

void compare(const char* name, const std::vector<site::Fault>& faults) {
    const Scenario scenario = site::load_scenario(site::find_scenario(name));
    INFO(name << (faults.empty() ? "" : faults.front().kind));
    const auto site = site::compile_site(scenario, faults);
    std::vector<Signal> signals;
    for (const site::PointInfo& p : site::points(site->works)) {
        if (p.clamp) continue;
        try {
            signals.push_back(signal(*site, p.name));
            signals.push_back(signal(*site, p.name + ":drive.v"));
        } catch (const site::BadInput&) {  // not followed by the live plant
        }
    }
    for (const char* clamp : {"around.u", "around.v", "around.w", "around.dc+", "around.dc-"})
        signals.push_back(signal(*site, clamp));
    for (const char* plain : {"speed_rpm", "flow_m3_h", "link_V", "link_capacitor_V", "star_V"})
        signals.push_back(signal(*site, plain));
    std::visit(
        [&](const auto& machine) {
            using Machine = std::decay_t<decltype(machine)>;
            Driver<Machine> driver(*site, machine);
            State s = Plant(site).start();
            // all branches of the link within a volt
            Compare sink{Recorder(signals), 0.0, reference(*site)[v_cap]};
            NoSink none;
            driver.advance(s, 0.6, none);
            driver.advance(s, 0.64, sink);  // chopped, on the ramp
            driver.advance(s, 4.0, none);
            driver.advance(s, 4.04, sink);
            CHECK(sink.straight > 50);
            INFO(sink.where);
            CHECK(sink.worst < 1e-7);
        },
        site->works.motor);
}

}  // namespace

TEST_CASE("what is recorded by rows is what the nodes are, on every site and with open, leaking and unequal phases") {
    for (const char* name : {"hill-orchard", "terrace-pwm", "stone-fold", "river-meadow"}) {
        compare(name, {});
        compare(name, {{"lost-phase", "splice.v", 1.0, 0.0}});
        compare(name, {{"high-resistance-splice", "w", 3.0, 0.0}});
        compare(name, {{"phases-shorted", "u-v", 800.0, 0.0}});
    }
}
