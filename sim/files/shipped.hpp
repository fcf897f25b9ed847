// Where what comes with the program lies: sites, meters, the module table.
#pragma once

#include <string>

namespace sunshaft::files {

// The folder that holds scenarios/ and assets/. The first of these that does: $SUNSHAFT_DATA; ../share/sunshaft
// beside the running program's folder; a folder above the program (a source tree it was built in); the source
// tree it was compiled from. Looked for once; when none holds them, the last.
const std::string& shipped_data();

}  // namespace sunshaft::files
