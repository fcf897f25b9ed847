// The single-diode law against 40-digit solutions, published solver values and itself.
#include "solar/single_diode.hpp"

#include <algorithm>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <limits>

#include "catch_shim.hpp"
#include "solar/wright_omega.hpp"
#include "table.hpp"

using namespace sunshaft::solar;
using sunshaft::test::approx;
using Precise = boost::multiprecision::cpp_bin_float_50;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

// The same law in 50 digits by bisection and Newton on the junction voltage; shares nothing with the code under
// test.
Precise precise_current(const SingleDiode& c, double v) {
    const Precise IL = c.IL, I0 = c.I0, Rs = c.Rs, a = c.a, G = std::isinf(c.Rsh) ? Precise(0) : 1 / Precise(c.Rsh);
    const auto out = [&](const Precise& w) { return IL - I0 * (exp(w / a) - 1) - w * G; };
    if (c.Rs == 0) return out(v);
    const auto excess = [&](const Precise& w) { return w - v - Rs * out(w); };  // rises with w
    Precise low = std::min(v, 0.0) - 1, high = v + Rs * (IL + I0) + 1;
    for (int n = 0; n < 80; ++n) {
        const Precise middle = (low + high) / 2;
        (excess(middle) > 0 ? high : low) = middle;
    }
    Precise w = (low + high) / 2;
    for (int n = 0; n < 3; ++n) w -= excess(w) / (1 + Rs * (I0 / a * exp(w / a) + G));
    return out(w);
}

const SingleDiode cells[] = {
    {8.214, 9.825e-8, 0.221, 415.405, 1.803620948},      // a 54-cell module
    {8.214, 9.825e-8, 0, 415.405, 1.803620948},          // the same, ideal contacts
    {8.214, 9.825e-8, 0.221, infinity, 1.803620948},     // no shunt
    {0.760776, 3.23021e-7, 0.0363771, 53.7185, 0.0391},  // one cell
    {9, 1e-14, 5, 30, 0.9},                              // corroded contacts, leaky
    {0, 9.825e-8, 0.221, 415.405, 1.803620948},          // dark
    {0, 1e-5, 0.5, 1e9, 0.5},                            // dark, hardly any shunt
    {82.14, 9.825e-7, 0.0221, 41.5405, 18.03620948},     // ten in series, ten in parallel
};

}  // namespace

TEST_CASE("wright omega solves w + ln w = s") {
    for (double s = -8.5; s < 5; s += 0.013) {
        const Precise p = wright_omega(s);
        INFO("s = " << s);
        REQUIRE(std::abs(static_cast<double>((p + log(p) - s) / (1 + p))) < 2e-15);
    }
    for (double s = -700; s < 1e6; s += std::max(0.37, std::abs(s) * 0.01)) {
        const double w = wright_omega(s);
        const Precise p = w;
        // Distance to the root of the 50-digit equation, relative to w, by one Newton step.
        const Precise error = (p + log(p) - s) / (1 + p);
        INFO("s = " << s);
        REQUIRE(std::abs(static_cast<double>(error)) < 5e-16 * std::max(1.0, std::abs(s)));
    }
    // Omega(1) = 1 and Omega(0) = W(1), the omega constant (OEIS A030178).
    REQUIRE(wright_omega(1) == approx(1).epsilon(1e-15));
    REQUIRE(wright_omega(0) == approx(0.567143290409783872999968662210355549753815787).epsilon(1e-15));
}

TEST_CASE("current meets a 50-digit solution at any voltage") {
    double worst = 0;
    for (const SingleDiode& c : cells)
        for (double v :
             {-1000.0, -40.0, -5.0, -0.5, -1e-3, -1e-9, 0.0,  1e-12, 1e-6, 1e-3, 0.1,  0.4,  0.5,   0.57,  0.6,
              1.0,     3.0,   10.0, 20.0, 26.3,  29.0,  32.0, 32.9,  33.0, 34.0, 40.0, 60.0, 100.0, 300.0, 3000.0}) {
            if (c.Rs == 0 && v / c.a > 300) continue;  // the tangent, see the header
            const Precise exact = precise_current(c, v);
            const double scale = std::max(std::abs(static_cast<double>(exact)), c.IL);
            const double error = std::abs(static_cast<double>(current(c, v) - exact));
            INFO("IL " << c.IL << " Rs " << c.Rs << " Rsh " << c.Rsh << " a " << c.a << " v " << v << " i " << exact);
            REQUIRE(error <= 1e-12 * scale + 1e-30);  // A: one electron in five thousand years
            if (scale > 1e-15) worst = std::max(worst, error / scale);
        }
    INFO("worst relative error " << worst);
    REQUIRE(worst < 1e-12);
}

TEST_CASE("slope is the derivative of the current") {
    for (const SingleDiode& c : cells)
        for (double v : {-100.0, -3.0, 0.0, 0.3, 0.55, 10.0, 26.0, 33.0, 50.0}) {
            const double h = 1e-6 * std::max(0.03, std::abs(v));
            if (c.Rs == 0 && v / c.a > 100) continue;
            const Precise slope = (precise_current(c, v + h) - precise_current(c, v - h)) / ((v + h) - (v - h));
            INFO("Rs " << c.Rs << " a " << c.a << " v " << v);
            const double expected = static_cast<double>(slope);
            REQUIRE(current_and_slope(c, v).di_dv == approx(expected).epsilon(1e-6).margin(1e-12));
            REQUIRE(current_and_slope(c, v).i == current(c, v));
        }
}

TEST_CASE("the law stays finite and falling for any finite voltage") {
    for (const SingleDiode& c : cells) {
        if (std::isinf(c.Rsh)) continue;
        double last = infinity;
        for (double v : {-std::numeric_limits<double>::max(), -1e200, -1e50, -1e9, -1e3, 0.0, 10.0, 1e3, 1e5, 1e9, 1e50,
                         1e99, 1e200, std::numeric_limits<double>::max()}) {
            const CurrentAndSlope at = current_and_slope(c, v);
            INFO("Rs " << c.Rs << " a " << c.a << " v " << v);
            REQUIRE(std::isfinite(at.i));
            REQUIRE(std::isfinite(at.di_dv));
            REQUIRE(at.di_dv < 0);
            REQUIRE(at.i <= last);
            last = at.i;
        }
    }
}

TEST_CASE("voltage is the inverse of current") {
    for (const SingleDiode& c : cells)
        for (double i : {-500.0, -20.0, -1.0, -1e-3, 0.0, 0.1, 0.7, 4.0, 8.0, 8.3, 12.0, 100.0}) {
            const double v = voltage(c, i);
            INFO("IL " << c.IL << " Rs " << c.Rs << " Rsh " << c.Rsh << " a " << c.a << " i " << i << " v " << v);
            if (std::isinf(c.Rsh) && i > c.IL + c.I0) {
                REQUIRE(v == -infinity);
                continue;
            }
            // How far v is from the exact root, by one Newton step in 50 digits.
            const Precise error = (precise_current(c, v) - i) / current_and_slope(c, v).di_dv;
            REQUIRE(std::abs(static_cast<double>(error)) <= 1e-12 * std::max(std::abs(v), c.a));
        }
}

TEST_CASE("key points of 32 parameter sets with 40-digit solutions") {
    // Data: pvlib-python test data precise_iv_curves1, made with mpmath by the ivcurves project; 12 digits
    // printed.
    const auto rows = sunshaft::test::fields("precise_single_diode_points.csv");
    REQUIRE(rows.size() == 32);
    double worst = 0;
    for (const auto& r : rows) {
        const auto x = [&](std::size_t k) { return sunshaft::test::number(r, k); };
        const double a = x(5) * x(6) * 1.380649e-23 * 298.15 / 1.602176634e-19;
        const KeyPoints k = key_points({x(1), x(2), x(3), x(4), a});
        INFO("set " << r[0]);
        const double pairs[][2] = {{k.Voc, x(7)}, {k.Isc, x(8)}, {k.Vmp, x(9)}, {k.Imp, x(10)}, {k.Pmp, x(11)}};
        for (const auto& p : pairs) {
            INFO("got " << p[0] << " published " << p[1]);
            REQUIRE(p[0] == approx(p[1]).epsilon(1e-10));
            worst = std::max(worst, std::abs(p[0] / p[1] - 1));
        }
    }
    INFO("worst relative error " << worst);
    REQUIRE(worst < 1e-10);
}

TEST_CASE("published solver values of a generic cell") {
    // pvlib-python, tests/test_pvsystem.py.
    const KeyPoints k = key_points({7, 6e-7, 0.1, 20, 0.5});
    REQUIRE(k.Isc == approx(6.965172322).epsilon(1e-8));
    REQUIRE(k.Voc == approx(8.106300147).epsilon(1e-8));
    REQUIRE(k.Vmp == approx(6.224339375).epsilon(1e-8));
    REQUIRE(k.Imp == approx(6.136267360).epsilon(1e-8));
    REQUIRE(k.Pmp == approx(38.19421055).epsilon(1e-8));

    const double light[][3] = {
        {1, 0.54614798683, 7.09662591}, {5, 4.23038693758, 8.37669154598}, {10, 8.89547161872, 8.35170575965}};
    for (const auto& [IL, Imp, Vmp] : light) {
        const KeyPoints m = key_points({IL, 1.943e-9, 0.094, 16, 0.473});
        INFO("IL " << IL);
        REQUIRE(m.Imp == approx(Imp).epsilon(1e-8));
        REQUIRE(m.Vmp == approx(Vmp).epsilon(1e-8));
    }
}

TEST_CASE("key points in the dark, without series resistance and without shunt") {
    const KeyPoints dark = key_points({0, 1e-9, 0.3, 300, 1.5});
    REQUIRE(dark.Voc == 0);
    REQUIRE(dark.Isc == 0);
    REQUIRE(dark.Pmp == 0);

    // Rs = 0, Rsh infinite has the closed form Vmp = a (W(e (1 + IL/I0)) - 1) (standard calculus).
    const SingleDiode ideal{8, 1e-9, 0, infinity, 1.5};
    const KeyPoints k = key_points(ideal);
    const double w = wright_omega(1 + std::log1p(ideal.IL / ideal.I0));
    REQUIRE(k.Isc == approx(8).epsilon(1e-15));
    REQUIRE(k.Voc == approx(1.5 * std::log1p(8e9)).epsilon(1e-14));
    REQUIRE(k.Vmp == approx(1.5 * (w - 1)).epsilon(1e-12));
}

TEST_CASE("series and parallel groups carry the summed voltage and current") {
    const SingleDiode c = cells[0];
    for (double i : {-1.0, 0.0, 4.0, 8.0, 8.5})
        REQUIRE(voltage(series(c, 16), i) == approx(16 * voltage(c, i)).epsilon(1e-13));
    for (double v : {-1.0, 0.0, 26.0, 33.0})
        REQUIRE(current(parallel(c, 3), v) == approx(3 * current(c, v)).epsilon(1e-12));
    REQUIRE(voltage(series(series(c, 1.0 / 3), 3), 5) == approx(voltage(c, 5)).epsilon(1e-14));
}

TEST_CASE("speed of the law", "[.speed]") {
    const SingleDiode c = cells[0];
    double sum = 0;
    const auto nanoseconds = [&](double low, double high) {
        constexpr int calls = 2'000'000;
        const std::clock_t start = std::clock();  // processor time: the machine may be busy
        for (int n = 0; n < calls; ++n) {
            const CurrentAndSlope at = current_and_slope(c, low + (high - low) * (n % 1000) / 1000);
            sum += at.i + at.di_dv;
        }
        return 1e9 * static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC / calls;
    };
    std::printf("current_and_slope: 0 to Voc %.0f ns, below 0 %.0f ns, above Voc %.0f ns\n", nanoseconds(0, 33),
                nanoseconds(-10, 0), nanoseconds(33, 60));
    REQUIRE(std::isfinite(sum));
}
