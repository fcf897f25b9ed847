// The scope's arithmetic, pure: which stretch of a trace stands on the screen, how it is drawn, its axes and
// cursors.
//
//   find_sweep()   the stretch to show, by trigger
//   trace_line()   one polyline for the screen, every extreme and every edge kept
//   span_of()      lowest and highest value of a stretch, for scaling
//   ticks()        axis ticks at 1, 2 or 5 times a power of ten
//   cursors()      what two cursors read
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/geometry.hpp"
#include "trace/trace.hpp"

namespace sunshaft::view {

enum class Slope { rising, falling };
enum class Sweep {
    automatic,  // runs free when nothing triggers
    normal,     // keeps the last picture
    single      // the first trigger after arming, then stands
};

struct Trigger {
    std::string source;  // a signal's name; empty: the first channel
    double level = 0.0;  // in the signal's unit
    Slope slope = Slope::rising;
    Sweep sweep = Sweep::automatic;
    double position = 0.2;    // of the screen, 0 left .. 1 right: where the trigger stands
    double lowpass_Hz = 0.0;  // first-order low-pass before the comparison, against a carrier; 0: none
    // > 0: where the wave passes the level oftener than once a turn, its own part of this frequency is compared
    // instead, so that a pulsed wave stands still; not kept with the session.
    double fundamental_Hz = 0.0;
    static constexpr double hysteresis = 0.04;  // of the source's span: how far back it must go before it counts again
    friend bool operator==(const Trigger&, const Trigger&) = default;
};

// What the user has set on the scope; saved with the session.
struct ScopeSettings {
    Trigger trigger;
    double seconds_per_division = 5e-3;
    static constexpr int divisions = 10;
    bool ghost = true;
    double bandwidth_Hz = 0.0;  // of every channel, first order; 0: all there is
    bool persists = false;      // the last sweeps stay, paler with age
    bool follows = true;        // a channel goes with the leads, another with the clamp
    double width() const { return seconds_per_division * divisions; }
    friend bool operator==(const ScopeSettings&, const ScopeSettings&) = default;
};

// A stretch of the screen's width. Where the trace is shorter it stands at the right, and `from` may lie before
// it.
struct Stretch {
    double from = 0.0, to = 0.0;
    std::optional<double> trigger_t;  // the edge it stands on; none: free running
};

// The newest stretch of `width` seconds whose trigger edge lies so that all of it is recorded. `armed_at` is
// for Sweep::single: the first edge not before it. Nothing when the sweep waits (normal, single) or the trace
// is empty.
std::optional<Stretch> find_sweep(trace::View source, const Trigger& trigger, double width, double armed_at = 0.0);

// All times in the trace at which it passes the level in that direction, edges included, after having been
// `back` or more on the other side of it.
std::vector<double> crossings(trace::View trace, double level, Slope slope, double lowpass_Hz = 0.0, double back = 0.0);

// A channel behind the scope's own bandwidth (meter/filter.hpp, closed form); the beginning, where the filter has no
// past, is left out.
trace::Trace band_limited(const trace::Trace& wave, double bandwidth_Hz);

// The window onto a trace: seconds and values against a box in design units (y down).
struct PlotArea {
    double t_from = 0.0, t_to = 1.0;
    double y_low = -1.0, y_high = 1.0;
    Box box;
    double x(double t) const { return box.x + (t - t_from) / (t_to - t_from) * box.w; }
    double y(double value) const { return box.bottom() - (value - y_low) / (y_high - y_low) * box.h; }
    double t(double px) const { return t_from + (px - box.x) / box.w * (t_to - t_from); }
    double value(double py) const { return y_low + (box.bottom() - py) / box.h * (y_high - y_low); }
};

// One polyline with true vertical edges. Where more than two pieces fall into a column (of `columns` over the
// box) the column becomes first, extremes in their order, last; nothing is lost that a pixel could show. At
// most eight points a column. Values far outside are held just outside the box; the caller clips.
std::vector<Point> trace_line(trace::View trace, const PlotArea& area, int columns);

struct Span {
    double low = 0.0, high = 0.0;
};
std::optional<Span> span_of(trace::View trace, double from, double to);  // nothing recorded there: none
// A span with room around it whose ends are on ticks; never empty.
Span pleasant(Span span, int about = 4);

struct Ticks {
    double step = 0.0;
    std::vector<double> at;  // rising, within the span
};
// About so many steps (2 .. 20). A span that is empty or not finite gives none.
Ticks ticks(double low, double high, int about);
// The next of 1-2-5 above (+1) or below (-1), for time base and scales; `value` > 0.
double next_125(double value, int direction);

struct CursorReading {
    double t1 = 0, t2 = 0, y1 = 0, y2 = 0;
    double dt = 0, dy = 0;
    std::optional<double> per_dt;  // 1/dt, Hz
    double mean = 0, rms = 0;      // between the two
};
CursorReading cursors(trace::View trace, double t1, double t2);

}  // namespace sunshaft::view
