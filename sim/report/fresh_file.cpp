#include "report/fresh_file.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <stdexcept>
#include <utility>

namespace sunshaft::report {

FreshFile::FreshFile(const std::string& path) : path_(path), temporary_(fmt::format("{}.part", path)) {
    file_ = std::fopen(temporary_.c_str(), "wb");
    if (!file_) throw std::invalid_argument(fmt::format("{}: cannot be written, expected a file in a folder that exists", path));
}

FreshFile::~FreshFile() {
    if (file_) std::fclose(file_);
    std::error_code ignored;
    std::filesystem::remove(temporary_, ignored);
}

void FreshFile::write(std::string_view data) {
    if (std::fwrite(data.data(), 1, data.size(), file_) != data.size())
        throw std::runtime_error(fmt::format("{}: writing failed (disk full?)", path_));
}

void FreshFile::finish() {
    if (std::fclose(std::exchange(file_, nullptr)) != 0)
        throw std::runtime_error(fmt::format("{}: writing failed (disk full?)", path_));
    std::error_code error;
    std::filesystem::rename(temporary_, path_, error);
    if (error) throw std::runtime_error(fmt::format("{}: cannot be put in place: {}", path_, error.message()));
}

}  // namespace sunshaft::report
