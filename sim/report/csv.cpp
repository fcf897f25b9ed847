#include "report/csv.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <iterator>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "report/waves.hpp"
#include "text/language.hpp"

namespace sunshaft::report {

CsvWriter::CsvWriter(const std::string& path, const std::vector<std::string>& names) {
    if (!path.empty()) file_.emplace(path);
    std::string heading = "time_s";
    for (const std::string& name : names) heading += fmt::format(",{}", name);
    put(heading + '\n');
}

void CsvWriter::put(std::string_view text) {
    if (file_) file_->write(text);
    else if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size())
        throw std::runtime_error(text::tr("standard output: writing failed"));
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

void write_json(const std::string& path, const trace::Recording& r) {
    files::FreshFile file(path);
    fmt::memory_buffer out;
    const auto list = [&](const std::vector<double>& begin, const std::vector<double>& end, const char* figure) {
        for (std::size_t n = 0; n < begin.size(); ++n)
            for (const double v : {begin[n], end[n]}) {
                if (out.size() > 0 && out[out.size() - 1] != '[') out.push_back(',');
                if (std::isfinite(v)) fmt::format_to(std::back_inserter(out), fmt::runtime(figure), v);
                else fmt::format_to(std::back_inserter(out), "null");
            }
    };
    fmt::format_to(std::back_inserter(out), "{{\"time_s\": [");
    list(r.t0, r.t1, "{:.10g}");
    fmt::format_to(std::back_inserter(out), "],\n\"signals\": [");
    for (std::size_t c = 0; c < r.names.size(); ++c) {
        fmt::format_to(std::back_inserter(out), "{}\n{{\"name\": {}, \"unit\": {}, \"values\": [", c ? "," : "",
                       nlohmann::json(r.names[c]).dump(), nlohmann::json(signal_unit(r.names[c])).dump());
        list(r.y0[c], r.y1[c], "{:.8g}");
        fmt::format_to(std::back_inserter(out), "]}}");
        file.write({out.data(), out.size()});
        out.clear();
    }
    fmt::format_to(std::back_inserter(out), "]}}\n");
    file.write({out.data(), out.size()});
    file.finish();
}

}  // namespace sunshaft::report
