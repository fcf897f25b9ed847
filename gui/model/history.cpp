#include "model/history.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "model/turn.hpp"
#include "site/keys.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::view {

const std::vector<std::string>& standing_signals() {
    static const std::vector<std::string> names = {
        "drive.u", "drive.v",   "drive.w",   "star_V",     "around.u",      "around.v",    "around.w",
        "link_V",  "speed_rpm", "flow_m3_h", "torque_N_m", "flux_alpha_Wb", "flux_beta_Wb"};
    static const std::vector<std::string> all = [] {
        std::vector<std::string> list = names;
        for (const std::string& name : turn_signals())
            if (std::find(list.begin(), list.end(), name) == list.end()) list.push_back(name);
        return list;
    }();
    return all;
}

void History::choose(const site::Site& site, const std::vector<std::string>& names) {
    std::vector<std::string> all = standing_signals();
    for (const std::string& name : names)
        if (std::find(all.begin(), all.end(), name) == all.end()) all.push_back(name);
    std::vector<plant::Signal> signals;
    for (const std::string& name : all) {
        try {
            signals.push_back(plant::signal(site, name));
        } catch (const site::BadInput&) {
            continue;  // not on this site
        }
    }
    auto pen = std::make_unique<plant::Recorder>(signals);
    std::map<std::string, std::size_t> columns;
    std::vector<double> valid(signals.size(), finish());
    trace::Recording& r = pen->recording;
    if (pen_) {
        r.t0 = std::move(pen_->recording.t0);
        r.t1 = std::move(pen_->recording.t1);
    }
    for (std::size_t n = 0; n < signals.size(); ++n) {
        const std::string& name = signals[n].name;
        columns[name] = n;
        const auto old = columns_.find(name);
        if (pen_ && old != columns_.end()) {
            r.y0[n] = std::move(pen_->recording.y0[old->second]);
            r.y1[n] = std::move(pen_->recording.y1[old->second]);
            valid[n] = valid_from_[old->second];
        } else {
            r.y0[n].assign(r.t0.size(), 0.0);
            r.y1[n].assign(r.t0.size(), 0.0);
        }
    }
    pen_ = std::move(pen);
    columns_ = std::move(columns);
    valid_from_ = std::move(valid);
}

bool History::has(const std::string& name) const { return columns_.contains(name); }
std::size_t History::column(const std::string& name) const { return columns_.at(name); }
double History::from(const std::string& name) const { return std::max(start(), valid_from_[column(name)]); }
double History::start() const { return rows() ? pen_->recording.t0.front() : 0.0; }
double History::finish() const { return rows() ? pen_->recording.t1.back() : 0.0; }

std::size_t History::row_at(double t) const {
    const auto& ends = pen_->recording.t1;
    return static_cast<std::size_t>(std::upper_bound(ends.begin(), ends.end(), t) - ends.begin());
}

void History::trim() {
    if (!rows()) return;
    std::size_t drop = 0;
    if (finish() - start() > 1.5 * kept_seconds) drop = row_at(finish() - kept_seconds);
    if (rows() - drop > most_rows) drop = rows() - most_rows / 2;
    if (!drop) return;
    const auto cut = [drop](std::vector<double>& v) {
        v.erase(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(drop));
    };
    trace::Recording& r = pen_->recording;
    cut(r.t0);
    cut(r.t1);
    for (auto& c : r.y0) cut(c);
    for (auto& c : r.y1) cut(c);
}

void History::take_as_past(trace::Recording recording, double span) {
    for (double& t : recording.t0) t -= span;
    for (double& t : recording.t1) t -= span;
    pen_->recording = std::move(recording);
    std::fill(valid_from_.begin(), valid_from_.end(), start());
}

trace::Trace History::cut(const std::string& name, double from, double to) const {
    trace::Trace out;
    if (!rows()) return out;
    const trace::Recording& r = pen_->recording;
    const std::size_t n = column(name);
    const std::vector<double>&y0 = r.y0[n], &y1 = r.y1[n];
    from = std::max(from, this->from(name));
    const std::size_t first = row_at(from);
    out.reserve(row_at(to) - first + 1);
    for (std::size_t k = first; k < r.rows() && r.t0[k] < to; ++k) {
        trace::Segment s{r.t0[k], r.t1[k], y0[k], y1[k]};
        const double slope = (s.y1 - s.y0) / (s.t1 - s.t0);
        if (s.t0 < from) s.y0 += slope * (from - s.t0), s.t0 = from;
        if (s.t1 > to) s.y1 -= slope * (s.t1 - to), s.t1 = to;
        // stretches meet but for rounding
        if (!out.empty() && std::abs(s.t0 - out.back().t1) < 1e-12) s.t0 = out.back().t1;
        if (s.t1 > s.t0) out.push_back(s);
    }
    return out;
}

trace::Trace History::wave(const std::string& name, double from, double to) const {
    trace::Trace out = cut(name, from, to);
    for (trace::Segment& s : out)
        if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) s.y0 = s.y1 = 0.0;
    return out;
}

trace::Trace History::wave(const Signed& signals, double from, double to) const {
    trace::Trace out;
    for (const auto& [name, sign] : signals) {
        const trace::Trace one = cut(name, from, to);
        out = out.empty() ? trace::scaled(one, sign) : trace::sum(out, one, sign);
    }
    return out;
}

trace::Recording History::rows_of(const std::vector<std::string>& names, double from, std::size_t most) const {
    trace::Recording out;
    std::size_t first = 0;
    if (rows()) {
        const trace::Recording& r = pen_->recording;
        first = std::max(row_at(from), r.rows() > most ? r.rows() - most : 0);
        const auto begin = static_cast<std::ptrdiff_t>(first);
        out.t0.assign(r.t0.begin() + begin, r.t0.end());
        out.t1.assign(r.t1.begin() + begin, r.t1.end());
    }
    for (const std::string& name : names) {
        if (!has(name)) continue;
        const std::size_t n = column(name);
        out.names.push_back(name);
        for (const auto& [to, ends] : {std::pair{&out.y0, &pen_->recording.y0}, {&out.y1, &pen_->recording.y1}}) {
            to->emplace_back((*ends)[n].begin() + static_cast<std::ptrdiff_t>(first), (*ends)[n].end());
            for (std::size_t k = 0; k < out.rows() && out.t0[k] < valid_from_[n]; ++k)
                to->back()[k] = std::numeric_limits<double>::quiet_NaN();
        }
    }
    return out;
}

trace::Trace History::rows_since(const std::string& name, std::size_t row) const {
    trace::Trace out;
    const trace::Recording& r = pen_->recording;
    const std::size_t n = column(name);
    for (std::size_t k = row; k < r.rows(); ++k) {
        trace::Segment s{r.t0[k], r.t1[k], r.y0[n][k], r.y1[n][k]};
        if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) s.y0 = s.y1 = 0.0;
        out.push_back(s);
    }
    return out;
}

plant::Means History::means(double from, double to) const {
    plant::Means m;
    if (!rows()) return m;
    const trace::Recording& r = pen_->recording;
    from = std::max(from, start());
    const std::size_t first = row_at(from);
    std::array<std::size_t, 3> v{}, i{};
    for (std::size_t k = 0; k < 3; ++k) v[k] = column(standing_signals()[k]), i[k] = column(standing_signals()[4 + k]);
    const std::size_t link = column("link_V"), speed = column("speed_rpm"), flow = column("flow_m3_h"),
                      torque = column("torque_N_m");
    std::array<trace::Accumulator, 3> line, amps;
    trace::Accumulator link_sum, speed_sum, flow_sum, torque_sum;
    for (std::size_t k = first; k < r.rows() && r.t0[k] < to; ++k) {
        const double dt = std::min(r.t1[k], to) - std::max(r.t0[k], from);
        if (dt <= 0.0) continue;
        for (std::size_t p = 0; p < 3; ++p) {
            const std::size_t q = (p + 1) % 3;
            const double a = r.y0[v[p]][k] - r.y0[v[q]][k], b = r.y1[v[p]][k] - r.y1[v[q]][k];
            if (std::isfinite(a) && std::isfinite(b)) line[p].add(dt, a, b);
            else line[p].add(dt, 0.0, 0.0);
            amps[p].add(dt, r.y0[i[p]][k], r.y1[i[p]][k]);
        }
        link_sum.add(dt, r.y0[link][k], r.y1[link][k]);
        speed_sum.add(dt, r.y0[speed][k], r.y1[speed][k]);
        flow_sum.add(dt, r.y0[flow][k], r.y1[flow][k]);
        torque_sum.add(dt, r.y0[torque][k], r.y1[torque][k]);
    }
    for (std::size_t p = 0; p < 3; ++p) {
        m.line_rms[p] = line[p].rms(), m.line_mean[p] = line[p].mean(), m.line_rectified[p] = line[p].rectified_mean();
        m.current_rms[p] = amps[p].rms(), m.current_mean[p] = amps[p].mean();
    }
    m.seconds = link_sum.duration();
    m.link = link_sum.mean(), m.link_min = link_sum.min(), m.link_max = link_sum.max();
    m.speed = speed_sum.mean() * 3.14159265358979323846 / 30.0;
    m.flow = flow_sum.mean() / 3600.0;
    m.torque = torque_sum.mean();
    return m;
}

std::vector<motor::Vec2> History::flux_path(double turn, double to, std::size_t points) const {
    std::vector<motor::Vec2> path;
    if (!rows() || !(turn > 0.0) || to - turn < from("flux_alpha_Wb")) return path;
    const trace::Recording& r = pen_->recording;
    const std::size_t a = column("flux_alpha_Wb"), b = column("flux_beta_Wb");
    for (std::size_t n = 0; n < points; ++n) {
        const double t = to - turn * static_cast<double>(n) / static_cast<double>(points);
        const std::size_t k = std::min(row_at(t - 1e-12), r.rows() - 1);
        const double share = std::clamp((t - r.t0[k]) / (r.t1[k] - r.t0[k]), 0.0, 1.0);
        const motor::Vec2 at{r.y0[a][k] + share * (r.y1[a][k] - r.y0[a][k]),
                             r.y0[b][k] + share * (r.y1[b][k] - r.y0[b][k])};
        if (!std::isfinite(at[0]) || !std::isfinite(at[1])) return {};
        path.push_back(at);
    }
    return path;
}

// ---- the scope's long memory

void ScopeTrack::clear() {
    trace_.clear();
    largest_ = 0.0;
}

void ScopeTrack::append(trace::View more) {
    if (more.empty()) return;
    if (!trace_.empty() && std::abs(more.front().t0 - trace_.back().t1) > 1e-9) clear();
    for (const trace::Segment& s : more) add(s);
    // Twice as much as asked for: a trigger is looked for in the older half.
    const double kept = 2.0 * seconds_ + 1e-3;
    const double old = trace_.back().t1 - kept;
    if (trace_.front().t1 < old - 0.25 * kept) {
        const auto first =
            std::find_if(trace_.begin(), trace_.end(), [old](const trace::Segment& s) { return s.t1 > old; });
        trace_.erase(trace_.begin(), first);
    }
    if (trace_.size() > most_segments) {
        // Three pieces a bucket at most: this halves it.
        const double bucket = 6.0 * trace::duration(trace_) / static_cast<double>(most_segments);
        trace_ = thinned(trace_, bucket);
    }
}

// A piece that goes on from the last one in a straight line, within a ten-thousandth of the largest value, is
// joined to it: the slopes that hit every joint so far narrow like a closing door.
void ScopeTrack::add(const trace::Segment& s) {
    if (!(s.t1 > s.t0)) return;
    largest_ = std::max({largest_, std::abs(s.y0), std::abs(s.y1)});
    const double slack = 1e-4 * largest_;
    if (!trace_.empty() && std::abs(trace_.back().y1 - s.y0) <= 1e-9 * largest_) {
        trace::Segment& last = trace_.back();
        const double dt = s.t1 - last.t0;
        const double slope = (s.y1 - last.y0) / dt;
        if (slope >= slope_low_ && slope <= slope_high_) {
            slope_low_ = std::max(slope_low_, slope - slack / dt);
            slope_high_ = std::min(slope_high_, slope + slack / dt);
            last.t1 = s.t1;
            last.y1 = s.y1;
            return;
        }
    }
    trace_.push_back(s);
    const double dt = s.t1 - s.t0, slope = (s.y1 - s.y0) / dt;
    slope_low_ = slope - slack / dt;
    slope_high_ = slope + slack / dt;
}

trace::Trace thinned(trace::View trace, double bucket) {
    trace::Trace out;
    std::size_t k = 0;
    while (k < trace.size()) {
        const std::size_t first = k;
        const double end = (std::floor(trace[first].t0 / bucket) + 1.0) * bucket;
        // All pieces that end within the bucket; a longer one stays as it is.
        while (k < trace.size() && trace[k].t1 <= end) ++k;
        if (k - first <= 3) {
            if (k == first) ++k;
            out.insert(out.end(), trace.begin() + static_cast<std::ptrdiff_t>(first),
                       trace.begin() + static_cast<std::ptrdiff_t>(k));
            continue;
        }
        struct At {
            double t, y;
        } low{0, 1e300}, high{0, -1e300};
        for (std::size_t n = first; n < k; ++n)
            for (const At p : {At{trace[n].t0, trace[n].y0}, At{trace[n].t1, trace[n].y1}}) {
                if (p.y < low.y) low = p;
                if (p.y > high.y) high = p;
            }
        At a{trace[first].t0, trace[first].y0}, b = low, c = high;
        const At d{trace[k - 1].t1, trace[k - 1].y1};
        if (c.t < b.t) std::swap(b, c);
        for (const At p : {b, c, d}) {
            if (p.t > a.t) out.push_back({a.t, p.t, a.y, p.y});
            a = p;
        }
    }
    return out;
}

}  // namespace sunshaft::view
