// A file written beside its place and moved there at the end: never half a file. Not finished, it leaves nothing behind.
#pragma once

#include <cstdio>
#include <string>
#include <string_view>

namespace sunshaft::report {

class FreshFile {
  public:
    // Throws std::invalid_argument in one line when the file cannot be made.
    explicit FreshFile(const std::string& path);
    ~FreshFile();
    FreshFile(const FreshFile&) = delete;
    FreshFile& operator=(const FreshFile&) = delete;
    // Both throw std::runtime_error in one line when the disk does not take it.
    void write(std::string_view data);
    void finish();

  private:
    std::string path_, temporary_;
    std::FILE* file_ = nullptr;
};

}  // namespace sunshaft::report
