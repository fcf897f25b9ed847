// Exact harmonics against a dense sampling of the same wave transformed by FFTW (M. Frigo, S. G. Johnson).
#ifdef SUNSHAFT_HAVE_FFTW
#include <fftw3.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "trace/harmonics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft::trace;
using sunshaft::test::approx;

namespace {
using std::numbers::pi;

// rms spectrum of a dense sampling by FFTW.
std::vector<double> sampled_spectrum(View w, int samples, int count) {
    std::vector<double> in(static_cast<std::size_t>(samples));
    std::vector<std::complex<double>> out(static_cast<std::size_t>(samples / 2 + 1));
    const double dt = duration(w) / samples;
    for (int k = 0; k < samples; ++k) in[static_cast<std::size_t>(k)] = value_at(w, start(w) + (k + 0.5) * dt);
    fftw_plan plan =
        fftw_plan_dft_r2c_1d(samples, in.data(), reinterpret_cast<fftw_complex*>(out.data()), FFTW_ESTIMATE);
    fftw_execute(plan);
    fftw_destroy_plan(plan);
    std::vector<double> rms;
    for (int n = 1; n <= count; ++n)
        rms.push_back(std::abs(out[static_cast<std::size_t>(n)]) * std::numbers::sqrt2 / samples);
    return rms;
}
}  // namespace

TEST_CASE("A dense sampling comes to the exact coefficients as it gets denser") {
    // Sampling a wave with jumps is first-order accurate in the sample interval.
    const Trace w = CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1);
    const auto exact = harmonics(w, 50, 50);
    const auto worst = [&](int samples) {
        const auto sampled = sampled_spectrum(w, samples, 50);
        double e = 0.0;
        for (std::size_t n = 0; n < 50; ++n) e = std::max(e, std::fabs(sampled[n] - std::abs(exact[n])));
        return e;
    };
    const double coarse = worst(1 << 14), middle = worst(1 << 17), dense = worst(1 << 20);
    CHECK(middle < coarse / 3);
    CHECK(dense < middle / 3);
    // No more than if every edge were half a sample late, all the same way.
    CHECK(dense < static_cast<double>(w.size()) * 0.5 / (1 << 20) * 320 * std::numbers::sqrt2);
    // A wave without jumps: second order at least.
    const Trace smooth = triangle(1, 50);
    const auto t = harmonics(smooth, 50, 5);
    const auto s1 = sampled_spectrum(smooth, 1 << 8, 5), s2 = sampled_spectrum(smooth, 1 << 10, 5);
    const double e1 = std::fabs(s1[2] - std::abs(t[2])), e2 = std::fabs(s2[2] - std::abs(t[2]));
    CHECK(e2 < e1 / 12);
    CHECK(std::abs(t[2]) == approx(8 / (pi * pi) / 9 / std::numbers::sqrt2).epsilon(1e-9));
}
#endif
