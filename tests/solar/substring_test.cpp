// Sub-strings with bypass diodes, strings of modules, and loads on them.
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "catch_shim.hpp"
#include "solar/module.hpp"

using namespace sunshaft::solar;
using sunshaft::test::approx;

namespace {

// The 54-cell module of Villalva, Gazoli and Filho (IEEE Trans. Power Electronics 24 (2009) 1198-1208), light
// scaled.
SingleDiode module54(double irradiance) {
    return {8.214 * irradiance / 1000, 9.825198473e-8, 0.221, 415.405, 1.803620948};
}

// A bypass diode so steep that it is the ideal clamp at -0.5 V the published figures assume.
SubString clamped(const SingleDiode& cells, Bypass bypass = Bypass::good) {
    return {cells, bypass, 0.5, 8.0, 1e-9, 1e-9};
}

using Chain = std::vector<SubString>;

double voltage(const Chain& chain, double i) {
    double sum = 0;
    for (const SubString& s : chain) sum += sunshaft::solar::voltage(s, i);
    return sum;
}

double current(const Chain& chain, double v) {
    double low = -100, high = 100;
    for (int n = 0; n < 100; ++n) {
        const double middle = (low + high) / 2;
        (voltage(chain, middle) > v ? low : high) = middle;
    }
    return (low + high) / 2;
}

struct Maximum {
    double v, i, p;
};

// Highest power between two currents, by golden section.
Maximum maximum(const Chain& chain, double low, double high) {
    const double section = (std::sqrt(5.0) - 1) / 2;
    const auto power = [&](double i) { return i * voltage(chain, i); };
    for (int n = 0; n < 100; ++n) {
        const double left = high - section * (high - low), right = low + section * (high - low);
        (power(left) > power(right) ? high : low) = power(left) > power(right) ? right : left;
    }
    const double i = (low + high) / 2;
    return {voltage(chain, i), i, power(i)};
}

void require_maximum(const Maximum& m, double p, double i, double v) {
    INFO("maximum " << m.p << " W at " << m.i << " A, " << m.v << " V");
    REQUIRE(m.p == approx(p).epsilon(1e-5));
    REQUIRE(m.i == approx(i).epsilon(1e-5));
    REQUIRE(m.v == approx(v).epsilon(1e-5));
}

}  // namespace

// The figures of the next two cases are computed from the module above independently of this program, by a scan
// over current and again by a scan over voltage.
TEST_CASE("two modules in series, one at half light, have two power maxima") {
    const Chain pair{clamped(module54(1000)), clamped(module54(500))};
    require_maximum(maximum(pair, 3, 4.1), 216.906891, 3.914360, 55.413124);
    require_maximum(maximum(pair, 5, 8.2), 196.340313, 7.585601, 25.883289);
    REQUIRE(voltage(pair, 0) == approx(64.500378).epsilon(1e-5));

    const double curve[][2] = {{20, 8.1373300}, {25, 7.7958147}, {28, 6.5453837},
                               {40, 4.0824745}, {50, 4.0515118}, {60, 2.9582950}};
    for (const auto& [v, i] : curve) {
        INFO("v " << v);
        REQUIRE(current(pair, v) == approx(i).epsilon(1e-5));
    }
    const double at40 = current(pair, 40), at25 = current(pair, 25);
    REQUIRE(sunshaft::solar::voltage(pair[0], at40) == approx(30.725668).epsilon(1e-5));
    REQUIRE(sunshaft::solar::voltage(pair[1], at40) == approx(9.274332).epsilon(1e-5));
    REQUIRE(sunshaft::solar::voltage(pair[0], at25) == approx(25.5).epsilon(1e-5));
    REQUIRE(sunshaft::solar::voltage(pair[1], at25) == approx(-0.5).epsilon(1e-5));
}

TEST_CASE("one module of three groups, one shaded or shorted") {
    const SubString full = clamped(series(module54(1000), 1.0 / 3)), dim = clamped(series(module54(300), 1.0 / 3));
    const Chain shaded{full, full, dim};
    require_maximum(maximum(shaded, 5, 8.2), 129.629700, 7.580489, 17.100439);
    require_maximum(maximum(shaded, 1.5, 2.45), 68.101615, 2.360799, 28.846855);
    REQUIRE(voltage(shaded, 0) == approx(32.147106).epsilon(1e-5));

    REQUIRE(maximum({full, full, full}, 5, 8.2).p == approx(200.135620).epsilon(1e-5));

    SubString shorted = full;
    shorted.bypass = Bypass::shorted;
    const Maximum m = maximum({full, full, shorted}, 5, 8.2);
    REQUIRE(m.p == approx(133.423746).epsilon(1e-5));
    REQUIRE(m.v == approx(17.565998).epsilon(1e-5));
    REQUIRE(voltage({full, full, shorted}, 0) == approx(21.922275).epsilon(1e-5));
}

TEST_CASE("load lines on one and on ten modules") {
    // Computed independently: one module into 3.5 ohm, ten in series into 20 ohm through 1 ohm of cable.
    const auto meet = [](const SingleDiode& c, double ohm) {
        double low = 0, high = 1000;
        for (int n = 0; n < 100; ++n) {
            const double v = (low + high) / 2;
            (sunshaft::solar::current(c, v) > v / ohm ? low : high) = v;
        }
        return low;
    };
    const double one = meet(module54(1000), 3.5);
    REQUIRE(one == approx(26.464575978).epsilon(1e-6));
    REQUIRE(one / 3.5 == approx(7.561307422).epsilon(1e-6));

    const double ten = meet(series(module54(1000), 10), 21);
    REQUIRE(ten == approx(171.460548770).epsilon(1e-6));
    REQUIRE(ten / 21 == approx(8.164788037).epsilon(1e-6));
    REQUIRE(ten / 21 * 20 == approx(163.295760733).epsilon(1e-6));
}

TEST_CASE("the bypass diode drops what its data say") {
    const ModuleData m = from_datasheet({8.21, 32.9, 7.61, 26.3, 0.0032, -0.123, 54});
    SubString s = substring(m, 0, 25);
    REQUIRE(s.rated_A == 8.21);
    // Dark: all of the rated current goes round through the diode, up to what the dark cells leak backwards.
    REQUIRE(sunshaft::solar::voltage(s, 8.21) == approx(-0.5).margin(1e-4));
    // A tenth of the current: one decade of the exponential and nine tenths of the ohmic drop less.
    const double less = 0.03 * std::log(10.0) + 0.9 * 8.21 * s.bypass_ohm;
    REQUIRE(sunshaft::solar::voltage(s, 0.821) == approx(-0.5 + less).margin(1e-3));

    s.bypass = Bypass::open;  // nothing but breakdown is left: 18 cells at a little less than 15 V each
    REQUIRE(sunshaft::solar::voltage(s, 8.21) == approx(-18 * 14.9).epsilon(0.01));
    s.breakdown.volt = std::numeric_limits<double>::infinity();  // or the leak alone: as good as cut
    REQUIRE(sunshaft::solar::voltage(s, 8.21) < -1000);
    s.bypass = Bypass::shorted;
    REQUIRE(sunshaft::solar::voltage(s, 8.21) == approx(-8.21 * s.bypass_ohm).epsilon(1e-3));

    // In full light the good diode takes next to nothing, the shorted one everything.
    s = substring(m, 1000, 25);
    REQUIRE(sunshaft::solar::voltage(s, 0) == approx(32.9 / 3).epsilon(1e-6));
    s.bypass = Bypass::shorted;
    REQUIRE(std::abs(sunshaft::solar::voltage(s, 0)) < 0.05);

    // Whatever the drop, it is met at the rated current and the diode does not leak in daylight.
    for (double drop : {0.0, 0.01, 0.1, 0.3, 0.6, 1.0}) {
        ModuleData other = m;
        other.bypass_drop_V = drop;
        INFO("drop " << drop);
        REQUIRE(sunshaft::solar::voltage(substring(other, 0, 25), 8.21) ==
                approx(-std::max(drop, 1e-3)).margin(2e-4 * std::max(drop, 0.1)));
        REQUIRE(sunshaft::solar::voltage(substring(other, 1000, 25), 0) == approx(32.9 / 3).epsilon(1e-5));
    }

    // Three sub-strings are the module where no diode conducts.
    const Chain whole(3, substring(m, 800, 47));
    for (double i : {0.0, 2.0, 6.0})
        REQUIRE(voltage(whole, i) == approx(voltage(translate(m, 800, 47), i)).epsilon(1e-6));
}

TEST_CASE("sub-string law is finite, falling, and inverted by its voltage") {
    std::vector<SubString> all;
    for (double irradiance : {0.0, 5.0, 300.0, 1000.0})
        for (Bypass bypass : {Bypass::good, Bypass::open, Bypass::shorted}) {
            const SingleDiode cells = series(module54(irradiance), 1.0 / 3);
            all.push_back({cells, bypass, 0.5, 8.0, 0.03, 0.005});
            all.push_back({cells, bypass, 0.4, 12.0, 0.045, 0.001});
            all.push_back(clamped(cells, bypass));
        }
    for (const SubString& s : all) {
        INFO("IL " << s.cells.IL << " bypass " << static_cast<int>(s.bypass) << " vt " << s.bypass_vt);
        double last = std::numeric_limits<double>::infinity();
        for (double v : {-std::numeric_limits<double>::max(),
                         -1e12,
                         -1e3,
                         -20.0,
                         -1.0,
                         -0.6,
                         -0.5,
                         -0.4,
                         -0.2,
                         -1e-3,
                         0.0,
                         1e-3,
                         1.0,
                         8.0,
                         10.9,
                         11.0,
                         12.0,
                         30.0,
                         1e3,
                         1e12,
                         std::numeric_limits<double>::max()}) {
            const CurrentAndSlope at = current_and_slope(s, v);
            INFO("v " << v << " i " << at.i << " slope " << at.di_dv);
            REQUIRE(std::isfinite(at.i));
            REQUIRE(std::isfinite(at.di_dv));
            REQUIRE(at.di_dv < 0);
            REQUIRE(at.i < last);
            last = at.i;
        }
        for (double i : {-50.0, -1.0, -1e-6, 0.0, 1e-6, 1.0, 2.4, 2.5, 8.0, 8.3, 50.0}) {
            const double v = sunshaft::solar::voltage(s, i);
            const CurrentAndSlope at = current_and_slope(s, v);
            INFO("i " << i << " v " << v << " back " << at.i);
            REQUIRE(std::abs((at.i - i) / at.di_dv) <= 1e-12 * std::max(1.0, std::abs(v)));
        }
    }
    // The slope is the derivative (central difference).
    for (const SubString& s : all) {
        if (s.bypass_vt < 1e-3) continue;
        for (double v : {-0.7, -0.5, -0.3, 0.0, 5.0, 10.5}) {
            const double h = 1e-5;
            const double difference = (current_and_slope(s, v + h).i - current_and_slope(s, v - h).i) / (2 * h);
            INFO("IL " << s.cells.IL << " bypass " << static_cast<int>(s.bypass) << " v " << v);
            REQUIRE(current_and_slope(s, v).di_dv == approx(difference).epsilon(1e-5));
        }
    }
}
