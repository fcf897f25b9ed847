// Recordings as CSV: both ends of every straight piece, so that jumps stay jumps. Written beside the target first and moved in
// place at the end: never half a file.
#pragma once

#include <cstdio>
#include <string>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::report {

class CsvWriter {
  public:
    // Empty path: standard output. Throws std::runtime_error in one line when the file cannot be made.
    CsvWriter(const std::string& path, const std::vector<std::string>& names);
    ~CsvWriter();
    CsvWriter(const CsvWriter&) = delete;
    CsvWriter& operator=(const CsvWriter&) = delete;
    void write(const trace::Recording& recording);
    void finish();

  private:
    std::string path_, temporary_;
    std::FILE* file_ = nullptr;
};

}  // namespace sunshaft::report
