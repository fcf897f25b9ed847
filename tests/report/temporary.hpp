// A path nothing else writes to.
#pragma once

#include <unistd.h>

#include <filesystem>
#include <string>

namespace sunshaft::test {

inline std::string temporary(const char* name) {
    return (std::filesystem::temp_directory_path() / (std::to_string(getpid()) + name)).string();
}

}  // namespace sunshaft::test
