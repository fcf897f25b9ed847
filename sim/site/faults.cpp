#include "site/faults.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

#include "roots/roots.hpp"
#include "site/fault_groups.hpp"
#include "site/keys.hpp"
#include "site/order.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

std::vector<std::string_view> kinds() {
    std::vector<std::string_view> list;
    for (const FaultRow& row : fault_catalogue()) list.push_back(row.kind);
    return list;
}

// The row and the place checked; empty place means the only one there is.
const FaultRow& checked(Fault& fault, const Works& works) {
    const FaultRow* row = find_fault(fault.kind);
    if (!row)
        throw BadInput(unknown_word(fault.kind, text::tr("a fault of the catalogue (see `sunshaft faults`)"), kinds()));
    const Places places = row->places(works);
    if (places.empty())
        throw BadInput(text::say("{}: there is no place for it on this site, expected another fault", row->kind));
    if (fault.place.empty() && places.size() == 1) fault.place = places.front();
    if (std::find(places.begin(), places.end(), fault.place) == places.end())
        throw BadInput(fmt::format("{}: {}", row->kind, unknown_place(fault.place, places)));
    if (!(fault.severity >= row->least && fault.severity <= row->most))
        throw BadInput(text::say("{}: severity is {}, expected {}", row->kind, fault.severity, severity_range(*row)));
    if (!(fault.start >= 0.0 && fault.start <= latest_s))
        throw BadInput(text::say("{}: starts at {} s, expected 0 to {} s", row->kind, fault.start, latest_s));
    return *row;
}

}  // namespace

const std::vector<FaultRow>& fault_catalogue() {
    static const std::vector<FaultRow> rows = [] {
        std::vector<FaultRow> all;
        for (auto* group : {array_faults, module_faults, dc_faults, drive_faults, control_faults, cable_faults,
                            motor_faults, water_faults, main_faults, guard_faults, meter_faults}) {
            std::vector<FaultRow> part = group();
            std::move(part.begin(), part.end(), std::back_inserter(all));
        }
        return all;
    }();
    return rows;
}

double severity_at(const FaultRow& row, double share) {
    if (share == 1.0) return row.most;
    const double most = std::isinf(row.most) ? 100 * std::max(row.usual, 1.0) : row.most;
    if (row.least < 0.0 || row.usual - row.least > 0.05 * (most - row.least))
        return row.least + share * (most - row.least);
    if (row.least > 0.0) return row.least * std::pow(most / row.least, share);
    const double first = 0.1 * row.usual;
    return share < 0.25 ? share / 0.25 * first : first * std::pow(most / first, (share - 0.25) / 0.75);
}

std::optional<double> nothing_at(const FaultRow& row) {
    const std::string_view unit(row.unit);
    const auto says = [&](std::string_view words) { return unit.find(words) != std::string_view::npos; };
    if (row.least == row.most || says("of the way down") || says("of the way from")) return std::nullopt;
    if (says(" left")) return 1.0;
    const double none = says("times") ? 1.0 : 0.0;
    if (none < row.least || none > row.most) return std::nullopt;
    if (none == row.least) return 0.0;
    return roots::root([&](double share) { return severity_at(row, share) - none; }, 0.0, 1.0, row.least - none,
                       row.most - none, 1e-9);
}

std::string severity_unit(const FaultRow& row) {
    const std::string_view unit(row.unit);
    for (const std::string_view si : {"ohm", "N m", "degC", "mm", "m", "A", "s"})
        if (unit == si || (unit.size() > si.size() && unit.substr(0, si.size()) == si && unit[si.size()] == ' '))
            return std::string(si);
    return "";
}

std::string severity_text(const FaultRow& row, double severity) {
    const std::string unit = severity_unit(row);
    const std::string counts = text::tr(row.unit);
    const std::string rest = unit.empty() && *row.unit ? " " + counts : counts.substr(unit.size());
    return text::quantity(severity, unit, 3) + rest;
}

std::string severity_range(const FaultRow& row) {
    if (row.least == row.most) return text::tr("none: it is there or not");
    const std::string unit = severity_unit(row), usual = text::quantity(row.usual, unit, 3);
    const std::string least = text::quantity(row.least, unit, 3);
    if (std::isinf(row.most))
        return text::say("{} or more (inf: open), usual {}", severity_text(row, row.least), usual);
    return text::say("{} to {}, usual {}", least, severity_text(row, row.most), usual);
}

std::string Caution::said() const {
    std::string row;
    for (const char* sentence : sentences)
        if (sentence) row.append(row.empty() ? "" : " ").append(text::tr(sentence));
    return row;
}

const FaultRow* find_fault(const std::string& kind) {
    for (const FaultRow& row : fault_catalogue())
        if (kind == row.kind) return &row;
    return nullptr;
}

Fault parse_fault(const std::string& text, const Works& works) {
    try {
        Order order = parse_order(text);
        Fault fault{order.kind, order.place, 0.0, order.time};
        const FaultRow* row = find_fault(fault.kind);
        fault.severity = order.value.value_or(row ? row->usual : 0.0);
        checked(fault, works);
        return fault;
    } catch (const BadInput& e) {
        throw BadInput(fmt::format("--fault: {}", e.what()));
    }
}

std::vector<Fault> planted_faults(const Scenario& scenario, const Works& works) {
    std::vector<Fault> faults;
    for (const PlantedFault& planted : scenario.faults) {
        Fault fault{planted.kind, planted.place, planted.severity, planted.at_s};
        try {
            checked(fault, works);
        } catch (const BadInput& e) {
            throw BadInput(fmt::format("{}: fault: {}", planted.where.empty() ? "scenario" : planted.where, e.what()));
        }
        faults.push_back(fault);
    }
    return faults;
}

void apply(Works& works, const Fault& fault) {
    Fault settled = fault;
    const FaultRow& row = checked(settled, works);
    row.apply(works, settled.place, settled.severity);
}

}  // namespace sunshaft::site
