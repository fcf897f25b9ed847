// The meters one can choose from: those that come with the program and the user's own, and what has been changed on
// them.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "meter/meter.hpp"

namespace sunshaft::view {

// Settings changed on a meter, by the stem of its file; the last word on a key stands.
using MeterChanges = std::map<std::string, std::vector<std::pair<std::string, std::string>>>;

// $XDG_DATA_HOME/sunshaft/meters or ~/.local/share/sunshaft/meters; empty when there is neither.
std::filesystem::path own_meters_folder();

// All of them, the user's own last. A file of theirs that cannot be read is left out; its one line of words goes to
// `trouble`.
std::vector<meter::Spec> meters_at_hand(std::string* trouble = nullptr);
std::string stem_of(const meter::Spec& spec);
// By stem. Throws meter::SpecError as meter::find_spec does.
meter::Spec find_meter(const std::string& stem);
// With its changes made. Throws std::invalid_argument for one that does not fit.
meter::Spec with_changes(meter::Spec spec, const MeterChanges& changes);
// Writes a meter into the user's own folder under a stem that is still free, named after it; returns the stem. Throws
// std::runtime_error in one line.
std::string save_as_own(meter::Spec spec);

}  // namespace sunshaft::view
