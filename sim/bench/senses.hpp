// What eyes and ears tell, as words that have a number each (Bench::Gauge::value): for whoever keeps the numbers only.
#pragma once

#include <string>

namespace sunshaft::bench {

// Of Bench::gauges() those that are told in words: lamps, outlet, sound, drive_stop.
bool told_in_words(const std::string& gauge);
// The words of such a number; of a sound without the hertz that go with it.
std::string sense_words(const std::string& gauge, unsigned number);

}  // namespace sunshaft::bench
