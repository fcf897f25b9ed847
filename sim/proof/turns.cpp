// Bridged turns of a winding, with both ways their leakage can go.
#include <fmt/format.h>

#include <cmath>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::proof {
namespace {

constexpr const char* sequence =
    "sequence circuits in closed form (C. L. Fortescue, Trans. AIEE 37, 1918) of a winding with bridged turns after R. "
    "M. Tallam, T. G. Habetler, R. G. Harley, IEEE Trans. Ind. Appl. 38, 2002; machine as in Krause table 4.10-1";

struct Loop {
    const char* words;
    const Machine& machine;
    double slip, share, contact_ohm, line_ohm;
    const char* leakage;
    double turns_A, u_A, v_A, w_A, torque, loop_W;
};

// Held at its speed, on an ideal sine; copper that stays cold.
bench::Bench bridged(const Loop& l) {
    Scenario s = rig(l.machine, l.slip);
    s.supply.resistance_ohm = l.line_ohm;
    s.motor.heat_capacity_J_per_K = 1e12;
    s.motor.bridged_turns_ohm = l.contact_ohm;
    s.motor.bridged_turns_leakage = l.leakage;
    s.solver.tolerance = 1e-5;
    s.faults.push_back({"winding-partly-shorted", "u", l.share});
    return bench::Bench(s);
}
plant::Means means(const Loop& l) {
    bench::Bench bench = bridged(l);
    bench.settle();
    return bench.plant().average_turns(bench.state(), 0.1);
}
double turns_A(const Loop& l) {
    bench::Bench bench = bridged(l);
    bench.settle();
    plant::Recorder recorder({plant::signal(*bench.site(), "turns_A")});
    bench.plant().advance_turns(bench.state(), 0.1, recorder);
    return trace::statistics(recorder.recording.signal(0)).rms;
}
double loop_W(const Loop& l) {
    bench::Bench bench = bridged(l);
    bench.settle();
    const double before = bench.state().energy[plant::in_turns], from = bench.time();
    bench.plant().average_turns(bench.state(), 0.1);
    return (bench.state().energy[plant::in_turns] - before) / (bench.time() - from);
}

}  // namespace

std::vector<Row> turn_rows() {
    std::vector<Row> r;
    auto add = [&](std::string what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"bridged turns", std::move(what), source, expected, tolerance, std::move(f)});
    };
    static const Loop loops[] = {
        {"3 hp, 5 % over 0.1 ohm", krause_3hp, 0.05, 0.05, 0.1, 0, "share", 50.246909, 10.445296, 9.489848, 9.046597,
         14.026832, 287.7862},
        {"3 hp, 5 % over 0.1 ohm, leakage by the square", krause_3hp, 0.05, 0.05, 0.1, 0, "square", 52.474839,
         10.324441, 9.645341, 8.809680, 14.026832, 317.0668},
        {"3 hp, 5 % bolted", krause_3hp, 0.05, 0.05, 0, 0, "share", 150.947150, 13.582545, 9.421258, 10.992211,
         14.026832, 413.7368},
        {"3 hp, 5 % bolted, leakage by the square", krause_3hp, 0.05, 0.05, 0, 0, "square", 301.927174, 18.099619,
         13.541422, 9.888074, 14.026832, 1761.0536},
        {"3 hp at rest, 5 % over 0.1 ohm", krause_3hp, 1.0, 0.05, 0.1, 0, "share", 50.246909, 67.123266, 66.496494,
         65.676090, 52.971674, 283.5224},
        {"3 hp behind 0.5 ohm, 10 % over 0.1 ohm", krause_3hp, 0.05, 0.1, 0.1, 0.5, "share", 77.143975, 13.158796,
         10.884470, 9.504436, 13.014178, 773.3965},
        {"50 hp behind 0.1 ohm, 5 % over 0.05 ohm", krause_50hp, 0.05, 0.05, 0.05, 0.1, "share", 231.183062, 65.903851,
         61.804691, 59.784111, 213.718399, 2792.7688},
        {"50 hp behind 0.1 ohm, 5 % over 0.05 ohm, leakage by the square", krause_50hp, 0.05, 0.05, 0.05, 0.1, "square",
         239.381458, 65.490087, 62.522538, 58.975654, 213.676562, 3006.7974},
    };
    for (const Loop& l : loops) {
        const std::string words = l.words;
        add(words + ": current in the bridge, A", sequence, l.turns_A, 1e-5, [&l] { return turns_A(l); });
        add(words + ": current in u, A", sequence, l.u_A, 1e-5, [&l] { return means(l).current_rms[0]; });
        add(words + ": current in v, A", sequence, l.v_A, 1e-5, [&l] { return means(l).current_rms[1]; });
        add(words + ": current in w, A", sequence, l.w_A, 1e-5, [&l] { return means(l).current_rms[2]; });
        add(words + ": torque in N m", sequence, l.torque, 1e-5, [&l] { return means(l).torque; });
        add(words + ": heat in turns and bridge, W", sequence, l.loop_W, 1e-5, [&l] { return loop_W(l); });
    }
    const char* series = "(1 - m) r + m r R / (m r + R) in the faulty phase, closed form";
    struct Still {
        double share, contact_ohm, ohm;
    };
    for (const Still s : {Still{0.05, 0.1, 0.866114}, {0.1, 0.1, 0.856814}, {0.1, 0.5, 0.866518}})
        add(fmt::format("3 hp, {:g} % over {:g} ohm: ohms u-v at the motor", 100 * s.share, s.contact_ohm), series,
            s.ohm, 1e-6, [s] {
                Scenario site = rig(krause_3hp, 0.05);
                site.motor.bridged_turns_ohm = s.contact_ohm;
                site.faults.push_back({"winding-partly-shorted", "u", s.share});
                bench::Bench bench(site);
                const auto& wiring = bench.site()->wiring;
                return circuit::Solver(wiring).resistance_between(*wiring.find("motor.u"), *wiring.find("motor.v"));
            });
    return r;
}

}  // namespace sunshaft::proof
