#include "diagnose/least_seen.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "bench/senses.hpp"
#include "diagnose/trials.hpp"

namespace sunshaft::diagnose {
namespace {

using bench::FieldTest;

constexpr double seen_from = 3.0, quite_other = 1e9;

// Of its range the end that the usual severity lies towards, and where it is none: shares.
struct Way {
    double none, worst;
};
Way way(const site::FaultRow& row) {
    const double none = site::nothing_at(row).value_or(0.0);
    return {none, none < 1.0 && row.usual >= site::severity_at(row, none) ? 1.0 : 0.0};
}
// So much of a fault.
double severity_of(const site::FaultRow& row, double much) {
    if (row.least == row.most) return row.usual;
    const auto [none, worst] = way(row);
    return site::severity_at(row, none + much * (worst - none));
}

// A fault and a test while the least severity is looked for: it is not seen at `low`, it is at `high`.
struct Search {
    std::size_t row, test;
    double low = 0.0, low_distance = 0.0, high = 1.0, high_distance = quite_other;
    double next() const {
        if (high > 0.99 && low <= 0.0) return 0.5;
        if (low <= 0.0) return 0.4 * high;
        return crossing();
    }
    double crossing() const {
        // From next to nothing on: no band is finer than a thousandth of itself.
        const double from = std::log(std::max(low_distance, 1e-3)), to = std::log(std::min(high_distance, 1e3));
        const double at = to > from ? (std::log(seen_from) - from) / (to - from) : 0.5;
        return low + std::clamp(at, 0.1, 0.9) * (high - low);
    }
};

class Map {
  public:
    explicit Map(Sights& sights) : sights_(sights), works_(site::set_up(sights.scenario())) {
        for (const FieldTest& t : bench::field_tests()) looks_.push_back(t.observations(works_));
    }

    std::vector<LeastSeen> rows(const std::string& kind) const {
        std::vector<LeastSeen> list;
        for (const site::FaultRow& row : site::fault_catalogue()) {
            const auto places = row.places(works_);
            // A badly held meter is no fault of the site.
            if (places.empty() ||
                (kind.empty() ? std::string_view(row.group) == "operator and meter" : kind != row.kind))
                continue;
            const std::vector<double> never(looks_.size(), std::numeric_limits<double>::quiet_NaN());
            if (kind.empty()) list.push_back({&row, places[places.size() / 2], never});
            else
                for (const std::string& place : places) list.push_back({&row, place, never});
        }
        return list;
    }

    void fill(std::vector<LeastSeen>& rows, const std::function<bool(double)>& progress) {
        std::vector<Search> searched;
        for (std::size_t r = 0; r < rows.size(); ++r)
            for (std::size_t t = 0; t < looks_.size(); ++t)
                if (!looks_[t].empty()) searched.push_back({r, t});
        const auto part = [&](double from, double to) {
            return [&progress, from, to](double f) { return !progress || progress(from + f * (to - from)); };
        };
        // All there can be of it first: what is not seen then is looked at no more.
        const std::vector<double> most(searched.size(), 1.0);
        const auto whole = distances(rows, searched, most, part(0.0, 0.5));
        std::vector<Search> left;
        for (std::size_t n = 0; n < searched.size(); ++n) {
            if (!(whole[n] > seen_from)) continue;
            searched[n].high_distance = whole[n];
            LeastSeen& row = rows[searched[n].row];
            row.much[searched[n].test] = 1.0;
            if (row.row->least != row.row->most) left.push_back(searched[n]);
        }
        constexpr int rounds = 3;
        for (int round = 0; round < rounds; ++round) {
            std::vector<double> much;
            for (const Search& s : left) much.push_back(s.next());
            const double from = 0.5 + 0.5 * round / rounds;
            const auto found = distances(rows, left, much, part(from, from + 0.5 / rounds));
            for (std::size_t n = 0; n < left.size(); ++n) {
                if (found[n] > seen_from) left[n].high = much[n], left[n].high_distance = found[n];
                else left[n].low = much[n], left[n].low_distance = found[n];
            }
        }
        for (const Search& s : left) rows[s.row].much[s.test] = s.low > 0.0 ? s.crossing() : s.high;
    }

  private:
    Sights::Ask asked(const LeastSeen& row, std::size_t test, double much) const {
        Sights::Ask ask;
        if (much > 0.0) ask.change.faults.push_back({row.row->kind, row.place, severity_of(*row.row, much), 0.0});
        ask.state = state_for(bench::field_tests()[test].station, works_);
        for (const bench::Observation& o : looks_[test]) ask.looks.push_back({o.probes, o.mode, o.gauge, "", false});
        return ask;
    }

    std::vector<double> distances(const std::vector<LeastSeen>& rows, const std::vector<Search>& of,
                                  const std::vector<double>& much, const std::function<bool(double)>& progress) {
        std::vector<Sights::Ask> ask;
        for (std::size_t t = 0; t < looks_.size(); ++t) ask.push_back(asked(rows.front(), t, 0.0));
        for (std::size_t n = 0; n < of.size(); ++n) ask.push_back(asked(rows[of[n].row], of[n].test, much[n]));
        const auto seen = sights_.see(ask, progress);
        std::vector<double> out;
        for (std::size_t n = 0; n < of.size(); ++n)
            out.push_back(distance(bench::field_tests()[of[n].test], looks_[of[n].test], seen[looks_.size() + n],
                                   seen[of[n].test]));
        return out;
    }

    Sights& sights_;
    site::Works works_;
    std::vector<std::vector<bench::Observation>> looks_;  // by test
};

}  // namespace

double distance(const FieldTest& test, const std::vector<bench::Observation>& looks, const Sight& ill,
                const Sight& healthy) {
    if (!ill.possible || !healthy.possible) return 0.0;
    // What is compared as a share of the link's volts, which are looked at last.
    const auto per = [&](const Sight& s) {
        const bool of_link = test.of_link && s.shown.size() > looks.size() && std::abs(s.shown.back().value) > 1.0;
        return of_link ? 1.0 / std::abs(s.shown.back().value) : 1.0;
    };
    const double per_ill = per(ill), per_healthy = per(healthy);
    double worst = 0.0;
    for (std::size_t n = 0; n < looks.size(); ++n) {
        const Shown &a = ill.shown[n], &b = healthy.shown[n];
        if (a.kind != b.kind) return quite_other;
        if (a.kind != Shown::Kind::figure) continue;
        if (bench::told_in_words(looks[n].gauge)) {  // the value only tells one from another
            if (a.value != b.value) return quite_other;
            continue;
        }
        const auto open = [&](const Shown& s, double share) {
            return share * (std::max(s.band, s.step) + test.share * std::abs(s.value)) + test.least;
        };
        const double off = std::abs(per_ill * a.value - per_healthy * b.value);
        worst = std::max(worst, off / std::max(open(a, per_ill) + open(b, per_healthy), 1e-12));
    }
    return worst;
}

double LeastSeen::severity(std::size_t test) const { return severity_of(*row, much[test]); }

bool LeastSeen::fewer_is_worse() const { return way(*row).worst < way(*row).none; }

std::vector<LeastSeen> least_seen(Sights& sights, const std::string& kind,
                                  const std::function<bool(double)>& progress) {
    Map map(sights);
    std::vector<LeastSeen> rows = map.rows(kind);
    if (!rows.empty()) map.fill(rows, progress);
    sights.keep();
    return rows;
}

}  // namespace sunshaft::diagnose
