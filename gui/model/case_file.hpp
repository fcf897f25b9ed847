// A case's file (diagnose/case.hpp) opened on the bench: its site, under its sky, and its readings in the notebook.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "diagnose/case.hpp"
#include "model/notebook.hpp"

namespace sunshaft::view {

class Desk;

// Nothing: the file holds no case (a site, a lesson, no TOML at all).
std::optional<diagnose::Case> case_in(const std::string& file);

// Those of its readings that a notebook tells again word for word. The others stay in the file alone: read when all
// was well, with zeroed or measured leads, of a lamp that is off.
std::vector<Note> notes_of(const diagnose::Case& c);

// On the bench of the case's site: its sky, and those of its notes that are not there yet. Returns what to say of it;
// nothing of a case without readings.
std::string bring_case(Desk& desk, const diagnose::Case& c);

}  // namespace sunshaft::view
