#include "panels/inside_links.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "text/language.hpp"
#include "text/letters.hpp"
#include "trace/harmonics.hpp"

namespace sunshaft::panels {
namespace {

trace::Trace one_turn(const trace::Trace& wave, std::optional<double> hertz, double from) {
    if (wave.empty() || !hertz || *hertz <= 0.0) return wave;
    from = std::clamp(from, trace::start(wave), std::max(trace::start(wave), trace::finish(wave) - 1.0 / *hertz));
    return trace::slice(wave, from, std::min(trace::finish(wave), from + 1.0 / *hertz));
}

// Where the turn begins that is drawn: at the fundamental's way up through its mean, so that two meters that looked at
// different moments show the same half of it first.
double turn_begins(const trace::Trace& wave, std::optional<double> hertz) {
    if (wave.empty()) return 0.0;
    const double from = trace::start(wave);
    if (!hertz || *hertz <= 0.0) return from;
    const double turn = 1.0 / *hertz, turns = std::floor(trace::duration(wave) * *hertz + 1e-6);
    if (turns < 1.0) return from;
    // y = sqrt(2) |C| cos(omega t + arg C): upwards through nothing at omega t + arg C = -pi/2.
    const double phase =
        -0.5 * std::numbers::pi - std::arg(trace::phasor(trace::slice(wave, from, from + turns * turn), *hertz));
    const double share = phase / (2.0 * std::numbers::pi);
    const double begin = from + (share - std::floor(share)) * turn;
    return begin + turn <= trace::finish(wave) + 1e-9 ? begin : from;
}

// Curved between the ends of a piece; so many straight ones look the same at this size.
trace::Trace squared(const trace::Trace& wave) {
    trace::Trace out;
    for (const trace::Segment& s : wave) {
        const double largest = std::max(std::abs(s.y0), std::abs(s.y1));
        const int parts = std::abs(s.y1 - s.y0) < 0.02 * largest ? 1 : 8;
        for (int n = 0; n < parts; ++n) {
            const double a = double(n) / parts, b = double(n + 1) / parts;
            const double y0 = s.y0 + a * (s.y1 - s.y0), y1 = s.y0 + b * (s.y1 - s.y0);
            out.push_back({s.t0 + a * (s.t1 - s.t0), s.t0 + b * (s.t1 - s.t0), y0 * y0, y1 * y1});
        }
    }
    return out;
}

std::string caption_of(const std::string& stage) {
    if (stage == "probes") return text::tr("Terminals");
    if (stage == "conductor") return text::tr("Conductor");
    if (stage == "coupling") return text::tr("Coupled");
    if (stage == "bandwidth") return text::tr("Bandwidth");
    if (stage == "low-pass") return text::tr("Low-pass");
    if (stage == "rectifier") return text::tr("Rectified");
    if (stage == "source") return text::tr("Source");
    if (stage == "detector") return text::tr("Found");
    return text::sentence_begins(text::tr(stage));
}

void detector(std::vector<Link>& out, const meter::Stage& stage, const trace::Trace& before, bool rectified) {
    Link link{.kind = Link::Kind::number,
              .stage = stage.name,
              .caption = text::tr("Found"),
              .what = stage.what,
              .number = stage.number,
              .number_is = stage.number_is,
              .unit = stage.unit};
    if (stage.number_is == "frequency") {
        link.caption = text::tr("Counted");
    } else if (!before.empty()) {
        const bool mean = stage.what == "mean";
        link.kind = Link::Kind::level;
        link.level = stage.number;
        link.caption = mean ? text::tr("Averaged") : rectified ? text::tr("Times 1.111") : text::tr("Root");
        link.wave = before;
        if (!mean && !rectified) {
            const double mean_square = stage.number * stage.number;
            out.push_back({.kind = Link::Kind::one_sided,
                           .stage = stage.name,
                           .caption = text::tr("Squared"),
                           .what = text::tr("the wave times itself, and its mean"),
                           .wave = squared(before),
                           .level = mean_square,
                           .number = mean_square,
                           .number_is = text::id("mean"),
                           .unit = stage.unit + "²"});
        }
    }
    out.push_back(std::move(link));
}

bool alike(const Link& a, const Link& b) {
    const double largest = std::max(std::abs(a.number), std::abs(b.number));
    return a.kind == b.kind && a.caption == b.caption && a.what == b.what &&
           std::abs(a.number - b.number) <= 0.01 * largest;
}

}  // namespace

std::vector<Link> links_of(const meter::Reading& r) {
    std::vector<Link> out;
    trace::Trace before;
    bool rectified = false;
    double from = 0.0;  // of the turn that is drawn, the same in every stage
    for (const meter::Stage& stage : r.stages)
        if (!stage.wave.empty()) {
            from = turn_begins(stage.wave, r.truth.fundamental_Hz);
            break;
        }
    for (const meter::Stage& stage : r.stages) {
        if (stage.name == "display") continue;
        if (stage.name == "detector") {
            detector(out, stage, before, rectified);
            continue;
        }
        rectified = stage.name == "rectifier";
        before = one_turn(stage.wave, r.truth.fundamental_Hz, from);
        const Link::Kind kind = before.empty() ? Link::Kind::number
                                : rectified    ? Link::Kind::one_sided
                                               : Link::Kind::wave;
        out.push_back({.kind = kind,
                       .stage = stage.name,
                       .caption = caption_of(stage.name),
                       .what = stage.what,
                       .wave = before,
                       .level = rectified ? std::optional(stage.number) : std::nullopt,
                       .number = stage.number,
                       .number_is = rectified ? text::id("mean") : stage.number_is,
                       .unit = stage.unit});
    }
    Link shown{.kind = Link::Kind::display,
               .stage = "display",
               .caption = text::tr("Shown"),
               .what = text::tr("what stands on the display"),
               .number = r.range.value_or(0.0),
               .number_is = text::id("range"),
               .unit = r.unit};
    for (const meter::Stage& stage : r.stages)
        if (stage.name == "display") shown.what = stage.what;
    out.push_back(std::move(shown));
    for (Link& l : out)
        if (!l.wave.empty()) l.reach = view::span_of(l.wave, trace::start(l.wave), trace::finish(l.wave));
    return out;
}

view::Figure chain_figure(double value, const std::string& unit, int digits) {
    // Less than a microvolt is the arithmetic's own, not the wave's.
    if ((unit == "V" && std::abs(value) < 1e-6) || (unit == "V²" && std::abs(value) < 1e-12)) return {"0", unit};
    if (unit.ends_with("²")) {  // a prefix would be squared too
        return std::abs(value) < 1e-3 ? view::Figure{"0", unit} : text::figure(value, unit);
    }
    view::Figure f = view::figure(value, unit, digits);
    f.unit = f.unit.ends_with("ohm") ? f.unit.substr(0, f.unit.size() - 3) + "Ω" : f.unit;
    return f;
}

std::size_t shared_links(std::span<const Link> a, std::span<const Link> b) {
    std::size_t n = 0;
    // The displays stay apart even where all else is the same: each meter has its own.
    while (n + 1 < std::min(a.size(), b.size()) && alike(a[n], b[n])) ++n;
    return n;
}

}  // namespace sunshaft::panels
