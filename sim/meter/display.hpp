// From a number to what stands on the display: range, rounding, over-range, accuracy band. And numbers in
// sentences.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "meter/reading.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::meter {

// Smallest step the display can show on a range: a power of ten on digits, full scale / counts on a scale.
double resolution(const Spec& spec, double full_scale);

struct Display {
    double range = 0.0, resolution = 0.0;
    bool over = false;
    double rounded = 0.0;
    std::string text;
};
// Auto range: the smallest that holds the value; the manual one must exist (std::invalid_argument).
Display display(const Spec& spec, Mode mode, double value, std::optional<double> manual_range);
std::string over_text(const Spec& spec);

struct Band {
    double tolerance = 0.0;  // +-, SI
    bool stated = true;      // the data sheet has a line for this range and frequency; else its first line was taken
};
// +-(percent of reading + counts x resolution + percent of range). No frequency: DC, or a mode where it does
// not matter.
Band accuracy(const Function& function, double value, double range, double resolution,
              std::optional<double> frequency_Hz);

// A display as a reading of its own, with the band it stands for.
void set_display(const Spec& spec, Mode mode, double value, const Display& shown, Reading& reading);

using text::quantity;  // how figures stand in sentences

// Builds sentences whose every number is a named figure of the reading. A figure's text bears its name until the
// sentence it stands in is said: two may look alike, and another language has another order.
class Words {
  public:
    explicit Words(Reading& reading) : reading_(reading) {}
    std::string operator()(std::string name, double value, std::string_view unit);
    // The display's own text as a figure.
    std::string shown(double rounded);
    // In the language spoken; said() takes what is laid down already.
    template <class... Figures>
    void say(fmt::format_string<Figures...> english, Figures&&... figures) {
        said(text::say(english, std::forward<Figures>(figures)...));
    }
    template <class... Figures>
    void warn(fmt::format_string<Figures...> english, Figures&&... figures) {
        put(reading_.warnings, text::say(english, std::forward<Figures>(figures)...));
    }
    void said(std::string_view sentence) { put(reading_.reasons, sentence); }

  private:
    void put(std::vector<std::string>& where, std::string_view sentence);
    Reading& reading_;
};

}  // namespace sunshaft::meter
