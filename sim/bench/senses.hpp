// What eyes and ears tell, as words that have a number each (Bench::Gauge::value): for whoever keeps the numbers only.
// And the units of what has a figure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace sunshaft::bench {

// Of Bench::gauges() those that are told in words: lamps, outlet, settles, sound, drive_stop.
bool told_in_words(const std::string& gauge);
// The words of such a number; of a sound without the hertz that go with it.
std::string sense_words(const std::string& gauge, unsigned number);
// Which number somebody tells of, in whatever language there is a catalogue of: lamps in any order, of a sound what it
// begins with.
std::optional<unsigned> sense_told(const std::string& gauge, const std::string& said);
// Two numbers of a sound that differ in nothing but a noise in the pipe that one of them lacks: it may be missed.
bool may_be_missed(unsigned told, unsigned there);

// The unit of a gauge's figure, SI: "m3/s", "m", "degC" ...; "" of what is told in words and of what is no gauge.
std::string_view gauge_unit(std::string_view gauge);
// Such a figure as people read it: a flow in m3/h.
std::string figure_words(double value, std::string_view unit, int digits);

}  // namespace sunshaft::bench
