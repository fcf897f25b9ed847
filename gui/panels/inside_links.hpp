#pragma once
// A reading's chain made ready to draw: one link a plot. Nothing is found out here that the reading does not say; a
// true-rms detector's stage is drawn in the two steps it stands for, squaring and the root of the mean.
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "meter/reading.hpp"
#include "model/format.hpp"
#include "model/palette.hpp"
#include "model/scope_view.hpp"

namespace sunshaft::panels {

struct Link {
    enum class Kind { wave, one_sided, level, number, display };
    Kind kind = Kind::wave;
    std::string stage{};            // of the reading, which it shows or is a step of
    std::string caption{}, what{};  // "Coupled"; in a sentence for the hover text
    trace::Trace wave{};            // of `wave`, `one_sided`; the ghost behind a `level`
    std::optional<double> level{};  // drawn as a level line: the mean of what is drawn
    double number = 0.0;
    std::string number_is{}, unit{};
    std::optional<view::Span> reach{};  // of the wave
    // As last drawn; drawn anew when the place changes.
    mutable std::vector<view::Point> line{};
    mutable view::Box line_box{};
    mutable double line_low = 0.0, line_high = 0.0;
    mutable int line_columns = 0;
};

// One meter's: from the terminals to its display.
struct Path {
    std::string name;
    const meter::Reading* reading = nullptr;
    view::SignalLook look;
    std::span<const Link> links;
};

/// One turn of the wave (the whole of it when nothing repeats), and the stages in order.
std::vector<Link> links_of(const meter::Reading& reading);
/// A stage's figure as it stands below its plot: what is the arithmetic's own is 0.
view::Figure chain_figure(double value, const std::string& unit, int digits = 4);
/// How many links two chains have in common, from the terminals on.
std::size_t shared_links(std::span<const Link> a, std::span<const Link> b);

}  // namespace sunshaft::panels
