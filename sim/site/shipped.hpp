// The sites that come with the program.
#pragma once

#include <string>
#include <vector>

namespace sunshaft::site {

// Their files in shipped_scenarios() (load.hpp), by name; what else lies there (priors.toml, skies.toml) is none.
std::vector<std::string> shipped_sites();

}  // namespace sunshaft::site
