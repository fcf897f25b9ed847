#include "report/csv.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <iterator>
#include <stdexcept>

namespace sunshaft::report {

CsvWriter::CsvWriter(const std::string& path, const std::vector<std::string>& names) {
    if (!path.empty()) file_.emplace(path);
    std::string heading = "time_s";
    for (const std::string& name : names) heading += fmt::format(",{}", name);
    put(heading + '\n');
}

void CsvWriter::put(std::string_view text) {
    if (file_) file_->write(text);
    else if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size()) throw std::runtime_error("standard output: writing failed");
}

void CsvWriter::write(const trace::Recording& r) {
    fmt::memory_buffer out;
    auto row = [&](double t, const std::vector<std::vector<double>>& y, std::size_t n) {
        fmt::format_to(std::back_inserter(out), "{:.10g}", t);
        for (const auto& column : y) {
            if (std::isfinite(column[n])) fmt::format_to(std::back_inserter(out), ",{:.8g}", column[n]);
            else out.push_back(',');
        }
        out.push_back('\n');
    };
    for (std::size_t n = 0; n < r.rows(); ++n) {
        row(r.t0[n], r.y0, n);
        row(r.t1[n], r.y1, n);
    }
    put({out.data(), out.size()});
}

void CsvWriter::finish() {
    if (file_) file_->finish();
    else std::fflush(stdout);
}

}  // namespace sunshaft::report
