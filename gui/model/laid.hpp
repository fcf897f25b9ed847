// A recording made elsewhere (COMTRADE, CSV) to be laid over the scope: which of its signals goes with which channel,
// and where in it the sweep lies that the trigger catches.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "model/scope_view.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

struct LaidSignal {
    std::string name, unit;  // unit empty: the file does not say
    trace::Trace wave;       // what is recorded throughout
    Span span;
    double frequency_Hz = 0.0;  // of its steady end; 0: none was found
    double rms = 0.0;           // over whole turns there, or over all of it
};

struct Laid {
    std::string name;  // of the file, without folders
    std::vector<LaidSignal> signals;

    // What belongs to that channel: its namesake, or else the first not yet taken of its unit, in the file's order;
    // where the file knows no units, the first not yet taken at all. Null: none is left.
    const LaidSignal* beside(const std::vector<Wave>& waves, std::size_t which) const;
    // The stretch of the recording that lies under what the scope shows: the fundamental of what belongs to channel
    // `source` in step with that channel's own, which is `Hz`. Where either has none, what the trigger catches.
    std::optional<Stretch> stretch(const std::vector<Wave>& waves, std::size_t source, Trigger trigger,
                                   const Stretch& shown, double Hz) const;
};

// By the ending: .csv, .txt or .cfg, up to 16 MB. Throws site::BadInput in one line.
std::shared_ptr<const Laid> lay(const std::string& path);

}  // namespace sunshaft::view
