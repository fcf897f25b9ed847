// What is shown of an answer (diagnose/suspects.hpp): chosen, sorted and rounded, free of drawing.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "diagnose/suspects.hpp"
#include "model/geometry.hpp"
#include "model/notebook.hpp"
#include "model/site_drawing.hpp"
#include "model/suspecting.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

inline constexpr double far_off = 2.0;  // standard deviations from what health would show

// Shares in hundredths that add up to 100 (largest remainders).
std::array<int, 6> hundredths(const std::array<double, 6>& shares);
// The six places of the first question, in few words.
inline constexpr std::array<const char*, 6> where_words = {
    text::id("waiting"),       text::id("array"),          text::id("box"),
    text::id("above\nground"), text::id("down\nthe bore"), text::id("site data\nor meter")};
// What would be left of them with these probabilities of the suspects.
std::array<double, 6> where_with(const diagnose::Answer& answer, const std::vector<double>& left);
// The readings that set a suspect apart from health the most, strongest first; at most so many.
std::vector<const diagnose::Compared*> telling(const diagnose::Suspect& suspect, std::size_t most);
// What health would show in place of a reading of the notebook, as far as that was weighed; null: it was not.
const diagnose::Compared* compared(const Suspicion& known, const Note& note);
// Test points and conductors that a proposed test touches.
std::vector<std::string> places_of(const diagnose::Proposal& test);
// Where one of the six places stands in the drawing; empty: nowhere in it.
Box box_of(const SiteDrawing& drawing, std::size_t where);
// The steps to the state a test is done in, as orders, and what is set and read.
std::vector<std::string> steps_of(const diagnose::Proposal& test);

}  // namespace sunshaft::view
