// Recordings as CSV and JSON: both ends of every straight piece, so that jumps stay jumps.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "files/fresh_file.hpp"
#include "trace/trace.hpp"

namespace sunshaft::report {

class CsvWriter {
  public:
    // Empty path: standard output. Throws as files::FreshFile does.
    CsvWriter(const std::string& path, const std::vector<std::string>& names);
    void write(const trace::Recording& recording);
    void finish();

  private:
    void put(std::string_view text);
    std::optional<files::FreshFile> file_;
};

// {"time_s": [...], "signals": [{"name", "unit", "values": [...]}]}; a value that does not exist is null.
void write_json(const std::string& path, const trace::Recording& recording);

}  // namespace sunshaft::report
