#include "circuit/circuit.hpp"

#include <fmt/format.h>

#include <cassert>
#include <cmath>
#include <stdexcept>

namespace sunshaft::circuit {
namespace {

const char* word(Circuit::Kind kind) {
    switch (kind) {
        case Circuit::Kind::resistor: return "resistor";
        case Circuit::Kind::current_source: return "current source";
        case Circuit::Kind::voltage_source: return "voltage source";
        case Circuit::Kind::nonlinear: return "nonlinear branch";
        case Circuit::Kind::capacitor: return "capacitor";
    }
    return "branch";
}

}  // namespace

Node Circuit::node(std::string_view name) {
    const auto [place, made] = by_name_.try_emplace(std::string(name), nodes());
    if (made) names_.emplace_back(name);
    return place->second;
}

std::optional<Node> Circuit::find(std::string_view name) const {
    const auto place = by_name_.find(std::string(name));
    return place == by_name_.end() ? std::nullopt : std::optional<Node>(place->second);
}

const std::string& Circuit::name(Node n) const {
    assert(n >= 0 && n < nodes());
    return names_[static_cast<std::size_t>(n)];
}

int Circuit::nodes() const { return static_cast<int>(names_.size()); }

int Circuit::branches() const { return static_cast<int>(branches_.size()); }

const Circuit::BranchInfo& Circuit::info(Branch b) const {
    assert(b >= 0 && b < branches());
    return branches_[static_cast<std::size_t>(b)];
}

const CurrentLaw* Circuit::law(Branch b) const {
    assert(b >= 0 && b < branches());
    return laws_[static_cast<std::size_t>(b)].get();
}

std::string Circuit::describe(Branch b) const {
    const BranchInfo& what = info(b);
    if (!what.label.empty()) return what.label;
    return fmt::format("{} {} - {}", word(what.kind), name(what.a), name(what.b));
}

Branch Circuit::add(BranchInfo what, std::shared_ptr<const CurrentLaw> law) {
    assert(what.a >= 0 && what.a < nodes() && what.b >= 0 && what.b < nodes());
    const Branch made = branches();
    if (!what.label.empty() && by_label_.count(what.label) > 0)
        throw std::invalid_argument(fmt::format("there is already a branch called {}", what.label));
    const double value = what.value, ohm = what.ohm;
    branches_.push_back(std::move(what));
    laws_.push_back(std::move(law));
    try {
        if (info(made).kind != Kind::resistor && info(made).kind != Kind::nonlinear) set_value(made, value);
        if (info(made).kind == Kind::resistor || info(made).kind == Kind::voltage_source) set_ohm(made, ohm);
    } catch (...) {
        branches_.pop_back();
        laws_.pop_back();
        throw;
    }
    if (!info(made).label.empty()) by_label_.emplace(info(made).label, made);
    return made;
}

Branch Circuit::resistor(Node a, Node b, double ohm, std::string label) {
    return add({Kind::resistor, a, b, 0.0, ohm, std::move(label)});
}

Branch Circuit::current_source(Node a, Node b, double ampere, std::string label) {
    return add({Kind::current_source, a, b, ampere, 0.0, std::move(label)});
}

Branch Circuit::voltage_source(Node a, Node b, double volt, double ohm, std::string label) {
    return add({Kind::voltage_source, a, b, volt, ohm, std::move(label)});
}

Branch Circuit::nonlinear(Node a, Node b, std::shared_ptr<const CurrentLaw> law, std::string label) {
    assert(law);
    return add({Kind::nonlinear, a, b, 0.0, 0.0, std::move(label)}, std::move(law));
}

Branch Circuit::capacitor(Node a, Node b, double farad, std::string label) {
    return add({Kind::capacitor, a, b, farad, 0.0, std::move(label)});
}

std::optional<Branch> Circuit::find_branch(std::string_view label) const {
    const auto place = by_label_.find(std::string(label));
    return place == by_label_.end() ? std::nullopt : std::optional<Branch>(place->second);
}

void Circuit::set_ohm(Branch b, double ohm) {
    const Kind kind = info(b).kind;
    if (kind != Kind::resistor && kind != Kind::voltage_source)
        throw std::invalid_argument(fmt::format("{}: a {} has no resistance to set", describe(b), word(kind)));
    if (!(ohm >= 0.0)) throw std::invalid_argument(fmt::format("{}: {} ohm; expected 0 or more", describe(b), ohm));
    branches_[static_cast<std::size_t>(b)].ohm = ohm;
}

void Circuit::set_value(Branch b, double value) {
    const Kind kind = info(b).kind;
    if (kind == Kind::resistor || kind == Kind::nonlinear)
        throw std::invalid_argument(fmt::format("{}: a {} has no source value to set", describe(b), word(kind)));
    if (!std::isfinite(value) || (kind == Kind::capacitor && value < 0.0))
        throw std::invalid_argument(fmt::format("{}: {} is no value for a {}", describe(b), value, word(kind)));
    branches_[static_cast<std::size_t>(b)].value = value;
}

}  // namespace sunshaft::circuit
