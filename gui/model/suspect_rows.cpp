#include "model/suspect_rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

std::array<int, 6> hundredths(const std::array<double, 6>& shares) {
    std::array<int, 6> out{};
    std::array<std::size_t, 6> order{0, 1, 2, 3, 4, 5};
    int sum = 0;
    for (std::size_t n = 0; n < 6; ++n) sum += out[n] = static_cast<int>(std::floor(100.0 * shares[n]));
    const auto rest = [&](std::size_t n) { return 100.0 * shares[n] - std::floor(100.0 * shares[n]); };
    std::ranges::stable_sort(order, [&](std::size_t a, std::size_t b) { return rest(a) > rest(b); });
    for (std::size_t n = 0; n < 6 && sum < 100; ++n, ++sum) ++out[order[n]];
    return out;
}

std::array<double, 6> where_with(const diagnose::Answer& a, const std::vector<double>& left) {
    std::array<double, 6> out{};
    double placed = 0.0;
    for (std::size_t n = 0; n < std::min(left.size(), a.suspects.size()); ++n)
        for (std::size_t k = 0; k < 6; ++k) {
            out[k] += left[n] * a.suspects[n].lies[k];
            placed += left[n] * a.suspects[n].lies[k];
        }
    if (placed <= 0.0) return a.where;
    for (double& x : out) x /= placed;
    return out;
}

std::vector<const diagnose::Compared*> telling(const diagnose::Suspect& suspect, std::size_t most) {
    std::vector<const diagnose::Compared*> rows;
    for (const auto& row : suspect.columns) rows.push_back(&row);
    std::ranges::stable_sort(rows, [](const diagnose::Compared* a, const diagnose::Compared* b) {
        return std::abs(a->off_healthy) > std::abs(b->off_healthy);
    });
    if (rows.size() > most) rows.resize(most);
    return rows;
}

const diagnose::Compared* compared(const Suspicion& known, const Note& note) {
    if (!known.answer || !known.answered || known.answer->suspects.empty()) return nullptr;
    const diagnose::Seen mine = seen_of(note);
    for (const auto& row : known.answer->suspects.front().columns) {
        if (row.seen >= known.answered->seen.size()) continue;
        const diagnose::Seen& other = known.answered->seen[row.seen];
        if (other.what() == mine.what() && other.mode == mine.mode && other.meter == mine.meter &&
            other.act == mine.act)
            return &row;
    }
    return nullptr;
}

std::vector<std::string> places_of(const diagnose::Proposal& test) {
    std::vector<std::string> list;
    const auto add = [&](const std::string& place) {
        if (!place.empty() && std::ranges::find(list, place) == list.end()) list.push_back(place);
    };
    const auto all = [&](const bench::Observation& o) {
        if (!o.gauge.empty()) return;
        add(o.probes.red), add(o.probes.black), add(o.probes.around);
    };
    all(test.what);
    std::ranges::for_each(test.also, all);
    return list;
}

Box box_of(const SiteDrawing& d, std::size_t where) {
    switch (where) {
        case 1: return d.array;
        case 2: return d.drive;
        case 3: return d.tank ? d.tank->box : Box{};
        case 4: return d.bore ? d.bore->box : Box{};
        default: return {};
    }
}

std::vector<std::string> steps_of(const diagnose::Proposal& test) {
    std::vector<std::string> steps;
    const auto all = [&](const std::vector<std::string>& acts) {
        for (const std::string& act : acts) {
            const std::size_t at = act.find('@');
            if (const site::ActRow* row = site::find_act(act.substr(0, at)))
                steps.push_back(row->says(act.substr(at + 1)));
        }
    };
    all(test.act);
    if (test.what.gauge.empty() || !test.undo.empty()) {  // how says it else
        std::string places = test.what.where();
        for (const auto& look : test.also) places += "; " + look.where();
        steps.push_back(text::say("Read: {}.", places));
    }
    all(test.undo);
    return steps;
}

}  // namespace sunshaft::view
