#include "report/waves.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <limits>
#include <stdexcept>

#include "files/fresh_file.hpp"
#include "plant/probe.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::report {
namespace {

// Little-endian whatever the machine.
class Bytes {
  public:
    void u16(std::uint32_t v) { put(v, 2); }
    void u32(std::uint32_t v) { put(v, 4); }
    void f32(double v) { u32(std::bit_cast<std::uint32_t>(static_cast<float>(v))); }
    void text(std::string_view s) { data_ += s; }
    const std::string& data() const { return data_; }

  private:
    void put(std::uint32_t v, int count) {
        for (int k = 0; k < count; ++k) data_.push_back(static_cast<char>(v >> (8 * k) & 0xffu));
    }
    std::string data_;
};

void need_samples(const std::string& path, const std::vector<std::vector<double>>& columns) {
    if (columns.empty() || columns.front().empty())
        throw std::invalid_argument(text::say("{}: nothing to write, the run is shorter than one sample", path));
}

// C37.111 time stamp: dd/mm/yyyy,hh:mm:ss.ssssss, within the first day of 2000.
std::string stamp(double seconds) {
    const auto us = static_cast<long long>(std::llround(std::fmod(seconds, 86400.0) * 1e6));
    return fmt::format("01/01/2000,{:02}:{:02}:{:02}.{:06}", us / 3600000000LL, us / 60000000LL % 60,
                       us / 1000000LL % 60, us % 1000000LL);
}

}  // namespace

std::string signal_unit(const std::string& signal) {
    const std::string_view unit = plant::unit_of(signal);
    return unit.empty() ? "V" : std::string(unit);
}

std::vector<std::vector<double>> sampled(const trace::Recording& r, double rate_Hz) {
    if (!(rate_Hz > 0.0)) throw std::invalid_argument(text::tr("samples: the rate must be above zero"));
    std::vector<std::vector<double>> out(r.names.size());
    if (r.rows() == 0) return out;
    const double from = r.t0.front();
    const auto count = static_cast<std::size_t>(std::floor((r.t1.back() - from) * rate_Hz * (1.0 + 1e-12)));
    for (std::size_t c = 0; c < out.size(); ++c)
        out[c] = trace::interval_means(r.signal(c), from, 1.0 / rate_Hz, count);
    return out;
}

void write_comtrade(const std::string& path, const trace::Recording& r, double rate_Hz, Comtrade kind, double line_Hz) {
    const auto columns = sampled(r, rate_Hz);
    need_samples(path, columns);
    const std::size_t count = columns.front().size();
    const double most = kind == Comtrade::ascii ? 99998.0 : 32767.0;  // largest integer the kind holds
    const char* kind_name = kind == Comtrade::ascii ? "ASCII" : kind == Comtrade::binary ? "BINARY" : "FLOAT32";

    // value = a x + b
    std::vector<double> a, b;
    std::string cfg = "computed waves,sunshaft,2013\r\n";
    cfg += fmt::format("{0},{0}A,0D\r\n", columns.size());
    for (std::size_t c = 0; c < columns.size(); ++c) {
        double low = std::numeric_limits<double>::max(), high = -low;
        for (double y : columns[c])
            if (std::isfinite(y)) low = std::min(low, y), high = std::max(high, y);
        if (low > high) low = high = 0.0;
        const bool whole = kind != Comtrade::float32;
        const double span = std::max(high - low, 1e-12 * std::max(std::fabs(high), std::fabs(low)));
        a.push_back(whole && span > 0.0 ? 0.5 * span / most : 1.0);
        b.push_back(whole ? 0.5 * (low + high) : 0.0);
        std::string name = r.names[c];
        std::replace(name.begin(), name.end(), ',', '+');
        cfg += fmt::format("{},{},,,{},{:.9g},{:.9g},0,{:.9g},{:.9g},1,1,P\r\n", c + 1, name, signal_unit(r.names[c]),
                           a.back(), b.back(), whole ? -most : low, whole ? most : high);
        // What was written is what a reader multiplies with.
        a.back() = std::stod(fmt::format("{:.9g}", a.back()));
        b.back() = std::stod(fmt::format("{:.9g}", b.back()));
    }
    const double first = r.t0.front() + 0.5 / rate_Hz;
    // Time stamps count microseconds in 32 bits; over an hour and more they count tens or hundreds of them.
    double factor = 1.0;
    while (static_cast<double>(count) * 1e6 / rate_Hz / factor > 4e9) factor *= 10.0;
    cfg += fmt::format("{:.9g}\r\n1\r\n{:.9g},{}\r\n{}\r\n{}\r\n{}\r\n{:.0f}\r\n0,0\r\nF,3\r\n", line_Hz, rate_Hz,
                       count, stamp(first), stamp(first), kind_name, factor);

    Bytes dat;
    for (std::size_t k = 0; k < count; ++k) {
        const auto us = static_cast<std::uint32_t>(std::llround(static_cast<double>(k) * 1e6 / rate_Hz / factor));
        if (kind == Comtrade::ascii) {
            dat.text(fmt::format("{},{}", k + 1, us));
        } else {
            dat.u32(static_cast<std::uint32_t>(k + 1));
            dat.u32(us);
        }
        for (std::size_t c = 0; c < columns.size(); ++c) {
            const double y = columns[c][k];
            if (kind == Comtrade::float32) {
                dat.f32(y);
                continue;
            }
            const double x = std::clamp(std::round((y - b[c]) / a[c]), -most, most);
            if (kind == Comtrade::ascii)  // an empty field is a missing value
                dat.text(std::isfinite(y) ? fmt::format(",{}", static_cast<long>(x)) : ",");
            else  // 8000 hexadecimal marks a missing value
                dat.u16(std::isfinite(y) ? static_cast<std::uint32_t>(static_cast<std::int32_t>(x)) & 0xffffu
                                         : 0x8000u);
        }
        if (kind == Comtrade::ascii) dat.text("\r\n");
    }
    const std::string data_path = std::filesystem::path(path).replace_extension(".dat").string();
    files::FreshFile data(data_path), configuration(path);
    data.write(dat.data());
    configuration.write(cfg);
    files::FreshFile::finish_pair(data, configuration);
}

void write_wav(const std::string& path, const trace::Recording& r, double rate_Hz, Wav kind) {
    const double whole_rate = std::round(rate_Hz);
    if (!(whole_rate >= 1.0 && whole_rate <= 4e9) || r.names.size() > 65535)
        throw std::invalid_argument(text::say("{}: a WAV file wants a whole rate in Hz", path));
    const auto columns = sampled(r, whole_rate);
    need_samples(path, columns);
    const auto channels = static_cast<std::uint32_t>(columns.size()), rate = static_cast<std::uint32_t>(whole_rate);
    const auto frames = static_cast<std::uint32_t>(columns.front().size());
    const bool whole = kind == Wav::pcm16;
    const std::uint32_t bytes = whole ? 2 : 4, head = whole ? 16 : 18 + 8 + 4;  // of floats a "fact" as well
    const std::uint64_t size = std::uint64_t{bytes} * channels * columns.front().size();
    if (size > 4000000000u) throw std::invalid_argument(text::say("{}: longer than a WAV file can be", path));
    Bytes out;
    out.text("RIFF");
    out.u32(static_cast<std::uint32_t>(4 + 8 + head + 8 + size));
    out.text("WAVEfmt ");
    out.u32(whole ? 16 : 18);
    out.u16(whole ? 1 : 3);  // integers, IEEE floating point
    out.u16(channels);
    out.u32(rate);
    out.u32(rate * channels * bytes);
    out.u16(channels * bytes);
    out.u16(8 * bytes);
    if (!whole) {
        out.u16(0);
        out.text("fact");
        out.u32(4);
        out.u32(frames);
    }
    out.text("data");
    out.u32(static_cast<std::uint32_t>(size));
    for (std::size_t k = 0; k < columns.front().size(); ++k)
        for (const auto& column : columns) {
            const double y = std::isfinite(column[k]) ? column[k] : 0.0;
            if (whole) out.u16(static_cast<std::uint16_t>(std::lround(32767.0 * std::clamp(y, -1.0, 1.0))));
            else out.f32(y);
        }
    files::FreshFile file(path);
    file.write(out.data());
    file.finish();
}

}  // namespace sunshaft::report
