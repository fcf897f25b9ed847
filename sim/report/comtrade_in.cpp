// Reading COMTRADE, three revisions of the standard.
#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <limits>

#include "files/input.hpp"
#include "files/text.hpp"
#include "report/fields.hpp"
#include "report/measured.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::report {
namespace {

struct Analog {
    std::string name, unit;
    double a = 1.0, b = 0.0, to_primary = 1.0;
    double least = 0.0, most = 0.0;  // of the raw values, as stated; equal: not stated
    std::size_t there = 0, outside = 0,
                crumbs = 0;  // values; those outside; those hardly any program would write
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

// "6,3A,3D": how many analogue channels, and digital ones.
std::size_t read_counts(Lines& in, std::size_t& digital) {
    in.need(text::tr("how many channels there are"));
    std::size_t analog = 0;
    for (std::size_t k = 1; k < in.size(); ++k) {
        const std::string_view text = in[k];
        const char letter = text.empty() ? ' ' : text.back();
        std::size_t n = 0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
        if (error != std::errc{} || end + 1 != text.data() + text.size() || n > 10000 ||
            (letter != 'A' && letter != 'D' && letter != 'a' && letter != 'd'))
            in.wrong(k, text::say("{}: expected a number of channels such as 6A or 6D", site::on_one_line(text)));
        (letter == 'A' || letter == 'a' ? analog : digital) = n;
    }
    if (analog == 0) in.wrong(1, text::tr("no analogue channel, expected at least one"));
    return analog;
}

Analog read_channel(Lines& in, std::size_t number) {
    in.need(text::tr("an analogue channel"));
    Analog channel;
    channel.name = in.size() > 1 ? files::one_line(in[1], 120) : "";
    if (channel.name.empty()) channel.name = fmt::format("channel {}", number);
    channel.unit = in.size() > 4 ? files::one_line(in[4], 40) : "";
    channel.a = in.figure(5, text::tr("factor a"));
    channel.b = in.figure(6, text::tr("offset b"));
    if (in.size() > 9) channel.least = figure(in[8]).value_or(0.0), channel.most = figure(in[9]).value_or(0.0);
    if (in.size() > 12 && (in[12] == "S" || in[12] == "s")) {
        const double primary = in.figure(10, "primary"), secondary = in.figure(11, "secondary");
        if (!(primary > 0.0 && secondary > 0.0))
            in.wrong(10, text::tr("the ratio of primary to secondary must be above zero"));
        channel.to_primary = primary / secondary;
    }
    if (channel.unit.size() == 2 && (channel.unit[1] == 'V' || channel.unit[1] == 'A')) {
        const double factor = channel.unit[0] == 'k'   ? 1e3
                              : channel.unit[0] == 'm' ? 1e-3
                              : channel.unit[0] == 'M' ? 1e6
                              : channel.unit[0] == 'u' ? 1e-6
                                                       : 0.0;
        if (factor > 0.0) channel.to_primary *= factor, channel.unit.erase(0, 1);
    }
    return channel;
}

void read_rates(Lines& in, Configuration& c) {
    in.need(text::tr("the number of sampling rates"));
    const std::size_t rates = in.count(0, text::tr("number of sampling rates"), 1000);
    for (std::size_t k = 0; k < std::max<std::size_t>(rates, 1); ++k) {
        in.need(text::tr("a sampling rate and its last sample"));
        const double rate = in.figure(0, text::tr("sampling rate"));
        const std::size_t last = in.count(1, text::tr("last sample"), 4e9);
        if (rates > 0 && !(rate > 0.0)) in.wrong(0, text::tr("the sampling rate must be above zero"));
        if (last <= c.count) in.wrong(1, text::tr("the last sample's number must rise"));
        if (rates > 0) c.stretches.push_back({rate, last});
        c.count = last;
    }
}

Configuration read_configuration(std::string_view text_of_it, const std::string& path) {
    Lines in(text_of_it, path);
    Configuration c;
    in.need(text::tr("the station's name"));
    const std::string_view year = in.size() > 2 ? in[2] : "1991";
    if (year != "1991" && year != "1999" && year != "2001" && year != "2013")
        in.wrong(2, text::say("revision {}, expected 1991, 1999 or 2013", site::on_one_line(year)));
    const std::size_t analog = read_counts(in, c.digital);
    for (std::size_t k = 0; k < analog; ++k) c.analog.push_back(read_channel(in, k + 1));
    for (std::size_t k = 0; k < c.digital; ++k) in.need(text::tr("a status channel"));
    in.need(text::tr("the line frequency"));
    read_rates(in, c);
    in.need(text::tr("the time of the first sample"));
    in.need(text::tr("the time of the trigger"));
    if (in.next() && in.size() > 0 && !in[0].empty()) {
        c.kind = in[0].substr(0, 20);
        for (char& letter : c.kind) letter = static_cast<char>(std::toupper(static_cast<unsigned char>(letter)));
        if (c.kind != "ASCII" && c.kind != "BINARY" && c.kind != "BINARY32" && c.kind != "FLOAT32")
            in.wrong(0, text::say("{}: expected ASCII, BINARY, BINARY32 or FLOAT32", site::on_one_line(c.kind)));
        if (in.next() && in.size() > 0 && !in[0].empty())
            c.time_factor = in.figure(0, text::tr("factor of the time stamps"));
    }
    return c;
}

// Samples one after the other, checked against each other and against what the configuration says of them.
class Samples {
  public:
    // `room`: samples to make room for at once.
    Samples(Configuration& c, const std::string& path, std::size_t room)
        : c_(c), path_(path), before_(c.analog.size()) {
        for (const Analog& channel : c.analog)
            m_.recording.names.push_back(channel.name), m_.units.push_back(channel.unit);
        m_.recording.y0.resize(c.analog.size());
        m_.recording.y1.resize(c.analog.size());
        trace::Recording& r = m_.recording;
        for (auto* times : {&r.t0, &r.t1}) times->reserve(room);
        for (auto* waves : {&r.y0, &r.y1})
            for (auto& wave : *waves) wave.reserve(room);
    }
    std::size_t taken() const { return k_; }
    bool full() const { return k_ == c_.count; }

    // Raw values, NaN for one that is missing; the stamp likewise. `y` is scaled in place.
    void take(double number, double stamp, std::vector<double>& y) {
        if (k_ == 0) first_ = number;
        if (number != first_ + static_cast<double>(k_))
            wrong(text::say("it has number {:.0f}, expected {:.0f}: a sample is missing, doubled or out of order",
                            number, first_ + static_cast<double>(k_)));
        if (std::isfinite(stamp)) {
            if (stamp < stamp_) wrong(text::tr("its time stamp is before the last one's"));
            stamp_ = stamp;
        }
        for (std::size_t n = 0; n < y.size(); ++n) scale(c_.analog[n], y[n]);
        const double t = time(stamp);
        if (!(std::fabs(t) <= most_seconds))
            wrong(text::tr("it has no time, expected a rate in the .cfg or a time stamp"));
        trace::Recording& r = m_.recording;
        if (k_ > 0) {
            if (!(t > t_)) wrong(text::tr("the time does not rise"));
            r.t0.push_back(t_);
            r.t1.push_back(t);
            for (std::size_t n = 0; n < y.size(); ++n) r.y0[n].push_back(before_[n]), r.y1[n].push_back(y[n]);
        }
        t_ = t;
        before_ = y;
        ++k_;
    }

    Measured done() {
        for (std::size_t n = 0; n < c_.analog.size(); ++n) {
            const Analog& channel = c_.analog[n];
            if (2 * channel.outside > channel.there || 2 * channel.crumbs > channel.there)
                throw site::BadInput(
                    channel.outside
                        ? text::say("{}: {}: {} of {} values lie outside the .cfg's {:g} to {:g}. Is {} the kind of "
                                    "data it holds?",
                                    path_, channel.name, std::max(channel.outside, channel.crumbs), channel.there,
                                    channel.least, channel.most, c_.kind)
                        : text::say("{}: {}: {} of {} values are next to nothing. Is {} the kind of data it holds?",
                                    path_, channel.name, channel.crumbs, channel.there, c_.kind));
        }
        const trace::Recording& r = m_.recording;
        if (r.rows() < 2) throw site::BadInput(text::say("{}: hardly any samples, expected at least three", path_));
        if (r.t1.back() - r.t0.front() < least_seconds)
            throw site::BadInput(text::say("{}: all of it within a nanosecond, expected a slower rate", path_));
        return std::move(m_);
    }

  private:
    [[noreturn]] void wrong(std::string_view what) const {
        throw site::BadInput(text::say("{}: sample {}: {}", path_, k_ + 1, what));
    }

    void scale(Analog& channel, double& y) {
        if (!std::isfinite(y)) {
            y = std::numeric_limits<double>::quiet_NaN();
            return;
        }
        if (y != 0.0) {
            ++channel.there;
            const double slack = 1e-6 * std::max(std::fabs(channel.least), std::fabs(channel.most));
            // Of 32 bits only, which may be taken for numbers of the other kind; where a mistake shows in the
            // size, sloppy limits pass.
            if (c_.kind.ends_with("32") && channel.least < channel.most &&
                (y < channel.least - slack || y > channel.most + slack))
                ++channel.outside;
            if (std::fabs(y) < static_cast<double>(std::numeric_limits<float>::min())) ++channel.crumbs;
        }
        y = (channel.a * y + channel.b) * channel.to_primary;
        if (!(std::fabs(y) <= most_figure))
            wrong(text::say("{}: {:g}, expected a figure up to {:g}", channel.name, y, most_figure));
    }

    // By the rate, or by its stamp where there is none.
    double time(double stamp) {
        if (c_.stretches.empty()) return stamp * c_.time_factor * 1e-6;
        while (stretch_ + 1 < c_.stretches.size() && k_ >= c_.stretches[stretch_].last) {
            begin_ += static_cast<double>(c_.stretches[stretch_].last - from_) / c_.stretches[stretch_].rate_Hz;
            from_ = c_.stretches[stretch_++].last;
        }
        return begin_ + static_cast<double>(k_ - from_) / c_.stretches[stretch_].rate_Hz;
    }

    Configuration& c_;
    const std::string& path_;
    Measured m_;
    std::vector<double> before_;
    std::size_t k_ = 0, stretch_ = 0, from_ = 0;
    double first_ = 0.0, t_ = 0.0, begin_ = 0.0, stamp_ = -std::numeric_limits<double>::infinity();
};

void read_text(Configuration& c, std::string_view data, const std::string& path, Samples& samples) {
    if (data.substr(0, 4096).find('\0') != std::string_view::npos)
        throw site::BadInput(text::say("{}: is binary, its .cfg says ASCII", path));
    const std::size_t analog = c.analog.size(), fields = 2 + analog + c.digital;
    Lines in(data, path);
    std::vector<double> y(analog);
    while (in.next()) {
        if (in.empty() || in.whole() == "\x1A") continue;  // the end mark of old files
        if (samples.full()) in.wrong(0, text::say("more samples than the {} its .cfg states", c.count));
        if (in.size() != fields) in.wrong(0, text::say("{} fields, expected {}", in.size(), fields));
        const double number = in.figure(0, text::tr("sample number"));
        const double stamp =
            in[1].empty() ? std::numeric_limits<double>::quiet_NaN() : in.figure(1, text::tr("time stamp"));
        // Missing: an empty field (2013) or 99999 (1991, 1999).
        for (std::size_t n = 0; n < analog; ++n)
            y[n] = in[2 + n].empty() || in[2 + n] == "99999" ? std::numeric_limits<double>::quiet_NaN()
                                                             : in.figure(2 + n, c.analog[n].name);
        samples.take(number, stamp, y);
    }
}

void read_binary(Configuration& c, std::string_view data, const std::string& path, Samples& samples) {
    const std::size_t word = c.kind == "BINARY" ? 2 : 4, analog = c.analog.size(),
                      record = 8 + word * analog + 2 * ((c.digital + 15) / 16);
    if (data.size() != c.count * record)
        throw site::BadInput(
            text::say("{}: {} bytes, expected {} samples of {} bytes, {} in all, as its .cfg says (kind {}{})", path,
                      data.size(), c.count, record, c.count * record, c.kind,
                      data.starts_with("1,") ? text::tr("; the data look like ASCII") : ""));
    const auto unsigned_at = [&](std::size_t p, std::size_t bytes) {  // little-endian whatever the machine
        std::uint32_t v = 0;
        for (std::size_t k = bytes; k-- > 0;) v = v << 8 | static_cast<unsigned char>(data[p + k]);
        return v;
    };
    std::vector<double> y(analog);
    constexpr double missing = std::numeric_limits<double>::quiet_NaN();
    for (std::size_t k = 0; k < c.count; ++k) {
        for (std::size_t n = 0; n < analog; ++n) {
            const std::uint32_t raw = unsigned_at(k * record + 8 + word * n, word);
            if (word == 2) y[n] = raw == 0x8000u ? missing : static_cast<std::int16_t>(raw);
            else if (c.kind == "BINARY32")
                y[n] = raw == 0x80000000u ? missing : static_cast<double>(static_cast<std::int32_t>(raw));
            else y[n] = std::bit_cast<float>(raw);
        }
        const std::uint32_t stamp = unsigned_at(k * record + 4, 4);
        samples.take(unsigned_at(k * record, 4), stamp == 0xFFFFFFFFu ? missing : static_cast<double>(stamp), y);
    }
}

std::string whole(const std::string& path, std::size_t most) {
    try {
        return files::read_whole(path, most);
    } catch (const files::Unreadable& what) {
        throw site::BadInput(text::say("{}: {}, expected a COMTRADE file", files::one_line(path), what.what()));
    }
}

}  // namespace

Measured parse_comtrade(std::string_view configuration, const std::string& its_name, std::string_view data,
                        const std::string& data_name) {
    Configuration c = read_configuration(configuration, its_name);
    if (c.count > most_values / (c.analog.size() + 1))
        throw site::BadInput(text::say("{}: {} samples of {} channels, expected at most 40 million figures",
                                       files::one_line(its_name), c.count, c.analog.size()));
    const std::string name = files::one_line(data_name);
    // a field has its comma, at least
    Samples samples(c, name, std::min(c.count, data.size() / (4 + c.analog.size())));
    if (c.kind == "ASCII") read_text(c, data, name, samples);
    else read_binary(c, data, name, samples);
    if (!samples.full())
        throw site::BadInput(text::say("{}: ends after sample {}, expected {}", name, samples.taken(), c.count));
    return samples.done();
}

Measured read_comtrade(const std::string& path) {
    std::string data_path = std::filesystem::path(path).replace_extension(".dat").string();
    if (!std::filesystem::exists(data_path) &&
        std::filesystem::exists(std::filesystem::path(path).replace_extension(".DAT")))
        data_path = std::filesystem::path(path).replace_extension(".DAT").string();
    const std::string configuration = whole(path, files::most_settings);
    return parse_comtrade(configuration, path, whole(data_path, files::most_waves), data_path);
}

}  // namespace sunshaft::report
