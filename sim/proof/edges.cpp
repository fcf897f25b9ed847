// Cells driven backwards, edges on long cables: against independent solutions of the published equations.
#include <fmt/format.h>

#include "plant/surges.hpp"
#include "proof/proof.hpp"
#include "roots/roots.hpp"
#include "solar/module.hpp"

namespace sunshaft::proof {
namespace {

// Example cell of the pvlib-python library for Bishop's equation, 25 degC.
solar::SingleDiode bishop_cell(double sun) {
    return {8.24 * sun, 2.36e-9, 0.00181, 1000 / sun, 1.3 * solar::thermal_voltage(25)};
}
solar::SubString group(int cells) {
    solar::SubString s;
    s.cells = solar::series(bishop_cell(1), cells - 1), s.lit_cells = cells - 1;
    s.dark = bishop_cell(0.2), s.dark_cells = 1;
    s.bypass = solar::Bypass::open;
    return s;
}

// 100 m of 80 ohm at 1.5e8 m/s, without loss.
plant::SurgeLine cable(double end, double source) { return {80, 100 / 1.5e8, source, end, 1.0}; }

}  // namespace

std::vector<Row> edge_rows() {
    std::vector<Row> r;
    auto add = [&](const char* field, std::string what, const char* source, double expected, double tolerance,
                   std::function<double()> f) {
        r.push_back({field, std::move(what), source, expected, tolerance, std::move(f)});
    };
    const char* bishop =
        "J. W. Bishop, Solar Cells 25 (1988) 73-89 (equation and example values as in pvlib-python), solved "
        "at "
        "30 digits";
    struct Point {
        double at, value;
    };
    for (const Point p : {Point{-14.9, 32.9103843}, {-14.5, 8.96514653}, {-12, 8.25493700}, {0.65, 7.25011769}})
        add("cells", fmt::format("cell at 1000 W/m2 and {:g} V: current, A", p.at), bishop, p.value, 1e-6,
            [p] { return solar::current_and_slope(bishop_cell(1), solar::Breakdown{}, p.at).i; });
    for (const Point p : {Point{2, 29.2396795}, {4, 59.2125253}, {8, 118.942097}})
        add("cells", fmt::format("cell at 200 W/m2 with {:g} A driven through: heat, W", p.at), bishop, p.value, 1e-6,
            [p] { return -p.at * solar::voltage(bishop_cell(0.2), solar::Breakdown{}, p.at); });
    for (const Point p : {Point{18, 21.1457929}, {20, 24.1248845}, {24, 115.416952}, {36, 122.510363}})
        add("cells", fmt::format("one of {:g} cells at 200 W/m2, bypass diode carrying at -0.5 V: its heat, W", p.at),
            bishop, p.value, 1e-6, [p] { return solar::hottest(group(static_cast<int>(p.at)), -0.5).watt; });

    const char* ulaby =
        "F. T. Ulaby, Fundamentals of Applied Electromagnetics, problem 2.75: 60 V behind 100 ohm, 50 ohm line of 5 "
        "ns, "
        "25 ohm";
    for (const Point p : {Point{2.5, 20.0}, {7.5, 13.333333}, {12.5, 11.111111}, {17.5, 11.851852}, {22.5, 12.098765}})
        add("cable", fmt::format("bounce diagram, middle of the line from {:g} ns on, V", p.at), ulaby, p.value, 1e-6,
            [p] {
                return 60 * plant::SurgeLine{50, 5e-9, 100, 25, 1}.voltage(0, 0.5, 1e-9 * (p.at + 0.1));
            });
    add("cable", "bounce diagram, in the end, V", ulaby, 12.0, 1e-6, [] {
        return 60 * plant::SurgeLine{50, 5e-9, 100, 25, 1}.settled();
    });
    const char* bergeron =
        "sum of reflections and Bergeron's characteristics, by another program: 540 V, 100 m of 80 ohm at 1.5e8 m/s";
    struct Peak {
        double end, source, edge_us, volt;
    };
    for (const Peak p : {Peak{800, 0, 0, 981.818182},
                         {800, 0, 1.3333, 981.818182},
                         {800, 0, 2.0, 714.049587},
                         {800, 0, 4.0, 665.364388},
                         {800, 5, 0, 924.064171},
                         {800, 5, 2.0, 701.695788},
                         {1500, 0, 2.0, 718.154142}})
        add("cable",
            fmt::format("motor of {:g} ohm, source {:g} ohm, edge of {:g} us: peak at the motor, V", p.end, p.source,
                        p.edge_us),
            bergeron, p.volt, 1e-6, [p] { return 540 * cable(p.end, p.source).peak(1e-6 * p.edge_us); });
    add("cable", "edge of 0.2 us at 1.5e8 m/s: shortest cable whose peak is that of a step, m",
        "half the way of a wave during the edge, by the sum of reflections; critical distance: IEEE Trans. Ind. Appl. "
        "33 (1997), abstract",
        15.0, 1e-6, [] {
            return roots::last_true(1.0, 100.0, [](double metres) {
                plant::SurgeLine line = cable(800, 0);
                line.delay_s = metres / 1.5e8;
                return line.peak(0.2e-6) < (1 - 1e-9) * line.peak(0);
            });
        });
    return r;
}

}  // namespace sunshaft::proof
