// A call-out as a file: what the learner may know in plain words, the truth sealed.
//
// This keeps honest people honest, no more: the program has to know the fault to compute the site, so it holds the key.
// The word an instructor gives is kept as a hash; without it no verb tells the truth before the end.
#pragma once

#include <string>

#include "callout/callout.hpp"

namespace sunshaft::callout {

// TOML. Sealed anew each time (another nonce), so that equal faults do not look equal.
std::string sealed(const Callout& callout);
// Throws site::BadInput in one line with the place of the mistake; also where the seal is broken.
Callout unsealed(std::string_view text, const std::string& file);
// Its site as it can be opened: beside the file, or shipped.
Callout read_callout(const std::string& file);
// The file looks like a call-out: worth reading as one.
bool is_callout(const std::string& file);
// The word is right, or none was given. callout: as unsealed() made it.
bool opens(const Callout& callout, const std::string& word);

}  // namespace sunshaft::callout
