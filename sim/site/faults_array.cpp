#include "site/fault_groups.hpp"

namespace sunshaft::site {

std::vector<FaultRow> array_faults() {
    return {
        {"open-string", "array", "whole string open", "", 1, 1, 1, string_places,
         [](Works& works, const std::string& place, double) { string_at(works, place).joints.back().open = true; },
         "A string carries no current at all: a connector parted or a conductor broken somewhere in it.",
         "With one string the system is dead; with several it runs, but only with the sun of the others.",
         "Find the break by walking the connectors of the string from one end, controller off; mend or replace the joint.",
         "Modules stay live in light. Isolate, cover the array, prove dead; never part a connector under load."},
    };
}

}  // namespace sunshaft::site
