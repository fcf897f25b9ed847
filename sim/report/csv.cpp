#include "report/csv.hpp"

#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <stdexcept>

namespace sunshaft::report {

CsvWriter::CsvWriter(const std::string& path, const std::vector<std::string>& names) : path_(path) {
    if (path.empty()) {
        file_ = stdout;
    } else {
        temporary_ = path + ".part";
        file_ = std::fopen(temporary_.c_str(), "w");
        if (!file_) throw std::invalid_argument(fmt::format("{}: cannot be written, expected a file in a folder that exists", path));
    }
    fmt::print(file_, "time_s");
    for (const auto& n : names) fmt::print(file_, ",{}", n);
    fmt::print(file_, "\n");
}

CsvWriter::~CsvWriter() {
    if (!path_.empty() && file_) {
        std::fclose(file_);
        std::error_code ignored;
        std::filesystem::remove(temporary_, ignored);
    }
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
    if (std::fwrite(out.data(), 1, out.size(), file_) != out.size()) throw std::runtime_error(fmt::format("{}: writing failed (disk full?)", path_));
}

void CsvWriter::finish() {
    if (path_.empty()) {
        std::fflush(file_);
        return;
    }
    const bool good = std::fclose(file_) == 0;
    file_ = nullptr;
    if (!good) throw std::runtime_error(fmt::format("{}: writing failed (disk full?)", path_));
    std::filesystem::rename(temporary_, path_);
}

}  // namespace sunshaft::report
