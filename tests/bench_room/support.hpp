// What the tests of the bench share: a shipped site set up, one reading, a recording.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "catch_shim.hpp"
#include "look.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::test {

inline bench::Bench at(const char* name, const bench::Edits& edits = {}) {
    return bench::Bench(site::load_scenario(site::find_scenario(name)), edits);
}
// What a DC voltmeter of 10 Mohm shows; over range: not a number.
inline double volts(bench::Bench& b, const char* red, const char* black) {
    return read(b, meter::find_spec("true-rms"), meter::Mode::dcv, {red, black, ""}).value.value_or(std::nan(""));
}
// Signals by name over the next seconds.
inline std::vector<trace::Trace> recorded(bench::Bench& b, const std::vector<std::string>& names, double seconds) {
    std::vector<plant::Signal> signals;
    for (const auto& n : names) signals.push_back(plant::signal(*b.site(), n));
    plant::Recorder r(signals);
    b.advance(seconds, &r);
    std::vector<trace::Trace> out;
    for (std::size_t k = 0; k < names.size(); ++k) out.push_back(r.recording.signal(k));
    return out;
}

}  // namespace sunshaft::test
