#include "model/waves_csv.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

namespace sunshaft::view {
namespace {

// Walks a trace forward in time.
struct Cursor {
    const trace::Trace& trace;
    std::size_t k = 0;

    static double at(const trace::Segment& s, double t) { return s.y0 + (s.y1 - s.y0) * (t - s.t0) / (s.t1 - s.t0); }
    // Just before and just after t; times must not fall from call to call.
    void values(double t, std::optional<double>& before, std::optional<double>& after) {
        while (k < trace.size() && trace[k].t1 < t) ++k;
        before = after = std::nullopt;
        if (k == trace.size() || t < trace[k].t0) return;
        if (t > trace[k].t0) before = at(trace[k], t);
        else if (k > 0 && trace[k - 1].t1 == t) before = trace[k - 1].y1;
        const std::size_t next = trace[k].t1 == t ? k + 1 : k;
        if (next < trace.size() && trace[next].t0 <= t) after = at(trace[next], t);
        if (!before) before = after;
        if (!after) after = before;
    }
};

}  // namespace

std::string waves_to_csv(const std::vector<Wave>& waves) {
    std::string out = "t [s]";
    std::vector<double> times;
    std::vector<Cursor> cursors;
    for (const Wave& w : waves) {
        out += fmt::format(",{} [{}]", w.label, w.unit);
        for (const trace::Segment& s : *w.trace) times.push_back(s.t0), times.push_back(s.t1);
        cursors.push_back({*w.trace});
    }
    out += '\n';
    std::sort(times.begin(), times.end());
    times.erase(std::unique(times.begin(), times.end()), times.end());
    std::vector<std::optional<double>> before(waves.size()), after(waves.size());
    const auto row = [&](double t, const std::vector<std::optional<double>>& values) {
        fmt::format_to(std::back_inserter(out), "{:.9f}", t);
        for (const auto& v : values) {
            if (v) fmt::format_to(std::back_inserter(out), ",{:.7g}", *v);
            else out += ',';
        }
        out += '\n';
    };
    for (const double t : times) {
        for (std::size_t n = 0; n < waves.size(); ++n) cursors[n].values(t, before[n], after[n]);
        row(t, before);
        if (before != after) row(t, after);
    }
    return out;
}

std::string columns_to_csv(const std::vector<Column>& columns) {
    std::string out;
    std::size_t rows = 0;
    for (const Column& c : columns) {
        out += (&c == &columns.front() ? "" : ",") + c.head;
        rows = std::max(rows, c.figures.size());
    }
    if (rows == 0) return {};
    for (std::size_t n = 0; n < rows; ++n) {
        out += '\n';
        for (const Column& c : columns) {
            if (&c != &columns.front()) out += ',';
            if (n < c.figures.size() && std::isfinite(c.figures[n]))
                fmt::format_to(std::back_inserter(out), "{:.7g}", c.figures[n]);
        }
    }
    return out + '\n';
}

}  // namespace sunshaft::view
