#include "meter/filter_bank.hpp"

namespace sunshaft::meter {

Filter& Filter::high_pass(double corner_Hz) {
    if (!(corner_Hz > 0.0) || !std::isfinite(corner_Hz)) return *this;
    if (corner_Hz < slowest_Hz) {
        no_mean_ = true;
        return *this;
    }
    poles_.emplace_back(-2.0 * pi * corner_Hz, 0.0);
    ++zeros_;
    return *this;
}

Filter& Filter::low_pass(double corner_Hz, int order) {
    if (!(corner_Hz > 0.0) || !std::isfinite(corner_Hz)) return *this;
    if (order < 1 || order > 4) throw std::invalid_argument("low-pass: order must lie in 1 .. 4");
    const double w = 2.0 * pi * corner_Hz;
    // Butterworth: poles on a circle, at pi (2k + n + 1)/(2n), k = 0 .. n-1.
    for (int k = 0; k < order; ++k) {
        const double angle = pi * (2.0 * k + order + 1.0) / (2.0 * order);
        const bool real = 2 * k + 1 == order;
        poles_.emplace_back(real ? -w : w * std::cos(angle), real ? 0.0 : w * std::sin(angle));
    }
    scale_ *= std::pow(w, order);
    return *this;
}

std::complex<double> Filter::gain(double frequency_Hz) const {
    if (no_mean_ && frequency_Hz == 0.0) return 0.0;
    const std::complex<double> s(0.0, 2.0 * pi * frequency_Hz);
    std::complex<double> g = scale_;
    // Factor by factor, so that nothing overflows on the way.
    for (std::size_t k = 0; k < poles_.size(); ++k) {
        if (static_cast<int>(k) < zeros_) g *= s;
        g /= s - poles_[k];
    }
    return g;
}

Response Filter::respond(trace::View u) const {
    Response out;
    const double T = trace::duration(u);
    if (!(T > 0.0)) return out;
    if (no_mean_) {
        Filter rest = *this;
        rest.no_mean_ = false;
        return rest.respond(trace::scaled(u, 1.0, -trace::statistics(u).mean));
    }
    trace::Accumulator plain;
    for (const trace::Segment& s : u) plain.add(s);
    if (poles_.empty()) return {plain.mean(), plain.rms(), plain.rectified_mean(), plain.min(), plain.max()};
    const Bank bank(*this);
    const double scale = largest(u);
    Sums sums;
    for_each_piece(bank, u, Start::periodic,
                   [&](const Piece<Bank>& piece, const trace::Segment&) { add(piece, scale, sums); });
    out.mean = plain.mean() * (zeros_ == 0 ? 1.0 : 0.0);
    out.rms = std::sqrt(std::max(0.0, sums.square / T));
    out.rectified_mean = sums.rectified / T;
    out.min = sums.min;
    out.max = sums.max;
    return out;
}

std::vector<Response> Filter::respond_from_rest(trace::View u, const std::vector<double>& edges) const {
    std::vector<Response> out;
    trace::Trace cut;
    std::size_t next = 0;
    for (const trace::Segment& s : u) {
        trace::Segment rest = s;
        for (; next < edges.size() && edges[next] < s.t1; ++next) {
            const double t = edges[next], y = s.y0 + (s.y1 - s.y0) * (t - s.t0) / (s.t1 - s.t0);
            if (t <= rest.t0) continue;
            cut.push_back({rest.t0, t, rest.y0, y});
            rest = {t, s.t1, y, s.y1};
        }
        cut.push_back(rest);
    }
    if (cut.empty() || edges.size() < 2) return out;
    const double scale = largest(u);
    std::vector<Sums> sums(edges.size() - 1);
    std::size_t window = 0;
    const auto at = [&](double t) -> Sums* {
        while (window + 1 < edges.size() && t >= edges[window + 1]) ++window;
        return window + 1 < edges.size() && t >= edges[window] ? &sums[window] : nullptr;
    };
    const Bank bank(*this);
    for_each_piece(bank, cut, Start::rest, [&](const Piece<Bank>& piece, const trace::Segment& s) {
        if (Sums* here = at(0.5 * (s.t0 + s.t1))) add(piece, scale, *here);
    });
    for (std::size_t k = 0; k < sums.size(); ++k) {
        const double T = edges[k + 1] - edges[k];
        out.push_back({sums[k].integral / T, std::sqrt(std::max(0.0, sums[k].square / T)), sums[k].rectified / T,
                       sums[k].min, sums[k].max});
    }
    return out;
}

trace::Trace Filter::wave(trace::View u, double tolerance) const {
    if (no_mean_) {
        Filter rest = *this;
        rest.no_mean_ = false;
        return rest.wave(trace::scaled(u, 1.0, -trace::statistics(u).mean), tolerance);
    }
    if (poles_.empty() || u.empty()) return {u.begin(), u.end()};
    const Bank bank(*this);
    const double scale = largest(u);
    // The chord of a mode of amplitude c over x = |p| dt leaves c x^2 / 8.
    const double step = std::clamp(std::sqrt(8.0 * tolerance), 0.01, 0.8);
    trace::Trace out;
    for_each_piece(bank, u, Start::periodic, [&](const Piece<Bank>& piece, const trace::Segment& s) {
        walk(piece, step, std::max(scale * tolerance, 1e-300), [&](double, double ya, double t1, double yb) {
            const double from = out.empty() ? s.t0 : out.back().t1, to = t1 == piece.h ? s.t1 : s.t0 + t1;
            if (to > from) out.push_back({from, to, ya, yb});
        });
    });
    return out;
}

}  // namespace sunshaft::meter
