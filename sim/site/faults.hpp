// The fault catalogue and the acts: one row each. To add a fault, add a row to the catalogue of its group
// (faults_array.cpp, faults_cable.cpp ...).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "site/cautions.hpp"
#include "site/works.hpp"

namespace sunshaft::site {

struct Fault {
    std::string kind, place;  // "high-resistance-splice", "v"
    double severity = 1.0;    // in the row's unit
    double start = 0.0;       // s, when it sets in
};
struct Act {
    std::string kind, place;  // "open", "isolator"
    double time = 0.0;
};

struct FaultRow {
    const char* kind;
    // array | dc side | bridge and control | cable and splice | motor | pump and water | guards |
    const char* group;
    // operator and meter
    const char* title;  // in the trade's words
    // What the severity counts and of what, so that nobody takes what is lost for what is left: "ohm left to earth",
    // "of the light lost", "times its draw-down". An SI unit, where there is one, comes first; severities are given in
    // it.
    const char* unit;
    double least, most, usual;  // range and default of the severity
    std::vector<std::string> (*places)(const Works&);
    void (*apply)(Works&, const std::string& place, double severity);
    const char* what;  // what it is
    const char* owner_sees;
    const char* to_do;
    Caution caution;
};
const std::vector<FaultRow>& fault_catalogue();
const FaultRow* find_fault(const std::string& kind);
// A severity of the range: share 0 its least, 1 its most, between them evenly, or by ratio where the usual one lies in
// the lowest twentieth (from a tenth of the usual at share 0.25 where the least is nothing). A range without an end
// counts as ending at a hundred times the usual, but share 1 is still the end itself.
double severity_at(const FaultRow& row, double share);
// The share at which a fault is as good as none: 0 of what is lost or added, 1 of what is left; that of a factor of
// one, of an offset of nothing. None: it does something at every severity (how far down a core is broken).
std::optional<double> nothing_at(const FaultRow& row);
std::string severity_unit(const FaultRow& row);                   // its SI unit alone, "ohm"; "" where it has none
std::string severity_text(const FaultRow& row, double severity);  // "3 ohm in the joint", "0.6 of the light lost"
std::string severity_range(const FaultRow& row);                  // "0 to 10 kohm in the contact, usual 4 ohm"
// "KIND@PLACE=SEVERITY@SECONDS"; severity and time may be left out, and the place where there is only one.
// Throws BadInput in one line, starting with `--fault: `.
Fault parse_fault(const std::string& text, const Works& works);
// The scenario's own [[fault]] tables. Throws BadInput that starts with the table's place in the file.
std::vector<Fault> planted_faults(const Scenario& scenario, const Works& works);
// Throws BadInput for an unknown kind or place or a severity out of range.
void apply(Works& works, const Fault& fault);

struct ActRow {
    const char* kind;  // open | close | pull | restore | cover | uncover | ...
    const char* what;
    std::vector<std::string> (*places)(const Works&);
    void (*apply)(Works&, const std::string& place);
    std::string (*says)(const std::string& place);  // an order: "Open the isolator"
    const char* done;                               // told afterwards of the place: "opened"
    // There is something left to do: of two opposites one would change nothing.
    bool (*applies)(const Works&, const std::string& place);
    const char* undoes = "";  // the act whose counterpart it is: that one does not stand any more
};                            // what it can bring: bench/hazards.hpp
const std::vector<ActRow>& act_catalogue();
const ActRow* find_act(const std::string& kind);
Act parse_act(const std::string& text, const Works& works);  // "ACT@PLACE@SECONDS"
void apply(Works& works, const Act& act);
// What of the acts done stands, as "open@isolator": adds one, or takes out what it undoes.
void stands(std::vector<std::string>& standing, const std::string& kind, const std::string& place);

}  // namespace sunshaft::site
