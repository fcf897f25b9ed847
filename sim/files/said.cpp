#include "files/said.hpp"

#include <atomic>
#include <cstring>

namespace sunshaft::files {
namespace {
std::atomic<Translate> translate = nullptr;
}  // namespace

void speak_by(Translate tr) { translate = tr; }

const char* said(const char* english) {
    const Translate tr = translate;
    return tr ? tr(english) : english;
}

const char* reason(int error) { return said(std::strerror(error)); }

}  // namespace sunshaft::files
