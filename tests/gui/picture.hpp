// Pictures the window wrote, read back.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "window.hpp"

namespace sunshaft::test {

// Lightness 0 .. 1 of every pixel, row by row.
struct Grey {
    int width = 0, height = 0;
    std::vector<double> at;
    double operator()(int x, int y) const { return at[static_cast<std::size_t>(y * width + x)]; }
};

// Throws std::runtime_error when there is no such picture.
Grey grey(const std::filesystem::path& png);
// Every pixel the mean of its part of the larger picture.
Grey reduced(const Grey& picture, int width, int height);
// How many pixels differ by more than `by` in lightness.
int differing(const Grey& a, const Grey& b, double by = 0.02);

// What stands on a seven-segment display somewhere in this part of a picture, found by its unlit segments: "-250.7",
// "0L". Empty:
// no digits found. `digit_height` is that of the digits, in pixels.
struct Figures {
    std::string shown;
    int digit_height = 0;
};
struct Part {
    int x, y, w, h;
};
Figures read_segments(const Grey& picture, const Part& part);

// The window plays a script and ends; returns what it printed. Throws std::runtime_error with its words when it fails.
std::string play(const Display& display, const Scratch& scratch, const std::string& arguments,
                 const std::string& script);

}  // namespace sunshaft::test
