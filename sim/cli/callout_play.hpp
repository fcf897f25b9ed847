// Playing a call-out in the terminal, line by line.
#pragma once

#include <string>
#include <vector>

#include "callout/record.hpp"

namespace sunshaft::cli {

struct PlayOptions {
    std::string file;     // sealed; empty: what is unfinished in the journal
    std::string notes;    // a case file kept beside; empty: none
    std::string journal;  // empty: the usual one of these people
    std::string page;     // the account as a PDF; empty: none
    std::vector<std::string> who;
    callout::Terms terms;
    bool keeps = true;  // a journal at all
};
int play_callout(const PlayOptions& options);

}  // namespace sunshaft::cli
