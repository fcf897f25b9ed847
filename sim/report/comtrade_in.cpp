// Reading COMTRADE, three revisions of the standard.
#include <fmt/format.h>

#include <bit>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <limits>
#include <sstream>

#include "report/measured.hpp"
#include "site/keys.hpp"

namespace sunshaft::report {
namespace {

struct Analog {
    std::string name, unit;
    double a = 1.0, b = 0.0, to_primary = 1.0;
};
struct Stretch {
    double rate_Hz;
    std::size_t last;  // sample number
};
struct Configuration {
    std::vector<Analog> analog;
    std::size_t digital = 0;
    std::vector<Stretch> stretches;  // none: the data carry the times
    std::size_t count = 0;
    std::string kind = "ASCII";
    double time_factor = 1.0;
};

std::string whole(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    if (!in || std::filesystem::is_directory(path)) throw site::BadInput(fmt::format("{}: cannot be read, expected a COMTRADE file", path));
    std::stringstream s;
    s << in.rdbuf();
    return s.str();
}

// Lines of comma-separated fields, with the place of each for the message.
class Lines {
  public:
    explicit Lines(const std::string& path) : path_(path), text_(whole(path)) {}
    bool next() {
        fields_.clear();
        columns_.clear();
        if (at_ >= text_.size()) return false;
        ++line_;
        const std::size_t end = std::min(text_.find('\n', at_), text_.size());
        std::size_t begin = at_;
        for (std::size_t k = at_; k <= end; ++k)
            if (k == end || text_[k] == ',') {
                std::size_t low = begin, high = k;
                while (low < high && std::isspace(static_cast<unsigned char>(text_[low]))) ++low;
                while (high > low && std::isspace(static_cast<unsigned char>(text_[high - 1]))) --high;
                columns_.push_back(begin - at_ + 1);
                fields_.push_back(text_.substr(low, high - low));
                begin = k + 1;
            }
        at_ = end + 1;
        return true;
    }
    void need(const char* what) {
        if (!next()) wrong(0, fmt::format("the file ends, expected {}", what));
    }
    std::size_t size() const { return fields_.size(); }
    const std::string& operator[](std::size_t k) const { return fields_[k]; }
    double number(std::size_t k, const char* what) const {
        const std::string text = k < fields_.size() ? fields_[k] : std::string();
        const char* begin = text.c_str() + (text[0] == '+' ? 1 : 0);
        double v = 0.0;
        const auto [end, error] = std::from_chars(begin, text.c_str() + text.size(), v);
        if (text.empty() || error != std::errc{} || end != text.c_str() + text.size() || !std::isfinite(v))
            wrong(k, fmt::format("{}: \"{}\" is no number", what, site::on_one_line(text)));
        return v;
    }
    std::size_t count(std::size_t k, const char* what, double most) const {
        const double v = number(k, what);
        if (v < 0.0 || v != std::floor(v) || v > most) wrong(k, fmt::format("{}: {:g}, expected a whole number from 0 to {:g}", what, v, most));
        return static_cast<std::size_t>(v);
    }
    [[noreturn]] void wrong(std::size_t field, const std::string& what) const {
        throw site::BadInput(fmt::format("{}:{}:{}: {}", path_, std::max<std::size_t>(line_, 1), field < columns_.size() ? columns_[field] : 1, what));
    }

  private:
    std::string path_, text_;
    std::size_t at_ = 0, line_ = 0;
    std::vector<std::string> fields_;
    std::vector<std::size_t> columns_;
};

Configuration read_configuration(const std::string& path) {
    Lines in(path);
    Configuration c;
    in.need("the station's name");
    const std::string year = in.size() > 2 ? in[2] : "1991";
    if (year != "1991" && year != "1999" && year != "2001" && year != "2013") in.wrong(2, fmt::format("revision {}, expected 1991, 1999 or 2013", site::on_one_line(year)));
    in.need("how many channels there are");
    std::size_t analog = 0;
    for (std::size_t k = 1; k < in.size(); ++k) {
        const std::string text = in[k];
        const char letter = text.empty() ? ' ' : text.back();
        std::size_t n = 0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
        if (error != std::errc{} || end + 1 != text.data() + text.size() || n > 10000 || (letter != 'A' && letter != 'D' && letter != 'a' && letter != 'd'))
            in.wrong(k, fmt::format("{}: expected a number of channels such as 6A or 6D", site::on_one_line(text)));
        (letter == 'A' || letter == 'a' ? analog : c.digital) = n;
    }
    if (analog == 0) in.wrong(1, "no analog channel, expected at least one");
    for (std::size_t k = 0; k < analog; ++k) {
        in.need("an analog channel");
        Analog channel;
        channel.name = in.size() > 1 ? in[1] : "";
        if (channel.name.empty()) channel.name = fmt::format("channel {}", k + 1);
        channel.unit = in.size() > 4 ? in[4] : "";
        channel.a = in.number(5, "factor a");
        channel.b = in.number(6, "offset b");
        if (in.size() > 12 && (in[12] == "S" || in[12] == "s")) {
            const double primary = in.number(10, "primary"), secondary = in.number(11, "secondary");
            if (!(primary > 0.0 && secondary > 0.0)) in.wrong(10, "the ratio of primary to secondary must be above zero");
            channel.to_primary = primary / secondary;
        }
        if (channel.unit.size() == 2 && (channel.unit[1] == 'V' || channel.unit[1] == 'A')) {
            const double factor = channel.unit[0] == 'k' ? 1e3 : channel.unit[0] == 'm' ? 1e-3 : channel.unit[0] == 'M' ? 1e6 : channel.unit[0] == 'u' ? 1e-6 : 0.0;
            if (factor > 0.0) channel.to_primary *= factor, channel.unit.erase(0, 1);
        }
        c.analog.push_back(channel);
    }
    for (std::size_t k = 0; k < c.digital; ++k) in.need("a status channel");
    in.need("the line frequency");
    in.need("the number of sampling rates");
    const std::size_t rates = in.count(0, "number of sampling rates", 1000);
    for (std::size_t k = 0; k < std::max<std::size_t>(rates, 1); ++k) {
        in.need("a sampling rate and its last sample");
        const double rate = in.number(0, "sampling rate");
        const std::size_t last = in.count(1, "last sample", 4e9);
        if (rates > 0 && !(rate > 0.0)) in.wrong(0, "the sampling rate must be above zero");
        if (last <= c.count) in.wrong(1, "the last sample's number must rise");
        if (rates > 0) c.stretches.push_back({rate, last});
        c.count = last;
    }
    in.need("the time of the first sample");
    in.need("the time of the trigger");
    if (in.next() && in.size() > 0 && !in[0].empty()) {
        c.kind = in[0];
        for (char& letter : c.kind) letter = static_cast<char>(std::toupper(static_cast<unsigned char>(letter)));
        if (c.kind != "ASCII" && c.kind != "BINARY" && c.kind != "BINARY32" && c.kind != "FLOAT32")
            in.wrong(0, fmt::format("{}: expected ASCII, BINARY, BINARY32 or FLOAT32", site::on_one_line(c.kind)));
        if (in.next() && in.size() > 0 && !in[0].empty()) c.time_factor = in.number(0, "factor of the time stamps");
    }
    return c;
}

// Time of sample k (from 0), or by its stamp where there is no rate.
double time_of(const Configuration& c, std::size_t k, double stamp) {
    if (c.stretches.empty()) return stamp * c.time_factor * 1e-6;
    double t = 0.0;
    std::size_t from = 0;
    for (const Stretch& s : c.stretches) {
        if (k < s.last) return t + static_cast<double>(k - from) / s.rate_Hz;
        t += static_cast<double>(s.last - from) / s.rate_Hz;
        from = s.last;
    }
    return t;
}

}  // namespace

Measured read_comtrade(const std::string& path) {
    const Configuration c = read_configuration(path);
    std::string data_path = std::filesystem::path(path).replace_extension(".dat").string();
    if (!std::filesystem::exists(data_path)) data_path = std::filesystem::path(path).replace_extension(".DAT").string();
    const std::size_t analog = c.analog.size();
    if (c.count * (analog + 1) > 40'000'000) throw site::BadInput(fmt::format("{}: {} samples of {} channels are more than can be held", path, c.count, analog));
    Measured m;
    for (const Analog& channel : c.analog) m.recording.names.push_back(channel.name), m.units.push_back(channel.unit);
    m.recording.y0.resize(analog);
    m.recording.y1.resize(analog);
    constexpr double missing = std::numeric_limits<double>::quiet_NaN();
    std::vector<double> before(analog), y(analog);
    double t_before = 0.0;
    const auto take = [&](std::size_t k, double stamp) {
        for (std::size_t n = 0; n < analog; ++n) y[n] = (c.analog[n].a * y[n] + c.analog[n].b) * c.analog[n].to_primary;
        const double t = time_of(c, k, stamp);
        if (k > 0) {
            if (!(t > t_before)) throw site::BadInput(fmt::format("{}: sample {}: the time does not rise", data_path, k + 1));
            m.recording.t0.push_back(t_before);
            m.recording.t1.push_back(t);
            for (std::size_t n = 0; n < analog; ++n) m.recording.y0[n].push_back(before[n]), m.recording.y1[n].push_back(y[n]);
        }
        t_before = t;
        before = y;
    };
    if (c.kind == "ASCII") {
        Lines in(data_path);
        std::size_t k = 0;
        while (k < c.count && in.next()) {
            if (in.size() == 1 && in[0].empty()) continue;
            if (in.size() < 2 + analog) in.wrong(0, fmt::format("{} fields, expected {}", in.size(), 2 + analog + c.digital));
            // Missing: an empty field (2013) or 99999 (1991, 1999).
            for (std::size_t n = 0; n < analog; ++n) y[n] = in[2 + n].empty() || in[2 + n] == "99999" ? missing : in.number(2 + n, c.analog[n].name.c_str());
            take(k++, c.stretches.empty() ? in.number(1, "time stamp") : 0.0);
        }
        if (k < c.count) throw site::BadInput(fmt::format("{}: ends after sample {}, expected {}", data_path, k, c.count));
    } else {
        const std::string data = whole(data_path);
        const std::size_t word = c.kind == "BINARY" ? 2 : 4, record = 8 + word * analog + 2 * ((c.digital + 15) / 16);
        if (data.size() / record < c.count)
            throw site::BadInput(fmt::format("{}: {} bytes, expected {} samples of {} bytes", data_path, data.size(), c.count, record));
        const auto unsigned_at = [&](std::size_t p, std::size_t bytes) {  // little-endian whatever the machine
            std::uint32_t v = 0;
            for (std::size_t k = bytes; k-- > 0;) v = v << 8 | static_cast<unsigned char>(data[p + k]);
            return v;
        };
        for (std::size_t k = 0; k < c.count; ++k) {
            for (std::size_t n = 0; n < analog; ++n) {
                const std::uint32_t raw = unsigned_at(k * record + 8 + word * n, word);
                if (word == 2) y[n] = raw == 0x8000u ? missing : static_cast<std::int16_t>(raw);
                else if (c.kind == "BINARY32") y[n] = raw == 0x80000000u ? missing : static_cast<double>(static_cast<std::int32_t>(raw));
                else y[n] = std::bit_cast<float>(raw);
                if (!std::isfinite(y[n])) y[n] = missing;
            }
            take(k, unsigned_at(k * record + 4, 4));
        }
    }
    if (m.recording.rows() < 2) throw site::BadInput(fmt::format("{}: hardly any samples, expected at least three", data_path));
    return m;
}

}  // namespace sunshaft::report
