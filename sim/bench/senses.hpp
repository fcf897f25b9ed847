// What eyes, ears, hands and noses tell, as words that have a number each (Bench::Gauge::value): for whoever keeps the
// numbers only. And the units of what has a figure.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::bench {

// Of Bench::gauges() those that are told in words: lamps, drive_stop, outlet, settles, sound, vibration, box, lug,
// smell. A lug may be one place or several: lug.isolator, lug.drive.u, lug.connector, lug.s1.m3-.
bool told_in_words(const std::string& gauge);
// The words of such a number; of a sound without the hertz that go with it.
std::string sense_words(const std::string& gauge, unsigned number);
// Which number somebody tells of, in whatever language there is a catalogue of: lamps in any order, of a sound what it
// begins with.
std::optional<unsigned> sense_told(const std::string& gauge, const std::string& said);
// What somebody tells of one of them in words of his own: "smells burnt", "the box is warm", "pipe knocks".
struct Sensed {
    std::string gauge;
    unsigned number;
};
std::optional<Sensed> sensed_in(const std::string& said);

// What such a number is made of: it is first + size of the first * (second + size of the second * (third ...)), each
// by its English words. A sound is what the motor does and what is heard in the pipe with it, lamps are lit or dark.
struct SensePart {
    std::string name;  // "lamps", "sound", "pipe noise": the same for parts that are told equally well
    std::vector<std::string> words;
};
std::vector<SensePart> sense_parts(const std::string& gauge);

// The unit of a gauge's figure, SI: "m3/s", "m", "degC" ...; "" of what is told in words and of what is no gauge.
std::string_view gauge_unit(std::string_view gauge);
// Such a figure as people read it: a flow in m3/h.
std::string figure_words(double value, std::string_view unit, int digits);

}  // namespace sunshaft::bench
