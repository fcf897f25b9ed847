// A fuzzer's own assert, in every build.
#pragma once

#include <cstdint>
#include <cstdio>
#include <cstdlib>

inline void demand(bool holds, const char* what) {
    if (holds) return;
    std::fprintf(stderr, "does not hold: %s\n", what);
    std::abort();
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
